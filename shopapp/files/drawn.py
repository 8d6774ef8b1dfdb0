"""Draws the photos of the demo shop, the same ones each time; no picture of a real engine is needed."""

import io
import math
import random
from collections.abc import Callable, Mapping

from PIL import Image, ImageChops, ImageDraw, ImageFilter

SIZE = (1000, 750)
# drawn larger and made smaller, so that edges are smooth
LARGE = (2400, 1800)
BENCH, STEEL, PAINT = (62, 68, 70), (176, 182, 184), (44, 62, 74)
BRASS, RUBBER, MILK, OIL = (190, 158, 92), (34, 35, 37), (206, 196, 168), (156, 104, 34)
WHITE, INK, RED, ZINC = (240, 240, 236), (28, 30, 32), (178, 44, 36), (186, 190, 188)

type Colour = tuple[int, int, int]
type Box = tuple[float, float, float, float]


class Sheet:
    """A canvas with the few strokes that all drawings share."""

    def __init__(self, *, seed: int, ground: Colour = BENCH) -> None:
        self.chance = random.Random(seed)  # noqa: S311  # spots on a drawing guard nothing
        self.image = _lit(ground)
        self.pen = ImageDraw.Draw(self.image)

    def round(self, x: float, y: float, radius: float, *, fill: Colour) -> None:
        """A disc with a soft shade on its lower right."""
        self.shaded_disc(_box(x, y, radius), fill=fill)

    def shaded_disc(self, box: Box, *, fill: Colour) -> None:
        """An ellipse that the light meets from the upper left."""
        left, top, right, bottom = box
        for step in range(12):
            share = step / 12
            inset_x, inset_y = (right - left) / 2 * share, (bottom - top) / 2 * share
            shift_x, shift_y = inset_x * -0.25, inset_y * -0.25
            shade = _mixed(_mixed(fill, INK, 0.34), _mixed(fill, WHITE, 0.2), share)
            inner = (left + inset_x, top + inset_y, right - inset_x, bottom - inset_y)
            self.pen.ellipse(_moved(inner, shift_x, shift_y), fill=shade)

    def ring(self, x: float, y: float, radius: float, *, width: int, fill: Colour) -> None:
        """A bare circle line."""
        self.pen.ellipse(_box(x, y, radius), outline=fill, width=width)

    def rod(self, box: Box, *, fill: Colour) -> None:
        """A round bar lying across: bright along its upper third."""
        left, top, right, bottom = box
        height = bottom - top
        for line in range(int(height)):
            light = 1 - abs(line / height - 0.32) * 1.5
            shade = _mixed(_mixed(fill, INK, 0.6), _mixed(fill, WHITE, 0.55), max(0, min(1, light)))
            self.pen.line((left, top + line, right, top + line), fill=shade)

    def speckle(self, box: Box, *, count: int, fill: Colour, most: int) -> None:
        """Spots of dirt, salt or bubbles."""
        left, top, right, bottom = box
        for _spot in range(count):
            x, y = self.chance.uniform(left, right), self.chance.uniform(top, bottom)
            self.pen.ellipse(_box(x, y, self.chance.uniform(1, most)), fill=fill)

    def streaks(self, x: float, y: float, *, reach: float, count: int, fill: Colour) -> None:
        """Fine lines that turn round a middle, as a lathe or wear leaves them."""
        for _streak in range(count):
            radius, start = self.chance.uniform(reach * 0.2, reach), self.chance.uniform(0, 360)
            self.pen.arc(_box(x, y, radius), start, start + self.chance.uniform(8, 50), fill=fill, width=2)

    def as_photo(self) -> bytes:
        """The drawing with the softness and grain of a photo, as JPEG."""
        small = self.image.resize(SIZE, Image.Resampling.LANCZOS)
        soft = small.filter(ImageFilter.GaussianBlur(0.8))
        out = io.BytesIO()
        _with_grain(soft, chance=self.chance).save(out, "JPEG", quality=88)
        return out.getvalue()


def _lit(ground: Colour) -> Image.Image:
    """A plain ground, brighter where the lamp hangs."""
    glow = ImageChops.invert(Image.radial_gradient("L")).resize(LARGE)
    dark, bright = Image.new("RGB", LARGE, _mixed(ground, INK, 0.4)), Image.new("RGB", LARGE, ground)
    return Image.composite(_brighter(bright), dark, glow)


def _brighter(image: Image.Image) -> Image.Image:
    return Image.blend(image, Image.new("RGB", image.size, WHITE), 0.14)


def _with_grain(image: Image.Image, *, chance: random.Random) -> Image.Image:
    tile = Image.frombytes("L", (300, 225), chance.randbytes(300 * 225)).resize(SIZE)
    return Image.blend(image, Image.merge("RGB", (tile, tile, tile)), 0.035)


def _box(x: float, y: float, radius: float) -> Box:
    return (x - radius, y - radius, x + radius, y + radius)


def _moved(box: Box, x: float, y: float) -> Box:
    return (box[0] + x, box[1] + y, box[2] + x, box[3] + y)


def _mixed(one: Colour, other: Colour, share: float) -> Colour:
    red, green, blue = (round(a + (b - a) * share) for a, b in zip(one, other, strict=True))
    return (red, green, blue)


def _on_circle(x: float, y: float, radius: float, degrees: float) -> tuple[float, float]:
    turn = math.radians(degrees)
    return (x + radius * math.cos(turn), y + radius * math.sin(turn))


def _oil(sheet: Sheet, *, fill: Colour, bubbles: int) -> None:
    """Oil in a white tray under the open drain of a gearcase."""
    sheet.pen.rounded_rectangle((300, 820, 2100, 1700), 120, fill=_mixed(WHITE, STEEL, 0.4))
    sheet.pen.rounded_rectangle((360, 880, 2040, 1640), 90, fill=WHITE)
    sheet.shaded_disc((450, 960, 1960, 1600), fill=fill)
    sheet.pen.polygon([(700, 0), (1700, 0), (1560, 420), (1260, 520), (860, 420)], fill=PAINT)
    sheet.round(1230, 420, 70, fill=STEEL)
    sheet.round(1230, 420, 42, fill=INK)
    sheet.pen.polygon([(1206, 430), (1254, 430), (1246, 1240), (1216, 1240)], fill=_mixed(fill, WHITE, 0.15))
    sheet.shaded_disc((1060, 1180, 1410, 1310), fill=_mixed(fill, WHITE, 0.18))
    sheet.speckle((620, 1080, 1800, 1480), count=bubbles, fill=_mixed(fill, WHITE, 0.55), most=9)


def milky_oil() -> bytes:
    """Gear oil with water in it: the colour of milky coffee."""
    sheet = Sheet(seed=11)
    _oil(sheet, fill=MILK, bubbles=260)
    return sheet.as_photo()


def clean_oil() -> bytes:
    """Gear oil as it should look."""
    sheet = Sheet(seed=12)
    _oil(sheet, fill=OIL, bubbles=14)
    return sheet.as_photo()


def cut_seal() -> bytes:
    """A shaft seal with fishing line wound into its lip."""
    sheet = Sheet(seed=21)
    x, y = 1180, 900
    sheet.round(x, y, 700, fill=STEEL)
    sheet.streaks(x, y, reach=690, count=90, fill=_mixed(STEEL, WHITE, 0.35))
    sheet.round(x, y, 520, fill=RUBBER)
    sheet.ring(x, y, 430, width=26, fill=_mixed(RUBBER, WHITE, 0.22))
    sheet.round(x, y, 300, fill=BRASS)
    sheet.streaks(x, y, reach=295, count=60, fill=_mixed(BRASS, WHITE, 0.4))
    sheet.pen.polygon([(1480, 640), (1660, 560), (1690, 600), (1500, 690)], fill=_mixed(RUBBER, INK, 0.8))
    for turn in range(9):
        radius, start = 318 + turn * 9, sheet.chance.uniform(0, 90)
        line = _mixed((120, 168, 150), WHITE, 0.35)
        sheet.pen.arc(_box(x, y, radius), start, start + 240, fill=line, width=6)
    end = [_on_circle(x, y, 390 + step * 26, 300 + step * 7) for step in range(18)]
    sheet.pen.line(end, fill=_mixed((120, 168, 150), WHITE, 0.4), width=7, joint="curve")
    return sheet.as_photo()


def grooved_shaft() -> bytes:
    """A propeller shaft with a groove where the seal has run."""
    sheet = Sheet(seed=22, ground=(94, 88, 74))
    sheet.rod((0, 640, 1500, 1160), fill=STEEL)
    sheet.rod((1500, 700, 2080, 1100), fill=STEEL)
    for tooth in range(9):
        sheet.rod((2080, 712 + tooth * 42, 2400, 748 + tooth * 42), fill=_mixed(STEEL, INK, 0.2))
    for left, width in ((840, 34), (905, 16)):
        sheet.rod((left, 646, left + width, 1154), fill=_mixed(STEEL, INK, 0.5))
        sheet.pen.line((left - 5, 650, left - 5, 1150), fill=_mixed(STEEL, WHITE, 0.6), width=5)
    sheet.speckle((60, 1240, 2340, 1700), count=120, fill=(74, 68, 56), most=7)
    return sheet.as_photo()


def propeller(*, bent: bool = True) -> bytes:
    """A three-bladed propeller; one blade has met a rock."""
    sheet = Sheet(seed=31)
    x, y = 1200, 900
    for blade in range(3):
        turn = blade * 120 - 90
        outline = [
            _on_circle(x, y, 160 + 620 * math.sin(math.pi * min(step / 15, 1) * 0.62), turn - 42 + step * 6)
            for step in range(16)
        ]
        if bent and blade == 1:
            outline[9:14] = [
                _on_circle(x, y, 470 + 60 * (step % 2), turn + 14 + step * 5) for step in range(5)
            ]
        shape = [_on_circle(x, y, 120, turn - 50), *outline, _on_circle(x, y, 120, turn + 52)]
        sheet.pen.polygon(shape, fill=_mixed(PAINT, INK, 0.35))
        inner = [(x + (a - x) * 0.95 - 8, y + (b - y) * 0.95 - 10) for a, b in shape]
        sheet.pen.polygon(inner, fill=_mixed(PAINT, STEEL, 0.22 + 0.1 * blade))
        sheet.pen.line(outline, fill=STEEL, width=10, joint="curve")
    sheet.round(x, y, 210, fill=PAINT)
    sheet.round(x, y, 120, fill=STEEL)
    sheet.round(x, y, 62, fill=BRASS)
    sheet.speckle((560, 300, 1840, 1500), count=60, fill=_mixed(STEEL, INK, 0.3), most=6)
    return sheet.as_photo()


def worn_impeller() -> bytes:
    """A pump impeller: blades bent over, two of them torn off short."""
    sheet = Sheet(seed=41, ground=(120, 122, 116))
    x, y = 1200, 900
    sheet.round(x, y, 640, fill=_mixed(RUBBER, STEEL, 0.12))
    sheet.ring(x, y, 640, width=30, fill=STEEL)
    for blade in range(6):
        turn, reach = blade * 60 + 10, 560 if blade not in (1, 4) else 370
        path = [
            _on_circle(x, y, 170 + (reach - 170) * step / 8, turn + step * step * 0.75) for step in range(9)
        ]
        sheet.pen.line(path, fill=INK, width=104, joint="curve")
        sheet.pen.line(path, fill=_mixed(RUBBER, WHITE, 0.34), width=66, joint="curve")
        end = path[-1]
        sheet.round(end[0], end[1], 50, fill=_mixed(RUBBER, WHITE, 0.3))
    sheet.round(x, y, 220, fill=RUBBER)
    sheet.round(x, y, 130, fill=BRASS)
    sheet.pen.rectangle((x - 26, y - 150, x + 26, y - 84), fill=INK)
    sheet.round(x, y, 74, fill=INK)
    sheet.streaks(x, y, reach=620, count=50, fill=_mixed(STEEL, INK, 0.2))
    return sheet.as_photo()


def corroded_anode() -> bytes:
    """An anode eaten away to half of what it was."""
    sheet = Sheet(seed=51, ground=PAINT)
    edge = [(520 + step * 15, 600 + _eaten(step)) for step in range(91)]
    lower = [(1870 - step * 15, 1220 - _eaten(step + 40) * 0.8) for step in range(91)]
    shape = [*edge, *lower]
    sheet.pen.polygon([(a + 22, b + 26) for a, b in shape], fill=_mixed(PAINT, INK, 0.6))
    sheet.pen.polygon(shape, fill=ZINC)
    for _pit in range(170):
        a, b = sheet.chance.uniform(560, 1830), sheet.chance.uniform(640, 1170)
        radius = sheet.chance.uniform(6, 38)
        sheet.pen.ellipse(_box(a, b, radius), fill=_mixed(ZINC, INK, sheet.chance.uniform(0.1, 0.5)))
        sheet.pen.ellipse(_box(a + 4, b + 5, radius * 0.7), fill=_mixed(ZINC, WHITE, 0.25))
    for bolt in (800, 1600):
        sheet.round(bolt, 900, 92, fill=STEEL)
        hexagon = [_on_circle(bolt, 900, 58, corner * 60) for corner in range(6)]
        sheet.pen.polygon(hexagon, fill=_mixed(STEEL, INK, 0.55))
    sheet.speckle((200, 300, 2200, 1600), count=200, fill=_mixed(WHITE, PAINT, 0.35), most=6)
    return sheet.as_photo()


def _eaten(step: int) -> float:
    """How far the edge of the anode has gone at that place."""
    return 70 * math.sin(step * 0.19) + 40 * math.sin(step * 0.53) + 18 * math.sin(step * 1.7)


def _gauge(*, degrees: float, seed: int) -> bytes:
    """A pressure gauge with its needle at an angle; 135 is nil, 405 full."""
    sheet = Sheet(seed=seed)
    x, y = 1200, 860
    sheet.pen.rectangle((1140, 1500, 1260, 1800), fill=BRASS)
    sheet.round(x, y, 740, fill=STEEL)
    sheet.pen.ellipse(_box(x, y, 650), fill=WHITE)
    for mark in range(51):
        turn, is_long = 135 + mark * 5.4, mark % 5 == 0
        inner = 520 if is_long else 560
        line = [_on_circle(x, y, inner, turn), _on_circle(x, y, 600, turn)]
        sheet.pen.line(line, fill=RED if mark > 42 else INK, width=16 if is_long else 7)
        if is_long:
            a, b = _on_circle(x, y, 435, turn)
            sheet.pen.text((a, b), f"{mark // 5}", fill=INK, font_size=88, anchor="mm")
    sheet.pen.text((x, y + 250), "gearcase", fill=_mixed(INK, WHITE, 0.3), font_size=72, anchor="mm")
    sheet.pen.line([_on_circle(x, y, 110, degrees + 180), _on_circle(x, y, 540, degrees)], fill=RED, width=22)
    sheet.round(x, y, 66, fill=INK)
    sheet.pen.arc(_box(x, y, 620), 200, 250, fill=_mixed(WHITE, STEEL, 0.3), width=20)
    return sheet.as_photo()


def vacuum_lost() -> bytes:
    """The gauge after two minutes: most of the vacuum is gone."""
    return _gauge(degrees=172, seed=61)


def vacuum_held() -> bytes:
    """The gauge after the repair: it stays where it was."""
    return _gauge(degrees=330, seed=62)


def boat_on_trailer() -> bytes:
    """A boat as it came in: on its trailer in the yard."""
    sheet = Sheet(seed=71, ground=(132, 140, 140))
    sheet.pen.rectangle((0, 0, 2400, 1010), fill=(170, 186, 196))
    sheet.pen.polygon(
        [(0, 1010), (0, 860), (700, 800), (1500, 850), (2400, 780), (2400, 1010)], fill=(92, 112, 100)
    )
    sheet.pen.line((260, 1400, 2260, 1400), fill=_mixed(STEEL, INK, 0.2), width=44)
    sheet.pen.polygon(
        [(300, 820), (1960, 820), (2260, 760), (2060, 1160), (640, 1300), (360, 1180)], fill=WHITE
    )
    sheet.pen.polygon([(318, 900), (2150, 880), (2110, 980), (330, 1010)], fill=(38, 84, 104))
    sheet.pen.polygon([(1180, 820), (1330, 610), (1350, 610), (1480, 820)], fill=(120, 150, 160))
    sheet.pen.rounded_rectangle((150, 700, 330, 1000), 50, fill=PAINT)
    sheet.pen.polygon([(200, 1000), (300, 1000), (280, 1290), (180, 1290)], fill=_mixed(PAINT, INK, 0.3))
    for support in (560, 1000, 1500, 1900):
        sheet.pen.line((support, 1400, support + 40, 1180), fill=_mixed(STEEL, INK, 0.35), width=30)
    sheet.pen.rounded_rectangle((720, 1260, 1420, 1330), 34, fill=_mixed(STEEL, INK, 0.45))
    for wheel in (900, 1240):
        sheet.round(wheel, 1440, 150, fill=RUBBER)
        sheet.round(wheel, 1440, 66, fill=STEEL)
    sheet.speckle((0, 1560, 2400, 1790), count=260, fill=(112, 116, 112), most=8)
    return sheet.as_photo()


PICTURES: Mapping[str, Callable[[], bytes]] = {
    "milky_oil": milky_oil,
    "clean_oil": clean_oil,
    "cut_seal": cut_seal,
    "grooved_shaft": grooved_shaft,
    "propeller": propeller,
    "worn_impeller": worn_impeller,
    "corroded_anode": corroded_anode,
    "vacuum_lost": vacuum_lost,
    "vacuum_held": vacuum_held,
    "boat_on_trailer": boat_on_trailer,
}
