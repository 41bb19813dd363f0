"""What an owner's words point to: simple word patterns, for the person to confirm."""

import re
from dataclasses import dataclass

from levelwind.core.hunches.model import Finding, Net

DENIALS = frozenset({"not", "no", "never", "without", "cannot", "cant", "wont", "dont", "doesnt", "isnt", "didnt"})
CLAUSE_ENDS = re.compile(r"[.,;:!?()\n]|\b(?:but|and|though|although|because|then)\b")
WORD = re.compile(r"[a-z0-9]+")


@dataclass(frozen=True, slots=True)
class Pointed:
    """A finding that a complaint points to, and the clause that does."""

    finding: Finding
    clause: str


def pointed_to(net: Net, complaint: str) -> tuple[Pointed, ...]:
    """The findings of the net whose patterns the complaint matches, in the net's order.

    A pattern matches a clause when each of its words begins a word of the clause, in any order, and when both deny or
    neither does: "drag slip" meets "the drag keeps slipping" and not "the drag doesn't slip".

    >>> from levelwind.core.hunches.model import Fault
    >>> slips = Finding("slips", "the drag slips", 0.05, {"worn": 0.6}, says=("drag slip",))
    >>> net = Net((Fault("worn", "worn washers", 0.3),), (), (slips,))
    >>> [pointed.clause for pointed in pointed_to(net, "Came from my uncle. The drag keeps slipping!")]
    ['the drag keeps slipping']
    """
    clauses = _clauses(complaint)
    matches = ((finding, _first(finding.says, clauses)) for finding in net.findings)
    return tuple(Pointed(finding, clause) for finding, clause in matches if clause is not None)


def _clauses(complaint: str) -> list[str]:
    plain = complaint.lower().replace("’", "'").replace("n't", " not").replace("-", " ").replace("'", "")
    return [clause.strip() for clause in CLAUSE_ENDS.split(plain) if clause.strip()]


def _first(patterns: tuple[str, ...], clauses: list[str]) -> str | None:
    return next((clause for clause in clauses if any(_meets(pattern, clause) for pattern in patterns)), None)


def _meets(pattern: str, clause: str) -> bool:
    (asked, asks_denial), (words, denies) = _split(pattern), _split(clause)
    return asks_denial == denies and all(any(word.startswith(start) for word in words) for start in asked)


def _split(text: str) -> tuple[list[str], bool]:
    words = WORD.findall(text)
    return [word for word in words if word not in DENIALS], any(word in DENIALS for word in words)
