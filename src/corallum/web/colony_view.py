"""A colony's record and its answer, as the colony page shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from corallum.actions.people import list_people
from corallum.actions.places import list_sites
from corallum.actions.reading_consensus import report_readings
from corallum.records.answer import Answer, Fragile
from corallum.records.colony import SizeReport, StateReport
from corallum.records.colony_record import ColonyRecord, Entry, HistoryEntry
from corallum.reference.genera import REGIONS
from corallum.web import words
from corallum.web.answers import Answers
from corallum.web.characters import Shown, drawing_url, scheme_groups, scheme_shown
from corallum.web.visit import Visit

__all__ = ["colony_context", "look_context", "seen_items"]

_ODDS = 6
_LOOKS = 6
_FRAGILE = 6
# Bits below which a look is not worth showing once three stand there.
_LEAST_BITS = 0.02
_FIRST = 3
_LEAST = 0.005
_WHY_WIDE = 20.0


@dataclass(frozen=True, slots=True)
class Seen:
    """One piece of evidence in the running list."""

    character: Shown
    text: str
    drawings: tuple[tuple[str, str], ...]
    sure: bool
    who: str
    entry: Entry
    photo: str


@dataclass(frozen=True, slots=True)
class Weight:
    """One side of the balance: decibans, and where its bar begins and how wide it is."""

    label: str
    value: float
    start: float
    width: float


def colony_context(visit: Visit, record: ColonyRecord) -> dict[str, Any]:
    """Gather what the colony page shows."""
    library = visit.library
    people = {person.id: person for person in list_people(visit.programme)}
    sites = list_sites(visit.programme)
    answers: Answers = visit.request.app.state.answers
    without = visit.request.query_params.get("errors") == "unknown"
    answer = answers.of(record, "unknown" if without else "")
    observer = people.get(record.observer or "")
    return {
        "colony": record,
        "people": people,
        "own_errors": observer.name if observer and observer.errors.startswith("own:") else "",
        "without_own": without,
        "readers_say": _readers_say(visit, record),
        "sites": sites,
        "site": next((site for site in sites if site.id == record.site), None),
        "regions": REGIONS,
        "seen": seen_items(visit, record),
        "groups": scheme_groups(library),
        "conditions": library.compiled.conditions,
        "hidden": tuple(library.compiled.hidden),
        "undoable": _undoable(record, visit.person.id),
        "look": None,
        "problem": answer if isinstance(answer, str) else "",
        **(
            _answer_context(visit, record, answer)
            if isinstance(answer, Answer)
            else {"answer": None}
        ),
    }


def seen_items(visit: Visit, record: ColonyRecord) -> list[Seen]:
    """List the evidence, newest first; what the reference no longer knows is left to the answer."""
    shown = scheme_shown(visit.library)
    people = {person.id: person.name for person in list_people(visit.programme)}
    measured = {item.history: item.photo for item in record.measurements}
    items = []
    for id_, entry in sorted(record.reports.items(), key=lambda pair: -pair[1].history):
        character, report = shown.get(id_), entry.report
        if character is None or not isinstance(report, StateReport | SizeReport):
            continue
        labels = character.labels
        states = report.states if isinstance(report, StateReport) else ("",)
        pictures = tuple((drawing_url(id_, state), labels.get(state, "")) for state in states[:3])
        items.append(
            Seen(
                character, words.report_words(report, character.unit, labels), pictures,
                report.sure, people.get(entry.person, ""), entry,
                measured.get(entry.measurement or 0, ""),
            )
        )  # fmt: skip
    return items


def look_context(visit: Visit, record: ColonyRecord, character: Shown) -> dict[str, Any]:
    """Gather what the chooser of one character shows."""
    entry = record.reports.get(character.id)
    report = entry.report if entry else None
    several = visit.request.query_params.get("several") == "1"
    states = report.states if isinstance(report, StateReport) else ()
    return {
        "colony": record,
        "look": character,
        "report": report,
        "chosen": states,
        "several": several or len(states) > 1,
        "size": report if isinstance(report, SizeReport) else None,
        "photos": record.photos,
    }


def _undoable(record: ColonyRecord, person: str) -> HistoryEntry | None:
    """Return what undo would take back."""
    for entry in reversed(record.history):
        own = entry.person == person and entry.verb not in ("start", "undo")
        if own and entry.id in record.in_effect:
            return entry
    return None


def _readers_say(visit: Visit, record: ColonyRecord) -> tuple[str, float] | None:
    """Return what all readers of a colony together say, where it was read again."""
    if not any(reading.answer is not None for reading in record.readings):
        return None
    return report_readings(visit.programme).best.get(record.id)


def _answer_context(visit: Visit, record: ColonyRecord, answer: Answer) -> dict[str, Any]:
    """Turn an answer into what is drawn and said."""
    shown = scheme_shown(visit.library)
    top = answer.candidates[0]
    nothing = answer.why is None or not answer.why.decibans
    most = _ODDS if record.reports else _FIRST
    odds = [one for one in answer.candidates[:most] if one.probability >= _LEAST]
    rest = 1.0 - sum(one.probability for one in odds)
    return {
        "answer": answer,
        "sentence": words.verdict_sentence(answer.verdict),
        "strip": words.short_verdict(answer.verdict, top.genus, top.probability),
        "odds": odds,
        "rest": rest if rest >= _LEAST else 0.0,
        "looks": [
            (shown[look.character], words.gain_phrase(look.gain_bits), look.gain_bits,
             words.seconds_phrase(look.seconds))
            for i, look in enumerate(answer.next_looks[:_LOOKS])
            if look.character in shown and (i < _FIRST or look.gain_bits >= _LEAST_BITS)
        ],
        "fragile": [
            (shown[item.character], words.change_phrase(item), item.probability)
            for item in _spread(answer)[:_FRAGILE] if item.character in shown
        ],
        "fragile_more": max(0, len(answer.fragile) - _FRAGILE),
        "weights": [] if nothing else _weights(answer),
    }  # fmt: skip


def _spread(answer: Answer) -> list[Fragile]:
    """List what is fragile, one change of each character before a second one."""
    first: list[Fragile] = []
    later: list[Fragile] = []
    met: set[str] = set()
    for item in answer.fragile:
        (later if item.character in met else first).append(item)
        met.add(item.character)
    return first + later


def _weights(answer: Answer) -> list[Weight]:
    """Turn the reasons into bars left and right of a middle at 50."""
    why = answer.why
    if why is None:
        return []
    rows = [
        (" + ".join(words.label(id_) for id_ in (entry.character, *entry.with_)), entry.value)
        for entry in why.decibans
    ]
    rows += [("how the forms fit", why.form), ("how common in the region", why.prior)]
    rows.sort(key=lambda row: -abs(row[1]))
    wide = max(_WHY_WIDE, *(abs(value) for _, value in rows))
    return [
        Weight(name, value, 50.0 + min(0.0, value) / wide * 50.0, abs(value) / wide * 50.0)
        for name, value in rows
        if abs(value) >= 0.05
    ]
