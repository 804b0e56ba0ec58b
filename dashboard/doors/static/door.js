// A phone that read a QR code has the phrase behind the #: it is taken out of the address and tried at once.
const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form"));
const phrase = /** @type {HTMLInputElement | null} */ (document.querySelector("#phrase"));
const carried = location.hash.slice(1);
if (carried) history.replaceState(null, "", location.pathname + location.search);
if (carried && form && phrase) {
  phrase.value = carried;
  form.requestSubmit();
}
