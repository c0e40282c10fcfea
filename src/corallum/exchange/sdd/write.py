"""A reference as an SDD document.

Every table is carried. What SDD can say is said in its own elements, so that another
program reads genera, characters, states, frequencies and sizes; what it has no place for
stands beside, in elements of a namespace of ours, which such a program passes over.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lxml import etree

from corallum.exchange.reference_tables import refuse_unwritable, table_rows
from corallum.exchange.sdd.elements import LANGUAGE, OWN, UBIF, add, add_representation, tag
from corallum.exchange.sdd.write_taxa import (
    add_descriptions,
    add_own_tables,
    add_publications,
    add_regions,
    add_taxa,
    ids_of_taxa,
    unspread_values,
)
from corallum.exchange.sdd.write_terms import add_media, add_terms, ids_of_terms
from corallum.reference.reference import Reference

__all__ = ["OWN_TABLES", "SddAbout", "sdd_document"]

OWN_TABLES = (
    "views", "confusions", "conditions", "hides", "methods", "settings", "cautions",
    "lookalikes", "names", "priors",
)  # fmt: skip
"""Tables that SDD has no place for, or (names) for a part of only."""


@dataclass(frozen=True, slots=True)
class SddAbout:
    """What the document says of itself.

    ``made`` is the moment, such as ``2026-01-31T12:00:00+00:00``; ``version`` that of the
    program. A blank licence says nothing of one.
    """

    title: str
    licence: str
    made: str
    version: str


def sdd_document(
    files: Mapping[str, str],
    reference: Reference,
    about: SddAbout,
    draw: Callable[[str, str], str] | None = None,
) -> bytes:
    """Write a reference as an SDD 1.1 document.

    Parameters
    ----------
    files : mapping of str to str
        Text of its tables, by path within the folder.
    reference : Reference
        The same tables, checked.
    about : SddAbout
        Title, licence and moment.
    draw : callable or None
        Gives the drawing of a state of a character as SVG, or raises KeyError; None leaves
        drawings out.

    Returns
    -------
    bytes
        UTF-8, one element a line.

    Raises
    ------
    InputError
        Where a cell holds a sign that no such document may hold.
    """
    refuse_unwritable(files)
    root = etree.Element(tag("Datasets"), nsmap={None: UBIF, "c": OWN})
    technical = add(root, "TechnicalMetadata", created=about.made)
    add(technical, "Generator", name="Corallum", version=about.version)
    dataset = add(root, "Dataset")
    dataset.set(LANGUAGE, "en")
    add_representation(dataset, about.title)
    tables: dict[str, list[Mapping[str, str]]] = {
        table: [row.cells for row in table_rows(files, table)] for table in OWN_TABLES
    }
    tables["values"] = unspread_values(files, reference.entries)
    add_own_tables(dataset, tables)
    if about.licence:
        statement = add(add(dataset, "IPRStatements"), "IPRStatement", role="License")
        add(statement, "Detail", about.licence)
    terms, taxa = ids_of_terms(files, reference.scheme), ids_of_taxa(reference.entries)
    add_taxa(dataset, files, reference.entries, taxa)
    add_terms(dataset, files, reference.scheme, terms)
    add_descriptions(dataset, files, reference.entries, (terms, taxa))
    add_publications(dataset, files, taxa)
    add_regions(dataset, taxa)
    if draw is not None:
        add_media(dataset, reference.scheme, terms, draw)
    written: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=True, pretty_print=True)
    return written
