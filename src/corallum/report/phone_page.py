"""The page for a phone: one file with the reference, the drawings and the model.

It asks nothing of any host: its policy lets it load what stands in it, and nothing else.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import html
import json
from dataclasses import dataclass

from corallum.model.compiled import CompiledReference
from corallum.reference.genera import REGIONS
from corallum.reference.reference import Reference
from corallum.report.phone_data import Drawings, character_list, genus_list
from corallum.report.phone_rules import kernel_rules
from corallum.report.phone_script import PAGE, bundle, module_text

__all__ = ["MOST_BYTES", "PhoneAbout", "phone_page"]

MOST_BYTES = 3_000_000
"""A page is smaller than this, so that it passes from phone to phone."""


@dataclass(frozen=True, slots=True)
class PhoneAbout:
    """What a page is made for.

    Parameters
    ----------
    title : str
        Name of the programme, or another heading.
    version : str
        Of the program and the reference, in words.
    region : str or None
        Where it will be used: its genera have accounts, and new colonies are from there.
    sites, people : tuple of str
        Names that may be chosen rather than typed.
    """

    title: str
    version: str
    region: str | None = None
    sites: tuple[str, ...] = ()
    people: tuple[str, ...] = ()


_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<header class="top">
<p class="made">{title}</p>
<nav aria-label="Pages"><a href="#/">Colonies</a><a href="#/genera">Genera</a></nav>
</header>
<div id="notice" role="status"></div>
<main id="main" tabindex="-1">
<noscript><p class="fault">This page needs scripts. Open it in a browser, not in a preview of files.
</p></noscript>
</main>
<footer class="foot">
<p>Look, do not touch. Local rules, permits and the dive supervisor come first.</p>
<p class="small">{about}</p>
</footer>
<p id="aloud" class="away" role="status"></p>
<script type="application/octet-stream" id="packed">{packed}</script>
<script>{script}</script>
</body>
</html>
"""


def phone_page(reference: Reference, compiled: CompiledReference, about: PhoneAbout) -> str:
    """Return the page as one text of HTML.

    Parameters
    ----------
    reference : Reference
        What accounts, questions and drawings come from.
    compiled : CompiledReference
        The same, compiled. All its genera are in the model, wherever the page is used:
        to leave some out would change the odds of the others.
    about : PhoneAbout
        What the page is made for.

    Raises
    ------
    ValueError
        Where the page would be larger than :data:`MOST_BYTES`.
    """
    script, style = bundle(PAGE), module_text("phone.css")
    page = _PAGE.format(
        policy=_policy(script, style),
        title=html.escape(about.title),
        about=html.escape(_about(compiled, about)),
        style=style,
        packed=_packed(_data(reference, compiled, about)),
        script=script,
    )
    size = len(page.encode())
    if size > MOST_BYTES:
        raise ValueError(f"the page has {size} bytes, more than {MOST_BYTES}")
    return page


def _about(compiled: CompiledReference, about: PhoneAbout) -> str:
    """Say what the page rests on."""
    where = (about.region or "all regions").replace("_", " ")
    return f"Made for {where}. Corallum {about.version}, reference {compiled.hash[:12]}."


def _policy(script: str, style: str) -> str:
    """Return the policy: this script and this style by their hashes, and nothing else."""
    return (
        f"default-src 'none'; script-src '{_source(script)}'; style-src '{_source(style)}'; "
        "connect-src 'none'; base-uri 'none'; form-action 'none'"
    )


def _source(text: str) -> str:
    """Return the hash of an inline element as a policy names it."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def _data(reference: Reference, compiled: CompiledReference, about: PhoneAbout) -> str:
    """Return what the page carries, as JSON; the compiled reference as it is hashed."""
    drawings = Drawings(reference.scheme)
    regions = [["", "anywhere"], *([region, region.replace("_", " ")] for region in REGIONS)]
    data = {
        "hash": compiled.hash,
        "rules": kernel_rules(),
        "version": about.version,
        "region": about.region,
        "regions": regions,
        "conditions": [*compiled.conditions, *compiled.hidden],
        "characters": character_list(reference.scheme, drawings),
        "genera": genus_list(reference, about.region, drawings),
        "drawings": drawings.svgs,
        "sites": list(about.sites),
        "people": list(about.people),
    }
    rest = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return f'{rest[:-1]},"reference":{compiled.json}}}'


def _packed(text: str) -> str:
    """Pack a text; the same text is packed alike each time."""
    return base64.b64encode(gzip.compress(text.encode(), 9, mtime=0)).decode()
