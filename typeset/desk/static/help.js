// Help: the manual's pages in a dialog. A link to a topic opens it there; opened in a tab of its own it is a page.

import { make } from "./dom.js";

const $ = (id) => document.getElementById(id);
const INDEX = "/manual/index.html";

export class Help {
  constructor() {
    this.at = null;
    $("manual-open").addEventListener("click", () => this.show());
    $("manual-index").addEventListener("click", () => this.go(new URL(INDEX, location)));
    $("manual-close").addEventListener("click", () => $("manual").close());
    $("manual-page").addEventListener("click", (event) => {
      const link = event.target.closest("a");
      if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
      event.preventDefault();
      this.go(new URL(link.getAttribute("href"), new URL(this.at ?? INDEX, location)));
    });
  }

  // Opens where the reader was last.
  show() {
    if ($("manual").open) return;
    $("manual").showModal();
    if (this.at) $("manual-title").focus();
    else this.go(new URL(INDEX, location));
  }

  // Shows the page at an address, and its place there, if it names one.
  async go(address) {
    if (address.pathname !== this.at && !(await this.load(address.pathname))) return;
    const place = address.hash ? document.getElementById(decodeURIComponent(address.hash.slice(1))) : null;
    const heading = place && $("manual-page").contains(place) ? place : $("manual-title");
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
    if (heading === place) place.scrollIntoView();
    else $("manual-page").scrollTop = 0;
  }

  async load(path) {
    this.wanted = path;
    let text = null;
    try {
      const answer = await fetch(path);
      if (answer.ok) text = await answer.text();
    } catch { /* said below */ }
    if (this.wanted !== path) return false;
    this.at = text === null ? null : path;
    const page = text === null ? null : new DOMParser().parseFromString(text, "text/html").querySelector("main");
    $("manual-page").replaceChildren(...(page ? [...page.childNodes].map((node) => document.importNode(node, true))
      : [make("h1", {}, "The desk does not answer"), make("p", {}, "Is it still running?")]));
    $("manual-page").querySelector("h1").id = "manual-title";
    $("manual-index").hidden = path === INDEX;
    return true;
  }
}
