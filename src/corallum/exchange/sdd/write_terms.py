"""The terms of a reference in SDD: frequency words, characters, their states and their tree."""

from __future__ import annotations

import base64
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from corallum.exchange.reference_tables import COLUMNS, number_text, table_rows
from corallum.exchange.sdd.elements import (
    Element,
    add,
    add_own_row,
    add_representation,
    shortened,
)
from corallum.reference.scheme import Character, Scheme

__all__ = ["FREQUENCY", "Ids", "add_media", "add_terms", "ids_of_terms", "proportions"]

FREQUENCY = "frequency words"
_TREE = "evidence groups"
Draw = Callable[[str, str], str]


@dataclass(frozen=True, slots=True)
class Ids:
    """Ids within the document, by what they stand for in the tables."""

    characters: Mapping[str, str]
    states: Mapping[tuple[str, str], str]
    words: Mapping[str, str]
    groups: Mapping[str, str]


def ids_of_terms(files: Mapping[str, str], scheme: Scheme) -> Ids:
    """Number characters, states, words and groups, in the order of their tables."""
    states = [(row.cells["character"], row.cells["state"]) for row in table_rows(files, "states")]
    # A state that only a view knows may still be named by a value.
    states += [
        (view.id, view.state)
        for view in scheme.views
        if view.id in scheme.characters and (view.id, view.state) not in states
    ]
    return Ids(
        {id_: f"c{n}" for n, id_ in enumerate(scheme.characters, 1)},
        {key: f"s{n}" for n, key in enumerate(dict.fromkeys(states), 1)},
        {word: f"w{n}" for n, word in enumerate(scheme.words, 1)},
        {group: f"g{n}" for n, group in enumerate(scheme.groups, 1)},
    )


def add_terms(dataset: Element, files: Mapping[str, str], scheme: Scheme, ids: Ids) -> None:
    """Add concepts (frequency words, evidence groups), characters and the tree of characters."""
    concepts = add(dataset, "DescriptiveConcepts")
    _add_words(concepts, files, scheme, ids)
    for row in table_rows(files, "groups"):
        group = add(concepts, "DescriptiveConcept", id=ids.groups[row.cells["group"]])
        add_representation(group, row.cells["label"], token=row.cells["group"])
        native = {
            "group": shortened(row.cells["group"]), "label": shortened(row.cells["label"]),
        }  # fmt: skip
        add_own_row(group, row.cells, native, COLUMNS["groups"])
    characters = add(dataset, "Characters")
    states = {
        (r.cells["character"], r.cells["state"]): r.cells for r in table_rows(files, "states")
    }
    for row in table_rows(files, "characters"):
        character = scheme.characters[row.cells["character"]]
        if character.is_size:
            _add_size(characters, row.cells, character, ids)
        else:
            _add_categorical(characters, row.cells, states, ids)
    _add_tree(dataset, scheme, ids)


def proportions(words: Mapping[str, float]) -> dict[str, tuple[float, float]]:
    """Return the range of shares that each word stands for.

    The ranges meet halfway between neighbours, and reach from 0 to 1.
    """
    ranked = sorted(words, key=lambda word: words[word])
    edges = [0.0]
    edges += [
        (words[a] + words[b]) / 2 for a, b in pairwise(ranked)
    ]  # fmt: skip
    edges.append(1.0)
    return {word: (edges[i], edges[i + 1]) for i, word in enumerate(ranked)}


def _add_words(concepts: Element, files: Mapping[str, str], scheme: Scheme, ids: Ids) -> None:
    """Add the frequency words as modifiers."""
    concept = add(concepts, "DescriptiveConcept", id="f1")
    add_representation(concept, FREQUENCY)
    modifiers = add(concept, "Modifiers")
    ranges = proportions(scheme.words)
    for row in table_rows(files, "words"):
        word = row.cells["word"]
        modifier = add(modifiers, "Modifier", id=ids.words[word])
        add_representation(modifier, word, token=word)
        add_own_row(modifier, row.cells, {"word": word}, COLUMNS["words"])
        add(modifier, "ModifierClass", "Frequency")
        low, high = ranges[word]
        add(modifier, "ProportionRange", lowerestimate=f"{low:.6g}", upperestimate=f"{high:.6g}")


def _described(cells: Mapping[str, str], id_: str) -> dict[str, str]:
    """Return the cells of a character that its representation and its node give back."""
    return {
        "character": shortened(id_), "question": shortened(cells["question"]),
        "definition": cells["definition"], "group": cells["group"],
        "applies_when": _rule(cells["applies_when"]),
    }  # fmt: skip


def _rule(text: str) -> str:
    """Return ``character = state|state`` as it is read back."""
    parent, equals, states = text.partition("=")
    if not equals:
        return ""
    return f"{parent.strip()} = {'|'.join(state.strip() for state in states.split('|'))}"


def _add_categorical(
    characters: Element,
    cells: Mapping[str, str],
    states: Mapping[tuple[str, str], Mapping[str, str]],
    ids: Ids,
) -> None:
    """Add a character with its states."""
    id_ = cells["character"]
    found = add(characters, "CategoricalCharacter", id=ids.characters[id_])
    add_representation(found, cells["question"], token=id_, detail=cells["definition"])
    native = _described(cells, id_) | {"kind": "states"}
    add_own_row(found, cells, native, COLUMNS["characters"])
    listed = add(found, "States")
    for (of, state), number in ids.states.items():
        if of != id_:
            continue
        one = add(listed, "StateDefinition", id=number)
        told = states.get((of, state))
        if told is None:
            add_representation(one, state.replace("_", " "), token=state)
            add_own_row(one, {"only_a_view": "yes"}, {}, ("only_a_view",))
            continue
        add_representation(one, told["label"], token=state, detail=told["definition"])
        given = {"state": shortened(state), "label": shortened(told["label"])}
        given |= {"character": id_, "definition": told["definition"]}
        add_own_row(one, told, given, COLUMNS["states"])


def _add_size(
    characters: Element, cells: Mapping[str, str], character: Character, ids: Ids
) -> None:
    """Add a size or a count, with its unit and plausible range."""
    id_ = character.id
    found = add(characters, "QuantitativeCharacter", id=ids.characters[id_])
    add_representation(found, cells["question"], token=id_, detail=cells["definition"])
    least, most = number_text(cells["least"]), number_text(cells["most"])
    native = _described(cells, id_) | {
        "kind": character.kind, "unit": shortened(cells["unit"]), "least": least, "most": most,
    }  # fmt: skip
    add_own_row(found, cells, native, COLUMNS["characters"])
    counted = character.kind == "count"
    assumed = add(found, "Assumptions")
    add(assumed, "MeasurementScale", "Ratio")
    add(assumed, "ValuesAreInteger", "true" if counted else "false")
    add(assumed, "Continuous", "false" if counted else "true")
    add(assumed, "PlausibleRange", lower=least, upper=most)
    if cells["unit"]:
        unit = add(found, "MeasurementUnit")
        add(unit, "Label", shortened(cells["unit"]), role="Abbrev")


def _add_tree(dataset: Element, scheme: Scheme, ids: Ids) -> None:
    """Add the tree: a node for each evidence group, and where a character applies."""
    tree = add(add(dataset, "CharacterTrees"), "CharacterTree", id="y1")
    add_representation(tree, _TREE)
    add(tree, "ShouldContainAllCharacters", "true")
    nodes = add(tree, "Nodes")
    inner = {group: f"n{n}" for n, group in enumerate(scheme.groups, 1)}
    for group, number in inner.items():
        node = add(nodes, "Node", id=number)
        add(node, "DescriptiveConcept", ref=ids.groups[group])
    for character in scheme.characters.values():
        leaf = add(nodes, "CharNode")
        add(leaf, "Parent", ref=inner[character.group])
        if character.applies_to is not None:
            parent, states = character.applies_to
            only = add(add(leaf, "DependencyRules"), "OnlyApplicableIf")
            for state in states:
                add(only, "State", ref=ids.states[parent, state])
        add(leaf, "Character", ref=ids.characters[character.id])


def add_media(dataset: Element, scheme: Scheme, ids: Ids, draw: Draw) -> None:
    """Add the drawing of every state that has one, and point to it from the state."""
    listed = add(dataset, "MediaObjects")
    objects = {str(one.get("id")): one for one in dataset.iter() if one.get("id")}
    for n, ((character, state), number) in enumerate(ids.states.items(), 1):
        try:
            picture = draw(character, state)
        except KeyError:
            continue
        shown = objects[number][0]
        add(shown, "MediaObject", ref=f"m{n}", role="Primary")
        media = add(listed, "MediaObject", id=f"m{n}")
        question = scheme.characters[character].question
        add_representation(media, f"{question} {state.replace('_', ' ')}")
        add(media, "Type", "StillImage")
        coded = base64.b64encode(picture.encode()).decode()
        add(media, "EncodedData", coded, type="image/svg+xml")
    if len(listed) == 0:
        dataset.remove(listed)
