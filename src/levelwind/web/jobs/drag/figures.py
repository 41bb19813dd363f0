"""What the drag page shows of a computed stack besides the result itself."""

from collections.abc import Container, Mapping
from dataclasses import dataclass, replace

from levelwind.core.drag.click_report import click_row, click_sentence
from levelwind.core.drag.model import Stack
from levelwind.core.drag.report import FaceRow, Worked, face_rows
from levelwind.core.drag.section import Section, section
from levelwind.core.drag.springs import PAST_THE_HUMP
from levelwind.core.drag.weakest import Link, chance_words
from levelwind.core.drag_system.click import ClickResult, compute_click
from levelwind.core.drag_system.compute import FEW, MANY, AtFill, DragResult
from levelwind.core.drag_system.report import (
    against_old,
    clamp_words,
    no_better_order_words,
    order_words,
    past_the_hump,
    usual,
)
from levelwind.core.drag_system.wanted import BY, ClampWanted, between, clamp_wanted, most_by_hand_N
from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.core.line import STRIKE_SHARES
from levelwind.core.notes import Note
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.reference.lines import LineClass, line_classes
from levelwind.shop.drag.selectors.choices import ShelfChoice
from levelwind.shop.drag.selectors.drags import PARTS, JobDrag, drag_computed, loaded_spool
from levelwind.shop.drag.selectors.friction import parts_laid, with_kept
from levelwind.shop.drag.selectors.plans import found_parts, plan_found, standard_stack
from levelwind.shop.drag.selectors.pulls import Pulled, Pulls, friction_from_pull, pull_read, pulls_of
from levelwind.shop.drag.selectors.reels import Reel
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.jobs.selectors.lines import SetTo, set_to
from levelwind.shop.models import DragPlan, Job
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.readings import MOMENTS
from levelwind.web.jobs.drag.charts import Charts, charts, click_chart
from levelwind.web.pages import spoken

TOLD = ("fill", *PARTS, "pull", "click")
"""The folds under the stack, each with a template of its own."""

FOLDS = frozenset({*TOLD, "classes", "how"})
"""What of the page can be folded away, and then need not be computed."""

READ = {"Breakaway": "breakaway_N", "Running drag": "running_N"}


@dataclass(frozen=True, slots=True)
class FillLine:
    """Line tension at one fill, what share of the line's strength that is, and the old stack's tension there."""

    at: AtFill
    share: float | None
    old_N: Quantity | None


@dataclass(frozen=True, slots=True)
class SettingLine:
    """The setting at the strike for a line or tippet, in N, and the clamp force that gives it with this stack.

    ``strength`` is in the shop's unit, rounded as it is sold; ``clamp`` is None while nothing slips.
    """

    strength: Quantity
    strike_N: Quantity
    near_bare_N: Quantity
    near_bare_share: float
    clamp: ClampWanted | None
    clamp_words: str


@dataclass(frozen=True, slots=True)
class ClassLine:
    """The setting at the strike for one line class, in N, and the clamp force that gives it with this stack."""

    line: LineClass
    strike_N: Quantity
    clamp: ClampWanted


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """What a pull on the scale gave, as found and as left, in N."""

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
class ClickLine:
    """A click drawn; mean and peak at the line in ``unit``, spool full and near empty; none without a spool."""

    result: ClickResult
    sentence: Note
    worked: Worked
    chart: Figure
    unit: str
    ends: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class LinkLine:
    """A part behind the drag, where it gives, at the line full and near empty, and the chance that the drag gets there.

    ``full_N`` and ``near_empty_N`` are None until the teeth are known.
    """

    link: Link
    full_N: Quantity | None
    near_empty_N: Quantity | None
    chance: str


@dataclass(frozen=True, slots=True)
class StrengthLines:
    """Parts from the weakest on, and what there is to say of them."""

    links: tuple[LinkLine, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """All that is told of one stack, as far as it is shown: ``shown`` names the folds of the page that are open."""

    shown: Container[str]
    drag: JobDrag
    unit: str
    section: Section
    clamp_words: str
    faces: tuple[FaceRow, ...]
    old: JobDrag | None
    old_section: Section | None
    fills: tuple[FillLine, ...]
    set_to: SetTo
    setting: SettingLine | None
    by_hand: str
    most_clamp_N: Quantity | None
    classes: tuple[ClassLine, ...]
    order_words: str
    no_better_order: str
    readings: tuple[ReadingLine, ...]
    pulled: tuple[PulledLine, ...]
    usual: Mapping[str, str]
    charts: Charts
    step: float | None
    hump: str
    strength: StrengthLines | None
    against_old: tuple[str, ...]
    notes: tuple[str, ...]
    click: ClickLine | None


@dataclass(frozen=True, slots=True)
class Choices:
    """What the shelf allows, or why it cannot be told."""

    found: tuple[ShelfChoice, ...]
    lacks: str


def figures(job: Job, plan: DragPlan | None, drag: JobDrag, shown: Container[str] = FOLDS) -> Figures:
    result, pulls, unit = drag.result, pulls_of(job), shop_get().force_unit
    stack, torque = result.system.stack, result.torque
    old = _old(plan, drag, shown)
    return Figures(
        shown=shown,
        drag=drag,
        unit=unit,
        section=section(stack, torque.slipping, torque.idle),
        clamp_words=clamp_words(result.system.clamp, usual=result.system.usual),
        faces=face_rows(stack, result.contacts, result.clamp_N, torque) if "how" in shown else (),
        old=old,
        old_section=_section_of(old) if old else None,
        fills=_fills(drag, old),
        set_to=set_to(job),
        setting=_setting(drag, unit),
        by_hand=BY.get(type(result.system.hand), ""),
        most_clamp_N=most_by_hand_N(result),
        classes=_classes(drag) if "classes" in shown else (),
        order_words=order_words(result),
        no_better_order=no_better_order_words(result.order) if result.order else "",
        readings=reading_lines(pulls),
        pulled=_pulled(plan, drag, pulls) if "pull" in shown else (),
        usual=usual(),
        charts=charts(drag, old.result if old else None, pulls if "fill" in shown else None, unit),
        step=_step(result, unit),
        hump=PAST_THE_HUMP if past_the_hump(result) else "",
        strength=_strength(result, unit),
        against_old=tuple(note.words(unit) for note in against_old(result)),
        notes=tuple(note.words(unit) for note in result.notes),
        click=click_line(drag.reel, drag.setup, unit) if "click" in shown else None,
    )


def _section_of(drag: JobDrag) -> Section:
    torque = drag.result.torque
    return section(drag.result.system.stack, torque.slipping, torque.idle)


def height_of(job: Job, plan: DragPlan | None) -> Stack | None:
    """The stack whose height the star is used to: the one found, else the pattern's; None where neither is known."""
    assert job.pattern is not None
    try:
        return plan_found(plan) or standard_stack(job.pattern, job.build)
    except LevelwindError:
        return None


def _step(result: DragResult, unit: str) -> float | None:
    """What the smallest move of a hand changes at the line, in the shop's unit."""
    if result.turns is None or result.turns.step_N is None or result.line is None:
        return None
    return abs(result.turns.step_N) * result.line.per_clamp_N / NEWTONS_PER[unit]


def _strength(result: DragResult, unit: str) -> StrengthLines | None:
    found, line = result.strength, result.line
    if found is None or line is None:
        return None
    links = []
    for link, chance in zip(found.links, found.chances, strict=True):
        torque = link.at_spool_Nm()
        full, bare = (torque.scaled(per) if found.limit_spool_Nm else None for per in line.per_spool_Nm)
        links.append(LinkLine(link, full, bare, chance_words(chance)))
    return StrengthLines(tuple(links), tuple(note.words(unit) for note in found.sentences))


def click_line(reel: Reel, setup: Setup, unit: str) -> ClickLine | None:
    """The click as the line straight off the reel feels it; None in a reel that has none."""
    if reel.family.click is None:
        return None
    spool = loaded_spool(setup, reel)
    result = compute_click(reel.family.click, replace(spool, guides=1.0) if spool else None)
    ends = tuple((mean / NEWTONS_PER[unit], peak / NEWTONS_PER[unit]) for mean, peak in result.ends_N)
    words, worked = click_sentence(result.click, result.turned), click_row(result.click, result.turned)
    return ClickLine(result, words, worked, click_chart(result), unit, ends)


def fills_for(shown: Container[str]) -> int:
    """How many fills a curve has to have for what is shown."""
    return MANY if "fill" in shown else FEW


def _old(plan: DragPlan | None, drag: JobDrag, shown: Container[str]) -> JobDrag | None:
    """The old stack under the same clamp and line, its friction as kept for its parts, else as the tables have it."""
    stack, keys = plan_found(plan), found_parts(plan)
    if stack is None:
        return None
    asked = {"turns"} if "turns" in shown else ()
    setup = replace(drag.setup, parts=keys)
    try:
        stack = with_kept(stack, keys, parts_laid(keys))
        return drag_computed(
            stack=stack, setup=setup, reel=drag.reel, asked=asked, points=fills_for(shown), with_order=False
        )
    except LevelwindError:
        return None


def reading_lines(pulls: Pulls) -> tuple[ReadingLine, ...]:
    """The pulls, as found and as left."""
    lines = (ReadingLine(name, *(getattr(pulls.get(m), field, None) for m in MOMENTS)) for name, field in READ.items())
    return tuple(line for line in lines if line.found or line.left)


def _pulled(plan: DragPlan | None, drag: JobDrag, pulls: Pulls) -> tuple[PulledLine, ...]:
    """The pull as found always has its line, to say what is missing; the one as left only where there is one."""
    lines = []
    for moment in MOMENTS if "left" in pulls else ("found",):
        try:
            read = pull_read(plan, moment, drag.result.system.stack, drag.setup, pulls)
            lines.append(PulledLine(moment, friction_from_pull(read, drag.setup, drag.reel), ""))
        except LevelwindError as refusal:
            lines.append(PulledLine(moment, None, spoken(refusal)))
    return tuple(lines)


def _fills(drag: JobDrag, old: JobDrag | None) -> tuple[FillLine, ...]:
    before = {fill.fill: fill.run_in_N for fill in old.result.fills} if old else {}
    strength = drag.result.system.set_to_N
    return tuple(
        FillLine(fill, fill.run_in_N.value / strength if strength else None, before.get(fill.fill))
        for fill in drag.result.fills
    )


def _setting(drag: JobDrag, unit: str) -> SettingLine | None:
    line = drag.result.line
    if line is None or line.setting is None:
        return None
    found = line.setting
    strength = Quantity.exact(round(found.strength_N / NEWTONS_PER[unit], 1))
    strike, near_bare = between(found.strike_N), between(found.near_bare_N)
    clamp = clamp_wanted(drag.result, strike)
    return SettingLine(
        strength, strike, near_bare, found.near_bare_share, clamp, clamp.words.words(unit) if clamp else ""
    )


def _classes(drag: JobDrag) -> tuple[ClassLine, ...]:
    """Every line class with its setting; none while the spool is not measured or nothing slips."""
    low, high = STRIKE_SHARES
    settings = ((one, between((low * one.most_N, high * one.most_N))) for one in line_classes())
    clamped = ((one, strike, clamp_wanted(drag.result, strike)) for one, strike in settings)
    return tuple(ClassLine(one, strike, clamp) for one, strike, clamp in clamped if clamp)
