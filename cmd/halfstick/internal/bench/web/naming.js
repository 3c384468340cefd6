// What an axis is called, and of which kind it is: for axes that nobody was led
// through, and where the guide took one for the other kind.
import { post } from "./ask.js";
import { make, say } from "./dom.js";

const kinds = {
  "two-sided": "springs back to a centre (two-sided)",
  "one-sided": "runs from stop to stop (one-sided)",
};

export function build({ label, kind }) {
  const name = make("input", { type: "text", id: "axis-name", value: label, maxlength: 64, spellcheck: "false", autocomplete: "off" });
  const choice = make("select", { id: "axis-kind" },
    ...Object.entries(kinds).map(([value, text]) => make("option", { value, selected: value === kind }, text)));
  const take = make("button", {
    type: "button", id: "take-name",
    onclick: () => post("/name", { axis: label, label: name.value.trim(), kind: choice.value }).then(() => say("")).catch((e) => say(e.message)),
  }, "Take over");
  name.addEventListener("keydown", (e) => { if (e.key === "Enter") take.click(); });
  return make("details", { class: "naming" }, make("summary", {}, "Name and kind"),
    make("div", { class: "row" },
      make("label", { class: "field" }, make("span", {}, "called"), name),
      make("label", { class: "field" }, make("span", {}, "it"), choice), take),
    make("p", { class: "small" }, "Letters, digits and hyphens. What was recorded of it is kept and measured again under the name and kind that you give."));
}
