// What can be measured of the drawings in a page: runs in the page, so it uses nothing from outside.

/** Labels that cover another or a ring, and words that stand out of their plate or drawing. */
export function drawn() {
  const told = { covered: [], outside: [], labels: 0, least: 99 };
  const box = (element) => element.getBoundingClientRect();
  const strip = (left, top, right, bottom) => ({ left, top, right, bottom });
  // Letters have no ink at the top and the bottom of their line.
  const ink = (element) => {
    const b = box(element);
    return strip(b.left, b.top + 0.2 * b.height, b.right, b.bottom - 0.2 * b.height);
  };
  const slack = 0.5;
  const over = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > slack
    && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > slack;
  const within = (a, b) => a.left >= b.left - slack && a.right <= b.right + slack
    && a.top >= b.top - slack && a.bottom <= b.bottom + slack;
  const whole = document.documentElement.localName === "svg" ? [document.documentElement] : [];
  for (const drawing of [...whole, ...document.querySelectorAll(".bed svg.drawing, svg.close-up")]) {
    const frame = box(drawing);
    const labels = [];
    for (const plate of drawing.querySelectorAll(".badge > rect, .measure > rect")) {
      labels.push([plate.parentElement.textContent, box(plate)]);
      for (const words of plate.parentElement.querySelectorAll("text")) {
        const [a, b] = [ink(words), box(plate)];
        if (a.left < b.left || a.right > b.right) told.outside.push(`${words.textContent} is wider than its plate`);
      }
    }
    for (const words of drawing.querySelectorAll("text")) {
      told.least = Math.min(told.least, box(words).height / 1.2);
      if (!words.closest(".badge, .measure")) labels.push([words.textContent, ink(words)]);
    }
    const rings = [...drawing.querySelectorAll(".ring")].flatMap((ring) => {
      // Along its lines; their width is half of it to either side.
      const { left, top, right, bottom } = box(ring);
      const w = 1;
      return [strip(left - w, top - w, right + w, top + w), strip(left - w, bottom - w, right + w, bottom + w),
        strip(left - w, top, left + w, bottom), strip(right - w, top, right + w, bottom)];
    });
    // A close-up also draws what lies beside it, out of sight.
    const inSight = labels.filter(([, at]) => over(at, frame));
    inSight.forEach(([text, at], i) => {
      told.labels += 1;
      if (!within(at, frame)) told.outside.push(`${text} stands out of the drawing`);
      if (rings.some((ring) => over(at, ring))) told.covered.push(`${text} lies on a ring`);
      for (const [other, there] of inSight.slice(i + 1)) if (over(at, there)) told.covered.push(`${text} and ${other} overlap`);
    });
  }
  return JSON.stringify(told);
}

/** In black on white: what is read by itself where a printer leaves out all grounds of the page. */
export function printed() {
  const channel = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  const light = (text) => {
    const [r, g, b] = (text.match(/[\d.]+/g) || [0, 0, 0]).map(Number);
    return 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  };
  const faint = [];
  for (const element of document.body.querySelectorAll("*")) {
    const own = [...element.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own || !element.checkVisibility() || element.closest("title, desc, style")) continue;
    const style = getComputedStyle(element);
    const drawing = element.namespaceURI.endsWith("svg");
    // What is filled in a drawing is printed: its plates are grounds, too.
    const plate = drawing && element.closest(".badge, .measure")?.querySelector("rect");
    const ground = light(plate ? getComputedStyle(plate).fill : "rgb(255, 255, 255)");
    const ratio = (Math.max(ground, light(drawing ? style.fill : style.color)) + 0.05)
      / (Math.min(ground, light(drawing ? style.fill : style.color)) + 0.05);
    if (ratio < 4.5) faint.push(`${element.textContent.slice(0, 24)} ${ratio.toFixed(1)}`);
  }
  return JSON.stringify(faint);
}
