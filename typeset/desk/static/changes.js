// What has changed in the book since its files were last built: a short list, each thing with the way to it.

import { make, plural } from "./dom.js";

const $ = (id) => document.getElementById(id);
const MOST = 24;

export class Changes {
  // lead(what, go) leaves the list and goes where something is; open(id) opens a puzzle, toPage(number) a page.
  constructor(lead, open, toPage) {
    Object.assign(this, { lead, open, toPage });
    this.asked = 0;
  }

  // Nothing is shown from before: the book may be another, and so may its files.
  begin() {
    $("changes-said").textContent = "Looking…";
    $("changes-said").hidden = false;
    $("changes-list").replaceChildren();
    return this.load();
  }

  async load() {
    const mine = ++this.asked;
    const answer = await fetch("/changes.json").catch(() => null);
    if (mine !== this.asked || !answer?.ok) return;
    this.take(await answer.json());
  }

  take(said) {
    const rows = said.known ? [
      ["Puzzles", said.puzzles.map((id) => this.button(id, () => this.open(id)))],
      ["New", said.added.map((id) => this.button(id, () => this.open(id)))],
      ["Gone", said.gone],
      ["Texts", said.texts],
      ["Settings", said.settings],
      ["Pages", runs(said.pages).map(([from, to]) => this.button(from === to ? `${from}` : `${from}–${to}`, () => this.toPage(from)))],
    ].filter(([, items]) => items.length) : [];
    if (said.known && said.count !== said.before) rows.push(["Length", [`${plural(said.count, "page")}, ${said.before} before`]]);
    const text = !said.known ? "Never built here." : rows.length ? "" : "Nothing has changed.";
    $("changes-said").textContent = said.known && !said.fresh ? `${text} The book is compared as it was last read without faults.`.trim() : text;
    $("changes-said").hidden = !$("changes-said").textContent;
    $("changes-list").replaceChildren(...rows.map(([name, items]) => make("div", {}, make("dt", {}, name),
      make("dd", {}, ...items.slice(0, MOST).flatMap((item, index) => (typeof item === "string" && index ? [", ", item] : [item])),
        ...(items.length > MOST ? [`and ${items.length - MOST} more`] : [])))));
    document.documentElement.dataset.changes = said.known ? rows.length : "never";
  }

  button(text, go) {
    const button = make("button", { type: "button" }, text);
    button.addEventListener("click", () => this.lead(go));
    return button;
  }
}

// Numbers in order as runs of those that follow one another.
function runs(numbers) {
  const found = [];
  for (const number of numbers) {
    if (found.length && found.at(-1)[1] === number - 1) found.at(-1)[1] = number;
    else found.push([number, number]);
  }
  return found;
}
