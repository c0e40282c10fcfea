"""What a data set is, in the Ecological Metadata Language 2.2.0.

Who made it is what the user says; nobody is named unasked.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from lxml import etree

__all__ = ["EML", "LICENCES", "Box", "Dataset", "write_eml"]

EML = "eml.xml"
_SPACE = "https://eml.ecoinformatics.org/eml-2.2.0"
_SCHEMA = "http://www.w3.org/2001/XMLSchema-instance"
_XML = "http://www.w3.org/XML/1998/namespace"

# Titles and addresses of the licences that data are shared under, by SPDX identifier.
LICENCES = {
    "CC0-1.0": (
        "Creative Commons Zero v1.0 Universal",
        "https://creativecommons.org/publicdomain/zero/1.0/legalcode",
    ),
    "CC-BY-4.0": (
        "Creative Commons Attribution 4.0 International",
        "https://creativecommons.org/licenses/by/4.0/legalcode",
    ),
    "CC-BY-NC-4.0": (
        "Creative Commons Attribution Non Commercial 4.0 International",
        "https://creativecommons.org/licenses/by-nc/4.0/legalcode",
    ),
}


@dataclass(frozen=True, slots=True)
class Box:
    """What holds all places; degrees north and east."""

    west: float
    east: float
    north: float
    south: float


@dataclass(frozen=True, slots=True)
class Dataset:
    """What a data set is.

    Parameters
    ----------
    id : str
        That no other data set has; the same where the same data are exported again.
    title, abstract : str
        In words.
    organisation : str
        Whose it is: the programme.
    creators : tuple of str
        Names as the user gave them; empty names the organisation alone.
    published : date
        Day of the export.
    licence : str
        Key of ``LICENCES``, or empty where none is given.
    first, last : date or None
        Of what was recorded.
    place : str
        In words.
    box : Box or None
        None where positions are withheld or unknown.
    taxa : tuple of (str, str)
        Rank and name, each once.
    methods : tuple of str
        A paragraph a step.
    notes : tuple of str
        What else a reader should know.
    invented : bool
        Whether all of it is made up, for a demonstration.
    """

    id: str
    title: str
    abstract: str
    organisation: str
    creators: tuple[str, ...]
    published: dt.date
    licence: str = ""
    first: dt.date | None = None
    last: dt.date | None = None
    place: str = ""
    box: Box | None = None
    taxa: tuple[tuple[str, str], ...] = ()
    methods: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    invented: bool = False


def write_eml(found: Dataset) -> bytes:
    """Write the description of a data set, valid by the schema of EML 2.2.0."""
    root = etree.Element(f"{{{_SPACE}}}eml", nsmap={"eml": _SPACE, "xsi": _SCHEMA})
    root.set("packageId", found.id)
    root.set("system", "corallum")
    root.set(f"{{{_SCHEMA}}}schemaLocation", f"{_SPACE} eml.xsd")
    root.set(f"{{{_XML}}}lang", "en")
    dataset = etree.SubElement(root, "dataset")
    untold = found.invented and "invented" not in found.title.casefold()
    _text(dataset, "title", f"{found.title} (invented data)" if untold else found.title)
    for creator in found.creators or ("",):
        _party(dataset, "creator", creator, found.organisation)
    _party(dataset, "metadataProvider", "", found.organisation)
    _text(dataset, "pubDate", found.published.isoformat())
    _text(dataset, "language", "en")
    _paragraphs(dataset, "abstract", (*_invented(found), found.abstract))
    if found.notes:
        _paragraphs(dataset, "additionalInfo", found.notes)
    _licence(dataset, found.licence)
    _coverage(dataset, found)
    _party(dataset, "contact", "", found.organisation)
    if found.methods:
        methods = etree.SubElement(dataset, "methods")
        for text in found.methods:
            _paragraphs(etree.SubElement(methods, "methodStep"), "description", (text,))
    written: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return written


def _invented(found: Dataset) -> tuple[str, ...]:
    """Say that data are invented, where they are."""
    return ("All places, people and records here are invented.",) if found.invented else ()


def _text(parent: etree._Element, name: str, text: str) -> etree._Element:
    """Add an element that holds a text; what XML can't hold is left out."""
    node = etree.SubElement(parent, name)
    node.text = "".join(sign for sign in text if sign.isprintable() or sign in "\n\t") or "-"
    return node


def _paragraphs(parent: etree._Element, name: str, texts: tuple[str, ...]) -> etree._Element:
    """Add an element of paragraphs."""
    node = etree.SubElement(parent, name)
    for text in texts:
        _text(node, "para", text)
    return node


def _party(parent: etree._Element, what: str, name: str, organisation: str) -> None:
    """Add a person of an organisation, or the organisation alone where ``name`` is empty."""
    node = etree.SubElement(parent, what)
    given, _, family = name.strip().rpartition(" ")
    if family:
        person = etree.SubElement(node, "individualName")
        if given:
            _text(person, "givenName", given)
        _text(person, "surName", family)
    _text(node, "organizationName", organisation)


def _licence(parent: etree._Element, key: str) -> None:
    """Add what others may do with the data."""
    if not key:
        _paragraphs(parent, "intellectualRights", ("No licence is given: ask before use.",))
        return
    title, url = LICENCES[key]
    node = etree.SubElement(etree.SubElement(parent, "intellectualRights"), "para")
    node.text = "This work is licensed under "
    link = etree.SubElement(node, "ulink")
    link.set("url", url)
    _text(link, "citetitle", title)
    link.tail = "."
    licensed = etree.SubElement(parent, "licensed")
    _text(licensed, "licenseName", title)
    _text(licensed, "url", url)
    _text(licensed, "identifier", key)


def _coverage(parent: etree._Element, found: Dataset) -> None:
    """Add where, when and of which taxa, as far as any is known."""
    if found.box is None and found.first is None and not found.taxa:
        return
    coverage = etree.SubElement(parent, "coverage")
    if found.box is not None:
        _box(coverage, found.place or found.organisation, found.box)
    if found.first is not None:
        _dates(coverage, found.first, found.last or found.first)
    if found.taxa:
        taxa = etree.SubElement(coverage, "taxonomicCoverage")
        for rank, name in found.taxa:
            one = etree.SubElement(taxa, "taxonomicClassification")
            _text(one, "taxonRankName", rank)
            _text(one, "taxonRankValue", name)


def _box(parent: etree._Element, place: str, box: Box) -> None:
    """Add what holds all places."""
    node = etree.SubElement(parent, "geographicCoverage")
    _text(node, "geographicDescription", place)
    bounds = etree.SubElement(node, "boundingCoordinates")
    for side in ("west", "east", "north", "south"):
        _text(bounds, f"{side}BoundingCoordinate", repr(float(getattr(box, side))))


def _dates(parent: etree._Element, first: dt.date, last: dt.date) -> None:
    """Add a day, or the first and the last."""
    node = etree.SubElement(parent, "temporalCoverage")
    if first == last:
        _text(etree.SubElement(node, "singleDateTime"), "calendarDate", first.isoformat())
        return
    days = etree.SubElement(node, "rangeOfDates")
    for name, day in (("beginDate", first), ("endDate", last)):
        _text(etree.SubElement(days, name), "calendarDate", day.isoformat())
