// The sheet of one axis, alive: the parts in the order of the printed sheet.
import { axisPath, get } from "./ask.js";
import { byID, make, served } from "./dom.js";
import { Marks } from "./marks.js";
import * as naming from "./naming.js";
import * as shaping from "./shaping.js";
import * as takeaway from "./takeaway.js";
import * as tryit from "./tryit.js";

const sheet = byID("sheet");
let waiting = 0, shown = "", marks = new Marks();

// show builds the section of an axis, unless it is shown already.
export async function show(state, label) {
  const recorded = state.axes.find((a) => a.label === label);
  const live = state.devices.flatMap((d) => d.axes).find((a) => a.label === label);
  const key = [state.recording, state.measured, label, ...(recorded ? [] : [live?.kind, state.busy])].join("\n");
  if (key === shown) return;
  shown = key;
  marks = new Marks();
  clearTimeout(waiting);
  shaping.leave();
  takeaway.leave();
  if (!recorded) {
    sheet.replaceChildren(unrecorded(state, label, live));
    return;
  }
  const section = await build(recorded, marks, () => shown === key);
  if (section) sheet.replaceChildren(section);
}

function unrecorded(state, label, live) {
  if (!label && !state.busy) return ""; // the head of the page says it
  const what = state.busy ? `The bench is ${state.busy}.`
    : "This axis has not been recorded. Begin a recording: it leads you step by step, no hand is needed on the mouse.";
  return make("section", { class: "axis" }, make("h2", {}, label || "No axis"), make("p", {}, what), live ? naming.build(live) : null);
}

// build builds the section of an axis, nothing if that is not wanted any more by
// the time that its parts have come.
async function build(axis, marks, wanted) {
  const part = (name) => get(axisPath(axis.label, `part/${name}`)).then((m) => served(m));
  const [share, measured, proposal, methods] = await Promise.all(["share", "measured", "proposal", "methods"].map(part));
  const drawn = make("div", { class: "figures" });
  for (const name of axis.figures) drawn.append(await figure(axis.label, name, marks));
  const reasons = make("details", { class: "why" }, make("summary", {}, "Why it is proposed like this"), proposal);
  const shaped = await shaping.build(axis, marks, wanted);
  if (!wanted()) return null;
  const how = make("details", { class: "why" }, make("summary", {}, "Methods (Ref.)"), methods);
  return make("section", { class: "axis", "aria-label": `Axis ${axis.label}` },
    make("header", {}, make("h2", {}, axis.label), make("p", { class: "about" }, axis.about)), naming.build(axis),
    share, make("div", { class: "seen" }, measured, drawn),
    shaped, reasons,
    tryit.build(axis), takeaway.build(axis), how);
}

async function figure(label, name, marks) {
  const svg = served(await get(axisPath(label, `figure/${name}`)), "image/svg+xml");
  return make("figure", {}, marks.over(name, svg));
}

// behind brings responses and table up to date that hands have changed since,
// here or on another page.
export function behind(revision) {
  clearTimeout(waiting);
  waiting = setTimeout(() => {
    shaping.refresh(revision).catch(() => {}); // the next change tries again
    takeaway.refresh();
  }, 250);
}

// mark shows where the axis is now.
export function mark(now) {
  marks.show(now.marks);
  tryit.show(now.try);
}
