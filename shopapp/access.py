"""Who may see and do what: small predicates over a person (or a customer's link) and a record."""

from django.db.models import QuerySet

from shopapp.models import CustomerLink, Job, Person, QuoteRevision, WorkOrder


def may_use_desk(person: Person) -> bool:
    """Customers, arrivals, invoices, payments."""
    return person.is_front_desk or person.is_owner


def may_price(person: Person) -> bool:
    """Write and send quotes."""
    return person.is_front_desk or person.is_owner


def may_log_work(person: Person) -> bool:
    """Log parts, hours, fluids, tests and photos."""
    return person.is_technician or may_use_desk(person)


def may_see_costs(person: Person) -> bool:
    """Costs, wages and margins are the owner's."""
    return person.is_owner


def may_erase(person: Person) -> bool:
    """Hand out and erase what is kept about a customer."""
    return person.is_owner


def may_set_terms(person: Person) -> bool:
    """The shop's fees, limits and terms are the owner's to set."""
    return person.is_owner


def may_read_spec_book(person: Person) -> bool:
    """Everybody in the shop looks up capacities, limits and torques."""
    return is_staff_member(person)


def may_write_spec_book(person: Person) -> bool:
    """What the others work by is the owner's to write and to import."""
    return person.is_owner


def may_watch_doors(person: Person) -> bool:
    """From where somebody tries to guess customers' links."""
    return person.is_owner


def may_watch_machine(person: Person) -> bool:
    """Whether backups are made and the disk has room."""
    return person.is_owner


def may_manage_tablets(person: Person) -> bool:
    """Enrolling the shop's tablets and ending them is the owner's."""
    return person.is_owner


def may_have_pin(person: Person) -> bool:
    """Whoever has a role in the shop may work at a tablet."""
    return is_staff_member(person)


def may_keep_people(person: Person) -> bool:
    """Take people in, give first passwords, end sign-ins and switch people off."""
    return person.is_owner


def is_staff_member(person: Person) -> bool:
    """Anyone with a role in the shop."""
    return person.is_front_desk or person.is_technician or person.is_owner


def may_see_work_order(person: Person, work_order: WorkOrder) -> bool:
    """The desk sees every work order; a technician those with a job of their own. One query at most."""
    if may_use_desk(person):
        return True
    return (
        person.is_technician and WorkOrder.objects.for_technician(person.pk).filter(pk=work_order.pk).exists()
    )


def seen_jobs(person: Person, jobs: QuerySet[Job]) -> QuerySet[Job]:
    """Those of the jobs whose work order the person may see, without a query of its own."""
    if may_use_desk(person):
        return jobs
    if not person.is_technician:
        return jobs.none()
    return jobs.filter(work_order__in=WorkOrder.objects.for_technician(person.pk))


def link_reaches(link: CustomerLink, revision: QuoteRevision) -> bool:
    """A link opens its one revision and nothing else."""
    return link.revision_id == revision.pk
