"""Make practice sets for a purpose or by hand, write teaching notes, and put them in order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache

import numpy as np

from corallum.actions.colony_lists import get_colony
from corallum.actions.practice_needs import needs_of
from corallum.actions.programme_reference import programme_library, reference_version
from corallum.actions.unit_of_work import (
    Unit,
    check_choice,
    check_id,
    check_line,
    check_notes,
    new_id,
    unit_of_work,
)
from corallum.errors import ConflictError, Fault, InputError, NotAllowedError
from corallum.model.compile import compile_reference
from corallum.model.compiled import CompiledReference
from corallum.practice.item import Item
from corallum.practice.kept import PracticeSet
from corallum.practice.making import Maker, Wish
from corallum.practice.sets import MOST_ITEMS, PURPOSES, SetWish, make_items
from corallum.records.fold import as_colony
from corallum.records.programme import Role
from corallum.reference.genera import REGIONS
from corallum.reference.reference import parse_reference
from corallum.store import practice as store
from corallum.store.history import time_text
from corallum.store.people import change_keyed, insert_keyed, person_of
from corallum.store.programme import Programme
from corallum.store.reference_copy import keep_version, kept_tables
from corallum.store.reference_folder import read_reference_folder
from corallum.store.schema import practice_set

__all__ = [
    "AddDrawnItem",
    "AddPhotoItem",
    "CloseSet",
    "MakeSet",
    "MoveItem",
    "NoteItem",
    "RemoveItem",
    "add_drawn_item",
    "add_photo_item",
    "close_set",
    "compiled_of",
    "get_set",
    "keep_reference",
    "list_sets",
    "make_set",
    "move_item",
    "note_item",
    "remove_item",
]

_SIZE = 12


@dataclass(frozen=True, slots=True)
class MakeSet:
    """A new set; purpose ``by_hand`` begins an empty one, to be filled by hand."""

    title: str
    purpose: str = "common"
    region: str = ""
    size: int = _SIZE
    genera: tuple[str, ...] = ()
    character: str = ""
    made_for: str | None = None
    described: float = 0.0


@dataclass(frozen=True, slots=True)
class AddDrawnItem:
    """One more drawn colony at the end of a set: of a genus, and a form if one is named."""

    practice_set: str
    genus: str
    form: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class AddPhotoItem:
    """One more photo at the end of a set: of a colony whose determination is settled."""

    practice_set: str
    colony: str
    photo: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class NoteItem:
    """A teaching note for one item (counted from 0)."""

    practice_set: str
    item: int
    note: str


@dataclass(frozen=True, slots=True)
class MoveItem:
    """Put one item where another stands."""

    practice_set: str
    item: int
    to: int


@dataclass(frozen=True, slots=True)
class RemoveItem:
    """Take one item out."""

    practice_set: str
    item: int


@dataclass(frozen=True, slots=True)
class CloseSet:
    """Take no more answers to a set, or take them again."""

    practice_set: str
    open: bool = False


def make_set(
    programme: Programme, command: MakeSet, now: datetime, rng: np.random.Generator, person: str
) -> PracticeSet:
    """Make a set: an observer for themselves, a lead for anybody.

    Raises
    ------
    InputError
        With every fault of what was wished.
    """
    title = check_line(command.title, "title")
    purpose = check_choice(command.purpose, "purpose", (*PURPOSES, "by_hand"))
    region = check_choice(command.region or programme.settings.regions[0], "region", REGIONS)
    library = programme_library(programme)
    items: list[Item] = []
    if purpose != "by_hand":
        wish = SetWish(
            purpose, region, command.size, command.genera,
            command.character, described=command.described,
        )  # fmt: skip
        if purpose == "person":
            weights, reasons = needs_of(programme, command.made_for or person, region, now)
            wish = replace(wish, weights=weights, reasons=reasons)
        items = make_items(library.compiled, wish, rng)
    id_ = new_id(rng)
    row = {
        "id": id_, "title": title, "purpose": purpose, "region": region,
        "made_for": command.made_for, "items": store.items_text(items),
        "reference_hash": library.compiled.hash, "made_at": time_text(now), "open": True,
    }  # fmt: skip
    with unit_of_work(programme, person, now, Role.OBSERVER, "make practice sets") as unit:
        keep_reference(programme, unit)
        if command.made_for is not None:
            of = person_of(unit.connection, check_id(command.made_for, "person"))
            if of.id != person and not unit.person.role.covers(Role.LEAD):
                raise NotAllowedError(unit.person.role, "make sets for others", Role.LEAD)
        insert_keyed(unit.connection, unit.act, "make practice set", practice_set, row)
        return store.set_of(unit.connection, id_)


def keep_reference(programme: Programme, unit: Unit) -> None:
    """Keep the tables that items are drawn from, so that they look the same years later."""
    hash_ = programme_library(programme).compiled.hash
    about = (hash_, reference_version(programme), time_text(unit.act.now))
    keep_version(unit.connection, about, read_reference_folder(programme.reference_folder))


def compiled_of(programme: Programme, reference_hash: str) -> CompiledReference:
    """Return the reference that a set's items were drawn from, as it was then."""
    now = programme_library(programme).compiled
    if now.hash == reference_hash:
        return now
    return _compiled(programme, reference_hash)


@lru_cache(maxsize=4)
def _compiled(programme: Programme, reference_hash: str) -> CompiledReference:
    """Compile an older version once."""
    with programme.read() as connection:
        tables = kept_tables(connection, reference_hash)
    return compile_reference(parse_reference(tables))


def get_set(programme: Programme, id_: str) -> PracticeSet:
    """Return one set."""
    with programme.read() as connection:
        return store.set_of(connection, check_id(id_, "practice set"))


def list_sets(programme: Programme, most: int = 200) -> tuple[PracticeSet, ...]:
    """Return the sets, the newest first; those of tests are left out."""
    with programme.read() as connection:
        return tuple(one for one in store.all_sets(connection, most) if one.purpose != "test")


def _change_items(
    programme: Programme,
    id_: str,
    now: datetime,
    person: str,
    verb: str,
    change: object,
) -> PracticeSet:
    """Put other items into a set that nobody has answered yet, or only new notes."""
    with unit_of_work(programme, person, now, Role.LEAD, "edit practice sets") as unit:
        found = store.set_of(unit.connection, check_id(id_, "practice set"))
        items = change(unit, found)  # type: ignore[operator]
        row = {"id": found.id, "items": store.items_text(items)}
        change_keyed(unit.connection, unit.act, verb, practice_set, row)
        return store.set_of(unit.connection, found.id)


def _check_unanswered(unit: Unit, found: PracticeSet) -> None:
    """Refuse to change what answers refer to."""
    if store.all_answers(unit.connection, practice_set_=found.id):
        message = "this set has answers already, so its items stay. Make a new one."
        raise ConflictError(message)


def _item(found: PracticeSet, item: int) -> Item:
    """Return one item of a set."""
    if not 0 <= item < len(found.items):
        expected = f"item 1 to {len(found.items)}"
        raise InputError([Fault(found.title, "item", expected, str(item + 1), "Choose another.")])
    return found.items[item]


def _with_room(found: PracticeSet) -> None:
    """Refuse a set that is full."""
    if len(found.items) >= MOST_ITEMS:
        fault = Fault(found.title, "items", f"at most {MOST_ITEMS}", "more", "Make a second set.")
        raise InputError([fault])


def add_drawn_item(
    programme: Programme,
    command: AddDrawnItem,
    now: datetime,
    rng: np.random.Generator,
    person: str,
) -> PracticeSet:
    """Add a drawn colony to a set.

    Raises
    ------
    InputError
        Where the genus or the form is not of the reference.
    """
    compiled = programme_library(programme).compiled
    genus = check_choice(command.genus, "genus", compiled.genera)
    starts = compiled.genus_starts
    g = compiled.genera.index(genus)
    forms = list(range(int(starts[g]), int(starts[g + 1])))
    if command.form:
        known = tuple(compiled.form_ids[f] for f in forms)
        form = forms[known.index(check_choice(command.form, "form", known))]
    else:
        weight = compiled.form_weight[forms]
        form = int(rng.choice(forms, p=weight / weight.sum()))
    note = check_notes(command.note, "note", empty=True)

    def change(unit: Unit, found: PracticeSet) -> tuple[Item, ...]:
        _check_unanswered(unit, found)
        _with_room(found)
        item = Maker(compiled, found.region).make(Wish(form, "Chosen by hand."), rng)
        return (*found.items, replace(item, note=note))

    id_ = command.practice_set
    return _change_items(programme, id_, now, person, "edit practice set", change)


def add_photo_item(
    programme: Programme,
    command: AddPhotoItem,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> PracticeSet:
    """Add a photo of the programme to a set.

    Raises
    ------
    ConflictError
        Where its colony has no settled determination, or no photo.
    """
    record = get_colony(programme, command.colony)
    if record.current is None or len(record.current.genera) != 1:
        message = f"colony {record.number} is not settled to one genus. Choose another."
        raise ConflictError(message)
    photos = [one.photo.sha256 for one in record.photos]
    if not photos or (command.photo and command.photo not in photos):
        raise ConflictError(f"colony {record.number} has no such photo. Choose another.")
    note = check_notes(command.note, "note", empty=True)
    compiled = programme_library(programme).compiled
    genus = str(record.current.genera[0])
    item = Item(
        kind="photo", genus=genus, form="", region=record.region or programme.settings.regions[0],
        seed=0, shown={}, best={check_choice(genus, "genus", compiled.genera): 0.98},
        photo=command.photo or photos[0], colony=record.id, ruler=False, note=note,
        why="A photo of this programme; chosen by hand.",
        conditions=tuple(as_colony(record).conditions),
    )  # fmt: skip

    def change(unit: Unit, found: PracticeSet) -> tuple[Item, ...]:
        _check_unanswered(unit, found)
        _with_room(found)
        return (*found.items, item)

    id_ = command.practice_set
    return _change_items(programme, id_, now, person, "edit practice set", change)


def note_item(
    programme: Programme,
    command: NoteItem,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> PracticeSet:
    """Write a teaching note for an item; it shows with the worked answer."""
    note = check_notes(command.note, "note", empty=True)

    def change(unit: Unit, found: PracticeSet) -> tuple[Item, ...]:
        del unit
        item = replace(_item(found, command.item), note=note)
        return (*found.items[: command.item], item, *found.items[command.item + 1 :])

    id_ = command.practice_set
    return _change_items(programme, id_, now, person, "note on practice item", change)


def move_item(
    programme: Programme,
    command: MoveItem,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> PracticeSet:
    """Put an item elsewhere in the order."""

    def change(unit: Unit, found: PracticeSet) -> tuple[Item, ...]:
        _check_unanswered(unit, found)
        item = _item(found, command.item)
        _item(found, command.to)
        rest = [*found.items[: command.item], *found.items[command.item + 1 :]]
        return (*rest[: command.to], item, *rest[command.to :])

    id_ = command.practice_set
    return _change_items(programme, id_, now, person, "edit practice set", change)


def remove_item(
    programme: Programme,
    command: RemoveItem,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> PracticeSet:
    """Take an item out of a set."""

    def change(unit: Unit, found: PracticeSet) -> tuple[Item, ...]:
        _check_unanswered(unit, found)
        _item(found, command.item)
        return (*found.items[: command.item], *found.items[command.item + 1 :])

    id_ = command.practice_set
    return _change_items(programme, id_, now, person, "edit practice set", change)


def close_set(
    programme: Programme,
    command: CloseSet,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> PracticeSet:
    """Close a set to answers, or open it again."""
    with unit_of_work(programme, person, now, Role.LEAD, "close practice sets") as unit:
        found = store.set_of(unit.connection, check_id(command.practice_set, "practice set"))
        row = {"id": found.id, "open": command.open}
        change_keyed(unit.connection, unit.act, "close practice set", practice_set, row)
        return store.set_of(unit.connection, found.id)
