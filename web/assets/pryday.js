// Small conveniences. Every page works without them.
"use strict";

// What is said here comes with the page, in its language.
const words = JSON.parse(document.getElementById("words").textContent);
const plural = new Intl.PluralRules(document.documentElement.lang);
const counted = (forms, n) => (forms[plural.select(n)] || forms.other).replace("%d", n);

// A device with a passkey signs in without a mail.
async function passkey(button, ask, answer, make) {
  button.disabled = true;
  try {
    const asked = await fetch(ask, { method: "POST" });
    if (!asked.ok) throw new Error(await asked.text());
    const key = await make((await asked.json()).publicKey);
    const done = await fetch(answer, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(key.toJSON()) });
    if (!done.ok) throw new Error(await done.text());
    location.assign((await done.json()).to);
  } catch {
    button.disabled = false;
    button.textContent = button.dataset.failed;
  }
}

if (window.PublicKeyCredential && PublicKeyCredential.parseCreationOptionsFromJSON) {
  for (const button of document.querySelectorAll("[data-passkey]")) {
    button.hidden = false;
    button.addEventListener("click", () => button.dataset.passkey === "new"
      ? passkey(button, "/passkeys/ask", "/passkeys", (o) => navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(o) }))
      : passkey(button, "/sign-in/passkey/ask", "/sign-in/passkey", (o) => navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(o) })));
  }
}

// A page that could not be had comes by itself once the service has it, and a form
// that it carries goes out.
const outage = document.querySelector("[data-outage]");
if (outage) {
  outage.querySelector("[role=status]").hidden = false;
  const each = setInterval(async () => {
    try { if (!(await fetch("/readyz")).ok) return; } catch { return; }
    clearInterval(each);
    if (outage.requestSubmit) outage.requestSubmit();
    else location.reload();
  }, 5000);
}

// Where whoever fills in a form is likely to be, so that of places of one name those come first.
for (const field of document.querySelectorAll("[data-zone]")) field.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
