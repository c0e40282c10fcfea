"""Take the pictures of the pages that the documentation shows: ``shots.py FOLDER``.

The folder holds the invented reserve; it is made where it is not there.
"""

from __future__ import annotations

import io
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

HERE = Path(__file__).parents[2] / "docs/pages/shots"
SIZES = {"phone": (390, 844), "laptop": (1280, 800)}
ARGS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")
COLOURS = 96
PAGES = {
    "today": "/",
    "new": "/colonies/new",
    "colony": "/colonies/{colony}",
    "states": "/colonies/{colony}/look/corallite_arrangement#look",
    "size": "/colonies/{colony}/look/corallite_spacing_mm#look",
    "colonies": "/colonies",
    "photo": "/colonies/{colony}/photos/{photo}",
    "genera": "/genera",
    "genus": "/genera/Favites",
    "beside": "/genera/compare?a=Favites&b=Goniastrea&c=Platygyra",
    "names": "/genera/names?name=Favia",
    "weak": "/genera/weak",
    "edit": "/genera/Favites/edit?character=growth_form",
    "differences": "/genera/differences",
    "field-paper": "/genera/paper",
    "readings": "/readings",
    "reading": "/readings/{reading}",
    "programme": "/programme",
    "hand-on": "/programme/files?survey={after}",
    "history": "/programme/history",
    "redetermine": "/programme/redetermine",
    "pair": "/pair",
    "practice": "/practice",
    "practice-set": "/practice/{set}",
    "practice-item": "/practice/{set}/items/3",
    "practice-worked": "/practice/{set}/items/3/worked?of={person}",
    "practice-show": "/practice/{set}/show?item=3&answers=1",
    "practice-paper": "/practice/{set}/paper",
    "observers": "/observers",
    "observer": "/observers/{person}",
    "tests": "/observers/tests",
    "test": "/observers/tests/{test}",
    "surveys": "/surveys",
    "survey": "/surveys/{after}",
    "survey-new": "/surveys/new?like={before}",
    "slate": "/slates/{slate}",
    "slate-mend": "/slates/{slate}/mend",
    "flags": "/surveys/{after}/flags",
    "record-readings": "/surveys/{after}/readings",
    "photo-points": "/transects/{framed}/points?at=4",
    "dive-sheets": "/surveys/{after}/sheets?which=all",
    "survey-import": "/surveys/{after}/import",
    "results": "/results",
    "result": "/results/{after}?errors=1",
    "result-site": "/results/{after}?site={struck}",
    "result-records": "/results/{after}/behind?group=Acropora&only=again",
    "result-diversity": "/results/{after}/diversity",
    "result-sizes": "/results/{after}/sizes",
    "result-change": "/results/change?before={before}&after={after}",
    "result-effort": "/results/{after}/effort?half_width=2&group=Acropora",
}
DARK = ("colony", "photo", "states", "practice-worked", "tests", "flags", "photo-points",
        "result-change")  # fmt: skip
TALL = ("survey", "field-paper", "hand-on", "slate-mend", "photo-points", "record-readings",
        "colony", "photo", "today", "practice-worked", "observer", "tests",
        "result", "result-change", "result-effort")  # fmt: skip


def main(folder: Path) -> None:
    """Serve the reserve and take a picture of every page at both sizes."""
    corallum = [sys.executable, "-m", "corallum.cli"]
    subprocess.run([*corallum, "demo", str(folder), "--make-only"], check=True)
    command = [*corallum, "serve", str(folder), "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        try:
            if server.stdout is None:
                return
            line = next(line for line in server.stdout if "http://" in line)
            with sync_playwright() as playwright:
                chromium = shutil.which("chromium")
                browser = playwright.chromium.launch(executable_path=chromium, args=ARGS)
                take_all(browser, line.split()[-1].rstrip("/"), ids_in(folder))
                browser.close()
        finally:
            server.terminate()


def ids_in(folder: Path) -> dict[str, str]:
    """Return what the pages are shown of: an open colony, a reading that waits, a set."""
    with closing(sqlite3.connect(f"file:{folder}/corallum.db?mode=ro", uri=True)) as database:
        colony, photo = database.execute(
            "SELECT p.colony, p.photo FROM colony_photo p JOIN colony c ON c.id = p.colony "
            "WHERE c.status = 'open' ORDER BY length(c.shown_name) LIMIT 1"
        ).fetchone()
        (reading,) = database.execute(
            "SELECT history FROM reading_request WHERE history NOT IN "
            "(SELECT request FROM reading_answer) LIMIT 1"
        ).fetchone()
        ids = {
            name: database.execute(asked).fetchone()[0]
            for name, asked in (
                ("set", "SELECT id FROM practice_set WHERE purpose = 'pair'"),
                ("person", "SELECT id FROM person WHERE name = 'Observer 3'"),
                ("test", "SELECT practice_set FROM qualification"),
                ("before", "SELECT id FROM event WHERE kind = 'survey' AND name LIKE 'Before%'"),
                ("after", "SELECT id FROM event WHERE kind = 'survey' AND name LIKE 'After%'"),
                ("slate", "SELECT max(history) FROM slate"),
                ("framed", "SELECT transect FROM frame_photo"),
                ("struck", "SELECT v.site FROM event v JOIN event s ON v.parent = s.id "
                           "WHERE v.kind = 'visit' AND s.name LIKE 'After%'"),
            )
        }  # fmt: skip
    return {"colony": colony, "photo": photo, "reading": str(reading), **ids}


def take_all(browser: Browser, url: str, ids: dict[str, str]) -> None:
    """Take every page at both sizes in the light theme, and two pages in the dark one."""
    for size, (width, height) in SIZES.items():
        for theme in ("light", "dark"):
            context = browser.new_context(
                viewport={"width": width, "height": height}, color_scheme=theme
            )
            page = context.new_page()
            for name, path in PAGES.items():
                if theme == "dark" and name not in DARK:
                    continue
                page.goto(url + path.format(**ids), wait_until="networkidle")
                tall = name in TALL and theme == "light"
                keep(page.screenshot(full_page=tall), f"{name}-{size}-{theme}")
            context.close()


def keep(picture: bytes, name: str) -> None:
    """Keep a picture in few colours."""
    image = Image.open(io.BytesIO(picture)).convert("RGB").quantize(COLOURS)
    image.save(HERE / f"{re.sub('-light$', '', name)}.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
