"""What is wanted of a drag: the setting at the strike, the clamp force for it, and what a stack from the shelf does."""

from dataclasses import dataclass

from levelwind.core.drag.families import BY_TIPPET
from levelwind.core.drag.lever import Lever
from levelwind.core.drag.search import Wanted
from levelwind.core.drag_system.compute import DragResult
from levelwind.core.drag_system.model import HandTorque, KnobSpring
from levelwind.core.errors import NotDeterminedError
from levelwind.core.line import STRIKE_WORDS
from levelwind.core.notes import Amount, Note, newtons
from levelwind.core.quantities import Quantity

AT_THE_LIMIT_M = 1e-6
"""m, so much higher than what the star takes up still goes in: no caliper tells it. Our choice."""


def wanted_of(result: DragResult, height_m: float, lower_m: float, higher_m: float) -> Wanted:
    """The middle of the setting at the strike, within the height that the star takes up of ``height_m``.

    No stronger than what stands behind the drag bears, as far as any of that is measured. Raises NotDeterminedError
    while spool or strength of the line, or of a fly reel's tippet, are not known.
    """
    line = result.line
    if line is None or line.setting is None:
        what = "tippet" if result.system.drive.family in BY_TIPPET else "line"
        raise NotDeterminedError(
            f"Enter first how strong the {what} is, and measure the spool: the drag wanted follows."
        )
    per_drag = result.system.drive.spool_per_drag().value
    wanted_Nm = sum(line.setting.strike_N) / 2 / line.per_spool_Nm[0] / per_drag
    most_Nm = result.strength.first.at_spool_Nm().value / per_drag if result.strength else float("inf")
    return Wanted(
        height_m=(height_m - lower_m, height_m + higher_m + AT_THE_LIMIT_M),
        clamp_N=result.clamp_N.value,
        wanted_Nm=wanted_Nm,
        most_clamp_N=result.clamp_N.high,
        most_Nm=most_Nm,
    )


BY = {
    HandTorque: "a hand and this thread give",
    KnobSpring: "this knob and its spring give",
    Lever: "this lever gives",
}
"""What clamps at most, by what a hand moves."""


@dataclass(frozen=True, slots=True)
class ClampWanted:
    """The clamp force in N that gives a setting with this stack, and the most that what is told ``by`` gives."""

    clamp_N: Quantity
    most_N: float | None
    by: str

    @property
    def beyond(self) -> bool:
        """Whether even its low end is more than a hand gives."""
        return self.most_N is not None and self.clamp_N.low > self.most_N

    @property
    def words(self) -> Note:
        """
        >>> str(ClampWanted(Quantity(3764.0, 3240.0, 4280.0), 1710.0, BY[Lever]).words).partition(". ")[0]
        'This stack gives it at a clamp force of 3800 N (3200 to 4300): beyond the 1710 N that this lever gives at most'
        """
        clamp, said = Amount(self.clamp_N, "N"), "This stack gives it at a clamp force of {clamp}"
        if not (self.beyond and self.most_N):
            return Note.of("clamp_wanted", f"{said}.", clamp=clamp)
        most = newtons(self.most_N, decimals=0)
        why = (
            "beyond the {most} that {by} at most. More or wider washers, or a lining that holds more, give it with less"
        )
        return Note.of("clamp_beyond", f"{said}: {why}.", clamp=clamp, most=most, by=self.by)


def most_by_hand_N(result: DragResult) -> Quantity | None:
    """The most clamp force that a hand gives, in whole N; None where it is not known."""
    return None if result.most_clamp_N is None else Quantity.exact(round(result.most_clamp_N))


def clamp_wanted(result: DragResult, strike_N: Quantity) -> ClampWanted | None:
    """For a setting at the strike in N, spool full; None while the spool is not measured or nothing slips."""
    if result.line is None or not result.line.per_clamp_N:
        return None
    by = BY.get(type(result.system.hand), "")
    return ClampWanted(strike_N.scaled(1 / result.line.per_clamp_N), result.most_clamp_N, by)


def between(ends: tuple[float, float]) -> Quantity:
    """A band of common practice as a quantity about its middle.

    >>> between((33.0, 44.0))
    Quantity(value=38.5, low=33.0, high=44.0)
    """
    return Quantity(sum(ends) / 2, *ends)


def setting_words(result: DragResult) -> tuple[Note, ...]:
    """What to set for the line, or a fly reel's tippet, and with what clamp; nothing while strength is not known."""
    if result.line is None or result.line.setting is None:
        return ()
    found, what = result.line.setting, "tippet" if result.system.drive.family in BY_TIPPET else "line"
    strike, near = (Amount(between(ends), "N") for ends in (found.strike_N, found.near_bare_N))
    why = f"{STRIKE_WORDS} of its strength, common practice"
    words = f"For this {what} set {{strike}} at the strike ({why}); near empty that is {{near}}."
    clamp = clamp_wanted(result, between(found.strike_N))
    return Note.of("setting", words, strike=strike, near=near), *([clamp.words] if clamp else [])
