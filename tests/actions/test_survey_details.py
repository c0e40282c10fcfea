"""Sizes, diversity, and the records behind a figure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from corallum.actions.survey_details import records_behind, sizes_of
from corallum.actions.survey_diversity import diversity_of
from corallum.errors import CorallumError, InputError, NotFoundError
from invented import Team
from invented_surveys import Made, laid_out, make_survey

ALL = "all stony coral"


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


@pytest.fixture(scope="module")
def lines(team: Team) -> Made:
    """A survey of lines, wholly read again."""
    made = make_survey(team, sites=2)
    made.read_again(1.0)
    return made


@pytest.fixture(scope="module")
def belt(team: Team) -> Made:
    """A belt survey."""
    return make_survey(team, "", "belt")


def test_all_records_of_coral_are_behind_all_coral(team: Team, lines: Made) -> None:
    """Without a group every record is there, in the order written, each once."""
    found = records_behind(team.programme, lines.id, most=10_000)
    assert [(one.slate.history, one.number) for one in found] == sorted(lines.lines)
    assert all(one.line == lines.lines[one.slate.history, one.number] for one in found)
    assert all(one.transect.site == one.site for one in found)


def test_behind_a_genus_is_what_was_said_or_found_to_be_it(team: Team, lines: Made) -> None:
    """Records called Favites, and those that truly are, with the second reading."""
    found = records_behind(team.programme, lines.id, "Favites", most=10_000)
    wanted = {
        record for record, line in lines.lines.items()
        if "Favites" in (line.label, lines.true[record])
    }  # fmt: skip
    assert {(one.slate.history, one.number) for one in found} == wanted
    assert all(one.reading is not None for one in found)


def test_behind_all_coral_is_what_is_coral(team: Team, lines: Made) -> None:
    """Records of living coral, by the first reading or the second; no sand and no rock."""
    found = records_behind(team.programme, lines.id, ALL, most=10_000)
    coral = {record for record, name in lines.true.items() if name not in {"sand", "rock"}}
    assert {(one.slate.history, one.number) for one in found} == coral


def test_behind_a_form_are_its_colonies(team: Team) -> None:
    """By form, records are those of coral that was written so."""
    made = laid_out(team, "", sites=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "100 por/massive\n300 acr/branching\n400 favites\n1000 sand")
    found = records_behind(team.programme, made.id, "massive", by="form")
    assert [one.line.label for one in found] == ["Porites", "Porites"]
    found = records_behind(team.programme, made.id, "no form written", by="form")
    assert [one.line.label for one in found] == ["Favites", "Favites"]


def test_behind_a_family_are_its_genera(team: Team, lines: Made) -> None:
    """Merulinidae are Favites and Goniastrea here (Huang et al. 2014)."""
    found = records_behind(team.programme, lines.id, "Merulinidae", most=10_000)
    assert {one.line.label for one in found} == {"Favites", "Goniastrea"}


def test_records_of_one_site_and_not_too_many(team: Team, lines: Made) -> None:
    """A site's records are its own; a list has an end."""
    site = lines.view.transects[0].site
    found = records_behind(team.programme, lines.id, site=site, most=10_000)
    assert {one.site for one in found} == {site}
    assert len(records_behind(team.programme, lines.id, most=7)) == 7
    assert records_behind(team.programme, lines.id, "Zzz") == ()
    assert records_behind(team.programme, lines.id, site="nowhere") == ()


def test_richness_is_counted(team: Team, lines: Made) -> None:
    """Five genera live in the invented reef, and all were met on 4 transects."""
    found = diversity_of(team.programme, lines.id)
    assert found.observed == (4, 5)
    assert found.curve_of_transects
    assert 0.9 < found.coverage <= 1.0
    assert found.n_unidentified == 0
    assert found.incidence is not None


def test_what_is_not_named_is_no_genus_and_is_counted(team: Team) -> None:
    """Stony coral that nobody named adds no genus, and is told."""
    made = laid_out(team, "", "point_intercept", sites=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "porites x2\nacropora x2\nstony coral x3\nsand x5")
    found = diversity_of(team.programme, made.id)
    assert found.observed == (2, 2)
    assert found.n_unidentified == 6


def test_a_genus_met_once_and_found_to_be_another_is_none(team: Team) -> None:
    """Rechecked, a single Favites that was a Goniastrea takes nothing from Goniastrea."""
    made = laid_out(team, "", "point_intercept", sites=1, areas=(1.0,))
    first, second = made.view.transects
    made.write(first.id, ["Goniastrea"] * 6, "goniastrea x5\nfavites")
    made.write(second.id, ["Goniastrea"] * 4, "goniastrea x4")
    made.read_again(1.0)
    found = diversity_of(team.programme, made.id).richness
    assert (found.singletons, found.looked_at, found.confirmed, found.not_named) == (1, 1, 0, 0)
    # Favites, Goniastrea: all ten records are of the second.
    assert found.counts.tolist() == [0, 10]


def test_no_genus_no_diversity(team: Team) -> None:
    """Sand alone is said to hold nothing to count."""
    made = laid_out(team, "", "point_intercept", sites=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "sand x9")
    with pytest.raises(InputError, match="found none"):
        diversity_of(team.programme, made.id)


def test_sizes_are_those_written(team: Team, belt: Made) -> None:
    """Number, mean and median of diameters are numpy's; a genus has its own."""
    sizes = np.array([line.diameter_cm for line in belt.lines.values()], np.float64)
    found = sizes_of(team.programme, belt.id)
    assert (found.group, found.structure.n) == (ALL, len(sizes))
    assert float(found.structure.mean_cm.value) == pytest.approx(sizes.mean())
    # Half of the colonies are at or below the median, whichever of the two middle ones it is.
    assert (sizes <= found.median.value_cm).mean() == pytest.approx(0.5, abs=0.02)
    own = np.array([
        line.diameter_cm for line in belt.lines.values() if line.label == "Porites"
    ], np.float64)  # fmt: skip
    genus = sizes_of(team.programme, belt.id, "Porites")
    assert (genus.group, genus.structure.n) == ("Porites", len(own))
    assert float(genus.structure.mean_cm.value) == pytest.approx(own.mean())


def test_a_line_of_several_colonies_counts_each(team: Team) -> None:
    """In quadrats three colonies of one size are three colonies."""
    made = laid_out(team, "", "quadrat", sites=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "1 porites 10\n2 acropora 30\n3 porites x3")
    found = sizes_of(team.programme, made.id)
    assert found.structure.n == 4
    assert float(found.structure.mean_cm.value) == pytest.approx(20.0)


def test_no_sizes_without_diameters(team: Team, lines: Made) -> None:
    """A survey of lines holds none, and a genus that was not met neither."""
    with pytest.raises(InputError, match="Write diameters"):
        sizes_of(team.programme, lines.id)
    with pytest.raises(InputError):
        sizes_of(team.programme, lines.id, "Fungia")


@pytest.mark.parametrize("id_", ["", "nowhere", None])
def test_a_survey_that_is_not_there(team: Team, id_: Any) -> None:  # noqa: ANN401
    """It is said to be so, whatever is asked of it."""
    for ask in (records_behind, sizes_of, diversity_of):
        with pytest.raises((InputError, NotFoundError)):
            ask(team.programme, id_)


@pytest.mark.parametrize("group", ["", "a\nb", "x" * 1000])
def test_groups_that_are_no_names(team: Team, lines: Made, group: str) -> None:
    """Blank, long or broken names are refused."""
    with pytest.raises(CorallumError):
        records_behind(team.programme, lines.id, group)
