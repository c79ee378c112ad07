// Two fingers on a grid that is larger than its frame: they move it, where one finger draws.

export class Pan {
  // `begin()` is called when the second finger comes down: what the first has begun does not count.
  constructor(element, frame, begin) {
    Object.assign(this, { frame, begin });
    this.fingers = new Map();
    this.on = false;            // until all fingers are up
    element.addEventListener("pointerdown", (event) => this.down(event));
    element.addEventListener("pointermove", (event) => this.move(event));
    for (const kind of ["pointerup", "pointercancel"]) element.addEventListener(kind, (event) => this.up(event));
  }

  down({ pointerId, pointerType, clientX, clientY }) {
    if (pointerType !== "touch") return;
    this.fingers.set(pointerId, [clientX, clientY]);
    if (this.fingers.size === 2) {
      this.on = true;
      this.begin();
    }
  }

  move({ pointerId, clientX, clientY }) {
    const from = this.fingers.get(pointerId);
    if (!from) return;
    this.fingers.set(pointerId, [clientX, clientY]);
    const share = this.fingers.size;
    if (this.on && share > 1) this.frame.scrollBy((from[0] - clientX) / share, (from[1] - clientY) / share);
  }

  up({ pointerId }) {
    this.fingers.delete(pointerId);
    if (!this.fingers.size) this.on = false;
  }
}
