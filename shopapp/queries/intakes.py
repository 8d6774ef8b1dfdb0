"""On what terms a boat is taken in: as the customer reads and signs it, as a plain map made from rows.

Exact figures stand beside the words that people read (keys that end in ``_shown``). Frozen when it is signed.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from babel.dates import format_datetime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shopapp.calc.money import from_minor
from shopapp.models import FeeCredit, Fuel, Intake, Job, PartInVisit, Shop, VisitPerson, WorkOrder
from shopapp.queries.engines import MountedEngine, engine_words, mounted_engines
from shopapp.queries.erased import Erased
from shopapp.queries.seen_lately import LatelyJob, seen_lately
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.signed_answers import polylines
from shopapp.queries.vessels import boat_line

SCHEMA = 1

type Content = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class UsualTerms:
    """The shop's usual figures, with which the form begins; amounts in the shop's currency, without tax."""

    diagnosis_fee: Decimal
    spending_limit: Decimal
    limit_comes_on_top: bool
    # whoever brings an engine to have it looked at wants it run and the boat moved; launching is asked
    may_run: bool = True
    may_move: bool = True
    may_launch: bool = False
    wants_parts_back: bool = False


def usual_terms(shop: Shop) -> UsualTerms:
    """What this shop usually asks for. No query."""
    return UsualTerms(
        diagnosis_fee=from_minor(shop.diagnosis_fee_minor, currency=shop.currency),
        spending_limit=from_minor(shop.spending_limit_minor, currency=shop.currency),
        limit_comes_on_top=shop.limit_comes_on_top,
    )


def intake_of(work_order: WorkOrder) -> Intake | None:
    """The terms being written, else those in force (signed last). One query."""
    rows = list(Intake.objects.filter(work_order=work_order).select_related("witness").order_by("pk"))
    unsigned = [row for row in rows if row.signed_at is None]
    signed = sorted((row for row in rows if row.signed_at), key=lambda row: (row.signed_at, row.pk))
    return next(iter(unsigned), None) or (signed[-1] if signed else None)


def intake_content(intake: Intake, *, at: datetime) -> Content:
    """What is shown of an intake that is not signed yet, from the rows as they are at that moment.

    Ten queries at most, however many jobs and engines. Only days are in it, no time of day, so that what
    was read a minute ago has the same text now.
    """
    work_order = WorkOrder.objects.select_related("vessel", "customer").get(pk=intake.work_order_id)
    return shown_terms(intake, number=work_order.number, facts=visit_facts(work_order, at=at))


def shown_terms(intake: Intake, *, number: str, facts: Content) -> Content:
    """The terms of an intake with the facts of its visit, as one map. No query."""
    terms = terms_content(intake, rules=facts["rules"])
    return {"schema": SCHEMA, "work_order": number, "facts": facts, "terms": terms}


def stored_content(intake: Intake) -> Content:
    """What was shown before the signature, as it was frozen. Raises Erased once it went with the data."""
    if not intake.shown:
        raise Erased
    content: Content = json.loads(intake.shown)
    return content


def terms_content(intake: Intake, *, rules: Mapping[str, str]) -> Content:
    """The terms of a row in figures and words, written by frozen ``rules``. No query.

    Rebuilt from a signed row it must say what was shown.
    """
    texts = ShopTexts(**{name: rules[name] for name in ("currency", "locale", "time_zone")})
    return {
        "diagnosis_fee_minor": intake.diagnosis_fee_minor,
        "diagnosis_fee_shown": texts.money(intake.diagnosis_fee_minor),
        "spending_limit_minor": intake.spending_limit_minor,
        "spending_limit_shown": texts.money(intake.spending_limit_minor),
        "limit_comes_on_top": intake.limit_comes_on_top,
        "may_run": intake.may_run,
        "may_move": intake.may_move,
        "may_launch": intake.may_launch,
        "wants_parts_back": intake.wants_parts_back,
    }


def visit_facts(work_order: WorkOrder, *, at: datetime) -> Content:
    """What is known of a visit fetched with ``vessel`` and ``customer``, beside the terms. Seven queries."""
    shop = the_shop()
    texts = texts_of(shop)
    jobs = list(Job.objects.filter(work_order=work_order).select_related("engine").order_by("position"))
    engines = mounted_engines([work_order.vessel_id])
    lately = seen_lately(
        vessel=work_order.vessel_id, engines=[engine.pk for engine in engines], shop=shop, at=at
    )
    return {
        "rules": {"currency": shop.currency, "locale": shop.locale, "time_zone": shop.time_zone},
        "shop": _shop(shop),
        "customer": {"name": work_order.customer.name, "phone": work_order.customer.phone},
        "people": [_person(one, texts=texts) for one in work_order.people.order_by("part")],
        "boat": _boat(work_order),
        "engines": [_engine(one) for one in engines],
        "jobs": [_job(job) for job in jobs],
        "state": _state(work_order),
        "opened_shown": texts.day_of(work_order.opened_at),
        "promised_shown": texts.day(work_order.promised_date) if work_order.promised_date else "",
        "purchase_order": work_order.purchase_order,
        "lately": [_lately(one) for one in lately],
        "fee_credit": shop.fee_credit,
        "storage_free_days": shop.storage_free_days,
        "storage_terms": shop.storage_terms,
        "teardown_terms": shop.teardown_terms,
        "consent": {"text": shop.intake_text or _plain_consent(), "version": shop.consent_version},
    }


def _plain_consent() -> str:
    return _("I leave my boat with the shop on these terms.")


def _shop(shop: Shop) -> Content:
    names = ("name", "address", "phone", "email")
    return {name: getattr(shop, name) for name in names}


def _person(one: VisitPerson, *, texts: ShopTexts) -> Content:
    up_to = "" if one.up_to_minor is None else texts.money(one.up_to_minor)
    return {
        "part": one.part,
        "part_shown": str(PartInVisit(one.part).label),
        "name": one.name,
        "phone": one.phone,
        "up_to_minor": one.up_to_minor,
        "up_to_shown": up_to,
    }


def _boat(work_order: WorkOrder) -> Content:
    vessel = work_order.vessel
    return {
        "name": boat_line(vessel),
        "hull_number": vessel.hull_number,
        "registration": vessel.registration,
        "kept_on": vessel.kept_on,
    }


def _engine(one: MountedEngine) -> Content:
    return {
        "position": one.position,
        "name": one.words,
        "serial": one.serial,
        "plate": one.plate,
        "hours": "" if one.hours is None else str(one.hours),
    }


def _job(job: Job) -> Content:
    return {
        "engine": engine_words(job.engine) if job.engine is not None else "",
        "engine_serial": job.engine.serial if job.engine is not None else "",
        "complaint": job.complaint,
    }


def _state(work_order: WorkOrder) -> list[Content]:
    """What was seen when it came in, as rows of a label and a text; what nobody looked at is left out."""
    rows = [
        (_("Fuel"), str(Fuel(work_order.fuel).label) if work_order.fuel else ""),
        (_("Keys tag"), work_order.keys_tag),
        (_("Trailer"), work_order.trailer),
        (_("Loose gear"), work_order.loose_gear),
        (_("Seen on it"), work_order.arrival_state),
    ]
    return [{"label_shown": label, "text": text} for label, text in rows if text]


def _lately(one: LatelyJob) -> Content:
    return {
        "number": one.number,
        "gone_shown": one.gone_shown,
        "engine": one.engine,
        "what": one.what,
        "outcome": one.outcome,
        "who": one.who,
        "warranty": one.warranty,
    }


@dataclass(frozen=True, kw_only=True)
class TermRow:
    """One of the terms: what it is about, and the sentence."""

    label: str
    text: str


def term_rows(content: Content) -> tuple[TermRow, ...]:
    """The terms in sentences, from what is shown alone: the same on screen, tablet and paper. No query."""
    terms, facts = content["terms"], content["facts"]
    rows = [
        TermRow(label=_("Diagnosis"), text=_fee_words(terms, credit=facts["fee_credit"])),
        TermRow(label=_("Without asking again"), text=_limit_words(terms)),
        TermRow(label=_("The shop may"), text=_allowed_words(terms)),
        TermRow(label=_("Replaced parts"), text=_parts_words(terms)),
        TermRow(label=_("Storage"), text=_storage_words(facts)),
        TermRow(label=_("Taking apart"), text=facts["teardown_terms"]),
    ]
    return tuple(row for row in rows if row.text)


def _fee_words(terms: Content, *, credit: str) -> str:
    if terms["diagnosis_fee_minor"] == 0:
        return _("Finding the fault costs no fee of its own.")
    ends = {
        FeeCredit.GOES_AHEAD: _("It is credited when the repair goes ahead."),
        FeeCredit.NEVER: _("It is charged in any case."),
    }
    fee = _("Finding the fault costs %(fee)s without tax.") % {"fee": terms["diagnosis_fee_shown"]}
    return f"{fee} {ends[FeeCredit(credit)]}"


def _limit_words(terms: Content) -> str:
    if terms["spending_limit_minor"] == 0:
        return _("Nothing more is done before I have agreed to it.")
    words = {"limit": terms["spending_limit_shown"]}
    if terms["limit_comes_on_top"]:
        return _("Up to %(limit)s without tax, also in addition to what I agree to later.") % words
    return _("Up to %(limit)s without tax, until I have agreed to a quote; then the quote counts.") % words


def _allowed_words(terms: Content) -> str:
    may = [
        (terms["may_run"], _("run the engine")),
        (terms["may_move"], _("move the boat")),
        (terms["may_launch"], _("launch the boat for a test")),
    ]
    allowed = ", ".join(words for is_allowed, words in may if is_allowed)
    return allowed or _("neither run the engine nor move or launch the boat, without asking me")


def _parts_words(terms: Content) -> str:
    if terms["wants_parts_back"]:
        return _("I want them back.")
    return _("The shop may dispose of them.")


def _storage_words(facts: Content) -> str:
    days = facts["storage_free_days"]
    free = ngettext(
        "%(days)s day is free once I was told that the boat is ready.",
        "%(days)s days are free once I was told that the boat is ready.",
        days,
    ) % {"days": days}
    return " ".join(filter(None, [facts["storage_terms"], free if facts["storage_terms"] and days else ""]))


@dataclass(frozen=True, kw_only=True)
class Signature:
    """A signature under terms, ready to show. ``strokes`` are points for SVG polylines (600 × 240)."""

    name: str
    signed_at: str
    how: str
    witness: str
    strokes: tuple[str, ...]


def signature_of(intake: Intake, *, content: Content) -> Signature | None:
    """Who signed, when and how; ``None`` while nobody has. No query if the witness was fetched."""
    if intake.signed_at is None:
        return None
    rules = content["facts"]["rules"]
    local = intake.signed_at.astimezone(ZoneInfo(rules["time_zone"]))
    return Signature(
        name=intake.signed_name,
        signed_at=format_datetime(local, format="d MMM y, HH:mm z", locale=rules["locale"]),
        how=str(intake.get_signed_how_display()),
        witness=intake.witness.name if intake.witness is not None else "",
        strokes=polylines(intake.strokes),
    )
