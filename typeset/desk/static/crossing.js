// Crossing sums as they are drawn: squares black or white, and the runs that lie between, each a cage with its sum.

import { answerIn, at, blank, inOrder, name, same, squares } from "./drawing.js";

export const WAYS = ["across", "down"];
export const WIDEST = 30;       // the most rows or columns, as in a manifest

export const isCrossing = (drawing) => Boolean(drawing.black);

export const wayOf = (run) => (at(run.cells[0])[0] === at(run.cells[1])[0] ? "across" : "down");

export function blankCrossing(rows, columns, id = "") {
  return settled({ ...blank(9, id), regions: null, rows, columns, black: [] });
}

// Makes squares black or white. A run that is as it was keeps its sum; one that is new has none. What is typed of an
// answer stays in the squares that are white still.
export function withSquares(drawing, some, dark) {
  const others = drawing.black.filter((cell) => !some.includes(cell));
  return settled({ ...drawing, black: inOrder(dark ? [...others, ...some] : others) });
}

// Of another size: squares that come are white.
export function resized(drawing, rows, columns) {
  const inside = new Set(squares({ rows, columns }));
  return settled({ ...drawing, rows, columns, black: drawing.black.filter((cell) => inside.has(cell)) });
}

function settled(drawing) {
  const white = new Set(squares(drawing).filter((cell) => !drawing.black.includes(cell)));
  const sums = new Map(drawing.cages.map((run) => [run.cells.join(" "), run.sum]));
  const cages = runs(drawing, white).map((cells) => ({ cells, sum: sums.get(cells.join(" ")) ?? null }));
  return { ...drawing, cages, answer: answerIn(drawing, drawing.answer), givens: Object.fromEntries(Object.entries(drawing.givens).filter(([cell]) => white.has(cell))) };
}

// The runs of two cells or more: those across, row by row, and those down, column by column.
function runs({ rows, columns }, white) {
  const found = [];
  const line = (length, square) => {
    let run = [];
    for (let index = 1; index <= length + 1; index++) {
      const cell = square(index);
      if (index <= length && white.has(cell)) run.push(cell);
      else {
        if (run.length > 1) found.push(run);
        run = [];
      }
    }
  };
  for (let row = 1; row <= rows; row++) line(columns, (column) => name(row, column));
  for (let column = 1; column <= columns; column++) line(rows, (row) => name(row, column));
  return found;
}

const INDEX = new WeakMap();        // of the runs of a drawing, once: cell and way to number

export function runAt({ cages }, cell, way) {
  if (!INDEX.has(cages)) INDEX.set(cages, new Map(cages.flatMap((run, number) => run.cells.map((one) => [`${one} ${wayOf(run)}`, number]))));
  return INDEX.get(cages).get(`${cell} ${way}`) ?? -1;
}

// The run after this one, the same way; the first after the last.
export function runAfter(drawing, run) {
  const first = ({ cells }) => (wayOf(run) === "across" ? at(cells[0]) : at(cells[0]).reverse());
  const all = drawing.cages.filter((one) => wayOf(one) === wayOf(run)).sort((a, b) => first(a)[0] - first(b)[0] || first(a)[1] - first(b)[1]);
  return all[(all.findIndex((one) => same(one.cells, run.cells)) + 1) % all.length];
}
