"""Checks of slates: each rule fires on its case, and not on what lies just beside it."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.records.survey import Effort, Flag, Line, Method, Slate, SurveyPlan
from corallum.records.survey_checks import RULES, Known, flags_of
from corallum.records.survey_cross_checks import check_slates

AT = dt.datetime(2026, 3, 14, 9, 30, tzinfo=dt.UTC)
EFFORTS = {
    Method.LINE: Effort(length_cm=1000.0),
    Method.POINTS: Effort(length_cm=1000.0, interval_cm=50.0, points=2),
    Method.PHOTO: Effort(frames=2, points=1),
    Method.BELT: Effort(length_cm=1000.0, width_cm=100.0),
    Method.QUADRAT: Effort(frames=2, frame_area_m2=0.25),
    Method.QUADRAT_COVER: Effort(frames=2),
}


def coral(**values: Any) -> Line:  # noqa: ANN401
    """A line that named a coral."""
    genus = values.pop("label", "Porites")
    return Line(values.pop("said", genus), genus, values.pop("kind", "genus"), **values)


def slate(lines: Sequence[Line], method: Method = Method.LINE, **values: Any) -> Slate:  # noqa: ANN401
    """A slate of an invented survey."""
    base = Slate(
        1, "T1", method, "o1", dt.date(2026, 3, 14), 5.0, EFFORTS[method], tuple(lines), None,
        "typed", "", "o1", AT,
    )  # fmt: skip
    return replace(base, **values)


def known(method: Method = Method.LINE, **values: Any) -> Known:  # noqa: ANN401
    """What is known besides, the observers qualified to all genera."""
    plan = SurveyPlan("s", method, (), 1, EFFORTS[method])
    may = values.pop("qualified", {"o1": None, "o2": None, "o3": None})
    return Known(plan, qualified=may, **values)


def rules(flags: Sequence[Flag]) -> list[tuple[str, int | None]]:
    """Rule and line of each flag."""
    return [(flag.rule, flag.line) for flag in flags]


def reach(*ends: tuple[float, float], **values: Any) -> Slate:  # noqa: ANN401
    """A line intercept with these ends."""
    return slate([coral(from_cm=a, to_cm=b) for a, b in ends], **values)


PHOTO = "ab" * 32
PLACE = {
    "sites": {"T1": "A"}, "site_regions": {"A": "red_sea"},
    "regions": {"Porites": ("red_sea", "atlantic"), "Agaricia": ("atlantic",)},
}  # fmt: skip
DEPTHS = {"depths_m": {"Porites": (0.0, 30.0)}}


def points(*numbers: int | None, method: Method = Method.POINTS, **values: Any) -> Slate:  # noqa: ANN401
    """Points with these numbers."""
    return slate([coral(point=number, frame=1) for number in numbers], method, **values)


# Of each rule: what it fires on, where, and the near miss that it must leave alone.
CASES = [
    pytest.param(reach((10, 9)), reach((9, 10)), {}, ("tape_backwards", 1), id="backwards"),
    pytest.param(reach((10, 10)), reach((10, 10.1)), {}, ("tape_backwards", 1), id="no length"),
    pytest.param(reach((0, 50), (49.4, 60)), reach((0, 50), (49.5, 60)), {}, ("tape_overlaps", 2),
                 id="overlap"),
    pytest.param(reach((40, 60), (0, 50)), reach((50, 60), (0, 50)), {}, ("tape_overlaps", 1),
                 id="overlap of what is written in any order"),
    pytest.param(reach((990, 1000.6)), reach((990, 1000.5)), {}, ("beyond_tape", 1), id="beyond"),
    pytest.param(reach((1, 2), effort=Effort()), reach((1, 2)), {}, ("beyond_tape", None),
                 id="no tape"),
    pytest.param(slate([coral(from_cm=1001.0)], Method.BELT),
                 slate([coral(from_cm=1000.0)], Method.BELT), {}, ("beyond_tape", 1),
                 id="beyond the belt"),
    pytest.param(slate([coral(off_line_cm=-50.1)], Method.BELT),
                 slate([coral(off_line_cm=-50.0)], Method.BELT), {}, ("outside_belt", 1),
                 id="left of the belt"),
    pytest.param(slate([coral(diameter_cm=0.0)], Method.BELT),
                 slate([coral(diameter_cm=0.1)], Method.BELT), {}, ("odd_size", 1), id="no size"),
    pytest.param(slate([coral(diameter_cm=601.0)], Method.BELT),
                 slate([coral(diameter_cm=600.0)], Method.BELT), {}, ("odd_size", 1),
                 id="size of no coral"),
    pytest.param(slate([coral(diameter_cm=26.0)], Method.BELT),
                 slate([coral(diameter_cm=26.0, label="Favites")], Method.BELT),
                 {"sizes_cm": {"Porites": 25.0}}, ("odd_size", 1), id="size of no such genus"),
    pytest.param(reach((0, 9), depth_m=60.1), reach((0, 9), depth_m=60.0), {}, ("odd_depth", None),
                 id="deep"),
    pytest.param(reach((0, 9), depth_m=-0.1), reach((0, 9), depth_m=0.0), {}, ("odd_depth", None),
                 id="above the water"),
    pytest.param(slate([coral(label="Agaricia")]), slate([coral()]), PLACE, ("odd_region", 1),
                 id="region"),
    pytest.param(slate([coral(label="Agaricia")]), slate([coral(label="Favites")]), PLACE,
                 ("odd_region", 1), id="region of a genus that is not known"),
    pytest.param(slate([coral()], depth_m=30.5), slate([coral()], depth_m=30.0), DEPTHS,
                 ("odd_depth_of_genus", 1), id="deeper than the genus"),
    pytest.param(slate([coral()], depth_m=30.5), slate([coral(label="Favites")], depth_m=30.5),
                 DEPTHS, ("odd_depth_of_genus", 1), id="depths that are not known"),
    pytest.param(slate([coral(), coral(photo=PHOTO)]), slate([coral(photo="cd" * 32)]),
                 {"photos": frozenset({"cd" * 32})}, ("no_photo", 2), id="photo"),
    pytest.param(points(1), points(1, 2), {}, ("too_few_points", None), id="one point"),
    pytest.param(points(1, method=Method.PHOTO, effort=Effort(points=2)),
                 points(1, 2, method=Method.PHOTO, effort=Effort(points=2)), {},
                 ("too_few_points", None), id="frames that the plan does not tell"),
    pytest.param(points(2, 2), points(None, None), {}, ("point_twice", 1), id="point twice"),
    pytest.param(points(2, 2, effort=Effort()), points(1, 2, effort=Effort()), {},
                 ("point_twice", 1), id="point twice where no number is planned"),
    pytest.param(slate([coral(said="cf. Porites")]), slate([coral(said="Porites cf. lobata")]), {},
                 ("doubted", 1), id="doubt"),
    pytest.param(slate([coral(said="Porites?")]), slate([coral(said="sand?", kind="other")]), {},
                 ("doubted", 1), id="doubt of a coral"),
]  # fmt: skip


@pytest.mark.parametrize(("odd", "sound", "besides", "wanted"), CASES)
def test_a_rule_fires_on_its_case_alone(
    odd: Slate, sound: Slate, besides: dict[str, Any], wanted: tuple[str, int | None]
) -> None:
    """Each rule flags its case once, at its line, and leaves the near miss without any flag."""
    what = known(odd.method, **besides)
    assert [one for one in rules(flags_of(odd, what)) if one[0] == wanted[0]] == [wanted]
    assert flags_of(sound, what) == []


def test_an_overlap_is_with_what_reached_farthest() -> None:
    """Intercepts within a long one, or across its end, are each flagged against the long one."""
    flags = flags_of(reach((0, 90), (10, 20), (80, 95), (94.8, 99)), known())
    assert rules(flags) == [("tape_overlaps", 2), ("tape_overlaps", 3)]
    assert {flag.expected for flag in flags} == {"90 cm or more, where line 1 ends"}


def test_an_observer_who_may_not_is_told_once_for_all_slates() -> None:
    """Who is not qualified is flagged once, at the first slate with a genus, with their number."""
    odd = [
        slate([coral()], observer="x", history=2),
        slate([coral(label="Favites")], observer="x", history=3),
        slate([coral(kind="unidentified")], observer="x", history=1),
    ]
    (flag,) = [one for one in check_slates(odd, known()) if one.rule == "not_qualified"]
    assert (flag.slate, flag.line) == (2, None)
    assert flag.found == "2 genera on 2 slates by one who is not on that day"
    assert "not_qualified" not in dict(rules(check_slates(odd[2:], known())))


def test_a_genus_that_an_observer_may_not_record_is_named() -> None:
    """Who is qualified for some genera is flagged for each other genus by itself."""
    lines = [coral(), coral(label="Favites"), coral(label="Favites"), coral(label="Acropora")]
    flags = check_slates([slate(lines)], known(qualified={"o1": ("Porites",)}))
    found = [one.found for one in flags if one.rule == "not_qualified"]
    assert [one.split(" on ")[0] for one in found] == ["Acropora", "Favites"]


def test_a_slate_of_another_method_is_flagged() -> None:
    """A slate read in another way than planned is flagged as a whole."""
    assert rules(flags_of(slate([]), known(Method.BELT))) == [("other_method", None)]


def test_a_transect_read_twice_is_flagged_on_the_later_slate() -> None:
    """A second slate of one transect is flagged; one of another transect is not."""
    one, two, other = slate([]), slate([], history=2), slate([], history=3, transect="T2")
    flags = check_slates([two, other, one], known())
    assert [(flag.rule, flag.slate) for flag in flags] == [("read_twice", 2)]


def test_a_photo_of_two_frames_is_flagged() -> None:
    """A photo may show many points of its frame, and no other frame or transect."""
    first = slate([coral(frame=1, photo=PHOTO), coral(frame=1, photo=PHOTO)], Method.PHOTO)
    again = replace(first, history=2, transect="T2")
    within = replace(first, lines=(first.lines[0], coral(frame=2, photo=PHOTO)))
    what = known(Method.PHOTO, photos=frozenset({PHOTO}))
    assert check_slates([first], what) == []
    (flag,) = check_slates([first, again], what)
    assert (flag.rule, flag.slate, flag.line) == ("photo_twice", 2, 1)
    assert flag.found == "the same photo as frame 1 on another transect"
    assert rules(check_slates([within], what)) == [("photo_twice", 2)]
    belts = [slate([coral(photo=PHOTO)], Method.BELT, history=n, transect=f"T{n}") for n in (1, 2)]
    (flag,) = check_slates(belts, known(Method.BELT, photos=frozenset({PHOTO})))
    assert flag.found == "the same photo as on another transect"


def shares(n: int, of: int = 20) -> list[Slate]:
    """An observer who said Favites n times of so many, and two others who said it twice each."""
    lines = {"o1": (n, of), "o2": (2, 40), "o3": (2, 40)}
    return [
        slate(
            [coral(label="Favites")] * favites + [coral()] * (total - favites),
            history=at, transect=f"T{at}", observer=observer,
        )
        for at, (observer, (favites, total)) in enumerate(lines.items(), start=1)
    ]  # fmt: skip


def test_an_unusual_share_is_flagged() -> None:
    """A genus said five times as often as others say it is flagged, on enough lines alone.

    The others said it on (4 + .5) of (80 + 1) lines, 5.6 %, by hand; five times that is 27.8 %.
    """
    odd = [flag for flag in check_slates(shares(10), known()) if flag.rule == "odd_share"]
    assert [(flag.slate, flag.line) for flag in odd] == [(1, None)]
    assert odd[0].expected == "Favites on about 6% of lines, as others say"
    assert odd[0].found == "50% of this observer's lines"
    near = (shares(9), shares(10, of=19), shares(11, of=40))
    for case in near:
        assert "odd_share" not in dict(rules(check_slates(case, known())))


LINES = st.builds(
    coral,
    said=st.sampled_from(["Porites", "cf. Porites", "?", ""]),
    label=st.sampled_from(["Porites", "Favites"]),
    kind=st.sampled_from(["genus", "unidentified", "other", "unreadable"]),
    from_cm=st.none() | st.floats(), to_cm=st.none() | st.floats(),
    frame=st.none() | st.integers(0, 3), point=st.none() | st.integers(0, 3),
    diameter_cm=st.none() | st.floats(), off_line_cm=st.none() | st.floats(),
    photo=st.none() | st.sampled_from([PHOTO, "cd" * 32]),
)  # fmt: skip
PILES = st.lists(
    st.builds(
        slate, st.lists(LINES, max_size=4), st.sampled_from(list(Method)),
        transect=st.sampled_from(["T1", "T2"]), observer=st.sampled_from(["o1", "o2", "x"]),
        depth_m=st.none() | st.floats(),
        effort=st.sampled_from([Effort(), Effort(-1.0, 0.0, 0.0, 0, 0, 0.0), *EFFORTS.values()]),
    ),
    max_size=5,
)  # fmt: skip
ANY_SLATES = PILES.map(
    lambda found: [replace(one, history=at) for at, one in enumerate(found, start=1)]
)


@given(ANY_SLATES, st.integers(0, 99))
def test_flags_are_the_same_in_any_order(slates: list[Slate], seed: int) -> None:
    """Whatever the slates hold, they are checked, and to the same flags in any order."""
    mixed = slates.copy()
    random.Random(seed).shuffle(mixed)  # noqa: S311
    flags = check_slates(slates, known())
    assert check_slates(mixed, known()) == flags
    lines = {one.history: len(one.lines) for one in slates}
    for flag in flags:
        assert flag.rule in RULES
        assert flag.line is None or 1 <= flag.line <= lines[flag.slate]
        assert flag.expected and flag.found and flag.remedy.endswith((".", "?"))  # noqa: PT018
