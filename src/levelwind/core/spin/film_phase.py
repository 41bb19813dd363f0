"""How far round the spool is in each frame.

First by the disc's geometry alone: the harmonics Σ I(p) exp(−2πi n θ_p) over the disc's pixels, which remember nothing
from frame to frame, so that a speed past half the frame rate does no harm. Then, once the motion is known, by the
spool's own picture: each pixel's brightness regressed on the phase gives a template, and each frame is laid on it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.spin.film_disc import Disc
from levelwind.core.spin.film_steady import Frames, Picture, Steady, chunks

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]

HARMONICS = 8
TEMPLATE_HARMONICS = 12
MOST_POINTS = 3000
REACH = 1.08
BLOCK_S = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """The turning part of every frame, held still: brightness shape (n, points), and where each point is."""

    seen: Picture
    turn: FloatArray
    """Angle of each point on the disc, in turns."""
    lively: NDArray[np.bool_]
    """Frames that differ much from the one before: those in which it turns, or a hand passes."""


def face_of(frames: Frames, held: Steady, disc: Disc) -> Face:
    """At most 3,000 pixels of the disc, sampled through shift, roll and gain."""
    rows, columns, turn, _ = disc.points(frames.shape[1], frames.shape[2], REACH)
    few = np.s_[:: max(1, -(-len(rows) // MOST_POINTS))]
    rows, columns, turn = rows[few], columns[few], turn[few]
    seen = np.concatenate([held.sampled(frames, rows, columns, part) for part in chunks(len(frames))])
    change = np.minimum(np.abs(np.diff(seen, axis=0)), 40.0).mean(1)
    change = np.concatenate([change[:1], change])
    quiet, loud = np.quantile(change, [0.05, 0.9])
    return Face(seen, turn, change > quiet + 0.25 * (loud - quiet))


def harmonics(face: Face) -> ComplexArray:
    """Of each frame, orders 1 to 8, shape (n, 8); what does not turn is taken out, points count as they change."""
    lively = face.seen[face.lively]
    ground = lively.mean(0)
    spread = lively.std(0)
    weight = np.maximum(spread - np.quantile(spread, 0.1), 0.0)
    waves = weight[:, None] * np.exp(-2j * np.pi * face.turn[:, None] * np.arange(1, HARMONICS + 1))
    off = (face.seen - ground).astype(np.float32)
    off -= off.mean(1, keepdims=True)
    return np.asarray(off @ waves.real.astype(np.float32) + 1j * (off @ waves.imag.astype(np.float32)))


@dataclass(frozen=True, slots=True, eq=False)
class Phases:
    """Turns of each frame, unwrapped, with how well each is known."""

    turns: FloatArray
    sigma: FloatArray
    """One deviation in turns, from what the template leaves unexplained; relative weights rather than truth."""
    likeness: FloatArray
    """How much of the pattern that should be there is there: about 1, near nought where it is hidden."""


def lay_on_template(face: Face, turns: FloatArray, learn: NDArray[np.bool_], t_s: FloatArray, span: float) -> Phases:
    """Learn the spool's picture from the ``learn`` frames; find every frame's phase within ``span`` of ``turns``."""
    orders = np.arange(1, TEMPLATE_HARMONICS + 1)
    wave = np.exp(2j * np.pi * turns[:, None] * orders)
    design = np.concatenate([np.ones((len(turns), 1)), wave.real, wave.imag], axis=1)[learn].astype(np.float32)
    normal = design.T @ design + 1e-3 * len(design) * np.diag([0.0] + [1.0] * (2 * len(orders)))
    template = np.linalg.solve(normal, design.T @ face.seen[learn])
    noise = float(np.median(np.std(face.seen[learn] - design @ template, axis=0)))
    c, s = template[1 : 1 + len(orders)], template[1 + len(orders) :]
    energy = (c * c + s * s).sum(1)
    keep = energy >= min(max(4 * noise**2 * face.seen.shape[1] / len(design), 2e-3 * float(energy.max())), energy.max())
    orders, patterns = orders[keep], np.concatenate([c[keep], s[keep]])
    off = face.seen - template[0]
    gram = patterns @ patterns.T
    gram += np.diag(np.diag(gram)) * 0.05
    solved = np.linalg.solve(gram, patterns @ off.T).T
    size = len(orders)
    seen = solved[:, :size] + 1j * solved[:, size:]
    weight = energy[keep] * _local_gain(seen * np.exp(-2j * np.pi * turns[:, None] * orders), t_s, learn)
    best = _best_phase(seen, weight, orders, turns, span)
    there = np.exp(-2j * np.pi * best[:, None] * orders)
    bend = (weight * (2 * np.pi * orders) ** 2 * (seen * there).real).sum(1)
    hoped = (weight * weight / energy[keep] * (2 * np.pi * orders) ** 2).sum(1)
    sigma = noise / np.sqrt(np.maximum(hoped, 1e-3 * float(np.max(hoped))))
    return Phases(best, sigma, bend / np.maximum(hoped, 1e-3 * float(np.max(hoped))))


def _local_gain(aligned: ComplexArray, t_s: FloatArray, learn: NDArray[np.bool_]) -> FloatArray:
    """How strongly each order shows around each moment: blur takes the high ones at speed; shape (n, orders)."""
    block = ((t_s - t_s[0]) / BLOCK_S).astype(int)
    count = np.maximum(np.bincount(block, learn), 1e-9)
    middle = (np.arange(len(count)) + 0.5) * BLOCK_S + t_s[0]
    usable = count >= 3
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
    """The phase of best likeness: a grid within ``span`` turns of what is expected, then Newton's steps."""
    expected = weight * seen * np.exp(-2j * np.pi * turns[:, None] * orders)
    offs = np.linspace(-span, span, 2 * int(np.ceil(span * orders[-1] * 6)) + 1)
    alike = (expected @ np.exp(-2j * np.pi * orders[:, None] * offs)).real
    off = offs[alike.argmax(1)]
    for _ in range(4):
        there = expected * np.exp(-2j * np.pi * off[:, None] * orders)
        slope = (2 * np.pi * orders * there.imag).sum(1)
        bend = ((2 * np.pi * orders) ** 2 * there.real).sum(1)
        step = np.where(bend > 0, slope / np.maximum(bend, 1e-12), 0.0)
        off = off + np.clip(step, -0.02, 0.02)
    return np.asarray(turns + np.clip(off, -span, span))
