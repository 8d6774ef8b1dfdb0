"""The builder's page with its forms: for each job how to add an option, for each option how to add a line."""

from collections.abc import Mapping
from dataclasses import dataclass

from shopapp.models import LineKind, Way
from shopapp.queries.quotes import BuilderJob, BuilderOption, BuilderPage
from shopapp.web.quotes.forms import AddOptionForm, LineForm, PriceKindForm

ORDER = (Way.MEND, Way.NEW, Way.EXCHANGE, Way.USED, Way.REPLACE, Way.LEAVE)


@dataclass(frozen=True, kw_only=True)
class OptionCard:
    """An option and the form that adds a line to it."""

    option: BuilderOption
    form: LineForm


@dataclass(frozen=True, kw_only=True)
class JobCard:
    """A job, the cards of its options, and the form that adds one (none when all places are taken).

    ``price_kind`` is there while the way of billing may be changed: the customer has not read it yet.
    """

    job: BuilderJob
    options: tuple[OptionCard, ...]
    form: AddOptionForm | None
    price_kind: PriceKindForm | None


def job_cards(
    page: BuilderPage, *, locale: str, sent: Mapping[int, LineForm] | None = None
) -> tuple[JobCard, ...]:
    """Every job with its forms; ``sent`` holds a form that came back with something to put right."""
    sent = sent or {}
    return tuple(
        JobCard(
            job=job,
            options=tuple(
                OptionCard(
                    option=option,
                    form=sent.get(option.pk) or fresh_line_form(option, page=page, locale=locale),
                )
                for option in job.options
            ),
            form=_add_option_form(job),
            price_kind=None if page.is_supplement else _price_kind_form(job),
        )
        for job in page.jobs
    )


def fresh_line_form(option: BuilderOption, *, page: BuilderPage, locale: str) -> LineForm:
    """An empty form; labour comes first, parts after it."""
    kind = LineKind.PART if option.lines else LineKind.LABOUR
    return LineForm(
        initial={"kind": kind}, auto_id=line_ids(option.pk), locale=locale, sees_costs=page.shows_costs
    )


def line_ids(option_pk: int) -> str:
    """How the fields of an option's form are called on a page with several of them."""
    return f"id_option{option_pk}_%s"


def _price_kind_form(job: BuilderJob) -> PriceKindForm:
    return PriceKindForm(initial={"price_kind": job.price_kind_code}, auto_id=f"id_job{job.choice}_%s")


def _add_option_form(job: BuilderJob) -> AddOptionForm | None:
    if not job.free_ways:
        return None
    form = AddOptionForm(initial={"way": _next_way(job)}, auto_id=f"id_job{job.choice}_%s")
    form.offer(job.free_ways)
    return form


def _next_way(job: BuilderJob) -> str:
    taken = {option.way_code for option in job.options}
    fresh = (way.value for way in ORDER if way.value in job.free_ways and way.value not in taken)
    return next(fresh, job.free_ways[0])
