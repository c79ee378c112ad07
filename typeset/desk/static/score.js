// What a score is: under the charts, for all to read, and where one points at a score.

import { make } from "./dom.js";

const $ = (id) => document.getElementById(id);

export function takeScore({ text, language }) {
  if ($("score-says").textContent === text) return;
  $("score-says").textContent = text;
  $("score-says").lang = language;
  const heading = document.querySelector("#rows [data-key=score] button");
  heading.title = text;
  heading.setAttribute("aria-describedby", "score-says");
}

// A score as it is shown: whole points, so that none seems to reach a limit that it is under.
export function whole(score) {
  return String(Math.floor(score));
}

export function scoreFact(score) {
  return make("span", { title: $("score-says").textContent }, `score ${whole(score)}`);
}
