"""Invented surveys of known truth, made without anything that estimates.

A reserve that does not exist has three strata of several sites, 60 genera whose shares fall
as a log-series, and observers who each err in their own way. Names are numbered: the
genera, then what is no coral, then "unidentified", which can be said but is never true.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "GENERA",
    "NAMES",
    "NOT_CORAL",
    "UNIDENTIFIED",
    "Making",
    "Reef",
    "Survey",
    "Transects",
    "draw_observers",
    "draw_reef",
    "draw_survey",
    "lay_transects",
    "read_again",
    "read_badly",
    "read_transects",
]

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

GENERA = 60
NOT_CORAL, UNIDENTIFIED = GENERA, GENERA + 1
NAMES = GENERA + 2


@dataclass(frozen=True, slots=True)
class Making:
    """How surveys are made; whatever is not said to be from a paper is our own invention.

    Parameters
    ----------
    log_series : float
        x of the log-series x^k / k that the shares of corals are cut to.
    sites : tuple of int
        Sites of each stratum; a transect lies at any of them by chance.
    transects : tuple of int
        Transects of each stratum.
    weight : tuple of float
        Share of the reef in each stratum: not that of its transects.
    coral : tuple of float
        Mean cover of corals in each stratum.
    site_strength, coral_strength, genus_strength : float
        Dirichlet strengths: sites around their stratum; a transect's cover of corals around
        its site's; and its genera around its site's. By these transects differ as those of
        Palau and Yap in 2017 do (BCO-DMO data set 737508): in corals by 20 points.
    points : tuple of int
        Fewest and most points of a transect.
    observers : tuple of int
        Fewest and most observers.
    accuracy : tuple of float
        Lowest and highest share that an observer names right.
    """

    log_series: float = 0.97
    sites: tuple[int, ...] = (6, 5, 4)
    transects: tuple[int, ...] = (24, 20, 16)
    weight: tuple[float, ...] = (0.5, 0.3, 0.2)
    coral: tuple[float, ...] = (0.28, 0.38, 0.45)
    site_strength: float = 30.0
    coral_strength: float = 5.0
    genus_strength: float = 20.0
    points: tuple[int, int] = (100, 400)
    observers: tuple[int, int] = (4, 6)
    accuracy: tuple[float, float] = (0.75, 0.97)


@dataclass(frozen=True, slots=True, eq=False)
class Reef:
    """A reef that is known.

    Parameters
    ----------
    making : Making
        What it was made by.
    coral : tuple of ndarray
        Cover of corals at each site, a stratum each.
    genera : tuple of ndarray, each (sites, GENERA)
        Shares of corals there.
    alike : ndarray of int, shape (GENERA, 3)
        Genera that each is taken for.
    crusts : ndarray of int
        Genera that what is no coral is taken for.
    """

    making: Making
    coral: tuple[Floats, ...]
    genera: tuple[Floats, ...]
    alike: Counts
    crusts: Counts
    cover: Floats = field(init=False)

    def __post_init__(self) -> None:
        parts = [c[:, None] * g for c, g in zip(self.coral, self.genera, strict=True)]
        means = np.array([part.mean(axis=0) for part in parts])
        cover = np.zeros(NAMES)
        cover[:GENERA] = np.asarray(self.making.weight) @ means
        cover[NOT_CORAL] = 1 - cover.sum()
        object.__setattr__(self, "cover", cover)

    @property
    def coral_shares(self) -> Floats:
        """Share of all corals of each genus, shape (GENERA,)."""
        genera = self.cover[:GENERA]
        return np.asarray(genera / genera.sum())


@dataclass(frozen=True, slots=True, eq=False)
class Transects:
    """What lies under transects.

    Parameters
    ----------
    cover : ndarray, shape (T, NAMES)
        True shares.
    stratum : ndarray of int, shape (T,)
        Stratum of each.
    points : ndarray of int, shape (T,)
        Points on each.
    """

    cover: Floats
    stratum: Counts
    points: Counts


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """What observers made of transects.

    Parameters
    ----------
    records : ndarray of int, shape (T, NAMES, NAMES)
        Points of each transect by what was said (rows) and what is true (columns).
    stratum : ndarray of int, shape (T,)
        Stratum of each transect.
    weight : ndarray, shape (H,)
        Share of the reef of each stratum.
    observer : ndarray of int, shape (T,)
        Who read each.
    """

    records: Counts
    stratum: Counts
    weight: Floats
    observer: Counts

    @property
    def said(self) -> Counts:
        """What was said on each transect, shape (T, NAMES)."""
        return np.asarray(self.records.sum(axis=2))

    @property
    def searched(self) -> Counts:
        """Points of each transect, shape (T,)."""
        return np.asarray(self.records.sum(axis=(1, 2)))


def draw_reef(rng: np.random.Generator, making: Making | None = None) -> Reef:
    """Draw a reef; genus 0 is the commonest on average, 59 the rarest."""
    making = making or Making()
    rank = np.arange(1, GENERA + 1)
    shares = making.log_series**rank / rank
    shares /= shares.sum()
    coral, genera = [], []
    for n, mean in zip(making.sites, making.coral, strict=True):
        own = _dirichlet(making.site_strength * shares, rng)
        genera.append(_dirichlet(np.tile(making.site_strength * own, (n, 1)), rng))
        strength = making.site_strength
        coral.append(rng.beta(strength * mean, strength * (1 - mean), n))
    alike = np.array(
        [rng.choice(np.delete(np.arange(GENERA), g), 3, replace=False) for g in range(GENERA)]
    )
    return Reef(making, tuple(coral), tuple(genera), alike, rng.choice(GENERA, 6, replace=False))


def lay_transects(reef: Reef, rng: np.random.Generator) -> Transects:
    """Lay transects at random in every stratum."""
    making = reef.making
    cover, stratum = [], []
    for h, n in enumerate(making.transects):
        site = rng.integers(making.sites[h], size=n)
        mean, strength = reef.coral[h][site], making.coral_strength
        coral = rng.beta(strength * mean, strength * (1 - mean))
        genera = _dirichlet(making.genus_strength * reef.genera[h][site], rng)
        own = np.zeros((n, NAMES))
        own[:, :GENERA] = coral[:, None] * genera
        own[:, NOT_CORAL] = 1 - own.sum(axis=1)
        cover.append(own)
        stratum.append(np.full(n, h))
    at = np.concatenate(stratum)
    low, high = making.points
    return Transects(np.concatenate(cover), at, rng.integers(low, high, len(at), endpoint=True))


def draw_observers(reef: Reef, rng: np.random.Generator) -> Floats:
    """Draw confusion matrices P(said | true), shape (observers, NAMES, NAMES)."""
    low, high = reef.making.observers
    matrices = [_draw_observer(reef, rng) for _ in range(rng.integers(low, high, endpoint=True))]
    return np.array(matrices)


def read_transects(
    reef: Reef, transects: Transects, observers: Floats, rng: np.random.Generator
) -> Survey:
    """Have each transect read by one observer, all in turn."""
    n = len(transects.points)
    observer = rng.permutation(np.arange(n) % len(observers))
    true = rng.multinomial(transects.points, transects.cover)
    records = rng.multinomial(true, observers[observer]).swapaxes(1, 2)
    return Survey(records, transects.stratum, np.asarray(reef.making.weight), observer)


def draw_survey(rng: np.random.Generator, making: Making | None = None) -> tuple[Reef, Survey]:
    """Draw a reef and one survey of it."""
    reef = draw_reef(rng, making)
    return reef, read_transects(reef, lay_transects(reef, rng), draw_observers(reef, rng), rng)


def read_again(
    survey: Survey,
    rng: np.random.Generator,
    share: float = 0.1,
    least: int = 10,
    right: float = 1.0,
) -> Counts:
    """Draw records of each name said, to be read again by readers who are right.

    Parameters
    ----------
    survey : Survey
        Whose records.
    rng : numpy.random.Generator
        Draws them without regard to anything but what was said.
    share : float
        Of the records of each name, rounded up.
    least : int
        Of each name, or all its records if fewer.
    right : float
        Chance that a record named right may be drawn at all: below 1 wrong ones are favoured,
        and what is drawn is no longer a random part.

    Returns
    -------
    ndarray of int, shape (T, NAMES, NAMES)
        Readings of each transect by what was said and what is true.
    """
    pool = survey.records.copy()
    own = np.arange(NAMES)
    pool[:, own, own] = rng.binomial(pool[:, own, own], right)
    again = np.zeros_like(survey.records)
    for name in range(NAMES):
        part = pool[:, name]
        wanted = max(least, int(np.ceil(share * survey.records[:, name].sum())))
        n = min(wanted, int(part.sum()))
        drawn = rng.multivariate_hypergeometric(part.ravel(), n, method="marginals")
        again[:, name] = drawn.reshape(part.shape)
    return again


def read_badly(again: Counts, reef: Reef, erring: float, rng: np.random.Generator) -> Counts:
    """Have second readers err in a share of readings, as a good observer of their own would."""
    wrong = rng.binomial(again, erring)
    slips = np.zeros((NAMES, NAMES))
    for g in range(GENERA):
        slips[g, reef.alike[g]] = 1 / 3
    slips[NOT_CORAL, reef.crusts] = 1 / len(reef.crusts)
    slips[UNIDENTIFIED, UNIDENTIFIED] = 1
    transect, said, true = np.nonzero(wrong)
    read = again - wrong
    np.add.at(read, (transect, said), rng.multinomial(wrong[transect, said, true], slips[true]))
    return read


def _draw_observer(reef: Reef, rng: np.random.Generator) -> Floats:
    """Draw one observer: right in a share of their own, else mostly one of a few alike."""
    low, high = reef.making.accuracy
    skill = rng.uniform(low, high)
    logit = np.log(skill / (1 - skill)) + 0.5 * rng.standard_normal(GENERA)
    right = 1 / (1 + np.exp(-logit))
    matrix = np.zeros((NAMES, NAMES))
    for g in range(GENERA):
        errors = np.full(NAMES, 0.05 / NAMES)
        # A small parameter: each observer has a favourite mistake, rarely the reverse one too.
        errors[reef.alike[g]] += 0.75 * _dirichlet(np.full(3, 0.5), rng)
        errors[UNIDENTIFIED] += 0.12
        errors[NOT_CORAL] += 0.08
        errors[g] = 0
        matrix[g] = (1 - right[g]) * errors / errors.sum()
        matrix[g, g] = right[g]
    missed = rng.uniform(0.005, 0.03)
    errors = np.full(NAMES, 0.1 / NAMES)
    errors[reef.crusts] += 0.7 * _dirichlet(np.full(len(reef.crusts), 0.5), rng)
    errors[UNIDENTIFIED] += 0.2
    errors[NOT_CORAL] = 0
    matrix[NOT_CORAL] = missed * errors / errors.sum()
    matrix[NOT_CORAL, NOT_CORAL] = 1 - missed
    matrix[UNIDENTIFIED, UNIDENTIFIED] = 1
    return matrix


def _dirichlet(strength: Floats, rng: np.random.Generator) -> Floats:
    """Draw shares along the last axis; parameters may be tiny."""
    drawn = rng.standard_gamma(strength) + 1e-300
    return np.asarray(drawn / drawn.sum(axis=-1, keepdims=True))
