/** What may become findings of the sheet: each measure beside what the sheet says, with "take over". */
const UNITS = { deg: "°", mm: " mm", "%": " %", "": "" };
const PLANES = { go_me: "Go-Me", go_gn: "Go-Gn", tangent: "tangent" };
const minus = (text) => text.replace("-", "−");

function made(name, { text, ...attributes } = {}, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text) element.textContent = text;
  element.append(...inside);
  return element;
}

export class Offers {
  /** `take(keys)` asks for measures to be taken over. */
  constructor(root, take) {
    this.root = root;
    this.body = root.querySelector("tbody");
    this.told = "";
    root.addEventListener("click", (event) => {
      const one = event.target.closest("[data-take]")?.dataset.take;
      if (one) take([one]);
      const many = event.target.closest("[data-take-many]")?.dataset.takeMany;
      if (many) take(this.#keys(many));
    });
  }

  #keys(which) {
    const fits = { main: (one) => one.main && !one.same, changed: (one) => one.changed }[which];
    return this.offers.filter(fits).map((one) => one.key);
  }

  /** `state` is that of the tracing; while it `waits` for answers nothing can be taken over. */
  draw({ offers, left_behind: behind }, waits) {
    const told = JSON.stringify([offers, behind, waits]);
    if (told === this.told) return;
    Object.assign(this, { offers, told });
    this.root.querySelector("[data-no-offers]").hidden = offers.length > 0;
    this.root.querySelector("[data-offers-frame]").hidden = !offers.length;
    for (const button of this.root.querySelectorAll("[data-take-many]")) {
      button.disabled = waits || !this.#keys(button.dataset.takeMany).length;
    }
    const changed = this.#keys("changed").length;
    this.root.querySelector("[data-changed]").hidden = !changed;
    const tab = document.querySelector("[data-changed-tab]");
    tab.hidden = !changed;
    tab.textContent = `${changed} changed`;
    this.root.querySelector("[data-changed-words]").textContent =
      changed === 1 ? "1 recorded finding would now read differently." : `${changed} recorded findings would now read differently.`;
    this.root.querySelector("[data-behind]").replaceChildren(...behind.map((one) => made("li", { text: `${one.label}: the sheet says ${minus(one.now)}, which this tracing cannot tell any more: ${one.why}.` })));
    const focused = document.activeElement?.dataset?.take;
    this.body.replaceChildren(...offers.map((one) => this.#row(one, waits)));
    if (focused) this.body.querySelector(`[data-take="${CSS.escape(focused)}"]`)?.focus();
  }

  /** What the sheet says, with what tells it from what is offered. */
  #now({ now, now_sd: sd, now_plane: plane, plane: here, method, from_here: fromHere, unit }) {
    if (!now) return "nothing\u00a0yet";
    const more = [plane && plane !== here && PLANES[plane], !fromHere && method].filter(Boolean);
    const error = sd ? `\u00a0±\u00a0${sd}` : "";
    return `${minus(now)}${UNITS[unit].replace(" ", "\u00a0")}${error}${more.length ? ` (${more.join(", ")})` : ""} `;
  }

  #row(one, waits) {
    const plane = one.plane ? made("span", { class: "quiet", text: ` ${PLANES[one.plane]}` }) : "";
    const name = made("th", { scope: "row", text: one.label }, plane);
    const value = made("td", { class: "number", text: `${minus(one.value)}${UNITS[one.unit]}` });
    const error = made("td", { class: "number", text: one.sd });
    const now = made("td", { text: this.#now(one) });
    if (one.changed) now.append(made("span", { class: "state state-strong", text: "changed since" }));
    const last = one.same ? made("td", { text: "the same" }) : made("td");
    if (!one.same) {
      const button = made("button", { type: "button", class: "btn btn-outline-primary btn-sm", "data-take": one.key, text: "Take over" });
      button.append(made("span", { class: "visually-hidden", text: ` ${one.label}` }));
      button.disabled = waits;
      last.append(button);
    }
    return made("tr", { "data-offer": one.key }, name, value, error, now, last);
  }
}
