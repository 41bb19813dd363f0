"""Keys of a family's places, steps, faults, findings and builds are written in books: none is ever dropped."""

import json
from pathlib import Path

from levelwind.reference.builds import shipped_builds
from levelwind.reference.families import family
from levelwind.reference.faults import load_net

KEPT: dict[str, dict[str, str]] = json.loads((Path(__file__).parent / "keys.json").read_text(encoding="utf-8"))


def test_no_key_that_shipped_is_gone() -> None:
    gone = {
        f"{key}: {sort} {lost}"
        for key, kept in KEPT.items()
        for sort, words in kept.items()
        for lost in set(words.split()) - keys_now(key)[sort]
    }
    assert not gone, "books hold these keys: bring them back, under a new key put what is new"


def keys_now(key: str) -> dict[str, set[str]]:
    kin, net = family(key), load_net(key)
    return {
        "places": {place.key for place in kin.places},
        "steps": {step.key for step in kin.rules.steps},
        "faults": {fault.key for fault in net.faults},
        "findings": {finding.key for finding in net.findings},
        "builds": set(shipped_builds(key)),
    }
