"""What a browser can measure of a page: what sticks out, what is too small for a thumb, what jumps.

Sources beside the numbers. 44 px: WCAG 2.2, 2.5.5, https://www.w3.org/TR/WCAG22/#target-size-enhanced, with
its exception for a target in a sentence. A jump of 0.1: https://web.dev/articles/cls. The bench's 56 px are
the house's own rule. Text at 200 % is the size of letters that a person sets in the browser: 32 px, not 16.
"""

from pathlib import Path

from playwright.sync_api import Page

THUMB, GLOVE = 44, 56
PLAIN_TEXT = 16
MOST_SHIFT = 0.1
# of a first visit, unpacked: a quarter of it, packed, takes half a second at 1.6 Mbit/s
MOST_REQUESTS, MOST_BYTES = 26, 400_000
# many small scripts at the bench, once: the tablet keeps them, and test_bench_first_load weighs them
MOST_AT_THE_BENCH = 40
_FUNCTIONS = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")


def _ask(page: Page, name: str, argument: object = None) -> list[str]:
    return page.evaluate(f"(argument) => ({_FUNCTIONS.strip()}).{name}(argument)", argument)


def unfold(page: Page) -> None:
    """Open whatever a person can open on the page, but for the menus that lie over it."""
    _ask(page, "unfold")


def shift(page: Page) -> list[str]:
    """How far the page jumped while it was loading, if that is too far."""
    return _ask(page, "shifted", MOST_SHIFT)


def enlarge_text(page: Page, factor: int) -> None:
    """What the person's own setting of the browser does, also to the widths that a style sheet asks for."""
    sizes = {"standard": PLAIN_TEXT * factor, "fixed": PLAIN_TEXT * factor}
    page.context.new_cdp_session(page).send("Page.setFontSizes", {"fontSizes": sizes})


def sticking_out(page: Page) -> list[str]:
    """What makes the page scroll sideways, menus shut and open."""
    found = _ask(page, "sticksOut")
    _ask(page, "openMenus", argument=True)
    found += [f"menu: {one}" for one in _ask(page, "sticksOut")]
    _ask(page, "openMenus", argument=False)
    return [f"sticks out: {one}" for one in dict.fromkeys(found)]


def heavy(page: Page) -> list[str]:
    """How much the page loaded, if that is too much for a slow network."""
    requests = MOST_AT_THE_BENCH if page.locator("html.bench").count() else MOST_REQUESTS
    return _ask(page, "heavy", {"requests": requests, "bytes": MOST_BYTES})


def cut_off(page: Page) -> list[str]:
    """Words that reach over the box that holds them and are hidden there."""
    return [f"cut off: {one}" for one in _ask(page, "cutOff")]


def too_small(page: Page) -> list[str]:
    """Controls that a thumb misses, or a glove where the page is for the bench."""
    least = GLOVE if page.locator("html.bench").count() else THUMB
    _ask(page, "openMenus", argument=True)
    found = _ask(page, "tooSmall", least)
    _ask(page, "openMenus", argument=False)
    return [f"smaller than {least} px: {one}" for one in found]
