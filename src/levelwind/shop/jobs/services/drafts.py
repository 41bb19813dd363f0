"""A booking begun: every field kept as typed, reels added, copied and taken away, nothing lost."""

from collections.abc import Mapping
from copy import deepcopy

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.editing import Saved, clashing
from levelwind.shop.jobs.selectors.drafts import CLEAR_FAMILY, SEEN, START, STAY, draft_seen, field_name
from levelwind.shop.jobs.services.photos import photo_remove
from levelwind.shop.models import Draft, Job, Owner, Pattern

MOST_REELS = 40
NOT_COPIED = ("serial", STAY)


def draft_begin(*, owner: Owner | None = None, earlier: Job | None = None) -> Draft:
    """Begin a booking, for an owner already chosen or for nobody yet; with ``earlier`` of a reel that was here."""
    data = deepcopy(START)
    draft = Draft.objects.create(data={**data, "owner": owner.pk} if owner else data)
    if earlier:
        draft_stay_choose(draft=draft, key=draft.data["reels"][0], earlier=earlier)
    return draft


def draft_lock(*, draft: Draft) -> Draft:
    """The draft as the book holds it now, kept from others until the transaction ends."""
    locked = Draft.objects.select_for_update().filter(pk=draft.pk).first()
    if locked is None:
        raise LevelwindError("This booking is finished or thrown away: its reels, if booked in, are on the bench.")
    return locked


@transaction.atomic
def draft_save(*, draft: Draft, was: Mapping[str, str], now: Mapping[str, str]) -> Saved:
    """Keep each text of ``now`` that differs from what it ``was`` on the page; ``draft`` is brought up to date.

    NUL, which no keyboard types and PostgreSQL cannot hold, is left out.
    """
    locked = draft_lock(draft=draft)
    changed = {name: text.replace("\0", "") for name, text in now.items() if text != was[name]}
    stored = {name: locked.data.get(name, "") for name in changed}
    clashes = clashing(stored=stored, was=was, now=changed)
    written = {name: text for name, text in changed.items() if name not in clashes}
    locked.data.update(written)
    _write(draft, locked)
    return Saved(fields=tuple(written), clashes=clashes)


@transaction.atomic
def draft_owner_choose(*, draft: Draft, owner: Owner | None) -> None:
    """Say whose reels these are; None to choose again."""
    locked = draft_lock(draft=draft)
    locked.data["owner"] = owner.pk if owner else None
    _write(draft, locked)


@transaction.atomic
def draft_reel_add(*, draft: Draft, copy_of: int | None = None) -> int:
    """Another reel at the end, or right below the one it is a copy of (all but the serial number). Returns its key."""
    locked = draft_lock(draft=draft)
    reels = locked.data["reels"]
    if len(reels) >= MOST_REELS:
        raise InputError("reels in one booking", len(reels) + 1, f"at most {MOST_REELS}: book in the rest as another")
    key = max([0, *reels, *locked.data["away"]]) + 1
    if copy_of is not None and copy_of in reels:
        reels.insert(reels.index(copy_of) + 1, key)
        _copy_fields(locked, copy_of, key)
    else:
        reels.append(key)
    _write(draft, locked)
    return int(key)


@transaction.atomic
def draft_reels_add(*, draft: Draft, count: int) -> int:
    """So many copies of the last reel below it. Returns the key of the one right below it."""
    if not 1 <= count <= MOST_REELS:
        raise InputError("how many more", count, f"from 1 to {MOST_REELS}")
    last = draft_lock(draft=draft).data["reels"][-1:]
    return [draft_reel_add(draft=draft, copy_of=last[0] if last else None) for _ in range(count)][-1]


def _copy_fields(draft: Draft, one: int, other: int) -> None:
    start = field_name(one, "")
    fields = [name.removeprefix(start) for name in draft.data if name.startswith(start)]
    draft.data.update({field_name(other, name): draft.data[start + name] for name in fields if name not in NOT_COPIED})


@transaction.atomic
def draft_stay_choose(*, draft: Draft, key: int, earlier: Job | None) -> None:
    """Say which reel this is: what is not typed yet is taken from its stay before. None to say it is another."""
    locked = _with_reel(draft, key)
    locked.data[field_name(key, STAY)] = earlier.pk if earlier else None
    known = (
        {"reel": earlier.reel, "pattern": str(earlier.pattern_id or ""), "serial": earlier.serial} if earlier else {}
    )
    for name, text in known.items():
        locked.data[field_name(key, name)] = locked.data.get(field_name(key, name)) or text
    _write(draft, locked)


def _with_reel(draft: Draft, key: int) -> Draft:
    locked = draft_lock(draft=draft)
    if key not in locked.data["reels"]:
        raise LevelwindError("That reel is not in this booking any more.")
    return locked


@transaction.atomic
def draft_seen_keep(*, draft: Draft, key: int, seen: Mapping[str, str | None]) -> None:
    """Keep what was seen on a reel that nobody knows, by look; None where a look was not made after all."""
    locked = _with_reel(draft, key)
    kept = {**draft_seen(locked, key), **seen}
    locked.data[field_name(key, SEEN)] = {look: said for look, said in kept.items() if said is not None}
    _write(draft, locked)


@transaction.atomic
def draft_clear_family_keep(*, draft: Draft, key: int, family_key: str) -> None:
    """Keep the family that the looks tell clearly, "" for none."""
    locked = _with_reel(draft, key)
    locked.data[field_name(key, CLEAR_FAMILY)] = family_key
    _write(draft, locked)


@transaction.atomic
def draft_pattern_pick(*, draft: Draft, key: int, pattern: Pattern | None) -> None:
    """Say of which pattern this reel is; None to say that it is not known after all."""
    locked = _with_reel(draft, key)
    locked.data[field_name(key, "pattern")] = str(pattern.pk) if pattern else ""
    _write(draft, locked)


@transaction.atomic
def draft_reel_take_away(*, draft: Draft, key: int) -> None:
    """Take a reel out of the booking; what was typed stays with the draft, so that it can be put back."""
    _carry(draft, key, "reels", "away")


@transaction.atomic
def draft_reel_put_back(*, draft: Draft, key: int) -> None:
    _carry(draft, key, "away", "reels")


def _carry(draft: Draft, key: int, out_of: str, into: str) -> None:
    locked = draft_lock(draft=draft)
    if key in locked.data[out_of]:
        locked.data[out_of].remove(key)
        locked.data[into].append(key)
    _write(draft, locked)


@transaction.atomic
def draft_throw_away(*, draft: Draft) -> None:
    """Throw the booking away, with its pictures."""
    locked = draft_lock(draft=draft)
    for photo in locked.photos.all():
        photo_remove(photo=photo)
    locked.delete()


def _write(draft: Draft, locked: Draft) -> None:
    locked.save(update_fields=["data", "saved_at"])
    draft.data, draft.saved_at = locked.data, locked.saved_at
