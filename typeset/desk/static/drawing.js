// A puzzle as it is drawn: plain values that no operation changes; each gives the drawing that follows.
//
// A cell is named as in the manifest, "r1c1". A cage is { cells, sum }, its sum null while it has none.

const BOXES = { 4: [2, 2], 6: [2, 3], 8: [2, 4], 9: [3, 3], 10: [2, 5], 12: [3, 4], 16: [4, 4] };
export const DIGITS = "0123456789ABCDEFG";     // the manifest's own, of the largest grid of cages

export const name = (row, column) => `r${row}c${column}`;

export function at(cell) {
  const [, row, column] = /^r(\d+)c(\d+)$/.exec(cell);
  return [Number(row), Number(column)];
}

export function cells(size) {
  return Array.from({ length: size * size }, (_, index) => name(Math.floor(index / size) + 1, index % size + 1));
}

// Rows and columns.
export function extent({ size, rows, columns }) {
  return [rows ?? size, columns ?? size];
}

export function squares(drawing) {
  const [rows, columns] = extent(drawing);
  return Array.from({ length: rows * columns }, (_, index) => name(Math.floor(index / columns) + 1, index % columns + 1));
}

export function inOrder(some) {
  return [...new Set(some)].sort((a, b) => at(a)[0] - at(b)[0] || at(a)[1] - at(b)[1]);
}

export function blank(size, id = "") {
  return {
    size, cages: [], givens: {}, regions: BOXES[size] ? null : "none", rules: null, houses: null, answer: null,
    id, title: null, by: null, note: null, remark: null, grade: null,
  };
}

export const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

// Whether two drawings say the same, in whatever order.
export function alike(one, other) {
  return same(ordered(one), ordered(other));
}

function ordered(drawing) {
  if (!drawing) return drawing;
  const cages = drawing.cages.map((cage) => [inOrder(cage.cells), cage.sum]);
  const regions = Array.isArray(drawing.regions) ? drawing.regions.map((one) => inOrder(one).join(" ")).sort() : drawing.regions;
  const black = drawing.black ? inOrder(drawing.black).join(" ") : null;
  const plain = ["size", "rows", "columns", "rules", "houses", "answer", "id", "title", "by", "note", "remark", "grade"].map((key) => drawing[key] ?? null);
  return [plain, black, cages.sort((a, b) => (a[0].join() < b[0].join() ? -1 : 1)), Object.entries(drawing.givens).sort(), regions];
}

// Parts of crossing sums that go together: runs are what squares make of them.
const SQUARES = ["rows", "columns", "black", "cages", "givens"];

// What was drawn, with what others changed meanwhile in parts that it left alone. A grid of another size has none,
// nor one of another kind. An answer is not touched by squares that turn in it.
export function joined(base, theirs, mine) {
  if (!base || base.size !== theirs.size || mine.size !== theirs.size || !mine.black !== !theirs.black || !mine.black !== !base.black) return mine;
  const differs = (key) => (key === "answer" ? !same(answerIn(mine, mine.answer), answerIn(mine, base.answer))
    : !alike({ ...base, [key]: mine[key] }, base));
  const parts = Object.keys(mine).map((key) => {
    const touched = mine.black && SQUARES.includes(key) ? SQUARES.some(differs) : differs(key);
    return [key, touched ? mine[key] : theirs[key]];
  });
  const both = Object.fromEntries(parts);
  return { ...both, answer: answerIn(both, both.answer) };
}

export function cageOf(drawing, cell) {
  return drawing.cages.findIndex((cage) => cage.cells.includes(cell));
}

// Takes cells out of whatever cage they lie in; a cage that keeps some cells keeps its sum, to be mended.
function without(cages, some) {
  return cages.map((cage) => ({ ...cage, cells: cage.cells.filter((cell) => !some.includes(cell)) }))
    .filter((cage) => cage.cells.length);
}

export function fence(drawing, some) {
  if (!some.length) return drawing;
  return { ...drawing, cages: [...without(drawing.cages, some), { cells: inOrder(some), sum: null }] };
}

export function grow(drawing, index, some) {
  const grown = drawing.cages[index];
  const others = drawing.cages.map((cage, other) => (other === index ? { ...grown, cells: inOrder([...grown.cells, ...some]) }
    : { ...cage, cells: cage.cells.filter((cell) => !some.includes(cell)) }));
  return { ...drawing, cages: others.filter((cage) => cage.cells.length) };
}

// Cuts the cells off, those of each cage as a cage of their own.
export function split(drawing, some) {
  const parts = drawing.cages.map((cage) => cage.cells.filter((cell) => some.includes(cell)))
    .filter((part, index) => part.length && part.length < drawing.cages[index].cells.length);
  const cut = parts.flat();
  if (!cut.length) return drawing;
  return { ...drawing, cages: [...without(drawing.cages, cut), ...parts.map((part) => ({ cells: part, sum: null }))] };
}

// Joins all cages that have some of the cells; its sum is theirs together, where each has one.
export function merge(drawing, some) {
  const joined = drawing.cages.filter((cage) => cage.cells.some((cell) => some.includes(cell)));
  const all = inOrder([...some, ...joined.flatMap((cage) => cage.cells)]);
  if (joined.length < 1 || same(all, joined[0].cells)) return drawing;
  const loose = some.some((cell) => cageOf(drawing, cell) < 0);
  const sum = loose || joined.some((cage) => cage.sum === null) ? null : joined.reduce((total, cage) => total + cage.sum, 0);
  return { ...drawing, cages: [...drawing.cages.filter((cage) => !joined.includes(cage)), { cells: all, sum }] };
}

export function dissolve(drawing, some) {
  const left = drawing.cages.filter((cage) => !cage.cells.some((cell) => some.includes(cell)));
  return left.length === drawing.cages.length ? drawing : { ...drawing, cages: left };
}

export function take(drawing, some) {
  return some.some((cell) => cageOf(drawing, cell) >= 0) ? { ...drawing, cages: without(drawing.cages, some) } : drawing;
}

export function withSum(drawing, index, sum) {
  return { ...drawing, cages: drawing.cages.map((cage, other) => (other === index ? { ...cage, sum } : cage)) };
}

export function withGiven(drawing, cell, digit) {
  const { [cell]: _, ...others } = drawing.givens;
  return { ...drawing, givens: digit === null ? others : { ...others, [cell]: digit } };
}

// The digits that its cells may hold: one of its rules may let them run from 0.
export function digitsOf(drawing) {
  const least = [drawing.rules ?? []].flat().includes("from_zero") ? 0 : 1;
  return Array.from({ length: drawing.size }, (_, index) => least + index);
}

// The setter's answer, where a dot stands for a cell not yet typed; without any digit there is none.
export function withAnswer(drawing, cell, digit) {
  const written = drawing.answer ?? [];      // a file may have fewer rows, and shorter ones, than the grid
  const [high, wide] = extent(drawing);
  const rows = Array.from({ length: Math.max(high, written.length) }, (_, index) => [...(written[index] ?? "").padEnd(wide, ".")]);
  const [row, column] = at(cell);
  rows[row - 1][column - 1] = digit === null ? "." : DIGITS[digit];
  return { ...drawing, answer: answerIn(drawing, rows.map((one) => one.join(""))) };
}

// The rows of an answer as these squares have room for them, black ones marked; null where no digit is left.
export function answerIn(drawing, rows) {
  const found = drawing.black ? inSquares(drawing, rows ?? []) : rows;
  return found?.some((row) => /[^.#]/.test(row)) ? found : null;
}

function inSquares(drawing, rows) {
  const black = new Set(drawing.black);
  const square = (row, column) => {
    const char = rows[row - 1]?.[column - 1] ?? ".";
    return black.has(name(row, column)) ? "#" : char === "#" ? "." : char;
  };
  return Array.from({ length: drawing.rows }, (_, row) =>
    Array.from({ length: drawing.columns }, (_, column) => square(row + 1, column + 1)).join(""));
}

export function answerAt(rows, cell) {
  const [row, column] = at(cell);
  return digits(rows?.[row - 1]?.[column - 1] ?? "")[0] ?? null;
}

// The digits that a text of the manifest's own names: "27" is 2 and 7, "A" is 10.
export function digits(text) {
  return [...text].map((one) => DIGITS.indexOf(one.toUpperCase())).filter((digit) => digit >= 0);
}

export function usualBoxes(size) {
  const [high, wide] = BOXES[size] ?? [0, 0];
  if (!high) return null;
  const found = new Map();
  for (const cell of cells(size)) {
    const [row, column] = at(cell);
    const key = Math.floor((row - 1) / high) * size + Math.floor((column - 1) / wide);
    found.set(key, [...(found.get(key) ?? []), cell]);
  }
  return [...found.values()];
}

// The regions as lists of cells, whatever way the drawing says them.
export function regionsOf(drawing) {
  if (drawing.regions === "none") return [];
  return drawing.regions ?? usualBoxes(drawing.size) ?? [];
}

export function withRegions(drawing, regions) {
  const sorted = regions.filter((one) => one.length).map(inOrder);
  const usual = usualBoxes(drawing.size);
  const key = (all) => all.map((one) => one.join(" ")).sort().join();
  if (!sorted.length) return { ...drawing, regions: "none" };
  return { ...drawing, regions: usual && key(usual) === key(sorted) ? null : sorted };
}

// Makes the cells a region, or with `grown` a part of that one; other regions lose them.
export function region(drawing, some, grown = null) {
  const all = regionsOf(drawing);
  const lost = all.map((one, index) => (index === grown ? [...one, ...some] : one.filter((cell) => !some.includes(cell))));
  return withRegions(drawing, grown === null ? [...lost, [...some]] : lost);
}

export function regionAt(drawing, cell) {
  const found = regionsOf(drawing).findIndex((one) => one.includes(cell));
  return found < 0 ? null : found;
}

// Into how many sets of unlike ones of these digits a cage of so many cells can be made.
export function combinations(those, count, sum) {
  const ways = Array.from({ length: count + 1 }, () => Array(Math.max(sum, 0) + 1).fill(0));
  ways[0][0] = 1;
  for (const digit of those) {
    for (let many = count; many >= 1; many--) {
      for (let total = sum; total >= digit; total--) ways[many][total] += ways[many - 1][total - digit];
    }
  }
  return ways[count][sum] ?? 0;
}

// What was drawn before and after: undo and redo without end. A change named `joins` belongs to the one before.
export class History {
  constructor(drawing) {
    this.past = [];
    this.future = [];
    this.now = drawing;
    this.joins = null;
  }

  change(drawing, joins = null) {
    if (same(drawing, this.now)) return false;
    if (!joins || joins !== this.joins) this.past.push(this.now);
    this.joins = joins;
    this.future = [];
    this.now = drawing;
    return true;
  }

  // The next change is one of its own, whatever it is.
  close() {
    this.joins = null;
  }

  undo() {
    return this.go(this.past, this.future);
  }

  redo() {
    return this.go(this.future, this.past);
  }

  go(from, to) {
    if (!from.length) return false;
    to.push(this.now);
    this.now = from.pop();
    this.joins = null;
    return true;
  }
}
