// The candidates side by side: which is chosen, and what each of them does.
import { keepTyped, make } from "./dom.js";

export function show(parent, view, act) {
  const shown = JSON.stringify([view.candidates.map((c) => c.name), view.chosen, view.undo, view.redo]);
  if (parent.dataset.shown === shown) return;
  parent.dataset.shown = shown;
  const own = view.chosen > 0, called = view.candidates[view.chosen].name;
  const name = make("input", {
    type: "text", maxlength: 32, value: called, disabled: !own, "aria-label": "Name of the chosen candidate", "data-key": "name", "data-shown": called,
    onchange: (e) => act({ do: "name", text: e.target.value }),
  });
  keepTyped(name);
  const old = parent.querySelector('[data-key="name"]');
  const focused = document.activeElement && parent.contains(document.activeElement) ? document.activeElement.dataset.key : "";
  parent.replaceChildren(
    make("legend", {}, "Candidates"),
    ...view.candidates.map((c, i) => choice(c, i, view, act)),
    make("div", { class: "row" },
      button("copy", "Copy this one", view.candidates.length > 3, () => act({ do: "copy" })),
      button("remove", "Remove", !own, () => act({ do: "remove" })),
      button("undo", "Undo", !view.undo, () => act({ do: "undo" })),
      button("redo", "Redo", !view.redo, () => act({ do: "redo" }))),
    make("label", { class: "row name" }, "name ", name));
  if (old && old.dataset.typing && old.dataset.shown === called) [name.value, name.dataset.typing] = [old.value, "yes"];
  if (focused) [...parent.querySelectorAll("[data-key]")].find((e) => e.dataset.key === focused && !e.disabled)?.focus({ preventScroll: true });
}

function choice(candidate, i, view, act) {
  const input = make("input", { type: "radio", name: "candidate", value: i, "data-key": `candidate-${i}`, onchange: () => act({ do: "choose", chosen: i }) });
  input.checked = i === view.chosen;
  const sample = make("svg", { viewBox: "0 0 28 8", class: "sample", "aria-hidden": "true" },
    make("polyline", { class: `pen-${i} chosen`, points: "0,4 28,4" }));
  return make("label", { class: "candidate" }, input, sample, make("span", {}, candidate.name));
}

function button(key, text, disabled, onclick) {
  return make("button", { type: "button", disabled, onclick, "data-key": key }, text);
}

// numbers sets what the straight response and every candidate do side by side.
// While only values change, the table stays and its cells are filled anew.
export function numbers(parent, view) {
  const names = JSON.stringify([view.candidates.map((c) => c.name), view.chosen, view.numbers.map((row) => row.name)]);
  if (parent.dataset.names !== names) {
    parent.dataset.names = names;
    parent.replaceChildren(table(view));
    requestAnimationFrame(() => { // the chosen one is what is looked at
      const now = parent.querySelector("th.now");
      parent.scrollLeft = now.offsetLeft + now.offsetWidth - parent.clientWidth;
    });
  }
  const cells = parent.querySelectorAll("td");
  view.numbers.flatMap((row) => row.values).forEach((v, i) => {
    if (cells[i].textContent !== v) cells[i].textContent = v;
  });
}

function table(view) {
  const now = (i) => (i === view.chosen ? "number now" : "number");
  const head = make("tr", {}, make("th", { scope: "col" }, "What it does"), make("th", { scope: "col", class: "number" }, "straight"),
    ...view.candidates.map((c, i) => make("th", { scope: "col", class: now(i) }, c.name)));
  const rows = view.numbers.map((row) => make("tr", {}, make("th", { scope: "row" }, row.name),
    ...row.values.map((_, i) => make("td", { class: now(i - 1) }))));
  return make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows));
}

// glosses says what the numbers are, for those who do not know them yet.
export function glosses(parent, view) {
  const names = view.numbers.map((row) => row.name).join("\n");
  if (parent.dataset.names === names) return;
  parent.dataset.names = names;
  parent.replaceChildren(...view.numbers.flatMap((row) => [make("dt", {}, row.name), make("dd", {}, row.gloss)]));
}
