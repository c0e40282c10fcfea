"""Files that the page for a phone saved: read whole, or refused with every fault."""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from corallum.errors import InputError
from corallum.exchange.colonies import BadColony, read_lines
from corallum.exchange.phone_records import colony_after, read_phone_records
from corallum.records.answer import Verdict
from corallum.records.colony import SizeReport, StateReport
from phone_lines import LOG, OTHER_REFERENCE, line_of, record_of, shown_of

VERDICT = Verdict("open", ("Favites", None), "stony coral indet.", 0.91, "none", "look")


def test_a_record_is_read_as_it_was_kept() -> None:
    """Entries keep their order, moment, doubt, set, method and count; the colony is their sum."""
    record = record_of(shown=[shown_of(VERDICT, 8, OTHER_REFERENCE)])

    found = read_phone_records(line_of(record), "f")[0]

    assert [entry.kind for entry in found.entries] == [one["kind"] for one in LOG]
    assert found.entries[4].value == StateReport(("plocoid", "cerioid"), sure=False)
    assert found.entries[4].at == datetime(2026, 3, 14, 8, 2, tzinfo=UTC)
    assert found.colony.observations == {
        "growth_form": StateReport(("encrusting",)),
        "corallite_arrangement": StateReport(("plocoid", "cerioid"), sure=False),
        "calice_diameter_mm": SizeReport(7.5, 5, "ruler"),
    }
    assert colony_after(found, 4).observations == {"growth_form": StateReport(("massive",))}
    assert found.answers[0].verdict == VERDICT
    assert found.kept == record


def test_a_line_is_a_colony_for_determine() -> None:
    """What reads files of colonies takes a line as a colony, and leaves the record alone."""
    found = next(read_lines([line_of(record_of())], "f"))

    assert not isinstance(found, BadColony)
    assert found.id == "tag 14"


def test_all_faults_of_all_lines_are_told_at_once() -> None:
    """Two bad lines and a repeated one are told together, each with its line."""
    log = copy.deepcopy(list(LOG))
    log[3]["kind"], log[5]["at"] = "guess", "yesterday"
    lines = [line_of(record_of()), line_of(record_of(log)), "{not json\n", line_of(record_of())]

    with pytest.raises(InputError) as refused:
        read_phone_records("".join(lines), "f")

    places = [fault.place for fault in refused.value.faults]
    assert places == [
        "line 2, record, log 4, kind",
        "line 2, record, log 6, at",
        "line 3",
        "line 4",
    ]


def _changed(change: Callable[[dict[str, Any]], object]) -> str:
    """A line of a record that was changed by hand, its colony left as it was."""
    record = record_of(shown=[shown_of(VERDICT, 8, OTHER_REFERENCE)])
    before = line_of(record)
    assert read_phone_records(before, "f")
    change(record)
    return line_of(record)


@pytest.mark.parametrize(
    ("change", "place"),
    [
        (lambda r: r.update(format=2), "record"),
        (lambda r: r.pop("started_at"), "record"),
        (lambda r: r.update(id="ABC"), "id"),
        (lambda r: r.update(started_at="2026-03-14T11:00:00"), "started_at"),
        (lambda r: r["log"][0].pop("at"), "log 1"),
        (lambda r: r["log"][2].update(value="14 March"), "log 3, value"),
        (lambda r: r["log"][6].update(value="yes"), "log 7, value"),
        (lambda r: r["log"][8].update(value=""), "log 9, value"),
        (lambda r: r["log"][8].update(value="x" * 4001), "log 9, value"),
        (lambda r: r["shown"][0].update(upto=99), "shown 1, upto"),
        (lambda r: r["shown"][0].update(upto=True), "shown 1, upto"),
        (lambda r: r["shown"][0].update(reference="abc"), "shown 1, reference"),
        (lambda r: r["shown"][0]["verdict"].update(probability=1.5), "verdict, probability"),
        (lambda r: r["shown"][0]["verdict"].update(status="sure"), "verdict, status"),
        (lambda r: r["shown"][0]["verdict"].update(genera=[]), "verdict, genera"),
        (lambda r: r["shown"][0].pop("limits"), "shown 1"),
    ],
)
def test_each_part_is_checked(change: Callable[[dict[str, Any]], object], place: str) -> None:
    """A part that is missing or is not what it should be is named."""
    text = _changed(change)

    with pytest.raises(InputError) as refused:
        read_phone_records(text, "f")

    assert place in refused.value.faults[0].place


@pytest.mark.parametrize(
    ("key", "value"),
    [("region", "atlantic"), ("observer", "Observer 2"), ("conditions", []),
     ("observations", {"growth_form": "massive"})],
)  # fmt: skip
def test_a_colony_that_its_log_does_not_tell_is_refused(key: str, value: object) -> None:
    """A line whose colony says something else than its log was edited: it is refused."""
    with pytest.raises(InputError, match="the same in the log as beside it"):
        read_phone_records(line_of(record_of(), **{key: value}), "f")


@pytest.mark.parametrize("text", ["", "\n\n", '{"id": "c1"}\n', "[]\n", '{"id":"c","record":3}'])
def test_what_no_phone_saved_is_refused(text: str) -> None:
    """An empty file, and colonies without a record, are refused in words."""
    with pytest.raises(InputError):
        read_phone_records(text, "f")
