"""What looks wrong is flagged, waits for a lead, and what is left out counts no more."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from corallum.actions.practice_answers import AnswerItem, answer_item
from corallum.actions.qualifications import BeginTest, begin_test, standing
from corallum.actions.record_readings import DrawReadings, draw_readings, reading_state
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_details import records_behind
from corallum.actions.survey_flags import AnswerFlag, FlagLine, answer_flag, flags_of_survey
from corallum.actions.survey_tables import survey_data
from corallum.errors import CorallumError, InputError, NotAllowedError, NotFoundError
from corallum.observers.fixed_length import Aim
from corallum.records.survey import Decision
from invented import NOW, Team
from invented_surveys import Made, laid_out

GOOD = "300 porites\n600 acropora\n1000 sand"


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here; each plans surveys of its own."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


def flags(made: Made) -> list[FlagLine]:
    """Flags of a survey, without those that observers were not tested."""
    found = flags_of_survey(made.team.programme, made.id)
    return [one for one in found if one.flag.rule != "not_qualified"]


def surveyed(team: Team, text: str, method: str = "line_intercept", **about: Any) -> Made:  # noqa: ANN401
    """A survey of two transects, the first with a text, the second sound."""
    made = laid_out(team, "", method, sites=1, areas=(1.0,))
    first, second = made.view.transects
    made.write(first.id, [], text, **about)
    if method == "line_intercept":
        made.write(second.id, [], GOOD)
    return made


def answer(made: Made, one: FlagLine, decision: str, note: str = "seen on the photo") -> None:
    """Decide on a flag as the lead."""
    command = AnswerFlag(one.flag.slate, one.flag.line, one.flag.rule, decision, note)
    answer_flag(made.team.programme, command, *made.team.by(made.team.lead))


@pytest.mark.parametrize(
    ("text", "rule", "line"),
    [("300 porites\n600-200 acropora\n1000 sand", "tape_backwards", 2),
     ("300 porites\n200-600 acropora\n1000 sand", "tape_overlaps", 2),
     ("300 porites\n1200 acropora", "beyond_tape", 2)],
)  # fmt: skip
def test_tapes_that_can_not_be_are_flagged(team: Team, text: str, rule: str, line: int) -> None:
    """A tape backwards, intercepts that overlap and one beyond the end are flagged by line."""
    found = flags(surveyed(team, text))
    assert (rule, line) in [(one.flag.rule, one.flag.line) for one in found]
    assert all(one.answer is None for one in found)
    assert all(part for one in found for part in (one.flag.expected, one.flag.remedy))


def test_a_sound_slate_has_no_flag(team: Team) -> None:
    """Nothing is flagged on a tape that runs from 0 to its end."""
    assert flags(surveyed(team, GOOD)) == []


def test_sizes_off_the_belt_are_flagged(team: Team) -> None:
    """A colony of 20 m, and one whose centre lies outside the belt, are flagged."""
    found = flags(surveyed(team, "porites 2000\nporites 20 90\nporites 20 10", "belt"))
    assert {(one.flag.rule, one.flag.line) for one in found} >= {
        ("odd_size", 1), ("outside_belt", 2),
    }  # fmt: skip
    assert all(one.flag.line != 3 for one in found)


def test_observers_without_practice_are_flagged(team: Team) -> None:
    """Who has passed no test may record no genus: each genus of the slate says so."""
    made = surveyed(team, GOOD)
    found = flags_of_survey(team.programme, made.id)
    said = {one.flag.rule for one in found}
    assert said == {"not_qualified"}


@pytest.mark.parametrize(("days", "good"), [(30, True), (31, False)])
def test_a_pass_that_ran_out_before_the_last_dive_is_flagged(
    tmp_path: Path, days: int, *, good: bool
) -> None:
    """Passed for 30 days, an observer may record on the thirtieth, and not a day later."""
    team = Team(tmp_path / "programme")
    # A short test: .95 passes and .60 fails, one error in five.
    command = BeginTest(team.observer, aim=Aim(0.95, 0.60, 0.2, 0.2), days=30)
    test = begin_test(team.programme, command, *team.by(team.lead))
    now, items = standing(team.programme, test)
    for item in range(now.right_to_pass):
        answer = AnswerItem(test.practice_set, item, (items.items[item].genus,), 0.9)
        answer_item(team.programme, answer, *team.by())
    made = laid_out(team, sites=1, areas=(1.0,))
    for transect, later in zip(made.view.transects, (0, days), strict=True):
        at = NOW + timedelta(days=later)
        slate = WriteSlate(transect.id, GOOD, date=at.date())
        write_slate(team.programme, slate, at, team.rng, team.observer)
    found = {one.flag.rule for one in flags_of_survey(team.programme, made.id)}
    team.programme.close()
    assert ("not_qualified" not in found) == good


def test_what_is_left_out_counts_in_no_figure(team: Team) -> None:
    """Its cover, its records and its readings are gone; taken back, they are there again."""
    made = surveyed(team, "300 porites\n200-600 acropora\n1000 sand")
    (flag,) = flags(made)
    made.draw()
    before = survey_data(team.programme, made.id).table
    column = before.labels.index("Acropora")
    assert before.met[:, column].sum() == 400 + 300
    answer(made, flag, "left_out")
    after = survey_data(team.programme, made.id).table
    assert after.met[:, after.labels.index("Acropora")].sum() == 300
    key = (flag.flag.slate, flag.flag.line)
    behind = records_behind(team.programme, made.id)
    assert key not in [(one.slate.history, one.number) for one in behind]
    assert key not in reading_state(team.programme, made.id).lines
    answer(made, flag, "stands")
    again = survey_data(team.programme, made.id).table
    assert (again.met == before.met).all()
    assert key in reading_state(team.programme, made.id).lines


def test_what_is_left_out_is_not_drawn(team: Team) -> None:
    """No second reader is asked for a record that counts no more."""
    made = surveyed(team, "300 porites\n200-600 acropora\n1000 sand")
    (flag,) = flags(made)
    answer(made, flag, "left_out")
    drawn = draw_readings(team.programme, DrawReadings(made.id, 1.0), *team.by(team.lead))
    assert (flag.flag.slate, flag.flag.line) not in drawn.records
    assert len(drawn.records) == 5


def test_a_whole_slate_can_be_left_out(team: Team) -> None:
    """A transect whose slate is left out was not read."""
    made = laid_out(team, "", sites=1, transects=3, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], GOOD)
    slate = made.slates[0]
    command = AnswerFlag(slate.history, None, "odd_depth", "left_out", "the wrong site")
    answer_flag(team.programme, command, *team.by(team.lead))
    table = survey_data(team.programme, made.id).table
    assert slate.transect not in table.transects
    assert len(table.transects) == 2


def test_answers_are_kept_with_who_decided(team: Team) -> None:
    """The newest answer counts; flags that wait come first."""
    made = surveyed(team, "300 porites\n200-600 acropora\n1200 sand")
    first, second = flags(made)
    answer(made, first, "left_out", "a slip")
    answer(made, first, "stands", "looked again")
    found = flags(made)
    assert [one.flag for one in found] == [second.flag, first.flag]
    kept = found[1].answer
    assert kept is not None
    assert (kept.decision, kept.note, kept.person) == (
        Decision.STANDS, "looked again", team.lead,
    )  # fmt: skip


def test_a_mended_slate_has_flags_of_its_own(team: Team) -> None:
    """Mended, the old slate's flags are gone with it."""
    made = surveyed(team, "300 porites\n200-600 acropora\n1000 sand")
    (flag,) = flags(made)
    command = WriteSlate(flag.slate.transect, GOOD, replaces=flag.slate.history)
    write_slate(team.programme, command, *team.by())
    assert flags(made) == []


@pytest.mark.parametrize(
    ("about", "error"),
    [({"decision": "perhaps"}, InputError), ({"rule": "<b>"}, InputError),
     ({"line": 99}, InputError), ({"line": 0}, InputError), ({"note": ""}, InputError),
     ({"note": "x" * 100_000}, InputError), ({"slate": 10**9}, NotFoundError),
     ({"slate": "x"}, NotFoundError)],
)  # fmt: skip
def test_decisions_that_can_not_be(
    team: Team, about: dict[str, Any], error: type[CorallumError]
) -> None:
    """An unknown slate, line, rule or decision, or a line left out without a reason, is refused."""
    made = surveyed(team, "300 porites\n200-600 acropora\n1000 sand")
    (flag,) = flags(made)
    given: dict[str, Any] = {"slate": flag.flag.slate, "line": 2, "rule": "tape_overlaps",
             "decision": "left_out", "note": "why"} | about  # fmt: skip
    with pytest.raises(error):
        answer_flag(team.programme, AnswerFlag(**given), *team.by(team.lead))
    assert flags(made) == [flag]


def test_only_a_lead_decides(team: Team) -> None:
    """Observers and readers may not."""
    made = surveyed(team, "300 porites\n200-600 acropora\n1000 sand")
    (flag,) = flags(made)
    command = AnswerFlag(flag.flag.slate, flag.flag.line, flag.flag.rule, "stands")
    for person in (team.observer, team.reader):
        with pytest.raises(NotAllowedError, match="decide on flags"):
            answer_flag(team.programme, command, *team.by(person))


def test_a_survey_that_is_not_there_has_no_flags(team: Team) -> None:
    """It is said to be so."""
    with pytest.raises((InputError, NotFoundError)):
        flags_of_survey(team.programme, "nowhere")
