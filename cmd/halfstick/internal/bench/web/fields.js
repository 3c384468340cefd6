// The numbers of the chosen response, to be typed.
import { keepTyped, make } from "./dom.js";

// show brings the fields up to date. What is half typed stays, also while another
// page changes the same response; so a field that stays is never taken out.
export function show(parent, view, act) {
  const fresh = [kind, ...(view.two_sided ? [apart] : []), ...view.fields.map((f) => field(f)), ...(view.kind === "points" ? [more] : [])];
  const old = new Map([...parent.children].map((e) => [e.dataset.of, e]));
  const items = fresh.map(({ of, build }) => old.get(of) || build(view, act));
  fresh.forEach(({ of }, i) => { items[i].dataset.of = of; });
  for (const gone of old.values()) if (!items.includes(gone)) gone.remove();
  let next = parent.firstChild;
  for (const item of items) {
    if (item === next) next = next.nextSibling;
    else parent.insertBefore(item, next);
  }
  parent.querySelector("#shape-kind").value = view.kind;
  if (view.two_sided) parent.querySelector("#shape-apart").checked = view.apart;
  for (const f of view.fields) put(parent.querySelector(`[id="field-${f.id}"]`), f.value);
}

function put(input, value) {
  input.dataset.shown = value;
  if (!input.dataset.typing && input.value !== value) input.value = value;
}

const kind = {
  of: "kind",
  build: (view, act) => make("label", { class: "field" }, make("span", {}, "shape"),
    make("select", { id: "shape-kind", onchange: (e) => act({ do: "kind", kind: e.target.value }) },
      ...view.kinds.map((k) => make("option", { value: k }, k)))),
};

const apart = {
  of: "apart",
  build: (_, act) => make("label", { class: "field" }, make("span", {}, "each side its own shape"),
    make("input", { type: "checkbox", id: "shape-apart", onchange: (e) => act({ do: "apart", apart: e.target.checked }) })),
};

const more = {
  of: "more",
  build: (_, act) => make("button", { type: "button", id: "add-point", onclick: () => act({ do: "add-point" }) }, "Add a point"),
};

const field = (f) => ({ of: `${f.id} ${f.label}`, build: (_, act) => typed(f, act) });

function typed(f, act) {
  const input = make("input", {
    type: "number", id: `field-${f.id}`, min: f.min, max: f.max, step: f.step, inputmode: "decimal",
    onchange: (e) => act({ do: "set", field: f.id, text: e.target.value }),
  });
  keepTyped(input);
  return make("label", { class: "field" }, make("span", {}, f.label), make("span", { class: "value" }, input, f.unit ? ` ${f.unit}` : ""));
}
