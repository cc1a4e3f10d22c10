/** Keyboard of the case log: Enter goes on, Shift+Enter back, arrows along a column, Escape brings the stored value back. */
const KEY = "[data-key]";

/** The field `step` places away in the order of the table, or null at either end. */
export function neighbour(fields, current, step) {
  const at = fields.indexOf(current);
  return at < 0 ? null : (fields[at + step] ?? null);
}

/** The fields of the same column. */
export function column(fields, current) {
  return fields.filter((field) => field.dataset.key === current.dataset.key);
}

export function listen(table, { restore, undo }) {
  const fields = () => [...table.querySelectorAll(KEY)].filter((field) => field.checkVisibility());
  const go = (field) => {
    field?.focus();
    field?.select?.();
    return Boolean(field);
  };
  table.addEventListener("focusin", (event) => event.target.matches(`input${KEY}`) && event.target.select());
  table.addEventListener("keydown", (event) => {
    const field = event.target;
    if (!field.matches(KEY) || event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
    const along = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (event.key === "Enter") {
      event.preventDefault();
      // The last field is saved as it is left, and stays in hand.
      if (!go(neighbour(fields(), field, event.shiftKey ? -1 : 1))) {
        field.blur();
        field.focus();
      }
    } else if (event.key === "Escape") {
      restore(field);
    } else if (along && field.tagName === "INPUT" && go(neighbour(column(fields(), field), field, along))) {
      event.preventDefault();
    }
  });
  document.addEventListener("keydown", (event) => {
    const inField = event.target.closest?.("input, select, textarea");
    const plainZ = event.code === "KeyZ" && !event.shiftKey;
    if (plainZ && ((event.altKey && !event.ctrlKey) || ((event.ctrlKey || event.metaKey) && !event.altKey && !inField))) {
      event.preventDefault();
      undo();
    }
  });
}
