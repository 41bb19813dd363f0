// Moving a washer by dragging its number or by Alt with the arrow keys, and keeping open what was open when the page
// answers. The buttons beside each washer do the same without a script.
"use strict";

const work = () => document.getElementById("drag-work");
let open = new Set();

const recompute = () => htmx.trigger(work(), "submit");

document.addEventListener("htmx:beforeSwap", () => {
  open = new Set([...document.querySelectorAll("#drag-work details[id][open]")].map((one) => one.id));
});
document.addEventListener("htmx:afterSettle", () => {
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
});

document.addEventListener("keydown", (event) => {
  if (!event.altKey || !["ArrowUp", "ArrowDown"].includes(event.key)) return;
  const body = event.target.closest(".bodies .body");
  if (!body) return;
  event.preventDefault();
  document.getElementById(`${event.key === "ArrowUp" ? "up" : "down"}-${body.dataset.uid}`)?.click();
});

document.addEventListener("pointerdown", (event) => {
  const grip = event.target.closest(".grip");
  if (!grip) return;
  event.preventDefault();
  const body = grip.closest(".body");
  const list = body.parentElement;
  const was = [...list.children].indexOf(body);
  body.classList.add("moving");
  const move = (at) => {
    const over = [...list.children].find((other) => {
      const box = other.getBoundingClientRect();
      return other !== body && at.clientY > box.top && at.clientY < box.bottom;
    });
    if (!over) return;
    const box = over.getBoundingClientRect();
    list.insertBefore(body, at.clientY < box.top + box.height / 2 ? over : over.nextSibling);
  };
  const drop = () => {
    document.removeEventListener("pointermove", move);
    document.removeEventListener("pointerup", drop);
    document.removeEventListener("pointercancel", drop);
    body.classList.remove("moving");
    if ([...list.children].indexOf(body) !== was) recompute();
  };
  document.addEventListener("pointermove", move);
  document.addEventListener("pointerup", drop);
  document.addEventListener("pointercancel", drop);
});
