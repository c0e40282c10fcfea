// How the page says things: ids as words, chances as percent, verdicts as sentences. The
// same words as on the programme's pages; a test holds both together.

import { threeDigits } from "./numbers.js";

const SHOWN = 5;
const GAP = "\u00a0";
const SEEN = { w: "in the water", l: "with a lens", k: "on a cleaned skeleton" };
const METHODS = { eye: "by eye", ruler: "with a ruler", photo: "on a photo", published: "printed" };
const STATUSES = {
  settled: "settled",
  open: "still open",
  not_separable_in_water: "can't be told in the water",
  not_in_reference: "fits nothing here",
};
// Least bits of expected gain, and how that is said.
const GAINS = [
  [0.8, "should settle most of it"],
  [0.4, "should tell a lot"],
  [0.15, "should tell something"],
  [0.04, "may tell a little"],
  [0, "will hardly tell anything"],
];
const MONTHS = [
  "January", "February", "March", "April", "May", "June", "July", "August", "September",
  "October", "November", "December",
];

/** An id as words. */
export const words = (id) => id.replaceAll("_", " ");

/** A whole number, ties to the even one. */
function whole(value) {
  const low = Math.floor(value);
  const over = value - low;
  return over > 0.5 || (over === 0.5 && low % 2) ? low + 1 : low;
}

/** A chance; what is neither sure nor impossible is never said to be. */
export function percent(share) {
  if (share > 0.99) return share < 0.9999 ? `over 99${GAP}%` : `100${GAP}%`;
  if (share < 0.01) return share > 0 ? `under 1${GAP}%` : `0${GAP}%`;
  return `${whole(100 * share)}${GAP}%`;
}

/** Genera, most probable first, the tail counted. */
export function named(genera, most = SHOWN) {
  let names = genera.map((name) => name ?? "something else");
  if (names.length > most + 1) names = [...names.slice(0, most), `${names.length - most} more`];
  return names.length === 1 ? names[0] : `${names.slice(0, -1).join(", ")} or ${names.at(-1)}`;
}

/** A verdict in one or two plain sentences. */
export function verdictSentence({ status, genera, probability, needs }) {
  const share = percent(probability);
  if (status === "settled") return `This is ${genera[0]}, ${share} sure.`;
  if (status === "not_in_reference") {
    return "This fits nothing that the reference holds. A second reader should look.";
  }
  const names = named(genera);
  if (status === "not_separable_in_water") {
    const way = needs === "voucher" ? "a sample under permit could" : "a reader might";
    return `${names}: ${share} that it is one of these. No look here tells them apart; ${way}.`;
  }
  const then = needs === "look" ? "Look again." : "Ask a second reader.";
  if (genera.length > SHOWN + 1) {
    return `Still open among ${genera.length}, ${named(genera.slice(0, 3))} first. ${then}`;
  }
  return `Still open: ${names}, ${share} together. ${then}`;
}

/** A status in plain words. */
export const statusWords = (status) => STATUSES[status] ?? words(status);

/** What a look is expected to tell. */
export const gainPhrase = (bits) => GAINS.find(([least]) => bits >= least)[1];

/** What a look costs. */
export function secondsPhrase(seconds) {
  return seconds < 60 ? `about ${whole(seconds)} s` : `about ${whole(seconds / 60)} min`;
}

/** How something is seen. */
export const seenPhrase = (seen) => SEEN[seen];

/** What would follow from a change of one report. */
export function changePhrase({ change, verdict }) {
  const what = change === "left_out" ? "if left out" : `if ${words(change)} instead`;
  return `${what}: ${named(verdict, 3)}`;
}

/** The ways to judge a size, as pairs of id and words. */
export const methodWords = () => Object.entries(METHODS);

/** What was reported. */
export function reportWords(report, character) {
  if ("value" in report) {
    const times = report.n > 1 ? `, ${report.n} measured` : "";
    const unit = character.unit ? ` ${character.unit}` : "";
    return `${threeDigits(report.value)}${unit}${times}, ${METHODS[report.method] ?? report.method}`;
  }
  const labels = new Map(character.states.map((state) => [state.id, state.label]));
  labels.set("not_applicable", "does not apply here");
  return report.states.map((state) => labels.get(state) ?? words(state)).join(" or ");
}

/** A day as it is read aloud. */
export function day(text) {
  const [year, month, date] = text.split("-").map(Number);
  return `${date} ${MONTHS[month - 1]} ${year}`;
}

/** Today, where the phone is. */
export function today(now = new Date()) {
  return moment(now).slice(0, 10);
}

/** A moment with its time zone, to the second. */
export function moment(now = new Date()) {
  const two = (value) => String(Math.trunc(value)).padStart(2, "0");
  const zone = -now.getTimezoneOffset();
  const sign = zone < 0 ? "-" : "+";
  const date = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  const time = `${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}`;
  return `${date}T${time}${sign}${two(Math.abs(zone) / 60)}:${two(Math.abs(zone) % 60)}`;
}
