// A sound puzzle made another grade: the smallest changes that do it, sought for as long as that takes, each a button.

import { make } from "./dom.js";
import { whole } from "./score.js";
import { ask } from "./talk.js";

const $ = (id) => document.getElementById(id);

export class Tune {
  // `hand()` gives { drawing } as it is now, `mend(offer)` puts an offer's drawing in its place.
  constructor(hand, mend) {
    Object.assign(this, { hand, mend });
    this.asked = 0;
    this.id = null;             // of the drawing for which changes are sought, else null
    for (const button of this.buttons) button.addEventListener("click", () => this.seek(button));
    $("tune-stop").addEventListener("click", () => this.stop("Stopped."));
    window.addEventListener("pagehide", () => { if (this.id !== null) ask("stop-tune", { id: this.id }, true).catch(() => null); });
  }

  get buttons() {
    return [...document.querySelectorAll("#tune-grades button")];
  }

  // The grade of the drawing just looked at; null where it has no path, so that none near it can be graded either.
  show(grade) {
    this.stop("");
    $("tune").hidden = !grade || Boolean(this.hand().drawing?.black);      // runs end where the black squares are
    for (const button of this.buttons) button.hidden = button.dataset.grade === grade;
  }

  async seek(button) {
    const { drawing } = this.hand();
    const { grade } = button.dataset;
    const mine = ++this.asked;
    this.id = drawing.id ?? "";
    this.face(`Looking for the smallest changes that make it a ${grade}; this may take a minute.`, []);
    $("tune-stop").focus();
    try {
      const { offers } = await ask("tune", { drawing, grade });
      if (mine === this.asked) this.ended(offers.length ? `A ${grade}, the smallest changes first:` : `Nothing was found that makes it a ${grade}, by two changes at most.`, offers, button);
    } catch (error) {
      if (mine === this.asked) this.ended(error.status === 409 ? "Stopped." : error.message, [], button);
    }
  }

  stop(said) {
    this.asked += 1;
    if (this.id === null) return this.face(said, []);
    ask("stop-tune", { id: this.id }).catch(() => null);       // it ends by itself too
    return this.ended(said, [], this.buttons.find((one) => !one.hidden));
  }

  ended(said, offers, next) {
    const held = document.activeElement === $("tune-stop");
    this.id = null;
    this.face(said, offers);
    if (held) ($("tune-offers").querySelector("button") ?? next)?.focus();
  }

  face(said, offers) {
    const busy = this.id !== null;
    $("tune-grades").hidden = busy;
    $("tune-stop").hidden = !busy;
    if ($("tune-said").textContent !== said) $("tune-said").textContent = said;
    $("tune-offers").replaceChildren(...offers.map((offer) => {
      const facts = [`score ${whole(offer.score)}`, offer.hardest ? `hardest: ${offer.hardest}` : null].filter(Boolean);
      const button = make("button", { type: "button", class: "repair" }, offer.text, make("small", {}, facts.join(" · ")));
      button.addEventListener("click", () => this.mend(offer));
      return make("li", {}, button);
    }));
  }
}
