"""People of an invented shop."""

from datetime import date

import factory
from django.contrib.auth.hashers import make_password

from shopapp.models import Person, Wage

PASSWORD = "salt-and-kelp-7"


class PersonFactory(factory.django.DjangoModelFactory[Person]):
    """Front desk unless a role is given."""

    class Meta:
        model = Person

    username = factory.Sequence(lambda n: f"person{n}")
    name = factory.Sequence(lambda n: f"Person {n}")
    # the conftest sets a fast hasher
    password = factory.LazyFunction(lambda: make_password(PASSWORD))
    is_front_desk = factory.LazyAttribute(lambda p: not (p.is_technician or p.is_owner))
    is_technician = False
    is_owner = False


class WageFactory(factory.django.DjangoModelFactory[Wage]):
    """30.00 an hour and 25 % on top."""

    class Meta:
        model = Wage

    person = factory.SubFactory(PersonFactory, is_technician=True)
    from_date = date(2026, 1, 1)
    hourly_e4 = 300_000
    burden_e4 = 2_500
