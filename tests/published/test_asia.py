"""The ASIA network: Lauritzen and Spiegelhalter, Local computations with probabilities on graphical structures and
their application to expert systems, Journal of the Royal Statistical Society B 50(2), 1988, tables on page 164.

ASIA has more than two layers, and dyspnoea is no noisy-OR of its causes, so our engine does not take it whole. Given
smoking and bronchitis, what is left is two-layered: tuberculosis and lung cancer are independent, "either" is their OR
(links 1, no leak), and X-ray and dyspnoea are doubtful sights of "either", that is readings with a likelihood ratio.
The four answers are weighed by their evidence (cutset conditioning: Pearl, Probabilistic Reasoning in Intelligent
Systems, 1988, section 4.4). The expected figures were worked out with pgmpy 1.1.2 (variable elimination) and
written down here; the whole network is run in pgmpy here as well, from the same tables.
"""

import logging
from itertools import product
from math import exp

import pytest
from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

from levelwind.core.hunches import Fault, Finding, Net, Reading, posterior

logging.getLogger("pgmpy").setLevel(logging.ERROR)

TUB = {True: 0.05, False: 0.01}  # by a visit to Asia
VISIT, SMOKER = 0.01, 0.5
LUNG = {True: 0.10, False: 0.01}  # by smoking
BRONC = {True: 0.60, False: 0.30}  # by smoking
XRAY = {True: 0.98, False: 0.05}  # by either
DYSP = {(True, True): 0.9, (True, False): 0.8, (False, True): 0.7, (False, False): 0.1}  # by bronchitis, either


def asia(visited: bool | None = None, *, xray: bool | None = None, dysp: bool | None = None) -> dict[str, float]:
    """P(evidence) and the posteriors, through our engine four times."""
    sums = dict.fromkeys(("evidence", "tub", "lung", "bronc", "either"), 0.0)
    tub = VISIT * TUB[True] + (1 - VISIT) * TUB[False] if visited is None else TUB[visited]
    for smokes, bronc in product((True, False), repeat=2):
        weight = SMOKER * (BRONC[smokes] if bronc else 1 - BRONC[smokes])
        net = Net(
            (Fault("tub", "tuberculosis", tub), Fault("lung", "lung cancer", LUNG[smokes])),
            (),
            (Finding("either", "either of them", 0.0, {"tub": 1.0, "lung": 1.0}),),
        )
        readings = []
        for key, shown, chance in (
            ("xray", xray, XRAY),
            ("dysp", dysp, {either: DYSP[bronc, either] for either in (True, False)}),
        ):
            if shown is not None:
                with_it, without = (chance[either] if shown else 1 - chance[either] for either in (True, False))
                readings.append(Reading(key, key, {"either": with_it / without}))
                weight *= without
        hunches = posterior(net, {}, readings)
        weight *= exp(hunches.log_evidence)
        sums["evidence"] += weight
        sums["tub"] += weight * hunches.of("tub").probability
        sums["lung"] += weight * hunches.of("lung").probability
        sums["bronc"] += weight * bronc
        sums["either"] += weight * (1 - hunches.none)
    return {key: total / (1 if key == "evidence" else sums["evidence"]) for key, total in sums.items()}


@pytest.fixture(scope="module")
def library() -> VariableElimination:
    edges = "asia>tub smoke>lung smoke>bronc tub>either lung>either either>xray bronc>dysp either>dysp"
    model = DiscreteBayesianNetwork([tuple(edge.split(">")) for edge in edges.split()])

    def table(name: str, chances: list[float], parents: str = "") -> TabularCPD:
        """Columns in the order of the parents' states, the last changing fastest, False first."""
        names = parents.split()
        return TabularCPD(name, 2, [[1 - c for c in chances], chances], names, [2] * len(names))

    model.add_cpds(
        table("asia", [VISIT]),
        table("smoke", [SMOKER]),
        table("tub", [TUB[False], TUB[True]], "asia"),
        table("lung", [LUNG[False], LUNG[True]], "smoke"),
        table("bronc", [BRONC[False], BRONC[True]], "smoke"),
        table("either", [0, 1, 1, 1], "tub lung"),
        table("xray", [XRAY[False], XRAY[True]], "either"),
        table("dysp", [DYSP[b, e] for b, e in product((False, True), repeat=2)], "bronc either"),
    )
    assert model.check_model()
    return VariableElimination(model)


@pytest.mark.parametrize(
    ("ours", "expected"),
    [
        (asia()["either"], 0.064828),
        (asia(xray=True)["evidence"], 0.11029004),
        (asia(dysp=True)["evidence"], 0.4359706),
        (asia(xray=True)["lung"], 0.4887114),
    ],
    ids=["either", "xray", "dysp", "lung given xray"],
)
def test_dx_2(ours: float, expected: float) -> None:
    """To 1e-6, the tolerance of the listed figures."""
    assert ours == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("xray", "tub", "lung", "bronc"),
    [(None, 0.08775096, 0.09952515, 0.81140207), (True, 0.39171172, 0.44427051, 0.62882178)],
    ids=["visit and dyspnoea", "and an abnormal X-ray"],
)
def test_dx_3(xray: bool | None, tub: float, lung: float, bronc: float) -> None:
    """To 1e-7, the tolerance of the listed figures: they carry eight decimals."""
    answer = asia(True, xray=xray, dysp=True)
    assert [answer[key] for key in ("tub", "lung", "bronc")] == pytest.approx([tub, lung, bronc], abs=1e-7)


@pytest.mark.parametrize("visited", [None, True, False])
@pytest.mark.parametrize(("xray", "dysp"), [(True, None), (None, True), (True, True), (False, True), (True, False)])
def test_every_posterior_against_the_library(
    library: VariableElimination, visited: bool | None, xray: bool | None, dysp: bool | None
) -> None:
    """To 1e-9: both sides are exact sums of doubles in different orders."""
    evidence = {"asia": visited, "xray": xray, "dysp": dysp}
    known = {key: int(state) for key, state in evidence.items() if state is not None}
    answer = asia(visited, xray=xray, dysp=dysp)
    for key in ("tub", "lung", "bronc", "either"):
        theirs = library.query([key], evidence=known, show_progress=False).values[1]
        assert answer[key] == pytest.approx(theirs, abs=1e-9)
