"""Every deed that may stand in the feed of a visit has words of its own."""

import ast
from collections.abc import Iterator

from shopapp.queries.feed import VERBS
from tests.house.tree import REPOSITORY, parsed, python_files

# deeds on records that belong to no visit, and the owner's word on a cause, which the feed leaves out
NOT_OF_A_VISIT = {
    "accept gap",
    "add boat",
    "add customer",
    "add engine",
    "add family",
    "add fee",
    "add part",
    "add person",
    "add value",
    "begin at tablet",
    "begin container",
    "change owner",
    "change roles",
    "edit boat",
    "edit customer",
    "edit engine",
    "edit family",
    "edit part",
    "edit step list",
    "edit value",
    "end all sign-ins",
    "end container",
    "end session",
    "end tablet",
    "enrol tablet",
    "found shop",
    "give first password",
    "hand over waste",
    "import value",
    "many wrong links",
    "many wrong sign-ins",
    "miss sign-in",
    "name cause",
    "put in container",
    "read hours",
    "remove PIN",
    "remove family",
    "remove fee",
    "remove second step",
    "remove value",
    "renew recovery codes",
    "reopen container",
    "set PIN",
    "set password",
    "set up second step",
    "set wage",
    "sign in",
    "strike waste",
    "switch person off",
    "switch person on",
    "use recovery code",
    "write step list",
}


def texts_of(node: ast.expr) -> Iterator[str]:
    """The texts that an expression may give: one, or either of two."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    if isinstance(node, ast.IfExp):
        yield from (*texts_of(node.body), *texts_of(node.orelse))


def verbs_of_actions() -> Iterator[str]:
    """Every text that an action gives as the verb of an entry, there and then or by name."""
    for path in python_files(REPOSITORY, "shopapp/actions"):
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.keyword) and node.arg == "verb":
                yield from texts_of(node.value)
            if isinstance(node, ast.Assign) and any(getattr(one, "id", "") == "verb" for one in node.targets):
                yield from texts_of(node.value)


def test_every_deed_of_a_visit_has_words() -> None:
    named = set(verbs_of_actions())

    assert len(named) > 60
    assert sorted(named - set(VERBS) - NOT_OF_A_VISIT) == []
