"""A fit turned into a spin with its intervals, and the cautions that go with it."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import floor

import numpy as np

from levelwind.core.fitting import NINETY, FloatArray, Generator
from levelwind.core.notes import Amount, Note, plain
from levelwind.core.quantities import Quantity, shown
from levelwind.core.spin.fit import LawFit
from levelwind.core.spin.fit_solver import LEAST_POWER, MOST_POWER
from levelwind.core.spin.law import speed_after, time_between
from levelwind.core.spin.law_draws import LawDraws
from levelwind.core.spin.model import LOSS_NAMES, Losses, Shares, SpeedCurve, Spin
from levelwind.core.spin.shares import (
    RISEN_STRETCH,
    STRETCH,
    Draws,
    cautious_interval,
    central_interval,
    draw_laws,
)

MOST_SPEEDS = 240
"""Points of the speed curve. Our choice: more than a drawing shows."""
TOLD_APART = 0.3
"""Width of an energy share's interval above which the losses are said not to be told apart. Our choice."""
ALIKE_WIDTH, ALIKE_PART = 0.1, 0.5
"""Width of a share's interval from which two losses are said to look alike, where what they took together is known to
this part of it. Our choice."""
STOP_TOLD_PART, STOP_TOLD_WIDTH = 0.32, 0.3
"""A stop that was not seen is told only where the spool was followed down to this part of its first speed, and its
interval is narrower than this part of the time. Our choice."""
MOST_AHEAD = 10.0
"""Times what was watched up to which a stop is carried ahead: beyond, it is only "far later". Our choice."""
FAR = 10.0
"""Latest over earliest stop from which the latest is told as "far later". Our choice."""
SURE_SPEED = 0.03
"""Half of the speed's 90 % interval over the speed, above which it is told. Our choice: what a bench would notice."""
SPEED_CHECKS, CHECKED_PART, SLOW_PART = 12, 0.9, 0.02
"""Moments at which that is checked, the part of the run they are spread over (in the last tenth a spool has no one
speed), and the part of the first speed that a slower one is taken as. Our choice."""
AROUND_S, LEAST_NEAR = 0.5, 8
"""s to either side of such a moment whose phases tell the speed there, and how many it takes. Our choice: fifteen
frames of a phone, in which speed changes evenly."""
CORRELATED_PART, LEAST_VALUES = 12, 40
"""The law is said not to be kept if more than one in so many values err as one, of so many values at the least. Our
choice, judged on made recordings."""
HARDLY_SLOWED = 20
"""Times what was watched that a spool would run on from which it is said hardly to have slowed. Our choice."""


def spin_from_fit(
    fit: LawFit,
    rng: Generator,
    *,
    end_s: float | None = None,
    moved_s: float | None = None,
    stop_seen: bool,
    cautions: Iterable[Note] = (),
    seen: Callable[[FloatArray], FloatArray] | None = None,
) -> Spin:
    """A fit as a spin. ``end_s`` is when it was last followed; the last time fitted where nothing else is said.
    ``moved_s`` is when it surely still moved, where it was followed into rest.

    ``seen`` is the speed at given times where the phases are followed more closely than the law does.
    Where the stop was not seen and is not well told by what was, there is no spin time but a caution with its range.
    """
    end = float(fit.time_s[-1]) if end_s is None else end_s
    draws = draw_laws(fit, rng)
    time, notes = _spin_time(fit, stop_told(draws, rng, (end if moved_s is None else moved_s) - fit.start_s), stop_seen)
    parts = draws.shares(end - fit.start_s)
    middle = draws.middle(end - fit.start_s)
    stretch = RISEN_STRETCH if fit.law.stribeck else STRETCH

    def told(drawn: FloatArray, most: float = np.inf) -> Quantity:
        return cautious_interval(drawn, float(drawn[middle]), stretch, most)

    shares = Shares(*(told(part, 1.0) for part in parts.T))
    dry, oil, air = (told(term) for term in draws.law.coefficients)
    power = told(np.asarray(draws.law.power), MOST_POWER)
    power = replace(power, low=max(power.low, LEAST_POWER))
    return Spin(
        start_s=fit.start_s,
        end_s=end,
        initial_rev_s=central_interval(draws.start_rev_s, fit.start_rev_s),
        spin_time_s=time,
        speed=_speed(fit, end, seen or fit.speed),
        losses=Losses(dry, oil, air, power),
        energy_share=shares,
        cautions=(
            *cautions,
            *notes,
            *_apart(fit, parts, shares, end),
            *_alike(parts, shares),
            *_doubts(fit, draws, end, followed=seen is not None),
        ),
        draws=LawDraws.of(draws.law, draws.start_rev_s),
    )


def stop_told(draws: Draws, rng: Generator, watched_s: float) -> Quantity:
    """Seconds from the first value to rest, by the laws drawn from a spool watched for so long."""
    return central_interval(np.minimum(draws.stops_after_s(rng, watched_s), MOST_AHEAD * watched_s))


def _spin_time(fit: LawFit, time: Quantity, stop_seen: bool) -> tuple[Quantity | None, list[Note]]:
    if not np.isfinite(fit.stop_s):
        return None, [Note.of("stop_unknown", "it does not say when the spool would stop")]
    if stop_seen:
        return time, []
    followed = fit.end_rev_s / fit.start_rev_s
    if followed <= STOP_TOLD_PART and time.high - time.low < STOP_TOLD_WIDTH * time.value:
        down_to = plain(fit.end_rev_s, "rev/s", decimals=1)
        told = "the stop was not seen: it is worked out from a spool followed down to {down_to}"
        return time, [Note.of("stop_worked_out", told, down_to=down_to)]
    return None, [
        Note.of("stop_not_seen", "the stop was not seen: it would come {when} after the start", when=_when(time))
    ]


def _when(time: Quantity) -> str:
    """
    >>> _when(Quantity(31.0, 20.1, 50.0)), _when(Quantity(20.1, 20.0, 20.2)), _when(Quantity(900.0, 20.1, 21957.0))
    ('20 to 50 s', '20.0 to 20.2 s', '20 s or far later')
    """
    if time.high > FAR * time.low:
        return f"{floor(time.low)} s or far later"
    return f"{shown(time, 's').interval} s"


def _speed(fit: LawFit, end: float, at: Callable[[FloatArray], FloatArray]) -> SpeedCurve:
    times = np.linspace(fit.start_s, max(end, fit.start_s), MOST_SPEEDS)
    return SpeedCurve(tuple(round(float(t), 4) for t in times), tuple(round(float(f), 5) for f in at(times)))


def _apart(fit: LawFit, parts: FloatArray, shares: Shares, end: float) -> list[Note]:
    if max(q.high - q.low for q in (shares.dry, shares.oil, shares.air)) <= TOLD_APART:
        return []
    leads = np.bincount(np.argmax(parts, axis=1), minlength=3) / len(parts)
    first = int(np.argmax(leads))
    mean = (fit.start_rev_s - float(fit.speed(end))) / max(end - fit.start_s, 1e-9)
    return [
        Note.of(
            "losses_together",
            "the losses cannot be told apart well here: together they took {loss} each second, and "
            "{leader} took most with a chance of {chance}",
            loss=plain(mean, "rev/s", figures=2),
            leader=LOSS_NAMES[first],
            chance=plain(100 * float(leads[first]), "%", decimals=0),
        )
    ]


def _alike(parts: FloatArray, shares: Shares) -> list[Note]:
    """Which two losses are known well together and badly apart: a low power's oil looks like dry friction."""
    widest = max(share.high - share.low for share in shares.parts)
    known = min(range(3), key=lambda i: shares.parts[i].high - shares.parts[i].low)
    both = central_interval(1 - parts[:, known])
    if widest <= ALIKE_WIDTH or both.high - both.low > ALIKE_PART * widest:
        return []
    one, other = (name for i, name in enumerate(LOSS_NAMES) if i != known)
    told = "{one} and {other} look alike in what was seen: together they took {both} of the energy"
    return [Note.of("losses_alike", told, one=one, other=other, both=Amount(both.scaled(100.0), "%"))]


def _doubts(fit: LawFit, draws: Draws, end: float, *, followed: bool) -> list[Note]:
    """Where the speed itself is uncertain, friction rises towards rest, or the law is not kept: residuals that are
    correlated.
    """
    notes = []
    worst = _unsure(fit, draws, end, followed=followed)
    if worst > SURE_SPEED:
        known = plain(100 * worst, "%", decimals=0)
        notes.append(Note.of("speed_unsure", "the speed is known only to {known} in places", known=known))
    if fit.law.stribeck:
        rises = "friction rises towards rest: what it takes counts as dry friction"
        notes.append(Note.of("friction_rises", rises))
    elif fit.correlation_length > len(fit.time_s) / CORRELATED_PART and len(fit.time_s) > LEAST_VALUES:
        apart = "the spool does not quite keep to dry friction, oil and air: intervals are widened for it"
        notes.append(Note.of("law_not_kept", apart))
    if float(time_between(fit.law, fit.start_rev_s, 0.0)) > HARDLY_SLOWED * (end - fit.start_s):
        notes.append(Note.of("hardly_slowed", "the spool hardly slowed while it was watched"))
    return notes


def _unsure(fit: LawFit, draws: Draws, end: float, *, followed: bool) -> float:
    """Half of the 90 % interval of speed over the speed, where that is widest; the last tenth left out.

    By the laws drawn, or by the phases themselves where speed was ``followed`` by them and they know better: laws with
    much dry friction, or with friction that rises towards rest, differ in what they blame, and hardly in speed.
    """
    when = np.linspace(fit.start_s, fit.start_s + CHECKED_PART * (end - fit.start_s), SPEED_CHECKS)
    speeds = speed_after(draws.law, draws.start_rev_s, (when - fit.start_s)[:, None])
    low, middle, high = np.quantile(speeds, [0.05, 0.5, 0.95], axis=1)
    half = (high - low) / 2
    if followed:
        half = np.minimum(half, NINETY * np.array([_slope_error(fit, moment) for moment in when]))
    return float(np.max(half / np.maximum(middle, SLOW_PART * fit.start_rev_s)))


def _slope_error(fit: LawFit, moment: float) -> float:
    """Standard error in rev/s of the slope of a line through the phases about ``moment``: noise and common errors."""
    near = np.abs(fit.time_s - moment) <= AROUND_S
    if near.sum() < LEAST_NEAR:
        return np.inf
    weight = 1 / fit.sigma[near] ** 2
    since = fit.time_s[near] - np.average(fit.time_s[near], weights=weight)
    lever = float(np.sum(weight * since**2))
    common = (weight * since) @ fit.common_errors[near] / lever
    return float(np.sqrt(max(fit.correlation_length, 1.0) / lever + np.sum(common**2)))
