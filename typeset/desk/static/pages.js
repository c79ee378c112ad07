// Spreads as they will lie open, and the strip of all of them. Pages are asked after only where they can be seen.

import { make, rove, swap } from "./dom.js";

const $ = (id) => document.getElementById(id);
const PRINTED = 96 / 25.4;   // CSS pixels in a millimetre (CSS Values 4, 6.2)

export class Pages {
  constructor(openPuzzle) {
    this.openPuzzle = openPuzzle;
    this.count = 0;
    this.page = 1;           // the page gone to; the spread it lies in is open
    this.single = matchMedia("(max-width: 560px)");     // there, it is shown alone
    this.sheet = null;
    this.labels = [];
    this.digests = new Map();
    this.seen = new Set();
    this.asked = null;
    this.leaves = [this.leaf("left"), this.leaf("right")];
    $("spread").append(...this.leaves.map((leaf) => leaf.figure));
    this.watcher = new IntersectionObserver((entries) => this.sight(entries), { root: $("thumbs"), rootMargin: "300px" });
    $("back").addEventListener("click", () => this.turn(-1));
    $("on").addEventListener("click", () => this.turn(1));
    $("overlays").addEventListener("change", () => this.overlays());
    $("thumbs").addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (button) this.open(Number(button.dataset.spread));
    });
    this.single.addEventListener("change", () => this.show());
    new ResizeObserver(() => this.fit()).observe($("table"));
  }

  leaf(side) {
    const img = make("img", { alt: "", draggable: "false" });
    const marks = ["bleed", "trim", "safety", "gutter"].map((kind) => make("span", { class: `mark ${kind}` }));
    const stamps = make("div", { class: "stamps" });
    const paper = make("div", { class: "paper" }, img, ...marks, stamps);
    const caption = make("figcaption");
    return { img, paper, stamps, caption, figure: make("figure", { class: `leaf ${side}` }, paper, caption) };
  }

  // The open spread, from 0; it holds pages 2 at and 2 at + 1.
  get at() {
    return Math.floor(this.page / 2);
  }

  get spreads() {
    return this.count ? Math.floor(this.count / 2) + 1 : 0;
  }

  async take(state) {
    this.sheet = state.sheet ?? null;
    this.labels = state.pages ?? [];
    this.count = this.labels.length;
    this.states = new Map();
    for (const one of state.puzzles.filter((each) => each.page && each.state !== "sound")) {
      this.states.set(one.page, [...(this.states.get(one.page) ?? []), one]);
    }
    this.digests = new Map();     // what is still asked for the book before goes into the old one
    document.body.classList.toggle("stale", !state.fresh);
    this.page = Math.max(1, Math.min(this.page, this.count));
    const shown = this.show();
    this.strip();
    this.fit();
    await shown;
    this.refreshStrip();
  }

  strip() {
    const thumbs = $("thumbs");
    while (thumbs.children.length > this.spreads) {
      this.watcher.unobserve(thumbs.lastElementChild);
      this.seen.delete(thumbs.lastElementChild);
      thumbs.lastElementChild.remove();
    }
    const fresh = document.createDocumentFragment();
    for (let spread = thumbs.children.length; spread < this.spreads; spread++) {
      const button = make("button", { type: "button", "data-spread": spread });
      button.append(...[2 * spread, 2 * spread + 1].map(
        (page) => make("span", { class: "thumb" }, make("img", { alt: "", "data-page": page }))),
      make("span", { class: "folio" }));
      const item = make("li", {}, button);
      this.watcher.observe(item);
      fresh.append(item);
    }
    thumbs.append(fresh);
    if (this.sheet) {
      const { width, height, bleed } = this.sheet;
      for (const [name, value] of [["ratio", width / height], ["past-side", bleed / width], ["past-head", bleed / height]]) {
        thumbs.style.setProperty(`--${name}`, value);
      }
    }
    for (const [spread, item] of [...thumbs.children].entries()) {
      const name = this.named(spread);
      const button = item.firstElementChild;
      if (button.getAttribute("aria-label") !== name) {
        button.setAttribute("aria-label", name);
        item.querySelector(".folio").textContent = this.name(spread);
      }
      for (const img of item.querySelectorAll("img")) {
        img.classList.toggle("none", !this.exists(Number(img.dataset.page)));
        img.classList.toggle("pale", this.pale(Number(img.dataset.page)));
      }
    }
    this.mark();
  }

  exists(page) {
    return page >= 1 && page <= this.count;
  }

  // Whether a puzzle stands on a page that has not one answer.
  pale(page) {
    return (this.states.get(page) ?? []).some((one) => !one.state.endsWith("grade"));
  }

  name(spread) {
    return [2 * spread, 2 * spread + 1].filter((page) => this.exists(page)).join("–");
  }

  named(spread) {
    const name = this.name(spread);
    return `${name.includes("–") ? "Pages" : "Page"} ${name}`;
  }

  mark() {
    for (const button of $("thumbs").querySelectorAll("[aria-current]")) button.removeAttribute("aria-current");
    const item = $("thumbs").children[this.at];
    const inside = $("thumbs").contains(document.activeElement);
    rove($("thumbs").querySelectorAll("button"), item?.firstElementChild);
    if (!item) return;
    if (inside) item.firstElementChild.focus({ preventScroll: true });
    item.firstElementChild.setAttribute("aria-current", "true");
    const strip = $("thumbs");
    const left = item.offsetLeft - strip.offsetLeft;
    if (left < strip.scrollLeft || left + item.offsetWidth > strip.scrollLeft + strip.clientWidth) {
      strip.scrollLeft = left - strip.clientWidth / 2;
    }
  }

  async show() {
    const numbers = [2 * this.at, 2 * this.at + 1];
    if (!$("table").hidden) this.say();       // else a sheet lies there, and says so
    for (const [side, leaf] of this.leaves.entries()) leaf.figure.classList.toggle("chosen", this.page % 2 === side);
    this.fit();
    const digests = await this.ask(numbers.filter((page) => this.exists(page)));
    if (digests !== this.digests || numbers[0] !== 2 * this.at) return;      // another book or spread is shown by now
    await Promise.all(this.leaves.map((leaf, side) => this.put(leaf, numbers[side], digests)));
  }

  say() {
    $("where").textContent = this.count ? `${this.single.matches ? `Page ${this.page}` : this.named(this.at)} of ${this.count}` : "No pages yet";
    $("back").disabled = this.single.matches ? this.page <= 1 : this.at <= 0;
    $("on").disabled = this.single.matches ? this.page >= this.count : this.at >= this.spreads - 1;
  }

  async put(leaf, page, digests) {
    const there = this.exists(page);
    leaf.figure.classList.toggle("none", !there);
    if (!there) {
      leaf.img.removeAttribute("src");
      leaf.img.alt = "";
      leaf.caption.textContent = "";
      leaf.stamps.replaceChildren();
      leaf.page = 0;
      return;
    }
    const label = this.labels[page - 1];
    const wrong = this.states.get(page) ?? [];
    leaf.img.alt = `Page ${page}${label ? `: ${label}` : ""}${wrong.map((one) => `; ${one.id} cannot be printed: ${one.state}`).join("")}`;
    leaf.img.classList.toggle("pale", this.pale(page));
    leaf.caption.textContent = `${page}`;
    this.stamp(leaf.stamps, wrong);
    const same = leaf.page === page;
    leaf.page = page;
    const digest = digests.get(page);
    if (digest && await swap(leaf.img, `/pages/${page}/${digest}.svg`) && same) {
      leaf.paper.classList.remove("changed");
      void leaf.paper.offsetWidth;     // lets the animation begin again
      leaf.paper.classList.add("changed");
    }
  }

  // On the page itself: which of its puzzles cannot be printed, and why not; each a button that opens it.
  stamp(stamps, wrong) {
    const text = JSON.stringify(wrong.map((one) => [one.id, one.state, one.why]));
    if (stamps.dataset.text === text) return;
    stamps.dataset.text = text;
    stamps.replaceChildren(...wrong.map((one) => {
      const why = one.state === "faulty" && one.why ? `: ${one.why}` : "";
      const button = make("button", { type: "button" }, make("span", {}, make("strong", {}, one.id), `: ${one.state}${why}`));
      button.addEventListener("click", () => this.openPuzzle(one.id));
      return button;
    }));
  }

  async ask(pages) {
    const { digests } = this;
    const missing = pages.filter((page) => !digests.has(page));
    for (let from = 0; from < missing.length; from += 100) {
      const answer = await fetch(`/digests.json?pages=${missing.slice(from, from + 100)}`);
      if (!answer.ok) break;
      for (const [page, digest] of Object.entries(await answer.json())) digests.set(Number(page), digest);
    }
    return digests;
  }

  sight(entries) {
    for (const { target, isIntersecting } of entries) {
      isIntersecting ? this.seen.add(target) : this.seen.delete(target);
    }
    clearTimeout(this.asked);
    this.asked = setTimeout(() => this.refreshStrip(), 60);
  }

  async refreshStrip() {
    const images = [...this.seen].flatMap((item) => [...item.querySelectorAll("img:not(.none)")]);
    for (let from = 0; from < images.length; from += 12) {
      const some = images.slice(from, from + 12).filter((img) => this.exists(Number(img.dataset.page)));
      const digests = await this.ask(some.map((img) => Number(img.dataset.page)));
      if (digests !== this.digests) return;
      for (const img of some) {
        const digest = digests.get(Number(img.dataset.page));
        if (digest) swap(img, `/pages/${img.dataset.page}/${digest}.svg`);
      }
    }
  }

  fit() {
    const { sheet } = this;
    if (!sheet) return;
    const room = $("table").getBoundingClientRect();
    const bleed = sheet.bleed * 2 + 4;
    const zoom = $("zoom").value;
    const fitting = Math.min((room.width - 24) / (sheet.width * (this.single.matches ? 1 : 2) + bleed), (room.height - 56) / (sheet.height + bleed));
    const mm = zoom === "fit" ? Math.max(0.4, fitting) : PRINTED * Number(zoom);
    const style = $("spread").style;
    style.setProperty("--mm", `${mm}px`);
    for (const name of ["width", "height", "bleed", "safety", "gutter"]) style.setProperty(`--${name}`, sheet[name]);
  }

  overlays() {
    for (const box of $("overlays").querySelectorAll("input")) $("spread").classList.toggle(`show-${box.value}`, box.checked);
  }

  open(spread) {
    return this.go(2 * Math.max(0, Math.min(spread, this.spreads - 1)));
  }

  go(page) {
    this.page = Math.max(1, Math.min(page, this.count));
    this.mark();
    return this.show();
  }

  turn(by) {
    return this.single.matches ? this.go(this.page + by) : this.open(this.at + by);
  }

  key(name) {
    if (name === "Home" || name === "End") this.go(name === "Home" ? 1 : this.count);
    else this.turn(name === "ArrowLeft" ? -1 : 1);
  }
}
