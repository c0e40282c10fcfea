"""Right and wrong answers of a qualification out of CSV text, all faults at once."""

from __future__ import annotations

from collections.abc import Mapping

from corallum.errors import Fault, InputError
from corallum.exchange.sheet import Sheet, shown

__all__ = ["RIGHT_COLUMNS", "read_right_answers"]

RIGHT_COLUMNS = ("observer", "item", "right")
_WORDS = {"yes": True, "true": True, "1": True, "right": True,
          "no": False, "false": False, "0": False, "wrong": False}  # fmt: skip


def read_right_answers(text: str, file: str) -> Mapping[str, list[tuple[str, bool]]]:
    """Read a table with the columns observer, item and right, in the order answered.

    Parameters
    ----------
    text : str
        CSV, a header in the first row; other columns are not looked at, so a table of
        marks may be given. ``right`` is yes or no, true or false, 1 or 0, right or wrong;
        a row where it is blank was not answered.
    file : str
        What to call the file in a fault.

    Returns
    -------
    mapping of str to list of (str, bool)
        Item and whether it was right, by observer; ids are texts.

    Raises
    ------
    InputError
        With every fault by row and column; the first 100, and how many more there are.
    """
    sheet = Sheet(file, RIGHT_COLUMNS)
    found: dict[str, list[tuple[str, bool]]] = {}
    for number, row in sheet.rows(text):
        observer, item, word = (row[name] for name in RIGHT_COLUMNS)
        if not word:
            continue
        for name, cell in (("observer", observer), ("item", item)):
            if not cell or not cell.isprintable():
                place = f"row {number}, {name}"
                sheet.fault(place, "an id on one line", shown(cell) if cell else "nothing")
        right = _WORDS.get(word.casefold())
        if right is None:
            sheet.fault(f"row {number}, right", "yes or no", shown(word))
        else:
            found.setdefault(observer, []).append((item, right))
    sheet.check()
    if not found:
        remedy = "Write a header observer,item,right and one answer per row."
        raise InputError([Fault(file, "", "answers", "none at all", remedy)])
    return found
