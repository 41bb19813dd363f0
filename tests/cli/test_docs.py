"""The page on the command line says what the commands say of themselves."""

import runpy
from pathlib import Path

SCRIPTS = Path(__file__).parents[2] / "scripts"


def test_the_page_is_what_the_script_would_write() -> None:
    script = runpy.run_path(str(SCRIPTS / "command_line.py"))
    assert script["PAGE"].read_text() == script["text"](), "write it again: .venv/bin/python scripts/command_line.py"
