// The year moves with the dates of the rules while they are typed.
"use strict";

const year = document.querySelector("[data-year]");
const form = year?.closest("form"); // whoever may not change the rules sees the year alone
if (form) {
  let waiting, asked;
  form.addEventListener("input", (event) => {
    if (!/^(stage|home)\./.test(event.target.name)) return;
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      asked?.abort();
      asked = new AbortController();
      try {
        const drawn = await fetch("/rules/season", { method: "POST", body: new URLSearchParams(new FormData(form)), signal: asked.signal });
        // What is half typed cannot be drawn: the year stays as it was.
        if (drawn.ok) year.innerHTML = await drawn.text();
      } catch {}
    }, 300);
  });
}
