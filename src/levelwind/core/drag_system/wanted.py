"""What a stack from the shelf must do to take the place of the one computed."""

from levelwind.core.drag.families import BY_TIPPET
from levelwind.core.drag.search import Wanted
from levelwind.core.drag_system.compute import DragResult
from levelwind.core.errors import NotDeterminedError

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
        raise NotDeterminedError(f"Say first how strong the {what} is, and measure the spool: the drag wanted follows.")
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
