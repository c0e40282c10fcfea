"""Figures of whole surveys: laws that hold for any, and the same reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import t as student

from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.said_and_true import estimate_said_and_true
from corallum.estimate.survey_figures import (
    ByReadings,
    Correction,
    NoCorrection,
    PlaceFigures,
    Wanted,
    figures_of,
    readings_lacking,
)
from corallum.estimate.survey_table import Grouping, SurveyTable, group_labels
from invented_tables import LABELS, invent_table, permuted

ALL = "all stony coral"
FAMILIES = {"Favites": "Merulinidae", "Goniastrea": "Merulinidae", "Porites": "Poritidae"}


def genera(table: SurveyTable) -> Grouping:
    """Each name a group, and all coral."""
    return group_labels(table.labels, table.is_coral, {})


def figures(
    table: SurveyTable,
    correction: Correction | None = None,
    groups: Grouping | None = None,
    *,
    levels: tuple[str, ...] = ("survey",),
    draws: int = 300,
) -> list[PlaceFigures]:
    """Figures of a table, the same transects resampled whenever it is called."""
    wanted = Wanted(levels, Resampling(draws))
    given = correction or NoCorrection()
    return figures_of(table, groups or genera(table), given, np.random.default_rng(8), wanted)


def corrected(table: SurveyTable, **about: object) -> PlaceFigures:
    """Figures of the survey, corrected by its own second readings."""
    return figures(table, ByReadings(table, 4), **about)[0]  # type: ignore[arg-type]


def by_name(found: PlaceFigures, groups: Grouping) -> dict[str, tuple[float, float]]:
    """Said and corrected of each group."""
    true = found.corrected or found.uncorrected
    pairs = zip(found.uncorrected.value, true.value, strict=True)
    return {name: (float(a), float(b)) for name, (a, b) in zip(groups.names, pairs, strict=True)}


def test_cover_is_the_ratio_of_sums_weighted_by_area() -> None:
    """By hand: in each stratum what was met over what was searched, weighted 3 to 1."""
    table = invent_table()
    (found,) = figures(table)
    for name in ("Acropora", "Porites"):
        k = LABELS.index(name)
        ratio = [
            table.met[table.stratum == h, k].sum() / table.searched[table.stratum == h].sum()
            for h in (0, 1)
        ]
        wanted = (3 * ratio[0] + 1 * ratio[1]) / 4
        group = genera(table).names.index(name)
        assert found.uncorrected.value[group] == pytest.approx(wanted, rel=1e-12)


def test_the_error_of_equal_transects_is_that_of_their_mean() -> None:
    """One stratum of equal tapes: se is that of a mean, by numpy (Cochran 1977, section 2.6)."""
    table = invent_table(3, transects=(9,), weight=(1.0,), searched=100.0)
    (found,) = figures(table)
    for f, name in enumerate(genera(table).names[1:], start=1):
        cover = table.met[:, LABELS.index(name)] / 100.0
        assert found.uncorrected.value[f] == pytest.approx(cover.mean())
        assert found.uncorrected.se[f] == pytest.approx(cover.std(ddof=1) / 3, rel=1e-9)


def test_weights_are_shares() -> None:
    """Areas in another unit change nothing; an area of its own moves the figure towards it."""
    table = invent_table()
    (plain,) = figures(table)
    (scaled,) = figures(replace(table, weight=1e4 * table.weight))
    assert scaled.uncorrected.value == pytest.approx(plain.uncorrected.value)
    assert scaled.uncorrected.se == pytest.approx(plain.uncorrected.se)
    strata = figures(table, levels=("stratum",))
    for share in (0.1, 0.5, 0.9):
        (found,) = figures(replace(table, weight=np.array([share, 1 - share])))
        wanted = share * strata[0].uncorrected.value + (1 - share) * strata[1].uncorrected.value
        assert found.uncorrected.value == pytest.approx(wanted)


def test_a_unit_of_length_cancels() -> None:
    """Cover in metres is cover in centimetres."""
    table = invent_table()
    other = replace(table, met=table.met / 100, searched=table.searched / 100)
    one, two = corrected(table), corrected(other)
    assert one.corrected is not None
    assert two.corrected is not None
    assert two.corrected.value == pytest.approx(one.corrected.value)
    assert two.corrected.se == pytest.approx(one.corrected.se)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_order_of_transects_and_names_does_not_matter(seed: int) -> None:
    """Figures and errors are the same whichever way the table is written."""
    table = invent_table(seed)
    rng = np.random.default_rng(seed)
    other = permuted(
        table, rng.permutation(len(table.transects)).tolist(), rng.permutation(len(LABELS)).tolist()
    )
    one, two = corrected(table), corrected(other)
    first, second = by_name(one, genera(table)), by_name(two, genera(other))
    assert set(first) == set(second)
    for name, pair in first.items():
        assert second[name] == pytest.approx(pair)
    single = [i for i, name in enumerate(genera(table).names) if name != ALL]
    assert one.corrected is not None
    assert two.corrected is not None
    se = dict(zip(genera(table).names, one.corrected.se, strict=True))
    again = dict(zip(genera(other).names, two.corrected.se, strict=True))
    for name in [genera(table).names[i] for i in single]:
        assert again[name] == pytest.approx(se[name])


def test_readings_that_all_agree_change_nothing() -> None:
    """Where every second reading says what was said, corrected is uncorrected."""
    found = corrected(invent_table(5, agree=True))
    assert found.corrected is not None
    assert found.identification is not None
    assert found.corrected.value == pytest.approx(found.uncorrected.value)
    assert found.corrected.se == pytest.approx(found.uncorrected.se)
    assert found.identification == pytest.approx(0.0, abs=1e-9)


def test_coral_taken_for_other_coral_is_still_coral() -> None:
    """All stony coral is the same corrected or not, and names add nothing to its doubt."""
    table = invent_table(2)
    found, groups = corrected(table), genera(table)
    said, true = by_name(found, groups)[ALL]
    assert true == pytest.approx(said)
    assert found.identification is not None
    assert found.identification[groups.names.index(ALL)] == pytest.approx(0.0, abs=1e-9)
    assert by_name(found, groups)["Favites"][1] < by_name(found, groups)["Favites"][0]


def test_families_add_up_to_their_genera() -> None:
    """A family's figure is the sum of its genera's, said and corrected; all are all."""
    table = invent_table(4)
    families = group_labels(table.labels, table.is_coral, FAMILIES)
    one = by_name(corrected(table), genera(table))
    two = by_name(corrected(table, groups=families), families)
    for i in (0, 1):
        assert two["Merulinidae"][i] == pytest.approx(one["Favites"][i] + one["Goniastrea"][i])
        assert two["Poritidae"][i] == pytest.approx(one["Porites"][i])
        assert two[ALL][i] == pytest.approx(one[ALL][i])
        assert sum(two[name][i] for name in two if name != ALL) == pytest.approx(two[ALL][i])


def test_nothing_is_lost_or_made_by_correction() -> None:
    """Over all names, coral or not, corrected shares have the sum of those said."""
    table = replace(invent_table(6), is_coral=np.ones(len(LABELS), np.bool_))
    found = by_name(corrected(table), genera(table))
    names = [name for name in found if name != ALL]
    assert sum(found[name][1] for name in names) == pytest.approx(sum(found[n][0] for n in names))


def test_one_stratum_of_equal_transects_is_said_and_true() -> None:
    """Olofsson et al. 2013: shares by sum W_i n_ij / n_i, as the plain table gives them."""
    table = invent_table(7, transects=(8,), weight=(1.0,), searched=60.0)
    counts = table.readings.sum(axis=0)
    known = estimate_said_and_true(counts, weight=table.met.sum(axis=0))
    found = by_name(corrected(table), genera(table))
    by_hand = table.met.sum(axis=0) / 480 @ (counts / counts.sum(axis=1, keepdims=True))
    for k, name in enumerate(LABELS):
        if name == "sand":
            continue
        assert found[name][1] == pytest.approx(by_hand[k], rel=1e-9)
        assert found[name][1] == pytest.approx(float(known.shares.value[k]), rel=1e-9)


def test_more_second_readings_leave_less_to_names() -> None:
    """Read wholly again, names cause a smaller share of the doubt than read by a tenth."""
    few, all_ = corrected(invent_table(9, read=0.1)), corrected(invent_table(9, read=1.0))
    groups = genera(invent_table(9))
    f = groups.names.index("Favites")
    assert few.identification is not None
    assert all_.identification is not None
    assert few.identification[f] > all_.identification[f]


def test_places_are_surveys_of_their_own() -> None:
    """A stratum's figure is that of its transects alone; so is a site's."""
    table = invent_table()
    found = figures(table, levels=("survey", "stratum", "site"))
    assert [one.level for one in found] == ["survey", *["stratum"] * 2, *["site"] * 4]
    assert [one.place for one in found] == ["survey", "h0", "h1", "s0", "s1", "s2", "s3"]
    for level, of in (("stratum", table.stratum), ("site", table.site)):
        for i, one in enumerate(place for place in found if place.level == level):
            ratio = table.met[of == i].sum(axis=0) / table.searched[of == i].sum()
            wanted = ratio @ genera(table).matrix
            assert one.uncorrected.value == pytest.approx(wanted)
            assert one.transects == (of == i).sum()


def test_one_transect_has_a_figure_and_no_interval() -> None:
    """A site of one transect is given as it is, without an error or a correction."""
    table = invent_table(1, transects=(2, 2))
    found = figures(table, ByReadings(table, 4), levels=("site",))
    assert {one.transects for one in found} == {1}
    for one in found:
        assert one.corrected is None
        assert np.isnan(one.uncorrected.low).all()
        assert np.isfinite(one.uncorrected.value).all()


def test_records_behind_a_figure_are_counted() -> None:
    """Lines of a group are those of its names, of a place those of its transects."""
    table = invent_table()
    found = figures(table, levels=("survey", "site"))
    groups = genera(table)
    f = groups.names.index("Acropora")
    assert found[0].lines[f] == table.lines[:, 0].sum()
    assert sum(one.lines[f] for one in found[1:]) == found[0].lines[f]
    assert found[0].lines[0] == table.lines[:, table.is_coral].sum()


def test_names_that_lack_second_readings_are_named() -> None:
    """A name met ten times and read once lacks readings; one met and read once does not."""
    table = invent_table(1, read=0.5)
    readings, lines = table.readings.copy(), table.lines.copy()
    k = LABELS.index("Favites")
    readings[:, k] = 0
    readings[0, k, k] = 1
    assert readings_lacking(replace(table, readings=readings)) == ("Favites",)
    lines[:, k] = 0
    lines[0, k] = 1
    assert readings_lacking(replace(table, readings=readings, lines=lines)) == ()


def test_the_same_seed_gives_the_same_figures() -> None:
    """Resampling is by the seed alone; another seed moves draws, not the estimate."""
    table = invent_table()
    one, two = corrected(table), corrected(table)
    assert one.draws is not None
    assert two.draws is not None
    assert np.array_equal(one.draws, two.draws)
    other = figures_of(
        table, genera(table), ByReadings(table, 5), np.random.default_rng(9), Wanted(("survey",))
    )[0]
    assert other.corrected is not None
    assert one.corrected is not None
    assert other.corrected.value == pytest.approx(one.corrected.value)


def test_resamples_spread_as_the_error_says() -> None:
    """The spread of 4,000 resamples is the standard error, within 5 %."""
    table = invent_table(2, transects=(12, 10))
    found = corrected(table, draws=4000)
    assert found.draws is not None
    assert found.corrected is not None
    single = slice(1, None)
    assert found.draws.std(axis=0, ddof=1)[single] == pytest.approx(
        found.corrected.se[single], rel=0.08
    )


def test_intervals_widen_with_their_level() -> None:
    """At 50 % an interval is shorter than at 95 %, by about the ratio of Student's t."""
    table = invent_table(2, transects=(12, 10))
    ends = []
    for level in (0.5, 0.95):
        wanted = Wanted(("survey",), Resampling(200, level))
        found = figures_of(table, genera(table), NoCorrection(), np.random.default_rng(1), wanted)[
            0
        ].uncorrected
        ends.append(np.log(found.high / found.low)[1:])
    wanted_ratio = student.ppf(0.975, 20) / student.ppf(0.75, 20)
    assert ends[1] / ends[0] == pytest.approx(wanted_ratio, rel=0.15)
