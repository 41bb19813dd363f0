"""What an owner's words point to: word patterns read clause by clause, for the person to confirm.

A pattern is a row of terms, such as "drag not hold/grip". A term is met where a word or phrase of the clause begins as
one of its alternatives, or as one of the words that the net's `Words` give for it. Terms after "not" must be denied in
the clause, all others must not be, unless they name a thing: "the drag won't hold" denies the holding, not the drag.
"not" at the end asks for some denial of what the clause names, and what stands after "but" must not be in the clause.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from levelwind.core.hunches.model import Finding, Net, Words

REACH = 6
"""Words that a denial reaches over to the right; our choice."""

LONG = 5
"""Letters from which a word may be misspelt: one left out, put in, or changed with its neighbour; our choice."""

LEAST = 3
"""Letters that must stand from the mistake on: of the last two letters too many words differ; our choice."""

CLAUSE_ENDS = re.compile(r"[.,;:!?()\n]|\b(?:but|and|though|although|because|then|otherwise|except|so|also|since)\b")
WORD = re.compile(r"[a-z0-9]+")


@dataclass(frozen=True, slots=True)
class Pointed:
    """A finding that a complaint points to, and the clause that does."""

    finding: Finding
    clause: str


@dataclass(frozen=True, slots=True)
class Understood:
    """What a complaint points to, in the net's order, and the phrases that point to nothing."""

    pointed: tuple[Pointed, ...]
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Clause:
    """One clause: its words, which of them are denied, the things it names, and those it speaks of: its own, or those
    of the clause before it."""

    text: str
    words: tuple[str, ...]
    denied: frozenset[int]
    denies: bool
    named: frozenset[str]
    things: frozenset[str]


def understand(net: Net, complaint: str) -> Understood:
    """What the complaint says that the net has a finding for, and what it says beside that.

    >>> from levelwind.core.hunches.model import Fault
    >>> slips = Finding("slips", "the drag slips", 0.05, {"worn": 0.6}, says=("drag slip", "drag not hold"))
    >>> net = Net((Fault("worn", "worn washers", 0.3),), (), (slips,))
    >>> understood = understand(net, "Came from my uncle. The drag doesn't hold!")
    >>> [pointed.clause for pointed in understood.pointed], understood.left
    (['the drag does not hold'], ('came from my uncle',))
    """
    clauses = _clauses(complaint, net.words)
    pointing = {clause: _pointed_by(clause, net) for clause in clauses}
    first = {finding.key: clause.text for clause in reversed(clauses) for finding in pointing[clause]}
    pointed = tuple(Pointed(finding, first[finding.key]) for finding in net.said if finding.key in first)
    return Understood(pointed, tuple(c.text for c in clauses if not pointing[c] and len(c.words) > 1))


def _pointed_by(clause: _Clause, net: Net) -> list[Finding]:
    """The findings that one clause points to: of several, those whose pattern asks for most."""
    terms = {
        finding.key: max((_meets(says, clause, net.words) for says in finding.says), default=0) for finding in net.said
    }
    most = max(terms.values(), default=0)
    return [finding for finding in net.said if most and terms[finding.key] == most]


def pointed_to(net: Net, complaint: str) -> tuple[Pointed, ...]:
    """The findings of the net that the complaint points to, in the net's order."""
    return understand(net, complaint).pointed


def _clauses(complaint: str, words: Words) -> list[_Clause]:
    plain = complaint.lower().replace("’", "'").replace("n't", " not").replace("-", " ").replace("'", "")
    clauses: list[_Clause] = []
    for text in CLAUSE_ENDS.split(plain):
        if spoken := tuple(WORD.findall(text)):
            named = frozenset(name for name in words.things if [*_found((name,), spoken, words)])
            before = clauses[-1].things if clauses and not named else frozenset()
            ends = _ends(words.denials, spoken)
            denied = frozenset(place for end in ends for place in range(end, min(end + REACH, len(spoken))))
            clauses.append(_Clause(text.strip(), spoken, denied, bool(ends), named, named | before))
    return clauses


def _ends(phrases: Sequence[str], spoken: tuple[str, ...]) -> list[int]:
    return [place + len(phrase.split()) for phrase in phrases for place in _places(phrase, spoken, exact=True)]


def _meets(pattern: str, clause: _Clause, words: Words) -> int:
    """How many terms of the pattern the clause meets: all or none."""
    if _ends(words.praises, clause.words):
        return 0
    asked, _, absent = pattern.partition(" but ")
    if any(_spoken_of(term.split("/"), clause, words) for term in absent.split()):
        return 0
    terms = asked.split()
    bare = terms[-1] == "not"
    if bare and not (clause.denies and all(clause.named.intersection(term.split("/")) for term in terms[:-1])):
        return 0
    first = next((place for place, term in enumerate(terms) if term in ("not", "no")), len(terms))
    met = bare or all(
        _met(term.split("/"), clause, words, place > first) for place, term in enumerate(terms) if place != first
    )
    return len(terms) if met else 0


def _spoken_of(names: Sequence[str], clause: _Clause, words: Words) -> bool:
    return bool(clause.things.intersection(names)) or any(True for _ in _found(names, clause.words, words))


def _met(names: Sequence[str], clause: _Clause, words: Words, denied: bool) -> bool:
    if not denied and clause.things.intersection(names):
        return True
    return any((place in clause.denied) is denied for place in _found(names, clause.words, words))


def _found(names: Sequence[str], spoken: tuple[str, ...], words: Words) -> Iterator[int]:
    for name in names:
        for beginning in words.meanings.get(name, (name,)):
            yield from _places(beginning, spoken)


@lru_cache(maxsize=4096)
def _places(phrase: str, spoken: tuple[str, ...], exact: bool = False) -> tuple[int, ...]:
    """Where a phrase begins: all its words as they are, and the last one at least by its beginning."""
    *first, last = phrase.split()
    starts = range(len(spoken) - len(first))
    return tuple(
        place
        for place in starts
        if spoken[place : place + len(first)] == tuple(first) and _ends_in(last, spoken[place + len(first)], exact)
    )


def _ends_in(word: str, spoken: str, exact: bool) -> bool:
    return spoken == word or (not exact and (spoken.startswith(word) or _misspelt(word, spoken)))


def _misspelt(word: str, spoken: str) -> bool:
    """Whether ``spoken`` begins as ``word`` but for one letter left out, put in, or changed with its neighbour."""
    if len(word) < LONG:
        return False
    at = next((i for i, (a, b) in enumerate(zip(word, spoken, strict=False)) if a != b), len(word))
    rest, heard = word[at:], spoken[at:]
    if at == 0 or len(rest) < LEAST:
        return False
    swapped = rest[1] + rest[0] + rest[2:]
    return heard.startswith((rest[1:], swapped)) or heard[1:].startswith(rest)
