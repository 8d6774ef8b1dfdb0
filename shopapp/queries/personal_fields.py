"""What happens to each field that people write in when a customer's data is erased: one table of all.

A test goes through every model: a new field for text that has no decision here fails it.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from django.utils.translation import gettext_lazy


class Fate(StrEnum):
    """What becomes of a field, and why."""

    ERASED = "erased"
    # evidence of what was agreed: it stays as long as a bill rests on it, and goes where there is none
    WHILE_BILLED = "while billed"
    BOOKS = "books"
    WORK = "work"
    THING = "thing"
    SHOP = "shop"
    SECURITY = "security"
    PROOF = "proof"
    OF_THEIR_DRAFT = "of their draft"


# said on the page and in the answer, for what stays of a person
REASONS: Mapping[Fate, Any] = {
    Fate.WHILE_BILLED: gettext_lazy("what was agreed and signed for work that was billed"),
    Fate.BOOKS: gettext_lazy("invoices, credit notes and payments"),
    Fate.WORK: gettext_lazy("what was wrong with the boat and what was done, with its photos"),
    Fate.THING: gettext_lazy("hull number and engine serials, by which a maker's recall is found"),
}
# a field that may not be empty holds this mark once it is erased
MARK = "–"

# a dash stands for a field that the database keeps from being empty
MARKED = frozenset(
    {
        *("VisitPerson.name", "CallSlip.name", "CallSlip.about", "Question.text", "CustodyEntry.who"),
        *("WorkOrder.release_reason", "Intake.signed_name", "Approval.signed_name"),
        *("Approval.called_number", "Approval.extra_work"),
    }
)


def _all(fate: Fate, model: str, names: str) -> dict[str, Fate]:
    return {f"{model}.{name}": fate for name in names.split()}


FATES: Mapping[str, Fate] = {
    # a name that says so takes the place of the customer's name
    **_all(Fate.ERASED, "Customer", "name phone email address exemption_number exemption_reason note"),
    # of boats that nobody else ever owned
    **_all(Fate.ERASED, "Vessel", "name registration kept_on"),
    **_all(Fate.THING, "Vessel", "make model hull_number"),
    **_all(Fate.THING, "Engine", "make model serial"),
    **_all(Fate.ERASED, "WorkOrder", "arrival_state loose_gear trailer place gone_to"),
    **_all(Fate.ERASED, "WorkOrder", "release_reason cancelled_reason"),
    **_all(Fate.WORK, "WorkOrder", "number complaint keys_tag"),
    # it stands on the bill as well
    **_all(Fate.BOOKS, "WorkOrder", "purchase_order"),
    **_all(Fate.ERASED, "VisitPerson", "name phone"),
    **_all(Fate.ERASED, "CustodyEntry", "who place note"),
    **_all(Fate.ERASED, "PlacedHold", "note"),
    **_all(Fate.ERASED, "Intake", "address device"),
    **_all(Fate.WHILE_BILLED, "Intake", "signed_name strokes shown"),
    **_all(Fate.PROOF, "Intake", "shown_sha256 signed_sha256"),
    **_all(Fate.ERASED, "Approval", "address device"),
    **_all(Fate.WHILE_BILLED, "Approval", "signed_name strokes reason called_number extra_work relation"),
    **_all(Fate.PROOF, "Approval", "signed_sha256"),
    **_all(Fate.ERASED, "CustomerLink", "sent_to"),
    **_all(Fate.SECURITY, "CustomerLink", "token_sha256"),
    **_all(Fate.ERASED, "Question", "text answer"),
    **_all(Fate.ERASED, "CallSlip", "name phone about answer"),
    # rows that hold the customer's name or number go as a whole
    **_all(Fate.OF_THEIR_DRAFT, "ParkedForm", "title path form fields"),
    **_all(Fate.WHILE_BILLED, "QuoteRevision", "shown"),
    **_all(Fate.PROOF, "QuoteRevision", "shown_sha256"),
    **_all(Fate.WORK, "QuoteRevision", "discount_reason"),
    **_all(Fate.WORK, "Quote", "number"),
    **_all(Fate.WORK, "QuoteChoice", "own_word not_offered"),
    **_all(Fate.WORK, "QuoteOption", "title explanation left_out warranty_covers"),
    **_all(Fate.WORK, "QuoteLine", "number description"),
    **_all(Fate.WORK, "Removed", "what rows"),
    **_all(Fate.WORK, "Job", "complaint cause correction waiver_reason"),
    **_all(Fate.WORK, "JobTest", "conditions remarks speed_unit load warnings said"),
    **_all(Fate.WORK, "JobTest", "temperature_unit temperature_point"),
    **_all(Fate.WORK, "Photo", "sha256 caption"),
    **_all(Fate.WORK, "JobNote", "text"),
    **_all(Fate.SHOP, "StepList", "title"),
    **_all(Fate.SHOP, "StepLine", "text joint"),
    **_all(Fate.WORK, "JobStep", "text origin_words joint waiver_reason"),
    **_all(Fate.WORK, "StepTick", "struck_reason"),
    **_all(Fate.WORK, "ClockSpan", "corrected_reason"),
    **_all(Fate.WORK, "TabletEntry", "text kind reason row settled_reason"),
    **_all(Fate.PROOF, "TabletEntry", "text_sha256 signature"),
    **_all(Fate.WORK, "PartUsed", "number description price_rule payer_reason override_reason struck_reason"),
    **_all(Fate.WORK, "TimeEntry", "price_rule payer_reason override_reason struck_reason"),
    **_all(Fate.WORK, "FluidEntry", "point product price_rule payer_reason override_reason struck_reason"),
    **_all(Fate.WORK, "SubletEntry", "supplier description price_rule payer_reason override_reason"),
    **_all(Fate.WORK, "SubletEntry", "struck_reason"),
    **_all(Fate.WORK, "Reading", "point unit throttle verdict_words limit_words remark struck_reason"),
    **_all(Fate.WORK, "FeeEntry", "description price_rule payer_reason override_reason struck_reason"),
    **_all(Fate.BOOKS, "Invoice", "number credit_reason purchase_order discount_reason over_reason shown"),
    **_all(Fate.PROOF, "Invoice", "proposed_sha256 shown_sha256"),
    **_all(Fate.BOOKS, "InvoiceLine", "number description note"),
    **_all(Fate.BOOKS, "InvoiceTax", "exemption_reason category name"),
    **_all(Fate.BOOKS, "Payment", "number note"),
    **_all(Fate.BOOKS, "Refund", "note"),
    **_all(Fate.PROOF, "StoredPaper", "content_sha256 pdf_sha256"),
    # facts and salt go together; that something was done, when and by whom stays
    **_all(Fate.ERASED, "Activity", "payload salt"),
    **_all(Fate.PROOF, "Activity", "actor actor_name scope verb record payload_sha256 chain_hash"),
    **_all(Fate.PROOF, "ActivityHead", "chain_hash"),
    **_all(Fate.SECURITY, "RequestKey", "actor route payload_sha256 location"),
    **_all(Fate.SECURITY, "MissCount", "address"),
    **_all(Fate.ERASED, "SearchText", "words"),
    **_all(Fate.SHOP, "SearchText", "kind"),
    **_all(Fate.SHOP, "NumberSeries", "code prefix"),
    **_all(Fate.SHOP, "Person", "username name password"),
    **_all(Fate.SHOP, "Device", "name"),
    **_all(Fate.SECURITY, "Device", "token_sha256 stay_sha256"),
    **_all(Fate.SECURITY, "Pin", "code"),
    # of staff alone: a customer behind a link has no session
    **_all(Fate.SECURITY, "BrowserSession", "session_key session_data code address browser"),
    **_all(Fate.SECURITY, "SecondStep", "salt"),
    **_all(Fate.SECURITY, "RecoveryCode", "digest"),
    **_all(Fate.SHOP, "Part", "number description"),
    **_all(Fate.SHOP, "EngineFamily", "make name covers manual"),
    **_all(Fate.SHOP, "EngineFamily", "power_page throttle_page gear_page cylinders_page"),
    **_all(Fate.SHOP, "FluidCapacity", "page point unit product level_to"),
    **_all(Fate.SHOP, "ReadingLimit", "page point unit note"),
    **_all(Fate.SHOP, "ServiceInterval", "page what"),
    **_all(Fate.SHOP, "KnownFault", "page text"),
    **_all(Fate.SHOP, "Bulletin", "page number text serial_from serial_to"),
    **_all(Fate.SHOP, "TighteningSpec", "page joint sequence treatment property_class fastener surface"),
    **_all(Fate.SHOP, "TighteningStage", "unit"),
    # a collector is a firm
    **_all(Fate.SHOP, "WasteContainer", "name"),
    **_all(Fate.SHOP, "WastePour", "what struck_reason"),
    **_all(Fate.SHOP, "WasteHandOver", "collector paper_number struck_reason"),
    **_all(Fate.SHOP, "Shop", "name address phone email tax_number currency locale time_zone consent_text"),
    **_all(Fate.SHOP, "Shop", "consent_version warranty_terms intake_text storage_terms teardown_terms"),
    **_all(Fate.SHOP, "Shop", "own_parts_text starting_chances"),
    **_all(Fate.SHOP, "TaxCode", "name category exemption_reason"),
    **_all(Fate.SHOP, "TaxRate", "name"),
    **_all(Fate.SHOP, "LabourRate", "name"),
    **_all(Fate.SHOP, "FeeRate", "name"),
}


def fields_of(model: str, *fates: Fate) -> tuple[str, ...]:
    """The fields of a model that share one of these fates."""
    return tuple(
        name.partition(".")[2]
        for name, fate in FATES.items()
        if name.startswith(f"{model}.") and fate in fates
    )
