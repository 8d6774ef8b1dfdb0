"""What a quote rests on besides its own rows: shop, customer, boat, jobs, photos, rules of sums and words.

They are frozen with what was shown, so that a paper printed years later does not follow a shop that moved.
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from babel.dates import format_date
from django.utils.translation import gettext_lazy

from shopapp.calc.money import format_money, from_minor
from shopapp.calc.tax import TaxTreatment
from shopapp.models import (
    ChanceFrom,
    Engine,
    EngineMounting,
    EnginePosition,
    FeeCredit,
    Intake,
    Job,
    LineKind,
    PartCondition,
    Payer,
    Photo,
    PriceKind,
    QuoteRevision,
    Shop,
    Unit,
    Vessel,
    Way,
    WorkOrder,
)
from shopapp.queries.approvals import SHOWN_CREDIT, in_force
from shopapp.queries.engines import engine_words, family_key
from shopapp.queries.repair_records import Wanted, repair_records
from shopapp.queries.shop import local_day, treatments_at
from shopapp.queries.vessels import boat_line

type Facts = dict[str, Any]

PRICE_KIND_SAYS = {
    PriceKind.FIXED: gettext_lazy("This is what you pay, whatever it takes."),
    PriceKind.CEILING: gettext_lazy("You pay for what is really used, and never more than this."),
    PriceKind.TIME_AND_MATERIAL: gettext_lazy(
        "About this much. You pay for the hours and parts really used, at these rates; we ask you before it "
        "goes above the agreed total."
    ),
}
FEE_SAYS = {
    FeeCredit.NEVER: gettext_lazy(
        "Agreed when the boat came in: %(amount)s diagnosis fee, without tax, charged in any case."
    ),
    FeeCredit.GOES_AHEAD: gettext_lazy(
        "Agreed when the boat came in: %(amount)s diagnosis fee, without tax. It is asked if nothing is "
        "repaired, and not on top of a repair."
    ),
}


def facts_of(
    revision: QuoteRevision,
    *,
    shop: Shop,
    day: date,
    at: datetime,
    frozen: Mapping[str, Any] | None = None,
) -> Facts:
    """The facts as the rows hold them now, with the taxes of ``day`` and what was agreed until ``at``.

    ``revision`` comes from ``queries.shown.revision_rows``. With ``frozen`` facts only the photos that were
    shown then are taken up, and the words are those of then: a photo taken since and a better word for a
    label do not change what was shown. Five queries; six or seven for a supplement, two more where an option
    rests on the shop's own record.
    """
    work_order = revision.quote.work_order
    jobs = [choice.job for choice in revision.choices.all()]
    photos, positions = _photos_of(jobs, frozen=frozen), _positions_of(jobs, vessel=work_order.vessel)
    return {
        "shop": _shop(shop),
        "rules": _rules(shop),
        "taxes": _taxes(treatments_at(day, customer=work_order.customer)),
        "customer": work_order.customer.name,
        "boat": {name: getattr(work_order.vessel, name) for name in ("name", "make", "model")},
        "boat_shown": boat_line(work_order.vessel),
        "work_order": work_order.number,
        "jobs": {
            str(job.pk): _job(job, position=positions.get(job.engine_id, ""), photos=photos[job.pk])
            for job in jobs
        },
        "consent": {"text": shop.consent_text, "version": shop.consent_version},
        "warranty_terms": shop.warranty_terms,
        "own_parts_text": shop.own_parts_text if _has_own_parts(revision) else "",
        "diagnosis_fee": _diagnosis_fee(work_order, shop=shop, at=at),
        "agreed": _agreed(revision, shop=shop, at=at) if revision.quote.is_supplement else None,
        "records": _records(revision, shop=shop, at=at) if frozen is None else frozen.get("records", {}),
        "words": _words() if frozen is None else frozen["words"],
    }


def engine_line(engine: Engine | None, *, position: str = "") -> str:
    """An engine as people tell it from its neighbour; empty when the job is on the boat itself."""
    if engine is None:
        return ""
    return ", ".join(filter(None, [engine_words(engine), position, engine.serial]))


def _records(revision: QuoteRevision, *, shop: Shop, at: datetime) -> Facts:
    """What the shop's own record says of the options that rest on it, by their ids. Two queries, if any."""
    wanted = {
        str(option.pk): Wanted(way=option.way, family=family_of(choice.job))
        for choice in revision.choices.all()
        for option in choice.options.all()
        if option.chance_from == ChanceFrom.RECORD
    }
    if not wanted:
        return {}
    records = repair_records(set(wanted.values()), shop=shop, at=at)
    return {pk: records[one].says for pk, one in wanted.items()}


def sum_facts(revision: QuoteRevision, *, shop: Shop, day: date, records: Mapping[str, str]) -> Facts:
    """The facts that sums and comparisons rest on, and no more; ``records`` by option id. One query."""
    return {
        "rules": _rules(shop),
        "taxes": _taxes(treatments_at(day, customer=revision.quote.work_order.customer)),
        "records": records,
        "words": _words(),
    }


def family_of(job: Job) -> str:
    """The engine family of a job (its engine came along); empty where there is no engine."""
    if job.engine is None:
        return ""
    return family_key(make=job.engine.make, model=job.engine.model)


def _has_own_parts(revision: QuoteRevision) -> bool:
    return any(
        line.condition == PartCondition.CUSTOMERS_OWN
        for choice in revision.choices.all()
        for option in choice.options.all()
        for line in option.lines.all()
    )


def _diagnosis_fee(work_order: WorkOrder, *, shop: Shop, at: datetime) -> Facts | None:
    """The fee of the terms that were signed last before ``at``, and what they say of it. One query."""
    intakes = Intake.objects.filter(work_order=work_order, signed_at__lte=at)
    terms = intakes.order_by("-signed_at", "-pk").annotate(credit=SHOWN_CREDIT)
    minor, signed_credit = terms.values_list("diagnosis_fee_minor", "credit").first() or (0, "")
    if not minor:
        return None
    amount = from_minor(minor, currency=shop.currency)
    shown = format_money(amount, currency=shop.currency, locale=shop.locale)
    credit = FeeCredit(signed_credit or shop.fee_credit)
    return {
        "amount": f"{amount:f}",
        "credit": credit.value,
        "says_shown": FEE_SAYS[credit] % {"amount": shown},
    }


def _agreed(revision: QuoteRevision, *, shop: Shop, at: datetime) -> Facts:
    """What a supplement adds to: the approvals that were there at ``at``, without tax, and their days.

    Two queries at most.
    """
    found = in_force(revision.quote.work_order, at=at, besides=revision)
    days = list(dict.fromkeys(local_day(shop, one.decided_at) for one in found))
    amount = from_minor(sum(one.without_tax_minor for one in found), currency=shop.currency)
    return {
        "without_tax": f"{amount:f}",
        "without_tax_shown": format_money(amount, currency=shop.currency, locale=shop.locale),
        "days": [day.isoformat() for day in days],
        "days_shown": ", ".join(format_date(day, format="d MMM y", locale=shop.locale) for day in days),
        "quotes": [one.quote for one in found],
    }


def _shop(shop: Shop) -> Facts:
    return {
        "name": shop.name,
        "address": shop.address,
        "phone": shop.phone,
        "email": shop.email,
        "tax_number": shop.tax_number,
    }


def _rules(shop: Shop) -> Facts:
    return {
        "currency": shop.currency,
        "locale": shop.locale,
        "rounding": str(shop.rounding),
        "tax_level": str(shop.tax_level),
        "prices_include_tax": shop.prices_include_tax,
    }


def _taxes(treatments: Mapping[int, TaxTreatment]) -> Facts:
    return {
        str(pk): {
            "code": treatment.code,
            "category": treatment.category,
            "reason": treatment.exemption_reason,
            "components": [
                {"name": one.name, "rate": f"{one.rate:f}", "compounds": one.compounds}
                for one in treatment.components
            ],
        }
        for pk, treatment in treatments.items()
    }


def _job(job: Job, *, position: str, photos: list[Facts]) -> Facts:
    return {
        "complaint": job.complaint,
        "cause": job.cause,
        "engine": _engine(job.engine, position=position),
        "engine_shown": engine_line(job.engine, position=_position_words(position)),
        "price_kind": job.price_kind,
        "price_kind_shown": str(PriceKind(job.price_kind).label),
        "price_kind_says_shown": str(PRICE_KIND_SAYS[PriceKind(job.price_kind)]),
        "photos": photos,
    }


def _engine(engine: Engine | None, *, position: str) -> Facts | None:
    if engine is None:
        return None
    return {"make": engine.make, "model": engine.model, "serial": engine.serial, "position": position}


def _position_words(position: str) -> str:
    return str(EnginePosition(position).label) if position else ""


def _photos_of(jobs: Iterable[Job], *, frozen: Mapping[str, Any] | None) -> dict[int, list[Facts]]:
    found: dict[int, list[Facts]] = {job.pk: [] for job in jobs}
    for photo in Photo.objects.filter(job__in=found).order_by("taken_at", "pk"):
        if frozen is None or photo.sha256 in _shown_photos(frozen, job_id=photo.job_id):
            found[photo.job_id].append({"sha256": photo.sha256, "caption": photo.caption})
    return found


def _shown_photos(frozen: Mapping[str, Any], *, job_id: int) -> set[str]:
    return {photo["sha256"] for photo in frozen["jobs"].get(str(job_id), {"photos": []})["photos"]}


def _positions_of(jobs: Iterable[Job], *, vessel: Vessel) -> dict[int | None, str]:
    """Engine id → the code of "port" and the like, where a boat has more than one engine."""
    mountings = EngineMounting.objects.filter(
        vessel=vessel, until_date__isnull=True, engine__in=[job.engine_id for job in jobs if job.engine_id]
    )
    return {one.engine_id: one.position for one in mountings if one.position != EnginePosition.SINGLE}


def _words() -> Facts:
    """The words of this day, so that a better word later does not alter an old paper."""
    return {
        "ways": {way.value: str(way.label) for way in Way},
        "units": {unit.value: str(unit.label) for unit in Unit},
        "payers": {payer.value: str(payer.label) for payer in Payer},
        "kinds": {kind.value: str(kind.label) for kind in LineKind},
        "conditions": {one.value: str(one.label) for one in PartCondition},
    }
