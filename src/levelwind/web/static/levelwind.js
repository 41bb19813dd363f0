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

// One line at the head of the page says what became of the connection; beside a form that saves itself it stands there too.
const say = (words, where = "connection") => {
  const line = document.getElementById(where);
  if (line) line.replaceChildren(...(words ? [Object.assign(document.createElement("strong"), { textContent: words })] : []));
};
const CUT = "The shop’s machine does not answer. Keep this page open: what you typed and ticked is sent when it is back.";
const BACK = "It is back: all is sent.";

// What did not get through, each with how it is sent once more. Sent again it is as it stands then.
const waiting = new Map();
const saves = () => [...waiting].filter(([what]) => what.isConnected && what.hasAttribute("hx-post"));
// A press that leaves the page goes last, once all that stands on the page is saved.
const tryAgain = () => {
  const first = saves();
  for (const [, send] of first.length ? first : waiting) send();
};
const keep = (what, send) => {
  if (!waiting.size) setTimeout(function again() { if (waiting.size) { tryAgain(); setTimeout(again, 4000); } }, 4000);
  waiting.set(what, send);
  say(CUT);
  say("Not saved yet.", "saved");
};
addEventListener("online", tryAgain);
const letGo = () => { for (const pressed of document.querySelectorAll(".pressed")) pressed.classList.remove("pressed"); };

document.addEventListener("htmx:sendError", (event) => {
  const { elt, requestConfig } = event.detail;
  if (requestConfig.verb === "get") return;
  const pressed = requestConfig.triggeringEvent;
  keep(elt, pressed?.type === "submit" ? () => elt.requestSubmit(pressed.submitter) : () => htmx.trigger(elt, "change"));
});

// A machine that answers late, or never, is told so. What was pressed is sent once, however often it is pressed.
const LATE = "The shop’s machine has not answered yet. Your press is on its way and is sent once, however often you press.";
const NEVER = "Still no answer after a minute. Load this page again: it shows what was saved.";
const LATE_MS = 6000;
const NEVER_MS = 60000;
const onTheWay = new WeakSet();
let patience = [];
const answered = () => {
  if (!patience.length) return;
  for (const one of patience) clearTimeout(one);
  patience = [];
  const told = document.getElementById("connection");
  if ([LATE, NEVER].includes(told?.textContent)) say("");
};
const awaits = () => {
  answered();
  patience = [[LATE, LATE_MS], [NEVER, NEVER_MS]].map(([words, after]) => setTimeout(say, after, words));
};
document.addEventListener("submit", (event) => {
  if (!onTheWay.has(event.target)) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}, true);
document.addEventListener("htmx:beforeRequest", (event) => {
  const { elt, requestConfig } = event.detail;
  if (requestConfig.verb === "get") return;
  awaits();
  if (requestConfig.triggeringEvent?.type === "submit" && !elt.hasAttribute("hx-sync")) onTheWay.add(elt);
});
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  const leads = link && !event.defaultPrevented && !event.ctrlKey && !event.metaKey && !event.shiftKey && !link.target;
  const brings = link?.hasAttribute("download"); // a file: the page stays, and nobody hears when it came
  if (leads && !brings && link.pathname.endsWith("/") && link.origin === location.origin && !link.hash) awaits();
});

document.addEventListener("htmx:afterRequest", (event) => {
  letGo();
  if (event.detail.requestConfig.verb !== "get") answered();
  onTheWay.delete(event.detail.elt);
  if (!event.detail.xhr.status || !waiting.delete(event.detail.elt) || saves().length) return;
  if (waiting.size) return tryAgain();
  say(BACK);
  setTimeout(() => { if (!waiting.size) say(""); }, 4000);
});
document.addEventListener("htmx:responseError", (event) => {
  if (event.detail.requestConfig.verb === "get") return;
  const words = "Not saved: the shop’s machine refused it. Load the page again; what was saved before is safe.";
  say(words);
  say(words, "saved");
});

const SEEN = 3000; // ms: a press that brings a file leaves the page as it is
const press = (button) => {
  button?.classList.add("pressed");
  setTimeout(letGo, SEEN);
};

const OWN = document.currentScript.src;
// A bench with no network at all is told to be offline, and still reaches the shop on its own machine: so it is asked.
const isThere = () => fetch(OWN, { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(4000) }).then(() => true, () => false);

// A press is seen at once. Where the shop is not reached it waits here, instead of losing the page and what is typed on it.
const reached = new WeakSet();
document.addEventListener("submit", (event) => {
  const { target: form, submitter } = event;
  if (event.defaultPrevented || form.method !== "post") return;
  const sentByScript = form.matches("[hx-post], [data-recording], [data-pictures]");
  if (navigator.onLine || reached.delete(form) || sentByScript) {
    press(submitter);
    if (!sentByScript) {
      onTheWay.add(form);
      awaits();
    }
    return;
  }
  event.preventDefault();
  const send = async () => {
    if (saves().length || !(await isThere())) {
      keep(form, send);
      return;
    }
    waiting.delete(form);
    reached.add(form);
    form.requestSubmit(submitter);
  };
  send();
});
addEventListener("pageshow", () => {
  letGo();
  answered();
  for (const form of document.forms) onTheWay.delete(form);
});

// Who walks by keyboard keeps their place: where what they stood on was taken away, they stand on what came in its stead.
let stoodIn = "";
document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  stoodIn = detail.target.contains(document.activeElement) ? detail.target.id : "";
});
document.addEventListener("htmx:afterSettle", () => {
  const place = stoodIn && document.activeElement === document.body && document.getElementById(stoodIn);
  stoodIn = "";
  if (!place) return;
  place.tabIndex = -1;
  place.focus({ preventScroll: true });
});

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
