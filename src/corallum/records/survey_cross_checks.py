"""Checks that look at all slates of a survey together, and all flags of a survey."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from corallum.records.benthos import GENUS, is_living_coral
from corallum.records.survey import Flag, Method, Slate
from corallum.records.survey_checks import Known, flags_of, make_flag

__all__ = ["check_slates"]

_FEWEST_LINES = 20
# A label said this many times as often as others say it is pointed out.
_UNUSUAL = 5.0


def check_slates(slates: Sequence[Slate], known: Known) -> list[Flag]:
    """Return all flags of a survey's slates, slate by slate, the oldest first."""
    slates = sorted(slates, key=lambda slate: slate.history)
    found = [flag for slate in slates for flag in flags_of(slate, known)]
    across = (_not_qualified(slates, known), _read_twice(slates), _photo_twice(slates),
              _odd_shares(slates))  # fmt: skip
    return [*found, *(flag for flags in across for flag in flags)]


def _not_qualified(slates: Sequence[Slate], known: Known) -> Iterator[Flag]:
    """Genera recorded by somebody who may not record them: once for each of both."""
    on: dict[tuple[str, str], list[int]] = {}
    genera: dict[str, set[str]] = {}
    for slate in slates:
        may = known.qualified.get(slate.observer, ())
        said = {line.label for line in slate.lines if line.kind == GENUS}
        wrong = set() if may is None else said - set(may)
        for label in ("",) if wrong and slate.observer not in known.qualified else sorted(wrong):
            on.setdefault((slate.observer, label), []).append(slate.history)
        genera.setdefault(slate.observer, set()).update(wrong)
    first = {slate.history: slate for slate in slates}
    for (observer, label), numbers in on.items():
        count = f"{len(numbers)} slate{'' if len(numbers) == 1 else 's'}"
        what = label or f"{len(genera[observer])} genera"
        yield make_flag(
            first[numbers[0]],
            None,
            "not_qualified",
            "an observer qualified for what they record",
            f"{what} on {count} by one who is not on that day",
            "Have their records read again, or test the observer.",
        )


def _read_twice(slates: Sequence[Slate]) -> Iterator[Flag]:
    """Transects with several slates: a second pass is not to be counted."""
    seen: dict[str, int] = {}
    for slate in slates:
        first = seen.setdefault(slate.transect, slate.history)
        if first != slate.history:
            yield make_flag(
                slate,
                None,
                "read_twice",
                "one slate a transect",
                f"slate {first} too",
                "If it is a second pass, leave it out.",
            )


def _photo_twice(slates: Sequence[Slate]) -> Iterator[Flag]:
    """One photo as two frames, or on two transects."""
    seen: dict[str, tuple[str, int | None]] = {}
    told: set[tuple[str, int]] = set()
    for slate in slates:
        for number, line in enumerate(slate.lines, start=1):
            if line.photo is None:
                continue
            frame = line.frame if slate.method is Method.PHOTO else None
            place = (slate.transect, frame)
            first = seen.setdefault(line.photo, place)
            if first != place and (line.photo, slate.history) not in told:
                told.add((line.photo, slate.history))
                where = "this transect" if first[0] == slate.transect else "another transect"
                yield make_flag(
                    slate,
                    number,
                    "photo_twice",
                    "each photo once",
                    f"the same photo as {_of_frame(first[1])}on {where}",
                    "Take the copy out.",
                )


def _odd_shares(slates: Sequence[Slate]) -> Iterator[Flag]:
    """A label that one observer says far more often than the others do on the same survey."""
    by: dict[str, Counter[str]] = {}
    newest: dict[str, Slate] = {}
    for slate in slates:
        coral = (line.label for line in slate.lines if is_living_coral(line.kind))
        by.setdefault(slate.observer, Counter()).update(coral)
        newest[slate.observer] = slate
    for observer, counts in by.items():
        others: Counter[str] = Counter()
        for name, other in by.items():
            if name != observer:
                others.update(other)
        n, m = counts.total(), others.total()
        if min(n, m) < _FEWEST_LINES:
            continue
        for label, times in counts.most_common():
            usual = (others[label] + 0.5) / (m + 1)
            if times >= _FEWEST_LINES / 2 and times / n > _UNUSUAL * usual:
                yield make_flag(
                    newest[observer],
                    None,
                    "odd_share",
                    f"{label} on about {usual:.0%} of lines, as others say",
                    f"{times / n:.0%} of this observer's lines",
                    "Have some of them read again.",
                )


def _of_frame(frame: int | None) -> str:
    return "" if frame is None else f"frame {frame} "
