// A colony: what was seen, and what the model makes of it.

import { BadColony } from "./evidence.js";
import { bar, beam, choice, field, h, picture, section } from "./parts.js";
import { chooser } from "./chooser.js";
import { addEntry, asColony, foldRecord, keptReport, rememberAnswer } from "./records.js";
import {
  changePhrase, day, gainPhrase, moment, named, percent, reportWords, secondsPhrase, seenPhrase,
  statusWords, verdictSentence, words,
} from "./words.js";

const ODDS = 6;
const LOOKS = 6;
const FRAGILE = 6;
const LEAST = 0.005;
const LEAST_BITS = 0.02;
const FIRST = 3;
const WHY_WIDE = 20;
const LEAST_DECIBANS = 0.05;

/** The page of one colony; `look` is the character that is asked for, or nothing. */
export function colonyView(app, record, look) {
  const said = foldRecord(record);
  const { answer, problem } = answerOf(app, record, said);
  const asked = look ? app.shown.get(look) : null;
  return [
    h("div", { class: "bar-head" }, h("h1", {}, said.name || "Colony"),
      h("a", { class: "tap", href: "#/" }, "All colonies")),
    saidSection(answer, problem, said),
    h("section", { class: "looks", "aria-labelledby": "looks-h" },
      asked ? chooserOf(app, record, asked, said) : null,
      h("h2", { id: "looks-h", tabindex: "-1" }, answer ? "Look next" : "Add what you saw"),
      answer ? nextList(app, record, answer) : null, everything(app, record, said)),
    seenSection(app, record, said),
    answer ? because(app, record, answer, said) : null,
    recordSection(app, record, said),
  ].filter(Boolean);
}

/** The answer, worked out anew only when the evidence changed. */
export function answerOf(app, record, said = foldRecord(record)) {
  const key = JSON.stringify([said.region, said.conditions, said.observations]);
  if (app.answers.get(record.id)?.key !== key) app.answers.set(record.id, { key, ...determine(app, record) });
  const found = app.answers.get(record.id);
  const seen = Object.keys(said.observations).length > 0;
  if (found.answer && seen && rememberAnswer(record, found.answer, app.data.version)) {
    app.records.save(record);
  }
  return found;
}

function determine(app, record) {
  try {
    return { answer: app.determiner.determine(asColony(record)), problem: "" };
  } catch (error) {
    if (error instanceof BadColony) return { answer: null, problem: error.message };
    throw error;
  }
}

function chooserOf(app, record, asked, said) {
  const report = said.observations[asked.id];
  return chooser(app, asked, report ? keptReport(report) : null, (value) => {
    addEntry(record, "report", asked.id, value);
    app.keep(record);
    app.back();
  });
}

function saidSection(answer, problem, said) {
  if (!answer) {
    return h("section", { class: "said", "aria-labelledby": "said-h" },
      h("h2", { id: "said-h", class: "sentence" }, "There is no answer for this record."),
      h("p", { class: "fault" }, `The reference of this page does not know: ${problem} Take that back.`));
  }
  const any = Object.keys(said.observations).length > 0;
  const shown = answer.candidates.slice(0, any ? ODDS : FIRST).filter((one) => one.probability >= LEAST);
  const rest = 1 - shown.reduce((sum, one) => sum + one.probability, 0);
  const sentence = any ? verdictSentence(answer.verdict)
    : "Nothing is reported yet. These are the odds before a look.";
  return h("section", { class: "said", "aria-labelledby": "said-h" },
    h("h2", { id: "said-h", class: "sentence", tabindex: "-1", "data-said": true }, sentence),
    h("table", { class: "odds" }, h("caption", { class: "away" }, "Odds"),
      h("thead", { class: "away" }, h("tr", {}, ["Genus", "Chance drawn", "Chance"].map((text) =>
        h("th", { scope: "col" }, text)))),
      h("tbody", {}, shown.map((one) => oddsRow(genusLink(one.genus), one.probability, "fill")),
        rest >= LEAST ? oddsRow("all others", rest, "pale") : null)));
}

const genusLink = (genus) =>
  genus ? h("a", { href: `#/genera/${genus}` }, h("i", {}, genus)) : "something else";

const oddsRow = (name, share, kind) =>
  h("tr", {}, h("th", { scope: "row" }, name), h("td", {}, bar(share, kind)),
    h("td", { class: "num" }, percent(share)));

const lookAddress = (record, id) => `#/colony/${record.id}/${id}`;

function nextList(app, record, answer) {
  const looks = answer.next_looks.slice(0, LOOKS).filter((look, i) => i < FIRST || look.gain_bits >= LEAST_BITS);
  if (!looks.length) return h("p", {}, "Everything that can be asked is reported.");
  return h("ol", { class: "nexts" }, looks.map((look) => {
    const character = app.shown.get(look.character);
    const cost = `${secondsPhrase(look.seconds)}, ${seenPhrase(look.seen)}`;
    return h("li", {}, h("a", { class: "next", href: lookAddress(record, look.character) },
      picture(app, character.drawing),
      h("span", {}, h("strong", {}, character.question),
        h("span", { class: "small" }, `${gainPhrase(look.gain_bits)} (${look.gain_bits.toFixed(2)} bits) · ${cost}`))));
  }));
}

/** Every character, by what they describe together. */
function everything(app, record, said) {
  const groups = new Map();
  for (const character of app.data.characters) {
    groups.set(character.group, [...(groups.get(character.group) ?? []), character]);
  }
  return h("details", { class: "all" }, h("summary", {}, "Anything else you saw"),
    [...groups].map(([group, characters]) => [h("h3", {}, group),
      h("ul", { class: "chips" }, characters.map((character) => {
        const has = character.id in said.observations;
        const mark = has ? [" ", h("span", { "aria-hidden": "true" }, "✓"), h("span", { class: "away" }, "(reported)")] : [];
        return h("li", {}, h("a", { class: has ? "chip has" : "chip", href: lookAddress(record, character.id) },
          character.label, ...mark));
      }))]));
}

function seenSection(app, record, said) {
  const items = Object.entries(said.observations).reverse();
  return section("seen-h", "What was seen",
    items.length ? null : h("p", { class: "small" }, "Nothing yet. What was not looked at costs nothing: leave it out."),
    h("ul", { class: "items" }, items.map(([id, report]) => seenItem(app, record, id, report))),
    h("h3", {}, "What may have changed its look"), conditionButtons(app, record, said));
}

function seenItem(app, record, id, kept) {
  const character = app.shown.get(id);
  if (!character) return h("li", { class: "item" }, `${words(id)}: not in this page's reference.`);
  const report = "value" in kept ? kept : { states: kept.state, sure: kept.sure };
  const state = report.states && character.states.find((one) => one.id === report.states[0]);
  return h("li", { class: "item" }, h("a", { class: "open", href: lookAddress(record, id) },
    picture(app, state ? state.drawing : character.drawing) ?? h("span"),
    h("span", { class: "what" }, h("span", { class: "small" }, character.label),
      h("strong", {}, reportWords(report, character)), report.sure ? null : h("b", { class: "small" }, "unsure")),
    h("span", { class: "go" }, "Change")));
}

function conditionButtons(app, record, said) {
  return h("div", { class: "chips" }, app.data.conditions.map((id) => {
    const on = said.conditions.includes(id);
    return h("button", { class: "chip", id: `cond-${id}`, "aria-pressed": String(on), click: () => {
      addEntry(record, "condition", id, !on);
      app.keep(record);
      app.render(`cond-${id}`);
    } }, words(id));
  }));
}

function because(app, record, answer, said) {
  const any = Object.keys(said.observations).length > 0;
  return h("div", {},
    answer.fragile.length ? againSection(app, record, answer.fragile) : null,
    answer.why.decibans.length ? whySection(app, answer.why) : null,
    any ? section("limits-h", "How far looking can go",
      h("p", {}, "If everything were seen in the water without a mistake, the best genus would be right in "
        + `${percent(answer.limits.best_in_water)} of such colonies; with the cleaned skeleton in `
        + `${percent(answer.limits.best_with_skeleton)}.`)) : null,
    section("care-h", "Take care", h("ul", { class: "cautions" }, answer.cautions.map((text) => h("li", {}, text)))));
}

/** What is fragile, one change of each character before a second one. */
function againSection(app, record, fragile) {
  const met = new Set();
  const [first, later] = [[], []];
  for (const item of fragile) {
    (met.has(item.character) ? later : first).push(item);
    met.add(item.character);
  }
  const shown = [...first, ...later].slice(0, FRAGILE);
  const more = fragile.length - shown.length;
  return section("again-h", "Check again",
    h("p", { class: "small" }, "The answer hangs on these. Each would change it."),
    h("ul", { class: "againlist" }, shown.map((item) => h("li", {},
      h("a", { class: "tap", href: lookAddress(record, item.character) }, app.shown.get(item.character).label),
      ` ${changePhrase(item)}`))),
    more ? h("p", { class: "small" }, `And ${more} more.`) : null);
}

function whySection(app, why) {
  const label = (id) => app.shown.get(id).label;
  const rows = why.decibans.map((entry) => [[entry.character, ...entry.with].map(label).join(" + "), entry.value]);
  rows.push(["how the forms fit", why.form], ["how common in the region", why.prior]);
  rows.sort((a, b) => Math.abs(b[1]) - Math.abs(a[1]));
  const wide = Math.max(WHY_WIDE, ...rows.map((row) => Math.abs(row[1])));
  const signed = (value) => `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(1)}`;
  return section("why-h", `Why ${why.for}, not ${why.against}`,
    h("p", { class: "small" }, "In decibans: 10 means ten times as probable, 3 twice. "
      + `Left for ${why.against}, right for ${why.for}.`),
    h("table", { class: "weights" }, h("thead", { class: "away" }, h("tr", {},
      ["What", "Weight drawn", "Decibans"].map((text) => h("th", { scope: "col" }, text)))),
      h("tbody", {}, rows.filter((row) => Math.abs(row[1]) >= LEAST_DECIBANS).map(([name, value]) =>
        h("tr", {}, h("th", { scope: "row" }, name), h("td", {}, beam(value, wide)), h("td", { class: "num" }, signed(value)))),
        h("tr", { class: "sum" }, h("th", { scope: "row" }, "in all"), h("td"),
          h("td", { class: "num" }, signed(why.total))))));
}

function recordSection(app, record, said) {
  const set = (kind) => (event) => {
    const value = event.target.value.trim();
    if (value === (said[kind] ?? "")) return;
    addEntry(record, kind, "", value || null);
    app.keep(record);
    app.render(event.target.id);
  };
  const text = (kind, more = {}) =>
    h("input", { id: kind, value: said[kind], maxlength: "120", autocomplete: "off", change: set(kind), ...more });
  return section("record-h", "The record",
    field("Name or tag", text("name")), field("Site", text("site", { list: "sites" })),
    field("Seen by", text("observer", { list: "people" })),
    field("Seen on", text("seen_on", { type: "date", required: true })),
    field("Region", choice("region", app.data.regions, said.region, set("region"))),
    said.notes.length ? h("ul", {}, said.notes.map((note) => h("li", { class: "note" }, note.value))) : null,
    noteForm(app, record),
    h("p", { class: "small" }, `Started ${record.started_at.replace("T", " ")}.`),
    h("div", { class: "row" }, h("button", { class: "quiet", click: () => app.saveFile([record]) }, "Save as a file"),
      removeButton(app, record)));
}

function noteForm(app, record) {
  const note = h("textarea", { id: "note", rows: 2, maxlength: "4000" });
  return h("form", { class: "pick", submit: (event) => {
    event.preventDefault();
    if (!note.value.trim()) return;
    addEntry(record, "note", "", note.value.trim());
    app.keep(record);
    app.render("note");
  } }, h("label", { for: "note" }, "Note"), note, h("button", {}, "Add the note"));
}

/** Removing asks once more: nothing brings a record back. */
function removeButton(app, record) {
  const button = h("button", { class: "quiet", id: "remove", click: () => {
    if (button.dataset.sure) {
      app.records.remove(record.id);
      app.go("#/");
    } else {
      button.dataset.sure = "yes";
      button.textContent = "Remove it for good";
    }
  } }, "Remove from this phone");
  return button;
}

/** One record in full, to print. */
export function printed(app, record) {
  const said = foldRecord(record);
  const { answer } = answerOf(app, record, said);
  const facts = [said.site, said.observer && `seen by ${said.observer}`, day(said.seen_on), words(said.region ?? "anywhere")];
  return h("article", { class: "sheet" }, h("h2", {}, said.name || record.id),
    h("p", { class: "small" }, facts.filter(Boolean).join(", ")),
    answer ? h("p", { class: "sentence" }, verdictSentence(answer.verdict)) : null,
    answer ? h("p", {}, answer.candidates.slice(0, ODDS).filter((one) => one.probability >= LEAST)
      .map((one) => `${one.genus ?? "something else"} ${percent(one.probability)}`).join(", ")) : null,
    h("ul", {}, Object.entries(said.observations).map(([id, kept]) => {
      const character = app.shown.get(id);
      const report = "value" in kept ? kept : { states: kept.state, sure: kept.sure };
      const what = character ? reportWords(report, character) : JSON.stringify(kept);
      return h("li", {}, `${character?.label ?? words(id)}: ${what}${report.sure ? "" : " (unsure)"}`);
    }), said.conditions.map((id) => h("li", {}, words(id)))),
    said.notes.map((note) => h("p", { class: "note" }, note.value)));
}

/** One line of the list. */
export function recordLine(app, record) {
  const said = foldRecord(record);
  const { answer } = answerOf(app, record, said);
  const any = Object.keys(said.observations).length > 0;
  const top = answer?.candidates[0];
  const title = any && top ? `${named(answer.verdict.genera, 1)} ${percent(answer.verdict.probability)}` : "not named yet";
  const status = any && answer ? statusWords(answer.verdict.status) : "nothing seen yet";
  const about = [said.name || null, said.site || null, day(said.seen_on), record.started_at.slice(11, 16)];
  return h("li", { class: "line" }, h("a", { href: `#/colony/${record.id}` },
    h("span", { class: "what" }, h("strong", {}, title), h("span", { class: "small" }, about.filter(Boolean).join(" · "))),
    h("span", { class: "tag" }, status)));
}

export const fileName = () => `corallum-${moment().replace(/[-:]/g, "").slice(0, 15)}.jsonl`;
