"""A person's own errors as text: read back as written, refused where they were altered."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.model.errors import OwnErrors
from corallum.observers.own_errors import errors_from_text, errors_hash, errors_to_text
from support import compiled

TISSUE = ["thin", "moderate", "fleshy"]
EYE = np.eye(3).tolist()


def text(rows: object = EYE, bias: object = 0.1, sd: object = 0.3, states: object = TISSUE) -> str:
    """Errors of one character as text."""
    found = {"states": {"tissue": {"states": states, "rows": rows}}, "eye_bias": bias, "eye_sd": sd}
    return json.dumps(found)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(-1, 1), st.floats(0.01, 2))
def test_errors_are_read_back_as_written(seed: int, bias: float, sd: float) -> None:
    """Rates come back to six figures, the eye as it was, every row adding up to one."""
    rng = np.random.default_rng(seed)
    states = {}
    for one in compiled().characters:
        if not one.is_size and rng.random() < 0.3:
            matrix = np.eye(len(one.states) + 1)
            matrix[:-1, :-1] = rng.dirichlet(np.ones(len(one.states)), len(one.states))
            states[one.id] = matrix
    written = errors_to_text(OwnErrors(states, bias, sd), compiled())
    found = errors_from_text(compiled(), written)
    assert set(found.states) == set(states)
    for id_, matrix in states.items():
        np.testing.assert_allclose(found.states[id_], matrix, rtol=0, atol=1e-5)
        np.testing.assert_allclose(found.states[id_].sum(axis=1), 1, rtol=0, atol=1e-12)
    assert (found.eye_bias, found.eye_sd) == (bias, sd)


def test_an_eye_that_is_not_known_is_read_back_so() -> None:
    """Errors without an eye of their own stay without one."""
    written = errors_to_text(OwnErrors({}), compiled())
    found = errors_from_text(compiled(), written)
    assert (found.eye_bias, found.eye_sd) == (None, None)


def test_a_character_that_was_edited_since_has_no_own_errors() -> None:
    """Other states, or a character that is gone, leave the errors of an unknown observer."""
    assert set(errors_from_text(compiled(), text()).states) == {"tissue"}
    assert errors_from_text(compiled(), text(states=["thin", "fleshy"])).states == {}
    assert errors_from_text(compiled(), text().replace("tissue", "aura")).states == {}


@pytest.mark.parametrize(
    "bad",
    [
        pytest.param("", id="nothing"),
        pytest.param("{", id="half a text"),
        pytest.param("[" * 100_000, id="without end"),
        pytest.param("[]", id="a list"),
        pytest.param("null", id="null"),
        pytest.param("{}", id="no field"),
        pytest.param('{"states": [], "eye_bias": 0, "eye_sd": 1}', id="states in a list"),
        pytest.param(text([[1, 0], [0, 1]]), id="rows too short"),
        pytest.param(text([[1, 0, 0]]), id="rows missing"),
        pytest.param(text([EYE]), id="rows too deep"),
        pytest.param(text([]), id="no rows"),
        pytest.param(text("abc"), id="a word for rows"),
        pytest.param(text([["a", "b", "c"]] * 3), id="words for rates"),
        pytest.param(text([[0, 0, 0]] * 3), id="rates of nothing"),
        pytest.param(text([[2, -1, 0]] * 3), id="a rate below zero"),
        pytest.param(text([[float("nan")] * 3] * 3), id="rates that are no number"),
        pytest.param(text([[10**400, 1, 1]] * 3), id="a rate without end"),
        pytest.param(text(bias="x"), id="a word for a bias"),
        pytest.param(text(bias=float("nan")), id="a bias that is no number"),
        pytest.param(text(bias=10**400), id="a bias without end"),
        pytest.param(text(sd=0), id="no spread"),
        pytest.param(text(sd=-1), id="a spread below zero"),
    ],
)
def test_altered_text_is_refused(bad: str) -> None:
    """Whatever was made of the text, it is one error that says what to do."""
    with pytest.raises(InputError, match=r"expected as kept.*Restore a backup"):
        errors_from_text(compiled(), bad)


def test_the_hash_is_that_of_the_text() -> None:
    """The hash is SHA-256: the example of three letters printed with FIPS 180."""
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert errors_hash("abc") == expected
