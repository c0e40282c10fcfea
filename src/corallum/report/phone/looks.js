// What to look at next: what every character not yet reported is expected to tell of the genus.

import { sizeDensity } from "./kernel.js";
import { expectedGainBits, sumOf } from "./numbers.js";

const LEAST_GAIN = 1e-9;

/** Rank the looks that are left, most bits first. */
export function nextLooks(kernel, evidence, found, seen = ["w", "l"]) {
  const looks = [...new Looker(kernel, evidence, found).gains()];
  return looks
    .filter((look) => seen.includes(look.seen) && look.gain_bits > LEAST_GAIN)
    .sort((a, b) => b.gain_bits - a.gain_bits || (a.character < b.character ? -1 : 1));
}

class Looker {
  constructor(kernel, evidence, found) {
    Object.assign(this, { kernel, evidence, found });
    this.reference = kernel.reference;
    this.rules = kernel.reference.rules;
  }

  *gains() {
    for (const [c, character] of this.reference.characters.entries()) {
      if (this.evidence.hidden.has(c)) continue;
      if (!character.isSize) yield* this.#stateGains(c, character);
      else if (!this.evidence.has(c)) {
        yield this.#look(character.id, this.#sizeJoint(c, character), character);
      }
    }
  }

  /** Gain over the outcomes of a look, times the chance that it applies at all. */
  #look(id, joint, { seconds, seen }) {
    return {
      character: id,
      gain_bits: expectedGainBits(joint) * Math.min(sumOf(joint), 1),
      seconds,
      seen,
    };
  }

  *#stateGains(c, character) {
    const columns = this.evidence.states.get(c)?.columns ?? [];
    if (columns.length === 1) return;
    const reported = columns.length ? this.evidence.ids.get(c) : [];
    const width = character.states.length + 1;
    let left = columns.length ? columns : Array.from({ length: width }, (_, i) => i);
    if (character.conditional) left = left.filter((column) => column < width - 1);
    const table = this.kernel.table(c);
    const joint = this.#joint(c, left.map((column) => table.map((rows) => rows[column])));
    if (!reported.includes(character.id)) yield this.#look(character.id, joint, character);
    const views = new Map();
    for (const view of this.reference.views) {
      if (view.character === c && view.id !== character.id && !reported.includes(view.id)) {
        views.set(view.id, [...(views.get(view.id) ?? []), view]);
      }
    }
    for (const [id, parts] of views) {
      yield this.#look(id, parts.map((view) => merged(joint, left, view.columns)), parts[0]);
    }
  }

  /** Likelihood of the other reports of a group, without misreading. */
  #rest(c, g) {
    const group = this.found.groups.get(g);
    if (!group) return null;
    if (!this.evidence.states.has(c)) return group.clean;
    const { members, conditions_act: acts } = this.reference.groups[g];
    const others = members.filter((other) => other !== c && this.evidence.has(other));
    return this.kernel.together(others, this.evidence, acts);
  }

  /** Joint weights of outcome and genus; an outcome has one row a condition. */
  #joint(c, outcomes) {
    const { group: g } = this.reference.characters[c];
    const rest = this.#rest(c, g);
    const before = this.#before(g);
    return outcomes.map((outcome) => {
      const clean = outcome.map((row, k) => (rest ? row.map((value, f) => value * rest[k][f]) : row));
      const likelihood = this.kernel.slip(g, this.kernel.mixed(g, clean, this.found.odds));
      return this.reference.genusSum(likelihood.map((value, f) => value * before[f]));
    });
  }

  /** P(form) with what the group has told so far taken off. */
  #before(g) {
    const group = this.found.groups.get(g);
    const { form } = this.found;
    return group ? form.map((share, f) => share / group.likelihood[f]) : form;
  }

  #sizeJoint(c, character) {
    const { assumed, gauss } = this.rules;
    const readings = character.unit === "mm" ? assumed.readings : 1;
    const [variance] = this.kernel.sizeError(assumed.method, readings);
    const [low, high] = this.#logRange(character, variance);
    const half = (high - low) / 2;
    const densities = gauss.points.map((point) =>
      sizeDensity(this.reference, character, (low + high) / 2 + half * point, variance),
    );
    const joint = this.#joint(c, densities);
    return joint.map((row, i) => row.map((value) => value * gauss.weights[i] * half));
  }

  /** Log range that holds the size for every form that is still possible. */
  #logRange(character, variance) {
    const { negligible, range_sds: sds } = this.rules.looks;
    const known = character.known.flatMap((is, f) => (is ? [f] : []));
    const ends = [Math.log(character.least), Math.log(character.most)];
    if (!known.length) return ends;
    const likely = known.filter((f) => this.found.form[f] > negligible);
    const forms = likely.length ? likely : known;
    const shifts = character.logShift.length ? character.logShift : [0];
    let [low, high] = [Infinity, -Infinity];
    for (const f of forms) {
      const reach = sds * Math.sqrt(character.logSd[f] ** 2 + variance);
      low = Math.min(low, character.logMean[f] - reach);
      high = Math.max(high, character.logMean[f] + reach);
    }
    return [
      Math.max(low + Math.min(...shifts), ends[0]),
      Math.min(high + Math.max(...shifts), ends[1]),
    ];
  }
}

/** Sum of the rows of a joint whose columns are in a set. */
function merged(joint, left, columns) {
  const sum = new Float64Array(joint[0].length);
  joint.forEach((row, i) => {
    if (columns.includes(left[i])) for (let g = 0; g < sum.length; g++) sum[g] += row[g];
  });
  return sum;
}
