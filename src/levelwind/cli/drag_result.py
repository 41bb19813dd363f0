"""Everything `levelwind drag` prints, as plain data."""

from itertools import pairwise
from typing import Any

from numpy.random import Generator

from levelwind.cli.drag_file import Asked, ClickAsked
from levelwind.core.drag.click import ripple
from levelwind.core.drag.click_report import click_row, click_sentence
from levelwind.core.drag.contacts import Contact, find_contacts
from levelwind.core.drag.draws import independent_product, sampled
from levelwind.core.drag.families import Family
from levelwind.core.drag.height import check_height
from levelwind.core.drag.infer import in_a_sentence, infer_coefficient
from levelwind.core.drag.report import at_the_spool, drag_report
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.run_report import run_report
from levelwind.core.drag.torque import torque_draws_Nm
from levelwind.core.drag.weakest import weakest
from levelwind.core.errors import InputError
from levelwind.core.line import (
    Filled,
    fill_curve,
    line_report,
    radius_at_length_m,
    retrieve_per_turn_m,
    run_steps,
    setting,
    spool_torque_Nm,
)
from levelwind.core.quantities import Quantity
from levelwind.reference.materials import CONDITIONS, coefficient, solids, stands_C

DRAWS = 10_000


def compute(asked: Asked | ClickAsked, rng: Generator) -> dict[str, Any]:
    """Everything the command prints, as plain data."""
    return _click(asked) if isinstance(asked, ClickAsked) else _stack(asked, rng)


def _click(asked: ClickAsked) -> dict[str, Any]:
    turned = ripple(asked.click)
    result: dict[str, Any] = {
        "kind": "drag",
        "status": "ok",
        "family": Family.FLY_CLICK.value,
        "mean_torque_Nm": turned.mean_Nm,
        "peak_torque_Nm": turned.peak_Nm,
        "clicks_per_turn": turned.clicks_per_turn,
        "ripple": {"angle_rad": turned.angle_rad.tolist(), "torque_Nm": turned.torque_Nm.tolist()},
        "sentences": [click_sentence(asked.click, turned)],
        "cautions": [],
        "worked": [_worked("", click_row(asked.click, turned))],
    }
    if asked.filled is not None:
        told = line_report(
            asked.filled, fill_curve(asked.filled, turned.mean_Nm, guides=asked.guides), turned.mean_Nm, asked.guides
        )
        result["line"] = told.as_dict()
        result["sentences"] += told.sentences
        result["worked"] += [_worked(f"mean tension, {row.fill}", row) for row in told.rows]
    return result


def _stack(asked: Asked, rng: Generator) -> dict[str, Any]:
    report = drag_report(asked.stack, asked.clamp_N, rng, coefficient)
    result: dict[str, Any] = {
        "kind": "drag",
        "status": "ok",
        "family": asked.drive.family.value,
        "clamp_N": asked.clamp_N.as_dict(),
        "clamp_from": asked.clamp_words,
        **asked.clamp_curve,
        **report.as_dict(),
        "worked": [_worked(row.what, row) for row in report.worked],
    }
    contacts = find_contacts(asked.stack, coefficient)
    if asked.filled is not None:
        _add_line(result, asked, asked.filled, contacts, report.torque.run_in_Nm, rng)
    _add_height(result, asked, rng)
    return result


def _add_line(
    result: dict[str, Any],
    asked: Asked,
    filled: Filled,
    contacts: tuple[Contact, ...],
    drag_Nm: Quantity,
    rng: Generator,
) -> None:
    """Tension at every fill, the setting for the line, a run, and what gives first: all that needs the spool."""

    per_drag = asked.drive.spool_per_drag()
    drawn = torque_draws_Nm(asked.stack, contacts, asked.clamp_N, Assumption.WEAR, rng, DRAWS)
    drawn = drawn * sampled(per_drag, rng.standard_normal(DRAWS))
    packing = sampled(asked.packing, rng.standard_normal(DRAWS))
    torque = independent_product(drag_Nm, per_drag)
    curve = fill_curve(filled, torque.value, drawn, packing, asked.guides)
    told = line_report(filled, curve, torque.value, asked.guides)
    set_to = setting(filled, filled.line.strength_N)
    result["line"] = told.as_dict()
    result["setting"] = {"strike_N": list(set_to.strike_N), "near_bare_N": list(set_to.near_bare_N)}
    result["retrieve_m"] = [float(retrieve_per_turn_m(row.radius_m, asked.drive.gear_ratio)) for row in told.rows]
    result["sentences"] += list(told.sentences)
    result["worked"] += [_worked("", at_the_spool(drag_Nm, asked.drive))]
    result["worked"] += [_worked(f"tension, {row.fill}", row) for row in told.rows]
    _add_pull(result, asked, filled, contacts, rng)
    _add_run(result, asked, filled, contacts, drag_Nm)
    _add_strength(result, asked, (told.rows[0].radius_m, told.rows[-1].radius_m), torque)


def _add_pull(
    result: dict[str, Any], asked: Asked, filled: Filled, contacts: tuple[Contact, ...], rng: Generator
) -> None:
    """What a pull on the scale says of the lining: its coefficient, and which condition it fits."""
    if asked.pull is None:
        return
    material, pairs = asked.pull.material, list(pairwise(asked.stack.bodies))
    unknown = [s.index for s in contacts if s.coefficient and material in {body.material for body in pairs[s.index]}]
    if not unknown:
        raise InputError("material of the pull", material, "one whose faces carry drag in this stack")
    face = next((body.material for body in pairs[unknown[0]] if body.material != material), material)
    radius = float(radius_at_length_m(filled, asked.pull.left_m))
    at_spool = asked.pull.tension_N.scaled(float(spool_torque_Nm(1.0, radius, asked.guides)))
    found = infer_coefficient(
        asked.stack,
        contacts,
        unknown,
        independent_product(at_spool, asked.drive.drag_per_spool()),
        asked.clamp_N,
        {condition: coefficient(material, face, condition) for condition in CONDITIONS},
        rng,
    )
    result["pull"] = {"friction": found.coefficient.as_dict(), "by_condition": found.by_condition, "fits": found.fits}
    result["sentences"].append(in_a_sentence(found, material))
    result["cautions"] += list(found.cautions)


def _add_run(
    result: dict[str, Any],
    asked: Asked,
    filled: Filled,
    contacts: tuple[Contact, ...],
    drag_Nm: Quantity,
) -> None:

    if asked.run is None:
        return
    seconds, spool_rad = run_steps(filled, filled.length_m, asked.run.length_m, asked.run.speed_m_s)
    slip = spool_rad / asked.drive.gear_ratio if asked.drive.geared else spool_rad
    known = {name: row.solid for name, row in solids().items()}
    told = run_report(
        asked.stack,
        contacts,
        asked.clamp_N.value,
        drag_Nm,
        (seconds, slip),
        known,
        asked.run.lumps,
        stands_C=stands_C(),
    )
    warming = told.warming
    result["run"] = {
        "energy_J": warming.energy_J,
        "hottest_C": told.hottest_C.as_dict(),
        "drag_left_share": told.left_share.as_dict(),
        "end_C": dict(zip(warming.names, warming.temperature_C[-1].tolist(), strict=True)),
    }
    result["sentences"] += list(told.sentences)
    result["cautions"] += list(told.cautions)


def _add_strength(result: dict[str, Any], asked: Asked, radii_m: tuple[float, float], torque_Nm: Quantity) -> None:
    if not asked.links:
        return
    found = weakest(asked.links, (asked.guides / radii_m[0], asked.guides / radii_m[1]), torque_Nm)
    result["strength"] = {
        "most_full_N": found.most_spool_Nm * asked.guides / radii_m[0],
        "parts": [{"name": link.name, "at_spool_Nm": link.at_spool_Nm().as_dict()} for link in found.links],
    }
    result["sentences"] += list(found.sentences)
    result["worked"] += [
        {
            "what": link.name,
            "formula": link.formula,
            "numbers": f"{link.yields_at_Nm.low:.3g} N m",
            "source": link.source,
        }
        for link in found.links
    ]


def _add_height(result: dict[str, Any], asked: Asked, rng: Generator) -> None:
    if asked.height is None:
        return
    check = check_height(*asked.height, rng)
    result["height"] = {
        "difference_mm": check.difference_m.scaled(1000).as_dict(),
        "fits": check.fits,
        "shims": [shim.name for shim in check.shims],
    }
    result["sentences"] += list(check.sentences)


def _worked(what: str, row: Any) -> dict[str, str]:
    return {"what": what or row.what, "formula": row.formula, "numbers": row.numbers, "source": row.source}
