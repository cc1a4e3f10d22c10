/**
 * One field on the page. A cell has parts (text, and where they exist direction, plane, note); it knows what
 * is stored, what the page has seen of it, and whether something typed has not been stored yet.
 */
import { mark } from "../send-again.js";

const PARTS = ["text", "direction", "plane", "note"];

/** The text to send: a direction in words beside the number becomes its sign. */
export function typedText({ text, direction }) {
  const bare = text.trim();
  if (direction !== "-" || !bare || /^[-−–a-z]/i.test(bare)) return bare;
  return `-${bare}`;
}

/** Whether two snapshots of a field say the same; a direction without a number says nothing. */
export function same(one, other) {
  return PARTS.every((part) => {
    if (part === "direction" && !one.text.trim() && !other.text.trim()) return true;
    return (one[part] ?? "") === (other[part] ?? "");
  });
}

/** Whether a number that has a direction was typed without saying which. */
export function lacksDirection(snapshot, hasDirection) {
  return hasDirection && snapshot.direction === "" && /[1-9]/.test(snapshot.text) && !/^\s*[-−–]/.test(snapshot.text);
}

export class Cell {
  constructor(holder) {
    this.holder = holder;
    this.id = holder.dataset.field;
    this.quantity = holder.dataset.quantity;
    this.site = holder.dataset.site;
    this.nth = Number(holder.dataset.nth);
    this.name = holder.dataset.name;
    this.seen = Number(holder.dataset.seen);
    this.parts = {};
    for (const element of holder.querySelectorAll("[data-part]")) this.parts[element.dataset.part] = element;
    this.stored = { text: holder.dataset.text, direction: holder.dataset.direction, plane: holder.dataset.plane, note: holder.dataset.note };
    if (this.parts.direction && !this.stored.text) this.stored.direction = this.parts.direction.value;
    this.covered = this.parts.text.placeholder ?? "";
    /** What the server last said of this field; brought back by Escape and on leaving "what if". */
    this.state = { ...this.stored, seen: this.seen, word: holder.dataset.says, covered: this.covered, evidence: "rests" in holder.dataset };
    this.noteText = this.stored.note;
    this.refused = null;
    this.waits = 0;
  }

  get row() {
    return this.holder.closest("[data-row]");
  }

  /** What the parts say now. */
  snapshot() {
    const now = {};
    for (const part of PARTS) now[part] = this.parts[part]?.value ?? "";
    if (!this.parts.note) now.note = this.noteText;
    return now;
  }

  get dirty() {
    return !same(this.snapshot(), this.stored);
  }

  /** Whether the page must not put another value here: typed and not stored, refused, or not yet answered. */
  get held() {
    return this.waits > 0 || this.refused !== null || this.dirty;
  }

  /** Show what is stored: {text, word, seen, direction, plane, note, covered, evidence}, each absent when empty. */
  store(state, mayShow = true) {
    this.state = state;
    this.seen = state.seen ?? 0;
    const plane = state.plane ?? this.stored.plane;
    this.stored = { text: state.text ?? "", direction: state.direction ?? "", plane, note: state.note ?? "" };
    if (!this.stored.text && this.parts.direction) this.stored.direction = this.parts.direction.options[0].value;
    if (mayShow) this.show(state);
  }

  /** Show again what is stored, when what was typed came to the same. */
  settle() {
    if (!this.held) this.store(this.state);
  }

  /** Whether a state says something else than what is shown; if not, the words beside the field stay. */
  differs(state) {
    const next = { text: state.text ?? "", direction: state.direction ?? "", plane: state.plane ?? this.stored.plane, note: state.note ?? "" };
    return (state.seen ?? 0) !== this.seen || !same(next, this.stored) || (state.covered ?? "") !== this.covered;
  }

  show(state) {
    this.noteText = this.stored.note;
    const put = (part, value) => {
      const element = this.parts[part];
      if (element && element.value !== value) element.value = value;
    };
    for (const part of PARTS) put(part, this.stored[part]);
    this.words([state.word, this.stored.note && !this.parts.note && "note"].filter(Boolean).join(", "));
    this.cover(state.covered ?? "");
    this.rest(Boolean(state.evidence));
    this.refused = null;
    this.message("");
    mark(this.holder, this.seen ? "saved" : "");
  }

  words(text) {
    const place = this.holder.querySelector("[data-word]");
    if (place.textContent !== text) place.textContent = text;
  }

  /** The way to what the finding rests on, where it rests on anything. */
  rest(on) {
    const place = this.holder.querySelector(".cell-words");
    const link = place?.querySelector("[data-evidence]");
    if (!on) link?.remove();
    else if (place && !link) {
      const made = Object.assign(document.createElement("a"), { href: `../evidence/#e-${this.id}`, textContent: "evidence" });
      made.dataset.evidence = "";
      place.append(made);
    }
  }

  cover(text) {
    this.covered = text;
    const element = this.parts.text;
    if (element.tagName === "SELECT") element.options[0].textContent = text ? `(${text})` : "–";
    else element.placeholder = text;
  }

  /** Mark the field and put a message under its row; buttons are [label, action] pairs. */
  mark(state, words = "", message = "", buttons = []) {
    mark(this.holder, state, words);
    this.message(message, state, buttons);
    this.parts.text.setAttribute("aria-invalid", state === "refused" || state === "changed" ? "true" : "false");
  }

  message(text, kind = "", buttons = []) {
    const place = this.holder.closest(".block")?.querySelector("[data-messages]");
    if (!place) return;
    const old = place.querySelector(`[data-message-for="${CSS.escape(this.id)}"]`);
    if (!text) {
      old?.remove();
      this.parts.text.setAttribute("aria-describedby", `w-${this.id}`);
      return;
    }
    const line = document.createElement("p");
    line.dataset.messageFor = this.id;
    line.id = `m-${this.id}`;
    line.className = kind === "refused" || kind === "changed" ? "field-message field-message-strong" : "field-message";
    const label = this.holder.querySelector(".cell-label")?.textContent;
    if (label) line.append(Object.assign(document.createElement("b"), { textContent: `${label}: ` }));
    line.append(text);
    for (const [words, action] of buttons) {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "btn btn-outline-secondary btn-sm", textContent: words });
      button.addEventListener("click", action);
      line.append(" ", button);
    }
    if (old) old.replaceWith(line);
    else place.append(line);
    this.parts.text.setAttribute("aria-describedby", `w-${this.id} m-${this.id}`);
  }
}
