// The list of puzzles: filtered, sorted, and of its rows only those drawn again that changed.

import { make, place, plural, rove } from "./dom.js";
import { whole } from "./score.js";

const $ = (id) => document.getElementById(id);

const COLUMNS = [
  { key: "number", title: "No.", number: true },
  { key: "id", title: "Puzzle" },
  { key: "state", title: "State" },
  { key: "grade", title: "Grade" },
  { key: "score", title: "Score", number: true },
  { key: "hardest", title: "Hardest step" },
  { key: "page", title: "Page", number: true },
];
const SIGNS = { sound: "✓", "no answer": "∅", "two answers": "2", "over grade": "↑", "under grade": "↓", undecided: "…" };

const ENDED = { stuck: "the path is stuck", "out-of-budget": "the path was given up" };

export class List {
  constructor(open) {
    this.puzzles = [];
    this.rows = new Map();
    this.sort = { key: "number", down: false };
    this.chosen = null;
    this.groups = [];
    this.movable = false;
    this.shown = () => {};      // told when rows stand elsewhere
    this.headings();
    $("filter").addEventListener("submit", (event) => event.preventDefault());
    for (const name of ["words", "state", "grade"]) $(name).addEventListener("input", () => this.arrange());
    $("rows").addEventListener("click", (event) => {
      const row = event.target.closest("tbody tr");
      if (row?.dataset.id) open(row.dataset.id);
    });
    $("rows").addEventListener("keydown", (event) => this.move(event));
  }

  headings() {
    const head = $("rows").querySelector("thead tr");
    for (const column of COLUMNS) {
      const button = make("button", { type: "button" }, column.title);
      button.addEventListener("click", () => {
        this.sort = { key: column.key, down: this.sort.key === column.key && !this.sort.down };
        this.arrange();
      });
      head.append(make("th", { scope: "col", "data-key": column.key, class: column.number ? "number" : null }, button));
    }
  }

  take(state) {
    this.puzzles = state.puzzles;
    this.grades = state.grades;
    this.groups = state.order?.groups ?? [];
    this.options($("state"), [...new Set(state.puzzles.map((one) => one.state))].sort());
    this.options($("grade"), state.grades);
    const kept = new Map();
    for (const [index, one] of state.puzzles.entries()) {
      const key = one.id || `#${index}`;
      const text = JSON.stringify(one);
      const known = this.rows.get(key);
      kept.set(key, known?.text === text ? { ...known, one } : { text, one, row: this.row(one) });
    }
    this.rows = kept;
    this.arrange();
  }

  options(select, names) {
    const value = select.value;
    select.replaceChildren(make("option", { value: "" }, "any"), ...names.map((name) => make("option", { value: name }, name)));
    select.value = names.includes(value) ? value : "";
  }

  row(one) {
    const row = make("tr", { "data-id": one.id, "data-state": one.state });
    const name = make("button", { type: "button", class: "name" }, make("span", { class: "id" }, one.id || place(one)));
    if (one.remark) {
      name.append(" ", make("span", { class: "noted", title: one.remark.slice(0, 300), "aria-hidden": "true" }, "✎"),
        make("span", { class: "unseen" }, "with a note to yourself"));
    }
    if (one.title) name.append(make("span", { class: "title" }, one.title));
    const sign = make("span", { class: "sign", "aria-hidden": "true" }, SIGNS[one.state] ?? "!");
    const cells = {
      number: one.number ?? "–", id: name, state: make("span", { class: "state" }, sign, one.state),
      grade: one.grade ?? "–", score: one.score != null ? whole(one.score) : "–", hardest: ENDED[one.path] ?? (one.hardest || "–"), page: one.page ?? "–",
    };
    for (const column of COLUMNS) {
      const tag = column.key === "id" ? make("th", { scope: "row" }) : make("td", { class: column.number ? "number" : column.key });
      tag.append(cells[column.key]);
      row.append(tag);
    }
    if (this.movable && one.id) row.lastElementChild.append(make("span", { class: "grip", "aria-hidden": "true", title: "Drag to move, or press" }, "⠿"));
    return row;
  }

  // The same puzzles in another order.
  placed(order) {
    this.groups = order.groups;
    this.arrange();
  }

  // Whether the list stands in the book's order.
  get inOrder() {
    return this.sort.key === "number" && !this.sort.down;
  }

  // The place of each puzzle in the book: as its manifest lists it, but where grades have put it elsewhere.
  places() {
    return new Map(this.groups.flatMap((group) => this.sorted(group)).map((id, index) => [id, index]));
  }

  sorted(group) {
    const number = (id) => this.rows.get(id)?.one.number ?? Infinity;
    return group.graded ? [...group.ids].sort((a, b) => number(a) - number(b) || 0) : group.ids;
  }

  arrange() {
    const words = $("words").value.trim().toLowerCase().split(/\s+/);
    const shown = [...this.rows.values()].filter(({ one }) => {
      const text = `${one.id} ${one.title} ${one.hardest} ${one.file} ${one.why} ${one.remark}`.toLowerCase();
      return words.every((word) => text.includes(word))
        && (!$("state").value || one.state === $("state").value)
        && (!$("grade").value || one.grade === $("grade").value);
    });
    const { key, down } = this.sort;
    const places = this.places();
    const value = (one) => key === "grade" ? this.grades.indexOf(one.grade) : key === "number" ? places.get(one.id) ?? one.number : one[key];
    const order = (a, b) => {
      const [x, y] = [value(a.one), value(b.one)];
      if (x === y || (x == null && y == null)) return 0;
      if (x == null || y == null) return x == null ? 1 : -1;
      return (x < y ? -1 : 1) * (down ? -1 : 1);
    };
    shown.sort(order);
    this.order = shown.map(({ one }) => one.id).filter(Boolean);
    this.show(shown);
    this.stop();
    $("count").textContent = shown.length === this.puzzles.length ? plural(shown.length, "puzzle")
      : `${shown.length} of ${this.puzzles.length}`;
    for (const heading of $("rows").querySelectorAll("thead th")) {
      const mine = heading.dataset.key === key;
      mine ? heading.setAttribute("aria-sort", down ? "descending" : "ascending") : heading.removeAttribute("aria-sort");
    }
  }

  // Rows under their section's heading where they stand in the book's order. What has the focus keeps it.
  show(shown) {
    const held = document.activeElement?.closest("#rows tbody tr")?.dataset.id;
    const parts = [];
    if (this.inOrder && this.groups.some((group) => group.title)) {
      const left = new Set(shown);
      for (const [index, group] of this.groups.entries()) {
        const own = shown.filter(({ one }) => group.ids.includes(one.id));
        own.forEach((one) => left.delete(one));
        if (own.length) parts.push([this.head(group, index), ...own.map(({ row }) => row)]);
      }
      parts.push([...left].map(({ row }) => row));
    } else parts.push(shown.map(({ row }) => row));
    const table = $("rows").querySelector("table");
    while (table.tBodies.length > parts.length) table.tBodies[parts.length].remove();
    while (table.tBodies.length < parts.length) table.append(make("tbody"));
    parts.forEach((rows, index) => put(table.tBodies[index], rows));
    const row = held && this.rows.get(held)?.row;
    if (row?.isConnected && !row.contains(document.activeElement)) row.querySelector("button").focus();
    this.shown();
  }

  head(group, index) {
    const text = group.loose ? "In no section, so left out of the book" : group.title;
    const head = make("th", { scope: "rowgroup", colspan: COLUMNS.length }, text);
    if (group.graded) head.append(make("span", { class: "by-grade" }, ", by grade"));
    return make("tr", { class: "section", "data-group": index }, head);
  }

  only(name, value) {
    $(name).value = $(name).value === value ? "" : value;
    this.arrange();
  }

  // The row where the Tab key stops: the one in focus, the one chosen, or the first.
  stop(row = null) {
    const rows = this.lines();
    const chosen = row ?? rows.find((one) => one.contains(document.activeElement))
      ?? rows.find((one) => one.dataset.id === this.chosen) ?? rows[0];
    rove(rows.map((one) => one.querySelector("button")), chosen?.querySelector("button"));
  }

  lines() {
    return [...$("rows").querySelectorAll("tbody tr:not(.section)")];
  }

  current(id) {
    this.chosen = id;
    this.stop();
    for (const { one, row } of this.rows.values()) row.classList.toggle("chosen", one.id === id);
  }

  beside(by) {
    if (!this.order?.length) return null;
    const at = this.order.indexOf(this.chosen);
    return at < 0 ? this.order[by > 0 ? 0 : this.order.length - 1] : this.order[at + by] ?? null;
  }

  focus(id) {
    const row = this.rows.get(id)?.row;
    (row?.isConnected ? row.querySelector("button") : $("rows")).focus();
  }

  move(event) {
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const row = event.target.closest("tbody tr");
    if (!by) return;
    const rows = this.lines();
    const next = rows[row ? rows.indexOf(row) + by : 0];
    if (next) {
      this.stop(next);
      next.querySelector("button").focus();
    }
    event.preventDefault();
  }
}

// Gives a table's body these rows; where only a few are new, the others stay untouched.
function put(body, rows) {
  const there = [...body.children];
  const fresh = rows.filter((row, index) => row !== there[index]);
  if (rows.length !== there.length || fresh.length > 20 || fresh.some((row) => row.isConnected)) {
    body.replaceChildren(...rows);
    return;
  }
  for (const [index, row] of rows.entries()) if (row !== there[index]) there[index].replaceWith(row);
}
