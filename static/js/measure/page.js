/** The measuring page: its cells, what the server's answers change in it, and what pressing and leaving do. */
import { SendAgain, tieToPage } from "../send-again.js";
import { Cell } from "./cell.js";
import { listen } from "./keys.js";
import { Notes } from "./notes.js";
import { Saving } from "./saving.js";
import { Teeth } from "./teeth.js";
import { WhatIf } from "./what-if.js";

const SELECT_SETTLES = 500;

class Page {
  constructor(root) {
    this.root = root;
    this.cells = new Map();
    this.toothStates = JSON.parse(document.getElementById("tooth-fields").textContent);
    this.live = root.querySelector("[data-live]");
    this.said = root.querySelector("[data-said]");
    this.bar = root.querySelector("[data-bar]");
    this.#adoptAll(root);
    this.teeth = new Teeth(root, (holder, state) => this.#adopt(holder).store(state), () => this.toothStates);
    this.#total();
  }

  #adopt(holder) {
    const cell = new Cell(holder);
    this.cells.set(cell.id, cell);
    return cell;
  }

  #adoptAll(place) {
    for (const holder of place.querySelectorAll("[data-field]")) this.#adopt(holder);
  }

  cellOf(element) {
    return this.cells.get(element.closest("[data-field]")?.dataset.field);
  }

  say(words) {
    if (words) this.said.textContent = words;
  }

  /** The rows the page shows, so that the server sends those that have changed. */
  layouts() {
    return Object.fromEntries([...this.root.querySelectorAll("[data-row]")].map((row) => [row.dataset.row, row.dataset.layout]));
  }

  supposing(on) {
    this.root.toggleAttribute("data-supposing", on);
    this.root.querySelector("[data-what-if-bar]").hidden = !on;
    for (const button of this.root.querySelectorAll('[data-press="what-if"][aria-pressed]')) button.setAttribute("aria-pressed", String(on));
  }

  draw(data, canUndo) {
    this.toothStates = data.fields;
    for (const [key, html] of Object.entries(data.rows)) this.#swapRow(key, html);
    this.#groups();
    for (const cell of this.cells.values()) {
      const state = data.fields[cell.id] ?? {};
      if (!cell.held && cell.differs(state)) cell.store(state);
    }
    for (const list of this.root.querySelectorAll("[data-statements]")) this.#statements(list, data.statements[list.dataset.statements] ?? []);
    this.teeth.draw(data.teeth);
    this.#live(data.live);
    if (data.other_hints !== undefined) this.root.querySelector("[data-other-hints]").innerHTML = data.other_hints;
    if (canUndo !== undefined) this.root.querySelector('[data-press="undo"]').disabled = !canUndo;
  }

  /** Put a row made anew in place of the old one; what is being typed in it and the focus stay. */
  #swapRow(key, html) {
    const old = this.root.querySelector(`[data-row="${CSS.escape(key)}"]`);
    if (!old) return;
    const holder = document.createElement("template");
    holder.innerHTML = html;
    const fresh = holder.content.querySelector("[data-row]");
    const focused = old.contains(document.activeElement) ? document.activeElement.id : "";
    const kept = [...old.querySelectorAll("[data-field]")].map((h) => this.cells.get(h.dataset.field));
    const open = old.querySelector("[data-fold]")?.open;
    if (open && fresh.querySelector("[data-fold]")) fresh.querySelector("[data-fold]").open = true;
    const method = old.querySelector("[data-method]")?.value;
    if (method && fresh.querySelector("[data-method]")) fresh.querySelector("[data-method]").value = method;
    for (const cell of kept) {
      const place = fresh.querySelector(`[data-field="${CSS.escape(cell.id)}"]`);
      if (place && cell.held) place.replaceWith(cell.holder);
      else this.cells.delete(cell.id);
    }
    old.replaceWith(fresh);
    for (const place of fresh.querySelectorAll("[data-field]")) if (!this.cells.has(place.dataset.field)) this.#adopt(place);
    if (focused) document.getElementById(focused)?.focus();
  }

  #statements(list, statements) {
    const items = statements.map((one) => {
      const item = document.createElement("li");
      const words = Object.assign(document.createElement("span"), { textContent: one.words });
      const button = Object.assign(document.createElement("button"), { type: "button", className: "btn-plain", textContent: "take back" });
      button.dataset.takeBack = one.site;
      button.dataset.seen = one.seen ?? 0;
      item.append(words, " ", button);
      return item;
    });
    list.replaceChildren(...items);
  }

  /** A group of which nothing is asked stays away with its heading. */
  #groups() {
    for (const group of this.root.querySelectorAll(".measure-group")) {
      const rows = [...group.querySelectorAll("[data-row]")];
      if (rows.length) group.hidden = rows.every((row) => row.hidden) && !group.querySelector("[data-tooth-rows]");
    }
  }

  #live(html) {
    const was = new Map([...this.live.querySelectorAll("details")].map((part) => [part.dataset.partKey, part.open]));
    this.live.innerHTML = html;
    for (const part of this.live.querySelectorAll("details")) part.open = was.get(part.dataset.partKey) ?? part.open;
    this.#total();
  }

  #total() {
    const place = this.root.querySelector("[data-bar-total]");
    const words = this.live.querySelector("[data-total]").textContent.replace(/\s+/g, " ").trim();
    if (place.textContent !== words) place.textContent = words;
    place.toggleAttribute("data-several", words.includes("·"));
  }
}

function start(root) {
  const page = new Page(root);
  const queue = tieToPage(new SendAgain(), root.querySelector("[data-queue-bar]"), window);
  const saving = new Saving(queue, page, root.dataset);
  const whatIf = new WhatIf(queue, page, saving, root.dataset.whatIf);
  const notes = new Notes(root, (element) => page.cellOf(element), (cell) => saving.commit(cell));
  const timers = new Map();

  const leave = (cell) => {
    clearTimeout(timers.get(cell.id));
    if (!cell.holder.isConnected) return;
    if (cell.held) saving.commit(cell);
    else if (cell.edited) cell.settle();
    cell.edited = false;
  };
  root.addEventListener("focusout", (event) => {
    const cell = event.target.matches("[data-part]") && page.cellOf(event.target);
    if (cell && !cell.holder.contains(event.relatedTarget)) leave(cell);
  });
  root.addEventListener("change", (event) => {
    const cell = event.target.matches("select[data-part]") && page.cellOf(event.target);
    if (!cell) return;
    clearTimeout(timers.get(cell.id));
    // Arrow keys run through a list: wait until the choice settles, or the field is left.
    if (cell.snapshot().text || cell.stored.text) timers.set(cell.id, setTimeout(() => leave(cell), SELECT_SETTLES));
  });
  root.addEventListener("input", (event) => {
    const cell = event.target.matches("[data-part]") && page.cellOf(event.target);
    if (!cell) return;
    cell.edited = true;
    cell.words("");
    cell.refused = null;
    cell.mark(cell.waits ? "trying" : cell.dirty ? "typing" : cell.seen ? "saved" : "");
  });

  const freeHere = (field) => {
    const block = field?.closest(".block");
    const button = block?.querySelector("[data-free]");
    if (button) press(button);
    else page.say("No region of this field can be stated free with one key.");
  };
  const press = (button) => {
    const holder = button.closest("[data-row], [data-state-of]");
    const quantity = holder.dataset.row ?? holder.dataset.stateOf;
    saving.free([{ quantity, site: button.dataset.free }], "Rest none recorded.");
  };
  const takeOver = (button) => {
    const cell = page.cells.get(button.dataset.offer);
    const method = cell.row.querySelector("[data-method]");
    if (method) method.value = "computed";
    cell.parts.direction.value = button.dataset.direction;
    cell.parts.text.value = button.dataset.text;
    saving.commit(cell);
    cell.parts.text.focus();
  };
  const flush = () => document.activeElement?.matches?.("[data-part]") && leave(page.cellOf(document.activeElement));
  const actions = {
    undo: () => { flush(); saving.undo(); },
    wholeMouth: () => { flush(); saving.free(null, "Rest none recorded for all that said nothing yet."); },
    // A repeat has neither what if nor settings of its own.
    whatIf: () => { if (root.dataset.whatIf) { flush(); whatIf.toggle(); } },
    freeHere: (field) => { flush(); freeHere(field); },
    note: (field) => notes.open(field),
  };
  listen(root, {
    actions,
    restore: (element) => {
      const cell = page.cellOf(element);
      if (cell && !cell.waits) cell.store(cell.state);
      element.select?.();
    },
  });
  root.addEventListener("click", (event) => {
    const button = event.target.closest("button, a[data-go]");
    if (!button) return;
    const name = { undo: "undo", "whole-mouth": "wholeMouth", "what-if": "whatIf" }[button.dataset.press];
    if (name) actions[name]();
    if (button.dataset.free) { flush(); press(button); }
    if (button.dataset.takeBack) saving.takeBack(button.closest("[data-statements]").dataset.statements, button.dataset.takeBack, Number(button.dataset.seen));
    if (button.dataset.offer) takeOver(button);
    if (button.dataset.go) goTo(root, button.dataset.go, event);
  });
  // What was typed while the page was still loading has left its field unheard.
  for (const cell of page.cells.values()) if (cell.dirty && !cell.holder.contains(document.activeElement)) leave(cell);
  root.toggleAttribute("data-ready", true);
  const form = root.querySelector("[data-sheet-settings]");
  const settingsSaid = root.querySelector("[data-settings-said]");
  form?.addEventListener("change", () => saving.settings({ medium: form.medium.value, step: form.step.value }, (words) => (settingsSaid.textContent = words)));
  form?.addEventListener("submit", (event) => event.preventDefault());
}

/** From the list of what is missing to the first empty field of that row. */
function goTo(root, key, event) {
  const row = root.querySelector(`[data-row="${CSS.escape(key)}"], [data-row-of-state="${CSS.escape(key)}"]`);
  if (!row || row.hidden) return;
  const fold = row.querySelector("[data-fold]");
  if (fold) fold.open = true;
  const fields = [...row.querySelectorAll('[data-part="text"], [data-free]')];
  const target = fields.find((f) => !f.value) ?? fields[0];
  if (!target) return;
  event.preventDefault();
  row.scrollIntoView({ block: "center" });
  target.focus({ preventScroll: true });
}

const root = document.querySelector("[data-measure]");
if (root) start(root);
