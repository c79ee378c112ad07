// What is said of a drawing: a cell's name for those who hear the grid, and each change in a few words.

import { isCrossing, runAt, WAYS } from "./crossing.js";
import { answerAt, at, cageOf, combinations, digitsOf } from "./drawing.js";
import { plural } from "./dom.js";

export function place(cell) {
  const [row, column] = at(cell);
  return `row ${row}, column ${column}`;
}

export function list(cells) {
  return cells.length > 6 ? `${cells.slice(0, 5).join(", ")} and ${cells.length - 5} more` : cells.join(", ");
}

export function cageName(cage) {
  return cage.sum === null ? "the cage without a sum" : `the cage of ${cage.sum}`;
}

export function sumSaid(drawing, cage) {
  if (cage.sum === null) return "no sum yet";
  const ways = combinations(digitsOf(drawing), cage.cells.length, cage.sum);
  return `sum ${cage.sum}; ${ways ? `combinations ${ways}` : "no digits make it"}`;
}

export function cageSaid(drawing, cage) {
  return `cage of ${plural(cage.cells.length, "cell")}, ${sumSaid(drawing, cage)}`;
}

export function cellName(drawing, cell, marks) {
  const parts = [place(cell)];
  if (drawing.black?.includes(cell)) return [...parts, "black"].join(", ");
  const index = isCrossing(drawing) ? -1 : cageOf(drawing, cell);
  if (isCrossing(drawing)) parts.push(...runsSaid(drawing, cell));
  else if (index < 0) parts.push("in no cage");
  else {
    const { cells, sum } = drawing.cages[index];
    parts.push(`cage of ${plural(cells.length, "cell")}, ${sum === null ? "no sum" : `sum ${sum}`}`);
  }
  const given = drawing.givens[cell] ?? null;
  if (given !== null) parts.push(`given ${given}`);
  const typed = answerAt(drawing.answer, cell);
  if (typed !== null) parts.push(`your answer ${typed}`);
  if (marks.setter.has(cell)) parts.push("which is not the puzzle's");
  if (marks.conflict.has(cell)) parts.push("at fault");
  if (marks.differs.has(cell)) parts.push(`differs between answers: ${marks.differs.get(cell).join(" or ")}`);
  else if (marks.derived.has(cell) && given === null && typed === null) parts.push(`can be ${marks.derived.get(cell).join(" or ")}`);
  return parts.join(", ");
}

function runsSaid(drawing, cell) {
  const found = WAYS.map((way) => [way, drawing.cages[runAt(drawing, cell, way)]]).filter(([, run]) => run);
  return found.length ? found.map(([way, { cells, sum }]) => `${way} ${plural(cells.length, "cell")}, ${sum === null ? "no sum" : `sum ${sum}`}`) : ["in no run"];
}

// What cells lose to a cage that takes them over.
export function taken(drawing, cells, index = -1) {
  const from = new Map();
  for (const cell of cells) {
    const other = cageOf(drawing, cell);
    if (other >= 0 && other !== index) from.set(other, [...(from.get(other) ?? []), cell]);
  }
  return [...from].map(([other, some]) => `${list(some)} taken from ${cageName(drawing.cages[other])}`);
}
