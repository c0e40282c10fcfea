"""The templates, and the words and pictures that they may use."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from importlib.resources import files
from typing import Any

import jinja2

from corallum.web import words

__all__ = ["asset", "render"]


@lru_cache(maxsize=1)
def _environment() -> jinja2.Environment:
    """Make the environment; a name that a page lacks is an error, never a blank."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("corallum.web", "pages"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(
        words=words.words,
        label=words.label,
        percent=words.percent,
        day=words.day,
        moment=words.moment,
        mm=words.number,
        status=words.status,
    )
    environment.globals.update(asset=asset, sees=words.SEEN)
    return environment


@lru_cache(maxsize=32)
def asset(name: str) -> str:
    """Return the address of a static file, which changes with what is in it."""
    content = files("corallum.web").joinpath(f"static/{name}").read_bytes()
    return f"/static/{name}?v={hashlib.sha256(content).hexdigest()[:10]}"


def render(template: str, **context: Any) -> str:  # noqa: ANN401  anything a page shows
    """Render a template."""
    return _environment().get_template(template).render(**context)
