"""A spool held by its click alone: what its pull comes to at the line."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.click import Click, Ripple, ripple
from levelwind.core.drag.rings import Floats
from levelwind.core.drag_system.model import LoadedSpool
from levelwind.core.line import LineReport, fill_curve, line_report

TEETH = 3
"""Teeth drawn: enough to see that it comes again. Our choice."""


@dataclass(frozen=True, slots=True)
class ClickResult:
    """A click's torque over one tooth, and line tension at its mean; None while the spool is not measured."""

    click: Click
    turned: Ripple
    line: LineReport | None

    @property
    def ends_N(self) -> tuple[tuple[float, float], ...]:
        """Line tension in N on average and at the top of each click: spool full, then near empty."""
        rows = (self.line.rows[0], self.line.rows[-1]) if self.line else ()
        steep = self.turned.peak_Nm / self.turned.mean_Nm
        return tuple((row.tension_N.value, row.tension_N.value * steep) for row in rows)

    def over_teeth(self) -> tuple[Floats, Floats]:
        """Degrees the spool has turned and torque in N m, by the corners of a few teeth, each of shape (corners,)."""
        pitch = 360 / self.click.teeth
        starts = np.repeat(np.arange(TEETH) * pitch, len(self.turned.angle_rad))
        return starts + np.tile(np.degrees(self.turned.angle_rad), TEETH), np.tile(self.turned.torque_Nm, TEETH)


def compute_click(click: Click, spool: LoadedSpool | None) -> ClickResult:
    """The click's torque, and its mean at the line past all that ``spool`` says."""
    turned = ripple(click)
    if spool is None:
        return ClickResult(click, turned, None)
    curve = fill_curve(spool.filled, turned.mean_Nm, guides=spool.past)
    return ClickResult(click, turned, line_report(spool.filled, curve, turned.mean_Nm, spool.past))
