"""Walks one reel through the demo shop in a browser; keeps pictures, papers and every piece of the pages."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
PICTURES = ROOT / "docs" / "pictures"


def main() -> int:
    PICTURES.mkdir(exist_ok=True)
    environment = os.environ | {"LEVELWIND_PICTURES": str(PICTURES)}
    walk = [sys.executable, "-m", "pytest", "-q", "tests/browser/test_walk.py", "tests/browser/test_pieces.py"]
    return subprocess.run(walk, cwd=ROOT, env=environment, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
