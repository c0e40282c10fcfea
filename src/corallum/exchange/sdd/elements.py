"""Elements of an SDD document: how one is made, and how its texts are read.

SDD has a place for elements of another namespace in nearly every object. There stands, as
``row``, what a row of our tables holds and SDD has no place for; and in the data set, as
``reference``, the tables that it has no place for at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

from lxml import etree

__all__ = [
    "LANGUAGE",
    "MOST_LABEL",
    "OWN",
    "UBIF",
    "Element",
    "add",
    "add_own_row",
    "add_representation",
    "label_of",
    "own_row",
    "shortened",
    "tag",
]

Element: TypeAlias = etree._Element  # noqa: SLF001  the library has no public name for it

UBIF = "http://rs.tdwg.org/UBIF/2006/"
# A name for what is ours, not an address: nothing is to be found there.
OWN = "urn:corallum:reference:1"
LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
# The longest label that SDD allows.
MOST_LABEL = 255


def tag(name: str) -> str:
    """Return the full name of an element of SDD."""
    return f"{{{UBIF}}}{name}"


def add(parent: Element, name: str, text: str = "", /, **attributes: str) -> Element:
    """Add an element of SDD with its text and attributes, and return it."""
    found = etree.SubElement(parent, tag(name), attributes)
    if text:
        found.text = text
    return found


def add_representation(
    parent: Element, label: str, *, token: str = "", detail: str = "", language: str = ""
) -> Element:
    """Add what people see of an object: its label, its id in our tables, its description."""
    found = add(parent, "Representation")
    full = add(found, "Label", shortened(label))
    if language:
        full.set(LANGUAGE, language)
    if token:
        add(found, "Label", shortened(token), role="Token")
    if detail:
        add(found, "Detail", detail, role="Description")
    return found


def shortened(text: str) -> str:
    """Return a label as SDD allows it and a reader gives it back: one line, not too long."""
    plain = " ".join(text.split())
    return plain if len(plain) <= MOST_LABEL else f"{plain[: MOST_LABEL - 1].rstrip()}…"


def add_own_row(
    parent: Element, cells: Mapping[str, str], native: Mapping[str, str], columns: tuple[str, ...]
) -> None:
    """Add the cells of a row that a reader would not get back from what SDD itself says."""
    kept = {
        name: cells.get(name, "") for name in columns if cells.get(name, "") != native.get(name, "")
    }
    if kept:
        etree.SubElement(parent, f"{{{OWN}}}row", kept)


def own_row(element: Element) -> dict[str, str]:
    """Return the cells that stand in our own row of an element; none where it has none."""
    found = element.find(f"{{{OWN}}}row")
    return {} if found is None else {str(name): str(text) for name, text in found.attrib.items()}


def label_of(element: Element, role: str = "Full", name: str = "Label") -> str:
    """Return the first text of a role in an object's representation; empty where none is.

    A label without a role is the full one, a detail without one the description.
    """
    default = "Full" if name == "Label" else "Description"
    for found in element.iterfind(f"{tag('Representation')}/{tag(name)}"):
        said = str(found.get("role", default)).rpartition(":")[2]
        text = " ".join(str(found.text or "").split()) if name == "Label" else found.text or ""
        if said == role and text.strip():
            return str(text).strip()
    return ""
