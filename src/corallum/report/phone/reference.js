// The compiled reference: the JSON that the programme's model runs on, as arrays.

const rows = (table) => table.map((row) => Float64Array.from(row));

/** The numbers of a reference; `rules` are the constants of the model, `hash` its name. */
export class Reference {
  constructor(plain, rules, hash) {
    Object.assign(this, plain);
    this.rules = rules;
    this.hash = hash;
    this.formGenus = Int32Array.from(plain.form_genus);
    this.formWeight = Float64Array.from(plain.form_weight);
    this.baseWeight = Float64Array.from(plain.base_weight);
    this.nForms = plain.form_weight.length;
    this.nGenera = plain.genera.length;
    this.characters = plain.characters.map(asCharacter);
    this.index = new Map(this.characters.map((character, c) => [character.id, c]));
    this.starts = this.#starts();
  }

  /** First form of each genus, "something else" last, and the end. */
  #starts() {
    const starts = Array.from({ length: this.nGenera + 1 }, () => this.nForms);
    for (let f = this.nForms - 1; f >= 0; f--) starts[this.formGenus[f]] = f;
    return [...starts, this.nForms];
  }

  /** Sum over the forms of each genus. */
  genusSum(forms) {
    const sums = new Float64Array(this.nGenera + 1);
    for (let f = 0; f < this.nForms; f++) sums[this.formGenus[f]] += forms[f];
    return sums;
  }

  /** Shares of the genera in a region before anything is seen. */
  prior(region) {
    return this.priors[region || this.rules.anywhere].mixed;
  }

  /** Columns of the tables for each state that may be reported under an id. */
  stateColumns(id) {
    const columns = new Map();
    const c = this.index.get(id);
    if (c !== undefined) {
      const character = this.characters[c];
      character.states.forEach((state, i) => columns.set(state, [i]));
      if (character.conditional) columns.set(this.rules.not_applicable, [character.states.length]);
    }
    for (const view of this.views) if (view.id === id) columns.set(view.state, view.columns);
    return columns;
  }
}

function asCharacter(plain) {
  const isSize = plain.kind !== "states";
  return {
    ...plain,
    isSize,
    applies: Float64Array.from(plain.applies),
    true: isSize ? [] : rows(plain.true),
    flips: plain.flips.map(rows),
    errors: isSize ? [] : plain.errors.map(rows),
    logMean: Float64Array.from(plain.log_mean),
    logSd: Float64Array.from(plain.log_sd),
    mixture: Float64Array.from(plain.mixture),
    logShift: plain.log_shift,
    logRange: isSize ? Math.log(plain.most / plain.least) : 0,
  };
}
