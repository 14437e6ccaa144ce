// File names on the page: broken only where a reader expects it, and long ones shortened in the middle.
"use strict";

// Longest name, and longest piece of it without a place to break, in characters.
const LONGEST_NAME = 60;
const LONGEST_PART = 18;

function shortened(text, most) {
  const signs = [...text];
  if (signs.length <= most) return text;
  const before = Math.ceil((most - 1) / 2);
  return signs.slice(0, before).join("") + "\u2026" + signs.slice(before + 1 - most).join("");
}

// The pieces of a name: they end after a hyphen, a line, a space or a slash, and before the ending.
function pieces(name) {
  return shortened(name, LONGEST_NAME)
    .split(/(?<=[-_ /\\])|(?=\.[^.]*$)/u)
    .map((piece) => shortened(piece, LONGEST_PART));
}

// Writes a name into an element, and whole where a pointer rests on it.
function writeName(into, name) {
  into.title = name;
  into.replaceChildren();
  for (const piece of pieces(name)) {
    const part = document.createElement("span");
    part.className = "part";
    part.textContent = piece;
    if (into.hasChildNodes()) into.append(document.createElement("wbr"));
    into.append(part);
  }
}
