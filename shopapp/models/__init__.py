"""Rows: every table of the shop."""

from shopapp.models.activity import Activity, ActivityHead, NumberSeries, RequestKey, SearchText
from shopapp.models.actuals import FluidCondition, FluidEntry, PartUsed, TimeEntry, TimeKind
from shopapp.models.approvals import Approval, ApprovedChoice, CustomerLink, Decision
from shopapp.models.customers import Customer
from shopapp.models.engines import (
    Engine,
    EngineMounting,
    EnginePosition,
    HourReading,
    HoursSource,
    SerialState,
)
from shopapp.models.invoices import Invoice, InvoiceLine, InvoiceTax, Payment, PaymentMethod, StoredPaper
from shopapp.models.jobs import Job, JobAssignment, JobTest, Outcome, Photo, PriceKind, TestKind
from shopapp.models.lines import LineKind, Payer, Unit
from shopapp.models.people import Person, Wage
from shopapp.models.quotes import (
    Quote,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Way,
)
from shopapp.models.shop import KindTax, LabourRate, MarkupBand, Shop, TaxCode, TaxRate
from shopapp.models.vessels import Vessel, VesselOwnership
from shopapp.models.work_orders import CLOSED_STAGES, Hold, Stage, ToldHow, WorkOrder

__all__ = [
    "CLOSED_STAGES",
    "Activity",
    "ActivityHead",
    "Approval",
    "ApprovedChoice",
    "Customer",
    "CustomerLink",
    "Decision",
    "Engine",
    "EngineMounting",
    "EnginePosition",
    "FluidCondition",
    "FluidEntry",
    "Hold",
    "HourReading",
    "HoursSource",
    "Invoice",
    "InvoiceLine",
    "InvoiceTax",
    "Job",
    "JobAssignment",
    "JobTest",
    "KindTax",
    "LabourRate",
    "LineKind",
    "MarkupBand",
    "NumberSeries",
    "Outcome",
    "PartUsed",
    "Payer",
    "Payment",
    "PaymentMethod",
    "Person",
    "Photo",
    "PriceKind",
    "Quote",
    "QuoteChoice",
    "QuoteLine",
    "QuoteOption",
    "QuoteRevision",
    "RequestKey",
    "RevisionState",
    "SearchText",
    "SerialState",
    "Shop",
    "Stage",
    "StoredPaper",
    "TaxCode",
    "TaxRate",
    "TestKind",
    "TimeEntry",
    "TimeKind",
    "ToldHow",
    "Unit",
    "Vessel",
    "VesselOwnership",
    "Wage",
    "Way",
    "WorkOrder",
]
