"""How long this job took so far, told from the ticks."""

from levelwind.shop.jobs.selectors.minutes import told
from levelwind.shop.takedown.selectors.pieces import Work


def step_times(work: Work) -> dict[str, float]:
    """Minutes that each step of this job took on the way in, where the clock can tell."""
    book = {step.key: step.minutes for step in work.layout.rules.steps}
    return told(book, [("apart", row.step, row.at) for row in work.taken.values()])[0]


def worked_min(work: Work) -> float:
    """Minutes told for this job, both ways: what the clock has counted so far."""
    book = {step.key: step.minutes for step in work.layout.rules.steps}
    rows = [*work.taken.values(), *work.refitted.values(), *work.passed.values()]
    apart, back = told(book, [(row.phase, row.step, row.at) for row in rows])
    return sum(apart.values()) + sum(back.values())
