"""A report of a programme's reference: what it holds, from where, and where it fails."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from corallum.actions.plain_words import GAP, day, label, percent, words
from corallum.actions.programme_reference import programme_library
from corallum.actions.references import (
    Library,
    Summary,
    assess_reference,
    check_region,
    limits_of,
    summarise,
)
from corallum.actions.report_words import invented_words, made_again, picture_of, plural, to_list
from corallum.actions.result_plots import Layouts
from corallum.actions.result_words import number
from corallum.actions.survey_estimates import part
from corallum.draw import plots
from corallum.model.assess import Assessment, Figure
from corallum.model.prior import genus_prior
from corallum.model.separability import Pair
from corallum.reference.genera import REGIONS, Genus
from corallum.report.field_sheet import place_of
from corallum.report.report import Block, Facts, Notes, Paragraph, Report, Section, Table
from corallum.store.programme import Programme

__all__ = ["ReferenceQuestion", "reference_report"]

# The programme may be invented; its reference is not for that.
_INVENTED = (
    "The programme is invented: its reef, its sites and its observers do not exist. The reference "
    "is the one that it uses, as it stands."
)
_SEEN = {"w": "in the water", "l": "with a lens", "k": "on the skeleton"}
_MEMORY = "memory"
_MOST_ROWS, _MOST_DRAWN, _MOST_SOURCES = 30, 12, 40


@dataclass(frozen=True, slots=True)
class ReferenceQuestion:
    """What to say of a reference.

    Parameters
    ----------
    region : str or None
        Whose genera are drawn; None is the programme's own, "anywhere" is no region.
    colonies : int
        Drawn of each genus, for the weak spots.
    draws : int
        Drawn of each genus, for the pairs.
    seed : int
        Of all that is drawn.
    """

    region: str | None = None
    colonies: int = 20
    draws: int = 200
    seed: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """All that a report of a reference says."""

    library: Library
    region: str
    summary: Summary
    assessment: Assessment
    pairs: tuple[Pair, ...]

    @property
    def genera(self) -> dict[str, Genus]:
        """Return the genera on the list of the region."""
        every = self.library.reference.entries.genera
        return {name: one for name, one in every.items() if self.region in one.regions}


def reference_report(
    programme: Programme,
    question: ReferenceQuestion,
    now: datetime,
    progress: Callable[[float], None] = lambda _: None,
) -> Report:
    """Return the report of a programme's reference.

    Parameters
    ----------
    programme : Programme
        Whose reference.
    question : ReferenceQuestion
        Region, colonies to draw, and seed.
    now : datetime
        When the report is made.
    progress : callable
        Is told the share done, 0 to 1.

    Raises
    ------
    UnknownNameError
        Where the region is none.
    """
    region = question.region or programme.settings.regions[0]
    check_region(region)
    library = programme_library(programme)
    rng = np.random.default_rng(question.seed)
    assessment = assess_reference(
        library, region, rng, per_genus=question.colonies, seen=("w",),
        progress=part(progress, 0, 0.5),
    )  # fmt: skip
    rng = np.random.default_rng(question.seed)
    pairs = limits_of(library, region, rng, draws=question.draws, progress=part(progress, 0.5, 1))
    below = library.compiled.settings.separable
    told = _Told(
        library, region, summarise(library), assessment,
        tuple(one for one in pairs if one.in_water < below),
    )  # fmt: skip
    return _report(programme, question, told, now)


def _report(
    programme: Programme, question: ReferenceQuestion, told: _Told, now: datetime
) -> Report:
    """Put a report together."""
    settings = programme.settings
    asked = (
        ("Region", words(told.region)), ("Colonies drawn of each genus", str(question.colonies)),
        ("Drawn of each genus for the pairs", str(question.draws)), ("Seed", str(question.seed)),
    )  # fmt: skip
    command = f"corallum report FOLDER --reference --region {told.region} --seed {question.seed}"
    return Report(
        "The reference",
        f"What it holds, from where, and where it fails. {settings.name}, {place_of(told.region)}.",
        _INVENTED if invented_words((settings.name,)) else "",
        (
            Section("Summary", _summary(told, question.colonies)),
            Section("What it holds", _holds(told)),
            Section("Where it fails", _weak(told)),
            Section("Genera that no look in the water tells apart", _pairs(told)),
            Section("Genera of the region", _listed(told)),
            Section("Characters", _characters(told)),
            Section("Sources", _sources(told)),
            made_again(programme, now, asked, f"{command} --out report.pdf"),
        ),
        f"{settings.name}. Corallum report of {day(now)}.",
        frozenset(told.library.compiled.genera),
        _facts(told, now),
    )


def _figure(one: Figure) -> str:
    """Say a share with its standard error."""
    return f"{number(100 * one.value, 1)}{GAP}% ± {number(100 * one.se, 1)}"


def _summary(told: _Told, each: int) -> tuple[Block, ...]:
    """Say what matters most."""
    one, found = told.summary, told.assessment
    lead = (
        f"{len(told.genera)} of its {one.genera} genera are listed for {place_of(told.region)}. Of "
        f"colonies drawn from it and looked at in the water, {percent(found.accuracy.value)} get "
        "the right genus."
    )
    worst = sorted(found.genera, key=lambda row: row.named_right.value)[:5]
    more = [
        f"{percent(found.settled.value)} are settled, and {percent(found.settled_wrong.value)} "
        "settled though wrong.",
        f"Named right least often, of {plural(each, 'colony', 'colonies')} drawn of each: "
        f"{to_list([f'{row.genus} ({percent(row.named_right.value)})' for row in worst])}. On so "
        "few the order is partly chance.",
        f"{plural(len(told.pairs), 'pair')} of its genera can't be told apart in the water."
        if told.pairs
        else "Every two of its genera can be told apart by the best look in the water, made "
        "without error; real looks fall short of that.",
        f"{percent(one.from_memory / max(one.values, 1))} of its values are from memory, and are "
        "to be checked against a source before they are relied on.",
    ]
    caution = (
        "Figures of naming are of the reference as it is written, by simulation with an unknown "
        "observer's errors: they are about the tables, not about the reef, and a genus that the "
        "reference does not hold is in none of them."
    )
    return (
        Paragraph(lead, "lead"), *(Paragraph(text) for text in more), Notes((caution,), "caution"),
    )  # fmt: skip


def _holds(told: _Told) -> tuple[Block, ...]:
    """Count what is in it."""
    one = told.summary
    entries = told.library.reference.entries
    facts = Facts((
        ("Genera", str(one.genera)),
        ("Forms", f"{one.forms}; {len(one.several_forms)} genera have several"),
        ("Characters", str(one.characters)),
        ("Values", f"{one.values:,}"),
        ("Filled, seen in the water or with a lens", _part(one.filled, one.cells)),
        ("Filled, seen on the skeleton", _part(one.skeleton_filled, one.skeleton_cells)),
        ("From memory", _part(one.from_memory, one.values)),
        ("Version", one.hash),
    ))  # fmt: skip
    rows = tuple(
        (words(region),
         str(sum(region in genus.regions for genus in entries.genera.values())),
         str(len({genus.family for genus in entries.genera.values() if region in genus.regions})))
        for region in REGIONS
    )  # fmt: skip
    return facts, Table("Genera by region", ("Region", "Genera", "Families"), rows, "lrr")


def _part(some: int, whole: int) -> str:
    """Say a count and its share."""
    return f"{some:,} of {whole:,} ({percent(some / max(whole, 1))})"


def _weak(told: _Told) -> tuple[Block, ...]:
    """Return weak spots by simulation."""
    found = told.assessment
    worst = sorted(found.genera, key=lambda row: row.named_right.value)[:_MOST_ROWS]
    drawn = []
    for row in worst[:_MOST_DRAWN]:
        value, half = 100 * row.named_right.value, 196 * row.named_right.se
        span = plots.Span(value, max(value - half, 0.0), min(value + half, 100.0))
        drawn.append(plots.Single(row.genus, span))

    def draw(width: int) -> str:
        return plots.plot_singles(drawn, "% of colonies", width, what="Named right")

    rows = tuple(
        (row.genus, percent(row.prior), _figure(row.named_right),
         to_list([f"{name or 'something else'} {percent(share)}" for name, share in row.lost_to]))
        for row in worst
    )  # fmt: skip
    worth = tuple(
        (label(row.character), _figure(row.dropped), _figure(row.added))
        for row in found.worth[:_MOST_ROWS]
    )
    return (
        Facts((
            ("The best genus is right", _figure(found.accuracy)),
            ("Settled", _figure(found.settled)),
            ("Settled but wrong", _figure(found.settled_wrong)),
            ("The named set holds the truth", _figure(found.coverage)),
            ("Genera in the named set", f"{found.set_size.value:.2f} ± {found.set_size.se:.2f}"),
        )),
        picture_of(Layouts(draw(plots.NARROW), draw(plots.WIDE)),
                   "Share of its colonies that get the right genus, with the interval of 95 % of "
                   "the simulation. Least first."),
        Table("Named right least often, ± standard error of the simulation",
              ("Genus", "Share of colonies", "Named right", "Named instead"), rows, "lrrl"),
        Table("What each character is worth: share named right",
              ("Character", "Lost without it", "Gained on a first look"), worth, "lrr"),
        Paragraph("A figure within two standard errors of 0, of either sign, may be 0.", "small"),
    )  # fmt: skip


def _pairs(told: _Told) -> tuple[Block, ...]:
    """Return the pairs that the water can't separate."""
    below = told.library.compiled.settings.separable
    if not told.pairs:
        told_ = "None: by the reference every pair can be told apart by its best look."
        return (Paragraph(told_),)
    rows = tuple(
        (f"{one.a} and {one.b}", percent(one.in_water), percent(one.with_skeleton))
        for one in told.pairs[:_MOST_ROWS]
    )
    rest = len(told.pairs) - len(rows)
    blocks: list[Block] = [
        Paragraph(
            f"Less than {percent(below)} of the colonies of these two would be named right, after "
            "every look was made without error. A half is as good as a coin."
        ),
        Table("Pairs, the least separable first",
              ("Genera", "Right in the water", "With the skeleton"), rows, "lrr"),
        Notes(("A skeleton needs a sample, and a sample needs a permit by local rules.",),
              "caution"),
    ]  # fmt: skip
    if rest > 0:
        blocks.insert(2, Paragraph(f"Not shown: {rest:,} more.", "small"))
    return tuple(blocks)


def _listed(told: _Told) -> tuple[Block, ...]:
    """Return the genera of the region with what is known of each."""
    compiled, reference = told.library.compiled, told.library.reference
    shares = genus_prior(compiled, told.region)
    values: Counter[str] = Counter()
    memory: Counter[str] = Counter()
    for key, value in reference.entries.values.items():
        values[key[0]] += 1
        memory[key[0]] += value.source == _MEMORY
    rows = tuple(
        (name, genus.family or "—", str(len(reference.forms_of(name))), f"{values[name]:,}",
         percent(memory[name] / max(values[name], 1)),
         percent(float(shares[compiled.genera.index(name)])))
        for name, genus in sorted(told.genera.items(), key=lambda one: (one[1].family, one[0]))
    )  # fmt: skip
    headers = ("Genus", "Family", "Forms", "Values", "From memory", "Share of colonies")
    return (
        Table(f"Genera listed for {words(told.region)}, by family", headers, rows, "llrrrr"),
        Paragraph(
            "Share of colonies: what the reference expects before a look, from how many species a "
            "genus has and how often surveys met it.", "small",
        ),
    )  # fmt: skip


def _characters(told: _Told) -> tuple[Block, ...]:
    """Return the characters, and how many genera of the region each is filled for."""
    reference = told.library.reference
    filled: dict[str, set[str]] = {}
    for key in reference.entries.values:
        filled.setdefault(key[2], set()).add(key[0])
    names = set(told.genera)
    rows = tuple(
        (label(one.id), _SEEN[one.seen], one.unit or plural(len(one.states), "state"),
         f"{one.seconds:g} s", f"{len(filled.get(one.id, set()) & names)} of {len(names)}")
        for one in reference.scheme.characters.values()
    )  # fmt: skip
    headers = ("Character", "Seen", "Told in", "A look takes", "Filled for genera")
    return (Table("Characters", headers, rows, "lllrr"),)


def _sources(told: _Told) -> tuple[Block, ...]:
    """Return where values come from."""
    reference = told.library.reference
    counts = Counter(value.source for value in reference.entries.values.values())
    total = sum(counts.values())
    listed = counts.most_common(_MOST_SOURCES)
    known = reference.entries.sources
    rows = tuple(
        (key, known.get(key, ""), f"{n:,}", percent(n / max(total, 1))) for key, n in listed
    )
    blocks: list[Block] = [
        Table("Sources of values", ("Key", "Source", "Values", "Share"), rows, "llrr")
    ]
    if len(counts) > len(listed):
        blocks.append(Paragraph(f"Not shown: {len(counts) - len(listed)} rarer.", "small"))
    return tuple(blocks)


def _facts(told: _Told, now: datetime) -> dict[str, object]:
    """Return the same figures for a program."""
    found = told.assessment
    return {
        "kind": "reference",
        "hash": told.summary.hash,
        "region": told.region,
        "made": now.isoformat(),
        "genera": sorted(told.genera),
        "accuracy": found.accuracy.value,
        "settled": found.settled.value,
        "settled_wrong": found.settled_wrong.value,
        "named_right": {row.genus: row.named_right.value for row in found.genera},
        "not_separable_in_water": [
            {"a": one.a, "b": one.b, "in_water": one.in_water, "with_skeleton": one.with_skeleton}
            for one in told.pairs
        ],
    }  # fmt: skip
