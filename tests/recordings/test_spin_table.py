"""Tables of speeds as loggers and hands write them."""

import io

import pytest
from openpyxl import Workbook

from levelwind.core.errors import InputError
from levelwind.recordings.spin_table import read_spin_table


@pytest.mark.parametrize(
    ("text", "speeds"),
    [
        ("time (s),speed (rev/s)\n0,20\n1,18\n2,16\n", [20, 18, 16]),
        ("t [s];Drehzahl [U/min]\n0,0;1200\n0,5;1080,6\n1,0;960\n", [20, 18.01, 16]),
        ("time ms\tomega rad/s\n0\t62.8318530718\n500\t31.4159265359\n1000\t0\n", [10, 5, 0]),
        ("logger 7\nbattery ok\n\ntime,rpm\n0,600\n1,300\n2,0\n", [10, 5, 0]),
        ("\ufefftime (s)|speed (Hz)\n0|3\n1|2\n2|1\n", [3, 2, 1]),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_units_and_separators(text: str, speeds: list[float], encoding: str) -> None:
    if encoding == "utf-16" and text.startswith("\ufeff"):
        text = text[1:]
    assert read_spin_table(text.encode(encoding), name="a.csv").rev_s == pytest.approx(speeds, abs=1e-6)


def test_a_workbook() -> None:
    book, out = Workbook(), io.BytesIO()
    for row in (("time s", "speed rpm"), (0, 600), (1, 540), (2, 480)):
        book.active.append(row)
    book.save(out)
    assert read_spin_table(out.getvalue(), name="a.xlsx").rev_s == pytest.approx([10, 9, 8])


def test_counted_turns() -> None:
    table = read_spin_table(b"time s,turns\n0,0\n1,20\n2,38\n", name="a.csv")
    assert table.rev_s is None
    assert table.turns == pytest.approx([0, 20, 38])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("time s,speed\n0,20\n1,18\n2,1\n", "unit of speed"),
        ("time s,force N\n0,20\n1,18\n2,1\n", "without speeds"),
        ("time s,rpm\n2,20\n1,18\n0,1\n", "backwards"),
        ("speed rpm,depth rpm\n1,20\n2,18\n3,1\n", "without times"),
        ("", "empty"),
        ("hello\n", "table"),
        ("time s,rpm\n0,nan\n1,nan\n2,nan\n", "whole row"),
    ],
)
def test_one_sentence_for_what_cannot_be_used(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as refusal:
        read_spin_table(text.encode(), name="a.csv")
    assert "force" not in str(refusal.value).replace("force N", "")


def test_what_was_left_out_is_said() -> None:
    table = read_spin_table(b"time,rpm\n0,600\n1,\n1,540\n1,541\n2,480\n", name="a.csv")
    assert len(table.time_s) == 3
    assert len(table.cautions) == 3
