"""The numbers of a reading, pull by pull or spin by spin: each with its interval, and how it was worked out."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.pull import PullResult
from levelwind.core.pull.model import Pull
from levelwind.core.quantities import NEWTONS_PER, Quantity, forces_in, in_words
from levelwind.core.spin import SpinResult
from levelwind.core.spin.law import Law, time_between
from levelwind.core.spin.model import Losses, Spin
from levelwind.core.spin.report import TERMS, meaning
from levelwind.shop.models import Reading
from levelwind.shop.selectors.readings import TYPED


@dataclass(frozen=True, slots=True)
class Number:
    """One number with its unit, or words where there is none."""

    name: str
    value: Quantity | None
    unit: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Share:
    """What part of the loss went into one thing, in per cent, and the loss itself."""

    name: str
    percent: Quantity
    loss: Quantity
    unit: str

    @property
    def bar(self) -> int:
        return round(self.percent.value)


@dataclass(frozen=True, slots=True)
class Step:
    """One line of "How was this worked out?": what, by which formula, with this reel's own values."""

    what: str
    formula: str


@dataclass(frozen=True, slots=True)
class Found:
    """All that one pull or one spin says."""

    name: str
    meaning: str
    numbers: tuple[Number, ...]
    shares: tuple[Share, ...] = ()
    steps: tuple[Step, ...] = ()
    cautions: tuple[str, ...] = ()


def found_in(reading: Reading, unit: str) -> tuple[Found, ...]:
    """One for each pull or spin. ``unit``: the shop's unit of force."""
    analysis: Mapping[str, Any] = reading.analysis
    if not reading.gives_number:
        return ()
    if reading.kind == "pull":
        pulls = PullResult.from_dict(analysis).pulls
        return tuple(_pull(pull, unit, _name("Pull", n, len(pulls)), analysis) for n, pull in enumerate(pulls, 1))
    if reading.kind == "spin":
        spins = SpinResult.from_dict(analysis).spins
        return tuple(_spin(spin, _name("Spin", n, len(spins))) for n, spin in enumerate(spins, 1))
    key, name, si = TYPED[reading.kind]
    return (Found("", "", (Number(name, Quantity(**analysis[key]), si),)),)


def _name(what: str, number: int, count: int) -> str:
    return f"{what} {number}" if count > 1 else ""


def _pull(pull: Pull, unit: str, name: str, analysis: Mapping[str, Any]) -> Found:
    per = 1 / NEWTONS_PER[unit]
    wobble = pull.wobble_N.scaled(per) if pull.wobble_N else None
    typed = pull.start_s is None
    numbers = (
        Number("Breakaway, as it lets go", pull.breakaway_N.scaled(per), unit),
        Number("Running drag, as it slips", pull.running_N.scaled(per), unit),
        Number("Start-up ratio", pull.startup_ratio),
        Number("Wobble once a turn, either side", wobble, unit, "not told" if typed else "nothing stands out"),
        Number("Stick-slip", None, "", _sticking(pull)),
        Number("Fade over the pull", pull.fade_percent, "%", "not told"),
    )
    steps = () if typed else _pull_steps(pull, unit, analysis)
    cautions = tuple(forces_in(unit, caution) for caution in pull.cautions)
    return Found(name, _pull_meaning(pull), numbers, (), steps, cautions)


def _sticking(pull: Pull) -> str:
    if pull.start_s is None:
        return "not told"
    if not pull.stick_slip:
        return "none seen"
    return f"yes, {pull.stick_slip_hz:.1f} times a second" if pull.stick_slip_hz else "yes"


def _pull_meaning(pull: Pull) -> str:
    """In the trade's words, no more than the interval bears."""
    ratio = pull.startup_ratio
    if pull.stick_slip:
        return "it catches and lets go again and again: stick-slip"
    if ratio.low <= 1.0:
        return "whether it takes more to start than to run cannot be told"
    return f"it takes {100 * (ratio.value - 1):.0f} % more to start than to run"


def _pull_steps(pull: Pull, unit: str, analysis: Mapping[str, Any]) -> tuple[Step, ...]:
    per = 1 / NEWTONS_PER[unit]
    broke, ran = (in_words(each.scaled(per), unit).partition(" (")[0] for each in (pull.breakaway_N, pull.running_N))
    rate = analysis.get("sample_hz")
    seen = f" The scale spoke {rate:.0f} times a second" if rate else " The scale spoke seldom"
    steps = [
        Step(
            "Breakaway",
            f"the top of the straight ramp before the line fell back: {broke}.{seen}: the peak itself lies between two "
            "of its readings, so every moment and every smoothing that fits the readings near it was weighed.",
        ),
        Step(
            "Running drag", f"the middle of the force over the steady slip, what the slack line read taken off: {ran}."
        ),
        Step("Start-up ratio", f"breakaway ÷ running drag = {broke} ÷ {ran} = {pull.startup_ratio.value:.2f}"),
    ]
    if pull.wobble_N:
        half = in_words(pull.wobble_N.scaled(per), unit).partition(" (")[0]
        every = f" every {pull.wobble_period_s:.2f} s" if pull.wobble_period_s else ""
        steps.append(Step("Wobble", f"half of peak to trough of what comes round once a turn{every}: {half}"))
    if pull.fade_percent:
        lost = pull.fade_percent.value
        steps.append(Step("Fade", f"100 × (drag at the start − drag at the end) ÷ drag at the start = {lost:.1f} %"))
    return tuple(steps)


def _spin(spin: Spin, name: str) -> Found:
    known = spin.start_s is not None
    numbers = (
        Number("Free spin, to rest", spin.spin_time_s, "s", "not told"),
        Number("First speed", spin.initial_rev_s, "rev/s", "not told"),
    )
    shown = numbers if known else numbers[:1]
    return Found(name, meaning(spin), shown, _shares(spin), _spin_steps(spin), spin.cautions)


def _shares(spin: Spin) -> tuple[Share, ...]:
    if not (spin.energy_share and spin.losses):
        return ()
    units = ("rev/s²", "per s", "per rev")
    rows = zip(TERMS, spin.energy_share.parts, _terms(spin.losses), units, strict=True)
    return tuple(Share(name, part.scaled(100), loss, unit) for name, part, loss, unit in rows)


def _terms(losses: Losses) -> tuple[Quantity, Quantity, Quantity]:
    return losses.dry_rev_s2, losses.oil_per_s, losses.air_per_rev


def _spin_steps(spin: Spin) -> tuple[Step, ...]:
    if not (spin.losses and spin.initial_rev_s):
        return ()
    a, b, c = (each.value for each in _terms(spin.losses))
    n = spin.initial_rev_s.value
    parts = (a, b * n, c * n * n)
    seen = f"; seen: {in_words(spin.spin_time_s, 's')}" if spin.spin_time_s else ""
    lasts = float(time_between(Law(a, b, c), n, 0.0)) if a > 0 else None
    steps = [
        Step(
            "What takes the speed away",
            f"dn/dt = −(dry + oil·n + air·n²) = −({a:.3g} + {b:.3g}·n + {c:.3g}·n²), n in rev/s",
        ),
        Step(
            "At the first speed",
            f"{a:.3g} + {b:.3g}·{n:.3g} + {c:.3g}·{n:.3g}² = {_sum(parts)} rev/s lost each second",
        ),
        Step("Shares", "of the energy lost while it was watched: ∫ term(n)·n dt ÷ ∫ (dry + oil·n + air·n²)·n dt"),
    ]
    if lasts is not None:
        steps.insert(2, Step("Time to rest", f"∫ dn ÷ (dry + oil·n + air·n²) from 0 to {n:.3g} = {lasts:.1f} s{seen}"))
    return tuple(steps)


def _sum(parts: tuple[float, ...]) -> str:
    return " + ".join(f"{part:.3g}" for part in parts) + f" = {sum(parts):.3g}"
