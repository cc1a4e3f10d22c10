/**
 * Keyboard of the measuring page: Enter goes on, Shift+Enter back, arrows to the same tooth in the next row,
 * Escape brings the stored value back, and the keys with Alt that the page lists.
 */
const PARTS = "[data-part]";

/** Fields that can be reached now, in the order of the page. */
export function reachable(root) {
  return [...root.querySelectorAll(PARTS)].filter((e) => !e.disabled && e.checkVisibility());
}

/** The field `step` places away, or null at either end. */
export function neighbour(fields, current, step) {
  const at = fields.indexOf(current);
  return at < 0 ? null : (fields[at + step] ?? null);
}

/** The first field of the same site in the next (or, with step −1, the previous) row that has one. */
export function sameSite(root, current, step) {
  const cell = current.closest("[data-field]");
  const rows = [...root.querySelectorAll("[data-row]")];
  for (let at = rows.indexOf(cell.closest("[data-row]")) + step; at >= 0 && at < rows.length; at += step) {
    const there = rows[at].querySelector(`[data-site="${CSS.escape(cell.dataset.site)}"] [data-part="text"]`);
    if (there?.checkVisibility()) return there;
    if (there) continue;
    if (rows[at].checkVisibility() && rows[at].querySelector(PARTS)) return null;
  }
  return null;
}

function go(element) {
  if (!element) return;
  element.focus();
  if (element.select) element.select();
}

/** Add or change the sense key of a text: pressing the same again takes it away; e stands alone. */
export function withSense(text, sense) {
  const bare = text.replace(/[oxe−–-]/gi, "").trim();
  if (sense === "e") return text.trim().toLowerCase() === "e" ? "" : "e";
  return new RegExp(sense, "i").test(text) ? bare : `${sense}${bare ? ` ${bare}` : ""}`;
}

export function listen(root, { actions, restore }) {
  let inHand = null;
  root.addEventListener("focusin", (event) => {
    if (event.target.matches(PARTS)) inHand = event.target;
    if (event.target.matches("input[data-part]")) event.target.select();
  });
  root.addEventListener("keydown", (event) => {
    if (!event.target.matches(PARTS) || event.isComposing) return;
    if (event.key === "Enter" && !event.altKey && !event.ctrlKey) {
      event.preventDefault();
      const next = neighbour(reachable(root), event.target, event.shiftKey ? -1 : 1);
      if (next) go(next);
      else {
        // The last field is saved as it is left, and stays in hand.
        event.target.blur();
        go(event.target);
      }
    } else if (event.key === "Escape") {
      restore(event.target);
    } else if (event.target.tagName === "INPUT" && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
      const there = sameSite(root, event.target, event.key === "ArrowDown" ? 1 : -1);
      if (there) {
        event.preventDefault();
        go(there);
      }
    }
  });
  document.addEventListener("keydown", (event) => {
    const field = event.target.closest?.("input, select, textarea");
    if ((event.ctrlKey || event.metaKey) && !event.shiftKey && !event.altKey && event.code === "KeyZ" && !field) {
      event.preventDefault();
      actions.undo();
    }
    if (!event.altKey || event.ctrlKey || event.metaKey) return;
    const action = { KeyN: "freeHere", KeyM: "wholeMouth", KeyZ: "undo", KeyW: "whatIf", KeyO: "note" }[event.code];
    if (!action) return;
    event.preventDefault();
    actions[action](field?.matches(PARTS) ? field : inHand);
  });
  root.addEventListener("click", (event) => {
    const button = event.target.closest("[data-sense]");
    if (!button) return;
    const row = button.closest("[data-row]");
    const target = inHand && row.contains(inHand) && inHand.isConnected ? inHand : row.querySelector("input[data-part]");
    target.value = withSense(target.value, button.dataset.sense);
    target.focus();
    if (target.setSelectionRange) target.setSelectionRange(target.value.length, target.value.length);
  });
  // A press on a sense button must not take the focus from the field in hand, or the field would be saved first.
  root.addEventListener("mousedown", (event) => {
    if (event.target.closest("[data-sense]")) event.preventDefault();
  });
}
