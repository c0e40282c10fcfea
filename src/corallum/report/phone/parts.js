// Small pieces of the page: elements, drawings and bars.

const SVG = "http://www.w3.org/2000/svg";
const drawn = new Map();

/** An element with its attributes and children; a function is a listener. */
export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") element.addEventListener(name, value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== null && value !== undefined && value !== false) element.setAttribute(name, value);
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** A drawing out of the page's own store, by its number. */
export function picture(app, number) {
  if (number === null) return null;
  if (!drawn.has(number)) {
    const found = new DOMParser().parseFromString(app.data.drawings[number], "image/svg+xml");
    drawn.set(number, found.documentElement);
  }
  return document.importNode(drawn.get(number), true);
}

function rect(kind, x, width) {
  const element = document.createElementNS(SVG, "rect");
  for (const [name, value] of Object.entries({ class: kind, x, width, height: 8 })) {
    element.setAttribute(name, value);
  }
  return element;
}

function strip(...rects) {
  const svg = document.createElementNS(SVG, "svg");
  const given = { class: "bar", viewBox: "0 0 100 8", preserveAspectRatio: "none", "aria-hidden": "true" };
  for (const [name, value] of Object.entries(given)) svg.setAttribute(name, value);
  svg.append(...rects);
  return svg;
}

/** A chance as a bar. */
export function bar(share, kind = "fill") {
  return strip(rect("rail", 0, 100), rect(kind, 0, Math.max(share * 100, 0.6).toFixed(1)));
}

/** A weight for or against, from the middle. */
export function beam(value, wide) {
  const width = Math.max((Math.abs(value) / wide) * 50, 0.4);
  const start = 50 + (Math.min(0, value) / wide) * 50;
  const kind = value > 0 ? "for" : "against";
  return strip(rect("rail", 0, 100), rect(kind, start.toFixed(2), width.toFixed(2)), rect("mid", 49.7, 0.6));
}

/** A field with its label. */
export function field(label, input) {
  return h("div", { class: "pick" }, h("label", { for: input.id }, label), input);
}

/** A choice out of pairs of value and words. */
export function choice(id, pairs, chosen, change) {
  const options = pairs.map(([value, text]) =>
    h("option", { value, selected: value === (chosen ?? "") }, text),
  );
  return h("select", { id, change: change ?? null }, options);
}

/** A section with its heading. */
export function section(id, title, ...children) {
  return h("section", { "aria-labelledby": id }, h("h2", { id, tabindex: "-1" }, title), ...children);
}
