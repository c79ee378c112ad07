// The grid to draw on: cells that hold the focus and take pointers, over one picture of all that is drawn.

import { draw, make, rove } from "./dom.js";
import { answerAt, at, cells, name, regionsOf } from "./drawing.js";
import { figures } from "./figures.js";
import { borders, CELL, DASHES, outline } from "./outline.js";
import { cellName } from "./saying.js";

export class Surface {
  // `hands` has press(cell, event), over(cell), release() and cancel(), for what a pointer does.
  constructor(element, hands) {
    this.element = element;
    this.hands = hands;
    this.size = 0;
    this.pointer = null;
    element.addEventListener("pointerdown", (event) => this.press(event));
    element.addEventListener("pointermove", (event) => this.move(event));
    element.addEventListener("pointerup", (event) => this.lift(event, "release"));
    element.addEventListener("pointercancel", (event) => this.lift(event, "cancel"));
  }

  press(event) {
    if (event.button !== 0 || this.pointer !== null) return;
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
    const span = this.element.getBoundingClientRect().width / this.size / 4;
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

  under({ clientX, clientY }) {
    const box = this.element.getBoundingClientRect();
    const column = Math.floor((clientX - box.left) / box.width * this.size) + 1;
    const row = Math.floor((clientY - box.top) / box.height * this.size) + 1;
    return row >= 1 && column >= 1 && row <= this.size && column <= this.size ? name(row, column) : null;
  }

  focus() {
    this.element.querySelector('[tabindex="0"]')?.focus({ preventScroll: true });
  }

  holdsFocus() {
    return this.element.contains(document.activeElement);
  }

  show(view) {
    const { drawing, cursor, selected, marks } = view;
    if (drawing.size !== this.size) this.lay(drawing.size);
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
    this.picture.replaceChildren(...picture(view));
  }

  lay(size) {
    this.size = size;
    const extent = size * CELL;
    this.picture = draw("svg", { viewBox: `-4 -4 ${extent + 8} ${extent + 8}`, "aria-hidden": "true" });
    this.boxes = new Map(cells(size).map((cell) => [cell, make("div", { role: "gridcell", tabindex: "-1", "data-cell": cell })]));
    const rows = Array.from({ length: size }, (_, row) => make("div", { role: "row" },
      ...Array.from({ length: size }, (_, column) => this.boxes.get(name(row + 1, column + 1)))));
    this.element.style.setProperty("--size", size);
    this.element.replaceChildren(this.picture, ...rows);
  }
}

const corner = (cell) => at(cell).reverse().map((one) => (one - 1) * CELL);

function picture(view) {
  const { drawing, typing, marks, tool } = view;
  const extent = drawing.size * CELL;
  const thin = Array.from({ length: drawing.size - 1 }, (_, line) => `M${(line + 1) * CELL} 0V${extent}M0 ${(line + 1) * CELL}H${extent}`);
  const parts = [hatching(), draw("rect", { x: -9, y: -9, width: extent + 18, height: extent + 18, class: "sheet-of-paper" }), ...grounds(view)];
  parts.push(...figures(drawing, false), draw("path", { d: thin.join(""), class: "thin" }));
  parts.push(draw("path", { d: borders(drawing.size, regionsOf(drawing)), class: tool === "region" ? "border on" : "border" }));
  parts.push(draw("rect", { width: extent, height: extent, class: "frame" }));
  parts.push(...figures(drawing, true));
  for (const [index, cage] of drawing.cages.entries()) {
    parts.push(draw("path", { d: outline(cage.cells), class: "cage", ...DASHES }));
    const typed = typing?.index === index;
    if (cage.sum !== null || typed) parts.push(...label(cage, typed ? `${typing.text}` : `${cage.sum}`, typed, marks.impossible.has(index)));
  }
  for (const cell of cells(drawing.size)) parts.push(...inside(drawing, cell, marks));
  return parts;
}

// Lines at a slant over cells at fault: to be told without colour.
function hatching() {
  return draw("defs", {}, draw("pattern", { id: "slant", width: 12, height: 12, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
    draw("path", { d: "M0 0V12", class: "slant" })));
}

function grounds({ drawing, selected, marks, uncagedAllowed }) {
  const parts = [];
  const box = (cell, kind, extra = {}) => {
    const [x, y] = corner(cell);
    parts.push(draw("rect", { x, y, width: CELL, height: CELL, class: kind, ...extra }));
  };
  const caged = new Set(drawing.cages.flatMap((cage) => cage.cells));
  if (!uncagedAllowed) for (const cell of cells(drawing.size)) if (!caged.has(cell)) box(cell, "loose");
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
  const given = drawing.givens[cell];
  const typed = answerAt(drawing.answer, cell);
  const wrong = marks.setter.has(cell);
  const parts = [];
  if (given) parts.push(write(given, "given"));
  else if (typed) parts.push(write(typed, "answer"));
  if (wrong) parts.push(draw("circle", { cx: x + 50, cy: y + 56, r: 34, class: "wrong" }));
  const both = marks.differs.get(cell)?.join(" ⇄ ");
  if (both && !given) parts.push(write(both, both.length > 5 ? "swapped close" : "swapped", typed ? 94 : 66));
  else if (marks.derived.has(cell) && !given && !typed) {
    const can = marks.derived.get(cell);
    parts.push(write(can.join(" "), can.length === 1 ? "derived one" : "derived", can.length === 1 ? 70 : 64));
  }
  return parts;
}
