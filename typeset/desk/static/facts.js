// What is known of a drawing, in words beside it: its state, what is missing, why, and what would mend it.

import { WAYS, wayOf } from "./crossing.js";
import { make, plural } from "./dom.js";
import { swapped } from "./marks.js";
import { list } from "./saying.js";
import { scoreFact } from "./score.js";

const $ = (id) => document.getElementById(id);

const STATES = {
  "sound": ["✓", "One answer", "good"],
  "two answers": ["2", "Two answers", "bad"],
  "no answer": ["∅", "No answer", "bad"],
  "undecided": ["…", "Not decided in the time", ""],
  "unfinished": ["–", "Not finished", ""],
  "faulty": ["!", "At fault", "bad"],
};
const FEW = 8;      // what a list has at most that is open at once
const PATHS = { trial: "needs a trial", stuck: "is stuck", "out-of-budget": "was given up" };

export class Facts {
  // go(cells) leads to cells of the grid, mend(repair) makes a repair, walk(steps, at) shows a step; at is null for none.
  // `tune` is told the grade.
  constructor(go, mend, walk, tune) {
    Object.assign(this, { go, mend, walk, tune });
    this.steps = [];
    this.at = null;
    $("walk-back").addEventListener("click", () => this.step((this.at ?? 0) - 1));
    $("walk-on").addEventListener("click", () => this.step((this.at ?? -1) + 1));
    $("walk-off").addEventListener("click", () => this.step(null));
  }

  // Of a puzzle just begun nothing is known.
  clear() {
    this.state("…", "Being looked at", "");
    $("sums").replaceChildren();
    $("draw-faults").replaceChildren();
    this.studied(null);
  }

  // While the next answer is awaited, the last one stays, pale; its repairs and its path are of a drawing that is no more.
  wait() {
    $("known").classList.add("waiting");
    if ($("study").contains(document.activeElement)) $("known").focus();
    $("study").inert = true;
    this.tune.stop("");
    if (this.at !== null) this.step(null);
  }

  trouble(text) {
    this.state("!", text, "bad");
    $("known").classList.remove("waiting");
  }

  // What is said in place of the verdict for as long as it stands; null for the verdict.
  cover(said) {
    this.covered = said;
    if (this.last) this.state(...this.last);
  }

  state(...said) {
    this.last = said;
    const [sign, text, kind] = this.covered ?? said;
    const whole = `${sign} ${text}`;
    if ($("verdict").textContent.trim() === whole && $("verdict").dataset.kind === kind) return;
    $("verdict").dataset.kind = kind;
    $("verdict").replaceChildren(make("span", { class: "sign", "aria-hidden": "true" }, sign), ` ${text}`);
  }

  judged(drawing, said, uncagedAllowed) {
    $("known").classList.remove("waiting");
    this.state(...(STATES[said.state] ?? ["?", said.state, "bad"]));
    const { uncaged, total, impossible } = said.known;
    const rows = drawing.black ? ofRuns(drawing, total) : [["Cages", `${drawing.cages.length}${total ? `, adding to ${total.cages}` : ""}`]];
    const open = drawing.cages.filter((cage) => cage.sum === null);
    if (open.length) rows.push(["Without a sum", plural(open.length, drawing.black ? "run" : "cage"), [...new Set(open.map((cage) => cage.cells[0]))]]);
    if (!drawing.black && total?.cells) rows.push(["The rest", `${total.rest} for ${plural(total.cells, "cell")}`]);
    else if (!drawing.black && total?.rest) rows.push([total.rest < 0 ? "Too many" : "Missing", Math.abs(total.rest)]);
    if (total && !drawing.black) rows.push(["All the grid", total.grid]);
    if (uncaged.length) rows.push([drawing.black ? "In no run" : "In no cage", `${plural(uncaged.length, "cell")}${uncagedAllowed && !drawing.black ? ", as the book allows" : ""}`, uncaged]);
    const differs = Object.keys(swapped(said));
    if (differs.length) rows.push(["Can be swapped", `${plural(differs.length, "cell")}`, differs]);
    $("sums").replaceChildren(...rows.map(([name, text, cells]) => make("div", {}, make("dt", {}, name), make("dd", {},
      cells ? this.leading(`${text}: ${list(cells)}`, cells) : String(text)))));
    const faults = [
      ...impossible.filter((one) => !said.faults.some((fault) => fault.cells.some((cell) => one.cells.includes(cell))))
        .map((one) => this.fault(one.message, "", one.cells)),
      ...said.faults.map((one) => this.fault(one.message, one.hint, one.cells)),
      ...((said.setter ?? []).length ? [this.fault(`Your answer is not the puzzle's in ${list(said.setter)}.`, "", said.setter)] : []),
    ];
    $("draw-faults").replaceChildren(...faults);
    if (!["sound", "two answers", "no answer"].includes(said.state)) this.studied(null);
  }

  fault(message, hint, cells) {
    const item = make("li", { class: "error" }, cells?.length ? this.leading(message, cells) : message);
    if (hint) item.append(" ", make("span", { class: "hint" }, hint));
    return item;
  }

  leading(text, cells) {
    const button = make("button", { type: "button", class: "leading" }, text);
    button.addEventListener("click", () => this.go(cells));
    return button;
  }

  studied(said) {
    $("study").inert = false;
    $("study").hidden = !said;
    this.tune.show(said?.grade ?? null);
    if (!said) return;
    this.steps = said.steps ?? [];
    const parts = [];
    if (said.grade) {
      const facts = [said.grade, said.score != null ? scoreFact(said.score) : null,
        said.hardest ? `hardest: ${said.hardest}` : null, PATHS[said.path] ? `the path ${PATHS[said.path]}` : null].filter(Boolean);
      parts.push(make("p", { class: "graded" }, ...facts.flatMap((fact, index) => (index ? [" · ", fact] : [fact]))));
    }
    if (said.shape) parts.push(make("p", { class: "shape" }, said.shape));
    parts.push(...lines(said.lines ?? [], new Set((said.repairs ?? []).map((repair) => repair.text))));
    $("why").replaceChildren(...parts);
    $("repairs-head").hidden = !(said.repairs ?? []).length;
    $("repairs").replaceChildren(...(said.repairs ?? []).map((repair) => {
      const button = make("button", { type: "button", class: "repair" }, repair.text);
      button.addEventListener("click", () => this.mend(repair));
      return make("li", {}, button);
    }));
    $("walk").hidden = !this.steps.length;
    this.step(null);
  }

  step(at) {
    const steps = this.steps;
    this.at = at === null || !steps.length ? null : Math.max(0, Math.min(at, steps.length - 1));
    const step = this.at === null ? null : steps[this.at];
    $("walk-where").textContent = step ? `Step ${this.at + 1} of ${steps.length}` : plural(steps.length, "step");
    $("walk-off").disabled = !step;
    $("walk-back").disabled = !this.at;
    $("walk-on").disabled = this.at === steps.length - 1;
    $("walk-words").replaceChildren(...(step ? [make("strong", {}, step.technique), ` ${step.text}`] : []));
    this.walk(steps, this.at);
  }
}

function ofRuns({ cages, rows, columns, black }, { across, down }) {
  const many = WAYS.map((way) => `${cages.filter((run) => wayOf(run) === way).length} ${way}`);
  return [["Cells", `${rows * columns - black.length} of ${rows} × ${columns} squares`], ["Runs", many.join(", ")], ["Across", `adding to ${across}`], ["Down", `adding to ${down}`]];
}

// Lines for people, those that are set in as a list; without what stands on buttons, and its heading.
function lines(all, buttons) {
  const parts = [];
  const dropped = (line) => line?.startsWith("    ") || (line?.startsWith("  ") && buttons.has(line.trim()));
  for (const [index, line] of all.entries()) {
    const inner = line.startsWith("  ");
    if (dropped(line) || (!inner && dropped(all[index + 1]))) continue;
    if (inner && parts.at(-1)?.tagName !== "UL") parts.push(make("ul", { class: "parts" }));
    inner ? parts.at(-1).append(make("li", {}, line.trim())) : parts.push(make("p", {}, line));
  }
  return parts.map((part) => (part.children.length > FEW ? make("details", {}, make("summary", {}, plural(part.children.length, "part")), part) : part));
}
