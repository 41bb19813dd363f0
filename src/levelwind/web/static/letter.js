// A press copies the letter: by the clipboard where the page may use it, else by the text being chosen and copied.
for (const button of document.querySelectorAll("[data-copies]")) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    const text = document.getElementById(button.dataset.copies);
    let done;
    try {
      await navigator.clipboard.writeText(text.value);
      done = true;
    } catch {
      text.select();
      done = document.execCommand("copy");
    }
    document.getElementById("copied").textContent = done ? "Copied." : "It is chosen: copy it with the keyboard.";
  });
}
