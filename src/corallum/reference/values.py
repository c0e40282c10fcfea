"""What a cell of the reference says: frequency words for states, a range for a size."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from corallum.reference.scheme import Character, Scheme
from corallum.reference.tables import Row

__all__ = ["SizeRange", "StateWords", "Value", "parse_value"]

_RANGE = re.compile(r"(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class StateWords:
    """A frequency word for each state that is not ``never``."""

    words: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SizeRange:
    """The range that holds 95 % of colonies, in the character's unit."""

    low: float
    high: float


Value = StateWords | SizeRange


def parse_value(row: Row, column: str, character: Character, scheme: Scheme) -> Value | None:
    """Read one cell; a fault is kept and None returned where it can't be read."""
    if character.is_size:
        return _parse_range(row, column, character)
    return _parse_words(row, column, character, scheme)


def _parse_range(row: Row, column: str, character: Character) -> SizeRange | None:
    """Read ``low-high``."""
    match = _RANGE.fullmatch(row.text(column))
    if match is None:
        row.fault(column, f"a range such as 4-9 ({character.unit})", "Write low-high with points.")
        return None
    low, high = float(match[1]), float(match[2])
    if not character.least <= low < high <= character.most:
        expected = (
            f"a range that rises, from {character.least:g} to {character.most:g} {character.unit}"
        )
        row.fault(column, expected, "Mend the two numbers.")
        return None
    return SizeRange(low, high)


def _parse_words(row: Row, column: str, character: Character, scheme: Scheme) -> StateWords | None:
    """Read ``word state; word state``."""
    allowed = scheme.report_states(character.id)
    words: dict[str, str] = {}
    for part in row.text(column).split(";"):
        word, _, state = part.strip().partition(" ")
        state = state.strip()
        if word not in scheme.words:
            row.fault(
                column, f"one of {', '.join(scheme.words)} before each state", "Mend the word."
            )
            return None
        if state not in allowed:
            row.fault(column, f"a state out of {', '.join(allowed)}", "Mend the state.")
            return None
        if state in words:
            row.fault(column, f"{state} once", "Keep one of the two.")
            return None
        words[state] = word
    total = sum(scheme.words[word] for word in words.values())
    if not 0.7 <= total <= 1.3:
        row.fault(
            column,
            f"words that add up to about 1 (these add up to {total:.2f})",
            "Weaken or add words.",
        )
        return None
    return StateWords(words)
