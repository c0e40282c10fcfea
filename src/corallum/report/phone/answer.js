// Everything the model says of one colony, in the shape of `corallum determine --json`.

import { readColony } from "./evidence.js";
import { Kernel } from "./kernel.js";
import { ExactReports, findLimits } from "./limits.js";
import { nextLooks } from "./looks.js";
import { fromLargest, largest, rounded, threeDigits } from "./numbers.js";

const LEFT_OUT = "left_out";
const ROUNDING = 1e-12;
const DECIBANS = 10 * Math.LOG10E;

/** Determines colonies against one reference, tables kept between them. */
export class Determiner {
  constructor(reference, observer = "unknown") {
    this.reference = reference;
    this.kernel = new Kernel(reference, observer);
    this.exact = new ExactReports(reference);
  }

  /** Answer for one colony; throws BadColony where the reference does not understand it. */
  determine(colony) {
    const { reference, kernel } = this;
    const evidence = readColony(reference, colony);
    const prior = reference.prior(colony.region);
    const found = kernel.posterior(evidence, prior);
    const looks = nextLooks(kernel, evidence, found);
    const limits = findLimits(this.exact, evidence, found);
    const verdict = decide(reference, found.genus, limits, looks);
    return {
      id: colony.id,
      verdict,
      candidates: this.#candidates(found.genus),
      next_looks: looks,
      fragile: this.#fragile(evidence, found.genus, prior),
      why: explain(reference, evidence, found, prior),
      limits,
      cautions: this.#cautions(found.genus, verdict.needs),
      reference: reference.hash,
    };
  }

  #candidates(genus) {
    const { genera, families, rules } = this.reference;
    return ranked(this.reference, genus)
      .filter((g) => genus[g] >= rules.least_probability)
      .map((g) => ({ genus: genera[g] ?? null, family: families[g] ?? null, probability: genus[g] }));
  }

  #cautions(genus, needs) {
    const { cautions, caution_texts: texts, nGenera, rules } = this.reference;
    const wanted = ["look_only"];
    for (const g of ranked(this.reference, genus, nGenera)) {
      if (genus[g] >= rules.caution_probability) wanted.push(...cautions[g]);
    }
    if (needs === "voucher") wanted.push("voucher");
    return [...new Set(wanted)].filter((id) => id in texts).map((id) => texts[id]);
  }

  /** Changes of one report that change the verdict. */
  #fragile(evidence, genus, prior) {
    const { reference } = this;
    const [leader, settled] = [leaderOf(reference, genus), isSettled(reference, genus)];
    const found = [];
    for (const { character, change, other } of changesOf(reference, evidence)) {
      const then = this.kernel.posterior(other, prior).genus;
      if (leaderOf(reference, then) === leader && isSettled(reference, then) === settled) continue;
      const chosen = smallestSet(reference, then, reference.settings.set_mass);
      found.push({ character, change, verdict: namesOf(reference, chosen), probability: mass(then, chosen) });
    }
    return found;
  }
}

/** Genera from the most probable; ties go to the first in the list. */
const ranked = (reference, genus, count = genus.length) =>
  fromLargest(rounded(genus, reference.rules.tie_decimals), count);
const leaderOf = (reference, genus) => largest(rounded(genus, reference.rules.tie_decimals));
const namesOf = (reference, chosen) => chosen.map((g) => reference.genera[g] ?? null);
const mass = (genus, chosen) => chosen.reduce((sum, g) => sum + genus[g], 0);

/** The fewest genera that hold a mass, most probable first. */
function smallestSet(reference, genus, wanted) {
  const order = ranked(reference, genus);
  let held = 0;
  const count = order.findIndex((g) => (held += genus[g]) >= wanted - ROUNDING) + 1;
  return order.slice(0, count || order.length);
}

/** Whether one genus of the reference reaches the threshold by itself. */
function isSettled(reference, genus) {
  const best = leaderOf(reference, genus);
  return best < reference.nGenera && genus[best] >= reference.settings.set_mass;
}

function decide(reference, genus, limits, looks) {
  const status = statusOf(reference, genus, limits);
  const settled = status === "settled";
  const chosen = settled ? [leaderOf(reference, genus)] : smallestSet(reference, genus, reference.settings.set_mass);
  const genera = namesOf(reference, chosen);
  const [name, rank] = openName(reference, chosen);
  const needs = needsOf(reference, status, limits, looks);
  return { status, genera, name, probability: mass(genus, chosen), rank, needs };
}

function statusOf(reference, genus, limits) {
  if (leaderOf(reference, genus) === reference.nGenera) return "not_in_reference";
  if (isSettled(reference, genus)) return "settled";
  if (limits.best_in_water < reference.settings.separable) return "not_separable_in_water";
  return "open";
}

function needsOf(reference, status, limits, looks) {
  if (status === "settled") return "nothing";
  if (status === "not_separable_in_water") {
    return limits.best_with_skeleton >= reference.settings.separable ? "voucher" : "second_reader";
  }
  const worth = looks.some((look) => look.gain_bits >= reference.rules.worth_a_look_bits);
  return status !== "not_in_reference" && worth ? "look" : "second_reader";
}

/** Open nomenclature: genus, common family, common order, or neither. */
function openName(reference, chosen) {
  const { genera, families, orders, nGenera } = reference;
  const neither = ["stony coral indet.", "none"];
  if (chosen.some((g) => g === nGenera)) return neither;
  if (chosen.length === 1) return [`${genera[chosen[0]]} sp.`, "genus"];
  for (const [ranks, rank] of [[families, "family"], [orders, "order"]]) {
    const names = new Set(chosen.map((g) => ranks[g]));
    if (names.size === 1) return [`${[...names][0]} indet.`, rank];
  }
  return neither;
}

/** Every report left out, taken for another state, or off by a third. */
function* changesOf(reference, evidence) {
  for (const c of evidence.characters) {
    const character = reference.characters[c];
    const id = evidence.ids.get(c)[0];
    yield { character: id, change: LEFT_OUT, other: evidence.without(c) };
    const size = evidence.sizes.get(c);
    if (!size) {
      yield* otherStates(reference, evidence, c);
      continue;
    }
    for (const factor of reference.rules.size_factors) {
      const value = Math.min(Math.max(size.value * factor, character.least), character.most);
      const change = `${threeDigits(value)} ${character.unit}`;
      yield { character: id, change, other: evidence.withSize(c, { ...size, value }) };
    }
  }
}

/** States that a report is easily taken for; for a view, its other states. */
function* otherStates(reference, evidence, c) {
  const character = reference.characters[c];
  const { columns } = evidence.states.get(c);
  if (columns.length === 1 && columns[0] < character.states.length) {
    for (const s of character.taken_for[columns[0]]) {
      yield { character: character.id, change: character.states[s], other: evidence.withStates(c, [s]) };
    }
  }
  for (const id of evidence.ids.get(c)) {
    for (const view of reference.views) {
      const apart = !view.columns.some((column) => columns.includes(column));
      if (view.id === id && id !== character.id && apart) {
        const other = evidence.withStates(c, [...view.columns].sort((a, b) => a - b));
        yield { character: id, change: view.state, other };
      }
    }
  }
}

/** Why the leading genus and not the next: decibans that add up. */
function explain(reference, evidence, found, prior) {
  const [a, b] = ranked(reference, found.genus, reference.nGenera);
  const [sideA, sideB] = [a, b].map((g) => sideOf(reference, found, g));
  const decibans = [];
  for (const [g, { likelihood }] of found.groups) {
    const value = DECIBANS * (averageLog(sideA, likelihood) - averageLog(sideB, likelihood));
    const [character, ...others] = reportedIds(reference, evidence, g);
    decibans.push({ character, with: others, value });
  }
  decibans.sort((x, y) => Math.abs(y.value) - Math.abs(x.value));
  const form = DECIBANS * (sideB.divergence - sideA.divergence);
  const before = DECIBANS * Math.log(prior[a] / prior[b]);
  const total = form + before + decibans.reduce((sum, entry) => sum + entry.value, 0);
  return { for: reference.genera[a], against: reference.genera[b], decibans, form, prior: before, total };
}

/** The forms of one genus, their share given the evidence, and how far that moved. */
function sideOf(reference, found, g) {
  const [start, end] = [reference.starts[g], reference.starts[g + 1]];
  const logs = found.logJoint.slice(start, end);
  const top = Math.max(...logs);
  const weights = logs.map((log) => Math.exp(log - top));
  const sum = weights.reduce((total, weight) => total + weight, 0);
  const share = weights.map((weight) => weight / sum);
  let divergence = 0;
  share.forEach((value, i) => {
    if (value > 0) divergence += value * Math.log(value / reference.formWeight[start + i]);
  });
  return { start, share, divergence };
}

const averageLog = ({ start, share }, likelihood) =>
  share.reduce((sum, value, i) => sum + value * Math.log(likelihood[start + i]), 0);

function reportedIds(reference, evidence, g) {
  const members = reference.groups[g].members.filter((c) => evidence.has(c));
  return members.flatMap((c) => evidence.ids.get(c) ?? [reference.characters[c].id]);
}
