// Files of the book opened in the editor's own program, where the desk was given its command.

import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

export class Editor {
  // `current()` is the row of the puzzle that is open; places of faults are buttons, wherever they stand.
  constructor(current) {
    this.current = current;
    $("open-this").addEventListener("click", () => this.puzzle());
    document.addEventListener("click", (event) => {
      const place = event.target.closest("button.place");
      if (place) this.open(place.dataset);
    });
  }

  take(state) {
    const name = state.editor ?? "";
    document.body.dataset.editor = name;
    $("open-this").hidden = $("editor-key").hidden = !name;
    $("open-this").title = name;
  }

  puzzle() {
    const row = this.current();
    if (row && document.body.dataset.editor) this.open(row);
  }

  async open({ file, line, column }) {
    try {
      const done = await ask("open", { file, line: Number(line), column: Number(column) });
      $("status").textContent = `${done.opened} is open in ${done.editor}`;
    } catch (error) {
      $("status").textContent = error.message;
    }
  }
}
