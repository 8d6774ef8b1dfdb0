"""What a visit's quotes came to: which are written, which are with the customer, and what was answered."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Subquery
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shopapp.calc.money import from_minor
from shopapp.models import (
    SPOKEN,
    AnswerHow,
    Approval,
    ApprovedChoice,
    Decision,
    Job,
    QuoteChoice,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Way,
    WorkOrder,
)
from shopapp.queries.invoices import unbilled_lines
from shopapp.queries.next_steps import Offer

GIVEN: Mapping[str, Any] = {
    AnswerHow.SIGNED_HERE: gettext_lazy("Signed here"),
    AnswerHow.LINK: gettext_lazy("Signed by link, on their own phone"),
    AnswerHow.DOCK: gettext_lazy("Signed on a tablet, without a connection"),
    AnswerHow.PHONE: gettext_lazy("Told by telephone to %(name)s"),
    AnswerHow.EMAIL: gettext_lazy("Told by email to %(name)s"),
}


@dataclass(frozen=True, kw_only=True)
class Agreed:
    """A customer's answer to a quote: how it was given, who, when, and what for each job."""

    quote: str
    revision: int
    is_approved: bool
    given: str
    signed_name: str
    decided_at: datetime
    reason: str
    choices: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class AgreedAmount(Agreed):
    """The same for the desk, with the amounts that were shown before signing."""

    without_tax: Decimal
    with_tax: Decimal


@dataclass(frozen=True, kw_only=True)
class QuoteRow:
    """A revision of a quote: where it stands and where it leads."""

    pk: int
    number: str
    revision: int
    word: str
    is_draft: bool


@dataclass(frozen=True, kw_only=True)
class Quotes:
    """The quotes of a visit, newest first, with what was chosen in each (by revision)."""

    revisions: tuple[QuoteRevision, ...]
    choices: Mapping[int, list[ApprovedChoice]]

    @property
    def is_being_written(self) -> bool:
        """Whether a draft is there, of a quote or of a supplement."""
        return any(one.state == RevisionState.DRAFT for one in self.revisions)

    def offers(self, jobs: Iterable[Job]) -> Mapping[int, Offer]:
        """Job id → where its own quote stands; the jobs were fetched by ``with_asking``."""
        states = {one.pk: one.state for one in self.revisions}
        is_main_draft = any(
            one.state == RevisionState.DRAFT and not one.quote.is_supplement for one in self.revisions
        )
        covered = self.covered
        asked: dict[int, int | None] = {job.pk: job.asked_in for job in jobs}  # type: ignore[attr-defined]  # annotated
        return {
            job: _offer(
                revision,
                state=states.get(revision or 0, ""),
                is_main_draft=is_main_draft,
                is_agreed=job in covered,
            )
            for job, revision in asked.items()
        }

    @property
    def is_anything_billable(self) -> bool:
        """Whether a line that the customer chose and pays may be billed now and is not."""
        return any(one.is_billable for chosen in self.choices.values() for one in chosen)  # type: ignore[attr-defined]

    @property
    def in_force(self) -> Mapping[int, tuple[QuoteOption, ...]]:
        """Job id → the options in force: of the main offer the newest answer, of each supplement its own."""
        revisions = {one.pk: one for one in self.revisions}
        chosen = [
            (one, revisions[pk].quote.is_supplement)
            for pk, choices in self.choices.items()
            for one in choices
            if one.approval.decision == Decision.APPROVED
        ]
        main: dict[int, QuoteOption | None] = {}
        extra: defaultdict[int, list[QuoteOption]] = defaultdict(list)
        for one, is_supplement in sorted(chosen, key=lambda pair: (pair[0].approval.decided_at, pair[0].pk)):
            if not is_supplement:
                main[one.choice.job_id] = one.option
            elif one.option is not None:
                extra[one.choice.job_id].append(one.option)
        jobs = main.keys() | extra.keys()
        found = {job: (main.get(job), *extra[job]) for job in jobs}
        return {job: tuple(one for one in options if one is not None) for job, options in found.items()}

    @property
    def covered(self) -> frozenset[int]:
        """The jobs on which an approval in force covers work."""
        return frozenset(
            job for job, options in self.in_force.items() if any(one.way != Way.LEAVE for one in options)
        )

    def answers(self, *, currency: str | None) -> tuple[Agreed, ...]:
        """The customer's answers; without a currency they hold no amounts."""
        answered = [one for one in self.revisions if hasattr(one, "approval")]
        return tuple(_answer(one, self.choices[one.pk], currency=currency) for one in answered)


def with_asking(jobs: "QuerySet[Job]") -> "QuerySet[Job]":
    """The jobs, each with the revision (a draft, or sent) that asks about it, as ``asked_in``."""
    asking = QuoteChoice.objects.filter(
        job=OuterRef("pk"), revision__state__in=(RevisionState.DRAFT, RevisionState.SENT)
    )
    return jobs.annotate(asked_in=Subquery(asking.order_by("-pk").values("revision")[:1]))


def _offer(revision: int | None, *, state: str, is_main_draft: bool, is_agreed: bool) -> Offer:
    return Offer(
        draft=revision if state == RevisionState.DRAFT else None,
        sent=revision if state == RevisionState.SENT else None,
        is_other_draft=revision is None and is_main_draft,
        is_agreed=is_agreed,
    )


def quotes_of(work_order: WorkOrder) -> Quotes:
    """Revisions and answers of a visit; two queries. What was shown and drawn is long and is not fetched."""
    rows = QuoteRevision.objects.filter(quote__work_order=work_order)
    rows = rows.select_related("quote", "approval__recorded_by")
    revisions = tuple(rows.defer("shown", "approval__strokes").order_by("-quote_id", "-revision"))
    return Quotes(revisions=revisions, choices=_choices(revisions))


def _choices(revisions: Sequence[QuoteRevision]) -> Mapping[int, list[ApprovedChoice]]:
    """What was chosen, by revision. One query."""
    left = Exists(unbilled_lines().filter(option=OuterRef("option")))
    rows = ApprovedChoice.objects.filter(approval__revision__in=revisions).annotate(is_billable=left)
    found: defaultdict[int, list[ApprovedChoice]] = defaultdict(list)
    for choice in rows.select_related("approval", "option", "choice__job").order_by("choice__position", "pk"):
        found[choice.approval.revision_id].append(choice)
    return found


def _answer(one: QuoteRevision, chosen: Sequence[ApprovedChoice], *, currency: str | None) -> Agreed:
    """Without a currency (for a technician) without amounts."""
    approval = one.approval
    facts: dict[str, Any] = {
        "quote": one.quote.number,
        "revision": one.revision,
        "is_approved": approval.decision == Decision.APPROVED,
        "given": _given(approval),
        "signed_name": approval.signed_name,
        "decided_at": approval.decided_at,
        "reason": approval.reason,
        "choices": tuple(_choice(choice) for choice in chosen),
    }
    if currency is None:
        return Agreed(**facts)
    return AgreedAmount(
        **facts,
        without_tax=from_minor(approval.without_tax_minor, currency=currency),
        with_tax=from_minor(approval.with_tax_minor, currency=currency),
    )


def _given(approval: Approval) -> str:
    """How the answer came; where nobody signed, also who of the shop heard it."""
    if approval.how not in SPOKEN:
        return str(GIVEN[approval.how])
    writer = approval.recorded_by.name if approval.recorded_by is not None else ""
    return str(GIVEN[approval.how]) % {"name": writer}


def _choice(choice: ApprovedChoice) -> str:
    what = choice.option.title if choice.option is not None else _("not now")
    return _("Job %(position)s: %(what)s") % {"position": choice.choice.job.position, "what": what}


def quote_row(one: QuoteRevision) -> QuoteRow:
    """A revision as a row of the list."""
    return QuoteRow(
        pk=one.pk,
        number=one.quote.number,
        revision=one.revision,
        word=str(RevisionState(one.state).label),
        is_draft=one.state == RevisionState.DRAFT,
    )
