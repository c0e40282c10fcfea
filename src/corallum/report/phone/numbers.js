// Sums, orders, entropies and normal quantiles, as the same functions of the programme have them.

/** Values to so many decimals: what differs beyond is rounding, and counts as a tie. */
export function rounded(values, decimals) {
  const scale = 10 ** decimals;
  return values.map((value) => {
    const low = Math.floor(value * scale);
    const over = value * scale - low;
    // Ties to the even number, as the programme's own rounding has them.
    return over > 0.5 || (over === 0.5 && low % 2) ? low + 1 : low;
  });
}

/** Indices of values from the largest, ties in their order. */
export function fromLargest(values, count = values.length) {
  const order = Array.from({ length: count }, (_, i) => i);
  return order.sort((a, b) => values[b] - values[a] || a - b);
}

/** Index of the largest value, the first of ties. */
export function largest(values) {
  let best = 0;
  for (let i = 1; i < values.length; i++) if (values[i] > values[best]) best = i;
  return best;
}

/** Running sums. */
export function runningSum(values) {
  let total = 0;
  return Float64Array.from(values, (value) => (total += value));
}

/** First place at which a running sum reaches a share of its total. */
export function choose(cumulative, point, start = 0, width = cumulative.length) {
  const wanted = point * cumulative[start + width - 1];
  let i = 0;
  while (i < width - 1 && cumulative[start + i] < wanted) i++;
  return i;
}

/** A number held between two others. */
export function clip(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

/** A curve of equal steps, read by straight lines; flat beyond its ends. */
export function readOff(grid, heights, x) {
  const last = grid.length - 1;
  if (!(x > grid[0])) return heights[0];
  if (x >= grid[last]) return heights[last];
  let i = clip(Math.floor(((x - grid[0]) / (grid[last] - grid[0])) * last), 0, last - 1);
  while (i > 0 && grid[i] > x) i--;
  while (i < last - 1 && grid[i + 1] <= x) i++;
  const slope = (heights[i + 1] - heights[i]) / (grid[i + 1] - grid[i]);
  return slope * (x - grid[i]) + heights[i];
}

/** Entropy in bits of weights that add up to total. */
function entropyBits(weights, total) {
  let bits = 0;
  for (const weight of weights) {
    const share = weight / total;
    if (share > 0) bits -= share * Math.log2(share);
  }
  return bits;
}

/** What an outcome is expected to tell of a class, in bits; rows are outcomes. */
export function expectedGainBits(joint) {
  const classes = new Float64Array(joint[0].length);
  const outcomes = joint.map((row) => {
    let sum = 0;
    for (let g = 0; g < row.length; g++) {
      sum += row[g];
      classes[g] += row[g];
    }
    return sum;
  });
  const total = outcomes.reduce((sum, value) => sum + value, 0);
  let after = 0;
  joint.forEach((row, i) => {
    if (outcomes[i] > 0) after += (outcomes[i] / total) * entropyBits(row, outcomes[i]);
  });
  return Math.max(entropyBits(classes, total) - after, 0);
}

/** Sum of all weights of a table. */
export function sumOf(joint) {
  return joint.reduce((sum, row) => sum + row.reduce((s, value) => s + value, 0), 0);
}

/** Standard normal quantile; Wichura 1988, algorithm AS 241, its coefficients as data. */
export function normalQuantile(coefficients, probability) {
  const centred = probability - 0.5;
  if (Math.abs(centred) <= 0.425) {
    return centred * ratio(coefficients.centre, 0.180625 - centred * centred);
  }
  const tail = Math.sqrt(-Math.log(Math.min(probability, 1 - probability)));
  const far = tail <= 5 ? ratio(coefficients.middle, tail - 1.6) : ratio(coefficients.far, tail - 5);
  return centred < 0 ? -far : far;
}

function ratio([above, below], x) {
  const value = (part) => part.reduce((sum, coefficient) => sum * x + coefficient, 0);
  return value(above) / value(below);
}

/** Points spread evenly over the unit cube, one array a dimension: parts of i times a root. */
export function spreadPoints(count, dimensions) {
  return primes(dimensions).map((prime) => {
    const root = Math.sqrt(prime);
    return Float64Array.from({ length: count }, (_, i) => ((i + 1) * root) % 1);
  });
}

function primes(count) {
  const found = [];
  for (let number = 2; found.length < count; number++) {
    if (found.every((prime) => number % prime)) found.push(number);
  }
  return found;
}

/** A number to three digits that count, ties to the even digit, without needless noughts. */
export function threeDigits(value) {
  if (!Number.isFinite(value) || value === 0) return String(value);
  // Twenty digits more than a double holds tell a tie from what is near one.
  const [mantissa, power] = value.toExponential(60).split("e");
  const digits = mantissa.replace(/[-.]/g, "");
  let head = Number(digits.slice(0, 3));
  const rest = digits.slice(3);
  const half = `5${"0".repeat(rest.length - 1)}`;
  if (rest > half || (rest === half && head % 2)) head += 1;
  let exponent = Number(power);
  if (head === 1000) [head, exponent] = [100, exponent + 1];
  const sign = value < 0 ? "-" : "";
  if (exponent < -4 || exponent >= 3) {
    const short = String(head / 100);
    const size = String(Math.abs(exponent)).padStart(2, "0");
    return `${sign}${short}e${exponent < 0 ? "-" : "+"}${size}`;
  }
  const decimals = Math.max(0, 2 - exponent);
  const text = (head / 10 ** (2 - exponent)).toFixed(decimals);
  return sign + (decimals ? text.replace(/\.?0+$/, "") : text);
}
