"""Promises as data and for a person."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from levelwind.core.quantities import percent
from levelwind.core.supply.model import Shop
from levelwind.core.supply.promise import CHANCES, SOONER_CHANCE, Futures, Reason

SPENT = {
    "owner": "for the owner's answer",
    "parts": "for its parts",
    "shared": "for what others wait for too",
    "behind": "behind other work and closed days",
    "working": "in hand",
}
"""What the days until a job is done go to, as a person reads it."""
SHOWN_DAYS = 0.05
"""Days under which nothing is said of a share: it would read 0.0."""


def as_dict(shop: Shop, futures: Futures, reasons: Sequence[Reason] = ()) -> dict[str, Any]:
    """What ``levelwind promise --json`` prints: dates as year-month-day, days as calendar days from today."""
    told: dict[str, Any] = {
        "kind": "promise",
        "status": "ok",
        "today": shop.today.isoformat(),
        "futures": len(futures.ended),
        "jobs": [_job(shop, futures, number) for number in range(len(shop.jobs))],
        "cautions": [str(caution) for caution in futures.cautions],
    }
    return told | ({"why": [_why(reason) for reason in reasons]} if reasons else {})


def _job(shop: Shop, futures: Futures, number: int) -> dict[str, Any]:
    job = shop.jobs[number]
    dates = {f"p{chance * 100:.0f}": futures.done_by(number, chance).isoformat() for chance in CHANCES}
    kept = {} if job.promised is None else {
        "promised": job.promised.isoformat(), "chance": round(futures.chance(number, job.promised), 5)
    }  # fmt: skip
    return {"tag": job.tag, **dates, **kept}


def _why(reason: Reason) -> dict[str, Any]:
    spent = {
        f"{name}_days": round(getattr(reason, name), 2) for name in ("owner", "parts", "shared", "behind", "working")
    }
    sooner = [{"what": each.what, "days": each.days, "p80": each.date.isoformat()} for each in reason.sooner]
    return {"tag": reason.tag, "days": round(reason.days, 2), **spent, "sooner": sooner}


def lines(told: dict[str, Any]) -> list[str]:
    """The same for a person: a row for each job, then why."""
    jobs = told["jobs"]
    width = max(len("job"), *(len(job["tag"]) for job in jobs))
    head = (
        f"{'job':<{width}}  "
        + "  ".join(f"{f'{chance:.0%}'.replace('%', ' %'):<14}" for chance in CHANCES)
        + "  promised"
    )
    text = [
        f"Done by the evening of this day, from {told['futures']:,} futures that begin on {in_words(told['today'])}:",
        head,
    ]
    text += [_row(job, width).rstrip() for job in jobs]
    for reason in told.get("why", ()):
        text += ["", *reason_lines(reason)]
    return text + [f"Caution: {caution}." for caution in told["cautions"]]


def _row(job: dict[str, Any], width: int) -> str:
    dates = "  ".join(f"{in_words(job[f'p{chance * 100:.0f}']):<14}" for chance in CHANCES)
    kept = f"{in_words(job['promised'])}: kept with {percent(job['chance'])}" if "promised" in job else ""
    return f"{job['tag']:<{width}}  {dates}  {kept}"


def reason_lines(reason: dict[str, Any]) -> Iterable[str]:
    """Why a date is what it is, and what would make it sooner."""
    spent = [
        f"{reason[f'{name}_days']:.1f} {what}" for name, what in SPENT.items() if reason[f"{name}_days"] >= SHOWN_DAYS
    ]
    yield f"{reason['tag']} takes {reason['days']:.1f} days in the mean" + (f": {', '.join(spent)}." if spent else ".")
    chance = f"{SOONER_CHANCE:.0%}".replace("%", " %")
    for each in reason["sooner"]:
        days = "1 day" if each["days"] == 1 else f"{each['days']} days"
        yield f"  {days} sooner ({in_words(each['p80'])}, {chance}) if {each['what']}."
    if not reason["sooner"]:
        yield "  Nothing that was tried makes it a day sooner."


def in_words(day: str) -> str:
    """
    >>> in_words("2026-03-10")
    'Tue 2026-03-10'
    """
    return f"{date.fromisoformat(day):%a} {day}"
