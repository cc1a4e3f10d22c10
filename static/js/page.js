// What every page needs: say it when a request found nobody signed in, and copy buttons.
// Pages that save as one types have their own queue (send-again.js); those mark the request
// element with data-keeps-typing and are left alone here.

export function say(text, link) {
  const region = document.getElementById("messages");
  if (!region) return;
  const box = document.createElement("div");
  box.className = "notice notice-caution";
  const line = document.createElement("p");
  line.append(text);
  if (link) {
    const anchor = document.createElement("a");
    anchor.href = link.href;
    anchor.target = "_blank";
    anchor.rel = "noopener";
    anchor.textContent = link.text;
    line.append(" ", anchor);
  }
  box.append(line);
  region.replaceChildren(box);
}

document.addEventListener("htmx:responseError", (event) => {
  if (event.target.closest?.("[data-keeps-typing]")) return;
  if (event.detail.xhr.status === 401) {
    say("You are signed out. What you typed is still on this page.", {
      href: "/accounts/login/",
      text: "Sign in on a new page, then send again here",
    });
  }
});

document.addEventListener("click", async (event) => {
  const button = event.target.closest?.("[data-copy]");
  if (!button) return;
  const field = document.getElementById(button.dataset.copy);
  const status = document.getElementById(`${button.dataset.copy}-copied`);
  try {
    await navigator.clipboard.writeText(field.value ?? field.textContent);
    if (status) status.textContent = "Copied.";
  } catch {
    field.select?.();
    if (status) status.textContent = "Select the text and copy it with the keyboard.";
  }
});
