"""A film held still: the lamp's bands taken out row by row, then the shake of the hand.

The lamp comes first: a lamp on the mains dims some rows of a frame and brightens others, and a shift estimated from
such pictures would follow the bands. Frames are luma, shape (n, h, w); shifts and rolls are those of each picture
against one still picture of the scene.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from levelwind.core.fitting import FloatArray

Picture = NDArray[np.float32]
Frames = NDArray[np.uint8]

CHUNK = 12
"""Frames taken together. Our choice: so few that the arrays made from them stay in the processor's cache."""
_CHUNK_PAIRS = 16
"""Pairs of frames taken together, likewise."""
BAND_ROWS = 2.0
"""Rows; deviation of the Gaussian over which neighbouring rows share a gain. Our choice: a lamp's band is some 40 rows
and more, noise is one."""
MOST_CHANGE = 20.0
"""Grey levels; a difference beyond it is something that moved, and counts no more than this, so that it says little
about the shake. Our choice: some times the noise of a phone's film."""
POINTS, FEWER_POINTS = 3500, 1500
"""Points at which shift and roll are estimated: in the last step, which alone must be exact, and before it. Our choice:
known shifts are found to under a tenth of a pixel (docs/physics/spin-film.md)."""
LEAST_RESTING = 0.15
"""Part of a row's points that must rest for the row's gain to be taken from them; with fewer all its points count. Our
choice."""
_FIRST_STILL_FRAMES, _STILL_FRAMES = 31, 41
"""Frames, spread over the film, whose median is the still scene: at first, and once the shake is known. Our choice:
what turns is then on any one point in less than half of them."""
PAIR_S = 1 / 60
"""s; frames about so far apart are compared for what moves, whatever their rate. Our choice: from one frame to the next
at 240 a second a mark's edge moves by less than what compression hides."""
MOST_MOTION = 34.0
"""Grey levels; a larger change between two frames counts no more, so that a hand that passes once does not outweigh the
mark. Our choice, judged on made films."""
_MOTION_PAIRS = 40
"""Pairs of frames that show what moves. Our choice: enough for a mark to pass every point of its ring."""
_MOVING = 6.0
"""Deviations of the resting part above which a point moves. Our choice: hardly one point in a picture by chance."""
_MOVING_MARGIN = 2
"""Pixels by which what moves is widened, for the blur of its edge. Our choice."""
_MOTION_BLUR = 1.0
"""Pixels; deviation of the Gaussian that smooths the motion map. Our choice: noise of single pixels goes, a mark
stays."""
_RESTING_QUANTILES = (0.05, 0.25)
"""Of the motion map: their difference stands for one deviation of what rests, the second for its level, even where a
spool fills two thirds of the picture. Our choice."""
_LEAST_SPREAD = 0.05
"""Part of the resting level that its deviation is at the least. Our choice: keeps perfectly still films from a spread
of 0."""
_GAIN_COLUMNS = 3
"""Every third column serves for the first gain. Our choice, for speed."""
_DARKEST = 8.0
"""Grey levels; darker points of the still scene are taken as this bright, as a ratio to nearly nothing tells nothing.
Our choice."""
_GAINS = (0.2, 5.0)
"""Bounds of a row's gain. Our choice: no lamp dims or brightens a row by more."""
_SHADING_PIXELS = 15
"""Pixels of the half-size picture; shading slower than this is taken off before pictures are compared. Our choice."""
_JUMP_FRAMES, _JUMP_PIXELS = 9, 6
"""A shift further from the median of this many frames than this many pixels is a wrong match. Our choice: a hand does
not jump so far and back within a third of a second."""
_EDGE_BLUR = 0.7
"""Pixels; deviation of the Gaussian before slopes are taken. Our choice: less noise, edges kept."""
_RIM_ROWS, _RIM_LEAST = 20, 4
"""The rim left out is a twentieth of the picture's height, four pixels at the least: what a shake brings in from
outside is not in the still scene. Our choice."""
_STIFFNESS = 30.0
"""Grey levels squared; added to the normal equations: a picture without edges then stays where it is instead of
following its noise, which is a grey level or two. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Steady:
    """How each frame's picture is shifted and turned against the still scene, and how bright its rows are."""

    still: Picture
    """The scene at rest, shape (h, w), in grey levels; what turns is smeared in it."""
    x: FloatArray
    y: FloatArray
    """Shift of each frame in pixels, shape (n,)."""
    roll: FloatArray
    """Rotation of each frame about the middle of the picture in radians, from columns towards rows, shape (n,)."""
    gain: Picture
    """Brightness of each row of each frame over that of the still scene, shape (n, h)."""
    apart: int = 1
    """Frames from one to the next that it is compared with for what moves."""

    def sampled(self, frames: Frames, rows: FloatArray, columns: FloatArray, which: NDArray[np.intp]) -> Picture:
        """Brightness of the ``which`` frames at points of the still scene, gain taken off, shape (which, points)."""
        pictures = _corrected(frames, self.gain, which)
        return _between_pixels(pictures, rows, columns, self.x[which], self.y[which], self.roll[which])


def _corrected(frames: Frames, gain: Picture, which: NDArray[np.intp]) -> Picture:
    return np.asarray(frames[which] / gain[which, :, None], dtype=np.float32)


def _between_pixels(
    pictures: Picture, rows: FloatArray, columns: FloatArray, x: FloatArray, y: FloatArray, roll: FloatArray
) -> Picture:
    """Brightness at points of the still scene, in pictures shifted and rolled against it (bilinear interpolation)."""
    n, h, w = pictures.shape
    # in place and by flat index, as this takes most of the time
    aside, under, lean = (each.astype(np.float32)[:, None] for each in (x, y, roll))
    row, column = rows.astype(np.float32), columns.astype(np.float32)
    across = column + aside - lean * (row - np.float32((h - 1) / 2))
    down = row + under + lean * (column - np.float32((w - 1) / 2))
    np.clip(across, 0, w - 1.001, out=across)
    np.clip(down, 0, h - 1.001, out=down)
    left, at = across.astype(np.int32), down.astype(np.int32)
    across -= left
    down -= at
    at = (at * np.int32(w) + left + (np.arange(n, dtype=np.int32) * np.int32(h * w))[:, None]).astype(np.intp)
    flat = pictures.reshape(-1)
    near = flat.take(at, mode="clip")
    at += 1
    right = flat.take(at, mode="clip")
    at += w - 1
    below = flat.take(at, mode="clip")
    at += 1
    beyond = flat.take(at, mode="clip")
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
    """The numbers 0 to n − 1, ``size`` at a time."""
    for start in range(0, n, size):
        yield np.arange(start, min(start + size, n))


def apart_in(t_s: FloatArray) -> int:
    """How many frames lie about ``PAIR_S`` apart, one at the least.

    >>> apart_in(np.arange(9) / 240), apart_in(np.arange(9) / 30)
    (4, 1)
    """
    return max(1, round(PAIR_S / float(np.median(np.diff(t_s)))))


def steady(frames: Frames, apart: int = 1) -> Steady:
    """Estimate gain, shift and roll of every frame: once with the whole picture, then without what moves.

    ``apart``: frames from one to the next that it is compared with for what moves.
    """
    n, h, w = frames.shape
    some = frames[np.unique(np.linspace(0, n - 1, _FIRST_STILL_FRAMES).astype(int))].astype(np.float32)
    still: Picture = np.median(some, axis=0).astype(np.float32)
    everything = np.ones((h, w), dtype=bool)
    held = Steady(still, np.zeros(n), np.zeros(n), np.zeros(n), _first_gain(frames, still), apart)
    held = _coarse_shift(frames, held)
    held = _refined(frames, held, everything, FEWER_POINTS, rounds=2, rolling=False)
    resting = ~_moving(frames, held)
    held = replace(held, still=_still(frames, held))
    held = replace(held, gain=_row_gain(frames, held.still, resting))
    held = _refined(frames, held, resting, FEWER_POINTS, rounds=2, rolling=True)
    return _refined(frames, held, resting, POINTS, rounds=1, rolling=True)


def _moving(frames: Frames, held: Steady) -> NDArray[np.bool_]:
    """Where the steadied picture changes much more than most of it does."""
    level = motion_map(frames, held, _MOTION_PAIRS)
    resting, spread = resting_level(level)
    return np.asarray(ndimage.binary_dilation(level > resting + _MOVING * spread, iterations=_MOVING_MARGIN))


def resting_level(level: Picture) -> tuple[float, float]:
    """Level of a motion map where nothing moves, and about one standard deviation of it, in grey levels."""
    least, resting = (float(q) for q in np.quantile(level, _RESTING_QUANTILES))
    return resting, resting - least + _LEAST_SPREAD * resting


def motion_map(frames: Frames, held: Steady, pairs: int, since: float = 0.0) -> Picture:
    """How much frames ``held.apart`` of one another differ at each point, in grey levels, shape (h, w).

    The root of the mean square over at most so many ``pairs`` after the part ``since`` of the film: what a small mark
    changes by much and seldom then stands out of what noise changes by little and always.
    """
    n, h, w = frames.shape
    rows, columns = (a.ravel().astype(np.float64) for a in np.mgrid[0:h, 0:w])
    firsts = np.unique(np.linspace(since * (n - 1 - held.apart), n - 1 - held.apart, pairs).astype(np.intp))
    total = np.zeros(h * w, dtype=np.float32)
    for part in chunks(len(firsts), _CHUNK_PAIRS):
        before = held.sampled(frames, rows, columns, firsts[part])
        after = held.sampled(frames, rows, columns, firsts[part] + held.apart)
        total += (np.clip(after - before, -MOST_MOTION, MOST_MOTION) ** 2).sum(0)
    return np.asarray(np.sqrt(ndimage.gaussian_filter(total.reshape(h, w) / len(firsts), _MOTION_BLUR)))


def _still(frames: Frames, held: Steady) -> Picture:
    n, h, w = frames.shape
    rows, columns = (a.ravel().astype(np.float64) for a in np.mgrid[0:h, 0:w])
    which = np.unique(np.linspace(0, n - 1, _STILL_FRAMES).astype(np.intp))
    return np.asarray(np.median(held.sampled(frames, rows, columns, which), axis=0).reshape(h, w), dtype=np.float32)


def _first_gain(frames: Frames, still: Picture) -> Picture:
    """Gain of each row: the median over its points of brightness over the still scene's; a passing mark cannot move
    it."""
    below = np.maximum(still[:, ::_GAIN_COLUMNS], _DARKEST)
    gain = np.concatenate(
        [np.median(frames[p[0] : p[-1] + 1, :, ::_GAIN_COLUMNS] / below, axis=2) for p in chunks(len(frames))]
    )
    shared = ndimage.gaussian_filter1d(gain, BAND_ROWS, axis=1, mode="nearest")
    return np.asarray(np.clip(shared, *_GAINS), dtype=np.float32)


def _row_gain(frames: Frames, still: Picture, counted: NDArray[np.bool_]) -> Picture:
    """The same from the ``counted`` points, those that rest, where a row has enough of them; shape (n, h)."""
    too_few = counted.mean(1) < LEAST_RESTING
    weight = (counted | too_few[:, None]).astype(np.float32)
    have = ndimage.gaussian_filter1d((still * weight).sum(1), BAND_ROWS, mode="nearest")
    gain = np.empty(frames.shape[:2], dtype=np.float32)
    for part in chunks(len(frames)):
        seen = np.einsum("nhw,hw->nh", frames[part[0] : part[-1] + 1].astype(np.float32), weight)
        gain[part] = ndimage.gaussian_filter1d(seen, BAND_ROWS, axis=1, mode="nearest") / have
    return np.clip(gain, *_GAINS)


def _coarse_shift(frames: Frames, held: Steady) -> Steady:
    """Shift to about a pixel, by cross-correlation of half-size pictures without their slow shading."""
    n, h, w = frames.shape
    h2, w2 = h // 2 * 2, w // 2 * 2

    def small(pictures: Picture) -> Picture:
        quarters = (pictures[:, i:h2:2, j:w2:2] for i in (0, 1) for j in (0, 1))
        halved = sum(quarters, start=np.float32(0)) / np.float32(4)
        return np.asarray(halved - ndimage.uniform_filter(halved, (0, _SHADING_PIXELS, _SHADING_PIXELS)))

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
    usual_x, usual_y = ndimage.median_filter(x, _JUMP_FRAMES), ndimage.median_filter(y, _JUMP_FRAMES)
    far = np.hypot(x - usual_x, y - usual_y) > _JUMP_PIXELS
    x[far], y[far] = usual_x[far], usual_y[far]
    return replace(held, x=x, y=y)


def _refined(
    frames: Frames, held: Steady, counted: NDArray[np.bool_], most: int, *, rounds: int, rolling: bool
) -> Steady:
    """Gauss and Newton's steps on shift and roll, at the ``most`` points where the scene is steepest and rests.

    Points at the steepest edges tell a shift best; flat ones only add noise.
    """
    h, w = held.still.shape
    blurred = ndimage.gaussian_filter(held.still, _EDGE_BLUR)
    steep_y, steep_x = (g.astype(np.float64) for g in np.gradient(blurred))
    rim = max(_RIM_LEAST, h // _RIM_ROWS)
    inner = np.zeros((h, w), dtype=bool)
    inner[rim:-rim, rim:-rim] = True
    worth = np.where(counted & inner, np.hypot(steep_x, steep_y), -1.0)
    points = np.sort(np.argsort(worth.ravel())[-min(most, int((worth >= 0).sum())) :])
    gx, gy = steep_x.ravel()[points], steep_y.ravel()[points]
    rows, columns = (a.astype(np.float64) for a in np.divmod(points, w))
    turn = gy * (columns - (w - 1) / 2) - gx * (rows - (h - 1) / 2)
    slopes = np.stack([gx, gy, turn * rolling], axis=1)
    firm = slopes.T @ slopes + np.diag([_STIFFNESS, _STIFFNESS, _STIFFNESS * h * h])
    step = np.linalg.solve(firm, slopes.T).T.astype(np.float32)
    target = held.still.ravel()[points]
    at = np.stack([held.x, held.y, held.roll], axis=1)
    for part in chunks(len(frames)):
        pictures = _corrected(frames, held.gain, part)
        for _ in range(rounds):
            off = _between_pixels(pictures, rows, columns, *at[part].T) - target
            off -= np.median(off[:, ::4], axis=1, keepdims=True)
            at[part] -= np.clip(off, -MOST_CHANGE, MOST_CHANGE) @ step
    return replace(held, x=at[:, 0], y=at[:, 1], roll=at[:, 2])
