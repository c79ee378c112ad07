// A puzzle as text: read from what is pasted, written out to be copied.

import { faultItem, make } from "./dom.js";
import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

export class Paste {
  constructor(hand, put) {
    Object.assign(this, { hand, put });
    this.asks = 0;
    $("paste-read").addEventListener("click", () => this.read());
    $("paste-answer").addEventListener("click", () => this.answer());
    $("copy").addEventListener("click", () => this.copy());
  }

  tell(...parts) {
    $("paste-said").replaceChildren(...parts);
  }

  // What is pasted takes the grid's place; the id stays, and what else the text does not say.
  async read() {
    const { drawing } = this.hand();
    this.asks += 1;
    const found = await this.asked("read", { text: $("paste").value });
    if (!found) return;
    if (found.drawing) {
      const named = Object.fromEntries(["title", "by", "note", "remark", "grade"].map((key) => [key, found.drawing[key] || drawing[key]]));
      this.put({ ...found.drawing, ...named, id: drawing.id || found.drawing.id }, "read into the grid");
    }
    this.tell(found.drawing ? make("p", {}, "Read into the grid; Undo brings back what was there.") : "",
      make("ul", {}, ...found.faults.map((fault) => faultItem({ file: "pasted text", severity: "error", ...fault }))));
  }

  // Rows of digits, whatever stands between them.
  answer() {
    this.asks += 1;
    const { drawing } = this.hand();
    const rows = $("paste").value.split("\n").map((row) => row.replace(/[\s,;|]/g, "").toUpperCase()).filter(Boolean);
    const whole = rows.length === 1 && rows[0].length === drawing.size ** 2 ? rows[0].match(new RegExp(`.{${drawing.size}}`, "g")) : rows;
    if (whole.length !== drawing.size || whole.some((row) => row.length !== drawing.size || /[^1-9A-G.]/.test(row))) {
      this.tell(make("p", {}, `An answer is ${drawing.size} rows of ${drawing.size} digits, with dots for cells left open.`));
      return;
    }
    this.put({ ...drawing, answer: whole }, "your answer is beside the grid");
    this.tell(make("p", {}, "Taken as your answer."));
  }

  async copy() {
    const mine = ++this.asks;
    const found = await this.asked("write", { drawing: this.hand().drawing });
    if (!found || mine !== this.asks) return;
    $("paste").value = found.text;
    $("paste").select();
    const done = await Promise.resolve().then(() => navigator.clipboard.writeText(found.text)).then(() => true, () => false);
    if (mine === this.asks) this.tell(make("p", {}, done ? "Copied." : "Written below, selected: copy it from there."));
  }

  async asked(what, body) {
    try {
      return await ask(what, body);
    } catch (error) {
      this.tell(make("p", {}, error.message));
      return null;
    }
  }
}
