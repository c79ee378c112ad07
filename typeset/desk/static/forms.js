// What a puzzle has besides its grid: rules and houses by name, regions, and what it is called.

import { make } from "./dom.js";
import { resized, WIDEST } from "./crossing.js";
import { same, usualBoxes } from "./drawing.js";

const $ = (id) => document.getElementById(id);

const HOUSES = { diagonals: "both diagonals", windows: "four windows" };
const RULES = {
  knight: "no equal digits a knight's move apart", king: "no equal digits a king's move apart",
  nonconsecutive: "no consecutive digits side by side", from_zero: "digits from 0",
};
const ON_CELLS = {
  odd: "odd cells", even: "even cells", rising: "a rising line", greater: "greater than its neighbour",
  consecutive: "consecutive neighbours", double: "one the double of the other", greater_cage: "a cage greater than its neighbour",
  sum_line: "a line that adds to its first digit", equal_sums: "a line of equal sums",
  between: "a line that lies between its two ends",
};
const NAMES = ["id", "title", "by", "grade", "note", "remark"];

const EXTENT = ["rows", "columns"];
const LEAST = 2;

// A field for as many rows or columns as crossing sums may have.
export function ofSquares(field) {
  return Object.assign(field, { min: LEAST, max: WIDEST });
}

const listed = (value) => (value === null ? [] : Array.isArray(value) ? value : [value]);
const packed = (all) => (all.length ? all : null);

export class Forms {
  // `put(drawing, said)` takes the changed drawing; `hand()` gives { drawing, selected } as they are now.
  constructor(hand, put) {
    Object.assign(this, { hand, put });
    this.boxes = new Map();
    for (const [key, names] of [["houses", HOUSES], ["rules", RULES]]) {
      for (const [name, text] of Object.entries(names)) $("rule-boxes").append(this.box(key, name, text));
    }
    $("rule-kind").append(...Object.entries(ON_CELLS).map(([name, text]) => make("option", { value: name }, text)));
    for (const key of EXTENT) {
      ofSquares($(`squares-${key}`)).addEventListener("change", (event) => this.resize(key, event.target));
    }
    $("rule-add").addEventListener("click", () => this.add());
    $("regions").addEventListener("change", () => this.regions());
    for (const name of NAMES) $(`name-${name}`).addEventListener("change", (event) => this.name(name, event.target));
  }

  box(key, name, text) {
    const input = make("input", { type: "checkbox" });
    this.boxes.set(`${key} ${name}`, input);
    input.addEventListener("change", () => {
      const { drawing } = this.hand();
      const others = listed(drawing[key]).filter((one) => one !== name);
      this.put({ ...drawing, [key]: packed(input.checked ? [...others, name] : others) }, `${text}: ${input.checked ? "on" : "off"}`);
    });
    return make("label", {}, input, text);
  }

  add() {
    const { drawing, selected } = this.hand();
    const kind = $("rule-kind").value;
    if (!selected.length) {
      $("rule-hint").textContent = "Select its cells in the grid first, in their order (Shift and arrows, or Select).";
      return;
    }
    $("rule-hint").textContent = "";
    const rule = { [kind]: selected.join(" ") };
    this.put({ ...drawing, rules: [...listed(drawing.rules), rule] }, `${ON_CELLS[kind]}: ${selected.join(" ")}`);
  }

  regions() {
    const { drawing } = this.hand();
    const value = $("regions").value;
    if (value !== "own") this.put({ ...drawing, regions: value === "none" ? "none" : null }, `regions: ${value}`);
    else $("regions").value = this.regionsNow(drawing);
  }

  // What is too few or too many becomes the least or the most.
  resize(key, field) {
    const { drawing } = this.hand();
    const count = Math.max(LEAST, Math.min(WIDEST, Math.trunc(field.valueAsNumber) || drawing[key]));
    field.value = count;
    const { rows, columns } = { ...drawing, [key]: count };
    this.put(resized(drawing, rows, columns), `${rows} rows, ${columns} columns`);
  }

  regionsNow(drawing) {
    return drawing.regions === "none" ? "none" : drawing.regions ? "own" : "usual";
  }

  name(key, input) {
    const value = input.value.trim();
    const { drawing } = this.hand();
    this.put({ ...drawing, [key]: value || (key === "id" ? "" : null) }, `${key} ${value || "none"}`);
  }

  show(drawing) {
    for (const [key, input] of this.boxes) {
      const [what, name] = key.split(" ");
      input.checked = listed(drawing[what]).includes(name);
    }
    $("regions").value = this.regionsNow(drawing);
    $("regions").options[0].disabled = !usualBoxes(drawing.size);
    $("regions").options[2].disabled = this.regionsNow(drawing) !== "own";
    for (const name of NAMES) {
      const field = $(`name-${name}`);
      if (document.activeElement !== field) field.value = drawing[name] ?? "";
    }
    for (const key of EXTENT) {
      const field = $(`squares-${key}`);
      if (drawing.black && document.activeElement !== field) field.value = drawing[key];
    }
    const text = JSON.stringify([drawing.rules, drawing.houses]);
    if (text === this.text) return;
    this.text = text;
    const more = ["rules", "houses"].flatMap((key) => listed(drawing[key]).filter((one) => typeof one !== "string")
      .map((one) => this.listing(key, one)));
    $("rule-list").replaceChildren(...more);
  }

  // A rule on cells, or a house of the puzzle's own, as the manifest says it, with a button that takes it away.
  listing(key, one) {
    const said = Object.entries(one).map(([name, value]) => `${name}: ${typeof value === "string" ? value : JSON.stringify(value)}`).join(", ");
    const away = make("button", { type: "button", "aria-label": `Take away ${said}` }, "×");
    away.addEventListener("click", () => {
      const { drawing } = this.hand();
      const left = listed(drawing[key]);
      const at = left.findIndex((other) => same(other, one));
      this.put({ ...drawing, [key]: packed(left.filter((_, index) => index !== at)) }, `${said} taken away`);
      $("rule-add").focus();
    });
    return make("li", {}, make("code", {}, said), " ", away);
  }
}
