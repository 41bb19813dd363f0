"""The work at the bench, step by step and gate by gate: apart, judged, renewed from the shelf, together again."""

from collections import Counter

from levelwind.demo.case import Case
from levelwind.demo.drags import plan_drag
from levelwind.demo.names import BENCH
from levelwind.demo.teller import Story
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.jobs.services.looks import finding_record
from levelwind.shop.models import Piece, Stage
from levelwind.shop.parts.selectors.fits import Offer, offers
from levelwind.shop.parts.services.shelf import stock_take
from levelwind.shop.patterns.selectors.layouts import job_places
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import reach_choose, takedown_step_done
from levelwind.shop.takedown.services.pieces import piece_judge, piece_measure
from levelwind.shop.takedown.services.renewals import renew_by_order, renew_from_shelf
from levelwind.shop.takedown.services.together import gate_pass, job_call_together, rebuild_step_done

WORN_WASHER_MM = 0.78


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
    if case.stay.half_way:
        steps = steps[: len(steps) // 2]
    elif not case.stay.on_the_bench:
        steps = steps[-1:]
    for step in steps:
        takedown_step_done(job=case.job, step=step.key, with_before=True, by=BENCH)
        yield case.soon(step.minutes * (1.0 + case.rng.random()))
    if case.stay.half_way:
        return
    for finding in case.what.inside:
        finding_record(job=case.job, finding=finding, sight="yes")
    yield case.soon(6)
    _renew(case)
    if case.stay.shown:
        case.shop.album.steps(case.job, case.kind, inside=case.stay.on_the_bench)
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
        elif case.stay.on_the_bench:
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
    """A part that the shelf has not is ordered, and the reel is short of it."""
    assert case.job.pattern is not None
    place = next(place for place in job_places(case.job) if place.key == case.stay.order)
    part = offers(case.job.pattern, [place])[place.key][0].part
    renew_by_order(job=case.job, place=place.key, part=part, count=1, by=BENCH)


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
