// Opens the piece that a cell of the tray points to, and puts the reader at the next step once one is ticked. Without this
// script the links still lead there, and a tick loads the page at the step.
"use strict";

// Pieces save themselves as they are judged: their button is for those who have no script.
document.documentElement.classList.add("saves-as-you-go");

const openPointedAt = () => {
  const piece = location.hash.length > 1 && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (piece instanceof HTMLDetailsElement) piece.open = true;
};
window.addEventListener("hashchange", openPointedAt);
openPointedAt();

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target.id === "work") document.getElementById("now-title")?.focus({ preventScroll: true });
});

// A second tap that was meant for the step before must not tick the next one.
let swapped = 0;
document.addEventListener("htmx:afterSwap", () => { swapped = performance.now(); });
document.addEventListener("submit", (event) => {
  if (event.target.matches(".tick-off") && performance.now() - swapped < 500) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }
}, true);
