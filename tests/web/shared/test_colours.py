"""Colours by arithmetic: every pair that the style sheets put on one another is readable in every theme.

A browser reads the light theme on every page (tests/journeys/test_every_page.py); dark and sun differ from
it in nothing but the values of the tokens, so what holds for the pairs holds for the pages.
"""

import re

import pytest

from tests.web.shared.colours import Rule, rules, screen_sheets, themes

# WCAG 2.2, 1.4.3 text and 1.4.11 edges of controls: https://www.w3.org/TR/WCAG22/#contrast-minimum
TEXT, EDGE = 4.5, 3
# the house's own rule for what is read all day
INK = 7
GROUNDS = ("ground", "surface", "sunk")
TINTS = tuple(f"{name}-tint" for name in ("brass", "buoy", "deep", "plum", "moss"))
# what may be written where nothing else is said: words, words of less weight, links
WORDS = ("ink", "ink2", "kelp")
# hairs part rows from one another and carry no meaning
DECORATION = {"hair"}
# an edge in the colour of the page is drawn on ink, where the pair is that of the words
TURNED_ROUND = {"surface"}
# the same in every theme, and why: white paper to sign on and around a code, ink on the yellow of a marker
LITERALS = {
    (".pad canvas", "#FFF"),
    (".pad-line", "#7A8883"),
    ("::selection", "#12201D"),
    (".code", "#FFF"),
    (".step-picture", "#FFF"),
}
COLOURS = themes()
RULES = [rule for sheet in screen_sheets() for rule in rules(sheet) if rule.sheet != "tokens.css"]


def luminance(colour: str) -> float:
    """Relative luminance, https://www.w3.org/TR/WCAG22/#dfn-relative-luminance."""
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    channels = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def written(rule: Rule) -> set[tuple[str, str]]:
    """Which words stand on what by this rule: its own background, or whatever it may stand on."""
    words = rule.tokens("color", "--c", "fill")
    under = rule.tokens("background", "background-color", "--tint")
    # the words around a coloured one, and links, stand on the same tint
    around = {(word, ground) for word in WORDS for ground in under if ground in (*GROUNDS, *TINTS)}
    if words and under:
        paired = {(word, ground) for word in words for ground in under}
        return paired | around if "--tint" in rule.declared else paired
    if under:
        return around
    return {(word, ground) for word in words for ground in _grounds_of(word)}


def _grounds_of(word: str) -> tuple[str, ...]:
    if word in ("surface", "on-kelp", "on-buoy"):
        # turned round: its ground is said by a rule of its own
        return {"surface": ("ink",), "on-kelp": ("kelp",), "on-buoy": ("buoy",)}[word]
    return (*GROUNDS, f"{word}-tint") if f"{word}-tint" in TINTS else GROUNDS


def text_pairs() -> set[tuple[str, str]]:
    found = {pair for rule in RULES for pair in written(rule)}
    return {(word, ground) for word, ground in found if {"c", "tint"}.isdisjoint((word, ground))}


def edges() -> set[str]:
    """Every colour that some border, outline or line is drawn in."""
    names = (
        "border",
        "border-color",
        "border-top",
        "border-bottom",
        "border-left",
        "border-right",
        "outline",
    )
    found = {token for rule in RULES for token in rule.tokens(*names, "border-top-color", "stroke")}
    return {token for token in found if token in COLOURS["light"]} - DECORATION - TURNED_ROUND


def too_weak(pairs: set[tuple[str, str]], theme: str, *, least: float) -> list[str]:
    colours = COLOURS[theme]
    return [
        f"{one} on {other}: {contrast(colours[one], colours[other]):.2f}"
        for one, other in sorted(pairs)
        if contrast(colours[one], colours[other]) < least
    ]


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000", "#FFF", 21),
        ("#777777", "#FFFFFF", 4.48),  # https://webaim.org/articles/contrast/: fails by a hair
        ("#767676", "#FFFFFF", 4.54),
        ("#0000FF", "#FFFFFF", 8.59),
        ("#FFF", "#FFFFFF", 1),
    ],
)
def test_contrast_is_that_of_the_standard(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == contrast(other, one) == pytest.approx(ratio, abs=0.005)


def test_pairs_are_read_from_the_sheets() -> None:
    """Otherwise the tests below would hold for a sheet that nobody could read."""
    pairs = text_pairs()

    assert {("brass", "brass-tint"), ("plum", "plum-tint"), ("on-kelp", "kelp"), ("on-buoy", "buoy")} <= pairs
    assert {("surface", "ink"), ("ink3", "sunk"), ("ink", "moss-tint"), ("kelp", "deep-tint")} <= pairs
    assert {"line", "ink", "ink2", "kelp", "buoy", "brass"} <= edges()
    assert len(pairs) > 35


@pytest.mark.parametrize("theme", COLOURS)
def test_words_are_readable(theme: str) -> None:
    assert too_weak(text_pairs(), theme, least=TEXT) == []


@pytest.mark.parametrize("theme", COLOURS)
def test_ink_and_buttons_are_readable_all_day(theme: str) -> None:
    pairs = {("ink", ground) for ground in (*GROUNDS, *TINTS)} | {("on-kelp", "kelp"), ("surface", "ink")}

    assert too_weak(pairs, theme, least=INK) == []


@pytest.mark.parametrize("theme", COLOURS)
def test_edges_are_seen(theme: str) -> None:
    pairs = {(edge, ground) for edge in edges() for ground in ("ground", "surface")}
    pairs |= {(tint.removesuffix("-tint"), tint) for tint in TINTS}

    assert too_weak(pairs, theme, least=EDGE) == []


def test_focus_is_seen_in_every_theme() -> None:
    """The ring is ink, the halo yellow: one of the two stands out wherever it is."""
    for colours in COLOURS.values():
        assert contrast(colours["ink"], colours["ground"]) >= EDGE
        assert max(contrast(colours["halo"], colours[one]) for one in ("ink", "ground")) >= EDGE


def test_chosen_dark_is_the_dark_of_the_device() -> None:
    assert COLOURS["dark"] == COLOURS["dark device"]


def test_sun_knows_black_and_white_only() -> None:
    others = {
        name: value for name, value in COLOURS["sun"].items() if value not in ("#000", "#FFF", "#FFFFFF")
    }

    assert set(others) == {"halo"}


def test_dark_says_every_colour_anew() -> None:
    """A token that it forgot would be a light one in the dark; the yellow is meant to be the same."""
    light, dark = COLOURS["light"], COLOURS["dark"]

    assert {name for name in light if light[name] == dark[name]} == {"halo"}


def test_no_colour_stands_outside_the_tokens() -> None:
    found = {
        (rule.selector, literal)
        for rule in RULES
        for value in rule.declared.values()
        for literal in re.findall(r"#[0-9A-Fa-f]{3,8}\b|\b(?:rgba?|hsla?|oklch)\(", value)
    }

    assert found == LITERALS
