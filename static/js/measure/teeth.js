/** The two rows of teeth: arrow keys move, Enter opens the form of a tooth, Escape goes back to the tooth. */
export class Teeth {
  #panels = new Map();

  /** `adopt(holder)` takes a new form's cells into the page; `known()` gives the stored states by field. */
  constructor(root, adopt, known) {
    this.root = root;
    this.rows = root.querySelector("[data-tooth-rows]");
    this.place = root.querySelector("[data-tooth-panels]");
    Object.assign(this, { adopt, known });
    this.buttons = [...this.rows.querySelectorAll("[data-tooth]")];
    const first = this.buttons.find((b) => !b.classList.contains("tooth-away")) ?? this.buttons[0];
    if (first) first.tabIndex = 0;
    this.rows.addEventListener("click", (event) => {
      const button = event.target.closest("[data-tooth]");
      if (button) this.toggle(button);
      if (event.target.closest("[data-tooth-close]")) this.close();
    });
    this.rows.addEventListener("keydown", (event) => this.#key(event));
  }

  #key(event) {
    if (event.key === "Escape" && this.open && this.place.contains(event.target)) {
      this.close();
      return;
    }
    const button = event.target.closest("[data-tooth]");
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!button) return;
    let to = step && this.buttons[this.buttons.indexOf(button) + step];
    if (event.key === "ArrowDown" || event.key === "ArrowUp") to = this.#across(button, event.key === "ArrowDown");
    if (!to) return;
    event.preventDefault();
    this.#tabStop(to);
    to.focus();
  }

  /** The tooth nearest to this one in the other row. */
  #across(button, down) {
    const rows = [...this.rows.querySelectorAll(".tooth-row")];
    const other = rows[rows.indexOf(button.parentElement) + (down ? 1 : -1)];
    const middle = (b) => b.offsetLeft + b.offsetWidth / 2;
    return [...(other?.children ?? [])].sort((a, b) => Math.abs(middle(a) - middle(button)) - Math.abs(middle(b) - middle(button)))[0];
  }

  #tabStop(button) {
    for (const one of this.buttons) one.tabIndex = one === button ? 0 : -1;
  }

  toggle(button) {
    if (this.open === button) this.close();
    else this.show(button);
  }

  show(button) {
    this.close(false);
    this.#tabStop(button);
    const tooth = button.dataset.tooth;
    if (!this.#panels.has(tooth)) this.#panels.set(tooth, this.#make(button));
    this.#panels.get(tooth).hidden = false;
    this.open = button;
    button.setAttribute("aria-expanded", "true");
    this.#panels.get(tooth).querySelector("[data-part]").focus();
  }

  close(focus = true) {
    if (!this.open) return;
    const button = this.open;
    this.open = null;
    button.setAttribute("aria-expanded", "false");
    if (focus) button.focus();
    this.#panels.get(button.dataset.tooth).hidden = true;
  }

  #make(button) {
    const { tooth, set, label } = button.dataset;
    const panel = this.root.querySelector(`[data-tooth-form="${set}"]`).content.firstElementChild.cloneNode(true);
    panel.querySelector("[data-tooth-title]").textContent = `Tooth ${label}`;
    panel.setAttribute("aria-label", `Tooth ${label}`);
    for (const holder of panel.querySelectorAll("[data-field]")) this.#name(holder, tooth, label);
    this.place.append(panel);
    for (const holder of panel.querySelectorAll("[data-field]")) this.adopt(holder, this.known()[holder.dataset.field] ?? {});
    return panel;
  }

  #name(holder, tooth, label) {
    const quantity = holder.dataset.quantity;
    const title = this.root.querySelector(`#q-${CSS.escape(quantity)}`)?.textContent ?? quantity;
    holder.dataset.site = tooth;
    holder.dataset.field = `${quantity}-${tooth}-1`;
    holder.dataset.name = `${title}, ${label}`;
    holder.querySelector(".cell-label").textContent = title;
    holder.querySelector(".cell-label").htmlFor = `f-${holder.dataset.field}`;
    holder.querySelector(".cell-words").id = `w-${holder.dataset.field}`;
    const field = holder.querySelector('[data-part="text"]');
    field.id = `f-${holder.dataset.field}`;
    field.setAttribute("aria-label", holder.dataset.name);
    field.setAttribute("aria-describedby", `w-${holder.dataset.field}`);
    holder.querySelector('[data-part="note"]')?.setAttribute("aria-label", `${holder.dataset.name}: note`);
  }

  /** Words of every tooth's states. */
  draw(words) {
    for (const button of this.buttons) {
      const place = button.querySelector("[data-tooth-words]");
      const text = words[button.dataset.tooth] ?? button.dataset.away;
      if (place.textContent !== text) place.textContent = text;
      button.classList.toggle("tooth-spoken", button.dataset.tooth in words);
    }
  }
}
