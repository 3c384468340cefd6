// The live stream: what it brings is handed to whoever listens, by name.
const listeners = {};
let id = "", wish = { axis: "", try: false };

import { post } from "./ask.js";

export function on(name, listener) {
  (listeners[name] ||= []).push(listener);
}

function tell(name, data) {
  for (const listener of listeners[name] || []) listener(data);
}

export function open() {
  const source = new EventSource("/live");
  source.addEventListener("hello", (e) => {
    id = JSON.parse(e.data).stream;
    tell("hello", JSON.parse(e.data));
    send();
  });
  for (const name of ["rows", "revisions", "guide"]) {
    source.addEventListener(name, (e) => tell(name, JSON.parse(e.data)));
  }
  source.onerror = () => tell("lost", source.readyState === EventSource.CLOSED);
  source.onopen = () => tell("lost", null);
  window.addEventListener("pagehide", () => source.close());
}

function send() {
  if (id) post("/watch", { stream: id, ...wish }).catch(() => {}); // a new stream asks again
}

// watch says what the stream is to bring besides the rows.
export function watch(changes) {
  const next = { ...wish, ...changes };
  if (next.axis === wish.axis && next.try === wish.try) return;
  wish = next;
  send();
}

export const watching = () => wish;
