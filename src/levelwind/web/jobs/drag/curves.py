"""The drag page's curves: against the line drawn off, against what a hand sets, through a run, as a click passes."""

from dataclasses import dataclass

from levelwind.core.drag.rings import Floats
from levelwind.core.drag_system.click import ClickResult
from levelwind.core.drag_system.compute import DragResult
from levelwind.core.errors import LevelwindError
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.shop.drag.selectors.drags import JobDrag
from levelwind.shop.drag.selectors.pulls import Pulls, pull_made
from levelwind.web.jobs.drag.charts import Chart, chart


@dataclass(frozen=True, slots=True)
class Charts:
    """Drag against fill, against turns of the star, through a run; None where nothing can be drawn."""

    fill: Chart | None
    turns: Chart | None
    run: Chart | None
    heat: Chart | None


@dataclass(frozen=True, slots=True)
class AtLine:
    """What every chart of the tension at the line shares: shop units in a newton, upright axis, the line's strength."""

    per_N: float
    y_name: str
    levels: tuple[tuple[str, float], ...]

    def scaled(self, tension_N: Floats) -> list[float]:
        return _scaled(tension_N, self.per_N)


def charts(drag: JobDrag, old: DragResult | None, pulls: Pulls | None, unit: str) -> Charts:
    """In the shop's unit of force; without ``pulls`` the curve along the spool is not drawn."""
    per, strength = 1 / NEWTONS_PER[unit], drag.reel.line.strength_N
    at = AtLine(per, f"at the line, {unit}", (("the line's strength", strength * per),) if strength else ())
    return Charts(
        fill=None if pulls is None else _fill(drag, old, pulls, at),
        turns=_turns(drag.result, old, at),
        run=_run(drag.result, at),
        heat=_heat(drag.result),
    )


def click_chart(told: ClickResult) -> Chart:
    turned_deg, torque_Nm = told.over_teeth()
    return chart(
        "Torque at the spool as three teeth pass",
        turned_deg.tolist(),
        [("click", "plain", _scaled(torque_Nm, 1000))],
        x_name="spool turned, degrees",
        y_name="mN m",
        levels=[("mean", 1000 * told.turned.mean_Nm)],
    )


def _fill(drag: JobDrag, old: DragResult | None, pulls: Pulls, at: AtLine) -> Chart | None:
    line, spool = drag.result.line, drag.result.system.spool
    if line is None or spool is None:
        return None
    whole = spool.filled.length_m
    share = 1.0 if spool.known else 100 / whole
    curves = [("this stack", "plain", at.scaled(line.curve.tension_N))]
    if old is not None and old.line is not None:
        curves.append(("the old stack", "dashed", at.scaled(old.line.curve.tension_N)))
    return chart(
        "Drag, run in, as the spool empties",
        _scaled(whole - line.curve.left_m, share),
        curves,
        x_name="line drawn off, m" if spool.known else "line drawn off, %",
        band=(at.scaled(line.curve.low_N), at.scaled(line.curve.high_N)),
        dots=_dots(drag, pulls, whole, share, at.per_N),
        y_name=at.y_name,
        levels=at.levels,
    )


def _dots(drag: JobDrag, pulls: Pulls, whole_m: float, share: float, per: float) -> list[tuple[str, float, Quantity]]:
    """The pulls where they were made, with what the rod's guides would add to them, as the curve has it.

    One said to be made where there is no line is left out.
    """
    dots = []
    for moment, pull in pulls.items():
        try:
            made = pull_made(moment, drag.setup, drag.reel)
        except LevelwindError:
            continue
        past = ", past the guides" if made.spool.guides > 1 else ""
        if pull.running_N is not None:
            read = pull.running_N.scaled(made.spool.guides * per)
            dots.append((f"as {moment}{past}", (whole_m - made.left_m) * share, read))
    return dots


def _turns(result: DragResult, old: DragResult | None, at: AtLine) -> Chart | None:
    turns, tension = result.turns, result.turns_N
    if turns is None or tension is None:
        return None
    curves = [("this stack", "plain", at.scaled(tension.middle_N))]
    if old is not None and old.turns_N is not None:
        curves.append(("the old stack", "dashed", at.scaled(old.turns_N.middle_N)))
    return chart(
        f"Drag, spool full, against {'the angle of the lever' if turns.by_lever else 'turns of star or knob'}",
        turns.at.tolist(),
        curves,
        x_name="lever, degrees" if turns.by_lever else "turns from where the springs touch",
        band=(at.scaled(tension.low_N), at.scaled(tension.high_N)),
        marker=turns.here,
        y_name=at.y_name,
        levels=at.levels,
    )


def _run(result: DragResult, at: AtLine) -> Chart | None:
    run = result.run
    if run is None:
        return None
    warm, cold = ("as it warms", "plain", run.warm_N), ("if it stayed cool", "dashed", run.cold_N)
    curves = [(name, kind, at.scaled(tension)) for name, kind, tension in (warm, cold)]
    return chart(
        *("Drag through the run", run.out_m.tolist(), curves),
        x_name="line run out, m",
        y_name=at.y_name,
        levels=at.levels,
    )


def _heat(result: DragResult) -> Chart | None:
    run = result.run
    if run is None:
        return None
    name = run.told.warming.hottest[0]
    curves = [(name, "plain", run.hottest_C.tolist())]
    return chart(f"Temperature of the {name}", run.out_m.tolist(), curves, x_name="line run out, m", y_name="°C")


def _scaled(values: Floats, by: float) -> list[float]:
    return [float(value) * by for value in values]
