// The desk with a pencil: one puzzle, drawn in the grid, with what is known of it beside.

import { blankCrossing } from "./crossing.js";
import { alike, blank, joined, same, squares } from "./drawing.js";
import { rove } from "./dom.js";
import { Facts } from "./facts.js";
import { Forms } from "./forms.js";
import { forget, keep, kept } from "./kept.js";
import { atStep, marksOf } from "./marks.js";
import { Paste } from "./paste.js";
import { Pencil } from "./pencil.js";
import { Save } from "./save.js";
import { Surface } from "./surface.js";
import { drawingOf, Questions } from "./talk.js";
import { Tune } from "./tune.js";

const $ = (id) => document.getElementById(id);

const HELP = {
  cage: "Drag over cells to fence a cage, then type its sum. A drag that begins in a cage adds to it.",
  given: "Type a digit to print in the cell at hand; Backspace takes it away.",
  region: "Drag from a region over cells to add them to it; select cells and press Enter for a region of its own.",
  black: "Press a square to make it black, again to make it white; a drag does so all the way. Space does it by keyboard.",
  across: "Type the sum of the run across at hand; Enter goes on to the next.",
  down: "Type the sum of the run down at hand; Enter goes on to the next.",
  answer: "Type your answer, row by row, to have it held against the puzzle's.",
};
const LETTERS = { c: "cage", g: "given", r: "region", a: "answer" };
const CROSSING_LETTERS = { b: "black", a: "across", d: "down", g: "given", s: "answer" };
const ACTS = { f: "fence", s: "split", m: "merge", t: "take" };

export class Draw {
  // `shown(on)` tells the desk whether this has the window; `letters()` whether single letters are keys.
  constructor(shown, letters) {
    Object.assign(this, { shown, letters });
    this.id = null;
    this.open = false;
    this.pencil = new Pencil(() => this.draw(), (text) => this.say(text));
    this.surface = new Surface($("grid"), this.pencil);
    this.questions = new Questions((kind, answer, drawing) => this.hear(kind, answer, drawing));
    const hand = () => ({
      id: this.id, drawing: this.pencil.history.now, selected: this.pencil.selected, digest: this.digest, state: this.judged?.state });
    this.tune = new Tune(hand, (offer) => this.mend(offer));
    this.facts = new Facts((some) => this.go(some), (repair) => this.mend(repair), (steps, at) => this.walk(steps, at), this.tune);
    const put = (drawing, said) => this.pencil.put(drawing, said);
    this.forms = new Forms(hand, put);
    this.paste = new Paste(hand, put);
    this.saving = new Save(hand, {
      saved: (answer, drawing) => this.saved(answer, drawing), theirs: () => this.theirs(), mine: () => this.mine() });
    this.listen();
  }

  listen() {
    for (const button of document.querySelectorAll("#toolbox [data-tool]")) {
      button.addEventListener("click", () => this.pencil.use(button.dataset.tool));
    }
    for (const button of document.querySelectorAll("#toolbox [data-act]")) {
      button.addEventListener("click", () => this.pencil.act(button.dataset.act));
    }
    $("selecting").addEventListener("click", () => {
      this.pencil.selecting = !this.pencil.selecting;
      this.draw();
    });
    $("undo").addEventListener("click", () => this.pencil.undo());
    $("redo").addEventListener("click", () => this.pencil.undo(true));
    $("save").addEventListener("click", () => this.saving.open());
    $("draw-close").addEventListener("click", () => this.leave());
    $("leave-drop").addEventListener("click", () => { $("leave").close(); this.close(); });
    $("leave-save").addEventListener("click", () => { $("leave").close(); this.saving.open(); });
    $("notice-theirs").addEventListener("click", () => this.theirs());
    $("notice-mine").addEventListener("click", () => this.mine());
    $("draw").addEventListener("keydown", (event) => this.key(event));
    $("toolbox").addEventListener("keydown", (event) => this.toolKey(event));
    window.addEventListener("beforeunload", (event) => { if (this.open && this.dirty) event.preventDefault(); });
  }

  get dirty() {
    return !alike(this.pencil.history.now, this.base);
  }

  // Opens the puzzle of the book with this id. A sentence where it cannot be drawn, else null.
  async start(id) {
    const found = await this.fetched(id);
    if (!found.drawing) return found.why;
    this.begin(id, found.drawing, found);
    return null;
  }

  // Of so many digits, or of crossing sums of so many rows and columns.
  startNew(size, id) {
    const empty = (name) => (Array.isArray(size) ? blankCrossing(...size, name) : blank(size, name));
    this.begin(null, empty(id), { drawing: empty(), file: null, line: null, digest: null, uncaged: false });
  }

  // The drawing that was not saved before a reload, if there is one.
  resume() {
    const found = kept();
    if (!found) return false;
    this.begin(found.id, found.drawing, { ...found, drawing: found.base });
    this.say("what was drawn and not saved is here again");
    return true;
  }

  async fetched(id) {
    try {
      return await drawingOf(id);
    } catch (error) {
      return { drawing: null, why: error.message };
    }
  }

  begin(id, drawing, { drawing: base, file, line, digest, uncaged }) {
    Object.assign(this, { id, base, file, line, digest, uncaged, open: true, asked: null, judged: null, studied: null });
    this.step = null;
    $("draw-notice").hidden = true;
    this.tellBroken(null);
    this.facts.clear();
    this.pencil.start(drawing);
    this.shown(true);
    this.say("");
    this.draw();
    this.surface.focus();
  }

  leave() {
    if (this.dirty) $("leave").showModal();
    else this.close();
  }

  close() {
    this.open = false;
    this.questions.stop();
    this.tune.stop("");
    forget();
    this.shown(false);
  }

  // The book was read again: an untouched drawing follows its file, a touched one is told.
  async take() {
    if (!this.open || this.id === null) return;
    const { id, digest } = this;
    const found = await this.fetched(id);
    if (!this.open || id !== this.id || digest !== this.digest) return;      // it was saved meanwhile
    this.tellBroken(found.drawing ? null : found.why);
    if (!found.drawing || found.digest === this.digest) return;
    Object.assign(this, { file: found.file, line: found.line });
    if (alike(found.drawing, this.base)) this.digest = found.digest;     // the file changed elsewhere
    else if (alike(found.drawing, this.pencil.history.now) || !this.dirty) this.adopt(found);
    else {
      $("draw-notice").hidden = false;
      return;
    }
    this.draw();
  }

  // Of a file that cannot be read, why not: what is drawn stays, and waits until the file is whole.
  tellBroken(why) {
    const text = why ? `${why}. What is drawn here stays, and can be saved once the file is whole again.` : "";
    if ($("draw-broken").textContent !== text) $("draw-broken").textContent = text;
    $("draw-broken").hidden = !why;
    $("save").disabled = Boolean(why);
    this.facts.cover(why ? ["!", "Its file cannot be read now", "bad"] : null);
  }

  adopt(found) {
    const fresh = !alike(found.drawing, this.pencil.history.now);
    Object.assign(this, { base: found.drawing, digest: found.digest });
    if (fresh) this.pencil.put(found.drawing, "as the file has it now");
  }

  async theirs() {
    await this.against((found) => this.adopt(found));
  }

  async mine() {
    await this.against((found) => {
      const { now } = this.pencil.history;
      const both = joined(this.base, found.drawing, now);
      Object.assign(this, { base: found.drawing, digest: found.digest });
      if (!alike(both, now)) this.pencil.put(both, "yours, with what the file has besides");
    });
  }

  async against(how) {
    const found = await this.fetched(this.id);
    $("draw-notice").hidden = true;
    if (found.drawing) how(found);
    else this.say(found.why);
    this.draw();
    this.surface.focus();
  }

  saved(answer, drawing) {
    Object.assign(this, { id: this.id ?? drawing.id, base: drawing, file: answer.file, line: answer.line, digest: answer.digest });
    $("draw-notice").hidden = true;
    this.say(`saved in ${answer.file}`);
    this.draw();
    this.surface.focus();
  }

  // All that shows, from what is so now.
  draw() {
    if (!this.open) return;
    const { pencil } = this;
    const { drawing, history } = pencil;
    if (!pencil.drag && !same(history.now, this.asked)) this.ask(history.now);
    const marks = marksOf(drawing, this.judged, this.studied);
    if (!$("derived").checked) marks.derived.clear();
    this.surface.show({
      drawing, cursor: pencil.cursor, selected: pencil.shown, typing: pencil.typing?.index >= 0 ? pencil.typing : null,
      tool: pencil.tool, marks: this.step === null ? marks : atStep(marks, this.facts.steps, this.step), uncagedAllowed: this.uncaged,
    });
    this.bar(history);
    this.forms.show(history.now);
    this.dirty ? keep({ id: this.id, drawing: history.now, base: this.base, file: this.file, line: this.line, digest: this.digest, uncaged: this.uncaged })
      : forget();
  }

  bar(history) {
    const { pencil } = this;
    $("draw-title").textContent = history.now.title || history.now.id || "A new puzzle";
    $("draw-file").textContent = this.file ? `${this.file}${this.line ? `:${this.line}` : ""}` : "in no file yet";
    $("draw-dirty").hidden = !this.dirty;
    for (const [id, all] of [["undo", history.past], ["redo", history.future]]) $(id).disabled = !all.length;
    for (const button of document.querySelectorAll("#toolbox [data-tool]")) {
      button.setAttribute("aria-pressed", String(button.dataset.tool === pencil.tool));
    }
    $("selecting").setAttribute("aria-pressed", String(pencil.selecting));
    $("cage-acts").hidden = pencil.tool !== "cage";
    for (const name of ["cage-tools", "selecting", "rules-part"]) $(name).hidden = pencil.crossing;
    $("square-tools").hidden = $("squares-part").hidden = !pencil.crossing;
    $("grid-help").textContent = `${HELP[pencil.tool]}${this.surface.larger ? " Two fingers move the grid." : ""}`;
    const buttons = [...$("toolbox").querySelectorAll("button")];
    if (!buttons.some((one) => one.getAttribute("tabindex") === "0" && one.checkVisibility())) rove(buttons, buttons.find((one) => one.checkVisibility()));
  }

  ask(drawing) {
    this.asked = drawing;
    this.studied = null;
    this.facts.wait();
    this.questions.about(drawing);
  }

  hear(kind, answer, drawing) {
    if (kind === "trouble") this.facts.trouble(answer);
    else if (kind === "judge") {
      this.judged = answer;
      this.facts.judged(drawing, answer, this.uncaged);
    } else {
      this.studied = answer;
      this.facts.studied(answer);
    }
    document.documentElement.dataset.judged = answer.stamp ?? "";
    this.draw();
    return ["sound", "two answers", "no answer"].includes(answer.state);
  }

  walk(steps, at) {
    this.step = at;
    if (this.open) this.draw();
  }

  go(some) {
    const known = new Set(squares(this.pencil.history.now));
    this.pencil.cursor = some.find((cell) => known.has(cell)) ?? this.pencil.cursor;
    this.draw();
    this.surface.focus();
  }

  mend(repair) {
    this.pencil.put(repair.drawing, `done: ${repair.text}`);
    this.surface.focus();
  }

  say(text) {
    if ($("said").textContent !== text) $("said").textContent = text;
  }

  key(event) {
    if (event.key === "F6") this.area(event.shiftKey ? -1 : 1);
    else if (this.surface.holdsFocus()) {
      if (!this.pencil.key(event) && !this.letter(event)) return;
    } else if ((event.ctrlKey || event.metaKey) && ["z", "y"].includes(event.key.toLowerCase()) && !event.target.closest("input, textarea")) {
      this.pencil.key(event);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }

  letter(event) {
    if (event.altKey || event.ctrlKey || event.metaKey || !this.letters()) return false;
    const tools = this.pencil.crossing ? CROSSING_LETTERS : LETTERS;
    if (tools[event.key]) this.pencil.use(tools[event.key]);
    else if (ACTS[event.key] && this.pencil.tool === "cage") this.pencil.act(ACTS[event.key]);
    else return false;
    return true;
  }

  // From the grid to what is known, to the tools, and round.
  area(by) {
    const areas = [$("grid"), $("known"), $("toolbox")];
    const here = areas.findIndex((one) => one.contains(document.activeElement));
    const next = areas[(Math.max(here, 0) + by + areas.length) % areas.length];
    if (next === $("known")) next.focus();
    else next.querySelector('[tabindex="0"]').focus();
  }

  toolKey(event) {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const buttons = [...$("toolbox").querySelectorAll("button")].filter((one) => one.checkVisibility());
    const here = buttons.indexOf(document.activeElement);
    if (!by || here < 0) return;
    const next = buttons[(here + by + buttons.length) % buttons.length];
    rove($("toolbox").querySelectorAll("button"), next);
    next.focus();
    event.preventDefault();
    event.stopPropagation();
  }
}
