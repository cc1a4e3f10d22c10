/** The table of measures: made once from the analyses, then only its numbers and bars are set anew with each step. */
import { BAR_ENDS, deviationOf, normWords, onBar } from "./deviation.js";
import { fixed, NOT_CALIBRATED } from "./measures.js";

const SVG = "http://www.w3.org/2000/svg";
const UNITS = { deg: "°", mm: "mm", "%": "%", "": "" };
const BAR = { width: 120, height: 16 };
const LETTERS = "abcdefghijklmnopqrstuvwxyz";
const PLANES = { go_me: "Go-Me", go_gn: "Go-Gn", tangent: "tangent" };

function made(name, { text, ...attributes } = {}, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text) element.textContent = text;
  element.append(...inside);
  return element;
}

function drawn(name, attributes, inside) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  inside.append(element);
  return element;
}

/** A plain bar on a line of standard deviations: ticks, the norm's own ± 1, the bar, the measure's ± 1 as a whisker. */
function bar() {
  const svg = document.createElementNS(SVG, "svg");
  for (const [key, value] of Object.entries({ class: "sd-bar", viewBox: `0 0 ${BAR.width} ${BAR.height}`, "aria-hidden": "true" })) svg.setAttribute(key, value);
  const unit = BAR.width / (2 * BAR_ENDS);
  drawn("rect", { class: "sd-usual", x: (BAR_ENDS - 1) * unit, y: 1, width: 2 * unit, height: BAR.height - 2 }, svg);
  drawn("path", { class: "sd-axis", d: `M0 ${BAR.height / 2}H${BAR.width}M${BAR.width / 2} 1V${BAR.height - 1}` }, svg);
  const value = drawn("rect", { class: "sd-value", y: 5, height: BAR.height - 10 }, svg);
  const whisker = drawn("path", { class: "sd-error" }, svg);
  const beyond = drawn("path", { class: "sd-error" }, svg);
  return { svg, value, whisker, beyond };
}

/** Where the bar is cut at its end, an arrow says so. */
const arrow = (x) => `M${x ? x - 5 : 5} 3L${x} ${BAR.height / 2}L${x ? x - 5 : 5} ${BAR.height - 3}`;

function setBar({ value, whisker, beyond }, { deviation, error }) {
  const middle = BAR.width / 2;
  const { x, cut } = onBar(deviation, BAR.width);
  beyond.setAttribute("d", cut ? arrow(x) : "");
  value.setAttribute("x", Math.min(x, middle));
  value.setAttribute("width", Math.max(Math.abs(x - middle), 1));
  if (error === null) return whisker.removeAttribute("d");
  const low = onBar(deviation - error, BAR.width).x;
  const high = onBar(deviation + error, BAR.width).x;
  return whisker.setAttribute("d", `M${low} ${BAR.height / 2}H${high}M${low} 4V12M${high} 4V12`);
}

function set(place, words) {
  if (place.textContent !== words) place.textContent = words;
}

/** How sure a norm is, in words for the notes below a table. */
function noteOf({ source, certainty, sd_certainty: sdCertainty, sd, note, own, published }) {
  if (own) return `Norm of this portfolio: ${source}${published ? `; in place of ${published.replaceAll("-", "−")}` : ""}.`;
  const sure = { read: "read", memory: "from memory", derived: "derived", practice: "common practice, no source" };
  const words = [sure[certainty]];
  if (sd && sdCertainty !== certainty) words.push(`SD ${sure[sdCertainty]}`);
  return `${source} (${words.join("; ")})${note ? `. ${note[0].toUpperCase()}${note.slice(1)}` : ""}.`;
}

export class Table {
  /** `scaleAddress` is where the picture is given its scale; empty where there is no such page. */
  constructor(holder, formulas, scaleAddress) {
    this.scaleAddress = scaleAddress;
    this.byKey = new Map(formulas.measures.map((measure) => [measure.key, measure]));
    this.rows = [];
    this.holder = holder;
    holder.replaceChildren(...formulas.analyses.map((analysis) => this.#analysis(analysis)));
  }

  #analysis({ key, label, rows }) {
    const notes = [];
    const body = made("tbody");
    for (const row of rows) body.append(...this.#measure(row, notes));
    const head = made("tr", {}, ...[["Measure", ""], ["Value", "number"], ["± 1 SD", "number"], ["Norm", ""], ["Off the norm", ""]].map(
      ([text, name]) => made("th", { scope: "col", text, class: name }),
    ));
    const table = made("table", { class: "figures measures-table" }, made("caption", { text: label }), made("thead", {}, head), body);
    const list = made("ol", { class: "norm-notes", type: "a" }, ...notes.map((text) => made("li", { text })));
    return made("section", { class: "analysis", "data-analysis": key }, made("div", { class: "table-frame" }, table), list);
  }

  #measure({ measure: key, norms }, notes) {
    const measure = this.byKey.get(key);
    const name = made("th", { scope: "row", title: `${measure.formula}. Larger: ${measure.larger}.`, text: measure.label });
    const unit = made("span", { class: "quiet", text: UNITS[measure.unit] ? ` ${UNITS[measure.unit]}` : "" });
    const plane = measure.takes_plane ? made("span", { class: "quiet measure-plane" }) : null;
    name.append(unit, ...(plane ? [plane] : []));
    const value = made("td", { class: "number", "data-value": key });
    const error = made("td", { class: "number" });
    const told = [{ norm: null }, ...norms.map((norm) => ({ norm }))].slice(norms.length ? 1 : 0);
    const lines = told.map(({ norm }, at) => this.#normCells(norm, notes, at));
    lines[0].row.prepend(name, value, error);
    if (lines.length > 1) for (const cell of [name, value, error]) cell.setAttribute("rowspan", lines.length);
    this.rows.push({ key, measure, unit, value, error, plane, lines });
    return lines.map((line) => line.row);
  }

  #normCells(norm, notes) {
    const cell = made("td", { class: "norm" });
    const off = made("td", { class: "off" });
    const row = made("tr", {}, cell, off);
    if (!norm) return { row, norm, off, words: off, bar: null };
    if (norm.group) cell.append(made("span", { class: "quiet", text: `${norm.group} ` }));
    cell.append(made("span", { class: "norm-words", text: normWords(norm) }));
    if (norm.own) cell.append(made("span", { class: "state own-norm", text: "own" }));
    const note = noteOf(norm);
    if (!notes.includes(note)) notes.push(note);
    cell.append(made("sup", { text: LETTERS[notes.indexOf(note)] }));
    if (norm.certainty === "memory" && !norm.own) cell.append(made("span", { class: "quiet from-memory", text: " memory" }));
    const words = made("span", { class: "off-words" });
    const found = norm.sd && (norm.value || norm.low) ? bar() : null;
    if (found) off.append(found.svg);
    off.append(words);
    return { row, norm, off, words, bar: found };
  }

  /** Show one analysis alone, or "all". */
  only(key) {
    for (const section of this.holder.children) section.hidden = key !== "all" && section.dataset.analysis !== key;
  }

  /** Set all numbers from a Map of measures (see measures.js); `lengthUnit` says what kind of mm lengths are in. */
  draw(found, lengthUnit) {
    for (const row of this.rows) {
      if (row.measure.unit === "mm") set(row.unit, ` ${lengthUnit || "mm"}`);
      this.#drawRow(row, found.get(row.key));
    }
  }

  #drawRow({ value, error, plane, lines, measure }, one) {
    const told = one && one.value !== undefined;
    const size = measure.unit === "" ? 2 : 1;
    set(value, told ? fixed(one.value, size) : "–");
    set(error, told && one.sd !== null ? fixed(one.sd, size) : "");
    if (plane) set(plane, told ? ` ${PLANES[one.plane]}` : "");
    lines.forEach((line, at) => this.#drawLine(line, one, told, at));
  }

  #drawLine({ norm, off, words, bar: drawnBar }, one, told, at) {
    const found = told && norm ? deviationOf(one.value, one.sd, norm) : null;
    off.toggleAttribute("data-empty", !found);
    if (drawnBar && found) setBar(drawnBar, found);
    if (found) set(words, found.words);
    else if (at === 0 && !told) this.#why(words, one?.why ?? "");
    else set(words, "");
  }

  #why(place, why) {
    if (place.textContent === why) return;
    place.textContent = why;
    if (!why.startsWith(NOT_CALIBRATED) || !this.scaleAddress) return;
    const link = made("a", { href: this.scaleAddress, text: NOT_CALIBRATED });
    place.replaceChildren(link, why.slice(NOT_CALIBRATED.length));
  }
}
