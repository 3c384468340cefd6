// Live marks over the figures, at the places that the bench sends.
import { make, set } from "./dom.js";

export class Marks {
  constructor() {
    this.layers = new Map();
  }

  // over lets marks of a figure's name appear on an SVG.
  over(name, svg) {
    const layer = make("g", { class: "live-marks", "aria-hidden": "true" });
    svg.append(layer);
    this.layers.set(name, layer);
  }

  show(marks) {
    for (const [name, layer] of this.layers) {
      const here = marks.filter((m) => m.figure === name);
      while (layer.childNodes.length > here.length) layer.lastChild.remove();
      here.forEach((m, i) => put(layer, i, m));
    }
  }
}

function put(layer, i, m) {
  const isDot = m.x1 === m.x2 && m.y1 === m.y2;
  let element = layer.childNodes[i];
  if (!element || (element.tagName === "circle") !== isDot) {
    const fresh = isDot ? make("circle", { r: 3.2 }) : make("line");
    if (element) element.replaceWith(fresh);
    else layer.append(fresh);
    element = fresh;
  }
  set(element, isDot ? { cx: m.x1, cy: m.y1 } : { x1: m.x1, y1: m.y1, x2: m.x2, y2: m.y2 });
}
