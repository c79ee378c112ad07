// Building the book: what is to be written, how it goes, what came of it. Every page of the desk shows the same build.

import { faultItem, make, plural } from "./dom.js";
import { Changes } from "./changes.js";
import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

const STEPS = { "checked": "Puzzles looked at", "paged": "Pages laid out", "drawn": "Pages drawn", "read back": "Files read back" };
const ENDS = {
  built: "Built", refused: "Not built: nothing was written", stopped: "Stopped: nothing was written", failed: "It failed: nothing was written",
};

export class Build {
  // open(id) opens a puzzle, toPage(number) a page, `unsaved()` tells of a drawing that is not in its file.
  constructor(open, toPage, unsaved) {
    Object.assign(this, { open, toPage, unsaved });
    this.run = null;
    this.changes = new Changes((go) => { $("build-dialog").close(); go(); }, open, toPage);
    this.loading = this.wanted = false;
    $("build-open").addEventListener("click", () => this.show());
    $("build-close").addEventListener("click", () => $("build-dialog").close());
    $("build-form").addEventListener("submit", (event) => { event.preventDefault(); this.start(); });
    $("build-stop").addEventListener("click", () => this.post("stop-build", {}));
    $("build-booklet").addEventListener("change", () => this.options());
  }

  // What the desk says of itself at first: the sheets there are.
  offer(state) {
    $("build-open").hidden = false;
    if ($("build-dialog").open) this.changes.load();
    if ($("build-sheet").children.length) return;
    $("build-sheet").append(make("option", { value: "" }, "the smallest that fits"),
      ...state.sheets.map((name) => make("option", { value: name }, name)));
    this.options();
    this.load();
  }

  options() {
    $("build-sheet").disabled = !$("build-booklet").checked;
  }

  show() {
    if ($("build-open").hidden || $("build-dialog").open) return;
    this.load();
    this.changes.begin();
    $("build-dialog").showModal();
  }

  async start() {
    if (this.busy) return;
    await this.post("build", {
      press: $("build-press").checked, booklet: $("build-booklet").checked, sheet: $("build-sheet").value || null });
  }

  async post(what, body) {
    try {
      await ask(what, body);
    } catch (error) {
      if (error.status !== 409) {
        $("build-run").hidden = false;
        $("build-status").textContent = error.message;
        return;
      }
    }
    await this.load();
  }

  get busy() {
    return ["running", "stopping"].includes(this.run?.state);
  }

  // There is more to say; asked for one at a time.
  async load() {
    this.wanted = true;
    if (this.loading) return;
    this.loading = true;
    try {
      while (this.wanted) {
        this.wanted = false;
        const answer = await fetch("/build.json");
        if (answer.ok) this.take(await answer.json());
      }
    } catch { /* the desk says itself that it does not answer */ } finally {
      this.loading = false;
    }
  }

  take(run) {
    const before = this.run;
    this.run = run;
    $("build-out").textContent = run.out;
    const { busy } = this;
    $("build-open").textContent = busy ? `Building ${run.done} of ${run.of || "…"}` : "Build…";
    $("build-options").disabled = $("build-go").disabled = busy;
    $("build-stop").hidden = !busy;
    $("build-stop").disabled = run.state === "stopping";
    $("build-run").hidden = run.state === "none";
    $("build-progress").hidden = !busy;
    $("build-progress").max = run.of || 1;
    $("build-progress").value = run.done;
    this.tell(run, busy);
    const ended = before && ["running", "stopping"].includes(before.state) && !busy;
    if (ended && $("build-dialog").open) this.changes.load();
    const text = JSON.stringify([run.number, run.state, run.faults, run.files]);
    if (text !== this.text) this.results(run);
    this.text = text;
    const log = $("build-log").querySelector("pre");
    const lines = run.log.join("\n");
    if (log.textContent !== lines) log.textContent = lines;
    if (ended && run.state !== "built" && !run.faults.length) $("build-log").open = true;
    if (ended && $("build-dialog").open && !document.activeElement?.checkVisibility()) $("build-go").focus();
    document.documentElement.dataset.build = `${run.number} ${run.state}`;
  }

  tell(run, busy) {
    const step = STEPS[run.step] ?? "Reading the book";
    const errors = run.faults.filter((one) => one.severity === "error").length;
    const said = run.state === "stopping" ? "Stopping…" : busy ? `${step}${run.step === "checked" ? `: ${run.done}` : ""}`
      : `${ENDS[run.state] ?? ""}${errors ? `, ${plural(errors, "fault")} to mend` : ""}${run.state === "built" ? `: ${run.said}` : ""}`;
    if ($("build-status").textContent !== said) $("build-status").textContent = said;
    $("build-status").dataset.state = run.state;
  }

  results(run) {
    $("build-files").replaceChildren(...run.files.filter((name) => name.endsWith(".pdf")).map((name) => this.file(run, name)), ...this.pictures(run));
    $("build-notes").replaceChildren(...run.notes.map((note) => make("li", {}, note)),
      ...(this.unsaved() && this.busy ? [make("li", { class: "warned" }, "What is drawn and not saved is not in it.")] : []));
    $("build-faults").replaceChildren(...run.faults.map((fault) => this.fault(fault)));
  }

  file(run, name) {
    const path = name.split("/").map(encodeURIComponent).join("/");
    return make("li", {}, make("a", { href: `/built/${run.number}/${path}`, target: "_blank", rel: "noopener" }, name));
  }

  pictures(run) {
    const names = run.files.filter((name) => !name.endsWith(".pdf"));
    if (!names.length) return [];
    return [make("li", {}, make("details", {}, make("summary", {}, plural(names.length, "picture")),
      make("ul", {}, ...names.map((name) => this.file(run, name)))))];
  }

  // A fault with ways to the puzzle in whose lines it lies, and to the page it speaks of.
  fault(fault) {
    const item = faultItem(fault);
    const page = /\bpage (\d+)\b/.exec(fault.message)?.[1];
    const lead = (text, go) => {
      const button = make("button", { type: "button" }, text);
      button.addEventListener("click", () => { $("build-dialog").close(); go(); });
      item.append(" ", button);
    };
    if (fault.puzzle) lead(fault.puzzle, () => this.open(fault.puzzle));
    if (page) lead(`page ${page}`, () => this.toPage(Number(page)));
    return item;
  }
}
