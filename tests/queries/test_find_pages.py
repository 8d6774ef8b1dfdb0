"""What the one box finds: for the desk everything, for a technician their own visits and nothing else."""

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Invoice, Part, Payment, Person, Quote, QuoteRevision, WorkOrder
from shopapp.queries.find_pages import FindPage, find_page
from tests.factories import CustomerFactory, EngineFactory, JobFactory, VesselFactory, WorkOrderFactory
from tests.models.rows import ISSUED, make

pytestmark = pytest.mark.django_db


def words_of(page: FindPage) -> dict[str, list[str]]:
    """Heading → names of the answers."""
    return {group.heading: [one.words for one in group.answers] for group in page.groups}


@pytest.fixture
def kittiwake(shop: object) -> WorkOrder:
    """Anna Berg's boat with one engine, here on W-00003; a quote, an invoice, a receipt and a part beside."""
    anna = CustomerFactory(name="Anna Berg", phone="(604) 555-0142", email="anna@shop.example")
    vessel = VesselFactory(owner=anna, name="Kittiwake", hull_number="HIN-AB 12345", make="", model="")
    engine = EngineFactory(vessel=vessel, make="Petrel Marine", model="P60", serial="PM60-00012")
    order = WorkOrderFactory(vessel=vessel, number="W-00003", stage="in_line")
    JobFactory(work_order=order, engine=engine)
    quote = make(Quote, number="Q-00003", work_order=order)
    make(QuoteRevision, quote=quote, revision=1)
    invoice = make(Invoice, number="INV-00003", customer=anna, **ISSUED)
    receipt = make(Payment, number="R-00012", invoice=invoice)
    part = Part.objects.create(number="SR-1188", description="Propeller shaft seal")
    search_texts.index(anna, vessel, engine, order, quote, invoice, receipt, part)
    return order


@pytest.mark.parametrize(
    ("question", "found"),
    [
        ("anna", {"Boats": ["Kittiwake"], "Customers": ["Anna Berg"]}),
        ("0142", {"Boats": ["Kittiwake"], "Customers": ["Anna Berg"]}),
        ("604 5550142", {"Boats": ["Kittiwake"], "Customers": ["Anna Berg"]}),
        ("kitti", {"Boats": ["Kittiwake"]}),
        ("ab12345", {"Boats": ["Kittiwake"]}),
        ("pm60 00012", {"Boats": ["Kittiwake"]}),
        ("pm6000012", {"Boats": ["Kittiwake"]}),
        ("w3", {"Work orders": ["W-00003"]}),
        ("W-00003", {"Work orders": ["W-00003"]}),
        ("q-3", {"Quotes": ["Q-00003"]}),
        ("inv3", {"Invoices and credit notes": ["INV-00003"]}),
        ("r12", {"Receipts": ["R-00012"]}),
        (
            "3",
            {
                "Work orders": ["W-00003"],
                "Quotes": ["Q-00003"],
                "Invoices and credit notes": ["INV-00003"],
            },
        ),
        ("sr1188", {"Parts": ["SR-1188"]}),
        ("shaft seal", {"Parts": ["SR-1188"]}),
        ("nobody", {}),
        ("  ", {}),
        ("", {}),
    ],
)
def test_desk_finds_by_what_people_say(
    kittiwake: WorkOrder, ilse: Person, question: str, found: dict[str, list[str]]
) -> None:
    assert words_of(find_page(question, viewer=ilse)) == found


def test_boat_says_whose_it_is_and_where_its_visit_stands(kittiwake: WorkOrder, ilse: Person) -> None:
    (group,) = find_page("kittiwake", viewer=ilse).groups

    (boat,) = group.answers
    assert boat.detail == "Anna Berg · (604) 555-0142 · Petrel Marine P60 PM60-00012"
    assert boat.visit is not None
    assert (boat.visit.pk, boat.visit.number, boat.visit.stage.code) == (kittiwake.pk, "W-00003", "in-line")


def test_boat_that_went_home_can_be_taken_in(kittiwake: WorkOrder, ilse: Person) -> None:
    WorkOrder.objects.filter(pk=kittiwake.pk).update(stage="cancelled")

    (group,) = find_page("kittiwake", viewer=ilse).groups

    (boat,) = group.answers
    assert (boat.visit, boat.arrival) == (None, f"vessel={kittiwake.vessel_id}")


def test_receipt_leads_to_what_was_paid(kittiwake: WorkOrder, ilse: Person) -> None:
    deposit = make(Payment, number="R-00099", invoice=None, work_order=kittiwake)
    search_texts.index(deposit)

    leads = [
        (one.url_name, one.pk, one.detail)
        for question in ("r12", "r99")
        for group in find_page(question, viewer=ilse).groups
        for one in group.answers
    ]

    invoice = Invoice.objects.get()
    assert leads == [
        ("invoices:detail", invoice.pk, "Anna Berg"),
        ("work_orders:detail", kittiwake.pk, "Anna Berg"),
    ]


def test_part_that_is_sold_no_more_is_not_found(kittiwake: WorkOrder, ilse: Person) -> None:
    Part.objects.update(is_active=False)

    assert words_of(find_page("sr1188", viewer=ilse)) == {}


@pytest.mark.parametrize("question", ["kittiwake", "anna", "0142", "pm6000012", "w3", "W-00003"])
def test_technician_finds_only_their_own_visits(
    kittiwake: WorkOrder, tobiah: Person, wen: Person, question: str
) -> None:
    JobFactory(work_order=kittiwake, position=9, technician=tobiah)

    own, others = (words_of(find_page(question, viewer=one)) for one in (tobiah, wen))

    assert (own, others) == ({"My work orders": ["W-00003"]}, {})


@pytest.mark.parametrize("question", ["q3", "inv3", "r12"])
def test_technician_finds_no_paper(kittiwake: WorkOrder, tobiah: Person, question: str) -> None:
    JobFactory(work_order=kittiwake, position=9, technician=tobiah)

    assert words_of(find_page(question, viewer=tobiah)) == {}


def test_technicians_own_visit_is_not_buried_by_others(shop: object, tobiah: Person, ilse: Person) -> None:
    own = JobFactory(technician=tobiah).work_order
    others = [WorkOrderFactory(number=f"W-9{n:04d}") for n in range(130)]
    for order in (own, *others):
        order.vessel.name = "Otter"
        order.vessel.save()
    search_texts.index(*(order.vessel for order in (own, *others)))

    page, everything = find_page("otter", viewer=tobiah), find_page("otter", viewer=ilse)

    assert words_of(page) == {"My work orders": [own.number]}
    assert (page.is_cut, everything.is_cut, everything.count) == (False, True, 12)


@pytest.mark.parametrize("size", [1, 40])
def test_find_takes_the_same_queries_whatever_is_found(
    kittiwake: WorkOrder,
    ilse: Person,
    tobiah: Person,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    JobFactory(work_order=kittiwake, position=9, technician=tobiah)
    for _ in range(size):
        other = CustomerFactory(name="Anna 3", phone="604 555 0003")
        search_texts.index(other, VesselFactory(owner=other, name="Anna"))

    with django_assert_num_queries(5):
        find_page("anna", viewer=ilse)
    with django_assert_num_queries(3):
        find_page("00003", viewer=tobiah)


def test_find_of_everything_at_once_takes_eleven_queries(
    kittiwake: WorkOrder, ilse: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for row in (kittiwake.customer, kittiwake.vessel):
        type(row).objects.filter(pk=row.pk).update(name="Kelp 00003")
    kittiwake.refresh_from_db()
    Part.objects.update(number="P-00003")
    receipt = make(Payment, number="R-00003", invoice=Invoice.objects.get())
    search_texts.index(kittiwake.customer, kittiwake.vessel, receipt, Part.objects.get())

    with django_assert_num_queries(11):
        page = find_page("00003", viewer=ilse)

    assert [group.heading for group in page.groups] == [
        "Boats",
        "Customers",
        "Work orders",
        "Quotes",
        "Invoices and credit notes",
        "Receipts",
        "Parts",
    ]
