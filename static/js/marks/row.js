/** One line of the list: name, value with its error, and taking over as a finding. */

function option(value, words) {
  const made = document.createElement("option");
  made.value = value;
  made.textContent = words;
  return made;
}

/** Why there is no value, or what the error is made of. */
function restOf({ why, parts }) {
  if (why) return `· ${why}`;
  return parts ? `(${parts})` : "";
}

export class MarkRow {
  /** `page` answers relabel, remove, show and takeOver; `known` is what the page was given. */
  constructor(template, key, kind, known, page) {
    this.element = template.content.firstElementChild.cloneNode(true);
    this.key = key;
    this.page = page;
    this.known = known;
    this.part = (name) => this.element.querySelector(`[data-${name}]`);
    this.part("kind").textContent = known.kinds.find((one) => one.key === kind).label;
    this.part("label").addEventListener("change", (event) => page.relabel(key, event.target.value));
    this.part("label").addEventListener("keydown", (event) => event.key === "Enter" && event.target.blur());
    this.part("show").addEventListener("click", () => page.show(key));
    this.part("remove").addEventListener("click", () => page.remove(key));
    this.takings = known.takings.filter((one) => one.kinds.includes(kind));
    this.part("take").hidden = !this.takings.length;
    if (this.takings.length) this.#listen(page);
  }

  draw(mark, result, found, chosen, taken) {
    const label = this.part("label");
    if (document.activeElement !== label) label.value = mark.label;
    this.part("value").textContent = result?.value ?? "";
    this.part("sd").textContent = result?.sd ?? "";
    this.part("parts").textContent = result ? restOf(result) : "saving …";
    this.element.toggleAttribute("data-chosen", chosen);
    this.found = found;
    this.#standsOn(taken, Boolean(result));
    if (this.takings.length) this.#now();
  }

  /** Findings that were taken from this mark; what reads differently now is offered anew once the mark is saved. */
  #standsOn(taken, saved) {
    const told = JSON.stringify([taken, saved]);
    if (told === this.told) return;
    this.told = told;
    const place = this.part("taken");
    place.hidden = !taken.length;
    place.replaceChildren(
      ...taken.map(({ what, held, reads, changed, quantity, site, sense, code, seen }) => {
        const line = document.createElement("li");
        line.textContent = `On the sheet: ${what}: ${held}. `;
        if (!changed || !saved) return line;
        line.append(code ? "The marks lie elsewhere now. " : `Now the mark reads ${reads}. `);
        const button = document.createElement("button");
        button.type = "button";
        button.className = "btn btn-outline-primary btn-sm";
        button.textContent = "Take over anew";
        button.addEventListener("click", () => this.page.takeOver(this.key, { mark: this.key, quantity, site, sense, code, seen }));
        line.append(button);
        return line;
      }),
    );
  }

  /** Words beside the mark, with buttons where something is to be chosen. */
  say(words, choices = [], good = false) {
    const place = this.part("words");
    place.classList.toggle("field-error", !good);
    place.textContent = words;
    place.hidden = !words;
    this.part("choices").hidden = !choices.length;
    this.part("choices").replaceChildren(
      ...choices.map(([name, press]) => {
        const button = document.createElement("button");
        button.type = "button";
        button.className = "btn btn-outline-secondary btn-sm";
        button.textContent = name;
        button.addEventListener("click", press);
        return button;
      }),
    );
  }

  #listen(page) {
    this.part("quantity").replaceChildren(...this.takings.map((one) => option(one.quantity, one.label)));
    this.part("quantity").addEventListener("change", () => this.#offer());
    this.part("site").addEventListener("change", () => this.#now());
    this.part("take-over").addEventListener("click", () => page.takeOver(this.key, this.#asked()));
    this.#offer();
  }

  get #taking() {
    return this.takings.find((one) => one.quantity === this.part("quantity").value);
  }

  #offer() {
    const { sites, senses, codes } = this.#taking;
    this.part("site").replaceChildren(...sites.map((one) => option(...one)));
    this.part("sense").replaceChildren(option("", "choose"), ...senses.map((one) => option(...one)));
    this.part("code").replaceChildren(option("", "choose"), ...codes.map((one) => option(...one)));
    this.part("sense-line").hidden = !senses.length;
    this.part("code-line").hidden = !codes.length;
    this.#now();
  }

  #standing() {
    return this.found?.[`${this.part("quantity").value} ${this.part("site").value}`];
  }

  #now() {
    const stands = this.#standing();
    this.part("now").textContent = stands ? `The sheet says ${stands.words}; taking over replaces it and can be undone there.` : "The sheet says nothing here yet.";
  }

  #asked() {
    return {
      mark: this.key,
      quantity: this.part("quantity").value,
      site: this.part("site").value,
      sense: this.part("sense-line").hidden ? "" : this.part("sense").value,
      code: this.part("code-line").hidden ? "" : this.part("code").value,
      seen: this.#standing()?.seen ?? 0,
    };
  }
}
