"""What a word on a slate means today: a genus, a family, other cover, or a code of a manual."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from corallum.errors import UnknownNameError
from corallum.records.benthos import (
    GENUS,
    LIFE_FORMS,
    OTHER,
    OTHER_COVER,
    STONY_CORAL,
    UNIDENTIFIED,
    UNREADABLE,
    is_doubted,
)
from corallum.reference.names import nearest_genera, resolve_name
from corallum.reference.reference import Reference

__all__ = ["Said", "SaidResolver", "SplitNameError"]

_CORAL_WORDS = ("stony coral", "hard coral", "coral", "unidentified stony coral",
                "unidentified coral", "scleractinia", "scleractinian")  # fmt: skip
_UNREADABLE_WORDS = ("unreadable", "shadow", "tape", "water", "not clear")
# Marks of doubt; open nomenclature (Sigovini et al. 2016) and common use.
_DOUBT = re.compile(r"\b(cf|aff)(\.|\s)|\?", re.IGNORECASE)
_REMARK = re.compile(r"\(([a-z ]+)\)")
_AFTER = re.compile(r"\s+(sp|spp|indet|stet|inc)\b.*$", re.IGNORECASE)


class SplitNameError(UnknownNameError):
    """An older name that was split: somebody has to say which genus is meant."""


@dataclass(frozen=True, slots=True)
class Said:
    """What a word means.

    ``doubtful`` is whether the genus itself was doubted (cf., aff. or ?); ``older`` is
    the older name that it was given under, or empty.
    """

    label: str
    kind: str
    form: str = ""
    doubtful: bool = False
    older: str = ""


class SaidResolver:
    """Resolves words against a reference.

    Parameters
    ----------
    reference : Reference
        Genera, families and older names.
    regions : tuple of str
        Of the programme: a split is settled by itself where one genus of it lives there.
    meanings : mapping of str to str
        What was answered for words that are not known, or are the names of split genera: each
        a genus, "stony coral", a family or other cover.
    """

    def __init__(
        self,
        reference: Reference,
        regions: tuple[str, ...] = (),
        meanings: Mapping[str, str] | None = None,
    ) -> None:
        self.reference, self.regions = reference, regions
        self.meanings = {_plain(name): what for name, what in (meanings or {}).items()}
        self._known: dict[str, Said] = {}

    @cached_property
    def families(self) -> dict[str, str]:
        """Families of the reference by their names in small letters."""
        found = {genus.family for genus in self.reference.entries.genera.values()}
        return {family.casefold(): family for family in found if family}

    @cached_property
    def genera(self) -> frozenset[str]:
        """All genera of the reference."""
        return frozenset(self.reference.entries.genera)

    @cached_property
    def genera_here(self) -> frozenset[str]:
        """Genera that live in the regions."""
        found = self.reference.entries.genera.items()
        return frozenset(name for name, genus in found if set(genus.regions) & set(self.regions))

    @cached_property
    def choices(self) -> tuple[str, ...]:
        """All that may be written: genera, families and other cover."""
        genera = sorted(self.reference.entries.genera)
        families = sorted(self.families.values())
        return (*genera, STONY_CORAL, *families, *OTHER_COVER, UNREADABLE)

    def resolve(self, text: str) -> Said:
        """Resolve one word.

        Raises
        ------
        SplitNameError
            Where an older name may mean several genera of the programme's regions.
        UnknownNameError
            Where nothing is known by that name, with the nearest.
        """
        if text not in self._known:
            self._known[text] = self._resolve(text.strip())
        return self._known[text]

    def _resolve(self, text: str) -> Said:
        word = _plain(text)
        if word in self.meanings:
            return self._meant(self.meanings[word], "")
        if text in LIFE_FORMS:
            code = LIFE_FORMS[text]
            return Said(code.label, code.kind, code.growth_form)
        return self._cover(word) or self._genus(text)

    def _cover(self, word: str) -> Said | None:
        """Resolve what is no genus, or None."""
        remark = _REMARK.search(word)
        if remark is not None and remark.group(1) in OTHER_COVER:
            # A seaweed may bear the name of a coral: the remark decides.
            return Said(remark.group(1), OTHER)
        if word in _CORAL_WORDS:
            return Said(STONY_CORAL, UNIDENTIFIED)
        if word in OTHER_COVER:
            return Said(word, OTHER)
        if word in _UNREADABLE_WORDS:
            return Said(UNREADABLE, UNREADABLE)
        if word in self.families:
            return Said(self.families[word], UNIDENTIFIED)
        return None

    def _genus(self, text: str) -> Said:
        """Resolve a genus, with or without a species and marks of doubt after it."""
        doubtful = is_doubted(text)
        bare = _AFTER.sub("", _DOUBT.sub(" ", f"{text} ")).strip()
        first = bare.split()[0].capitalize() if bare else ""
        if not first:
            raise UnknownNameError("name", text)
        if _plain(first) in self.meanings:
            meant = self._meant(self.meanings[_plain(first)], first)
            return replace(meant, doubtful=doubtful)
        try:
            resolved = resolve_name(self.reference, first)
        except UnknownNameError:
            nearest = nearest_genera(self.reference, first)
            raise UnknownNameError("name", text, nearest) from None
        entries = self.reference.entries.genera
        here = tuple(
            genus for genus in resolved.genera
            if not self.regions or set(entries[genus].regions) & set(self.regions)
        )  # fmt: skip
        if resolved.current and (resolved.name in here or not here):
            return Said(resolved.name, GENUS, doubtful=doubtful)
        found = here or resolved.genera
        if len(found) > 1:
            raise SplitNameError("genus of today", first, found)
        return Said(found[0], GENUS, doubtful=doubtful, older=first)

    def _meant(self, answer: str, name: str) -> Said:
        """Use what was answered for a word; ``name`` is the genus name that it stands for."""
        cover = self._cover(_plain(answer))
        if cover is not None:
            return replace(cover, older=name)
        if answer not in self.reference.entries.genera:
            raise UnknownNameError("meaning", answer, nearest_genera(self.reference, answer))
        return Said(answer, GENUS, older="" if answer == name else name)


def _plain(text: str) -> str:
    """Return a word in small letters, single blanks between."""
    return " ".join(text.replace("_", " ").casefold().split())
