"""The genera of a reference in SDD: names, families, older names, and what each form shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

from corallum.exchange.reference_tables import COLUMNS, table_rows
from corallum.exchange.sdd.elements import (
    OWN,
    Element,
    add,
    add_own_row,
    add_representation,
    shortened,
)
from corallum.exchange.sdd.write_terms import Ids
from corallum.reference.genera import REGIONS, Entries, FormValue
from corallum.reference.values import SizeRange

__all__ = [
    "ALL_FORMS",
    "APHIA",
    "TaxonIds",
    "add_descriptions",
    "add_own_tables",
    "add_publications",
    "add_regions",
    "add_taxa",
    "ids_of_taxa",
    "unspread_values",
]

APHIA = "urn:lsid:marinespecies.org:taxname:"
ALL_FORMS = "*"
# The language of scientific names, as the examples of the standard mark it.
_LATIN = "zxx-x-taxon"


@dataclass(frozen=True, slots=True)
class TaxonIds:
    """Ids within the document of names, sources and regions."""

    genera: Mapping[str, str]
    families: Mapping[str, str]
    orders: Mapping[str, str]
    older: Mapping[str, str]
    sources: Mapping[str, str]
    regions: Mapping[str, str]


def ids_of_taxa(entries: Entries) -> TaxonIds:
    """Number genera, families, orders, older names, sources and regions."""
    genera = entries.genera.values()
    named = {
        "o": dict.fromkeys(genus.order for genus in genera),
        "f": dict.fromkeys(genus.family for genus in genera),
        "t": dict.fromkeys(entries.genera),
        "x": dict.fromkeys(older.older_name for older in entries.names),
        "p": dict.fromkeys(entries.sources),
        "a": dict.fromkeys(REGIONS),
    }
    order, family, genus, older, source, region = (
        {name: f"{letter}a{n}" for n, name in enumerate(names, 1)}
        for letter, names in named.items()
    )
    return TaxonIds(genus, family, order, older, source, region)


def add_taxa(dataset: Element, files: Mapping[str, str], entries: Entries, ids: TaxonIds) -> None:
    """Add the names, and the hierarchy of order, family and genus with its older names."""
    names = add(dataset, "TaxonNames")
    for rank, numbers in (("ord", ids.orders), ("fam", ids.families)):
        for name, number in numbers.items():
            _add_name(names, name, number, rank)
    for row in table_rows(files, "genera"):
        _add_genus(names, row.cells, ids)
    for name, number in ids.older.items():
        _add_name(names, name, number, "")
    _add_hierarchy(dataset, entries, ids)


def _add_name(names: Element, name: str, number: str, rank: str) -> None:
    """Add a name without more; its label may be too long for SDD, its canonical form never is."""
    found = add(names, "TaxonName", id=number)
    add_representation(found, name, language=_LATIN)
    add_own_row(found, {"name": name}, {"name": shortened(name)}, ("name",))
    if rank:
        add(found, "Rank", code=rank)


def _add_genus(names: Element, cells: Mapping[str, str], ids: TaxonIds) -> None:
    """Add the name of a genus with its authority, description and identifier."""
    found = add(names, "TaxonName", id=ids.genera[cells["genus"]])
    add_representation(found, cells["genus"], detail=cells["description"], language=_LATIN)
    native = {
        "genus": shortened(cells["genus"]), "family": cells["family"], "order": cells["order"],
        "authority": " ".join(cells["authority"].split()), "description": cells["description"],
        "regions": "|".join(part.strip() for part in cells["regions"].split("|")),
    }  # fmt: skip
    if cells["aphia_id"].isascii() and cells["aphia_id"].isdigit():
        links = add(found, "Links")
        add(links, "Link", rel="SameAs", href=f"{APHIA}{cells['aphia_id']}")
        native["aphia_id"] = cells["aphia_id"]
    add_own_row(found, cells, native, COLUMNS["genera"])
    add(found, "Rank", code="gen")
    add(add(found, "CanonicalName"), "Simple", shortened(cells["genus"]))
    add(add(found, "CanonicalAuthorship"), "Simple", cells["authority"])


def _add_hierarchy(dataset: Element, entries: Entries, ids: TaxonIds) -> None:
    """Add orders, their families, their genera, and under each genus its older names."""
    tree = add(add(dataset, "TaxonHierarchies"), "TaxonHierarchy", id="z1")
    add_representation(tree, "orders, families and genera")
    add(tree, "TaxonHierarchyType", "UnspecifiedTaxonomy")
    nodes = add(tree, "Nodes")
    older: dict[str, dict[str, None]] = {}
    for one in entries.names:
        older.setdefault(one.genus, {})[one.older_name] = None
    inner: dict[tuple[str, ...], str] = {}
    for genus in entries.genera.values():
        order, family = (genus.order,), (genus.order, genus.family)
        if order not in inner:
            _add_node(nodes, order, ids.orders[genus.order], inner)
        if family not in inner:
            _add_node(nodes, family, ids.families[genus.family], inner)
        found = _add_node(nodes, (*family, genus.name), ids.genera[genus.name], inner)
        if genus.name in older:
            synonyms = add(found, "Synonyms")
            for name in older[genus.name]:
                add(synonyms, "TaxonName", ref=ids.older[name])


def _add_node(
    nodes: Element, key: tuple[str, ...], taxon: str, inner: dict[tuple[str, ...], str]
) -> Element:
    """Add a node under the node of all of its key but the last part."""
    inner[key] = f"h{len(inner) + 1}"
    found = add(nodes, "Node", id=inner[key])
    if len(key) > 1:
        add(found, "Parent", ref=inner[key[:-1]])
    add(found, "TaxonName", ref=taxon)
    return found


def unspread_values(files: Mapping[str, str], entries: Entries) -> list[Mapping[str, str]]:
    """Return the rows for all forms that serve none, since each form has its own."""
    own = {
        (row.cells["genus"], row.cells["form"], row.cells["character"])
        for row in table_rows(files, "values")
    }
    forms: dict[str, list[str]] = {}
    for form in entries.forms:
        forms.setdefault(form.genus, []).append(form.id)
    return [
        row.cells
        for row in table_rows(files, "values")
        if row.cells["form"] == ALL_FORMS
        and all(
            (row.cells["genus"], form, row.cells["character"]) in own
            for form in forms[row.cells["genus"]]
        )
    ]


def add_descriptions(
    dataset: Element, files: Mapping[str, str], entries: Entries, ids: tuple[Ids, TaxonIds]
) -> None:
    """Add a coded description of each form of each genus, with all that it shows."""
    terms, taxa = ids
    shared = {
        (row.cells["genus"], row.cells["character"])
        for row in table_rows(files, "values")
        if row.cells["form"] == ALL_FORMS
    }
    own = {
        (row.cells["genus"], row.cells["form"], row.cells["character"])
        for row in table_rows(files, "values")
    }
    shown: dict[tuple[str, str], list[tuple[str, FormValue]]] = {}
    for (genus, form, character), value in entries.values.items():
        shown.setdefault((genus, form), []).append((character, value))
    listed = add(dataset, "CodedDescriptions")
    for n, row in enumerate(table_rows(files, "forms"), 1):
        genus, form = row.cells["genus"], row.cells["form"]
        found = add(listed, "CodedDescription", id=f"d{n}")
        _add_form(found, row.cells, entries, taxa)
        values = shown.get((genus, form), [])
        data = add(found, "SummaryData") if values else found
        for character, value in values:
            lent = (genus, character) in shared and (genus, form, character) not in own
            one = _add_value(data, (character, value), terms)
            if lent:
                one.set("origin", "Inherited")


def _add_form(found: Element, cells: Mapping[str, str], entries: Entries, ids: TaxonIds) -> None:
    """Add what a description is of: the genus, its form, source and regions."""
    genus = cells["genus"]
    add_representation(
        found, f"{genus}, {cells['form'].replace('_', ' ')}", token=cells["form"],
        detail=cells["description"],
    )  # fmt: skip
    native = {
        "genus": genus, "form": shortened(cells["form"]), "description": cells["description"],
        "source": cells["source"],
    }  # fmt: skip
    add_own_row(found, cells, native, COLUMNS["forms"])
    scope = add(found, "Scope")
    add(scope, "TaxonName", ref=ids.genera[genus])
    add(scope, "Citation", ref=ids.sources[cells["source"]])
    for region in dict.fromkeys(entries.genera[genus].regions):
        add(scope, "GeographicArea", ref=ids.regions[region])


def _add_value(data: Element, shown: tuple[str, FormValue], ids: Ids) -> Element:
    """Add what a form shows of one character, and where that is from."""
    character, value = shown
    text = value.text
    if isinstance(value.value, SizeRange):
        low, _, high = (part.strip() for part in text.partition("-"))
        found = add(data, "Quantitative", ref=ids.characters[character])
        native = {"value": f"{low}-{high}"}
    else:
        found = add(data, "Categorical", ref=ids.characters[character])
        said = "; ".join(f"{word} {state}" for state, word in value.value.words.items())
        native = {"value": said}
    add_own_row(found, {"source": value.source, "value": text}, native, ("source", "value"))
    if isinstance(value.value, SizeRange):
        # The range holds 95 % of colonies: its ends are the percentiles 2.5 and 97.5.
        add(found, "PMeasure", type="PercLower", par="2.5", value=low)
        add(found, "PMeasure", type="PercUpper", par="97.5", value=high)
        return found
    for state, word in value.value.words.items():
        one = add(found, "State", ref=ids.states[character, state])
        add(one, "Modifier", ref=ids.words[word])
    return found


def add_publications(dataset: Element, files: Mapping[str, str], ids: TaxonIds) -> None:
    """Add the sources."""
    listed = add(dataset, "Publications")
    for row in table_rows(files, "sources"):
        key, citation = row.cells["source"], row.cells["citation"]
        found = add(listed, "Publication", id=ids.sources[key])
        add_representation(found, citation, token=key)
        native = {"source": shortened(key), "citation": shortened(citation)}
        add_own_row(found, row.cells, native, COLUMNS["sources"])


def add_regions(dataset: Element, ids: TaxonIds) -> None:
    """Add the regions."""
    listed = add(dataset, "GeographicAreas")
    for region, number in ids.regions.items():
        found = add(listed, "GeographicArea", id=number)
        add_representation(found, region.replace("_", " "), token=region)


def add_own_tables(dataset: Element, rows: Mapping[str, list[Mapping[str, str]]]) -> None:
    """Add the tables that SDD has no place for, whole."""
    reference = etree.SubElement(dataset, f"{{{OWN}}}reference")
    for table, cells in rows.items():
        one = etree.SubElement(reference, f"{{{OWN}}}table", {"name": table})
        for row in cells:
            kept = {name: row[name] for name in COLUMNS[table] if row.get(name)}
            etree.SubElement(one, f"{{{OWN}}}row", kept)
