"""Reports claim no more than their figures allow."""

from __future__ import annotations

import pytest

from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_changes import ChangeQuestion, change_between
from corallum.actions.survey_findings import SurveyQuestion
from corallum.actions.survey_report import survey_report
from corallum.errors import InputError
from corallum.records.survey import Line
from corallum.report.report import Facts, Notes, Paragraph, Report, Table
from invented import NOW, Team
from invented_surveys import Made, laid_out

_CORAL = "stony coral"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A tape survey: on each transect 2 m of Porites, and 1 m to which no genus was said."""
    team = Team(tmp_path_factory.mktemp("claims") / "p")
    found = laid_out(team, "Spring", transects=2)
    for transect in found.view.transects:
        lines = (
            Line("porites", "Porites", "genus", from_cm=0, to_cm=200, diameter_cm=150),
            Line(_CORAL, _CORAL, "unidentified", from_cm=300, to_cm=400, diameter_cm=80),
        )
        found.write(transect.id, ("Porites", "Porites"), lines)
    found.read_again()
    return found


@pytest.fixture(scope="module")
def report(made: Made) -> Report:
    """Its report."""
    question = SurveyQuestion(made.id, draws=100)
    return survey_report(made.team.programme, question, NOW)


def words_of(report: Report) -> str:
    """Return its sentences and facts."""
    told = []
    for section in report.sections:
        for block in section.blocks:
            if isinstance(block, Paragraph):
                told.append(block.text)
            elif isinstance(block, Notes):
                told += block.items
            elif isinstance(block, Facts):
                told += [f"{label}: {value}" for label, value in block.rows]
    return " ".join(told).replace("\u00a0", " ")


def test_it_says_what_intervals_hold(report: Report) -> None:
    """The level stands beside the first figures, with what the intervals leave out."""
    lead, brackets = report.sections[0].blocks[:2]
    assert isinstance(lead, Paragraph)
    assert isinstance(brackets, Paragraph)
    assert lead.kind == "lead"
    assert "intervals of 95 %" in brackets.text
    assert "and no other error" in brackets.text


def test_none_seen_is_not_none_there(report: Report) -> None:
    """A richness without singletons is no proof that all were met: Chao1 is a lower bound."""
    told = words_of(report)
    assert "does not prove there are none" in told
    assert "the best possible look in the water can tell apart all genera that were met" in told


def test_sizes_along_a_tape_are_no_sizes_of_the_reef(report: Report) -> None:
    """The chance that a tape crosses a colony grows with its width, and the report says so."""
    assert "A tape crosses a large colony more often than a small one" in words_of(report)


def test_coral_without_a_genus_is_shared_out(report: Report) -> None:
    """Where second readings named all of it there is no corrected figure, not a sure 0."""
    tables = [
        block for section in report.sections for block in section.blocks
        if isinstance(block, Table) and block.caption.startswith("Cover by genus")
    ]  # fmt: skip
    rows = {row[0]: row[1:] for row in tables[0].rows}
    assert rows["stony coral, no genus said"][1:3] == ("—", "—")
    assert "shared out among the genera" in words_of(report)


def test_the_command_makes_the_same_report(made: Made) -> None:
    """What counts as a decline is asked again where there is a change."""
    after = laid_out(made.team, "Autumn", transects=2, follows=made.id, same_transects=True)
    for transect in after.view.transects:
        write_slate(
            made.team.programme, WriteSlate(transect.id, "90 porites", depth_m=6.0),
            *made.team.by(),
        )  # fmt: skip
    question = SurveyQuestion(after.id, draws=100, fall=0.35)
    told = words_of(survey_report(made.team.programme, question, NOW))
    assert "--fall 0.35" in told
    assert "A decline: a fall by more than 35 %" in told
    assert "Not the same people" not in told


def test_a_survey_is_not_compared_with_itself(made: Made) -> None:
    """Two samples of the same transects would show an interval where nothing differs."""
    with pytest.raises(InputError, match="another survey, found the same survey twice"):
        change_between(made.team.programme, ChangeQuestion(made.id, made.id))
