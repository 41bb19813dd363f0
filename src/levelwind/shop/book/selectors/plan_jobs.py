"""Past jobs of a list beside those in the book: whose reel it was, when it came, and how it ended."""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any

from django.utils import timezone

from levelwind.core.writing import day_in_words
from levelwind.shop.book.selectors.lines import Line
from levelwind.shop.book.selectors.plan_owners import OwnersKnown, Who
from levelwind.shop.models import Job, Owner, Pattern, Stage

FILLABLE = ("serial", "complaint", "came_with", "looked_like", "verdict", "done_note")
NEXT = "the next free number"
FREE_TAG = re.compile(r"[A-Za-z0-9-]{1,12}")
ENDINGS = {
    Stage.HOME: (
        "",
        "home",
        "done",
        "completed",
        "complete",
        "returned",
        "delivered",
        "collected",
        "finished",
        "closed",
    ),
    Stage.SENT_BACK: (
        "sent back unmended",
        "sent back",
        "not repaired",
        "unrepaired",
        "declined",
        "refused",
        "cancelled",
    ),
    Stage.SPARES: ("kept for spares", "spares", "scrapped", "scrap", "parted out"),
}
"""How a past job is said to have ended. Common practice, no source."""


@dataclass(slots=True)
class Past:
    """What a row makes: the job, its owner (new or in the book), and what its history says."""

    job: Job
    owner: Owner
    new_owner: bool
    number_then: str
    charged_minor: int | None


def plan_jobs(lines: Iterable[Line], known: str) -> dict[int, Past]:
    """Say of each line whether it is new; what each makes, by its row."""
    owners = OwnersKnown()
    patterns = {_key(*row[1:]): row[0] for row in Pattern.objects.values_list("pk", "maker", "model", "size")}
    jobs = _Jobs()
    pasts: dict[int, Past] = {}
    for line in lines:
        if not line.why and (past := _past(line, owners, patterns)) and not line.why:
            jobs.settle(line, past, known)
            if line.fate == "new":
                pasts[line.row] = past
                line.values |= {"tag": past.job.tag or NEXT, "how": Stage(past.job.stage).label}
                if past.new_owner:
                    line.made = past.owner
    return pasts


def _past(line: Line, owners: OwnersKnown, patterns: dict[tuple[str, ...], int]) -> Past | None:
    values, today = line.values, timezone.localdate()
    came = values["booked_on"]
    went = values.get("ended_on") or came
    if not came <= went <= today:
        line.why.append(
            f"it came on {day_in_words(came, long=True)} and went home on {day_in_words(went, long=True)}; "
            "allowed is in this order, none after today"
        )
    how = _ended(str(values.get("how", "")))
    if how is None:
        line.why.append(f"it ended as “{values['how']}”: one that is not over is booked in by hand")
        return None
    tag = str(values.get("tag", ""))
    job = Job(
        tag=tag if FREE_TAG.fullmatch(tag) else "",
        reel=values["reel"],
        stage=how,
        ended_from=Stage.BOXED if how == Stage.HOME else Stage.LOOKED_OVER,
        booked_in_at=_noon(came),
        stage_since=_noon(went),
        pattern_id=patterns.get(_key(*(str(values.get(name, "")) for name in ("maker", "model", "size")))),
        **{name: values[name] for name in FILLABLE if name in values},
    )
    line.checked(job, ("reel", *(name for name in FILLABLE if name in values)))
    owner = None if line.why else _owner(line, owners)
    if owner is None:
        return None
    return Past(job, owner, not owner.pk, tag, values.get("charged"))


def _owner(line: Line, owners: OwnersKnown) -> Owner | None:
    """Whose reel it was: somebody in the book, of an earlier row, or new. The line says then nothing of itself."""
    values = line.values
    said = {"name": values.get("owner", ""), "email": values.get("email", ""), "phone": values.get("phone", "")}
    if found := owners.told.get(tuple(said.values())):
        return found
    owner = _owner_said(line, owners, said)
    if owner and (said["email"] or said["phone"]):
        owners.told[tuple(said.values())] = owner
    return owner


def _owner_said(line: Line, owners: OwnersKnown, said: dict[str, str]) -> Owner | None:
    owner = Owner(**said)
    if any(said.values()):
        line.checked(owner, [name for name, text in said.items() if text])
        if not line.why:
            owners.find(line, said["name"], said["email"], said["phone"])
    if line.why:
        return None
    pk, earlier = line.known, line.earlier
    line.known, line.earlier, line.by = None, None, ""
    if pk:
        return Owner(pk=pk, name=owners.rows[pk]["name"])
    if earlier and isinstance(earlier.made, Owner):
        return earlier.made
    if not said["name"]:
        line.why.append("owner: no name stands there, and nobody in the book has this e-mail or telephone")
        return None
    line.made = owner
    owners.add(Who(owner.name, owner.email, owner.phone, line=line))
    return owner


@dataclass(frozen=True, slots=True)
class _Stay:
    """A job known so far, in the book or in an earlier row."""

    tag: str
    serial: str
    ref: int | Line

    def may_be(self, tag: str, serial: str) -> bool:
        """Not where both have a tag, or both a serial number, and they are not the same."""
        other_tag = tag and self.tag and tag.casefold() != self.tag.casefold()
        other_serial = serial and self.serial and serial.casefold() != self.serial.casefold()
        return not other_tag and not other_serial


class _Jobs:
    """Jobs known so far, by their tags, and by whose reel came when."""

    def __init__(self) -> None:
        self.rows: dict[int, dict[str, Any]] = {}
        self.tags: dict[str, tuple[str, int | Line]] = {}
        self.stays: dict[tuple[Any, ...], list[_Stay]] = defaultdict(list)
        for row in Job.objects.values("pk", "tag", "owner_id", "reel", "booked_in_at", *FILLABLE):
            self.rows[row["pk"]] = row
            self.tags[row["tag"].casefold()] = (row["reel"].casefold(), row["pk"])
            stay = (row["owner_id"], row["reel"].casefold(), timezone.localdate(row["booked_in_at"]))
            self.stays[stay].append(_Stay(row["tag"], row["serial"], row["pk"]))

    def settle(self, line: Line, past: Past, known: str) -> None:
        job = past.job
        reel, ref = self.tags.get(job.tag.casefold(), ("", None)) if job.tag else ("", None)
        by = "tag number"
        if ref is not None and reel != job.reel.casefold():
            job.tag, ref = "", None
        stay = (past.owner.pk or id(past.owner), job.reel.casefold(), line.values["booked_on"])
        if ref is None:
            by = "owner, reel and day"
            ref = next((each.ref for each in self.stays[stay] if each.may_be(job.tag, job.serial)), None)
        if ref is None:
            self.stays[stay].append(_Stay(job.tag, job.serial, line))
            if job.tag:
                self.tags[job.tag.casefold()] = (job.reel.casefold(), line)
            return
        line.made, line.by = None, by
        line.known, line.earlier = (ref, None) if isinstance(ref, int) else (None, ref)
        if known == "fill" and line.known:
            row = self.rows[line.known]
            line.fills = {name: line.values[name] for name in FILLABLE if line.values.get(name) and not row[name]}
            row.update(line.fills)


@cache
def _ended(text: str) -> Stage | None:
    word = " ".join(text.casefold().split())
    return next((stage for stage, words in ENDINGS.items() if word in words), None)


def _key(maker: str, model: str, size: str) -> tuple[str, ...]:
    return tuple(" ".join(word.casefold().split()) for word in (maker, model, size))


def _noon(day: date) -> datetime:
    """Of the shop's own clock; what came this morning came now."""
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=timezone.get_current_timezone())
    return min(noon, timezone.now() - timedelta(seconds=1))
