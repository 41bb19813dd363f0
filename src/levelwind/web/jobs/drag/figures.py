"""What the drag page shows of a reckoned stack, in the shop's unit of force, with its charts."""

from collections.abc import Container, Sequence
from dataclasses import dataclass, replace

from levelwind.core.drag.chain import runs, sides
from levelwind.core.drag.model import Body, Kind, Stack
from levelwind.core.drag.order import Order
from levelwind.core.errors import LevelwindError
from levelwind.core.line import STRIKE_SHARES
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.reference.lines import line_classes
from levelwind.shop.drag.selectors.choices import ShelfChoice
from levelwind.shop.drag.selectors.clicks import ClickSection, click_section
from levelwind.shop.drag.selectors.drags import FEW, MANY, Reckoning, Reel, reckon, rod_guides_of
from levelwind.shop.drag.selectors.friction import parts_laid, with_kept
from levelwind.shop.drag.selectors.plans import found_parts, plan_found, standard_stack
from levelwind.shop.drag.selectors.pulls import (
    Pulled,
    Pulls,
    friction_from_pull,
    pull_read,
    pulled_at,
    pulls_of,
)
from levelwind.shop.drag.selectors.sections import NAMES, Sections, sections
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.drag.selectors.turns import turns_section
from levelwind.shop.models import DragPlan, Job
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.readings import MOMENTS
from levelwind.web.jobs.drag.charts import Chart, chart

TOLD = ("fill", *NAMES, "pull", "click")
"""The folds under the stack, each with a template of its own."""

FOLDS = frozenset({*TOLD, "classes", "how"})
"""What of the page can be folded away, and then need not be computed."""

READ = {"Breakaway": "breakaway_N", "Running drag": "running_N"}


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
class ReadingLine:
    """What a pull on the scale gave, as found and as left."""

    name: str
    found: Quantity | None
    left: Quantity | None


@dataclass(frozen=True, slots=True)
class PulledLine:
    """What the pull of one moment says of the friction, or why it says nothing."""

    moment: str
    pulled: Pulled | None
    lacks: str


@dataclass(frozen=True, slots=True)
class LinkLine:
    """A part behind the drag, and where it starts to yield: at the spool, and at the line full and near empty."""

    name: str
    at_spool_Nm: Quantity
    full: Quantity
    near_empty: Quantity


@dataclass(frozen=True, slots=True)
class StrengthLines:
    """Parts from the weakest on, the most the drag is advised to be set to, and what else there is to say."""

    links: tuple[LinkLine, ...]
    most: float
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ClickLine:
    """A click drawn; mean and peak at the line, spool full and near empty; None while it is not measured."""

    told: ClickSection
    chart: Chart
    unit: str
    full: tuple[float, float] | None
    bare: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Figures:
    """All that is told of one stack, as far as it is shown: ``shown`` names the folds of the page that are open."""

    shown: Container[str]
    reckoning: Reckoning
    unit: str
    fills: tuple[FillLine, ...]
    parts_at_left_m: float | None
    setting: SettingLine | None
    classes: tuple[ClassLine, ...]
    old: Reckoning | None
    order_words: str
    readings: tuple[ReadingLine, ...]
    past_guides: float
    pulled: tuple[PulledLine, ...]
    sections: Sections
    step: float | None
    charts: Charts
    strength: StrengthLines | None
    click: ClickLine | None


@dataclass(frozen=True, slots=True)
class Choices:
    """What the shelf allows, or why it cannot be told."""

    found: tuple[ShelfChoice, ...]
    lacks: str


def figures(job: Job, plan: DragPlan | None, reckoning: Reckoning, shown: Container[str] = FOLDS) -> Figures:
    unit = shop_get().force_unit
    per = 1 / NEWTONS_PER[unit]
    old = _old(plan, reckoning, fills_for(shown))
    used_to = height_of(job, plan, reckoning) if "height" in shown else reckoning.stack
    told = sections(reckoning, used_to, [name for name in NAMES if name in shown])
    pulls = pulls_of(job)
    return Figures(
        shown=shown,
        reckoning=reckoning,
        unit=unit,
        fills=_fills(reckoning, old, per),
        parts_at_left_m=reckoning.line.parts_at_left_m if reckoning.line else None,
        setting=_setting(reckoning, per),
        classes=_classes(reckoning, per) if "classes" in shown else (),
        old=old,
        order_words=_order_words(reckoning),
        readings=reading_lines(pulls, unit),
        past_guides=rod_guides_of(reckoning.setup),
        pulled=_pulled(plan, reckoning, pulls) if "pull" in shown else (),
        sections=told,
        step=told.turns.step_N * per if told.turns and told.turns.step_N else None,
        charts=_charts(reckoning, old, told, unit, per, _fill_chart(reckoning, old, pulls, unit, per, shown)),
        strength=_strength(reckoning, told, per),
        click=click_line(reckoning.reel, reckoning.setup) if "click" in shown else None,
    )


def height_of(job: Job, plan: DragPlan | None, reckoning: Reckoning) -> Stack:
    """The stack whose height the star is used to: the one found, else the pattern's."""
    assert job.pattern is not None
    try:
        return plan_found(plan) or standard_stack(job.pattern)
    except LevelwindError:
        return reckoning.stack


def _strength(reckoning: Reckoning, told: Sections, per: float) -> StrengthLines | None:
    found, line = told.strength, reckoning.line
    if found is None or line is None:
        return None
    full, bare = (per * line.guides * 1000 / fill.radius_mm for fill in (line.fills[0], line.fills[-1]))
    spool = [(link.name, link.at_spool_Nm()) for link in found.links]
    links = tuple(LinkLine(name, torque, torque.scaled(full), torque.scaled(bare)) for name, torque in spool)
    return StrengthLines(links, found.most_spool_Nm * full, found.sentences[2:])


def click_line(reel: Reel, setup: Setup) -> ClickLine | None:
    """The click in the shop's unit of force; None in a reel that has none."""
    if reel.family.click is None:
        return None
    told, unit = click_section(reel, setup), shop_get().force_unit
    drawn = chart(
        "Torque at the spool as three teeth pass",
        told.turned_deg.tolist(),
        [("click", "plain", (1000 * told.torque_Nm).tolist())],
        x_name="spool turned, degrees",
        y_name="mN m",
        levels=[("mean", 1000 * told.mean_Nm)],
    )
    ends = told.per_torque or ()
    at_line = [(told.mean_Nm * per / NEWTONS_PER[unit], told.peak_Nm * per / NEWTONS_PER[unit]) for per in ends]
    return ClickLine(told, drawn, unit, *(at_line or (None, None)))


def fills_for(shown: Container[str]) -> int:
    """How many fills a curve has to have for what is shown."""
    return MANY if "fill" in shown else FEW


def _old(plan: DragPlan | None, reckoning: Reckoning, fills: int) -> Reckoning | None:
    """The old stack under the same clamp and line, its friction as kept for its parts, else as the tables have it."""
    stack, keys = plan_found(plan), found_parts(plan)
    if stack is None:
        return None
    setup = replace(reckoning.setup, parts=keys)
    try:
        stack = with_kept(stack, keys, parts_laid(keys))
        return reckon(stack=stack, setup=setup, reel=reckoning.reel, order=False, fills=fills)
    except LevelwindError:
        return None


def reading_lines(pulls: Pulls, unit: str) -> tuple[ReadingLine, ...]:
    """The pulls in a unit of force, as found and as left."""
    per = 1 / NEWTONS_PER[unit]

    def ends(field: str) -> list[Quantity | None]:
        pairs = (getattr(pulls.get(moment), field, None) for moment in MOMENTS)
        return [value.scaled(per) if value else None for value in pairs]

    lines = (ReadingLine(name, *ends(field)) for name, field in READ.items())
    return tuple(line for line in lines if line.found or line.left)


def _pulled(plan: DragPlan | None, reckoning: Reckoning, pulls: Pulls) -> tuple[PulledLine, ...]:
    """The pull as found always has its line, to say what is missing; the one as left only where there is one."""
    lines = []
    for moment in MOMENTS if "left" in pulls else ("found",):
        try:
            read = pull_read(plan, moment, reckoning.stack, reckoning.setup, pulls)
            lines.append(PulledLine(moment, friction_from_pull(read, reckoning.setup, reckoning.reel), ""))
        except LevelwindError as refusal:
            lines.append(PulledLine(moment, None, str(refusal)))
    return tuple(lines)


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
    said.append(_right_words(order, bodies))
    return " ".join(sentence[:1].upper() + sentence[1:] for sentence in said)


def _right_words(order: Order, bodies: Sequence[Body]) -> str:
    """The right order, as far as it differs from the one given."""
    moved = [at for at, place in enumerate(order.places) if at != place]
    first, last = moved[0], moved[-1]
    names = ", ".join(bodies[place].name for place in order.places[first : last + 1])
    return f"Right, from place {first + 1} on: {names}."


def _charts(
    reckoning: Reckoning, old: Reckoning | None, told: Sections, unit: str, per: float, fill: Chart | None
) -> Charts:
    y_name, levels = f"at the line, {unit}", _strength_level(reckoning, per)
    return Charts(
        fill=fill,
        turns=_turns_chart(told, old, y_name, levels, per),
        run=_run_chart(told, y_name, levels, per),
        heat=_heat_chart(told),
    )


def _strength_level(reckoning: Reckoning, per: float) -> list[tuple[str, float]]:
    strength = reckoning.reel.strength_N
    return [("the line's strength", strength * per)] if strength else []


def _fill_chart(
    reckoning: Reckoning, old: Reckoning | None, pulls: Pulls, unit: str, per: float, shown: Container[str]
) -> Chart | None:
    line = reckoning.line
    if line is None or "fill" not in shown:
        return None
    curve, whole = line.curve, line.filled.length_m
    share = 1.0 if reckoning.reel.line_known else 100 / whole
    curves = [("this stack", "plain", [float(v) * per for v in curve.tension_N])]
    if old is not None and old.line is not None:
        curves.append(("the old stack", "dashed", [float(v) * per for v in old.line.curve.tension_N]))
    return chart(
        "Drag, run in, as the spool empties",
        [(whole - left) * share for left in curve.left_m],
        curves,
        x_name="line drawn off, m" if reckoning.reel.line_known else "line drawn off, %",
        y_name=f"at the line, {unit}",
        band=([float(v) * per for v in curve.low_N], [float(v) * per for v in curve.high_N]),
        levels=_strength_level(reckoning, per),
        dots=_dots(reckoning, pulls, whole, share, per),
    )


def _dots(
    reckoning: Reckoning, pulls: Pulls, whole_m: float, share: float, per: float
) -> list[tuple[str, float, Quantity]]:
    """The pulls where they were made, with what the rod's guides would add to them, as the curve has it.

    One said to be made where there is no line is left out.
    """
    dots, guides = [], rod_guides_of(reckoning.setup)
    past = ", past the guides" if guides > 1 else ""
    for moment, pull in pulls.items():
        try:
            left_m, _ = pulled_at(moment, reckoning.setup, reckoning.reel)
        except LevelwindError:
            continue
        if pull.running_N is not None:
            dots.append((f"as {moment}{past}", (whole_m - left_m) * share, pull.running_N.scaled(guides * per)))
    return dots


def _turns_chart(
    told: Sections, old: Reckoning | None, y_name: str, levels: list[tuple[str, float]], per: float
) -> Chart | None:
    if told.turns is None:
        return None
    found = told.turns
    what = "the angle of the lever" if found.by_lever else "turns of star or knob"
    return chart(
        f"Drag, spool full, against {what}",
        found.turns.tolist(),
        [("this stack", "plain", (found.tension_N * per).tolist()), *_old_turns(old, per)],
        x_name="lever, degrees" if found.by_lever else "turns from where the springs touch",
        y_name=y_name,
        band=((found.low_N * per).tolist(), (found.high_N * per).tolist()),
        levels=levels,
        marker=found.here,
    )


def _old_turns(old: Reckoning | None, per: float) -> list[tuple[str, str, list[float]]]:
    """The old stack under the same turns of the same thread and springs."""
    try:
        found = turns_section(old) if old else None
    except LevelwindError:
        return []
    return [("the old stack", "dashed", (found.tension_N * per).tolist())] if found else []


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
