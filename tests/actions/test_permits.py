"""Permits: number, holder and last day; a lead adds them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from corallum.actions.permits import AddPermit, add_permit, list_permits, require_permit
from corallum.errors import ConflictError, InputError, NotAllowedError
from corallum.records.survey import Permit
from corallum.store.verify import verify_folder
from invented import Team

LAST = date(2026, 12, 31)


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here; each adds permits of its own number."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


def add(team: Team, number: str, **about: Any) -> Permit:  # noqa: ANN401  fields of AddPermit
    """Add a permit as the lead."""
    given: dict[str, Any] = {"holder": "Lead", "expires_on": LAST} | about
    return add_permit(team.programme, AddPermit(number, **given), *team.by(team.lead))


def test_a_permit_is_kept_as_it_was_written(team: Team) -> None:
    """Its words may be anything printable; the list is by number."""
    covers = "10 fragments <b>, =1+1; by 'hand'"
    kept = add(team, "B-2", covers=covers, note="first")
    add(team, "B-1")
    assert (kept.number, kept.holder, kept.expires_on) == ("B-2", "Lead", LAST)
    assert (kept.covers, kept.note) == (covers, "first")
    numbers = [one.number for one in list_permits(team.programme)]
    assert numbers == sorted(numbers)
    assert verify_folder(team.programme.folder, lambda _: None).faults == []


@pytest.mark.parametrize(
    ("number", "about", "wanted"),
    [("", {}, "permit number"), ("a\nb", {}, "permit number"), ("x" * 500, {}, "permit number"),
     ("N-1", {"holder": " "}, "holder"), ("N-1", {"expires_on": None}, "Write the last day"),
     ("N-1", {"note": "x" * 100_000}, "note")],
)  # fmt: skip
def test_permits_that_can_not_be(
    team: Team, number: str, about: dict[str, Any], wanted: str
) -> None:
    """Without number, holder or last day there is no permit, and nothing is written."""
    before = list_permits(team.programme)
    with pytest.raises(InputError, match=wanted):
        add(team, number, **about)
    assert list_permits(team.programme) == before


def test_a_number_is_added_once(team: Team) -> None:
    """A second permit of that number is refused."""
    add(team, "D-1")
    with pytest.raises(ConflictError, match="there is a permit 'D-1' already"):
        add(team, "D-1", holder="Other")


def test_only_a_lead_adds(team: Team) -> None:
    """Observers and readers may not."""
    for person in (team.observer, team.reader):
        with pytest.raises(NotAllowedError, match="add permits"):
            add_permit(team.programme, AddPermit("E-1", "x", LAST), *team.by(person))


def test_the_last_day_is_a_good_one(team: Team) -> None:
    """A permit is good up to and on its last day."""
    add(team, "F-1")
    with team.programme.read() as connection:
        assert require_permit(connection, "F-1", LAST).number == "F-1"
        with pytest.raises(InputError, match="one that expired on 2026-12-31"):
            require_permit(connection, "F-1", date(2027, 1, 1))
        with pytest.raises(InputError, match="Add the permit first"):
            require_permit(connection, "F-2", LAST)
