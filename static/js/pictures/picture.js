// The page of one picture: the frame of crop and mask is drawn, moved and nudged on the picture itself.
// The fields stay the exact way; they and the frame always say the same.
import { drawn, EDGES, fromTexts, LEAST, MIDDLE, moved, nudged, pulled } from "./frame.js";

const HANDLES = ["left", "right", "top", "bottom", "left top", "right top", "left bottom", "right bottom"];
/** A hand that trembles by so many pixels has not drawn a frame yet. */
const TREMBLE = 4;

const page = document.querySelector(".picture-page");
const ground = document.getElementById("large-picture");
const image = ground.querySelector("img");

function made(name, className, inside) {
  const element = document.createElement(name);
  element.className = className;
  inside.append(element);
  return element;
}

/** The frame over the picture for one of the two sections; it is there while the section is open. */
function frameOver(section) {
  const kind = section.dataset.frame;
  const least = LEAST[kind];
  const fields = Object.fromEntries(EDGES.map((edge) => [edge, section.querySelector(`[name=${edge}]`)]));
  const layer = made("div", "frame-layer", ground);
  layer.dataset.kind = kind;
  const seen = made("div", "frame-seen", made("div", "frame-clip", layer));
  const box = made("div", "frame-box", layer);
  const handles = HANDLES.map((edges) => handle(edges));
  let frame = null;
  let drag = null;

  function handle(edges) {
    const corner = edges.includes(" ");
    const one = made(corner ? "span" : "button", "frame-handle", box);
    one.dataset.edges = edges;
    if (corner) {
      one.setAttribute("aria-hidden", "true");
    } else {
      one.type = "button";
      one.setAttribute("role", "slider");
      one.setAttribute("aria-label", `${edges[0].toUpperCase()}${edges.slice(1)} edge of the frame`);
      one.setAttribute("aria-orientation", edges === "left" || edges === "right" ? "horizontal" : "vertical");
      one.setAttribute("aria-valuemin", "0");
      one.setAttribute("aria-describedby", `${kind}-frame-help`);
    }
    return one;
  }

  function fit() {
    for (const [style, size] of [
      ["left", image.offsetLeft],
      ["top", image.offsetTop],
      ["width", image.offsetWidth],
      ["height", image.offsetHeight],
    ])
      layer.style[style] = `${size}px`;
  }

  function show(next, { write = true } = {}) {
    frame = next;
    box.hidden = seen.hidden = frame === null;
    if (frame === null) return;
    for (const edge of EDGES) {
      box.style[edge] = seen.style[edge] = `${frame[edge]}%`;
      if (write) fields[edge].value = String(frame[edge]);
    }
    for (const one of handles.filter((each) => each.type === "button")) {
      const edge = one.dataset.edges;
      const other = { left: "right", right: "left", top: "bottom", bottom: "top" }[edge];
      one.setAttribute("aria-valuemax", String(100 - least - frame[other]));
      one.setAttribute("aria-valuenow", String(frame[edge]));
      one.setAttribute("aria-valuetext", `${frame[edge]} per cent from the ${edge}`);
    }
  }

  /** What the fields say; a mask of nothing yet has no frame, a crop of nothing is the whole picture. */
  function fromFields() {
    const read = fromTexts(Object.fromEntries(EDGES.map((edge) => [edge, fields[edge].value])), least);
    const whole = read !== null && EDGES.every((edge) => read[edge] === 0);
    show(whole && kind === "mask" ? null : read, { write: false });
  }

  function reset() {
    for (const edge of EDGES) fields[edge].value = "0";
    fromFields();
  }

  function place(event) {
    const around = layer.getBoundingClientRect();
    return {
      x: ((event.clientX - around.left) / around.width) * 100,
      y: ((event.clientY - around.top) / around.height) * 100,
    };
  }

  function begin(event) {
    if (drag || !event.isPrimary || event.button !== 0) return;
    event.preventDefault();
    const edges = event.target.closest(".frame-handle")?.dataset.edges.split(" ");
    const whole = frame !== null && EDGES.every((edge) => frame[edge] === 0);
    const how = edges ? "pull" : event.target === box && !whole ? "move" : "draw";
    drag = { how, edges, from: place(event), before: frame, x: event.clientX, y: event.clientY, id: event.pointerId };
    layer.setPointerCapture(event.pointerId);
    event.target.closest("button.frame-handle")?.focus({ preventScroll: true });
  }

  function go(event) {
    if (drag?.id !== event.pointerId) return;
    if (!drag.begun && Math.hypot(event.clientX - drag.x, event.clientY - drag.y) < TREMBLE) return;
    drag.begun = true;
    const to = place(event);
    if (drag.how === "draw") show(drawn(drag.from, to, least));
    if (drag.how === "move") show(moved(drag.before, to.x - drag.from.x, to.y - drag.from.y));
    if (drag.how === "pull") show(pulled(drag.before, drag.edges, to, least));
  }

  function end() {
    drag = null;
  }

  /** Back to before the drag, or with none going on back to the beginning. */
  function cancel() {
    if (drag) {
      if (drag.before) show(drag.before);
      else reset();
      if (layer.hasPointerCapture(drag.id)) layer.releasePointerCapture(drag.id);
      drag = null;
      return;
    }
    reset();
    section.open = false;
    section.querySelector("summary").focus();
  }

  function keys(event) {
    if (event.key === "Escape" && (drag || section.contains(event.target) || layer.contains(event.target))) {
      event.preventDefault();
      cancel();
    }
    if (event.target.getAttribute?.("role") !== "slider" || !layer.contains(event.target)) return;
    const next = nudged(frame, event.target.dataset.edges, event.key, event.shiftKey ? 0.1 : 1, least);
    if (next === null) return;
    event.preventDefault();
    show(next);
  }

  const watching = new AbortController();
  const also = { signal: watching.signal };
  layer.addEventListener("pointerdown", begin, also);
  layer.addEventListener("pointermove", go, also);
  layer.addEventListener("pointerup", end, also);
  layer.addEventListener("pointercancel", () => drag && cancel(), also);
  document.addEventListener("keydown", keys, also);
  for (const field of Object.values(fields)) field.addEventListener("input", fromFields, also);
  section.querySelector("[data-middle]").addEventListener("click", () => {
    show(MIDDLE);
    handles[0].focus({ preventScroll: true });
  }, also);
  const sizes = new ResizeObserver(fit);
  sizes.observe(image);
  sizes.observe(ground);
  fit();
  fromFields();
  return () => {
    watching.abort();
    sizes.disconnect();
    layer.remove();
  };
}

const taken = new Map();
for (const section of document.querySelectorAll("[data-frame]")) {
  section.querySelector(".frame-help").hidden = false;
  const follow = () => {
    if (section.open && !taken.has(section)) taken.set(section, frameOver(section));
    if (!section.open && taken.has(section)) {
      taken.get(section)();
      taken.delete(section);
    }
    page.toggleAttribute("data-framing", taken.size > 0);
    if (section.open) ground.scrollIntoView({ block: "nearest", behavior: "instant" });
  };
  section.addEventListener("toggle", follow);
  follow();
}
page.toggleAttribute("data-ready", true);
