// In a form marked data-enter-goes-on, Enter leads to the next field and never sends by accident.

document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.isComposing) return;
  const field = event.target.closest?.("[data-enter-goes-on] :is(input, select)");
  if (!field) return;
  event.preventDefault();
  const stops = [...field.form.querySelectorAll("input:not([type=hidden]), select, button[type=submit]")];
  const next = stops[stops.indexOf(field) + (event.shiftKey ? -1 : 1)];
  next?.focus();
  next?.select?.();
});
