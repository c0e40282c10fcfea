"""The names and descriptions of an SDD document: genera, forms, and what each shows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from corallum.exchange.reference_tables import Reading, plain_id
from corallum.exchange.sdd.document import place_of
from corallum.exchange.sdd.elements import Element, label_of, own_row, tag
from corallum.exchange.sdd.read_terms import Terms, find_object
from corallum.exchange.sdd.read_values import read_values
from corallum.exchange.sdd.write_taxa import APHIA
from corallum.reference.genera import REGIONS

__all__ = ["read_sources", "read_taxa"]

_UNKNOWN = "not given"


@dataclass(slots=True)
class _Taxa:
    """Names, sources and regions by id of the document, and the genera met so far."""

    sources: Mapping[str, str]
    nodes: Mapping[str, Element]
    genera: dict[str, dict[str, str]] = field(default_factory=dict)
    of_name: dict[str, Element] = field(default_factory=dict)
    described: dict[str, int] = field(default_factory=dict)


def read_sources(dataset: Element, terms: Terms, reading: Reading) -> dict[str, str]:
    """Read publications as sources; return their keys by id of the document."""
    found: dict[str, str] = {}
    for element in dataset.iterfind(f"{tag('Publications')}/{tag('Publication')}"):
        label = label_of(element) or label_of(element, "Token")
        own = own_row(element)
        taken = [row["source"] for row in reading.rows.get("sources", ())]
        key = own.get("source") or label_of(element, "Token")
        if not key or key in taken:
            key = plain_id(label, taken, "source")
        kind = "" if terms.is_own else "publication"
        reading.row("sources", **({"kind": kind, "citation": label or key} | own | {"source": key}))
        found[str(element.get("id"))] = key
    return found


def read_taxa(dataset: Element, terms: Terms, sources: Mapping[str, str], reading: Reading) -> None:
    """Read every coded description, and the genera that they are of."""
    trees = dataset.findall(f"{tag('TaxonHierarchies')}/{tag('TaxonHierarchy')}")
    if len(trees) > 1:
        reading.leave("further hierarchies of names", len(trees) - 1)
    nodes: dict[str, Element] = {}
    for node in trees[0].iter(tag("Node")) if trees else ():
        named = node.find(tag("TaxonName"))
        if named is not None:
            nodes.setdefault(str(named.get("ref")), node)
    taxa = _Taxa(sources, nodes)
    described = list(dataset.iterfind(f"{tag('CodedDescriptions')}/{tag('CodedDescription')}"))
    names = [_genus_of(element, terms, reading) for element in described]
    for name, _ in names:
        taxa.described[name] = taxa.described.get(name, 0) + 1
    for element, (name, taxon) in zip(described, names, strict=True):
        _read_description(element, (name, taxon), taxa, (terms, reading))
    _order_genera(dataset, taxa, reading)
    for name, row in taxa.genera.items():
        row["regions"] = row["regions"] or "|".join(REGIONS)
        _read_older(taxa.of_name.get(name), name, taxa, (terms, reading))


def _genus_of(element: Element, terms: Terms, reading: Reading) -> tuple[str, Element | None]:
    """Return the name that a description is of, and the object that holds it."""
    named = element.findall(f"{tag('Scope')}/{tag('TaxonName')}")
    if len(named) > 1:
        reading.leave("second names of one description", len(named) - 1)
    taxon = find_object(named[0], terms.objects, "TaxonName", reading) if named else None
    name = "" if taxon is None else _name_of(taxon)
    name = name or label_of(element)
    if not name:
        remedy = "Name the taxon in its Scope, or give it a Label."
        reading.fault(place_of(element), "a name or a label", "none", remedy)
    return name, taxon


def _name_of(taxon: Element) -> str:
    """Return a name: as our row has it, the canonical one, or the label."""
    simple = taxon.findtext(f"{tag('CanonicalName')}/{tag('Simple')}") or ""
    own = own_row(taxon)
    return own.get("genus") or own.get("name") or " ".join(str(simple).split()) or label_of(taxon)


def _read_description(
    element: Element,
    of: tuple[str, Element | None],
    taxa: _Taxa,
    into: tuple[Terms, Reading],
) -> None:
    """Read one form of a genus and what it shows."""
    (name, taxon), (terms, reading) = of, into
    if name not in taxa.genera:
        taxa.genera[name] = _genus_row(name, taxon, taxa, into)
        if taxon is not None:
            taxa.of_name[name] = taxon
    forms = [row["form"] for row in reading.rows.get("forms", ()) if row["genus"] == name]
    form = own_row(element).get("form") or label_of(element, "Token")
    if not form or form in forms:
        label = label_of(element) if taxa.described[name] > 1 else "typical"
        form = plain_id(label, forms, "form")
    cited = element.findall(f"{tag('Scope')}/{tag('Citation')}")
    source = taxa.sources.get(str(cited[0].get("ref"))) if cited else None
    detail = label_of(element, "Description", "Detail")
    cells = {
        "genus": name, "form": form, "weight": f"{1 / taxa.described[name]:.6g}",
        "description": detail or label_of(element) or form,
        "source": source or ("" if terms.is_own else reading.source()),
    }  # fmt: skip
    reading.row("forms", **(cells | own_row(element) | {"genus": name, "form": form}))
    _add_regions(element, taxa.genera[name], into)
    read_values(element, (name, form), terms, reading)


def _add_regions(element: Element, row: dict[str, str], into: tuple[Terms, Reading]) -> None:
    """Add the regions of a description to those of its genus."""
    terms, reading = into
    known = row["regions"].split("|") if row["regions"] else []
    for area in element.iterfind(f"{tag('Scope')}/{tag('GeographicArea')}"):
        found = find_object(area, terms.objects, "GeographicArea", reading)
        if found is None:
            continue
        id_ = label_of(found, "Token") or plain_id(label_of(found), (), "area")
        if id_ not in REGIONS:
            reading.leave("areas that are no region of the reference")
        elif id_ not in known:
            known.append(id_)
    row["regions"] = "|".join(known)


def _genus_row(
    name: str, taxon: Element | None, taxa: _Taxa, into: tuple[Terms, Reading]
) -> dict[str, str]:
    """Return the row of a genus; its regions come with its descriptions."""
    terms, reading = into
    ranks = dict(_ranks_above(taxon, taxa, terms)) if taxon is not None else {}
    authority = link = detail = ""
    own: dict[str, str] = {}
    if taxon is not None:
        authority = str(taxon.findtext(f"{tag('CanonicalAuthorship')}/{tag('Simple')}") or "")
        detail = label_of(taxon, "Description", "Detail")
        links = [
            str(one.get("href", "")) for one in taxon.iterfind(f"{tag('Links')}/{tag('Link')}")
        ]
        link = next((href for href in links if href.startswith(APHIA)), "")
        own = own_row(taxon)
    blank = "" if terms.is_own else _UNKNOWN
    row = {
        "genus": name, "family": ranks.get("fam", blank), "order": ranks.get("ord", blank),
        "authority": " ".join(authority.split()) or blank,
        "aphia_id": link.removeprefix(APHIA), "regions": "", "description": detail or blank,
        "cautions": "",
    }  # fmt: skip
    row |= own
    row.setdefault("source", "" if terms.is_own else reading.source())
    reading.rows.setdefault("genera", []).append(row)
    return row


def _ranks_above(taxon: Element, taxa: _Taxa, terms: Terms) -> Iterator[tuple[str, str]]:
    """Yield rank and name of what stands above a name in the hierarchy; a circle ends."""
    node = taxa.nodes.get(str(taxon.get("id")))
    seen = set()
    while node is not None and node not in seen:
        seen.add(node)
        parent = node.find(tag("Parent"))
        node = None if parent is None else terms.objects.get(str(parent.get("ref")))
        named = None if node is None else node.find(tag("TaxonName"))
        above = None if named is None else terms.objects.get(str(named.get("ref")))
        rank = None if above is None else above.find(tag("Rank"))
        if above is not None and rank is not None:
            yield str(rank.get("code", "")).rpartition(":")[2], _name_of(above)


def _order_genera(dataset: Element, taxa: _Taxa, reading: Reading) -> None:
    """Put genera into the order in which the document names them."""
    order = {
        str(element.get("id")): n
        for n, element in enumerate(dataset.iterfind(f"{tag('TaxonNames')}/{tag('TaxonName')}"))
    }

    def place(row: Mapping[str, str]) -> int:
        """Return where a genus stands; those without a name of their own come last."""
        taxon = taxa.of_name.get(row["genus"])
        return len(order) if taxon is None else order.get(str(taxon.get("id")), len(order))

    reading.rows.get("genera", []).sort(key=place)


def _read_older(
    taxon: Element | None, genus: str, taxa: _Taxa, into: tuple[Terms, Reading]
) -> None:
    """Read the older names of a genus out of its node; in a file of ours they are a table."""
    terms, reading = into
    node = None if taxon is None else taxa.nodes.get(str(taxon.get("id")))
    if node is None or terms.is_own:
        return
    for named in node.iterfind(f"{tag('Synonyms')}/{tag('TaxonName')}"):
        older = find_object(named, terms.objects, "TaxonName", reading)
        if older is not None:
            cells = {"older_name": _name_of(older), "genus": genus, "which": ""}
            reading.row("names", **cells, source=reading.source())
