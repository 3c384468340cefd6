// Take away: the table of the chosen candidate, and the setting of a program
// that takes no table.
import { axisPath, get, post } from "./ask.js";
import { make } from "./dom.js";

let current = null;

export function leave() {
  current = null;
}

// refresh shows the table of what is chosen now.
export function refresh() {
  if (current) current();
}

export function build(axis) {
  const points = make("input", { type: "number", min: 3, max: 201, value: 21, id: "table-points" });
  const places = make("input", { type: "number", min: 0, max: 6, value: 1, id: "table-places" });
  const spacing = make("select", { id: "table-spacing" }, make("option", { value: "even" }, "even"), make("option", { value: "best" }, "least error"));
  const says = make("p", { class: "small", role: "status" }), blocks = make("div", { class: "blocks" });
  const links = Object.entries({ csv: "Table as CSV", json: "Table as JSON", card: "Card to print" })
    .map(([format, text]) => [format, make("a", format === "card" ? { class: "button", target: "_blank" } : { class: "button", download: true }, text)]);
  let text = "";
  const copy = make("button", { type: "button", onclick: () => copyText(text, says) }, "Copy the table");
  async function show() {
    const query = `points=${encodeURIComponent(points.value)}&places=${encodeURIComponent(places.value)}&spacing=${spacing.value}`;
    for (const [format, link] of links) link.href = axisPath(axis.label, `table/${format}?${query}`);
    try {
      const table = await get(axisPath(axis.label, `table?${query}`));
      text = table.text;
      says.textContent = `${table.candidate}: ${table.says}`;
      blocks.replaceChildren(...inThree(table.rows));
    } catch (error) {
      says.textContent = error.message;
      blocks.replaceChildren();
    }
  }
  for (const input of [points, places, spacing]) input.addEventListener("change", show);
  current = show;
  show();
  return make("section", { class: "takeaway", "aria-label": "Take away" },
    make("h3", {}, "Table", make("span", { class: "small" }, "of the chosen candidate")),
    make("div", { class: "row" }, labelled("points", points), labelled("decimals", places), labelled("spacing", spacing), copy, ...links.map(([, l]) => l)),
    says, blocks, translation(axis));
}

const labelled = (text, input) => make("label", { class: "field" }, make("span", {}, text), input);

function inThree(rows) {
  const each = Math.ceil(rows.length / 3), out = [];
  for (let i = 0; i < rows.length; i += each) {
    out.push(make("table", {},
      make("thead", {}, make("tr", {}, ...["Counts", "Position, %", "Command, %"].map((h) => make("th", { class: "number", scope: "col" }, h)))),
      make("tbody", {}, ...rows.slice(i, i + each).map((r) => make("tr", {}, ...r.map((c) => make("td", { class: "number" }, c)))))));
  }
  return out;
}

async function copyText(text, says) {
  try {
    await navigator.clipboard.writeText(text);
    says.textContent = "copied: position and command, a line a point";
  } catch {
    says.textContent = "this browser does not let the page copy; take the file instead";
  }
}

// noted is what a person has typed of a program: it is the same for every axis.
const noted = {
  readings: "setting,position_percent,command_percent\n", straight_at: "0", low: "", high: "", reading_error: "0.5",
};

function translation(axis) {
  const readings = make("textarea", { rows: 6, id: "readings", spellcheck: "false" });
  const typed = (key, attributes) => make("input", { type: "text", inputmode: "decimal", id: key.replace("_", "-"), ...attributes });
  const inputs = { readings, straight_at: typed("straight_at"), low: typed("low"), high: typed("high"), reading_error: typed("reading_error") };
  for (const [key, input] of Object.entries(inputs)) {
    input.value = noted[key];
    input.addEventListener("input", () => { noted[key] = input.value; });
  }
  const says = make("pre", { role: "status", class: "translation" });
  const ask = make("button", {
    type: "button",
    onclick: () => post(axisPath(axis.label, "translate"), noted)
      .then((t) => { says.textContent = t.says; }).catch((e) => { says.textContent = e.message; }),
  }, "Find the setting");
  return make("details", { class: "why" },
    make("summary", {}, "The program takes no table, but one unlabelled number"),
    make("p", {}, "Note what it commands at a few positions, at two settings or three, a line each: setting, position, command, in percent of the way from centre to stop. Its own deadband and end margin off."),
    make("label", { for: "readings" }, "Readings"), readings,
    make("div", { class: "row" },
      labelled("straight at setting", inputs.straight_at), labelled("settings from", inputs.low), labelled("to", inputs.high),
      labelled("noted to ±", inputs.reading_error), "%", ask),
    make("p", { class: "small" }, "Straight at: the setting at which the program's command follows the control one to one, often 0. Settings from and to: the whole numbers that it takes; empty where you do not know. Noted to: half a percent where whole percents were noted."),
    says);
}
