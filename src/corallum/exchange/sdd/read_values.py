"""What a coded description of an SDD document shows: states with their words, and ranges."""

from __future__ import annotations

import re
from collections.abc import Sequence

from lxml import etree

from corallum.exchange.reference_tables import Reading, value_text, words_for
from corallum.exchange.sdd.document import place_of
from corallum.exchange.sdd.elements import Element, own_row, tag
from corallum.exchange.sdd.measures import range_of
from corallum.exchange.sdd.read_terms import PREFIXES, Terms, nearest_word

__all__ = ["read_values", "settle_ranges"]

_PLAIN = re.compile(r"\d+(\.\d+)?")
_UNTAKEN = {"TextChar", "Text", "Sequence"}


def read_values(element: Element, of: tuple[str, str], terms: Terms, reading: Reading) -> None:
    """Add a row for each character that a description shows something of.

    Parameters
    ----------
    element : Element
        The coded description.
    of : (str, str)
        Genus and form.
    terms : Terms
        Characters, states and words of the document.
    reading : Reading
        Takes rows, faults and what is left out.
    """
    if element.find(tag("SampleData")) is not None:
        reading.leave("descriptions' single measurements")
    data = element.find(tag("SummaryData"))
    shown: dict[str, list[Element]] = {}
    for one in () if data is None else data:
        name = etree.QName(one).localname
        if name in _UNTAKEN:
            reading.leave("free text and sequences in descriptions")
            continue
        ref = str(one.get("ref", ""))
        if ref not in terms.objects or terms.objects[ref].tag != tag(f"{name}Character"):
            expected = f"a reference to a {name}Character of this file"
            remedy = "Mend the reference, or add the character."
            reading.fault(place_of(one), expected, f"the reference {ref!r}", remedy)
        elif ref in terms.characters:
            shown.setdefault(ref, []).append(one)
    for ref, elements in shown.items():
        if len(elements) > 1:
            reading.leave("second statements on one character", len(elements) - 1)
        _read_value(elements[0], ref, of, (terms, reading))


def _read_value(
    element: Element, ref: str, of: tuple[str, str], into: tuple[Terms, Reading]
) -> None:
    """Add the row of one character; a value of all forms is added once."""
    terms, reading = into
    if element.tag == tag("Categorical"):
        text = _states_text(element, ref, terms, reading)
    else:
        text = _range_text(element, ref, terms, reading)
    if not text:
        return
    inherited = str(element.get("origin", "")).rpartition(":")[2] == "Inherited"
    form = "*" if inherited and terms.is_own else of[1]
    cells = {
        "genus": of[0], "form": form, "character": terms.characters[ref]["character"],
        "value": text,
    }  # fmt: skip
    cells |= own_row(element)
    cells.setdefault("source", "" if terms.is_own else reading.source())
    key = (cells["genus"], form, cells["character"])
    if form != "*" or key not in terms.shared:
        terms.shared.add(key)
        reading.rows.setdefault("values", []).append(cells)


def _states_text(element: Element, ref: str, terms: Terms, reading: Reading) -> str:
    """Return ``word state; word state`` for the states that are scored."""
    states: list[str] = []
    words: list[str] = []
    for one in element.iterfind(tag("State")):
        state = terms.states.get((ref, str(one.get("ref", ""))))
        if state is None:
            expected = f"a state of the character {terms.characters[ref]['character']}"
            found = f"the reference {str(one.get('ref', ''))!r}"
            reading.fault(place_of(one), expected, found, "Mend the reference.")
        elif state not in states:
            states.append(state)
            words.append(_word_of(one, terms, reading))
    if not states:
        return ""
    total = sum(terms.shares[word] for word in words if word)
    if "" in words or not 0.7 <= total <= 1.3:
        if any(words):
            reading.leave("frequencies that do not add up to about 1")
        words = words_for(len(states), terms.shares)
        if not words:
            reading.leave("scores of more states than words can share out")
            return ""
    return value_text(states, words)


def _word_of(state: Element, terms: Terms, reading: Reading) -> str:
    """Return the frequency word of a scored state; empty where there is none."""
    for one in state.iterfind(tag("Modifier")):
        ref = str(one.get("ref", ""))
        if ref not in terms.objects or terms.objects[ref].tag != tag("Modifier"):
            found = f"the reference {ref!r}"
            remedy = "Mend the reference."
            reading.fault(place_of(one), "a reference to a Modifier of this file", found, remedy)
            continue
        if one.get("lower") is not None or one.get("upper") is not None:
            try:
                share = (float(one.get("lower", "0")) + float(one.get("upper", "1"))) / 2
            except ValueError:
                continue
            return nearest_word(share, terms.shares)
        if terms.words.get(ref, "") in terms.shares:
            return terms.words[ref]
    return ""


def _range_text(element: Element, ref: str, terms: Terms, reading: Reading) -> str:
    """Return ``low-high`` in the unit of the character."""
    default = terms.prefixes[ref]
    named = element.findtext(tag("MeasurementUnitPrefix"))
    own = default if named is None else PREFIXES.get(str(named).rpartition(":")[2], ("", 1.0))[1]
    measures: dict[str, float] = {}
    texts: dict[str, str] = {}
    for one in element:
        name = etree.QName(one).localname
        kind = str(one.get("type", "")).rpartition(":")[2]
        if name not in ("Measure", "PMeasure"):
            continue
        values = _numbers(one, ("value", "par") if name == "PMeasure" else ("value",), reading)
        if values:
            measures |= _usable(kind, values, own / default)
            texts[kind] = str(one.get("value")).strip()
    found = range_of(measures)
    if found is None:
        if measures or texts:
            reading.leave("sizes without a range above 0")
        return ""
    pair = (texts.get("PercLower", ""), texts.get("PercUpper", ""))
    as_written = own == default and found == (measures.get("PercLower"), measures.get("PercUpper"))
    if as_written and all(_PLAIN.fullmatch(text) for text in pair):
        return "-".join(pair)
    return "-".join(map(_digits, found))


def _numbers(element: Element, names: Sequence[str], reading: Reading) -> list[float]:
    """Return attributes as numbers; empty, and a fault, where one is none."""
    found = []
    for name in names:
        text = str(element.get(name, ""))
        try:
            number = float(text)
        except ValueError:
            number = float("nan")
        if not abs(number) < 1e300:
            reading.fault(place_of(element), f"a number in {name}", repr(text), "Mend it.")
            return []
        found.append(number)
    return found


def _usable(kind: str, values: Sequence[float], factor: float) -> dict[str, float]:
    """Return a measure in the unit of the character, under the name by which it is used.

    Percentiles count where they leave out 5 % at most on their side, written in percent or
    as a share; a range of standard deviations where it reaches 1.5 to 2.5 of them.
    """
    value = values[0] * factor
    if kind == "PercLower" and values[1] > 5:
        return {}
    if kind == "PercUpper" and not (values[1] >= 95 or 0.95 <= values[1] <= 1):
        return {}
    if kind in ("SDRangeLower", "SDRangeUpper") and not 1.5 <= values[1] <= 2.5:
        return {}
    return {kind: value}


def _digits(number: float) -> str:
    """Return a number in plain digits, without an exponent."""
    return f"{float(f'{number:.6g}'):.9f}".rstrip("0").rstrip(".")


def settle_ranges(terms: Terms, reading: Reading) -> None:
    """Give each size of a file of another make a plausible range that holds what is shown."""
    ends: dict[str, list[float]] = {}
    for row in reading.rows.get("values", ()):
        low, dash, high = row["value"].partition("-")
        if dash and _PLAIN.fullmatch(low) and _PLAIN.fullmatch(high):
            ends.setdefault(row["character"], []).extend((float(low), float(high)))
    for row in terms.characters.values():
        found = ends.get(row["character"])
        if row["kind"] == "states" or not found:
            continue
        least, most = float(row["least"]), float(row["most"])
        if (least, most) == (1e-6, 1e6):
            row["least"], row["most"] = _digits(min(found) / 10), _digits(max(found) * 10)
        else:
            row["least"], row["most"] = _digits(min(least, *found)), _digits(max(most, *found))
