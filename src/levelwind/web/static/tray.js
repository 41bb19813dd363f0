// Opens the piece that a cell of the tray points to, and puts the reader at the next step once one is ticked. Without this
// script the links still lead there, and a tick loads the page at the step. What was pressed on a piece leaves the reader there.
// Pieces save themselves as they are judged: their button is for those who have no script.
document.documentElement.classList.add("saves-as-you-go");

const openPointedAt = () => {
  const piece = location.hash.length > 1 && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (piece instanceof HTMLDetailsElement) piece.open = true;
};
window.addEventListener("hashchange", openPointedAt);
openPointedAt();

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target.id !== "work") return;
  const piece = event.detail.requestConfig.elt.closest("details.piece")?.id;
  const back = piece && document.getElementById(piece)?.querySelector("summary");
  (back || document.getElementById("now-title"))?.focus({ preventScroll: true });
});

// A second tap that was meant for the step before must not tick the next one, nor undo two.
let swapped = 0;
document.addEventListener("htmx:afterSwap", () => { swapped = performance.now(); });
document.addEventListener("submit", (event) => {
  if (event.target.matches(".tick-off, .take-back") && performance.now() - swapped < 500) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }
}, true);

// A foot pedal is a keyboard of two keys: page and arrow keys tick and undo while the step is on the screen, and space ticks
// with nothing in focus. Where something is typed or chosen the keys keep their own work.
const KEYS = { PageDown: ".tick-off", ArrowDown: ".tick-off", ArrowRight: ".tick-off", PageUp: ".take-back", ArrowUp: ".take-back", ArrowLeft: ".take-back" };
const writes = "input:not([type=hidden]), textarea, select";
const onScreen = (element) => {
  const box = element.getBoundingClientRect();
  return box.bottom > 0 && box.top < innerHeight;
};
document.addEventListener("keydown", (event) => {
  const now = document.querySelector(".thumb");
  const at = document.activeElement;
  const free = at === document.body || at?.id === "now-title" || at?.id === "page";
  const form = event.key === " " ? free && ".tick-off" : KEYS[event.key];
  if (!now || !form || event.ctrlKey || event.altKey || event.metaKey || at?.matches(writes) || !onScreen(now)) return;
  event.preventDefault();
  const button = now.querySelector(`${form} button:not([disabled])`);
  if (button && !event.repeat) button.form.requestSubmit(button);
});

// What is wrong with the step lies folded behind its button.
document.addEventListener("click", (event) => {
  const opens = event.target.closest(".opens[aria-controls]");
  if (!opens) return;
  const shown = document.getElementById(opens.getAttribute("aria-controls")).classList.toggle("open");
  opens.setAttribute("aria-expanded", shown);
  if (shown) document.getElementById("trouble").scrollIntoView({ block: "end" });
});

// The clock runs from the last tick, and says itself that it has stopped: nobody has to remember a pause.
let drawnAt = performance.now();
document.addEventListener("htmx:afterSwap", (event) => { if (event.detail.target.id === "work") drawnAt = performance.now(); });
const tell = () => {
  const clock = document.querySelector(".clock[data-gone]");
  if (!clock) return;
  const gone = Number(clock.dataset.gone) + Math.floor((performance.now() - drawnAt) / 1000);
  const stopped = gone > Number(clock.dataset.longest);
  clock.textContent = stopped ? "clock stopped" : `${Math.floor(gone / 60)}:${String(gone % 60).padStart(2, "0")}`;
  clock.title = stopped ? "So long a time is a pause and does not count. The next tick starts it again." : "Since the last tick";
};
tell();
setInterval(tell, 1000);
