"""Lines of slates in words, and how each method's lines are typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from corallum.records.survey import Line, Method

__all__ = ["NOTATION", "line_words", "measured_words", "rows_words"]

# Two lines for each method: what is typed, then an example.
NOTATION: Mapping[Method, tuple[str, str]] = {
    Method.LINE: (
        "Where each intercept ends on the tape, and a name; it begins where the one before "
        "ended. Both ends where something was left out. A growth form may follow a slash.",
        "145 por/massive   or   130-145 porites",
    ),
    Method.POINTS: (
        "A name for each point in its order; x3 for three in a row.",
        "porites   or   sand x3",
    ),
    Method.PHOTO: (
        "A name for each point in its order; x3 for three in a row.",
        "porites   or   sand x3",
    ),
    Method.BELT: (
        "A name, its largest diameter in cm, and how far its centre lies from the tape in cm, "
        "which may be left out. Without any colony: nothing.",
        "acropora 23 40",
    ),
    Method.QUADRAT: (
        "The number of the quadrat, a name, and how many or the diameter in cm. Without any "
        "colony: nothing.",
        "2 acropora x3   or   2 acropora 23",
    ),
    Method.QUADRAT_COVER: (
        "The number of the quadrat, a name, and percent. Without any coral: nothing.",
        "2 acropora 15",
    ),
}


def measured_words(line: Line) -> str:
    """Say where a line is and how large it is."""
    tape = ""
    if line.from_cm is not None:
        tape = f"at {line.from_cm:g} cm"
        if line.to_cm is not None:
            tape = f"{line.from_cm:g} to {line.to_cm:g} cm"
    numbers = (
        ("frame {:g}", line.frame),
        ("point {:g}", line.point),
        ("{:g} cm across", line.diameter_cm),
        ("{:g} cm from the tape", line.off_line_cm),
        ("{:g} colonies", line.count if line.count != 1 else None),
        ("{:g} %", line.cover_percent),
    )
    told = [text.format(value) for text, value in numbers if value is not None]
    mark = f"marked {line.colony}" if line.colony else ""
    return ", ".join(filter(None, [tape, *told, mark]))


def line_words(line: Line) -> str:
    """Say what a line is taken for."""
    form = f", {line.form.replace('_', ' ')}" if line.form else ""
    return f"{line.label}{form}"


def rows_words(lines: Sequence[Line]) -> str:
    """Say what one typed line stands for, where that may be several points."""
    if not lines:
        return "nothing met"
    first, last = lines[0], lines[-1]
    where = measured_words(first)
    if first.point is not None and last.point != first.point:
        where = f"points {first.point} to {last.point}"
    return f"{where}: {line_words(first)}" if where else line_words(first)
