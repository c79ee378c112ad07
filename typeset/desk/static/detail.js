// One puzzle: its answer, its worked path step by step, or why it is not sound and how it could be mended.

import { faultItem, make, place, plural, rove, swap } from "./dom.js";
import { Remark } from "./remark.js";
import { scoreFact } from "./score.js";
import { token } from "./talk.js";

const $ = (id) => document.getElementById(id);

export class Detail {
  constructor(leave, toPage, renamed) {
    this.renamed = renamed;
    this.remark = new Remark(Boolean(token()));
    this.id = null;
    this.row = null;
    this.at = 0;
    this.answer = false;
    $("close").addEventListener("click", leave);
    $("show-page").addEventListener("click", () => toPage(this.row.page));
    $("show-answer-page").addEventListener("click", () => toPage(this.row.answer));
  }

  url(what) {
    return `/puzzles/${encodeURIComponent(this.id)}/${what}`;
  }

  open(id, state) {
    if (id !== this.id) {
      this.at = 0;
      this.answer = false;
      $("work").replaceChildren();
    }
    this.id = id;
    this.next = this.text = this.row = null;
    this.take(state);
    $("detail-title").focus();
  }

  close() {
    const id = this.id;
    this.id = this.text = null;
    return id;
  }

  async take(state) {
    if (!this.id || !state) return;
    const same = state.puzzles.find((one) => one.id === this.id);
    const moved = same?.state === "faulty" && same.file !== this.row?.file;     // named still, and nowhere to be found
    const row = moved || !same ? this.follow(state) ?? same : same;
    if (!row) {
      this.gone(state);
      return;
    }
    const old = state.faults.filter((one) => one.severity === "error" && [row.file, state.manifest].includes(one.file));
    const text = JSON.stringify([row, old]) + (row.state === "sound" ? "" : state.number);
    if (text === this.text) return;
    this.text = text;
    this.row = row;
    this.round = state.number;
    this.head(row, old);
    const sound = ["sound", "over grade", "under grade"].includes(row.state);
    if (sound) await this.path();
    else if (["no answer", "two answers"].includes(row.state)) await this.why();
    else {
      this.plain(row.faults.some((one) => one.message === row.why) ? "" : row.why);
      if (row.size) $("work").append(make("img", { class: "grid", alt: "The grid as far as it can be read", src: this.url(`answer.svg?g=${this.round}`) }));
    }
  }

  // The puzzle under another id: the one it was given here, or else the one that now stands where it stood.
  follow(state) {
    const found = state.puzzles.find((one) => one.id && one.id === this.next)
      ?? state.puzzles.find((one) => one.id && one.file === this.row?.file && one.line === this.row.line);
    if (found) {
      this.remark.renamed(this.id, found.id);
      this.id = found.id;
      this.renamed(found.id);
    }
    return found;
  }

  // It cannot be read, or is in the book no longer: nothing that was known of it holds.
  gone(state) {
    const faults = state.faults.filter((one) => one.file === this.row?.file);
    this.text = null;
    $("detail-facts").replaceChildren(make("span", { class: "state bad" }, faults.length ? "cannot be read" : "not in the book"));
    $("detail-faults").replaceChildren(...faults.map(faultItem));
    $("show-page").hidden = $("show-answer-page").hidden = $("remark").hidden = true;
    this.plain(faults.length ? "Its file has a fault. Once that is mended, the puzzle stands here again."
      : `No puzzle of the book has the id “${this.id}” now.`);
  }

  plain(text) {
    this.told = null;
    $("work").replaceChildren(make("p", { role: "status" }, text));
  }

  head(row, old) {
    const title = [row.number ? `${row.number} ` : "", row.title || row.id];
    $("detail-title").replaceChildren(...title);
    const facts = [make("span", { class: `state ${row.state === "sound" ? "good" : "bad"}` }, row.state), row.grade,
      row.score != null ? scoreFact(row.score) : null, row.steps != null ? plural(row.steps, "step") : null, row.path ? `path: ${row.path}` : null,
      row.hardest ? `hardest: ${row.hardest}` : null, row.size ? `${row.size}, ${plural(row.cages, row.cage)}` : null,
      make("code", { class: "place" }, place(row)), old.length ? `as last read: ${old[0].file} has a fault` : null].filter(Boolean);
    $("detail-facts").replaceChildren(...facts.flatMap((fact, index) => (index ? [" · ", fact] : [fact])));
    $("detail-faults").replaceChildren(...row.faults.map(faultItem));
    $("remark").hidden = false;
    this.remark.show(row);
    $("show-page").hidden = !row.page;
    $("show-answer-page").hidden = !row.answer;
  }

  async path() {
    const { text } = this;
    if (!$("work").children.length) $("work").replaceChildren(make("p", { role: "status" }, "Telling the path…"));
    const answer = await fetch(this.url("puzzle.json"));
    const told = answer.ok ? await answer.json() : null;
    if (text !== this.text || !told) return;
    this.told = told;
    const steps = this.told.steps;
    this.at = Math.min(this.at, steps.length);
    this.picture = make("img", { class: "grid", alt: "" });
    this.slider = make("input", { type: "range", min: 0, max: steps.length, value: this.at, "aria-label": "Step" });
    this.slider.addEventListener("input", () => this.go(Number(this.slider.value)));
    const button = (label, name, to) => {
      const made = make("button", { type: "button", "aria-label": name }, label);
      made.addEventListener("click", () => this.go(to()));
      return made;
    };
    this.toAnswer = make("button", { type: "button", "aria-pressed": "false", class: "to-answer" }, "Answer");
    this.toAnswer.addEventListener("click", () => this.toggleAnswer());
    this.where = make("output", { class: "where" });
    this.chapter = make("h3", { class: "chapter" });
    this.words = make("p", { class: "words", role: "status" });
    const shape = make("p", { class: "shape" }, this.told.shape ?? "");
    this.list = make("ol", { class: "steps", "aria-label": "All steps" });
    this.list.append(...steps.map((step, index) => {
      const item = make("button", { type: "button" }, make("span", { class: "count" }, index + 1), ` ${step.technique}`);
      item.addEventListener("click", () => this.go(index));
      return make("li", {}, item);
    }));
    $("work").replaceChildren(
      make("div", { class: "bar walk" },
        button("«", "First step", () => 0), button("‹", "Previous step", () => this.at - 1), this.where,
        button("›", "Next step", () => this.at + 1), button("»", "Last step", () => steps.length), this.toAnswer),
      this.slider, this.chapter, this.words, this.picture, shape,
      make("details", { class: "all" }, make("summary", {}, "All steps"), this.list));
    await this.go(this.at, this.answer);
  }

  async go(to, answer = false) {
    const steps = this.told?.steps ?? [];
    this.at = Math.max(0, Math.min(to, steps.length));
    this.answer = answer;
    const step = steps[this.at];
    this.toAnswer.setAttribute("aria-pressed", String(answer));
    this.slider.value = this.at;
    this.where.textContent = answer ? "Answer" : step ? `Step ${this.at + 1} of ${steps.length}` : "The end";
    this.chapter.textContent = answer || !step ? "" : step.chapter;
    this.words.replaceChildren(...(answer ? [] : step ? [
      make("strong", {}, step.technique), " ", step.text, " ",
      make("span", { class: step.proved ? "proved" : "unproved" }, step.proved ? "✓ proved" : "✗ not proved"),
    ] : [this.told.solved ? "Every cell is filled." : "The path stops here, unsolved."]));
    for (const [index, item] of [...this.list.children].entries()) {
      index === this.at && !answer ? item.firstElementChild.setAttribute("aria-current", "step")
        : item.firstElementChild.removeAttribute("aria-current");
    }
    const items = [...this.list.children].map((item) => item.firstElementChild);
    const inside = this.list.contains(document.activeElement);
    rove(items, items[Math.min(this.at, items.length - 1)]);
    if (inside) items[Math.min(this.at, items.length - 1)].focus();
    const what = (number) => this.url(`steps/${number}.svg?g=${this.round}`);
    this.picture.alt = answer ? this.told.answer : step ? `The grid before step ${this.at + 1}` : this.told.answer;
    await swap(this.picture, answer ? this.url(`answer.svg?g=${this.round}`) : what(this.at));
  }

  toggleAnswer() {
    if (this.told && this.row.state !== "two answers") this.go(this.at, !this.answer);
  }

  key(name) {
    if (!this.told) return;
    this.go({ ArrowLeft: this.at - 1, ArrowRight: this.at + 1, Home: 0, End: this.told.steps.length }[name]);
  }

  async why() {
    this.told = null;
    const { text } = this;
    if (!$("work").querySelector(".why")) $("work").replaceChildren(make("p", { role: "status" }, "Working out why…"));
    const answer = await fetch(this.url("why.json"));
    if (text !== this.text) return;
    if (!answer.ok) {
      $("work").replaceChildren(make("p", { role: "status" }, "It could not be worked out."));
      return;
    }
    const found = await answer.json();
    const lines = found.lines.filter((line) => !line.startsWith("  "));
    const picture = make("img", { class: "grid", alt: lines.join(" "), src: this.url(`why.svg?g=${this.round}`) });
    const parts = [make("div", { class: "why", role: "status" })];
    for (const line of found.lines) {
      const inner = line.startsWith("  ");
      if (inner && parts.at(-1).tagName !== "UL") parts.push(make("ul", { class: "parts" }));
      if (line.startsWith("    ")) parts.at(-1).lastChild.append(make("br", {}), make("code", {}, line.trim()));
      else if (inner) parts.at(-1).append(make("li", {}, line.trim()));
      else if (parts.at(-1).tagName === "UL") parts.push(make("p", {}, line));
      else parts.at(-1).append(make("p", {}, line));
    }
    $("work").replaceChildren(picture, ...parts);
  }
}
