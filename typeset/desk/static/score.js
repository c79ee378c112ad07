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

export function scoreFact(score) {
  return make("span", { title: $("score-says").textContent }, `score ${Number(score).toFixed(1)}`);
}
