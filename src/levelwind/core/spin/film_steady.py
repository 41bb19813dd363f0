"""A film held still: the lamp's bands taken out row by row, then the shake of the hand.

The lamp comes first: a lamp at mains frequency dims some rows of a frame and brightens others, and a shift estimated
through that would follow the bands. Frames are luma, shape (n, h, w); shifts and rolls are those of the picture against
one still picture of the scene.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

FloatArray = NDArray[np.float64]
Picture = NDArray[np.float32]
Frames = NDArray[np.uint8]

CHUNK = 12
"""Frames taken together: few enough that what is reckoned with them stays in the processor's cache."""
BAND_ROWS = 2.0
"""Half-width over which neighbouring rows share a gain; a band of a lamp is some 40 rows and more."""
CLIP = 20.0
"""Grey levels beyond which a difference is something that moved, and says no more about the shake."""
POINTS = 3500
FEWER = 1500
"""Points until the last step, which alone must be exact."""
LEAST_RESTING = 0.15
"""Of a row's points; with fewer its gain is taken from all of them."""


@dataclass(frozen=True, slots=True, eq=False)
class Steady:
    """Where each frame's picture sits and how bright its rows are."""

    still: Picture
    """The scene as it stands, shape (h, w); what turns is smeared in it."""
    x: FloatArray
    y: FloatArray
    """Shift of each frame in pixels, shape (n,)."""
    roll: FloatArray
    """Turn of each frame about the middle of the picture in radians, from columns towards rows, shape (n,)."""
    gain: Picture
    """Of each row of each frame, shape (n, h)."""

    def sampled(self, frames: Frames, rows: FloatArray, columns: FloatArray, which: NDArray[np.intp]) -> Picture:
        """Brightness of the ``which`` frames at points of the still scene, gain taken out, shape (which, points)."""
        pictures = _corrected(frames, self.gain, which)
        return _between_pixels(pictures, rows, columns, self.x[which], self.y[which], self.roll[which])


def _corrected(frames: Frames, gain: Picture, which: NDArray[np.intp]) -> Picture:
    return np.asarray(frames[which] / gain[which, :, None], dtype=np.float32)


def _between_pixels(
    pictures: Picture, rows: FloatArray, columns: FloatArray, x: FloatArray, y: FloatArray, roll: FloatArray
) -> Picture:
    """Brightness at points of the still scene, in pictures shifted and rolled against it, by their four neighbours."""
    n, h, w = pictures.shape
    aside, under, lean = (each.astype(np.float32)[:, None] for each in (x, y, roll))
    row, column = rows.astype(np.float32), columns.astype(np.float32)
    across = column + aside - lean * (row - np.float32((h - 1) / 2))
    down = row + under + lean * (column - np.float32((w - 1) / 2))
    np.clip(across, 0, w - 1.001, out=across)
    np.clip(down, 0, h - 1.001, out=down)
    left, at = across.astype(np.int32), down.astype(np.int32)
    across -= left
    down -= at
    at = at * np.int32(w) + left + (np.arange(n, dtype=np.int32) * np.int32(h * w))[:, None]
    flat = pictures.reshape(-1)
    near, right, below, beyond = (flat.take(at + step, mode="clip") for step in (0, 1, w, w + 1))
    right -= near
    right *= across
    near += right
    beyond -= below
    beyond *= across
    below += beyond
    below -= near
    below *= down
    near += below
    return np.asarray(near)


def chunks(n: int, size: int = CHUNK) -> Iterator[NDArray[np.intp]]:
    for start in range(0, n, size):
        yield np.arange(start, min(start + size, n))


def steady(frames: Frames) -> Steady:
    """Estimate gain, shift and roll of every frame; once roughly, then with what moves left out."""
    n, h, w = frames.shape
    some = frames[np.unique(np.linspace(0, n - 1, 31).astype(int))].astype(np.float32)
    still: Picture = np.median(some, axis=0).astype(np.float32)
    everything = np.ones((h, w), dtype=bool)
    held = Steady(still, np.zeros(n), np.zeros(n), np.zeros(n), _rough_gain(frames, still))
    held = _roughly(frames, held)
    held = _finely(frames, held, everything, FEWER, rounds=2, rolling=False)
    resting = ~moving(frames, held, few=40)
    held = replace(held, still=_still(frames, held))
    held = replace(held, gain=_row_gain(frames, held.still, resting))
    held = _finely(frames, held, resting, FEWER, rounds=2, rolling=True)
    return _finely(frames, held, resting, POINTS, rounds=1, rolling=True)


def moving(frames: Frames, held: Steady, few: int) -> NDArray[np.bool_]:
    """Where the steadied picture changes much more than most of it does."""
    level = motion_map(frames, held, few)
    usual, spread = usual_level(level)
    return np.asarray(ndimage.binary_dilation(level > usual + 6 * spread, iterations=2))


def usual_level(level: Picture) -> tuple[float, float]:
    """What rests, even where a spool fills two thirds of the picture: the lower quartile, and about one deviation."""
    least, usual = (float(q) for q in np.quantile(level, [0.05, 0.25]))
    return usual, usual - least + 0.05 * usual


def motion_map(frames: Frames, held: Steady, few: int) -> Picture:
    """Mean clipped change between neighbouring frames at each point, for ``few`` pairs spread over the film."""
    n, h, w = frames.shape
    rows, columns = (a.ravel().astype(np.float64) for a in np.mgrid[0:h, 0:w])
    firsts = np.unique(np.linspace(0, n - 2, few).astype(np.intp))
    total = np.zeros(h * w, dtype=np.float32)
    for part in chunks(len(firsts), 16):
        before = held.sampled(frames, rows, columns, firsts[part])
        after = held.sampled(frames, rows, columns, firsts[part] + 1)
        total += np.minimum(np.abs(after - before), CLIP).sum(0)
    return np.asarray(ndimage.gaussian_filter(total.reshape(h, w) / len(firsts), 1.0))


def _still(frames: Frames, held: Steady) -> Picture:
    n, h, w = frames.shape
    rows, columns = (a.ravel().astype(np.float64) for a in np.mgrid[0:h, 0:w])
    which = np.unique(np.linspace(0, n - 1, 41).astype(np.intp))
    return np.asarray(np.median(held.sampled(frames, rows, columns, which), axis=0).reshape(h, w), dtype=np.float32)


def _rough_gain(frames: Frames, still: Picture) -> Picture:
    """Of each row against the still scene: the median over its points, which a mark passing by cannot move."""
    below = np.maximum(still[:, ::3], 8.0)
    gain = np.concatenate([np.median(frames[p[0] : p[-1] + 1, :, ::3] / below, axis=2) for p in chunks(len(frames))])
    shared = ndimage.gaussian_filter1d(gain, BAND_ROWS, axis=1, mode="nearest")
    return np.asarray(np.clip(shared, 0.2, 5.0), dtype=np.float32)


def _row_gain(frames: Frames, still: Picture, counted: NDArray[np.bool_]) -> Picture:
    """The same from the points that rest, where a row has enough of them; shape (n, h)."""
    alone = counted.mean(1) < LEAST_RESTING
    weight = (counted | alone[:, None]).astype(np.float32)
    have = ndimage.gaussian_filter1d((still * weight).sum(1), BAND_ROWS, mode="nearest")
    gain = np.empty(frames.shape[:2], dtype=np.float32)
    for part in chunks(len(frames)):
        seen = np.einsum("nhw,hw->nh", frames[part[0] : part[-1] + 1].astype(np.float32), weight)
        gain[part] = ndimage.gaussian_filter1d(seen, BAND_ROWS, axis=1, mode="nearest") / have
    return np.clip(gain, 0.2, 5.0)


def _roughly(frames: Frames, held: Steady) -> Steady:
    """To about a pixel, by cross-correlation of half-size pictures without their slow shading."""
    n, h, w = frames.shape
    h2, w2 = h // 2 * 2, w // 2 * 2

    def small(pictures: Picture) -> Picture:
        quarters = (pictures[:, i:h2:2, j:w2:2] for i in (0, 1) for j in (0, 1))
        halved = sum(quarters, start=np.float32(0)) / np.float32(4)
        return np.asarray(halved - ndimage.uniform_filter(halved, (0, 15, 15)))

    window = np.outer(np.hanning(h2 // 2), np.hanning(w2 // 2)).astype(np.float32)
    target = np.conj(fft.rfft2(small(held.still[None])[0] * window))
    x, y = np.empty(n), np.empty(n)
    for part in chunks(n):
        frame = np.asarray(frames[part[0] : part[-1] + 1] / held.gain[part][:, :, None], dtype=np.float32)
        alike = fft.irfft2(fft.rfft2(small(frame) * window) * target, s=window.shape)
        best = alike.reshape(len(part), -1).argmax(1)
        down, across = np.divmod(best, window.shape[1])
        y[part] = 2.0 * np.where(down > window.shape[0] // 2, down - window.shape[0], down)
        x[part] = 2.0 * np.where(across > window.shape[1] // 2, across - window.shape[1], across)
    far = np.hypot(x - ndimage.median_filter(x, 9), y - ndimage.median_filter(y, 9)) > 6
    x[far], y[far] = ndimage.median_filter(x, 9)[far], ndimage.median_filter(y, 9)[far]
    return replace(held, x=x, y=y)


def _finely(
    frames: Frames, held: Steady, counted: NDArray[np.bool_], few: int, *, rounds: int, rolling: bool
) -> Steady:
    """Gauss and Newton's steps on shift and roll, at the ``few`` points where the scene is steepest and rests."""
    h, w = held.still.shape
    blurred = ndimage.gaussian_filter(held.still, 0.7)
    steep_y, steep_x = (g.astype(np.float64) for g in np.gradient(blurred))
    edge = max(4, h // 20)
    inner = np.zeros((h, w), dtype=bool)
    inner[edge:-edge, edge:-edge] = True
    worth = np.where(counted & inner, np.hypot(steep_x, steep_y), -1.0)
    points = np.sort(np.argsort(worth.ravel())[-min(few, int((worth >= 0).sum())) :])
    gx, gy = steep_x.ravel()[points], steep_y.ravel()[points]
    rows, columns = (a.astype(np.float64) for a in np.divmod(points, w))
    turn = gy * (columns - (w - 1) / 2) - gx * (rows - (h - 1) / 2)
    slopes = np.stack([gx, gy, turn * rolling], axis=1)
    # noise of a grey level or two cannot say more than this of a picture without edges
    firm = slopes.T @ slopes + np.diag([30.0, 30.0, 30.0 * h * h])
    step = np.linalg.solve(firm, slopes.T).T.astype(np.float32)
    target = held.still.ravel()[points]
    at = np.stack([held.x, held.y, held.roll], axis=1)
    for part in chunks(len(frames)):
        pictures = _corrected(frames, held.gain, part)
        for _ in range(rounds):
            off = _between_pixels(pictures, rows, columns, *at[part].T) - target
            off -= np.median(off[:, ::4], axis=1, keepdims=True)
            at[part] -= np.clip(off, -CLIP, CLIP) @ step
    return replace(held, x=at[:, 0], y=at[:, 1], roll=at[:, 2])
