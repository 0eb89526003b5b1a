// The forms of hives without a signal: what is saved waits on the phone, is
// shown there box by box, and goes out by itself.

const page = document.documentElement.dataset;
const el = (tag, text, props) => Object.assign(document.createElement(tag), text === undefined ? {} : { textContent: text }, props);
const button = (text, act, props) => {
  const b = el("button", text, { type: "button", ...props });
  b.addEventListener("click", act);
  return b;
};

// Days are the service's. How far the phone's are from them is learned from
// each page that comes fresh.
const iso = (d) => [d.getFullYear(), String(d.getMonth() + 1).padStart(2, "0"), String(d.getDate()).padStart(2, "0")].join("-");
const days = (day) => Math.round(Date.parse(day + "T00:00:00Z") / 864e5);
const ahead = "pryday-days-ahead";
if (page.today && !page.kept) localStorage.setItem(ahead, days(page.today) - days(iso(new Date())));
const daysAhead = Number(localStorage.getItem(ahead) || 0);
const serviceToday = () => {
  const d = new Date();
  d.setDate(d.getDate() + daysAhead);
  return iso(d);
};
const inWords = (day) => new Intl.DateTimeFormat(document.documentElement.lang, { day: "numeric", month: "long", timeZone: "UTC" }).format(new Date(day + "T00:00:00Z"));

// An id that nobody else gives; randomUUID wants a secure address.
const newID = () => crypto.randomUUID ? crypto.randomUUID() : "10000000-1000-4000-8000-100000000000".replace(/[018]/g, (c) => (c ^ crypto.getRandomValues(new Uint8Array(1))[0] & 15 >> c / 4).toString(16));

// What a form says of boxes, for whoever looks at it later: the hive's rows,
// or the one box that it is about.
function linesOf(form, body) {
  const said = (scope, value) => {
    const choice = scope.querySelector(`.degree input[value="${value}"]`);
    return choice ? choice.parentElement.querySelector("span").textContent : "";
  };
  if (form.dataset.asks === undefined) {
    const head = form.closest("section").querySelector("h3");
    return [head.firstChild.textContent.trim() + ": " + (body.has("void") ? words.takenBack : said(form, body.get("joint")))];
  }
  const lines = [...form.querySelectorAll("[data-row]")].flatMap((row) => {
    const value = body.get(prefixOf(row) + "joint");
    return value ? [row.querySelector("b").textContent + ": " + said(row, value)] : [];
  });
  const ticks = body.getAll("tick").length;
  return ticks ? [...lines, counted(words.ticked, ticks)] : lines;
}

const prefixOf = (row) => "b" + row.id.replace("box-", "") + "-";

// lateBody is what of a form goes to the service later: nobody can be asked
// then, and "all opened without trouble" is said box by box, since the service
// may plan others meanwhile.
function lateBody(form, body) {
  const late = new URLSearchParams(body);
  late.set("late", "yes");
  if (page.who) late.set("who", page.who);
  if (late.has("whole")) {
    late.delete("whole");
    for (const row of form.querySelectorAll("[data-last]")) {
      if (!late.get(prefixOf(row) + "joint")) late.set(prefixOf(row) + "joint", "1");
    }
  }
  return late;
}

function itemOf(form, body) {
  const late = lateBody(form, body);
  return {
    id: body.get("base") || body.get("id"), who: page.who || "", at: Date.now(), state: "sending", why: "",
    action: new URL(form.action).pathname, hive: body.get("hive") || form.dataset.hive || "", on: body.get("on"), body: late.toString(),
    name: document.querySelector("h1").textContent, lines: linesOf(form, late), photos: chosenPhotos(form).map((photo) => photo.id),
  };
}

const pageOf = (item) => item.action + "?" + new URLSearchParams({ hive: item.hive, on: item.on });

// The form of a hive is not sent while it says nothing of any box, and ticks
// nothing either.
const answered = (form) => !form.querySelector(".how") || [...form.querySelectorAll(".how input:checked")].some((choice) => choice.value) || ticked(form);
const ticked = (form) => [...form.querySelectorAll("[name=tick]")].some((tick) => tick.checked !== tick.defaultChecked);

function warn(form, text) {
  const box = form.querySelector("[data-warn]") || el("p", "", { className: "warn", tabIndex: -1 });
  box.dataset.warn = "";
  box.setAttribute("role", "alert");
  box.textContent = text;
  (form.querySelector(".save-bar") || form).prepend(box);
  box.focus();
  form.addEventListener("change", () => box.remove(), { once: true });
}

// show lists what waits: at the end of every page, or on top where it does not
// go out by itself.
async function show() {
  let list = [];
  try { list = await waiting.all(); } catch { /* a private window keeps nothing */ }
  const photos = await photosThatWait(list);
  list = list.filter((item) => !onItsWay(item));
  document.getElementById("waiting")?.remove();
  for (const step of document.querySelectorAll(".steps a")) step.querySelector(".on-phone")?.remove();
  if (!list.length && !photos.alone.length) return;
  const bar = el("section", undefined, { id: "waiting", className: "waiting" });
  bar.setAttribute("role", "status");
  if (list.length) bar.append(el("p", counted(words.waits, list.length)));
  const rows = el("ul", undefined, { className: "plain" });
  for (const item of list) {
    const row = el("li");
    const more = photos.with(item) ? [counted(words.photos, photos.with(item))] : [];
    row.append(el("strong", item.name), " · " + inWords(item.on), el("br"), item.lines.concat(more).join(" · "));
    const why = whyNot(item);
    if (why) row.append(el("p", why, { className: "warn" }));
    if (item.state !== "somebody-else") row.append(el("a", words.change, { href: pageOf(item), className: "button quiet" }));
    if (item.state === "refused") row.append(" ", throwAway(() => forgetRecord(item)));
    rows.append(row);
    for (const step of document.querySelectorAll(`.steps a[href^="${item.action}?"]`)) {
      if (new URL(step.href).searchParams.get("hive") === item.hive) step.append(el("small", " " + words.onPhone, { className: "on-phone" }));
    }
  }
  bar.append(rows);
  if (photos.alone.length) bar.append(el("p", counted(words.photosWait, photos.alone.length)), rowsOfPhotos(photos.alone));
  pointToNext();
  list = list.concat(photos.alone);
  if (list.some((item) => item.state === "signed-out")) bar.append(el("a", words.signIn, { href: "/sign-in", className: "button" }));
  bar.append(button(words.send, flush));
  const main = document.getElementById("main");
  if (list.some((item) => item.why || item.state === "signed-out")) main.prepend(bar); // it wants somebody
  else main.append(bar);
}

const whyNot = (item) => ({ refused: item.why, "signed-out": words.signedOut, "somebody-else": words.somebodyElse })[item.state];

// rowsOfPhotos lists the photos whose records are sent already.
function rowsOfPhotos(photos) {
  const rows = el("ul", undefined, { className: "plain" });
  for (const photo of photos) {
    const row = el("li");
    row.append(el("strong", photo.name), " · " + inWords(photo.on));
    const why = whyNot(photo);
    if (why) row.append(el("p", why, { className: "warn" }));
    if (photo.state === "refused") row.append(throwAway(() => photoQueue.drop(photo)));
    rows.append(row);
  }
  return rows;
}

async function forgetRecord(item) {
  await waiting.drop(item);
  await photoQueue.drop(...(await photoQueue.all()).filter((photo) => photo.of === item.id));
}

// What was recorded is thrown away only by saying so twice.
function throwAway(forget) {
  const first = button(words.forget, () => {
    first.replaceWith(button(words.sure, async () => {
      await forget();
      show();
    }, { className: "quiet" }));
  }, { className: "quiet" });
  return first;
}

async function flush() {
  let taken = 0;
  try { taken = await sendWaiting(page.who || ""); } catch { /* nothing can be kept here, so nothing waits */ }
  if (taken) fresh();
  else show();
}

// fresh loads the page anew to show what was taken, but never over answers that
// somebody is giving.
let touched = false;
function fresh() {
  if (touched) show();
  else location.reload();
}

// Every box of a hive in one tap. Without a script the server fills the form in.
for (const fill of document.querySelectorAll("button[name=fill]")) {
  fill.addEventListener("click", (event) => {
    event.preventDefault();
    touched = true;
    for (const row of fill.form.querySelectorAll("[data-last]")) {
      const open = row.querySelector("input[type=radio][value='']");
      const degree = fill.value === "last" ? row.dataset.last : "0";
      const choice = row.querySelector(`.degree input[value="${degree}"]`);
      if (open && open.checked && choice) choice.checked = true;
    }
  });
}

// refill puts the answers that wait back into the form that they came from;
// those that it has no field for go along.
function refill(form, item) {
  const byName = new Map();
  for (const [name, value] of new URLSearchParams(item.body)) byName.set(name, [...(byName.get(name) || []), value]);
  for (const gone of ["late", "who"]) byName.delete(gone);
  for (const [name, values] of byName) {
    const fields = [...form.elements].filter((field) => field.name === name);
    if (!fields.length) form.append(...values.map((value) => el("input", undefined, { type: "hidden", name, value })));
    for (const field of fields) {
      if (field.type === "radio" || field.type === "checkbox") field.checked = values.includes(field.value);
      else field.value = values[0];
      if (values[0] && field.checked !== false && field.type !== "hidden") openAround(field);
    }
  }
}

function openAround(field) {
  if (field.type === "radio" && (field.name.endsWith("joint") || field.name.endsWith("scraped") || field.value === "-1")) return;
  for (let d = field.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
}

// A kept page is as it was: its form is given an id and a day of its own, or
// what waits for it.
async function prepare(form) {
  const asked = new URLSearchParams(location.search).get("on");
  const on = form.elements.on, base = form.elements.base;
  if (page.kept && on) {
    const latest = form.dataset.latest;
    const today = serviceToday();
    on.value = asked || (latest && latest < today ? latest : today);
    const when = document.querySelector("time[data-day]");
    if (when) when.textContent = inWords(on.value);
    for (const day of document.querySelectorAll("details.day input[type=date]")) day.max = today, day.value = on.value;
  }
  if (!base) return;
  if (page.kept) base.value = newID();
  let list = [];
  try { list = await waiting.all(); } catch { warnBefore(form); }
  const item = list.find((other) => other.action === new URL(form.action).pathname && other.hive === form.elements.hive.value && other.on === on.value && other.who === (page.who || ""));
  if (item && !touched) refill(form, item);
}

// A private window, or a full phone, is said before somebody relies on it.
function warnBefore(form) {
  (form.querySelector(".save-bar") || form).prepend(el("p", words.keepsNothing, { className: "warn" }));
}

// nextHive is the step to the next hive of the form that is recorded neither here
// nor at the service.
function nextHive() {
  const open = (step) => !step.hasAttribute("aria-current") && !step.querySelector(".on-phone") && step.dataset.left !== undefined;
  const steps = [...document.querySelectorAll(".steps a")];
  const here = steps.findIndex((step) => step.hasAttribute("aria-current"));
  return steps.slice(here + 1).concat(steps.slice(0, here + 1)).find(open);
}

// The service does not know what waits here when it says which hive is next.
function pointToNext() {
  const link = document.querySelector("a[data-next]"), next = nextHive();
  if (!link) return;
  link.hidden = !next;
  if (!next) return;
  const name = next.firstChild.textContent.trim();
  link.textContent = link.textContent.replace(link.dataset.next, () => name);
  link.href = next.href;
  link.dataset.next = name;
}

// stay is what follows where the service was not reached.
async function stay(form, item) {
  await waiting.put({ ...item, state: "waiting" });
  navigator.serviceWorker?.ready.then((worker) => worker.sync && worker.sync.register("send")).catch(() => {}); // else the next page sends
  touched = false;
  await show();
  const next = nextHive();
  if (next && navigator.serviceWorker?.controller) location.assign(next.href);
  else {
    const details = form.closest("section details");
    if (details) details.open = false;
    document.getElementById("waiting").scrollIntoView({ block: "center" });
  }
}

// notSaved is what follows where the service was not reached and the phone keeps
// nothing: all of it stays in the form.
async function notSaved(form, why) {
  await stayWith(form);
  warn(form, why);
}

// stayForPhotos keeps the record on the phone, and in the form photos that it has
// no room for.
async function stayForPhotos(form, item) {
  await waiting.put({ ...item, photos: [], state: "waiting" });
  await stayWith(form);
  await show();
  warn(form, words.photoLeft);
}

const isFull = (why) => why?.name === "QuotaExceededError";

async function save(form, event) {
  const by = event.submitter && event.submitter.name ? event.submitter : null;
  await form.ready; // photos that were chosen before the page was loaded anew go along
  await chosenAll(form);
  const data = new FormData(form);
  for (const [name, value] of [...data]) if (typeof value !== "string") data.delete(name); // photos go by themselves
  if (form.dataset.asks !== undefined && !by && !answered(form)) return warn(form, words.nothing);
  if (by) data.set(by.name, by.value);
  const body = new URLSearchParams(data);
  const silent = unanswered(form, body);
  if (silent) return warn(form, words.photoUnanswered.replace("%s", () => silent));
  const item = itemOf(form, body);
  let held = true, notKept = words.notKept; // on the phone before it is sent, so that nothing between here and there loses it
  try { await waiting.put(item); } catch (why) {
    held = false;
    if (isFull(why)) notKept = words.phoneFull;
  }
  const photosHeld = await goWith(form, item);
  const later = () => !held ? notSaved(form, notKept) : photosHeld ? stay(form, item) : stayForPhotos(form, item);
  let answer;
  try {
    answer = await within(post(form.action, body.toString()), 20000);
  } catch {
    return later();
  }
  if (answer.status === 201) {
    if (held) await waiting.drop(item);
    if (!await sendWithRecord(form, held && photosHeld)) return warn(form, words.photoLeft);
    const to = new URL(answer.headers.get("Location"), location.href);
    const same = to.href.split("#")[0] === location.href.split("#")[0];
    location.assign(to);
    if (same) location.reload(); // going to another place in a page loads nothing
    return;
  }
  if (asksToSignIn(answer)) {
    if (held) await waiting.put({ ...item, state: "signed-out" });
    return location.assign(answer.url);
  }
  if (!isProblem(answer) || answer.status >= 500) return later();
  // The service has a question: let the browser show its page.
  if (held) await waiting.drop(item);
  await stayWith(form);
  if (by) form.append(el("input", undefined, { type: "hidden", name: by.name, value: by.value }));
  form.submit();
}

for (const form of document.querySelectorAll("form[data-keep]")) {
  form.addEventListener("input", () => { touched = true; });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (works(form, event.submitter)) save(form, event).finally(() => rests(form));
  });
  form.ready = prepare(form).then(() => takePhotos(form)).catch(() => {});
}

// Earlier builds kept records elsewhere.
async function takeOver() {
  for (const old of JSON.parse(localStorage.getItem("pryday-kept") || "[]")) {
    const body = new URLSearchParams(old.body);
    body.set("late", "yes");
    body.delete("sure");
    await waiting.put({
      id: body.get("base") || body.get("id"), who: "", at: Date.now(), state: "waiting", why: "", action: new URL(old.action, location.href).pathname,
      hive: body.get("hive") || "", on: body.get("on"), body: body.toString(), name: inWords(body.get("on")), lines: [],
    });
  }
  localStorage.removeItem("pryday-kept");
}

function notice(text) {
  const line = el("p", text, { className: "notice from-phone" });
  line.setAttribute("role", "status");
  return line;
}

async function begin() {
  if (page.kept) {
    const since = new Date(page.kept);
    document.getElementById("main").prepend(notice(words.fromPhone.replace("%s", new Intl.DateTimeFormat(document.documentElement.lang, { day: "numeric", month: "long", hour: "numeric", minute: "numeric" }).format(since))));
  } else if (page.today && daysAhead && !document.querySelector(".demo")) {
    // At the form's end: nothing on the screen moves for it.
    const form = document.querySelector("form[data-keep]");
    form?.querySelector(".save-bar, :scope > button:not([name])").before(notice(counted(words.clock, Math.abs(daysAhead))));
  }
  try {
    await takeOver();
    await dropOldDrafts();
  } catch { /* nothing can be kept here */ }
  await show();
  await flush();
  if (!navigator.serviceWorker) return;
  const worker = await navigator.serviceWorker.register("/worker.js");
  const keep = (ready) => ready.active.postMessage("keep");
  if (page.who && !page.kept) worker.active ? keep(worker) : navigator.serviceWorker.ready.then(keep);
}

// Before anything is waited for: the worker may have the turn to send, and says so once.
navigator.serviceWorker?.addEventListener("message", (event) => { if (event.data === "sent") fresh(); });
begin().catch(() => {}); // a browser that lets pages keep nothing; they work with a signal
addEventListener("online", flush);
document.addEventListener("visibilitychange", () => { if (!document.hidden) flush(); });
setInterval(async () => { // also what an earlier page left on its way, and no page shows
  try { if (!document.hidden && ((await waiting.all()).length || (await photosThatWait([])).alone.some((photo) => photo.state === "waiting"))) flush(); } catch { /* nothing can be kept here */ }
}, 30000);
