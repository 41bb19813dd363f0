"""What pip-audit says of the lock, in words; where it has no data nothing is called sound."""

import doctest
import json
import sys
from pathlib import Path

import pytest
from scripts import audit

HOLE = {"name": "a", "version": "1", "vulns": [{"id": "X-1", "fix_versions": []}]}
"""As pip-audit 2.10 writes it."""


def test_what_it_came_to_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert doctest.testmod(audit) == (0, 3)
    tool = tmp_path / "pip-audit"
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    assert audit.main() == 0 and "not tried here: it is not installed" in capsys.readouterr().out
    for answers, status, said in (
        ("echo no way there >&2; exit 1", 0, "not tried here: no way there"),
        (f"echo '{json.dumps({'dependencies': [HOLE]})}'", 1, "a 1 has X-1, mended in none yet"),
    ):
        tool.write_text(f"#!/bin/sh\n{answers}\n")
        tool.chmod(0o700)
        assert audit.main() == status and said in capsys.readouterr().out
