// The look of rules in the grid, in greys: circles and squares, lines, dots and signs; the book prints them finer.

import { draw } from "./dom.js";
import { at, name } from "./drawing.js";
import { CELL } from "./outline.js";

// The cells that a list of the manifest names: "r1c1 r2c2-r2c5", the latter a run or a rectangle by two corners.
export function named(text) {
  return String(text).split(/[\s,]+/).flatMap((word) => {
    const ends = word.match(/r\d+c\d+/g);
    if (!ends || ends.length > 2) return [];
    const [[row, column], [lastRow, lastColumn]] = [at(ends[0]), at(ends.at(-1))];
    return span(row, lastRow).flatMap((down) => span(column, lastColumn).map((across) => name(down, across)));
  });
}

function span(from, to) {
  const by = to < from ? -1 : 1;
  return Array.from({ length: Math.abs(to - from) + 1 }, (_, index) => from + by * index);
}

const centre = (cell) => at(cell).reverse().map((one) => (one - 0.5) * CELL);
const line = (cells) => `M${cells.map((cell) => centre(cell).join(" ")).join("L")}`;
const between = ([one, other]) => centre(one).map((value, index) => (value + centre(other)[index]) / 2);
const pairs = (cells) => cells.slice(1).map((cell, index) => [cells[index], cell]);

const spot = (cells, kind) => pairs(cells).map((pair) => {
  const [cx, cy] = between(pair);
  return draw("circle", { cx, cy, r: 11, class: kind });
});

function sign(cells, reach) {
  return pairs(cells).map(([one, other]) => {
    const [x, y] = between([one, other]);
    const [fromX, fromY] = centre(one).map((value, index) => Math.sign(centre(other)[index] - value));
    const side = [fromY * reach, fromX * reach];
    const back = [-fromX * reach * 0.7, -fromY * reach * 0.7];
    return draw("path", { class: "sign-between",
      d: `M${x + back[0] + side[0]} ${y + back[1] + side[1]}L${x - back[0]} ${y - back[1]}L${x + back[0] - side[0]} ${y + back[1] - side[1]}` });
  });
}

const ball = (cell, r, kind) => {
  const [cx, cy] = centre(cell);
  return draw("circle", { cx, cy, r, class: kind });
};

const DRAWN = {
  odd: (cells) => cells.map((cell) => ball(cell, 40, "tinted")),
  even: (cells) => cells.map((cell) => {
    const [x, y] = centre(cell);
    return draw("rect", { x: x - 38, y: y - 38, width: 76, height: 76, class: "tinted" });
  }),
  rising: (cells) => [draw("path", { d: line(cells), class: "band" }), ball(cells[0], 26, "tinted-end")],
  sum_line: (cells) => [draw("path", { d: line(cells), class: "band thin-band" }), ball(cells[0], 38, "ring")],
  between: (cells) => [draw("path", { d: line(cells), class: "band thin-band" }), ball(cells[0], 38, "ring"), ball(cells.at(-1), 38, "ring")],
  equal_sums: (cells) => [draw("path", { d: line(cells), class: "band" }), draw("path", { d: line(cells), class: "band within" })],
  consecutive: (cells) => spot(cells, "dot white"),
  double: (cells) => spot(cells, "dot black"),
  greater: (cells) => sign(cells, 13),
  greater_cage: (cells) => sign(cells, 20),
};
const ABOVE = new Set(["consecutive", "double", "greater", "greater_cage"]);

// Those under digits and lines, and with `above` those that lie upon the lines.
export function figures(drawing, above) {
  const rules = [drawing.rules ?? []].flat().filter((one) => one && typeof one === "object");
  return rules.flatMap((rule) => Object.entries(rule)).filter(([kind]) => DRAWN[kind] && ABOVE.has(kind) === above)
    .flatMap(([kind, value]) => [value].flat().filter((one) => typeof one === "string").map(named)
      .filter((cells) => cells.length).flatMap((cells) => DRAWN[kind](cells)))
    .concat(above ? [] : houses(drawing));
}

// The diagonals as thin lines; the windows of a nine, each a tint of three by three.
function houses({ houses: value, size }) {
  const parts = [];
  const all = [value ?? []].flat();
  const extent = size * CELL;
  if (all.includes("diagonals")) parts.push(draw("path", { d: `M0 0L${extent} ${extent}M0 ${extent}L${extent} 0`, class: "thin" }));
  if (all.includes("windows") && size === 9) {
    for (const x of [1, 5]) for (const y of [1, 5]) parts.push(draw("rect", { x: x * CELL, y: y * CELL, width: 3 * CELL, height: 3 * CELL, class: "tinted" }));
  }
  return parts;
}
