// "Go to": a field for a film time, or for a period and what its clock says.
import { readPlace } from "../marks/gameclock.js";

/** @typedef {import("../marks/gameclock.js").Place} Place */

export class PlaceView {
  /**
   * @param {HTMLInputElement} field
   * @param {(place: Place) => void} onPlace
   */
  constructor(field, onPlace) {
    this.field = field;
    field.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.close();
      if (event.key !== "Enter") return;
      const place = readPlace(field.value);
      field.setAttribute("aria-invalid", String(place === null));
      if (!place) return;
      this.close();
      onPlace(place);
    });
    field.addEventListener("blur", () => this.close());
  }

  ask() {
    this.field.value = "";
    this.field.removeAttribute("aria-invalid");
    this.field.hidden = false;
    this.field.focus();
  }

  close() {
    this.field.hidden = true;
    this.field.blur();
  }
}
