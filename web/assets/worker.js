// Keeps on the phone what is needed at a place without a signal: home, the
// coming visits, the forms of their hives. The first line, which comes with the
// build, lists its assets.
const pages = "pryday-pages", files = "pryday-files";

addEventListener("install", (event) => {
  skipWaiting(); // records wait outside of it, in a form that every build reads
  event.waitUntil(keepFiles(assets.map((name) => "/assets/" + name)).then(() => keepPage("/no-signal")));
});

addEventListener("activate", (event) => event.waitUntil(clients.claim()));

addEventListener("message", (event) => {
  if (event.data === "keep") event.waitUntil(keepPages().catch(() => {})); // the next page tries again
});

addEventListener("sync", (event) => {
  if (event.tag === "send") event.waitUntil(sendInBackground());
});

async function sendInBackground() {
  if (await sendWaiting()) {
    for (const page of await clients.matchAll({ type: "window" })) page.postMessage("sent");
  }
  const left = (await waiting.all()).concat(await photoQueue.all());
  if (left.some((item) => item.state === "waiting")) throw new Error("not all could be sent"); // the browser tries again
}

addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) return;
  if (event.request.mode === "navigate") {
    event.respondWith(event.request.method === "GET" ? page(event, url) : change(event, url));
  } else if (event.request.method === "GET" && url.pathname.startsWith("/assets/")) {
    event.respondWith(file(event.request));
  }
});

// keyOf is what a page is kept by: its path, and of a form the hive.
function keyOf(path) {
  const url = new URL(path, location.origin);
  const hive = url.pathname.endsWith("/record") && url.searchParams.get("hive");
  return url.pathname + (hive ? "?hive=" + hive : "");
}

const kept = async (key) => (await caches.open(pages)).match(key, { ignoreVary: true });

// After some seconds the kept page will do.
const patience = 5000, patienceWithoutCopy = 20000;

async function page(event, url) {
  const key = keyOf(url.href), copy = await kept(key);
  try {
    const answer = await within(fetch(event.request), copy ? patience : patienceWithoutCopy);
    if (copy && answer.status >= 502) return fromPhone(copy);
    if (copy && answer.ok && !answer.redirected) event.waitUntil(put(key, answer.clone()));
    return answer;
  } catch {
    const instead = copy || await kept("/no-signal");
    return instead ? fromPhone(instead) : Response.error();
  }
}

// fromPhone is a kept page that says so of itself.
async function fromPhone(copy) {
  const since = copy.headers.get("Date") || "";
  const text = (await copy.text()).replace("<html ", `<html data-kept="${since.replace(/[^\w ,:]/g, "")}" `);
  return new Response(text, { headers: copy.headers });
}

// change is a form that the page sends by itself. What cannot be sent is said;
// after signing out nothing of the club stays on the phone but unsent records.
async function change(event, url) {
  try {
    const answer = await fetch(event.request);
    if (url.pathname.startsWith("/sign-out")) event.waitUntil(forgetPages());
    return answer;
  } catch {
    const instead = await kept("/no-signal");
    return instead ? fromPhone(instead) : Response.error();
  }
}

async function file(request) {
  const copy = await (await caches.open(files)).match(request, { ignoreVary: true });
  return copy || fetch(request);
}

const put = async (key, answer) => (await caches.open(pages)).put(key, answer);

// keepPage keeps one page, and returns the files that it needs; null where it
// could not be had.
async function keepPage(path) {
  const answer = await fetch(path, { credentials: "same-origin", headers: { "Pryday-Keep": "1" } });
  if (!answer.ok || answer.redirected) return null;
  const text = await answer.clone().text();
  await put(keyOf(path), answer);
  return text.match(/\/assets\/[\w.-]+/g) || [];
}

async function keepFiles(paths) {
  const cache = await caches.open(files);
  for (const path of new Set(paths)) {
    if (!await cache.match(path, { ignoreVary: true })) await cache.add(path);
  }
}

// forgetPages forgets everybody's pages; also those that are on their way.
let forgotten = 0;
async function forgetPages(anew = true) {
  if (anew) forgotten++;
  await caches.delete(pages);
  await keepPage("/no-signal");
}

let keeping = null;
function keepPages() {
  keeping = keeping || keepAll().finally(() => { keeping = null; });
  return keeping;
}

async function keepAll() {
  const answer = await fetch("/offline", { credentials: "same-origin", headers: { "Pryday-Keep": "1" } });
  if (answer.redirected) return forgetPages(); // signed out elsewhere
  if (!answer.ok) return;
  const list = await answer.clone().json(), before = await kept("/offline");
  if (before && (await before.json()).who !== list.who) await forgetPages(); // somebody else's
  const begun = forgotten;
  await put("/offline", answer);
  const needed = assets.map((name) => "/assets/" + name);
  const all = list.pages.concat("/no-signal");
  for (const path of all) {
    const of = await keepPage(path);
    if (begun !== forgotten) return forgetPages(false); // signed out meanwhile
    if (!of) continue;
    await keepFiles(of);
    needed.push(...of);
  }
  const keys = new Set(all.map(keyOf).concat("/offline"));
  await forget(pages, (url) => keys.has(url.pathname + url.search));
  await forget(files, (url) => needed.includes(url.pathname));
  for (const page of await clients.matchAll({ type: "window" })) page.postMessage("kept");
}

async function forget(name, needed) {
  const cache = await caches.open(name);
  for (const request of await cache.keys()) {
    if (!needed(new URL(request.url))) await cache.delete(request);
  }
}
