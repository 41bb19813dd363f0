"""Tables of speeds as loggers and hands write them."""

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from levelwind.core.errors import InputError
from levelwind.recordings.spin_table import read_spin_table
from tests.full_size import cases


@pytest.mark.parametrize(
    ("text", "speeds"),
    [
        ("time (s),speed (rev/s)\n0,20\n1,18\n2,16\n", [20, 18, 16]),
        ("t [s];Drehzahl [U/min]\n0,0;1200\n0,5;1080,6\n1,0;960\n", [20, 18.01, 16]),
        ("time ms\tomega rad/s\n0\t62.8318530718\n500\t31.4159265359\n1000\t0\n", [10, 5, 0]),
        ("logger 7\nbattery ok\n\ntime,rpm\n0,600\n1,300\n2,0\n", [10, 5, 0]),
        ("time_s,speed_rev_s\n0,20\n1,18\n2,16\n", [20, 18, 16]),
        ("\ufefftime (s)|speed (Hz)\n0|3\n1|2\n2|1\n", [3, 2, 1]),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_units_and_separators(text: str, speeds: list[float], encoding: str) -> None:
    if encoding == "utf-16" and text.startswith("\ufeff"):
        text = text[1:]
    assert read_spin_table(text.encode(encoding), name="a.csv").rev_s == pytest.approx(speeds, abs=1e-6)


@pytest.mark.parametrize(
    ("title", "per"),
    [
        ("giri/min", 60), ("revolutions/min", 60), ("r.p.m.", 60), ("min^-1", 60), ("об/мин", 60), ("SpeedRPM", 60),
        ("rev./min", 60), ("revolutions/second", 1), ("s^-1", 1), ("Turns / s", 1),
    ],
)  # fmt: skip
def test_a_speed_is_no_count_however_it_is_written(title: str, per: int) -> None:
    rows = "".join(f"{i};{600 - i}\n" for i in range(5))
    table = read_spin_table(f"t (s);{title}\n{rows}".encode())
    assert table.turns is None and table.rev_s == pytest.approx((600 - np.arange(5)) / per)


def test_the_speed_of_the_moment_is_read_and_not_the_highest() -> None:
    table = read_spin_table(b"Time (s),Max rpm,rpm,Battery\n0,600,540,88%\n1,600,480,88%\n2,600,420,88%\n")
    assert table.rev_s == pytest.approx([9, 8, 7])


def test_a_unit_beside_the_numbers() -> None:
    assert read_spin_table(b"Time,Speed\n0 s,600 rpm\n1 s,540 rpm\n2 s,480 rpm\n").rev_s == pytest.approx([10, 9, 8])


def test_so_long_as_no_spool_turns_is_milliseconds() -> None:
    table = read_spin_table(b"millis,rpm\n0,600\n500,540\n1000,480\n")
    assert table.time_s == pytest.approx([0, 0.5, 1.0]) and table.cautions == ()
    table = read_spin_table(b"Time,rpm\n0,600\n500,540\n1000,480\n")
    assert table.time_s == pytest.approx([0, 0.5, 1.0])
    assert "milliseconds" in str(table.cautions[0])


def test_a_time_that_the_wire_garbled_costs_its_row_alone() -> None:
    rows = [f"{t / 10},{900 - t}\n" for t in range(200)]
    rows[50] = "70.1,850\n"
    table = read_spin_table(("Time (s),rpm\n" + "".join(rows)).encode())
    assert table.time_s == pytest.approx(np.delete(np.arange(200) / 10, 50))
    assert tuple(map(str, table.cautions)) == ("1 rows whose time is out of the order of the others are left out",)


def test_passes_that_are_numbered() -> None:
    table = read_spin_table(b"Lap,Time\n1,00:00.13\n2,00:00.27\n3,00:01.02\n")
    assert table.time_s == pytest.approx([0.13, 0.27, 1.02])
    assert table.rev_s is None and table.turns is None
    assert tuple(map(str, table.cautions)) == ("read as the moments a mark went by",)


@pytest.mark.parametrize("row", ["{}\n", "{0},{0}\n"])
def test_more_passes_than_a_spool_can_make_are_refused(row: str) -> None:
    text = "time (s)" + (",turns\n" if "," in row else "\n") + "".join(row.format(i) for i in range(60_000))
    with pytest.raises(InputError, match="a list of 60000 passes or turns; allowed is at most 50000"):
        read_spin_table(text.encode())


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


def test_every_encoding_and_a_mark_before_it() -> None:
    text = "Temps (s);Vitesse (tr/min) é\n0,0;600\n0,5;540\n1,0;480\n"
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"):
        assert read_spin_table(text.encode(encoding), name="a.csv").rev_s == pytest.approx([10, 9, 8]), encoding


def test_missing_and_doubled_times_and_readings_are_left_out_and_told() -> None:
    table = read_spin_table(b"time (s),rpm\n0,600\n,590\n1,nan\n2,480\n2,480\n3,420\n", name="a.csv")
    assert table.time_s == pytest.approx([0, 2, 3])
    assert table.rev_s == pytest.approx([10, 8, 7])
    assert tuple(map(str, table.cautions)) == (
        "2 rows without a number are left out",
        "1 rows at a time already given are left out",
    )


def test_times_of_day_and_minutes() -> None:
    assert read_spin_table(b"time,rpm\n10:59:59.5,600\n11:00:00.5,540\n", name="a").time_s[1] == pytest.approx(39600.5)
    assert read_spin_table(b"time (min),rpm\n0,600\n0.5,540\n", name="a").time_s == pytest.approx([0, 30])


@pytest.mark.parametrize(
    "text",
    [
        "0.13\n0.27\n1.02\n",
        "time (s)\n0.13\n0.27\n1.02\n",
        "0,13\n0,27\n1,02\n",
        "passes in s\n0,13\n0,27\n1,02\n",
        "t [ms]\n130\n270\n1020\n",
        "logger 7, an invented one\nsaved on 4 March\ntime (s)\n0.13\n0.27\n1.02\n",
        "0.13 s\n\n0.27 s\n1.02 s\n",
        "\ufefftime (s)\n0.13\n0.27\n1.02\n",
        "00:00:00.13\n00:00:00.27\n00:00:01.02\n",
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le"])
def test_one_column_is_when_a_mark_went_by(text: str, encoding: str) -> None:
    table = read_spin_table(text.encode(encoding), name="a.txt")
    assert table.rev_s is None and table.turns is None
    assert table.time_s == pytest.approx([0.13, 0.27, 1.02])
    assert str(table.cautions[0]) == "read as the moments a mark went by"


def test_one_column_of_a_workbook() -> None:
    book, out = Workbook(), io.BytesIO()
    for row in (("time s",), (0.13,), (0.27,), (1.02,)):
        book.active.append(row)
    book.save(out)
    assert read_spin_table(out.getvalue(), name="a.xlsx").time_s == pytest.approx([0.13, 0.27, 1.02])


def test_two_whole_columns_with_a_comma_between_are_two() -> None:
    table = read_spin_table(b"time (s),turns\n0,0\n1,20\n2,38\n", name="a.csv")
    assert table.turns == pytest.approx([0, 20, 38])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("time s,speed\n0,20\n1,18\n2,1\n", "unit of speed"),
        ("time s,force N\n0,20\n1,18\n2,1\n", "without speeds"),
        ("time s,rpm\n2,20\n1,18\n0,1\n", "backwards"),
        ("speed rpm,depth rpm\n1,20\n2,18\n3,1\n", "without times"),
        ("", "empty"),
        ("hello\n", "without a table of numbers"),
        ("speed (rpm)\n600\n540\n480\n", r"a table without times \(speed \(rpm\)\)"),
        ("600\n540\n480\n", "backwards"),
        ("0.13\nnan\n1.02\n", "a list of passes of which 1 have no time"),
        ("time (s),rpm\n0,1,5,5\n0,2,4,5\n0,3,3,5\n", "commas both"),
        ("\x00\x01\x02" * 50, "not text"),
        ("time s,rpm\n" * 2 + "0,1\n" * 1_500_001, "rows long"),
        ("time s,rpm\n0,nan\n1,nan\n2,nan\n", "whole row"),
        ("time s,rpm\n" + "".join(f"{i}e-300,{9 - i}\n" for i in range(9)), "1e-300 s from one row to the next"),
        ("time s,rpm\n" + "".join(f"{i},{9 - i}e300\n" for i in range(9)), r"a table that holds 1.5e\+299"),
        ("time s,rpm\n" + "".join(f"{i}e300,{9 - i}\n" for i in range(9)), r"a table that holds 8e\+300"),
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


@settings(max_examples=cases(40, 200), deadline=None)
@given(
    st.binary(max_size=300)
    | st.text(max_size=200).map(str.encode)
    | st.text("0123456789.,;:-\t\n eN/", max_size=200).map(str.encode)
    | st.tuples(
        st.sampled_from(["time (s),rpm\n", "t;turns\n", "time (ms)\n", "s|Hz\n", ""]),
        st.text("0123456789.,;:|-\n e", max_size=200),
    ).map(lambda parts: "".join(parts).encode())
)
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        table = read_spin_table(data)
    except InputError as refusal:
        assert "\n" not in str(refusal)
        return
    values = table.time_s if table.rev_s is None and table.turns is None else table.rev_s
    values = table.turns if values is None else values
    assert values is not None and len(values) == len(table.time_s) > 0
    assert np.isfinite(table.time_s).all() and np.isfinite(values).all()
    assert (np.diff(table.time_s) > 0).all()


@settings(max_examples=cases(20, 60), deadline=None)
@given(
    st.lists(st.floats(0.01, 20), min_size=3, max_size=30),  # a spin: over ten minutes are milliseconds
    st.booleans(),
    st.sampled_from(["", "time (s)\n", "a logger\npasses, of one mark\nt in s\n"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_moments_that_were_written_are_those_that_are_read(
    steps: list[float], comma: bool, above: str, encoding: str
) -> None:
    moments = np.round(np.cumsum(steps), 3)
    text = "\n".join(f"{moment:.3f}" for moment in moments)
    table = read_spin_table((above + (text.replace(".", ",") if comma else text)).encode(encoding))
    assert table.time_s == pytest.approx(moments)
    assert table.rev_s is None and table.turns is None
