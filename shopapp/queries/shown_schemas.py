"""How content was shaped when it was frozen: what later schemas added is taken away for an elder one.

A sent quote is rebuilt in the schema of its day, so that its hash holds whatever is shown to later customers.
"""

from collections.abc import Collection, Mapping
from typing import Any

SCHEMA = 3

# what the second schema added: supplements, price kinds in words, discount on the whole, conditions, fees
_NEW_IN_CONTENT = ("is_supplement", "discount", "discount_shown", "discount_reason")
_NEW_IN_FACTS = ("own_parts_text", "diagnosis_fee", "agreed")
_NEW_IN_JOB_FACTS = ("price_kind_says_shown",)
_NEW_IN_TOTALS = ("lines", "lines_shown", "discount", "discount_shown", "has_discount")
_NEW_IN_LINES = ("condition", "condition_shown")

# what the third schema added: how the options are compared
_COMPARED_JOB = ("terms", "comparison_shown")
_COMPARED_OPTION = ("life", "trade_in_shown")
_COMPARED_FACTS = ("records",)

type Content = dict[str, Any]


def in_schema(content: Content, *, schema: int) -> Content:
    """The content as this schema shapes it. Raises ValueError for a schema that nobody knows."""
    if schema not in range(1, SCHEMA + 1):
        raise ValueError(f"no schema {schema} of what is shown is known")
    if schema < 3:
        content = _uncompared(content)
    return _first(content) if schema == 1 else content | {"schema": schema}


def _uncompared(content: Content) -> Content:
    return content | {
        "facts": _without(content["facts"], _COMPARED_FACTS),
        "jobs": [
            _without(job, _COMPARED_JOB)
            | {"options": [_without(option, _COMPARED_OPTION) for option in job["options"]]}
            for job in content["jobs"]
        ],
    }


def _first(content: Content) -> Content:
    facts = content["facts"]
    jobs = {pk: _without(job, _NEW_IN_JOB_FACTS) for pk, job in facts["jobs"].items()}
    return _without(content, _NEW_IN_CONTENT) | {
        "schema": 1,
        "facts": _without(facts, _NEW_IN_FACTS) | {"jobs": jobs},
        "jobs": [
            job | {"options": [_option(option) for option in job["options"]]} for job in content["jobs"]
        ],
    }


def _option(option: Content) -> Content:
    return option | {
        "lines": [_without(line, _NEW_IN_LINES) for line in option["lines"]],
        "totals": _without(option["totals"], _NEW_IN_TOTALS),
    }


def _without(values: Mapping[str, Any], names: Collection[str]) -> Content:
    return {name: value for name, value in values.items() if name not in names}
