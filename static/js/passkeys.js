// Passkeys are tied to the name of a site: show their buttons only where the address has one,
// and say in words when the browser could not use a key.

const numbered = /^[\d.]+$|^\[/.test(window.location.hostname);

for (const element of document.querySelectorAll("[data-needs-host-name]")) {
  element.hidden = numbered || !window.PublicKeyCredential;
}
for (const element of document.querySelectorAll("[data-only-without-host-name]")) {
  element.hidden = !numbered;
}

document.addEventListener("allauth.error", (event) => {
  event.preventDefault();
  const region = document.getElementById("messages");
  const box = document.createElement("div");
  box.className = "notice notice-caution";
  const line = document.createElement("p");
  line.textContent = "The browser could not use a key here. Try again, or use the password and the code of the app.";
  box.append(line);
  region?.replaceChildren(box);
});
