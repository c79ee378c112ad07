// What keys and pointers make of crossing sums: squares made black and white, sums typed across and down, digits.

import { isCrossing, runAfter, runAt, WAYS, withSquares, wayOf } from "./crossing.js";
import { plural } from "./dom.js";
import { squares, withGiven, withSum } from "./drawing.js";
import { place } from "./saying.js";

const LONGEST = 2;      // digits of a sum: nine digits add to 45

export class Squares {
  constructor(pencil) {
    this.pencil = pencil;
  }

  get now() {
    return this.pencil.history.now;
  }

  // With the tool for it, a press turns the square, and a drag makes all on its way the same.
  press(cell) {
    const { pencil } = this;
    pencil.cursor = cell;
    pencil.selected = [];
    pencil.drag = pencil.tool === "black" ? { kind: "paint", path: [cell], dark: !this.now.black.includes(cell) } : null;
    pencil.changed();
  }

  paint(some, dark) {
    const drawing = withSquares(this.now, some, dark);
    const [across, down] = WAYS.map((way) => drawing.cages.filter((run) => wayOf(run) === way).length);
    const what = some.length > 1 ? plural(some.length, "square") : place(some[0]);
    this.pencil.change(drawing, `${what} ${dark ? "black" : "white"}; ${plural(across, "run")} across, ${down} down`);
  }

  key({ key, ctrlKey, metaKey }) {
    const { pencil } = this;
    const { tool, cursor } = pencil;
    const dark = this.now.black.includes(cursor);
    if (key === " " || (key === "Enter" && tool === "black")) this.turn();
    else if (key === "Enter") this.next();
    else if (/^\d$/.test(key) && !ctrlKey && !metaKey) this.digit(key, dark);
    else if (key === "Backspace" || key === "Delete") this.rub(key === "Delete");
    else if (key === "Escape" && pencil.typing) pencil.escape();
    else return false;
    return true;
  }

  turn() {
    this.pencil.settle();
    this.paint([this.pencil.cursor], !this.now.black.includes(this.pencil.cursor));
  }

  // Ends a sum, and goes to the next run the same way.
  next() {
    const { pencil } = this;
    pencil.settle();
    const run = this.now.cages[runAt(this.now, pencil.cursor, pencil.tool)]
      ?? this.now.cages.findLast((one) => wayOf(one) === pencil.tool);
    if (!run) return pencil.changed();
    const after = runAfter(this.now, run);
    [pencil.cursor] = after.cells;
    pencil.say(`${pencil.tool}, ${plural(after.cells.length, "cell")}`);
    return pencil.changed();
  }

  digit(key, dark) {
    const { pencil } = this;
    if (pencil.tool === "black") return pencil.say("choose Across or Down to type a sum");
    if (dark) return pencil.say("this square is black");
    if (pencil.tool === "given" || pencil.tool === "answer") return pencil.typeDigit(Number(key));
    const index = runAt(this.now, pencil.cursor, pencil.tool);
    if (index < 0) return pencil.say(`no run ${pencil.tool} here`);
    const text = pencil.typing?.text ?? "";
    if (text.length < LONGEST && (text || key !== "0")) pencil.sum(index, text + key);
    return null;
  }

  // On to the next white square, row by row, or back to the one before.
  onward(by) {
    const { pencil } = this;
    const all = squares(this.now);
    let index = all.indexOf(pencil.cursor) + by;
    while (this.now.black.includes(all[index])) index += by;
    pencil.settle();
    pencil.cursor = all[index] ?? pencil.cursor;
    pencil.changed();
  }

  // The last digit of a sum, or all of it; a given, or a digit of the answer; or what makes a square black.
  rub(all) {
    const { pencil } = this;
    const { tool, cursor } = pencil;
    if (tool === "black") return this.paint([cursor], false);
    if (tool === "given") {
      pencil.settle();
      return pencil.change(withGiven(this.now, cursor, null), "no given");
    }
    if (tool === "answer") return all ? pencil.remove() : pencil.rub();
    const index = runAt(this.now, cursor, tool);
    const text = pencil.typing?.text ?? String(this.now.cages[index]?.sum ?? "");
    if (index < 0 || !text) return null;
    if (!all) return pencil.sum(index, text.slice(0, -1));
    pencil.settle();
    return pencil.change(withSum(this.now, index, null), "no sum yet");
  }
}

// The tools of each kind of puzzle, the first of them taken up with it.
export function toolsOf(drawing) {
  return drawing && isCrossing(drawing) ? ["black", ...WAYS, "given", "answer"] : ["cage", "given", "region", "answer"];
}
