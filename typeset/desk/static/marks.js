// What is known of a drawing, by cell: what the grid shows beside what is drawn.

import { digits, inOrder, same, squares } from "./drawing.js";

export function noMarks() {
  return {
    conflict: new Set(), impossible: new Set(), differs: new Map(), derived: new Map(), setter: new Set(), step: new Set(),
  };
}

// From the two answers of the server; either may be missing.
export function marksOf(drawing, judged, studied) {
  const marks = noMarks();
  for (const fault of judged?.faults ?? []) for (const cell of fault.cells ?? []) marks.conflict.add(cell);
  for (const one of judged?.known?.impossible ?? []) {
    marks.impossible.add(drawing.cages.findIndex((cage) => same(inOrder(cage.cells), one.cells)));
    for (const cell of one.cells) marks.conflict.add(cell);
  }
  for (const [cell, text] of Object.entries(judged?.known?.derived ?? {})) marks.derived.set(cell, digits(text));
  for (const [cell, both] of Object.entries(swapped(judged))) marks.differs.set(cell, both);
  for (const cell of judged?.setter ?? []) marks.setter.add(cell);
  // Houses would cover the rest of the grid, and say less; so do parts that are most of it.
  const parts = (studied?.conflict ?? []).filter((member) => member.kind !== "house").flatMap((member) => member.cells);
  if (new Set(parts).size <= squares(drawing).length / 2) for (const cell of parts) marks.conflict.add(cell);
  return marks;
}

// Cells that differ between two answers; while cells lie in no cage, there are many answers, and two say nothing.
export function swapped(judged) {
  return judged?.state === "two answers" ? judged.differs : {};
}

// Of a path, the digits found before a step, and the cells that the step is about.
export function atStep(marks, steps, at) {
  const derived = new Map();
  for (const step of steps.slice(0, at)) for (const [cell, digit] of Object.entries(step.places)) derived.set(cell, [digit]);
  const step = steps[at];
  return { ...marks, derived, step: new Set([...Object.keys(step.places), ...Object.keys(step.removes)]) };
}
