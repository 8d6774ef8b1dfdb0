"""The technicians' steps of the demo: what they find, do, use, test, and how a job ends."""

from decimal import Decimal

from shopapp.actions import actuals, fees, job_endings, job_settings, job_tests, jobs, lay_ups, sublets
from shopapp.actions.actor import Actor
from shopapp.management.demo.waste import container_named
from shopapp.management.demo.world import Facts, Visit, World
from shopapp.models import (
    FeeRate,
    FluidCondition,
    Job,
    LineKind,
    Outcome,
    Payer,
    PriceKind,
    QuoteLine,
    Stage,
    SubletEntry,
    TestKind,
    TimeKind,
    Unit,
)

# nobody takes exactly the planned time: every third piece of work is quicker, every other one slower
MINUTES_OFF = (7, -9, 16)


def look(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A technician begins to look at the job."""
    jobs.start_diagnosis(visit.job(facts).pk, by=by)


def find(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """What was found and what would put it right; looking took its time."""
    job = visit.job(facts)
    found = jobs.FindingsInput(
        complaint=job.complaint,
        cause=facts["cause"],
        correction=facts["correction"],
        test_kind=TestKind(facts.get("test", job.test_kind)),
    )
    jobs.edit_findings(job.pk, found, version=job.version, by=by)
    if facts.get("minutes"):
        spend_time(visit, facts={"kind": TimeKind.DIAGNOSIS, **facts}, world=world, by=by)


def add_job(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """One more thing to put right, on the engine of the first job or on the boat."""
    data = job_settings.JobInput(
        complaint=facts["complaint"],
        engine=None if facts.get("on_boat") else visit.jobs[0].engine_id,
        test_kind=TestKind(facts.get("test", TestKind.NONE)),
    )
    visit.jobs.append(job_settings.add_job(visit.work_order.pk, data, by=by))


def price_by(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """How the job is billed."""
    job = visit.job(facts)
    data = job_settings.SettingsInput(
        engine=job.engine_id,
        price_kind=PriceKind(facts["kind"]),
        test_kind=TestKind(job.test_kind),
        payer=Payer(job.payer),
    )
    job_settings.edit_settings(job.pk, data, version=job.version, by=by)


def name_cause(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The owner says from which earlier job this one comes."""
    job = visit.job(facts)
    cause = job_settings.CauseInput(
        job=world.visits[facts["of"]].jobs[0].pk, is_for_same_cause=facts.get("same")
    )
    job_settings.name_cause(job.pk, cause, version=job.version, by=by)


def begin(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The agreed work begins."""
    jobs.start_work(visit.job(facts).pk, by=by)


def begin_small(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """Small work begins under the signed spending limit."""
    limit = jobs.LimitInput(amount=Decimal(facts["amount"]))
    jobs.start_within_limit(visit.job(facts).pk, limit, by=by)


def use_plan(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """What was agreed and is not logged yet goes in: parts, hours, fluids, fees.

    ``only``: these kinds; ``about``: lines with that word.
    """
    job = visit.job(facts)
    planned = QuoteLine.objects.filter(option__answers__choice__job=job).order_by("option", "position")
    logged = [f"{book}s" for book in ("partused", "timeentry", "fluidentry", "feeentry")]
    about = planned.filter(description__icontains=facts.get("about", ""))
    for line in about.exclude(kind=LineKind.SUBLET).filter(**dict.fromkeys(logged)):
        if line.kind in facts.get("only", LineKind.values):
            _use(job, line, facts=facts, by=by)


def _use(job: Job, line: QuoteLine, *, facts: Facts, by: Actor) -> None:
    quantity = Decimal(line.quantity_milli) / 1000
    match line.kind:
        case LineKind.PART:
            actuals.use_part(job.pk, actuals.UsePartInput(quantity=quantity, line=line.pk), by=by)
        case LineKind.LABOUR:
            minutes = int(quantity * 60) + MINUTES_OFF[line.pk % len(MINUTES_OFF)]
            actuals.log_time(job.pk, actuals.LogTimeInput(minutes=max(minutes, 10), line=line.pk), by=by)
        case LineKind.FLUID:
            poured = actuals.LogFluidInput(
                point=facts.get("point", "Gearcase"),
                product=line.description,
                filled_ml=line.quantity_milli,
                line=line.pk,
            )
            actuals.log_fluid(job.pk, poured, by=by)
        case LineKind.FEE:
            fees.log_fee(job.pk, fees.FeeInput(quantity=quantity, line=line.pk), by=by)


def use_part(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A part of the list that nobody planned."""
    data = actuals.UsePartInput(quantity=Decimal(facts["quantity"]), number=facts["number"])
    actuals.use_part(visit.job(facts).pk, data, by=by)


def spend_time(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """Minutes of whoever logs them."""
    kind = TimeKind(facts.get("kind", TimeKind.REPAIR))
    data = actuals.LogTimeInput(minutes=facts["minutes"], kind=kind)
    actuals.log_time(visit.job(facts).pk, data, by=by)


def drain(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """What came out of a point, and how it looked."""
    drained = actuals.LogFluidInput(
        point=facts["point"],
        product=facts["product"],
        drained_ml=facts["ml"],
        condition=FluidCondition(facts["condition"]),
        container=container_named(facts["into"]).pk if "into" in facts else None,
    )
    actuals.log_fluid(visit.job(facts).pk, drained, by=by)


def send_out(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A piece goes to another shop, by the agreed line where there is one."""
    job = visit.job(facts)
    lines = QuoteLine.objects.filter(option__answers__choice__job=job, kind=LineKind.SUBLET)
    line = lines.order_by("pk").first()
    data = sublets.SubletInput(
        supplier=facts["supplier"],
        description=facts.get("what", ""),
        due_back_date=world.calendar.day(facts["due"]),
        line=line.pk if line is not None else None,
    )
    sublets.log_sublet(job.pk, data, by=by)


def get_back(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """What went out is back."""
    row = SubletEntry.objects.get(job=visit.job(facts), back_at=None)
    sublets.take_back_sublet(row.pk, by=by)


def charge(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """One of the shop's usual fees."""
    rate = FeeRate.objects.get(name=facts["fee"])
    data = fees.FeeInput(quantity=Decimal(facts["quantity"]), rate=rate.pk, unit=Unit(rate.unit))
    fees.log_fee(visit.job(facts).pk, data, by=by)


def finish(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The work is done; on to its test."""
    jobs.finish_work(visit.job(facts).pk, by=by)


def prove(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The test run and its verdict."""
    run = job_tests.RecordTestInput(
        has_passed=facts.get("passed", True),
        conditions=facts.get("conditions", ""),
        remarks=facts.get("remarks", ""),
    )
    job_tests.record_test(visit.job(facts).pk, run, by=by)


def lay_up(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The engine is fogged once its test is passed."""
    lay_ups.lay_up_engine(visit.job(facts).pk, by=by)


def waive(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The owner lets the job go without its test."""
    job_endings.waive_test(visit.job(facts).pk, job_endings.WaiveInput(reason=facts["reason"]), by=by)


def end(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The job ends without being done."""
    data = job_endings.EndInput(outcome=Outcome(facts["outcome"]), reason=facts["reason"])
    job_endings.end_job(visit.job(facts).pk, data, by=by)


def send_back(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The job goes back along its path."""
    data = job_endings.BackInput(to=Stage(facts["to"]), reason=facts["reason"])
    job_endings.move_back(visit.job(facts).pk, data, by=by)
