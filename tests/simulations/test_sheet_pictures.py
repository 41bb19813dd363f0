"""Pictures of the measuring sheet that were drawn ray by ray: what is told of them, and which are refused.

The reader was set on other seeds (100 to 115, and a fault shown by 500 to 523 mended); these were counted once, after
that.
"""

import io
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from PIL import Image, ImageFilter

from levelwind.core.errors import InputError
from levelwind.core.fits.sheet_sizes import Measured, Said, SaidOfPiece, measure
from levelwind.recordings.sheet_photo import read_sheet
from tests.conftest import Figure
from tests.full_size import FULL, cases
from tests.simulations.sheet_pictures import CARBON, SIZES, Piece, Shot, any_shot, draw, eared, ring

SMALL = Shot(
    width_px=2000,
    height_px=1500,
    tilt_deg=14,
    blur_px=0.6,
    fill=0.96,
    pieces=(
        ring(90, 90, 28.5, 9.5, 1.2),
        ring(140, 90, 22, 12, 2.0, CARBON),
        eared(90, 150, 20, 26, 12, 4, 31, 4, 1.0),
    ),
)
"""One small picture, for what every run of the tests looks at."""

HELD_OUT = range(600, 612)
WRONG_MM = 0.5


@dataclass(frozen=True)
class Told:
    """One size: how far off, whether its interval holds the truth, and whether a caution stands by the piece."""

    what: str
    off_mm: float
    held: bool
    warned: bool


@cache
def _picture() -> bytes:
    return draw(SMALL)


def _said(shot: Shot, found_at: dict[int, Piece], rng: np.random.Generator) -> Said:
    """The lines and the thicknesses as a caliper reads them."""
    pieces = {n: SaidOfPiece(round(piece.height_mm + rng.normal(0, 0.012), 2)) for n, piece in found_at.items()}
    return Said(100 * shot.printed[0] + rng.normal(0, 0.04), 100 * shot.printed[1] + rng.normal(0, 0.04), pieces)


def _told(shot: Shot, jpeg: bytes, seed: int) -> tuple[list[Told], int]:
    """Every size that was told, and how many were not."""
    seen = read_sheet(jpeg, name="sheet.jpg").seen
    assert seen.paper == shot.paper
    middle, rng, found_at = np.array(SIZES[shot.paper]) / 2, np.random.default_rng(seed), {}
    for n, piece in enumerate(seen.pieces, start=1):
        at = (np.mean(piece.outer.points, axis=0) - middle) * shot.printed[0] + middle
        nearest = min(shot.pieces, key=lambda each: np.hypot(each.x_mm - at[0], each.y_mm - at[1]))
        if np.hypot(nearest.x_mm - at[0], nearest.y_mm - at[1]) < 8:
            found_at[n] = nearest
    assert len(found_at) == len(shot.pieces) == len(seen.pieces)
    told, lacking = [], 0
    for piece in measure(seen, _said(shot, found_at, rng)):
        for what, truth in found_at[piece.number].truth.items():
            size = _size(piece, what)
            lacking += size is None
            if size is not None:
                told.append(Told(what, size.value - truth, size.low <= truth <= size.high, bool(piece.cautions)))
    return told, lacking


def _size(piece: Measured, what: str):  # type: ignore[no-untyped-def]
    return piece.size(what)


@pytest.mark.sampled
def test_diameters_on_pictures_whose_truth_is_known(figure: Figure) -> None:
    shots = cases([(0, SMALL)], [(seed, any_shot(seed)) for seed in HELD_OUT])
    answers = [_told(shot, _picture() if shot is SMALL else draw(shot), seed) for seed, shot in shots]
    told = [each for some, _ in answers for each in some]
    diameters = [each for each in told if each.what in ("outer diameter", "inner diameter")]
    near = np.mean([abs(each.off_mm) <= 0.1 for each in diameters])
    held = np.mean([each.held for each in diameters])
    figure("diameters within 0.1 mm", len(diameters), f"{100 * near:.1f} %", "90 %")
    figure("their intervals hold the truth", len(diameters), f"{100 * held:.1f} %", "85 to 95 %")
    for what in sorted({each.what for each in told}):
        own = [each for each in told if each.what == what]
        most = max(abs(each.off_mm) for each in own)
        share = 100 * np.mean([each.held for each in own])
        figure(f"{what}: held; furthest off", len(own), f"{share:.1f} %; {most:.3f}")
    figure("sizes not told", len(told) + sum(n for _, n in answers), f"{sum(n for _, n in answers)}")
    silent = [each for each in told if abs(each.off_mm) > WRONG_MM and not each.warned]
    figure("wrong by more than 0.5 mm without a word", len(told), f"{len(silent)}", "0")
    assert near >= 0.9 and not silent
    assert held >= (0.85 if FULL else 0.7)


def _jpeg(image: Image.Image) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=85)
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda image: Image.new("RGB", (800, 600), "white"), "without the measuring sheet's marks"),
        (lambda image: image.crop((0, 0, 1250, 1500)), "cut off or covered: the (upper|lower) (left|right)"),
        (lambda image: image.filter(ImageFilter.GaussianBlur(2.5)), "too blurred"),
        (lambda image: image.resize((1000, 750)), "taken from too far"),
    ],
)
def test_a_picture_that_cannot_be_measured_is_refused_in_a_sentence(spoil, words: str) -> None:  # type: ignore[no-untyped-def]
    image = Image.open(io.BytesIO(_picture()))
    with pytest.raises(InputError, match=words):
        read_sheet(_jpeg(spoil(image)), name="sheet.jpg")


def test_the_paper_itself_is_seen_and_the_lens_found() -> None:
    seen = read_sheet(_picture(), name="sheet.jpg").seen
    assert (seen.printed.across_mm, seen.printed.down_mm) == pytest.approx((210, 297), abs=0.3)
    assert seen.tilt_deg == pytest.approx(14, abs=0.5)
    assert seen.blur_mm < 0.3
