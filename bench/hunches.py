"""Time of the hunches for 60 faults and 120 looks with 15 abnormal, each finding of 2 to 20 causes.

The honest baseline is Heckerman's alternating sum over the findings seen (Quickscore, UAI 1989) in arrays: what one
would write who knows the field. It answers one question, the page asks seventeen and more (each finding left out, so
as to say what it moved). Times are of the processor, on one thread. Wanted: under 20 ms; twenty causes answered at all.
"""

import os
from collections.abc import Callable
from time import process_time

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np

from levelwind.core.hunches import Fault, Finding, Look, Net, posterior
from levelwind.core.hunches.compute.plan import _planned

FAULTS, LOOKS, ABNORMAL, NETS = 60, 120, 15, 5


def net(causes: int, seed: int) -> Net:
    dice = np.random.default_rng(seed)
    keys = [f"f{n}" for n in range(FAULTS)]
    findings = []
    for n in range(LOOKS):
        links = {key: float(dice.uniform(0.2, 0.9)) for key in dice.choice(keys, causes, replace=False)}
        findings.append(Finding(f"s{n}", "a finding", float(dice.uniform(0.01, 0.05)), links, look=f"l{n}"))
    faults = tuple(Fault(key, "a fault", float(dice.uniform(0.01, 0.2))) for key in keys)
    return Net(faults, tuple(Look(f"l{n}", "a look", 2.0) for n in range(LOOKS)), tuple(findings))


def quickscore(web: Net) -> float:
    """Chance of seeing the first fifteen findings."""
    links = np.array([[row.links.get(fault.key, 0.0) for row in web.findings[:ABNORMAL]] for fault in web.faults])
    priors, leaks = np.array([fault.prior for fault in web.faults]), np.array([row.leak for row in web.findings])
    missing = (np.arange(1 << ABNORMAL)[:, None] >> np.arange(ABNORMAL)) & 1
    by_fault = 1 - priors + priors * np.exp(missing @ np.log1p(-links).T)
    signs = (-1.0) ** missing.sum(axis=1) * np.exp(missing @ np.log1p(-leaks[:ABNORMAL]))
    return float(signs @ by_fault.prod(axis=1))


def milliseconds(what: Callable[[], object], times: int = 3) -> float:
    spans = []
    for _ in range(times):
        _planned.cache_clear()
        start = process_time()
        what()
        spans.append(1000 * (process_time() - start))
    return min(spans)


def main() -> None:
    for causes in (2, 3, 5, 8, 20):
        webs = [net(causes, seed) for seed in range(NETS if causes < 20 else 1)]
        for name, normal in (("no other looked at", 0), ("105 normal", LOOKS - ABNORMAL)):
            seen = {f"s{n}": n < ABNORMAL for n in range(ABNORMAL + normal)}
            took = [milliseconds(lambda web=web, seen=seen: posterior(web, seen)) for web in webs]
            print(f"{causes} causes, 15 abnormal, {name}: {np.median(took):.0f} ms, {max(took):.0f} at most")
        plain = np.median([milliseconds(lambda web=web: quickscore(web)) for web in webs])
        print(f"  the alternating sum, of one question: {plain:.0f} ms")


if __name__ == "__main__":
    main()
