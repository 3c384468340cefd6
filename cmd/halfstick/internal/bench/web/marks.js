// Live marks over the figures, at the places that the bench sends. They lie in
// an SVG of their own, and each is moved by a transform in a layer that the
// browser keeps: neither a figure of thousands of points nor the mark itself
// must be painted anew with every sample.
import { make } from "./dom.js";

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

function put(layer, i, { x1, y1, x2, y2 }) {
  const isDot = x1 === x2 && y1 === y2, reach = isDot ? "dot" : `${x2 - x1} ${y2 - y1}`;
  let element = layer.childNodes[i];
  if (!element || element.dataset.reach !== reach) {
    const fresh = isDot ? make("circle", { r: 3.2 }) : make("line", { x2: x2 - x1, y2: y2 - y1 });
    fresh.dataset.reach = reach;
    if (element) element.replaceWith(fresh);
    else layer.append(fresh);
    element = fresh;
  }
  element.style.transform = `translate(${x1}px, ${y1}px)`;
}
