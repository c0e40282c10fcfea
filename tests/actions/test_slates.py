"""A slate is written once, mended by another, and never altered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest

from corallum.actions.slates import WriteSlate, get_slate, read_lines, write_slate
from corallum.actions.survey_plans import get_survey
from corallum.errors import ConflictError, CorallumError, InputError, NotAllowedError, NotFoundError
from corallum.records.survey import Effort, Slate
from invented import NOW, Team
from invented_surveys import Made, laid_out

TEXT = "350 porites\n1000 sand"


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here; each plans surveys of its own."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


@pytest.fixture
def made(team: Team) -> Made:
    """A survey of line intercepts without slates."""
    return laid_out(team, sites=2, transects=1, areas=(1.0,))


def write(made: Made, lines: Any = TEXT, person: str | None = None, **about: Any) -> Slate:  # noqa: ANN401
    """Write a slate of the first transect."""
    team = made.team
    transect = about.pop("transect", made.view.transects[0].id)
    return write_slate(team.programme, WriteSlate(transect, lines, **about), *team.by(person))


def test_a_slate_comes_back_as_it_was_written(made: Made) -> None:
    """Observer, day, depth, effort, source and lines are kept, with who wrote it and when."""
    team = made.team
    slate = write(made, TEXT, depth_m=5.5, observer=team.second, date=date(2026, 2, 1), note="calm",
                  effort=Effort(length_cm=900))  # fmt: skip
    kept, survey = get_slate(team.programme, slate.history)
    assert (kept, survey) == (slate, made.id)
    assert (kept.observer, kept.person) == (team.second, team.observer)
    assert (kept.date, kept.depth_m, kept.note) == (date(2026, 2, 1), 5.5, "calm")
    assert (kept.effort, kept.source) == (Effort(length_cm=900), "typed")
    assert [(one.label, one.kind, one.from_cm, one.to_cm) for one in kept.lines] == [
        ("Porites", "genus", 0.0, 350.0), ("sand", "other", 350.0, 1000.0),
    ]  # fmt: skip


def test_what_is_not_told_is_as_planned(made: Made) -> None:
    """Effort is the plan's, the observer who writes, the day today."""
    slate = write(made)
    assert (slate.effort, slate.observer) == (Effort(length_cm=1000), made.team.observer)
    assert (slate.date, slate.depth_m) == (NOW.date(), None)


def test_a_tape_always_meets_something(made: Made) -> None:
    """A slate of intercepts without a line is refused, typed or not."""
    for lines in ("", " \n ", "nothing", ()):
        with pytest.raises(InputError, match="expected at least one line, found none"):
            write(made, lines)
    assert made.slates == ()


@pytest.mark.parametrize("method", ["belt", "quadrat", "quadrat_cover"])
def test_nothing_met_is_a_result_of_a_belt(team: Team, method: str) -> None:
    """A belt or quadrats in which nothing was met are one word, and count as searched."""
    made = laid_out(team, "", method, sites=1, areas=(1.0,))
    assert write(made, "nothing").lines == ()
    with pytest.raises(InputError):
        write(made, "", transect=made.view.transects[1].id)


@pytest.mark.parametrize(
    ("about", "wanted"),
    [({"depth_m": -1.0}, "slate, depth: expected 0 to 1000 m, found -1"),
     ({"depth_m": math.nan}, "slate, depth"), ({"depth_m": 5000.0}, "slate, depth"),
     ({"date": date(1900, 1, 1)}, "slate, date"),
     ({"date": NOW.date() + timedelta(days=30)}, "Check the year"),
     ({"effort": Effort(length_cm=0)}, "length cm: expected a number above 0"),
     ({"source": "a\nb"}, "source"), ({"observer": "nobody"}, "nobody")],
)  # fmt: skip
def test_numbers_that_can_not_be(made: Made, about: dict[str, Any], wanted: str) -> None:
    """An impossible depth, day, effort, source or observer is refused, and nothing is written."""
    with pytest.raises(CorallumError, match=wanted):
        write(made, **about)
    assert made.slates == ()


@pytest.mark.parametrize("transect", ["", "x", None, 3])
def test_a_transect_that_is_not_there(made: Made, transect: Any) -> None:  # noqa: ANN401
    """It is said to be so, by writing as by reading lines."""
    with pytest.raises((InputError, NotFoundError)):
        write(made, transect=transect)
    with pytest.raises((InputError, NotFoundError)):
        read_lines(made.team.programme, transect, TEXT)


def test_a_survey_or_a_visit_is_no_transect(made: Made) -> None:
    """Slates are of transects only."""
    parent = made.view.transects[0].parent
    for event in (made.id, parent):
        with pytest.raises((InputError, NotFoundError)):
            write(made, transect=event)


def test_every_fault_of_typed_lines_is_told(made: Made) -> None:
    """Each line that can't be read is told by its number, and nothing is written."""
    with pytest.raises(InputError) as caught:
        write(made, "350 porites\nporites\n400 zzz\n500 por/zzz\n1000 <b>x</b>")
    assert [fault.place for fault in caught.value.faults] == [f"line {n}" for n in (2, 3, 4, 5)]
    assert made.slates == ()


def test_readers_write_nothing(made: Made) -> None:
    """A reader may not write slates."""
    with pytest.raises(NotAllowedError, match="may not write slates"):
        write(made, person=made.team.reader)


def test_one_observer_has_one_slate_of_a_transect(made: Made) -> None:
    """A second one by the same observer is refused; another observer's stands beside it."""
    write(made)
    with pytest.raises(ConflictError, match="has a slate of this transect already"):
        write(made)
    with pytest.raises(ConflictError):
        write(made, observer=made.team.observer, person=made.team.lead)
    write(made, person=made.team.second)
    assert len(made.slates) == 2


def test_a_mended_slate_takes_its_place(made: Made) -> None:
    """The old one no longer stands, is not altered, and can't be mended again."""
    old = write(made)
    new = write(made, "1000 sand", replaces=old.history)
    assert [one.history for one in made.slates] == [new.history]
    assert get_slate(made.team.programme, old.history)[0] == old
    with pytest.raises(ConflictError, match="was mended already"):
        write(made, replaces=old.history)
    other = made.view.transects[1].id
    with pytest.raises(ConflictError, match="is another's"):
        write(made, replaces=new.history, transect=other)


def test_who_may_mend(made: Made) -> None:
    """Its observer, who wrote it, or a lead; nobody else."""
    team = made.team
    old = write(made)
    with pytest.raises(ConflictError, match="only its observer or a lead"):
        write(made, replaces=old.history, person=team.second, observer=team.observer)
    new = write(made, replaces=old.history, person=team.lead, observer=team.observer)
    assert (new.observer, new.person) == (team.observer, team.lead)


@pytest.mark.parametrize("number", [0, -1, 10**30, "x", True, None])
def test_a_slate_that_is_not_there(made: Made, number: Any) -> None:  # noqa: ANN401
    """A number that is no slate's is said to be so."""
    with pytest.raises(NotFoundError):
        get_slate(made.team.programme, number)


def test_hostile_text_is_kept_as_text(made: Made) -> None:
    """Notes of a slate and of a line may hold anything printable, and come back as they are."""
    note = "'; DROP TABLE slate; -- <script>alert(1)</script> =1+1"
    slate = write(made, f"1000 sand # {note}", note=note)
    assert (slate.note, slate.lines[0].note) == (note, note)
    assert get_survey(made.team.programme, made.id).slates[slate.transect] == (slate,)
