"""Steadying and finding the disc, against shifts and ellipses known beforehand."""

import numpy as np
import pytest
from scipy import ndimage

from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin import film_phase
from levelwind.core.spin.film_disc import Disc, find_disc
from levelwind.core.spin.film_steady import steady

RNG = np.random.default_rng(8)
SCENE = 110 + 40 * ndimage.gaussian_filter(RNG.standard_normal((180, 220)), 3) * 8


def shaken(x: np.ndarray, y: np.ndarray, gain: np.ndarray | None = None) -> np.ndarray:
    """A picture moved by known amounts (cubic splines, not the linear ones of the analysis), each row by its gain."""
    frames = []
    for k, (dx, dy) in enumerate(zip(x, y, strict=True)):
        seen = ndimage.shift(SCENE, (dy, dx), order=3, mode="nearest")[30:150, 30:190]
        rows = 1.0 if gain is None else gain[k][:, None]
        frames.append(np.clip(np.rint(seen * rows + RNG.normal(0, 1.5, seen.shape)), 0, 255).astype(np.uint8))
    return np.stack(frames)


def walk(n: int, size: float) -> np.ndarray:
    return np.asarray(size * np.sin(np.arange(n) * 0.23 + RNG.uniform(0, 6)) + 0.3 * size * np.sin(np.arange(n) * 0.9))


@pytest.mark.parametrize("size", [0.4, 2.0, 6.0])
def test_shifts_are_found_to_a_tenth_of_a_pixel(size: float) -> None:
    x, y = walk(60, size), walk(60, size)
    held = steady(shaken(x, y))
    for found, true in ((held.x, x), (held.y, y)):
        off = (found - found.mean()) - (true - true.mean())
        assert np.sqrt(np.mean(off**2)) < 0.1


def test_bands_of_a_lamp_are_not_taken_for_shake() -> None:
    rows, frames = np.arange(120), np.arange(60)
    gain = 1 + 0.25 * np.cos(2 * np.pi * (rows / 50 + frames[:, None] * 0.37))
    held = steady(shaken(np.zeros(60), np.zeros(60), gain))
    assert np.std(held.y) < 0.05
    inner = np.s_[:, 5:-5]  # at the rim a row has neighbours on one side only
    assert (held.gain / held.gain.mean(0))[inner] == pytest.approx((gain / gain.mean(0))[inner], abs=0.02)


def turning(x: float, y: float, long: float, short: float, lean: float) -> np.ndarray:
    """A bright sector on an ellipse's outer half, a third of a turn further each frame."""
    rows, columns = np.mgrid[0:120, 0:160]
    u = np.cos(lean) * (columns - x) + np.sin(lean) * (rows - y)
    v = np.cos(lean) * (rows - y) - np.sin(lean) * (columns - x)
    away, angle = np.hypot(u / long, v / short), np.arctan2(v / short, u / long) / (2 * np.pi)
    frames = []
    for k in range(80):
        mark = (np.abs((angle - 0.381 * k + 0.5) % 1 - 0.5) < 0.05) & (away < 1) & (away > 0.5)
        frames.append(SCENE[30:150, 30:190] + 60 * mark + RNG.normal(0, 1.5, rows.shape))
    return np.clip(np.rint(frames), 0, 255).astype(np.uint8)


@pytest.mark.parametrize(
    ("x", "y", "long", "short", "lean"), [(80, 60, 40, 40, 0.0), (70, 55, 45, 30, 0.5), (95, 65, 30, 24, -0.7)]
)
def test_the_disc_is_found(x: float, y: float, long: float, short: float, lean: float) -> None:
    frames = turning(x, y, long, short, lean)
    disc = find_disc(frames, steady(frames))
    assert (disc.x, disc.y) == pytest.approx((x, y), abs=1.5)
    assert disc.long == pytest.approx(long, rel=0.15)
    assert disc.short / disc.long == pytest.approx(short / long, abs=0.08)
    if short < long:
        assert disc.lean == pytest.approx(lean, abs=0.2)
    assert disc.outside == 0


def test_a_disc_half_outside_is_known_as_such() -> None:
    frames = turning(10, 60, 45, 45, 0.0)
    assert find_disc(frames, steady(frames)).outside > 0.15


def test_a_speck_is_no_spool() -> None:
    frames = np.repeat(SCENE[None, 30:150, 30:190], 60, axis=0)
    frames[::2, 50:53, 50:53] += 60
    grey = np.clip(np.rint(frames + RNG.normal(0, 1.0, frames.shape)), 0, 255).astype(np.uint8)
    with pytest.raises(NotDeterminedError):
        find_disc(grey, steady(grey))


def test_of_many_frames_fewer_points_each_are_held(monkeypatch: pytest.MonkeyPatch) -> None:
    frames = shaken(np.zeros(40), np.zeros(40))
    held, disc = steady(frames), Disc(80.0, 60.0, 40.0, 38.0, 0.1, 0.0)
    whole = film_phase.face_of(frames, held, disc)
    monkeypatch.setattr(film_phase, "MOST_SEEN", 40 * 200)
    fewer = film_phase.face_of(frames, held, disc)
    assert 150 <= fewer.seen.shape[1] <= 200 < whole.seen.shape[1]
    assert np.isin(fewer.turn, whole.turn).all() and fewer.lively.shape == (40,)
