"""What the drag page shows of a reckoned stack, in the shop's unit of force, with its charts."""

from collections.abc import Sequence
from dataclasses import dataclass

from levelwind.core.drag.chain import runs, sides
from levelwind.core.drag.model import Kind, Stack
from levelwind.core.errors import LevelwindError
from levelwind.core.line import STRIKE_SHARES
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.reference.lines import line_classes
from levelwind.shop.models import DragPlan, Job
from levelwind.shop.selectors.drag_choices import Pulled, ShelfChoice, friction_from_pull
from levelwind.shop.selectors.drag_plans import plan_found, standard_stack
from levelwind.shop.selectors.drag_sections import Sections, sections
from levelwind.shop.selectors.drag_setup import Setup
from levelwind.shop.selectors.drags import Reckoning, reckon
from levelwind.shop.selectors.readings import Pair, readings_of
from levelwind.shop.selectors.shops import shop_get
from levelwind.web.jobs.drag_charts import Chart, chart


@dataclass(frozen=True, slots=True)
class FillLine:
    """Line tension at one fill, with the old stack's beside it."""

    name: str
    left_m: float
    radius_mm: float
    new: Quantity
    run_in: Quantity
    share: float | None
    old: Quantity | None


@dataclass(frozen=True, slots=True)
class SettingLine:
    """The setting at the strike for the line, what it becomes near the arbor, and the clamp force that gives it."""

    strength: Quantity
    strike: Quantity
    near_bare: Quantity
    near_bare_share: float
    clamp_N: Quantity | None


@dataclass(frozen=True, slots=True)
class ClassLine:
    """The setting at the strike for one line class, and the clamp force that gives it with this stack."""

    rating_lb: float
    class_kg: float
    strike: Quantity
    clamp_N: Quantity


@dataclass(frozen=True, slots=True)
class Charts:
    """Drag against fill, against turns of the star, through a run; None where nothing can be drawn."""

    fill: Chart | None
    turns: Chart | None
    run: Chart | None
    heat: Chart | None


@dataclass(frozen=True, slots=True)
class Figures:
    """All that is told of one stack."""

    reckoning: Reckoning
    unit: str
    fills: tuple[FillLine, ...]
    parts_at_left_m: float | None
    setting: SettingLine | None
    classes: tuple[ClassLine, ...]
    old: Reckoning | None
    order_words: str
    readings: tuple[Pair, ...]
    pulled: Pulled | None
    pulled_lacks: str
    sections: Sections
    step: float | None
    charts: Charts


@dataclass(frozen=True, slots=True)
class Choices:
    """What the shelf allows, or why it cannot be told."""

    found: tuple[ShelfChoice, ...]
    lacks: str


def figures(job: Job, plan: DragPlan | None, reckoning: Reckoning) -> Figures:
    unit = shop_get().force_unit
    per = 1 / NEWTONS_PER[unit]
    old_stack = plan_found(plan)
    old = _old(old_stack, reckoning)
    told = sections(reckoning, height_of(job, plan, reckoning))
    pulled, lacks = _pulled(job, old or reckoning)
    return Figures(
        reckoning=reckoning,
        unit=unit,
        fills=_fills(reckoning, old, per),
        parts_at_left_m=reckoning.line.parts_at_left_m if reckoning.line else None,
        setting=_setting(reckoning, per),
        classes=_classes(reckoning, per),
        old=old,
        order_words=_order_words(reckoning),
        readings=tuple(pair for pair in readings_of(job, unit).pairs if pair.found and pair.unit == unit),
        pulled=pulled,
        pulled_lacks=lacks,
        sections=told,
        step=told.turns.step_N * per if told.turns and told.turns.step_N else None,
        charts=_charts(reckoning, old, told, unit, per),
    )


def height_of(job: Job, plan: DragPlan | None, reckoning: Reckoning) -> Stack:
    """The stack whose height the star is used to: the one found, else the pattern's."""
    assert job.pattern is not None
    try:
        return plan_found(plan) or standard_stack(job.pattern)
    except LevelwindError:
        return reckoning.stack


def _old(stack: Stack | None, reckoning: Reckoning) -> Reckoning | None:
    """The old stack under the same clamp and line, its friction as the tables have it."""
    if stack is None:
        return None
    try:
        return reckon(stack=stack, setup=Setup(numbers=reckoning.setup.numbers), reel=reckoning.reel)
    except LevelwindError:
        return None


def _pulled(job: Job, reckoning: Reckoning) -> tuple[Pulled | None, str]:
    running = [pair.found for pair in readings_of(job, "N").pairs if pair.name == "Running drag"]
    if not running or running[0] is None:
        return None, "There is no pull as found yet."
    try:
        return friction_from_pull(reckoning, running[0]), ""
    except LevelwindError as refusal:
        return None, str(refusal)


def _fills(reckoning: Reckoning, old: Reckoning | None, per: float) -> tuple[FillLine, ...]:
    before = {fill.name: fill.run_in_N.scaled(per) for fill in old.fills} if old else {}
    return tuple(
        FillLine(
            name=fill.name,
            left_m=fill.left_m,
            radius_mm=fill.radius_mm,
            new=fill.new_N.scaled(per),
            run_in=fill.run_in_N.scaled(per),
            share=fill.share,
            old=before.get(fill.name),
        )
        for fill in reckoning.fills
    )


def _setting(reckoning: Reckoning, per: float) -> SettingLine | None:
    line = reckoning.line
    if line is None or line.setting is None:
        return None
    found, per_N = line.setting, _tension_per_N(reckoning)
    clamp = _between([end / per_N for end in found.strike_N]) if per_N else None
    return SettingLine(
        strength=Quantity.exact(round(found.strength_N * per, 1)),
        strike=_between(found.strike_N).scaled(per),
        near_bare=_between(found.near_bare_N).scaled(per),
        near_bare_share=found.near_bare_share,
        clamp_N=clamp,
    )


def _tension_per_N(reckoning: Reckoning) -> float:
    """Line tension, spool full and run in, for one newton of clamp force."""
    line = reckoning.line
    assert line is not None
    at_spool = reckoning.per_newton_Nm * reckoning.spool_per_drag.value
    return at_spool * line.guides * 1000 / line.fills[0].radius_mm


def _classes(reckoning: Reckoning, per: float) -> tuple[ClassLine, ...]:
    """Every line class with its setting; none while the spool is not measured or nothing slips."""
    per_N = _tension_per_N(reckoning) if reckoning.line else 0.0
    if not per_N:
        return ()
    rows = []
    for one in line_classes():
        strike = _between([share * one.most_N for share in STRIKE_SHARES])
        rows.append(ClassLine(one.rating_lb, one.class_kg, strike.scaled(per), strike.scaled(1 / per_N)))
    return tuple(rows)


def _between(ends: Sequence[float]) -> Quantity:
    return Quantity((ends[0] + ends[1]) / 2, ends[0], ends[1])


def _order_words(reckoning: Reckoning) -> str:
    """What a wrong order costs and why, in a few sentences; nothing where the order is right."""
    order, bodies = reckoning.order, reckoning.stack.bodies
    if order is None or order.share_lost < 0.005:
        return ""
    said = [f"In this order {order.share_lost:.0%} of the drag is lost.".replace("%", " %")]
    idle = [bodies[place].name for place in reckoning.torque.idle]
    if idle:
        said.append(f"{', '.join(idle)}: {'carries' if len(idle) == 1 else 'carry'} nothing here.")
    for run in runs(sides(reckoning.stack)):
        between = [body.name for body in bodies[run.first + 1 : run.last + 1] if body.kind is Kind.FRICTION]
        if run.carries and len(between) > 1:
            said.append(f"{' and '.join(between)} lie between the same two plates: only one of their faces slips.")
    return " ".join(sentence[:1].upper() + sentence[1:] for sentence in said)


def _charts(reckoning: Reckoning, old: Reckoning | None, told: Sections, unit: str, per: float) -> Charts:
    y_name = f"at the line, {unit}"
    strength = reckoning.reel.strength_N
    levels = [("the line's strength", strength * per)] if strength else []
    return Charts(
        fill=_fill_chart(reckoning, old, y_name, levels, per),
        turns=_turns_chart(told, y_name, levels, per),
        run=_run_chart(told, y_name, levels, per),
        heat=_heat_chart(told),
    )


def _fill_chart(
    reckoning: Reckoning, old: Reckoning | None, y_name: str, levels: list[tuple[str, float]], per: float
) -> Chart | None:
    line = reckoning.line
    if line is None:
        return None
    curve, known = line.curve, reckoning.reel.line_known
    out = [(line.filled.length_m - left) * (1.0 if known else 100 / line.filled.length_m) for left in curve.left_m]
    curves = [("this stack", "plain", [float(v) * per for v in curve.tension_N])]
    if old is not None and old.line is not None:
        curves.append(("the old stack", "dashed", [float(v) * per for v in old.line.curve.tension_N]))
    band = ([float(v) * per for v in curve.low_N], [float(v) * per for v in curve.high_N])
    x_name = "line drawn off, m" if known else "line drawn off, %"
    return chart(
        "Drag, run in, as the spool empties", out, curves, x_name=x_name, y_name=y_name, band=band, levels=levels
    )


def _turns_chart(told: Sections, y_name: str, levels: list[tuple[str, float]], per: float) -> Chart | None:
    if told.turns is None:
        return None
    found = told.turns
    return chart(
        "Drag, spool full, against turns of star or knob",
        found.turns.tolist(),
        [("drag", "plain", (found.tension_N * per).tolist())],
        x_name="turns from where the springs touch",
        y_name=y_name,
        band=((found.low_N * per).tolist(), (found.high_N * per).tolist()),
        levels=levels,
        marker=found.here,
    )


def _run_chart(told: Sections, y_name: str, levels: list[tuple[str, float]], per: float) -> Chart | None:
    if told.run is None:
        return None
    return chart(
        "Drag through the run",
        told.run.out_m.tolist(),
        [
            ("as it warms", "plain", (told.run.warm_N * per).tolist()),
            ("if it stayed cool", "dashed", (told.run.cold_N * per).tolist()),
        ],
        x_name="line run out, m",
        y_name=y_name,
        levels=levels,
    )


def _heat_chart(told: Sections) -> Chart | None:
    if told.run is None:
        return None
    name = told.run.told.warming.hottest[0]
    curves = [(name, "plain", told.run.hottest_C.tolist())]
    title = f"Temperature of the {name}"
    return chart(title, told.run.out_m.tolist(), curves, x_name="line run out, m", y_name="°C")
