// The desk: takes the state from the server, hands it to the parts of the page, and listens for saves.

import { Build } from "./build.js";
import { Charts } from "./charts.js";
import { Detail } from "./detail.js";
import { Draw } from "./draw.js";
import { DIGITS } from "./drawing.js";
import { Editor } from "./editor.js";
import { ofSquares } from "./forms.js";
import { faultItem, make, plural } from "./dom.js";
import { Help } from "./help.js";
import { List } from "./list.js";
import { Order } from "./order.js";
import { Pages } from "./pages.js";
import { Rename } from "./rename.js";
import { takeScore } from "./score.js";
import { Sheets } from "./sheets.js";
import { token } from "./talk.js";

const $ = (id) => document.getElementById(id);
const pages = new Pages((id) => open(id));
const sheets = new Sheets(() => pages.page, () => pages.show(), () => view("pages"));
const list = new List((id) => open(id));
const charts = new Charts((id) => open(id), (grade) => list.only("grade", grade));
const detail = new Detail(() => show(null), (page) => toPage(page), (id) => { list.current(id); address(id); });
const order = new Order(list, () => detail.id, () => load());
new Rename(() => detail.id, (id, to) => {
  detail.next = to;
  $("status").textContent = `${id} is ${to} from now on`;
});
const editor = new Editor(() => ($("detail").hidden ? null : detail.row));
const drawing = new Draw((on) => drawn(on), () => $("letters").checked);
const help = new Help();
const build = new Build((id) => open(id), (page) => toPage(page), () => drawing.open && drawing.dirty);
let state = null;
let meant = location.hash.slice(1);     // the puzzle to be opened at once
let wanted = false;
let loading = false;
let told = "";

async function load() {
  wanted = true;
  if (loading) return;
  loading = true;
  try {
    while (wanted) {
      wanted = false;
      const { moves } = order;
      const answer = await fetch("/state.json");
      if (!answer.ok) throw new Error(answer.statusText);
      await take(await answer.json(), moves);
    }
  } catch {
    tell("The desk does not answer. Is it still running?");
  } finally {
    loading = false;
  }
}

async function take(next, moves) {
  state = next;
  document.title = `${state.title || state.manifest} – the desk`;
  $("title").textContent = state.title || state.manifest;
  if (writable) editor.take(state);
  await pages.take(state);      // first: what was saved is what is looked at
  sheets.take(state);
  tellFaults();
  if (writable) order.take(state, moves);
  takeScore(state.score);
  list.take(state);
  charts.take(state);
  targets();
  if (writable) build.offer(state);
  progress(state.progress.done, state.progress.of);
  if (state.puzzles.some((one) => one.id === meant)) open(meant);
  await detail.take(state);
  await drawing.take();
  document.documentElement.dataset.shown = state.number;
}

// What the page says of itself; what is said beside it of something done stays until this is another.
function tell(text) {
  if (text === told) return;
  told = text;
  $("status").textContent = text;
}

function tellStatus() {
  if (!state) return;
  const bad = state.puzzles.filter((one) => one.state !== "sound").length;
  const parts = [plural(state.puzzles.length, "puzzle"), plural((state.pages ?? []).length, "page")];
  if (bad) parts.push(`${bad} cannot be printed`);
  tell(state.number ? parts.join(" · ") : "Reading the book…");
}

function progress(done, of) {
  const busy = done < of;
  $("progress").hidden = !busy;
  $("progress").max = of || 1;
  $("progress").value = done;
  if (busy) tell(`Solving: ${done} of ${of} puzzles`);
  else tellStatus();
}

function tellFaults() {
  const all = [...state.faults, ...state.puzzles.flatMap((one) => one.faults)];
  const errors = all.filter((one) => one.severity === "error");
  const warnings = all.filter((one) => one.severity !== "error");
  const head = state.fresh || !errors.length ? `${plural(errors.length, "fault")} to mend`
    : state.pages ? `${plural(errors.length, "fault")} to mend. The pages are those of the last book without any.`
      : `${plural(errors.length, "fault")} to mend before there are pages to see`;
  const unsound = state.puzzles.filter((one) => one.state !== "sound");
  tellUnsound(unsound);
  $("faults").hidden = !all.length && !unsound.length;
  $("faults").classList.toggle("calm", !errors.length && !unsound.length);
  $("faults-head").hidden = !errors.length;
  if ($("faults-head").textContent !== head) $("faults-head").textContent = head;
  fill($("faults-list"), errors);
  $("warnings").hidden = !warnings.length;
  $("warnings").querySelector("summary").textContent = plural(warnings.length, "warning");
  fill($("warnings").querySelector("ul"), warnings);
}

// Puzzles that cannot be printed, each a button that opens it.
function tellUnsound(puzzles) {
  const text = JSON.stringify(puzzles.map((one) => [one.id, one.state]));
  if (text === $("unsound").dataset.text) return;
  $("unsound").dataset.text = text;
  $("unsound").hidden = !puzzles.length;
  const buttons = puzzles.slice(0, 60).map((one) => {
    const button = make("button", { type: "button" }, `${one.id}: ${one.state}`);
    button.addEventListener("click", () => open(one.id));
    return button;
  });
  if (puzzles.length > 60) buttons.push(`and ${puzzles.length - 60} more`);
  $("unsound").replaceChildren(make("strong", {}, `${plural(puzzles.length, "puzzle")} cannot be printed as it stands`
    .replace(/^(?!1 )(.*) it stands/, "$1 they stand")), ...buttons);
}

function fill(ul, faults) {
  ul.replaceChildren(...faults.slice(0, 60).map(faultItem));
  if (faults.length > 60) ul.append(make("li", {}, `and ${faults.length - 60} more`));
}

function targets() {
  const options = state.puzzles.filter((one) => one.id).map((one) => {
    const option = make("option", { value: one.id });
    option.label = one.title;
    return option;
  });
  $("targets").replaceChildren(...options);
}

function open(id) {
  meant = null;
  show("detail");      // first: only what is shown takes the focus
  detail.open(id, state);
  list.current(id);
  address(id);
}

// The address says which puzzle is open, so that a reload finds it again.
function address(id) {
  history.replaceState(null, "", id ? `#${id}` : location.pathname + location.search);
}

function show(what) {
  const one = what === "detail";
  $("list").hidden = one;
  $("detail").hidden = !one;
  view("puzzles");
  if (one) return;
  list.focus(detail.close());
  address(null);
}

// What is drawn has the window to itself; afterwards one is where one was.
function drawn(on) {
  $("draw").hidden = !on;
  document.body.classList.toggle("drawing", on);
  $("pages").hidden = $("puzzles").hidden = $("switch").hidden = on;
  if (on) return;
  const id = drawing.id;
  if (id && state?.puzzles.some((one) => one.id === id)) open(id);
  else if (!$("detail").hidden) $("detail-title").focus();
  else $("new").focus();
}

async function pencil(id) {
  const why = await drawing.start(id);
  if (why) $("status").textContent = why;
}

function view(name) {
  document.body.dataset.view = name;
  for (const button of document.querySelectorAll("#switch button")) {
    button.setAttribute("aria-pressed", String(button.dataset.to === name));
  }
  if (name === "pages") pages.fit();
}

function toPage(number) {
  sheets.pages();
  view("pages");
  pages.go(number);
  $("table").focus();
}

$("jump").addEventListener("submit", (event) => {
  event.preventDefault();
  const text = $("goto").value.trim();
  const count = (state?.pages ?? []).length;
  const found = state?.puzzles.find((one) => one.id === text)
    ?? state?.puzzles.find((one) => one.id.startsWith(text) || one.title.toLowerCase() === text.toLowerCase());
  const number = /^\d+$/.test(text) ? Number(text) : found?.page;
  const there = number >= 1 && number <= count;
  if (there || found) $("tools").hidePopover();
  $("goto").setAttribute("aria-invalid", String(!there && !found));
  if (there) toPage(number);
  if (found && !/^\d+$/.test(text)) {
    open(found.id);
    if (there) toPage(number);
  }
  $("status").textContent = there || found ? told : `There is no page or puzzle “${text}”`;
});

for (const button of document.querySelectorAll("#switch button")) {
  button.addEventListener("click", () => view(button.dataset.to));
}

function allOverlays() {
  const boxes = [...document.querySelectorAll("#overlays input")];
  const on = boxes.some((box) => !box.checked);
  for (const box of boxes) box.checked = on;
  pages.overlays();
  sheets.overlays();
}

const LETTERS = {
  "g": () => { if (!$("goto").checkVisibility()) $("tools").showPopover(); $("goto").focus(); },
  "/": () => { if (!$("detail").hidden) show(null); view("puzzles"); $("words").focus(); },
  "n": () => step(1),
  "p": () => step(-1),
  "m": () => { if (writable) order.open($("detail").hidden ? document.activeElement.closest("#rows tr")?.dataset.id : detail.id); },
  "e": () => editor.puzzle(),
  "d": () => { if (!$("detail").hidden && writable) pencil(detail.id); },
  "b": () => build.show(),
  "v": () => { view("pages"); sheets.next(); },
  "a": () => { if (!$("detail").hidden) detail.toggleAnswer(); },
  "o": allOverlays,
  "f": () => document.querySelector("#faults:not([hidden]) a, #faults:not([hidden]) summary")?.focus(),
  "h": () => help.show(),
  "?": () => $("keys").showModal(),
};

function step(by) {
  const id = list.beside(by);
  if (!id) return;
  open(id);
  const page = state.puzzles.find((one) => one.id === id)?.page;
  if (page && !sheets.open) pages.go(page);
}

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || document.querySelector("dialog[open]")) return;
  if (drawing.open) {
    if (event.key === "?" && $("letters").checked && !event.target.closest("input, textarea")) LETTERS["?"]();
    return;
  }
  const typing = event.target.closest("input:not([type=checkbox]):not([type=range]), select, textarea");
  if (event.key === "Escape" && !$("detail").hidden) {
    show(null);
    event.preventDefault();
    return;
  }
  if (typing || event.target.closest("input[type=range]")) return;
  if (["ArrowLeft", "ArrowRight", "Home", "End"].includes(event.key)) {
    const inside = event.target.closest("#detail") || (!$("detail").hidden && document.body === event.target);
    const scrolling = event.target.closest("#rows");
    if (scrolling && (event.key === "Home" || event.key === "End")) return;
    (inside ? detail : sheets.open ? sheets : pages).key(event.key);
    event.preventDefault();
  } else if (LETTERS[event.key] && $("letters").checked) {
    LETTERS[event.key]();
    event.preventDefault();
  }
});

const writable = Boolean(token());
list.movable = writable;
$("rows").classList.toggle("movable", writable);
$("new").hidden = $("draw-this").hidden = $("rename-this").hidden = !writable;
$("draw-this").addEventListener("click", () => pencil(detail.id));
for (let size = 4; size < DIGITS.length; size++) $("new-size").append(make("option", { value: size }, `${size} × ${size}`));
for (const name of ["new-rows", "new-columns"]) ofSquares($(name));
$("new-kind").addEventListener("change", kindOfNew);
function kindOfNew() {
  const crossing = $("new-kind").value === "crossing";
  $("new-size").closest("label").hidden = crossing;
  for (const name of ["new-rows", "new-columns"]) $(name).closest("label").hidden = $(name).disabled = !crossing;
}
$("new").addEventListener("click", () => {
  $("new-size").value = "9";
  $("new-kind").value = "cages";
  $("new-rows").value = $("new-columns").value = "8";
  kindOfNew();
  $("new-id").value = $("new-dialog").returnValue = "";
  $("new-dialog").showModal();
  $("new-id").focus();
});
$("new-cancel").addEventListener("click", () => $("new-dialog").close());
$("new-dialog").addEventListener("close", () => {     // by then the focus is back where it was
  if ($("new-dialog").returnValue === "draw") {
    const squares = [Number($("new-rows").value), Number($("new-columns").value)];
    drawing.startNew($("new-kind").value === "crossing" ? squares : Number($("new-size").value), $("new-id").value);
  }
});
$("help").addEventListener("click", () => $("keys").showModal());

function remember(control, name, apply) {
  try {
    const kept = localStorage.getItem(name);
    if (kept !== null) control.type === "checkbox" ? control.checked = kept === "true" : control.value = kept;
  } catch { /* private windows keep nothing */ }
  apply();
  control.addEventListener("change", () => {
    try {
      localStorage.setItem(name, control.type === "checkbox" ? control.checked : control.value);
    } catch { /* as above */ }
    apply();
  });
}

remember($("theme"), "theme", () => { document.documentElement.dataset.theme = $("theme").value; });
remember($("letters"), "letters", () => {});
remember($("derived"), "derived", () => drawing.draw());
remember($("zoom"), "zoom", () => pages.fit());

if (writable) drawing.resume();

const events = new EventSource("/events");
events.addEventListener("state", load);
events.addEventListener("build", () => build.load());
events.addEventListener("progress", (event) => {
  const { done, of } = JSON.parse(event.data);
  progress(done, of);
});
events.addEventListener("trouble", (event) => {
  tell(`The desk stumbled: ${JSON.parse(event.data).message}`);
});
events.addEventListener("error", () => {
  tell("The desk does not answer; trying again…");
});
