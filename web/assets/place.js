// Where an apiary is: places by name while one types, and the phone's own place.
"use strict";
{
  const box = document.querySelector("[data-places]");
  const typed = box.querySelector("[data-find]");
  const placed = box.querySelector('[name="placed"]');
  const found = box.querySelector("[data-found]");
  const field = (name) => box.querySelector(`[data-place="${name}"]`);
  const set = (name, value) => { if (value) field(name).value = value; };
  let latest = 0, wait;

  const say = (text) => {
    const p = document.createElement("p");
    p.className = "filled";
    p.setAttribute("role", "status");
    p.textContent = text;
    found.replaceChildren(p);
  };
  // What is of another place goes, so that no height of one stands beside another.
  const fill = (from, keepTyped) => {
    for (const name of ["latitude", "longitude", "elevation", "zone"]) {
      field(name).value = from[name] || (name === "zone" ? field(name).value : "");
    }
    if (from.name && !keepTyped) typed.value = from.name;
    placed.value = typed.value.trim();
  };
  const ask = async (question) => {
    const mine = ++latest;
    const answer = await fetch(`${typed.dataset.find}?lang=${document.documentElement.lang}&q=${encodeURIComponent(question)}&near=${encodeURIComponent(typed.dataset.near || "")}`);
    if (mine !== latest || !answer.ok) return null;
    found.innerHTML = await answer.text();
    return found.querySelector("[data-filled]");
  };

  typed.addEventListener("input", () => {
    clearTimeout(wait);
    latest++;
    const question = typed.value.trim();
    if (question.length < 3) { found.replaceChildren(); return; }
    wait = setTimeout(async () => {
      const one = await ask(question).catch(() => null);
      if (one) fill(one.dataset, true);
    }, 250);
  });
  found.addEventListener("click", (event) => {
    const button = event.target.closest("[name=pick]");
    if (!button) return;
    event.preventDefault();
    fill(button.dataset);
    say(button.dataset.said);
    field("latitude").closest("form").querySelector('[data-place="latitude"]').scrollIntoView({ block: "nearest" });
  });

  const here = box.querySelector("[data-here]");
  if (navigator.geolocation) {
    here.classList.add("ready");
    here.addEventListener("click", () => navigator.geolocation.getCurrentPosition(async ({ coords }) => {
      const at = [coords.latitude.toFixed(4), coords.longitude.toFixed(4)];
      typed.value = at.join(", ");
      fill({ latitude: at[0], longitude: at[1] });
      set("zone", Intl.DateTimeFormat().resolvedOptions().timeZone);
      const one = await ask(typed.value + (coords.altitude === null ? "" : `, ${Math.round(coords.altitude)}`)).catch(() => null);
      if (one) fill(one.dataset, true);
      placed.value = typed.value;
    }, () => { here.textContent = here.dataset.failed; }));
  }
}
