// The grid to draw on: cells that hold the focus and take pointers, over one picture of all that is drawn.

import { draw, make, rove } from "./dom.js";
import { isCrossing } from "./crossing.js";
import { answerAt, at, extent, name, regionsOf, squares } from "./drawing.js";
import { figures } from "./figures.js";
import { borders, CELL, DASHES, outline } from "./outline.js";
import { Pan } from "./pan.js";
import { blackSquares, runAtHand, runSums } from "./runs.js";
import { cellName } from "./saying.js";

export class Surface {
  // `hands` has press(cell, event), over(cell), release() and cancel(), for what a pointer does.
  constructor(element, hands) {
    this.element = element;
    this.hands = hands;
    this.laid = "";             // for how large a grid of which kind
    this.pointer = null;
    this.pan = new Pan(element, element.parentElement, () => this.drop());
    element.addEventListener("pointerdown", (event) => this.press(event));
    element.addEventListener("pointermove", (event) => this.move(event));
    element.addEventListener("pointerup", (event) => this.lift(event, "release"));
    element.addEventListener("pointercancel", (event) => this.lift(event, "cancel"));
  }

  press(event) {
    if (event.button !== 0 || this.pointer !== null || this.pan.on) return;
    const cell = this.under(event);
    if (!cell) return;
    event.preventDefault();
    this.pointer = event.pointerId;
    this.element.setPointerCapture(event.pointerId);
    this.point = [event.clientX, event.clientY];
    this.last = cell;
    this.hands.press(cell, event);
    this.focus();
  }

  // A quick pointer passes over cells between two events: the line between them is followed.
  move(event) {
    if (event.pointerId !== this.pointer) return;
    const [fromX, fromY] = this.point;
    const [x, y] = this.point = [event.clientX, event.clientY];
    const span = this.element.getBoundingClientRect().width / this.columns / 4;
    const steps = Math.max(1, Math.ceil(Math.hypot(x - fromX, y - fromY) / span));
    for (let step = 1; step <= steps; step++) {
      const cell = this.under({ clientX: fromX + (x - fromX) * step / steps, clientY: fromY + (y - fromY) * step / steps });
      if (cell && cell !== this.last) this.hands.over(this.last = cell);
    }
  }

  lift(event, how) {
    if (event.pointerId !== this.pointer) return;
    this.pointer = null;
    this.hands[how]();
    this.focus();
  }

  // What the pointer began does not count.
  drop() {
    if (this.pointer === null) return;
    this.pointer = null;
    this.hands.cancel();
  }

  under({ clientX, clientY }) {
    const box = this.element.getBoundingClientRect();
    const column = Math.floor((clientX - box.left) / box.width * this.columns) + 1;
    const row = Math.floor((clientY - box.top) / box.height * this.rows) + 1;
    return row >= 1 && column >= 1 && row <= this.rows && column <= this.columns ? name(row, column) : null;
  }

  focus() {
    this.element.querySelector('[tabindex="0"]')?.focus({ preventScroll: true });
  }

  holdsFocus() {
    return this.element.contains(document.activeElement);
  }

  show(view) {
    const { drawing, cursor, selected, marks } = view;
    const wanted = JSON.stringify([extent(drawing), isCrossing(drawing)]);
    if (wanted !== this.laid) this.lay(drawing);
    this.laid = wanted;
    for (const [cell, box] of this.boxes) {
      const said = cellName(drawing, cell, marks);
      if (box.ariaLabel !== said) box.ariaLabel = said;
      box.ariaSelected = String(selected.has(cell));
    }
    const stop = this.boxes.get(cursor);
    if (stop.tabIndex !== 0) {
      const held = this.holdsFocus();
      rove(this.boxes.values(), stop);
      if (held) stop.focus({ preventScroll: true });
    }
    if (cursor !== this.cursor && this.pointer === null) this.reveal(stop);
    this.cursor = cursor;
    this.picture.replaceChildren(...picture(view));
  }

  get larger() {
    const frame = this.element.parentElement;
    return frame.scrollWidth > frame.clientWidth || frame.scrollHeight > frame.clientHeight;
  }

  // Where the grid is larger than its frame, the cell at hand comes into sight, with those around it.
  reveal(cell) {
    const frame = this.element.parentElement;
    const [box, room] = [cell.getBoundingClientRect(), frame.getBoundingClientRect()];
    const around = 1.5 * box.width;
    const by = (from, to, least, most) => Math.max(0, to - most) + Math.min(0, from - least);
    frame.scrollBy(by(box.left - around, box.right + around, room.left, room.right),
      by(box.top - around, box.bottom + around, room.top, room.bottom));
  }

  // Crossing sums have a row and a column more, for the sums of runs that begin at the edge.
  lay(drawing) {
    const [rows, columns] = extent(drawing);
    Object.assign(this, { rows, columns });
    const lead = isCrossing(drawing) ? CELL + EDGE : EDGE;
    this.element.parentElement.classList.toggle("scrolls", isCrossing(drawing));
    this.cursor = null;
    this.picture = draw("svg", { "aria-hidden": "true", viewBox: [-lead, -lead, columns * CELL + lead + EDGE, rows * CELL + lead + EDGE].join(" ") });
    this.boxes = new Map(squares(drawing).map((cell) => [cell, make("div", { role: "gridcell", tabindex: "-1", "data-cell": cell })]));
    const lines = Array.from({ length: rows }, (_, row) => make("div", { role: "row" },
      ...Array.from({ length: columns }, (_, column) => this.boxes.get(name(row + 1, column + 1)))));
    for (const [key, value] of Object.entries({ rows, columns, lead: lead / CELL })) this.element.style.setProperty(`--${key}`, value);
    this.element.replaceChildren(this.picture, ...lines);
  }
}

const EDGE = 4;         // of the frame that lies outside the cells

const corner = (cell) => at(cell).reverse().map((one) => (one - 1) * CELL);

function picture(view) {
  const { drawing, typing, marks, tool } = view;
  const [rows, columns] = extent(drawing);
  const [high, wide] = [rows * CELL, columns * CELL];
  const lead = isCrossing(drawing) ? CELL + 9 : 9;
  const thin = [...Array.from({ length: columns - 1 }, (_, line) => `M${(line + 1) * CELL} 0V${high}`),
    ...Array.from({ length: rows - 1 }, (_, line) => `M0 ${(line + 1) * CELL}H${wide}`)];
  const parts = [hatching(), draw("rect", { x: -lead, y: -lead, width: wide + lead + 9, height: high + lead + 9, class: "sheet-of-paper" }), ...grounds(view)];
  if (!isCrossing(drawing)) parts.push(...figures(drawing, false));
  parts.push(draw("path", { d: thin.join(""), class: "thin" }));
  const frame = draw("rect", { width: wide, height: high, class: "frame" });
  if (isCrossing(drawing)) {
    parts.push(...blackSquares(view), frame, ...runSums(view), ...squares(drawing).flatMap((cell) => inside(drawing, cell, marks)));
    return parts;
  }
  parts.push(draw("path", { d: borders(drawing.size, regionsOf(drawing)), class: tool === "region" ? "border on" : "border" }));
  parts.push(frame);
  parts.push(...figures(drawing, true));
  for (const [index, cage] of drawing.cages.entries()) {
    parts.push(draw("path", { d: outline(cage.cells), class: "cage", ...DASHES }));
    const typed = typing?.index === index;
    if (cage.sum !== null || typed) parts.push(...label(cage, typed ? `${typing.text}` : `${cage.sum}`, typed, marks.impossible.has(index)));
  }
  for (const cell of squares(drawing)) parts.push(...inside(drawing, cell, marks));
  return parts;
}

// Lines at a slant over cells at fault: to be told without colour.
function hatching() {
  return draw("defs", {}, draw("pattern", { id: "slant", width: 12, height: 12, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
    draw("path", { d: "M0 0V12", class: "slant" })));
}

function grounds(view) {
  const { drawing, selected, marks, uncagedAllowed } = view;
  const parts = [];
  const box = (cell, kind, extra = {}) => {
    const [x, y] = corner(cell);
    parts.push(draw("rect", { x, y, width: CELL, height: CELL, class: kind, ...extra }));
  };
  const caged = new Set(drawing.cages.flatMap((cage) => cage.cells));
  if (!uncagedAllowed || isCrossing(drawing)) for (const cell of squares(drawing)) if (!caged.has(cell)) box(cell, "loose");
  if (isCrossing(drawing)) for (const cell of runAtHand(view)) box(cell, "at-hand");
  for (const cell of marks.step) box(cell, "stepped");
  for (const cell of marks.conflict) box(cell, "fault", { fill: "url(#slant)" });
  for (const cell of marks.differs.keys()) box(cell, "swap");
  for (const cell of selected) box(cell, "picked");
  return parts;
}

function label(cage, text, typed, impossible) {
  const [x, y] = corner(cage.cells[0]);
  const width = 17 * Math.max(text.length, 1) + (typed ? 12 : 5);
  const parts = [draw("rect", { x: x + 2.5, y: y + 2.5, width, height: 28, class: "patch" }),
    draw("text", { x: x + 5, y: y + 26, class: impossible ? "sum impossible" : "sum" }, text)];
  if (typed) parts.push(draw("path", { d: `M${x + 17 * text.length + 8} ${y + 5}v23`, class: "caret" }));
  if (impossible) parts.push(draw("path", { d: `M${x + 4} ${y + 31}h${width - 4}`, class: "caret" }));
  return parts;
}

function inside(drawing, cell, marks) {
  const [x, y] = corner(cell);
  const write = (text, kind, down = 72, across = 50) => draw("text", { x: x + across, y: y + down, class: kind }, text);
  const given = drawing.givens[cell] ?? null;
  const typed = answerAt(drawing.answer, cell);
  const wrong = marks.setter.has(cell);
  const parts = [];
  if (given !== null) parts.push(write(given, "given"));
  else if (typed !== null) parts.push(write(typed, "answer"));
  if (wrong) parts.push(draw("circle", { cx: x + 50, cy: y + 56, r: 34, class: "wrong" }));
  const both = marks.differs.get(cell)?.join(" ⇄ ");
  if (both && given === null) parts.push(write(both, both.length > 5 ? "swapped close" : "swapped", typed === null ? 66 : 94));
  else if (marks.derived.has(cell) && given === null && typed === null) {
    const can = marks.derived.get(cell);
    parts.push(write(can.join(" "), can.length === 1 ? "derived one" : "derived", can.length === 1 ? 70 : 64));
  }
  return parts;
}
