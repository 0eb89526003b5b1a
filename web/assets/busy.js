// A pressed button shows that it works until the answer is there, and pressing
// again does nothing meanwhile. Whatever leaves the page where it is, such as
// Back, a stopped page or a file that was saved, ends that.

let busyPatience = 20000; // milliseconds, after which it may be pressed again

const working = document.createElement("p");
working.className = "vh";
working.setAttribute("role", "status");
document.body.append(working);

// works returns false where the form works already.
function works(form, button) {
  if (form.dataset.busy) return false;
  form.dataset.busy = "yes";
  button?.setAttribute("aria-busy", "true");
  working.textContent = words.working;
  return true;
}

function rests(form) {
  delete form.dataset.busy;
  working.textContent = "";
  for (const button of form.elements) button.removeAttribute("aria-busy"); // also those that stand outside of it
}

// After all that a form itself does: some send by a script of their own.
addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented) return;
  if (!works(form, event.submitter)) return event.preventDefault();
  setTimeout(() => rests(form), busyPatience);
});
addEventListener("pageshow", () => { for (const form of document.querySelectorAll("form[data-busy]")) rests(form); });
