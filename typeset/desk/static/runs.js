// The look of crossing sums: black squares, and in the one before a run its sum, above right of a diagonal or below left.

import { runAt, wayOf } from "./crossing.js";
import { draw } from "./dom.js";
import { at } from "./drawing.js";
import { CELL } from "./outline.js";

// Of each square before a run, by row and column from 0: the runs across and down that it names.
function before(drawing) {
  const found = new Map();
  for (const [index, run] of drawing.cages.entries()) {
    const way = wayOf(run);
    const [row, column] = at(run.cells[0]);
    const key = way === "across" ? `${row} ${column - 1}` : `${row - 1} ${column}`;
    found.set(key, { ...found.get(key), [way]: index });
  }
  return found;
}

export function blackSquares({ drawing }) {
  const summed = before(drawing);
  const black = drawing.black.map((cell) => at(cell).join(" "));
  return [...new Set([...black, ...summed.keys()])].flatMap((key) => {
    const [y, x] = key.split(" ").map((one) => (Number(one) - 1) * CELL);
    const runs = summed.get(key);
    if (!runs) return [draw("rect", { x, y, width: CELL, height: CELL, class: "black-square" })];
    const kind = (way) => (runs[way] === undefined ? "black-square" : "summed");
    return [draw("path", { d: `M${x} ${y}h${CELL}v${CELL}Z`, class: kind("across") }),
      draw("path", { d: `M${x} ${y}v${CELL}h${CELL}Z`, class: kind("down") }),
      draw("path", { d: `M${x} ${y}l${CELL} ${CELL}`, class: "diagonal" })];
  });
}

export function runSums({ drawing, typing, marks }) {
  return [...before(drawing)].flatMap(([key, runs]) => {
    const [y, x] = key.split(" ").map((one) => (Number(one) - 1) * CELL);
    return Object.entries(runs).flatMap(([way, index]) => {
      const [across, down] = way === "across" ? [67, 41] : [33, 85];
      const typed = typing?.index === index;
      const { sum } = drawing.cages[index];
      const bad = marks.impossible.has(index);
      const parts = [draw("text", { x: x + across, y: y + down, class: `run-sum${bad ? " impossible" : ""}${sum === null && !typed ? " open" : ""}` },
        typed ? typing.text : sum ?? "?")];
      if (typed) parts.push(draw("path", { d: `M${x + across + 9 * typing.text.length + 4} ${y + down - 26}v30`, class: "caret" }));
      else if (bad) parts.push(draw("path", { d: `M${x + across - 18} ${y + down + 5}h36`, class: "caret" }));
      return parts;
    });
  });
}

// The run whose sum is typed where the hand is.
export function runAtHand({ drawing, cursor, tool }) {
  return drawing.cages[runAt(drawing, cursor, tool)]?.cells ?? [];
}
