/**
 * "What if": values are scored in place of the stored ones and never stored. The page keeps them in memory
 * and sends all of them with each question; leaving brings every stored value back.
 */
import { typedText } from "./cell.js";

export class WhatIf {
  #wanted = new Map();
  #wholeMouth = false;

  constructor(queue, page, saving, address) {
    Object.assign(this, { queue, page, saving, address });
  }

  get on() {
    return this.saving.supposing === this;
  }

  toggle() {
    if (this.on) return this.leave();
    if (this.queue.size) return this.page.say("Wait until everything typed is saved.");
    this.saving.supposing = this;
    this.before = new Map([...this.page.cells.values()].map((cell) => [cell.id, cell.state]));
    return this.page.supposing(true);
  }

  /** Put a cell's value in. */
  put(cell, now) {
    const one = { quantity: cell.quantity, site: cell.site, nth: cell.nth, typed: typedText(now) };
    if (cell.parts.plane) one.plane = now.plane;
    if (cell.parts.note || now.note !== cell.stored.note) one.note = now.note;
    cell.sent = now;
    cell.mark("trying", "…");
    this.#want(cell.id, one);
  }

  free(regions) {
    if (!regions) this.#wholeMouth = true;
    for (const one of regions ?? []) this.#want(`free ${one.quantity} ${one.site}`, { ...one, free: true }, false);
    return this.#ask();
  }

  takeBack(quantity, site) {
    this.#wanted.delete(`free ${quantity} ${site}`);
    return this.#want(`take back ${quantity} ${site}`, { quantity, site, typed: "" });
  }

  #want(key, one, ask = true) {
    this.#wanted.delete(key);
    this.#wanted.set(key, one);
    return ask ? this.#ask() : undefined;
  }

  #ask(left = false) {
    return this.queue.put({
      name: "what if",
      address: this.address,
      build: () => ({ wanted: [...this.#wanted.values()], whole_mouth: this.#wholeMouth, layouts: this.page.layouts() }),
      saved: (data) => this.#answered(data, left),
      failed: (status, data) => this.page.say(`Not scored. ${data?.message ?? `The server answered ${status}.`}`),
      waiting: () => this.page.say("Not scored yet: no answer."),
    });
  }

  #answered(data, left) {
    if (!left && !this.on) return;
    for (const cell of this.page.cells.values()) {
      if (cell.sent && JSON.stringify(cell.snapshot()) === JSON.stringify(cell.sent)) cell.store(data.fields[cell.id] ?? {});
      cell.sent = null;
    }
    this.page.draw(data);
    for (const { id, echo } of data.saved) {
      const cell = this.page.cells.get(id);
      if (cell && echo) cell.message(echo, "saved");
      if (cell && !left) cell.holder.dataset.supposed = "";
    }
    for (const fault of data.faults) {
      const cell = this.page.cells.get(fault.id);
      if (!cell) this.page.say(fault.message);
      else {
        cell.refused = cell.snapshot();
        cell.mark("refused", "", fault.message);
      }
      this.#wanted.delete(fault.id);
    }
  }

  /** Bring the stored values back at once; the score follows from the server. */
  leave() {
    this.saving.supposing = null;
    this.#wanted.clear();
    this.#wholeMouth = false;
    for (const cell of this.page.cells.values()) {
      cell.sent = null;
      cell.store(this.before.get(cell.id) ?? {});
      delete cell.holder.dataset.supposed;
    }
    this.page.supposing(false);
    this.page.say("The saved values are back.");
    return this.#ask(true);
  }
}
