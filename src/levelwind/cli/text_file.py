"""A file of text that a command was given, refused by name where it cannot be read."""

from pathlib import Path

from levelwind.core.errors import InputError

LARGEST_FILE_BYTES = 1_000_000


def text_of(path: Path, what: str, allowed: str) -> str:
    """Its text; InputError says ``what`` was meant and what is ``allowed`` where there is no such file."""
    try:
        if not path.is_file():
            raise InputError(what, repr(str(path)[:80]), allowed)
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise InputError(path.name, f"{path.stat().st_size} bytes", f"a text of up to {LARGEST_FILE_BYTES} bytes")
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise InputError(path.name, "not text", "a TOML file in UTF-8") from error
    except OSError as error:
        raise InputError(path.name[:80], f"not readable: {error.strerror}", "a file this account may read") from error
