/**
 * Saves a tracing through the queue of send-again.js: each point by itself, steps back and forth, what is taken over.
 * A save that met another version is sent again by itself when the other change was about other points; when it was
 * about the same one, the page asks.
 */
import { same, sameRow } from "./model.js";

const WAITING = {
  offline: "not sent yet: no connection",
  busy: "not sent yet: the server is busy",
  "signed-out": "not sent yet: signed out",
};
const sentences = (faults) => faults.map((fault) => fault.message).join(" ");

export class Saving {
  /** `page`: drawn(), say(words), mark(key, kind, words, choices); see page.js. */
  constructor(queue, tracing, addresses, page) {
    Object.assign(this, { queue, tracing, addresses, page });
    this.count = 0;
  }

  /** Save a point as it stands here now: { x, y, uncertain } or null. */
  point(key) {
    this.#put(key, {
      body: (at) => ({ points: { [key]: at } }),
      here: () => this.tracing.point(key),
      there: (state) => state.points[key] ?? null,
      drop: () => this.tracing.edits.delete(key),
      same,
      name: key,
    });
  }

  /** Save an outline as it stands here now: its row of knots, or null. */
  outline(key, name) {
    this.#put(`outline ${key}`, {
      body: (row) => ({ outlines: { [key]: row } }),
      here: () => this.tracing.outline(key),
      there: (state) => state.outlines[key] ?? null,
      drop: () => this.tracing.outlineEdits.delete(key),
      same: sameRow,
      name,
    });
  }

  #put(mark, one) {
    const now = one.here();
    let met;
    this.page.mark(mark, "saving", "");
    const again = () => this.#put(mark, one);
    this.queue.put({
      name: mark,
      address: this.addresses.save,
      build: () => {
        met = one.there(this.tracing.state);
        return { seen: this.tracing.state.version, ...one.body(now) };
      },
      saved: (data) => {
        this.tracing.take(data);
        if (one.same(one.here(), one.there(data))) this.page.mark(mark, "", "");
        this.page.drawn();
      },
      changed: (data) => this.#changed(mark, one, now, met, data),
      refused: (data) => {
        if (one.same(one.here(), now)) this.#refused(mark, one, sentences(data.faults));
        this.page.drawn();
      },
      failed: (status, data) => {
        this.#refused(mark, one, data?.message ?? `The server answered ${status}.`, [["Send again", again]]);
        this.page.drawn();
      },
      waiting: (state) => this.page.mark(mark, "waiting", WAITING[state]),
    });
    this.page.drawn();
  }

  #refused(mark, one, words, choices = []) {
    this.page.mark(mark, "refused", `Not saved. ${words}`, [["Put it back as it was", () => this.#giveWay(mark, one)], ...choices]);
  }

  #giveWay(mark, one) {
    one.drop();
    this.page.mark(mark, "", "");
    this.page.drawn();
  }

  #changed(mark, one, now, met, data) {
    this.tracing.take(data);
    this.page.drawn();
    if (!one.same(one.here(), now)) return;
    const there = one.there(data);
    if (one.same(there, now)) return this.page.mark(mark, "", "");
    if (one.same(there, met)) return this.#put(mark, one);
    const theirs = there ? "changed" : "taken away";
    return this.page.mark(mark, "changed", `${one.name} was ${theirs} in another window meanwhile. Yours is not saved.`, [
      ["Keep the other", () => this.#giveWay(mark, one)],
      ["Save mine", () => this.#put(mark, one)],
    ]);
  }

  /** Save the mandibular plane or the side faced: { mandibular_plane } or { faces }. */
  settings(wanted) {
    this.#press(this.addresses.save, () => ({ seen: this.tracing.state.version, ...wanted }), "Kept.", () => {
      this.tracing.planeWaits = false;
    });
  }

  /** Undo the newest change, or do the newest undone one again. */
  step(action) {
    const build = () => ({ action, number: this.tracing.state[action] });
    this.#press(this.addresses.step, build, action === "undo" ? "Undone." : "Done again.");
  }

  /** Take measures over as findings: keys of offers. */
  takeOver(keys) {
    const build = () => {
      const seen = new Map(this.tracing.state.offers.map((offer) => [offer.key, offer.seen]));
      return {
        seen: this.tracing.state.version,
        take: Object.fromEntries(keys.filter((key) => seen.has(key)).map((key) => [key, seen.get(key)])),
      };
    };
    this.#press(this.addresses.takeOver, build, keys.length === 1 ? "Taken over into the sheet." : `${keys.length} findings taken over into the sheet.`);
  }

  #press(address, build, words, always = () => {}) {
    this.count += 1;
    const answered = (data, told) => {
      always();
      if (data?.points) this.tracing.take(data);
      this.page.drawn();
      this.page.say(told);
    };
    this.queue.put({
      name: `press ${this.count}`,
      address,
      build,
      saved: (data) => answered(data, words),
      changed: (data) => answered(data, data.message ?? "Not done: the tracing was changed in another window. Here it is as it stands now."),
      refused: (data) => answered(null, `Not done. ${sentences(data.faults)}`),
      failed: (status, data) => answered(null, `Not done. ${data?.message ?? `The server answered ${status}.`}`),
    });
    this.page.drawn();
  }
}
