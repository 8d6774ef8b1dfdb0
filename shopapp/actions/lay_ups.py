"""An engine is fogged and laid up after its test, never before, and not run until it is back in service."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, stage_word
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.models import CLOSED_STAGES, Engine, Job, WorkOrder
from shopapp.queries.engines import engine_words
from shopapp.queries.lay_ups import LAID_UP_AT, unproved_jobs
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shop_texts import texts_of


@transaction.atomic
def lay_up_engine(job_pk: int, *, by: Actor) -> Engine:
    """Write down that the engine of a job is fogged and laid up: who, when, on which job.

    Refused while a job on this engine waits for its test, on whatever visit: a fogged engine is not run
    again. Locks the work order, the job, the engine, and last the chain head. A second sender is refused and
    told since when. If the power fails, all of it or nothing.
    """
    job = lock_job(job_pk, by=by)
    engine = _engine_of(job)
    if engine.laid_up_at is not None:
        raise Refused(_("This engine is fogged and laid up since %s already.") % _day(engine.laid_up_at))
    if job.stage not in LAID_UP_AT:
        raise Refused(_("An engine is fogged when its work is done; this job is at “%s”.") % stage_word(job))
    _require_proved(engine)
    engine.laid_up_at, engine.laid_up_by, engine.laid_up_on = by.at, person_of(by), job
    _save(engine)
    activity.record([_told("lay up engine", engine, work_order=job.work_order)], by=by)
    return engine


@transaction.atomic
def put_in_service(job_pk: int, *, by: Actor) -> Engine:
    """Put the laid-up engine of an open job back in service, so that it may be run.

    Locks the work order, the job, the engine, and last the chain head. A second sender is refused: it is in
    service. If the power fails, all of it or nothing.
    """
    job = lock_job(job_pk, by=by)
    if job.stage in CLOSED_STAGES:
        raise Refused(_("This job is closed. Use the job that the engine is here for now."))
    engine = _engine_of(job)
    _end(engine)
    activity.record([_told("put in service", engine, work_order=job.work_order)], by=by)
    return engine


@transaction.atomic
def put_engine_in_service(engine_pk: int, *, by: Actor) -> Engine:
    """Put a laid-up engine back in service at the desk, without a job: somebody else did it, or a slip.

    Locks the engine, and last the chain head. A second sender is refused: it is in service. If the power
    fails, all of it or nothing. Raises NotAllowed away from the desk.
    """
    desk_person(by)
    engine = locked(Engine.objects.filter(pk=engine_pk)).get()
    _end(engine)
    activity.record([_told("put in service", engine, work_order=None)], by=by)
    return engine


def require_in_service(job: Job, *, at: datetime) -> None:
    """Lock the engine of a (locked) job and refuse to run it after it was fogged.

    What happened before the fogging counts, however late it comes.
    """
    if job.engine_id is None:
        return
    since = _engine_of(job).laid_up_at
    if since is None or at < since:
        return
    sentence = _(
        "This engine is fogged and laid up since %s and is not run again. "
        "Put it back in service first, then test it."
    )
    raise Refused(sentence % _day(since))


def _engine_of(job: Job) -> Engine:
    if job.engine_id is None:
        raise Refused(_("This job is on the boat itself, not on an engine."))
    return locked(Engine.objects.filter(pk=job.engine_id)).get()


def _require_proved(engine: Engine) -> None:
    waiting = unproved_jobs(engine.pk).first()
    if waiting is None:
        return
    sentence = _(
        "Test first, then fog: %(number)s, job %(position)s on this engine has no test yet. "
        "Record it, or the owner lets the job go without it."
    )
    raise Refused(sentence % {"number": waiting.work_order.number, "position": waiting.position})


def _end(engine: Engine) -> None:
    if engine.laid_up_at is None:
        raise Refused(_("This engine is in service."))
    engine.laid_up_at = engine.laid_up_by = engine.laid_up_on = None
    _save(engine)


def _save(engine: Engine) -> None:
    engine.save(update_fields=["laid_up_at", "laid_up_by", "laid_up_on"])


def _told(verb: str, engine: Engine, *, work_order: WorkOrder | None) -> Entry:
    facts = {"engine": engine_words(engine)}
    return Entry(verb=verb, record=engine, facts=facts, work_order=work_order)


def _day(moment: datetime) -> str:
    shop = the_shop()
    return texts_of(shop).day(local_day(shop, moment))
