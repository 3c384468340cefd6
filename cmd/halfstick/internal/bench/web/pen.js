// Draws a series as a pen on paper does: every pixel column from its least to
// its greatest value, so that no spike is lost. x and y place times and values.
export function trace(context, t, values, from, x, y) {
  context.beginPath();
  let column = null, least = 0, most = 0, last = 0, down = false;
  const flush = () => {
    if (column === null) return;
    if (down) context.lineTo(column, least);
    else context.moveTo(column, least);
    context.lineTo(column, most);
    context.lineTo(column, last);
    down = true;
  };
  for (let i = from; i < t.length; i++) {
    if (values[i] === null || values[i] === undefined) {
      flush();
      column = null;
      down = false;
      continue;
    }
    const at = Math.round(x(t[i])), high = y(values[i]);
    if (at !== column) {
      flush();
      column = at;
      least = most = high;
    }
    least = Math.min(least, high);
    most = Math.max(most, high);
    last = high;
  }
  flush();
  context.stroke();
}

// sharp makes a canvas as fine as the screen; it returns its size in CSS pixels.
export function sharp(canvas) {
  const { width, height } = canvas.getBoundingClientRect();
  const ratio = window.devicePixelRatio || 1;
  const w = Math.round(width * ratio), h = Math.round(height * ratio);
  if (canvas.width !== w || canvas.height !== h) {
    canvas.width = w;
    canvas.height = h;
  }
  const context = canvas.getContext("2d");
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.clearRect(0, 0, width, height);
  return { context, width, height };
}

// inks are the colours of the theme, read anew when the page turns dark.
export const inks = {};
export function readInks() {
  const style = getComputedStyle(document.documentElement);
  for (const name of ["ink", "muted", "grid", "paper", "blue", "vermilion"]) inks[name] = style.getPropertyValue(`--${name}`).trim();
}
readInks();
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", readInks);
