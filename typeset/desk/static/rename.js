// Another id for a puzzle, everywhere: what that changes is shown first.

import { make } from "./dom.js";
import { difference } from "./save.js";
import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

export class Rename {
  // `current()` is the id of the puzzle that is open, `renamed(id, to)` is told.
  constructor(current, renamed) {
    this.renamed = renamed;
    $("rename-this").addEventListener("click", () => this.open(current()));
    $("rename-to").addEventListener("input", () => this.show([], null));
    $("rename-cancel").addEventListener("click", () => $("rename-dialog").close());
    $("rename-do").addEventListener("click", () => this.act());
    $("rename-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.look();
    });
  }

  open(id) {
    this.id = id;
    $("rename-title").textContent = `Rename ${id}`;
    $("rename-to").value = id;
    this.show([], null);
    $("rename-dialog").showModal();
    $("rename-to").select();
  }

  // What is asked about; an answer that comes when it is something else is too late.
  get meant() {
    return `${this.id} ${$("rename-to").value.trim()}`;
  }

  // What the dialog holds; `known` is what the files shown are known by, null before that.
  show(parts, known) {
    this.known = known;
    $("rename-body").replaceChildren(...parts);
    $("rename-do").disabled = !known;
  }

  async look() {
    const asked = this.meant;
    const found = await this.asked({});
    if (!found || asked !== this.meant) return;
    this.show(difference(found.difference), found.known);
    $("rename-do").focus();
  }

  async act() {
    const { id } = this;
    const done = await this.asked({ known: this.known });
    if (!done) return;
    $("rename-dialog").close();
    this.renamed(id, done.id);
  }

  async asked(more) {
    const asked = this.meant;
    try {
      return await ask("rename", { id: this.id, to: $("rename-to").value.trim(), ...more });
    } catch (error) {
      if (asked !== this.meant) return null;
      this.show([make("p", { class: "warned" }, error.message)], null);
      $("rename-to").focus();
      return null;
    }
  }
}
