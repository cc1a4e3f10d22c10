/** One line under each row for a note on the field in hand, such as the line an open bite was measured to. */
export class Notes {
  /** `cellOf(element)` gives the cell of a field; `commit(cell)` saves it. */
  constructor(root, cellOf, commit) {
    Object.assign(this, { root, cellOf, commit });
    root.addEventListener("focusin", (event) => {
      if (event.target.matches('[data-part="text"]')) this.#offer(event.target, false);
    });
    root.addEventListener("change", (event) => {
      if (event.target.matches("[data-row-note]")) this.#keep(event.target);
    });
    root.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || !event.target.matches("[data-row-note]")) return;
      event.preventDefault();
      this.#keep(event.target);
      this.cell?.parts.text.focus();
    });
  }

  #line(element) {
    return element.closest("[data-row]")?.querySelector("[data-note-line]");
  }

  /** Rows do not move while new values are typed: the line comes for a stored value, or when asked for. */
  #offer(element, asked) {
    const line = this.#line(element);
    const cell = this.cellOf(element);
    if (!line || !cell || cell.parts.note) return;
    this.cell = cell;
    if (asked || cell.stored.text) line.hidden = false;
    const witness = line.parentElement.querySelector("[data-witness]");
    if (witness) witness.hidden = !cell.stored.text;
    if (witness) witness.href = `../witness/?for=${encodeURIComponent(`${cell.quantity}/${cell.site}/${cell.nth}`)}`;
    line.querySelector("[data-note-name]").textContent = cell.name.replace(/, [^,]*$/, (unit) => (/^, (mm|°|%)$/.test(unit) ? "" : unit));
    line.querySelector("[data-row-note]").value = cell.snapshot().note;
  }

  #keep(input) {
    const { cell } = this;
    if (!cell?.holder.isConnected || cell.snapshot().note === input.value) return;
    cell.noteText = input.value;
    if (cell.snapshot().text) this.commit(cell);
    else cell.mark("typing", "", "The note is kept with the value once one is typed.");
  }

  /** To the note of the field in hand. */
  open(field) {
    const text = field?.closest("[data-field]")?.querySelector('[data-part="text"]');
    if (!text) return;
    this.#offer(text, true);
    const input = this.#line(text)?.querySelector("[data-row-note]");
    if (input?.checkVisibility()) input.focus();
  }
}
