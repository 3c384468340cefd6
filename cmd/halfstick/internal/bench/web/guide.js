// The guided recording: what the bench's guide says, in words that can be read
// from two metres, with a sound at each change.
import { post } from "./ask.js";
import { byID, make, say } from "./dom.js";
import * as sound from "./sound.js";
import { on } from "./stream.js";

const panel = byID("guide");
let parts = null, changes = -1, spoken = "";

const act = (wish) => post("/guide", wish).catch((e) => say(e.message));

// wire lets two buttons begin: one for the axes that have names already, one
// that has the controls named first.
export function wire(begin, anew, known) {
  const start = (axes) => {
    sound.ready(); // a browser lets a page sound only after a click
    act({ do: "begin", axes });
  };
  begin.addEventListener("click", () => start(known()));
  anew.addEventListener("click", () => start([]));
  on("guide", ({ under_way: under, state }) => (under ? show(state) : hide()));
}

// offer offers to go on with a recording that lacks steps.
export function offer({ unfinished, busy }) {
  const box = byID("unfinished");
  box.hidden = !unfinished;
  if (!unfinished) return;
  box.replaceChildren(
    make("p", {}, `${unfinished.name} is not finished. It lacks: ${unfinished.missing.join("; ")}.`),
    make("div", { class: "row" },
      make("button", { type: "button", id: "go-on", disabled: Boolean(busy || unfinished.lacks), onclick: () => { sound.ready(); act({ do: "go-on" }); } }, "Go on with it"),
      make("span", { class: "small" }, unfinished.lacks || "What came off is not asked for again.")));
}

function hide() {
  if (panel.hidden) return;
  panel.hidden = true;
  document.body.classList.remove("guided");
  parts = null;
  changes = -1;
  sound.silence();
}

function build() {
  const button = (text, wish) => make("button", { type: "button", onclick: () => act(wish) }, text);
  const speak = make("input", { type: "checkbox", id: "speak" });
  parts = {
    step: make("p", { class: "step" }), what: make("p", { class: "what", "aria-live": "assertive" }), hint: make("p", { class: "hint" }),
    judgement: make("p", { class: "judgement", role: "status" }), left: make("p", { class: "left" }),
    zone: make("rect", { class: "zone", y: 0.02, height: 0.06 }), at: make("line", { class: "at", y1: 0, y2: 0.1 }),
    progress: make("progress", { max: 1, "aria-label": "Progress of this step" }), labels: make("div", { class: "row labels" }), speak,
    axes: make("ul", { class: "axes-done" }),
  };
  parts.bar = make("svg", { viewBox: "0 0 1 0.1", class: "bar", "aria-hidden": "true", preserveAspectRatio: "none" },
    make("rect", { class: "throw", x: 0, y: 0.045, width: 1, height: 0.01 }), parts.zone, parts.at);
  panel.replaceChildren(
    parts.step, parts.what, parts.hint, parts.bar, parts.progress, parts.judgement, parts.left, parts.labels, parts.axes,
    make("div", { class: "row actions" },
      button("Again", { do: "repeat" }), button("Leave out", { do: "skip" }), button("Back", { do: "back" }), button("End here", { do: "stop" }),
      make("label", {}, speak, " spoken")));
  panel.hidden = false;
  document.body.classList.add("guided");
}

function show(state) {
  if (!parts) build();
  put(parts.step, [state.axis, state.steps ? `step ${state.step} of ${state.steps}` : ""].filter(Boolean).join(" · "));
  put(parts.what, state.do);
  put(parts.hint, state.hint || "");
  put(parts.judgement, state.judgement);
  parts.judgement.className = `judgement ${state.verdict}`;
  put(parts.left, state.seconds_left > 0 ? `goes on by itself in ${Math.ceil(state.seconds_left)} s` : "");
  parts.progress.value = state.progress;
  bar(state);
  labels(state);
  parts.axes.replaceChildren(...state.axes.map((a) =>
    make("li", { class: a.missing && a.missing.length ? "open" : "done" }, a.label, a.missing && a.missing.length ? ` — to do: ${a.missing.join(", ")}` : " — done")));
  if (state.changes !== changes) {
    if (changes >= 0) sound.beep(state.verdict);
    changes = state.changes;
  }
  if (parts.speak.checked && state.do !== spoken) sound.speak(state.do);
  spoken = state.do;
}

function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function bar(state) {
  const there = state.position !== null && state.position !== undefined;
  parts.bar.classList.toggle("off", !there);
  if (there) {
    parts.at.setAttribute("x1", state.position);
    parts.at.setAttribute("x2", state.position);
  }
  parts.zone.classList.toggle("off", !state.zone);
  if (state.zone) {
    parts.zone.setAttribute("x", state.zone[0]);
    parts.zone.setAttribute("width", state.zone[1] - state.zone[0]);
  }
}

// labels are offered while controls are named: a click does, and so does
// moving the control that is asked for.
function labels(state) {
  const offered = state.kind === "name" ? state.labels || [] : [];
  const now = [...parts.labels.querySelectorAll("button")].map((b) => b.textContent);
  if (now.join() === offered.join()) return;
  parts.labels.replaceChildren(offered.length ? make("span", { class: "small" }, "Another one first:") : "", ...offered.map((l) => make("button", { type: "button", onclick: () => act({ do: "label", label: l }) }, l)));
}
