import time
from pathlib import Path

import pytest

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.recordings.limits import Answer, run_limited


def backwards(data: bytes, *, word: str) -> Answer:
    return Answer({"word": word}, (data[::-1], b"\n{}\n"))


def refuse(data: bytes) -> Answer:
    raise InputError("this", data.decode(), "that")


def not_told(data: bytes) -> Answer:
    raise NotDeterminedError("cannot tell")


def sleep(data: bytes) -> Answer:
    time.sleep(60)
    return Answer()


def burn(data: bytes) -> Answer:
    while True:
        pass


def hoard(data: bytes) -> Answer:
    return Answer({"size": len(bytearray(10**9))})


def crash(data: bytes) -> Answer:
    import ctypes

    ctypes.string_at(0)
    return Answer()


@pytest.fixture(autouse=True)
def far_side_finds_these_functions(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))


def run(function: object, data: bytes = b"", **options: object) -> Answer:
    return run_limited(function, data, name="file.bin", seconds=2, megabytes=300, **options)  # type: ignore[arg-type]


def test_facts_and_bytes_come_back_whole() -> None:
    assert run(backwards, b"abc\n", word="é") == Answer({"word": "é"}, (b"\ncba", b"\n{}\n"))


def test_a_refusal_is_the_same_on_this_side() -> None:
    with pytest.raises(InputError, match="this was wörd; allowed is that"):
        run(refuse, "wörd".encode())
    with pytest.raises(NotDeterminedError, match="cannot tell"):
        run(not_told)


@pytest.mark.parametrize(
    ("function", "sentence"),
    [
        (sleep, "still not read after 2 s"),
        (burn, "still not read after 2 s"),
        (hoard, "more than 300 MB"),
        (crash, "brought its reader down"),
    ],
)
def test_what_goes_too_far_is_refused_in_a_sentence(function: object, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        run(function)
