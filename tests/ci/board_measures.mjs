// What can be measured of the words in a page, and of the board's picture: runs in the page, so it uses nothing from outside.

export function measure() {
  const told = { outside: [], faint: [], broken: [], below: [], least: 99, smallest: 99, wide: 0 };
  const short = (element) => `${element.id || element.className || element.tagName}: ${element.textContent.slice(0, 24)}`;
  const seen = (element) => element.checkVisibility() && element.getClientRects().length > 0;

  // Relative luminance and contrast as in WCAG 2.2 (definitions of both, and success criterion 1.4.3).
  const colour = (text) => (text.match(/[\d.]+/g) || [0, 0, 0, 0]).map(Number);
  const channel = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const [r, g, b, a = 1] = colour(getComputedStyle(at).backgroundColor);
      if (a > 0) return [r, g, b];
    }
    return [255, 255, 255];
  };

  for (const element of document.body.querySelectorAll("*")) {
    const own = [...element.childNodes].filter((n) => n.nodeType === 3 && n.textContent.trim());
    // Words in drawings have measures of their own; the link past the drawing shows when it has the focus.
    if (!own.length || !seen(element) || element.matches("svg *, .skip")) continue;
    // The box of an inline element is its text: the nearest block is what it must stay in.
    let box = element;
    while (getComputedStyle(box).display === "inline") box = box.parentElement;
    const edge = box.getBoundingClientRect();
    for (const node of own) {
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const r of range.getClientRects()) {
        const slack = 1;
        if (r.left < edge.left - slack || r.right > edge.right + slack || r.right > innerWidth + slack || r.left < -slack) {
          told.outside.push(short(element));
        }
      }
    }
    if (box.scrollWidth > box.clientWidth + 1 && getComputedStyle(box).display !== "inline") told.outside.push(`cut off, ${short(box)}`);
    const [a, b] = [light(colour(getComputedStyle(element).color)), light(ground(element))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    told.least = Math.min(told.least, Math.round(ratio * 10) / 10);
    if (ratio < 4.5) told.faint.push(`${short(element)} ${ratio.toFixed(1)}`);
  }
  for (const part of document.querySelectorAll(".part")) {
    if (!seen(part)) continue;
    if (part.getClientRects().length !== 1) told.broken.push(part.textContent);
    told.smallest = Math.min(told.smallest, parseFloat(getComputedStyle(part).fontSize));
  }
  // Verdict, file, pocket, what is wrong, and the picture.
  for (const element of document.querySelectorAll("#verdict, #name, #not-checked, .lead b, .lead span, #whole")) {
    if (seen(element) && element.getBoundingClientRect().bottom > innerHeight + 1) told.below.push(short(element));
  }
  // Pixels to a millimetre of the picture, which is drawn in millimetres.
  const picture = document.querySelector("#picture");
  if (picture) {
    const box = picture.getBoundingClientRect();
    told.shown = Math.min(box.width / picture.naturalWidth, box.height / picture.naturalHeight);
    told.picture = picture.getAttribute("src");
  }
  told.wide = document.documentElement.scrollWidth;
  return JSON.stringify(told);
}
