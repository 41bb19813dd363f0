"""The work at the bench, step by step and gate by gate: apart, judged, renewed from the shelf, together again."""

from collections import Counter

from levelwind.demo.case import Case
from levelwind.demo.names import BENCH
from levelwind.demo.teller import Story
from levelwind.shop.models import Piece, Stage
from levelwind.shop.selectors.drag_plans import standard_stack
from levelwind.shop.selectors.drag_setup import Setup
from levelwind.shop.selectors.drags import reckon, reel_of
from levelwind.shop.selectors.fits import Offer, offers
from levelwind.shop.selectors.pieces import job_work
from levelwind.shop.selectors.places import job_places
from levelwind.shop.services.drags import drag_plan_save
from levelwind.shop.services.jobs import job_move
from levelwind.shop.services.looks import finding_record
from levelwind.shop.services.pieces import piece_judge, piece_measure
from levelwind.shop.services.rebuild import gate_pass, job_call_together, rebuild_step_done
from levelwind.shop.services.renewals import renew_by_order, renew_from_shelf
from levelwind.shop.services.shelf import stock_take
from levelwind.shop.services.takedown import reach_choose, takedown_step_done

STRIKE = 0.28
"""Share of the line's strength the drag is set to: within the quarter to a third of common practice."""

WORN_WASHER_MM = 0.78

AS_FOUND = {"glazed": "glazed", "dry leather": "dry"}
"""In what condition the faces of such a drag were found."""


def apart(case: Case) -> Story:
    """Down to what must be reached, or half of the way there; what is worn is renewed.

    Steps are ticked one by one where somebody will look, else in one go at the last of them.
    """
    if not case.stay.full:
        job_move(job=case.job, stage=Stage.APART, by=BENCH)
        _take_parts(case)
        return
    reach_choose(job=case.job, places=case.what.reach)
    plan = job_work(case.job).plan
    steps = plan.steps if plan else ()
    if not (case.stay.half_way or case.stay.shown):
        steps = steps[-1:]
    for step in steps[: len(steps) // 2] if case.stay.half_way else steps:
        takedown_step_done(job=case.job, step=step.key, with_before=True, by=BENCH)
        yield case.soon(step.minutes * (1.0 + case.rng.random()))
    if case.stay.half_way:
        return
    for finding in case.what.inside:
        finding_record(job=case.job, finding=finding, sight="yes")
    yield case.soon(6)
    _renew(case)
    if case.stay.shown:
        case.shop.album.steps(case.job, case.kind)
    if case.stay.order:
        order(case)


def _renew(case: Case) -> None:
    """Judge what is worn and renew it from the shelf where that has what fits; the rest only where somebody looks."""
    worn, here = dict(case.what.worn), _offers(case)
    for piece in case.job.pieces.filter(where="cell"):
        if piece.place == case.stay.order:
            piece_judge(piece=piece, state="worn", by=BENCH)
        elif piece.place in worn and piece.place in here:
            _renew_one(case, piece, worn[piece.place], here[piece.place])
        elif case.stay.shown:
            piece_judge(piece=piece, state="clean", by=BENCH)
    if case.stay.logged:
        plan_drag(case)


def _renew_one(case: Case, piece: Piece, state: str, offer: Offer) -> None:
    piece_judge(piece=piece, state=state, by=BENCH)
    if piece.place == "friction_1":
        piece_measure(piece=piece, sizes_mm={"thickness": WORN_WASHER_MM})
    used = offer.new < piece.count
    renew_from_shelf(job=case.job, place=piece.place, part=offer.part, count=piece.count, used=used, by=BENCH)


def _offers(case: Case) -> dict[str, Offer]:
    """For each worn place the best offer that lies on the shelf, enough of one sort."""
    assert case.job.pattern is not None
    worn = dict(case.what.worn)
    places = [place for place in job_places(case.job) if place.key in worn]
    found = offers(case.job.pattern, places)
    best: dict[str, Offer] = {}
    spoken_for: Counter[str] = Counter()
    for place in places:
        for offer in found[place.key]:
            if max(offer.new - spoken_for[offer.part.number], offer.used) >= place.count:
                best[place.key] = offer
                spoken_for[offer.part.number] += place.count
                break
    return best


def _take_parts(case: Case) -> None:
    """For a stay told lightly: the parts come off the shelf, the single steps are not told."""
    for offer in _offers(case).values():
        stock_take(part=offer.part, job=case.job, used=not offer.new, by=BENCH)


def order(case: Case) -> None:
    """A part that the shelf has not is ordered, and the reel waits for it."""
    assert case.job.pattern is not None
    place = next(place for place in job_places(case.job) if place.key == case.stay.order)
    part = offers(case.job.pattern, [place])[place.key][0].part
    renew_by_order(job=case.job, place=place.key, part=part, count=1, by=BENCH)


def plan_drag(case: Case) -> None:
    """The pattern's stack, clamped so that a full spool gives the setting for the line on the reel."""
    assert case.job.pattern is not None
    stack, reel = standard_stack(case.job.pattern), reel_of(case.job)
    light = reckon(stack=stack, setup=Setup(numbers={"clamp_N": 100.0}), reel=reel)
    wanted = STRIKE * case.kind.line.strength_N
    clamp = round(100.0 * wanted / light.fills[0].run_in_N.value)
    reckoning = reckon(stack=stack, setup=Setup(numbers={"clamp_N": clamp}), reel=reel)
    found = {**stack.as_dict(), "condition": AS_FOUND.get(case.what.found, stack.condition)}
    drag_plan_save(job=case.job, reckoning=reckoning, found=found)


def put_together(case: Case) -> Story:
    """The way back with every gate answered, until nothing is left over."""
    job = case.job
    if not case.stay.full:
        job_move(job=job, stage=Stage.TOGETHER, by=BENCH)
        return
    way = job_work(job).way_back
    for refit in way.steps:
        for gate in refit.step.gates:
            if gate.ahead:
                gate_pass(job=job, gate=gate.key)
        rebuild_step_done(job=job, step=refit.step.key, by=BENCH)
        for gate in refit.step.gates:
            if not gate.ahead:
                gate_pass(job=job, gate=gate.key)
        yield case.soon(refit.step.minutes * 1.5)
    for gate in way.finish:
        gate_pass(job=job, gate=gate.key)
    job_call_together(job=job, by=BENCH)
