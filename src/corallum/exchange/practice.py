"""Practice sets as JSON files, and what goes to the observers beside them.

The set holds what each item is, so it stays with whoever marks; the observers get the
pictures, the questions and the table to fill in, in which no answer stands.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from corallum.errors import Fault, InputError
from corallum.exchange.sheet import shown
from corallum.model.compiled import CompiledReference
from corallum.model.evidence import read_colony
from corallum.practice.item import Item, item_from_json, item_to_json
from corallum.practice.sets import MOST_ITEMS, PURPOSES
from corallum.records.colony import Colony, SizeReport, StateReport
from corallum.reference.genera import REGIONS

__all__ = [
    "FIRST_COLUMNS",
    "SetFile",
    "empty_answers_csv",
    "picture_name",
    "questions_csv",
    "set_from_text",
    "set_to_text",
]

_KIND, _VERSION = "practice set", 1
_MOST_TITLE = 120
_MOST_DIGITS = 30
# Sets of a programme may have these purposes too.
_PURPOSES = (*PURPOSES, "by_hand", "test")
# Of a table of answers, before the ids of characters.
FIRST_COLUMNS = ("observer", "item", "genera", "confidence", "seconds")
_AGAIN = "Make the set again."


@dataclass(frozen=True, slots=True)
class SetFile:
    """Items in order, what they are for, and the hash of the reference that drew them."""

    title: str
    purpose: str
    region: str
    reference: str
    items: tuple[Item, ...]


def set_to_text(made: SetFile) -> str:
    """Write a set as JSON, one that :func:`set_from_text` reads to the same set."""
    found = {
        "kind": _KIND, "version": _VERSION, "title": made.title, "purpose": made.purpose,
        "region": made.region, "reference": made.reference,
        "items": [item_to_json(item) for item in made.items],
    }  # fmt: skip
    return json.dumps(found, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def set_from_text(text: str, file: str, compiled: CompiledReference) -> SetFile:
    """Read a set.

    Parameters
    ----------
    text : str
        JSON.
    file : str
        What to call the file in a fault.
    compiled : CompiledReference
        Must know every genus, form, character and state of the items. Where its hash is
        another than that of the set, the items are still read.

    Raises
    ------
    InputError
        With every fault, by item and field.
    """
    value = _parse(text, file)
    faults = _head_faults(value, file)
    listed = value.get("items")
    if not isinstance(listed, list) or not 1 <= len(listed) <= MOST_ITEMS:
        found = f"{len(listed)}" if isinstance(listed, list) else shown(listed)
        faults.append(Fault(file, "items", f"a list of 1 to {MOST_ITEMS} items", found, _AGAIN))
        listed = []
    items = []
    for number, one in enumerate(listed, start=1):
        try:
            item = item_from_json(one, file)
        except InputError as error:
            faults += [_placed(fault, file, number) for fault in error.faults]
            continue
        items.append(item)
        faults += _item_faults(item, file, number, compiled)
    if faults:
        raise InputError(faults)
    return SetFile(
        value["title"], value["purpose"], value["region"], value["reference"], tuple(items)
    )


def _parse(text: str, file: str) -> dict[str, Any]:
    """Read JSON that says it is a set."""
    try:
        text = text.removeprefix("\ufeff")
        value = json.loads(text, parse_constant=_refuse, parse_int=_whole)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        fault = Fault(file, place, "a practice set as JSON", error.msg, _AGAIN)
        raise InputError([fault]) from error
    except (ValueError, RecursionError) as error:
        found = "brackets nested too deep" if isinstance(error, RecursionError) else str(error)
        raise InputError([Fault(file, "", "a practice set as JSON", found, _AGAIN)]) from error
    if not isinstance(value, dict) or value.get("kind") != _KIND:
        expected = 'a practice set, "kind": "practice set"'
        remedy = "Name the set.json that corallum practice make wrote."
        raise InputError([Fault(file, "", expected, shown(value), remedy)])
    if value.get("version") != _VERSION:
        found, remedy = shown(value.get("version")), "Use the program that wrote it."
        raise InputError([Fault(file, "version", f"version {_VERSION}", found, remedy)])
    return value


def _refuse(name: str) -> float:
    """Refuse NaN and Infinity, which are no JSON."""
    raise ValueError(f"{name}, which is no number")


def _whole(digits: str) -> int:
    """Read a whole number that a seed may be; longer ones would not fit anything."""
    if len(digits) > _MOST_DIGITS:
        raise ValueError(f"a number of {len(digits)} digits")
    return int(digits)


def _head_faults(value: dict[str, Any], file: str) -> list[Fault]:
    """Find what is wrong with everything but the items."""
    title, reference = value.get("title"), value.get("reference")
    faults = []
    if not isinstance(title, str) or not title.isprintable() or not 0 < len(title) <= _MOST_TITLE:
        expected = f"1 to {_MOST_TITLE} characters on one line"
        faults.append(Fault(file, "title", expected, shown(title), "Mend it."))
    for name, allowed in (("purpose", _PURPOSES), ("region", REGIONS)):
        if value.get(name) not in allowed:
            expected, found = f"one of {', '.join(allowed)}", shown(value.get(name))
            faults.append(Fault(file, name, expected, found, "Use one of these."))
    if not isinstance(reference, str):
        faults.append(Fault(file, "reference", "a text", shown(reference), _AGAIN))
    return faults


def _placed(fault: Fault, file: str, number: int) -> Fault:
    """Say of which item a fault is."""
    place = f"item {number}, {fault.place}" if fault.place else f"item {number}"
    return Fault(file, place, fault.expected, fault.found, fault.remedy)


def _item_faults(item: Item, file: str, number: int, compiled: CompiledReference) -> list[Fault]:
    """Find what the reference does not know of an item."""
    faults = []
    remedy = "Use the reference that drew the set, or make it again."
    if item.genus not in compiled.genera:
        faults.append(Fault("", "genus", "a genus of the reference", shown(item.genus), remedy))
    elif item.form and item.form not in _forms(compiled, item.genus):
        expected = f"a form of {item.genus}"
        faults.append(Fault("", "form", expected, shown(item.form), remedy))
    if item.seed < 0:
        faults.append(Fault("", "seed", "0 or more", str(item.seed), _AGAIN))
    if item.region not in REGIONS:
        expected = f"one of {', '.join(REGIONS)}"
        faults.append(Fault("", "region", expected, shown(item.region), "Use one of these."))
    seen = {
        id_: StateReport((value,)) if isinstance(value, str) else SizeReport(value)
        for id_, value in item.shown.items()
    }
    try:
        read_colony(compiled, Colony("item", seen, None, None, item.conditions))
    except InputError as error:
        faults += error.faults
    return [_placed(fault, file, number) for fault in faults]


def _forms(compiled: CompiledReference, genus: str) -> tuple[str, ...]:
    """Forms of a genus."""
    starts = [*compiled.genus_starts.tolist(), compiled.n_forms]
    g = compiled.genera.index(genus)
    return tuple(compiled.form_ids[starts[g] : starts[g + 1]])


def picture_name(number: int) -> str:
    """Return the file name of an item's picture; items count from 1."""
    return f"item-{number:03d}.jpg"


def questions_csv(items: Sequence[Item]) -> str:
    """Write what observers are told of each item, and nothing else.

    The columns are item, picture, region, conditions, ruler, practises, and told.
    """
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["item", "picture", "region", "conditions", "ruler", "practises", "told"])
    for number, item in enumerate(items, start=1):
        picture = picture_name(number) if item.kind == "rendered" else ""
        told = "; ".join(f"{id_}: {item.shown[id_]}" for id_ in item.told if id_ in item.shown)
        ruler = "" if not picture else "yes" if item.ruler else "no"
        table.writerow(
            [number, picture, item.region, "|".join(item.conditions), ruler, item.ask, told]
        )
    return out.getvalue()


def empty_answers_csv(items: Sequence[Item], compiled: CompiledReference) -> str:
    """Write a table to fill in: a row an item, a column for each character that pictures show."""
    shown = {id_ for item in items for id_ in item.pictured}
    ids = [*compiled.character_index, *(view.id for view in compiled.views)]
    header = [*FIRST_COLUMNS, *(id_ for id_ in dict.fromkeys(ids) if id_ in shown)]
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\n")
    table.writerow(header)
    for number in range(1, len(items) + 1):
        table.writerow(["", number, *[""] * (len(header) - 2)])
    return out.getvalue()
