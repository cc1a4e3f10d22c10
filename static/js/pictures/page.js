// The pictures page: choosing or dropping many files, and assigning views with the keys shown beside them.
import { tokenIn } from "../send-again.js";
import { sendAll, sendFile } from "./sending.js";

const form = document.getElementById("add-form");
const field = document.getElementById("id_pictures");
const frameField = document.getElementById("id_frame");
const list = document.getElementById("sent-files");

function line(name) {
  const item = document.createElement("li");
  const label = document.createElement("span");
  label.textContent = name;
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.value = 0;
  bar.setAttribute("aria-label", `Progress of ${name}`);
  const words = document.createElement("p");
  words.className = "sent-words";
  words.textContent = "waiting";
  item.append(label, words, bar);
  list.append(item);
  return { item, bar, words };
}

async function showBoard() {
  const answer = await fetch(window.location.pathname, { headers: { "X-Requested-With": "fetch" } });
  if (!answer.ok) return;
  const made = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("board");
  document.getElementById("board").replaceWith(made);
  window.htmx?.process(made);
}

/** Asks, in the line of a file of several pages or frames, which one is taken, and sends the file again with it. */
function ask(file, shown, frames) {
  const question = document.createElement("form");
  question.className = "frame-question";
  const number = document.createElement("input");
  Object.assign(number, { type: "number", min: "1", max: String(frames), value: "1", required: true });
  number.className = "form-control field-short";
  number.setAttribute("aria-label", `Which of the ${frames} of ${file.name}`);
  const button = document.createElement("button");
  button.className = "btn btn-outline-primary";
  button.textContent = "Take this one";
  question.append(number, button);
  shown.item.append(question);
  question.addEventListener("submit", async (event) => {
    event.preventDefault();
    question.remove();
    await send(file, shown, number.value);
    await showBoard();
  });
}

async function send(file, shown, frame) {
  shown.words.textContent = "sending";
  const { kept, words, frames } = await sendFile(form.action, file, frame, tokenIn(document.cookie), (share) => {
    shown.bar.value = share;
    if (share === 1) shown.words.textContent = "being read";
  });
  shown.bar.value = 1;
  shown.item.className = kept ? "kept" : "refused";
  const refused = frames ? words : `Refused: ${words}`;
  shown.words.textContent = kept ? `added. ${words}`.trim() : refused;
  if (frames) ask(file, shown, frames);
}

async function add(files) {
  list.replaceChildren();
  const frame = frameField.value;
  const lines = new Map([...files].map((file) => [file, line(file.name)]));
  await sendAll(files, (file) => send(file, lines.get(file), frame));
  field.value = "";
  frameField.value = "";
  await showBoard();
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  if (field.files.length) add(field.files);
});
field.addEventListener("change", () => field.files.length && add(field.files));
// A file dropped beside the place must not make the browser leave the page.
for (const name of ["dragover", "drop"]) document.addEventListener(name, (event) => event.preventDefault());
for (const name of ["dragenter", "dragover"]) {
  form.addEventListener(name, (event) => {
    event.preventDefault();
    form.classList.add("over");
  });
}
form.addEventListener("dragleave", () => form.classList.remove("over"));
form.addEventListener("drop", (event) => {
  event.preventDefault();
  form.classList.remove("over");
  if (event.dataTransfer.files.length) add(event.dataTransfer.files);
});

// Keys work while a picture is in focus, and never while somebody types or chooses from a list.
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
  const card = event.target.closest("[data-picture]");
  // Enter on the picture itself takes the next free view; on a link or button inside it does what it says.
  const free = event.key === "Enter" && event.target === card ? card.querySelector("[name=next_free]") : null;
  const option = free ? null : card?.querySelector(`option[data-digit="${CSS.escape(event.key)}"]`);
  if (!free && (!option || !event.key)) return;
  event.preventDefault();
  const next = card.nextElementSibling?.dataset.picture;
  document.body.addEventListener(
    "htmx:afterSettle",
    () => (document.querySelector(`[data-picture="${next}"]`) ?? document.querySelector("[data-picture]"))?.focus(),
    { once: true },
  );
  if (free) {
    free.click();
    return;
  }
  option.parentElement.value = option.value;
  card.querySelector("[data-assign]").requestSubmit();
});

form.toggleAttribute("data-ready", true);
