"""Known holes in what the lock names, as pip-audit finds them. Ends with 1 where there is one.

Its data come from the package registry that pip is set up for; where none can be had, that is said and nothing is
called sound.
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

LOCK = Path(__file__).parents[1] / "requirements-bench.txt"
"""The widest lock: what the app stands on, and what its tests and benches do."""


def main() -> int:
    words = [str(Path(sys.executable).with_name("pip-audit")), "--require-hashes", "--disable-pip", "--format=json"]
    words += ["--progress-spinner=off", f"--requirement={LOCK}"]
    try:
        ended = subprocess.run(words, capture_output=True, text=True, check=False)
        named = json.loads(ended.stdout)["dependencies"]
    except OSError:
        print("pip-audit: not tried here: it is not installed")
        return 0
    except (ValueError, KeyError):
        print(f"pip-audit: not tried here: {' '.join(ended.stderr.split())[-300:]}")
        return 0
    said, status = told(named)
    print(f"pip-audit: {said}")
    return status


def told(named: list[dict[str, Any]]) -> tuple[str, int]:
    """What it came to in words, and 1 where there is a known hole.

    >>> told([{"name": "a", "skip_reason": "not found"}])
    ('not tried here: the registry has no word on any of 1 (not found)', 0)
    >>> told([{"name": "a", "version": "1", "vulns": []}, {"name": "b", "skip_reason": "not found"}])
    ('no known hole in 1; no word on b', 0)
    >>> told([{"name": "a", "version": "1", "vulns": [{"id": "X-1", "fix_versions": ["1.1"]}]}])
    ('a 1 has X-1, mended in 1.1', 1)
    """
    unknown = [each for each in named if "skip_reason" in each]
    if len(unknown) == len(named):
        return f"not tried here: the registry has no word on any of {len(named)} ({unknown[0]['skip_reason']})", 0
    holes = [
        f"{each['name']} {each['version']} has {hole['id']}, mended in {', '.join(hole['fix_versions']) or 'none yet'}"
        for each in named
        for hole in each.get("vulns", [])
    ]
    silent = f"; no word on {', '.join(each['name'] for each in unknown)}" if unknown else ""
    return ("; ".join(holes) or f"no known hole in {len(named) - len(unknown)}") + silent, int(bool(holes))


if __name__ == "__main__":
    sys.exit(main())
