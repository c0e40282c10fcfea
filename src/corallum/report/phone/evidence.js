// From a colony's reports to what the likelihood reads. Reports on one character through
// several views are one act of looking: their sets are intersected.

export const MOST_READINGS = 10000;

/** Reports of one colony by character index. */
export class Evidence {
  constructor(states, sizes, conditions, ids, hidden) {
    Object.assign(this, { states, sizes, conditions, ids, hidden });
  }

  /** Indices of the characters reported, in order. */
  get characters() {
    return [...new Set([...this.states.keys(), ...this.sizes.keys()])].sort((a, b) => a - b);
  }

  has(c) {
    return this.states.has(c) || this.sizes.has(c);
  }

  without(c) {
    const [states, sizes] = [new Map(this.states), new Map(this.sizes)];
    states.delete(c);
    sizes.delete(c);
    return new Evidence(states, sizes, this.conditions, this.ids, this.hidden);
  }

  withStates(c, columns) {
    const sure = this.states.has(c) ? this.states.get(c).sure : true;
    const states = new Map(this.states).set(c, { columns, sure });
    return new Evidence(states, this.sizes, this.conditions, this.ids, this.hidden);
  }

  withSize(c, report) {
    const sizes = new Map(this.sizes).set(c, report);
    return new Evidence(this.states, sizes, this.conditions, this.ids, this.hidden);
  }
}

/** A colony that the reference does not understand, with every fault of it. */
export class BadColony extends Error {
  constructor(faults) {
    super(faults.join(" "));
    this.faults = faults;
  }
}

/** Chance that each condition acts, none first, given those that were stated. */
export function conditionOdds(reference, stated) {
  const count = reference.conditions.length;
  const settings = reference.settings;
  const odds = new Float64Array(count + 1);
  if (stated.size) {
    odds[0] = 1 - settings.condition_stated;
    for (const k of stated) odds[k] = settings.condition_stated / stated.size;
    return odds;
  }
  odds[0] = count ? settings.condition_none : 1;
  odds.fill((1 - odds[0]) / Math.max(count, 1), 1);
  return odds;
}

/** Check a colony as `corallum determine` reads it, and code its reports. */
export function readColony(reference, colony) {
  const reader = new Reader(reference);
  const conditions = new Set();
  const hidden = new Set();
  const { region = null, conditions: named = [], observations = {} } = colony;
  if (region !== null && !reference.rules.regions.includes(region)) {
    reader.fault("region", `no such region: ${region}`);
  }
  for (const name of named) {
    const k = reference.conditions.indexOf(name);
    if (k >= 0) conditions.add(k + 1);
    else if (Object.hasOwn(reference.hidden, name)) reference.hidden[name].forEach((c) => hidden.add(c));
    else reader.fault("conditions", `no such condition: ${name}`);
  }
  for (const [id, report] of Object.entries(observations)) {
    if (report !== null) reader.report(id, asReport(report));
  }
  if (reader.faults.length) throw new BadColony(reader.faults);
  const shown = (pairs) => new Map([...pairs].filter(([c]) => !hidden.has(c)));
  return new Evidence(shown(reader.joined()), shown(reader.sizes), conditions, reader.ids, hidden);
}

/** A report in its full shape: {states, sure} or {value, n, method, sure}. */
export function asReport(report) {
  if (typeof report === "string") return { states: [report], sure: true };
  if (typeof report === "number") return { value: report, n: 1, method: "eye", sure: true };
  if (Array.isArray(report)) return { states: report, sure: true };
  const sure = report.sure ?? true;
  if ("state" in report) {
    return { states: Array.isArray(report.state) ? report.state : [report.state], sure };
  }
  return { value: report.value, n: report.n ?? 1, method: report.method ?? "eye", sure };
}

class Reader {
  constructor(reference) {
    this.reference = reference;
    this.faults = [];
    this.states = new Map();
    this.sizes = new Map();
    this.ids = new Map();
  }

  fault(place, found) {
    this.faults.push(`${place}: ${found}.`);
  }

  report(id, report) {
    const view = this.reference.views.find((one) => one.id === id);
    const c = this.reference.index.get(id) ?? view?.character;
    if (c === undefined) {
      this.fault(id, "no such character");
      return;
    }
    this.ids.set(c, [...(this.ids.get(c) ?? []), id]);
    const character = this.reference.characters[c];
    if ("value" in report) this.size(c, character, report);
    else if (character.isSize) this.noSize(c, character, report);
    else this.state(id, c, character, report);
  }

  size(c, character, report) {
    const { value, n, method } = report;
    if (!character.isSize) this.fault(character.id, "a number where a state is asked for");
    if (!Object.hasOwn(this.reference.methods, method)) this.fault(character.id, `no such method: ${method}`);
    if (!(Number.isInteger(n) && n >= 1 && n <= MOST_READINGS)) this.fault(character.id, `${n} measured`);
    if (!(value >= character.least && value <= character.most)) {
      this.fault(character.id, `${value} is not from ${character.least} to ${character.most} ${character.unit}`);
    }
    this.sizes.set(c, report);
  }

  noSize(c, character, report) {
    const { not_applicable: none, not_looked_at: unseen } = this.reference.rules;
    const said = report.states.join("|");
    if (said === none && character.conditional) this.states.set(c, [{ columns: [], sure: report.sure }]);
    else if (said !== unseen) this.fault(character.id, `a word where a number is asked for: ${said}`);
  }

  state(id, c, character, report) {
    const allowed = this.reference.stateColumns(id);
    const columns = new Set();
    for (const state of report.states) {
      if (state === this.reference.rules.not_looked_at) return;
      if (!allowed.has(state)) {
        this.fault(id, `no such state: ${state}`);
        return;
      }
      allowed.get(state).forEach((column) => columns.add(column));
    }
    // All states together say nothing.
    const all = character.states.every((_, i) => columns.has(i));
    if (!columns.size || all) return;
    this.states.set(c, [...(this.states.get(c) ?? []), { columns: [...columns], sure: report.sure }]);
  }

  /** What all views of a character allow, or if nothing, what any says. */
  joined() {
    const joined = new Map();
    for (const [c, reports] of this.states) {
      const sets = reports.map((report) => report.columns);
      const both = sets[0].filter((column) => sets.every((set) => set.includes(column)));
      const columns = both.length ? both : [...new Set(sets.flat())];
      columns.sort((a, b) => a - b);
      joined.set(c, { columns, sure: reports.every((report) => report.sure) });
    }
    return joined;
  }
}
