"""Rendered examples of a genus, made when first asked for and kept in memory."""

from __future__ import annotations

import io
import threading
import zlib
from functools import lru_cache

import numpy as np
from PIL import Image

from corallum.actions.references import Library
from corallum.errors import NotFoundError

__all__ = ["example_picture", "example_scenes"]

_WIDTH, _HEIGHT = 560, 420
_one_at_a_time = threading.Lock()


def example_scenes(library: Library, genus: str) -> list[tuple[str, str]]:
    """Return the (form, scene) pairs in which a genus can be rendered."""
    from corallum.draw.surface import scenes_of  # noqa: PLC0415  slow to import

    compiled = library.compiled
    g = compiled.genera.index(genus)
    found = []
    for form in np.flatnonzero(compiled.form_genus[: len(compiled.form_ids)] == g).tolist():
        found += [(compiled.form_ids[form], scene) for scene in scenes_of(compiled, form)]
    return found


def example_picture(library: Library, genus: str, form: str, scene: str) -> bytes:
    """Return an example as JPEG.

    Raises
    ------
    NotFoundError
        Where the genus has no such form or scene.
    """
    pairs = example_scenes(library, genus)
    wanted = (form or pairs[0][0], scene)
    if wanted not in pairs:
        raise NotFoundError("example", f"{genus} {form} {scene}")
    with _one_at_a_time:
        return _rendered(library, genus, *wanted)


@lru_cache(maxsize=96)
def _rendered(library: Library, genus: str, form: str, scene: str) -> bytes:
    """Render one example, the same each time."""
    from corallum.draw.surface import (  # noqa: PLC0415  slow to import
        ViewOptions,
        draw_parameters,
        render_colony,
    )

    compiled = library.compiled
    g = compiled.genera.index(genus)
    index = next(
        i for i, id_ in enumerate(compiled.form_ids)
        if id_ == form and compiled.form_genus[i] == g
    )  # fmt: skip
    rng = np.random.default_rng(zlib.crc32(f"{genus} {form} {scene}".encode()))
    params = draw_parameters(compiled, index, rng, scene)
    options = ViewOptions(
        width=_WIDTH, height=_HEIGHT, scale_bar=True, water=0.15, noise=0.01, label=True
    )
    image = render_colony(params, options, rng).image
    out = io.BytesIO()
    Image.fromarray(image).save(out, "JPEG", quality=82)
    return out.getvalue()
