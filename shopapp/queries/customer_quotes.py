"""The customer's page of a quote: nothing but what was shown, and what is picked on the page so far."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.text import Truncator
from django.utils.translation import gettext as _

from shopapp.models import PartCondition, Photo, QuoteRevision, Way
from shopapp.queries.frozen_sums import chosen_totals
from shopapp.queries.questions import Asked
from shopapp.queries.shown import Content, grown_to, totals_map

NOT_NOW = "none"


@dataclass(frozen=True, kw_only=True)
class ShownPhoto:
    """A frozen photo and where it is served."""

    url: str
    caption: str


@dataclass(frozen=True, kw_only=True)
class PageOption:
    """An option as it was shown; ``code`` is its letter in lower case.

    ``grown`` says what a supplement about one job makes of all that is agreed.
    """

    shown: Content
    code: str
    is_picked: bool
    grown: Content | None = None


@dataclass(frozen=True, kw_only=True)
class PageJob:
    """The question about one job; ``field`` names its radio buttons. "Leave it" stands below the others.

    ``comparison`` is what is told of the options side by side, where they are compared.
    """

    field: str
    facts: Content
    terms: Content
    comparison: Content | None
    photos: tuple[ShownPhoto, ...]
    options: tuple[PageOption, ...]
    leave: PageOption | None
    is_not_now: bool
    has_own_parts: bool


@dataclass(frozen=True, kw_only=True)
class Picked:
    """What was picked: the totals over exactly that, its words, and the set itself as text."""

    totals: Content
    grown: Content | None
    words: tuple[str, ...]
    seen: str
    is_whole: bool


@dataclass(frozen=True, kw_only=True)
class CustomerPage:
    """The page. ``picked`` is there once something is picked; a ``notice`` says why nobody can answer.

    ``questions`` are those the customer asked so far.
    """

    content: Content
    notice: str
    jobs: tuple[PageJob, ...]
    picked: Picked | None
    questions: tuple[Asked, ...] = ()


def customer_page(
    content: Content,
    *,
    photo_url: Callable[[str], str],
    picked: Mapping[int, int | None] | None = None,
    notice: str = "",
) -> CustomerPage:
    """The page of this content with a set of picks (choice → option, ``None``: not now). No query."""
    picked = picked or {}
    return CustomerPage(
        content=content,
        notice=notice,
        jobs=page_jobs(content, picked=picked, photo_url=photo_url),
        picked=picked_of(content, picked) if picked else None,
    )


def page_jobs(
    content: Content,
    *,
    picked: Mapping[int, int | None] | None = None,
    photo_url: Callable[[str], str] = str,
) -> tuple[PageJob, ...]:
    """The questions with their options, on screen or on paper. No query."""
    return tuple(
        _job(job, content=content, picked=picked or {}, photo_url=photo_url) for job in content["jobs"]
    )


def picked_of(content: Content, picked: Mapping[int, int | None]) -> Picked:
    """What a set of picks comes to, and its words. No query."""
    options = [option for option in picked.values() if option is not None]
    totals = chosen_totals(content, options=options)
    return Picked(
        totals=totals_map(totals, facts=content["facts"]),
        grown=grown_to(content, adds=totals.without_tax),
        words=tuple(
            _words(job, content=content, picked=picked) for job in content["jobs"] if job["choice"] in picked
        ),
        seen=seen_text(picked),
        is_whole=len(picked) == len(content["jobs"]),
    )


def seen_text(picked: Mapping[int, int | None]) -> str:
    """A set of picks as text, such as "5:9 6:none": it says for which set a total was shown."""
    return " ".join(f"{choice}:{option or NOT_NOW}" for choice, option in sorted(picked.items()))


def shown_photos(content: Content) -> tuple[str, ...]:
    """The SHA-256 of every photo that is frozen in the content, each once."""
    photos = (photo["sha256"] for job in content["facts"]["jobs"].values() for photo in job["photos"])
    return tuple(dict.fromkeys(photos))


def photo_pks(revision: QuoteRevision) -> Mapping[str, int]:
    """SHA-256 → id of the photos of a visit, for people of the shop. One query."""
    rows = Photo.objects.filter(work_order=revision.quote.work_order_id)
    return dict(rows.values_list("sha256", "pk"))


def _job(
    job: Mapping[str, Any],
    *,
    content: Content,
    picked: Mapping[int, int | None],
    photo_url: Callable[[str], str],
) -> PageJob:
    facts, choice = content["facts"]["jobs"][str(job["job"])], job["choice"]
    options = [_option(option, content=content, wanted=picked.get(choice)) for option in job["options"]]
    return PageJob(
        field=f"choice-{choice}",
        facts=facts,
        terms=job.get("terms", {}),
        comparison=job.get("comparison_shown"),
        photos=tuple(
            ShownPhoto(url=photo_url(photo["sha256"]), caption=photo["caption"]) for photo in facts["photos"]
        ),
        options=tuple(option for option in options if option.shown["way"] != Way.LEAVE),
        leave=next((option for option in options if option.shown["way"] == Way.LEAVE), None),
        is_not_now=choice in picked and picked[choice] is None,
        has_own_parts=any(
            line.get("condition") == PartCondition.CUSTOMERS_OWN
            for option in job["options"]
            for line in option["lines"]
        ),
    )


def _option(option: Content, *, content: Content, wanted: int | None) -> PageOption:
    is_only_job = len(content["jobs"]) == 1
    adds = Decimal(option["totals"]["without_tax"])
    return PageOption(
        shown=option,
        code=option["letter"].lower(),
        is_picked=wanted == option["option"],
        grown=grown_to(content, adds=adds) if is_only_job else None,
    )


def _words(job: Mapping[str, Any], *, content: Content, picked: Mapping[int, int | None]) -> str:
    """What is picked for a job; with its complaint in front where there are several jobs."""
    wanted = picked[job["choice"]]
    titles = [f"{one['letter']} – {one['title']}" for one in job["options"] if one["option"] == wanted]
    answer = titles[0] if titles else _("not now")
    if len(content["jobs"]) == 1:
        return answer
    complaint = content["facts"]["jobs"][str(job["job"])]["complaint"]
    return f"{Truncator(complaint).chars(60)}: {answer}"
