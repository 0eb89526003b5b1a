// Photos of boxes in a record form: made small as they are chosen, and kept on the
// phone as drafts, which a camera that takes the memory of the page cannot lose.

const longestSide = 1600, mostPhotos = 3, draftsKept = 7 * 864e5;

// asJPEG draws a picture anew, upright and small: nothing that stood beside its
// pixels comes along.
async function asJPEG(file) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, longestSide / Math.max(picture.width, picture.height));
  const canvas = el("canvas", undefined, { width: Math.max(1, Math.round(picture.width * scale)), height: Math.max(1, Math.round(picture.height * scale)) });
  const draw = canvas.getContext("2d");
  draw.fillStyle = "#fff";
  draw.fillRect(0, 0, canvas.width, canvas.height);
  draw.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.8));
  return blob.arrayBuffer();
}

const isHEIC = async (file) => /^.{4}ftyp/s.test(new TextDecoder("latin1").decode(await file.slice(0, 12).arrayBuffer()));

// The part of a form in which photos of one box are chosen.
const boxOf = (fields) => fields.form.elements.box?.value || fields.closest("[data-row]").id.replace("box-", "");
const boxName = (fields) => (fields.closest("[data-row]")?.querySelector("b") || fields.closest("section").querySelector("h3").firstChild).textContent.trim();
const chosenIn = (fields) => fields.chosen || (fields.chosen = []);
const photoFields = (form) => [...form.querySelectorAll("[data-photos]")];
const chosenPhotos = (form) => photoFields(form).flatMap(chosenIn);

// A photo is found again by where it was taken, whatever id its form has then.
const placeOf = (form) => ({
  action: new URL(form.action).pathname, hive: form.elements.hive?.value || form.dataset.hive || "", on: form.elements.on.value, who: page.who || "",
});
const samePlace = (a, b) => ["action", "hive", "on", "who"].every((key) => a[key] === b[key]);

function sayAt(fields, text) {
  const line = fields.querySelector(".wrong") || el("p", "", { className: "wrong" });
  line.setAttribute("role", "alert");
  line.textContent = text;
  fields.querySelector("legend").after(line);
}

async function choose(fields, files) {
  fields.querySelector(".wrong")?.remove();
  for (const file of files) {
    if (chosenIn(fields).length >= mostPhotos) return sayAt(fields, words.photosMost);
    let bytes;
    try {
      bytes = await asJPEG(file);
    } catch {
      sayAt(fields, await isHEIC(file) ? words.photoHEIC : words.photoNone);
      continue;
    }
    const photo = { id: newID(), state: "draft", why: "", of: "", at: Date.now(), box: boxOf(fields), name: boxName(fields), fields: {}, bytes, ...placeOf(fields.form) };
    chosenIn(fields).push(photo);
    let notKept; // on the phone before it is drawn, so that no photo that was seen is lost with its page
    try { await photoQueue.put(photo); } catch (why) { notKept = isFull(why) ? words.photoFull : words.keepsNothing; }
    await showChosen(fields);
    if (notKept) sayAt(fields, notKept);
  }
}

async function showChosen(fields) {
  const list = el("ul", undefined, { className: "plain photos" });
  for (const photo of chosenIn(fields)) {
    const canvas = el("canvas", undefined, { width: 176, height: 176 });
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", words.photoChosen.replace("%s", () => photo.name));
    const picture = await createImageBitmap(new Blob([photo.bytes], { type: "image/jpeg" }));
    const side = Math.min(picture.width, picture.height);
    canvas.getContext("2d").drawImage(picture, (picture.width - side) / 2, (picture.height - side) / 2, side, side, 0, 0, 176, 176);
    const away = button("×", async () => {
      fields.chosen = chosenIn(fields).filter((other) => other !== photo);
      await showChosen(fields);
      try { await photoQueue.drop(photo); } catch { /* it was not kept */ }
    }, { className: "quiet small" });
    away.setAttribute("aria-label", words.photoRemove.replace("%s", () => photo.name));
    const row = el("li");
    row.append(canvas, away);
    list.append(row);
  }
  fields.querySelector(".photos")?.remove();
  if (list.children.length) fields.querySelector(".acts").after(list);
}

// takePhotos gives photos that were chosen before, and not sent since, back to
// their form.
async function takePhotos(form) {
  if (!photoFields(form).length) return;
  let kept = [];
  try { kept = await photoQueue.all(); } catch { return; }
  const records = new Set((await waiting.all()).map((item) => item.id));
  for (const fields of photoFields(form)) {
    const mine = kept.filter((photo) => photo.box === boxOf(fields) && samePlace(photo, placeOf(form)) && (photo.state === "draft" || photo.state === "waiting" && records.has(photo.of)));
    fields.chosen = [...chosenIn(fields), ...mine].slice(0, mostPhotos);
    if (!mine.length) continue;
    await showChosen(fields);
    openAround(fields);
  }
}

// unanswered names the first box of a form that has a photo and no answer.
function unanswered(form, body) {
  if (form.dataset.asks === undefined || body.has("whole")) return "";
  const photo = chosenPhotos(form).find((one) => !body.get(`b${one.box}-joint`));
  return photo ? photo.name : "";
}

// goWith makes the photos of a form wait for their record to be sent, and reports
// whether the phone keeps them.
async function goWith(form, item) {
  const photos = chosenPhotos(form);
  join(photos, item);
  try { if (photos.length) await photoQueue.put(...photos); } catch { return false; }
  return true;
}

// stayWith takes them back into the form, which the service did not take.
async function stayWith(form) {
  const photos = chosenPhotos(form);
  for (const photo of photos) photo.state = "draft";
  try { if (photos.length) await photoQueue.put(...photos); } catch { /* they were not kept */ }
}

// sendWithRecord sends the photos of a record that was just taken, and reports
// whether all of them went or wait.
async function sendWithRecord(form, kept) {
  const photos = chosenPhotos(form);
  if (!photos.length) return true;
  if (kept) {
    try { await within(sendWaiting(page.who || ""), 20000); } catch { /* the rest follows from the next page */ }
    return true;
  }
  for (const fields of photoFields(form)) {
    for (const photo of [...chosenIn(fields)]) {
      if ((await sendPhoto(photo)).state !== "waiting") fields.chosen = chosenIn(fields).filter((other) => other !== photo);
    }
  }
  return !chosenPhotos(form).length;
}

// photoLines are the photos that wait: counted with their records, and by
// themselves where those are sent.
async function photosThatWait(records) {
  let photos = [];
  try { photos = (await photoQueue.all()).filter((photo) => photo.state !== "draft"); } catch { /* none is kept */ }
  const of = new Set(records.map((item) => item.id));
  return { with: (item) => photos.filter((photo) => photo.of === item.id).length, alone: photos.filter((photo) => !of.has(photo.of)) };
}

async function dropOldDrafts() {
  const old = (await photoQueue.all()).filter((photo) => photo.state === "draft" && Date.now() - photo.at > draftsKept);
  if (old.length) await photoQueue.drop(...old);
}

for (const fields of document.querySelectorAll("[data-photos]")) {
  for (const input of fields.querySelectorAll("input[type=file]")) {
    input.parentElement.classList.add("drawn");
    input.addEventListener("change", async () => {
      const files = [...input.files];
      input.value = ""; // they go by themselves, made small
      fields.busy = (fields.busy || Promise.resolve()).then(() => choose(fields, files));
      await fields.busy;
    });
  }
}

// chosenAll waits until all that was chosen is made small.
const chosenAll = (form) => Promise.all(photoFields(form).map((fields) => fields.busy));
