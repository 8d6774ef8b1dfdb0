"""The tablet's script gives the verdicts of the table that the calculation is held to; in a real browser."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

import pytest
from playwright.sync_api import Page

from shopapp.calc.verdicts import ALONE, Case, Kind, judged
from shopapp.queries.limit_words import unit_word
from shopapp.queries.limits_in_force import InForce, job_limits, offered_kind
from shopapp.queries.reading_words import verdict_words
from tests.calc.verdict_table import CASES, FITTING, allowed_of, measured_of
from tests.journeys.conftest import Watched

JUDGE = """async ([url, asked]) => {
    const { judged, words } = await import(new URL(url, location.href));
    return asked.map(({ reading, book, told }) => {
        const found = judged(reading, book);
        return { ...found, words: words(found, book, told) };
    });
}"""
FIT = """async ([url, asked]) => {
    const { fitting } = await import(new URL(url, location.href));
    return asked.map(({ limits, point, warmth }) => limits.indexOf(fitting(limits, point, warmth)));
}"""
SCRIPT = "/static/bench/verdicts.js"
VERDICTS = {
    "in_limits": "in limits",
    "at_edge": "at the edge",
    "out_of_limits": "out of limits",
    "no_limit": "no limit known",
}


@pytest.fixture
def page(open_browser: Callable[..., Watched], shop: object) -> Page:
    """A page of the app's own, under its policy for scripts."""
    opened = open_browser(768).page
    opened.goto("/people/sign-in/")
    return opened


def asked_of(case: dict[str, Any]) -> dict[str, Any]:
    """A case as the tablet meets it: the reading as typed, and the limits as they stand in the page."""
    limits = (
        [InForce(case=Case(), allowed=allowed_of(case), words="as in the book")] if "limit" in case else []
    )
    book = asdict(job_limits(None, locale="en_CA"))
    book["kinds"] = [asdict(offered_kind(Kind(case["kind"]), limits=limits))]
    unit = unit_word(case["kind"], case["unit"] or "")
    return {
        "reading": {
            "kind": case["kind"],
            "unit": case["unit"],
            "minutes": case.get("minutes"),
            "figures": case["figures"],
        },
        "book": book,
        "told": {"verdicts": VERDICTS, "unit": unit, "locale": "en_CA"},
    }


def test_script_judges_every_case_of_the_table_in_the_words_that_are_written_down(page: Page) -> None:
    answers = page.evaluate(JUDGE, [SCRIPT, [asked_of(case) for case in CASES]])

    wrong = [
        f"{case['name']}: {answer}"
        for case, answer in zip(CASES, answers, strict=True)
        if (answer["verdict"], answer["figures"]) != (case["verdict"], case["by_figure"])
        or [one[:2] for one in answer["said"]] != [one[:2] for one in case["said"]]
        or not all(
            one[2] == told[2] or one[2] == pytest.approx(told[2], abs=1e-9)
            for one, told in zip(answer["said"], case["said"], strict=True)
        )
        or answer["limit"] != ("as in the book" if "limit" in case else "")
    ]
    assert wrong == []
    written = [
        verdict_words(
            judged(measured_of(case), allowed=allowed_of(case)),
            unit=unit_word(case["kind"], case["unit"] or ""),
            locale="en_CA",
        )
        for case in CASES
    ]
    assert [answer["words"] for answer in answers] == written


def test_script_finds_the_limit_that_fits(page: Page) -> None:
    asked = [
        {
            "limits": [{"point": point, "warmth": warmth} for point, warmth in case["cases"]],
            "point": case["point"],
            "warmth": case["warmth"],
        }
        for case in FITTING
    ]

    places = page.evaluate(FIT, [SCRIPT, asked])

    assert places == [ALONE - 1 if case["place"] is None else case["place"] for case in FITTING]
