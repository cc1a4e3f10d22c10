/**
 * Saves cells through the queue and puts the server's answer back into the page. While "what if" is on, the
 * same calls go to its address instead and nothing is stored.
 */
import { lacksDirection, same, typedText } from "./cell.js";

const WAITING = {
  offline: "not sent yet: no connection",
  busy: "not sent yet: the server is busy",
  "signed-out": "not sent yet: signed out",
};

export class Saving {
  /** `page` holds the cells and draws answers; see page.js. */
  constructor(queue, page, addresses) {
    Object.assign(this, { queue, page, addresses });
    this.undoNumber = Number(addresses.undoNumber);
    this.supposing = null;
    this.count = 0;
  }

  /** Save a cell if it says something else than what is stored, refused or under way. */
  commit(cell, force = false) {
    const now = cell.snapshot();
    if (!force && (same(now, cell.sent ?? cell.stored) || (cell.refused && same(now, cell.refused)))) return;
    if (lacksDirection(now, Boolean(cell.parts.direction))) {
      cell.refused = now;
      cell.mark("refused", "", "Say to which side, or type a minus for the right.");
      return;
    }
    cell.refused = null;
    if (this.supposing) {
      this.supposing.put(cell, now);
      return;
    }
    cell.sent = now;
    cell.waits += 1;
    cell.mark("trying", "…");
    this.queue.put({
      name: cell.id,
      address: this.addresses.save,
      replaced: () => this.#answered(cell),
      build: () => ({ entries: [this.entry(cell, now)], layouts: this.page.layouts() }),
      saved: (data) => this.#saved(cell, now, data),
      changed: (data) => this.#changed(cell, data),
      refused: (data) => this.#refused(cell, now, data),
      failed: (status, data) => this.#failed(cell, now, status, data),
      waiting: (state) => cell.mark("waiting", "waits", WAITING[state]),
    });
  }

  entry(cell, now) {
    const entry = { quantity: cell.quantity, site: cell.site, nth: cell.nth, typed: typedText(now), seen: cell.seen };
    if (cell.parts.plane) entry.plane = now.plane;
    if (cell.parts.note || now.note !== cell.stored.note) entry.note = now.note;
    const method = cell.row?.querySelector("[data-method]")?.value;
    if (method) entry.method = method;
    return entry;
  }

  #answered(cell) {
    cell.waits -= 1;
    if (!cell.waits) cell.sent = null;
  }

  #saved(cell, now, data) {
    this.#answered(cell);
    const untouched = same(cell.snapshot(), now);
    cell.store(data.fields[cell.id] ?? {}, untouched && !cell.waits);
    this.drawn(data);
    const echo = data.saved.find((one) => one.id === cell.id)?.echo;
    if (echo && untouched) cell.message(echo, "saved");
    this.page.say([echo && `${cell.name}: ${echo}.`, ...data.also].filter(Boolean).join(" "));
  }

  #refused(cell, now, data) {
    this.#answered(cell);
    if (cell.waits) return;
    cell.refused = now;
    cell.mark("refused", "", data.faults.map((fault) => fault.message).join(" "));
  }

  #changed(cell, data) {
    this.#answered(cell);
    const theirs = data.theirs.find((one) => one.id === cell.id) ?? data.theirs[0];
    if (!theirs || cell.waits) return;
    const keep = () => {
      cell.store(theirs);
      cell.parts.text.focus();
    };
    const mine = () => {
      cell.seen = theirs.seen;
      this.commit(cell, true);
      cell.parts.text.focus();
    };
    cell.refused = cell.snapshot();
    cell.mark("changed", "", `${theirs.by} has recorded ${theirs.value}, ${theirs.at}. Yours is not saved.`, [
      ["Keep theirs", keep],
      ["Save mine", mine],
    ]);
  }

  #failed(cell, now, status, data) {
    this.#answered(cell);
    cell.refused = now;
    const words = data?.message ?? `The server answered ${status}.`;
    cell.mark("refused", "", `Not saved. ${words}`, [["Send again", () => this.commit(cell, true)]]);
  }

  /** State regions free: [{quantity, site}], or the whole mouth when none is named. */
  free(regions, words) {
    if (this.supposing) return this.supposing.free(regions);
    return this.#press(this.addresses.save, () => (regions ? { free: regions } : { whole_mouth: true }), words);
  }

  takeBack(quantity, site, seen) {
    if (this.supposing) return this.supposing.takeBack(quantity, site);
    return this.#press(this.addresses.save, () => ({ entries: [{ quantity, site, typed: "", seen }] }), "Taken back.");
  }

  undo() {
    if (this.supposing) return this.page.say("Leave what if before you undo.");
    if (!this.undoNumber && !this.queue.size) return this.page.say("Nothing to undo.");
    return this.#press(this.addresses.undo, () => ({ number: this.undoNumber }), "Undone.");
  }

  #press(address, body, words) {
    this.count += 1;
    return this.queue.put({
      name: `press ${this.count}`,
      address,
      build: () => ({ ...body(), layouts: this.page.layouts() }),
      saved: (data) => {
        this.drawn(data);
        this.page.say([words, ...data.also].filter(Boolean).join(" "));
      },
      changed: (data) => {
        const one = data.theirs[0];
        this.page.say(one ? `Not done: ${one.by} has changed ${one.where} since.` : "Not done: it was changed since.");
      },
      refused: (data) => this.page.say(`Not done. ${data.faults.map((f) => f.message).join(" ")}`),
      failed: (status, data) => this.page.say(`Not done. ${data?.message ?? `The server answered ${status}.`}`),
    });
  }

  /** Put an answer into the page: all fields that nobody is typing in, statements, rows, score, undo. */
  drawn(data) {
    if (data.undo !== undefined) this.undoNumber = data.undo;
    this.page.draw(data, Boolean(this.undoNumber));
  }

  /** Keep medium and step of the sheet. */
  settings(values, said) {
    this.queue.put({
      name: "settings",
      address: this.addresses.settings,
      build: () => values,
      saved: (data) => said(data.said),
      refused: (data) => said(data.message),
      failed: (status, data) => said(data?.message ?? `Not kept: the server answered ${status}.`),
      waiting: () => said("not sent yet"),
    });
  }
}
