"""The parts of a survey's report that say what was found on the reef."""

from __future__ import annotations

from collections.abc import Sequence

from corallum.actions.diversity_words import (
    hill_words,
    met_sentence,
    place_line,
    richness_lines,
    richness_notes,
    transect_lines,
)
from corallum.actions.plain_words import percent
from corallum.actions.report_words import NEW_LINE, NONE, figure_cell, picture_of, share_cell
from corallum.actions.result_plots import (
    KINDS,
    draw_change,
    draw_curve,
    draw_pairs,
    draw_sites,
    draw_sizes,
)
from corallum.actions.result_words import (
    change_figures,
    change_sentences,
    changes_first,
    decline_words,
    genera_of,
    group_label,
    largest_first,
    names_share,
    points_word,
    row_figures,
    unit_words,
)
from corallum.actions.size_words import class_lines, half_sentence, juvenile_sentence, mean_sentence
from corallum.actions.survey_changes import ChangeRow, SurveyChange
from corallum.actions.survey_diversity import SurveyDiversity
from corallum.actions.survey_estimates import SurveyEstimate, SurveyRow
from corallum.actions.survey_findings import SurveyFindings
from corallum.estimate.survey_table import ALL_CORAL
from corallum.records.benthos import STONY_CORAL
from corallum.records.survey import Method
from corallum.report.report import Block, Facts, Notes, Paragraph, Section, Table

__all__ = ["appendix", "correction_words", "missing_corrections", "result_sections"]

_WAYS = {"readings": "By second readings", "errors": "By the observers' errors"}
_SAME_ROWS = "Due to names: the share of the corrected figure's variance that comes from mistaken "
_READ_TABLE = (
    f"{_SAME_ROWS}names; more second readings can take away at most that. 0 %: no second reading "
    "found another name, which few readings do not prove. Records: lines of slates that were said "
    "to be it. —: no figure, with its reason below where there is one."
)

_SHARED_OUT = (
    " Every second reading of coral to which no genus was said found one, so that corrected it is "
    "shared out among the genera."
)
# Along tapes and under points large colonies are met more often than small ones.
_MET_BY_SIZE = {
    Method.LINE: "A tape crosses a large colony more often than a small one",
    Method.POINTS: "Points fall on a large colony more often than on a small one",
    Method.PHOTO: "Points fall on a large colony more often than on a small one",
}
_NO_END = (
    " No upper end: it was met on so few transects, one as a rule, that nothing says how much "
    "there is at most."
)


def result_sections(found: SurveyFindings) -> tuple[Section, ...]:
    """Return what was found, as far as anything can be said."""
    if found.estimate is None:
        text = f"No figure can be given yet. {found.no_estimate}"
        return (Section("What was found", (Paragraph(text),)),)
    return (
        Section("What was found", _figures(found.estimate)),
        Section("By stratum and site", _places(found, found.estimate)),
        *_change(found),
        *_diversity(found),
        *_sizes(found, found.view.plan.method),
    )


def correction_words(estimate: SurveyEstimate | SurveyChange) -> str:
    """Say what the filled marks of a plot are corrected by."""
    if "readings" not in estimate.reasons:
        return "corrected by second readings"
    if estimate.question.errors and "errors" not in estimate.reasons:
        return "corrected by the observers' errors"
    return "corrected by nothing yet, so there is none"


def missing_corrections(estimate: SurveyEstimate | SurveyChange) -> tuple[str, ...]:
    """Say which corrections are missing, and why; one that was not asked for is not missing."""
    return tuple(
        f"{_WAYS[way]}: {why}"
        for way, why in estimate.reasons.items()
        if way != "errors" or estimate.question.errors
    )


def _headers(first: str, unit: str, estimate: SurveyEstimate, last: str) -> tuple[str, ...]:
    """Return the headers of a table of figures."""
    errors = ("By the observers' errors too",) if estimate.question.errors else ()
    return (
        first, f"As said, {unit_words(unit)}", "By second readings", *errors, "Due to names", last,
    )  # fmt: skip


def _is_shared_out(row: SurveyRow | ChangeRow) -> bool:
    """Whether nothing is left of what was said to no genus once it is corrected."""
    corrected = row.by_readings or row.by_errors
    if row.group != STONY_CORAL or corrected is None:
        return False
    ends = (row.before, row.after) if isinstance(row, ChangeRow) else (corrected,)
    return all(one.value == one.high == 0 for one in ends)


def _cells(row: SurveyRow, estimate: SurveyEstimate) -> tuple[str, ...]:
    """Return the figures of a row as cells."""
    told = row_figures(row, estimate.data.unit)
    if _is_shared_out(row):
        empty = (NONE,) * (2 + estimate.question.errors)
        return (figure_cell(told.said), *empty)
    errors = (figure_cell(told.by_errors),) if estimate.question.errors else ()
    return (
        figure_cell(told.said), figure_cell(told.by_readings), *errors,
        share_cell(percent(names_share(row))),
    )  # fmt: skip


def _align(estimate: SurveyEstimate, before: int = 1) -> str:
    """Return the alignment of a table of figures."""
    return "l" * (before + 2 + estimate.question.errors) + "rr"


def _group_table(caption: str, rows: Sequence[SurveyRow], estimate: SurveyEstimate) -> Table:
    """Return the figures of groups."""
    by = estimate.question.by
    return Table(
        caption, _headers(by.capitalize(), estimate.data.unit, estimate, "Records"),
        tuple((group_label(row.group), *_cells(row, estimate), f"{row.lines:,}") for row in rows),
        _align(estimate),
    )  # fmt: skip


def _figures(estimate: SurveyEstimate) -> tuple[Block, ...]:
    """Return the figures of the survey by genus or family, plotted and listed."""
    rows = largest_first(estimate.of("survey"))
    if not rows:
        return (Paragraph("No stony coral was met."),)
    by, unit = estimate.question.by, estimate.data.unit
    what = "Cover" if unit == "%" else "Density"
    genera = genera_of(estimate.data.table)
    caption = f"{what} by {by}. Open: as it was said. Filled: {correction_words(estimate)}."
    blocks: list[Block] = [
        picture_of(draw_pairs(rows, unit, genera), caption),
        _group_table(f"{what} by {by}, with intervals of 95 % in brackets", rows, estimate),
        Paragraph(f"{_READ_TABLE}{_shared(rows)}{_endless(rows, unit)}", "small"),
    ]
    missing = missing_corrections(estimate)
    if missing:
        blocks += [Paragraph("Corrections that are missing, and why:"), Notes(missing)]
    return tuple(blocks)


def _shared(rows: Sequence[SurveyRow]) -> str:
    """Say where coral without a genus went, where it went."""
    return _SHARED_OUT if any(map(_is_shared_out, rows)) else ""


def _endless(rows: Sequence[SurveyRow], unit: str) -> str:
    """Say why an interval has no upper end, where one has none."""
    told = (row_figures(row, unit) for row in rows)
    spans = [span for one in told for span in (one.said, one.by_readings, one.by_errors)]
    return _NO_END if any(one and "no upper end" in one.interval for one in spans) else ""


def _places(found: SurveyFindings, estimate: SurveyEstimate) -> tuple[Block, ...]:
    """Return all stony coral by stratum, and the sites on a map."""
    unit = estimate.data.unit
    strata = [row for row in estimate.of("stratum") if row.group == ALL_CORAL]
    sites = [row for row in estimate.of("site") if row.group == ALL_CORAL]
    rows = tuple((row.name, *_cells(row, estimate), str(row.transects)) for row in strata)
    blocks: list[Block] = []
    if rows:
        headers = _headers("Stratum", unit, estimate, "Transects")
        blocks.append(Table("All stony coral by stratum", headers, rows, _align(estimate)))
    plan = found.view.plan
    stratum_of = {site: one.name for one in plan.strata for site in one.sites}
    known = [found.view.sites[site] for site in stratum_of]
    if any(one.latitude is not None for one in known):
        drawn = draw_sites(
            known, {row.place: row.best.value for row in sites}, stratum_of, unit, lambda _: ""
        )
        caption = (
            "Marks as large as the stony coral at each site. No coast and no depths: not for "
            "navigation."
        )
        blocks.append(picture_of(drawn, caption))
    else:
        blocks.append(Paragraph("No site has a position yet, so there is no map."))
    blocks.append(Paragraph("The figures of every site stand in the appendix.", "small"))
    return tuple(blocks)


def _change(found: SurveyFindings) -> tuple[Section, ...]:
    """Return what changed since an earlier survey."""
    if found.change is None:
        if not found.no_change:
            return ()
        text = f"The change since {found.names[0]} can't be given. {found.no_change}"
        return (Section("Change", (Paragraph(text),)),)
    change, names = found.change, found.names
    rows = changes_first(change.rows)
    unit = change.before.unit
    whole = next((row for row in rows if row.group == ALL_CORAL), None)
    title = f"Change since {names[0]}"
    if whole is None:
        return (Section(title, (Paragraph("No stony coral was met in both surveys."),)),)
    told = change_sentences(whole, unit, change.question.fall, names)
    paired = (
        "The same transects were read both times: each is compared with itself."
        if change.paired else
        "The transects are not the same in both surveys: they are compared as two samples, which "
        "takes more of them to see a change."
    )  # fmt: skip
    genera = genera_of(change.before.table, change.after.table)
    caption = (
        f"Open: as it was said. Filled: {correction_words(change)}. An interval across 0 leaves "
        "open whether anything changed."
    )
    blocks: list[Block] = [
        *(Paragraph(one) for one in (*told, paired)),
        picture_of(draw_change(rows, unit, genera), caption),
        _change_table(change, names),
        Paragraph(_decline_note(change), "small"),
    ]
    missing = missing_corrections(change)
    if missing:
        blocks += [Paragraph("Corrections that are missing, and why:"), Notes(missing)]
    own = () if found.estimate is None else found.estimate.notes
    notes = tuple(one for one in change.notes if one not in own)
    if notes:
        blocks.append(Notes(notes, "caution"))
    return (Section(title, tuple(blocks)),)


def _decline_note(change: SurveyChange) -> str:
    """Say how to read the table of changes."""
    return (
        "Before and after: the best figures there are, corrected where they could be. A decline "
        f"is a fall by more than {100 * change.question.fall:.0f} % of what it was. Its chance is "
        "given as said and, below it, corrected; it takes no account of errors beyond the "
        "interval's. With so many genera some seem to change by chance alone."
    )


def _change_table(change: SurveyChange, names: tuple[str, str]) -> Table:
    """Return the changes as a table."""
    unit, errors = change.before.unit, change.question.errors
    rows = []
    for row in changes_first(change.rows):
        before, after = change_figures(row, unit)
        moved = row_figures(row, unit)
        more = (moved.by_errors,) if errors else ()
        spans = (before, after, moved.said, moved.by_readings, *more)
        cells = [figure_cell(one, below=True) for one in spans]
        if _is_shared_out(row):
            cells = [NONE, NONE, cells[2], *(NONE for _ in spans[3:])]
        chances = decline_words(row).replace(" · ", f" ·{NEW_LINE}")
        rows.append((group_label(row.group), *cells, chances))
    headers = (
        change.question.by.capitalize(), f"Before, {unit_words(unit)}", "After",
        f"Change as said, {points_word(unit)}", "By second readings",
        *(("By the observers' errors too",) if errors else ()), "Chance of a decline",
    )  # fmt: skip
    caption = f"Change from {names[0]} to {names[1]}"
    return Table(caption, headers, tuple(rows), "l" * (len(headers) - 1) + "r")


def _diversity(found: SurveyFindings) -> tuple[Section, ...]:
    """Return richness and diversity."""
    one = found.diversity
    if one is None:
        return ()
    kinds = KINDS[one.by]
    hidden = (
        f"{one.n_unidentified:,} records of stony coral tell no {one.by}. They are left out here: "
        f"that is not the same as absent, and {kinds} may hide among them."
        if one.n_unidentified else f"Every record of stony coral was named to {one.by}."
    )  # fmt: skip
    rows = tuple((line.label, line.said, line.rechecked) for line in richness_lines(one))
    blocks: list[Block] = [
        Paragraph(met_sentence(one.richness.rechecked, kinds)),
        Paragraph(hidden),
        Facts((
            ("Hill number, order 1", hill_words(one.shannon)),
            ("Hill number, order 2", hill_words(one.simpson)),
        )),
        Paragraph(f"That many {kinds}, all equally common, would be as diverse.", "small"),
        picture_of(draw_curve(one), f"Beyond twice the sample the curve stops: nothing can be said "
                   f"there. Where it still climbs at its end, more {kinds} are to be met."),
        Table("By records", ("Measure", "As said", "Met once: looked at again"), rows),
    ]  # fmt: skip
    lines = transect_lines(one)
    if lines:
        blocks.append(Table("By transects, as said", ("Estimate", "How many"), tuple(lines)))
    blocks += [Paragraph(note, "small") for note in richness_notes(one)]
    return (Section("Diversity", tuple(blocks)),)


def _sizes(found: SurveyFindings, method: Method) -> tuple[Section, ...]:
    """Return the sizes of colonies, where they were written."""
    one = found.sizes
    if one is None:
        return ()
    classes = one.structure.classes
    unit = "colonies per m²" if classes.density is not None else "% of the colonies"
    rows = tuple(
        (line.label, f"{line.colonies:,}",
         f"{line.value} ({line.interval})" if line.colonies else "none met")
        for line in class_lines(classes)
    )  # fmt: skip
    why = _MET_BY_SIZE.get(method)
    mind = (f"{why}: these are the sizes of what was met, and on the reef small colonies are a "
            "larger share. Belts and quadrats tell that share.",) if why else ()  # fmt: skip
    headers = ("Largest diameter", "Colonies", unit[:1].upper() + unit[1:])
    return (
        Section("Sizes of colonies", (
            Paragraph(half_sentence(one)), Paragraph(juvenile_sentence(one)),
            Paragraph(mean_sentence(one)), *((Notes(mind, "caution"),) if mind else ()),
            picture_of(draw_sizes(one), "Colonies of all genera, by size."),
            Table("Colonies by size", headers, rows, "lrr"),
        )),
    )  # fmt: skip


def appendix(found: SurveyFindings) -> tuple[Section, ...]:
    """Return every site, each stratum by genus, and diversity by place."""
    estimate = found.estimate
    if estimate is None:
        return ()
    unit = estimate.data.unit
    stratum_of = {site: one.name for one in found.view.plan.strata for site in one.sites}
    sites = [row for row in estimate.of("site") if row.group == ALL_CORAL]
    rows = tuple(
        (f"{row.name} ({stratum_of.get(row.place, NONE)})", *_cells(row, estimate),
         str(row.transects))
        for row in sites
    )  # fmt: skip
    blocks: list[Block] = [
        Table("All stony coral by site, stratum in brackets",
              _headers("Site", unit, estimate, "Transects"), rows, _align(estimate)),
        Paragraph("A site of one transect has no interval.", "small"),
    ] if rows else [Paragraph("No stony coral was met at any site.")]  # fmt: skip
    found_sections = [Section("Appendix: sites", tuple(blocks))]
    strata = [
        (name, largest_first(estimate.of("stratum", name))) for name in estimate.data.table.strata
    ]
    tables = tuple(_group_table(f"Stratum {name}", own, estimate) for name, own in strata if own)
    if tables:
        title = f"Appendix: strata by {estimate.question.by}"
        found_sections.append(Section(title, tables))
    if found.diversity is not None and found.diversity.places:
        found_sections.append(Section("Appendix: diversity by place", _by_place(found.diversity)))
    return tuple(found_sections)


def _by_place(diversity: SurveyDiversity) -> tuple[Block, ...]:
    """Return diversity by stratum and site."""
    kinds = KINDS[diversity.by]
    rows = []
    for one in diversity.places:
        level, place, transects, met, first, second, coverage = place_line(one)
        rows.append((place, level, transects, met, first, second, coverage))
    headers = (
        "Place", "Level", "Transects", "Met", "Hill, order 1", "Hill, order 2", "Coverage",
    )  # fmt: skip
    small = (
        f"Coverage: the share of records that are of {kinds} met there. Compare places of like "
        "coverage."
    )
    return (
        Table("Diversity of strata and sites", headers, tuple(rows), "llrrrrr"),
        Paragraph(small, "small"),
    )
