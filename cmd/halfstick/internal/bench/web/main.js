// The bench's page: puts the parts together and follows the bench's state.
import { get, post } from "./ask.js";
import * as axis from "./axis.js";
import { byID, make, say } from "./dom.js";
import * as guide from "./guide.js";
import { History } from "./history.js";
import * as rail from "./rail.js";
import * as stream from "./stream.js";
import * as strip from "./strip.js";

const history = new History(20);
const still = matchMedia("(prefers-reduced-motion: reduce)");
let state = null, chosen = decodeURIComponent(location.hash.slice(1)), fetched = -1;

function choose(label) {
  chosen = label;
  window.history.replaceState(null, "", `#${encodeURIComponent(label)}`);
  stream.watch({ axis: label, try: false });
  rail.show(state, chosen, choose);
  axis.show(state, label).catch((e) => say(e.message));
}

let refreshing = false, again = false, done = 0;
async function refresh() {
  if (refreshing) { again = true; return; }
  refreshing = true;
  try {
    state = await get("/state");
    follow();
  } catch (error) {
    say(error.message);
  }
  refreshing = false;
  if (again) { again = false; refresh(); } else axis.behind(done);
}

function follow() {
  byID("doing").textContent = state.busy ? `${state.busy} …` : state.others.length > 1 ? "" : state.recording ? `about ${state.recording}` : "nothing recorded yet";
  say(state.problem);
  byID("notice").textContent = state.notice;
  noRig();
  guide.offer(state);
  byID("recorder").classList.toggle("quiet", Boolean(state.no_rig));
  byID("recorder").hidden = Boolean(state.no_rig) && !history.t.length; // there is nothing to see
  byID("kept").textContent = `Kept in ${state.folder}.` + (state.elsewhere.length
    ? ` Flown with other controls than this recording's, so not counted with it: ${state.elsewhere.join(", ")}.` : "");
  const labels = [...state.axes.map((a) => a.label), ...state.devices.flatMap((d) => d.axes.map((a) => a.label))];
  const renamed = (state.renamed || {})[chosen];
  if (!labels.includes(chosen)) chosen = labels.includes(renamed) ? renamed : labels[0] || "";
  for (const id of ["save", "profile", "printed"]) byID(id).toggleAttribute("hidden", !state.recording);
  byID("begin").disabled = byID("anew").disabled = Boolean(state.no_rig || state.busy);
  byID("anew").hidden = !known().length;
  const fly = byID("fly");
  fly.textContent = state.flying ? "End the flight" : "Record a flight";
  fly.disabled = Boolean(!state.flying && (state.no_rig || state.busy));
  byID("flown-with").hidden = !state.recording || state.flying;
  if (state.flying) byID("doing").textContent = "recording a flight: fly as usual, and end it here afterwards";
  others();
  stream.watch({ axis: chosen });
  rail.show(state, chosen, choose);
  axis.show(state, chosen).catch((e) => say(e.message));
}

// noRig says what to do where there is no controller.
function noRig() {
  const none = byID("norig");
  none.hidden = !state.no_rig;
  none.replaceChildren(
    make("h2", {}, "No controller"),
    make("p", {}, state.no_rig),
    make("p", {}, "The bench looks every second, and goes on by itself when one is plugged in.",
      state.recording ? " What was recorded before can be shaped and taken away meanwhile." : ""),
    state.recording ? null : make("p", {}, "Without one, ", make("code", {}, "halfstick bench --simulated"), " shows everything on a simulated rig."));
}

// known are the live axes that a recording has named.
function known() {
  const recorded = new Set(state.axes.map((a) => a.label));
  return state.devices.flatMap((d) => d.axes.map((a) => a.label)).filter((l) => recorded.has(l));
}

// others lets an earlier recording be looked at again.
function others() {
  byID("others").hidden = state.others.length < 2;
  byID("recording").replaceChildren(...state.others.map((name) =>
    make("option", { value: name, selected: name === state.recording }, name)));
}

let frames = 0, dirty = false, drawn = 0;
function frame(now) {
  requestAnimationFrame(frame);
  // With reduced motion the paper moves on once a second.
  if (!dirty || (still.matches && now - drawn < 1000)) return;
  dirty = false;
  drawn = now;
  strip.draw(history, rail.columnOf(chosen, history));
  if (frames % 6 === 0 || still.matches) rail.draw(history);
  frames++;
}

let worded = 0;
stream.on("rows", (rows) => {
  history.add(rows);
  dirty = true;
  const now = rows.now || { axis: chosen || "–", counts: "–", position: "–", command: "–", marks: [] };
  axis.mark(now);
  if (performance.now() - worded < 100) return; // no eye reads faster
  worded = performance.now();
  for (const name of ["axis", "counts", "position", "command"]) byID(`now-${name}`).textContent = now[name];
});
stream.on("revisions", (now) => {
  done = now.session;
  // What hands did may be to an axis that goes by another name since.
  if (now.state !== fetched) { fetched = now.state; refresh(); } else if (!refreshing) axis.behind(done);
});
stream.on("lost", (gone) => {
  if (gone === null) document.body.classList.remove("lost");
  else {
    document.body.classList.add("lost");
    byID("doing").textContent = gone ? "the bench has ended; start it again and open the address that it prints" : "the bench does not answer; trying again …";
  }
});

byID("save").addEventListener("click", () =>
  post("/save", {}).then((s) => { byID("doing").textContent = `saved as ${s.path}`; }).catch((e) => say(e.message)));
byID("look").addEventListener("click", () => post("/look", {}).catch((e) => say(e.message)));
byID("fly").addEventListener("click", () =>
  post("/flight", { do: state.flying ? "end" : "begin", chosen: byID("flown-chosen").checked }).catch((e) => say(e.message)));
byID("recording").addEventListener("change", (e) => post("/recording", { name: e.target.value }).catch((x) => say(x.message)));
guide.wire(byID("begin"), byID("anew"), known);
stream.open();
requestAnimationFrame(frame);
