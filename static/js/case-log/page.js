/** The case log: fields saved as they are left, rows added, deleted and taken back, each through the queue. */
import { mark, randomKey, SendAgain, tieToPage } from "../send-again.js";
import { listen } from "./keys.js";

const SELECT_SETTLES = 500;
const KEY = "[data-key]";

function publicId() {
  const hex = randomKey();
  return [hex.slice(0, 8), hex.slice(8, 12), `4${hex.slice(13, 16)}`, `8${hex.slice(17, 20)}`, hex.slice(20)].join("-");
}

class Log {
  constructor(root) {
    this.root = root;
    this.table = root.querySelector(".log-table");
    this.said = root.querySelector("[data-said]");
    this.undoNumber = Number(root.dataset.undoNumber);
    this.adding = publicId();
    this.count = 0;
    this.timers = new Map();
    this.queue = tieToPage(new SendAgain(), root.querySelector("[data-queue-bar]"));
    listen(this.table, { restore: (field) => this.restore(field), undo: () => this.undo() });
    this.table.addEventListener("change", (event) => this.#changed(event.target));
    this.table.addEventListener("focusout", (event) => this.#left(event.target));
    this.table.addEventListener("input", (event) => event.target.matches(KEY) && this.#typing(event.target));
    root.addEventListener("click", (event) => this.#pressed(event.target.closest("[data-press]")));
    root.querySelector("[data-add-row]").addEventListener("submit", (event) => {
      event.preventDefault();
      this.add(event.target);
    });
    for (const field of this.table.querySelectorAll(KEY)) field.shown = field.value;
    root.dataset.ready = "";
  }

  say(text) {
    this.said.textContent = text;
  }

  #typing(field) {
    field.refused = null;
    mark(field.closest("[data-cell]"), "");
  }

  /** A list is walked through with arrows: it is saved when it rests or is left. */
  #changed(field) {
    if (!field.matches(KEY)) return;
    if (field.tagName !== "SELECT") return this.commit(field);
    clearTimeout(this.timers.get(field));
    this.timers.set(field, setTimeout(() => this.commit(field), SELECT_SETTLES));
  }

  #left(field) {
    if (field.matches?.("select[data-key]")) this.commit(field);
  }

  #pressed(button) {
    if (!button) return;
    if (button.dataset.press === "undo") this.undo();
    if (button.dataset.press === "delete") this.remove(button.closest("[data-row]"));
  }

  commit(field, force = false) {
    clearTimeout(this.timers.get(field));
    const typed = field.value;
    if (!force && (typed === (field.sent ?? field.shown) || typed === field.refused)) return;
    const row = field.closest("[data-row]");
    const cell = field.closest("[data-cell]");
    field.sent = typed;
    field.waits = (field.waits ?? 0) + 1;
    mark(cell, "trying");
    const answered = () => {
      field.waits -= 1;
      if (!field.waits) field.sent = undefined;
    };
    const refuse = (words, buttons) => {
      answered();
      if (field.waits) return;
      field.refused = typed;
      this.tell(row, field.dataset.key, words, buttons);
      mark(cell, "refused");
      field.setAttribute("aria-invalid", "true");
    };
    this.queue.put({
      name: `${row.dataset.row}/${field.dataset.key}`,
      address: row.dataset.save,
      replaced: answered,
      build: () => ({ entries: [{ key: field.dataset.key, typed, seen: field.dataset.value }] }),
      saved: (data) => {
        answered();
        this.#store(row, data, field, typed);
      },
      refused: (data) => refuse(Object.values(data.faults).join(" ")),
      changed: (data) => this.#elsewhere(field, data, refuse),
      failed: (status, data) => refuse(data?.message ?? `Not saved: the server answered ${status}.`, [["Send again", () => this.commit(field, true)]]),
      waiting: () => mark(cell, "waiting"),
    });
  }

  /** What stands now goes into every field that nobody is typing in. */
  #store(row, data, saved, typed) {
    for (const field of row.querySelectorAll(KEY)) {
      const state = data.fields[field.dataset.key];
      if (!state) continue;
      const untouched = field === saved ? field.value === typed : field.value === field.shown && !field.waits;
      field.dataset.value = state.value;
      field.shown = state.text;
      if (!untouched || field.waits) continue;
      field.value = state.text;
      field.refused = null;
      field.removeAttribute("aria-invalid");
      if (field === saved) mark(field.closest("[data-cell]"), "saved");
      this.tell(row, field.dataset.key, "");
    }
    row.querySelector("[data-floor]").innerHTML = data.figure;
    const why = row.querySelector("[data-why]");
    const wasOpen = why.querySelector("details")?.open;
    why.innerHTML = data.why;
    if (wasOpen && why.querySelector("details")) why.querySelector("details").open = true;
    for (const [key, words] of Object.entries(data.said)) this.tell(row, key, words, [], "quiet");
    this.#undoable(data.undo);
    this.say("");
  }

  #elsewhere(field, data, refuse) {
    const theirs = data.theirs[field.dataset.key];
    if (!theirs) return refuse("Changed in another window; open the page again.");
    const keep = () => {
      field.dataset.value = theirs.value;
      field.value = theirs.text;
      field.shown = theirs.text;
      field.refused = null;
      field.removeAttribute("aria-invalid");
      mark(field.closest("[data-cell]"), "");
      this.tell(field.closest("[data-row]"), field.dataset.key, "");
      field.focus();
    };
    const mine = () => {
      field.dataset.value = theirs.value;
      this.commit(field, true);
      field.focus();
    };
    refuse(`Another window has saved ${theirs.words}. Yours is not saved.`, [["Keep theirs", keep], ["Save mine", mine]]);
  }

  /** One line under the row for each field that has something to say. */
  tell(row, key, words, buttons = [], kind = "") {
    const place = row.querySelector("[data-messages]");
    place.querySelector(`[data-for="${key}"]`)?.remove();
    const field = row.querySelector(`[data-key="${key}"]`);
    field?.removeAttribute("aria-describedby");
    if (words) {
      const said = document.createElement("p");
      said.dataset.for = key;
      said.id = `said-${row.dataset.row}-${key}`;
      said.className = kind || "field-error";
      const label = field?.closest("label")?.querySelector(".log-label")?.textContent;
      if (label) said.append(Object.assign(document.createElement("b"), { textContent: `${label}: ` }));
      said.append(words);
      for (const [text, action] of buttons) {
        const button = Object.assign(document.createElement("button"), { type: "button", className: "btn btn-outline-secondary btn-sm", textContent: text });
        button.addEventListener("click", action);
        said.append(" ", button);
      }
      place.append(said);
      field?.setAttribute("aria-describedby", said.id);
    }
    place.hidden = !place.childElementCount;
  }

  restore(field) {
    field.value = field.shown;
    field.refused = null;
    field.removeAttribute("aria-invalid");
    mark(field.closest("[data-cell]"), "");
    this.tell(field.closest("[data-row]"), field.dataset.key, "");
  }

  add(form) {
    const input = form.elements.code;
    const fault = form.querySelector("[data-code-fault]");
    const say = (words) => {
      fault.textContent = words;
      fault.hidden = !words;
      input.setAttribute("aria-invalid", words ? "true" : "false");
    };
    const key = this.adding;
    const code = input.value;
    say("");
    this.queue.put({
      name: `add ${key}`,
      address: this.root.dataset.add,
      build: () => ({ key, code }),
      saved: (data) => {
        this.adding = publicId();
        if (input.value === code) input.value = "";
        const row = this.#placed(data.rows[0]);
        this.#undoable(data.undo);
        this.say(data.words);
        row?.querySelector(KEY)?.focus();
      },
      refused: (data) => {
        say(Object.values(data.faults).join(" "));
        input.focus();
      },
      failed: (status, data) => say(data?.message ?? `Not added: the server answered ${status}.`),
    });
  }

  remove(row) {
    const gone = () => {
      const next = (row.nextElementSibling ?? row.previousElementSibling)?.querySelector?.(KEY);
      row.remove();
      (next ?? document.getElementById("id_code")).focus();
    };
    this.#press(row.dataset.delete, {}, gone, gone);
  }

  undo() {
    if (!this.undoNumber) return this.say("Nothing to undo.");
    const number = this.undoNumber;
    return this.#press(this.root.dataset.undo, { number });
  }

  #press(address, body, done = () => {}, missing = () => {}) {
    this.count += 1;
    return this.queue.put({
      name: `press ${this.count}`,
      address,
      build: () => body,
      saved: (data) => {
        done();
        for (const id of data.gone) this.table.querySelector(`[data-row="${CSS.escape(id)}"]`)?.remove();
        for (const row of data.rows) this.#placed(row);
        this.#undoable(data.undo);
        this.say(data.words);
      },
      refused: (data) => this.say(Object.values(data.faults).join(" ")),
      failed: (status, data) => {
        if (status === 404) missing();
        this.say(data?.message ?? (status === 404 ? "It was gone already." : `Not done: the server answered ${status}.`));
      },
    });
  }

  /** Put a row in place of the one that stands, or on top. */
  #placed({ id, html }) {
    const made = document.createElement("table");
    made.innerHTML = html;
    const row = made.querySelector("[data-row]");
    for (const field of row.querySelectorAll(KEY)) field.shown = field.value;
    const old = this.table.querySelector(`[data-row="${CSS.escape(id)}"]`);
    if (old) old.replaceWith(row);
    else this.table.tHead.after(row);
    this.root.querySelector("[data-log-table]").hidden = false;
    this.root.querySelector("[data-empty]")?.remove();
    return row;
  }

  #undoable({ number, words }) {
    this.undoNumber = number;
    this.root.querySelector('[data-press="undo"]').disabled = !number;
    this.root.querySelector("[data-undo-words]").textContent = words || "nothing to undo";
  }
}

const root = document.querySelector("[data-case-log]");
if (root) new Log(root);
