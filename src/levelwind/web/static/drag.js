// Moving a washer by its arrows, by Alt with the arrow keys, or by dragging its number: it moves at once, and what it does
// follows. What is folded away is not asked for until it is opened. Without a script the buttons do the same.
const work = () => document.getElementById("drag-work");
const folds = () => [...document.querySelectorAll("#drag-work details[id][open]")].map((one) => one.id);
let open = [];
let changed = false;

const recompute = () => htmx.trigger(work().querySelector(".typing"), "change");

document.addEventListener("htmx:configRequest", (event) => {
  if (!work()?.contains(event.detail.elt)) return;
  changed = true;
  const row = event.detail.triggeringEvent?.target?.closest?.(".bodies .body");
  event.detail.parameters.opened = folds().map((id) => id.replace("open-", "")).join(" ");
  event.detail.parameters.touched = row ? row.dataset.uid : "";
});
document.addEventListener("htmx:beforeSwap", () => { open = folds(); });
document.addEventListener("htmx:afterSettle", () => {
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
});

// What was folded away while something changed is asked for as it is opened.
document.addEventListener("click", (event) => {
  const fold = event.target.closest("#drag-work summary")?.parentElement;
  if (changed && fold?.id.startsWith("open-") && !fold.open) setTimeout(recompute);
});

const renumber = (list) => {
  const bodies = [...list.children];
  bodies.forEach((body, at) => {
    body.querySelector(".grip").textContent = at + 1;
    const [up, down] = body.querySelectorAll(".moves button");
    up.disabled = at === 0;
    down.disabled = at === bodies.length - 1;
  });
};

// What the shelf was searched for names places that are no longer the same.
const moved = (body) => {
  renumber(body.parentElement);
  document.querySelector("#drag-work .choices")?.remove();
  recompute();
};

const step = (body, by) => {
  const other = by < 0 ? body.previousElementSibling : body.nextElementSibling;
  if (!other) return;
  const held = document.activeElement;
  if (by < 0) other.before(body);
  else other.after(body);
  moved(body);
  if (!body.contains(held)) return;
  if (held.disabled) body.querySelector(".moves button:not(:disabled)").focus();
  else held.focus();
};

document.addEventListener("click", (event) => {
  const button = event.target.closest("#bodies .moves button");
  if (!button) return;
  event.preventDefault();
  step(button.closest(".body"), button.value.startsWith("up") ? -1 : 1);
});

document.addEventListener("keydown", (event) => {
  if (!event.altKey || !["ArrowUp", "ArrowDown"].includes(event.key)) return;
  const body = event.target.closest(".bodies .body");
  if (!body) return;
  event.preventDefault();
  step(body, event.key === "ArrowUp" ? -1 : 1);
});

const FROM_EDGE = 120; // px: above the ways at the foot of a phone
const STEP = 8; // px a frame

document.addEventListener("pointerdown", (event) => {
  const grip = event.target.closest(".bodies .grip");
  if (!grip) return;
  event.preventDefault();
  const body = grip.closest(".body");
  const list = body.parentElement;
  const was = [...list.children].indexOf(body);
  body.classList.add("moving");
  let at = event;
  const move = (to) => { at = to; place(); };
  const place = () => {
    const over = [...list.children].find((other) => {
      const box = other.getBoundingClientRect();
      return other !== body && at.clientY > box.top && at.clientY < box.bottom;
    });
    if (!over) return;
    const box = over.getBoundingClientRect();
    list.insertBefore(body, at.clientY < box.top + box.height / 2 ? over : over.nextSibling);
  };
  // Held near an edge of the screen the page goes on under it: a stack of twelve is longer than a phone.
  const edge = () => {
    if (!body.classList.contains("moving")) return;
    const by = at.clientY < FROM_EDGE ? -STEP : at.clientY > innerHeight - FROM_EDGE ? STEP : 0;
    if (by) {
      scrollBy(0, by);
      place();
    }
    requestAnimationFrame(edge);
  };
  requestAnimationFrame(edge);
  const drop = () => {
    document.removeEventListener("pointermove", move);
    document.removeEventListener("pointerup", drop);
    document.removeEventListener("pointercancel", drop);
    body.classList.remove("moving");
    if ([...list.children].indexOf(body) !== was) moved(body);
  };
  document.addEventListener("pointermove", move);
  document.addEventListener("pointerup", drop);
  document.addEventListener("pointercancel", drop);
});
