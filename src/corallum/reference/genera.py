"""The genera: names, forms, values, look-alikes, cautions and regional shares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from corallum.reference.scheme import Scheme
from corallum.reference.tables import Faults, Row, read_rows
from corallum.reference.values import Value, parse_value

__all__ = [
    "REGIONS",
    "Caution",
    "Entries",
    "Form",
    "FormValue",
    "Genus",
    "Lookalike",
    "OlderName",
    "RegionShare",
    "parse_entries",
]

REGIONS = (
    "indo_pacific",
    "red_sea",
    "western_indian_ocean",
    "central_pacific",
    "eastern_pacific",
    "atlantic",
)
ALL_FORMS = "*"

COLUMNS: dict[str, tuple[str, ...]] = {
    "genera": (
        "genus", "family", "order", "authority", "aphia_id", "regions", "description", "cautions",
        "source",
    ),
    "forms": ("genus", "form", "weight", "description", "source"),
    "values": ("genus", "form", "character", "value", "source"),
    "lookalikes": ("genus", "other", "characters", "note", "source"),
    "names": ("older_name", "genus", "which", "source"),
    "priors": ("region", "genus", "species", "species_share", "survey_share", "source"),
    "cautions": ("caution", "text", "source"),
    "sources": ("source", "kind", "citation"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Genus:
    """One genus as the reference knows it."""

    name: str
    family: str
    order: str
    authority: str
    aphia_id: str
    regions: tuple[str, ...]
    description: str
    cautions: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Form:
    """A look of a genus, with the share of its colonies (0 to 1)."""

    genus: str
    id: str
    weight: float
    description: str
    source: str


@dataclass(frozen=True, slots=True)
class FormValue:
    """What one cell says, and where from."""

    value: Value
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Lookalike:
    """A genus that another is taken for, and the characters that decide."""

    genus: str
    other: str
    characters: tuple[str, ...]
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class OlderName:
    """An older name and one genus of today that (part of) it belongs to."""

    older_name: str
    genus: str
    which: str
    source: str


@dataclass(frozen=True, slots=True)
class RegionShare:
    """Share of a genus in a region, by species and by survey (None: not known)."""

    region: str
    genus: str
    species: float
    species_share: float
    survey_share: float | None
    source: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution that shows with the answer."""

    id: str
    text: str


@dataclass(frozen=True, slots=True)
class Entries:
    """All that the reference says of the genera."""

    genera: Mapping[str, Genus]
    forms: tuple[Form, ...]
    values: Mapping[tuple[str, str, str], FormValue]
    lookalikes: tuple[Lookalike, ...]
    names: tuple[OlderName, ...]
    shares: tuple[RegionShare, ...]
    cautions: Mapping[str, Caution]
    sources: Mapping[str, str]


def parse_entries(files: Mapping[str, str], scheme: Scheme, faults: Faults) -> Entries:
    """Read every table of the genera; faults are kept, none is raised."""
    sources = {
        row.required("source"): row.required("citation")
        for row in _distinct(_rows(files, "sources", faults), "source")
    }
    cautions = {
        row.required("caution"): Caution(row.text("caution"), row.required("text"))
        for row in _distinct(_rows(files, "cautions", faults), "caution")
    }
    genera = _parse_genera(_rows(files, "genera", faults), tuple(cautions), tuple(sources))
    forms = _parse_forms(_rows(files, "forms", faults), genera, tuple(sources), faults)
    return Entries(
        genera,
        forms,
        _parse_values(_rows(files, "values", faults), forms, scheme, tuple(sources)),
        _parse_lookalikes(_rows(files, "lookalikes", faults), genera, scheme, tuple(sources)),
        _parse_names(_rows(files, "names", faults), genera, tuple(sources)),
        _parse_shares(_rows(files, "priors", faults), genera),
        cautions,
        sources,
    )


def _rows(files: Mapping[str, str], table: str, faults: Faults) -> list[Row]:
    """Rows of ``table.csv`` and of every file in the folder ``table/``."""
    names = sorted(name for name in files if name == f"{table}.csv" or name.startswith(f"{table}/"))
    if not names:
        remedy = "Copy it back from the shipped reference."
        faults.add(f"{table}.csv", "", "this table", "no such file", remedy)
    return [row for name in names for row in read_rows(files[name], name, COLUMNS[table], faults)]


class _Once:
    """Remembers keys across files, and reports the second row of the same key."""

    def __init__(self) -> None:
        self.first: dict[tuple[str, ...], Row] = {}

    def seen(self, row: Row, columns: tuple[str, ...]) -> bool:
        """Whether the row repeats an earlier one."""
        key = tuple(row.text(column) for column in columns)
        earlier = self.first.setdefault(key, row)
        if earlier is row:
            return False
        place = f"each once (first in {earlier.file}, row {earlier.number})"
        row.fault(columns[-1], place, "Remove one of the two rows.")
        return True


def _distinct(rows: list[Row], column: str) -> list[Row]:
    """Rows without repeats of one column; each repeat is a fault."""
    once = _Once()
    return [row for row in rows if not once.seen(row, (column,))]


def _parse_genera(
    rows: list[Row], cautions: tuple[str, ...], sources: tuple[str, ...]
) -> dict[str, Genus]:
    """Genera by name, in alphabetical order."""
    once, genera = _Once(), {}
    for row in rows:
        if once.seen(row, ("genus",)):
            continue
        regions = row.several("regions", REGIONS)
        if not regions:
            row.fault("regions", f"some of {', '.join(REGIONS)}", "Join them with |.")
        genera[row.required("genus")] = Genus(
            row.text("genus"),
            row.required("family"),
            row.required("order"),
            row.required("authority"),
            row.text("aphia_id"),
            regions,
            row.required("description"),
            row.several("cautions", cautions),
            row.chosen("source", sources),
        )
    return dict(sorted(genera.items()))


def _parse_forms(
    rows: list[Row], genera: Mapping[str, Genus], sources: tuple[str, ...], faults: Faults
) -> tuple[Form, ...]:
    """Forms in the order of genera; weights of a genus must add up to one."""
    once, forms = _Once(), []
    for row in rows:
        if once.seen(row, ("genus", "form")):
            continue
        _known_genus(row, "genus", genera)
        forms.append(
            Form(
                row.text("genus"),
                row.required("form"),
                row.number_in("weight", 0.001, 1),
                row.required("description"),
                row.chosen("source", sources),
            )
        )
    totals: dict[str, float] = {}
    for form in forms:
        totals[form.genus] = totals.get(form.genus, 0.0) + form.weight
    for name in genera:
        if abs(totals.get(name, 0.0) - 1) > 0.005:
            found = f"{totals.get(name, 0.0):g}"
            remedy = "Mend the column weight of its forms."
            faults.add("forms", name, "form weights that add up to 1", found, remedy)
    known = [form for form in forms if form.genus in genera]
    return tuple(sorted(known, key=lambda form: form.genus))


def _parse_values(
    rows: list[Row], forms: tuple[Form, ...], scheme: Scheme, sources: tuple[str, ...]
) -> dict[tuple[str, str, str], FormValue]:
    """Values by genus, form and character; form ``*`` spreads to forms without their own."""
    form_ids: dict[str, list[str]] = {}
    for form in forms:
        form_ids.setdefault(form.genus, []).append(form.id)
    once = _Once()
    own: dict[tuple[str, str, str], FormValue] = {}
    shared: dict[tuple[str, str, str], FormValue] = {}
    for row in rows:
        if once.seen(row, ("genus", "form", "character")):
            continue
        genus, form_id, id_ = row.text("genus"), row.text("form"), row.text("character")
        if genus not in form_ids:
            row.fault(
                "genus", "a genus that has forms", "Mend the name, or add it to genera and forms."
            )
            continue
        if form_id != ALL_FORMS and form_id not in form_ids[genus]:
            row.fault("form", f"* or one of {', '.join(form_ids[genus])}", "Mend the form.")
            continue
        if id_ not in scheme.characters:
            row.fault("character", "a character of characters.csv", "Mend the id.")
            continue
        row.chosen("source", sources)
        value = parse_value(row, "value", scheme.characters[id_], scheme)
        if value is None:
            continue
        (shared if form_id == ALL_FORMS else own)[genus, form_id, id_] = FormValue(
            value, row.text("value"), row.text("source")
        )
    spread = {
        (genus, form, id_): value
        for (genus, _, id_), value in shared.items()
        for form in form_ids[genus]
    }
    return spread | own


def _parse_lookalikes(
    rows: list[Row], genera: Mapping[str, Genus], scheme: Scheme, sources: tuple[str, ...]
) -> tuple[Lookalike, ...]:
    """Pairs that are taken for each other."""
    once, found = _Once(), []
    ids = (*scheme.characters, *scheme.view_ids)
    for row in rows:
        if once.seen(row, ("genus", "other")):
            continue
        _known_genus(row, "genus", genera)
        _known_genus(row, "other", genera)
        characters = row.several("characters", ids)
        row.chosen("source", sources)
        found.append(
            Lookalike(
                row.text("genus"),
                row.text("other"),
                characters,
                row.required("note"),
                row.text("source"),
            )
        )
    return tuple(found)


def _parse_names(
    rows: list[Row], genera: Mapping[str, Genus], sources: tuple[str, ...]
) -> tuple[OlderName, ...]:
    """Older names, one row for each genus they lead to."""
    once, found = _Once(), []
    for row in rows:
        if once.seen(row, ("older_name", "genus", "which")):
            continue
        _known_genus(row, "genus", genera)
        row.chosen("source", sources)
        found.append(
            OlderName(
                row.required("older_name"), row.text("genus"), row.text("which"), row.text("source")
            )
        )
    return tuple(found)


def _parse_shares(rows: list[Row], genera: Mapping[str, Genus]) -> tuple[RegionShare, ...]:
    """Regional shares."""
    once, found = _Once(), []
    for row in rows:
        if once.seen(row, ("region", "genus")):
            continue
        _known_genus(row, "genus", genera)
        survey = row.number_in("survey_share", 0, 1) if row.text("survey_share") else None
        found.append(
            RegionShare(
                row.chosen("region", REGIONS),
                row.text("genus"),
                row.number_in("species", 0, 1e4),
                row.number_in("species_share", 0, 1),
                survey,
                row.required("source"),
            )
        )
    return tuple(found)


def _known_genus(row: Row, column: str, genera: Mapping[str, Genus]) -> None:
    """Report a genus that the table of genera does not hold."""
    if genera and row.text(column) not in genera:
        row.fault(column, "a genus of the table of genera", "Mend the spelling, or add the genus.")
