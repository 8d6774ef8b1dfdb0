"""Customers, their boats and engines."""

from datetime import date

import factory

from shopapp.models import Customer, Engine, EngineMounting, Vessel, VesselOwnership


class CustomerFactory(factory.django.DjangoModelFactory[Customer]):
    """A customer with the least that arrival asks for."""

    class Meta:
        model = Customer

    name = factory.Sequence(lambda n: f"Customer {n}")
    phone = factory.Sequence(lambda n: f"604 555 {n:04d}")


class VesselFactory(factory.django.DjangoModelFactory[Vessel]):
    """A boat on a trailer; ``owner`` makes somebody its owner."""

    class Meta:
        model = Vessel
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Boat {n}")
    kept_on = "trailer"

    @factory.post_generation
    def owner(self, create: bool, extracted: Customer | None, **_: object) -> None:
        if create:
            VesselOwnership.objects.create(
                vessel=self, customer=extracted or CustomerFactory(), from_date=date(2026, 1, 1)
            )


class EngineFactory(factory.django.DjangoModelFactory[Engine]):
    """An outboard; ``vessel`` hangs it on a boat."""

    class Meta:
        model = Engine
        skip_postgeneration_save = True

    make = "Petrel Marine"
    model = "P60"
    serial = factory.Sequence(lambda n: f"PM60-{n:05d}")
    serial_state = "read"

    @factory.post_generation
    def vessel(self, create: bool, extracted: Vessel | None, **_: object) -> None:
        if create and extracted is not None:
            EngineMounting.objects.create(engine=self, vessel=extracted, from_date=date(2026, 1, 1))
