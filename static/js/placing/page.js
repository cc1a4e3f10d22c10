/**
 * A page on which named spots are placed on a picture in any order and saved as one works: marks on stable
 * structures, the points of a repeat tracing. Template: imaging/parts/placing.html.
 *
 * The server holds `{ version, points: { key: { x, y, uncertain } } }` and answers every save with it.
 */
import { PictureView } from "../picture-view/view.js";
import { mark, SendAgain, tieToPage } from "../send-again.js";
import { nextFree, Steps } from "./steps.js";

const page = document.querySelector("[data-placing-page]");
const read = (id) => JSON.parse(document.getElementById(id).textContent);
const shown = read("placing-shown");
const state = read("placing-state");
const entries = new Map([...page.querySelectorAll("[data-key]")].map((entry) => [entry.dataset.key, entry]));
const keys = [...entries.keys()];
const parts = Object.fromEntries(
  ["now-name", "now-definition", "now-note", "uncertain", "take", "undo", "redo", "said"].map((name) => [
    name,
    page.querySelector(`[data-${name}]`),
  ]),
);
const view = new PictureView(page.querySelector("[data-picture-view]"), shown);
const steps = new Steps();
const queue = tieToPage(new SendAgain(), page.querySelector("[data-queue-bar]"), window);
/** Keys that are changed here and not yet answered. */
const waiting = new Set();
let current = null;

/** Where the list lies under the picture. */
const NARROW = matchMedia("(max-width: 60rem)");
const nameOf = (key) => entries.get(key).querySelector(".placing-name").textContent;

function draw() {
  for (const [key, entry] of entries) {
    const at = state.points[key];
    const label = key === current ? nameOf(key) : entry.dataset.short;
    if (at) view.put({ key, x: at.x, y: at.y, label, className: at.uncertain ? "pin-uncertain" : "" });
    else if (view.at(key)) view.take(key);
    entry.querySelector("[data-state]").textContent = at ? (at.uncertain ? "uncertain" : "placed") : "";
    entry.setAttribute("aria-pressed", String(key === current));
    entry.toggleAttribute("data-placed", Boolean(at));
  }
  for (const section of page.querySelectorAll(".placing-side section")) {
    const count = section.querySelector("[data-count]");
    const own = [...section.querySelectorAll("[data-key]")];
    if (count) count.textContent = `${own.filter((entry) => state.points[entry.dataset.key]).length} of ${own.length}`;
  }
  const at = current && state.points[current];
  parts.uncertain.disabled = parts.take.disabled = !at;
  parts.uncertain.checked = Boolean(at?.uncertain);
  parts.undo.disabled = !steps.undoable;
  parts.redo.disabled = !steps.redoable;
}

function choose(key) {
  current = key;
  const entry = key && entries.get(key);
  const noun = page.dataset.noun;
  parts["now-name"].textContent = entry ? nameOf(key) : `Choose a ${noun}`;
  parts["now-definition"].textContent = entry
    ? entry.dataset.definition
    : `Choose a ${noun} in the list, then press its spot on the radiograph.`;
  parts["now-note"].textContent = entry?.dataset.note ?? "";
  const placed = Boolean(key && state.points[key]);
  view.placing = Boolean(key) && !placed;
  view.choose(placed ? key : null);
  if (placed) view.reveal(key);
  draw();
}

/** Change one spot here and send it; `null` takes it away. */
function set(key, to) {
  if (to) state.points[key] = to;
  else delete state.points[key];
  send(key);
  draw();
}

function change(key, to) {
  const old = state.points[key] ?? null;
  steps.note({ key, old: old && { ...old }, new: to });
  set(key, to);
}

function send(key) {
  waiting.add(key);
  say("waiting", "Saving…");
  queue.put({
    name: key,
    address: page.dataset.address,
    build: () => ({ seen: state.version, points: { [key]: state.points[key] ?? null } }),
    saved: (data) => answered(key, data),
    changed: (data) => {
      waiting.clear();
      steps.forget();
      state.version = data.version;
      state.points = data.points;
      choose(current);
      say("changed", "Changed in another window meanwhile. Here it stands as it is now; place again what is missing.");
    },
    refused: (data) => {
      waiting.delete(key);
      say("refused", data?.faults?.map((fault) => fault.message).join(" ") || data?.message || "Not saved.");
    },
    failed: (status, data) => {
      waiting.delete(key);
      say("refused", data?.message ?? `Not saved (answer ${status}). Open the page again.`);
    },
    waiting: () => say("waiting", "Not saved yet"),
  });
}

function answered(key, data) {
  waiting.delete(key);
  state.version = data.version;
  for (const other of keys) {
    if (waiting.has(other)) continue;
    if (data.points[other]) state.points[other] = data.points[other];
    else delete state.points[other];
  }
  draw();
  if (!waiting.size) say("saved", "Saved");
}

function say(how, words) {
  mark(parts.said, how, words);
  parts.said.querySelector("[data-mark-words]").className = `mark-${how}`;
}

view.addEventListener("place", ({ detail }) => {
  if (!current) return;
  change(current, { x: detail.x, y: detail.y, uncertain: false });
  choose(nextFree(keys, state.points, current) ?? current);
});
view.addEventListener("moved", ({ detail: { key, x, y, from } }) => {
  const uncertain = Boolean(state.points[key]?.uncertain);
  steps.note({ key, old: { ...from, uncertain }, new: { x, y, uncertain } });
  set(key, { x, y, uncertain });
});
view.addEventListener("choose", ({ detail }) => choose(detail.key));
view.addEventListener("delete", ({ detail }) => take(detail.key));

function take(key) {
  if (!key || !state.points[key]) return;
  change(key, null);
  choose(key);
}

function step(back) {
  view.flush();
  const one = back ? steps.undo() : steps.redo();
  if (!one) return;
  set(one.key, one.to && { ...one.to });
  choose(one.key);
}

page.addEventListener("click", (event) => {
  const entry = event.target.closest("[data-key]");
  if (!entry) return;
  choose(entry.dataset.key);
  if (NARROW.matches) page.querySelector(".placing-now").scrollIntoView({ block: "start" });
});
page.addEventListener("input", (event) => {
  if (!event.target.dataset.light) return;
  const [brightness, contrast, invert] = ["brightness", "contrast", "invert"].map((name) =>
    page.querySelector(`[data-light=${name}]`),
  );
  view.light({ brightness: brightness.value / 100, contrast: contrast.value / 100, invert: invert.checked });
});
parts.take.addEventListener("click", () => take(current));
parts.undo.addEventListener("click", () => step(true));
parts.redo.addEventListener("click", () => step(false));
parts.uncertain.addEventListener("change", () => {
  const at = state.points[current];
  if (at) change(current, { ...at, uncertain: parts.uncertain.checked });
});
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.matches("input:not([type=checkbox]), textarea")) return;
  const letter = event.key.toLowerCase();
  if (letter !== "z" && letter !== "y") return;
  event.preventDefault();
  step(letter === "z" && !event.shiftKey);
});
window.addEventListener("beforeunload", () => view.flush(), { capture: true });

const first = page.querySelector("[data-first]")?.dataset.key ?? keys[0];
choose(state.points[first] ? (nextFree(keys, state.points, first) ?? first) : first);
page.dataset.ready = "";
