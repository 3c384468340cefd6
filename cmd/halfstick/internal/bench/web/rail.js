// The rail: all axes with a small trace each, to choose from.
import { byID, make } from "./dom.js";
import { inks, sharp, trace } from "./pen.js";

const rail = byID("rail");
let entries = [];

// show lists the live axes and those that were recorded but are not there.
export function show(state, chosen, choose) {
  const focused = entries.find((e) => e.button === document.activeElement);
  entries = [];
  rail.replaceChildren();
  let column = 0;
  const recorded = new Map(state.axes.map((a) => [a.label, a]));
  for (const device of state.devices) {
    const list = make("ul");
    for (const axis of device.axes) {
      list.append(entry({ label: axis.label, kind: axis.kind, column: column++, away: device.away, known: recorded.get(axis.label) }, chosen, choose));
      recorded.delete(axis.label);
    }
    rail.append(make("h2", {}, device.name, ...(device.away ? [" ", make("span", { class: "away" }, "unplugged")] : [])), list);
  }
  if (recorded.size) {
    const list = make("ul");
    for (const a of recorded.values()) list.append(entry({ label: a.label, kind: "", column: -1, away: true, known: a }, chosen, choose));
    rail.append(make("h2", {}, "recorded, not there now"), list);
  }
  if (focused) entries.find((e) => e.label === focused.label)?.button.focus({ preventScroll: true });
  reveal(entries.find((e) => e.label === chosen));
}

// reveal scrolls the rail, and nothing else, to an entry.
function reveal(entry) {
  if (!entry) return;
  const [inner, outer] = [entry.button, rail].map((e) => e.getBoundingClientRect());
  if (inner.left < outer.left || inner.right > outer.right) rail.scrollLeft += inner.left - outer.left;
}

function entry(axis, chosen, choose) {
  const { label, known, away } = axis;
  const canvas = make("canvas", { "aria-hidden": "true" }), still = make("span", { class: "still" });
  const gravest = known ? known.gravest || "good" : "";
  const button = make("button", { type: "button", "aria-pressed": String(label === chosen), class: away ? `${gravest} gone` : gravest, onclick: () => choose(label) },
    make("span", { class: "label" }, label), make("span", { class: "verdict" }, known ? gravest : "not recorded"), canvas, still);
  entries.push({ ...axis, canvas, button, still });
  return make("li", {}, button);
}

// columnOf is the live column of a label, −1 for none, with its kind and why
// nothing of it is to be seen.
export function columnOf(label, history) {
  const found = entries.find((e) => e.label === label);
  return found ? { ...found, why: why(found, history) } : { column: -1, kind: "", why: "" };
}

// why says why nothing of an axis is to be seen, empty where something is. What
// has not moved since it was plugged in has sent nothing yet.
function why({ column, away }, history) {
  if (column < 0) return "not plugged in";
  if (away) return "unplugged";
  const values = history.counts[column];
  return !values || values[values.length - 1] !== null ? "" : "not moved yet";
}

export function draw(history) {
  const now = history.newest();
  for (const one of entries) {
    const { column, canvas, still } = one;
    const says = why(one, history);
    if (still.textContent !== says) still.textContent = says;
    canvas.hidden = Boolean(says);
    if (says || !history.counts[column]) continue;
    const { context, width, height } = sharp(canvas);
    context.strokeStyle = inks.blue;
    context.lineWidth = 1;
    trace(context, history.t, history.counts[column], history.from,
      (t) => width - ((now - t) / 20e6) * width, (v) => height - 2 - ((v + 32768) / 65535) * (height - 4));
  }
}
