"""Noisy-OR: the printed table, and two-layer nets against a reference library.

Table: Russell and Norvig, Artificial Intelligence: A Modern Approach, noisy-OR example (fever from cold, flu and
malaria with inhibitions 0.6, 0.2 and 0.1); read in a copy of the lecture slides on a web page.
Library: pgmpy, variable elimination over the full conditional tables, run here.
"""

import logging
from itertools import product
from math import exp

import numpy as np
import pytest
from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

from levelwind.core.hunches import Fault, Finding, Net, chance_seen, pairs, posterior

logging.getLogger("pgmpy").setLevel(logging.ERROR)

FEVER = Net(
    (Fault("cold", "cold", 0.5), Fault("flu", "flu", 0.5), Fault("malaria", "malaria", 0.5)),
    (),
    (Finding("fever", "fever", 0.0, {"cold": 0.4, "flu": 0.8, "malaria": 0.9}),),
)
PRINTED = {
    "": 0.0,
    "malaria": 0.9,
    "flu": 0.8,
    "flu malaria": 0.98,
    "cold": 0.4,
    "cold malaria": 0.94,
    "cold flu": 0.88,
    "cold flu malaria": 0.988,
}


@pytest.mark.parametrize(("causes", "fever"), PRINTED.items())
def test_the_printed_table(causes: str, fever: float) -> None:
    """To 1e-12: the table is exact, and three products of doubles err by less than 1e-15."""
    assert chance_seen(FEVER, "fever", frozenset(causes.split())) == pytest.approx(fever, abs=1e-12)


def test_the_table_weighed_by_its_causes_is_what_the_engine_answers() -> None:
    """With causes at even chances P(fever) is the mean of the eight printed values; each posterior is a part of it."""
    hunches = posterior(FEVER, {"fever": True})
    assert exp(hunches.log_evidence) == pytest.approx(sum(PRINTED.values()) / 8, abs=1e-12)
    for cause in ("cold", "flu", "malaria"):
        with_it = sum(fever for causes, fever in PRINTED.items() if cause in causes.split())
        assert hunches.of(cause).probability == pytest.approx(with_it / sum(PRINTED.values()), abs=1e-12)


def two_layers(seed: int) -> tuple[Net, dict[str, bool]]:
    """Seven faults, eight findings with up to five causes each, of which six were looked for."""
    dice = np.random.default_rng(seed)
    faults = tuple(Fault(f"f{i}", f"f{i}", float(dice.uniform(0.01, 0.6))) for i in range(7))
    findings = []
    for j in range(8):
        causes = dice.choice(7, size=int(dice.integers(1, 6)), replace=False)
        links = {f"f{i}": float(dice.uniform(0.05, 0.99)) for i in causes}
        findings.append(Finding(f"s{j}", f"s{j}", float(dice.uniform(0.001, 0.3)), links))
    looked_for = dice.choice(8, size=6, replace=False)
    return Net(faults, (), tuple(findings)), {f"s{j}": bool(dice.random() < 0.5) for j in looked_for}


def library_net(net: Net) -> DiscreteBayesianNetwork:
    model = DiscreteBayesianNetwork([(fault, finding.key) for finding in net.findings for fault in finding.links])
    model.add_nodes_from([fault.key for fault in net.faults])
    for fault in net.faults:
        model.add_cpds(TabularCPD(fault.key, 2, [[1 - fault.prior], [fault.prior]]))
    for finding in net.findings:
        causes = list(finding.links)
        columns = []
        for states in product((0, 1), repeat=len(causes)):
            off = 1 - finding.leak
            for cause, state in zip(causes, states, strict=True):
                off *= (1 - finding.links[cause]) if state else 1.0
            columns.append((off, 1 - off))
        table = np.array(columns).T
        model.add_cpds(TabularCPD(finding.key, 2, table, evidence=causes, evidence_card=[2] * len(causes)))
    assert model.check_model()
    return model


@pytest.mark.parametrize("seed", range(20))
def test_random_two_layer_nets_against_the_library(seed: int) -> None:
    """To 1e-9: both sides are exact sums of doubles in different orders."""
    net, seen = two_layers(seed)
    library = VariableElimination(library_net(net))
    evidence = {key: int(there) for key, there in seen.items()}
    hunches, together = posterior(net, seen), pairs(net, seen)
    for fault in net.faults:
        answer = library.query([fault.key], evidence=evidence, show_progress=False).values[1]
        assert hunches.of(fault.key).probability == pytest.approx(answer, abs=1e-9)
    both = library.query(["f0", "f1"], evidence=evidence, show_progress=False)
    assert together[0, 1] == pytest.approx(both.get_value(f0=1, f1=1), abs=1e-9)
