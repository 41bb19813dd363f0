"""Which family is written as which."""

import tomllib
from importlib import resources


def written_as(key: str) -> str:
    """The family that this one is written as; empty for one that says everything itself."""
    head = resources.files("levelwind.reference").joinpath("families", key, "family.toml")
    return str(tomllib.loads(head.read_text(encoding="utf-8")).get("like", ""))
