// Lines that have an address of their own: copied by a button, opened when the address leads to a folded one.

const whole = (hash) => `${location.origin}${location.pathname}${hash}`;

function open() {
  const here = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!(here instanceof HTMLDetailsElement) || here.open) return;
  here.open = true;
  here.scrollIntoView();
}

async function copy(button) {
  const part = button.closest("[data-line-address]");
  const field = part.querySelector("input");
  const status = part.querySelector("[role=status]");
  const address = whole(button.dataset.copyAddress);
  try {
    await navigator.clipboard.writeText(address);
    status.textContent = "Copied.";
  } catch {
    // Without https, or where the browser forbids it, the address is shown and taken by keyboard.
    field.value = address;
    field.hidden = false;
    field.focus();
    field.select();
    status.textContent = "Copy it with the keyboard.";
  }
}

for (const button of document.querySelectorAll("[data-copy-address]")) button.hidden = false;
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-copy-address]");
  if (button) copy(button);
});
addEventListener("hashchange", open);
open();
