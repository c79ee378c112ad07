// Small helpers that every part of the page uses.

const SVG = "http://www.w3.org/2000/svg";

export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== null) element.setAttribute(name, value);
  }
  element.append(...children);
  return element;
}

export function draw(tag, attributes = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

export function plural(count, word) {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}

export function place(fault) {
  return fault.line ? `${fault.file}:${fault.line}:${fault.column}` : fault.file;
}

export function faultItem(fault) {
  const item = make("li", { class: fault.severity });
  const opens = document.body.dataset.editor && fault.line;
  const where = { "data-file": fault.file, "data-line": fault.line, "data-column": fault.column };
  item.append(opens ? make("button", { type: "button", class: "place", title: `Open in ${document.body.dataset.editor}`, ...where }, place(fault))
    : make("code", { class: "place" }, place(fault)), " ", fault.message);
  if (fault.source) {
    const before = fault.source.slice(0, fault.column - 1).replace(/[^\t]/g, " ");
    item.append(make("pre", { tabindex: "0", role: "group", "aria-label": `Line ${fault.line}` },
      `${fault.source}\n${before}${"^".repeat(Math.max(1, fault.span))}`));
  }
  if (fault.hint) item.append(make("span", { class: "hint" }, fault.hint));
  return item;
}

// Of items in a row, makes one the only stop of the Tab key; arrows move between them (ARIA practices, roving tabindex).
export function rove(items, chosen) {
  for (const item of items) item.tabIndex = item === chosen ? 0 : -1;
}

// Puts a picture in place of the one before only once it can be shown.
export async function swap(img, src) {
  if (img.getAttribute("src") === src) return false;
  const next = new Image();
  next.src = src;
  img.dataset.next = src;
  try {
    await next.decode();
  } catch {
    return false;
  }
  if (img.dataset.next !== src) return false;
  img.src = src;
  return true;
}
