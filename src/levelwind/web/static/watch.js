// The stop-watch: a tap, or the space bar, at the flick and at rest. Each try stays in the list until it is kept or the page is left.
const stopWatch = (watch) => {
  const target = watch.querySelector("button");
  const shown = watch.querySelector(".seconds");
  const asks = watch.querySelector("strong");
  const tries = document.getElementById("tries");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let began = null;
  let pressed = false;

  // Calm: whole seconds while it runs. The figure stands in a place of fixed width either way.
  const show = (seconds, running) => { shown.textContent = figures(seconds, running && calm.matches ? 0 : 1); };
  const run = () => {
    if (began === null) return;
    show((performance.now() - began) / 1000, true);
    requestAnimationFrame(run);
  };

  const tap = (at) => {
    if (began === null) {
      began = at;
      asks.textContent = asks.dataset.rest;
      target.classList.add("running");
      run();
      return;
    }
    const seconds = (at - began) / 1000;
    began = null;
    asks.textContent = asks.dataset.flick;
    target.classList.remove("running");
    show(seconds, false);
    if (seconds >= 0.1) note(figures(seconds, 1));
  };

  const note = (seconds) => {
    const item = document.getElementById("try").content.cloneNode(true).firstElementChild;
    item.querySelector(".time").textContent = `${seconds} s`;
    item.querySelector(".keep").textContent = `Keep ${seconds} s`;
    item.querySelector("input[name$=spin_time_s]").value = seconds;
    item.querySelector(".drop").setAttribute("aria-label", `Drop ${seconds} s`);
    item.querySelector(".drop").addEventListener("click", () => { item.remove(); target.focus(); });
    item.querySelector("form").addEventListener("submit", (event) => { event.preventDefault(); keep(item, event.target); });
    tries.prepend(item);
  };

  const keep = async (item, form) => {
    const said = item.querySelector("[role=status]");
    try {
      const answer = await post(form, new FormData(form), () => {});
      const there = answer.getResponseHeader("HX-Redirect");
      if (!there) return said.replaceChildren(answer.status === 422 ? answer.responseText.replace(/<[^>]*>/g, "").trim() : "Not kept: the shop’s machine refused it.");
      form.hidden = true;
      said.replaceChildren("Kept. ", Object.assign(document.createElement("a"), { href: there, textContent: "See it" }));
    } catch {
      said.textContent = NO_ANSWER.replace("Not sent", "Not kept");
    }
  };

  watch.hidden = false;
  const byHand = document.getElementById("by-hand");
  byHand.open = Boolean(byHand.querySelector(".errorlist"));
  target.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    pressed = true;
    tap(event.timeStamp);
  });
  target.addEventListener("pointercancel", () => { pressed = false; });
  // A key or a screen reader clicks without a pointer; a click after a pointer has been counted already.
  target.addEventListener("click", (event) => {
    if (!pressed) tap(event.timeStamp);
    pressed = false;
  });
  const spaceBar = (event) => event.key === " " && (event.target === target || !event.target.closest("a, input, select, textarea, summary, button"));
  document.addEventListener("keydown", (event) => {
    if (!spaceBar(event)) return;
    event.preventDefault();
    if (!event.repeat) tap(event.timeStamp);
  });
  document.addEventListener("keyup", (event) => { if (spaceBar(event)) event.preventDefault(); });
};

const watch = document.getElementById("watch");
if (watch) stopWatch(watch);
