"""Films of a spool running down from another hand than tests/core/spin/films.py: drawn, lit, held and packed otherwise.

The flange is drawn by lines and polygons and laid into the picture by a perspective; its posts stand before it. A frame
is put together of short looks, row by row. Noise is that of light, with rows of their own, then sharpened and curved as
phones do; the hand breathes, sways and bumps; frames are dropped; files are held to a rate or coded as MPEG-4 part 2.
The law has an oil whose power is not known. All values are invented.
"""

import io
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import av
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter
from scipy import ndimage

from levelwind.core.fitting import FloatArray

WIDTH, HEIGHT, SHRINK = 320, 240, 2
TEXTURE = 400
LOOKS = 5
"""Short looks from the first row's opening to the last one's closing."""
STEPS = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """A film as it is handed to the analysis, and what is true of it.

    Times are those at which the middle of the picture is exposed.
    """

    frames: NDArray[np.uint8]
    t_s: FloatArray
    at_s: FloatArray
    turns: FloatArray
    rev_s: FloatArray
    """Turns and speed at each of ``at_s``, from the end of the flick to rest."""
    shares: tuple[float, float, float]
    frames_per_s: float
    faint: float
    """Grey levels between the mark and the flange."""

    @property
    def first_s(self) -> float:
        return float(self.at_s[0])

    @property
    def stop_s(self) -> float:
        return float(self.at_s[-1])


def shoot(dice: np.random.Generator) -> Shot:
    start = float(dice.uniform(6, 40))
    at, turns, speeds, shares = run_down(dice, start)
    rate = float(dice.choice([30.0, 60.0, 120.0], p=[0.45, 0.45, 0.1]))
    before = float(dice.uniform(0.5, 1.2))
    t = np.arange(0.0, before + at[-1] + dice.uniform(0.5, 1.2), 1 / rate)
    t = t[(dice.random(len(t)) > dice.choice([0.0, 0.02])) | (t < 0.2)]  # a phone that is busy drops some
    exposure, readout = min(10 ** dice.uniform(-3.2, -2.0), 0.7 / rate), dice.uniform(0.003, min(0.02, 0.8 / rate))
    flick = np.linspace(before - 0.15, before, 30, endpoint=False)
    when = np.concatenate([[-1.0], flick, before + at])
    angle = np.concatenate([[0.0], start * (flick - flick[0]) ** 2 / 0.3, start * 0.075 + turns])
    full, contrast = _Scene(dice).film(t, exposure, readout, lambda s: np.interp(s, when, angle), before)
    decoded = _packed(dice, full, t, rate)
    small = decoded.reshape(len(decoded), HEIGHT // SHRINK, SHRINK, WIDTH // SHRINK, SHRINK).mean((2, 4))
    late = readout / 2 + exposure / 2
    return Shot(np.rint(small).astype(np.uint8), t, at + before - late, turns, speeds, shares, rate, contrast)


def run_down(
    dice: np.random.Generator, start: float
) -> tuple[FloatArray, FloatArray, FloatArray, tuple[float, float, float]]:
    """Times, turns and speeds from the flick to rest in 4 to 9 s, summed over speed; and who took the energy."""
    power, parts = dice.uniform(0.55, 1.0), dice.dirichlet([1.5, 1.5, 1.0])
    f = start * np.linspace(1, 0, STEPS) ** 2
    rise = 1 + dice.choice([0.0, dice.uniform(0.1, 0.8)]) * np.exp(-((f / dice.uniform(0.3, 1.2)) ** 2))
    terms = np.stack([max(parts[0], 0.05) * rise, parts[1] * (f / start) ** power, parts[2] * (f / start) ** 2])
    loss, fall = terms.sum(0), -np.diff(f)
    middle = (loss[1:] + loss[:-1]) / 2
    times = np.concatenate([[0.0], np.cumsum(fall / middle)])
    scale = dice.uniform(4, 9) / times[-1]
    turns = np.concatenate([[0.0], np.cumsum(fall / middle * (f[1:] + f[:-1]) / 2)]) * scale
    energy = -np.trapezoid(terms * f / loss, f, axis=1)
    dry, oil, air = (energy / energy.sum()).tolist()
    return times * scale, turns, f, (dry, oil, air)


class _Scene:
    """A reel on a bench, and a phone held before it."""

    def __init__(self, dice: np.random.Generator) -> None:
        self.dice = dice
        self.flange, self.contrast = self._flange()
        self.bench, self.round = self._bench(), _round()
        self.middle = np.array([dice.uniform(140, 180), dice.uniform(105, 135)])
        self.radius = dice.uniform(60, 92)
        self.lean, self.tilt = dice.uniform(0, 2 * np.pi), dice.uniform(0.0, 0.6)
        self.posts = dice.uniform(0, 2 * np.pi) + np.cumsum(dice.uniform(1.2, 2.6, dice.integers(2, 4)))
        self.way = dice.choice([-1, 1])

    def _flange(self) -> tuple[Image.Image, float]:
        """Brushed metal with a rim, and a strip, a dot, two pen lines or a sector of paper on it."""
        dice, c = self.dice, TEXTURE / 2
        ground = int(dice.uniform(70, 170))
        contrast = float(dice.uniform(35, 100) * (1 if ground < 120 else -1))
        picture = Image.new("F", (TEXTURE, TEXTURE), ground)
        draw = ImageDraw.Draw(picture)
        for ring in range(12):
            r = c * (0.25 + 0.06 * ring)
            draw.ellipse((c - r, c - r, c + r, c + r), outline=ground + float(dice.normal(0, 6)), width=2)
        for _ in range(60):  # scratches
            a, r = dice.uniform(0, 2 * np.pi), c * dice.uniform(0.3, 0.95)
            x, y = c + r * np.cos(a), c + r * np.sin(a)
            draw.line((x, y, x + dice.normal(0, 14), y + dice.normal(0, 14)), fill=ground + float(dice.normal(0, 8)))
        a, mark = dice.uniform(0, 360), ground + contrast
        kind = dice.choice(["strip", "dot", "pen", "sector"])
        if kind == "sector":
            draw.pieslice((12, 12, TEXTURE - 12, TEXTURE - 12), a, a + dice.uniform(14, 45), fill=mark)
        elif kind == "dot":
            x, y, r = c + 0.68 * c * np.cos(a), c + 0.68 * c * np.sin(a), c * dice.uniform(0.09, 0.16)
            draw.ellipse((x - r, y - r, x + r, y + r), fill=mark)
        else:
            for turn in (0.0, dice.uniform(1.8, 2.6)) if kind == "pen" else (0.0,):
                x, y = np.cos(a + turn), np.sin(a + turn)
                ends = (c + 0.35 * c * x, c + 0.35 * c * y, c + 0.93 * c * x, c + 0.93 * c * y)
                draw.line(ends, fill=mark, width=int(dice.uniform(9, 14) if kind == "pen" else dice.uniform(20, 44)))
        draw.ellipse((0.8 * c, 0.8 * c, 1.2 * c, 1.2 * c), fill=40)
        return picture, abs(contrast)

    def _bench(self) -> Image.Image:
        """A table of boards with things on it."""
        dice = self.dice
        picture = Image.new("F", (WIDTH + 80, HEIGHT + 80), 120)
        draw = ImageDraw.Draw(picture)
        for board in range(0, WIDTH + 80, 37):
            draw.rectangle((board, 0, board + 36, HEIGHT + 80), fill=float(dice.uniform(85, 150)))
        for _ in range(10):
            corners = dice.uniform((0, 0), (WIDTH + 80, HEIGHT + 80)) + dice.normal(0, 25, (4, 2))
            draw.polygon([tuple(corner) for corner in corners.tolist()], fill=float(dice.uniform(30, 220)))
        return picture.convert("L").filter(ImageFilter.GaussianBlur(1.2)).convert("F")

    def film(
        self,
        t: FloatArray,
        exposure: float,
        readout: float,
        angle_at: Callable[[FloatArray], FloatArray],
        flicked: float,
    ) -> tuple[NDArray[np.uint8], float]:
        dice, rows = self.dice, np.arange(HEIGHT)
        hunts = 1 + np.cumsum(np.where(dice.random(len(t)) < 0.01, dice.normal(0, 0.03, len(t)), 0.0))
        pattern, phase = dice.normal(0, dice.uniform(0, 1.0), HEIGHT)[:, None], dice.uniform(0, 1)
        lamp_hz, depth, grain = dice.choice([100.0, 120.0]), dice.choice([0.0, 0.08, 0.2]), dice.uniform(0.1, 0.45)
        sway, opens = self._sway(t), readout * rows / HEIGHT + exposure / 2
        looks = (np.arange(LOOKS) + 0.5) / LOOKS * (readout + exposure)
        apart = np.abs(looks[:, None] - opens)
        weight = apart <= np.maximum(exposure / 2, apart.min(axis=0))
        weight = weight / weight.sum(axis=0)
        frames = []
        for number, opened in enumerate(t.tolist()):
            drawn = self._looks(angle_at(opened + looks), sway[number])
            light = np.einsum("krc,kr->rc", drawn, weight)
            lit = ((opened + opens) * lamp_hz + phase) % 1 < 0.5  # a lamp that is switched
            light *= (hunts[number] * (1 - depth * np.sinc(lamp_hz * exposure) * lit))[:, None]
            self._finger(light, opened - flicked)
            light += grain * np.sqrt(np.maximum(light, 1)) * dice.standard_normal(light.shape) + pattern
            frames.append(_finished(light))
        return np.stack(frames), self.contrast

    def _sway(self, t: FloatArray) -> FloatArray:
        """Across, down (pixels) and nearness, over time: breath, pulse, tremor, and now and then a bump."""
        dice = self.dice
        size = dice.uniform(0.2, 2.5)
        moved = []
        for _ in range(2):
            slow = size * np.sin(2 * np.pi * (dice.uniform(0.2, 0.4) * t + dice.uniform()))
            pulse = 0.15 * size * np.sin(2 * np.pi * dice.uniform(1.0, 1.6) * t) ** 3
            tremor = 0.06 * size * np.sin(2 * np.pi * dice.uniform(7, 11) * t + dice.uniform(0, 6))
            since = t - dice.uniform(0, t[-1])
            bump = dice.choice([0.0, size]) * np.where(since > 0, np.exp(-since / 0.15) * np.sin(25 * since), 0.0)
            moved.append(slow + pulse + tremor + bump)
        return np.column_stack([*moved, 1 + 0.004 * np.sin(2 * np.pi * 0.3 * t)])

    def _looks(self, turns: FloatArray, sway: FloatArray) -> FloatArray:
        """Short looks, one for each of ``turns``: the bench, the spool in perspective, the posts before it."""
        across, down, near = sway.tolist()
        moved = (1, 0, 40 + across, 0, 1, 40 + down)
        bench = self.bench.transform((WIDTH, HEIGHT), Image.Transform.AFFINE, moved, Image.Resampling.BILINEAR)
        x0, y0 = self.middle - (across, down)
        r = self.radius * near
        left, top, side = int(x0 - r * 1.1), int(y0 - r * 1.1), int(r * 2.2) + 2

        def laid(face: Image.Image, turned: float) -> Image.Image:
            seen = self._seen(turned, x0 - left, y0 - top, r)
            return face.transform((side, side), Image.Transform.PERSPECTIVE, seen, Image.Resampling.BILINEAR)

        mask = laid(self.round, 0.0).convert("L")
        looks = []
        for turned in turns.tolist():
            picture = bench.copy()
            picture.paste(laid(self.flange, turned), (left, top), mask)
            draw = ImageDraw.Draw(picture)
            for post in self.posts:
                x, y = x0 + 1.02 * r * np.cos(post), y0 + 1.02 * r * np.sin(post)
                draw.ellipse((x - 9, y - 9, x + 9, y + 9), fill=95)
            looks.append(np.asarray(picture, dtype=np.float64))
        return np.stack(looks)

    def _seen(self, turns: float, x0: float, y0: float, r: float) -> tuple[float, ...]:
        """Coefficients that take a pixel to the flange's own picture: lean, tilt with a near and a far edge, turn."""
        c, s = np.cos(self.lean), np.sin(self.lean)
        into = np.array([[c, s, -c * x0 - s * y0], [-s, c, s * x0 - c * y0], [0, 0, 1]])
        away = np.diag([1 / r, 1 / (r * np.cos(self.tilt)), 1.0])
        far = np.array([[1, 0, 0], [0, 1, 0], [0, 0.12 * np.sin(self.tilt), 1]])
        a = 2 * np.pi * self.way * turns
        turn = np.array([[np.cos(a), np.sin(a), 0], [-np.sin(a), np.cos(a), 0], [0, 0, 1]])
        onto = np.array([[TEXTURE / 2, 0, TEXTURE / 2], [0, TEXTURE / 2, TEXTURE / 2], [0, 0, 1]])
        whole = onto @ turn @ far @ away @ into
        return tuple((whole / whole[2, 2]).ravel()[:8].tolist())

    def _finger(self, light: FloatArray, since: float) -> None:
        """It comes, flicks and goes."""
        if not -0.4 < since < 0.15:
            return
        reach = int(80 * (1 - abs(since + 0.1) / 0.35))
        if reach > 0:
            light[HEIGHT - reach - 20 :, 150:185] = 170


def _finished(light: FloatArray) -> NDArray[np.uint8]:
    """Sharpened and curved as a phone does it."""
    soft = ndimage.uniform_filter(light, 3)
    sharp = np.clip(light + 0.5 * (light - soft), 0, 255) / 255
    return np.asarray(np.rint(255 * (sharp**0.85 * 0.7 + 0.3 * (3 * sharp**2 - 2 * sharp**3))), dtype=np.uint8)


def _round() -> Image.Image:
    mask = Image.new("F", (TEXTURE, TEXTURE), 0)
    ImageDraw.Draw(mask).ellipse((2, 2, TEXTURE - 2, TEXTURE - 2), fill=255)
    return mask


def _packed(dice: np.random.Generator, full: NDArray[np.uint8], t_s: FloatArray, rate: float) -> NDArray[np.uint8]:
    """Through a file and back: H.264 held to a rate with frames that look both ways, or MPEG-4 part 2."""
    codec = str(dice.choice(["libx264", "mpeg4"], p=[0.7, 0.3]))
    buffer, base = io.BytesIO(), Fraction(1, 1000)
    with av.open(buffer, "w", format="matroska") as out:
        stream = out.add_stream(codec, rate=round(rate))
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        stream.bit_rate = int(dice.uniform(0.5, 1.5) * 1e6 * (rate / 60) ** 0.7)
        stream.gop_size = int(dice.choice([30, 90, 250]))
        stream.time_base = stream.codec_context.time_base = base
        stream.options = {"preset": "medium", "bf": "3"} if codec == "libx264" else {}
        for luma, when in zip(full, t_s, strict=True):
            planes = np.concatenate([luma, np.full((HEIGHT // 2, WIDTH), 128, np.uint8)])
            frame = av.VideoFrame.from_ndarray(planes, format="yuv420p")
            frame.pts, frame.time_base = round(when * 1000), base
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    with av.open(io.BytesIO(buffer.getvalue())) as container:
        read = [
            np.frombuffer(f.planes[0], np.uint8).reshape(f.height, f.planes[0].line_size)[:, : f.width].copy()
            for f in container.decode(video=0)
        ]
    assert len(read) == len(full)
    return np.stack(read)
