// Two small charts: how many puzzles of each grade, and how hard they are in the order of the book.

import { draw, make, plural } from "./dom.js";
import { whole } from "./score.js";

const $ = (id) => document.getElementById(id);
const WIDE = 300;
const HIGH = 96;

export class Charts {
  constructor(open, filter) {
    this.text = "";
    $("curve").addEventListener("click", (event) => {
      const id = event.target.closest("[data-id]")?.dataset.id;
      if (id) open(id);
    });
    $("histogram").addEventListener("click", (event) => {
      const grade = event.target.closest("button")?.dataset.grade;
      if (grade) filter(grade);
    });
  }

  take(state) {
    const printed = state.puzzles.filter((one) => one.number).sort((a, b) => a.number - b.number);
    const text = JSON.stringify(printed.map((one) => [one.id, one.grade, one.score]));
    if (text === this.text) return;
    this.text = text;
    this.histogram(printed, state.grades);
    this.curve(printed.filter((one) => one.score != null));
  }

  histogram(printed, grades) {
    const counts = grades.map((grade) => printed.filter((one) => one.grade === grade).length);
    const most = Math.max(1, ...counts);
    $("histogram").replaceChildren(...grades.map((grade, index) => {
      const bar = draw("svg", { viewBox: "0 0 40 72", "aria-hidden": "true", preserveAspectRatio: "none" },
        draw("rect", { x: 4, width: 32, y: 72 - 70 * counts[index] / most, height: 70 * counts[index] / most, class: grade }));
      return make("button", { type: "button", "data-grade": grade,
        "aria-label": `${grade}: ${plural(counts[index], "puzzle")}; show only these, or all again` },
      make("span", { class: "many" }, counts[index]), bar, make("span", { class: "grade" }, grade));
    }));
  }

  curve(rated) {
    if (!rated.length) {
      $("curve").replaceChildren();
      return;
    }
    const scores = rated.map((one) => one.score);
    const top = Math.ceil(Math.max(...scores) / 200) * 200 || 200;
    const x = (index) => 26 + (rated.length > 1 ? index * (WIDE - 34) / (rated.length - 1) : (WIDE - 34) / 2);
    const y = (score) => HIGH - 14 - (HIGH - 22) * score / top;
    const line = rated.map((one, index) => `${index ? "L" : "M"}${x(index).toFixed(1)} ${y(one.score).toFixed(1)}`).join("");
    const hardest = rated.reduce((a, b) => (b.score > a.score ? b : a));
    const said = `Scores of ${plural(rated.length, "puzzle")} in the book's order, from ${whole(Math.min(...scores))} to `
      + `${whole(Math.max(...scores))}; the hardest is number ${hardest.number}, ${hardest.id}. The list below holds the figures.`;
    const svg = draw("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": said });
    for (const mark of [0, top / 2, top]) {
      svg.append(draw("path", { d: `M26 ${y(mark)}H${WIDE - 6}`, class: "rule" }),
        draw("text", { x: 22, y: y(mark) + 3, "text-anchor": "end" }, mark));
    }
    svg.append(draw("path", { d: line, class: "line" }));
    for (const [index, one] of rated.entries()) {
      svg.append(draw("circle", { cx: x(index), cy: y(one.score), r: rated.length > 80 ? 1.6 : 2.6, class: one.grade, "data-id": one.id },
        draw("title", {}, `${one.number} ${one.title || one.id}: ${whole(one.score)}, ${one.grade}`)));
    }
    svg.append(draw("text", { x: 26, y: HIGH - 2 }, rated[0].number),
      draw("text", { x: WIDE - 8, y: HIGH - 2, "text-anchor": "end" }, rated.at(-1).number));
    $("curve").replaceChildren(svg);
  }
}
