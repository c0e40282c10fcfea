"""Practice as people do it: who may, what is refused, what is kept, and what comes of it."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest

from corallum.actions.colony_answers import answer_colony
from corallum.actions.colony_lists import get_colony
from corallum.actions.observer_errors import UseOwnErrors, learn_observers, use_own_errors
from corallum.actions.practice_answers import (
    AnswerItem,
    answer_item,
    answers_of,
    course_of,
    worked_item,
)
from corallum.actions.practice_needs import memories_of, rank_needs
from corallum.actions.practice_sets import (
    AddDrawnItem,
    AddPhotoItem,
    CloseSet,
    MakeSet,
    MoveItem,
    NoteItem,
    RemoveItem,
    add_drawn_item,
    add_photo_item,
    close_set,
    get_set,
    list_sets,
    make_set,
    move_item,
    note_item,
    remove_item,
)
from corallum.actions.programme_reference import programme_determiner, programme_library
from corallum.errors import (
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
    UnknownNameError,
)
from corallum.model.prior import genus_prior
from corallum.observers.own_errors import errors_hash
from corallum.practice.kept import KeptAnswer, PracticeSet
from corallum.practice.marking import mark_answer
from corallum.records.answer import Answer
from corallum.records.fold import as_colony
from corallum.store.practice import errors_text
from corallum.store.verify import verify_folder
from invented import NOW, Team

REGION = "red_sea"
WALL = "corallite_arrangement"


def made(team: Team, size: int = 3, **about: object) -> PracticeSet:
    """A set by the first observer."""
    command = MakeSet("Invented set", size=size, **about)  # type: ignore[arg-type]
    return make_set(team.programme, command, *team.by())


def say(
    team: Team,
    found: PracticeSet,
    item: int,
    genera: tuple[str, ...] | None = None,
    by: str | None = None,
    **about: object,
) -> KeptAnswer:
    """An answer, right unless other genera are named."""
    named = (found.items[item].genus,) if genera is None else genera
    reports: Mapping[str, object] = about.pop("reports", {})  # type: ignore[assignment]
    command = AnswerItem(found.id, item, named, 0.8, reports, **about)  # type: ignore[arg-type]
    return answer_item(team.programme, command, *team.by(by))


def faults(team: Team) -> list[str]:
    """What verify finds."""
    return [str(fault) for fault in verify_folder(team.programme.folder, lambda _: None).faults]


def test_a_set_is_made_answered_and_explained(team: Team) -> None:
    """Answers are kept with their mark, the course goes on to the next, the worked item agrees."""
    found = made(team)
    shown = found.items[0].shown
    first = say(team, found, 0, reports={id_: shown[id_] for id_ in list(shown)[:3]}, seconds=21.5)
    second = say(team, found, 1, ("Favites", "Porites"))
    course = course_of(team.programme, found.id, team.observer)
    assert (course.next, dict(course.answers)) == (2, {0: first, 1: second})
    assert answers_of(team.programme, team.observer) == (first, second)
    assert (first.answer.seconds, first.right, first.person) == (21.5, True, team.observer)
    compiled = programme_library(team.programme).compiled
    for kept in (first, second):
        item = found.items[kept.item]
        mark = mark_answer(compiled, item, kept.answer, genus_prior(compiled, REGION))
        assert (kept.score, kept.right) == (mark.score, mark.right)
        assert worked_item(team.programme, item, kept, "unknown").mark == mark
    say(team, found, 2)
    assert course_of(team.programme, found.id, team.observer).next is None
    assert course_of(team.programme, found.id, team.second).next == 0


def test_a_reader_may_do_none_of_it(team: Team) -> None:
    """Sets and answers need an observer; editing and closing need a lead."""
    found = made(team)
    by = team.by(team.reader)
    with pytest.raises(NotAllowedError, match="may not make practice sets"):
        make_set(team.programme, MakeSet("Mine", size=1), *by)
    with pytest.raises(NotAllowedError, match="may not answer practice items"):
        say(team, found, 0, by=team.reader)
    for person in (team.reader, team.observer):
        by = team.by(person)
        with pytest.raises(NotAllowedError, match="may not edit practice sets"):
            remove_item(team.programme, RemoveItem(found.id, 0), *by)
        with pytest.raises(NotAllowedError, match="may not edit practice sets"):
            note_item(team.programme, NoteItem(found.id, 0, "Look again."), *by)
        with pytest.raises(NotAllowedError, match="may not close practice sets"):
            close_set(team.programme, CloseSet(found.id), *by)


def test_only_a_lead_makes_a_set_for_somebody_else(team: Team) -> None:
    """An observer makes sets for themselves, or for anybody who wants them."""
    assert made(team, 1, made_for=team.observer).made_for == team.observer
    with pytest.raises(NotAllowedError):
        made(team, 1, made_for=team.second)
    command = MakeSet("For you", size=1, made_for=team.second)
    assert make_set(team.programme, command, *team.by(team.lead)).made_for == team.second
    command = replace(command, made_for="0" * 12)
    with pytest.raises(NotFoundError):
        make_set(team.programme, command, *team.by(team.lead))


def test_an_item_is_answered_once_by_each(team: Team) -> None:
    """A second answer of the same person is refused, somebody else's is not."""
    found = made(team)
    say(team, found, 0, ("Porites",))
    with pytest.raises(ConflictError, match="answered already"):
        say(team, found, 0)
    say(team, found, 0, by=team.second)
    with pytest.raises(NotFoundError, match="practice item"):
        say(team, found, 3, ("Porites",))
    with pytest.raises(NotFoundError, match="practice item"):
        say(team, found, -1, ("Porites",))


def test_a_closed_set_takes_no_answers(team: Team) -> None:
    """Closed by a lead it is, until it is opened again."""
    found = made(team)
    assert not close_set(team.programme, CloseSet(found.id), *team.by(team.lead)).open
    with pytest.raises(ConflictError, match="this set is closed"):
        say(team, found, 0)
    close_set(team.programme, CloseSet(found.id, open=True), *team.by(team.lead))
    assert say(team, found, 0).right


def test_a_lead_enters_a_paper_sheet(team: Team) -> None:
    """The answer is the other's; the first observer may not enter it."""
    found = made(team)
    with pytest.raises(NotAllowedError, match="may not enter the answers of others"):
        say(team, found, 0, of=team.second)
    kept = say(team, found, 0, by=team.lead, of=team.second)
    assert kept.person == team.second
    assert answers_of(team.programme, team.lead) == ()
    assert answers_of(team.programme, team.second) == (kept,)
    with pytest.raises(ConflictError, match="answered already"):
        say(team, found, 0, by=team.second)
    with pytest.raises(NotFoundError):
        say(team, found, 1, by=team.lead, of="0" * 12)


@pytest.mark.parametrize(
    ("about", "error"),
    [
        ({"genera": ("Coralia",)}, UnknownNameError),
        ({"genera": tuple(f"Genus {i}" for i in range(11))}, InputError),
        ({"reports": {"columella": "blue"}}, InputError),
        ({"reports": {"aura": "bright"}}, InputError),
        ({"reports": {"calice_diameter_mm": {"value": 1e9}}}, InputError),
        ({"seconds": -1.0}, InputError),
        ({"confidence": 1.5}, InputError),
        ({"confidence": float("nan")}, InputError),
    ],
)
def test_answers_that_can_not_be(team: Team, about: dict[str, object], error: type) -> None:
    """Unknown genera and states, and numbers out of range, are refused; nothing is kept."""
    found = made(team, 1)
    command = AnswerItem(found.id, 0, ("Favites",), 0.8)
    with pytest.raises(error):
        answer_item(team.programme, replace(command, **about), *team.by())  # type: ignore[arg-type]
    assert answers_of(team.programme, team.observer) == ()


def test_a_lead_puts_a_set_together_by_hand(team: Team) -> None:
    """Items are added, moved, noted and taken out, in the order that results."""
    found = made(team, 0, purpose="by_hand")
    assert found.items == ()
    for genus in ("Favites", "Porites", "Acropora"):
        command = AddDrawnItem(found.id, genus, note=f"Look at {genus}.")
        found = add_drawn_item(team.programme, command, *team.by(team.lead))
    found = move_item(team.programme, MoveItem(found.id, 2, 0), *team.by(team.lead))
    assert [item.genus for item in found.items] == ["Acropora", "Favites", "Porites"]
    found = remove_item(team.programme, RemoveItem(found.id, 1), *team.by(team.lead))
    found = note_item(team.programme, NoteItem(found.id, 1, "Snow?"), *team.by(team.lead))
    assert [(item.genus, item.note) for item in found.items] == [
        ("Acropora", "Look at Acropora."), ("Porites", "Snow?"),
    ]  # fmt: skip
    assert get_set(team.programme, found.id) == found
    assert list_sets(team.programme) == (found,)


def test_a_set_that_was_answered_keeps_its_items(team: Team) -> None:
    """After the first answer only notes may change."""
    found = made(team)
    say(team, found, 0)
    by = team.by(team.lead)
    refused = pytest.raises(ConflictError, match="has answers already, so its items stay")
    with refused:
        remove_item(team.programme, RemoveItem(found.id, 1), *by)
    with refused:
        move_item(team.programme, MoveItem(found.id, 1, 0), *by)
    with refused:
        add_drawn_item(team.programme, AddDrawnItem(found.id, "Favites"), *by)
    noted = note_item(team.programme, NoteItem(found.id, 1, "Mind the wall."), *by)
    assert noted.items[1] == replace(found.items[1], note="Mind the wall.")
    assert [item for i, item in enumerate(noted.items) if i != 1] == [
        item for i, item in enumerate(found.items) if i != 1
    ]


def test_items_that_can_not_be_added_or_changed(team: Team) -> None:
    """Unknown genera, forms and places, and colonies without a settled name, are refused."""
    found, by = made(team), team.by(team.lead)
    for command in (AddDrawnItem(found.id, "Coralia"), AddDrawnItem(found.id, "Favites", "blue")):
        with pytest.raises(InputError):
            add_drawn_item(team.programme, command, *by)
    with pytest.raises(InputError, match="expected item 1 to 3, found 4"):
        note_item(team.programme, NoteItem(found.id, 3, "x"), *by)
    with pytest.raises(InputError, match="expected item 1 to 3"):
        move_item(team.programme, MoveItem(found.id, 0, 9), *by)
    with pytest.raises(ConflictError, match="is not settled to one genus"):
        add_photo_item(team.programme, AddPhotoItem(found.id, team.colony().id), *by)
    with pytest.raises(NotFoundError):
        get_set(team.programme, "0" * 12)
    assert get_set(team.programme, found.id) == found


def test_what_is_due_comes_first_the_next_day(team: Team) -> None:
    """A genus missed is due again soon; a set for this person then holds due genera alone."""
    found = made(team, 6)
    for i in range(6):
        say(team, found, i, ("Porites",) if i < 2 and found.items[i].genus != "Porites" else None)
    later = NOW + timedelta(days=1)
    memories = memories_of(team.programme, team.observer)
    due = {genus for genus, memory in memories.items() if memory.due <= later}
    assert due
    ranked = rank_needs(team.programme, team.observer, REGION, later)
    assert {one.genus for one in ranked[: len(due)]} == due
    assert all(one.reason == "due again" for one in ranked[: len(due)])
    assert all(one.due is None or one.due > later for one in ranked[len(due) :])
    gone = {one.genus: (one.answers, one.right) for one in ranked if one.answers}
    assert sum(answers for answers, _ in gone.values()) == 6
    command = MakeSet("Mine", "person", size=8, made_for=team.observer)
    mine = make_set(team.programme, command, later, team.rng, team.observer)
    assert {item.genus for item in mine.items} <= due
    assert all(item.why.startswith("Due again.") for item in mine.items)
    nothing = rank_needs(team.programme, team.second, REGION, later)
    assert all(one.due is None and one.answers == 0 for one in nothing)


def test_nothing_is_known_of_who_did_not_practise(team: Team) -> None:
    """Own errors need answers."""
    with pytest.raises(ConflictError, match="Let them practise"):
        use_own_errors(team.programme, UseOwnErrors(team.observer), *team.by(team.lead))


def take_plocoid_for_cerioid(team: Team, size: int, wall: str) -> None:
    """Answers of the first observer who calls every wall as said, widths half as large again."""
    found = made(team, size, purpose="character", character=WALL, described=1.0)
    for i, item in enumerate(found.items):
        reports: dict[str, object] = {WALL: wall} if WALL in item.shown else {}
        width = item.shown.get("calice_diameter_mm")
        if isinstance(width, float):
            reports["calice_diameter_mm"] = {"value": round(1.5 * width, 2), "method": "eye"}
        say(team, found, i, reports=reports)


def same_answer(one: Answer, other: Answer) -> bool:
    """Whether two answers give every genus the same chance."""
    return [(c.genus, c.probability) for c in one.candidates] == [
        (c.genus, c.probability) for c in other.candidates
    ]


def test_own_errors_are_used_and_stay_as_they_were_kept(team: Team) -> None:
    """Answers to colonies follow the kept errors, not answers given later, until kept again."""
    colony = team.colony({WALL: "cerioid", "calice_diameter_mm": 9.0})
    plain = answer_colony(team.programme, colony.id)
    take_plocoid_for_cerioid(team, 24, "cerioid")
    assert same_answer(answer_colony(team.programme, colony.id), plain)
    with pytest.raises(NotAllowedError, match="may not say whose errors apply"):
        use_own_errors(team.programme, UseOwnErrors(team.observer), *team.by())
    known = learn_observers(team.programme, REGION)[team.observer]
    assert (known.answers, known.right) == (24, 24)
    assert known.errors.eye.bias > 0.15
    person = use_own_errors(team.programme, UseOwnErrors(team.observer), *team.by(team.lead))
    own = answer_colony(team.programme, colony.id)
    assert not same_answer(own, plain)
    with team.programme.read() as connection:
        text = errors_text(connection, person.errors.removeprefix("own:"))
    assert errors_hash(text).startswith(person.errors.removeprefix("own:"))
    take_plocoid_for_cerioid(team, 12, "plocoid")
    assert same_answer(answer_colony(team.programme, colony.id), own)
    newer = use_own_errors(team.programme, UseOwnErrors(team.observer), *team.by(team.lead))
    assert newer.errors != person.errors
    assert not same_answer(answer_colony(team.programme, colony.id), own)
    kept = programme_determiner(team.programme, person.errors)
    assert same_answer(kept.determine(as_colony(get_colony(team.programme, colony.id))), own)
    team.programme.close()
    assert faults(team) == []


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE practice_answer SET score = 1 - score / 2",
        'UPDATE practice_answer SET "right" = NOT "right"',
        "UPDATE practice_answer SET answer = replace(answer, '0.8', '0.9')",
        "DELETE FROM practice_answer",
    ],
)
def test_an_altered_answer_is_found(team: Team, change: str) -> None:
    """A practice answer that was changed behind the program's back is a fault."""
    found = made(team, 1)
    say(team, found, 0)
    team.programme.close()
    assert faults(team) == []
    with closing(sqlite3.connect(team.programme.folder / "corallum.db")) as database:
        database.execute(change)
        database.commit()
    assert len(faults(team)) >= 1
