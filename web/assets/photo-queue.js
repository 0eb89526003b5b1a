// Photos that wait on this phone, beside the records that they belong to: in a
// database of their own, so that an earlier build still finds its records as it
// knows them. A photo is a draft until its record is saved, and goes out after it.
const photoQueue = (() => {
  const use = onDisk("pryday-photos", "photo");
  return {
    all: async () => (await use("readonly", (all) => all.getAll())).sort((a, b) => a.at - b.at),
    put: (...photos) => use("readwrite", (all) => { for (const photo of photos) all.put(photo); }),
    drop: (...photos) => use("readwrite", (all) => { for (const photo of photos) all.delete(photo.id); }),
  };
})();

// join makes photos wait for the record that they belong to.
function join(photos, item) {
  const body = new URLSearchParams(item.body);
  for (const photo of photos) {
    photo.state = "waiting";
    photo.of = item.id;
    photo.fields = {};
    for (const name of ["hive", "on", "base", "id", "supersedes"]) {
      const value = body.get(name) || body.get(`b${photo.box}-${name}`);
      if (value) photo.fields[name] = value;
    }
  }
}

// takeAlong finds the photos of a record whose page was left before it had made
// them wait.
async function takeAlong(item) {
  const left = (await photoQueue.all()).filter((photo) => photo.state === "draft" && item.photos?.includes(photo.id));
  join(left, item);
  if (left.length) await photoQueue.put(...left);
}

// photoBody is a photo as the service takes it after its record.
function photoBody(photo) {
  const body = new FormData();
  for (const [name, value] of Object.entries(photo.fields)) body.set(name, value);
  if (photo.who) body.set("who", photo.who);
  body.set("late", "yes");
  body.set("photo-of", photo.box);
  body.set("photo-id", photo.id);
  body.set("photo", new Blob([photo.bytes], { type: "image/jpeg" }), "photo.jpg");
  return body;
}

// sendPhoto sends one, and returns it as it stands then: with the state "sent", or
// why it was not taken.
async function sendPhoto(photo) {
  let answer;
  try {
    answer = await within(fetch(photo.action, {
      method: "POST", body: photoBody(photo), credentials: "same-origin", headers: { Prefer: "return=minimal", Accept: "application/problem+json" },
    }), 60000);
  } catch {
    return { ...photo, state: "waiting", why: "" };
  }
  if (answer.status === 201) return { ...photo, state: "sent" };
  if (asksToSignIn(answer)) return { ...photo, state: "signed-out" };
  if (!isProblem(answer) || answer.status >= 500 || answer.status === 429) return { ...photo, state: "waiting", why: "" };
  return { ...photo, state: answer.status === 403 ? "somebody-else" : "refused", why: (await answer.json()).detail };
}

// sendPhotos sends those whose record the service has, and returns how many it
// took. What was not taken is large: it is tried again only by whoever took it.
async function sendPhotos(who) {
  let photos = [];
  try { photos = await photoQueue.all(); } catch { return 0; /* nothing can be kept here */ }
  const records = new Set((await waiting.all()).map((item) => item.id));
  let taken = 0;
  for (const photo of photos) {
    const mine = photo.state === "waiting" || who !== undefined && photo.who === who && ["signed-out", "somebody-else"].includes(photo.state);
    if (!mine || records.has(photo.of)) continue;
    const now = await sendPhoto(photo);
    if (now.state === "sent") {
      await photoQueue.drop(photo);
      taken++;
      continue;
    }
    await photoQueue.put(now);
    if (now.state === "waiting") break; // still no signal
  }
  return taken;
}
