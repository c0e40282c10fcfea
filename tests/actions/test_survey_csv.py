"""Figures as CSV: numbers in full, and no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace

import pytest

from corallum.actions.survey_changes import ChangeQuestion, SurveyChange, change_between
from corallum.actions.survey_csv import change_csv, estimate_csv
from corallum.actions.survey_estimates import EstimateQuestion, SurveyEstimate, estimate_survey
from invented import Team
from invented_surveys import laid_out, make_survey

Rows = list[dict[str, str]]


def parsed(text: str) -> Rows:
    """The rows of a CSV."""
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture(scope="module")
def found(
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[tuple[SurveyEstimate, SurveyChange]]:
    """An estimate corrected by readings alone, and a change without correction."""
    team = Team(tmp_path_factory.mktemp("reserve") / "programme")
    read = make_survey(team, "", "point_intercept")
    read.read_again(0.3)
    other = make_survey(team, "", "point_intercept", seed=8)
    estimate = estimate_survey(team.programme, EstimateQuestion(read.id, errors=False, draws=200))
    question = ChangeQuestion(read.id, other.id, errors=False, draws=200)
    yield estimate, change_between(team.programme, question)
    team.programme.close()


def test_an_estimate_is_written_row_by_row(found: tuple[SurveyEstimate, SurveyChange]) -> None:
    """Each group of each place is a row; figures are those of the estimate to ten places."""
    rows = parsed(estimate_csv(found[0]))
    assert len(rows) == len(found[0].rows)
    for text, one in zip(rows, found[0].rows, strict=True):
        assert (text["level"], text["place"], text["group"]) == (one.level, one.name, one.group)
        assert (text["records"], text["unit"]) == (str(one.lines), "%")
        assert float(text["said"]) == pytest.approx(one.said.value, rel=1e-9)
        assert one.by_readings is not None
        assert float(text["by_readings_low"]) == pytest.approx(one.by_readings.low, rel=1e-9)
        assert text["by_errors"] == text["errors_share_of_variance"] == ""


def test_a_change_is_written_row_by_row(found: tuple[SurveyEstimate, SurveyChange]) -> None:
    """Each group is a row; what could not be corrected is blank, not 0."""
    rows = parsed(change_csv(found[1]))
    assert [one["group"] for one in rows] == [one.group for one in found[1].rows]
    for text, one in zip(rows, found[1].rows, strict=True):
        assert float(text["said_change"]) == pytest.approx(one.said.value, rel=1e-8, abs=1e-9)
        assert text["by_readings_change"] == text["by_errors_low"] == ""


def test_no_cell_is_a_formula(found: tuple[SurveyEstimate, SurveyChange]) -> None:
    """A name that begins as a formula is quoted; a negative number stays a number."""
    for start in "=+-@\t":
        name = f"{start}1+1|cmd"
        row = replace(found[0].rows[0], group=name, name=name)
        (text,) = parsed(estimate_csv(replace(found[0], rows=(row,))))
        assert text["group"] == text["place"] == f"'{name}"
    fallen = [one for one in parsed(change_csv(found[1])) if one["said_change"].startswith("-")]
    assert all(float(one["said_change"]) < 0 for one in fallen)


def test_names_with_commas_and_quotes_are_one_cell(
    found: tuple[SurveyEstimate, SurveyChange],
) -> None:
    """They come back as they are."""
    name = 'a, "b"\u00e9'
    row = replace(found[0].rows[0], name=name)
    (text,) = parsed(estimate_csv(replace(found[0], rows=(row,))))
    assert text["place"] == name


def test_what_has_no_interval_is_blank(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A site of one transect has a figure, and blank cells where its interval would be."""
    team = Team(tmp_path_factory.mktemp("alone") / "programme")
    made = laid_out(team, sites=2, transects=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "500 porites\n1000 sand")
    question = EstimateQuestion(made.id, errors=False, levels=("site",), draws=200)
    rows = parsed(estimate_csv(estimate_survey(team.programme, question)))
    team.programme.close()
    assert {one["said"] for one in rows} == {"50"}
    assert {one[f"said_{part}"] for one in rows for part in ("low", "high", "se")} == {""}
