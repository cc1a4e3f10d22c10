/** The phone's page: takes the code that came behind # in the address, and says that a picture is on its way. */
const field = document.querySelector('input[name="code"]:not([type="hidden"])');
const code = decodeURIComponent(location.hash.slice(1));
if (field && code) {
  field.value = code;
  history.replaceState(null, "", location.pathname);
  field.form.requestSubmit();
}

document.querySelector("[data-phone-send]")?.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "1";
  form.querySelector("[data-sending]").textContent = "Sending. Keep this page open.";
});
addEventListener("pageshow", (event) => {
  const form = document.querySelector("[data-phone-send]");
  if (event.persisted && form) delete form.dataset.sent;
});
