"""Reels drawn from simple shapes, in the colours of their invented makers."""

from collections.abc import Callable
from math import cos, pi, sin
from random import Random

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

Colour = tuple[int, int, int]
WIDE, HIGH, FINE = 960, 720, 2
BENCH_TOP: Colour = (206, 196, 176)
INK: Colour = (40, 36, 32)
DULL: Colour = (122, 116, 96)
LABEL = "invented: drawn, no real reel"

PALETTES: dict[str, tuple[Colour, Colour, Colour, Colour]] = {
    "Skellaby": ((34, 32, 34), (214, 216, 218), (224, 190, 96), (132, 74, 42)),
    "Oxenby Forge": ((92, 58, 38), (196, 160, 92), (226, 196, 120), (60, 40, 30)),
    "Lodderwick": ((112, 34, 38), (210, 210, 206), (220, 196, 110), (30, 30, 34)),
    "Wrackmouth": ((36, 70, 104), (208, 214, 220), (226, 200, 112), (40, 44, 50)),
    "Varrenholm": ((44, 84, 62), (206, 208, 200), (222, 190, 100), (70, 50, 38)),
    "Estermoor": ((72, 82, 92), (222, 224, 226), (200, 70, 60), (36, 40, 44)),
    "Kessandry": ((226, 214, 180), (190, 176, 140), (210, 170, 84), (98, 60, 36)),
}
"""Of each maker: plate or body, metal, brass, knob."""


class Brush:
    """A pen with a maker's colours, fresh or gone dull."""

    def __init__(self, pen: ImageDraw.ImageDraw, maker: str, *, old: bool) -> None:
        self.pen = pen
        self.plate, self.metal, self.brass, self.knob = (_dull(one) if old else one for one in PALETTES[maker])

    def disc(self, x: float, y: float, r: float, fill: Colour) -> None:
        self.pen.ellipse((x - r, y - r, x + r, y + r), fill=fill, outline=INK, width=6)

    def bar(self, left: float, top: float, right: float, bottom: float, fill: Colour, corner: float = 18) -> None:
        self.pen.rounded_rectangle((left, top, right, bottom), corner, fill=fill, outline=INK, width=6)

    def ring_of(self, count: int, x: float, y: float, r: float, size: float, fill: Colour) -> None:
        for turn in range(count):
            angle = 2 * pi * turn / count + 0.3
            self.disc(x + r * cos(angle), y + r * sin(angle), size, fill)

    def star(self, x: float, y: float, outer: float, inner: float, fill: Colour, points: int = 5) -> None:
        corners = []
        for turn in range(2 * points):
            r = inner if turn % 2 else outer
            corners.append((x + r * cos(turn * pi / points - 0.4), y + r * sin(turn * pi / points - 0.4)))
        self.pen.polygon(corners, fill=fill, outline=INK, width=6)


def _dull(colour: Colour) -> Colour:
    red, green, blue = (round(0.66 * new + 0.34 * old) for new, old in zip(colour, DULL, strict=True))
    return red, green, blue


def handle_side(brush: Brush) -> None:
    """A star drag reel seen from its handle."""
    x, y = 900.0, 690.0
    brush.pen.polygon(
        [(x - 170, y + 290), (x + 170, y + 290), (x + 250, y + 440), (x - 250, y + 440)], brush.metal, INK
    )
    brush.bar(x - 520, y + 430, x + 520, y + 490, brush.metal)
    brush.disc(x, y, 450, brush.metal)
    brush.disc(x, y, 400, brush.plate)
    brush.disc(x, y, 300, brush.plate)
    brush.ring_of(6, x, y, 425, 19, brush.brass)
    brush.ring_of(4, x + 30, y + 10, 250, 15, brush.brass)
    brush.bar(x - 330, y - 300, x - 220, y - 190, brush.metal, 24)
    brush.star(x + 60, y, 200, 95, brush.metal)
    brush.pen.line((x + 60, y, x + 620, y - 330), fill=INK, width=78)
    brush.pen.line((x + 60, y, x + 620, y - 330), fill=brush.metal, width=64)
    brush.disc(x + 60, y, 68, brush.brass)
    brush.disc(x + 640, y - 342, 108, brush.knob)
    brush.disc(x + 640, y - 342, 26, brush.metal)


def spool_side(brush: Brush) -> None:
    """A star drag reel seen from the front, its spool full of line."""
    x, y = 880.0, 660.0
    for end in (-1, 1):
        brush.bar(x + end * 430 - 45, y - 400, x + end * 430 + 45, y + 400, brush.plate)
        brush.bar(x + end * 360 - 16, y - 340, x + end * 360 + 16, y + 340, brush.metal)
    brush.bar(x - 340, y - 270, x + 340, y + 270, (188, 202, 160), 8)
    for turn in range(18):
        brush.pen.line((x - 330 + turn * 38, y - 262, x - 312 + turn * 38, y + 262), fill=(150, 164, 124), width=5)
    for level in (-380, 350):
        brush.bar(x - 400, y + level, x + 400, y + level + 34, brush.metal)
    brush.bar(x - 330, y + 440, x + 330, y + 490, brush.metal)
    brush.bar(x + 475, y - 60, x + 560, y + 60, brush.brass)
    brush.star(x + 600, y, 120, 60, brush.metal)
    brush.bar(x + 640, y - 340, x + 690, y + 60, brush.metal)
    brush.bar(x + 690, y - 370, x + 830, y - 270, brush.knob, 40)


def fixed_spool(brush: Brush) -> None:
    """A fixed spool reel from its side, foot up."""
    x, y = 960.0, 740.0
    brush.bar(x - 220, y - 620, x + 280, y - 570, brush.plate)
    brush.pen.polygon([(x - 10, y - 572), (x + 90, y - 572), (x + 120, y - 180), (x - 40, y - 180)], brush.plate, INK)
    brush.disc(x + 60, y, 300, brush.plate)
    brush.ring_of(4, x + 60, y, 250, 16, brush.brass)
    brush.bar(x - 420, y - 190, x - 180, y + 190, brush.plate, 40)
    brush.bar(x - 690, y - 235, x - 620, y + 235, brush.metal, 24)
    brush.bar(x - 620, y - 185, x - 470, y + 185, (188, 202, 160), 4)
    brush.bar(x - 470, y - 235, x - 400, y + 235, brush.metal, 24)
    brush.bar(x - 790, y - 110, x - 690, y + 110, brush.brass, 20)
    brush.pen.arc((x - 640, y - 330, x - 120, y + 330), 160, 272, fill=brush.metal, width=24)
    brush.disc(x - 600, y + 130, 34, brush.brass)
    brush.bar(x + 30, y, x + 90, y + 430, brush.metal)
    brush.bar(x - 50, y + 400, x + 170, y + 520, brush.knob, 50)
    brush.disc(x + 60, y, 84, brush.metal)


def inside(brush: Brush) -> None:
    """The head plate from inside: gear, pinion, bridge, dog."""
    x, y = 940.0, 690.0
    brush.disc(x, y, 470, brush.metal)
    brush.disc(x, y, 430, brush.plate)
    brush.ring_of(36, x - 110, y + 30, 214, 20, brush.brass)
    brush.disc(x - 110, y + 30, 212, brush.brass)
    brush.disc(x - 110, y + 30, 150, (70, 62, 54))
    brush.ring_of(12, x + 175, y - 40, 74, 16, brush.brass)
    brush.disc(x + 175, y - 40, 72, brush.brass)
    brush.bar(x - 60, y - 330, x + 20, y + 360, brush.metal, 30)
    brush.bar(x + 120, y - 300, x + 250, y - 240, brush.metal, 20)
    brush.bar(x + 200, y + 180, x + 330, y + 230, brush.metal, 20)
    brush.ring_of(6, x, y, 400, 20, brush.brass)
    brush.disc(x - 110, y + 30, 52, brush.metal)


def washers(brush: Brush) -> None:
    """The drag washers in a row, top one to the left."""
    dark: Colour = (58, 50, 42)
    for number, colour in enumerate((brush.metal, dark, brush.metal, dark, brush.metal, dark)):
        x, y = 205 + number * 302, 640 + (number % 2) * 50
        brush.disc(x, y, 138, colour)
        brush.disc(x, y, 60, BENCH_TOP)
        if number == 2:
            for ear in (-1, 1):
                brush.bar(x + ear * 150 - 24, y - 30, x + ear * 150 + 24, y + 30, colour, 6)


def crate(brush: Brush) -> None:
    """A fish box with twelve reels in it."""
    brush.bar(130, 180, 1790, 1250, (150, 116, 78), 30)
    brush.bar(190, 240, 1730, 1190, (96, 74, 50), 20)
    rng = Random(12)
    for row in range(3):
        for place in range(4):
            x, y = 400 + place * 375 + rng.randrange(-20, 20), 400 + row * 310 + rng.randrange(-15, 15)
            brush.disc(x, y, 140, brush.metal)
            brush.disc(x, y, 120, rng.choice((brush.plate, (92, 58, 38), (34, 32, 34))))
            brush.star(x + 10, y, 62, 30, brush.metal)
            brush.bar(x + 10, y - 12, x + 130, y + 12, brush.metal, 10)
            brush.disc(x + 140, y, 30, brush.knob)


VIEWS: dict[str, Callable[[Brush], None]] = {
    "handle": handle_side,
    "spool": spool_side,
    "fixed": fixed_spool,
    "inside": inside,
    "washers": washers,
    "crate": crate,
}


def draw(maker: str, view: str, *, old: bool) -> Image.Image:
    """One view of a maker's reel; the same one every time."""
    image = Image.new("RGB", (WIDE * FINE, HIGH * FINE), BENCH_TOP)
    VIEWS[view](Brush(ImageDraw.Draw(image), maker, old=old))
    if old:
        _stain(image, Random(f"{maker} {view}"))
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, HIGH * FINE - 110, 900, HIGH * FINE), fill=(250, 246, 236))
    pen.text((30, HIGH * FINE - 92), LABEL, fill=(70, 60, 50), font=ImageFont.load_default(60))
    return image.resize((WIDE, HIGH), Image.Resampling.BOX)


def _stain(image: Image.Image, rng: Random) -> None:
    """Salt bloom, verdigris or rust over what is drawn, and nothing on the bench beside it."""
    small = (image.width // 4, image.height // 4)
    marks = Image.new("L", small, 0)
    pen = ImageDraw.Draw(marks)
    for _ in range(170):
        x, y, r = rng.uniform(70, 400), rng.uniform(45, 320), rng.uniform(2, 12)
        pen.ellipse((x - r, y - r, x + r, y + r * 0.8), fill=rng.randrange(40, 165))
    marks = marks.filter(ImageFilter.GaussianBlur(2)).resize(image.size)
    drawn = ImageChops.difference(image, Image.new("RGB", image.size, BENCH_TOP)).convert("L").point(_whole)
    bloom = rng.choice(((118, 150, 118), (172, 180, 164), (150, 112, 72)))
    image.paste(Image.new("RGB", image.size, bloom), (0, 0), ImageChops.multiply(marks, drawn))


def _whole(level: int) -> int:
    return 255 if level > 4 else 0
