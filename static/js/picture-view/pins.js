/** The marks on a picture as SVG: a ring with an open middle, so that the spot itself stays in sight. */
const SVG = "http://www.w3.org/2000/svg";
const ARMS = "M-9 0H-3M3 0H9M0-9V-3M0 3V9";

function made(name, attributes, inside) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  inside?.append(element);
  return element;
}

/** A point's mark round (0, 0): each line twice, a wide one under a narrow one, to be seen on light and dark. */
export function pin() {
  const mark = made("g", { class: "pin" });
  for (const layer of ["pin-under", "pin-over"]) {
    made("circle", { r: 6, class: layer }, mark);
    made("path", { d: ARMS, class: layer }, mark);
  }
  made("text", { x: 10, y: -7, class: "pin-name" }, mark);
  return mark;
}

/** The words beside a mark. */
export function text(mark, words) {
  const place = mark.lastElementChild;
  if (place.textContent !== words) place.textContent = words;
}

/** Words that belong to no point. */
export function words() {
  return made("text", { class: "view-label" });
}

/** Where a point will be placed. */
export function cross() {
  const mark = made("g", { class: "aim", hidden: "" });
  for (const layer of ["pin-under", "pin-over"]) made("path", { d: "M-22 0H-3M3 0H22M0-22V-3M0 3V22", class: layer }, mark);
  return mark;
}
