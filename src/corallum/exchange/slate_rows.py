"""Typed lines of a slate one by one: what each is taken for, and how a slate is mended.

A slate that was imported holds more than can be typed: photos, marks, sizes. Where it is
mended by typing, what belongs to the lines that were left alone is kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from corallum.errors import Fault, InputError
from corallum.exchange.slate_text import read_slate_text, slate_text
from corallum.records.survey import Line, Method
from corallum.reference.said import SaidResolver

__all__ = ["SlateRow", "mend_lines", "read_rows"]

_MOST_ROWS = 5000
_NOTHING = "nothing"
_POINTS = (Method.POINTS, Method.PHOTO)


@dataclass(frozen=True, slots=True)
class SlateRow:
    """One typed line.

    Parameters
    ----------
    number : int
        From 1, blank lines counted.
    text : str
        As typed.
    lines : tuple of Line
        Records that it stands for; several where it says ``x3``.
    fault : Fault or None
        Why it can't be read.
    """

    number: int
    text: str
    lines: tuple[Line, ...]
    fault: Fault | None


def read_rows(text: str, method: Method, resolver: SaidResolver) -> tuple[SlateRow, ...]:
    """Read typed lines one by one, those that can't be read among them.

    Parameters
    ----------
    text : str
        As for `read_slate_text`; blank lines are left out of the result.
    method : Method
        Which numbers are asked for.
    resolver : SaidResolver
        Knows the names.

    Raises
    ------
    InputError
        For more lines than a slate can have.
    """
    if text.strip().casefold() == _NOTHING:
        return (SlateRow(1, text.strip(), (), None),)
    return tuple(_read(_filled(text), method, resolver))


def _filled(text: str) -> list[tuple[int, str]]:
    """Return lines that are not blank, each with its number."""
    typed = text.splitlines()
    if len(typed) > _MOST_ROWS:
        expected = f"at most {_MOST_ROWS} lines"
        raise InputError([Fault("slate", "", expected, str(len(typed)), "Split it.")])
    return [(i, row) for i, row in enumerate(typed, start=1) if row.partition("#")[0].strip()]


def _read(
    typed: Sequence[tuple[int, str]], method: Method, resolver: SaidResolver
) -> Iterator[SlateRow]:
    """Read each line after what the lines before it say of the tape and the points."""
    reach, point = 0.0, 0
    for number, row in typed:
        try:
            lines = _one(row, method, resolver, reach)
        except InputError as error:
            fault = replace(error.faults[0], place=f"line {number}")
            yield SlateRow(number, row, (), fault)
            continue
        if method in _POINTS:
            lines = tuple(replace(one, point=point + i + 1) for i, one in enumerate(lines))
            point += len(lines)
        reach = (lines[-1].to_cm or 0.0) if lines else reach
        yield SlateRow(number, row, lines, None)


def _one(row: str, method: Method, resolver: SaidResolver, reach: float) -> tuple[Line, ...]:
    """Read one line; on a tape it begins where the line before it ended."""
    if row.strip().casefold() == _NOTHING:
        # Alone it says that nothing was met; beside other lines it is no name.
        row += " #"
    if method is not Method.LINE or not reach:
        return read_slate_text(row, method, resolver)
    return read_slate_text(f"{reach:.3f} unreadable\n{row}", method, resolver)[1:]


def mend_lines(
    old: Sequence[Line], text: str, method: Method, resolver: SaidResolver
) -> tuple[Line, ...]:
    """Read the lines of a slate that mends another.

    Parameters
    ----------
    old : sequence of Line
        Of the slate that is mended; ``text`` began as `slate_text` of them.
    text : str
        As it was left.
    method : Method
        Of the slate.
    resolver : SaidResolver
        Knows the names.

    Returns
    -------
    tuple of Line
        Lines that were left alone as they were, with all that can't be typed.

    Raises
    ------
    InputError
        With every fault by line; also where points of photos were added or taken out.
    """
    if text.strip().casefold() == _NOTHING:
        return ()
    typed = _filled(text)
    before = [row.strip() for row in slate_text(old, method).splitlines()] if old else []
    same = _left_alone(before, [row.strip() for _, row in typed])
    faults: list[Fault] = []
    found: list[Line] = []
    for i, (number, row) in enumerate(typed):
        reach = (found[-1].to_cm or 0.0) if found else 0.0
        if i in same:
            found.append(_kept(old[same[i]], before[same[i]], method, reach))
            continue
        try:
            found += _one(row, method, resolver, reach)
        except InputError as error:
            faults.append(replace(error.faults[0], place=f"line {number}"))
    if faults or not found:
        remedy = f"Write what was read, or {_NOTHING}."
        none = [Fault("slate", "", "at least one line", "none", remedy)]
        raise InputError(faults or none)
    return _placed(old, found, method)


def _left_alone(before: Sequence[str], after: Sequence[str]) -> dict[int, int]:
    """Return the old line of each new one that is the same, in order."""
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    return {
        block.b + i: block.a + i for block in matcher.get_matching_blocks()
        for i in range(block.size)
    }  # fmt: skip


def _kept(old: Line, row: str, method: Method, reach: float) -> Line:
    """Return a line that was left alone; without a start of its own it begins where it can."""
    if method is Method.LINE and "-" not in row.split(maxsplit=1)[0]:
        return replace(old, from_cm=reach)
    return old


def _placed(old: Sequence[Line], found: Sequence[Line], method: Method) -> tuple[Line, ...]:
    """Give points their places: on photos those they had, else in their order."""
    if method not in _POINTS:
        return tuple(found)
    if len(found) == len(old):
        return tuple(
            replace(new, frame=was.frame, point=was.point, x=was.x, y=was.y, photo=was.photo)
            for new, was in zip(found, old, strict=True)
        )
    if method is Method.PHOTO and any(one.photo or one.frame for one in old):
        expected = f"{len(old)} points, as lie on the photos"
        remedy = "Write each point once; unreadable is a name too."
        raise InputError([Fault("slate", "", expected, str(len(found)), remedy)])
    return tuple(replace(one, point=i + 1) for i, one in enumerate(found))
