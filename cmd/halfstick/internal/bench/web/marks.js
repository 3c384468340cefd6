// Live marks over the figures, at the places that the bench sends. They lie in
// an SVG of their own, which the browser keeps as a layer: a figure of thousands
// of points must not be painted anew with every sample.
import { make, set } from "./dom.js";

export class Marks {
  constructor() {
    this.layers = new Map();
    this.seen = new IntersectionObserver((changes) => {
      for (const { target, isIntersecting } of changes) target.dataset.seen = isIntersecting ? "yes" : "";
    });
  }

  // over is an SVG with a layer over it for the marks of a figure's name.
  over(name, svg) {
    const layer = make("svg", { class: "live-marks", "aria-hidden": "true", viewBox: svg.getAttribute("viewBox") });
    this.layers.set(name, layer);
    this.seen.observe(layer);
    return make("div", { class: "marked" }, svg, layer);
  }

  show(marks) {
    for (const [name, layer] of this.layers) {
      if (!layer.dataset.seen) continue;
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
