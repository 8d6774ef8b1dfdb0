"""Quotes in the demo: written, sent, asked about, answered on the tablet, by link or by telephone."""

from datetime import timedelta
from decimal import Decimal

from shopapp.actions import links, questions, quote_jobs, quotes
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.approvals import DecisionInput, decide
from shopapp.actions.comparisons import ComparisonInput, LifeInput, set_comparison
from shopapp.actions.quote_drafts import OptionInput
from shopapp.actions.spoken_answers import SpokenInput, record_spoken
from shopapp.actions.start_now import StartNowInput, start_now
from shopapp.management.demo.lines import line_of
from shopapp.management.demo.world import Facts, Visit, World, drawn_name
from shopapp.models import (
    AnswerHow,
    ChanceFrom,
    CustomerLink,
    FailsHow,
    LinkPurpose,
    Question,
    QuoteChoice,
    QuoteRevision,
    RepairKind,
    RevisionState,
    Way,
)
from shopapp.queries.shop import the_shop
from shopapp.queries.starting_chances import starting_chances


def quote(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A quote with its ways of putting each job right; sent unless it stays a draft."""
    draft = quotes.start_quote(visit.work_order.pk, by=by)
    _write(draft, facts=facts, world=world, by=by)
    visit.revision = draft if facts.get("draft") else _sent(draft, by=by)


def supplement(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """More was found: a quote for extra work beside what is agreed."""
    draft = quote_jobs.start_supplement(visit.work_order.pk, jobs=[visit.job(facts).pk], by=by)
    _write(draft, facts=facts, world=world, by=by)
    visit.revision = _sent(draft, by=by)


def _write(draft: QuoteRevision, *, facts: Facts, world: World, by: Actor) -> None:
    asked = facts["ways"] if isinstance(facts["ways"][0], list) else [facts["ways"]]
    choices = draft.choices.order_by("position", "pk")
    for choice, ways in zip(choices, asked, strict=True):
        _fill(choice, ways=ways, world=world, by=by)


def _fill(choice: QuoteChoice, *, ways: list[Facts], world: World, by: Actor) -> None:
    """The option that a new quote starts with takes the first way; more of them follow it."""
    first = choice.options.get()
    for place, facts in enumerate(ways):
        words = _words(facts)
        if place == 0:
            option = quotes.edit_option(first.pk, words, version=first.version, by=by)
        else:
            option = quotes.add_option(choice.pk, words, by=by)
        for text in facts.get("lines", ()):
            quotes.add_line(option.pk, line_of(text, world=world), by=by)
    if any("holds" in facts for facts in ways):
        _compare(choice, ways=ways, by=by)


def _compare(choice: QuoteChoice, *, ways: list[Facts], by: Actor) -> None:
    """How long each way will hold, by the kind of repair it is; what follows it, by its place among them."""
    choice.refresh_from_db()
    options = list(choice.options.order_by("position"))
    chances = starting_chances(the_shop())
    lives = {
        option.pk: LifeInput(
            chance=Decimal(chances[RepairKind(facts["holds"])]) / 10_000,
            chance_from=ChanceFrom.COMMON,
            fails_how=facts.get("fails", FailsHow.BY_CHANCE),
            follows=options[facts["then"] - 1].pk if "then" in facts else None,
            covers_labour=facts.get("covers_labour", True),
            covers_supplies=facts.get("covers_supplies", True),
        )
        for option, facts in zip(options, ways, strict=True)
        if "holds" in facts
    }
    word = next((facts["word"] for facts in ways if "word" in facts), "")
    not_offered = {way: why for facts in ways for way, why in facts.get("not_offered", {}).items()}
    data = ComparisonInput(lives=lives, own_word=word, not_offered=not_offered)
    set_comparison(choice.pk, data, version=choice.version, by=by)


def _words(facts: Facts) -> OptionInput:
    return OptionInput(
        way=Way(facts["way"]),
        title=facts["title"],
        explanation=facts.get("explanation", ""),
        left_out=facts.get("left_out", ""),
        days=facts.get("days", 0),
        warranty_months=facts.get("warranty", 0),
        warranty_covers=facts.get("covers", ""),
    )


def _sent(draft: QuoteRevision, *, by: Actor) -> QuoteRevision:
    draft.refresh_from_db()
    return quotes.send_quote(draft.pk, version=draft.version, by=by)


def send_link(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The quote goes to the customer's own telephone."""
    links.open_phone(visit.sent.pk, visit.work_order.customer.phone, by=by)


def ask(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The customer asks something behind the link on their telephone."""
    link = CustomerLink.objects.get(revision=visit.sent, purpose=LinkPurpose.PHONE, revoked_at=None)
    questions.ask_question(visit.sent.pk, facts["text"], by=Actor(scope=Scope.LINK, link=link, at=by.at))


def answer(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The shop answers what was asked last."""
    row = Question.objects.filter(revision=visit.sent).latest("pk")
    questions.answer_question(row.pk, facts["text"], version=row.version, by=by)


def sign(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The customer signs on the tablet that the desk hands over, or behind the link on their telephone."""
    revision = visit.sent
    if facts.get("by_link"):
        link = CustomerLink.objects.get(revision=revision, purpose=LinkPurpose.PHONE, revoked_at=None)
    else:
        link, _token = links.open_counter(revision.pk, by=by)
    name = facts.get("name", visit.work_order.customer.name)
    data = DecisionInput(
        is_declined=facts.get("declined", False),
        chosen=_chosen(revision, facts=facts),
        signed_name=name,
        strokes="" if facts.get("declined") else drawn_name(name),
        reason=facts.get("reason", ""),
        wants_parts_back=facts.get("parts_back", False),
    )
    decide(revision.pk, data, by=Actor(scope=Scope.LINK, link=link, at=by.at))


def _chosen(revision: QuoteRevision, *, facts: Facts) -> dict[int, int | None]:
    """The ways by their places, one for each job; 0 is "not now". Without places the first way of each."""
    choices = list(revision.choices.order_by("position", "pk").prefetch_related("options"))
    places = facts.get("takes", [0 if facts.get("declined") else 1] * len(choices))
    chosen: dict[int, int | None] = {}
    for choice, place in zip(choices, places, strict=True):
        options = sorted(choice.options.all(), key=lambda option: option.position)
        chosen[choice.pk] = options[place - 1].pk if place else None
    return chosen


def telephone(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The customer said it on the telephone, and the desk writes it down."""
    customer = visit.work_order.customer
    data = SpokenInput(
        how=AnswerHow.PHONE,
        is_declined=facts.get("declined", False),
        chosen=_chosen(visit.sent, facts=facts),
        spoken_with=facts.get("name", customer.name),
        number=customer.phone,
        spoken_at=by.at - timedelta(seconds=30),
        relation=facts.get("relation", ""),
        extra_work=facts.get("extra_work", ""),
        reason=facts.get("reason", ""),
        wants_parts_back=False,
    )
    record_spoken(visit.sent.pk, data, by=by)


def begin_by_telephone(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A yes by telephone to one piece of work, begun at once."""
    customer = visit.work_order.customer
    data = StartNowInput(
        what=facts["what"],
        at_most=Decimal(facts["at_most"]),
        spoken_with=facts.get("name", customer.name),
        number=customer.phone,
        spoken_at=by.at,
    )
    start_now(visit.job(facts).pk, data, by=by)


def take_back(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The quote comes back from the customer; its next revision is a draft."""
    if visit.sent.state != RevisionState.SENT:
        raise LookupError(f"{visit.facts['key']} has no quote that is out.")
    visit.revision = quotes.revise_quote(visit.sent.pk, by=by)


def send_again(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The next revision goes out, with a discount where one is given."""
    visit.revision = _sent(visit.sent, by=by)
