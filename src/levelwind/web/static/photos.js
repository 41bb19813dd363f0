// Sends each picture as soon as it is chosen or taken, one after the other, with its progress; one that did not go through
// stays with a button to send it again. Without this script the same form has a button.
const line = (form, name) => {
  const item = document.createElement("li");
  item.textContent = name;
  (form.querySelector(".sending") ?? document.getElementById("sending")).append(item);
  return item;
};

const send = async (form, file, item) => {
  const progress = document.createElement("progress");
  item.replaceChildren(file.name, progress);
  try {
    const data = new FormData(form);
    data.delete("photos");
    data.append("photos", file);
    const answer = await post(form, data, (sent, all) => { progress.value = sent / all; });
    if (answer.status === 200) {
      show(form, answer.responseText);
      item.remove();
    } else if (answer.status === 422) {
      item.innerHTML = answer.responseText;
    } else {
      again(form, file, item, "The shop’s machine refused it.");
    }
  } catch {
    again(form, file, item, NO_ANSWER);
  }
};

// The page may have gone on to the next step while the picture was on its way.
const show = (form, pictures) => {
  const list = document.getElementById(form.dataset.pictures);
  if (list) list.innerHTML = pictures;
  const taken = form.querySelector(".taken");
  if (taken && list) taken.textContent = ` (${list.querySelectorAll("img").length})`;
};

const again = (form, file, item, why) => {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Send it again";
  button.addEventListener("click", () => enqueue(form, file, item));
  const words = document.createElement("span");
  words.className = "refusal";
  words.textContent = `${file.name}: ${why}`;
  item.replaceChildren(words, button);
};

let turn = Promise.resolve();
const enqueue = (form, file, item = line(form, file.name)) => {
  turn = turn.then(() => send(form, file, item));
};

document.addEventListener("change", (event) => {
  const form = event.target.closest("form[data-pictures]");
  if (!form || event.target.type !== "file") return;
  for (const file of event.target.files) enqueue(form, file);
  event.target.value = "";
});

for (const form of document.querySelectorAll("form[data-pictures]")) form.classList.add("sends-itself");
addEventListener("beforeunload", (event) => { if (document.querySelector(".sending li progress")) event.preventDefault(); });
