// Try it: the hand moves one mark by the straight response and one by the
// chosen one. The bench works out the motion; the lanes are drawn in its units.
import { make, set } from "./dom.js";
import * as stream from "./stream.js";

let lanes = null;

export function build(axis) {
  const one = axis.kind === "one-sided";
  const box = one ? "-0.06 0.04 1.12 0.08" : "-1.12 0.02 2.24 0.12";
  const lane = (name, className) => {
    const mark = make("circle", { cx: 0, cy: 0.08, r: one ? 0.016 : 0.03, class: className });
    const svg = make("svg", { viewBox: box, class: "lane", role: "img", "aria-label": `Mark moved by the ${name} response` },
      make("line", { x1: one ? 0 : -1, y1: 0.08, x2: 1, y2: 0.08 }), make("line", { x1: 0, y1: 0.02, x2: 0, y2: 0.14 }), mark);
    return { row: make("div", { class: "lane-row" }, make("span", {}, name), svg), mark };
  };
  const straight = lane("straight", "mark straight"), chosen = lane("chosen", "mark chosen");
  const says = make("p", { class: "small" });
  const toggle = make("button", {
    type: "button", "aria-pressed": "false",
    onclick: () => {
      const on = !stream.watching().try;
      stream.watch({ try: on });
      set(toggle, { "aria-pressed": String(on) });
      toggle.textContent = on ? "End the try" : "Try it";
    },
  }, "Try it");
  lanes = { straight: straight.mark, chosen: chosen.mark, says };
  return make("section", { class: "try", "aria-label": "Try it" },
    make("h3", {}, "Try it", make("span", { class: "small" }, one
      ? "the axis sets where the mark goes, with a lag of 0.3 s"
      : "the axis sets how fast the mark goes, with a lag of 0.3 s; it is no model of an aircraft")),
    toggle, straight.row, chosen.row, says);
}

export function show(now) {
  if (!lanes || !now) return;
  lanes.straight.setAttribute("cx", now.straight);
  lanes.chosen.setAttribute("cx", now.chosen);
  lanes.says.textContent = now.says;
}
