"""The tag that goes on the boat and on its keys: a big number, whose it is, where it stands, a QR code."""

from dataclasses import asdict, dataclass, replace

from django.template.loader import render_to_string

from shopapp.documents.canonical import canonical, digest
from shopapp.documents.papers import paper_bytes
from shopapp.documents.qr_codes import QrCode, qr_code
from shopapp.models import PaperKind, WorkOrder
from shopapp.queries.shop import the_shop
from shopapp.queries.vessels import boat_words

# letters that fit, in the widest of which there are few names
ROOM = {"shop": 30, "boat": 24, "place": 18, "keys_tag": 12}


@dataclass(frozen=True, kw_only=True)
class Tag:
    """What is on the tag. No telephone and no surname: it hangs where everybody can read it."""

    shop: str
    number: str
    boat: str
    place: str
    keys_tag: str
    address: str


@dataclass(frozen=True, kw_only=True)
class TagPaper:
    """What the template gets."""

    tag: Tag
    code: QrCode


def tag_of(work_order: WorkOrder, *, address: str) -> Tag:
    """The tag of a visit that was fetched with its ``vessel``; the code leads to ``address``. One query."""
    return Tag(
        shop=the_shop().name,
        number=work_order.number,
        boat=boat_words(work_order.vessel),
        place=work_order.place,
        keys_tag=work_order.keys_tag,
        address=address,
    )


def tag_pdf(tag: Tag) -> bytes:
    """The tag at its own small size, which a label printer takes and a sheet of either size has room for.

    Raises RenderFailed. Not inside a transaction.
    """
    return paper_bytes(PaperKind.TAG, digest(f"tag {canonical(asdict(tag))}"), lambda: tag_html(tag))


def tag_html(tag: Tag) -> str:
    """The tag from its content alone; what is too long for its place is cut, since a tag has one side."""
    cut = {name: _cut(getattr(tag, name), most=most) for name, most in ROOM.items()}
    paper = TagPaper(tag=replace(tag, **cut), code=qr_code(tag.address))
    return render_to_string("documents/tag.html", {"page": paper, "paper_size": "tag"})


def _cut(text: str, *, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"
