// Before a form leaves the page: is somebody still signed in? If not, or without a connection, it stays with
// all that was typed. After signing in anew its token is read again from the cookie.

import { tokenIn } from "./send-again.js";
import { say } from "./page.js";

const SIGN_IN = { href: "/accounts/login/", text: "Sign in on a new page, then send again here" };
let asking = false;
let passed = null;

async function answer() {
  try {
    const asked = await fetch("/account/", {
      method: "HEAD",
      cache: "no-store",
      headers: { "X-Requested-With": "fetch" },
    });
    return asked.status;
  } catch {
    return 0;
  }
}

async function ask(form, submitter) {
  const status = await answer();
  asking = false;
  if (status === 401) say("You are signed out. What you typed is still on this page.", SIGN_IN);
  else if (status === 0) say("No connection. What you typed is still on this page; send it again later.");
  else {
    const token = form.querySelector("input[name=csrfmiddlewaretoken]");
    const held = tokenIn(document.cookie);
    if (token && held) token.value = held;
    passed = form;
    form.requestSubmit(submitter);
    passed = null;
    return;
  }
  document.getElementById("messages").scrollIntoView({ block: "center" });
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  const plain = form.method === "post" && form.closest("main") && !form.matches("[hx-post], [hx-boost=true] *");
  if (event.defaultPrevented || !plain || form === passed || !document.querySelector(".site-nav")) return;
  event.preventDefault();
  if (asking) return;
  asking = true;
  ask(form, event.submitter);
});
