"""The description of an archive, ``meta.xml``: which file holds which rows and terms.

Written and read by the text guide of Darwin Core. What is read may come from anybody:
entities are not expanded, nothing is fetched, and every fault is said at once.
"""

from __future__ import annotations

import codecs
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from lxml import etree

from corallum.errors import Fault
from corallum.exchange.archive.terms import short_name
from corallum.exchange.archive.text_table import TAB, TextForm

__all__ = ["META", "Described", "TableShape", "parse_xml", "read_meta", "write_meta"]

META = "meta.xml"
_SPACE = "http://rs.tdwg.org/dwc/text/"
_SCHEMA = "http://www.w3.org/2001/XMLSchema-instance"
_ESCAPES = {"\\t": "\t", "\\n": "\n", "\\r": "\r", "\\r\\n": "\r\n"}
_MOST_COLUMN = 500
_MOST_DIGITS = 6


@dataclass(frozen=True, slots=True)
class TableShape:
    """One file of an archive.

    Parameters
    ----------
    row_type : str
        Address of what a row is.
    file : str
        Name within the archive.
    terms : tuple of str
        Address of the term of each column, in order; empty where the column has none.
    id_column : int
        Of the id (core), or of the id of the core's row that it belongs to (extension).
    defaults : mapping of str to str
        Value of terms that have no column.
    form : TextForm
        How it is written.
    """

    row_type: str
    file: str
    terms: tuple[str, ...]
    id_column: int = 0
    defaults: dict[str, str] = field(default_factory=dict)
    form: TextForm = TAB

    @property
    def names(self) -> tuple[str, ...]:
        """Short names of the columns, for a header."""
        return tuple(short_name(term) if term else "id" for term in self.terms)


@dataclass(frozen=True, slots=True)
class Described:
    """What an archive holds: a core, and tables whose rows belong to the core's."""

    core: TableShape
    extensions: tuple[TableShape, ...]
    metadata: str = ""


def write_meta(described: Described) -> bytes:
    """Write the description of an archive."""
    root = etree.Element(f"{{{_SPACE}}}archive", nsmap={None: _SPACE})
    if described.metadata:
        root.set("metadata", described.metadata)
    _write_table(root, described.core, core=True)
    for one in described.extensions:
        _write_table(root, one, core=False)
    found: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return found


def _write_table(root: etree._Element, shape: TableShape, *, core: bool) -> None:
    """Add one file."""
    node = etree.SubElement(root, f"{{{_SPACE}}}{'core' if core else 'extension'}")
    for name, value in (
        ("encoding", "UTF-8"), ("linesTerminatedBy", "\\n"),
        ("fieldsTerminatedBy", shape.form.separator.replace("\t", "\\t")),
        ("fieldsEnclosedBy", shape.form.quote), ("ignoreHeaderLines", "1"),
        ("rowType", shape.row_type),
    ):  # fmt: skip
        node.set(name, value)
    files = etree.SubElement(node, f"{{{_SPACE}}}files")
    etree.SubElement(files, f"{{{_SPACE}}}location").text = shape.file
    etree.SubElement(node, f"{{{_SPACE}}}{'id' if core else 'coreid'}").set(
        "index", str(shape.id_column)
    )
    for column, term in enumerate(shape.terms):
        if term:
            one = etree.SubElement(node, f"{{{_SPACE}}}field")
            one.set("index", str(column))
            one.set("term", term)
    for term, value in shape.defaults.items():
        one = etree.SubElement(node, f"{{{_SPACE}}}field")
        one.set("default", value)
        one.set("term", term)


def parse_xml(data: bytes, file: str, faults: list[Fault]) -> etree._Element | None:
    """Return the root of an XML text from anybody, or note why not.

    No entity is expanded, no document type is taken, nothing is fetched.
    """
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        found = str(error).splitlines()[0][:120] if str(error) else "nothing"
        faults.append(Fault(file, "", "XML", found, "Export it again."))
        return None
    if root.getroottree().docinfo.doctype:
        remedy = "Take the line with <!DOCTYPE out."
        faults.append(Fault(file, "", "XML without a document type", "one", remedy))
        return None
    return root


def read_meta(data: bytes, faults: list[Fault]) -> Described | None:
    """Read the description of an archive; every fault is noted.

    Parameters
    ----------
    data : bytes
        The text of ``meta.xml``.
    faults : list of Fault
        Gets what is wrong.

    Returns
    -------
    Described or None
        None where it can't be read at all.
    """
    root = parse_xml(data, META, faults)
    if root is None:
        return None
    cores = root.findall(f"{{{_SPACE}}}core")
    if root.tag != f"{{{_SPACE}}}archive" or len(cores) != 1:
        remedy = "Export it again: this is no description of an archive."
        faults.append(Fault(META, "", "an archive with one core", f"{len(cores)}", remedy))
        return None
    before = len(faults)
    core = _read_table(cores[0], "id", faults)
    rest = [_read_table(one, "coreid", faults) for one in root.findall(f"{{{_SPACE}}}extension")]
    if core is None or len(faults) > before:
        return None
    return Described(core, tuple(one for one in rest if one), root.get("metadata", ""))


def _read_table(node: etree._Element, key: str, faults: list[Fault]) -> TableShape | None:
    """Read one file of the description."""
    files = [(one.text or "").strip() for one in node.iter(f"{{{_SPACE}}}location")]
    place = files[0] if files else node.get("rowType", "a table")
    if len(files) != 1 or not _is_plain(files[0]):
        remedy = "Give each table one file, its name without a path."
        faults.append(Fault(META, place[:80], "one file name", ", ".join(files)[:80], remedy))
        return None
    id_column = _number(node.find(f"{{{_SPACE}}}{key}"), place, key, faults)
    columns, defaults = _fields(node, place, faults)
    form = _form(node, place, faults)
    if id_column is None or form is None:
        return None
    width = max([id_column, *columns]) + 1
    terms = tuple(columns.get(i, "") for i in range(width))
    return TableShape(node.get("rowType", ""), files[0], terms, id_column, defaults, form)


def _fields(
    node: etree._Element, place: str, faults: list[Fault]
) -> tuple[dict[int, str], dict[str, str]]:
    """Return the term of each column, and of those without a column their values."""
    columns: dict[int, str] = {}
    defaults: dict[str, str] = {}
    for one in node.findall(f"{{{_SPACE}}}field"):
        term = one.get("term", "")
        if one.get("index") is None:
            defaults[term] = one.get("default", "")
            continue
        column = _number(one, place, short_name(term), faults)
        if column is None:
            continue
        if column in columns or term in columns.values():
            told = f"column {column} and {short_name(term)} again"
            faults.append(Fault(META, place, "each column and term once", told, "Mend it."))
        columns[column] = term
    return columns, defaults


def _number(node: etree._Element | None, place: str, what: str, faults: list[Fault]) -> int | None:
    """Return the column that a node names."""
    text = "" if node is None else node.get("index", "")
    if _is_small(text) and int(text) <= _MOST_COLUMN:
        return int(text)
    remedy = "Number columns from 0."
    faults.append(Fault(META, place, f"the column of {what}", repr(text)[:40], remedy))
    return None


def _form(node: etree._Element, place: str, faults: list[Fault]) -> TextForm | None:
    """Return how a file is written."""
    separator = node.get("fieldsTerminatedBy", ",")
    separator = _ESCAPES.get(separator, separator)
    quote = node.get("fieldsEnclosedBy", '"')
    encoding = node.get("encoding", "UTF-8")
    header = node.get("ignoreHeaderLines", "0")
    wrong = [
        ("fieldsTerminatedBy", separator, len(separator) == 1 and separator not in f"\n\r{quote}"),
        ("fieldsEnclosedBy", quote, len(quote) <= 1 and quote not in tuple(" \n\r\t")),
        ("encoding", encoding, _is_known(encoding)),
        ("ignoreHeaderLines", header, _is_small(header)),
    ]
    for name, found, right in wrong:
        if not right:
            remedy = "Export it again as tab-delimited UTF-8."
            told = repr(found)[:40]
            faults.append(Fault(META, f"{place}, {name}", "a value that is known", told, remedy))
    if not all(right for _, _, right in wrong):
        return None
    return TextForm(separator, quote, encoding.lower(), int(header))


def _is_small(text: str) -> bool:
    """Whether a text is a whole number of a few digits."""
    return text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS


def _is_known(encoding: str) -> bool:
    """Whether a text in this encoding can be read."""
    try:
        # Codecs that turn bytes into bytes are encodings to Python too.
        return codecs.lookup(encoding).name in {
            "utf-8", "utf-16", "utf-16-le", "utf-16-be", "ascii", "iso8859-1", "cp1252",
        }  # fmt: skip
    except LookupError:
        return False


def _is_plain(name: str) -> bool:
    """Whether a name stays within the archive."""
    return (
        bool(name)
        and name not in {".", ".."}
        and PurePosixPath(name).name == name
        and ("\\" not in name and ":" not in name)
    )
