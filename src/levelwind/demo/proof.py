"""Readings from simulated scales, the proof, the bill and the box home."""

from dataclasses import replace
from zlib import crc32

import numpy as np
from django.core.files.base import ContentFile

from levelwind.demo.case import Case
from levelwind.demo.names import BENCH, CARRIERS
from levelwind.demo.simulation import (
    PRESETS,
    DragCondition,
    Hand,
    Rig,
    Scale,
    simulate_log,
    simulate_spin,
    spool_that_turns,
)
from levelwind.demo.teller import Story
from levelwind.shop.drag.services import part_friction_remember
from levelwind.shop.editing import fields_save
from levelwind.shop.jobs.services.sendings import job_box, job_hand_over, job_prove, sending_of
from levelwind.shop.models import Job, Reading
from levelwind.shop.money.fitted import bill_lines
from levelwind.shop.money.selectors import account_of, over_the_word
from levelwind.shop.money.services.bills import bill_make
from levelwind.shop.money.services.ledger import payment_take
from levelwind.shop.money.services.prices import word_for_bill
from levelwind.shop.papers.services.sendings import reel_send_home
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.services.readings import reading_type, recording_upload

AS_FOUND = {"dry leather": 0.62, "glazed": 0.95, "greased woven": 0.85, "new woven": 0.95}
"""How much of that such a drag gave when it came in, set as its owner had it. Invented."""

OIL = {"found": 0.03, "left": 0.018}
"""Oil's part of what slows the spool, per s: old and thick, then fresh and thin. Invented."""

TURN_NM = {"found": (0.16, 0.34), "left": (0.09, 0.2)}
"""What it takes to turn the handle with the spool free of load. Invented."""


def measure(case: Case, moment: str) -> None:
    """Readings of one moment: pull, spin, end float and handle torque; all marked as invented."""
    job, drag = case.job, _drag(case, moment)
    if case.stay.logged:
        _mark(_log(job, drag, moment))
    else:
        pulled = {"breakaway_N": round(drag.running_N * drag.startup_ratio, 1), "running_N": round(drag.running_N, 1)}
        _mark(reading_type(job=job, kind="pull", moment=moment, typed=pulled, by=BENCH))
    if case.kind.family == "star_drag":
        _spin(case, moment)
    if case.stay.full and case.kind.family == "star_drag":
        for kind, typed in (("end_float", _end_float(case, moment)), ("turn", _turn(case, moment))):
            _mark(reading_type(job=job, kind=kind, moment=moment, typed=typed, by=BENCH))


def _drag(case: Case, moment: str) -> DragCondition:
    """The invented drag behind the reading, at the level that this reel's line asks for."""
    name = case.what.found if moment == "found" else "new woven"
    share = AS_FOUND[name] if moment == "found" else 1.0
    running = case.kind.line.strength_N * case.kind.set_to * share * case.rng.uniform(0.95, 1.05)
    return replace(PRESETS[name], running_N=running)


def _spin(case: Case, moment: str) -> None:
    """A free spool running down: a counter's table where the scale's logs are kept too, else timed by hand."""
    job, seconds = case.job, case.what.spin_s[moment == "left"] * case.rng.uniform(0.9, 1.1)
    if case.stay.logged and case.stay.full:
        dice = _dice(job, f"spin {moment}")
        start = float(dice.uniform(24.0, 28.0))
        spool = spool_that_turns(seconds, start_rev_s=start, oil_per_s=OIL[moment], air_per_rev=0.0012)
        table = simulate_spin(spool, dice).as_csv()
        _mark(_upload(job, "spin", moment, table))
    else:
        typed = {"spin_time_s": round(seconds, 1)}
        _mark(reading_type(job=job, kind="spin", moment=moment, typed=typed, by=BENCH))


def _end_float(case: Case, moment: str) -> dict[str, float]:
    """Within the pattern's limits as left; as found it may be anything."""
    low, high = case.kind.end_float_mm
    as_found = case.rng.choice((0.05, high + 0.15, high * 0.8))
    return {"end_float_mm": round(case.rng.uniform(low, high) if moment == "left" else as_found, 2)}


def _turn(case: Case, moment: str) -> dict[str, float]:
    return {"torque_Nm": round(case.rng.uniform(*TURN_NM[moment]), 2)}


def _log(job: Job, drag: DragCondition, moment: str) -> Reading:
    log = simulate_log(drag, _dice(job, moment), rig=Rig(), hand=Hand(pulls=2, pull_s=6.0), scale=Scale())
    return _upload(job, "pull", moment, log.as_csv())


def _dice(job: Job, what: str) -> np.random.Generator:
    return np.random.default_rng(crc32(f"{job.tag[3:]} {what}".encode()))


def _upload(job: Job, kind: str, moment: str, text: str) -> Reading:
    file = ContentFile(text.encode(), name=f"{kind}-{job.tag}-{moment}.csv")
    return recording_upload(job=job, kind=kind, moment=moment, file=file, by=BENCH)


def _mark(reading: Reading) -> None:
    fields_save(instance=reading, was={"invented": False}, now={"invented": True})


def prove(case: Case) -> Story:
    """Readings as left, what was done, and a verdict."""
    job = case.job
    measure(case, "left")
    if case.stay.remembered:
        part_friction_remember(job=job, moment="left", by=BENCH)
    done = "\n".join((*renewed(job), *case.what.done))
    fields_save(
        instance=job, was={"done_note": "", "verdict": ""}, now={"done_note": done, "verdict": case.what.verdict}
    )
    yield case.soon(20)
    if case.stay.shown:
        case.shop.album.outside(job, case.kind, "left", both_sides=True)
    job_prove(job=job, by=BENCH)


def renewed(job: Job) -> tuple[str, ...]:
    """New pieces by name, the drag set in one line."""
    names = list(job.pieces.filter(replaces__isnull=False).values_list("name", flat=True))
    names = names or [entry.part.name for entry in job.stock_entries.filter(why="taken").select_related("part")]
    others = tuple(dict.fromkeys(f"New {name}." for name in names if "drag washer" not in name))
    return ("New drag set, greased and wiped.", *others) if len(others) < len(names) else others


def box(case: Case) -> Story:
    """The bill, its owner called first where more was fitted than agreed; the old parts bagged, the parcel weighed."""
    job, rng = case.job, case.rng
    if over_the_word(job, bill_lines(job), shop_get()):
        word_for_bill(job=job, how="phone", by=BENCH)
    bill_make(job=job, by=BENCH)
    yield case.soon(15)
    sending = sending_of(job)
    facts: dict[str, object] = {"old_parts_bagged": True}
    if job.parcel.came_by == "post":
        facts |= {"weight_g": rng.randrange(680, 1900, 10), "length_mm": 230, "width_mm": 180, "height_mm": 150}
        facts |= {"carrier": rng.choice(CARRIERS)}
    fields_save(instance=sending, was={name: getattr(sending, name) for name in facts}, now=facts)
    job_box(job=job, by=BENCH)


def go_home(case: Case) -> None:
    """Paid, wholly or in part or not yet, and on its way."""
    job, rng = case.job, case.rng
    owed = account_of(job).owed
    paid = owed if case.stay.paid == 1.0 else round(owed * case.stay.paid / 100) * 100
    counter = job.parcel.came_by == "counter"
    how = "paid at the counter" if counter else rng.choice(("paid by card", "paid by transfer"))
    if paid > 0:
        payment_take(job=job, amount_minor=paid, text=how if paid == owed else f"{how}, the rest to follow", by=BENCH)
    sending = sending_of(job)
    if sending.carrier:
        number = f"BC {rng.randrange(1000, 9999)} {rng.randrange(1000, 9999)} {rng.randrange(10)}"
        fields_save(instance=sending, was={"tracking": ""}, now={"tracking": number})
    reel_send_home(job=job, by=BENCH)
    job_hand_over(job=job, by=BENCH)
