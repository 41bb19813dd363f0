"""The numbers of a reading, pull by pull or spin by spin: each with its interval, and how it was worked out."""

from dataclasses import dataclass
from math import hypot

from levelwind.core.pull import PullResult
from levelwind.core.pull.model import Pull
from levelwind.core.pull.report import average
from levelwind.core.pull.typed import BY_EYE, PEAK_HIGH, PEAK_LOW
from levelwind.core.quantities import NEWTONS_PER, Quantity, Shown, in_words, shown_parts, value_in_words, whole
from levelwind.core.spin import SpinResult
from levelwind.core.spin.law import Law, time_between
from levelwind.core.spin.model import LOSS_NAMES, LOSS_UNITS, Spin
from levelwind.core.spin.report import meaning
from levelwind.core.spin.typed import CREEP_S, REACTION_S
from levelwind.core.writing import read_back, written
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.readings import TYPED
from levelwind.shop.readings.selectors.stored import gauged, pull_result, spin_result
from levelwind.shop.readings.services.readings import CALIPER_MM, TURN_SHARE

BREAKAWAY, RUNNING, RATIO = "Breakaway, as it lets go", "Running drag, as it slips", "Start-up ratio"


def _by_watch() -> str:
    flick, creep, both = map(written, (REACTION_S, CREEP_S, round(hypot(REACTION_S, REACTION_S, CREEP_S), 1)))
    return (
        f"the watch’s seconds ± √(2·{flick}² + {creep}²) = ± {both} s: "
        f"a thumb is {flick} s late at each end, and a spool may creep {creep} s before an eye calls it at rest."
    )


def _by_hand(kind: str) -> str:
    """How the range of a typed number comes about."""
    if kind == "turn":
        share = written(100 * TURN_SHARE)
        return f"the scale’s reading × the handle’s length, ± {share} %: so close is a scale on a knob."
    off = written(CALIPER_MM)
    return f"as typed, ± {off} mm: so far two measurements with a dial or a feeler gauge lie apart."


@dataclass(frozen=True, slots=True)
class Number:
    """One number with its unit, or words where there is none; ``reported``: whether those words are a finding."""

    name: str
    value: Quantity | None
    unit: str = ""
    words: str = "not told"
    reported: bool = False


@dataclass(frozen=True, slots=True)
class Share:
    """What part of the loss went into one thing, in per cent, and the loss itself."""

    name: str
    percent: Quantity
    told: Shown
    """The percent as shown: all of them add up to 100."""
    loss: Quantity
    unit: str

    @property
    def bar(self) -> int:
        return whole(self.percent.value)


@dataclass(frozen=True, slots=True)
class Step:
    """One line of "How was this worked out?": what, by which formula, with this reel's own values."""

    what: str
    formula: str


@dataclass(frozen=True, slots=True)
class Found:
    """All that one pull or one spin says, or all of them together; ``line`` is what stands where it is folded away."""

    name: str
    meaning: str
    numbers: tuple[Number, ...]
    shares: tuple[Share, ...] = ()
    steps: tuple[Step, ...] = ()
    cautions: tuple[str, ...] = ()
    line: str = ""


def found_in(reading: Reading, unit: str) -> tuple[Found, ...]:
    """What counts, then, folded, each of several pulls and every other spin. ``unit``: the shop's unit of force."""
    if not reading.gives_number:
        return ()
    if reading.kind == "pull":
        return _pulls(pull_result(reading), unit)
    if reading.kind == "spin":
        return _spins(spin_result(reading))
    name, si = TYPED[reading.kind]
    return (Found("", "", (Number(name, gauged(reading), si),), steps=(Step(name, _by_hand(reading.kind)),)),)


def _pulls(result: PullResult, unit: str) -> tuple[Found, ...]:
    if len(result.pulls) == 1:
        return (_pull(result.pulls[0], unit, result.sample_hz),)
    each = (_pull(pull, unit, result.sample_hz, f"Pull {n}") for n, pull in enumerate(result.pulls, 1))
    return (_together(result, unit), *each)


def _together(result: PullResult, unit: str) -> Found:
    """The averages that the list of readings and the proof sheet show too."""
    per, count = 1 / NEWTONS_PER[unit], len(result.pulls)
    ratio = average(result, "startup_ratio")
    sticking = sum(pull.stick_slip is True for pull in result.pulls)
    numbers = (
        Number(BREAKAWAY, average(result, "breakaway_N").scaled(per), unit),
        Number(RUNNING, average(result, "running_N").scaled(per), unit),
        Number(RATIO, ratio),
        Number("Stick-slip", None, words=_in_how_many(result), reported=_in_how_many(result) != "not told"),
    )
    how = f"the sum over the {count} pulls ÷ {count}; the range is no narrower than their disagreement allows."
    return Found(f"All {count} pulls", _meaning(ratio, bool(sticking)), numbers, steps=(Step("Averages", how),))


def _in_how_many(result: PullResult) -> str:
    told = [pull.stick_slip for pull in result.pulls]
    if any(told):
        return f"in {told.count(True)} of {len(told)}"
    return "none seen" if False in told else "not told"


def _pull(pull: Pull, unit: str, sample_hz: float | None, name: str = "") -> Found:
    per = 1 / NEWTONS_PER[unit]
    wobble = pull.wobble_N.scaled(per) if pull.wobble_N else None
    typed = pull.start_s is None
    numbers = (
        Number(BREAKAWAY, pull.breakaway_N.scaled(per), unit),
        Number(RUNNING, pull.running_N.scaled(per), unit),
        Number(RATIO, pull.startup_ratio),
        Number("Wobble once a turn, either side", wobble, unit, *_no_wobble(pull)),
        Number("Stick-slip", None, "", _sticking(pull), reported=not typed and pull.stick_slip is not None),
        Number("Fade over the pull", pull.fade_percent, "%", _no_fade(pull)),
    )
    steps = _typed_steps(pull) if typed else _pull_steps(pull, unit, sample_hz)
    cautions = tuple(note.words(unit) for note in pull.cautions)
    broke, ran = (value_in_words(each.scaled(per), unit) for each in (pull.breakaway_N, pull.running_N))
    line = f"{broke} to start, {ran} to run" if name else ""
    return Found(name, _meaning(pull.startup_ratio, bool(pull.stick_slip)), numbers, (), steps, cautions, line)


def _no_wobble(pull: Pull) -> tuple[str, bool]:
    """What stands where no wobble is given, and whether that is a finding."""
    if pull.start_s is None:
        return "not told", False
    if pull.stick_slip:
        return "not told while it sticks", False
    if pull.wobble_period_s is None:
        return "not told: too few turns", False
    return "nothing stands out", True


def _no_fade(pull: Pull) -> str:
    return "not told while it sticks" if pull.stick_slip else "not told"


def _sticking(pull: Pull) -> str:
    if pull.start_s is None or pull.stick_slip is None:
        return "not told"
    if not pull.stick_slip:
        return "none seen"
    return f"yes, {_lone(pull.stick_slip_hz)} times a second" if pull.stick_slip_hz else "yes"


def _meaning(ratio: Quantity, sticks: bool) -> str:
    """In the trade's words, no more than the interval bears."""
    if sticks:
        return "it catches and lets go again and again: stick-slip"
    if ratio.high < 1.0:
        return f"it takes {value_in_words(_percent_more(ratio).scaled(-1.0), '%')} less to start than to run"
    if ratio.low <= 1.0:
        return "whether it takes more to start than to run cannot be told"
    return f"it takes {value_in_words(_percent_more(ratio), '%')} more to start than to run"


def _percent_more(ratio: Quantity) -> Quantity:
    return Quantity(*(100 * (each - 1) for each in (ratio.value, ratio.low, ratio.high)))


def _lone(value: float, unit: str = "") -> str:
    """A number without an interval."""
    return value_in_words(Quantity.exact(value), unit)


def _typed_steps(pull: Pull) -> tuple[Step, ...]:
    return (
        Step(
            "Breakaway",
            f"as typed; a display that holds its peak may have missed {100 * PEAK_HIGH:.0f} % of it, "
            f"or shown {100 * PEAK_LOW:.0f} % too much.",
        ),
        Step("Running drag", f"as typed; an eye on a wandering display may be {100 * BY_EYE:.0f} % out."),
        Step("Start-up ratio", f"breakaway ÷ running drag = {value_in_words(pull.startup_ratio)}"),
    )


def _pull_steps(pull: Pull, unit: str, sample_hz: float | None) -> tuple[Step, ...]:
    per = 1 / NEWTONS_PER[unit]
    broke, ran = (value_in_words(each.scaled(per), unit) for each in (pull.breakaway_N, pull.running_N))
    seen = f" The scale spoke {_lone(sample_hz)} times a second" if sample_hz else " The scale spoke seldom"
    steps = [
        Step(
            "Breakaway",
            f"the top of the straight ramp before the line fell back: {broke}.{seen}: the peak itself lies between two "
            "of its readings, so every moment and every smoothing that fits the readings near it was weighed.",
        ),
        Step(
            "Running drag",
            "the force half way through the slip, taken from where the start-up has died away, what the slack line "
            f"read taken off: {ran}.",
        ),
        Step("Start-up ratio", f"breakaway ÷ running drag = {broke} ÷ {ran} = {value_in_words(pull.startup_ratio)}"),
    ]
    if pull.wobble_N:
        half = value_in_words(pull.wobble_N.scaled(per), unit)
        every = f" every {_lone(pull.wobble_period_s, 's')}" if pull.wobble_period_s else ""
        steps.append(Step("Wobble", f"half of peak to trough of what comes round once a turn{every}: {half}"))
    if pull.fade_percent:
        lost = value_in_words(pull.fade_percent, "%")
        steps.append(Step("Fade", f"100 × (drag at the start − drag at the end) ÷ drag at the start = {lost}"))
    return tuple(steps)


def _spins(result: SpinResult) -> tuple[Found, ...]:
    """The longest first: it is the one that counts."""
    if len(result.spins) == 1:
        return (_spin(result.spins[0]),)
    counts = result.longest
    named = [(spin, f"Spin {n}") for n, spin in enumerate(result.spins, 1)]
    first = [_spin(spin, f"{name}, the longest: it counts") for spin, name in named if spin is counts]
    return (*first, *(_spin(spin, name, folded=True) for spin, name in named if spin is not counts))


def _spin(spin: Spin, name: str = "", folded: bool = False) -> Found:
    known = spin.start_s is not None
    numbers = (Number("Free spin, to rest", spin.spin_time_s, "s"), Number("First speed", spin.initial_rev_s, "rev/s"))
    shown = numbers if known else numbers[:1]
    steps = _spin_steps(spin) if known else (Step("Free spin", _by_watch()),)
    words = (f"{each.name.lower()} {value_in_words(each.value, each.unit)}" for each in shown if each.value)
    line = (", ".join(words) or "not told") if folded else ""
    return Found(name, meaning(spin).words, shown, _shares(spin), steps, tuple(map(str, spin.cautions)), line)


def _shares(spin: Spin) -> tuple[Share, ...]:
    if not (spin.energy_share and spin.losses):
        return ()
    shares = spin.energy_share
    rows = zip(LOSS_NAMES, shares.parts, shares.told, spin.losses.parts, LOSS_UNITS, strict=True)
    return tuple(Share(name, part.scaled(100), told, loss, unit) for name, part, told, loss, unit in rows)


def _spin_steps(spin: Spin) -> tuple[Step, ...]:
    if not (spin.losses and spin.initial_rev_s):
        return ()
    losses, first = spin.losses, spin.initial_rev_s
    dry, oil, air = (_bare(each, unit) for each, unit in zip(losses.parts, LOSS_UNITS, strict=True))
    n = _bare(first, "rev/s")
    power = losses.oil_power.value if losses.oil_power else 1.0
    curved = bool(losses.oil_power and power != 1.0)
    of_n = "n·(n/n₀)^(power − 1)" if curved else "n"
    by_n = f"n·(n/{n})^({value_in_words(losses.oil_power)} − 1)" if losses.oil_power and curved else "n"
    a, b, c = (each.value for each in losses.parts)
    lasts = (
        float(time_between(Law(a, b, c, power=power, reference_rev_s=first.value), first.value, 0.0)) if a > 0 else 0
    )
    steps = [
        Step(
            "What takes the speed away",
            f"dn/dt = −(dry + oil·{of_n} + air·n²) = −({dry} + {oil}·{by_n} + {air}·n²), n in rev/s",
        ),
        Step(
            "At the first speed",
            f"{dry} + {oil}·{n} + {air}·{n}² = {_lost_at(losses.parts, first.value)} rev/s lost each second",
        ),
        Step("Shares", "of the energy lost while it was watched: ∫ term(n)·n dt ÷ ∫ (all three)·n dt"),
    ]
    if lasts:
        steps.insert(2, Step("Time to rest", f"∫ dn ÷ (all three) from 0 to {n} = {_rests(spin, lasts)}"))
    return tuple(steps)


def _lost_at(parts: tuple[Quantity, ...], n: float) -> str:
    """The three terms at a speed, so rounded that they add up to their sum."""
    terms = [each.scaled(n**exponent) for exponent, each in enumerate(parts)]
    total = sum(each.value for each in terms)
    told = shown_parts(terms, "", total)
    whole = sum(read_back(each.value) for each in told)
    return f"{' + '.join(each.value for each in told)} = {written(whole, 'f')}"


def _rests(spin: Spin, lasts_s: float) -> str:
    """The law's own time to rest, with the figures of what was told beside it."""
    told = spin.spin_time_s
    by_law = Quantity(lasts_s, min(told.low, lasts_s), max(told.high, lasts_s)) if told else Quantity.exact(lasts_s)
    seen = f"; seen: {in_words(told, 's')}" if told else ""
    rising = spin.losses is not None and spin.losses.oil_power is not None
    return value_in_words(by_law, "s") + seen + ("; sooner where friction rises near rest" if rising else "")


def _bare(quantity: Quantity, unit: str) -> str:
    """The value without its unit, which stands elsewhere in the formula."""
    return value_in_words(quantity, unit).partition(" ")[0]
