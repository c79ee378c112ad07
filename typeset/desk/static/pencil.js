// The hand that draws: where it is, what it holds selected, and what keys and pointers make of the drawing.

import {
  at, cageOf, cells, digitsOf, dissolve, extent, fence, grow, History, merge, name, region, regionAt, regionsOf, split, take, withAnswer, withGiven, withSum,
} from "./drawing.js";
import { isCrossing, withSquares } from "./crossing.js";
import { cageSaid, list, sumSaid, taken } from "./saying.js";
import { Squares, toolsOf } from "./squares.js";
import { plural } from "./dom.js";

const ARROWS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };
const LONGEST = 3;      // digits of a sum

export class Pencil {
  // `changed` is called after whatever shows, `say` with what is to be heard.
  constructor(changed, say) {
    this.changed = changed;
    this.say = say;
    this.tool = "cage";
    this.squares = new Squares(this);
    this.start(null);
  }

  start(drawing) {
    this.history = new History(drawing);
    this.fit();
    this.cursor = "r1c1";
    this.selected = [];
    this.typing = null;         // { key, text, index } while a number is being typed
    this.drag = null;
    this.down = false;          // whether arrows select, as with Shift held
    this.selecting = false;     // whether pointers do
  }

  // As it would be were the pointer lifted now.
  get drawing() {
    return this.drag ? this.dragged() : this.history.now;
  }

  get shown() {
    return new Set(this.drag?.kind === "select" ? this.drag.path : this.selected);
  }

  change(drawing, said, joins = null) {
    const done = this.history.change(drawing, joins);
    this.within();
    if (done || said) this.say(done ? said : "nothing to change");
    this.changed();
    return done;
  }

  // A change by others, as a repair: one step to be undone.
  put(drawing, said) {
    this.settle();
    this.selected = [];
    this.change(drawing, said);
  }

  // The cursor stays in the grid, which may be smaller than the one before.
  within() {
    this.place(at(this.cursor));
    this.fit();
  }

  place(spot) {
    const most = extent(this.history.now);
    this.cursor = name(...spot.map((one, index) => Math.max(1, Math.min(most[index], one))));
  }

  // The tool is one of those for the kind of puzzle that is drawn by now.
  fit() {
    const tools = toolsOf(this.history.now);
    if (!tools.includes(this.tool)) [this.tool] = tools;
  }

  get crossing() {
    return isCrossing(this.history.now);
  }

  use(tool) {
    this.settle();
    this.tool = tool;
    this.say(`${tool} tool`);
    this.changed();
  }

  // Ends the typing of a number.
  settle() {
    this.typing = null;
    this.history.close();
  }

  undo(again = false) {
    this.settle();
    this.selected = [];
    const done = again ? this.history.redo() : this.history.undo();
    this.within();
    this.say(!done ? `nothing to ${again ? "redo" : "undo"}`
      : `${again ? "done again" : "undone"}, ${plural(this.history.now.cages.length, this.crossing ? "run" : "cage")}`);
    this.changed();
  }

  // Pointers.

  press(cell, event) {
    this.settle();
    if (this.crossing) {
      this.squares.press(cell);
      return;
    }
    this.cursor = cell;
    const many = event.shiftKey || event.ctrlKey || event.metaKey || this.selecting;
    if (many || this.selected.includes(cell)) {
      const kept = many ? this.selected : this.selected.filter((one) => one !== cell);
      this.drag = { kind: "select", path: [...kept.filter((one) => one !== cell), cell], fresh: !this.selected.includes(cell) };
    } else {
      this.selected = [];
      this.drag = this.tool === "cage" || this.tool === "region" ? this.begun(cell) : null;
    }
    this.changed();
  }

  begun(cell) {
    const now = this.history.now;
    const index = this.tool === "cage" ? cageOf(now, cell) : regionAt(now, cell);
    return index === null || index < 0 ? { kind: "new", path: [cell] } : { kind: "grow", path: [cell], index };
  }

  over(cell) {
    if (!this.drag) return;
    const { path } = this.drag;
    if (!path.includes(cell)) path.push(cell);
    this.cursor = cell;
    this.changed();
  }

  dragged() {
    const { kind, path, index } = this.drag;
    const now = this.history.now;
    if (kind === "paint") return withSquares(now, path, this.drag.dark);
    if (kind === "select" || path.length < 2) return now;
    if (this.tool === "region") return region(now, path, kind === "grow" ? index : null);
    return kind === "grow" ? grow(now, index, path) : fence(now, path);
  }

  release() {
    const { drag } = this;
    if (!drag) return;
    const drawing = this.dragged();
    this.drag = null;
    if (drag.kind === "paint") this.squares.paint(drag.path, drag.dark);
    else if (drag.kind === "select") {
      const clicked = drag.path.length === this.selected.length + (drag.fresh ? 1 : 0);
      this.selected = clicked && !drag.fresh ? drag.path.slice(0, -1) : drag.path;
      this.tellSelected();
    } else if (drag.path.length > 1) {
      this.fenced(drawing, drag.path, drag.kind === "grow" ? drag.index : -1);
    } else this.changed();
  }

  cancel() {
    this.drag = null;
    this.changed();
  }

  fenced(drawing, path, index) {
    const before = this.history.now;
    if (this.tool === "region") {
      this.change(drawing, `region of ${plural(regionsOf(drawing)[regionAt(drawing, path.at(-1))].length, "cell")}`);
      return;
    }
    const made = drawing.cages[cageOf(drawing, path.at(-1))];
    this.change(drawing, [...taken(before, path, index), cageSaid(drawing, made)].join("; "));
  }

  tellSelected() {
    this.say(this.selected.length ? `${plural(this.selected.length, "cell")} selected` : "nothing selected");
    this.changed();
  }

  // Keys. True where the key was for the grid.

  key(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return this.control(event);
    const { key } = event;
    if (ARROWS[key]) this.move(ARROWS[key], (event.shiftKey || this.down) && !this.crossing);
    else if (key === "Home" || key === "End") this.move([0, (key === "Home" ? -1 : 1) * extent(this.history.now)[1]], false);
    else if (this.crossing) return this.squares.key(event);
    else if (/^\d$/.test(key)) this.digit(key);
    else if (key === "Enter") this.enter();
    else if (key === " ") this.toggle();
    else if (key === "Backspace") this.rub();
    else if (key === "Delete") this.remove();
    else if (key === "Escape") return this.escape();
    else return false;
    return true;
  }

  control(event) {
    const key = event.key.toLowerCase();
    if (event.altKey || !["z", "y", "a"].includes(key) || (this.crossing && key === "a")) return false;
    if (key === "a") {
      this.settle();
      this.selected = cells(this.history.now.size);
      this.tellSelected();
    } else this.undo(key === "y" || event.shiftKey);
    return true;
  }

  move([down, across], extend) {
    this.settle();
    const [row, column] = at(this.cursor);
    const from = this.cursor;
    this.place([row + down, column + across]);
    if (!extend) this.selected = [];
    else if (this.cursor !== from) {
      if (!this.selected.length) this.selected = [from];
      if (!this.selected.includes(this.cursor)) this.selected = [...this.selected, this.cursor];
      this.say(`${plural(this.selected.length, "cell")} selected`);
    }
    this.changed();
  }

  toggle() {
    this.settle();
    this.down = !this.down;
    if (this.down && !this.selected.includes(this.cursor)) this.selected = [...this.selected, this.cursor];
    this.say(this.down ? "pencil down: arrows select cells" : `pencil up, ${plural(this.selected.length, "cell")} selected`);
    this.changed();
  }

  enter() {
    if (this.typing) {
      this.settle();
      const cage = this.history.now.cages[cageOf(this.history.now, this.cursor)];
      if (this.tool === "cage" && cage) this.say(cageSaid(this.history.now, cage));
      this.changed();
    } else if (this.tool === "cage" || this.tool === "region") this.close();
  }

  // Fences what is selected, or else the cell at hand where it lies in no cage.
  close() {
    const now = this.history.now;
    const some = this.selected.length ? this.selected : cageOf(now, this.cursor) < 0 && this.tool === "cage" ? [this.cursor] : [];
    if (!some.length) return this.say("nothing selected");
    this.selected = [];
    this.down = false;
    return this.fenced(this.tool === "region" ? region(now, some) : fence(now, some), some, -1);
  }

  escape() {
    if (this.drag) this.cancel();
    else if (this.typing) this.settle();
    else if (!this.selected.length && !this.down) return false;
    else {
      this.selected = [];
      this.down = false;
      this.say("nothing selected");
    }
    this.changed();
    return true;
  }

  digit(key) {
    if (this.tool === "cage") this.typeSum(key);
    else if (this.tool !== "region") this.typeDigit(Number(key));
  }

  typeSum(key) {
    if (this.selected.length || cageOf(this.history.now, this.cursor) < 0) this.close();
    const index = cageOf(this.history.now, this.cursor);
    if (index < 0) return;
    const text = this.typing?.text ?? "";
    if (text.length >= LONGEST || (!text && key === "0" && digitsOf(this.history.now)[0])) return;
    this.sum(index, text + key);
  }

  sum(index, text) {
    if (!this.typing) this.history.close();
    this.typing = { text, index };
    const drawing = withSum(this.history.now, index, text ? Number(text) : null);
    this.change(drawing, sumSaid(drawing, drawing.cages[index]), `sum of ${drawing.cages[index].cells[0]}`);
  }

  // A given, or a digit of the setter's answer: what is typed next belongs to it as long as both make a digit.
  typeDigit(digit) {
    const { now } = this.history;
    const those = digitsOf(now), most = those.at(-1);
    const longer = Number(`${this.typing?.text ?? ""}${digit}`);
    const value = longer <= most ? longer : digit;
    if (value > most) {
      this.say(`digits go to ${most}`);
      return;
    }
    const known = those.includes(value);    // 0 takes a digit away where it is none
    this.setDigit(known ? value : null);
    if (most > 9) this.typing = { text: known ? `${value}` : "", index: -1 };
    else if (this.tool === "answer" && known) this.onward(1);
  }

  // From a digit of the answer to the next, or the one before.
  onward(by) {
    if (this.crossing) this.squares.onward(by);
    else this.move([0, by], false);
  }

  setDigit(value) {
    const { now } = this.history;
    const drawing = this.tool === "given" ? withGiven(now, this.cursor, value) : withAnswer(now, this.cursor, value);
    this.change(drawing, value === null ? `no ${this.tool}` : `${this.tool} ${value}`, this.typing ? `${this.tool} in ${this.cursor}` : null);
  }

  rub() {
    const { now } = this.history;
    if (this.tool === "given" || this.tool === "answer") {
      this.settle();
      this.setDigit(null);
      if (this.tool === "answer") this.onward(-1);
      return;
    }
    const index = cageOf(now, this.cursor);
    const text = this.typing?.text ?? String(now.cages[index]?.sum ?? "");
    if (index >= 0 && text) this.sum(index, text.slice(0, -1));
  }

  remove() {
    this.settle();
    const some = this.selected.length ? this.selected : [this.cursor];
    const { now } = this.history;
    this.selected = [];
    if (this.tool === "cage") this.change(dissolve(now, some), "cage dissolved");
    else if (this.tool === "region") this.change(region(now, some), `region of ${plural(some.length, "cell")}`);
    else this.change(some.reduce((one, cell) => (this.tool === "given" ? withGiven : withAnswer)(one, cell, null), now), `no ${this.tool}`);
  }

  // What buttons and letters do with the cells selected, or with the one at hand.
  act(what) {
    this.settle();
    const some = this.selected.length ? this.selected : [this.cursor];
    const { now } = this.history;
    if (what === "fence") return this.close();
    if (what === "dissolve") return this.remove();
    const drawing = { split, merge, take }[what](now, some);
    this.selected = [];
    this.down = false;
    const cage = drawing.cages[cageOf(drawing, this.cursor)];
    return this.change(drawing, what === "take" ? `${list(some)} in no cage` : cage ? cageSaid(drawing, cage) : what);
  }
}
