"""What is told of a drag system: in words, in rows of "how was this worked out?", and as data for a file."""

from collections.abc import Sequence
from typing import Any

from levelwind.core.codec import as_shown
from levelwind.core.drag.chain import runs, sides
from levelwind.core.drag.clamp import HAND_SPREAD, THREAD_FRICTION
from levelwind.core.drag.click_report import click_row, click_sentence
from levelwind.core.drag.families import BY_TIPPET, UNGEARED, Family
from levelwind.core.drag.infer import in_a_sentence
from levelwind.core.drag.lever import Lever
from levelwind.core.drag.model import Body, Kind
from levelwind.core.drag.order import Order
from levelwind.core.drag.report import LEAST_LOST, NOT_EVERY_ORDER, at_the_spool, drag_report
from levelwind.core.drag.springs import COIL_RATE_SPREAD, HAND_STEP_DEG, PAST_THE_HUMP
from levelwind.core.drag.weakest import TO_MEASURE, Weakest
from levelwind.core.drag_system.clamping import hand_step_N
from levelwind.core.drag_system.click import ClickResult
from levelwind.core.drag_system.compute import DragResult
from levelwind.core.drag_system.model import Clamp, GivenForce, HandTorque, KnobSpring, LoadedSpool, Screw
from levelwind.core.drag_system.wanted import between, clamp_wanted, setting_words
from levelwind.core.line import NEAR_EMPTY, PACKING, STRIKE_WORDS, retrieve_per_turn_m
from levelwind.core.notes import Amount, Note
from levelwind.core.quantities import Quantity, in_words
from levelwind.core.writing import written


def usual() -> dict[str, str]:
    """What stands where nothing was said, as it is told; each number has its origin where it is defined."""
    packing = [written(PACKING.value, ".3f"), written(PACKING.low, ".2f"), written(PACKING.high, ".2f")]
    thread = [written(each, ".2f") for each in (THREAD_FRICTION.value, THREAD_FRICTION.low, THREAD_FRICTION.high)]
    return {
        "strike": STRIKE_WORDS,
        "near_empty": f"{100 * NEAR_EMPTY:.0f} %",
        "packing": f"{packing[0]} of the room, {packing[1]} to {packing[2]}",
        "thread_friction": f"{thread[0]} ({thread[1]} to {thread[2]})",
        "hand_spread": f"{100 * HAND_SPREAD:.0f} %",
        "hand_step": f"{written(HAND_STEP_DEG)}°",
        "coil_spread": f"{100 * COIL_RATE_SPREAD:.0f} %",
    }


BY_ITS_TIPPET = "A fly reel's drag is set to its tippet: say how strong that is, and the setting follows."


def clamp_words(clamp: Clamp, *, usual: bool = False) -> str:
    """Where a clamp force comes from, with the numbers it was given; ``usual`` ones say that nobody measured them.

    >>> clamp_words(GivenForce(Quantity.exact(300.0)))
    'as given'
    >>> clamp_words(KnobSpring(Quantity(35e3, 25e3, 50e3), Quantity(4e-3, 3e-3, 5e-3)), usual=True)
    "the knob's spring, 35 N/mm (25 to 50) pressed 4.0 mm (3.0 to 5.0): common practice, no source"
    """
    if usual:
        return f"{_squeezed(clamp)}: common practice, no source"
    return _squeezed(clamp)


def _squeezed(clamp: Clamp) -> str:
    if isinstance(clamp, GivenForce):
        return "as given"
    if isinstance(clamp, HandTorque):
        return f"a hand's {in_words(clamp.torque_Nm, 'N m')} through the thread"
    if isinstance(clamp, KnobSpring):
        rate, travel = in_words(clamp.rate_N_m.scaled(1e-3), "N/mm"), in_words(clamp.travel_m.scaled(1e3), "mm")
        return f"the knob's spring, {rate} pressed {travel}"
    if isinstance(clamp, Lever):
        return f"the lever at {written(clamp.angle_deg)}°, its cam pressing the springs"
    return f"{written(clamp.turns or 0.0)} turns on the thread, pressing the springs"


def as_dict(result: DragResult, force_unit: str = "N") -> dict[str, Any]:
    """Everything that ``levelwind drag`` prints, as plain data, forces in its sentences in ``force_unit``.

    Raises the first refusal of a part asked for.
    """
    system, clamped = result.system, _clamped(result)
    for refusal in result.refusals.values():
        raise refusal
    report = drag_report(system.stack, result.contacts, result.clamp_N, result.torque, result.order)
    printed: dict[str, Any] = {
        "kind": "drag",
        "status": "ok",
        "family": system.drive.family.value,
        "clamp_N": result.clamp_N,
        **clamped,
        **as_shown(report),
        "worked": [_plain(row.what, row) for row in report.worked],
    }
    if past_the_hump(result):
        printed["cautions"].append(PAST_THE_HUMP)
    if system.spool is not None:
        _add_line(printed, result, system.spool)
    if result.height is not None:
        printed["height"] = {
            "difference_mm": result.height.difference_m.scaled(1000),
            "fits": result.height.fits,
            "shims": [shim.name for shim in result.height.shims],
        }
        printed["sentences"] += result.height.sentences
    if result.times_old is not None:
        printed["times_old"] = result.times_old
    printed["sentences"] += (*against_old(result), *setting_words(result))
    printed["cautions"] += result.notes
    return _printed(printed, force_unit)


def _printed(parts: dict[str, Any], force_unit: str) -> dict[str, Any]:
    """As plain data, its sentences with forces in a unit."""
    for said in ("sentences", "cautions"):
        parts[said] = [each.words(force_unit) if isinstance(each, Note) else each for each in parts[said]]
    return dict(as_shown(parts))


def _clamp_for(result: DragResult, strike_N: Quantity) -> dict[str, object]:
    wanted = clamp_wanted(result, strike_N)
    if wanted is None:
        return {}
    by_hand = {} if wanted.most_N is None else {"most_clamp_N": wanted.most_N, "beyond_a_hand": wanted.beyond}
    return {"clamp_N": wanted.clamp_N, **by_hand}


def past_the_hump(result: DragResult) -> bool:
    """Whether what a hand sets clamps less the further it is turned, from where it is set."""
    return bool(result.turns and result.turns.step_N and result.turns.step_N < 0)


def _clamped(result: DragResult) -> dict[str, Any]:
    clamp, turns = result.system.clamp, result.turns
    if isinstance(clamp, GivenForce):
        return {"clamp_from": "as given"}
    if isinstance(clamp, HandTorque | KnobSpring):
        return {
            "clamp_from": clamp_words(clamp, usual=True) if result.system.usual else "hand torque through the thread"
        }
    if turns is None:
        raise result.refusals["turns"]
    name = "lever_deg" if turns.by_lever else "turns"
    curve = {name: turns.at, "force_N": [force.value for force in turns.force_N]}
    step = {f"clamp_against_{name.partition('_')[0]}": curve, "finest_step_N": abs(hand_step_N(clamp))}
    if isinstance(clamp, Screw):
        return {"clamp_from": "turns of the star through the springs", **step, "turns_to_flat": turns.flat_at}
    return {"clamp_from": "lever through its cam and the springs", **step}


def _add_line(printed: dict[str, Any], result: DragResult, spool: LoadedSpool) -> None:
    line, drive = result.line, result.system.drive
    assert line is not None
    rows = line.report.rows
    printed["line"] = line.report
    to_set = line.setting
    printed["setting"] = to_set and {
        "strike_N": to_set.strike_N,
        "near_bare_N": to_set.near_bare_N,
        **_clamp_for(result, between(to_set.strike_N)),
    }
    printed["retrieve_m"] = [float(retrieve_per_turn_m(row.radius_m, drive.gear_ratio)) for row in rows]
    printed["sentences"] += line.report.sentences
    if to_set is None and drive.family in BY_TIPPET:
        printed["sentences"].append(BY_ITS_TIPPET)
    printed["worked"].append(_plain("", at_the_spool(result.torque.run_in_Nm, drive)))
    printed["worked"] += [_plain(f"tension, {row.fill}", row) for row in rows]
    if (pulled := result.pull) is not None and result.system.pull is not None:
        printed["pull"] = {
            "friction": pulled.coefficient,
            "by_condition": pulled.by_condition,
            "fits": pulled.fits,
        }
        printed["sentences"].append(in_a_sentence(pulled, result.system.pull.material))
        printed["cautions"] += pulled.cautions
    if result.run is not None:
        run, warming = result.run.report, result.run.report.warming
        printed["run"] = {
            "energy_J": warming.energy_J,
            "hottest_C": run.hottest_C,
            "drag_left_share": run.left_share,
            "end_C": dict(zip(warming.names, warming.temperature_C[-1], strict=True)),
        }
        printed["sentences"] += run.sentences
        printed["cautions"] += run.cautions
    if result.strength is not None:
        links = result.strength.links
        printed["strength"] = {
            **_limit(result.strength, line.per_spool_Nm[0]),
            "parts": [
                {"name": link.name, "at_spool_Nm": link.at_spool_Nm(), "chance_passed": chance}
                for link, chance in zip(links, result.strength.chances, strict=True)
            ],
        }
        printed["sentences"] += result.strength.sentences
        printed["worked"] += [
            {
                "what": link.name,
                "formula": link.formula,
                "numbers": in_words(link.gives_at_Nm, "N m"),
                "source": link.source,
            }
            for link in links
        ]


def _limit(strength: Weakest, per_spool_Nm: float) -> dict[str, Any]:
    """Where the first gives at the line, spool full: ``most_full_N`` the middle, ``gives_full_N`` with its interval."""
    if strength.limit_spool_Nm is None:
        return {}
    gives = strength.limit_spool_Nm.scaled(per_spool_Nm)
    return {"most_full_N": gives.value, "gives_full_N": gives, "chance_passed": strength.chances[0]}


def against_old(result: DragResult) -> tuple[Note, ...]:
    """How many times the old stack's torque, and what to measure, where no limit behind the drag can be named.

    Nothing of a reel without gears, and nothing once the teeth are known.
    """
    strength = result.strength
    if strength is not None and strength.limit_spool_Nm is not None:
        return ()
    said = [] if result.times_old is None else [_times_words(result.times_old)]
    if result.system.drive.family not in UNGEARED and strength is None:
        said.append(TO_MEASURE)
    return tuple(said)


def _times_words(times: Quantity) -> Note:
    words = "At the same clamp force it holds {times} times the torque of the old stack."
    return Note.of("times_old", words, times=Amount(times))


def click_as_dict(result: ClickResult, force_unit: str = "N") -> dict[str, Any]:
    """The same of a spool that its click alone holds."""
    turned, line = result.turned, result.line
    printed: dict[str, Any] = {
        "kind": "drag",
        "status": "ok",
        "family": Family.FLY_CLICK.value,
        "mean_torque_Nm": turned.mean_Nm,
        "peak_torque_Nm": turned.peak_Nm,
        "clicks_per_turn": turned.clicks_per_turn,
        "ripple": {"angle_rad": turned.angle_rad, "torque_Nm": turned.torque_Nm},
        "sentences": [click_sentence(result.click, turned)],
        "cautions": [],
        "worked": [_plain("", click_row(result.click, turned))],
    }
    if line is not None:
        printed["line"] = line
        printed["sentences"] += line.sentences
        printed["worked"] += [_plain(f"mean tension, {row.fill}", row) for row in line.rows]
    return _printed(printed, force_unit)


def _plain(what: str, row: Any) -> dict[str, str]:
    return {"what": what or row.what, "formula": row.formula, "numbers": row.numbers, "source": row.source}


def order_words(result: DragResult) -> str:
    """What a wrong order costs and why, in a few sentences; nothing where the order is right."""
    order, bodies = result.order, result.system.stack.bodies
    if order is None or order.share_lost < LEAST_LOST:
        return ""
    said = [f"In this order {100 * order.share_lost:.0f} % of the drag is lost."]
    idle = [bodies[place].name for place in result.torque.idle]
    if idle:
        said.append(f"{', '.join(idle)}: {'carries' if len(idle) == 1 else 'carry'} nothing here.")
    for run in runs(sides(result.system.stack)):
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
    which = "Right" if order.proven else f"Better, {NOT_EVERY_ORDER}"
    return f"{which}, from place {first + 1} on: {names}."


def no_better_order_words(order: Order) -> str:
    """That no order is worth changing to, as far as that is known.

    >>> no_better_order_words(Order((0, 1, 2), 0.0, ()))
    'No other order of these washers holds more without metal rubbing on metal.'
    """
    if not order.proven:
        return "There are too many orders to try them all: of those tried, none is worth a change."
    more = f"{written(100 * LEAST_LOST)} % more" if order.share_lost else "more"
    return f"No other order of these washers holds {more} without metal rubbing on metal."
