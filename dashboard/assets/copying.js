// A button that copies what it stands beside: a command, an address. Where the browser refuses, the words are selected.

document.addEventListener("click", async (event) => {
  const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest?.("button[data-copy]"));
  if (!button) return;
  const text = button.dataset.copy ?? "";
  const copied = await navigator.clipboard?.writeText(text).then(() => true, () => false);
  if (copied) {
    button.textContent = "copied";
    return;
  }
  const shown = [...document.querySelectorAll("main .command")].find((one) => one.textContent === text);
  if (shown) getSelection()?.selectAllChildren(shown);
  button.textContent = "selected: copy it with the keys";
});
