// The strip chart: the last seconds of the watched axis, the pens at the right.
import { byID } from "./dom.js";
import { inks, sharp, trace } from "./pen.js";

const canvas = byID("strip");
const seconds = 20;
const hints = {
  "not plugged in": "this axis was recorded, and is not plugged in now",
  unplugged: "unplugged: plug it in again and it goes on by itself",
  "not moved yet": "not moved yet: move it, and it is drawn",
};
const edge = { left: 46, right: 52, top: 12, bottom: 18 };

// draw draws an axis by its live column, or why there is nothing of it to draw.
export function draw(history, { column, kind, why }) {
  const { context, width, height } = sharp(canvas);
  const right = width - edge.right, bottom = height - edge.bottom;
  const now = history.newest();
  const x = (t) => right - ((now - t) / (seconds * 1e6)) * (right - edge.left);
  const y = (v, low, high) => bottom - ((v - low) / (high - low)) * (bottom - edge.top);
  ruled(context, now, x, right, bottom);
  const least = kind === "one-sided" ? 0 : -100;
  scales(context, y, least, right, width);
  if (why) words(context, hints[why], (edge.left + right) / 2, (edge.top + bottom) / 2 - 8, "center");
  if (column < 0) return;
  context.save();
  context.beginPath();
  context.rect(edge.left, 0, right - edge.left + 1, height);
  context.clip();
  pen(context, history, history.command[column], "vermilion", [5, 3], x, (v) => y(v, least, 100));
  pen(context, history, history.counts[column], "blue", [], x, (v) => y(v, -32768, 32767));
  context.restore();
  nib(context, history.command[column], "vermilion", right, (v) => y(v, least, 100));
  nib(context, history.counts[column], "blue", right, (v) => y(v, -32768, 32767));
}

function ruled(context, now, x, right, bottom) {
  context.lineWidth = 1;
  for (let s = Math.max(0, Math.ceil(now / 1e6 - seconds)); s <= now / 1e6; s++) {
    const at = Math.round(x(s * 1e6)) + 0.5;
    if (at < edge.left) continue;
    context.strokeStyle = inks.grid;
    context.globalAlpha = s % 5 ? 0.55 : 1;
    line(context, at, edge.top, at, bottom);
    context.globalAlpha = 1;
    if (s % 5) continue;
    words(context, `${s} s`, at, bottom + 13, "center");
  }
  context.strokeStyle = inks.muted;
  line(context, edge.left, bottom + 0.5, right, bottom + 0.5);
}

function scales(context, y, least, right, width) {
  for (const v of [-32768, 0, 32767]) words(context, String(v).replace("-", "−"), edge.left - 5, y(v, -32768, 32767) + 4, "right");
  for (const v of least < 0 ? [-100, -50, 0, 50, 100] : [0, 25, 50, 75, 100]) {
    const at = Math.round(y(v, least, 100)) + 0.5;
    context.strokeStyle = inks.grid;
    line(context, edge.left, at, right, at);
    words(context, `${String(v).replace("-", "−")} %`, width - 2, at + 4, "right");
  }
}

function pen(context, history, values, ink, dashes, x, y) {
  if (!values) return;
  context.strokeStyle = inks[ink];
  context.lineWidth = 1.4;
  context.setLineDash(dashes);
  trace(context, history.t, values, history.from, x, y);
  context.setLineDash([]);
}

function nib(context, values, ink, right, y) {
  const v = values && values[values.length - 1];
  if (v === null || v === undefined) return;
  context.fillStyle = inks[ink];
  context.beginPath();
  context.moveTo(right + 1, y(v));
  context.lineTo(right + 9, y(v) - 4);
  context.lineTo(right + 9, y(v) + 4);
  context.fill();
}

function line(context, x0, y0, x1, y1) {
  context.beginPath();
  context.moveTo(x0, y0);
  context.lineTo(x1, y1);
  context.stroke();
}

function words(context, text, x, y, align) {
  context.fillStyle = inks.muted;
  context.font = "11px 'Liberation Sans', Arial, Helvetica, sans-serif";
  context.textAlign = align;
  context.fillText(text, x, y);
}
