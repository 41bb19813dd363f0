"""Pictures of the measuring sheet with pieces on it, drawn ray by ray: what is on them is known.

The printed page itself is laid on a bench; a ray of each quarter dot meets the pieces, solids with upright sides, at
several heights from the top down, and else the paper. The lens bends the other way about (a dot's angle is worked out
from where it lies, by a tangent law), the light falls off to one side, pieces throw soft shadows, dots have noise, the
phone sharpens and saves a JPEG.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cache

import cv2
import numpy as np
import typst
from PIL import Image, ImageFilter

from levelwind.documents import measuring_sheet, press
from levelwind.documents.letters import type_case
from tests.simulations.sheet_shapes import Piece, any_pieces

PAGE_PPI = 400
ROW = 1024
LEVELS = 7
"""Heights at which a solid is looked at; its sides are upright, so that few do."""


@dataclass(frozen=True)
class Odd:
    """What the reader knows nothing of: corners that lift, a lamp's spot, a hand's shadow, gloss and bevels, and what a
    phone does to a picture before it saves it."""

    curl_mm: float = 0.0
    spot: float = 0.0
    spot_at: tuple[float, float] = (100.0, 140.0)
    hand: float = 0.0
    hand_way_deg: float = 0.0
    hand_at_mm: float = 0.0
    hand_soft_mm: float = 8.0
    gloss: float = 0.0
    bevel_mm: float = 0.0
    bevel_tone: float = 1.0
    denoise: int = 0
    halo: float = 0.0
    contrast: float = 0.0


PLAIN = Odd()


@dataclass(frozen=True)
class Shot:
    """How the picture is taken."""

    paper: str = "a4"
    width_px: int = 4032
    height_px: int = 3024
    tilt_deg: float = 10.0
    tilt_way_deg: float = 30.0
    spin_deg: float = 0.0
    fill: float = 0.93
    focal: float = 0.6
    bend: float = 0.0
    axis_off: tuple[float, float] = (0.0, 0.0)
    printed: tuple[float, float] = (1.0, 1.0)
    blur_px: float = 0.8
    noise: float = 0.008
    shade: float = 0.25
    shadow: float = 0.3
    shadow_way_deg: float = 200.0
    shadow_long: float = 0.7
    quality: int = 88
    sharpen: float = 0.4
    bench: tuple[float, float, float] = (0.22, 0.16, 0.11)
    pieces: Sequence[Piece] = field(default_factory=tuple)
    seed: int = 0
    fine: int = 2
    cut: tuple[float, float] = (0.0, 0.0)
    """Where the middle of the picture is moved off the sheet's, mm."""
    odd: Odd = PLAIN


@cache
def page(paper: str) -> np.ndarray:
    """The printed page as light, 1 for white."""
    forme = measuring_sheet.layout(paper, "Bench", date(2026, 5, 1))  # type: ignore[arg-type]
    drawn = typst.compile(press.files(forme), format="png", ppi=PAGE_PPI, font_paths=type_case())  # type: ignore[call-overload]
    image = Image.open(io.BytesIO(drawn)).convert("L")
    return np.asarray(image, np.float32) / 255 * 0.94 + 0.03


WHITE = np.array([1.0, 0.99, 0.97], np.float32)
SIZES = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}


def _camera(shot: Shot) -> tuple[np.ndarray, np.ndarray]:
    """Rotation (rows: right, down, forward of the phone, in the sheet's axes, up positive) and the lens's place."""
    wide, high = SIZES[shot.paper]
    tilt, way, spin = np.radians([shot.tilt_deg, shot.tilt_way_deg, shot.spin_deg])
    back = np.array([np.sin(tilt) * np.cos(way), np.sin(tilt) * np.sin(way), np.cos(tilt)])
    forward = -back
    # the long side of the paper lies along the long side of the picture
    base = np.array([0.0, 1.0, 0.0]) if shot.width_px > shot.height_px else np.array([1.0, 0.0, 0.0])
    base = np.array(
        [base[0] * np.cos(spin) - base[1] * np.sin(spin), base[0] * np.sin(spin) + base[1] * np.cos(spin), 0.0]
    )
    right = base - forward * (base @ forward)
    right /= np.linalg.norm(right)
    down = np.cross(forward, right) * -1
    # axes: x right, y down on the sheet, z up: a left-handed set, so the cross product is turned
    rows = np.array([right, down, forward])
    middle = np.array([wide / 2 + shot.cut[0], high / 2 + shot.cut[1], 0.0])
    focal_px = shot.focal * np.hypot(shot.width_px, shot.height_px)
    long_px = max(shot.width_px, shot.height_px)
    away = focal_px * high / (shot.fill * long_px)
    for _ in range(60):
        eye = middle + back * away
        corners = np.array([[x, y, 0.0] for x in (0, wide) for y in (0, high)]) - eye
        seen = corners @ rows.T
        flat = seen[:, :2] / seen[:, 2:] * focal_px
        over = (
            np.max(np.abs(flat - 0) / (np.array([shot.width_px, shot.height_px]) / 2))
            if not any(shot.cut)
            else shot.fill
        )
        if abs(over - shot.fill) < 1e-3:
            break
        away *= 1 + (over / shot.fill - 1) * 0.8
    return rows, middle + back * away


def _rays(shot: Shot, u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Directions of the rays of dots: by the tangent of the angle, more or less than the flat one."""
    diagonal = np.hypot(shot.width_px, shot.height_px)
    x = (u - (shot.width_px - 1) / 2 - shot.axis_off[0] * diagonal) / (shot.focal * diagonal)
    y = (v - (shot.height_px - 1) / 2 - shot.axis_off[1] * diagonal) / (shot.focal * diagonal)
    bent = np.hypot(x, y)
    law = np.tan if shot.bend > 0 else np.arctan
    stretch = law(bent * abs(shot.bend)) / np.maximum(bent * abs(shot.bend), 1e-12) if shot.bend else 1.0
    return np.stack([x * stretch, y * stretch, np.ones_like(x)], axis=-1)


def _linear_to_levels(light: np.ndarray) -> np.ndarray:
    light = np.clip(light, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def draw(shot: Shot) -> bytes:
    """The picture as a phone saves it."""
    rng = np.random.default_rng(shot.seed)
    out = np.empty((shot.height_px, shot.width_px, 3), np.float32)
    rows, eye = (each.astype(np.float32) for each in _camera(shot))
    band = 96
    subs = [(i + 0.5) / shot.fine - 0.5 for i in range(shot.fine)]
    for top in range(0, shot.height_px, band):
        high = min(band, shot.height_px - top)
        v, u = np.mgrid[top : top + high, 0 : shot.width_px].astype(np.float32)
        way = _rays(shot, u, v) @ rows
        seen = _met(shot, eye, way, bare=True)
        near = _near_a_piece(shot, eye, way)
        if near.any():
            dots = [_met(shot, eye, _rays(shot, u[near] + du, v[near] + dv) @ rows) for du in subs for dv in subs]
            seen[near] = np.mean(dots, axis=0)
        out[top : top + high] = seen
    if shot.blur_px:
        cv2.GaussianBlur(out, (0, 0), shot.blur_px, dst=out)
    dots = np.vstack([_seen_by_phone(shot, out[top : top + band], rng) for top in range(0, shot.height_px, band)])
    image = Image.fromarray(cv2.medianBlur(dots, shot.odd.denoise) if shot.odd.denoise else dots)
    if shot.odd.halo:
        image = image.filter(ImageFilter.UnsharpMask(radius=4, percent=int(100 * shot.odd.halo), threshold=1))
    if shot.sharpen:
        image = image.filter(ImageFilter.UnsharpMask(radius=1.5, percent=int(100 * shot.sharpen), threshold=2))
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=shot.quality)
    return buffer.getvalue()


def _seen_by_phone(shot: Shot, light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Its dots' levels, with their noise."""
    dice = rng.standard_normal(light.shape, dtype=np.float32)
    levels = _linear_to_levels(light + np.float32(shot.noise) * dice * np.sqrt(np.maximum(light, np.float32(0.05))))
    levels += shot.odd.contrast * (3 * levels**2 - 2 * levels**3 - levels)
    return np.asarray(np.round(levels * 255).astype(np.uint8))


def _near_a_piece(shot: Shot, eye: np.ndarray, way: np.ndarray) -> np.ndarray:
    far = -eye[2] / way[..., 2]
    x, y = eye[0] + way[..., 0] * far, eye[1] + way[..., 1] * far
    near = np.zeros(x.shape, dtype=bool)
    for piece in shot.pieces:
        spread = piece.reach_mm + piece.height_mm + 0.8
        near |= (np.abs(x - piece.x_mm) < spread) & (np.abs(y - piece.y_mm) < spread)
    return near


def _met(shot: Shot, eye: np.ndarray, way: np.ndarray, *, bare: bool = False) -> np.ndarray:
    far = -eye[2] / way[..., 2]
    x, y = eye[0] + way[..., 0] * far, eye[1] + way[..., 1] * far
    if shot.odd.curl_mm:
        for _ in range(3):
            far = (_lift(shot, x, y) - eye[2]) / way[..., 2]
            x, y = eye[0] + way[..., 0] * far, eye[1] + way[..., 1] * far
    colour = _paper(shot, x, y)
    for piece in () if bare else shot.pieces:
        spread = piece.reach_mm + piece.height_mm + 0.8
        near = (np.abs(x - piece.x_mm) < spread) & (np.abs(y - piece.y_mm) < spread)
        if not near.any():
            continue
        part = _light_of(shot, piece, eye, way[near])
        mask, value = part
        where = np.flatnonzero(near.ravel())[mask]
        colour.reshape(-1, 3)[where] = value[mask]
    wide, high = SIZES[shot.paper]
    slope = np.cos(np.radians(shot.shadow_way_deg)) * (x / wide - 0.5) + np.sin(np.radians(shot.shadow_way_deg)) * (
        y / high - 0.5
    )
    return np.asarray(colour * (_lamp(shot.odd, x, y) * (0.85 - shot.shade * np.clip(slope, -1, 1)))[..., None])


def _lift(shot: Shot, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """How high the paper stands off the bench: its corners, and a little of its sides."""
    wide, high = SIZES[shot.paper]
    across, down = np.clip(2 * x / wide - 1, -1, 1) ** 2, np.clip(2 * y / high - 1, -1, 1) ** 2
    return np.asarray(shot.odd.curl_mm * (0.7 * across * down + 0.3 * down))


def _lamp(odd: Odd, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A spot under a lamp, and a hand or the phone between it and half of the sheet."""
    away = (x - odd.spot_at[0]) ** 2 + (y - odd.spot_at[1]) ** 2
    light = (1 + odd.spot * np.exp(-away / (2 * 60.0**2))) / (1 + odd.spot)
    if odd.hand:
        turn = np.radians(odd.hand_way_deg)
        over = x * np.cos(turn) + y * np.sin(turn) - odd.hand_at_mm
        light = light * (1 - odd.hand / (1 + np.exp(-over / odd.hand_soft_mm * 4)))
    return np.asarray(light)


def _paper(shot: Shot, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    wide, high = SIZES[shot.paper]
    texture = page(shot.paper)
    # what was printed too small or too large, about the middle of the paper
    px = ((x - wide / 2) / shot.printed[0] + wide / 2) * PAGE_PPI / 25.4 - 0.5
    py = ((y - high / 2) / shot.printed[1] + high / 2) * PAGE_PPI / 25.4 - 0.5
    grey = _looked_up(texture, px, py)
    grey = grey * (1 - _shadows(shot, x, y))
    on = (x >= 0) & (x <= wide) & (y >= 0) & (y <= high)
    return np.where(on[..., None], grey[..., None] * WHITE, np.array(shot.bench, np.float32))


def _looked_up(picture: np.ndarray, px: np.ndarray, py: np.ndarray) -> np.ndarray:
    """OpenCV takes pictures, no lists: places are laid out in rows."""
    rows = -(-px.size // ROW)
    at = np.zeros((2, rows * ROW), np.float32)
    at[0, : px.size], at[1, : px.size] = px.ravel(), py.ravel()
    across, down = at.reshape(2, rows, ROW)
    seen = cv2.remap(picture, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0.97)
    return np.asarray(seen).ravel()[: px.size].reshape(px.shape)


def _shadows(shot: Shot, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Each piece's own shape moved away from the lamp, as far as it is high, over a lamp that is wide."""
    if not shot.shadow:
        return np.zeros_like(x)
    dark = np.zeros_like(x)
    way = np.radians(shot.shadow_way_deg)
    for piece in shot.pieces:
        spread = piece.reach_mm + piece.height_mm * (shot.shadow_long + 1) + 2
        near = (np.abs(x - piece.x_mm) < spread) & (np.abs(y - piece.y_mm) < spread)
        if not near.any():
            continue
        own = np.zeros(int(near.sum()))
        for n in range(5):
            # the lamp's own width: shadows of several heights and directions laid over one another
            turn = way + (n - 2) * 0.12
            long = piece.height_mm * shot.shadow_long * (0.8, 1.1, 0.95, 0.7, 1.2)[n]
            own += _inside(piece, x[near] - long * np.cos(turn), y[near] - long * np.sin(turn))
        dark[near] = np.maximum(dark[near], shot.shadow * own / 5)
    return dark


def _inside(piece: Piece, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    turn = np.radians(piece.turn_deg)
    dx, dy = x - piece.x_mm, y - piece.y_mm
    a, b = dx * np.cos(turn) + dy * np.sin(turn), -dx * np.sin(turn) + dy * np.cos(turn)
    if piece.bar is not None:
        return np.abs(b) < piece.bar(a)
    return piece.within(a, b)


def _light_of(shot: Shot, piece: Piece, eye: np.ndarray, way: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    if piece.bar is not None:
        return _bar(piece, eye, way)
    hit = np.zeros(len(way), dtype=bool)
    value = np.zeros((len(way), 3))
    for n in range(LEVELS):
        z = piece.height_mm * (1 - n / (LEVELS - 1)) + float(_lift(shot, piece.x_mm, piece.y_mm))  # type: ignore[arg-type]
        far = (z - eye[2]) / way[:, 2]
        x, y = eye[0] + way[:, 0] * far, eye[1] + way[:, 1] * far
        here = _inside(piece, x, y) & ~hit
        tone = _face(shot.odd, piece, x[here], y[here])[:, None] if n == 0 else 0.7
        value[here] = np.array(piece.colour) * tone
        hit |= here
    return hit, value


def _face(odd: Odd, piece: Piece, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """How bright the upper face is: a streak over it where it is glossy, its rim broken where it is bevelled."""
    tone = np.ones(len(x))
    if odd.gloss:
        turn = np.radians(piece.turn_deg * 3.7 + 20)
        across = ((x - piece.x_mm) * np.cos(turn) + (y - piece.y_mm) * np.sin(turn)) / piece.reach_mm
        tone += odd.gloss * (np.exp(-((across - 0.2) ** 2) / 0.05) - 0.3 * across)
    if odd.bevel_mm:
        stretch = 1 + odd.bevel_mm / piece.reach_mm
        rim = ~_inside(piece, piece.x_mm + (x - piece.x_mm) * stretch, piece.y_mm + (y - piece.y_mm) * stretch)
        tone = np.where(rim, odd.bevel_tone, tone)
    return tone


def _bar(piece: Piece, eye: np.ndarray, way: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A turned bar lying along: the ray's nearest point to the axis, a few steps on either side."""
    axis_height = piece.lying / 2
    turn = np.radians(piece.turn_deg)
    hit = np.zeros(len(way), dtype=bool)
    value = np.zeros((len(way), 3))
    for z in np.linspace(piece.lying, 0, 25):
        far = (z - eye[2]) / way[:, 2]
        dx, dy = eye[0] + way[:, 0] * far - piece.x_mm, eye[1] + way[:, 1] * far - piece.y_mm
        a, b = dx * np.cos(turn) + dy * np.sin(turn), -dx * np.sin(turn) + dy * np.cos(turn)
        assert piece.bar is not None
        here = (np.hypot(b, z - axis_height) < piece.bar(a)) & ~hit
        value[here] = np.array(piece.colour) * (0.6 + 0.4 * z / piece.lying)
        hit |= here
    return hit, value


def any_shot(seed: int, megapixels: float = 12.2, count: int = 9) -> Shot:
    rng = np.random.default_rng(seed)
    paper = "a4" if rng.random() < 0.6 else "us-letter"
    long = round(4032 * np.sqrt(megapixels / 12.192))
    printed = (1.0, 1.0)
    if rng.random() < 0.3:
        scale = float(rng.choice([0.98, 1.02, 0.97]))
        printed = (scale, scale + rng.normal(0, 0.0007))
    return Shot(
        paper=paper,
        width_px=long,
        height_px=round(long * 0.75),
        tilt_deg=rng.uniform(0, 35),
        tilt_way_deg=rng.uniform(0, 360),
        spin_deg=rng.uniform(-12, 12),
        fill=rng.uniform(0.86, 0.96),
        focal=0.6 * np.exp(rng.normal(0, 0.08)),
        bend=rng.uniform(-0.5, 0.5),
        axis_off=(rng.normal(0, 0.003), rng.normal(0, 0.003)),
        printed=printed,
        blur_px=rng.uniform(0.6, 1.8),
        noise=rng.uniform(0.004, 0.015),
        shade=rng.uniform(0, 0.35),
        shadow=rng.uniform(0.0, 0.45),
        shadow_way_deg=rng.uniform(0, 360),
        shadow_long=rng.uniform(0.3, 0.9),
        quality=int(rng.integers(75, 96)),
        sharpen=rng.uniform(0, 0.8),
        pieces=any_pieces(paper, rng, count),
        seed=seed,
    )
