/**
 * The page of marks: kinds of marks are chosen, their places pressed in the picture, and each mark is saved as it is
 * made, moved, named or taken away. What could not be sent stays here and is sent again.
 */
import { PictureView } from "../picture-view/view.js";
import { SendAgain, tieToPage } from "../send-again.js";
import { MarkRow } from "./row.js";
import { moved, nextKey, nextLabel, path, same, zoomOf } from "./shapes.js";

const SVG = "http://www.w3.org/2000/svg";
const BEGUN = "begun";
const root = document.querySelector("[data-marks]");
const find = (name) => root.querySelector(`[data-${name}]`);
const data = (name) => JSON.parse(document.getElementById(`marks-${name}`).textContent);

class Page {
  constructor() {
    this.known = data("known");
    this.view = new PictureView(find("picture-view"), data("shown"));
    this.queue = tieToPage(new SendAgain(), find("queue-bar"));
    this.kind = null;
    this.begun = [];
    this.marks = {};
    /** Marks as the server had them last, and how many saves of a mark are under way. */
    this.stored = {};
    this.under = new Map();
    this.rows = new Map();
    this.lines = new Map();
    this.presses = 0;
    this.taking = new Set();
    this.#tools();
    this.#picture();
    this.take(data("state"));
    root.dataset.ready = "";
  }

  // ----- what the server says

  take(state) {
    this.last = state;
    this.version = state.version;
    this.results = state.results;
    this.found = state.found;
    this.rests = state.rests;
    this.undoNumber = state.undo;
    this.redoNumber = state.redo;
    this.stored = state.marks;
    for (const key of new Set([...Object.keys(this.marks), ...Object.keys(state.marks)])) {
      if (this.under.get(key)) continue;
      if (state.marks[key]) this.marks[key] = state.marks[key];
      else delete this.marks[key];
    }
    const scale = state.scale.words;
    find("scale").textContent = scale
      ? `Scale: ± ${state.scale.sd_percent.toFixed(1)} per cent of every length. ${scale}`
      : "This picture has no scale: angles only.";
    find("allowed").textContent = state.allowed;
    this.draw();
  }

  // ----- marks

  commit(key, mark) {
    if (mark) this.marks[key] = mark;
    else delete this.marks[key];
    const base = this.stored[key];
    this.under.set(key, (this.under.get(key) ?? 0) + 1);
    const row = () => this.rows.get(key);
    this.queue.put({
      name: `mark ${key}`,
      address: root.dataset.save,
      replaced: () => this.#back(key),
      build: () => ({ seen: this.version, marks: { [key]: mark } }),
      saved: (state) => {
        this.#back(key);
        this.take(state);
        row()?.say("");
        this.#ask(mark ? "Saved." : "Taken away. Undo brings it back.");
      },
      changed: (state) => {
        this.#back(key);
        this.#conflict(key, mark, base, state);
      },
      refused: ({ faults }) => {
        this.#back(key);
        this.draw();
        const words = faults.map((one) => one.message).join(" ");
        row()?.say(words);
        this.say(`Not saved. ${words}`);
      },
      failed: (status, answer) => {
        this.#back(key);
        const words = answer?.message ?? `The server answered ${status}.`;
        row()?.say(`Not saved. ${words}`, [["Send again", () => this.commit(key, mark)]]);
        this.say(`Not saved. ${words}`);
      },
      waiting: () => row()?.say("Not sent yet; it is kept here."),
    });
    this.draw();
  }

  #back(key) {
    const left = (this.under.get(key) ?? 1) - 1;
    if (left > 0) this.under.set(key, left);
    else this.under.delete(key);
  }

  /** Another window saved in between. Where it left this mark alone, ours goes again; else somebody chooses. */
  #conflict(key, mark, base, state) {
    const theirs = state.marks[key];
    if (same(theirs, base) || same(theirs, mark)) {
      this.take(state);
      if (!same(theirs, mark)) this.commit(key, mark);
      return;
    }
    this.under.set(key, 1);
    this.take(state);
    this.draw();
    const done = () => {
      this.under.delete(key);
      this.rows.get(key)?.say("");
    };
    const keepTheirs = () => {
      done();
      this.take(this.last);
    };
    const saveMine = () => {
      done();
      this.commit(key, mark);
    };
    this.say("A mark was changed in another window. Yours is not saved.");
    if (!this.rows.has(key)) return keepTheirs();
    return this.rows.get(key).say("Changed in another window meanwhile. Yours is not saved.", [
      ["Keep theirs", keepTheirs],
      ["Save mine", saveMine],
    ]);
  }

  relabel(key, words) {
    const label = words.trim().replace(/\s+/g, " ");
    if (this.marks[key] && label !== this.marks[key].label) this.commit(key, { ...this.marks[key], label });
  }

  remove(key) {
    this.commit(key, null);
  }

  show(key) {
    this.#stop();
    this.view.choose(`${key}.0`);
    this.view.reveal(`${key}.0`);
    this.view.ground.focus();
    this.draw();
  }

  takeOver(key, asked) {
    const same = JSON.stringify(asked);
    if (this.taking.has(same)) return;
    this.taking.add(same);
    const over = () => this.taking.delete(same);
    this.presses += 1;
    const row = () => this.rows.get(key);
    this.queue.put({
      name: `take ${this.presses}`,
      address: root.dataset.take,
      build: () => ({ ...asked, version: this.version }),
      saved: (state) => {
        over();
        this.take(state);
        row()?.say("Taken over: it stands on the sheet with these marks as its evidence.", [], true);
        this.say("Taken over as a finding.");
      },
      changed: (state) => {
        over();
        this.take(state);
        row()?.say(state.message ?? "Not taken over: the marks were changed meanwhile. Look once more.");
      },
      refused: ({ faults }) => {
        over();
        row()?.say(faults.map((one) => one.message).join(" "));
      },
      failed: (status, answer) => {
        over();
        row()?.say(`Not taken over. ${answer?.message ?? `The server answered ${status}.`}`);
      },
      waiting: () => row()?.say("Not sent yet."),
    });
  }

  step(action) {
    const number = action === "undo" ? this.undoNumber : this.redoNumber;
    if (!number || this.queue.size) return;
    this.presses += 1;
    this.queue.put({
      name: `step ${this.presses}`,
      address: root.dataset.step,
      build: () => ({ action, number }),
      saved: (state) => {
        this.take(state);
        this.say(action === "undo" ? "Undone." : "Done again.");
      },
      changed: (state) => {
        this.take(state);
        this.say("Not done: the marks were changed in another window. Here they are as they stand.");
      },
      failed: (status, answer) => this.say(`Not done. ${answer?.message ?? `The server answered ${status}.`}`),
    });
  }

  // ----- tools and picture

  #tools() {
    for (const kind of this.known.kinds) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "btn btn-outline-primary";
      button.textContent = kind.label;
      button.title = kind.help;
      button.dataset.kind = kind.key;
      button.setAttribute("aria-pressed", "false");
      button.addEventListener("click", () => this.choose(this.kind?.key === kind.key ? null : kind));
      find("kinds").append(button);
    }
    find("step-back").addEventListener("click", () => this.step("undo"));
    find("step-again").addEventListener("click", () => this.step("redo"));
    document.addEventListener("keydown", (event) => {
      if (event.target.matches("input, select, textarea")) return;
      const key = event.key.toLowerCase();
      if (key === "escape" && this.kind) this.choose(null);
      if (!(event.ctrlKey || event.metaKey)) return;
      if (key === "z" && !event.shiftKey) this.step("undo");
      else if (key === "y" || (key === "z" && event.shiftKey)) this.step("redo");
      else return;
      event.preventDefault();
    });
  }

  choose(kind) {
    this.#stop();
    this.kind = kind;
    this.view.placing = Boolean(kind);
    if (kind) this.view.choose(null);
    this.#ask();
    this.draw();
  }

  #stop() {
    this.#forget();
    this.kind = null;
    this.view.placing = false;
  }

  #forget() {
    this.begun.forEach((_, number) => this.view.take(`${BEGUN}.${number}`));
    this.begun = [];
    this.#line(BEGUN, "");
  }

  /** What is to be done next, after what has just been done. */
  #ask(done = "") {
    const next = this.kind
      ? `${this.kind.label}: press the ${this.kind.places[this.begun.length]}. ${this.kind.help} Esc leaves it.`
      : "Choose a kind of mark, or a point to move it.";
    this.say([done, next].filter(Boolean).join(" "));
  }

  #picture() {
    const { view } = this;
    let aimed = null;
    const zoom = () => zoomOf(view.matrix);
    view.addEventListener("aim", ({ detail }) => (aimed = { ...detail, zoom: zoom() }));
    view.addEventListener("place", ({ detail: { x, y } }) => {
      // A press that was held is told after the picture has its old size again; it was aimed at the larger one.
      const held = aimed && Math.hypot(aimed.x - x, aimed.y - y) < 0.01;
      this.place({ x, y, zoom: held ? aimed.zoom : zoom() });
      aimed = null;
    });
    let dragged = 0;
    view.addEventListener("drag", ({ detail: { key, x, y } }) => {
      dragged = zoom();
      const [name, number] = this.#named(key);
      if (this.marks[name]) this.#line(name, path(this.marks[name].kind, moved(this.marks[name], number, { x, y }).places));
    });
    view.addEventListener("moved", ({ detail: { key, x, y } }) => {
      const [name, number] = this.#named(key);
      if (name === BEGUN) this.begun[number] = { x, y, zoom: dragged };
      else if (this.marks[name]) this.commit(name, moved(this.marks[name], number, { x, y, zoom: dragged }));
    });
    view.addEventListener("delete", ({ detail: { key } }) => {
      const [name] = this.#named(key);
      if (name === BEGUN) this.choose(this.kind);
      else this.remove(name);
    });
    view.addEventListener("choose", () => this.draw());
  }

  #named(key) {
    const [name, number] = key.split(".");
    return [name, Number(number)];
  }

  place(spot) {
    if (!this.kind) return;
    this.begun.push(spot);
    const at = this.begun.length - 1;
    this.view.put({ key: `${BEGUN}.${at}`, ...spot, label: this.kind.places[at] });
    this.#line(BEGUN, path(this.kind.key, this.begun));
    if (this.begun.length === this.kind.places.length) {
      const mark = { kind: this.kind.key, label: nextLabel(Object.values(this.marks).map((one) => one.label)), places: this.begun };
      this.#forget();
      this.commit(nextKey([...Object.keys(this.marks), ...Object.keys(this.stored)]), mark);
    }
    this.#ask();
  }

  // ----- drawing

  say(words) {
    find("said").textContent = words;
  }

  #line(key, d) {
    let pair = this.lines.get(key);
    if (!d) {
      pair?.forEach((one) => one.remove());
      this.lines.delete(key);
      return;
    }
    if (!pair) {
      pair = ["view-line view-line-under", "view-line"].map((name) => {
        const line = document.createElementNS(SVG, "path");
        line.setAttribute("class", name);
        return this.view.lines.appendChild(line);
      });
      this.lines.set(key, pair);
    }
    pair.forEach((one) => one.setAttribute("d", d));
  }

  draw() {
    const [chosen] = this.view.chosen ? this.#named(this.view.chosen) : [""];
    for (const button of find("kinds").children) {
      const on = button.dataset.kind === this.kind?.key;
      button.setAttribute("aria-pressed", String(on));
      button.classList.toggle("active", on);
    }
    for (const key of this.view.keys()) {
      const [name] = this.#named(key);
      if (name !== BEGUN && !this.marks[name]) this.view.take(key);
    }
    for (const key of [...this.rows.keys()]) {
      if (this.marks[key]) continue;
      this.rows.get(key).element.remove();
      this.rows.delete(key);
      this.#line(key, "");
    }
    for (const [key, mark] of Object.entries(this.marks)) this.#drawMark(key, mark, chosen === key);
    find("none").hidden = this.rows.size > 0;
    find("step-back").disabled = !this.undoNumber;
    find("step-again").disabled = !this.redoNumber;
  }

  #drawMark(key, mark, chosen) {
    const current = same(mark, this.stored[key]) ? this.results[key] : null;
    const words = [mark.label, current?.value].filter(Boolean).join(" ");
    mark.places.forEach((place, number) => this.view.put({ key: `${key}.${number}`, ...place, label: number ? "" : words }));
    this.#line(key, path(mark.kind, mark.places));
    if (!this.rows.has(key)) {
      const row = new MarkRow(find("mark-row"), key, mark.kind, this.known, this);
      this.rows.set(key, row);
      find("list").append(row.element);
    }
    this.rows.get(key).draw(mark, current, this.found, chosen, this.rests[key] ?? []);
  }
}

new Page();
