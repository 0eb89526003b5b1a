// Records that wait on this phone until the service has them, in IndexedDB,
// which pages and the worker share. Sending one twice changes nothing: each
// carries an id of its own.
"use strict";

// onDisk is a way to work with one kind of items in a database of its own: what is
// done in a transaction is on the disk when it is through.
const onDisk = (database, kind) => {
  const open = () => new Promise((done, failed) => {
    const asked = indexedDB.open(database, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(kind, { keyPath: "id" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  return async (mode, work) => {
    const db = await open();
    try {
      return await new Promise((done, failed) => {
        const t = db.transaction(kind, mode, { durability: "strict" });
        const out = work(t.objectStore(kind));
        t.oncomplete = () => done(out && out.result);
        t.onabort = () => failed(t.error);
      });
    } finally {
      db.close();
    }
  };
};

const waiting = (() => {
  const use = onDisk("pryday", "record");
  // Whoever is done with a record changes it only as they knew it: it may have
  // been filled in anew meanwhile.
  const ifStill = (item, then) => use("readwrite", (all) => {
    const asked = all.get(item.id);
    asked.onsuccess = () => {
      if (asked.result && asked.result.body === item.body) then(all);
    };
  });
  return {
    all: async () => (await use("readonly", (all) => all.getAll())).sort((a, b) => a.at - b.at),
    put: (item) => use("readwrite", (all) => all.put(item)),
    drop: (item) => ifStill(item, (all) => all.delete(item.id)),
    mark: (item, state, why) => ifStill(item, (all) => all.put({ ...item, state, why })),
  };
})();

// post sends a form. A page that is only fetched would tell nobody what was
// saved, so this asks for none: the answer says where to go (RFC 7240), or what
// is wrong (RFC 9457).
const post = (action, body) => fetch(action, {
  method: "POST", body, credentials: "same-origin",
  headers: { "Content-Type": "application/x-www-form-urlencoded", Prefer: "return=minimal", Accept: "application/problem+json" },
});

const asksToSignIn = (answer) => answer.redirected && new URL(answer.url).pathname === "/sign-in";
const isProblem = (answer) => (answer.headers.get("Content-Type") || "").startsWith("application/problem+json");

// A form on its way with the page that it was filled in on is left to it.
const onItsWay = (item) => item.state === "sending" && Date.now() - item.at < 60000;

// After this, in milliseconds, a line counts as broken: as long as one record hangs,
// no other goes out, from no page. Should it arrive after all, its id tells.
let sendPatience = 30000;

// sendWaiting sends what waits, records and then their photos, and returns how many
// the service took. Pages and the worker take turns.
async function sendWaiting(who) {
  const alone = self.navigator.locks ? (work) => navigator.locks.request("pryday-send", work) : (work) => work();
  return alone(async () => {
    let taken = 0;
    for (const item of await waiting.all()) {
      if (onItsWay(item)) continue;
      try { await takeAlong(item); } catch { /* no photo is kept here */ }
      let answer;
      try {
        answer = await within(post(item.action, item.body), sendPatience);
      } catch {
        await waiting.mark(item, "waiting", "");
        break; // still no signal
      }
      if (answer.status === 201) {
        await waiting.drop(item);
        taken++;
      } else if (asksToSignIn(answer)) {
        await waiting.mark(item, "signed-out", "");
      } else if (isProblem(answer) && answer.status < 500 && answer.status !== 429) {
        const problem = await answer.json();
        await waiting.mark(item, answer.status === 403 ? "somebody-else" : "refused", problem.detail);
      } else {
        await waiting.mark(item, "waiting", "");
        break; // a portal's page, or a service in trouble: the others would fare alike
      }
    }
    return taken + await sendPhotos(who);
  });
}

// within gives up on a promise after some milliseconds: a weak signal is worse
// than none.
const within = (promise, ms) => new Promise((done, failed) => {
  promise.then(done, failed);
  setTimeout(() => failed(new Error("too slow")), ms);
});
