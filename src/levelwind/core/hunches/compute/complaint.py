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
    neither does; words that follow a denial in the pattern must follow one in the clause. "drag slip" meets "the drag
    keeps slipping" and not "the drag doesn't slip"; "no drag" meets "there is no drag" and not "the drag doesn't slip".

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
    (asked, denied), (words, denied_words) = _split(pattern), _split(clause)
    if (denied is None) != (denied_words is None):
        return False
    return _all_begin(asked, words) and _all_begin(denied or [], denied_words or [])


def _all_begin(starts: list[str], words: list[str]) -> bool:
    return all(any(word.startswith(start) for word in words) for start in starts)


def _split(text: str) -> tuple[list[str], list[str] | None]:
    """All words but the denials, and those after the first denial, or None where nothing is denied."""
    words = WORD.findall(text)
    first = next((place for place, word in enumerate(words) if word in DENIALS), None)
    plain = [word for word in words if word not in DENIALS]
    return plain, None if first is None else [word for word in words[first:] if word not in DENIALS]
