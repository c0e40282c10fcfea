// Records of colonies: evidence first, in a log that is only added to, kept on this phone.

import { asReport } from "./evidence.js";
import { moment, today } from "./words.js";

const PREFIX = "corallum colony ";
const LETTERS = "0123456789abcdefghjkmnpqrstvwxyz";
const LENGTH = 12;
export const FORMAT = 1;
// As many as the page shows: a phone keeps little.
const MOST_CANDIDATES = 6;

function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(LENGTH));
  return Array.from(bytes, (byte) => LETTERS[byte % LETTERS.length]).join("");
}

/** A new record; its first entries are where, when and by whom it is seen. */
export function startRecord(first) {
  const at = moment();
  const record = { format: FORMAT, id: newId(), started_at: at, log: [], shown: [] };
  const given = { region: null, observer: "", site: "", seen_on: today(), ...first };
  for (const kind of ["region", "observer", "site", "seen_on"]) {
    if (given[kind]) record.log.push({ at, kind, subject: "", value: given[kind] });
  }
  return record;
}

/** Add one entry; null as value takes back what stood there. */
export function addEntry(record, kind, subject, value) {
  record.log.push({ at: moment(), kind, subject, value });
}

/** What the log says now: the newest word on each subject; notes are all kept. */
export function foldRecord(record) {
  const current = new Map();
  record.log.forEach((entry, i) => {
    const key = `${entry.kind} ${entry.kind === "note" ? i : entry.subject}`;
    current.delete(key);
    current.set(key, entry);
  });
  const standing = [...current.values()].filter((entry) => entry.value !== null && entry.value !== false);
  const one = (kind) => standing.find((entry) => entry.kind === kind)?.value ?? null;
  const of = (kind) => standing.filter((entry) => entry.kind === kind);
  return {
    name: one("name") ?? "",
    region: one("region"),
    observer: one("observer") ?? "",
    site: one("site") ?? "",
    seen_on: one("seen_on") ?? record.started_at.slice(0, 10),
    notes: of("note"),
    conditions: of("condition").map((entry) => entry.subject),
    observations: Object.fromEntries(of("report").map((entry) => [entry.subject, entry.value])),
  };
}

/** The evidence as the model and `corallum determine` read it. */
export function asColony(record) {
  const { name, region, observer, conditions, observations } = foldRecord(record);
  return { id: name || record.id, region, observer: observer || null, conditions, observations };
}

/** Remember the answer as it was shown: one for each reference that it was shown with. */
export function rememberAnswer(record, answer, version) {
  const last = record.shown.at(-1);
  const { verdict, limits, reference } = answer;
  const candidates = answer.candidates.slice(0, MOST_CANDIDATES);
  if (last?.reference === reference && last.upto === record.log.length) return false;
  const shown = { at: moment(), upto: record.log.length, verdict, candidates, limits, reference, version };
  if (last?.reference === reference) record.shown.pop();
  record.shown.push(shown);
  return true;
}

/** One line of a file of colonies, with the whole record beside what is determined from. */
export function exportLine(record) {
  return JSON.stringify({ ...asColony(record), record });
}

/** Records in the browser's own storage; where there is none, only while the page is open. */
export class Records {
  constructor() {
    this.all = new Map();
    this.bad = 0;
    this.kept = true;
    try {
      this.storage = window.localStorage;
      this.storage.setItem("corallum trial", "1");
      this.storage.removeItem("corallum trial");
      this.#load();
    } catch {
      this.kept = false;
    }
  }

  #load() {
    for (let i = 0; i < this.storage.length; i++) {
      const key = this.storage.key(i);
      if (key.startsWith(PREFIX)) this.#take(this.storage.getItem(key));
    }
  }

  /** Take one record in; what can't be read stays where it is and is counted. */
  #take(text) {
    try {
      const record = JSON.parse(text);
      if (record.format !== FORMAT) throw new Error("another format");
      foldRecord(record);
      this.all.set(record.id, record);
    } catch {
      this.bad += 1;
    }
  }

  /** Take in what another tab of this page wrote. */
  follow(event) {
    if (event.key?.startsWith(PREFIX)) {
      if (event.newValue === null) this.all.delete(event.key.slice(PREFIX.length));
      else this.#take(event.newValue);
    }
  }

  get(id) {
    return this.all.get(id);
  }

  /** All records, newest first. */
  list() {
    return [...this.all.values()].sort((a, b) => (a.started_at < b.started_at ? 1 : -1));
  }

  save(record) {
    this.all.set(record.id, record);
    if (!this.storage) return;
    try {
      this.storage.setItem(PREFIX + record.id, JSON.stringify(record));
      this.kept = true;
    } catch {
      this.kept = false;
    }
  }

  remove(id) {
    this.all.delete(id);
    try {
      this.storage?.removeItem(PREFIX + id);
    } catch {
      this.kept = false;
    }
  }
}

/** A report in the shape in which it is kept. */
export function keptReport(report) {
  const full = asReport(report);
  return "value" in full ? full : { state: full.states, sure: full.sure };
}
