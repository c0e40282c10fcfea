// The reference to read: the list of genera, and the account of one.

import { h, picture, section } from "./parts.js";
import { percent } from "./words.js";

/** The list of the genera that this page was made for, by family. */
export function generaView(app) {
  const list = h("div", { id: "genera-list" });
  const find = h("input", { id: "find", autocomplete: "off", spellcheck: "false",
    input: () => list.replaceChildren(...families(app, find.value)) });
  list.append(...families(app, ""));
  return [h("h1", {}, "Genera"),
    h("div", { class: "pick" }, h("label", { for: "find" }, "Genus or older name"), find), list];
}

function families(app, text) {
  const wanted = text.trim().toLowerCase();
  const fits = (genus) => [genus.name, ...genus.older].some((name) => name.toLowerCase().includes(wanted));
  const byFamily = new Map();
  for (const genus of app.data.genera.filter(fits)) {
    byFamily.set(genus.family, [...(byFamily.get(genus.family) ?? []), genus]);
  }
  if (!byFamily.size) return [h("p", {}, "None of that name is on this page.")];
  return [...byFamily].sort(([a], [b]) => (a < b ? -1 : 1)).map(([family, genera]) =>
    h("section", {}, h("h2", {}, family),
      h("ul", { class: "lines" }, genera.map((genus) =>
        h("li", { class: "line" }, h("a", { href: `#/genera/${genus.name}` }, h("i", {}, genus.name)))))));
}

/** The account of one genus. */
export function genusView(app, name) {
  const genus = app.data.genera.find((one) => one.name === name);
  if (!genus) return [h("h1", {}, name), h("p", {}, "This page holds no account of it.")];
  return [
    h("h1", {}, h("i", {}, genus.name)),
    h("p", { class: "small" }, `${genus.family}. ${genus.authority}`),
    h("p", {}, genus.description),
    section("care-h", "Take care", h("ul", {}, genus.cautions.map((text) => h("li", {}, text)))),
    genus.older.length ? section("older-h", "Older names", h("p", {}, genus.older.join(", "))) : null,
    section("forms-h", "Its forms", h("ul", {}, genus.forms.map((form) =>
      h("li", {}, `${form.description} `, h("span", { class: "small" }, `${percent(form.weight)} of colonies`))))),
    genus.lookalikes.length ? section("like-h", "What it is taken for", h("ul", {}, genus.lookalikes.map((one) =>
      h("li", {}, h("a", { href: `#/genera/${one.other}` }, h("i", {}, one.other)), ` ${one.note}`)))) : null,
    section("values-h", "What it shows", h("dl", { class: "facts" }, genus.values.map((row) => fact(app, row)))),
    h("p", { class: "small" }, "Usually, often, sometimes: the share of colonies, as the reference says them."),
  ].filter(Boolean);
}

function fact(app, [id, texts, drawing]) {
  const character = app.shown.get(id);
  const said = texts.map(([form, text]) => h("p", {}, form ? h("span", { class: "small" }, `${form}: `) : null, text));
  return [h("dt", {}, picture(app, drawing), character.label), h("dd", {}, said)];
}
