// What no look can settle: colonies drawn from the posterior, every character that is left
// reported without error, and the probability of the best genus averaged.

import { EXACT, Kernel, SQRT_TAU } from "./kernel.js";
import { choose, clip, normalQuantile, readOff, runningSum, spreadPoints } from "./numbers.js";

const ALMOST_ONE = 1 - 1e-12;
// A summand smaller than another by more than this leaves it as it is.
const LOST = 2 ** 54;

/** Tables of error-free reports, kept from one question to the next. */
export class ExactReports {
  constructor(reference) {
    this.reference = reference;
    this.kernel = new Kernel(reference, EXACT);
    const { draws, first_dimension: first } = reference.rules.limits;
    this.points = spreadPoints(draws, first + reference.characters.length);
    this.bases = new Map();
    this.sums = new Map();
  }

  /** Density of a size over all forms, read off a fine grid by straight lines. */
  baseDensity(c, logValue) {
    if (!this.bases.has(c)) this.bases.set(c, this.#base(this.reference.characters[c]));
    const { grid, heights } = this.bases.get(c);
    return readOff(grid, heights, logValue);
  }

  #base(character) {
    const { grid: count } = this.reference.rules.limits;
    const low = Math.log(character.least);
    const high = Math.log(character.most);
    const step = (high - low) / (count - 1);
    const grid = Float64Array.from({ length: count }, (_, i) => low + i * step);
    grid[count - 1] = high;
    const forms = character.mixture.map((_, f) => f);
    const bells = new Bells(this.reference, character, forms);
    const heights = grid.map((value) =>
      bells.at(value).reduce((sum, height, f) => sum + height * character.mixture[f], 0),
    );
    return { grid, heights };
  }

  /** Running sums of a size's mixture over the forms. */
  runningMixture(c) {
    if (!this.sums.has(c)) this.sums.set(c, runningSum(this.reference.characters[c].mixture));
    return this.sums.get(c);
  }
}

/** Log-normal densities of error-free sizes with their thin tail, over some forms. */
class Bells {
  constructor(reference, character, forms) {
    const tail = reference.settings.size_tail;
    this.mean = Float64Array.from(forms, (f) => character.logMean[f]);
    this.sd = Float64Array.from(forms, (f) => character.logSd[f]);
    this.height = this.sd.map((sd) => (1 - tail) / (sd * SQRT_TAU));
    this.floor = tail / character.logRange;
    const highest = this.height.reduce((most, height) => Math.max(most, height), 0);
    this.beyond = 2 * Math.log((highest / this.floor) * LOST) || Infinity;
    this.row = new Float64Array(forms.length);
  }

  /** Densities at a value; the same array at every call. */
  at(value) {
    const { mean, sd, height, floor, row } = this;
    for (let i = 0; i < row.length; i++) {
      const off = (value - mean[i]) / sd[i];
      // So far out the bell is lost in the rounding of its tail.
      const bell = off * off > this.beyond ? 0 : Math.exp(-0.5 * off * off) * height[i];
      row[i] = bell + floor;
    }
    return row;
  }
}

/** Expected probability of the best genus once all is seen without error. */
export function findLimits(exact, evidence, found) {
  const draws = new Draws(exact, evidence, found);
  return {
    best_in_water: draws.best(["w", "l"]),
    best_with_skeleton: draws.best(["k"]),
  };
}

class Draws {
  constructor(exact, evidence, found) {
    Object.assign(this, { exact, evidence, found, reference: exact.reference });
    const { negligible, draws, first_dimension: first } = this.reference.rules.limits;
    Object.assign(this, { count: draws, first });
    this.forms = [];
    for (let f = 0; f < found.form.length; f++) if (found.form[f] > negligible) this.forms.push(f);
    this.share = Float64Array.from(this.forms, (f) => found.form[f]);
    this.condition = this.#conditionOdds();
    this.#draw();
    this.odds = new Float64Array(draws * this.forms.length);
    for (let d = 0; d < draws; d++) this.odds.set(this.share, d * this.forms.length);
    this.genus = this.forms.map((f) => this.reference.formGenus[f]);
  }

  /** P(condition | form, evidence), one row a kept form. */
  #conditionOdds() {
    const odds = this.forms.map(() => Float64Array.from(this.found.odds));
    for (const [g, { clean }] of this.found.groups) {
      if (!this.reference.groups[g].conditions_act) continue;
      odds.forEach((row, i) => row.forEach((_, k) => (row[k] *= clean[k][this.forms[i]])));
    }
    return odds.map((row) => {
      const sum = row.reduce((total, value) => total + value, 0);
      return row.map((value) => value / sum);
    });
  }

  /** Choose the form and the condition of every draw. */
  #draw() {
    const [forForm, forCondition] = this.exact.points;
    const shares = runningSum(this.share);
    const conditions = this.condition.map(runningSum);
    this.form = Int32Array.from(forForm, (point) => choose(shares, point));
    this.acting = Int32Array.from(forCondition, (point, d) => choose(conditions[this.form[d]], point));
  }

  /** Report what is left and seen so, and average the best genus. */
  best(seen) {
    const { characters, groups } = this.reference;
    for (const group of groups) {
      const members = group.members.filter(
        (c) => seen.includes(characters[c].seen) && !this.evidence.has(c) && !this.evidence.hidden.has(c),
      );
      if (!members.length) continue;
      if (group.conditions_act) this.#conditioned(members);
      else for (const c of members) this.#likelihood(c);
      this.#rescale();
    }
    return this.#average();
  }

  /** Only ratios between forms matter: the best is kept at one. */
  #rescale() {
    const { odds } = this;
    const n = this.forms.length;
    for (let at = 0; at < odds.length; at += n) {
      let top = 0;
      for (let i = at; i < at + n; i++) if (odds[i] > top) top = odds[i];
      const scale = 1 / top;
      for (let i = at; i < at + n; i++) odds[i] *= scale;
    }
  }

  #average() {
    const n = this.forms.length;
    let sum = 0;
    for (let at = 0; at < this.odds.length; at += n) {
      let [all, best, own] = [0, 0, 0];
      for (let i = 0; i < n; i++) {
        if (i && this.genus[i] !== this.genus[i - 1]) own = 0;
        own += this.odds[at + i];
        all += this.odds[at + i];
        if (own > best) best = own;
      }
      sum += best / all;
    }
    return sum / this.count;
  }

  /** Multiply the odds of one draw by a row over the kept forms. */
  #weigh(d, row) {
    const { odds } = this;
    const at = d * row.length;
    for (let i = 0; i < row.length; i++) odds[at + i] *= row[i];
  }

  /** Rows of a table over the kept forms, and running sums over its states by form. */
  #kept(table) {
    const rows = table.map((row) => Float64Array.from(this.forms, (f) => row[f]));
    const sums = this.forms.map((_, i) => runningSum(rows.map((row) => row[i])));
    return { rows, sums };
  }

  /** Take one character's report into every draw. */
  #likelihood(c) {
    const character = this.reference.characters[c];
    const points = this.exact.points[this.first + c];
    if (character.isSize) {
      const size = new DrawnSize(this, c);
      for (let d = 0; d < this.count; d++) {
        const [value, none] = size.draw(d, points[d]);
        this.#weigh(d, size.weigh(value, none));
      }
      return;
    }
    const { rows, sums } = this.#kept(this.exact.kernel.table(c)[0]);
    for (let d = 0; d < this.count; d++) this.#weigh(d, rows[choose(sums[this.form[d]], points[d])]);
  }

  /** Take in characters on which one condition acts together. */
  #conditioned(members) {
    const { characters } = this.reference;
    const states = members.filter((c) => !characters[c].isSize);
    const tables = states.map((c) => this.exact.kernel.table(c).map((table) => this.#kept(table)));
    const sizes = members.filter((c) => characters[c].isSize).map((c) => new DrawnSize(this, c));
    const kinds = kindsOf(sizes, this.found.odds.length);
    const met = new Map();
    const row = new Float64Array(this.forms.length);
    for (let d = 0; d < this.count; d++) {
      const drawn = tables.map((table, i) => {
        const point = this.exact.points[this.first + states[i]][d];
        return choose(table[this.acting[d]].sums[this.form[d]], point);
      });
      // Few combinations of states are drawn: each is weighed once.
      const key = drawn.join();
      if (!met.has(key)) met.set(key, kinds.map((kind) => this.#combined(kind, tables, drawn)));
      const values = sizes.map((size) => size.draw(d, this.exact.points[this.first + size.c][d]));
      row.fill(0);
      met.get(key).forEach((part, j) => {
        const shifted = sizes.map((size, i) => {
          const shift = size.character.logShift[kinds[j][0]];
          return size.weigh(values[i][0] - shift, values[i][1]);
        });
        for (let i = 0; i < row.length; i++) {
          row[i] += shifted.reduce((product, weights) => product * weights[i], part[i]);
        }
      });
      this.#weigh(d, row);
    }
  }

  /** Weight of some drawn states under the conditions of one kind, over the kept forms. */
  #combined(kind, tables, drawn) {
    return Float64Array.from(this.forms, (_, i) => {
      let sum = 0;
      for (const k of kind) {
        let weight = this.condition[i][k];
        tables.forEach((table, t) => (weight *= table[k].rows[drawn[t]][i]));
        sum += weight;
      }
      return sum;
    });
  }
}

/** Conditions that shift all sizes alike are one kind. */
function kindsOf(sizes, count) {
  const kinds = new Map();
  for (let k = 0; k < count; k++) {
    const key = sizes.map((size) => size.character.logShift[k]).join();
    kinds.set(key, [...(kinds.get(key) ?? []), k]);
  }
  return [...kinds.values()];
}

/** Draws and weighs one size over the kept forms. */
class DrawnSize {
  constructor(draws, c) {
    Object.assign(this, { draws, c, exact: draws.exact });
    const { reference, forms } = draws;
    this.reference = reference;
    this.character = reference.characters[c];
    this.slip = reference.settings.inapplicable;
    this.bells = new Bells(reference, this.character, forms);
    this.known = forms.map((f) => this.character.known[f]);
    this.allKnown = this.known.every(Boolean);
    this.applies = Float64Array.from(forms, (f) => this.character.applies[f]);
    this.none = this.applies.map((share) => this.#outside(share));
    this.inside = this.applies.map((share) => share * (1 - this.slip));
    this.strange = this.applies.map((share) => (1 - share) * this.slip);
    this.ends = [Math.log(this.character.least), Math.log(this.character.most)];
  }

  #outside(share) {
    return share * this.slip + (1 - share) * (1 - this.slip);
  }

  /** Likelihood of a size, or of "does not apply"; may be the same array at every call. */
  weigh(value, none) {
    if (none) return this.none;
    const row = this.bells.at(value);
    const { conditional } = this.character;
    if (!conditional && this.allKnown) return row;
    const base = this.exact.baseDensity(this.c, value);
    const { known, inside, strange } = this;
    for (let i = 0; i < row.length; i++) {
      const own = known[i] ? row[i] : base;
      row[i] = conditional ? own * inside[i] + strange[i] * base : own;
    }
    return row;
  }

  /** Log of a draw's size, and whether it was said not to apply. */
  draw(d, point) {
    const { character, draws } = this;
    const form = draws.forms[draws.form[d]];
    const outside = character.conditional ? this.#outside(character.applies[form]) : 0;
    const none = point < outside;
    const left = none ? 0.5 : clip((point - outside) / (1 - outside), 0, ALMOST_ONE);
    const [source, quantile] = this.#source(form, left);
    const share = clip(quantile, 1e-12, ALMOST_ONE);
    const z = normalQuantile(this.reference.rules.normal_quantile, share);
    const shift = character.logShift.length ? character.logShift[draws.acting[d]] : 0;
    const size = character.logMean[source] + character.logSd[source] * z + shift;
    return [clip(size, ...this.ends), none];
  }

  /** Form whose range a size is drawn from: the own one, or where that is not known, any. */
  #source(form, point) {
    const { character, slip } = this;
    const applies = character.applies[form];
    const own = applies * (1 - slip);
    const strange = character.conditional ? (1 - applies) * slip : 0;
    const share = character.known[form] ? own / (own + strange) : 0;
    if (point < share) return [form, point / Math.max(share, 1e-300)];
    const rest = clip((point - share) / Math.max(1 - share, 1e-300), 0, ALMOST_ONE);
    const cumulative = this.exact.runningMixture(this.c);
    let other = cumulative.findIndex((sum) => sum > rest);
    if (other < 0) other = cumulative.length - 1;
    const weight = Math.max(character.mixture[other], 1e-300);
    return [other, (rest - (cumulative[other] - character.mixture[other])) / weight];
  }
}
