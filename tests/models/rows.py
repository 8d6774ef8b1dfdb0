"""A valid row of any table, with whatever it hangs on; what a database said when it refused one."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.apps import apps
from django.db import DatabaseError, connection
from django.db.models import Model

from shopapp import models as rows
from tests.factories import (
    CustomerFactory,
    EngineFactory,
    JobFactory,
    PersonFactory,
    VesselFactory,
    WorkOrderFactory,
)

MOMENT = datetime(2026, 6, 2, 17, 30, tzinfo=UTC)
DAY = date(2026, 6, 2)
DIGEST = "0" * 64
SIGNED = {
    "signed_at": MOMENT,
    "signed_how": "paper",
    "signed_name": "Pia Lindqvist",
    "shown": "{}",
    "shown_sha256": DIGEST,
    "signed_sha256": DIGEST,
}
SENT = {"state": "sent", "sent_at": MOMENT, "shown": "{}", "shown_sha256": DIGEST}
ISSUED = {
    "issued_at": MOMENT,
    "issue_date": DAY,
    "tax_date": DAY,
    "due_date": DAY,
    "shown": "{}",
    "shown_sha256": DIGEST,
}
_FACTORIES: dict[type[Model], Callable[..., Any]] = {
    rows.Customer: CustomerFactory,
    rows.Engine: EngineFactory,
    rows.Job: JobFactory,
    rows.Person: PersonFactory,
    rows.Vessel: VesselFactory,
    rows.WorkOrder: WorkOrderFactory,
}
_count = 0


def _next() -> int:
    """Another number each time."""
    global _count  # noqa: PLW0603 (a counter of the test process, as the factories keep one)
    _count += 1
    return _count


def _text() -> str:
    return f"T{_next():06d}"


def _digest() -> str:
    return f"{_next():064d}"


def _day() -> date:
    return date(2020, 1, 1) + timedelta(days=_next())


def _sent_revision() -> rows.QuoteRevision:
    return make(rows.QuoteRevision, **SENT)


def _boat_without_owner() -> rows.Vessel:
    return rows.Vessel.objects.create(kept_on="trailer")


_PRICED = {
    "kind": "part",
    "description": "Water pump impeller",
    "quantity_milli": 1_000,
    "unit": "each",
    "unit_price_e4": 480_000,
    "tax_code": rows.TaxCode,
    "position": _next,
}
_LOGGED = {"job": rows.Job, "logged_by": rows.Person, "happened_at": MOMENT, "recorded_at": MOMENT}
_OF_FAMILY = {"family": rows.EngineFamily, "page": "4-12"}
_WASTE = {
    "container": rows.WasteContainer,
    "volume_ml": 820,
    "logged_by": rows.Person,
    "happened_at": MOMENT,
    "recorded_at": MOMENT,
}
_SHOP = {"address": "4 Slip Lane", "currency": "CAD", "locale": "en_CA", "time_zone": "America/Vancouver"}
# a class stands for a fresh row of it, a function for what it returns
_VALUES: dict[type[Model], dict[str, Any]] = {
    rows.Activity: {
        "seq": _next,
        "happened_at": MOMENT,
        "actor": "system",
        "actor_name": "the app",
        "scope": "system",
        "verb": "open",
        "record": "customer:1",
        "salt": "0" * 32,
        "payload": "{}",
        "payload_sha256": DIGEST,
        "chain_hash": DIGEST,
    },
    rows.ActivityHead: {"pk": 1, "chain_hash": DIGEST},
    rows.Approval: {
        "revision": _sent_revision,
        "decision": "approved",
        "without_tax_minor": 10_000,
        "with_tax_minor": 11_200,
        "signed_name": "Pia Lindqvist",
        "decided_at": MOMENT,
        "signed_sha256": DIGEST,
    },
    rows.Allocation: {
        "payment": rows.Payment,
        "invoice": rows.Invoice,
        "amount_minor": 5_000,
        "allocated_at": MOMENT,
    },
    rows.ApprovedChoice: {"approval": rows.Approval, "choice": rows.QuoteChoice},
    rows.BilledSource: {"line": rows.InvoiceLine, "plan_line": rows.QuoteLine},
    rows.BrowserSession: {
        "session_key": _text,
        "session_data": "",
        "expire_date": MOMENT,
        "code": _text,
        "seen_at": MOMENT,
    },
    rows.CallSlip: {
        "name": "Pia Lindqvist",
        "about": "When is the boat ready?",
        "taken_by": rows.Person,
        "taken_at": MOMENT,
    },
    rows.ClockSpan: {
        "mark": uuid.uuid4,
        "person": rows.Person,
        "kind": "yard",
        "on_at": MOMENT,
        "time_entry": rows.TimeEntry,
    },
    rows.CustodyEntry: {
        "work_order": rows.WorkOrder,
        "thing": "boat",
        "move": "in",
        "happened_at": MOMENT,
        "recorded_at": MOMENT,
        "recorded_by": rows.Person,
    },
    rows.CustomerLink: {
        "revision": rows.QuoteRevision,
        "token_sha256": _digest,
        "created_by": rows.Person,
        "created_at": MOMENT,
        "expires_at": MOMENT,
    },
    rows.Device: {
        "name": "Bench tablet 1",
        "token_sha256": _digest,
        "enrolled_by": rows.Person,
        "enrolled_at": MOMENT,
        "seen_at": MOMENT,
    },
    rows.DockCall: {
        "work_order": rows.WorkOrder,
        "device": rows.Device,
        "person": rows.Person,
        "call_date": DAY,
        "handed_by": rows.Person,
        "handed_at": MOMENT,
    },
    rows.Bulletin: _OF_FAMILY | {"number": _text, "text": "Replace the thermostat."},
    rows.EngineFamily: {"make": "Petrel Marine", "name": _text},
    rows.EngineMounting: {"engine": rows.Engine, "vessel": rows.Vessel, "from_date": DAY},
    rows.FeeEntry: _LOGGED | {"kind": "lift", "description": "Lift out", "quantity_milli": 1_000},
    rows.FeeRate: {"name": _text, "kind": "lift", "unit_price_e4": 850_000},
    rows.FluidEntry: _LOGGED
    | {"point": "gear case", "product": "gear oil", "drained_ml": 700, "filled_ml": 750},
    rows.FluidCapacity: _OF_FAMILY | {"point": _text, "amount_e4": 3_500_000, "unit": "ml", "ml": 350},
    rows.HourReading: {"engine": rows.Engine, "tenths": 4_120, "source": "meter", "read_at": MOMENT},
    rows.Intake: {"work_order": rows.WorkOrder, "created_at": MOMENT},
    rows.Invoice: {"work_order": rows.WorkOrder, "customer": rows.Customer, "created_at": MOMENT},
    rows.InvoiceLine: _PRICED | {"invoice": rows.Invoice, "plan_line": rows.QuoteLine},
    rows.InvoiceTax: {
        "invoice": rows.Invoice,
        "name": _text,
        "category": "S",
        "rate_e6": 50_000,
        "taxable_minor": 10_000,
        "tax_minor": 500,
    },
    rows.JobAssignment: {"job": rows.Job, "person": rows.Person},
    rows.JobTest: {
        "job": rows.Job,
        "kind": "water",
        "has_passed": True,
        "tested_by": rows.Person,
        "tested_at": MOMENT,
    },
    rows.JobStep: {
        "job": rows.Job,
        "position": _next,
        "text": "New plug gaskets",
        "origin": "hand",
        "added_by": rows.Person,
        "added_at": MOMENT,
    },
    rows.StepLine: {"list": rows.StepList, "position": _next, "text": "New plug gaskets"},
    rows.StepList: {"title": _text},
    rows.StepTick: {
        "step": rows.JobStep,
        "ticked_by": rows.Person,
        "happened_at": MOMENT,
        "recorded_at": MOMENT,
    },
    rows.JobNote: {
        "job": rows.Job,
        "text": "Line on the shaft",
        "written_by": rows.Person,
        "happened_at": MOMENT,
        "recorded_at": MOMENT,
    },
    rows.KindTax: {"kind": "part", "tax_code": rows.TaxCode},
    rows.KnownFault: _OF_FAMILY | {"text": "The thermostat sticks."},
    rows.LabourRate: {"name": _text, "sell_rate_e4": 1_200_000},
    rows.MarkupBand: {"up_to_e4": _next, "markup_e4": 6_000},
    rows.MissCount: {"address": _text, "since_at": MOMENT},
    rows.NumberSeries: {"code": _text, "prefix": "W"},
    rows.ParkedForm: {"person": rows.Person, "title": "New arrival", "path": "/", "parked_at": MOMENT},
    rows.Part: {"number": _text, "description": "Water pump impeller"},
    rows.PartUsed: _LOGGED | {"description": "Water pump impeller", "quantity_milli": 1_000},
    rows.Payment: {
        "invoice": rows.Invoice,
        "amount_minor": 11_200,
        "method": "card",
        "received_at": MOMENT,
        "taken_by": rows.Person,
    },
    rows.Photo: {
        "work_order": rows.WorkOrder,
        "job": rows.Job,
        "sha256": _digest,
        "width": 1_600,
        "height": 1_200,
        "byte_size": 300_000,
        "taken_by": rows.Person,
        "taken_at": MOMENT,
    },
    rows.Pin: {"person": rows.Person, "code": "md5$salt$hash", "set_at": MOMENT},
    rows.PinMiss: {"person": rows.Person, "device": rows.Device},
    rows.PlacedHold: {
        "work_order": rows.WorkOrder,
        "kind": "parts",
        "chaser": rows.Person,
        "chase_date": DAY,
        "placed_at": MOMENT,
        "placed_by": rows.Person,
    },
    rows.Question: {"revision": _sent_revision, "text": "How long will it hold?", "asked_at": MOMENT},
    rows.Quote: {"work_order": rows.WorkOrder, "number": _text},
    rows.QuoteChoice: {"revision": rows.QuoteRevision, "job": rows.Job},
    rows.QuoteLine: _PRICED | {"option": rows.QuoteOption},
    rows.QuoteOption: {
        "choice": rows.QuoteChoice,
        "position": _next,
        "way": "mend",
        "title": "Mend the pump",
        "days": 3,
        "warranty_months": 12,
    },
    rows.QuoteRevision: {"quote": rows.Quote, "revision": _next, "created_at": MOMENT},
    rows.Reading: _LOGGED | {"kind": "voltage", "verdict": "no_limit", "verdict_words": "no limit known"},
    rows.ReadingLimit: _OF_FAMILY | {"kind": "voltage", "point": _text, "minimum_e4": 124_000},
    rows.ReadingValue: {"reading": rows.Reading, "value_e4": 126_000, "verdict": "no_limit"},
    rows.RecoveryCode: {"second_step": rows.SecondStep, "digest": _digest},
    rows.Refund: {
        "payment": rows.Payment,
        "amount_minor": 1_000,
        "method": "cash",
        "given_at": MOMENT,
        "given_by": rows.Person,
    },
    rows.Removed: {
        "person": rows.Person,
        "what": "Gear oil",
        "revision": rows.QuoteRevision,
        "rows": list,
        "removed_at": MOMENT,
    },
    rows.RequestKey: {
        "key": uuid.uuid4,
        "claim": uuid.uuid4,
        "actor": "system",
        "route": "/",
        "payload_sha256": DIGEST,
        "created_at": MOMENT,
    },
    rows.SecondStep: {"person": rows.Person, "salt": _text, "made_at": MOMENT},
    rows.SearchText: {"kind": "customer", "record_id": _next, "words": "pia lindqvist"},
    rows.ServiceInterval: _OF_FAMILY | {"what": _text, "hours": 100},
    rows.Shop: _SHOP
    | {"pk": 1, "name": "Heron Inlet Outboards", "consent_text": "I agree.", "consent_version": "1"},
    rows.StoredPaper: {
        "document": "invoice",
        "content_sha256": _digest,
        "pdf_sha256": DIGEST,
        "made_at": MOMENT,
    },
    rows.SubletEntry: _LOGGED | {"supplier": "Inlet Machining", "description": "Grind the shaft"},
    rows.TabletEntry: {
        "entry_id": uuid.uuid4,
        "text": "{}",
        "text_sha256": _digest,
        "claim": uuid.uuid4,
        "device": rows.Device,
        "happened_at": MOMENT,
        "received_at": MOMENT,
        "reason": "This job is closed.",
    },
    rows.TabletKey: {"id": uuid.uuid4, "device": rows.Device, "person": rows.Person, "issued_at": MOMENT},
    rows.TaxCode: {"name": _text},
    rows.TaxRate: {
        "tax_code": rows.TaxCode,
        "name": "Federal",
        "rate_e6": 50_000,
        "valid_from_date": _day,
    },
    rows.TighteningSpec: _OF_FAMILY | {"joint": _text, "pattern": "circle", "columns": 6},
    rows.TighteningStage: {
        "spec": rows.TighteningSpec,
        "position": _next,
        "kind": "torque",
        "value_e4": 230_000,
        "unit": "n_m",
    },
    rows.TimeEntry: _LOGGED | {"person": rows.Person, "minutes": 90},
    rows.VesselOwnership: {"vessel": _boat_without_owner, "customer": rows.Customer, "from_date": DAY},
    rows.VisitPerson: {"work_order": rows.WorkOrder, "part": "bringer", "name": "Jonas Lindqvist"},
    rows.WasteContainer: {
        "name": _text,
        "kind": "used_oil",
        "size_ml": 60_000,
        "begun_at": MOMENT,
        "begun_by": rows.Person,
    },
    rows.WasteHandOver: _WASTE | {"collector": "Inlet Oil Collection"},
    rows.WastePour: _WASTE | {"what": "Drip tray", "fluid_entry": rows.FluidEntry},
    rows.Wage: {"person": rows.Person, "from_date": _day, "hourly_e4": 300_000},
}


def every_model() -> list[type[Model]]:
    """Every table of the shop."""
    return sorted(apps.get_app_config("shopapp").get_models(), key=lambda model: model.__name__)


def make(model: type[Model], **changes: Any) -> Any:
    """A valid saved row with these changes."""
    if model in _FACTORIES:
        return _FACTORIES[model](**{name: _value(value) for name, value in changes.items()})
    row = model(**{name: _value(value) for name, value in (_VALUES[model] | changes).items()})
    row.save(force_insert=True)
    return row


def _value(value: Any) -> Any:
    if isinstance(value, type) and issubclass(value, Model):
        return make(value)
    return value() if callable(value) else value


def change(row: Model, **changes: Any) -> None:
    """Write these columns of the row, and only these."""
    type(row)._default_manager.filter(pk=row.pk).update(**changes)


def refused_by(error: DatabaseError) -> str:
    """The name of the check, ``unique: column, column``, or the sentence of the guard that refused."""
    if connection.vendor == "postgresql":
        told = error.__cause__.diag
        if told.sqlstate == "23505":
            return "unique: " + told.message_detail.partition("(")[2].partition(")")[0].replace('"', "")
        return told.constraint_name or told.message_primary
    kind, _, what = str(error).partition(" constraint failed: ")
    if kind == "UNIQUE":
        return f"unique: {', '.join(part.rpartition('.')[2] for part in what.split(', '))}"
    return what or str(error)
