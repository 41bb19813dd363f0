"""Small nets at random, and the answer by plain enumeration over every set of faults: slow, and free of cleverness."""

from collections.abc import Iterator, Mapping
from itertools import product

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from levelwind.core.hunches import Fault, Finding, Look, Net, chance_seen
from levelwind.core.quantities import Quantity
from tests.full_size import cases

UNHURRIED = settings(max_examples=cases(20, 60), deadline=None, suppress_health_check=[HealthCheck.too_slow])
"""The machine may be busy with other work: no example is held to a time."""

PRIORS = st.floats(0.001, 0.9)
LINKS = st.floats(0.0, 1.0)
LEAKS = st.floats(0.001, 0.5)


@st.composite
def nets(draw: st.DrawFn, most_faults: int = 6, most_findings: int = 7) -> Net:
    """Up to 6 faults and 7 findings in up to 3 looks; some findings are the owner's words."""
    faults = tuple(
        Fault(f"fault_{i}", f"fault {i}", draw(PRIORS), minutes=draw(st.integers(0, 30)), parts=Quantity.exact(i))
        for i in range(draw(st.integers(1, most_faults)))
    )
    looks = tuple(Look(f"look_{i}", f"look {i}", draw(st.integers(1, 9)), draw(st.booleans())) for i in range(3))
    homes = st.sampled_from([None, *(look.key for look in looks)])
    keys = [fault.key for fault in faults]
    findings = tuple(
        Finding(
            f"seen_{i}",
            f"finding {i}",
            draw(LEAKS),
            draw(st.dictionaries(st.sampled_from(keys), LINKS, max_size=len(keys))),
            look=draw(homes),
        )
        for i in range(draw(st.integers(1, most_findings)))
    )
    return Net(faults, looks, findings, opening_minutes=5)


@st.composite
def nets_with_sights(draw: st.DrawFn) -> tuple[Net, dict[str, bool]]:
    net = draw(nets())
    keys = [finding.key for finding in net.findings]
    return net, draw(st.dictionaries(st.sampled_from(keys), st.booleans(), max_size=len(keys)))


def worlds(net: Net) -> Iterator[tuple[frozenset[str], float]]:
    """Every set of faults with its prior probability."""
    for there in product((False, True), repeat=len(net.faults)):
        weight = 1.0
        for fault, present in zip(net.faults, there, strict=True):
            weight *= fault.prior if present else 1 - fault.prior
        yield frozenset(f.key for f, present in zip(net.faults, there, strict=True) if present), weight


def likelihood(net: Net, faults: frozenset[str], seen: Mapping[str, bool]) -> float:
    weight = 1.0
    for key, there in seen.items():
        chance = chance_seen(net, key, faults)
        weight *= chance if there else 1 - chance
    return weight


def weighed(net: Net, seen: Mapping[str, bool]) -> list[tuple[frozenset[str], float]]:
    """Every set of faults with its joint probability with what was seen."""
    return [(faults, prior * likelihood(net, faults, seen)) for faults, prior in worlds(net)]


def share(net: Net, seen: Mapping[str, bool], *faults: str) -> float:
    """P(all these faults | seen) by enumeration."""
    rows = weighed(net, seen)
    return sum(weight for there, weight in rows if there.issuperset(faults)) / sum(weight for _, weight in rows)
