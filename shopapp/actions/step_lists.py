"""The shop's step lists: what must not be forgotten in a kind of job, written by the desk."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.changes import changed, told
from shopapp.actions.locks import locked
from shopapp.actions.rights import desk_person
from shopapp.actions.steps import LONGEST_STEP, MOST_REQUIRED
from shopapp.calc.errors import BadInput
from shopapp.models import StepCaution, StepLine, StepList

MOST_LINES = 16


@dataclass(frozen=True, kw_only=True)
class LineInput:
    """A step of a list; ``joint`` names the one in the spec book that takes its place."""

    text: str
    is_required: bool = True
    joint: str = ""
    caution: StepCaution = StepCaution.NONE

    def columns(self) -> dict[str, Any]:
        """The columns of the line, its place left out."""
        return {
            "text": self.text,
            "is_required": self.is_required,
            "joint": self.joint,
            "caution": self.caution.value,
        }


@dataclass(frozen=True, kw_only=True)
class ListInput:
    """A kind of job and its steps, in their order."""

    title: str
    lines: tuple[LineInput, ...]
    is_active: bool = True


@transaction.atomic
def write_step_list(data: ListInput, *, by: Actor) -> StepList:
    """Write a new list.

    Locks nothing but the chain head, last; of two who write the same title at once the second is told. The
    key of the form keeps a second sender from a second list. If the power fails, all of it or nothing.
    """
    desk_person(by)
    _require_sane(data)
    try:
        with transaction.atomic():
            row = StepList.objects.create(title=data.title, is_active=data.is_active)
    except IntegrityError:
        raise _taken(data.title) from None
    _write_lines(row, data.lines)
    facts: Payload = {"what": row.title, "lines": len(data.lines)}
    activity.record([Entry(verb="write step list", record=row, facts=facts)], by=by)
    return row


@transaction.atomic
def edit_step_list(pk: int, data: ListInput, *, version: int, by: Actor) -> StepList:
    """Save what was changed of a list. Steps that it put on jobs before stay as they were.

    Locks the list, then the chain head. A second sender with the same version gets Stale and writes nothing;
    an edit that changes nothing leaves no trace. If the power fails it is as before.
    """
    desk_person(by)
    _require_sane(data)
    row = locked(StepList.objects.filter(pk=pk)).get()
    changes = changed(row, {"title": data.title, "is_active": data.is_active})
    is_rewritten = _lines_of(row) != [one.columns() for one in data.lines]
    if not changes and not is_rewritten:
        return row
    facts: Payload = {
        "what": row.title,
        **told(row, changes),
        **({"lines": "changed"} if is_rewritten else {}),
    }
    try:
        with transaction.atomic():
            saved = versions.save_edit(row, version=version, changes=changes)
    except IntegrityError:
        raise _taken(data.title) from None
    if is_rewritten:
        saved.lines.all().delete()
        _write_lines(saved, data.lines)
    activity.record([Entry(verb="edit step list", record=saved, facts=facts)], by=by)
    return saved


def _require_sane(data: ListInput) -> None:
    if not data.title.strip():
        raise BadInput("title", data.title, _("the kind of job it is for"))
    if not 1 <= len(data.lines) <= MOST_LINES:
        raise BadInput("title", data.title, _("1 to %s steps below it") % MOST_LINES)
    for one in data.lines:
        if not one.text.strip() or len(one.text) > LONGEST_STEP:
            raise BadInput("text", one.text[:40], _("what is to be done, in a few words"))
    required = sum(one.is_required for one in data.lines)
    if required > MOST_REQUIRED:
        accepted = _("at most about %(most)s required steps, which %(count)s are not: more are not read")
        raise BadInput("title", data.title, accepted % {"most": MOST_REQUIRED, "count": required})


def _taken(title: str) -> BadInput:
    return BadInput("title", title, _("a title that no other list has"))


def _lines_of(row: StepList) -> list[Mapping[str, object]]:
    return list(row.lines.order_by("position").values("text", "is_required", "joint", "caution"))


def _write_lines(row: StepList, lines: tuple[LineInput, ...]) -> None:
    StepLine.objects.bulk_create(
        StepLine(list=row, position=place, **one.columns()) for place, one in enumerate(lines, start=1)
    )
