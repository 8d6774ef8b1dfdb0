"""A joint of the engine's family comes onto a job."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Person, Stage, TighteningSpec
from tests.factories.jobs import job_at
from tests.factories.steps import job_with_family

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def test_joint_comes_with_its_new_fasteners_and_brackets(
    maren: Person, signed_in: SignedIn, key: Key, by: By
) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    data = key() | {"spec": TighteningSpec.objects.get().pk, "is_required": "on"}

    answer = signed_in(maren).post(f"/work-orders/job/{job.pk}/add-joint/", data)

    assert answer.url == f"/work-orders/job/{job.pk}/steps/"
    assert [(one.is_required, bool(one.joint)) for one in job.steps.order_by("position")] == [
        (True, False),
        (True, True),
        (False, False),
    ]


def test_joint_of_another_engine_is_no_choice(maren: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    job_with_family(Stage.IN_HAND, by=by(maren))
    other = job_at(Stage.IN_HAND)
    data = key() | {"spec": TighteningSpec.objects.get().pk}

    answer = signed_in(maren).post(f"/work-orders/job/{other.pk}/add-joint/", data)

    assert answer.status_code == 422
    assert not other.steps.exists()
