// The numbers of the chosen response, to be typed.
import { make } from "./dom.js";

export function show(parent, view, act) {
  const typing = parent.contains(document.activeElement) ? document.activeElement.id : "";
  const kind = make("select", { id: "shape-kind", onchange: (e) => act({ do: "kind", kind: e.target.value }) },
    ...view.kinds.map((k) => make("option", { value: k, selected: k === view.kind }, k)));
  const items = [make("label", { class: "field" }, make("span", {}, "shape"), kind)];
  if (view.two_sided) {
    const apart = make("input", { type: "checkbox", id: "shape-apart", onchange: (e) => act({ do: "apart", apart: e.target.checked }) });
    apart.checked = view.apart;
    items.push(make("label", { class: "field" }, make("span", {}, "each side its own shape"), apart));
  }
  items.push(...view.fields.map((f) => field(f, act)));
  if (view.kind === "points") {
    items.push(make("button", { type: "button", id: "add-point", onclick: () => act({ do: "add-point" }) }, "Add a point"));
  }
  parent.replaceChildren(...items);
  if (typing) document.getElementById(typing)?.focus();
}

function field(f, act) {
  const input = make("input", {
    type: "number", id: `field-${f.id}`, min: f.min, max: f.max, step: f.step, value: f.value, inputmode: "decimal",
    onchange: (e) => act({ do: "set", field: f.id, text: e.target.value }),
  });
  return make("label", { class: "field" }, make("span", {}, f.label), make("span", { class: "value" }, input, f.unit ? ` ${f.unit}` : ""));
}
