// The scale of a picture: marks of rulers are placed on the picture or typed; both always say the same, and the server
// says at once what they would come to. The fields stay the exact way and work without this script.
import { PictureView } from "../picture-view/view.js";
import { ENDS, keyOf, lineOf, nextMark, placesOf, texts } from "./marks.js";

const REST = 150;
const SVG = "http://www.w3.org/2000/svg";

const form = document.querySelector("[data-rulers]");
const result = form.querySelector("[data-result]");
const shown = JSON.parse(document.getElementById("shown-picture").textContent);
const view = new PictureView(document.querySelector("[data-picture-view]"), shown);
let placing = 0;
let timer = 0;
let asked = 0;

const field = (ruler, name) => form.elements[`ruler_${ruler}_${name}`];
const read = (ruler) => placesOf((name) => field(ruler, name).value);

/** The points and the line of a ruler as its fields say. */
function draw(ruler) {
  const places = read(ruler);
  for (const end of ENDS) {
    const key = keyOf(ruler, end);
    if (places[end]) view.put({ key, ...places[end], label: key });
    else if (view.at(key)) view.take(key);
  }
  for (const old of view.lines.querySelectorAll(`[data-of="${ruler}"]`)) old.remove();
  const ends = lineOf(places);
  if (!ends) return;
  for (const layer of ["view-line view-line-under", "view-line ruler-line"]) {
    const line = document.createElementNS(SVG, "line");
    for (const [name, value] of Object.entries({ ...ends, class: layer, "data-of": ruler })) line.setAttribute(name, value);
    view.lines.append(line);
  }
}

function write(key, at) {
  const [ruler, end] = [key[0], key[1] === "a" ? "start" : "end"];
  for (const [axis, text] of Object.entries(texts(at))) field(ruler, `${end}_${axis}`).value = text;
  draw(ruler);
  later();
}

/** Begin or end to place the marks of a ruler; 0 ends. */
function place(ruler) {
  placing = ruler;
  view.placing = ruler > 0;
  for (const button of form.querySelectorAll("[data-place]")) {
    const on = Number(button.dataset.place) === ruler;
    button.setAttribute("aria-pressed", String(on));
    button.textContent = on ? "Click the two marks in the picture now" : wordsOf(Number(button.dataset.place));
  }
}

function wordsOf(ruler) {
  return nextMark(read(ruler)) ? "Click the two marks" : "Click the two marks anew";
}

/** Placing goes on when it is asked for again: the button says what to do next, so pressing it must not end that. */
function begin(ruler) {
  if (placing !== ruler && !nextMark(read(ruler))) {
    for (const end of ENDS) for (const axis of ["across", "down"]) field(ruler, `${end}_${axis}`).value = "";
    draw(ruler);
  }
  place(ruler);
  view.ground.focus({ preventScroll: true });
  return view.ground.scrollIntoView({ block: "nearest" });
}

view.addEventListener("place", ({ detail }) => {
  const end = nextMark(read(placing));
  if (!end) return;
  write(keyOf(placing, end), detail);
  if (nextMark(read(placing))) return;
  const ruler = placing;
  place(0);
  if (!field(ruler, "mm").value) field(ruler, "mm").focus();
});
view.addEventListener("drag", ({ detail }) => write(detail.key, detail));
view.addEventListener("delete", ({ detail }) => {
  const [ruler, end] = [Number(detail.key[0]), detail.key[1] === "a" ? "start" : "end"];
  for (const axis of ["across", "down"]) field(ruler, `${end}_${axis}`).value = "";
  draw(ruler);
  place(ruler);
  later();
});

// ----- what it would come to

function later() {
  clearTimeout(timer);
  timer = setTimeout(ask, REST);
}

async function ask() {
  asked += 1;
  const mine = asked;
  try {
    const answer = await fetch(form.dataset.try, {
      method: "POST",
      body: new FormData(form),
      headers: { "X-Requested-With": "fetch" },
    });
    if (mine !== asked) return;
    if (answer.ok) tell(await answer.json());
    else if (answer.status === 401) tell({ words: await answer.text() });
    else tell({});
  } catch {
    if (mine === asked) tell({});
  }
}

function line(text, className = "") {
  const one = document.createElement("p");
  one.className = className;
  one.textContent = text;
  return one;
}

/** Numbers and warnings, or the fault of an entry that is filled already; empty entries are still to come. */
function tell({ numbers, size, warnings = [], faults = {}, words }) {
  const lines = numbers ? [line(`${numbers}: ${size}.`)] : [];
  if (words) lines.push(line(words, "field-error"));
  for (const warning of warnings) lines.push(line(warning, "scale-warning"));
  for (const [name, [fault]] of Object.entries(faults))
    if (form.elements[name]?.value && name !== "plane") lines.push(line(fault, "field-error"));
  result.replaceChildren(...lines);
}

// ----- the fields

function showFactor() {
  const box = form.querySelector("[data-factor]");
  if (box) box.hidden = form.elements.plane.value !== "detector";
}

form.addEventListener("input", (event) => {
  const ruler = /^ruler_([12])_/.exec(event.target.name)?.[1];
  if (ruler) draw(ruler);
  showFactor();
  later();
});
for (const button of form.querySelectorAll("[data-place]")) {
  button.hidden = false;
  button.addEventListener("click", () => begin(Number(button.dataset.place)));
}
for (const ruler of [1, 2]) draw(ruler);
showFactor();
place(nextMark(read(1)) ? 1 : 0);
if (!nextMark(read(1))) later();
