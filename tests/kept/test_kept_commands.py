"""Every command still prints, byte for byte, what it printed when `outputs/` was kept: see README.md."""

import json
import shlex
import tomllib
from math import isclose
from pathlib import Path
from typing import Any

import pytest

from levelwind.cli.main import main

KEPT = Path(__file__).parent
CALLS = {
    f"{command}_{name}": [command, *shlex.split(words)]
    for command, calls in tomllib.loads((KEPT / "calls.toml").read_text()).items()
    for name, words in calls.items()
}
TOLD_IN_TEXT = {"pull_kgf_two", "pull_lbf_glazed", "pull_kgf_185", "pull_gf_tabs", "pull_several"}
TOLD_IN_TEXT |= {"spin_table_rpm", "spin_table_ends_early", "spin_sound", "spin_film", "spin_several"}
"""Of the recordings, which take their time to read, these are printed for a person too; of the other commands all."""


def kept_as() -> list[tuple[str, str]]:
    """Each call as JSON, and as text where that says more than one line on standard error."""
    names = [name for name in CALLS if not any(word in name for word in ("_refused", "_wrong_"))]
    text = [name for name in names if name in TOLD_IN_TEXT or CALLS[name][0] not in ("pull", "spin")]
    return [(name, "json") for name in CALLS] + [(name, "txt") for name in text]


def printed(words: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """Exit status and, of what failed, the last line on standard error, above what stands on standard output.

    The lines before that last one are progress, which goes by the clock, and usage, which goes by the screen's width.
    """
    try:
        status = main(words)
    except SystemExit as left:
        status = int(str(left.code))
    out, err = capsys.readouterr()
    return f"exit {status}\n{err.splitlines()[-1] if status else ''}\n{out}"


def numbers_moved(kept: Any, now: Any, at: str = "") -> list[str]:
    """Where two parsed answers differ, floats by more than 1e-9 of their size."""
    if isinstance(kept, float) and isinstance(now, float):
        return [] if isclose(kept, now, rel_tol=1e-9, abs_tol=1e-12) else [f"{at}: {kept!r} is now {now!r}"]
    if isinstance(kept, dict) and isinstance(now, dict) and list(kept) == list(now):
        return [line for key in kept for line in numbers_moved(kept[key], now[key], f"{at}.{key}")]
    if isinstance(kept, list) and isinstance(now, list) and len(kept) == len(now):
        return [
            line for n, pair in enumerate(zip(kept, now, strict=True)) for line in numbers_moved(*pair, f"{at}[{n}]")
        ]
    return [] if kept == now else [f"{at}: {kept!r} is now {now!r}"]


@pytest.mark.parametrize(("name", "shape"), kept_as())
def test_the_same_is_printed(
    name: str, shape: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(KEPT / "inputs")
    now = printed(CALLS[name] + ["--json"] * (shape == "json"), capsys)
    kept = (KEPT / "outputs" / f"{name}.{shape}").read_text(encoding="utf-8")
    if shape == "json":
        answers, answers_now = ([json.loads(line) for line in text.split("\n")[2:] if line] for text in (kept, now))
        assert numbers_moved(answers, answers_now) == []
    assert now == kept, "equal to nine digits if JSON: another processor? (README.md)"


def test_nothing_is_kept_that_no_call_makes() -> None:
    assert {path.name for path in (KEPT / "outputs").iterdir()} == {f"{name}.{shape}" for name, shape in kept_as()}
