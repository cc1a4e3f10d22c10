// A page that answers a form counts as an ordinary visit, so that going back to it later shows the form again
// instead of asking to send it anew. Where the form came back refused, the first faulty field is in hand.

const faulty = document.querySelector('main [aria-invalid="true"], main .is-invalid, main [data-faulty]');
if (document.body.hasAttribute("data-answers-a-form")) history.replaceState(history.state, "", location.href);
if (document.querySelector("main [data-refused-form]")) {
  const field = faulty?.matches("input, select, textarea") ? faulty : faulty?.querySelector("input, select, textarea");
  field?.focus();
}
