// What a page cannot do without a script: save as you type, save what a closing tab would lose, say when the shop's machine
// does not answer. Everything else is links and forms.
const savingForms = () => document.querySelectorAll("form[data-saves]");
const unsaved = new WeakSet();

document.addEventListener("input", (event) => {
  const form = event.target.closest("form[data-saves]");
  if (form) unsaved.add(form);
});

// What is typed after a save has left is not saved by it, so a form counts as saved from when the request goes, not comes back.
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.elt.matches("form[data-saves]")) unsaved.delete(event.detail.elt);
});
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.elt.matches("form[data-saves]") && !event.detail.successful) unsaved.add(event.detail.elt);
});

// Words to find a pattern by say nothing until one is chosen: they are not saved as they are typed.
const searches = (form) => [...form.querySelectorAll(".pick > input[type=search]")].map((input) => input.name);

document.addEventListener("htmx:configRequest", (event) => {
  if (event.detail.elt.matches("form[data-saves]")) for (const name of searches(event.detail.elt)) delete event.detail.parameters[name];
});

window.addEventListener("pagehide", () => {
  for (const form of savingForms()) {
    if (!unsaved.has(form)) continue;
    const fields = new FormData(form);
    for (const name of searches(form)) fields.delete(name);
    navigator.sendBeacon(form.action || location.href, fields);
  }
});

// From the words on to what they found, and with the arrows through it.
document.addEventListener("keydown", (event) => {
  if (!event.target.matches(".pick > input[type=search]") || !["Enter", "ArrowDown"].includes(event.key)) return;
  event.preventDefault();
  event.target.closest(".pick").querySelector("input[type=radio]")?.focus();
});

const say = (words) => {
  const line = document.getElementById("saved");
  if (line) line.innerHTML = `<strong>${words}</strong>`;
};

document.addEventListener("htmx:sendError", (event) => {
  say("Not saved: the shop's machine does not answer. Keep this page open; it will try again.");
  const form = event.detail.elt.closest("form[data-saves]");
  if (form) setTimeout(() => htmx.trigger(form, "change"), 4000);
});

document.addEventListener("htmx:responseError", () => say("Not saved: the shop's machine refused. Load the page again; what was saved before is safe."));

// Answers that refuse a field carry their reason: draw them like any other.
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.xhr.status === 422) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});

// Leaving the search by keyboard or by a tap elsewhere puts its list away.
document.addEventListener("keydown", (event) => {
  if (event.key === "/" && !event.target.matches("input, textarea, select")) {
    event.preventDefault();
    document.getElementById("find")?.focus();
  }
  if (event.key === "Escape") document.getElementById("found")?.replaceChildren();
});
document.addEventListener("click", (event) => {
  if (!event.target.closest(".find")) document.getElementById("found")?.replaceChildren();
});

// On a phone a job's head is one line: what else it says comes at a tap, and goes at another.
document.addEventListener("click", (event) => {
  const button = event.target.closest(".opens:not([aria-controls])");
  if (button) button.setAttribute("aria-expanded", button.getAttribute("aria-expanded") === "false");
});
