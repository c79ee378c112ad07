// Puzzles put in order: dragged in the list, stepped by keys, or sent to a section; each move can be taken back.

import { make } from "./dom.js";
import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

const SLACK = 5;        // px a mouse may stray before a press is a drag
const EDGE = 36;        // px from the end of the list where it scrolls along

export class Order {
  // `list` shows the groups of puzzles, `current()` is the id of the puzzle that is open; `load()` asks for the state.
  constructor(list, current, load) {
    Object.assign(this, { list, load });
    this.order = null;
    this.moves = 0;             // begun and ended
    this.done = false;          // whether what is said is of a move that was made
    this.drag = null;
    this.stepped = null;        // the puzzle that the keys move, as long as they move no other
    this.turn = Promise.resolve();
    list.shown = () => { if (this.drag?.on) this.aim(); };
    const rows = $("rows");
    rows.addEventListener("keydown", (event) => this.key(event), { capture: true });
    rows.addEventListener("focusin", (event) => { if (event.target.closest("tr")?.dataset.id !== this.stepped) this.stepped = null; });
    rows.addEventListener("pointerdown", (event) => this.press(event));
    rows.addEventListener("pointermove", (event) => this.over(event));
    rows.addEventListener("pointerup", (event) => this.release(event));
    rows.addEventListener("pointercancel", () => this.cancel());
    rows.addEventListener("click", (event) => this.click(event), { capture: true });
    document.addEventListener("keydown", (event) => this.anywhere(event), { capture: true });
    $("move-this").addEventListener("click", () => this.open(current()));
    $("move-back").addEventListener("click", () => this.back());
    $("move-again").addEventListener("click", () => this.back(true));
    $("move-group").addEventListener("input", () => this.places());
    $("move-cancel").addEventListener("click", () => $("move-dialog").close());
    $("move-dialog").addEventListener("close", () => {     // by then the focus is back where it was
      if ($("move-dialog").returnValue === "move") this.move($("move-dialog").dataset.id, Number($("move-group").value), Number($("move-place").value));
    });
  }

  // A state that was asked after `asked` moves; where more were made since, it does not know their order.
  take(state, asked) {
    if (asked !== this.moves) state.order = this.order;
    else if (state.order?.digest !== this.order?.digest && this.done) this.say("");
    this.show(state.order);
  }

  show(order) {
    this.order = order;
    $("move-this").hidden = !this.order;
    this.offer([[$("move-back"), this.order?.back], [$("move-again"), this.order?.again]]);
  }

  // A button that goes leaves its focus to the other, or else to the list.
  offer(buttons) {
    const held = buttons.some(([button, id]) => !id && document.activeElement === button);
    for (const [button, id] of buttons) button.hidden = !id;
    if (held) (buttons.find(([, id]) => id)?.[0] ?? $("rows")).focus();
  }

  // In which group a puzzle stands, and after how many of its others.
  where(id) {
    const group = this.order?.groups.findIndex((one) => one.ids.includes(id)) ?? -1;
    return group < 0 ? null : { group, place: this.order.groups[group].ids.indexOf(id) };
  }

  say(text) {
    this.done = false;
    $("moved-said").textContent = $("moved-said").textContent === text ? `${text} ` : text;
  }

  told(id) {
    const { group: number, place } = this.where(id);
    const group = this.order.groups[number];
    if (group.loose) return `${id} is in no section, so it is left out of the book`;
    if (group.graded) return `${id} is in ${group.title}, which stands in order of grade`;
    return `${id} is ${place + 1} of ${group.ids.length}${group.title ? ` in ${group.title}` : ""}`;
  }

  // Moves are made one after the other, each from where the one before it left the book.
  move(id, group, place) {
    this.queue(() => this.made(id, group, place, false));
  }

  made(id, group, place, joins) {
    const { title, graded } = this.order.groups[group];
    if (graded && this.where(id)?.group === group) return this.say(`${title} stands in order of grade, easiest first`);
    return this.ask("move", { id, group, place, joins }, () => this.told(id));
  }

  back(again = false) {
    this.stepped = null;
    this.queue(() => {
      const id = again ? this.order?.again : this.order?.back;
      return id ? this.ask("take-back", { again }, () => `${again ? "done again" : "undone"}: ${this.told(id)}`)
        : this.say(`no move to ${again ? "redo" : "undo"}`);
    });
  }

  queue(act) {
    this.turn = this.turn.then(act).catch((error) => {
      this.say(error.message);
      this.load();        // it may stand otherwise than is shown here
    });
  }

  async ask(what, body, told) {
    this.moves += 1;
    const { order } = await ask(what, { ...body, digest: this.order.digest });
    this.moves += 1;
    if (order) {
      this.show(order);
      this.list.placed(order);
    }
    this.say(told());
    this.done = true;
  }

  // Keys.

  key(event) {
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const id = event.target.closest("tbody tr")?.dataset.id;
    if (!by || !id || !event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (!this.list.inOrder) this.say("The list stands in another order than the book: choose No. first");
    else this.queue(() => this.step(id, by));
  }

  // One place up or down; past the first and the last of a section into the one beside it.
  step(id, by) {
    const at = this.where(id);
    if (!at) return null;
    const { groups } = this.order;
    const here = groups[at.group];
    const ids = this.list.sorted(here);
    const joins = this.stepped === id;
    this.stepped = id;
    let group = at.group;
    let place = ids.indexOf(id) + by;
    if (ids[place] === undefined || here.loose) {
      group = at.group + by;
      if (!groups[group] || groups[group].loose) {
        this.say(`${id} is ${by < 0 ? "the first" : "the last"} already`);
        return null;
      }
      place = by < 0 ? groups[group].ids.length : 0;
    }
    return this.made(id, group, place, joins);
  }

  anywhere(event) {
    if (event.key === "Escape" && this.drag?.on) {
      this.cancel();
      event.preventDefault();
      event.stopImmediatePropagation();
    } else if (["z", "y"].includes(event.key.toLowerCase()) && (event.ctrlKey || event.metaKey) && !event.altKey && this.order
        && $("draw").hidden && !document.querySelector("dialog[open]") && !event.target.closest("input, textarea, select")) {
      this.back(event.shiftKey || event.key.toLowerCase() === "y");
      event.preventDefault();
    }
  }

  // The choice of a section, and of a place there.

  open(id) {
    const at = this.where(id);
    if (!at) return;
    $("move-title").textContent = `Move ${id}`;
    $("move-dialog").dataset.id = id;
    $("move-dialog").returnValue = "";
    $("move-group").replaceChildren(...this.order.groups.map((group, index) => make("option", { value: index },
      group.loose ? "in no section (left out of the book)" : group.title || "the book")));
    $("move-group").value = String(at.group);
    this.places();
    $("move-dialog").showModal();
    $("move-group").focus();
  }

  places() {
    const id = $("move-dialog").dataset.id;
    const at = this.where(id);
    const group = this.order.groups[Number($("move-group").value)];
    const others = group.ids.filter((one) => one !== id);
    const fixed = group.graded || group.loose;
    const names = fixed ? [group.graded ? "where its grade puts it" : "–"] : ["first", ...others.map((one) => `after ${one}`)];
    $("move-place").replaceChildren(...names.map((name, index) => make("option", { value: index }, name)));
    $("move-place").disabled = fixed;
    const here = this.order.groups[at.group] === group;
    $("move-place").value = String(fixed ? 0 : here ? at.place : others.length);
    $("move-do").disabled = fixed && here;
  }

  // Pointers: a mouse takes a row anywhere, a finger by its grip, for elsewhere it scrolls.

  press(event) {
    const row = event.target.closest("tbody tr[data-id]");
    const grip = event.target.closest(".grip");
    if (!row?.dataset.id || event.button !== 0 || !event.isPrimary || !this.order || !this.list.inOrder) return;
    if (event.pointerType !== "mouse" && !grip) return;
    this.drag = { id: row.dataset.id, pointer: event.pointerId, x: event.clientX, y: event.clientY, on: false, grip: Boolean(grip) };
  }

  over(event) {
    const { drag } = this;
    if (!drag || event.pointerId !== drag.pointer) return;
    if (!drag.on) {
      if (Math.hypot(event.clientX - drag.x, event.clientY - drag.y) < SLACK) return;
      drag.on = true;
      $("rows").setPointerCapture(drag.pointer);
      document.body.classList.add("dragging");
    }
    drag.y = event.clientY;
    this.aim();
    this.scroll();
  }

  // Where it would go were the pointer lifted now: a line before a row or after it.
  aim() {
    const { drag } = this;
    this.unmark();
    const rows = [...$("rows").querySelectorAll("tbody tr")];
    const row = rows.find((one) => drag.y < one.getBoundingClientRect().bottom) ?? rows.at(-1);
    const box = row.getBoundingClientRect();
    const after = drag.y > (box.top + box.bottom) / 2;
    drag.goal = row.dataset.id ? this.beside(row.dataset.id, after) : this.atHead(Number(row.dataset.group), after);
    this.list.rows.get(drag.id)?.row.classList.add("moving");
    row.classList.add(after ? "drop-after" : "drop-before");
    const { groups } = this.order;
    const fixed = !drag.goal || (groups[drag.goal.group].graded && drag.goal.group === this.where(drag.id)?.group);
    row.classList.toggle("drop-none", fixed);
  }

  beside(id, after) {
    const at = this.where(id);
    if (!at) return null;
    const others = this.order.groups[at.group].ids.filter((one) => one !== this.drag.id);
    const place = id === this.drag.id ? at.place : others.indexOf(id) + (after ? 1 : 0);
    return { group: at.group, place };
  }

  // On a section's heading: the start of that section, or the end of the one before it.
  atHead(group, after) {
    if (after || group === 0) return { group, place: 0 };
    return { group: group - 1, place: this.order.groups[group - 1].ids.filter((one) => one !== this.drag.id).length };
  }

  scroll() {
    const { drag } = this;
    const box = $("rows").getBoundingClientRect();
    const by = drag.y < box.top + EDGE ? -1 : drag.y > box.bottom - EDGE ? 1 : 0;
    if (by && !drag.scrolling) {
      drag.scrolling = true;
      requestAnimationFrame(() => {
        drag.scrolling = false;
        if (this.drag !== drag || !drag.on) return;
        $("rows").scrollTop += by * 9;
        this.aim();
        this.scroll();
      });
    }
  }

  release(event) {
    const { drag } = this;
    if (!drag || event.pointerId !== drag.pointer) return;
    this.drag = null;
    this.unmark();
    if (!drag.on && drag.grip) this.open(drag.id);
    if (!drag.on) return;
    this.swallow = true;        // the click that a browser makes of the press
    setTimeout(() => { this.swallow = false; });
    const at = this.where(drag.id);
    if (drag.goal && at && (drag.goal.group !== at.group || drag.goal.place !== at.place)) this.move(drag.id, drag.goal.group, drag.goal.place);
  }

  cancel() {
    this.drag = null;
    this.unmark();
  }

  unmark() {
    document.body.classList.toggle("dragging", Boolean(this.drag?.on));
    for (const row of $("rows").querySelectorAll(".moving, .drop-before, .drop-after, .drop-none")) {
      row.classList.remove("moving", "drop-before", "drop-after", "drop-none");
    }
  }

  click(event) {
    if (!this.swallow && !event.target.closest(".grip")) return;
    event.preventDefault();
    event.stopPropagation();
  }
}
