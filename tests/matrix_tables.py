"""Small invented references, as tables, made without the code that exchanges them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from hypothesis import strategies as st

from corallum.reference.genera import COLUMNS as GENERA
from corallum.reference.scheme_tables import COLUMNS as SCHEME
from corallum.store.reference_folder import shipped_reference

Tables = dict[str, str]
Rows = Mapping[str, Sequence[Mapping[str, str]]]

# Words of as many states whose shares (words.csv) add up to 0.7 to 1.3, reckoned by hand.
MIXTURES = (
    ("always",),
    ("usually",),
    ("always", "rarely"),
    ("often", "often"),
    ("usually", "sometimes"),
    ("often", "often", "sometimes"),
    ("usually", "sometimes", "rarely"),
    ("often", "often", "often"),
    ("often", "sometimes", "sometimes", "sometimes"),
)


@cache
def _kept() -> Tables:
    """Tables of numbers and cautions, which stay as they are shipped."""
    files = shipped_reference()
    names = ("words.csv", "settings.csv", "methods.csv", "cautions.csv", "sources.csv")
    return {name: files[name] for name in names}


def written(columns: Iterable[str], rows: Iterable[Mapping[str, str]]) -> str:
    """Write a table."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(columns), restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def tables_of(rows: Rows) -> Tables:
    """Write rows as all the tables of a reference; tables without rows are there too."""
    found: Tables = {}
    for name, columns in SCHEME.items():
        table = name.removesuffix(".csv")
        extra = ("source",) if table == "views" else ()
        found[name] = written((*columns, *extra), rows.get(table, ()))
    for table, columns in GENERA.items():
        found[f"{table}.csv"] = written(columns, rows.get(table, ()))
    return found | _kept()


def character(id_: str, states: Sequence[str], rule: str = "", **cells: str) -> dict[str, str]:
    """Give a row of a character; without states it is a size in mm."""
    kind = (
        {"kind": "states"}
        if states
        else {"kind": "size", "unit": "mm", "least": "0.1", "most": "90"}
    )
    return {
        "character": id_,
        "seen": "w",
        "group": "looks",
        "seconds": "5",
        "question": f"What {id_}?",
        "definition": f"The {id_}.",
        "source": "memory",
        "applies_when": rule,
        **kind,
        **cells,
    }


def small_rows() -> dict[str, list[dict[str, str]]]:
    """Two genera, one of two forms; a colour, a width, and a tip that only red ones have."""
    genus = {
        "family": "Invented",
        "order": "Scleractinia",
        "authority": "Nobody, 1900",
        "regions": "indo_pacific|red_sea",
        "description": "Invented.",
        "source": "memory",
    }
    form = {"weight": "1", "description": "Invented.", "source": "wells1956"}
    value = {"source": "memory"}
    return {
        "groups": [{"group": "looks", "label": "looks", "misread": "0.1", "conditions_act": "no"}],
        "characters": [
            character("colour", ("red", "blue", "grey")),
            character("tip", ("sharp", "blunt"), "colour = red"),
            character("width_mm", ()),
        ],
        "states": [
            {"character": of, "state": one, "label": one, "definition": f"It is {one}."}
            for of, states in (("colour", ("red", "blue", "grey")), ("tip", ("sharp", "blunt")))
            for one in states
        ],
        "genera": [{"genus": "Alpha", "aphia_id": "17", **genus}, {"genus": "Beta", **genus}],
        "forms": [
            {"genus": "Alpha", "form": "mound", **form, "weight": "0.25"},
            {"genus": "Alpha", "form": "plate", **form, "weight": "0.75"},
            {"genus": "Beta", "form": "typical", **form},
        ],
        "values": [
            {
                "genus": "Alpha",
                "form": "*",
                "character": "colour",
                "value": "always red; rarely blue",
                **value,
            },
            {
                "genus": "Alpha",
                "form": "plate",
                "character": "tip",
                "value": "often blunt; often sharp",
                **value,
            },
            {
                "genus": "Alpha",
                "form": "plate",
                "character": "width_mm",
                "value": "2.50-10",
                **value,
            },
            {
                "genus": "Beta",
                "form": "typical",
                "character": "colour",
                "value": "usually grey; sometimes blue",
                **value,
            },
        ],
        "names": [
            {"older_name": "Gamma", "genus": "Beta", "which": "in part", "source": "memory"},
            {"older_name": "Gamma", "genus": "Alpha", "which": "", "source": "memory"},
        ],
        "lookalikes": [
            {
                "genus": "Alpha",
                "other": "Beta",
                "characters": "colour",
                "note": "Look.",
                "source": "memory",
            }
        ],
        "priors": [
            {
                "region": "red_sea",
                "genus": "Alpha",
                "species": "3",
                "species_share": "0.5",
                "survey_share": "",
                "source": "memory",
            }
        ],
        "confusions": [
            {
                "character": "colour",
                "a": "blue",
                "b": "grey",
                "trained": "0.1",
                "new": "0.3",
                "source": "memory",
            }
        ],
    }


_text = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Cn", "Co")), min_size=1, max_size=300
).map(lambda text: text.strip() or "x")


@st.composite
def references(draw: st.DrawFn, *, texts: bool = False) -> Tables:
    """A random sound reference of a few characters, genera and forms.

    With ``texts``, labels and descriptions are any text, some of them longer than a label
    of another format may be.
    """
    told = _text if texts else st.just("Invented.")
    rows = small_rows()
    count = draw(st.integers(1, 4))
    states = [[f"s{k}" for k in range(draw(st.integers(2, 5)))] for _ in range(count)]
    rules = [""]
    for i in range(1, count):
        parent = draw(st.integers(0, i - 1))
        named = draw(st.lists(st.sampled_from(states[parent]), max_size=3, unique=True))
        rules.append(f"c{parent} = {'|'.join(named)}" if named else "")
    rows["characters"] = [
        character(f"c{i}", states[i], rules[i], question=draw(told), definition=draw(told))
        for i in range(count)
    ] + [character("width_mm", ())]
    rows["states"] = [
        {"character": f"c{i}", "state": one, "label": draw(told), "definition": draw(told)}
        for i in range(count)
        for one in states[i]
    ]
    rows |= {"lookalikes": [], "priors": [], "confusions": [], "values": [], "forms": []}
    for genus, base in zip(("Alpha", "Beta"), rows["genera"], strict=True):
        base["description"] = draw(told)
        forms = [f"f{k}" for k in range(draw(st.integers(1, 3)))]
        for form in forms:
            rows["forms"].append(
                {
                    "genus": genus,
                    "form": form,
                    "weight": f"{1 / len(forms):.6g}",
                    "description": draw(told),
                    "source": "memory",
                }
            )
        for form in (*forms, "*"):
            for i in draw(st.sets(st.integers(0, count - 1))):
                order = draw(st.permutations(states[i]))
                fitting = [words for words in MIXTURES if len(words) <= len(order)]
                words = draw(st.sampled_from(fitting))
                shown = "; ".join(f"{w} {s}" for w, s in zip(words, order, strict=False))
                rows["values"].append(
                    {
                        "genus": genus,
                        "form": form,
                        "character": f"c{i}",
                        "value": shown,
                        "source": "memory",
                    }
                )
    return tables_of(rows)
