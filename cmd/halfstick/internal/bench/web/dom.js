// Elements are made of names and texts, never of markup: names of devices and
// of candidates come from outside.
const svgNames = new Set(["svg", "g", "line", "circle", "polyline", "rect", "title", "path", "text"]);

export function make(name, attributes = {}, ...children) {
  const element = svgNames.has(name)
    ? document.createElementNS("http://www.w3.org/2000/svg", name)
    : document.createElement(name);
  set(element, attributes);
  element.append(...children.filter((c) => c !== null && c !== undefined));
  return element;
}

export function set(element, attributes) {
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value === false || value === null || value === undefined) element.removeAttribute(key);
    else put(element, key, value === true ? "" : String(value));
  }
}

// put leaves alone what is as it should be: a browser would lay it out anew.
function put(element, key, value) {
  if (element.getAttribute(key) !== value) element.setAttribute(key, value);
}

// keepTyped marks an input while something is half typed in it, so that what is
// shown anew leaves it alone; Escape gives back what was shown (data-shown).
export function keepTyped(input) {
  const end = () => delete input.dataset.typing;
  input.addEventListener("input", () => { input.dataset.typing = "yes"; });
  input.addEventListener("change", end);
  input.addEventListener("keydown", (e) => {
    if (e.key !== "Escape" || !input.dataset.typing) return;
    end();
    input.value = input.dataset.shown;
  });
}

export const byID = (id) => document.getElementById(id);

// served turns markup that the bench itself has rendered, and escaped, into
// nodes.
export function served(markup, type = "text/html") {
  const page = new DOMParser().parseFromString(markup, type);
  if (type === "image/svg+xml") return document.importNode(page.documentElement, true);
  const fragment = document.createDocumentFragment();
  fragment.append(...[...page.body.childNodes].map((n) => document.importNode(n, true)));
  return fragment;
}

export function say(text) {
  const problem = byID("problem");
  if (problem.textContent === text) return;
  problem.textContent = text;
  problem.hidden = !text;
}
