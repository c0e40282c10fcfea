"""What a history says now, as laws over all histories."""

from __future__ import annotations

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from corallum.records.colony import StateReport
from corallum.records.colony_record import Entry, HistoryEntry
from corallum.records.fold import current_entries, entries_in_effect

AT = datetime(2026, 1, 1, tzinfo=UTC)


def change(id_: int, undoes: int | None = None) -> HistoryEntry:
    """One entry of a history."""
    verb = "report" if undoes is None else "undo"
    return HistoryEntry(id_, AT, "p", verb, "c", {}, undoes, "")


@st.composite
def histories(draw: st.DrawFn) -> list[HistoryEntry]:
    """Histories in which each undo names an entry before it that is in effect."""
    found: list[HistoryEntry] = []
    for id_ in range(1, draw(st.integers(1, 25)) + 1):
        standing = sorted(entries_in_effect(found))
        undoes = draw(st.sampled_from([None, *standing]))
        found.append(change(id_, undoes))
    return found


def by_definition(history: list[HistoryEntry], id_: int) -> bool:
    """An entry is in effect unless a later one in effect undoes it: the sentence, as it stands."""
    return not any(
        one.undoes == id_ and by_definition(history, one.id) for one in history if one.id > id_
    )


@given(histories())
def test_in_effect_is_what_no_entry_in_effect_undoes(history: list[HistoryEntry]) -> None:
    """One pass from the newest gives what the definition gives by recursion."""
    wanted = {entry.id for entry in history if by_definition(history, entry.id)}
    assert entries_in_effect(history) == wanted


@given(histories(), st.data())
def test_an_undo_undone_is_as_if_neither_were(
    history: list[HistoryEntry], data: st.DataObject
) -> None:
    """Undo, and undo of that, leave in effect what was before, and the second of the two."""
    before = entries_in_effect(history)
    target = data.draw(st.sampled_from(sorted(before)))
    first = change(len(history) + 1, target)
    second = change(len(history) + 2, first.id)
    assert target not in entries_in_effect([*history, first])
    assert entries_in_effect([*history, first, second]) == before | {second.id}


@given(histories(), st.randoms(use_true_random=False))
def test_the_order_of_reading_does_not_matter(history: list[HistoryEntry], random: object) -> None:
    """A history says the same in whatever order its entries are read."""
    shuffled = list(history)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert entries_in_effect(shuffled) == entries_in_effect(history)


SUBJECTS = st.sampled_from(["growth_form", "columella", "tissue"])
REPORTS = st.none() | st.sampled_from(["a", "b", "c"]).map(lambda state: StateReport((state,)))


@given(st.lists(st.tuples(SUBJECTS, REPORTS, st.booleans()), max_size=20))
def test_the_newest_word_in_effect_stands(
    said: list[tuple[str, StateReport | None, bool]],
) -> None:
    """On each subject stands what was said last of what is in effect; None takes it back."""
    entries = [
        Entry(i, "c", "report", subject, report, "p", AT)
        for i, (subject, report, _) in enumerate(said)
    ]
    effective = frozenset(i for i, (_, _, kept) in enumerate(said) if kept)
    wanted: dict[str, StateReport] = {}
    for subject, report, kept in said:
        if kept:
            wanted.pop(subject, None)
            if report is not None:
                wanted[subject] = report
    found = current_entries(entries, effective)
    assert {subject: entry.report for (_, subject), entry in found.items()} == wanted


def test_notes_stand_beside_each_other() -> None:
    """A second note does not take the place of the first."""
    entries = [Entry(i, "c", "note", "", f"note {i}", "p", AT) for i in (1, 2)]
    found = current_entries(entries, frozenset((1, 2)))
    assert [entry.report for entry in found.values()] == ["note 1", "note 2"]
