// Numbers on an exploded picture: a tap puts one there, and so do arrow keys and Enter with the picture in focus.
const spot = { across: 50, down: 50, focused: false };

const set = (form, across, down) => {
  spot.across = Math.min(100, Math.max(0, across));
  spot.down = Math.min(100, Math.max(0, down));
  form.elements.across.value = figures(spot.across, 1);
  form.elements.down.value = figures(spot.down, 1);
  cross(form);
};

const cross = (form) => {
  const svg = form.querySelector("svg");
  const box = svg.viewBox.baseVal;
  let mark = svg.querySelector(".cross");
  if (!mark) {
    mark = document.createElementNS("http://www.w3.org/2000/svg", "path");
    mark.setAttribute("class", "cross");
    svg.append(mark);
  }
  const x = (spot.across / 100) * box.width, y = (spot.down / 100) * box.height;
  mark.setAttribute("d", `M${x - 40} ${y}h80M${x} ${y - 40}v80`);
};

const put = (form) => form.querySelector('button[value="put"]').click();

const ready = () => {
  for (const form of document.querySelectorAll("form[data-numbers]")) {
    const picture = form.querySelector("[data-picture]");
    picture.tabIndex = 0;
    picture.setAttribute("role", "application");
    picture.setAttribute("aria-label", "The picture: arrow keys move the cross, Enter puts the number there or takes it away");
    set(form, spot.across, spot.down);
    if (spot.focused) picture.focus();
  }
};

document.addEventListener("click", (event) => {
  const picture = event.target.closest("[data-picture]");
  if (!picture) return;
  const box = picture.querySelector("svg").getBoundingClientRect();
  const form = picture.closest("form");
  set(form, (100 * (event.clientX - box.left)) / box.width, (100 * (event.clientY - box.top)) / box.height);
  spot.focused = false;
  put(form);
});

document.addEventListener("keydown", (event) => {
  const picture = event.target.closest?.("[data-picture]");
  if (!picture) return;
  const form = picture.closest("form"), far = event.shiftKey ? 10 : 1;
  const moves = { ArrowLeft: [-far, 0], ArrowRight: [far, 0], ArrowUp: [0, -far], ArrowDown: [0, far] };
  if (event.key in moves) {
    const [across, down] = moves[event.key];
    set(form, spot.across + across, spot.down + down);
  } else if (event.key === "Enter" || event.key === " ") {
    spot.focused = true;
    put(form);
  } else return;
  event.preventDefault();
});

document.addEventListener("DOMContentLoaded", ready);
document.addEventListener("htmx:afterSettle", ready);
