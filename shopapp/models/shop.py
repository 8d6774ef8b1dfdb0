"""The shop itself: one row of settings, its tax codes with dated rates, its labour rates and markup bands."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.calc.money import Rounding
from shopapp.calc.tax import TaxLevel
from shopapp.models.lines import LineKind, Unit

ROUNDINGS = [(Rounding.HALF_UP.value, _("half up")), (Rounding.HALF_EVEN.value, _("half to even"))]
TAX_LEVELS = [
    (TaxLevel.BREAKDOWN.value, _("once per rate on the document")),
    (TaxLevel.LINE.value, _("on each line")),
]


class PaperSize(models.TextChoices):
    """Paper in the shop's printer."""

    A4 = "a4", "A4"
    LETTER = "letter", "US Letter"


class FeeCredit(models.TextChoices):
    """What happens to the diagnosis fee."""

    NEVER = "never", _("it is charged")
    GOES_AHEAD = "goes_ahead", _("it is credited when the repair goes ahead")


class FeeKind(models.TextChoices):
    """What a fee is for."""

    DIAGNOSIS = "diagnosis", _("Diagnosis")
    STORAGE = "storage", _("Storage")
    ENVIRONMENTAL = "environmental", _("Environmental")
    TRAVEL = "travel", _("Travel")
    LIFT = "lift", _("Lift or launch")
    REASSEMBLY = "reassembly", _("Putting back together")
    OTHER = "other", _("Other")


class Shop(models.Model):
    """The one shop of this installation."""

    name = models.CharField(max_length=100)
    address = models.TextField()
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    tax_number = models.CharField(max_length=60, blank=True)
    currency = models.CharField(max_length=3)
    locale = models.CharField(max_length=12)
    time_zone = models.CharField(max_length=60)
    paper = models.CharField(max_length=6, choices=PaperSize, default=PaperSize.A4)
    rounding = models.CharField(max_length=10, choices=ROUNDINGS, default=Rounding.HALF_UP)
    tax_level = models.CharField(max_length=10, choices=TAX_LEVELS, default=TaxLevel.BREAKDOWN)
    prices_include_tax = models.BooleanField(default=False)
    quote_valid_days = models.PositiveSmallIntegerField(default=30)
    payment_days = models.PositiveSmallIntegerField(default=14)
    consent_text = models.TextField()
    consent_version = models.CharField(max_length=20)
    warranty_terms = models.TextField(blank=True)
    # what a boat is taken in on: usual figures, and the words that the customer signs
    diagnosis_fee_minor = models.BigIntegerField(default=0)
    fee_credit = models.CharField(max_length=12, choices=FeeCredit, default=FeeCredit.GOES_AHEAD)
    spending_limit_minor = models.BigIntegerField(default=0)
    limit_comes_on_top = models.BooleanField(default=False)
    intake_text = models.TextField(blank=True)
    storage_terms = models.TextField(blank=True)
    storage_free_days = models.PositiveSmallIntegerField(default=0)
    teardown_terms = models.TextField(blank=True)
    own_parts_text = models.TextField(blank=True)
    minimum_charge_minor = models.BigIntegerField(default=0)
    # by how much the bill may go beyond what was agreed, as a share; nothing unless local rules allow it
    over_agreed_e4 = models.PositiveIntegerField(default=0)
    offers_parts_back = models.BooleanField(default=True)
    lately_months = models.PositiveSmallIntegerField(default=12)
    # common practice, no source: how long bills and what was agreed are kept is for local rules to say
    invoice_keep_years = models.PositiveSmallIntegerField(default=10)
    season_first_month = models.PositiveSmallIntegerField(default=5)
    season_months = models.PositiveSmallIntegerField(default=5)
    # kind of repair → of 10,000 so many are back within a season; what is not in it is as usual in the trade
    starting_chances = models.JSONField(default=dict, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="shop_only_one"),
            models.CheckConstraint(
                condition=models.Q(
                    diagnosis_fee_minor__gte=0, spending_limit_minor__gte=0, minimum_charge_minor__gte=0
                ),
                name="shop_usual_amounts_not_negative",
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="shop_has_a_name"),
            models.CheckConstraint(
                condition=models.Q(season_first_month__gte=1, season_first_month__lte=12)
                & models.Q(season_months__gte=1, season_months__lte=12),
                name="shop_season_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class TaxCode(models.Model):
    """A way of taxing a line: an EN 16931 category and its dated components."""

    name = models.CharField(max_length=40, unique=True)
    category = models.CharField(max_length=2, default="S")
    exemption_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(category__in=["S", "Z", "E", "O"]), name="taxcode_category_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class TaxRate(models.Model):
    """One component of a tax code while it is in force (days of the shop, half-open)."""

    tax_code = models.ForeignKey(TaxCode, on_delete=models.CASCADE, related_name="rates")
    name = models.CharField(max_length=20)
    rate_e6 = models.PositiveIntegerField()
    compounds = models.BooleanField(default=False)
    position = models.PositiveSmallIntegerField(default=1)
    valid_from_date = models.DateField()
    valid_until_date = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(rate_e6__lte=1_000_000), name="taxrate_at_most_whole"),
            models.UniqueConstraint(
                fields=["tax_code", "name", "valid_from_date"], name="taxrate_one_start_a_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tax_code} {self.name} from {self.valid_from_date}"


class KindTax(models.Model):
    """Which tax code a kind of line takes unless a person chooses otherwise."""

    kind = models.CharField(max_length=10, choices=LineKind, unique=True)
    tax_code = models.ForeignKey(TaxCode, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.kind}: {self.tax_code}"


class LabourRate(models.Model):
    """What an hour of a kind of work sells for."""

    name = models.CharField(max_length=40, unique=True)
    sell_rate_e4 = models.BigIntegerField()
    is_usual = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(sell_rate_e4__gte=0), name="labourrate_not_negative"),
            models.UniqueConstraint(
                fields=["is_usual"], condition=models.Q(is_usual=True), name="labourrate_one_usual"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class MarkupBand(models.Model):
    """Markup on parts whose cost is at most ``up_to_e4`` (no limit when empty)."""

    up_to_e4 = models.BigIntegerField(null=True, blank=True, unique=True)
    markup_e4 = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"up to {self.up_to_e4}: {self.markup_e4}"


class FeeRate(models.Model):
    """What the shop usually asks for a fee, and by what it is counted."""

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=14, choices=FeeKind)
    unit = models.CharField(max_length=6, choices=Unit, default=Unit.EACH)
    unit_price_e4 = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(unit_price_e4__gte=0), name="feerate_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name
