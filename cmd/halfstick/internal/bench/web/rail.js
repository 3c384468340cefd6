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
      list.append(entry(axis.label, axis.kind, column++, recorded.get(axis.label), chosen, choose));
      recorded.delete(axis.label);
    }
    rail.append(make("h2", {}, device.name), list);
  }
  if (recorded.size) {
    const list = make("ul");
    for (const a of recorded.values()) list.append(entry(a.label, "", -1, a, chosen, choose));
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

function entry(label, kind, column, recorded, chosen, choose) {
  const canvas = make("canvas", { "aria-hidden": "true" });
  const gravest = recorded ? recorded.gravest || "good" : "";
  const button = make("button", { type: "button", "aria-pressed": String(label === chosen), class: gravest, onclick: () => choose(label) },
    make("span", { class: "label" }, label), make("span", { class: "verdict" }, recorded ? gravest : "not recorded"), canvas);
  entries.push({ label, kind, column, canvas, button });
  return make("li", {}, button);
}

// columnOf is the live column of a label, −1 for none, with its kind.
export function columnOf(label) {
  const found = entries.find((e) => e.label === label);
  return found ? { column: found.column, kind: found.kind } : { column: -1, kind: "" };
}

export function first() {
  return entries.length ? entries[0].label : "";
}

export function draw(history) {
  const now = history.newest();
  for (const { column, canvas } of entries) {
    if (column < 0 || !history.counts[column]) continue;
    const { context, width, height } = sharp(canvas);
    context.strokeStyle = inks.blue;
    context.lineWidth = 1;
    trace(context, history.t, history.counts[column], history.from, (t, v) => [
      width - ((now - t) / 20e6) * width, height - 2 - ((v + 32768) / 65535) * (height - 4),
    ]);
  }
}
