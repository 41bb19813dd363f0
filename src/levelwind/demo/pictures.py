"""Small drawn pictures of reels, old as found and clean as left, with "invented" in the corner of each."""

from io import BytesIO
from math import cos, pi, sin
from random import Random

from django.core.files.base import ContentFile
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from levelwind.demo.patterns import Kind
from levelwind.shop.models import Job
from levelwind.shop.services.photos import photo_add

WIDE, HIGH, FINE = 960, 720, 2
Colour = tuple[int, int, int]


class Album:
    """Draws each picture once and shows it again where the same sort of reel is on the bench."""

    def __init__(self) -> None:
        self._drawn: dict[tuple[str, str, str], bytes] = {}

    def as_found(self, job: Job, kind: Kind) -> None:
        self._add(job, kind, "found", "as it came out of the box")

    def as_left(self, job: Job, kind: Kind) -> None:
        self._add(job, kind, "left", "clean, proved, ready to box")

    def at_a_step(self, job: Job, kind: Kind) -> None:
        data = self._picture(kind, "washers")
        file = ContentFile(data, name="washers.jpg")
        photo_add(file=file, job=job, moment="step", step="lift_drag_washers", caption="top washer to the left")

    def _add(self, job: Job, kind: Kind, moment: str, caption: str) -> None:
        file = ContentFile(self._picture(kind, moment), name=f"{moment}.jpg")
        photo_add(file=file, job=job, moment=moment, caption=caption)

    def _picture(self, kind: Kind, sort: str) -> bytes:
        key = (kind.family, kind.maker, sort)
        if key not in self._drawn:
            self._drawn[key] = draw(kind, sort)
        return self._drawn[key]


def draw(kind: Kind, sort: str) -> bytes:
    """A JPEG of the reel, or of its washers in a row."""
    rng = Random(f"{kind.maker} {sort}")
    image = Image.new("RGB", (WIDE * FINE, HIGH * FINE), (206, 196, 176))
    pen = ImageDraw.Draw(image)
    if sort == "washers":
        _washers(pen)
    elif kind.family == "star_drag":
        _star_reel(pen, old=sort == "found")
    else:
        _fixed_spool(pen, old=sort == "found")
    if sort == "found":
        _stains(image, rng)
    pen = ImageDraw.Draw(image)
    font = ImageFont.load_default(44)
    pen.text((30, HIGH * FINE - 80), "invented: drawn, no real reel", fill=(70, 60, 50), font=font)
    small = image.resize((WIDE, HIGH), Image.Resampling.LANCZOS)
    buffer = BytesIO()
    small.save(buffer, "JPEG", quality=84)
    return buffer.getvalue()


def _disc(pen: ImageDraw.ImageDraw, x: float, y: float, r: float, fill: Colour, edge: Colour = (40, 36, 32)) -> None:
    pen.ellipse((x - r, y - r, x + r, y + r), fill=fill, outline=edge, width=6)


def _star_reel(pen: ImageDraw.ImageDraw, *, old: bool) -> None:
    x, y = 900.0, 700.0
    plate: Colour = (66, 58, 52) if old else (34, 32, 34)
    metal: Colour = (150, 146, 128) if old else (214, 216, 218)
    pen.rounded_rectangle((x - 520, y + 430, x + 520, y + 490), 20, fill=metal, outline=(40, 36, 32), width=6)
    pen.polygon([(x - 160, y + 300), (x + 160, y + 300), (x + 240, y + 440), (x - 240, y + 440)], fill=metal)
    _disc(pen, x, y, 450, metal)
    _disc(pen, x, y, 405, plate)
    for turn in range(6):
        angle = turn * pi / 3 + 0.3
        _disc(pen, x + 428 * cos(angle), y + 428 * sin(angle), 20, (180, 160, 96) if old else (224, 190, 96))
    points = []
    for turn in range(10):
        r = 190 if turn % 2 == 0 else 92
        points.append((x + 60 + r * cos(turn * pi / 5 - 0.4), y + r * sin(turn * pi / 5 - 0.4)))
    pen.polygon(points, fill=metal, outline=(40, 36, 32), width=6)
    pen.line((x + 60, y, x + 620, y - 330), fill=(40, 36, 32), width=76)
    pen.line((x + 60, y, x + 620, y - 330), fill=metal, width=62)
    _disc(pen, x + 60, y, 66, (180, 160, 96) if old else (224, 190, 96))
    _disc(pen, x + 640, y - 342, 105, (92, 62, 40) if old else (132, 74, 42))
    _disc(pen, x + 640, y - 342, 26, metal)
    pen.rounded_rectangle((x - 300, y - 330, x - 180, y - 210), 24, fill=metal, outline=(40, 36, 32), width=6)


def _fixed_spool(pen: ImageDraw.ImageDraw, *, old: bool) -> None:
    x, y = 940.0, 760.0
    body: Colour = (70, 78, 76) if old else (46, 62, 66)
    metal: Colour = (158, 152, 134) if old else (216, 218, 220)
    brass: Colour = (172, 150, 88) if old else (222, 188, 96)
    line: Colour = (150, 158, 120) if old else (196, 210, 170)
    pen.rounded_rectangle((x - 200, y - 640, x + 260, y - 590), 18, fill=body, outline=(40, 36, 32), width=6)
    pen.polygon([(x - 10, y - 590), (x + 90, y - 590), (x + 110, y - 180), (x - 40, y - 180)], fill=body)
    _disc(pen, x + 60, y, 300, body)
    pen.rounded_rectangle((x - 420, y - 190, x - 160, y + 190), 40, fill=body, outline=(40, 36, 32), width=6)
    pen.rounded_rectangle((x - 690, y - 230, x - 620, y + 230), 24, fill=metal, outline=(40, 36, 32), width=6)
    pen.rectangle((x - 620, y - 180, x - 470, y + 180), fill=line, outline=(40, 36, 32), width=6)
    pen.rounded_rectangle((x - 470, y - 230, x - 400, y + 230), 24, fill=metal, outline=(40, 36, 32), width=6)
    pen.rounded_rectangle((x - 780, y - 110, x - 690, y + 110), 20, fill=brass, outline=(40, 36, 32), width=6)
    pen.arc((x - 640, y - 330, x - 120, y + 330), 160, 270, fill=metal, width=22)
    pen.line((x + 60, y, x + 60, y + 430), fill=metal, width=60)
    pen.rounded_rectangle((x - 40, y + 400, x + 160, y + 520), 50, fill=(60, 44, 36), outline=(40, 36, 32), width=6)
    _disc(pen, x + 60, y, 80, metal)


def _washers(pen: ImageDraw.ImageDraw) -> None:
    sorts: tuple[Colour, ...] = (
        (190, 190, 188),
        (54, 48, 42),
        (200, 200, 198),
        (58, 50, 42),
        (186, 186, 184),
        (60, 50, 44),
    )
    for number, colour in enumerate(sorts):
        x, y = 200 + number * 305, 640 + (number % 2) * 40
        _disc(pen, x, y, 140, colour)
        _disc(pen, x, y, 62, (206, 196, 176))


def _stains(image: Image.Image, rng: Random) -> None:
    """Salt bloom and verdigris over what is there."""
    marks = Image.new("L", image.size, 0)
    pen = ImageDraw.Draw(marks)
    for _ in range(160):
        x, y, r = rng.uniform(350, 1500), rng.uniform(200, 1250), rng.uniform(6, 46)
        pen.ellipse((x - r, y - r, x + r, y + r * 0.8), fill=rng.randrange(40, 150))
    marks = marks.filter(ImageFilter.GaussianBlur(9))
    green = Image.new("RGB", image.size, rng.choice(((118, 150, 118), (168, 176, 158), (146, 112, 74))))
    image.paste(green, (0, 0), marks)
