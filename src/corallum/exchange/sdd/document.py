"""Open an SDD document: parse it without ever fetching or expanding anything, and find its data.

A document type declaration is refused whatever it says: SDD has none, and entities are how
a small file grows without end or asks for other files.
"""

from __future__ import annotations

from lxml import etree

from corallum.errors import Fault, InputError
from corallum.exchange.reference_tables import Reading
from corallum.exchange.sdd.elements import UBIF, Element, tag

__all__ = ["open_dataset", "place_of"]

# Parts of a data set that are of no use here, in plain words.
_PASSED_OVER = {
    "Specimens": "specimens", "NaturalLanguageDescriptions": "descriptions in free text",
    "IdentificationKeys": "identification keys", "TaxonOccurrences": "occurrences",
    "TaxonIdentifications": "identifications", "Geolocalisations": "places",
    "Agents": "people and organisations", "Audiences": "audiences",
}  # fmt: skip


def place_of(element: Element) -> str:
    """Say where an element stands."""
    name = etree.QName(element).localname
    return f"line {element.sourceline}, element {name}"


def open_dataset(raw: bytes, reading: Reading) -> Element:
    """Parse a document and return the data set that is to be read.

    Parameters
    ----------
    raw : bytes
        The file, in any encoding that it declares.
    reading : Reading
        Takes what is left out.

    Returns
    -------
    Element
        The first data set that has descriptions.

    Raises
    ------
    InputError
        Where it is no sound document, or not of SDD 1.1.
    """
    root = _parse(raw, reading.file)
    if root.tag != tag("Datasets"):
        space = etree.QName(root).namespace or "none"
        found = f"the element {etree.QName(root).localname} of the namespace {space}"
        reading.fault(
            place_of(root), f"the element Datasets of the namespace {UBIF} (SDD 1.1)",
            found[:200], "Save the data as SDD 1.1.",
        )  # fmt: skip
        raise InputError(reading.faults)
    datasets = root.findall(tag("Dataset"))
    chosen = [one for one in datasets if one.find(tag("CodedDescriptions")) is not None]
    if not chosen:
        remedy = "Export the coded descriptions too: without them there is nothing to compare."
        reading.fault("", "a Dataset with CodedDescriptions", "none", remedy)
        raise InputError(reading.faults)
    if len(datasets) > 1:
        reading.leave("further data sets", len(datasets) - 1)
    for name, words in _PASSED_OVER.items():
        part = chosen[0].find(tag(name))
        if part is not None and len(part):
            reading.leave(words, len(part))
    return chosen[0]


def _parse(raw: bytes, file: str) -> Element:
    """Parse bytes; refuse declarations of document types and entities."""
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, huge_tree=False, load_dtd=False,
        remove_comments=True, remove_pis=True,
    )  # fmt: skip
    try:
        root = etree.fromstring(raw, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        line = getattr(error, "lineno", None) or 1
        said = str(getattr(error, "msg", None) or error).split("\n", 1)[0]
        remedy = "Get the whole file again, or mend it there."
        fault = Fault(file, f"line {line}", "a whole and sound XML document", said, remedy)
        raise InputError([fault]) from error
    if root.getroottree().docinfo.internalDTD is not None:
        remedy = "Remove the declaration <!DOCTYPE ...>."
        fault = Fault(file, "", "no document type declaration", "one", remedy)
        raise InputError([fault])
    return root
