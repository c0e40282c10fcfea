"""The parts of a survey's report that say how far it may be trusted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from corallum.actions.plain_words import percent
from corallum.actions.reading_agreement import ReadingAgreement
from corallum.actions.report_words import NONE, plural
from corallum.actions.result_words import group_label
from corallum.actions.survey_findings import SurveyFindings
from corallum.observers.coefficient import Coefficient
from corallum.records.benthos import UNIDENTIFIED, UNREADABLE, is_living_coral
from corallum.records.survey import Decision, Line
from corallum.records.survey_checks import RULES
from corallum.report.report import Block, Facts, Notes, Paragraph, Section, Table

__all__ = ["coefficient_words", "trust_sections", "waiting_flags"]

_MOST_ROWS, _MOST_FLAGS = 20, 40


def trust_sections(found: SurveyFindings) -> tuple[Section, ...]:
    """Return second readings, what could not be told, and what looks wrong."""
    return (
        Section("Second readings and agreement", _readings(found)),
        Section("What could not be told", _limits(found)),
        Section("Checks of the slates", _flags(found)),
    )


def coefficient_words(one: Coefficient) -> str:
    """Say a coefficient of agreement, or why there is none."""
    if one.value is None:
        return one.reason or NONE
    if one.low is None or one.high is None:
        return f"{one.value:.2f} (no interval)"
    return f"{one.value:.2f} ({one.low:.2f} to {one.high:.2f})"


def _readings(found: SurveyFindings) -> tuple[Block, ...]:
    """Return how far second readings agree with the first."""
    drawn, read = len(found.state.lines), len(found.state.readings)
    if found.agreement is None:
        text = "No record of this survey was read a second time"
        if drawn:
            text += f", though {plural(drawn, 'record was', 'records were')} drawn for it"
        more = (
            "So nothing in the survey itself tells how often its names are right, and its figures "
            "are as they were said, or rest on what practice shows of the observers."
        )
        return (Paragraph(f"{text}. {more}" if found.slates else f"{text}."),)
    one = found.agreement
    readers = {reading.person for reading in found.state.readings.values()}
    names = sorted(found.people.get(person, person) for person in readers)
    rows = (
        ("Read again", f"{read:,} of {drawn:,} records drawn"),
        ("Second readers", ", ".join(names)),
        ("Readable both times", f"{one.n:,}"),
        ("Names borne out, each by its records", percent(one.right)),
        ("Different names (PTD)", f"{one.ptd:.1f} %"),
        ("Named to genus, difference (PDE)", f"{one.pde:.1f} %"),
        ("Cohen's kappa", coefficient_words(one.kappa)),
    )
    return (
        Paragraph(
            f"The second reading bears out {percent(one.right)} of the names, each name weighed "
            f"by its records. {' '.join(one.said)}"
        ),
        Facts(rows),
        *_disagreements(one),
        Paragraph(
            "PTD, PDE and kappa count the records read again as they are. Rare names are read "
            "again more often than common ones, so these may differ from the share borne out. PTD "
            "above 15 % or PDE above 5 % asks for its causes (Stribling et al. 2003, as quality "
            "plans use it). A second reader may err too.", "small",
        ),
    )  # fmt: skip


def _disagreements(one: ReadingAgreement) -> tuple[Block, ...]:
    """Return which names were found to be others, the most frequent first."""
    other = [row for row in one.table if row[0] != row[1]]
    if not other:
        return (Paragraph("No name was found to be another."),)
    rows = tuple((group_label(a), group_label(b), str(n)) for a, b, n in other[:_MOST_ROWS])
    rest = len(other) - len(rows)
    blocks: list[Block] = [
        Table("Names that the second reader did not bear out", ("Said", "Found", "Times"), rows,
              "llr")
    ]  # fmt: skip
    if rest:
        blocks.append(Paragraph(f"{plural(rest, 'rarer pair')} not shown.", "small"))
    return tuple(blocks)


def _lines(found: SurveyFindings) -> Iterator[Line]:
    """Go through all records that count."""
    out = {
        (one.flag.slate, one.flag.line)
        for one in found.flags
        if one.answer is not None and one.answer.decision is Decision.LEFT_OUT
    }
    for slate in found.slates:
        if (slate.history, None) in out:
            continue
        for number, line in enumerate(slate.lines, start=1):
            if (slate.history, number) not in out:
                yield line


def _limits(found: SurveyFindings) -> tuple[Block, ...]:
    """Return what was unreadable, not named, or can't be told apart."""
    lines = list(_lines(found))
    if not lines:
        return (Paragraph("No slate of this survey holds a record yet."),)
    coral = [line for line in lines if is_living_coral(line.kind)]
    unnamed = Counter(line.label for line in coral if line.kind == UNIDENTIFIED)
    unreadable = sum(line.kind == UNREADABLE for line in lines)
    n = sum(unnamed.values())
    told = [f"{unreadable:,} of {plural(len(lines), 'record')} could not be read; they are taken "
            "out of what was searched, not counted as bare."]  # fmt: skip
    if not unreadable:
        told = [f"All of {plural(len(lines), 'record')} could be read."]
    if n:
        ranks = ", ".join(f"{k:,} {name}" for name, k in unnamed.most_common(6))
        share = percent(n / len(coral))
        told.append(
            f"{n:,} of {plural(len(coral), 'record')} of stony coral ({share}) tell no genus; "
            f"they say {ranks}. They count as stony coral, and are not the same as absent from "
            "any genus."
        )
    elif coral:
        told.append("Every record of stony coral was named to genus.")
    else:
        told.append("No record is of stony coral.")
    return (Notes(tuple(told)), *_pairs(found))


def _pairs(found: SurveyFindings) -> tuple[Block, ...]:
    """Return the genera met here that a look in the water can't tell apart."""
    if found.estimate is None:
        return ()
    if not found.pairs:
        return (
            Paragraph(
                "By the reference, the best possible look in the water can tell apart all genera "
                "that were met. A hurried look may not, and a genus that the reference does not "
                "hold is in none of this."
            ),
        )
    rows = tuple(
        (f"{one.a} and {one.b}", percent(one.in_water), percent(one.with_skeleton))
        for one in found.pairs[:_MOST_ROWS]
    )
    headers = ("Genera", "Right in the water", "With the skeleton")
    return (
        Paragraph(
            "By the reference, the best possible look in the water often can't tell these genera "
            "apart. Where a figure of one of them matters, give both together."
        ),
        Table("Genera of this survey that the water can't separate", headers, rows, "lrr"),
        Paragraph(
            "How often the right one of the two is named after every look was made without error, "
            "by simulation. A half is as good as a coin. A skeleton needs a sample under permit.",
            "small",
        ),
    )


def waiting_flags(found: SurveyFindings) -> int:
    """Count flags that nobody decided on."""
    return sum(one.answer is None for one in found.flags)


def _flags(found: SurveyFindings) -> tuple[Block, ...]:
    """Return what looks wrong on the slates."""
    waiting = [one for one in found.flags if one.answer is None]
    answers = [one.answer for one in found.flags if one.answer is not None]
    out = sum(one.decision is Decision.LEFT_OUT for one in answers)
    if not found.slates:
        return (Paragraph("There is no slate to check yet."),)
    if not found.flags:
        return (Paragraph("The checks of the slates found nothing odd."),)
    text = (
        f"The checks point out {plural(len(found.flags), 'oddity', 'oddities')}: "
        f"waiting for a decision {len(waiting)}, found to stand {len(answers) - out}, left out of "
        f"all figures {out}."
    )
    blocks: list[Block] = [Paragraph(text)]
    counts = Counter(one.flag.rule for one in found.flags)
    open_ = Counter(one.flag.rule for one in waiting)
    rows = tuple(
        (RULES.get(rule, rule), str(n), str(open_[rule])) for rule, n in counts.most_common()
    )
    blocks.append(Table("Oddities by kind", ("What", "Found", "Waiting"), rows, "lrr"))
    if waiting:
        shown = waiting[:_MOST_FLAGS]
        listed = tuple(
            (
                f"{found.place_of(one.slate.transect)}"
                + (f", line {one.flag.line}" if one.flag.line else ""),
                RULES.get(one.flag.rule, one.flag.rule), one.flag.expected, one.flag.found,
            )
            for one in shown
        )  # fmt: skip
        blocks.append(
            Table("Waiting for a decision", ("Where", "What", "Expected", "Found"), listed)
        )
        if len(waiting) > len(shown):
            blocks.append(Paragraph(f"Not shown: {len(waiting) - len(shown)} more.", "small"))
    return tuple(blocks)
