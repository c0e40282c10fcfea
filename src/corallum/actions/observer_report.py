"""A report of one observer: what they know, what they take for what, and what would help most."""

from __future__ import annotations

import math
import shlex
from collections.abc import Sequence
from datetime import datetime

from corallum.actions.observer_errors import ObserverErrors
from corallum.actions.observer_findings import ObserverFindings, observer_findings
from corallum.actions.observer_progress import abilities, progress_of
from corallum.actions.plain_words import day, label, percent, words
from corallum.actions.practice_needs import rank_needs
from corallum.actions.programme_reference import programme_library
from corallum.actions.qualification_steps import aim_of
from corallum.actions.qualifications import (
    SurveyRight,
    list_tests,
    plan_figures,
    repeats_of,
    standing,
)
from corallum.actions.report_words import invented_words, made_again, picture_of, plural, to_list
from corallum.actions.result_plots import Layouts
from corallum.draw import plots
from corallum.observers.fixed_length import Aim
from corallum.records.programme import Person
from corallum.report.field_sheet import place_of
from corallum.report.report import Block, Facts, Notes, Paragraph, Report, Section, Table
from corallum.store.programme import Programme

__all__ = ["observer_report"]

_MOST_ROWS, _MOST_DRAWN, _MOST_NEEDS = 20, 12, 8
# Least lower end of the interval of a genus that is surely known.
_WELL = 0.75
# Fewer looks are no ground to call a genus known, whatever the group does.
_LEAST_LOOKS = 3
_FAIR = (
    "This report is about one person, and it is for them and for the lead. It tells what practice "
    "has shown so far, not what somebody is able to learn."
)
_SHRUNK = (
    "Intervals are of 90 %. Few answers say little: where there are few, figures lean on the group "
    "and on what the model itself mixes up."
)


def observer_report(programme: Programme, person: Person, now: datetime) -> Report:
    """Return the report of one observer.

    Parameters
    ----------
    programme : Programme
        Where they practise.
    person : Person
        Who it is about.
    now : datetime
        When the report is made: tests that are good, and what is due, are of that day.

    Returns
    -------
    Report
        Somebody who never answered has a report that says so.
    """
    one = observer_findings(programme, person, now)
    settings = programme.settings
    return Report(
        person.name,
        f"What practice shows of one observer. {settings.name}, {place_of(one.region)}.",
        invented_words((settings.name, person.name)),
        (
            Section("Summary", _summary(one)),
            Section("May survey", _rights(programme, one, now)),
            Section("Practise next", _needs(programme, one, now)),
            *_shown(programme, one),
            *_steady(programme, one),
            made_again(programme, now, (
                ("Observer", f"{person.name} ({person.id})"), ("Region", words(one.region)),
            ), f"corallum report FOLDER --observer {shlex.quote(person.name)} --out report.pdf"),
        ),
        f"{settings.name}. Corallum report of {day(now)}.",
        frozenset(programme_library(programme).compiled.genera),
        _facts(one, now),
    )  # fmt: skip


def _right_words(right: SurveyRight | None) -> str:
    """Say what somebody may record."""
    if right is None:
        return "May record families only: no test is passed, or it has expired."
    named = to_list(right.genera) if right.genera else "All genera of the region"
    told = f"May record to genus, until {day(right.until)}: {named[:1].lower() + named[1:]}."
    if right.genera:
        told = f"May record to genus, until {day(right.until)}: {named}."
    if right.not_yet:
        told += f" Not yet, to family only: {to_list(right.not_yet)}."
    return told


def _share(value: float) -> str:
    """Say an expected share: never sure, however near to 1 it is."""
    return percent(min(value, 0.999))


def _summary(one: ObserverFindings) -> tuple[Block, ...]:
    """Say what matters most."""
    if one.known is None:
        return (
            Paragraph("Nothing is known of this observer's errors yet.", "lead"),
            Paragraph(_right_words(one.right)),
            Notes((_FAIR,), "caution"),
        )
    known = one.known
    half = 1.64 * known.accuracy_sd
    ends = max(known.accuracy - half, 0.0), min(known.accuracy + half, 1.0)
    told = [
        f"{known.right} of {plural(known.answers, 'answer')} in practice right; "
        f"{_share(known.accuracy)} ({_share(ends[0])} to {_share(ends[1])}) expected if genera "
        "came as the survey meets them."
    ]
    more = [_right_words(one.right)]
    if one.pair is not None:
        more.append(f"Most worth mending: {one.pair[0]} and {one.pair[1]} were mixed up.")
    best = [row.genus for row in reversed(one.genera) if row.low >= _WELL
            and row.looks >= _LEAST_LOOKS][:_MOST_NEEDS]  # fmt: skip
    if best:
        more.insert(0, f"Known well so far: {to_list(best)}.")
    return (
        Paragraph(told[0], "lead"), *(Paragraph(text) for text in more),
        Notes((_FAIR, _SHRUNK), "caution"),
    )  # fmt: skip


def _rights(programme: Programme, one: ObserverFindings, now: datetime) -> tuple[Block, ...]:
    """Return what somebody may record, their tests, and what a test is worth."""
    tests = list_tests(programme, one.person.id)
    if not tests:
        return (Paragraph(_right_words(one.right)), Paragraph("No test was begun yet."))
    rows = []
    for test in tests:
        now_, _ = standing(programme, test)
        until = ""
        if test.expires_on is not None:
            until = day(test.expires_on)
            if test.expires_on < now.date():
                until += ", expired"
        rows.append((
            day(test.started_at), words(test.outcome), f"{now_.right} of {now_.n}",
            to_list(test.genera) if test.genera else "all of the region", until or "—",
        ))  # fmt: skip
    headers = ("Begun", "Outcome", "Right", "For genera", "Good until")
    return (
        Paragraph(_right_words(one.right)),
        Table("Tests, the newest first", headers, tuple(rows), "llrll"),
        *_worth(aim_of(tests[0])),
    )


def _worth(aim: Aim) -> tuple[Block, ...]:
    """Say how often the newest test passes whom."""
    figures = plan_figures(aim)
    curve = figures.curve
    rows = tuple(
        (percent(p), percent(chance), percent(quiz))
        for p, chance, quiz in zip(
            curve.accuracies.tolist(), curve.pass_chance.tolist(), figures.quiz_passes, strict=True
        )
    )
    headers = ("Truly names right", "Passes the newest test", "Passes a plain quiz, 17 of 20")
    return (Table("How often a test passes whom", headers, rows, "rrr"),)


def _needs(programme: Programme, one: ObserverFindings, now: datetime) -> tuple[Block, ...]:
    """Say what would help most."""
    if one.known is None:
        return (Paragraph("Any set of the region's common genera: nothing is known yet."),)
    needs = rank_needs(programme, one.person.id, one.region, now)[:_MOST_NEEDS]
    if not needs:
        return (Paragraph("Nothing stands out."),)
    rows = tuple(
        (need.genus, need.reason,
         f"{need.right} of {need.answers}" if need.answers else "never shown",
         day(need.due) if need.due else "—")
        for need in needs
    )  # fmt: skip
    blocks: list[Block] = [
        Table("What would help most, first things first", ("Genus", "Why", "Right", "Due"), rows,
              "lllr")
    ]  # fmt: skip
    if one.pair is not None:
        a, b, _ = one.pair
        blocks.insert(0, Paragraph(
            f"Begin with {a} beside {b}: one after the other, with what decides between them in "
            "hand."
        ))  # fmt: skip
    return tuple(blocks)


def _spans(rows: Sequence[plots.BeforeAfter], what: str) -> Layouts:
    """Draw shares of an observer beside those of the group."""

    def draw(width: int) -> str:
        return plots.plot_before_after(
            rows, "% of looks", width, what=what, names=("all observers here", "this observer")
        )

    return Layouts(draw(plots.NARROW), draw(plots.WIDE))


def _shown(programme: Programme, one: ObserverFindings) -> tuple[Section, ...]:
    """Return genera known and genera taken for others."""
    if one.known is None:
        return ()
    drawn = [
        plots.BeforeAfter(
            row.genus, plots.Span(100 * row.group),
            plots.Span(100 * row.mean, 100 * row.low, 100 * row.high),
        )
        for row in one.genera[:_MOST_DRAWN]
    ]  # fmt: skip
    rows = tuple(
        (row.genus, f"{row.right:.3g} of {row.looks:.3g}", _share(row.mean),
         f"{percent(row.low)} to {_share(row.high)}", _share(row.group))
        for row in one.genera
    )  # fmt: skip
    headers = ("Genus", "Right", "Expected right", "90 % interval", "All here")
    caption = (
        "Open: all observers here. Filled: this observer, interval of 90 %. The least known first."
    )
    return (
        Section("Genera shown", (
            picture_of(_spans(drawn, "Named right"), caption),
            Table("Genera shown, the least known first", headers, rows, "lrrrr"),
            Paragraph("An answer of several genera is shared among them.", "small"),
        )),
        Section("Genera taken for others", _mixed(one)),
        Section("Looks and sizes", _looks(programme, one.known)),
    )  # fmt: skip


def _mixed(one: ObserverFindings) -> tuple[Block, ...]:
    """Return genera taken for others, those first that would cost the survey most."""
    if not one.confusions:
        return (Paragraph("None so far."),)
    drawn = [
        plots.BeforeAfter(
            f"{row.true}, said {row.said}", plots.Span(100 * row.group),
            plots.Span(100 * row.mean, 100 * row.low, 100 * row.high), genus=False,
        )
        for row in one.confusions[:_MOST_DRAWN]
    ]  # fmt: skip
    rows = tuple(
        (row.true, row.said, f"{row.times:.3g} of {row.looks:.3g}", _share(row.mean),
         f"{percent(row.low)} to {_share(row.high)}", _share(row.group))
        for row in one.confusions
    )  # fmt: skip
    headers = ("It was", "Said", "Times", "Expected", "90 % interval", "All here")
    caption = (
        "Open: all observers here. Filled: this observer. Those that would cost the survey most "
        "first."
    )
    return (
        picture_of(_spans(drawn, "Taken for another"), caption),
        Table("Genera taken for others", headers, rows, "llrrrr"),
    )


def _looks(programme: Programme, known: ObserverErrors) -> tuple[Block, ...]:
    """Return looks misjudged, sizes by eye, and how sure."""
    compiled = programme_library(programme).compiled
    misjudged = known.errors.misjudged(compiled)[:_MOST_ROWS]
    blocks: list[Block] = [Paragraph("Too few looks were reported to say which are misjudged.")]
    if misjudged:
        rows = tuple(
            (label(row.character), words(row.true), words(row.said), _share(row.mean),
             f"{percent(row.low)} to {_share(row.high)}", f"{row.looks:.0f}")
            for row in misjudged
        )  # fmt: skip
        headers = ("Character", "It was", "Said", "Expected", "90 % interval", "Looks")
        blocks = [Table("Looks misjudged", headers, rows, "lllrrr")]
    blocks.append(Facts((("Sizes by eye", _eye(known)), ("How sure", _sure(known)))))
    return tuple(blocks)


def _eye(known: ObserverErrors) -> str:
    """Say how sizes are judged by eye."""
    eye = known.errors.eye
    if eye.n < 1:
        return "none judged yet"
    off, (low, high) = eye.bias, eye.bias_interval()
    ends = [f"{100 * (math.exp(one) - 1):+.0f}".replace("-", "−") for one in (off, low, high)]
    return (
        f"{ends[0]} % off on average ({ends[1]} to {ends[2]} %), spread a factor of "
        f"{math.exp(eye.sd):.2f}, from {plural(round(eye.n), 'judgement')}"
    )


def _sure(known: ObserverErrors) -> str:
    """Say how sure an observer is beside how often they are right."""
    one = known.confidence
    if not one.n:
        return "never said"
    return f"{percent(one.stated)} sure on average, {percent(one.right)} right: {one.word}"


def _steady(programme: Programme, one: ObserverFindings) -> tuple[Section, ...]:
    """Return how an observer gets on, set by set."""
    pair = one.pair[:2] if one.pair else ()
    sets = progress_of(programme, one.person.id, pair)
    if not sets:
        return ()
    rows = tuple(
        (row.title, day(row.at), f"{row.right} of {row.answers}", percent(row.score),
         *((f"{row.pair_right} of {row.pair_looks}" if row.pair_looks else "—",) if pair else ()))
        for row in sets
    )  # fmt: skip
    last = (f"{pair[0]} and {pair[1]}",) if pair else ()
    headers = ("Set", "Begun", "Right", "Mean mark", *last)
    blocks: list[Block] = [
        Table("Sets in the order begun", headers, rows, "llrr" + "r" * len(last))
    ]
    ability = abilities(programme).people.get(one.person.id)
    facts = []
    if ability is not None:
        value = f"{ability.mean:+.1f} ± {1.64 * ability.sd:.1f}".replace("-", "−")
        facts.append(("Ability, in logits against the average observer here", value))
    again = repeats_of(programme, one.person.id)
    if again is not None and again.share is not None:
        value = f"{again.same} of {again.n} named alike"
        facts.append(("The same colony again, days apart", value))
    if facts:
        blocks.append(Facts(tuple(facts)))
    return (Section("Set by set", tuple(blocks)),)


def _facts(one: ObserverFindings, now: datetime) -> dict[str, object]:
    """Return the same figures for a program."""
    known = one.known
    return {
        "kind": "observer",
        "observer": {"id": one.person.id, "name": one.person.name},
        "made": now.isoformat(),
        "answers": 0 if known is None else known.answers,
        "right": 0 if known is None else known.right,
        "accuracy": None if known is None else known.accuracy,
        "accuracy_sd": None if known is None else known.accuracy_sd,
        "may_survey_until": one.right.until.isoformat() if one.right else None,
        "genera": [
            {"genus": row.genus, "looks": row.looks, "right": row.right, "mean": row.mean,
             "low": row.low, "high": row.high}
            for row in one.genera
        ],
        "mixed_up": [
            {"true": row.true, "said": row.said, "mean": row.mean, "low": row.low,
             "high": row.high, "times": row.times, "looks": row.looks}
            for row in one.confusions
        ],
    }  # fmt: skip
