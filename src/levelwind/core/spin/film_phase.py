"""How far round the spool is in each frame.

First by the disc's geometry alone: the harmonics Σ I(p) exp(−2πi n θ_p) over the disc's pixels p. Each frame is taken
by itself, so a spool that turns by half a turn or more from frame to frame does no harm. Then, once the motion is
roughly known, by the spool's own picture: each pixel's brightness regressed on the phase gives a template, and each
frame is matched with it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.fitting import ComplexArray, FloatArray
from levelwind.core.spin.film_disc import Disc
from levelwind.core.spin.film_steady import Frames, Picture, Steady, chunks

HARMONICS = 8
"""Orders of the geometry's harmonics. Our choice: a mark of an eighth of a turn still shows in all of them, and up to
eight even marks in one."""
TEMPLATE_HARMONICS = 12
"""Orders of the template. Our choice: more detail than ``HARMONICS``, as matching gains by it, and less than blur
takes."""
FACE_POINTS = 3000
"""Pixels of the disc that are sampled. Our choice: the phase's noise falls with the root of their number, the time
grows with it."""
MOST_SEEN = 8_000_000
"""Pixels of all frames together, so that a film of more than 2,600 frames takes no more memory. Our choice: its
thousands of frames make good what each is told less by."""
FACE_REACH = 1.08
"""Radii; pixels are taken up to here. Our choice: the ellipse found may be a little small, and its rim carries
marks."""
GAIN_BLOCK_S = 0.3
"""Seconds; over such a block the template's contrast is taken as steady. Our choice: blur changes with speed, which
changes little in it."""
_MOST_CHANGE = 40.0
"""Grey levels; a change of one point between frames counts no more, so that a hand's edge does not outweigh the mark.
Our choice."""
_QUIET, _LOUD = 0.05, 0.9
"""Quantiles of the frames' mean change that stand for a resting and a turning spool. Our choice: less than nine tenths
of a film may be at rest."""
_LIVELY = 0.25
"""Part of the way from the quiet to the loud frames above which a frame counts as one in which it turns. Our choice."""
_UNCHANGING = 0.1
"""Quantile of the points' variation that counts as none. Our choice: a tenth of the face or more carries no pattern."""
_RIDGE = 1e-3
"""Added to the template's regression, as a part of its diagonal, so that orders which the frames do not tell stay
small. Our choice."""
_ABOVE_NOISE, _ABOVE_STRONGEST = 4.0, 2e-3
"""An order is used if its energy is so many times what noise alone would give it, or this part of the strongest one's
where that is more. Our choice: weaker ones add noise to the phase."""
_ORDERS_APART = 0.05
"""Added to the orders' Gram matrix, as a part of its diagonal: orders that look alike on this face are then not told
apart by noise. Our choice."""
_LEAST_LIKENESS = 1e-3
"""Of the best frame's expected sharpness; that of any other is taken as no less, to divide by. Our choice."""
_BLOCK_FRAMES = 3
"""Frames in a block from which its contrast is believed. Our choice."""
_GRID_PER_TURN = 6
"""Grid points to either side of the expected phase, for each turn and each order. Our choice: three points in each half
wave of the highest order, so that no peak is missed."""
_NEWTON_STEPS, _MOST_STEP = 4, 0.02
"""Newton's steps on the phase, and turns that one may be long. Our choice: from the nearest grid point four settle
it."""


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """The turning part of every frame, held still."""

    seen: Picture
    """Brightness in grey levels, shape (n, points)."""
    turn: FloatArray
    """Angle of each point on the disc, in turns, shape (points,)."""
    lively: NDArray[np.bool_]
    """Frames that differ much from one a little before, shape (n,): those in which it turns, or a hand passes."""


def face_of(frames: Frames, held: Steady, disc: Disc) -> Face:
    """At most ``FACE_POINTS`` pixels of the disc in every frame, with shift, roll and gain taken off."""
    rows, columns, turn, _ = disc.points(frames.shape[1], frames.shape[2], FACE_REACH)
    most = min(FACE_POINTS, MOST_SEEN // len(frames))
    few = np.s_[:: max(1, -(-len(rows) // most))]
    rows, columns, turn = rows[few], columns[few], turn[few]
    seen = np.empty((len(frames), len(rows)), np.float32)
    change = np.empty(len(frames), np.float32)
    for part in chunks(len(frames)):
        seen[part] = held.sampled(frames, rows, columns, part)
        late = part[part >= held.apart]
        change[late] = np.minimum(np.abs(seen[late] - seen[late - held.apart]), _MOST_CHANGE).mean(1)
    change[: held.apart] = change[held.apart]
    quiet, loud = np.quantile(change, [_QUIET, _LOUD])
    return Face(seen, turn, change > quiet + _LIVELY * (loud - quiet))


def harmonics(face: Face) -> ComplexArray:
    """Harmonics of each frame, orders 1 to ``HARMONICS``, shape (n, orders).

    The mean picture, which does not turn, is taken off; points count by how much they vary.
    """
    lively = face.seen[face.lively]
    ground = lively.mean(0)
    spread = lively.std(0)
    weight = np.maximum(spread - np.quantile(spread, _UNCHANGING), 0.0)
    waves = weight[:, None] * np.exp(-2j * np.pi * face.turn[:, None] * np.arange(1, HARMONICS + 1))
    off = (face.seen - ground).astype(np.float32)
    off -= off.mean(1, keepdims=True)
    return np.asarray(off @ waves.real.astype(np.float32) + 1j * (off @ waves.imag.astype(np.float32)))


@dataclass(frozen=True, slots=True, eq=False)
class Phases:
    """Turns of each frame, unwrapped, and how well each is known; all of shape (n,)."""

    turns: FloatArray
    sigma: FloatArray
    """Standard deviation in turns, from what the template leaves unexplained. Right against one another rather than in
    size: the fit estimates that again."""
    likeness: FloatArray
    """How much of the template's pattern is there: about 1, near 0 where it is hidden."""


def match_template(face: Face, turns: FloatArray, learn: NDArray[np.bool_], t_s: FloatArray, span: float) -> Phases:
    """Learn the spool's picture from the ``learn`` frames, then find every frame's phase within ``span`` of ``turns``.

    ``turns`` are those expected, shape (n,). The likeness of a frame to the template turned by φ is
    Σ_k weight_k Re(z_k exp(−2πi k φ)); its peak is the phase, its curvature there says how sure.
    """
    orders = np.arange(1, TEMPLATE_HARMONICS + 1)
    wave = np.exp(2j * np.pi * turns[:, None] * orders)
    design = np.concatenate([np.ones((len(turns), 1)), wave.real, wave.imag], axis=1)[learn].astype(np.float32)
    normal = design.T @ design + _RIDGE * len(design) * np.diag([0.0] + [1.0] * (2 * len(orders)))
    template = np.linalg.solve(normal, design.T @ face.seen[learn])
    noise = float(np.median(np.std(face.seen[learn] - design @ template, axis=0)))
    c, s = template[1 : 1 + len(orders)], template[1 + len(orders) :]
    energy = (c * c + s * s).sum(1)
    by_noise = _ABOVE_NOISE * noise**2 * face.seen.shape[1] / len(design)
    keep = energy >= min(max(by_noise, _ABOVE_STRONGEST * float(energy.max())), energy.max())
    orders, patterns = orders[keep], np.concatenate([c[keep], s[keep]])
    off = face.seen - template[0]
    gram = patterns @ patterns.T
    gram += np.diag(np.diag(gram)) * _ORDERS_APART
    solved = np.linalg.solve(gram, patterns @ off.T).T
    size = len(orders)
    seen = solved[:, :size] + 1j * solved[:, size:]
    weight = energy[keep] * _local_contrast(seen * np.exp(-2j * np.pi * turns[:, None] * orders), t_s, learn)
    best = _best_phase(seen, weight, orders, turns, span)
    turned_back = np.exp(-2j * np.pi * best[:, None] * orders)
    curvature = (weight * (2 * np.pi * orders) ** 2 * (seen * turned_back).real).sum(1)
    expected = (weight * weight / energy[keep] * (2 * np.pi * orders) ** 2).sum(1)
    expected = np.maximum(expected, _LEAST_LIKENESS * float(np.max(expected)))
    return Phases(best, noise / np.sqrt(expected), curvature / expected)


def _local_contrast(aligned: ComplexArray, t_s: FloatArray, learn: NDArray[np.bool_]) -> FloatArray:
    """How strongly each order shows around each moment, shape (n, orders): at speed blur takes the high ones."""
    block = ((t_s - t_s[0]) / GAIN_BLOCK_S).astype(int)
    count = np.maximum(np.bincount(block, learn), 1e-9)
    middle = (np.arange(len(count)) + 0.5) * GAIN_BLOCK_S + t_s[0]
    usable = count >= _BLOCK_FRAMES
    if not usable.any():
        return np.ones(aligned.shape)
    columns = []
    for order in range(aligned.shape[1]):
        level = np.bincount(block, aligned[:, order].real * learn) / count
        columns.append(np.interp(t_s, middle[usable], level[usable]))
    return np.column_stack(columns)


def _best_phase(
    seen: ComplexArray, weight: FloatArray, orders: NDArray[np.intp], turns: FloatArray, span: float
) -> FloatArray:
    """The phase of best likeness, shape (n,): a grid within ``span`` turns of what is expected, then Newton's steps."""
    expected = weight * seen * np.exp(-2j * np.pi * turns[:, None] * orders)
    offs = np.linspace(-span, span, 2 * int(np.ceil(span * orders[-1] * _GRID_PER_TURN)) + 1)
    alike = (expected @ np.exp(-2j * np.pi * orders[:, None] * offs)).real
    off = offs[alike.argmax(1)]
    for _ in range(_NEWTON_STEPS):
        there = expected * np.exp(-2j * np.pi * off[:, None] * orders)
        slope = (2 * np.pi * orders * there.imag).sum(1)
        curvature = ((2 * np.pi * orders) ** 2 * there.real).sum(1)
        step = np.where(curvature > 0, slope / np.maximum(curvature, 1e-12), 0.0)
        off = off + np.clip(step, -_MOST_STEP, _MOST_STEP)
    return np.asarray(turns + np.clip(off, -span, span))
