// Saving: the difference first, then the file; where the file is another than the one read, what can be done.

import { make } from "./dom.js";
import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

export class Save {
  // `hand()` gives { id, drawing, digest }; `saved(answer, drawing)` is told, `theirs()` takes the file's, `mine()` stays.
  constructor(hand, { saved, theirs, mine }) {
    Object.assign(this, { hand, saved, theirs, mine });
    $("save-do").addEventListener("click", () => this.save());
    $("save-theirs").addEventListener("click", () => this.settle(this.theirs));
    $("save-mine").addEventListener("click", () => this.settle(this.mine));
  }

  async open() {
    const { id, drawing, digest, state } = this.hand();
    this.shown = drawing;
    this.face("Asking for the difference…", [], { save: false, conflict: false });
    if (!$("save-dialog").open) $("save-dialog").showModal();
    const found = await this.asked("difference", { id, drawing, digest });
    if (!found || drawing !== this.shown) return;
    this.digest = found.digest ?? digest;
    const some = found.difference.trim() !== "";
    this.face(some ? `What changes in ${found.file}` : `Nothing changes in ${found.file}`, [...difference(found.difference), ...warned(state)], { save: some, conflict: false });
    $(some ? "save-do" : "save-close").focus();
  }

  async save() {
    const { id } = this.hand();
    $("save-do").disabled = true;
    const answer = await this.asked("save", { id, drawing: this.shown, digest: this.digest });
    if (!answer) return;
    $("save-dialog").close();
    this.saved(answer, this.shown);
  }

  async settle(how) {
    $("save-dialog").close();
    await how();
  }

  async asked(what, body) {
    const { shown } = this;
    try {
      return await ask(what, body);
    } catch (error) {
      if (shown !== this.shown) return null;        // asked of a drawing that is shown no more
      const conflict = error.status === 409 && this.hand().id !== null;     // of a new puzzle there is no file's
      this.face(conflict ? "The file has changed since it was read" : "Not saved",
        [make("p", {}, error.message), ...(conflict ? [make("p", {}, "Nothing was written, and nothing drawn is lost. Take the file's "
          + "puzzle (Undo brings yours back), or keep yours, with what the file has besides: the next difference is against the file as it is now.")] : [])],
        { save: false, conflict });
      $(conflict ? "save-mine" : "save-close").focus();
      return null;
    }
  }

  face(title, parts, { save, conflict }) {
    $("save-title").textContent = title;
    $("save-body").replaceChildren(...parts);
    $("save-do").hidden = !save;
    $("save-do").disabled = false;
    $("save-theirs").hidden = $("save-mine").hidden = !conflict;
  }
}

function warned(state) {
  return state === "sound" ? [] : [make("p", { class: "warned" }, `It can be saved as it is, ${state ?? "not judged yet"}; the book cannot be printed with it.`)];
}

// A unified difference, its lines told apart by sign and ground; each file's begin with its name.
export function difference(text) {
  const kinds = { "+": "added", "-": "removed", "@": "where" };
  const lines = text.replace(/^--- (.*)\n\+\+\+ (.*)\n(?=@@ |--- |$)/gm,
    (_, old, now) => `@ ${[now, "/dev/null"].includes(old) ? now : `${old} → ${now}`}\n`).split("\n");
  return [make("pre", { class: "difference", tabindex: "0", role: "group", "aria-label": "Difference" },
    ...lines.map((line) => make("span", { class: kinds[line[0]] ?? "kept" }, `${line}\n`)))];
}
