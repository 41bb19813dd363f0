"""A spin in words."""

from dataclasses import dataclass
from math import erf, sqrt

from levelwind.core.fitting import NINETY
from levelwind.core.quantities import Quantity, in_words
from levelwind.core.spin.model import LOSS_NAMES, LOSS_UNITS, Spin, SpinResult

SOURCES = {"video": "film", "sound": "sound", "table": "table", "stopwatch": "stop-watch"}
"""What a person calls each source."""
MEANS = (
    "look for dirt, a dry bearing, a cap set too tight",
    "it is too much or too thick",
    "as free as it gets",
)
"""What follows if the largest loss is dry friction, oil or air (common practice, no source)."""
SURELY, LIKELY = 0.99, 0.8
"""Chance to be the largest from which a loss is named as the cause without its chance, and with it. Our choice."""
MOSTLY = 0.5
"""Share of the loss above which it is most of it."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a spin says of the spool, for its owner, and what to look for, for the bench."""

    says: str
    look_for: str = ""

    @property
    def words(self) -> str:
        return f"{self.says}: {self.look_for}" if self.look_for else self.says


def meaning(spin: Spin) -> Meaning:
    """What one result says of the spool, with the chance that it is so; no more than its intervals bear.

    The chance is that of the largest share being larger than the next, with normal errors that add up fully, as one's
    gain is the other's loss. Below ``LIKELY`` no loss is named as the cause.

    >>> from levelwind.core.spin.model import Shares
    >>> shares = Shares(Quantity(0.62, 0.55, 0.69), Quantity(0.28, 0.2, 0.35), Quantity(0.1, 0.05, 0.15))
    >>> meaning(Spin(0.5, 9.0, None, None, energy_share=shares)).words
    'mostly dry friction (62 %, 55 to 69): look for dirt, a dry bearing, a cap set too tight'
    """
    if not spin.energy_share:
        return Meaning(
            "these data cannot tell dry friction, oil and air apart",
            "film the spool until it rests, or record its sound",
        )
    shares = spin.energy_share.parts
    order = sorted(range(3), key=lambda i: -shares[i].value)
    first, second = (shares[i] for i in order[:2])
    chance = _leads(first, second)
    if chance < LIKELY:
        return Meaning("these data cannot tell which loss leads", f"{LOSS_NAMES[order[0]]} or {LOSS_NAMES[order[1]]}")
    name = LOSS_NAMES[order[0]]
    how = f"mostly {name}" if first.value > MOSTLY else f"{name} more than the others"
    sure = "" if chance > SURELY else f", chance {100 * chance:.0f} %"
    part = spin.energy_share.told[order[0]]
    return Meaning(f"{how} ({part.value}, {part.interval}{sure})", MEANS[order[0]])


def _leads(first: Quantity, second: Quantity) -> float:
    """The chance that one share is the larger."""
    spread = (first.high - first.low + second.high - second.low) / 2 / NINETY
    return 0.5 * (1 + erf((first.value - second.value) / max(spread, 1e-9) / sqrt(2)))


def as_text(result: SpinResult) -> str:
    """What the command line prints."""
    count = f"{len(result.spins)} spin" + ("s" if len(result.spins) != 1 else "")
    lines = [f"{count}, from {SOURCES[result.source]}"]
    lines += [f"  caution: {note}" for note in result.cautions]
    for number, spin in enumerate(result.spins, 1):
        lines += ["", f"spin {number}" + (f", {spin.start_s:.1f} to {spin.end_s:.1f} s" if spin.end_s else "")]
        lines += [f"  {name:<15}{words}" for name, words in rows(spin)]
        lines += [f"  {meaning(spin).words}"]
        lines += [f"  caution: {note}" for note in spin.cautions]
    lines += ["", *(f"asked: {q.words}" for q in result.questions)] if result.questions else []
    return "\n".join(lines)


def rows(spin: Spin) -> tuple[tuple[str, str], ...]:
    """Name and words of every number of a spin."""
    found = [
        ("first speed", in_words(spin.initial_rev_s, "rev/s") if spin.initial_rev_s else "not told"),
        ("spin time", in_words(spin.spin_time_s, "s") if spin.spin_time_s else "not told"),
    ]
    if spin.losses and spin.energy_share:
        shares = spin.energy_share.told
        for name, loss, share, unit in zip(LOSS_NAMES, spin.losses.parts, shares, LOSS_UNITS, strict=True):
            power = spin.losses.oil_power if loss is spin.losses.oil_per_s else None
            how = f", goes with the speed to the power {in_words(power, '')}" if power else ""
            found.append((name, f"{share.words} of the loss, {in_words(loss, unit)}{how}"))
    return tuple(found)
