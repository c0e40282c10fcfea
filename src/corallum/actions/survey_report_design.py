"""The parts of a survey's report that say how it was done, and by whom."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from corallum.actions.plain_words import day, percent, words
from corallum.actions.report_words import NONE, plural, to_list
from corallum.actions.survey_findings import SurveyFindings
from corallum.actions.survey_tables import SurveyData
from corallum.practice.kept import Qualification
from corallum.records.survey import Effort, Method, Slate, SurveyPlan
from corallum.report.report import Block, Facts, Notes, Paragraph, Section, Table

__all__ = ["design_sections", "qualified_on", "unqualified"]

_CM = 100.0
# What was searched, by method: divided by this, in this unit.
_SEARCHED = {
    Method.LINE: (_CM, "m of tape"),
    Method.POINTS: (1.0, "points"),
    Method.PHOTO: (1.0, "points"),
    Method.BELT: (1.0, "m²"),
    Method.QUADRAT: (1.0, "m²"),
    Method.QUADRAT_COVER: (100.0, "quadrats"),
}
_HOW = {
    Method.LINE: "Along a tape, where each coral begins and ends under it: cover is the share of "
    "the tape.",
    Method.POINTS: "What lies under points along a tape: cover is the share of the points.",
    Method.PHOTO: "What lies under points on photos: cover is the share of the points that could "
    "be read.",
    Method.BELT: "Every colony whose centre lies in a belt is counted: density is colonies by "
    "area.",
    Method.QUADRAT: "Every colony in each quadrat is counted: density is colonies by area.",
    Method.QUADRAT_COVER: "Cover is judged in each quadrat.",
}
_MOST_NAMED = 12
_DECIDED = ("passed", "failed")


def design_sections(found: SurveyFindings) -> tuple[Section, ...]:
    """Return how the survey was done, who observed, and permits where they matter."""
    return (
        Section("How it was done", (_design(found), *_reckoned(found), *_strata(found))),
        Section("Who observed", _people(found)),
        *_permits(found),
    )


def _effort(method: Method, effort: Effort) -> str:
    """Say what is searched on one transect."""
    told = []
    if effort.length_cm:
        told.append(f"{effort.length_cm / _CM:g} m of tape")
    if effort.width_cm:
        told.append(f"{effort.width_cm / _CM:g} m wide")
    if effort.frames:
        told.append(plural(effort.frames, "photo" if method is Method.PHOTO else "quadrat"))
    if effort.frame_area_m2:
        told.append(f"{effort.frame_area_m2:g} m² each")
    if effort.points:
        each = " on each photo" if method is Method.PHOTO else ""
        told.append(f"{plural(effort.points, 'point')}{each}")
    if effort.interval_cm:
        told.append(f"{effort.interval_cm:g} cm apart")
    return ", ".join(told) or NONE


def _days(slates: Sequence[Slate]) -> str:
    """Say the days of dives."""
    dates = sorted({slate.date for slate in slates})
    if not dates:
        return "none yet"
    if len(dates) == 1:
        return day(dates[0])
    return f"{day(dates[0])} to {day(dates[-1])}, {len(dates)} days"


def _depths(slates: Sequence[Slate]) -> str:
    """Say the depths that were written."""
    depths = sorted(slate.depth_m for slate in slates if slate.depth_m is not None)
    if not depths:
        return "not written"
    low, high = f"{depths[0]:g}", f"{depths[-1]:g}"
    missing = len(slates) - len(depths)
    rest = f"; not written on {plural(missing, 'slate')}" if missing else ""
    return f"{low} m{rest}" if low == high else f"{low} to {high} m{rest}"


def _design(found: SurveyFindings) -> Facts:
    """Return the plan as facts."""
    plan, slates = found.view.plan, found.slates
    units = "sites, which were drawn to stand for their strata" if plan.sites_drawn else "transects"
    rows = [
        ("Method", words(plan.method.value)),
        ("One transect", _effort(plan.method, plan.effort)),
        ("Days of dives", _days(slates)),
        ("Depths", _depths(slates)),
        ("Sites", str(sum(len(one.sites) for one in plan.strata))),
        ("Transects", f"{len(found.view.slates)} read of {len(found.view.transects)} planned"),
        ("Units of the figures", units),
        ("Second readings planned", f"{percent(plan.second_share)} of the records"),
    ]
    if plan.follows and found.names[0]:
        same = "the same transects" if plan.same_transects else "new transects"
        rows.append(("Follows", f"{found.names[0]}, on {same}"))
    if plan.note:
        rows.append(("Note of the plan", plan.note))
    return Facts(tuple(rows))


def _reckoned(found: SurveyFindings) -> tuple[Block, ...]:
    """Say how figures are reckoned."""
    method = found.view.plan.method
    if found.estimate is None:
        return (Paragraph(_HOW[method]),)
    asked = found.estimate.question
    unit = "sites" if found.estimate.data.by_site else "transects"
    text = (
        f"{_HOW[method]} The figure of a stratum is that of its {unit} together, and the figure "
        "of the survey is that of its strata, each weighed by its area. Intervals are of "
        f"{100 * asked.level:.0f} %: they come from drawing {unit} and second readings again, "
        f"{asked.draws:,} times. They hold the chance of which ones there happened to be; they "
        "do not hold what all of them share, such as a misread tape or a mistaken second reader."
    )
    told = []
    if "readings" not in found.estimate.reasons:
        told.append(
            "Corrected figures put mistaken names right: second readings of this survey's own "
            "records tell what each name that was said turned out to be."
        )
    if asked.errors and "errors" not in found.estimate.reasons:
        told.append(
            "Corrected by the observers' errors: what practice shows of each observer puts "
            "mistaken names right, together with second readings where there are any."
        )
    return Paragraph(text), *(Paragraph(one) for one in told)


def _searched(data: SurveyData | None, method: Method, name: str) -> str:
    """Say what was searched in a stratum; empty where nothing could be reckoned."""
    if data is None:
        return NONE
    table = data.table
    mine = [table.strata[i] == name for i in table.stratum.tolist()]
    total = float(table.searched[mine].sum())
    return f"{total / _SEARCHED[method][0]:,.4g}" if total else NONE


def _strata(found: SurveyFindings) -> tuple[Block, ...]:
    """Return the strata with what was searched in each."""
    plan: SurveyPlan = found.view.plan
    data = None if found.estimate is None else found.estimate.data
    whole = sum(one.area for one in plan.strata)
    site_of = {one.id: one.site for one in found.view.transects}
    rows = []
    for one in plan.strata:
        planned = sum(site in one.sites for site in site_of.values())
        read = sum(site_of[transect] in one.sites for transect in found.view.slates)
        rows.append((
            one.name, f"{one.area:g} ({percent(one.area / whole)})", str(len(one.sites)),
            f"{read} of {planned}", _searched(data, plan.method, one.name),
        ))  # fmt: skip
    headers = (
        "Stratum", "Area (share)", "Sites", "Transects read",
        f"Searched, {_SEARCHED[plan.method][1]}",
    )  # fmt: skip
    small = "Area in the unit that the plan uses, the same for all strata; only its shares count."
    return (
        Table("Strata, and what was searched in each", headers, tuple(rows), "lrrrr"),
        Paragraph(small, "small"),
    )


def _ended_by(test: Qualification, on: date) -> bool:
    """Whether a test was over by a day."""
    return test.ended_at is not None and test.ended_at.date() <= on


def qualified_on(tests: Sequence[Qualification], person: str, on: date) -> str:
    """Say for what somebody was qualified on a day; empty if for nothing.

    Parameters
    ----------
    tests : sequence of Qualification
        Of anybody.
    person : str
        Id.
    on : date
        Tests that were decided by then count, the newest of each list of genera; a pass that
        had expired does not.
    """
    newest: dict[tuple[str, ...], Qualification] = {}
    for test in sorted(tests, key=lambda one: one.started_at, reverse=True):
        if test.person == person and test.outcome in _DECIDED and _ended_by(test, on):
            newest.setdefault(test.genera, test)
    good = [
        one for one in newest.values()
        if one.outcome == "passed" and one.expires_on is not None and one.expires_on >= on
    ]  # fmt: skip
    if not good:
        return ""
    if any(not one.genera for one in good):
        return "all genera of the region"
    return to_list(sorted({name for one in good for name in one.genera}), _MOST_NAMED)


def _who(found: SurveyFindings) -> dict[str, list[Slate]]:
    """Return the slates of each observer, by name."""
    by: dict[str, list[Slate]] = defaultdict(list)
    for slate in found.slates:
        by[slate.observer].append(slate)
    return dict(sorted(by.items(), key=lambda one: found.people.get(one[0], one[0])))


def unqualified(found: SurveyFindings) -> tuple[str, ...]:
    """Return the names of observers who dived on a day on which no passed test covered them."""
    return tuple(
        found.people.get(person, person)
        for person, slates in _who(found).items()
        if any(not qualified_on(found.tests, person, slate.date) for slate in slates)
    )


def _qualified(found: SurveyFindings, person: str, slates: Sequence[Slate]) -> str:
    """Say on which of their days somebody was qualified, and for what."""
    days = sorted({slate.date for slate in slates})
    held = [qualified_on(found.tests, person, one) for one in days]
    good = [one for one in held if one]
    if not good:
        return "no passed test on these days"
    told = " / ".join(dict.fromkeys(good))
    if len(good) == len(held):
        return f"yes: {told}"
    return f"on {len(good)} of {len(held)} days: {told}"


def _people(found: SurveyFindings) -> tuple[Block, ...]:
    """Return who observed, and whether they were qualified on their days."""
    rows = []
    for person, slates in _who(found).items():
        transects = len({slate.transect for slate in slates})
        records = sum(len(slate.lines) for slate in slates)
        rows.append((
            found.people.get(person, person), _qualified(found, person, slates), str(transects),
            f"{records:,}", _days(slates),
        ))  # fmt: skip
    if not rows:
        return (Paragraph("Nobody has written a slate of this survey yet."),)
    headers = ("Observer", "Qualified to name genera", "Transects", "Records", "Days")
    small = (
        "Qualified: a test was passed by that day and had not expired, by the tests as they are "
        "kept now. A record of an observer without one still counts here; what second readings "
        "make of it is in the corrected figures."
    )
    return (
        Table("Observers and their days", headers, tuple(rows), "llrrl"),
        Paragraph(small, "small"),
    )


def _permits(found: SurveyFindings) -> tuple[Section, ...]:
    """Return permits where samples were taken, or where nothing was and that is worth saying."""
    if not found.vouchers:
        return ()
    held = {one.number: one for one in found.permits}
    rows = []
    for label, number, kept_by in found.vouchers:
        one = held.get(number)
        until = day(one.expires_on) if one else "not in the programme's list"
        rows.append((label, number, one.holder if one else NONE, until, kept_by))
    headers = ("Sample", "Permit", "Holder", "Good until", "Kept by")
    text = f"{plural(len(rows), 'sample')} of colonies of this survey went to a collection."
    caution = "Samples are taken under permit only, by local rules; this list is not a permit."
    return (
        Section("Samples and permits", (
            Paragraph(text), Table("Samples", headers, tuple(rows)), Notes((caution,)),
        )),
    )  # fmt: skip
