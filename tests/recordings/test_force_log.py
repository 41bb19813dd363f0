"""Every way a phone or a scale may write the same ten readings, and every way it may go wrong."""

import io
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.pull.options import PullOptions
from levelwind.recordings.force_log import ForceLog, read_force_log
from levelwind.recordings.spin_file import read_spin
from levelwind.recordings.table import read_table
from tests.full_size import cases

TIMES = np.arange(10) / 10
FORCES = np.round(2 + np.sin(TIMES), 3)
KGF = 9.80665  # N, exact (SI Brochure, 9th edition, 2019: standard gravity of the 3rd CGPM, 1901)
LBF, OZF = 4.4482216152605, 0.27801385095378125  # N, exact: 0.45359237 kg in standard gravity (NIST SP 811, 2008, B.8)


def table(header: str, separator: str = ",", decimal: str = ".", time_factor: float = 1.0) -> str:
    rows = [(f"{t * time_factor:.3f}", f"{f:.3f}") for t, f in zip(TIMES, FORCES, strict=True)]
    return "\n".join([header, *(separator.join(row).replace(".", decimal) for row in rows)]) + "\n"


def read(text: str | bytes, unit: str | None = None) -> ForceLog:
    data = text.encode() if isinstance(text, str) else text
    return read_force_log(data, name="log.csv", options=PullOptions(unit=unit))


@pytest.mark.parametrize(
    ("text", "unit", "newtons"),
    [
        (table("Time (s),Force (kgf)"), "kgf", KGF),
        (table("Time (s),Weight (kg)"), "kgf", KGF),
        (table("Zeit [s];Kraft [N]", ";", ","), "N", 1.0),
        (table("t/s\tF/lbf", "\t"), "lbf", LBF),
        (table("time_s   force_N", "   "), "N", 1.0),
        (table("elapsed_s load_lb", " "), "lbf", LBF),
        (table("Time (ms),Load (oz)", time_factor=1000), "ozf", OZF),
        (table("Time (min)|Pull (kN)", "|", time_factor=1 / 60), "kN", 1000.0),
        (table("Durée (s);Poids (kg)", ";", ","), "kgf", KGF),
        (table("Time,Force\ns,kN"), "kN", 1000.0),
        (table("TimeS,ForceLb"), "lbf", LBF),
        ("Scale no. 12,34\nMeasured: 2026-03-04 10:11\nOwner: nobody\n\n" + table("Time (s),Weight (lb)"), "lbf", LBF),
        (table("Time (s),Force (N),", ",").replace("\n", ",\n"), "N", 1.0),
        (table('"Time, s";"Load, g"', ";", ","), "gf", KGF / 1000),
        (table("Time;Force\n[ms];[lbf]", ";", time_factor=1000), "lbf", LBF),
        (table("Owner,Nobody\nMax force,12.9\nTime,Force\ns,kg"), "kgf", KGF),
        (table("Time;Channel 1\ns;N", ";"), "N", 1.0),
        (table("Czas [s];Siła [N]", ";", ","), "N", 1.0),
        (table("Время (с);Сила (кг)", ";", ","), "kgf", KGF),
        (table("時間(s),荷重(N)"), "N", 1.0),
        (table("millis,kilogrammes", time_factor=1000), "kgf", KGF),
        (table("Minuten;Gramm", ";", ",", time_factor=1 / 60), "gf", KGF / 1000),
        (table("Time (s),Force (daN)"), "daN", 10.0),
        (table("Time (s),Force (cN)"), "cN", 0.01),
        (table("Time (s),Force (mN)"), "mN", 0.001),
        (table("% t F\n% s N", " "), "N", 1.0),
        (table("Time (s),Force (N)").replace("\n", ",\n").replace("(N),", "(N)"), "N", 1.0),
        (table("Time (s),Force (N)") + "Max,2.8\n\n-- end --\n\x1a", "N", 1.0),
    ],
)
def test_any_header_separator_and_decimal_mark(text: str, unit: str, newtons: float) -> None:
    log = read(text)
    assert log.unit_found == unit
    assert log.time_s == pytest.approx(TIMES, abs=0.031)  # minutes above are written to three decimals
    assert log.force_N == pytest.approx(FORCES * newtons, rel=1e-9)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"])
def test_any_encoding(encoding: str) -> None:
    log = read(table("Durée (s);Kraft (kg)", ";", ",").encode(encoding))
    assert log.unit_found == "kgf" and len(log.time_s) == 10


def test_one_that_broke_off_inside_a_letter() -> None:
    assert len(read(table("Time (s),Force (N)").encode("utf-16")[:-3]).time_s) == 10


def test_quoted_numbers_with_decimal_commas() -> None:
    rows = "".join(f'"{t:.1f}","{f:.3f}"\n'.replace(".", ",") for t, f in zip(TIMES, FORCES, strict=True))
    assert read('"Time (s)","Force (N)"\n' + rows).force_N == pytest.approx(FORCES)


def test_units_beside_the_numbers_and_clock_times() -> None:
    rows = "".join(f"2026-03-04 10:59:{59 + t:06.3f};{f:.3f} kg\n" for t, f in zip(TIMES, FORCES, strict=True))
    log = read("When (clock);Weight\n" + rows)
    assert log.unit_found == "kgf"
    assert log.time_s == pytest.approx(TIMES, abs=1e-6)
    assert log.force_N == pytest.approx(FORCES * KGF)


@pytest.mark.parametrize(
    "line",
    [
        "[10:00:0{:.3f}] {} kg",
        "[2026-03-04 10:00:0{:.3f}] {} kg",
        "10:00:0{:.3f} -> {} kg",
        "2026-03-04 10:00:0{:.3f} {} kg",
    ],
)
def test_lines_as_a_terminal_keeps_them(line: str) -> None:
    log = read("\n".join(line.format(1 + t, f) for t, f in zip(TIMES, FORCES, strict=True)))
    assert log.unit_found == "kgf" and log.time_s == pytest.approx(TIMES)
    assert log.force_N == pytest.approx(FORCES * KGF)


@pytest.mark.parametrize("unit", ["N m", "kg/cm2", "kg·cm", "N/mm", "lbf-in", "N·mm", "Nm", "kgcm"])
def test_a_torque_or_a_pressure_is_no_force(unit: str) -> None:
    with pytest.raises(InputError, match="without a force column"):
        read(table(f"Time (s);Load ({unit})", ";"))


def test_pounds_and_ounces_are_no_clock() -> None:
    with pytest.raises(InputError, match=r"the force in log\.csv was written with colons"):
        read("Time (s);Weight (lb:oz)\n" + "".join(f"{i};11:{i}\n" for i in range(9)))


@pytest.mark.parametrize(
    ("heading", "clock"),
    [
        ("Time", "23:59:{:06.3f}"),
        ("Uhrzeit", "11:59:{:06.3f} PM"),
        ("Stamp", "04.03.2026 23:59:{:06.3f}"),
        ("Time", "3/14/2026 11:59:{:06.3f} pm"),
        ("Date Time", "2026/03/04 23:59:{:06.3f}"),
        ("timestamp", "2026-03-04T23:59:{:06.3f}+01:00"),
        ("Date;Time", "04/03/2026;23:59:{:06.3f}"),
    ],
)
def test_a_clock_however_it_is_written_and_over_midnight(heading: str, clock: str) -> None:
    rows = [f"{clock.format(58 + t)};{f:.3f}\n" for t, f in zip(TIMES, FORCES, strict=True)]
    assert read(f"{heading};Force (N)\n" + "".join(rows)).time_s == pytest.approx(TIMES, abs=1e-6)
    after = [f"{t};{f:.3f}\n" for t, f in (("0:00:00.5", 3), ("0:00:00.6", 3))]
    if heading == "Time" and clock.startswith("23"):
        over = read(f"{heading};Force (N)\n" + "".join(rows + after))
        assert over.time_s[-2:] == pytest.approx([2.5, 2.6])


def test_milliseconds_after_a_third_colon_and_after_a_comma() -> None:
    for mark in (":", ","):
        rows = "".join(f"10:00:0{1 + int(t)}{mark}{round(t % 1 * 1000):03d};{2 + t:.1f}\n" for t in TIMES)
        assert read("Time;Force (N)\n" + rows).time_s == pytest.approx(TIMES)


THOUSANDS = ("0.5", "950.0", "1,234.5", "12,345.0", "12,350.5")


@pytest.mark.parametrize(
    ("separator", "marks"), [(";", ",."), (";", ".,"), ("\t", "'."), (";", "\u202f,"), ("\t", " ,"), (",", ",.")]
)
def test_thousands_are_kept_apart_from_fractions(separator: str, marks: str) -> None:
    cells = [cell.translate(str.maketrans(",.", marks)) for cell in THOUSANDS]
    quoted = [f'"{cell}"' if separator == "," else cell for cell in cells]
    log = read(f"Time (s){separator}Load (g)\n" + "".join(f"{i}{separator}{x}\n" for i, x in enumerate(quoted)))
    assert log.force_N / (KGF / 1000) == pytest.approx([0.5, 950, 1234.5, 12345, 12350.5])


def test_whole_thousands_are_no_fractions() -> None:
    log = read("Time (ms)\tLoad (g)\n" + "".join(f"{100 * i:,}\t{900 + 55 * i:,}\n" for i in range(20)))
    assert log.time_s == pytest.approx(np.arange(20) / 10)
    assert log.force_N / (KGF / 1000) == pytest.approx(900 + 55 * np.arange(20))


def test_thousands_that_a_comma_tears_apart_are_refused() -> None:
    rows = "".join(f"{i},{900.0 + 20 * i:,.1f}\n" for i in range(10))
    with pytest.raises(InputError, match="commas both between and inside its numbers"):
        read("Time (s),Load (g)\n" + rows)


def test_an_exponent_after_a_decimal_comma_and_a_true_minus_sign() -> None:
    rows = "".join(f"{t:.3e};\N{MINUS SIGN}{f:.3E}\n".replace(".", ",") for t, f in zip(TIMES, FORCES, strict=True))
    assert read("Time (s);Force (N)\n" + rows).force_N == pytest.approx(-FORCES)


def test_columns_of_words_are_let_be_and_a_unit_in_one_is_taken() -> None:
    said = "".join(f"{t:.1f},{f:.3f},lb,88%,STABLE\n" for t, f in zip(TIMES, FORCES, strict=True))
    log = read("Time (s),Reading,Unit,Battery,Status\n" + said)
    assert log.unit_found == "lbf" and log.force_N == pytest.approx(FORCES * LBF)
    typed = read("".join(f"{t:.1f} {f:.3f} kg\n" for t, f in zip(TIMES, FORCES, strict=True)))
    assert typed.unit_found == "kgf" and typed.force_N == pytest.approx(FORCES * KGF)


def test_units_that_change_down_a_column_are_asked_for() -> None:
    rows = "".join(f"{i},{2 + i},{'kg' if i < 5 else 'lb'}\n" for i in range(10))
    with pytest.raises(InputError, match="the unit of force"):
        read("Time (s),Reading,Unit\n" + rows)


def test_the_force_of_the_moment_is_read_and_not_its_peak_or_a_torque() -> None:
    rows = "".join(f"{t:.1f},9,7,{f:.3f}\n" for t, f in zip(TIMES, FORCES, strict=True))
    assert read("Time (s),Peak force (N),Drag torque (N m),Force (N)\n" + rows).force_N == pytest.approx(FORCES)


def test_a_unit_that_nobody_knows_is_no_other_one() -> None:
    with pytest.raises(InputError, match="the unit of force"):
        read(table("Time (s),Force (hN)"))


def test_readings_that_failed_at_the_start_are_no_heading() -> None:
    log = read("Time (s),Force (N)\n0,-----\n0.1,OL\n" + table("").strip() + "\n1.0,3\n1.1,ERR\n")
    assert log.unit_found == "N" and len(log.time_s) > 8


def test_a_workbook() -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["An invented scale"], [], ["Time (s)", "Force (kgf)"], *map(list, zip(TIMES, FORCES, strict=True))):
        sheet.append([float(cell) if isinstance(cell, np.floating) else cell for cell in row])
    buffer = io.BytesIO()
    book.save(buffer)
    log = read(buffer.getvalue())
    assert log.unit_found == "kgf" and log.force_N == pytest.approx(FORCES * KGF)


def saved(*sheets: list[list[object]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for rows in sheets:
        sheet = book.create_sheet()
        for row in rows:
            sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


ROWS: list[list[object]] = [
    ["Time (s)", "Force (N)"],
    *([float(t), float(f)] for t, f in zip(TIMES, FORCES, strict=True)),
]


def test_the_sheet_with_the_table_is_read_wherever_it_stands() -> None:
    assert read(saved([["A report"], ["of nothing"]], [], ROWS)).force_N == pytest.approx(FORCES)
    with pytest.raises(InputError, match=r"log\.csv was empty"):
        read(saved([]))


def test_numbers_a_workbook_holds_as_text() -> None:
    said = [[str(cell).replace(".", ",") for cell in row] for row in ROWS]
    assert read(saved(said)).force_N == pytest.approx(FORCES)


def test_a_stray_cell_and_a_wrong_size_do_not_matter() -> None:
    """A workbook says how large a sheet is; some say one cell, and a stray mark far off makes others enormous."""
    import zipfile

    far = openpyxl.load_workbook(io.BytesIO(saved(ROWS)))
    far.worksheets[0]["XFD200000"] = "x"
    buffer = io.BytesIO()
    far.save(buffer)
    assert read(buffer.getvalue()).force_N == pytest.approx(FORCES)
    small = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(saved(ROWS))) as whole, zipfile.ZipFile(small, "w") as copy:
        for entry in whole.namelist():
            copy.writestr(entry, whole.read(entry).replace(b'<dimension ref="A1:B11"', b'<dimension ref="A1"'))
    assert read(small.getvalue()).force_N == pytest.approx(FORCES)


def test_other_columns_are_let_be() -> None:
    rows = "".join(f"{i};{t:.1f};{f:.3f};20.1;\n" for i, (t, f) in enumerate(zip(TIMES, FORCES, strict=True)))
    log = read("No.;Time (s);Force (N);Temp (F);Note\n" + rows)
    assert log.force_N == pytest.approx(FORCES) and log.time_s == pytest.approx(TIMES)


def test_a_unit_of_time_that_is_not_written_is_not_taken_silently() -> None:
    assert any("read as seconds" in str(note) for note in read(table("Time,Force (N)")).cautions)
    milliseconds = read(table("Time,Force (N)", time_factor=1000))
    assert milliseconds.sample_hz == pytest.approx(10)
    assert any("read as milliseconds" in str(note) for note in milliseconds.cautions)


def test_a_unit_of_force_that_is_not_written_is_asked_for() -> None:
    with pytest.raises(InputError, match=r"the unit of force in log\.csv was not written in it; allowed is .* --unit"):
        read(table("Time (s),Force"))
    assert read(table("Time (s),Force"), unit="lbf").force_N == pytest.approx(FORCES * LBF)


def test_a_unit_said_by_the_person_wins_and_the_difference_is_told() -> None:
    log = read(table("Time (s),Force (kgf)"), unit="lbf")
    assert log.unit_found == "lbf" and log.force_N == pytest.approx(FORCES * LBF)
    assert tuple(map(str, log.cautions)) == ("the header says kgf, read as lbf because you said so",)


def test_an_implausible_unit_is_questioned() -> None:
    grams = table("Time (s),Force (kg)").replace("\n0", "\n0").replace(",2.", ",2")
    assert any("is that the right unit?" in str(note) for note in read(grams).cautions)
    assert any("is that the right unit?" in str(note) for note in read(table("Time (s),Force (g)")).cautions)
    assert read(table("Time (s),Force (kg)")).cautions == ()


def test_doubled_missing_and_coarse_times() -> None:
    log = read("Time (s),Force (N)\n0,1\n,2\n0.2,3\n0.3,\n0.4,5\n0.4,7\n0.5,8\n")
    assert log.time_s == pytest.approx([0, 0.1, 0.2, 0.4, 0.5])
    assert log.force_N == pytest.approx([1, 2, 3, 6, 8])
    assert len(log.cautions) == 3
    coarse = read("Clock;Force (N)\n" + "".join(f"10:00:0{i // 5};{i}\n" for i in range(20)))
    assert coarse.time_s == pytest.approx(np.arange(20) / 5)
    assert "spread evenly" in str(coarse.cautions[0])


def test_a_summary_below_the_table_is_left_out_and_not_called_missing_times() -> None:
    log = read(table("Time (s),Force (N)") + "Max,2.8\nMean,2.5\n")
    assert tuple(map(str, log.cautions)) == ("2 rows without a time before the first or after the last are left out",)
    assert log.force_N == pytest.approx(FORCES)


def test_a_time_that_the_wire_garbled_costs_no_log() -> None:
    rows = [f"{t / 10},{2 + t % 7}\n" for t in range(300)]
    rows[100], rows[200] = "90.0,4\n", "0.2,6\n"
    log = read("Time (s),Force (N)\n" + "".join(rows))
    assert log.time_s == pytest.approx(np.arange(300) / 10)
    assert str(log.cautions[0]) == "2 times out of the order of the others are not used"
    with pytest.raises(InputError, match="running backwards"):
        read("Time (s),Force (N)\n" + "".join(rows[:150] + rows[:150]))


def test_rate_and_sum() -> None:
    text = table("Time (s),Force (N)").encode()
    log = read(text + b"60,3\n")
    assert log.sample_hz == pytest.approx(10)  # the minute's gap is not a rate
    assert log.sha256 == sha256(text + b"60,3\n").hexdigest()


def test_a_heading_of_several_words_between_blanks() -> None:
    log = read("Time of day (s)   Force (N)\n0.0 2\n0.1 3\n0.2  4\n")
    assert log.force_N == pytest.approx([2, 3, 4])


NUMBERS = "Time (s),Force (N)\n"


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", r"log\.csv was empty"),
        (b" \n\n", r"log\.csv was empty"),
        (NUMBERS.encode(), r"log\.csv was a header without readings"),
        (b"The drag slips.\nIt was fine last year.\n", r"log\.csv was without a table of numbers"),
        (b"Force (N)\n1\n2\n3\n4\n", r"log\.csv was a table with one column"),
        (
            table("Time (s),Temperature (C)").encode(),
            r"without a force column \(it has Time \(s\), Temperature \(C\)\)",
        ),
        (table("Torque (Nm),Force (N)").encode(), r"a table without times \(columns Torque \(Nm\), Force \(N\)\)"),
        (b"1,2,3\n2,3,4\n3,4,5\n", r"3 columns without names"),
        ((NUMBERS + "0,1\n0.2,2\n0.1,3\n").encode(), r"the time in log\.csv was running backwards, 0\.2 s to 0\.1 s"),
        ((NUMBERS + "0,1\nnan,2\n-0.2,3\n").encode(), r"the time in log\.csv was running backwards"),
        ((NUMBERS + "nan,1\nnan,2\nNaN,3\n").encode(), r"every time in log\.csv was missing"),
        ((NUMBERS + "0,nan\n0.1,nan\n0.2,NaN\n").encode(), r"every force in log\.csv was missing"),
        ((NUMBERS + "0,0,1,5\n0,1,2,5\n0,2,3,5\n").encode(), r"commas both between and inside its numbers"),
        (np.random.default_rng(1).bytes(4000), r"log\.csv was not text"),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), r"log\.csv was not text"),
        (b"PK\x03\x04" + bytes(1000), r"log\.csv was not a workbook that can be read"),
        (b"1,2\n" * 1_500_001, r"log\.csv was 1500001 rows long"),
        (
            NUMBERS.encode() + b"".join(b"%de300,%d\n" % (i, i) for i in range(9)),
            r"the time in log\.csv was 8e\+300 s in all",
        ),
        (NUMBERS.encode() + b"".join(b"%de-300,%d\n" % (i, i) for i in range(9)), r"was 1e-300 s from one reading to"),
        (NUMBERS.encode() + b"".join(b"%d,%de300\n" % (i, i) for i in range(9)), r"a force in log\.csv was 8e\+300 N"),
        (b"1,2\n" * 12_500_001, r"log\.csv was 50 MB; allowed is a force log of at most 50 MB"),
    ],
)
def test_what_is_no_force_log_is_refused_in_one_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence) as refusal:
        read(data, unit="N")
    assert "\n" not in str(refusal.value)


def test_cells_that_are_alike_are_kept_once_and_rows_not_at_all() -> None:
    """A million rows of a scale's few numbers take the memory of their times."""
    rows = "".join(f"{n / 100:.2f},{n % 7}.25\n" for n in range(9000))
    found = read_table(f"time (s),force (N)\n{rows}".encode(), "log.csv", "a table")
    assert len({id(cell) for cell in found.cells[1]}) < 7 * 4 and len(found.cells[0]) == 9000
    assert found.cells[1][:8] == [f"{n % 7}.25" for n in range(8)]


def test_a_workbook_that_unpacks_to_a_mountain_is_refused() -> None:
    import zipfile

    buffer = io.BytesIO()
    with (
        zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive,
        archive.open("xl/worksheets/sheet1.xml", "w") as entry,
    ):
        for _ in range(310):
            entry.write(bytes(1_000_000))
    with pytest.raises(InputError, match="310 MB when unpacked"):
        read(buffer.getvalue())


def test_a_workbook_of_a_mountain_of_words_or_cells_is_refused_before_it_fills_the_memory(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import zipfile

    from openpyxl import Workbook

    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/sharedStrings.xml", b"<si><t>a</t></si>" * 2_000_000)
    with pytest.raises(InputError, match="34 MB when unpacked; allowed is at most 30 MB"):
        read(buffer.getvalue())
    book, buffer = Workbook(), io.BytesIO()
    for row in range(60):
        book.active.append([row] * 20)
    book.save(buffer)
    monkeypatch.setattr("levelwind.recordings.table.MOST_CELLS", 1000)
    with pytest.raises(InputError, match="over 1000 cells large"):
        read(buffer.getvalue())


def test_a_table_of_many_headings_is_not_told_whole() -> None:
    wide = ",".join(["depth " + "x" * 100] * 500) + "\n" + (",".join(["1"] * 500) + "\n") * 9
    with pytest.raises(InputError, match="and 492 more") as refusal:
        read(wide, unit="N")
    assert len(str(refusal.value)) < 500


def test_a_path_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"gone\.csv was not there"):
        read_force_log(tmp_path / "gone.csv")


@pytest.mark.parametrize("read_it", [read_force_log, read_spin])
def test_a_path_that_may_not_be_read(
    read_it: Callable[[Path], object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    (tmp_path / "log.csv").write_text(table("Time (s),Force (N)"))
    monkeypatch.setattr(Path, "open", locked)
    with pytest.raises(InputError, match=r"log\.csv was not readable \(Permission denied\)"):
        read_it(tmp_path / "log.csv")


@settings(max_examples=cases(40, 150), deadline=None)
@given(
    st.binary(max_size=400)
    | st.text(max_size=200).map(str.encode)
    | st.text("0123456789.,;:-\t\n eN/", max_size=200).map(str.encode)
)
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        log = read_force_log(data, options=PullOptions(unit="N"))
    except InputError:
        return
    assert len(log.time_s) == len(log.force_N) > 0
    assert np.isfinite(log.time_s).all() and np.isfinite(log.force_N).all()
    assert (np.diff(log.time_s) > 0).all()


@settings(max_examples=cases(20, 60), deadline=None)
@given(
    st.lists(st.floats(0, 400, allow_subnormal=False), min_size=3, max_size=30),
    st.sampled_from([",", ";", "\t", " ", "|"]),
    st.booleans(),
)
def test_what_was_written_is_what_is_read(forces: list[float], separator: str, comma: bool) -> None:
    comma = comma and separator != ","
    rows = [f"{i / 8:.3f}{separator}{f:.4f}" for i, f in enumerate(forces)]
    text = "\n".join([f"time_s{separator}force_N", *rows])
    log = read(text.replace(".", ",") if comma else text)
    assert log.force_N == pytest.approx([float(f"{f:.4f}") for f in forces], abs=1e-9)


def test_pounds_and_ounces_in_one_cell() -> None:
    """16 ounces a pound of 4.4482216 N (BIPM, The International System of Units; NIST SP 811, appendix B.8)."""
    rows = "".join(f"{0.1 * i:.1f},{i}lb {7.9 if i else 0}oz\n" for i in range(20))
    log = read_force_log(f"time (s),weight\n{rows}".encode())
    assert log.unit_found == "lbf"
    assert log.force_N[4] == pytest.approx((4 + 7.9 / 16) * 4.4482216, rel=1e-6)


def test_a_cell_of_a_hundred_thousand_blanks_is_read_as_fast_as_any_other() -> None:
    """White space that could be split in every way between a number and its unit took minutes over one cell."""
    tabs = "\t" * 130_000
    spoilt = table("Time (s),Force (kgf)") + f'1.0,"2{tabs}kg"\n'
    assert len(read(spoilt, "kgf").force_N) >= len(FORCES)
