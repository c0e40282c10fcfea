"""Richness and diversity of a survey, its strata and its sites, by genus, family or form."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.actions.survey_estimates import Span, grouping_of
from corallum.actions.survey_tables import NO_FORM, SurveyData, survey_data
from corallum.actions.unit_of_work import check_choice
from corallum.errors import Fault, InputError
from corallum.estimate.bootstrap import bootstrap
from corallum.estimate.diversity import Diversity, summarise_diversity
from corallum.estimate.estimate import Floats
from corallum.estimate.incidence import IncidenceRichness, estimate_incidence_richness
from corallum.estimate.rarefaction import RichnessCurve, rarefy_to_size, sample_coverage
from corallum.estimate.singletons import NOT_NAMED, RecheckedRichness, recheck_singletons
from corallum.estimate.survey_table import SurveyTable
from corallum.estimate.tally import tally_colonies, tally_incidences
from corallum.records.benthos import STONY_CORAL
from corallum.store.programme import Programme

__all__ = ["DIVERSITY_BY", "PlaceDiversity", "SurveyDiversity", "diversity_of"]

DIVERSITY_BY = ("genus", "family", "form")
_POINTS, _DRAWS, _SEED = 40, 1000, 7


@dataclass(frozen=True, slots=True)
class PlaceDiversity:
    """Diversity of one stratum or site, of its records.

    ``coverage`` is the share of records whose genus was met there: compare places of like
    coverage, not of like effort.
    """

    level: str
    place: str
    name: str
    transects: int
    diversity: Diversity
    coverage: float


@dataclass(frozen=True, slots=True, eq=False)
class SurveyDiversity:
    """Richness and diversity of a survey.

    Parameters
    ----------
    by : str
        genus, family or form: what is counted.
    richness : RecheckedRichness
        By records, with genera met once looked at again, side by side.
    incidence : IncidenceRichness or None
        By transects; None for fewer than two.
    curve : RichnessCurve
        Richness at sizes of sample, in transects where there are two or more, else records.
    curve_of_transects : bool
        Whether it is in transects.
    observed : tuple of (int, int)
        Size of the sample, and genera met.
    coverage : float
        Share of incidences whose genus was met.
    n_unidentified : int
        Records of living coral that are none of what is counted: not counted, nor absent.
    shannon, simpson : Span or None
        Hill numbers of order 1 and 2 of all records, with intervals by resampling transects
        within strata (BCa); None where a stratum has one transect.
    places : tuple of PlaceDiversity
        Strata, then sites, that have records.
    """

    by: str
    richness: RecheckedRichness
    incidence: IncidenceRichness | None
    curve: RichnessCurve
    curve_of_transects: bool
    observed: tuple[int, int]
    coverage: float
    n_unidentified: int
    shannon: Span | None
    simpson: Span | None
    places: tuple[PlaceDiversity, ...]


def diversity_of(programme: Programme, survey: str, by: str = "genus") -> SurveyDiversity:
    """Reckon richness and diversity of a survey.

    Raises
    ------
    InputError
        Where nothing that could be counted was met.
    """
    check_choice(by, "by", DIVERSITY_BY)
    data = survey_data(programme, survey, by_form=by == "form")
    table = data.table
    lines = _counted(programme, table, by)
    counts = lines.sum(axis=0).astype(np.int64)
    if not counts.any():
        remedy = "Write slates first."
        raise InputError([Fault("survey", "", f"records that tell a {by}", "none", remedy)])
    said, found = _rechecked(table, counts) if by == "genus" else ([], [])
    several = len(lines) > 1
    present = (lines > 0).sum(axis=0)
    tally = tally_incidences(present, len(lines)) if several else tally_colonies(counts)
    size = tally.n
    sizes = np.unique(np.linspace(1, 2 * size, _POINTS).round())
    shannon, simpson = _hill(lines, table.stratum)
    coral = float(table.lines[:, table.is_coral].sum())
    return SurveyDiversity(
        by, recheck_singletons(counts, said, found),
        estimate_incidence_richness(lines) if several else None,
        rarefy_to_size(tally, np.union1d(sizes, [size])), several, (size, tally.richness),
        sample_coverage(tally), int(coral - lines.sum()), shannon, simpson,
        tuple(_places(data, lines)),
    )  # fmt: skip


def _counted(programme: Programme, table: SurveyTable, by: str) -> Floats:
    """Records of each genus, family or form on each transect, shape (T, F)."""
    if by == "genus":
        return table.lines[:, table.is_genus]
    groups = grouping_of(programme, table, by)
    skip = {STONY_CORAL, NO_FORM, groups.names[0]}
    keep = [f for f, name in enumerate(groups.names) if name not in skip]
    return np.asarray(table.lines @ groups.matrix[:, keep])


def _rechecked(table: SurveyTable, counts: NDArray[np.int64]) -> tuple[list[int], list[int]]:
    """Genera met once whose record was read again, and what each was found to be."""
    genera = np.flatnonzero(table.is_genus).tolist()
    total = table.readings.sum(axis=0)
    said, found = [], []
    for g, k in enumerate(genera):
        if counts[g] == 1 and total[k].sum():
            true = int(np.argmax(total[k]))
            said.append(g)
            found.append(genera.index(true) if true in genera else NOT_NAMED)
    return said, found


def _hill(lines: Floats, stratum: NDArray[np.int64]) -> tuple[Span | None, Span | None]:
    """Hill numbers of order 1 and 2 with intervals; no formula serves, so by resampling."""
    if np.bincount(stratum)[np.unique(stratum)].min() < 2:
        return None, None

    def statistic(index: NDArray[np.int64]) -> Floats:
        total = lines[index].sum(axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):
            p = total / total.sum(axis=1, keepdims=True)
            entropy = -np.where(p > 0, p * np.log(p), 0.0).sum(axis=1)
            return np.stack([np.exp(entropy), 1 / (p**2).sum(axis=1)], axis=1)

    found = bootstrap(statistic, stratum, np.random.default_rng(_SEED), _DRAWS)
    low, high = found.bca()
    values = (found.value, low, high, found.se)
    first, second = (Span(*(float(one[q]) for one in values)) for q in range(2))
    return first, second


def _places(data: SurveyData, lines: Floats) -> list[PlaceDiversity]:
    """Diversity of each stratum and site with records."""
    table = data.table
    found = []
    for level, names, of in (
        ("stratum", table.strata, table.stratum), ("site", table.sites, table.site),
    ):  # fmt: skip
        for i, place in enumerate(names):
            here = lines[of == i]
            counts = here.sum(axis=0).astype(np.int64)
            if not counts.any():
                continue
            name = data.site_names.get(place, place)
            found.append(
                PlaceDiversity(
                    level, place, name, len(here), summarise_diversity(counts),
                    sample_coverage(tally_colonies(counts)),
                )
            )  # fmt: skip
    return found
