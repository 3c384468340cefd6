// Shaping of the response: the paper with curves and handles, the candidates,
// the number fields, and what it all does.
import { axisPath, get, latest, post } from "./ask.js";
import { make, say, served } from "./dom.js";
import * as fields from "./fields.js";
import { Paper } from "./paper.js";
import * as candidates from "./candidates.js";

let axis = null, view = null, parts = null, version = 0;

// build builds the part of an axis and takes to shaping it, if it is still wanted
// when all has come: another axis may have been chosen meanwhile.
export async function build(of, marks, wanted) {
  const path = (name) => get(axisPath(of.label, `figure/${name}`)).then((m) => served(m, "image/svg+xml"));
  const svg = await path("paper");
  const built = {
    paper: new Paper(svg, drag, doNow),
    candidates: make("fieldset", { class: "candidates" }),
    fields: make("div", { class: "fields-of-shape" }),
    numbers: make("div", { class: "numbers", tabindex: "0", role: "region", "aria-label": "What the candidates do" }),
    glosses: make("dl"),
    flown: make("figure", { class: "flown" }),
  };
  if (of.flown) {
    const flown = await path("flown");
    built.after = [make("polyline", { class: "after" }), make("polyline", { class: "after" })];
    flown.append(...built.after);
    built.says = make("span");
    built.flown.append(flown, make("figcaption", { class: "small" },
      make("span", { class: "key" }), "straight", make("span", { class: "key through" }), "through this response; ", built.says));
  }
  built.outcome = make("div", { class: "outcome" }, built.numbers,
    make("details", { class: "why glosses" }, make("summary", {}, "What these numbers are"), built.glosses));
  built.left = make("div", {}, make("figure", { class: "paper" }, marks.over("paper", svg)), built.outcome);
  built.section = make("section", { class: "shaping", "aria-label": "Shaping of the response" },
    make("h3", {}, "Response", make("span", { class: "small" }, "drag the round handles, or give one the focus and use the arrow keys")),
    make("div", { class: "workbench" }, built.left,
      make("div", { class: "beside" }, make("div", { class: "tools" }, built.candidates, built.fields), built.flown)));
  const got = await get(axisPath(of.label, "shape"));
  if (wanted()) {
    [axis, parts] = [of, built];
    show(got);
  }
  return built.section;
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
  if (!axis) return; // another one is being built
  say(error ? error.message : "");
  if (got && got.label === axis.label) show(got);
  else if (error && view) {
    delete parts.candidates.dataset.shown; // what was clicked there did not come about
    show(view);
  }
}

const send = async (wish) => post(axisPath(axis.label, "shape"), wish); // fails where there is no axis
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
