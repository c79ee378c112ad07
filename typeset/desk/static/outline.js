// The lines of a grid: borders of regions, and outlines of cages set in from the cells' edges. A cell is 100 wide.

import { at, name } from "./drawing.js";

export const CELL = 100;
const PITCH = CELL / 7;           // of the dashes: a whole number fits each edge, and each corner is the middle of one
export const INSET = PITCH / 2;
export const DASH = 0.58 * PITCH;
export const DASHES = { "stroke-dasharray": `${DASH} ${PITCH - DASH}`, "stroke-dashoffset": DASH / 2 };

// The rings round cells that hang together by edges, each a closed path; a hole has a ring of its own.
export function outline(cells, inset = INSET) {
  const inside = new Set(cells);
  const has = (row, column) => inside.has(name(row, column));
  const sides = new Map();        // from a corner, the sides of the area that leave it, clockwise round it
  for (const cell of cells) {
    const [row, column] = at(cell);
    for (const [down, across, from, to] of SIDES) {
      if (has(row + down, column + across)) continue;
      const start = key(row + from[0], column + from[1]);
      sides.set(start, [...(sides.get(start) ?? []), { start: [row + from[0], column + from[1]], way: [to[0] - from[0], to[1] - from[1]] }]);
    }
  }
  const rings = [];
  while (sides.size) rings.push(ring(sides, inset));
  return rings.join("");
}

// Above, right, below, left of a cell, and the corners (down, across) that this side of it leads from and to.
const SIDES = [[-1, 0, [0, 0], [0, 1]], [0, 1, [0, 1], [1, 1]], [1, 0, [1, 1], [1, 0]], [0, -1, [1, 0], [0, 0]]];
const key = (row, column) => `${row},${column}`;

function ring(sides, inset) {
  const corners = [];
  let side = sides.values().next().value[0];
  const first = side;
  do {
    take(sides, side);
    const next = [side.start[0] + side.way[0], side.start[1] + side.way[1]];
    const there = [...sides.get(key(...next)) ?? [], ...(key(...next) === key(...first.start) ? [first] : [])];
    // Where two rings touch at a corner, the area is turned round to the right: its own ring goes on.
    const after = there.find((one) => turn(side.way, one.way) > 0) ?? there[0];
    if (turn(side.way, after.way)) corners.push(shifted(next, side.way, after.way, inset));
    side = after;
  } while (side !== first);
  return `M${corners.map((one) => one.join(" ")).join("L")}Z`;
}

function take(sides, side) {
  const start = key(...side.start);
  const left = sides.get(start).filter((one) => one !== side);
  left.length ? sides.set(start, left) : sides.delete(start);
}

const turn = ([down, across], [nextDown, nextAcross]) => across * nextDown - down * nextAcross;

// A corner moved into the area: to the right of both sides that meet there.
function shifted([row, column], [down, across], [nextDown, nextAcross], inset) {
  return [(column - 1) * CELL - inset * (down + nextDown), (row - 1) * CELL + inset * (across + nextAcross)];
}

// The borders between cells of different regions, within the frame.
export function borders(size, regions) {
  const of = new Map(regions.flatMap((cells, index) => cells.map((cell) => [cell, index])));
  const lines = [];
  for (let row = 1; row <= size; row++) {
    for (let column = 1; column <= size; column++) {
      const here = of.get(name(row, column));
      if (column < size && here !== of.get(name(row, column + 1))) lines.push(`M${column * CELL} ${(row - 1) * CELL}v${CELL}`);
      if (row < size && here !== of.get(name(row + 1, column))) lines.push(`M${(column - 1) * CELL} ${row * CELL}h${CELL}`);
    }
  }
  return lines.join("");
}
