"""A spool held by friction and drawn by a springy line.

Friction follows a rate-and-state law: a contact at rest grows stronger with time and forgets it over a slip distance
(the form of A. Ruina, Journal of Geophysical Research 88, 1983, p. 10359, with a saturating state). Static friction,
its fall with speed and stick-slip on a soft line all come out of the one law.
"""

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray

from levelwind.demo.simulation.conditions import DragCondition, Rig

FloatArray = NDArray[np.float64]

TICK_S = 0.001
_GRID_M = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class SlipTrace:
    """What happens every millisecond."""

    force_N: FloatArray
    """Line tension."""
    travel_m: FloatArray
    """Of the spool's rim."""
    slipping: NDArray[np.bool_]
    cool_share: FloatArray
    """What heat has left of the drag."""


def unevenness(drag: DragCondition, length_m: float, rng: np.random.Generator) -> FloatArray:
    """Friction along the travel over its mean, one value a millimetre: the warp once a turn, and roughness."""
    x = np.arange(0.0, length_m + 0.01, _GRID_M)
    phase, second = rng.uniform(0, 2 * np.pi, 2)
    turn = 2 * np.pi * x / drag.turn_m
    wave = np.sin(turn + phase) + 0.15 * np.sin(2 * turn + second)
    rough = np.convolve(rng.normal(size=len(x) + 200), np.exp(-np.arange(200) / 8.0), "full")[200 : 200 + len(x)]
    warp = 1 + drag.wobble * wave / ((wave.max() - wave.min()) / 2)
    return np.asarray(warp + drag.roughness * rough / rough.std())


def slip(drag: DragCondition, rig: Rig, hand_m: FloatArray, uneven: FloatArray) -> SlipTrace:
    """Follow the spool while the hand moves as ``hand_m`` says, one position a millisecond."""
    k, m = rig.stiffness_N_m, rig.mass_kg
    c = 2 * rig.damping * sqrt(k * m)
    bumps, hand = uneven.tolist(), hand_m.tolist()
    x = v = heat = 0.0
    state = 1.0
    excess = drag.startup_ratio - 1
    force, travel, slipping, cool_share = [], [], [], []
    for tick in range(len(hand) - 1):
        at, rate, left = hand[tick], (hand[tick + 1] - hand[tick]) / TICK_S, TICK_S
        stretch = at - x
        slipped = False
        while left > 1e-9:
            line = k * stretch + c * (rate - v) if stretch > 0 else 0.0
            place = x / _GRID_M
            i = int(place)
            bump = bumps[i] + (bumps[i + 1] - bumps[i]) * (place - i)
            cool = 1 - drag.fade * (1 - exp(-heat))
            level = drag.running_N * cool
            friction = level * bump * (1 + excess * state)
            if v <= 0 and line <= friction:
                dt = left
                v = 0.0
                state += (1 - state) * dt / drag.rest_s
            else:
                slipped = True
                net = line - friction - level * drag.viscous_share * v / 0.1
                dt = min(left, max(5e-5, min(0.2 * drag.slip_m / max(v, 0.01), 0.01 * m / max(abs(net), 0.1))))
                v = max(v + net / m * dt, 0.0)
                x += v * dt
                state += ((1 - state) / drag.rest_s - state * v / drag.slip_m) * dt
                heat += friction * v * dt / drag.heat_J
            heat -= heat * dt / 20.0
            stretch += (rate - v) * dt
            left -= dt
        force.append(line)
        travel.append(x)
        slipping.append(slipped)
        cool_share.append(cool)
    return SlipTrace(np.array(force), np.array(travel), np.array(slipping), np.array(cool_share))
