"""Two surveys side by side: the same names in columns, the same transects in rows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from corallum.estimate.survey_match import align, pair_transects
from corallum.estimate.survey_table import SurveyTable
from invented_tables import LABELS, invent_table, permuted


def without(table: SurveyTable, name: str) -> SurveyTable:
    """A table in which a name was never said."""
    keep = [k for k, label in enumerate(table.labels) if label != name]
    return permuted(table, range(len(table.transects)), keep)


def column(table: SurveyTable, name: str) -> np.ndarray:
    """What was met under a name."""
    return np.asarray(table.met[:, table.labels.index(name)])


def test_names_of_both_are_columns_of_both() -> None:
    """What one survey never met is 0 in it; nothing that was met is lost."""
    first, second = without(invent_table(1), "Favites"), without(invent_table(2), "sand")
    one, two = align(first, second)
    assert one.labels == two.labels == tuple(sorted(LABELS))
    assert not column(one, "Favites").any()
    assert not column(two, "sand").any()
    for whole, part in ((one, first), (two, second)):
        assert whole.met.sum() == part.met.sum()
        assert whole.readings.sum() == part.readings.sum()
        for name in part.labels:
            assert np.array_equal(column(whole, name), column(part, name))


def test_readings_keep_their_names() -> None:
    """Said and true of each second reading stay under their names."""
    first, second = without(invent_table(1), "sand"), invent_table(2)
    one, _ = align(first, second)
    for said in first.labels:
        for true in first.labels:
            a = first.readings[:, first.labels.index(said), first.labels.index(true)]
            b = one.readings[:, one.labels.index(said), one.labels.index(true)]
            assert np.array_equal(a, b)


def test_what_counts_as_coral_in_one_counts_so_in_both() -> None:
    """Aligned, both surveys agree on which names are coral and which genera."""
    one, two = align(without(invent_table(1), "Porites"), invent_table(2))
    assert np.array_equal(one.is_coral, two.is_coral)
    assert dict(zip(one.labels, one.is_genus.tolist(), strict=True)) == {
        name: name in LABELS[:4] for name in LABELS
    }


def test_pairs_are_found_by_site_and_name() -> None:
    """Transects in another order are put beside their like; the odd one is left out."""
    first = invent_table(1)
    n = len(first.transects)
    order = np.random.default_rng(3).permutation(n).tolist()
    second = permuted(first, order, range(len(LABELS)))
    found = pair_transects((first, first.transects), (second, second.transects))
    assert found is not None
    assert np.array_equal(found[0].met, found[1].met)
    assert np.array_equal(found[0].readings, found[1].readings)
    fewer = second.at(np.arange(n) != 0)
    found = pair_transects((first, first.transects), (fewer, fewer.transects))
    assert found is not None
    assert len(found[0].transects) == n - 1
    assert np.array_equal(found[0].met, found[1].met)


@pytest.mark.parametrize("why", ["strata", "names", "one", "stratum"])
def test_surveys_without_pairs(why: str) -> None:
    """Other strata, other names, a single pair or a site in another stratum make no pairs."""
    first = invent_table(1, transects=(4, 4))
    second, names = first, first.transects
    if why == "strata":
        second = replace(first, strata=("a", "b"))
    elif why == "names":
        names = tuple(f"x{name}" for name in names)
    elif why == "one":
        names = (*names[:5], *(f"x{name}" for name in names[5:]))
    else:
        second = replace(first, stratum=1 - first.stratum)
    assert pair_transects((first, first.transects), (second, names)) is None
