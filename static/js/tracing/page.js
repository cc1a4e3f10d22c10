/** The tracing page: the picture, its points in any order, what they measure as they move, and what is saved. */
import { PictureView } from "../picture-view/view.js";
import { SendAgain, tieToPage } from "../send-again.js";
import { fixed } from "./measures.js";
import { Tracing } from "./model.js";
import { Offers } from "./offers.js";
import { Outlines } from "./outlines.js";
import { Overlay } from "./overlay.js";
import { Points } from "./points.js";
import { Saving } from "./saving.js";
import { Table } from "./table.js";
import { tabs } from "./tabs.js";

const OUTLINE = "outline ";
const MAIN = ["anb", "sn_mp", "impa"];
const json = (id) => JSON.parse(document.getElementById(id).textContent);

class Page {
  constructor(root) {
    this.root = root;
    this.tracing = new Tracing(json("tracing-formulas"), json("tracing-state"));
    this.view = new PictureView(root.querySelector("[data-picture-view]"), json("tracing-shown"));
    this.queue = tieToPage(new SendAgain(), root.querySelector("[data-queue-bar]"), window);
    this.saving = new Saving(this.queue, this.tracing, root.dataset, this);
    this.points = new Points(root, this.tracing, {
      choose: (key) => this.chooseFromList(key),
      place: (key) => this.startPlacing(key),
      uncertain: (key, on) => this.change(key, { ...this.tracing.point(key), uncertain: on }),
      remove: (key) => this.remove(key),
    });
    this.table = new Table(root.querySelector("[data-measures]"), this.tracing.formulas, root.dataset.scale ?? "");
    this.overlay = new Overlay(this.view, this.tracing);
    this.outlines = new Outlines(root.querySelector("[data-outlines]"), this.view, this.tracing, this.overlay, {
      save: (key, name) => this.saving.outline(key, name),
      drawn: () => this.drawn(),
      say: (words) => this.say(words),
      leave: () => this.#leavePoint(),
    });
    this.offers = new Offers(root.querySelector("[data-offers]"), (keys) => this.saving.takeOver(keys));
    this.said = root.querySelector("[data-said]");
    this.tabs = tabs(root);
    this.#listen();
    this.drawn();
  }

  // ----- from the picture

  #listen() {
    const on = (name, heard) => this.view.addEventListener(name, ({ detail }) => heard(detail));
    on("place", (at) => this.#placed(at));
    on("choose", ({ key }) => this.#choose(key));
    on("drag", (at) => this.#dragged(at));
    on("moved", ({ key }) => {
      this.say("");
      if (this.outlines.owns(key)) this.outlines.moved();
      else this.saving.point(key);
    });
    on("delete", ({ key }) => (this.outlines.inHand ? this.outlines.remove(key) : this.remove(key)));
    this.root.addEventListener("click", (event) => this.#press(event.target.closest("[data-press]")?.dataset.press));
    document.addEventListener("keydown", (event) => this.#key(event));
    for (const field of this.root.querySelectorAll("[data-setting]")) field.addEventListener("change", () => this.#setting(field));
    for (const field of this.root.querySelectorAll("[data-light]")) field.addEventListener("input", () => this.#light());
    for (const field of this.root.querySelectorAll("[data-drawn-too]")) field.addEventListener("change", () => this.#drawToo());
    this.root.querySelector("[data-analysis-choice]").addEventListener("change", (event) => this.table.only(event.target.value));
  }

  #placed(at) {
    if (this.outlines.inHand) {
      this.outlines.placed(at);
      return;
    }
    const key = this.placing;
    if (!key) return;
    this.#stopPlacing();
    this.change(key, { ...at, uncertain: this.tracing.point(key)?.uncertain ?? false });
    this.#choose(key);
    this.view.choose(key);
    this.say(`${key} is placed.`);
  }

  #choose(key) {
    if (this.outlines.inHand) return;
    if (key !== this.placing) this.#stopPlacing();
    this.points.choose(key, Boolean(this.placing));
  }

  /** One step of a drag: nothing but the point, the lines and the numbers. */
  #dragged({ key, x, y }) {
    if (this.outlines.owns(key)) this.outlines.dragged({ key, x, y });
    else this.tracing.edit(key, { x, y, uncertain: this.tracing.point(key)?.uncertain ?? false });
    this.#measure();
  }

  #measure() {
    const found = this.tracing.read();
    this.#words("why", this.tracing.why);
    this.overlay.draw();
    this.table.draw(found, this.tracing.state.length_unit);
    for (const key of MAIN) {
      const one = found.get(key);
      const words = one?.value === undefined ? "–" : `${fixed(one.value, 1)}°`;
      const place = this.root.querySelector(`[data-main="${key}"]`);
      if (place.textContent !== words) place.textContent = words;
    }
  }

  // ----- what is done to points

  chooseFromList(key) {
    this.view.flush();
    if (this.outlines.inHand) this.outlines.take(null);
    if (this.tracing.point(key)) {
      this.#stopPlacing();
      this.points.choose(key, false);
      this.view.choose(key);
      this.view.reveal(key);
    } else this.startPlacing(key);
    this.view.ground.focus({ preventScroll: true });
  }

  /** Nothing is in hand any more but what comes next. */
  #leavePoint() {
    this.view.flush();
    this.#stopPlacing();
    this.points.choose(null, false);
  }

  startPlacing(key) {
    if (this.outlines.inHand) this.outlines.take(null);
    this.view.choose(null);
    this.placing = key;
    this.view.placing = true;
    this.points.choose(key, true);
    this.say(`Press on the picture where ${key} lies. Hold still to enlarge.`);
    this.view.ground.focus({ preventScroll: true });
  }

  #stopPlacing() {
    this.placing = null;
    this.view.placing = false;
  }

  change(key, at) {
    this.say("");
    this.tracing.edit(key, at);
    this.saving.point(key);
  }

  remove(key) {
    if (!this.tracing.point(key)) return;
    this.change(key, null);
    this.say(`${key} is taken away; Undo brings it back.`);
  }

  #press(name) {
    if (!name) return;
    this.view.flush();
    if (name === "undo" || name === "redo") this.saving.step(name);
    if (name === "next-missing") this.nextMissing();
    if (name === "light-back") this.#lightBack();
  }

  nextMissing() {
    const key = this.tracing.nextMissing(this.points.chosen);
    if (key) this.startPlacing(key);
    else this.say("No point is missing.");
  }

  #key(event) {
    if (event.defaultPrevented) return;
    const typing = event.target.closest?.("input:not([type=checkbox]):not([type=range]), select, textarea");
    if ((event.ctrlKey || event.metaKey) && !event.altKey && !typing) {
      const name = { z: event.shiftKey ? "redo" : "undo", y: "redo" }[event.key.toLowerCase()];
      if (!name) return;
      event.preventDefault();
      if (!this.root.querySelector(`[data-press="${name}"]`).disabled) this.#press(name);
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey || typing) return;
    if (event.key === "/") {
      event.preventDefault();
      this.tabs("points");
      this.points.search.focus();
      this.points.search.select();
    }
    if (event.target !== this.view.ground) return;
    const { chosen } = this.points;
    if (event.key === "n") this.nextMissing();
    if (event.key === "u" && this.tracing.point(chosen)) this.change(chosen, { ...this.tracing.point(chosen), uncertain: !this.tracing.point(chosen).uncertain });
    if (event.key === "Escape" && this.outlines.inHand && !this.view.chosen) this.outlines.take(null);
    else if (event.key === "Escape" && this.placing) {
      this.#stopPlacing();
      this.points.choose(chosen, false);
    }
  }

  // ----- settings

  #setting(field) {
    this.view.flush();
    if (field.dataset.setting === "mandibular_plane") {
      Object.assign(this.tracing, { plane: field.value, planeWaits: true });
    }
    this.saving.settings({ [field.dataset.setting]: field.value });
  }

  #light() {
    const [brightness, contrast, invert] = ["brightness", "contrast", "invert"].map((name) => this.root.querySelector(`[data-light="${name}"]`));
    this.view.light({ brightness: brightness.value / 100, contrast: contrast.value / 100, invert: invert.checked });
  }

  /** What is drawn over the picture: names, lines, outlines. */
  #drawToo() {
    const ticked = Object.fromEntries([...this.root.querySelectorAll("[data-drawn-too]")].map((one) => [one.dataset.drawnToo, one.checked]));
    Object.assign(this.overlay.shown, { lines: ticked.lines, outlines: ticked.outlines });
    this.view.holder.toggleAttribute("data-no-names", !ticked.names);
    this.overlay.draw();
  }

  #lightBack() {
    for (const field of this.root.querySelectorAll("[data-light]")) {
      field.value = "100";
      field.checked = false;
    }
    this.#light();
  }

  /** A box that is there while there is something to say. */
  #words(name, words) {
    const box = this.root.querySelector(`[data-${name}]`);
    box.hidden = !words;
    const place = box.querySelector(`[data-${name}-words]`);
    if (place.textContent !== words) place.textContent = words;
  }

  // ----- told by saving.js

  say(words) {
    this.said.textContent = words;
  }

  mark(key, kind, words, choices) {
    if (key.startsWith(OUTLINE)) {
      this.outlines.mark(key.slice(OUTLINE.length), kind, words, choices);
      if (kind === "refused" || kind === "changed") this.tabs("outlines");
      return;
    }
    this.points.mark(key, kind, words, choices);
    if (kind === "refused" || kind === "changed") {
      this.tabs("points");
      this.points.choose(key, false);
      this.say(words);
    }
  }

  /** Everything anew from what the tracing holds now. */
  drawn() {
    const { tracing, view } = this;
    const { state } = tracing;
    for (const key of view.keys()) if (!this.outlines.owns(key) && !tracing.point(key)) view.take(key);
    for (const [key, at] of Object.entries(tracing.points)) view.put({ key, ...at, className: at.uncertain ? "uncertain" : "" });
    this.points.draw(Boolean(this.placing));
    this.outlines.draw();
    this.#measure();
    const waits = this.queue.size > 0;
    this.offers.draw(state, waits || tracing.unsaved > 0);
    for (const name of ["undo", "redo"]) this.root.querySelector(`[data-press="${name}"]`).disabled = !state[name] && !waits;
    for (const field of this.root.querySelectorAll("[data-setting]")) field.value = field.dataset.setting === "faces" ? tracing.faces : tracing.plane;
    const lacking = ["Po", "Or"].filter((key) => !tracing.point(key));
    this.#words("frankfort", lacking.length && Object.keys(tracing.points).length ? `${lacking.join(" and ")} missing.` : "");
    this.#words("scale-hint", state.scale_hint ? `${state.scale_hint}.` : "");
    this.#words("other-planes", state.other_planes.map((one) => `${one.stage}: ${one.plane}, ${one.how}.`).join(" "));
    const placed = tracing.formulas.landmarks.filter((one) => tracing.point(one.key)).length;
    this.root.querySelector("[data-count]").textContent = `${placed} of ${tracing.formulas.landmarks.length} points`;
    const saved = tracing.unsaved ? "not all saved" : waits ? "saving" : "saved";
    this.root.querySelector("[data-saved]").textContent = saved;
  }
}

const root = document.querySelector("[data-tracing]");
if (root) {
  root.page = new Page(root); // for bench/tracing_page.py
  root.toggleAttribute("data-ready", true);
}
