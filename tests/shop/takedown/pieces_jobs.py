"""Jobs for the tests of Apart and Together, made through the services. Makers and models are invented."""

from levelwind.shop.models import Job, Owner, Parcel, Pattern, PatternPlace, Stage
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import reach_choose, takedown_step_done
from levelwind.shop.takedown.services.together import gate_pass, rebuild_step_done
from tests.shop.takedown.copied import copied


def a_pattern(family: str = "star_drag", model: str = "Harrier", absent: tuple[str, ...] = ()) -> Pattern:
    pattern = Pattern.objects.create(maker="Tarnbeck", model=model, family=family)
    PatternPlace.objects.bulk_create(PatternPlace(pattern=pattern, key=key, absent=True) for key in absent)
    return pattern


def a_job(
    pattern: Pattern | None, reach: tuple[str, ...] = (), tag: str = "26-0001", stage: Stage = Stage.AGREED
) -> Job:
    owner = Owner.objects.create(name="Wilma Torrance")
    parcel = Parcel.objects.create(owner=owner)
    job = Job.objects.create(tag=tag, owner=owner, parcel=parcel, pattern=pattern, reel="Tarnbeck Harrier", stage=stage)
    if reach:
        reach_choose(job=job, places=reach)
    return job


@copied
def take_apart(job: Job) -> None:
    plan = job_work(job).plan
    assert plan is not None
    for step in plan.steps:
        takedown_step_done(job=job, step=step.key)


@copied
def put_back_until(job: Job, last: str = "") -> None:
    """Walk the way back, answering every gate with yes, up to and without the step ``last``."""
    for refit in job_work(job).way_back.steps:
        if refit.step.key == last:
            return
        for gate in sorted(refit.step.gates, key=lambda gate: not gate.ahead):
            if gate.ahead:
                gate_pass(job=job, gate=gate.key)
        rebuild_step_done(job=job, step=refit.step.key)
        for gate in refit.step.gates:
            gate_pass(job=job, gate=gate.key)


@copied
def answer_last_gates(job: Job) -> None:
    for gate in job_work(job).way_back.finish:
        gate_pass(job=job, gate=gate.key)


def put_together(job: Job) -> None:
    put_back_until(job)
    answer_last_gates(job)
