// The paper that a response is shaped on: curves, and handles for pointer and
// keyboard. Places are in the units of the figure; the bench knows their meaning.
import { make, set } from "./dom.js";

let gestures = 0;

export class Paper {
  constructor(svg, drag, act) {
    Object.assign(this, { svg, drag, act, held: null });
    svg.removeAttribute("role"); // it is not one picture: it has handles
    this.curves = make("g", { class: "curves", "aria-hidden": "true" });
    this.handles = make("g", { class: "handles" });
    svg.append(this.curves, this.handles);
    // A browser that hands out moves as they come need not wait for the next frame.
    svg.addEventListener("onpointerrawupdate" in svg ? "pointerrawupdate" : "pointermove", (e) => this.move(e));
    for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, () => { this.held = null; });
  }

  dragging() {
    return this.held !== null;
  }

  show(view) {
    const lines = view.candidates.flatMap((c, i) => curve(c, i, view.chosen));
    while (this.curves.childNodes.length > lines.length) this.curves.lastChild.remove();
    while (this.curves.childNodes.length < lines.length) this.curves.append(make("polyline"));
    lines.forEach((line, i) => set(this.curves.childNodes[i], line));
    const old = new Map([...this.handles.children].map((h) => [h.dataset.id, h]));
    for (const handle of view.handles) {
      const element = old.get(handle.id) || this.handle(handle);
      old.delete(handle.id);
      place(element, handle);
      if (element.parentNode !== this.handles) this.handles.append(element);
    }
    for (const gone of old.values()) gone.remove();
    // The Tab key goes from left to right, though the focus must not be lost.
    const order = view.handles.map((h) => h.id);
    const now = [...this.handles.children].map((h) => h.dataset.id);
    if (order.join() !== now.join() && !this.handles.contains(document.activeElement)) {
      const byID = new Map([...this.handles.children].map((h) => [h.dataset.id, h]));
      this.handles.append(...order.map((id) => byID.get(id)));
    }
  }

  handle({ id, point }) {
    const g = make("g", {
      class: "handle", tabindex: "0", role: "slider", "aria-valuemin": -100, "aria-valuemax": 100,
      onpointerdown: (e) => this.take(e),
      onkeydown: (e) => this.key(e, id, point),
    }, make("circle", { class: "reach", r: 14 }), make("circle", { class: "grip", r: 5 }));
    g.dataset.id = id;
    return g;
  }

  // take takes hold of the nearest handle: under a finger they overlap.
  take(e) {
    const at = this.at(e);
    const far = ({ firstChild: c }) => Math.hypot(c.getAttribute("cx") - at.x, c.getAttribute("cy") - at.y);
    const nearest = [...this.handles.children].reduce((a, b) => (far(b) < far(a) ? b : a));
    const grip = nearest.firstChild;
    this.held = {
      id: nearest.dataset.id, gesture: `drag-${performance.timeOrigin}-${++gestures}`,
      dx: grip.getAttribute("cx") - at.x, dy: grip.getAttribute("cy") - at.y, // it must not jump under the finger
    };
    this.svg.setPointerCapture(e.pointerId);
    nearest.focus();
    e.preventDefault();
  }

  // at is where a pointer is, in the units of the figure.
  at(e) {
    return new DOMPoint(e.clientX, e.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
  }

  move(e) {
    if (!this.held) return;
    const at = this.at(e);
    this.drag({ do: "move", handle: this.held.id, gesture: this.held.gesture, x: at.x + this.held.dx, y: at.y + this.held.dy });
  }

  key(e, id, point) {
    const by = e.shiftKey ? 10 : 1;
    const moves = { ArrowRight: [by, 0], ArrowLeft: [-by, 0], ArrowUp: [0, by], ArrowDown: [0, -by] };
    if (moves[e.key]) {
      // A handle with one way to go goes it for either pair of keys.
      let [right, up] = moves[e.key];
      const axes = e.currentTarget.dataset.axes;
      if (axes === "x") [right, up] = [right || up, 0];
      if (axes === "y") [right, up] = [0, right || up];
      this.drag({ do: "nudge", handle: id, right, up, gesture: `keys-${id}` });
    } else if (point && (e.key === "Delete" || e.key === "Backspace")) {
      this.act({ do: "remove-point", handle: id });
    } else return;
    e.preventDefault();
  }
}

function curve(candidate, i, chosen) {
  const name = `pen-${i}${i === chosen ? " chosen" : ""}`;
  return [candidate.lines.response, ...(candidate.lines.slope || [])].map((points) => ({ class: name, points }));
}

function place(element, handle) {
  for (const circle of element.children) set(circle, { cx: handle.x, cy: handle.y });
  element.dataset.axes = handle.axes;
  set(element, { "aria-label": handle.label, "aria-valuetext": handle.value, "aria-valuenow": handle.now });
}
