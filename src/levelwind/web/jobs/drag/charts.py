"""The drag's charts: against the line drawn off, against what a hand sets, through a run, as a click passes."""

from collections.abc import Sequence
from dataclasses import dataclass

from levelwind.core.drag.rings import Floats
from levelwind.core.drag_system.click import ClickResult
from levelwind.core.drag_system.compute import DragResult
from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Axis, Band, Figure, Line, Marker
from levelwind.core.quantities import NEWTONS_PER, with_figures
from levelwind.shop.drag.selectors.drags import JobDrag
from levelwind.shop.drag.selectors.pulls import Pulls, pull_made

Values = Sequence[float]

FAR_ABOVE = 1.6
"""A limit beyond so many times everything else is left out, so that the curves are not pressed flat. Our choice."""


@dataclass(frozen=True, slots=True)
class Charts:
    """Drag against fill, against turns of the star, through a run; None where nothing can be drawn."""

    fill: Figure | None
    turns: Figure | None
    run: Figure | None
    heat: Figure | None


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


def click_chart(click: ClickResult) -> Figure:
    turned_deg, torque_Nm = click.over_teeth()
    return _chart(
        "Torque at the spool as three teeth pass",
        turned_deg.tolist(),
        [("click", "computed", _scaled(torque_Nm, 1000))],
        x_name="spool turned, degrees",
        y_name="mN m",
        levels=[("mean", 1000 * click.turned.mean_Nm)],
    )


def _fill(drag: JobDrag, old: DragResult | None, pulls: Pulls, at: AtLine) -> Figure | None:
    line, spool = drag.result.line, drag.result.system.spool
    if line is None or spool is None:
        return None
    whole = spool.filled.length_m
    share = 1.0 if spool.known else 100 / whole
    curves = [("this stack", "computed", at.scaled(line.curve.tension_N))]
    if old is not None and old.line is not None:
        curves.append(("the old stack", "as-found", at.scaled(old.line.curve.tension_N)))
    return _chart(
        "Drag, run in, as the spool empties",
        _scaled(whole - line.curve.left_m, share),
        curves,
        x_name="line drawn off, m" if spool.known else "line drawn off, %",
        band=(at.scaled(line.curve.low_N), at.scaled(line.curve.high_N)),
        pulls=_marked(drag, pulls, whole, share, at.per_N),
        y_name=at.y_name,
        levels=at.levels,
    )


def _marked(drag: JobDrag, pulls: Pulls, whole_m: float, share: float, per: float) -> list[Marker]:
    """The pulls where they were made, with what the rod's guides would add to them, as the curve has it.

    One said to be made where there is no line is left out.
    """
    markers = []
    for moment, pull in pulls.items():
        try:
            made = pull_made(moment, drag.setup, drag.reel)
        except LevelwindError:
            continue
        if pull.running_N is not None:
            read, at = pull.running_N.scaled(made.spool.guides * per), (whole_m - made.left_m) * share
            words = f"pull as {moment}{', past the guides' if made.spool.guides > 1 else ''}"
            markers.append(Marker("pull", at, read.value, words, role=f"as-{moment}", range_=(read.low, read.high)))
    return markers


def _turns(result: DragResult, old: DragResult | None, at: AtLine) -> Figure | None:
    turns, tension = result.turns, result.turns_N
    if turns is None or tension is None:
        return None
    curves = [("this stack", "computed", at.scaled(tension.middle_N))]
    if old is not None and old.turns_N is not None:
        curves.append(("the old stack", "as-found", at.scaled(old.turns_N.middle_N)))
    return _chart(
        f"Drag, spool full, against {'the angle of the lever' if turns.by_lever else 'turns of star or knob'}",
        turns.at.tolist(),
        curves,
        x_name="lever, degrees" if turns.by_lever else "turns from where the springs touch",
        band=(at.scaled(tension.low_N), at.scaled(tension.high_N)),
        marker=turns.here,
        y_name=at.y_name,
        levels=at.levels,
    )


def _run(result: DragResult, at: AtLine) -> Figure | None:
    run = result.run
    if run is None:
        return None
    warm, cold = ("as it warms", "computed", run.warm_N), ("if it stayed cool", "supposed", run.cold_N)
    curves = [(name, role, at.scaled(tension)) for name, role, tension in (warm, cold)]
    return _chart(
        *("Drag through the run", run.out_m.tolist(), curves),
        x_name="line run out, m",
        y_name=at.y_name,
        levels=at.levels,
    )


def _heat(result: DragResult) -> Figure | None:
    run = result.run
    if run is None:
        return None
    name = run.report.warming.hottest[0]
    curves = [(name, "computed", run.hottest_C.tolist())]
    return _chart(f"Temperature of the {name}", run.out_m.tolist(), curves, x_name="line run out, m", y_name="°C")


def _scaled(values: Floats, by: float) -> list[float]:
    return [float(value) * by for value in values]


def _chart(
    title: str,
    xs: Values,
    curves: Sequence[tuple[str, str, Values]],
    *,
    x_name: str,
    y_name: str,
    band: tuple[Values, Values] | None = None,
    levels: Sequence[tuple[str, float]] = (),
    pulls: Sequence[Marker] = (),
    marker: float | None = None,
) -> Figure:
    """From nothing up; curves are (name, role, values) and ``band`` low and high ends over the same xs.

    A lone curve is what the title says, and needs no name in the key. ``marker``: where along it the drag is set.
    """
    lines = [
        Line(role, list(zip(xs, values, strict=True)), name if len(curves) > 1 else "") for name, role, values in curves
    ]
    tops = [max(values) for _, _, values in curves] + [pull.range_[1] for pull in pulls if pull.range_]
    reach = max([*tops, *(band[1] if band else ())])
    shown = [(name, value) for name, value in levels if value <= FAR_ABOVE * reach]
    x = Axis.along(x_name, [0.0, *xs, *(pull.x for pull in pulls)])
    y = Axis.upright(y_name, [0.0, reach, *(value for _, value in shown)])
    lines += [Line("limit", ((x.low, value), (x.high, value)), name) for name, value in shown]
    if marker is not None and marker <= x.high:
        lines.append(Line("here", ((marker, y.low), (marker, y.high)), "as it is set"))
    ends = [list(zip(xs, values, strict=True)) for values in band or ()]
    first = curves[0][2]
    return Figure(
        f"{title}: from {_at(first[0], xs[0])} to {_at(first[-1], xs[-1])} ({x_name}; {y_name})."
        + "".join(f" {pull.words}: {_at(pull.y, pull.x)}." for pull in pulls),
        x,
        y,
        tuple(lines),
        bands=(Band("computed", *ends),) if band else (),
        markers=tuple(pulls),
        title=title,
    )


def _at(y: float, x: float) -> str:
    return f"{with_figures(y, 3)} at {with_figures(x, 3)}"
