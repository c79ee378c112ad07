// The note to oneself beside a puzzle: shown, written, and kept while it is not saved.

import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

export class Remark {
  constructor(writable) {
    this.row = null;
    this.drafts = new Map();        // by id, what was typed and not saved: { text, was }
    $("remark-form").hidden = !writable;
    $("remark-read").hidden = writable;
    $("remark-text").addEventListener("input", () => this.typed());
    $("remark-form").addEventListener("keydown", (event) => {
      if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) $("remark-form").requestSubmit();
    });
    window.addEventListener("beforeunload", (event) => { if (this.drafts.size) event.preventDefault(); });
    $("remark-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.save();
    });
  }

  // What was typed for a puzzle goes along with its id.
  renamed(id, to) {
    if (this.drafts.has(id)) this.drafts.set(to, this.drafts.get(id));
    this.drafts.delete(id);
  }

  // The puzzle that is open, as it was last read.
  show(row) {
    const other = row.id !== this.row?.id;
    this.row = row;
    const draft = this.drafts.get(row.id);
    const text = draft?.text ?? row.remark;
    if (other) {
      $("remark").open = Boolean(text);
      $("remark-said").textContent = "";
    }
    $("remark-read").textContent = row.remark || "None";
    if ($("remark-text").value !== text) $("remark-text").value = text;
    $("remark-save").disabled = !draft;
  }

  typed() {
    const text = $("remark-text").value;
    const { id, remark } = this.row;
    if (text.trim() === remark) this.drafts.delete(id);
    else this.drafts.set(id, { text, was: this.drafts.get(id)?.was ?? remark });
    $("remark-save").disabled = !this.drafts.has(id);
    $("remark-said").textContent = "";
  }

  // What was typed since goes on from what the file has now, and so does the puzzle shown, until it is read again.
  saved(id, { text, was }) {
    const now = text.trim();
    const later = this.drafts.get(id);
    if (!later || later.text === text) this.drafts.delete(id);
    else later.was = now;
    if (this.row.id === id && this.row.remark === was) this.row = { ...this.row, remark: now };
  }

  async save() {
    const { id, remark } = this.row;
    const draft = this.drafts.get(id);
    if (!draft) return;
    let said;
    try {
      const { file } = await ask("remark", { id, text: draft.text, was: draft.was });
      this.saved(id, draft);
      said = `saved in ${file}`;
    } catch (error) {
      const now = this.row.id === id ? this.row.remark : remark;
      if (error.status === 409) draft.was = now;      // as it is shown by now
      said = error.status === 409 && now ? `${error.message}; it is now “${now}”. Save again to put yours in its place` : error.message;
    }
    if (this.row.id !== id) return;
    $("remark-said").textContent = said;
    $("remark-save").disabled = !this.drafts.has(id);
  }
}
