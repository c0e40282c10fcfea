"""Lines of a slate as they are typed: one record a line, as short as a slate itself.

A name may be cut short where only one begins so. Before or after it stand the numbers
that the method asks for; a growth form may follow after a slash.

line_intercept    end of the intercept on the tape, name:       ``145 por/massive``
                  or both ends where something was left out:    ``130-145 porites``
point_intercept   name, or how many points in a row:            ``por`` or ``por x3``
belt              name, diameter in cm, distance from the tape:  ``acr 23 40``
quadrat           number of the quadrat, name, count or size:   ``2 acr x3`` or ``2 acr 23``
quadrat_cover     number of the quadrat, name, percent:         ``2 acr 15``
photo_points      name of each point in its order               ``por``

A belt or quadrats without any colony are one word: ``nothing``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from corallum.errors import Fault, InputError, UnknownNameError
from corallum.exchange.sheet import shown
from corallum.records.benthos import LIFE_FORMS
from corallum.records.survey import Line, Method
from corallum.reference.said import SaidResolver

__all__ = ["find_name", "read_slate_text", "slate_text"]

_NUMBER = r"\d{1,6}(?:\.\d{1,3})?"
_SHAPES = {
    Method.LINE: re.compile(rf"(?:(?P<start>{_NUMBER})\s*-\s*)?(?P<end>{_NUMBER})\s+(?P<name>.+)"),
    Method.POINTS: re.compile(r"(?P<name>.+?)(?:\s+x\s*(?P<times>\d{1,3}))?"),
    Method.PHOTO: re.compile(r"(?P<name>.+?)(?:\s+x\s*(?P<times>\d{1,3}))?"),
    Method.BELT: re.compile(
        rf"(?P<name>[^\d]+?)(?:\s+(?P<size>{_NUMBER}))?(?:\s+(?P<off>-?{_NUMBER}))?"
    ),
    Method.QUADRAT: re.compile(
        rf"(?P<frame>\d{{1,4}})\s+(?P<name>[^\d]+?)"
        rf"(?:\s+(?:x\s*(?P<times>\d{{1,4}})|(?P<size>{_NUMBER})))?"
    ),
    Method.QUADRAT_COVER: re.compile(
        rf"(?P<frame>\d{{1,4}})\s+(?P<name>[^\d]+?)\s+(?P<percent>{_NUMBER})\s*%?"
    ),
}
_WANTED = {
    Method.LINE: "a tape reading and a name, as in 145 porites",
    Method.POINTS: "a name, as in porites or porites x3",
    Method.PHOTO: "a name, as in porites or porites x3",
    Method.BELT: "a name and a diameter in cm, as in acropora 23",
    Method.QUADRAT: "a quadrat, a name, and a count or a diameter in cm, as in 2 acropora x3",
    Method.QUADRAT_COVER: "a quadrat, a name, and percent, as in 2 acropora 15",
}
_MOST_LINES, _MOST_NOTE = 5000, 200
_NOTHING = "nothing"


def find_name(resolver: SaidResolver, text: str) -> str:
    """Return the full name of one that may be cut short.

    Raises
    ------
    UnknownNameError
        Where several names begin so, naming some.
    """
    word = " ".join(text.split())
    if word in LIFE_FORMS:
        return word
    start = word.casefold()
    found = [one for one in resolver.choices if one.casefold().startswith(start)]
    exact = [one for one in found if one.casefold() == start]
    if exact or not found:
        return exact[0] if exact else word
    # A genus goes before its family, and one that lives here before one that does not.
    for better in (resolver.genera_here, resolver.genera):
        if any(one in better for one in found):
            found = [one for one in found if one in better]
            break
    if len(found) > 1:
        raise UnknownNameError("short name", word, tuple(found[:5]))
    return found[0]


def read_slate_text(text: str, method: Method, resolver: SaidResolver) -> tuple[Line, ...]:
    """Read the lines of one slate.

    Parameters
    ----------
    text : str
        One record a line; blank lines are left out, and what follows a # is a note.
    method : Method
        Which numbers are asked for.
    resolver : SaidResolver
        Knows the names.

    Returns
    -------
    tuple of Line
        In the order typed; line intercepts begin where the one before ended.

    Raises
    ------
    InputError
        With every fault by line.
    """
    if text.strip().casefold() == _NOTHING:
        return ()
    faults: list[Fault] = []
    lines: list[Line] = []
    rows = text.splitlines()
    if len(rows) > _MOST_LINES:
        raise InputError([_fault("", f"at most {_MOST_LINES} lines", str(len(rows)), "Split it.")])
    reach = 0.0
    for number, row in enumerate(rows, start=1):
        said, _, note = row.partition("#")
        if not said.strip():
            continue
        match = _SHAPES[method].fullmatch(said.strip())
        if match is None or _counts_nought(match) or not row.isprintable():
            faults.append(_fault(f"line {number}", _WANTED[method], shown(row), "Mend it."))
            continue
        try:
            found = _lines(match, method, resolver, reach, len(lines))
        except UnknownNameError as error:
            faults.append(_fault(f"line {number}", "a known name", str(error), "Mend it."))
            continue
        lines += [replace(one, note=note.strip()[:_MOST_NOTE].rstrip()) for one in found]
        reach = found[-1].to_cm or 0.0
    if faults:
        raise InputError(faults)
    return tuple(lines)


def _counts_nought(match: re.Match[str]) -> bool:
    """Whether a line is of quadrat 0, or stands for no colony or point at all."""
    given = match.groupdict()
    return any(int(given.get(name) or 1) == 0 for name in ("frame", "times"))


def _lines(
    match: re.Match[str], method: Method, resolver: SaidResolver, reach: float, before: int
) -> list[Line]:
    """Turn one line into records."""
    given = match.groupdict()
    written, _, form = given["name"].partition("/")
    name = find_name(resolver, written.strip())
    said = resolver.resolve(name)
    line = Line(name, said.label, said.kind, _form(form) or said.form)
    times = int(given.get("times") or 1)
    if method is Method.LINE:
        start = float(given["start"]) if given["start"] else reach
        return [replace(line, from_cm=start, to_cm=float(given["end"]))]
    if method in (Method.POINTS, Method.PHOTO):
        return [replace(line, point=before + i + 1) for i in range(times)]
    size = float(given["size"]) if given.get("size") else None
    if method is Method.BELT:
        off = float(given["off"]) if given.get("off") else None
        return [replace(line, diameter_cm=size, off_line_cm=off)]
    percent = float(given["percent"]) if given.get("percent") else None
    return [
        replace(line, frame=int(given["frame"]), count=times, diameter_cm=size,
                cover_percent=percent)
    ]  # fmt: skip


_FORMS = ("massive", "submassive", "encrusting", "laminar", "foliaceous", "tabular", "columnar",
          "digitate", "branching", "solitary", "free_living")  # fmt: skip


def _form(text: str) -> str:
    """Return the growth form that a text begins."""
    start = text.strip().replace(" ", "_").casefold()
    if not start:
        return ""
    found = [form for form in _FORMS if form.startswith(start)]
    if len(found) != 1:
        raise UnknownNameError("growth form", text.strip(), tuple(found) or _FORMS)
    return found[0]


def slate_text(lines: Sequence[Line], method: Method) -> str:
    """Write lines as they could be typed again."""
    if not lines:
        return _NOTHING
    return "\n".join(_typed(lines, method))


def _typed(lines: Iterable[Line], method: Method) -> Iterable[str]:
    """Each line as typed."""
    reach = 0.0
    for line in lines:
        name = line.said if line.form in ("", line.said) else f"{line.said}/{line.form}"
        note = f" # {line.note}" if line.note else ""
        if method is Method.LINE:
            start, end = line.from_cm or 0.0, line.to_cm or 0.0
            ends = _number(end) if start == reach else f"{_number(start)}-{_number(end)}"
            reach = end
            yield f"{ends} {name}{note}"
        elif method is Method.BELT:
            yield f"{name}{_size_and_place(line)}{note}"
        elif method in (Method.QUADRAT, Method.QUADRAT_COVER):
            yield f"{line.frame or 1} {name}{_measure(line)}{note}"
        else:
            yield f"{name}{note}"


def _number(value: float) -> str:
    """Write a number as it can be typed: no exponent, thousandths at most."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _size_and_place(line: Line) -> str:
    """What was measured of a colony in a belt, as typed.

    A distance without a diameter can only be typed where its sign tells it from one.
    """
    size, off = line.diameter_cm, line.off_line_cm
    parts = [] if size is None else [_number(size)]
    if off is not None and (parts or _number(off).startswith("-")):
        parts.append(_number(off))
    return "".join(f" {part}" for part in parts)


def _measure(line: Line) -> str:
    """What was measured of a line in a quadrat, as typed."""
    if line.cover_percent is not None:
        return f" {_number(line.cover_percent)}"
    if line.diameter_cm is not None:
        return f" {_number(line.diameter_cm)}"
    return f" x{line.count}" if line.count != 1 else ""


def _fault(place: str, expected: str, found: str, remedy: str) -> Fault:
    return Fault("slate", place, expected, found, remedy)
