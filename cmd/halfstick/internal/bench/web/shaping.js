// Shaping of the response: the paper with curves and handles, the candidates,
// the number fields, and what it all does.
import { axisPath, get, latest, post } from "./ask.js";
import { make, say, served } from "./dom.js";
import * as fields from "./fields.js";
import { Paper } from "./paper.js";
import * as candidates from "./candidates.js";

let axis = null, view = null, parts = null, version = 0;

export async function build(of, marks) {
  axis = of;
  const path = (name) => get(axisPath(of.label, `figure/${name}`)).then((m) => served(m, "image/svg+xml"));
  const svg = await path("paper");
  parts = {
    paper: new Paper(svg, drag, doNow),
    candidates: make("fieldset", { class: "candidates" }),
    fields: make("div", { class: "fields-of-shape" }),
    numbers: make("div", { class: "numbers", tabindex: "0", role: "region", "aria-label": "What the candidates do" }),
    glosses: make("dl"),
    flown: make("figure", { class: "flown" }),
  };
  if (of.flown) {
    const flown = await path("flown");
    parts.after = [make("polyline", { class: "after" }), make("polyline", { class: "after" })];
    flown.append(...parts.after);
    parts.says = make("span");
    parts.flown.append(flown, make("figcaption", { class: "small" },
      make("span", { class: "key" }), "straight", make("span", { class: "key through" }), "through this response; ", parts.says));
  }
  parts.outcome = make("div", { class: "outcome" }, parts.numbers,
    make("details", { class: "why glosses" }, make("summary", {}, "What these numbers are"), parts.glosses));
  parts.left = make("div", {}, make("figure", { class: "paper" }, marks.over("paper", svg)), parts.outcome);
  const section = parts.section = make("section", { class: "shaping", "aria-label": "Shaping of the response" },
    make("h3", {}, "Response", make("span", { class: "small" }, "drag the round handles, or give one the focus and use the arrow keys")),
    make("div", { class: "workbench" }, parts.left,
      make("div", { class: "beside" }, make("div", { class: "tools" }, parts.candidates, parts.fields), parts.flown)));
  const got = await get(axisPath(of.label, "shape"));
  if (axis === of) show(got);
  return section;
}

// leave ends what belongs to the axis that was shown.
export function leave() {
  axis = view = null;
}

// refresh takes over what another page has done.
export async function refresh(revision) {
  if (!axis || !view || parts.paper.dragging() || view.revision >= revision) return;
  const asked = axis, at = version;
  const got = await get(axisPath(asked.label, "shape"));
  if (asked === axis && at === version) show(got);
}

function show(got) {
  view = got;
  version++;
  parts.paper.show(view);
  candidates.show(parts.candidates, view, doNow);
  fields.show(parts.fields, view, doNow);
  candidates.numbers(parts.numbers, view);
  // The numbers of many candidates need the whole width.
  const place = view.candidates.length > 2 ? parts.section : parts.left;
  if (parts.outcome.parentNode !== place) place.append(parts.outcome);
  candidates.glosses(parts.glosses, view);
  if (view.flown && parts.after) {
    parts.after[0].setAttribute("points", view.flown.command);
    parts.after[1].setAttribute("points", view.flown.noise);
    parts.says.textContent = view.flown.says;
  }
}

async function done(got, error) {
  say(error ? error.message : "");
  if (!axis) return;
  if (got && got.label === axis.label) show(got);
  else if (error && view) {
    delete parts.candidates.dataset.shown; // what was clicked there did not come about
    show(view);
  }
}

const send = (wish) => post(axisPath(axis.label, "shape"), wish);
const drag = latest(send, done, join);

// join makes one wish of two for the same handle: of places the newer one
// counts, steps add up.
function join(older, newer) {
  if (older.do !== newer.do || older.gesture !== newer.gesture) return null;
  return newer.do === "nudge" ? { ...newer, right: older.right + newer.right, up: older.up + newer.up } : newer;
}

async function doNow(wish) {
  try {
    await done(await send(wish), null);
  } catch (error) {
    await done(null, error);
  }
}
