// Pulls a plot about in time: drag, pinch, wheel, keys, buttons; and puts the two ends of a pull or a spin where a finger says.
// Without this script the whole plot stands, and every form has fields for the same numbers.
const SVG = "http://www.w3.org/2000/svg";
const node = (name, attributes, parent) => {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  parent?.append(made);
  return made;
};

class Plot {
  constructor(figure) {
    this.figure = figure;
    this.area = figure.querySelector(".plot-area");
    this.inside = figure.querySelector(".inside");
    this.box = figure.querySelector(".plot-box");
    this.whole = [Number(figure.dataset.from), Number(figure.dataset.to)];
    this.view = [...this.whole];
    this.fingers = new Map();
    this.handles = [];
    figure.classList.add("live");
    figure.querySelector(".plot-keys").hidden = false;
    this.box.tabIndex = 0;
    this.box.setAttribute("role", "group");
    this.box.setAttribute("aria-label", "The plot: arrow keys move it, plus and minus come closer and wider, Home shows the whole");
    this.listen();
    this.draw();
  }

  listen() {
    const area = this.area;
    area.addEventListener("pointerdown", (event) => this.down(event));
    area.addEventListener("pointermove", (event) => this.move(event));
    for (const name of ["pointerup", "pointercancel"]) area.addEventListener(name, (event) => this.up(event));
    area.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    this.box.addEventListener("keydown", (event) => this.key(event));
    this.figure.querySelector(".plot-keys").addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (!button) return;
      if (button.dataset.closer) this.closer(Number(button.dataset.closer), 0.5);
      else this.show(...this.whole);
    });
    new ResizeObserver(() => this.draw()).observe(this.box);
    document.fonts.ready.then(() => this.draw()); // its letters are wider than those that stood in for them
  }

  get span() { return this.view[1] - this.view[0]; }
  share(event) {
    const box = this.area.getBoundingClientRect();
    return (event.clientX - box.left) / box.width;
  }
  moment(event) { return this.view[0] + this.share(event) * this.span; }

  show(from, to) {
    const whole = this.whole[1] - this.whole[0];
    const span = Math.min(Math.max(to - from, whole / 400), whole);
    const start = Math.min(Math.max(from, this.whole[0]), this.whole[1] - span);
    this.view = [start, start + span];
    this.draw();
  }
  closer(factor, about) {
    const at = this.view[0] + about * this.span;
    const span = this.span / factor;
    this.show(at - about * span, at + (1 - about) * span);
  }
  by(share) { this.show(this.view[0] + share * this.span, this.view[1] + share * this.span); }

  down(event) {
    if (event.button) return;
    this.fingers.set(event.pointerId, event);
    this.held = event.target.closest(".handle");
    this.start = { view: [...this.view], x: event.clientX, moved: false };
    try { this.area.setPointerCapture(event.pointerId); } catch { /* a finger already gone */ }
    if (this.fingers.size === 2) this.pinch = this.pinched();
  }
  pinched() {
    const [one, other] = [...this.fingers.values()];
    return { apart: Math.max(Math.abs(one.clientX - other.clientX), 10), middle: (this.share(one) + this.share(other)) / 2, view: [...this.view] };
  }
  move(event) {
    if (!this.fingers.has(event.pointerId)) return;
    this.fingers.set(event.pointerId, event);
    if (this.fingers.size === 2) return this.spread();
    const gone = event.clientX - this.start.x;
    if (Math.abs(gone) > 6) this.start.moved = true;
    if (this.held) return this.place(this.held, this.moment(event));
    if (!this.start.moved) return;
    this.area.classList.add("moved");
    const seconds = (gone / this.area.clientWidth) * (this.start.view[1] - this.start.view[0]);
    this.show(this.start.view[0] - seconds, this.start.view[1] - seconds);
  }
  spread() {
    const now = this.pinched();
    const was = this.pinch;
    const span = (was.view[1] - was.view[0]) * (was.apart / now.apart);
    const at = was.view[0] + was.middle * (was.view[1] - was.view[0]);
    this.start.moved = true;
    this.show(at - now.middle * span, at + (1 - now.middle) * span);
  }
  up(event) {
    const known = this.fingers.delete(event.pointerId);
    this.area.classList.remove("moved");
    if (this.fingers.size === 1) {
      const left = [...this.fingers.values()][0];
      this.start = { view: [...this.view], x: left.clientX, moved: true };
    }
    if (known && !this.fingers.size && !this.start.moved && !this.held && event.type === "pointerup") this.tap(event);
    if (!this.fingers.size) this.held = null;
  }
  tap(event) {
    this.box.focus({ preventScroll: true });
    if (this.handles.length) {
      const at = this.moment(event);
      const far = (handle) => Math.abs(Number(handle.dataset.s) - at);
      return this.place(far(this.handles[0]) <= far(this.handles[1]) ? this.handles[0] : this.handles[1], at);
    }
    const again = this.tapped && event.timeStamp - this.tapped.timeStamp < 350 && Math.abs(event.clientX - this.tapped.clientX) < 30;
    this.tapped = again ? null : event;
    if (again) this.show(...this.whole);
  }
  // A plain wheel scrolls the page until the plot was tapped or tabbed to; two fingers on a pad always work.
  wheel(event) {
    const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY);
    if (!sideways && !event.ctrlKey && document.activeElement !== this.box) return;
    event.preventDefault();
    if (sideways) this.by(event.deltaX / this.area.clientWidth);
    else this.closer(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.002)), this.share(event));
  }
  key(event) {
    const acts = {
      ArrowLeft: () => this.by(-0.2), ArrowRight: () => this.by(0.2),
      "+": () => this.closer(1.5, 0.5), "=": () => this.closer(1.5, 0.5), "-": () => this.closer(1 / 1.5, 0.5),
      Home: () => this.show(...this.whole),
    };
    if (!acts[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    acts[event.key]();
  }

  at(seconds) { return (100 * (seconds - this.view[0])) / this.span; }
  draw() {
    const whole = this.whole[1] - this.whole[0];
    const left = (1000 * (this.view[0] - this.whole[0])) / whole;
    this.figure.querySelector(".curves").setAttribute("viewBox", `${left} 0 ${(1000 * this.span) / whole} 100`);
    for (const part of this.area.querySelectorAll("[data-s]")) {
      const [x, end] = [part.dataset.s, part.dataset.e ?? part.dataset.s].map((each) => this.at(Number(each)));
      // The words of a level go along with what is seen of it.
      const shown = part.classList.contains("level") && end > 0 ? Math.max(x, 0) : x;
      part.setAttribute("x", `${shown}%`);
      if (part.dataset.e) part.setAttribute("width", `${end - x}%`);
    }
    this.rule();
    this.part();
  }
  // Ticks at 1, 2 or 5 times a power of ten, as many as there is room for.
  rule() {
    const rough = this.span / Math.min(Math.max(this.area.clientWidth / 64, 2), 9);
    const decade = 10 ** Math.floor(Math.log10(rough));
    const step = decade * [1, 2, 5, 10].find((times) => times * decade >= rough * 0.999);
    const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    const ticks = this.area.querySelector(".x-ticks");
    const [line, word] = ["line", "text"].map((name) => ticks.querySelector(name).cloneNode());
    ticks.replaceChildren();
    for (let n = Math.ceil(this.view[0] / step - 1e-9); n * step <= this.view[1] + 1e-9; n += 1) {
      const x = `${this.at(n * step)}%`;
      for (const [made, places] of [[line, ["x1", "x2"]], [word, ["x"]]]) {
        const tick = ticks.appendChild(made.cloneNode());
        for (const place of places) tick.setAttribute(place, x);
        if (made === word) tick.textContent = figures(n * step, decimals);
      }
    }
  }
  // Words keep inside the plot, clear of one another and of every shape: to one side, to the other, without what
  // the shape says too, or away until there is room.
  part() {
    const frame = this.area.getBoundingClientRect();
    for (const number of this.area.querySelectorAll(".stretch > text")) {
      const wide = (Number.parseFloat(number.parentElement.getAttribute("width")) / 100) * frame.width;
      number.classList.toggle("crowded", wide < 22);
    }
    const left = this.lay(true);
    if (left && this.lay(false) >= left) this.lay(true);
  }
  // How many words found no room; told without what their shapes say too, more of them may find it.
  lay(named) {
    const frame = this.area.getBoundingClientRect();
    const taken = [...this.area.querySelectorAll(".dot > :is(circle, path, rect)")].map((shape) => shape.getBoundingClientRect());
    let crowded = 0;
    for (const word of this.area.querySelectorAll(".word")) {
      const part = word.parentElement;
      const at = Number.parseFloat(part.getAttribute("x"));
      const end = part.dataset.e ? this.at(Number(part.dataset.e)) : 100;
      const right = frame.left + (Math.min(end, 100) / 100) * frame.width;
      const fits = () => {
        const box = word.getBoundingClientRect();
        const over = taken.some((other) => box.left < other.right + 4 && box.right > other.left - 4 && box.top < other.bottom && box.bottom > other.top);
        return box.left >= frame.left && box.right <= right && !over;
      };
      word.classList.remove("crowded");
      const seen = at <= 100 && (part.dataset.e ? end : at) >= 0;
      const room = at >= 0 && at <= 100 && this.ways(word, named).some((way) => {
        word.classList.toggle("brief", way.brief);
        word.setAttribute("text-anchor", way.side);
        word.setAttribute("x", way.side === "end" ? -10 : 10);
        return fits();
      });
      word.classList.toggle("crowded", !room);
      if (room) taken.push(word.getBoundingClientRect());
      else if (seen) crowded += 1;
    }
    return crowded;
  }
  // The words of a level begin where it begins; all others may stand on either side, first where they stood.
  ways(word, named) {
    const own = word.dataset.side ??= word.getAttribute("text-anchor");
    const sides = word.parentElement.classList.contains("level") ? [own] : [own, own === "end" ? "start" : "end"];
    return (named ? [false, true] : [true]).flatMap((brief) => sides.map((side) => ({ brief, side })));
  }

  // Two handles for the two fields of a form.
  arm(form) {
    this.disarm();
    this.form = form;
    const fields = [form.elements.from_s, form.elements.to_s];
    this.handles = fields.map((field, i) => {
      const typed = Number.parseFloat(field.value.replace(",", "."));
      const at = Number.isFinite(typed) ? typed : this.view[0] + (0.4 + 0.2 * i) * this.span;
      const handle = node("svg", { class: "handle", height: "100%", overflow: "visible" }, this.inside);
      handle.dataset.s = at;
      handle.field = field;
      node("line", { y2: "100%" }, handle);
      node("circle", { cy: "60%", r: 13 }, handle);
      const arrow = node("svg", { y: "60%", overflow: "visible" }, handle);
      node("path", { d: i ? "M4-7v14l-9-7z" : "M-4-7v14l9-7z" }, arrow);
      node("rect", { class: "grip", x: -24, width: 48, height: "100%" }, handle);
      return handle;
    });
    this.figure.classList.add("armed");
    this.draw();
  }
  disarm() {
    for (const handle of this.handles) handle.remove();
    this.handles = [];
    this.form = null;
    this.figure.classList.remove("armed");
  }
  place(handle, seconds) {
    const at = Math.min(Math.max(seconds, this.whole[0]), this.whole[1]);
    handle.dataset.s = at;
    handle.setAttribute("x", `${this.at(at)}%`);
    handle.field.value = figures(at, 2);
  }
  typed(field) {
    const handle = this.handles.find((each) => each.field === field);
    const at = Number.parseFloat(field.value.replace(",", "."));
    if (!handle || !Number.isFinite(at)) return;
    handle.dataset.s = at;
    handle.setAttribute("x", `${this.at(at)}%`);
  }
}

const plots = [...document.querySelectorAll("[data-plot]")].map((figure) => new Plot(figure));
const own = plots.find((plot) => plot.figure.classList.contains("own"));

for (const form of own ? document.querySelectorAll("form[data-ends]") : []) {
  const details = form.closest("details");
  details.addEventListener("toggle", () => {
    if (details.open) {
      own.arm(form);
      details.scrollIntoView({ block: "nearest" });
    } else if (own.form === form) own.disarm();
  });
  if (details.open) own.arm(form);
  form.addEventListener("focusin", () => { if (own.form !== form) own.arm(form); });
  form.addEventListener("input", (event) => own.typed(event.target));
}

// A still may be shown as large as there is room: the tap is then told with the size it was made at.
for (const form of document.querySelectorAll("form[data-still]")) {
  form.querySelector(".still").style.width = "min(100%, 40rem)";
  form.querySelector("input[type=image]").addEventListener("click", (event) => {
    form.elements.shown_wide.value = event.target.clientWidth;
    form.elements.shown_high.value = event.target.clientHeight;
  });
}
