/** A row of tabs over their panels; arrows, Home and End walk along it. Returns a function that opens one by its name. */
export function tabs(root) {
  const all = [...root.querySelectorAll('[role="tab"]')];
  const open = (name) => {
    for (const tab of all) {
      const on = tab.dataset.tab === name;
      tab.setAttribute("aria-selected", String(on));
      tab.tabIndex = on ? 0 : -1;
      document.getElementById(tab.getAttribute("aria-controls")).hidden = !on;
    }
  };
  for (const tab of all) {
    tab.addEventListener("click", () => open(tab.dataset.tab));
    tab.addEventListener("keydown", (event) => {
      const at = all.indexOf(tab);
      const next = { ArrowRight: all[(at + 1) % all.length], ArrowLeft: all.at(at - 1), Home: all[0], End: all.at(-1) }[event.key];
      if (!next) return;
      event.preventDefault();
      open(next.dataset.tab);
      next.focus();
    });
  }
  open(all[0].dataset.tab);
  return open;
}
