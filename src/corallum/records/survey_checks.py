"""Checks of slates: each finds what looks wrong, line by line, and refuses nothing.

A flag waits until somebody says that the line stands, leaves it out, or mends the slate.
Limits are of the trade (common practice, no source) where no source is named.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from corallum.records.benthos import GENUS, is_doubted
from corallum.records.survey import Flag, Line, Method, Slate, SurveyPlan

__all__ = ["RULES", "Known", "flags_of", "make_flag"]

_DEEP_M = 60.0
# A colony larger than this is rarer than a slip of the pen.
_MOST_DIAMETER_CM = 600.0
_SLACK_CM = 0.5


@dataclass(frozen=True, slots=True)
class Known:
    """What the checks go by besides the slates.

    Parameters
    ----------
    plan : SurveyPlan
        Of the survey.
    sites : mapping of str to str
        Site of each transect.
    regions : mapping of str to tuple of str
        Of each genus; empty where not known.
    depths_m : mapping of str to (float, float)
        Usual depths of each genus.
    sizes_cm : mapping of str to float
        Largest usual diameter of colonies of each genus.
    site_regions : mapping of str to str
        Region of each site.
    qualified : mapping of str to tuple of str or None
        Genera that each observer may record on the day; None is all. An observer who is not
        in it may record no genus.
    photos : frozenset of str
        Those that are in the programme.
    """

    plan: SurveyPlan
    sites: Mapping[str, str] = field(default_factory=dict)
    regions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    depths_m: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    sizes_cm: Mapping[str, float] = field(default_factory=dict)
    site_regions: Mapping[str, str] = field(default_factory=dict)
    qualified: Mapping[str, tuple[str, ...] | None] = field(default_factory=dict)
    photos: frozenset[str] = frozenset()


Rule = Callable[[Slate, Known], Iterator[Flag]]


def make_flag(
    slate: Slate, line: int | None, rule: str, expected: str, found: str, remedy: str
) -> Flag:
    """Return a flag of a slate, or of one of its lines."""
    return Flag(slate.history, line, rule, expected, found, remedy)


def _numbered(slate: Slate) -> Iterator[tuple[int, Line]]:
    return enumerate(slate.lines, start=1)


def tape_backwards(slate: Slate, known: Known) -> Iterator[Flag]:  # noqa: ARG001
    """An intercept that ends before it begins, or has no length."""
    if slate.method is not Method.LINE:
        return
    for number, line in _numbered(slate):
        if line.from_cm is None or line.to_cm is None or line.to_cm > line.from_cm:
            continue
        what = "has no length" if line.to_cm == line.from_cm else "runs backwards"
        found = f"{line.from_cm:g} to {line.to_cm:g} cm, which {what}"
        yield make_flag(
            slate,
            number,
            "tape_backwards",
            "a larger reading at its end",
            found,
            "Look at the slate; it counts as 0 cm until mended.",
        )


def tape_overlaps(slate: Slate, known: Known) -> Iterator[Flag]:  # noqa: ARG001
    """Intercepts that share a part of the tape."""
    if slate.method is not Method.LINE:
        return
    reach, before = 0.0, 0
    found = [
        (line.from_cm, line.to_cm, number)
        for number, line in _numbered(slate)
        if line.from_cm is not None and line.to_cm is not None and line.to_cm > line.from_cm
    ]
    for start, end, number in sorted(found):
        if before and start < reach - _SLACK_CM:
            yield make_flag(
                slate,
                number,
                "tape_overlaps",
                f"{reach:g} cm or more, where line {before} ends",
                f"{start:g} cm",
                "Read both again on the slate.",
            )
        if end > reach:
            reach, before = end, number


def beyond_tape(slate: Slate, known: Known) -> Iterator[Flag]:  # noqa: ARG001
    """A reading beyond the end of the tape, or a tape without length."""
    length = slate.effort.length_cm
    if slate.method not in (Method.LINE, Method.BELT):
        return
    if not length:
        yield make_flag(
            slate,
            None,
            "beyond_tape",
            "a tape longer than 0",
            "0 cm",
            "Write the length; without one the transect can't be counted.",
        )
        return
    for number, line in _numbered(slate):
        end = line.to_cm if line.to_cm is not None else line.from_cm
        if end is not None and end > length + _SLACK_CM:
            yield make_flag(
                slate,
                number,
                "beyond_tape",
                f"at most {length:g} cm",
                f"{end:g} cm",
                "Check the reading, and the length of the tape.",
            )


def outside_belt(slate: Slate, known: Known) -> Iterator[Flag]:  # noqa: ARG001
    """A colony whose centre lies outside the belt."""
    width = slate.effort.width_cm
    if slate.method is not Method.BELT or not width:
        return
    for number, line in _numbered(slate):
        if line.off_line_cm is not None and abs(line.off_line_cm) > width / 2:
            yield make_flag(
                slate,
                number,
                "outside_belt",
                f"a centre within {width / 2:g} cm of the tape",
                f"{line.off_line_cm:g} cm",
                "Leave it out: it is not counted.",
            )


def odd_size(slate: Slate, known: Known) -> Iterator[Flag]:
    """A size that no colony, or none of its genus, reaches."""
    for number, line in _numbered(slate):
        size = line.diameter_cm
        if size is None:
            continue
        most = min(known.sizes_cm.get(line.label, _MOST_DIAMETER_CM), _MOST_DIAMETER_CM)
        if not 0 < size <= most:
            of = f" of {line.label}" if line.label in known.sizes_cm else ""
            yield make_flag(
                slate,
                number,
                "odd_size",
                f"0 to {most:g} cm{of}",
                f"{size:g} cm",
                "Is it in millimetres, or two colonies?",
            )


def odd_depth(slate: Slate, known: Known) -> Iterator[Flag]:  # noqa: ARG001
    """A depth that no diver reads, or one in feet."""
    depth = slate.depth_m
    if depth is not None and not 0 <= depth <= _DEEP_M:
        yield make_flag(
            slate,
            None,
            "odd_depth",
            f"0 to {_DEEP_M:g} m",
            f"{depth:g} m",
            "Is it in feet? One foot is .3048 m.",
        )


def odd_place(slate: Slate, known: Known) -> Iterator[Flag]:
    """A genus outside its region, or its usual depth."""
    region = known.site_regions.get(known.sites.get(slate.transect, ""), "")
    for number, line in _numbered(slate):
        if line.kind != GENUS:
            continue
        regions = known.regions.get(line.label, ())
        if region and regions and region not in regions:
            yield make_flag(
                slate,
                number,
                "odd_region",
                f"a genus known from {_words(region)}",
                line.label,
                "Ask for a second reading, or a photo.",
            )
        if slate.depth_m is None or line.label not in known.depths_m:
            continue
        low, high = known.depths_m[line.label]
        if not low <= slate.depth_m <= high:
            yield make_flag(
                slate,
                number,
                "odd_depth_of_genus",
                f"{line.label} at {low:.2g} to {high:.2g} m",
                f"{slate.depth_m:g} m",
                "Ask for a second reading.",
            )


def no_photo(slate: Slate, known: Known) -> Iterator[Flag]:
    """A photo that is named but not in the programme."""
    missing = {line.photo for line in slate.lines if line.photo} - known.photos
    for number, line in _numbered(slate):
        if line.photo in missing:
            yield make_flag(
                slate,
                number,
                "no_photo",
                "a photo in the programme",
                (line.photo or "")[:12],
                "Add the photo.",
            )
            missing.discard(line.photo)


def too_few_points(slate: Slate, known: Known) -> Iterator[Flag]:  # noqa: ARG001
    """Points that are missing or there twice."""
    if slate.method not in (Method.POINTS, Method.PHOTO):
        return
    frames = 1
    if slate.method is Method.PHOTO:
        frames = slate.effort.frames or len({line.frame for line in slate.lines}) or 1
    wanted = (slate.effort.points or 0) * frames
    if slate.effort.points is not None and len(slate.lines) != wanted:
        yield make_flag(
            slate,
            None,
            "too_few_points",
            f"{wanted} points",
            str(len(slate.lines)),
            "Enter those that are missing; each of the rest counts for more.",
        )
    times = Counter((line.frame, line.point) for line in slate.lines if line.point is not None)
    for number, line in _numbered(slate):
        if line.point is not None and times[line.frame, line.point] > 1:
            yield make_flag(
                slate,
                number,
                "point_twice",
                "each point once",
                f"point {line.point} {times[line.frame, line.point]} times",
                "Leave one out.",
            )
            times[line.frame, line.point] = 1


def doubted(slate: Slate, known: Known) -> Iterator[Flag]:  # noqa: ARG001
    """A genus that its observer doubted."""
    for number, line in _numbered(slate):
        if line.kind == GENUS and is_doubted(line.said):
            yield make_flag(
                slate,
                number,
                "doubted",
                "a genus without doubt",
                line.said[:40],
                "Have it read again, or write stony coral.",
            )


# Of single slates; their names stand in `RULES` too.
_OF_ONE: tuple[Rule, ...] = (
    tape_backwards,
    tape_overlaps,
    beyond_tape,
    outside_belt,
    odd_size,
    odd_depth,
    odd_place,
    no_photo,
    too_few_points,
    doubted,
)
RULES = {
    "tape_backwards": "tape runs backwards",
    "tape_overlaps": "intercepts overlap",
    "beyond_tape": "beyond the tape",
    "outside_belt": "outside the belt",
    "odd_size": "impossible size",
    "odd_depth": "impossible depth",
    "odd_region": "outside its region",
    "odd_depth_of_genus": "outside its depth",
    "not_qualified": "observer not qualified",
    "no_photo": "photo missing",
    "too_few_points": "points missing",
    "point_twice": "point twice",
    "doubted": "doubted by the observer",
    "read_twice": "transect read twice",
    "photo_twice": "photo used twice",
    "odd_share": "unusual share",
    "other_method": "not as planned",
}


def flags_of(slate: Slate, known: Known) -> list[Flag]:
    """Return the flags of one slate by itself."""
    found = [flag for rule in _OF_ONE for flag in rule(slate, known)]
    if slate.method is not known.plan.method:
        found.append(
            make_flag(
                slate,
                None,
                "other_method",
                _words(known.plan.method),
                _words(slate.method),
                "Plan another survey for it.",
            )
        )
    return found


def _words(text: str) -> str:
    return text.replace("_", " ")
