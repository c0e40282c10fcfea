"""The terms of an SDD document: words, characters with their states, groups and rules."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from lxml import etree

from corallum.exchange.reference_tables import Reading, plain_id
from corallum.exchange.sdd.document import place_of
from corallum.exchange.sdd.elements import OWN, Element, label_of, own_row, tag

__all__ = [
    "PREFIXES",
    "Terms",
    "find_object",
    "index_objects",
    "nearest_word",
    "own_tables",
    "read_terms",
]

# What a look costs and how it is seen are not in SDD: a glance, in the water.
_SECONDS, _SEEN, _MISREAD = "10", "w", "0.1"
_LEAST, _MOST = "0.000001", "1000000"
PREFIXES = {
    "kilo": ("k", 1e3), "hecto": ("h", 1e2), "deca": ("da", 1e1), "noprefix": ("", 1.0),
    "deci": ("d", 1e-1), "centi": ("c", 1e-2), "milli": ("m", 1e-3), "micro": ("u", 1e-6),
}  # fmt: skip


@dataclass(slots=True)
class Terms:
    """What the ids of a document stand for.

    ``characters`` and ``words`` are by id of the document, ``states`` by id of character and
    state; ``prefixes`` is the factor of the default unit of each size, ``shared`` what was read
    of all forms of a genus.
    """

    objects: Mapping[str, Element]
    is_own: bool
    shares: Mapping[str, float]
    characters: dict[str, dict[str, str]] = field(default_factory=dict)
    states: dict[tuple[str, str], str] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    prefixes: dict[str, float] = field(default_factory=dict)
    shared: set[tuple[str, str, str]] = field(default_factory=set)


def index_objects(dataset: Element, reading: Reading) -> dict[str, Element]:
    """Return every object that has an id; an id that stands twice is a fault."""
    found: dict[str, Element] = {}
    for element in dataset.iter(etree.Element):
        id_ = element.get("id")
        if id_ is None:
            continue
        if id_ in found:
            expected = f"the id {id_} once (first in line {found[id_].sourceline})"
            reading.fault(place_of(element), expected, "it again", "Give each its own id.")
        found.setdefault(id_, element)
    return found


def find_object(
    element: Element, objects: Mapping[str, Element], kind: str, reading: Reading
) -> Element | None:
    """Return what an element refers to; a reference that leads nowhere is a fault."""
    ref = str(element.get("ref", ""))
    found = objects.get(ref)
    if found is None or not str(etree.QName(found).localname).endswith(kind):
        said = f"the reference {ref!r}" if ref else "no reference"
        remedy = "Mend the reference, or add what it means."
        reading.fault(place_of(element), f"a reference to a {kind} of this file", said, remedy)
        return None
    return found


def read_terms(dataset: Element, terms: Terms, reading: Reading) -> None:
    """Read words, characters and their tree into ``terms`` and into rows."""
    _read_words(dataset, terms, reading)
    listed = dataset.find(tag("Characters"))
    if listed is None or not len(listed):
        remedy = "Export the characters too."
        reading.fault(place_of(dataset), "Characters", "none", remedy)
        return
    for element in listed:
        kind = etree.QName(element).localname
        if kind == "CategoricalCharacter":
            _read_categorical(element, terms, reading)
        elif kind == "QuantitativeCharacter":
            _read_size(element, terms, reading)
        else:
            reading.leave("characters of text or of sequences")
    _read_tree(dataset, terms, reading)


def _read_words(dataset: Element, terms: Terms, reading: Reading) -> None:
    """Read modifiers of frequency as our words; in a file of ours they are the words."""
    for element in dataset.iterfind(
        "/".join(map(tag, ("DescriptiveConcepts", "DescriptiveConcept", "Modifiers", "Modifier")))
    ):
        class_ = str(element.findtext(tag("ModifierClass")) or "").rpartition(":")[2]
        word = label_of(element, "Token") or label_of(element)
        if class_ != "Frequency":
            reading.leave("modifiers that say no frequency")
            continue
        if terms.is_own:
            reading.row("words", **({"word": word} | own_row(element)))
        elif word.lower() not in terms.shares:
            word = nearest_word(_middle(element.find(tag("ProportionRange"))), terms.shares)
        terms.words[str(element.get("id"))] = word if terms.is_own else word.lower()


def _middle(proportion: Element | None) -> float:
    """Return the middle of a range of shares; .5 where it can't be read."""
    try:
        low = float("0" if proportion is None else proportion.get("lowerestimate", "0"))
        high = float("1" if proportion is None else proportion.get("upperestimate", "1"))
    except ValueError:
        return 0.5
    return (low + high) / 2


def nearest_word(share: float, shares: Mapping[str, float]) -> str:
    """Return the word whose share of colonies is nearest."""
    return min(shares, key=lambda word: abs(shares[word] - share))


def _base_row(element: Element, terms: Terms, reading: Reading) -> dict[str, str]:
    """Return the row of a character as far as it does not hang on its kind."""
    label = label_of(element) or label_of(element, "Token")
    if not label:
        remedy = "Give it a Representation with a Label."
        reading.fault(place_of(element), "a label", "none", remedy)
    own = own_row(element)
    taken = [row["character"] for row in terms.characters.values()]
    id_ = label_of(element, "Token")
    if not id_ or id_ in taken:
        id_ = plain_id(id_ or label, taken, "character")
    row = {
        "character": id_, "kind": "states", "unit": "", "seen": _SEEN, "group": "",
        "seconds": _SECONDS, "least": "", "most": "", "applies_when": "", "question": label,
        "definition": label_of(element, "Description", "Detail") or label,
    }  # fmt: skip
    row |= own
    row.setdefault("source", "" if terms.is_own else reading.source())
    return row


def _read_categorical(element: Element, terms: Terms, reading: Reading) -> None:
    """Read a character with states; one with fewer than two tells nothing apart."""
    row = _base_row(element, terms, reading)
    number = str(element.get("id"))
    listed = element.find(tag("States"))
    found: list[tuple[str, Element]] = []
    for one in () if listed is None else listed:
        if etree.QName(one).localname == "StateReference":
            state = find_object(one, terms.objects, "StateDefinition", reading)
        else:
            state = one
        if state is not None:
            found.append((str(one.get("ref") or one.get("id")), state))
    if len(found) < 2:
        reading.leave("characters with fewer than two states")
        return
    terms.characters[number] = row
    reading.rows.setdefault("characters", []).append(row)
    taken: list[str] = []
    for ref, state in found:
        label = label_of(state) or label_of(state, "Token")
        id_ = label_of(state, "Token")
        if not id_ or id_ in taken:
            id_ = plain_id(id_ or label, taken, "state")
        own = own_row(state)
        id_ = own.get("state", id_)
        taken.append(id_)
        terms.states[number, ref] = id_
        if "only_a_view" in own:
            continue
        detail = label_of(state, "Description", "Detail") or label
        cells = {"character": row["character"], "state": id_, "label": label, "definition": detail}
        reading.row("states", **(cells | own))


def _read_size(element: Element, terms: Terms, reading: Reading) -> None:
    """Read a size or a count with its unit and plausible range."""
    row = _base_row(element, terms, reading)
    own = own_row(element)
    number = str(element.get("id"))
    assumed = element.find(tag("Assumptions"))
    whole = assumed is not None and assumed.findtext(tag("ValuesAreInteger")) in ("true", "1")
    unit = " ".join(str(element.findtext(f"{tag('MeasurementUnit')}/{tag('Label')}") or "").split())
    prefix = element.findtext(f"{tag('Default')}/{tag('MeasurementUnitPrefix')}") or "noprefix"
    sign, factor = PREFIXES.get(str(prefix).rpartition(":")[2], ("", 1.0))
    row |= {"kind": "count" if whole else "size", "unit": f"{sign}{unit}", "least": _LEAST,
            "most": _MOST}  # fmt: skip
    plausible = None if assumed is None else assumed.find(tag("PlausibleRange"))
    if plausible is not None:
        row |= {"least": plausible.get("lower", _LEAST), "most": plausible.get("upper", _MOST)}
    row |= own
    terms.characters[number] = row
    terms.prefixes[number] = factor
    reading.rows.setdefault("characters", []).append(row)


def _read_tree(dataset: Element, terms: Terms, reading: Reading) -> None:
    """Read groups and rules out of the first tree of characters."""
    trees = dataset.findall(f"{tag('CharacterTrees')}/{tag('CharacterTree')}")
    if len(trees) > 1:
        reading.leave("further trees of characters", len(trees) - 1)
    if trees:
        for leaf in trees[0].iter(tag("CharNode")):
            _read_leaf(leaf, terms, reading)
        for node in trees[0].iter(tag("Node")) if terms.is_own else ():
            _group_of([node], terms, reading)
    for row in terms.characters.values():
        if not row["group"]:
            # Misread by itself: nothing says which are misread together.
            row["group"] = _add_group(row["character"], row["question"], {}, reading)


def _read_leaf(leaf: Element, terms: Terms, reading: Reading) -> None:
    """Read the group and the rule of one character."""
    pointed = leaf.find(tag("Character"))
    if pointed is None or str(pointed.get("ref")) not in terms.objects:
        found = "none" if pointed is None else f"the reference {str(pointed.get('ref'))!r}"
        reading.fault(place_of(leaf), "a Character of this file", found, "Mend the reference.")
        return
    row = terms.characters.get(str(pointed.get("ref")))
    if row is not None:
        above = [leaf, *_ancestors(leaf, terms.objects)]
        row["group"] = row["group"] or _group_of(above, terms, reading)
        _read_rules(above, row, terms, reading)


def _ancestors(node: Element, objects: Mapping[str, Element]) -> Iterator[Element]:
    """Yield the nodes above one, the nearest first; a circle ends."""
    seen = set()
    parent = node.find(tag("Parent"))
    while parent is not None:
        above = objects.get(str(parent.get("ref")))
        if above is None or above in seen:
            return
        seen.add(above)
        yield above
        parent = above.find(tag("Parent"))


def _group_of(above: list[Element], terms: Terms, reading: Reading) -> str:
    """Return the group that the nearest node with a concept stands for; empty for none."""
    for node in above:
        pointed = node.find(tag("DescriptiveConcept"))
        concept = None if pointed is None else terms.objects.get(str(pointed.get("ref")))
        if concept is not None:
            label = label_of(concept) or label_of(concept, "Token")
            own = own_row(concept)
            id_ = own.get("group") or label_of(concept, "Token") or plain_id(label, (), "group")
            return _add_group(id_, label or id_, own, reading)
    return ""


def _add_group(id_: str, label: str, own: Mapping[str, str], reading: Reading) -> str:
    """Add a group where it is not there yet, and return its id."""
    rows = reading.rows.setdefault("groups", [])
    if not any(row["group"] == id_ for row in rows):
        cells = {"group": id_, "label": label, "misread": _MISREAD, "conditions_act": "no"}
        rows.append({**cells, **own})
    return id_


def _read_rules(above: list[Element], row: dict[str, str], terms: Terms, reading: Reading) -> None:
    """Read where a character applies: the nearest rule that names states of one character."""
    for node in above:
        rules = node.find(tag("DependencyRules"))
        for name in ("OnlyApplicableIf", "InapplicableIf"):
            rule = None if rules is None else rules.find(tag(name))
            if rule is None:
                continue
            if row["applies_when"]:
                reading.leave("second rules on where a character applies")
                continue
            named = _named_states(rule, terms, reading)
            parents = {parent for parent, _ in named}
            if len(parents) != 1 or row["character"] in parents:
                reading.leave("rules on where a character applies, by several characters")
                continue
            parent = parents.pop()
            states = [state for _, state in named]
            if name == "InapplicableIf":
                number = next(n for n, r in terms.characters.items() if r["character"] == parent)
                every = [state for (of, _), state in terms.states.items() if of == number]
                states = [state for state in every if state not in states]
            if states:
                row["applies_when"] = f"{parent} = {'|'.join(states)}"


def _named_states(rule: Element, terms: Terms, reading: Reading) -> list[tuple[str, str]]:
    """Return the states that a rule names, each with its character."""
    by_state = {ref: (number, state) for (number, ref), state in terms.states.items()}
    found = []
    for one in rule.iterfind(tag("State")):
        known = by_state.get(str(one.get("ref")))
        if known is not None:
            found.append((terms.characters[known[0]]["character"], known[1]))
        elif find_object(one, terms.objects, "StateDefinition", reading) is not None:
            reading.leave("states of rules, of characters that are not taken")
    return found


def own_tables(dataset: Element) -> dict[str, list[dict[str, str]]]:
    """Return the tables that stand whole in a file of ours."""
    return {
        str(table.get("name")): [
            {str(name): str(text) for name, text in row.attrib.items()} for row in table
        ]
        for table in dataset.iterfind(f"{{{OWN}}}reference/{{{OWN}}}table")
    }
