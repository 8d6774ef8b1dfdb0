"""Quotes: revisions, one choice per job, options to choose from, and the planned lines of each option."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.lines import PricedLine, line_constraints


class Way(models.TextChoices):
    """The ways of putting a fault right."""

    MEND = "mend", _("Mend the part")
    EXCHANGE = "exchange", _("Exchange unit")
    NEW = "new", _("New part")
    USED = "used", _("Used part")
    REPLACE = "replace", _("Replace the engine")
    LEAVE = "leave", _("Leave it")


class ChanceFrom(models.TextChoices):
    """Where the chance of a failure within a season comes from."""

    JUDGEMENT = "judgement", _("our judgement")
    COMMON = "common", _("common practice")
    RECORD = "record", _("our own record")


class RepairKind(models.TextChoices):
    """Kinds of repair for which the trade has a chance in mind before a shop has a record of its own."""

    NEW_UNIT = "new_unit", _("new unit")
    NEW_PART = "new_part", _("new shaft or housing with seals")
    EXCHANGE_UNIT = "exchange_unit", _("exchange unit")
    SOUND_SURFACE = "sound_surface", _("seals on a sound surface")
    POLISHED = "polished", _("polished, no groove felt")
    USED_UNIT = "used_unit", _("used unit")
    GROOVE_FELT = "groove_felt", _("groove felt")


class FailsHow(models.TextChoices):
    """When it fails, in a mechanic's words."""

    EARLY = "early", _("Early, or not at all")
    BY_CHANCE = "by_chance", _("By chance, at any age")
    WEARS_OUT = "wears_out", _("It wears out")


class WearsBy(models.TextChoices):
    """What makes it older."""

    USE = "use", _("Use")
    CALENDAR = "calendar", _("The calendar")


class RevisionState(models.TextChoices):
    """Where a revision stands."""

    DRAFT = "draft", _("being written")
    SENT = "sent", _("with the customer")
    DECIDED = "decided", _("decided")
    REPLACED = "replaced", _("replaced by a newer one")
    DISCARDED = "discarded", _("thrown away")


# what no customer ever saw: it has nothing frozen, and is no proof of anything
UNSENT = (RevisionState.DRAFT, RevisionState.DISCARDED)


class Quote(models.Model):
    """An offer on a work order; its number stays the same through its revisions."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="quotes")
    number = models.CharField(max_length=20, unique=True)
    # a supplement asks for extra work: it adds to what is approved and replaces nothing
    is_supplement = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.number


class QuoteRevision(models.Model):
    """One version of a quote. Once sent, what was shown never changes."""

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="revisions")
    revision = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=RevisionState, default=RevisionState.DRAFT)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    tax_date = models.DateField(null=True, blank=True)
    valid_until_date = models.DateField(null=True, blank=True)
    shown = models.TextField(blank=True)
    shown_sha256 = models.CharField(max_length=64, blank=True)
    # a discount on the whole of what is chosen, as a share, with its reason
    discount_e4 = models.PositiveIntegerField(default=0)
    discount_reason = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(discount_e4=0)
                | (models.Q(discount_e4__lte=10_000) & ~models.Q(discount_reason="")),
                name="quoterevision_discount_has_a_reason",
            ),
            models.UniqueConstraint(fields=["quote", "revision"], name="quoterevision_one_a_number"),
            models.CheckConstraint(
                condition=models.Q(state__in=UNSENT)
                | (models.Q(sent_at__isnull=False) & ~models.Q(shown_sha256="")),
                name="quoterevision_sent_is_frozen",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quote} revision {self.revision}"


class QuoteChoice(models.Model):
    """The question a revision asks about one job, and on which terms its options are compared."""

    revision = models.ForeignKey(QuoteRevision, on_delete=models.CASCADE, related_name="choices")
    job = models.ForeignKey("shopapp.Job", on_delete=models.PROTECT, related_name="choices")
    position = models.PositiveSmallIntegerField(default=1)
    look_months = models.PositiveSmallIntegerField(default=36)
    season_first_month = models.PositiveSmallIntegerField(default=5)
    season_months = models.PositiveSmallIntegerField(default=5)
    # a year's discount rate, as a share
    rate_e4 = models.PositiveSmallIntegerField(default=0)
    lost_day_minor = models.BigIntegerField(default=0)
    tow_minor = models.BigIntegerField(default=0)
    # one sentence of the mechanic's own, with their name under it
    own_word = models.CharField(max_length=240, blank=True)
    own_word_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    # a way that is not offered → why
    not_offered = models.JSONField(default=dict, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["revision", "job"], name="quotechoice_once_a_job"),
            models.CheckConstraint(
                condition=models.Q(look_months__gte=1, look_months__lte=120)
                & models.Q(season_first_month__gte=1, season_first_month__lte=12)
                & models.Q(season_months__gte=1, season_months__lte=12)
                & models.Q(rate_e4__lte=10_000, lost_day_minor__gte=0, tow_minor__gte=0),
                name="quotechoice_terms_in_bounds",
            ),
            models.CheckConstraint(
                condition=models.Q(own_word="") | models.Q(own_word_by__isnull=False),
                name="quotechoice_own_word_is_signed",
            ),
        ]

    def __str__(self) -> str:
        return f"choice {self.pk} of {self.revision}"


class QuoteOption(models.Model):
    """One way of putting a job right, in words the customer understands."""

    choice = models.ForeignKey(QuoteChoice, on_delete=models.CASCADE, related_name="options")
    position = models.PositiveSmallIntegerField()
    way = models.CharField(max_length=10, choices=Way)
    title = models.CharField(max_length=80)
    explanation = models.TextField(blank=True)
    left_out = models.TextField(blank=True)
    days = models.PositiveSmallIntegerField()
    warranty_months = models.PositiveSmallIntegerField()
    warranty_covers = models.CharField(max_length=200, blank=True)
    # of 10,000 such repairs so many are back within a season; without it the option is not compared
    chance_e4 = models.PositiveSmallIntegerField(null=True, blank=True)
    chance_from = models.CharField(max_length=10, choices=ChanceFrom, default=ChanceFrom.JUDGEMENT)
    # the chance weighs as much as so many repairs
    chance_weight = models.PositiveSmallIntegerField(default=8)
    fails_how = models.CharField(max_length=10, choices=FailsHow, default=FailsHow.BY_CHANCE)
    wears_by = models.CharField(max_length=10, choices=WearsBy, default=WearsBy.USE)
    covers_labour = models.BooleanField(default=True)
    covers_supplies = models.BooleanField(default=True)
    is_pro_rata = models.BooleanField(default=False)
    laid_up_counts = models.BooleanField(default=True)
    cover_renews = models.BooleanField(default=False)
    # what is done after a failure that nobody covers; nothing: the same again
    follows = models.ForeignKey(
        "self", on_delete=models.SET_NULL, related_name="follows_from", null=True, blank=True
    )
    damage_minor = models.BigIntegerField(default=0)
    lost_core_minor = models.BigIntegerField(default=0)
    resale_minor = models.BigIntegerField(default=0)
    # what the shop gives for what it takes in; it comes off when the bill is paid
    trade_in_minor = models.BigIntegerField(default=0)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["choice", "position"], name="quoteoption_one_a_position"),
            models.CheckConstraint(
                condition=models.Q(chance_e4__isnull=True) | models.Q(chance_e4__gte=1, chance_e4__lte=9_999),
                name="quoteoption_chance_is_open",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    damage_minor__gte=0, lost_core_minor__gte=0, resale_minor__gte=0, trade_in_minor__gte=0
                ),
                name="quoteoption_amounts_not_negative",
            ),
            models.CheckConstraint(condition=~models.Q(title=""), name="quoteoption_has_a_title"),
        ]

    def __str__(self) -> str:
        return f"option {self.position} of {self.choice}"


class QuoteLine(PricedLine):
    """A planned line. Its cost is for the owner's eyes."""

    option = models.ForeignKey(QuoteOption, on_delete=models.CASCADE, related_name="lines")
    unit_cost_e4 = models.BigIntegerField(null=True, blank=True)
    # the line that brings an option up to the shop's minimum charge
    is_minimum_charge = models.BooleanField(default=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            *line_constraints("quoteline"),
            models.CheckConstraint(condition=models.Q(quantity_milli__gt=0), name="quoteline_some"),
            models.UniqueConstraint(fields=["option", "position"], name="quoteline_one_a_position"),
        ]

    def __str__(self) -> str:
        return f"line {self.position} of {self.option}"
