"""Rows for tests: real, valid, without surprises."""

from tests.factories.customers import CustomerFactory, EngineFactory, VesselFactory
from tests.factories.people import PASSWORD, PersonFactory, WageFactory
from tests.factories.shop import found_shop
from tests.factories.work_orders import JobFactory, WorkOrderFactory

__all__ = [
    "PASSWORD",
    "CustomerFactory",
    "EngineFactory",
    "JobFactory",
    "PersonFactory",
    "VesselFactory",
    "WageFactory",
    "WorkOrderFactory",
    "found_shop",
]
