// Sends a film, a sound or a log with its progress and a stop, says beforehand what is too large, and offers to send again what
// did not arrive. Without this script the same form has a button.
const megabytes = (bytes) => `${figures(bytes / 1e6, bytes < 1e7 ? 1 : 0)} MB`;
const words = (text, className = "") => Object.assign(document.createElement("p"), { textContent: text, className });
const button = (text, click) => {
  const made = Object.assign(document.createElement("button"), { type: "button", textContent: text, className: "quiet" });
  made.addEventListener("click", click);
  return made;
};

const inputs = (form) => [...form.querySelectorAll("input[type=file]")];
const chosen = (form) => inputs(form).flatMap((input) => [...input.files])[0];
const told = (form) => form.querySelector(".sending");

const refused = (form, file) => {
  const most = Number(form.dataset.most);
  if (!file) return form.dataset.none;
  if (file.size > most) return `${file.name} is ${megabytes(file.size)}; up to ${megabytes(most)} is taken. ${form.dataset.smaller}`;
  return "";
};

const failed = (form, text) => {
  told(form).replaceChildren(words(text, "refusal"), button("Send it again", () => send(form)));
};

const send = async (form) => {
  const file = chosen(form);
  const why = refused(form, file);
  if (why) return told(form).replaceChildren(words(why, "refusal"));
  const bar = document.createElement("progress");
  const line = words(`${file.name}, ${megabytes(file.size)}`);
  const stop = button("Stop sending", () => {});
  told(form).replaceChildren(line, bar, stop);
  told(form).dataset.busy = "";
  const progress = (sent, all) => {
    bar.value = sent / all;
    if (sent === all) line.textContent = `${file.name} has arrived. One moment.`;
  };
  try {
    const answer = await post(form, new FormData(form), progress, (request) => { stop.onclick = () => request.abort(); });
    answered(form, answer);
  } catch (fault) {
    failed(form, fault.message === "stopped" ? `${file.name} was stopped; nothing was kept.` : NO_ANSWER);
  } finally {
    delete told(form).dataset.busy;
  }
};

const answered = (form, answer) => {
  const there = answer.getResponseHeader("HX-Redirect");
  if (there) {
    delete told(form).dataset.busy;
    location.assign(there);
  } else if (answer.status === 422) {
    told(form).innerHTML = answer.responseText;
  } else {
    failed(form, answer.status === 410 ? form.dataset.runOut : "The shop’s machine refused it.");
  }
};

const forms = document.querySelectorAll("form[data-recording]");
for (const form of forms) {
  if (form.dataset.recording === "at-once") form.classList.add("sends-itself");
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (!("busy" in told(form).dataset)) send(form);
  });
  form.addEventListener("change", (event) => {
    if (event.target.type !== "file" || !event.target.files.length) return;
    for (const other of inputs(form)) if (other !== event.target) other.value = "";
    if (form.dataset.recording === "at-once") form.requestSubmit();
    else told(form).replaceChildren(...[refused(form, chosen(form))].filter(Boolean).map((why) => words(why, "refusal")));
  });
}
addEventListener("beforeunload", (event) => { if (document.querySelector(".sending[data-busy]")) event.preventDefault(); });
