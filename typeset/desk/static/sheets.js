// The cover, the sheets of the press file and the booklet, in place of the pages; each drawn when it is looked at.

import { faultItem, make, swap } from "./dom.js";

const $ = (id) => document.getElementById(id);
const NAMES = { cover: "Cover", press: "Press sheet", booklet: "Booklet side" };
const CAUTION = "As cagework makes it. A printer’s own specification counts for more: hold this against it before anything is sent.";

export class Sheets {
  // `page()` is the page that is open among the pages; `shown()` is told that these have their room again, `look()`
  // brings what they share to the front, in a small window.
  constructor(page, shown, look) {
    Object.assign(this, { page, shown, look });
    this.kind = "";
    this.at = 1;
    this.all = {};
    this.round = 0;
    $("sheet-kind").addEventListener("change", () => { this.look(); this.pick($("sheet-kind").value); });
    $("overlays").addEventListener("change", () => this.overlays());
    for (const [id, by] of [["back", -1], ["on", 1]]) {
      $(id).addEventListener("click", (event) => {
        if (!this.open) return;
        event.stopImmediatePropagation();
        this.go(this.at + by);
      }, { capture: true });
    }
    new ResizeObserver(() => this.fit()).observe($("sheet"));
  }

  get open() {
    return this.kind !== "";
  }

  take(state) {
    this.round = state.number;
    this.ready = state.pages !== undefined;
    $("sheet-kind").disabled = !this.ready;
    if (this.open) this.load();
  }

  // The next kind that there is.
  next() {
    const options = [...$("sheet-kind").options].filter((one) => !one.disabled);
    const at = options.findIndex((one) => one.value === this.kind);
    this.pick(options[(at + 1) % options.length].value);
  }

  pages() {
    if (this.open) this.pick("");
  }

  async pick(kind) {
    if (kind && !this.ready) return;
    const was = this.kind;
    this.kind = $("sheet-kind").value = kind;
    $("table").hidden = $("thumbs").hidden = $("zoom").closest("label").hidden = this.open;
    $("sheet").hidden = $("sheet-notes").hidden = !this.open;
    if (!this.open) {
      if (was) this.shown();
      return;
    }
    this.at = kind === "press" ? this.page() : 1;
    await this.load();
  }

  async load() {
    const { round } = this;
    const answer = await fetch("/sheets.json");
    if (!answer.ok || round !== this.round) return;
    this.all = await answer.json();
    $("sheet-kind").querySelector("[value=cover]").disabled = !this.all.cover;
    if (this.open && !this.all[this.kind]) this.pick("");
    else if (this.open) await this.go(this.at);
  }

  async go(number) {
    const sheet = this.all[this.kind];
    if (!sheet) return;
    const fault = sheet.fault ?? null;
    $("sheet").classList.toggle("none", Boolean(fault));
    this.at = Math.max(1, Math.min(number, sheet.count ?? 1));
    $("where").textContent = fault ? `No ${NAMES[this.kind].toLowerCase()}`
      : sheet.count > 1 ? `${NAMES[this.kind]} ${this.at} of ${sheet.count}` : NAMES[this.kind];
    $("back").disabled = Boolean(fault) || this.at <= 1;
    $("on").disabled = Boolean(fault) || this.at >= sheet.count;
    $("sheet-notes").replaceChildren(...(fault ? [make("ul", {}, faultItem(fault))] : [
      ...(sheet.spine ? [make("p", {}, `Spine ${sheet.spine[1].toFixed(2)} mm · flat ${size(sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim)}`)] : []),
      ...sheet.notes.map((note) => make("p", {}, `${sheet.file}: ${note}`)), make("p", { class: "caution" }, CAUTION)]));
    if (fault) return;
    this.fit();
    const { kind, at, round } = this;
    await swap($("sheet-picture"), `/sheets/${kind}/${at}.svg?g=${round}`);
    if (kind !== this.kind || at !== this.at || round !== this.round) return;
    $("sheet-picture").alt = sheet.said[at - 1];
    document.documentElement.dataset.sheet = `${kind} ${at} ${round}`;
  }

  // As large as there is room for; trim, bleed and spine lie over it where they are asked for.
  fit() {
    const sheet = this.all[this.kind];
    if (!sheet || sheet.fault) return;
    const room = $("sheet").getBoundingClientRect();
    const mm = Math.max(0.2, Math.min((room.width - 28) / sheet.width, (room.height - 28) / sheet.height));
    const style = $("sheet").style;
    for (const name of ["width", "height", "trim", "bleed"]) style.setProperty(`--${name}`, `${sheet[name] * mm}px`);
    const [left, wide] = sheet.spine ?? [0, 0];
    style.setProperty("--spine-left", `${(sheet.trim + left) * mm}px`);
    style.setProperty("--spine", `${wide * mm}px`);
    $("sheet").classList.toggle("spined", wide > 0);
    $("sheet").classList.toggle("cut", sheet.trim > 0);
    this.overlays();
  }

  overlays() {
    for (const box of $("overlays").querySelectorAll("input")) $("sheet").classList.toggle(`show-${box.value}`, box.checked);
  }

  key(name) {
    const count = this.all[this.kind]?.count ?? 1;
    this.go({ ArrowLeft: this.at - 1, ArrowRight: this.at + 1, Home: 1, End: count }[name]);
  }
}

function size(width, height) {
  return `${Number(width.toFixed(2))} × ${Number(height.toFixed(2))} mm`;
}
