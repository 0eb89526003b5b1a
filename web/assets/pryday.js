// Small conveniences. Every page works without them.
"use strict";

// What is said here comes with the page, in its language.
const words = JSON.parse(document.getElementById("words").textContent);
const plural = new Intl.PluralRules(document.documentElement.lang);
const counted = (forms, n) => (forms[plural.select(n)] || forms.other).replace("%d", n);

// The browser knows the time zone; nobody should have to spell it.
for (const field of document.querySelectorAll("[data-zone]")) {
  if (!field.value && field.required) field.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
}

// A phone at the apiary knows where that is.
const latitude = document.querySelector('[data-place="latitude"]');
if (latitude && navigator.geolocation) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = words.thereNow;
  button.addEventListener("click", () => navigator.geolocation.getCurrentPosition((here) => {
    const set = (name, value) => {
      const field = document.querySelector(`[data-place="${name}"]`);
      if (field && value !== null) field.value = value;
    };
    set("latitude", here.coords.latitude.toFixed(4));
    set("longitude", here.coords.longitude.toFixed(4));
    set("elevation", here.coords.altitude === null ? null : Math.round(here.coords.altitude));
  }, () => { button.textContent = words.noPlace; }));
  latitude.closest("[data-places], form").prepend(button);
}

// Records that could not be sent, for want of a signal, wait on this phone.
// Sending one twice changes nothing: each carries an id of its own.
const shelf = "pryday-kept";
const kept = () => JSON.parse(localStorage.getItem(shelf) || "[]");
const keep = (list) => {
  if (list.length) localStorage.setItem(shelf, JSON.stringify(list));
  else localStorage.removeItem(shelf);
  show();
};

function show() {
  const list = kept();
  let bar = document.getElementById("kept");
  if (!list.length) {
    if (bar) bar.remove();
    return;
  }
  if (!bar) {
    bar = document.createElement("div");
    bar.id = "kept";
    bar.className = "kept";
    bar.setAttribute("role", "status");
    document.getElementById("main").append(bar);
  }
  const send = document.createElement("button");
  send.type = "button";
  send.textContent = words.send;
  send.addEventListener("click", flush);
  const told = document.createElement("p");
  const refused = list.filter((item) => item.refused).length;
  told.textContent = counted(words.waits, list.length) + " " + (refused ? counted(words.refused, refused) : words.noSignal);
  bar.replaceChildren(told, send);
  if (refused) {
    const forget = document.createElement("button");
    forget.type = "button";
    forget.className = "quiet";
    forget.textContent = words.forget;
    forget.addEventListener("click", () => keep(kept().filter((item) => !item.refused)));
    bar.append(" ", forget);
  }
}

// A page that is only fetched would tell nobody what was saved, so this asks
// for none: the answer says where to go.
const post = (action, body) => fetch(action, {
  method: "POST", body, credentials: "same-origin",
  headers: { "Content-Type": "application/x-www-form-urlencoded", Prefer: "return=minimal" },
});

// A form carries what makes its records known again, however often they arrive.
const formOf = (body) => body.get("base") || body.get("id");

// The form of a hive is not sent while it says nothing of any box.
const answered = (form) => [...form.querySelectorAll(".how input:checked")].some((choice) => choice.value);

function warn(form, text) {
  const box = form.querySelector("[data-warn]") || document.createElement("p");
  box.dataset.warn = "";
  box.className = "warn";
  box.setAttribute("role", "alert");
  box.tabIndex = -1;
  box.textContent = text;
  form.querySelector(".save-bar").prepend(box);
  box.focus();
  form.addEventListener("change", () => box.remove(), { once: true });
}

let sending = false;
async function flush() {
  if (sending) return;
  sending = true;
  let sent = 0;
  try {
    for (const item of kept()) {
      const answer = await post(item.action, item.body);
      const rest = kept().filter((other) => other.body !== item.body);
      if (answer.ok && !answer.url.endsWith("/sign-in")) sent++;
      else rest.push({ ...item, refused: true });
      keep(rest);
    }
  } catch { /* still no signal */ }
  sending = false;
  if (sent) location.reload();
}

// Every box of a hive in one tap. Without a script the server fills the form in.
for (const button of document.querySelectorAll("button[name=fill]")) {
  button.addEventListener("click", (event) => {
    event.preventDefault();
    for (const row of button.form.querySelectorAll("[data-last]")) {
      const open = row.querySelector("input[type=radio][value='']");
      const degree = button.value === "last" ? row.dataset.last : "0";
      const choice = row.querySelector(`.degree input[value="${degree}"]`);
      if (open && open.checked && choice) choice.checked = true;
    }
  });
}

for (const form of document.querySelectorAll("form[data-keep]")) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (form.dataset.asks !== undefined && !(event.submitter && event.submitter.name) && !answered(form)) {
      warn(form, words.nothing);
      return;
    }
    const data = new FormData(form);
    if (event.submitter && event.submitter.name) data.set(event.submitter.name, event.submitter.value);
    const body = new URLSearchParams(data).toString();
    try {
      const answer = await post(form.action, body);
      if (answer.status === 201) {
        const to = new URL(answer.headers.get("Location"), location.href);
        const same = to.href.split("#")[0] === location.href.split("#")[0];
        location.assign(to);
        if (same) location.reload(); // going to another place in a page loads nothing
        return;
      }
      if (answer.redirected) { // to sign in
        location.assign(answer.url);
        return;
      }
    } catch {
      const again = new URLSearchParams(body);
      again.set("sure", "yes"); // nobody can be asked without a signal
      const same = (item) => formOf(new URLSearchParams(item.body)) === formOf(again);
      keep(kept().filter((item) => !same(item)).concat({ action: form.action, body: again.toString() }));
      const details = form.closest("details");
      if (details) details.open = false;
      return;
    }
    // The server has a question: let the browser show its page.
    if (event.submitter && event.submitter.name) {
      const hidden = document.createElement("input");
      hidden.type = "hidden";
      hidden.name = event.submitter.name;
      hidden.value = event.submitter.value;
      form.append(hidden);
    }
    form.submit();
  });
}

show();
if (kept().length) flush();
addEventListener("online", flush);

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
