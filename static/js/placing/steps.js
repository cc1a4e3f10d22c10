/** Which change can be undone and done again, and what the next thing to place is. Pure. */

/** The history of one visit: changes `{ key, old, new }`; a place is `{ x, y, uncertain }` or null. */
export class Steps {
  #done = [];
  #undone = [];

  note(change) {
    this.#done.push(change);
    this.#undone = [];
  }

  get undoable() {
    return this.#done.length > 0;
  }

  get redoable() {
    return this.#undone.length > 0;
  }

  /** What to set to undo the newest change: `{ key, to }`, or null. */
  undo() {
    const change = this.#done.pop();
    if (!change) return null;
    this.#undone.push(change);
    return { key: change.key, to: change.old };
  }

  redo() {
    const change = this.#undone.pop();
    if (!change) return null;
    this.#done.push(change);
    return { key: change.key, to: change.new };
  }

  /** Somebody else has changed things: what was noted here fits no more. */
  forget() {
    this.#done = [];
    this.#undone = [];
  }
}

/** The key after `from` in the row that has no place yet, going round; null when all are placed. */
export function nextFree(keys, placed, from) {
  const start = keys.indexOf(from) + 1;
  const round = [...keys.slice(start), ...keys.slice(0, start)];
  return round.find((key) => !placed[key]) ?? null;
}
