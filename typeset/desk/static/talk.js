// Talk with the desk's server about what is drawn. One question of a kind is under way at most; the newest wins.

class Refused extends Error {
  constructor(status, message) {
    super(message);
    this.status = status;
  }
}

// The run's token, from the address that the desk printed; kept for this tab, so that a reload has it too.
export function token() {
  const given = new URLSearchParams(location.search).get("token");
  try {
    if (given) sessionStorage.setItem("token", given);
    return given ?? sessionStorage.getItem("token");
  } catch {
    return given;
  }
}

// With `last` it is heard though the page goes.
export function ask(what, body, last = false) {
  return answered("/do", {
    method: "POST", keepalive: last, headers: { "Content-Type": "application/json", "X-Desk-Token": token() ?? "" },
    body: JSON.stringify({ do: what, ...body }),
  });
}

// A puzzle as its file has it now.
export function drawingOf(id) {
  return answered(`/puzzles/${encodeURIComponent(id)}/drawing.json`);
}

async function answered(address, how = {}) {
  let answer;
  try {
    answer = await fetch(address, how);
  } catch {
    throw new Refused(0, "The desk does not answer. Is it still running?");
  }
  const said = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, said.error ?? answer.statusText);
  return said;
}

// Asks after each drawing shown to it, first what can be told at once, then what takes longer.
export class Questions {
  constructor(take) {
    this.take = take;           // take(kind, answer, drawing), or kind "trouble" with a sentence; true to know more
    this.stamp = 0;
    this.wanted = { judge: null, study: null };
    this.busy = { judge: false, study: false };
  }

  about(drawing) {
    this.stamp += 1;
    this.wanted = { judge: { stamp: this.stamp, drawing }, study: null };
    this.next("judge");
  }

  stop() {
    this.stamp += 1;
    this.wanted = { judge: null, study: null };
  }

  again(kind, stamp, drawing) {
    if (stamp !== this.stamp) return;
    this.wanted[kind] = { stamp, drawing };
    this.next(kind);
  }

  async next(kind) {
    if (this.busy[kind] || !this.wanted[kind]) return;
    const { stamp, drawing } = this.wanted[kind];
    this.wanted[kind] = null;
    this.busy[kind] = true;
    try {
      const answer = await ask(kind, { stamp, drawing });
      if (stamp === this.stamp) {
        const more = this.take(kind, answer, drawing);
        if (kind === "judge" && more) this.wanted.study = { stamp, drawing };
      }
    } catch (error) {
      // What is newer than this question supersedes it; where that was another page's, it is asked again.
      if (stamp === this.stamp && error.status === 409) setTimeout(() => this.again(kind, stamp, drawing), 400);
      else if (stamp === this.stamp) this.take("trouble", error.message, drawing);
    } finally {
      this.busy[kind] = false;
    }
    this.next("judge");
    this.next("study");
  }
}
