"""What goes wrong with a family of reels, read from its hunches.toml into a net.

A new family is a new folder with a hunches.toml: no code. The file holds `family`, `name`, `opening_minutes` and three
lists: `[[fault]]`, `[[look]]` each with its `[[look.finding]]`, and `[[said]]` for the owner's words.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache, lru_cache
from importlib import resources

from levelwind.core.errors import InputError
from levelwind.core.hunches import Fault, Finding, Look, Net, Words, opened, shared, ways_in
from levelwind.core.quantities import Quantity
from levelwind.core.takedown import reach
from levelwind.reference.cautions import cautions
from levelwind.reference.families import families, family_values
from levelwind.reference.families import family as rules_of
from levelwind.reference.toml_rows import TomlTable, read_toml
from levelwind.reference.unknown_reels import commonness

LARGEST = 500_000
"""Bytes of one file; the largest of our own is a twentieth of it."""


@cache
def families_with_hunches() -> tuple[str, ...]:
    """Keys of the families whose faults are known.

    >>> "star_drag" in families_with_hunches()
    True
    """
    return tuple(key for key in families() if family_values(key)["hunches.toml"])


@cache
def load_net(family: str) -> Net:
    """The net of one family. Raises InputError for a family without one.

    >>> load_net("star_drag").name
    'star drag'
    """
    if family not in families_with_hunches():
        raise InputError("family", repr(family), "one of " + ", ".join(families_with_hunches()))
    net = _net(TomlTable(f"{family}/hunches.toml", family_values(family)["hunches.toml"]))
    return replace(net, opening_minutes=round(reach(rules_of(family).rules, net.opening).minutes, 2))


@cache
def net_of_any_reel() -> Net:
    """What holds for a reel of any family, each counted as often as it comes in; the words are any_reel.toml's.

    >>> [look.key for look in net_of_any_reel().looks]
    ['outside', 'screws_try']
    """
    net = shared([(load_net(key), commonness()[key]) for key in families_with_hunches()], "all kinds of")
    name = "any_reel.toml"
    file = read_toml(name, resources.files("levelwind.reference").joinpath(name).read_text(encoding="utf-8"))
    faults, mends, looks, findings = (file.row(row) for row in ("fault", "mend", "look", "finding"))
    said = replace(
        net,
        faults=tuple(
            replace(fault, name=faults.text(fault.key, fault.name), mend=mends.text(fault.key, fault.mend))
            for fault in net.faults
        ),
        looks=tuple(replace(look, do=looks.text(look.key, look.do)) for look in net.looks),
        findings=tuple(replace(finding, name=findings.text(finding.key, finding.name)) for finding in net.findings),
    )
    for row in (faults, mends, looks, findings, file):
        row.done()
    return said


@lru_cache(maxsize=256)
def minutes_to_looks(
    family: str, off: frozenset[str] = frozenset(), absent: frozenset[str] = frozenset()
) -> Mapping[str, float]:
    """The takedown's minutes to each look of the family, with these places off, on a reel that lacks these."""
    rules = rules_of(family).rules.without(absent)
    return ways_in(load_net(family), rules, off - absent)


@cache
def open_places(family: str) -> frozenset[str]:
    """The places that are off on a reel of this family that is called open."""
    return opened(load_net(family), rules_of(family).rules)


def read_net(content: bytes, name: str) -> Net:
    """A net from the bytes of a hunches.toml, hostile until read: size, form, names and types are checked.

    ``name`` is what refusals call the file. Raises InputError with file, row and what is allowed.
    """
    if len(content) > LARGEST:
        raise InputError(f"size of {name}", f"{len(content)} bytes", f"up to {LARGEST} bytes")
    try:
        file = read_toml(name, content.decode())
    except UnicodeDecodeError as error:
        raise InputError(name, "not text", "a TOML file in UTF-8") from error
    return _net(file)


def _net(file: TomlTable) -> Net:
    opening = file.texts("opening") if "opening" in file.values else ()
    looks = file.rows("look")
    findings = [finding for look in looks for finding in _findings(look)]
    net = Net(
        faults=tuple(_fault(row) for row in file.rows("fault")),
        looks=tuple(_look(row) for row in looks),
        findings=(*findings, *(_finding(row, None) for row in file.rows("said"))),
        family=file.text("family"),
        name=file.text("name"),
        opening_minutes=file.number("opening_minutes") if "opening_minutes" in file.values or not opening else 0.0,
        opening=opening,
        unlisted=_chance(file, "unlisted"),
        words=owners_words()[0],
    )
    file.done()
    return net


@cache
def owners_words() -> tuple[Words, Mapping[str, tuple[str, ...]]]:
    """What owners call things, and the patterns of the findings that families share, by the findings' keys."""
    name = "owners_words.toml"
    file = read_toml(name, resources.files("levelwind.reference").joinpath(name).read_text(encoding="utf-8"))
    meanings, says = file.row("words"), file.row("says")
    words = Words(
        meanings={key: meanings.texts(key) for key in meanings.values},
        things=frozenset(file.texts("things")),
        denials=file.texts("denials"),
        praises=file.texts("praises"),
    )
    return words, {key: says.texts(key) for key in says.values}


def _fault(row: TomlTable) -> Fault:
    price = row.row("parts")
    fault = Fault(
        key=_key(row),
        name=row.text("name"),
        prior=row.number("prior"),
        mend=row.text("mend"),
        minutes=row.number("minutes"),
        parts=Quantity(price.number("likely"), price.number("low"), price.number("high")),
        places=row.texts("places"),
        renew_unseen=row.yes("renew_unseen"),
        judged=row.texts("judged") if "judged" in row.values else (),
        soon=_chance(row, "soon"),
        note=row.text("note", ""),
        source=row.text("source"),
    )
    price.done()
    row.done()
    return fault


def _look(row: TomlTable) -> Look:
    look = Look(
        key=_key(row),
        do=row.text("do"),
        minutes=row.number("minutes"),
        needs_open=row.yes("needs_open"),
        reach=row.texts("reach") if "reach" in row.values else (),
        tool=row.text("tool", ""),
        caution=row.text("caution", "", ("", *cautions())),
    )
    row.done()
    return look


def _findings(look: TomlTable) -> Iterator[Finding]:
    return (_finding(row, _key(look)) for row in look.rows("finding"))


def _finding(row: TomlTable, look: str | None) -> Finding:
    links = row.row("links")
    key = _key(row)
    own = row.texts("says") if look is None and "says" in row.values else ()
    finding = Finding(
        key=key,
        name=row.text("name"),
        leak=row.number("leak"),
        links={fault: links.number(fault) for fault in links.values},
        look=look,
        says=(*own, *owners_words()[1].get(key, ())) if look is None else (),
        unlisted=_chance(row, "unlisted"),
        source=row.text("source"),
    )
    row.done()
    return finding


def _chance(row: TomlTable, key: str) -> float:
    """A chance that may be left out: none."""
    return row.number(key) if key in row.values else 0.0


def _key(row: TomlTable) -> str:
    key = row.text("key")
    if not key.isidentifier():
        raise InputError(f"{row.where}: key", repr(key), "a word of letters, digits and _")
    return key
