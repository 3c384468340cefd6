// The candidates side by side: which is chosen, and what each of them does.
import { make } from "./dom.js";

export function show(parent, view, act) {
  const own = view.chosen > 0;
  const name = make("input", {
    type: "text", maxlength: 32, value: view.candidates[view.chosen].name, disabled: !own, "aria-label": "Name of the chosen candidate",
    onchange: (e) => act({ do: "name", text: e.target.value }),
  });
  const focused = document.activeElement && parent.contains(document.activeElement) ? document.activeElement.dataset.key : "";
  parent.replaceChildren(
    make("legend", {}, "Candidates"),
    ...view.candidates.map((c, i) => choice(c, i, view, act)),
    make("div", { class: "row" },
      button("copy", "Copy", view.candidates.length > 3, () => act({ do: "copy" })),
      button("remove", "Remove", !own, () => act({ do: "remove" })),
      button("undo", "Undo", !view.undo, () => act({ do: "undo" })),
      button("redo", "Redo", !view.redo, () => act({ do: "redo" }))),
    make("label", { class: "row name" }, "name ", name));
  name.dataset.key = "name";
  if (focused) [...parent.querySelectorAll("[data-key]")].find((e) => e.dataset.key === focused && !e.disabled)?.focus();
}

function choice(candidate, i, view, act) {
  const input = make("input", { type: "radio", name: "candidate", value: i, onchange: () => act({ do: "choose", chosen: i }) });
  input.checked = i === view.chosen;
  input.dataset.key = `candidate-${i}`;
  const sample = make("svg", { viewBox: "0 0 28 8", class: "sample", "aria-hidden": "true" },
    make("polyline", { class: `pen-${i} chosen`, points: "0,4 28,4" }));
  return make("label", { class: "candidate" }, input, sample, make("span", {}, candidate.name));
}

function button(key, text, disabled, onclick) {
  const b = make("button", { type: "button", disabled, onclick }, text);
  b.dataset.key = key;
  return b;
}

// numbers sets what the straight response and every candidate do side by side.
export function numbers(parent, view) {
  const head = make("tr", {}, make("th", { scope: "col" }, "What it does"), make("th", { scope: "col", class: "number" }, "straight"),
    ...view.candidates.map((c, i) => make("th", { scope: "col", class: i === view.chosen ? "number now" : "number" }, c.name)));
  const rows = view.numbers.map((row) => make("tr", {}, make("th", { scope: "row" }, row.name),
    ...row.values.map((v, i) => make("td", { class: i === view.chosen + 1 ? "number now" : "number" }, v))));
  parent.replaceChildren(make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows)));
}

// glosses says what the numbers are, for those who do not know them yet.
export function glosses(parent, view) {
  parent.replaceChildren(...view.numbers.flatMap((row) => [make("dt", {}, row.name), make("dd", {}, row.gloss)]));
}
