"""What a thumb and a keyboard can do, and nothing more."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

__all__ = ["answered", "said", "tab_to", "thumb", "thumb_state"]

_LEAST = 44


def thumb(page: Page, target: Locator) -> None:
    """Tap something after making sure that a thumb can hit it."""
    target.scroll_into_view_if_needed()
    box = target.bounding_box()
    assert box is not None
    assert box["width"] >= _LEAST, (target, box)
    assert box["height"] >= _LEAST, (target, box)
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def answered(page: Page) -> None:
    """Wait until the tap is answered."""
    page.wait_for_selector("#look:not(.chooser)", state="attached")


def thumb_state(page: Page, character: str, state: str) -> None:
    """Report a state by taps: open the list of characters, a character, a state."""
    link = page.locator(f'.looks a[href*="/look/{character}#look"]').first
    if not link.is_visible():
        thumb(page, page.locator("summary", has_text="Anything else you saw"))
        link = page.locator(f'details.all a[href*="/look/{character}#look"]')
    thumb(page, link)
    page.wait_for_selector("section.chooser")
    thumb(page, page.locator(f'button.state[value="{state}"]'))
    answered(page)


def said(page: Page) -> str:
    """Return the answer as a sentence."""
    return str(page.locator("[data-said]").inner_text())


def tab_to(page: Page, selector: str, most: int = 200) -> None:
    """Press Tab until something has the focus, as somebody without a mouse does."""
    for _ in range(most):
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            seen = page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle")
            assert seen != "none", f"the focus on {selector} can't be seen"
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} can't be reached by the Tab key")
