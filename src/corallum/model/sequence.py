"""A low-discrepancy sequence and normal quantiles, the same in every language.

Point i in dimension d is the fractional part of (i + 1) times the square root of
the d-th prime (Richtmyer's sequence): nothing to store, nothing to seed.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from corallum.model.compiled import Floats

__all__ = ["normal_quantile", "spread_points"]

# Coefficients of algorithm AS 241 (PPND16), Wichura 1988, Applied Statistics 37:477.
_CENTRE = (
    (2509.0809287301226727, 33430.575583588128105, 67265.770927008700853, 45921.953931549871457,
     13731.693765509461125, 1971.5909503065514427, 133.14166789178437745, 3.387132872796366608),
    (5226.495278852545925, 28729.085735721942674, 39307.89580009271061, 21213.794301586595867,
     5394.1960214247511077, 687.1870074920579083, 42.313330701600911252, 1.0),
)  # fmt: skip
_MIDDLE = (
    (7.7454501427834140764e-4, 0.0227238449892691845833, 0.24178072517745061177,
     1.27045825245236838258, 3.64784832476320460504, 5.7694972214606914055, 4.6303378461565452959,
     1.42343711074968357734),
    (1.05075007164441684324e-9, 5.475938084995344946e-4, 0.0151986665636164571966,
     0.14810397642748007459, 0.68976733498510000455, 1.6763848301838038494,
     2.05319162663775882187, 1.0),
)  # fmt: skip
_FAR = (
    (2.01033439929228813265e-7, 2.71155556874348757815e-5, 0.0012426609473880784386,
     0.026532189526576123093, 0.29656057182850489123, 1.7848265399172913358,
     5.4637849111641143699, 6.6579046435011037772),
    (2.04426310338993978564e-15, 1.4215117583164458887e-7, 1.8463183175100546818e-5,
     7.868691311456132591e-4, 0.0148753612908506148525, 0.13692988092273580531,
     0.59983220655588793769, 1.0),
)  # fmt: skip


@cache
def _primes(count: int) -> tuple[int, ...]:
    """Return the first primes."""
    found: list[int] = []
    number = 2
    while len(found) < count:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return tuple(found)


@cache
def spread_points(count: int, dimensions: int) -> Floats:
    """Return points spread evenly over the unit cube, shape (count, dimensions).

    References
    ----------
    Niederreiter H. 1992. Random Number Generation and Quasi-Monte Carlo Methods.
    SIAM. Section 3.1 (Kronecker sequences).
    """
    roots = np.sqrt(np.array(_primes(dimensions), dtype=np.float64))
    points: Floats = np.modf(np.arange(1, count + 1)[:, None] * roots)[0]
    points.setflags(write=False)
    return points


def normal_quantile(probability: Floats) -> Floats:
    """Return the standard normal quantile of probabilities strictly between 0 and 1.

    References
    ----------
    Wichura M.J. 1988. Algorithm AS 241: the percentage points of the normal
    distribution. Applied Statistics 37:477-484.
    """
    centred = probability - 0.5
    inner = 0.180625 - centred**2
    near = centred * _ratio(_CENTRE, inner)
    tail = np.sqrt(-np.log(np.minimum(probability, 1 - probability)))
    far = np.where(tail <= 5, _ratio(_MIDDLE, tail - 1.6), _ratio(_FAR, tail - 5))
    quantile: Floats = np.where(np.abs(centred) <= 0.425, near, np.sign(centred) * far)
    return quantile


def _ratio(coefficients: tuple[tuple[float, ...], tuple[float, ...]], x: Floats) -> Floats:
    """Evaluate a ratio of polynomials, highest power first."""
    above, below = (np.polyval(np.array(part), x) for part in coefficients)
    ratio: Floats = above / below
    return ratio
