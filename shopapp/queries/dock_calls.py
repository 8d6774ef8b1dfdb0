"""A visit that was handed out for a dock call: what the tablet may show of it without a connection.

The one place of the bench that holds a customer's name, telephone, berth and prices: one visit, one tablet,
one person, one day.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from itertools import product
from math import prod

from django.urls import reverse
from django.utils import timezone

from shopapp.calc.money import format_money, from_minor
from shopapp.models import Device, DockCall, Job, Person, QuoteRevision, RevisionState, Shop
from shopapp.queries.approvals import approved_options, authorised
from shopapp.queries.bench import Running, running
from shopapp.queries.customer_quotes import (
    CustomerPage,
    Picked,
    customer_page,
    picked_of,
    shown_photos,
)
from shopapp.queries.shop import end_of_day, the_shop
from shopapp.queries.shown import Content, stored_content
from shopapp.queries.vessels import boat_words

# of more sets than these the totals are not worked out beforehand
MOST_SETS = 64


@dataclass(frozen=True, kw_only=True)
class DockLink:
    """The dock call of the day, for the list of the own jobs: no customer, no price."""

    pk: int
    number: str
    boat: str
    ends_at: datetime


@dataclass(frozen=True, kw_only=True)
class ShownSet:
    """What can be chosen of a quote together, and what exactly that comes to; ``total`` is exact text."""

    picked: Picked
    total: str
    words: str


@dataclass(frozen=True, kw_only=True)
class DockQuote:
    """A quote that waits for an answer, as it was shown; without ``sets`` it needs a connection.

    ``job_pk`` is the job under which the tablet sends the answer, ``consent_version`` that of the words that
    are signed.
    """

    pk: int
    number: str
    job_pk: int
    shown_sha256: str
    consent_version: str
    page: CustomerPage
    sets: tuple[ShownSet, ...]


@dataclass(frozen=True, kw_only=True)
class AgreedJob:
    """A job, and what was agreed of it; nothing yet where ``titles`` are empty."""

    complaint: str
    titles: str


@dataclass(frozen=True, kw_only=True)
class DockPage:
    """The visit for whoever is at the boat; ``expired`` are numbers of quotes whose prices have run out."""

    clock: Running | None
    call_pk: int
    number: str
    boat: str
    berth: str
    customer: str
    phone: str
    jobs: tuple[AgreedJob, ...]
    agreed: str
    quotes: tuple[DockQuote, ...]
    expired: tuple[str, ...]
    offers_parts_back: bool
    ends_at: datetime
    made_at: datetime


def dock_call_here(device: Device, person: Person, *, day: date) -> DockCall | None:
    """What is handed out to this person at this tablet on this day, with its customer. One query."""
    calls = DockCall.objects.in_force_on(day).filter(device=device.pk, person=person.pk)
    return calls.select_related("work_order__vessel", "work_order__customer").first()


def dock_call_of(device: Device, *, day: date) -> int | None:
    """The id of what is handed out to this tablet on this day. One query."""
    return DockCall.objects.in_force_on(day).filter(device=device.pk).values_list("pk", flat=True).first()


def dock_link(device: Device, person: Person, *, day: date, ends_at: datetime) -> DockLink | None:
    """The way from the own jobs to the dock call of the day. One query."""
    call = dock_call_here(device, person, day=day)
    if call is None:
        return None
    visit = call.work_order
    return DockLink(pk=call.pk, number=visit.number, boat=boat_words(visit.vessel), ends_at=ends_at)


def dock_page(call: DockCall, *, viewer: Person) -> DockPage:
    """The page of a call (from ``dock_call_here``); seven queries, six where nothing is agreed."""
    visit, shop = call.work_order, the_shop()
    waiting = list(_waiting(call))
    valid = [one for one in waiting if one.valid_until_date and one.valid_until_date >= call.call_date]
    jobs = list(Job.objects.filter(work_order=visit).order_by("position"))
    first = min((job.pk for job in jobs), default=0)
    return DockPage(
        clock=running(viewer),
        call_pk=call.pk,
        number=visit.number,
        boat=boat_words(visit.vessel),
        berth=(visit.place if visit.is_boat_here else "") or visit.vessel.kept_on,
        customer=visit.customer.name,
        phone=visit.customer.phone,
        jobs=_agreed_jobs(jobs),
        agreed=_money(authorised(visit).agreed_minor, shop=shop),
        quotes=tuple(_quote(one, call=call, job_pk=first) for one in valid),
        expired=tuple(one.quote.number for one in waiting if one not in valid),
        offers_parts_back=shop.offers_parts_back,
        ends_at=end_of_day(shop, call.call_date),
        made_at=timezone.now(),
    )


def dock_photos(call: DockCall) -> frozenset[str]:
    """The SHA-256 of every photo that is frozen in a quote which waits on this visit. One query."""
    return frozenset(photo for one in _waiting(call) for photo in shown_photos(stored_content(one)))


def sets_of(content: Content) -> Iterator[Mapping[int, int | None]]:
    """Everything that can be chosen together: for each question one of its options, or not now. No query."""
    questions = [job["choice"] for job in content["jobs"]]
    for picks in product(*(_answers_to(job) for job in content["jobs"])):
        yield dict(zip(questions, picks, strict=True))


def _answers_to(job: Content) -> tuple[int | None, ...]:
    return (*(option["option"] for option in job["options"]), None)


def _waiting(call: DockCall) -> Sequence[QuoteRevision]:
    sent = QuoteRevision.objects.filter(quote__work_order=call.work_order_id, state=RevisionState.SENT)
    return list(sent.exclude(shown="").select_related("quote").order_by("pk"))


def _agreed_jobs(jobs: Sequence[Job]) -> tuple[AgreedJob, ...]:
    chosen = approved_options(jobs)
    return tuple(
        AgreedJob(
            complaint=job.complaint, titles=", ".join(option.title for option in chosen.get(job.pk, ()))
        )
        for job in jobs
    )


def _money(minor: int, *, shop: Shop) -> str:
    amount = from_minor(minor, currency=shop.currency)
    return format_money(amount, currency=shop.currency, locale=shop.locale)


def _quote(revision: QuoteRevision, *, call: DockCall, job_pk: int) -> DockQuote:
    content = stored_content(revision)
    count = prod(len(_answers_to(job)) for job in content["jobs"])
    return DockQuote(
        pk=revision.pk,
        number=revision.quote.number,
        job_pk=job_pk,
        shown_sha256=revision.shown_sha256,
        consent_version=str(content["facts"]["consent"]["version"]),
        page=customer_page(content, photo_url=partial(_photo_url, call.pk)),
        sets=tuple(_shown_set(content, picks) for picks in sets_of(content)) if count <= MOST_SETS else (),
    )


def _shown_set(content: Content, picks: Mapping[int, int | None]) -> ShownSet:
    picked = picked_of(content, picks)
    return ShownSet(picked=picked, total=picked.totals["with_tax"], words="; ".join(picked.words))


def _photo_url(call_pk: int, sha256: str) -> str:
    # the tablet sees by its name to which call a photo belongs, and wipes it with it
    return reverse("bench:dock_photo", args=[f"{call_pk}-{sha256}"])
