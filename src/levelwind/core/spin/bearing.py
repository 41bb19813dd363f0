"""Which part of a bearing ticks: its four defect rates, looked for in a recording whose speed is known, turn by turn.

Defect rates as parts of the shaft's rate: Eschmann, Ball and Roller Bearings, 1985 (from memory), and texts on machine
diagnosis since. For N balls of diameter d on a pitch circle D in a bearing that carries no thrust (contact angle 0, as
a spool's does), the inner ring turning, the outer one still:

    outer ring N/2 (1 − d/D)      inner ring N/2 (1 + d/D)
    cage       1/2 (1 − d/D)      ball       D/2d (1 − (d/D)²), twice that where it strikes both rings

Balls slip a little, so a rate may lie up to 2 % beside the computed one.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import FloatArray
from levelwind.core.notes import Note, plain
from levelwind.core.spin.model import Spin
from levelwind.core.spin.options import Bearing
from levelwind.core.spin.sound_envelope import envelope_of
from levelwind.core.spin.sound_map import MEDIAN_OF_POWER

PARTS = ("outer ring", "inner ring", "ball", "cage")
SLIP = 0.02
"""Part by which a defect rate may lie beside the computed one, as balls slip (1 to 2 %: texts on machine diagnosis,
from memory)."""
RATE_MULTIPLES = 5
"""Multiples of a defect rate that are added up. Our choice: higher ones are smeared by the slip."""
PRIOR = 0.1
"""Chance, before listening, that a given part of a bearing sent in ticks. Our choice, no source."""
CLEAR, NAMED = 0.9, 0.5
"""Chance from which a part is named without "perhaps", and from which it is named at all. Our choice."""
MOST_CHANCE = 0.99
"""Chance that is told at the most. Our choice: no sound makes it certain."""
HEARD_TURNS = 30.0
"""Turns that a recording must hold. Our choice: lines are then a thirtieth of a strike a turn wide."""
GROUND = 0.6
"""Strikes a turn over which the ground about a line is taken. Our choice: less than a rate lies from the spool's own
lines, more than a line is wide."""
GROUND_LINES = 8
"""Lines over which it is taken at the least. Our choice."""
WHOLE = 0.03
"""Strikes a turn; a line so near a whole number is the spool's own, and is left out. Our choice: the width of a
line."""
MOST_LINE = 8.0
"""Powers of the ground; no single line counts for more: a comb is told by its several lines. Our choice."""
SAMPLES_A_STRIKE, PADDING = 2.5, 4
"""Samples for each strike of the highest multiple (over two, H. Nyquist, 1928), and times that the transform is padded,
so that no line falls between its points. Our choice."""
HIGHEST_MARGIN = 1.1
"""Highest strikes a turn of the spectrum over the highest multiple looked for. Our choice: slip and a margin."""
BESIDE_SLIPS = (-9, -7, -5, -3, 3, 5, 7, 9)
"""Slips to either side at which combs of nothing are taken, to compare. Our choice: clear of the part's own range."""
LEAST_EXCESS, MOST_EXCESS, FOUND_EXCESS = -4.0, 40.0, 1.0
"""Bounds of the log likelihood ratio, so that one recording proves no part sound or broken for good; and where the line
counts as found at its own place. Our choice."""


@dataclass(frozen=True, slots=True)
class DefectRates:
    """Strikes a turn of the shaft from a fault on each part."""

    outer_ring: float
    inner_ring: float
    ball: float
    """Of a ball's own turn; a fault on it strikes both rings, twice as often."""
    cage: float

    @property
    def strikes(self) -> tuple[float, float, float, float]:
        """In the order of ``PARTS``, the ball's doubled."""
        return self.outer_ring, self.inner_ring, 2 * self.ball, self.cage


@dataclass(frozen=True, slots=True)
class PartHeard:
    """How likely it is that one part of a bearing ticks."""

    part: str
    chance: float
    strikes_a_turn: float
    """Where the line was found, or was computed to be if none was."""


@dataclass(frozen=True, slots=True)
class BearingHeard:
    """All four parts, the likeliest first, and one sentence."""

    parts: tuple[PartHeard, ...]
    words: Note
    cautions: tuple[Note, ...] = ()

    def shown(self) -> dict[str, object]:
        """As it stands in a reading's download."""
        return {"kind": "bearing", "words": self.words, "parts": self.parts, "cautions": self.cautions}


def defect_rates(bearing: Bearing) -> DefectRates:
    """Strikes a turn with the inner ring turning.

    >>> rates = defect_rates(Bearing(9, 7.94, 39.04))
    >>> rates.outer_ring, rates.inner_ring
    (3.5848, 5.4152)
    """
    ratio = bearing.ball_mm / bearing.pitch_mm
    half = bearing.balls / 2
    spin = (1 - ratio**2) * bearing.pitch_mm / (2 * bearing.ball_mm)
    return DefectRates(half * (1 - ratio), half * (1 + ratio), spin, (1 - ratio) / 2)


def listen(
    samples: NDArray[np.float32], sample_hz: float, spin: Spin, bearing: Bearing, *, cautions: Iterable[Note] = ()
) -> BearingHeard:
    """Look for each part's line and its multiples in the order spectrum of a recording of ``spin``.

    Raises NotDeterminedError where the spin has no speeds or fewer than 30 turns.
    """
    envelope = envelope_of(samples, sample_hz)
    turns, loud = _by_turn(envelope.at, envelope.hz, spin)
    strikes = defect_rates(bearing).strikes
    orders = _order_spectrum(turns, loud, HIGHEST_MARGIN * RATE_MULTIPLES * max(strikes))
    parts = [_heard(part, rate, orders) for part, rate in zip(PARTS, strikes, strict=True)]
    parts.sort(key=lambda part: -part.chance)
    return BearingHeard(tuple(parts), _words(parts), (*cautions, *_blind(strikes)))


def _by_turn(envelope: FloatArray, hz: float, spin: Spin) -> tuple[FloatArray, FloatArray]:
    """Turns made at each sample of the spin, and the envelope there."""
    if len(spin.speed) < 2:
        raise NotDeterminedError("the speed of this spin is not known: no bearing rate can be followed")
    times, speeds = np.array(spin.speed.t_s), np.array(spin.speed.rev_s)
    t = np.arange(int(times[0] * hz), min(int(times[-1] * hz), len(envelope))) / hz
    steps = np.diff(times) * (speeds[1:] + speeds[:-1]) / 2
    made = np.concatenate([[0.0], np.cumsum(steps)])
    i = np.clip(np.searchsorted(times, t) - 1, 0, len(times) - 2)
    part = t - times[i]
    slope = (speeds[i + 1] - speeds[i]) / (times[i + 1] - times[i])
    turns = made[i] + part * (speeds[i] + slope * part / 2)
    if not len(turns) or turns[-1] < HEARD_TURNS:
        raise NotDeterminedError(f"fewer than {HEARD_TURNS:.0f} turns: too few to tell a bearing's rates")
    return turns, envelope[int(times[0] * hz) :][: len(t)]


@dataclass(frozen=True, slots=True, eq=False)
class _Orders:
    """Power over strikes a turn, relative to the ground about it; ``step`` is in strikes a turn."""

    power: FloatArray
    step: float


def _order_spectrum(turns: FloatArray, loud: FloatArray, highest: float) -> _Orders:
    """Spectrum of the loudness laid out over turns instead of time, up to ``highest`` strikes a turn."""
    grid = np.arange(turns[0], turns[-1], 1 / (SAMPLES_A_STRIKE * highest))
    even = np.interp(grid, turns, loud)
    size = PADDING * 2 ** int(np.ceil(np.log2(len(even))))
    power = np.abs(np.fft.rfft((even - even.mean()) * np.hanning(len(even)), size)) ** 2
    step = SAMPLES_A_STRIKE * highest / size
    width = max(int(GROUND / step), GROUND_LINES)
    whole = len(power) // width * width
    middle = np.median(power[:whole].reshape(-1, width), axis=1) / MEDIAN_OF_POWER
    ground = np.interp(np.arange(len(power)), np.arange(len(middle)) * width + width / 2, middle)
    orders = np.arange(len(power)) * step
    of_spool = np.abs(orders - np.round(orders)) < WHOLE
    return _Orders(np.where(of_spool, 1.0, power / np.maximum(ground, 1e-12)), step)


def _heard(part: str, strikes: float, orders: _Orders) -> PartHeard:
    """The best comb within the slip, and its chance by Bayes' rule against the best one where this part makes no
    line."""
    reach = np.arange(-SLIP * strikes, SLIP * strikes, orders.step / 2)
    here = _comb(strikes + reach, orders)
    beside = [_comb(strikes * (1 + SLIP * away) + reach, orders).max() for away in BESIDE_SLIPS]
    best = int(np.argmax(here))
    excess = float(here[best] - max(beside))
    odds = PRIOR / (1 - PRIOR) * exp(min(max(excess, LEAST_EXCESS), MOST_EXCESS))
    return PartHeard(part, odds / (1 + odds), float(strikes + reach[best]) if excess > FOUND_EXCESS else strikes)


def _comb(places: FloatArray, orders: _Orders) -> FloatArray:
    """Log likelihood ratio of a comb of ``RATE_MULTIPLES`` lines against the ground alone, at each place."""
    multiples = np.arange(1, RATE_MULTIPLES + 1)
    at = np.clip(np.round(places[:, None] * multiples / orders.step).astype(int), 0, len(orders.power) - 1)
    line = np.maximum(np.minimum(orders.power[at], MOST_LINE), 1.0)
    return np.asarray(np.sum(line - 1 - np.log(line), axis=1))


def _words(parts: list[PartHeard]) -> Note:
    first = parts[0]
    if first.chance < NAMED:
        return Note.of("bearing_quiet", "nothing seen at this bearing's rates")
    heard = "something on the {part} (chance {chance}, {strikes} a turn)"
    return Note.of(
        "bearing_heard",
        heard if first.chance > CLEAR else f"perhaps {heard}",
        part=first.part,
        chance=plain(100 * min(first.chance, MOST_CHANCE), "%", decimals=0),
        strikes=plain(first.strikes_a_turn, "strikes", decimals=3),
    )


def _blind(strikes: tuple[float, ...]) -> list[Note]:
    """Parts whose rate is a whole number of strikes a turn: anything on the spool ticks so."""
    near = [part for part, rate in zip(PARTS, strikes, strict=True) if abs(rate - round(rate)) < WHOLE]
    blind = "the {part} of this bearing would tick as the spool itself does: it cannot be told"
    return [Note.of("part_blind", blind, part=part) for part in near]
