"""Every word a person reads, in one list: pages, sentences in the code, families. `python scripts/words.py > words.txt`

It is read from end to end before a release: each line once, as somebody reads it standing, under a lamp.
"""

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

SOURCE = Path(__file__).resolve().parents[1] / "src/levelwind"
TOLD = ("aria-label", "placeholder", "alt", "title", "summary", "label", "note")
"""Attributes and arguments of a page's tags that are read."""


SILENT = re.compile(r"{#.*?#}|<style.*?</style>|{% block (?:look|stance) %}.*?{% endblock %}", re.DOTALL)


def of_page(path: Path) -> Iterator[tuple[int, str]]:
    """What stands between the tags of a page, with ``…`` for what is put in, and the attributes that are read."""
    text = SILENT.sub("", path.read_text(encoding="utf-8"))
    for found in re.finditer(rf'\b(?:{"|".join(TOLD)})="([^"{{}}<>]*[a-zA-Z][^"{{}}<>]*)"', text):
        yield text.count("\n", 0, found.start()) + 1, found[1]
    bare = re.sub(r"{%.*?%}", "", re.sub(r"{{.*?}}", "…", text, flags=re.DOTALL), flags=re.DOTALL)
    for number, part in enumerate(re.sub(r"<[^>]*>", "\0", bare, flags=re.DOTALL).split("\0")):
        words = " ".join(part.split())
        if re.search(r"[A-Za-z]{2}", words):
            yield number, words


def of_code(path: Path) -> Iterator[tuple[int, str]]:
    """Texts of more than one word, docstrings left out; ``…`` for what is put in."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    silent = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            words = "".join(str(part.value) if isinstance(part, ast.Constant) else "…" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent | inside:
            words = node.value
        else:
            continue
        if re.search(r"[a-z]{2,} \S*[a-z…]", words) and not re.match(r"[<{]|SELECT|CREATE|[a-z_]+__", words):
            yield node.lineno, " ".join(words.split())


def of_data(path: Path) -> Iterator[tuple[int, str]]:
    def within(value: Any) -> Iterator[str]:
        if isinstance(value, dict):
            for one in value.values():
                yield from within(one)
        elif isinstance(value, list):
            for one in value:
                yield from within(one)
        elif isinstance(value, str) and " " in value:
            yield " ".join(value.split())

    yield from enumerate(within(tomllib.loads(path.read_text(encoding="utf-8"))), 1)


READ = {".html": of_page, ".py": of_code, ".toml": of_data}


def main() -> None:
    """Each text once, under the file where it is met first."""
    seen: set[str] = set()
    for path in sorted(path for path in SOURCE.rglob("*") if path.suffix in READ and "migrations" not in path.parts):
        fresh = [(line, words) for line, words in READ[path.suffix](path) if words not in seen]
        seen.update(words for _, words in fresh)
        if fresh:
            sys.stdout.write(f"\n{path.relative_to(SOURCE)}\n")
            sys.stdout.writelines(f"  {line:>4} {words}\n" for line, words in fresh)


if __name__ == "__main__":
    main()
