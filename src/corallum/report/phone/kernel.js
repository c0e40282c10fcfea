// Likelihood of the reports, form by form, one evidence group at a time, and from it the
// probability of every form and genus. A group of which conditions act has one row a condition.

import { conditionOdds } from "./evidence.js";

export const EXACT = "exact";
export const SQRT_TAU = Math.sqrt(2 * Math.PI);

const sumRows = (table, columns, n) => {
  const sum = new Float64Array(n);
  for (const s of columns) for (let f = 0; f < n; f++) sum[f] += table[s][f];
  return sum;
};

/** Tables of what an observer reports. */
export class Kernel {
  constructor(reference, observer) {
    this.reference = reference;
    this.weights = reference.rules.observers[observer];
    this.exact = observer === EXACT;
    this.misread = reference.groups.map((group) => (this.exact ? 0 : group.misread));
    this.logWeight = reference.formWeight.map(Math.log);
    this.made = new Map();
  }

  /** P(report | form) of a character, as rows over the forms by condition and state. */
  table(c) {
    if (!this.made.has(c)) this.made.set(c, this.#table(this.reference.characters[c]));
    return this.made.get(c);
  }

  #table(character) {
    const width = character.states.length + 1;
    const errors = this.#errors(character, width);
    const flips = character.flips.length ? character.flips : [null];
    return flips.map((flip) => {
      const passed = flip ? product(flip, errors) : errors;
      return Array.from({ length: width }, (_, s) =>
        Float64Array.from(character.true, (row) => {
          let sum = 0;
          for (let t = 0; t < width; t++) sum += row[t] * passed[t][s];
          return sum;
        }),
      );
    });
  }

  #errors(character, width) {
    const cells = Array.from({ length: width }, (_, i) => i);
    if (this.exact) return cells.map((i) => Float64Array.from(cells, (j) => (i === j ? 1 : 0)));
    const [trained, fresh] = this.weights;
    const [a, b] = character.errors;
    return cells.map((i) => Float64Array.from(cells, (j) => trained * a[i][j] + fresh * b[i][j]));
  }

  /** Variance and bias of the log of a size. */
  sizeError(method, n) {
    if (this.exact) return [0, 0];
    const kind = this.reference.methods[method];
    const [trained, fresh] = this.weights;
    const sd = trained * kind.observer_sd[0] + fresh * kind.observer_sd[1];
    const bias = trained * kind.bias[0] + fresh * kind.bias[1];
    return [sd ** 2 + kind.each_sd ** 2 / n, bias];
  }

  /** Likelihood of every group that has a report: Map of index to {clean, likelihood}. */
  groups(evidence) {
    const found = new Map();
    const odds = conditionOdds(this.reference, evidence.conditions);
    this.reference.groups.forEach((group, g) => {
      const members = group.members.filter((c) => evidence.has(c));
      if (members.length) found.set(g, this.#group(g, members, evidence, odds));
    });
    return found;
  }

  #group(g, members, evidence, odds) {
    const clean = this.together(members, evidence, this.reference.groups[g].conditions_act);
    return { clean, likelihood: this.slip(g, this.mixed(g, clean, odds)) };
  }

  /** Product of the reports of some characters of a group, by condition where they act. */
  together(members, evidence, acts) {
    const { nForms, conditions } = this.reference;
    const rows = acts ? conditions.length + 1 : 1;
    const clean = Array.from({ length: rows }, () => new Float64Array(nForms).fill(1));
    for (const c of members) {
      this.report(c, evidence).forEach((row, k) => {
        for (let f = 0; f < nForms; f++) clean[k][f] *= row[f];
      });
    }
    return clean;
  }

  /** Average over the conditions, where they act. */
  mixed(g, clean, odds) {
    if (!this.reference.groups[g].conditions_act) return clean[0];
    const sum = new Float64Array(this.reference.nForms);
    clean.forEach((row, k) => {
      for (let f = 0; f < sum.length; f++) sum[f] += odds[k] * row[f];
    });
    return sum;
  }

  /** Let a group be misread as another form's. */
  slip(g, likelihood) {
    const rate = this.misread[g];
    if (!rate) return likelihood;
    const { baseWeight } = this.reference;
    let base = 0;
    for (let f = 0; f < likelihood.length; f++) base += likelihood[f] * baseWeight[f];
    return likelihood.map((value) => (1 - rate) * value + rate * base);
  }

  /** Likelihood of one character's report, one row a condition. */
  report(c, evidence) {
    const { reference } = this;
    const character = reference.characters[c];
    const slip = reference.settings.inapplicable;
    if (evidence.states.has(c)) {
      const { columns, sure } = evidence.states.get(c);
      if (character.isSize) {
        const none = character.applies.map((share) => share * slip + (1 - share) * (1 - slip));
        return character.logShift.length ? character.logShift.map(() => none) : [none];
      }
      return this.table(c).map((table) => this.#unsure(sumRows(table, columns, reference.nForms), sure));
    }
    const { value, n, method, sure } = evidence.sizes.get(c);
    const [variance, bias] = this.sizeError(method, n);
    const density = sizeDensity(reference, character, Math.log(value) - bias, variance);
    return density.map((row) => this.#unsure(row, sure));
  }

  /** Mix an unsure report with a guess at the base rate. */
  #unsure(likelihood, sure) {
    if (sure) return likelihood;
    const share = this.reference.settings.unsure;
    const guess = share * likelihood[likelihood.length - 1];
    return likelihood.map((value) => (1 - share) * value + guess);
  }

  /** Posterior of one colony: {logJoint, form, genus, groups, odds}. */
  posterior(evidence, prior) {
    const { reference } = this;
    const { nForms, formGenus } = reference;
    const groups = this.groups(evidence);
    const total = new Float64Array(nForms).fill(1);
    let scale = 0;
    for (const { likelihood } of groups.values()) {
      let top = 0;
      for (let f = 0; f < nForms; f++) top = Math.max(top, (total[f] *= likelihood[f]));
      for (let f = 0; f < nForms; f++) total[f] /= top;
      scale += Math.log(top);
    }
    const logJoint = total.map(
      (value, f) => Math.log(value) + scale + this.logWeight[f] + Math.log(prior[formGenus[f]]),
    );
    const form = normalised(logJoint);
    const odds = conditionOdds(reference, evidence.conditions);
    return { logJoint, form, genus: reference.genusSum(form), groups, odds };
  }
}

/** Turn logs into shares that add up to one. */
export function normalised(logs) {
  const top = logs.reduce((most, value) => Math.max(most, value), -Infinity);
  const shares = logs.map((value) => Math.exp(value - top));
  const sum = shares.reduce((total, value) => total + value, 0);
  return shares.map((value) => value / sum);
}

function product(a, b) {
  return a.map((row) =>
    Float64Array.from(b[0], (_, j) => row.reduce((sum, value, i) => sum + value * b[i][j], 0)),
  );
}

/** Density of a reported size per unit of its log over the forms, one row a condition. */
export function sizeDensity(reference, character, logValue, variance) {
  const shifts = character.logShift.length ? character.logShift : [0];
  return shifts.map((shift) => densityRow(reference, character, logValue - shift, variance));
}

function densityRow(reference, character, value, variance) {
  const { settings, nForms } = reference;
  const { logMean, logSd, mixture, known, applies } = character;
  const tail = settings.size_tail / character.logRange;
  const row = new Float64Array(nForms);
  let base = 0;
  for (let f = 0; f < nForms; f++) {
    const total = Math.sqrt(logSd[f] ** 2 + variance);
    const off = (value - logMean[f]) / total;
    const bell = Math.exp(-0.5 * off * off) / (total * SQRT_TAU);
    row[f] = bell * (1 - settings.size_tail) + tail;
    base += row[f] * mixture[f];
  }
  const slip = settings.inapplicable;
  for (let f = 0; f < nForms; f++) {
    if (!known[f]) row[f] = base;
    if (character.conditional) {
      row[f] = applies[f] * (1 - slip) * row[f] + (1 - applies[f]) * slip * base;
    }
  }
  return row;
}
