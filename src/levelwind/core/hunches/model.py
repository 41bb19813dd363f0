"""What goes in: the faults a kind of reel may have, the looks that tell them apart, and what each look may show.

A net has two layers. Faults come and go independently of one another, each with its prior. A finding is there when at
least one fault that is there brings it about, or when it turns up by itself (its leak): a noisy-OR,

    P(finding | faults) = 1 − (1 − leak) · Π (1 − link)   over the faults that are there.

Beside the faults of the list there may be something that is not on it. It has a prior and a link to each finding like
any fault, but nothing puts it right and no look tells it: it rises as the others fall.

Source: Pearl, Probabilistic Reasoning in Intelligent Systems, 1988, section 4.3.2; the leak is Henrion's, 1989.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity

MOST_FAULTS = 60
"""Faults in one net. Our choice: three times a shipped family; the exact sum stays quick."""
MOST_FINDINGS = 200
"""Findings in one net. Our choice, by the same measure."""
JUDGEMENT = "judgement"
FREE = Quantity.exact(0.0)
"""Minutes or money of what costs nothing."""


@dataclass(frozen=True, slots=True)
class Counted:
    """What closed jobs say about one probability: a Beta distribution and the number of jobs behind it.

    >>> Counted(3.0, 9.0, 10).mean
    0.25
    """

    alpha: float
    beta: float
    jobs: int

    @property
    def mean(self) -> float:
        return self.alpha / (self.alpha + self.beta)


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that may be wrong.

    ``prior`` is the chance that a reel of this family which comes in has it. ``mend`` says what puts it right,
    ``minutes`` (on a reel already open that far) and ``parts`` (money, low to high) what that takes, ``places`` which
    pieces are renewed or cleaned. ``renew_unseen``: it is sensible to renew the piece without looking. ``soon`` is
    the chance that a piece which is sound now gives out before the reel would come in again, and brings it back all
    the same. ``judged`` are the states of a piece in one of those places that mean this fault; none where a piece's
    state cannot tell it.
    """

    key: str
    name: str
    prior: float
    mend: str = ""
    minutes: float = 0.0
    parts: Quantity = FREE
    places: tuple[str, ...] = ()
    renew_unseen: bool = False
    judged: tuple[str, ...] = ()
    soon: float = 0.0
    note: str = ""
    source: str = JUDGEMENT
    counted: Counted | None = None

    def __post_init__(self) -> None:
        _demand(0 < self.prior < 1, f"prior of {self.key}", self.prior, "above 0 and below 1")
        _demand(0 <= self.minutes <= 10_000, f"minutes of {self.key}", self.minutes, "0 to 10 000 minutes")
        _demand(0 <= self.soon <= 1, f"chance that {self.key} comes soon", self.soon, "0 to 1")
        _demand(self.parts.low >= 0, f"price of parts of {self.key}", self.parts.low, "0 or more")


@dataclass(frozen=True, slots=True)
class Finding:
    """Something a look may show, or an owner may say.

    ``links`` gives for each fault the chance that this fault alone brings the finding about; ``leak`` the chance that
    it turns up without any of them, ``unlisted`` the link of what is not on the list. ``look`` is the look that
    shows it, or None where the owner says it. ``says`` are the word patterns that point to it in a complaint.
    """

    key: str
    name: str
    leak: float
    links: Mapping[str, float]
    look: str | None = None
    says: tuple[str, ...] = ()
    unlisted: float = 0.0
    source: str = JUDGEMENT
    counted: Mapping[str, Counted] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _demand(0 <= self.leak < 1, f"leak of {self.key}", self.leak, "0 to below 1")
        for fault, link in {**self.links, "what is not listed": self.unlisted}.items():
            _demand(0 <= link <= 1, f"link from {fault} to {self.key}", link, "0 to 1")


@dataclass(frozen=True, slots=True)
class Look:
    """One check: what to do, how long the looking takes, and what it needs. ``reach`` are the places that must be off
    first: the takedown knows how long that takes."""

    key: str
    do: str
    minutes: float
    needs_open: bool = False
    reach: tuple[str, ...] = ()
    tool: str = ""
    caution: str = ""

    def __post_init__(self) -> None:
        _demand(0 < self.minutes <= 1000, f"minutes of the look {self.key}", self.minutes, "above 0 to 1000 minutes")


@dataclass(frozen=True, slots=True)
class Reading:
    """A measurement that speaks for or against: for each fault or finding, how many times likelier the reading is
    with it than without it (above 1 speaks for it, below 1 against).

    On a finding this is exact: a doubtful sight of it. On a fault it takes the reading to bear on each fault by itself.
    """

    key: str
    name: str
    ratios: Mapping[str, float]

    def __post_init__(self) -> None:
        for key, ratio in self.ratios.items():
            _demand(1e-6 <= ratio <= 1e6, f"likelihood ratio of {self.key} for {key}", ratio, "0.000001 to 1 000 000")


@dataclass(frozen=True, slots=True)
class Words:
    """What owners call things and troubles: beginnings of words or of phrases by the name that patterns use for them.

    ``things`` are the names that stand for a part of the reel; ``denials`` deny what comes after them; a clause with
    one of the ``praises`` in it says that all is well.
    """

    meanings: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    things: frozenset[str] = frozenset()
    denials: tuple[str, ...] = (
        "not",
        "no",
        "never",
        "without",
        "cannot",
        "cant",
        "wont",
        "dont",
        "doesnt",
        "isnt",
        "didnt",
    )
    praises: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Net:
    """All faults, looks and findings of one family. ``opening_minutes``: to get from a whole reel to an open one,
    on which the places of ``opening`` are off.
    ``unlisted`` is the prior of something that is not on the list, 0 where the list is taken as whole."""

    faults: tuple[Fault, ...]
    looks: tuple[Look, ...]
    findings: tuple[Finding, ...]
    family: str = ""
    name: str = ""
    opening_minutes: float = 0.0
    opening: tuple[str, ...] = ()
    unlisted: float = 0.0
    words: Words = Words()

    def __post_init__(self) -> None:
        _demand(0 < len(self.faults) <= MOST_FAULTS, "number of faults", len(self.faults), f"1 to {MOST_FAULTS}")
        _demand(len(self.findings) <= MOST_FINDINGS, "number of findings", len(self.findings), f"0 to {MOST_FINDINGS}")
        _demand(self.opening_minutes >= 0, "opening minutes", self.opening_minutes, "0 or more")
        _demand(0 <= self.unlisted < 1, "prior of what is not listed", self.unlisted, "0 to below 1")
        _no_twins([p.key for p in self.faults] + [p.key for p in self.looks] + [p.key for p in self.findings])
        known = {fault.key for fault in self.faults}
        looks = {look.key for look in self.looks}
        for finding in self.findings:
            _known(finding.links, known, f"fault linked to {finding.key}")
            _known([finding.look] if finding.look else [], looks, f"look that shows {finding.key}")

    def fault(self, key: str) -> Fault:
        _known([key], (fault.key for fault in self.faults), "fault")
        return next(fault for fault in self.faults if fault.key == key)

    def finding(self, key: str) -> Finding:
        _known([key], (finding.key for finding in self.findings), "finding")
        return next(finding for finding in self.findings if finding.key == key)

    def look(self, key: str) -> Look:
        _known([key], (look.key for look in self.looks), "look")
        return next(look for look in self.looks if look.key == key)

    def shown_by(self, look: str) -> tuple[Finding, ...]:
        """The findings one look may show, in the order of the data."""
        return tuple(finding for finding in self.findings if finding.look == look)

    @property
    def said(self) -> tuple[Finding, ...]:
        """The findings that come from the owner's mouth, not from a look."""
        return tuple(finding for finding in self.findings if finding.look is None)


def _demand(holds: bool, what: str, was: object, allowed: str) -> None:
    if not holds:
        raise InputError(what, was, allowed)


def _no_twins(keys: Iterable[str]) -> None:
    met: set[str] = set()
    for key in keys:
        _demand(key not in met, "key", repr(key), "one that no other fault, look or finding has")
        met.add(key)


def _known(keys: Iterable[str], known: Iterable[str], what: str) -> None:
    allowed = tuple(known)
    for key in keys:
        _demand(key in allowed, what, repr(key), "one of " + ", ".join(allowed))
