/** The list of landmarks with search and what is missing, and beside it the one in hand: drawing, definition, tools. */
const CLOSE_UP = 26;
/** Where the list lies below the point in hand, as in css/tracing.css. */
const ONE_COLUMN = "(max-width: 64rem)";
const WORDS = { placed: "placed", uncertain: "placed, uncertain", missing: "missing" };

export class Points {
  /** `actions`: choose(key), place(key), uncertain(key, on), remove(key). */
  constructor(root, tracing, actions) {
    Object.assign(this, { root, tracing, actions });
    this.chosen = null;
    this.marks = new Map();
    this.known = new Map(tracing.formulas.landmarks.map((one) => [one.key, one]));
    this.list = root.querySelector("[data-points]");
    this.items = new Map([...this.list.querySelectorAll("[data-point]")].map((item) => [item.dataset.point, item]));
    this.detail = root.querySelector("[data-detail]");
    this.search = root.querySelector("[data-search]");
    this.filter = root.querySelector("[data-filter]");
    this.sketch = root.querySelector("[data-sketch]");
    this.whole = this.sketch.getAttribute("viewBox");
    this.#listen();
  }

  #listen() {
    this.list.addEventListener("click", (event) => {
      const item = event.target.closest("[data-point]");
      if (item) this.actions.choose(item.dataset.point);
    });
    this.list.addEventListener("keydown", (event) => this.#walk(event));
    this.search.addEventListener("input", () => this.#sift());
    this.search.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      const key = this.#found();
      if (key) this.actions.choose(key);
    });
    this.filter.addEventListener("change", () => this.#sift());
    this.detail.addEventListener("click", (event) => {
      const press = event.target.closest("[data-do]")?.dataset.do;
      if (press === "place") this.actions.place(this.chosen);
      if (press === "remove") this.actions.remove(this.chosen);
    });
    this.detail.querySelector("[data-uncertain]").addEventListener("change", (event) => this.actions.uncertain(this.chosen, event.target.checked));
  }

  /** Up and down through the list. */
  #walk(event) {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step) return;
    const seen = [...this.items.values()].filter((item) => item.checkVisibility());
    const next = seen[seen.indexOf(document.activeElement) + step];
    if (next) {
      event.preventDefault();
      next.focus();
    }
  }

  #fits(key) {
    const words = this.search.value.trim().toLowerCase();
    const { name, definition } = this.known.get(key);
    return !words || key.toLowerCase().startsWith(words) || name.toLowerCase().includes(words) || definition.toLowerCase().includes(words);
  }

  /** The landmark that a search means: its own key, as typed if two differ by case alone, else the first shown. */
  #found() {
    const words = this.search.value.trim();
    const keys = [...this.items.keys()];
    const alike = keys.find((key) => key === words) ?? keys.find((key) => key.toLowerCase() === words.toLowerCase());
    return alike ?? keys.find((key) => this.items.get(key).checkVisibility()) ?? null;
  }

  #sift() {
    const wanted = this.filter.value;
    for (const [key, item] of this.items) {
      const standing = this.tracing.standing(key);
      const kept = wanted === "all" || standing === wanted || (wanted === "placed" && standing === "uncertain");
      item.parentElement.hidden = !kept || !this.#fits(key);
    }
    let any = false;
    for (const group of this.list.querySelectorAll("[data-group]")) {
      group.hidden = [...group.querySelectorAll("li")].every((item) => item.hidden);
      any ||= !group.hidden;
    }
    this.list.querySelector("[data-none]").hidden = any;
  }

  /** A word about a point that is not yet, or not, saved; with buttons [words, press]. */
  mark(key, kind, words, choices = []) {
    if (kind) this.marks.set(key, { kind, words, choices });
    else this.marks.delete(key);
    this.#drawItem(key);
    if (key === this.chosen) this.#drawMark();
  }

  choose(key, placing) {
    this.chosen = key;
    for (const [one, item] of this.items) {
      if (one === key) item.setAttribute("aria-current", "true");
      else item.removeAttribute("aria-current");
    }
    this.#bringNear(this.items.get(key));
    if (key && globalThis.matchMedia?.(ONE_COLUMN).matches) this.detail.scrollIntoView({ block: "start" });
    this.#drawDetail(placing);
  }

  /** Scroll the list, never the page, until an item can be seen. */
  #bringNear(item) {
    if (!item) return;
    const list = this.list.getBoundingClientRect();
    const one = item.getBoundingClientRect();
    if (one.top < list.top) this.list.scrollTop -= list.top - one.top;
    if (one.bottom > list.bottom) this.list.scrollTop += one.bottom - list.bottom;
  }

  draw(placing) {
    for (const key of this.items.keys()) this.#drawItem(key);
    this.#sift();
    this.#drawDetail(placing);
  }

  #words(key) {
    const standing = this.tracing.standing(key);
    return standing === "made" ? `from ${this.tracing.madeOf(key)}` : WORDS[standing];
  }

  #drawItem(key) {
    const item = this.items.get(key);
    if (!item) return;
    const mark = this.marks.get(key);
    const shown = mark && mark.kind !== "saving" ? { waiting: "waits", refused: "not saved", changed: "changed elsewhere" }[mark.kind] : this.#words(key);
    item.dataset.standing = this.tracing.standing(key);
    const place = item.querySelector("[data-words]");
    if (place.textContent !== shown) place.textContent = shown;
  }

  #drawDetail(placing) {
    const { detail, chosen } = this;
    const one = this.known.get(chosen);
    const show = (name, words) => {
      detail.querySelector(`[data-${name}]`).textContent = words;
    };
    show("key", one ? one.key : "No point chosen");
    show("name", one ? one.name : "");
    show("definition", one ? `${one.definition[0].toUpperCase()}${one.definition.slice(1)}.` : "Choose one in the list or on the picture, in any order.");
    show("worst", one ? `Least sure: ${one.worst} (from memory).` : "");
    show("source", one ? `${one.certainty === "memory" ? "From memory" : "Read"}: ${one.source}.` : "");
    detail.querySelector("[data-about]").hidden = !one;
    detail.querySelector("[data-tools]").hidden = !one;
    this.#drawSketch(one);
    if (!one) return;
    const at = this.tracing.point(chosen);
    const place = detail.querySelector('[data-do="place"]');
    place.setAttribute("aria-pressed", String(Boolean(placing)));
    place.textContent = placing ? `Press on the picture where ${chosen} lies` : at ? "Place anew" : "Place";
    detail.querySelector('[data-do="remove"]').disabled = !at;
    const tick = detail.querySelector("[data-uncertain]");
    tick.checked = Boolean(at?.uncertain);
    tick.disabled = !at;
    this.#drawMark();
  }

  #drawMark() {
    const holder = this.detail.querySelector("[data-mark]");
    const mark = this.marks.get(this.chosen);
    holder.hidden = !mark?.words;
    holder.querySelector("[data-mark-words]").textContent = mark?.words ?? "";
    const buttons = (mark?.choices ?? []).map(([words, press]) => {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "btn btn-outline-primary", textContent: words });
      button.addEventListener("click", press);
      return button;
    });
    holder.querySelector("[data-mark-choices]").replaceChildren(...buttons);
  }

  /** The drawing near the point in hand, facing as the picture does. */
  #drawSketch(one) {
    const spot = one && this.tracing.formulas.sketch[one.key];
    const side = this.tracing.faces === "left" ? -1 : 1;
    this.sketch.querySelector("[data-sketch-head]").setAttribute("transform", `scale(${side} 1)`);
    const mark = this.sketch.querySelector("[data-sketch-mark]");
    mark.setAttribute("visibility", spot ? "visible" : "hidden");
    const [left, top, width, height] = this.whole.split(" ").map(Number);
    if (!spot) {
      this.sketch.setAttribute("viewBox", `${side < 0 ? -left - width : left} ${top} ${width} ${height}`);
      return;
    }
    mark.setAttribute("transform", `translate(${spot.join(" ")})`);
    this.sketch.setAttribute("viewBox", `${side * spot[0] - CLOSE_UP} ${spot[1] - CLOSE_UP} ${2 * CLOSE_UP} ${2 * CLOSE_UP}`);
  }
}
