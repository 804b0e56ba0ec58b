// The one field of the page: the words of a note.

export class NoteView {
  /**
   * @param {HTMLInputElement} field
   * @param {(stroke: string) => void} onStroke
   */
  constructor(field, onStroke) {
    this.field = field;
    this.id = "";
    field.addEventListener("keydown", (event) => {
      if (event.isComposing) return;
      if (event.key === "Enter") onStroke("Enter");
      else if (event.key === "Escape") onStroke("Escape");
      else if (event.key === "Backspace" && field.value === "" && !event.repeat) onStroke("Backspace");
      else return;
      event.preventDefault();
      event.stopPropagation();
    });
  }

  /** What Enter means while the field is shown, wherever it is pressed or tapped: the words, where there are any. */
  get stroke() {
    const words = this.id && this.field.value.trim();
    return words ? `=${words}` : "Enter";
  }

  /** Show the field for one mark; empty hides it. @param {string} id */
  show(id) {
    if (id === this.id) return;
    this.id = id;
    this.field.hidden = !id;
    this.field.value = "";
    if (id) this.field.focus();
    else this.field.blur();
  }
}
