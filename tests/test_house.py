"""The house holds: core knows nothing of the outside, and the command line starts with nothing heavy."""

import ast
import pkgutil
import re
import subprocess
import sys
from itertools import zip_longest
from pathlib import Path

import pytest

import levelwind.core

BLOCKED = """
import sys
from pathlib import Path
class Wall:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"django", "sqlite3", "PIL", "typst", "openpyxl"}:
            raise ImportError(name + " is blocked")
sys.meta_path.insert(0, Wall())
import importlib
for name in sys.argv[1:]:
    importlib.import_module(name)
"""


def _core_modules() -> list[str]:
    return [module.name for module in pkgutil.walk_packages(levelwind.core.__path__, "levelwind.core.")]


def test_core_imports_with_the_outside_blocked() -> None:
    run = subprocess.run([sys.executable, "-c", BLOCKED, *_core_modules()], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr


def test_the_wall_itself_stands() -> None:
    run = subprocess.run([sys.executable, "-c", BLOCKED, "django"], capture_output=True, text=True, check=False)
    assert "django is blocked" in run.stderr


HEAVY = ("django", "numpy", "scipy", "PIL", "typst", "openpyxl")


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["pull", "--help"], ["drag", "--help"]])
def test_the_command_line_starts_without_anything_heavy(words: list[str]) -> None:
    code = (
        "import sys; from levelwind.cli.main import main\n"
        "try: main(sys.argv[1:])\n"
        "except SystemExit: pass\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True, check=False)
    assert run.stderr.strip() == "[]"


def test_pages_ask_the_book_through_selectors() -> None:
    """A view that queries for itself is a question the book cannot answer a second time."""
    web = Path(levelwind.core.__path__[0]).parent / "web"
    asking = [path.name for path in web.rglob("*.py") if ".objects." in path.read_text()]
    assert not asking


ROOT = Path(__file__).parents[1]


def test_where_do_i_change_names_what_is_there() -> None:
    page = (ROOT / "docs/where-do-i-change.md").read_text(encoding="utf-8")
    named = re.findall(r"`(\w[\w/]*\.\w+)`: `([^`]+)`", page)
    assert len(named) >= 10
    gone = [
        f"{path}: {name}"
        for path, name in named
        if not (file := ROOT / "src/levelwind" / path).is_file() or name not in file.read_text(encoding="utf-8")
    ]
    assert not gone


def test_the_map_names_every_room() -> None:
    """CONTRIBUTING's map has every folder of the house, the shop's matters, the web's areas and core's domains."""
    house = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8").split("```")[1]
    source = ROOT / "src/levelwind"
    rooms = [
        folder.name
        for top in (source, source / "shop", source / "web", source / "core")
        for folder in top.iterdir()
        if (folder / "__init__.py").is_file() and folder.name not in ("migrations", "templatetags")
    ]
    assert not [name for name in rooms if not re.search(rf"\b{name}\b", house)]


def _is_number(value: ast.expr | None) -> bool:
    if isinstance(value, ast.Tuple | ast.List):
        return bool(value.elts) and all(_is_number(each) for each in value.elts)
    if isinstance(value, ast.BinOp):
        return _is_number(value.left) and _is_number(value.right)
    if isinstance(value, ast.UnaryOp):
        return _is_number(value.operand)
    return isinstance(value, ast.Constant) and type(value.value) in (int, float, complex)


def bare_numbers(source: str) -> list[str]:
    """Module-level numbers that no words follow, by line and name."""
    body = ast.parse(source).body
    bare = []
    for here, after in zip_longest(body, body[1:]):
        if isinstance(here, ast.Assign | ast.AnnAssign) and _is_number(here.value):
            words = after.value if isinstance(after, ast.Expr) else None
            if not (isinstance(words, ast.Constant) and isinstance(words.value, str) and words.value.strip()):
                names = here.targets if isinstance(here, ast.Assign) else [here.target]
                bare.append(f"{here.lineno}: {', '.join(ast.unparse(name) for name in names)}")
    return bare


def test_every_number_in_core_says_its_unit_meaning_and_origin() -> None:
    core = ROOT / "src/levelwind/core"
    modules = list(core.rglob("*.py"))
    assert modules
    assert not [
        f"{path.relative_to(core)}:{each}" for path in modules for each in bare_numbers(path.read_text("utf-8"))
    ]


def test_a_number_without_words_is_seen() -> None:
    source = 'A = 1.0\n"""m; its source."""\nB, C = -1, (2, 3.0)\n\nD: float = 1 / 3\n"" ""\nNAME = "x"\nE = 2\n'
    assert bare_numbers(source) == ["3: (B, C)", "5: D", "8: E"]
