"""Pages that ask one thing about a visit or a job: heading, what is good to know, the button."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shopapp import access
from shopapp.models import CLOSED_STAGES, Engine, EnginePosition, Hold, Job, Person, PlacedHold, WorkOrder
from shopapp.queries.engines import engine_words
from shopapp.queries.people import Colleague
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class Asking:
    """What a page asks: its heading, sentences beside it, the word on its button."""

    title: str
    button: str
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class AskPage:
    """One form about a visit; ``about`` says which boat or job."""

    work_order_pk: int
    number: str
    about: str
    title: str
    button: str
    sentences: tuple[str, ...]
    conflict: Conflict | None


def page_of_visit(work_order: WorkOrder, asking: Asking, *, conflict: Conflict | None = None) -> AskPage:
    """The page about a visit that was fetched with its ``vessel``. No query."""
    return _page(work_order, asking, about=boat_words(work_order.vessel), conflict=conflict)


def page_of_job(job: Job, asking: Asking, *, conflict: Conflict | None = None) -> AskPage:
    """The page about a job that was fetched by ``find_job``. No query."""
    return _page(job.work_order, asking, about=job_words(job), conflict=conflict)


def _page(work_order: WorkOrder, asking: Asking, *, about: str, conflict: Conflict | None) -> AskPage:
    return AskPage(
        work_order_pk=work_order.pk,
        number=work_order.number,
        about=about,
        conflict=conflict,
        **vars(asking),
    )


def job_words(job: Job) -> str:
    """``job 2: Petrel Marine P60 on Kittiwake``; the job with its engine, if any, and its boat."""
    boat = boat_words(job.work_order.vessel)
    if job.engine is None:
        return _("job %(position)s on %(boat)s") % {"position": job.position, "boat": boat}
    words = {"position": job.position, "engine": engine_words(job.engine), "boat": boat}
    return _("job %(position)s: %(engine)s on %(boat)s") % words


def staff() -> tuple[Colleague, ...]:
    """Everybody who works here and may chase something, by name. One query."""
    rows = Person.objects.filter(is_active=True).order_by("name", "pk")
    return tuple(Colleague(pk=one.pk, name=one.name) for one in rows if access.is_staff_member(one))


def engines_on(work_order: WorkOrder, *, kept: Engine | None = None) -> tuple[tuple[int, str], ...]:
    """Engines that hang on the boat now (and the one that a job is on already), in words. One query."""
    rows = Engine.objects.filter(mountings__vessel=work_order.vessel_id, mountings__until_date=None)
    columns = ("pk", "make", "model", "serial", "mountings__position")
    found = {pk: _engine(*words) for pk, *words in rows.values_list(*columns).order_by("pk")}
    if kept is not None:
        found.setdefault(kept.pk, engine_words(kept))
    return tuple(found.items())


def _engine(make: str, model: str, serial: str, position: str) -> str:
    words = " ".join(filter(None, (make, model, serial))) or _("engine not known yet")
    return words if position == EnginePosition.SINGLE else f"{EnginePosition(position).label}: {words}"


def open_jobs(work_order: WorkOrder, *, viewer: Person) -> tuple[tuple[int, str], ...]:
    """Jobs that may be waited for, in words; a technician's own ones. One query."""
    rows = Job.objects.filter(work_order=work_order).exclude(stage__in=CLOSED_STAGES)
    if not access.may_use_desk(viewer):
        rows = rows.filter(assignments__person=viewer)
    ordered = rows.select_related("engine").order_by("position")
    return tuple((job.pk, _job(job)) for job in ordered)


def _job(job: Job) -> str:
    words = {"position": job.position, "complaint": job.complaint[:60]}
    return _("Job %(position)s: %(complaint)s") % words


def hold_kinds(viewer: Person) -> Sequence[tuple[str, str]]:
    """What this person may say a visit waits for; payment is the desk's."""
    kinds = [kind for kind in Hold if kind != Hold.PAYMENT or access.may_use_desk(viewer)]
    return [(kind.value, str(kind.label)) for kind in kinds]


def find_hold(pk: int, *, viewer: Person) -> PlacedHold | None:
    """The hold with its visit, if this person may see it; at most two queries."""
    rows = PlacedHold.objects.select_related("work_order__vessel", "job__engine")
    hold = rows.filter(pk=pk).first()
    if hold is None or not access.may_see_work_order(viewer, hold.work_order):
        return None
    is_hidden = hold.kind == Hold.PAYMENT and not access.may_use_desk(viewer)
    return None if is_hidden else hold
