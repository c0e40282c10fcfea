"""Second readings are by somebody else; samples go under a permit; both show where they wait."""

from __future__ import annotations

from datetime import timedelta

import pytest

from corallum.actions.colonies import Undo, undo
from corallum.actions.colony_answers import (
    Override,
    SaveDetermination,
    override_determination,
    save_determination,
)
from corallum.actions.colony_lists import ColonyFilter, get_colony, list_colonies
from corallum.actions.permits import AddPermit, add_permit
from corallum.actions.second_opinions import (
    AnswerReading,
    AskReading,
    SendVoucher,
    answer_reading,
    ask_reading,
    list_vouchers,
    send_voucher,
    waiting_readings,
)
from corallum.actions.waiting import waiting_work, weak_spots
from corallum.errors import ConflictError, InputError, NotFoundError, UnknownNameError
from invented import LOOKS, NOW, Team


def permit_of(team: Team, number: str, days: int = 30) -> None:
    """Give the programme an invented permit that is good for so many days from today."""
    command = AddPermit(number, "Lead", NOW.date() + timedelta(days=days))
    add_permit(team.programme, command, *team.by(team.lead))


def test_a_second_reading_is_asked_waits_and_is_answered(team: Team) -> None:
    """It waits until somebody else answers; the answer is an opinion that does not take over."""
    colony = team.colony()
    by_model = save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    asked = ask_reading(team.programme, AskReading(colony.id, "wall?", team.second), *team.by())
    assert [one.history for one, _ in waiting_readings(team.programme)] == [asked.history]
    command = AnswerReading(asked.history, ("Favites", "Goniastrea"), 0.7, "walls shared")
    done = answer_reading(team.programme, command, *team.by(team.second))
    assert done.answer is not None
    assert (done.answer.person, done.answer.genera) == (team.second, ("Favites", "Goniastrea"))
    assert waiting_readings(team.programme) == ()
    record = get_colony(team.programme, colony.id)
    assert record.current == by_model
    assert [one.kind for one in record.determinations] == ["model", "reading"]
    assert record.determinations[1].person == team.second


def test_who_saw_it_first_is_no_second_reader(team: Team) -> None:
    """The colony's own observer can't be asked, and can't answer."""
    colony = team.colony()
    with pytest.raises(ConflictError, match="Observer 1 saw this colony first"):
        ask_reading(team.programme, AskReading(colony.id, of=team.observer), *team.by())
    asked = ask_reading(team.programme, AskReading(colony.id), *team.by())
    command = AnswerReading(asked.history, ("Favites",))
    with pytest.raises(ConflictError, match="Somebody else must read it"):
        answer_reading(team.programme, command, *team.by())


def test_readings_that_can_not_be(team: Team) -> None:
    """One waits at a time, is answered once, by whom it was asked of, with known genera."""
    colony = team.colony()
    with pytest.raises(ConflictError, match="Reader may not read colonies"):
        ask_reading(team.programme, AskReading(colony.id, of=team.reader), *team.by())
    asked = ask_reading(team.programme, AskReading(colony.id, of=team.second), *team.by())
    with pytest.raises(ConflictError, match="waits already"):
        ask_reading(team.programme, AskReading(colony.id), *team.by())
    with pytest.raises(ConflictError, match="asked of somebody else"):
        answer_reading(
            team.programme, AnswerReading(asked.history, ("Favites",)), *team.by(team.lead)
        )
    for genera, error in (((), InputError), (("Coralia",), UnknownNameError)):
        with pytest.raises(error):
            answer_reading(
                team.programme, AnswerReading(asked.history, genera), *team.by(team.second)
            )
    command = AnswerReading(asked.history, ("Favites",))
    answer_reading(team.programme, command, *team.by(team.second))
    with pytest.raises(ConflictError, match="answered already"):
        answer_reading(team.programme, command, *team.by(team.second))
    for number in (0, -1, 10**30, asked.history + 1, "x", True):
        with pytest.raises(NotFoundError):
            answer_reading(
                team.programme,
                AnswerReading(number, ("Favites",)),  # type: ignore[arg-type]
                *team.by(team.second),
            )


def test_a_request_taken_back_waits_no_more(team: Team) -> None:
    """Undone, a request is gone from the list, and can't be answered."""
    colony = team.colony()
    asked = ask_reading(team.programme, AskReading(colony.id), *team.by())
    undo(team.programme, Undo(colony.id), *team.by())
    assert list_colonies(team.programme, ColonyFilter(waits="reading")).total == 0
    command = AnswerReading(asked.history, ("Favites",))
    with pytest.raises(ConflictError, match="was taken back"):
        answer_reading(team.programme, command, *team.by(team.second))


def test_no_sample_without_a_permit(team: Team) -> None:
    """A sample needs the number of a permit; with one it is listed."""
    colony = team.colony()
    for permit in ("", "  "):
        with pytest.raises(InputError, match="Take no sample without one; local rules decide"):
            send_voucher(team.programme, SendVoucher(colony.id, permit), *team.by())
    permit_of(team, "P-2026-7")
    command = SendVoucher(colony.id, " P-2026-7 ", "V1", "the reserve's collection")
    kept = send_voucher(team.programme, command, *team.by())
    assert (kept.permit, kept.label, kept.person) == ("P-2026-7", "V1", team.observer)
    assert [(one.label, row.id) for one, row in list_vouchers(team.programme)] == [
        ("V1", colony.id)
    ]


def test_no_sample_under_a_permit_that_is_not_kept(team: Team) -> None:
    """A number that the programme has no permit of is refused, naming those it has."""
    colony = team.colony()
    command = SendVoucher(colony.id, "P-2026-8")
    with pytest.raises(InputError, match=r"\(none yet\), found 'P-2026-8'. Add the permit first"):
        send_voucher(team.programme, command, *team.by())
    permit_of(team, "P-2026-7")
    with pytest.raises(InputError, match=r"\(P-2026-7\), found 'P-2026-8'"):
        send_voucher(team.programme, command, *team.by())
    assert list_vouchers(team.programme) == ()


@pytest.mark.parametrize(("days", "good"), [(-1, False), (0, True), (1, True)])
def test_no_sample_under_a_permit_that_has_expired(team: Team, days: int, *, good: bool) -> None:
    """A permit is good on its last day and before; after it no sample may be taken."""
    colony = team.colony()
    permit_of(team, "P-1", days)
    command = SendVoucher(colony.id, "P-1", "V1")
    if good:
        assert send_voucher(team.programme, command, *team.by()).label == "V1"
        return
    with pytest.raises(InputError, match=r"expired on 2026-03-13\. Take no sample"):
        send_voucher(team.programme, command, *team.by())
    assert list_vouchers(team.programme) == ()


def test_the_start_page_counts_what_waits(team: Team) -> None:
    """Second readings, today's records and unsettled names are counted as they stand."""
    colonies = [team.colony(seen_on=NOW.date() if i < 3 else None) for i in range(4)]
    for colony in colonies:
        save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    ask_reading(team.programme, AskReading(colonies[1].id), *team.by())
    undo(team.programme, Undo(colonies[3].id, colonies[3].history[0].id), *team.by())
    found = waiting_work(team.programme, NOW)
    assert (found.colonies, found.readings, found.today, found.vouchers) == (3, 1, 3, 0)
    assert [row.id for row in found.reading_rows] == [colonies[1].id]
    assert [(one.colonies, one.unsettled, one.share) for one in found.weak] == [(3, 3, 1.0)]
    command = Override(colonies[0].id, "Favites", "seen again")
    override_determination(team.programme, command, *team.by(team.lead))
    assert waiting_work(team.programme, NOW).weak == ()


def test_weak_spots_are_kept(team: Team) -> None:
    """The second time the same assessment is read, not simulated again."""
    told: list[float] = []
    first = weak_spots(team.programme, "red_sea", NOW, team.rng, told.append)
    assert told[-1] == 1
    told.clear()
    assert weak_spots(team.programme, "red_sea", NOW, team.rng, told.append) == first
    assert told == []
    with pytest.raises(UnknownNameError):
        weak_spots(team.programme, "mars", NOW, team.rng)


def test_evidence_alone_waits_for_nothing(team: Team) -> None:
    """A colony that was only looked at is in no list of what waits."""
    team.colony(LOOKS)
    found = waiting_work(team.programme, NOW)
    assert (found.readings, found.vouchers) == (0, 0)
