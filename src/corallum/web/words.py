"""How the pages say things: ids as words, chances as percent, verdicts as sentences."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from corallum.actions.plain_words import day, label, percent, words
from corallum.records.answer import Fragile, Verdict
from corallum.records.colony import Report, SizeReport

__all__ = [
    "SEEN", "change_phrase", "day", "gain_phrase", "label", "moment", "named", "number",
    "percent", "report_words", "seconds_phrase", "short_verdict", "status", "verdict_sentence",
    "words",
]  # fmt: skip

SEEN = {"w": "in the water", "l": "with a lens", "k": "on a cleaned skeleton"}
_SHOWN = 5
_STATUS = {
    "not_determined": "not named yet",
    "settled": "settled",
    "open": "still open",
    "not_separable_in_water": "can't be told in the water",
    "not_in_reference": "fits nothing here",
    "overridden": "named by a lead",
    "read_again": "read a second time",
}
_METHODS = {"eye": "by eye", "ruler": "with a ruler", "photo": "on a photo", "published": "printed"}
# Least bits of expected gain, and how that is said.
_GAINS = (
    (0.8, "should settle most of it"),
    (0.4, "should tell a lot"),
    (0.15, "should tell something"),
    (0.04, "may tell a little"),
    (0.0, "will hardly tell anything"),
)


def number(value: float | None) -> str:
    """Write a size with three digits that count."""
    return "" if value is None else f"{value:.3g}"


def moment(at: datetime) -> str:
    """Write a moment in this machine's time."""
    here = at.astimezone()
    return f"{here.day} {here:%b %Y, %H:%M}"


def status(id_: str) -> str:
    """Say a status in plain words."""
    return _STATUS.get(id_, words(id_))


def named(genera: Sequence[str | None], most: int = _SHOWN) -> str:
    """Join genera, most probable first, the tail counted."""
    names = [name or "something else" for name in genera]
    if len(names) > most + 1:
        names = [*names[:most], f"{len(names) - most} more"]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " or " + names[-1]


def verdict_sentence(verdict: Verdict) -> str:
    """Say a verdict in one or two plain sentences."""
    share = percent(verdict.probability)
    if verdict.status == "settled":
        return f"This is {verdict.genera[0]}, {share} sure."
    if verdict.status == "not_in_reference":
        return "This fits nothing that the reference holds. A second reader should look."
    names = named(verdict.genera)
    if verdict.status == "not_separable_in_water":
        way = "a sample under permit could" if verdict.needs == "voucher" else "a reader might"
        return f"{names}: {share} that it is one of these. No look here tells them apart; {way}."
    then = "Look again." if verdict.needs == "look" else "Ask a second reader."
    many = len(verdict.genera)
    if many > _SHOWN + 1:
        return f"Still open among {many}, {named(verdict.genera[:3])} first. {then}"
    return f"Still open: {names}, {share} together. {then}"


def short_verdict(verdict: Verdict, top: str | None, probability: float) -> str:
    """Say the leader in a few words, for the strip that stays in view."""
    state = status(verdict.status)
    return f"{top or 'Something else'} {percent(probability)}, {state}"


def gain_phrase(bits: float) -> str:
    """Say what a look is expected to tell."""
    return next(phrase for least, phrase in _GAINS if bits >= least)


def seconds_phrase(seconds: float) -> str:
    """Say what a look costs."""
    if seconds < 60:
        return f"about {seconds:.0f} s"
    return f"about {seconds / 60:.0f} min"


def change_phrase(item: Fragile) -> str:
    """Say what would follow from a change of one report."""
    change = "if left out" if item.change == "left_out" else f"if {words(item.change)} instead"
    return f"{change}: {named(item.verdict, 3)}"


def report_words(report: Report, unit: str, labels: dict[str, str]) -> str:
    """Say what was reported."""
    if isinstance(report, SizeReport):
        times = f", {report.n} measured" if report.n > 1 else ""
        method = _METHODS.get(report.method, report.method)
        return f"{number(report.value)} {unit}{times}, {method}"
    names = [labels.get(state, words(state)) for state in report.states]
    return " or ".join(names)
