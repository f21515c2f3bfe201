"""The entry form: the order of the walk, what may be written where, and that what is written reads back without loss.

The workbook is filled by openpyxl, which knows nothing of this package.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

import wheelend
from conftest import Table
from paper import poppler
from wheelend._form import _layout, _paper, _texts, _workbook
from wheelend.dictionary import columns
from wheelend.errors import BadCall, DataRefused

TODAY = "2025-06-20"
DAY = dt.date(2025, 6, 12)


class Filled:
    """A form that is being filled in: cells by row and name of the column."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.book = openpyxl.load_workbook(path)

    def sheet(self, name: str) -> Worksheet:
        return self.book[name]

    def heads(self, name: str) -> dict[str, int]:
        return {cell.value: cell.column for cell in self.book[name][1]}

    def row_of(self, name: str, **key: Any) -> int:
        heads = self.heads(name)
        for row in range(2, self.book[name].max_row + 1):
            if all(self.book[name].cell(row, heads[k]).value == v for k, v in key.items()):
                return row
        raise AssertionError(f"no row {key}")

    def write(self, name: str, row: int, **cells: Any) -> Filled:
        heads = self.heads(name)
        for column, value in cells.items():
            self.book[name].cell(row, heads[column]).value = value
        return self

    def save(self) -> Path:
        done = self.path.with_name("filled.xlsx")
        self.book.save(done)
        return done


@pytest.fixture
def blank(tmp_path: Path, positions: Table) -> Callable[..., Filled]:
    """A form of the tiny fleet, without earlier readings."""

    def make(**how: Any) -> Filled:
        path = tmp_path / "form.xlsx"
        wheelend.form(positions.columns(), path, **how)
        return Filled(path)

    return make


@pytest.fixture
def earlier(tmp_path: Path, readings: Table, positions: Table) -> Filled:
    """A form that shows the readings of the tiny fleet."""
    path = tmp_path / "form.xlsx"
    readings.column("tire", ["00017", "00018", "A3", "A4", "7", "8"])
    wheelend.form(positions.columns(), path, readings=readings.columns())
    return Filled(path)


def read(path: Path, positions: Table, *, wheel_ends: bool = False) -> wheelend.Log:
    of = {"wheelend_readings": path} if wheel_ends else {}
    return wheelend.read_log(path, positions.columns(), today=TODAY, **of)


# ---- the walk


def test_the_walk_goes_down_the_left_side_and_up_the_right(blank: Callable[..., Filled]) -> None:
    sheet = blank(unit="T1").sheet("readings")
    rows = [tuple(c.value for c in row[:4]) for row in sheet.iter_rows(min_row=2, max_row=5)]
    assert rows == [
        ("T1", 1, "left", "single"),
        ("T1", 2, "left", "outer"),
        ("T1", 2, "left", "inner"),
        ("T1", 1, "right", "single"),
    ]


def test_the_far_side_is_walked_from_the_rear_outer_tires_first() -> None:
    steps = [(a, s, d) for a in (1, 2, 3) for s in (0, 1) for d in ((0,) if a == 1 else (1, 2))]
    walked = sorted(steps, key=lambda at: _layout.step(*at))
    assert [(a, s) for a, s, _ in walked] == [
        (1, 0), (2, 0), (2, 0), (3, 0), (3, 0), (3, 1), (3, 1), (2, 1), (2, 1), (1, 1),
    ]  # fmt: skip
    assert [d for _, _, d in walked] == [0, 1, 2, 1, 2, 1, 2, 1, 2, 0]
    # The whole axle and the whole unit come when the walk is done.
    assert sorted([(1, 1, 0), (-1, -1, -1), (2, -1, -1)], key=lambda at: _layout.step(*at))[1:] == [
        (2, -1, -1), (-1, -1, -1),
    ]  # fmt: skip


# ---- the round trip


def test_what_is_written_reads_back_without_loss(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank()
    left, outer = form.row_of("readings", unit="T1", axle=1), form.row_of("readings", unit="T1", dual="outer")
    form.write("readings", left, read_on=DAY, odometer_mi=120345.6, reader="R 1", tire="00017", event="rotated")
    form.write("readings", left, tread_outer_32nds=5.5, tread_middle_32nds=4, tread_inner_32nds=0, warm="no")
    form.write("readings", outer, pressure_psi=92.5, inflated_to_psi=95, tire="0")
    log = read(form.save(), positions)
    assert len(log.issue_list) == 0
    core = log.core_readings
    assert len(log.rows) == 2
    assert list(log.rows) == [left, outer]
    assert [str(np.datetime64(int(d), "D")) for d in core["day"]] == ["2025-06-12"] * 2
    assert list(core["odometer"][0]) == [120345.6] * 2
    assert [log.tire_names[t] for t in core["tire"]] == ["00017", "0"]
    assert {log.text_names[r] for r in core["reader"]} == {"R 1"}
    assert [values[0][0] for values in core["grooves"]] == [5.5, 4.0, 0.0]
    assert core["pressure"][0][1] == 92.5
    assert core["inflated_to"][0][1] == 95.0
    assert list(core["warm"]) == [0, -1]
    assert columns("readings")["event", False].codes[core["event"][0]] == "rotated"
    verdicts = wheelend.judge(log, unit="T1").to_pylist()
    bald = [v for v in verdicts if v["quantity"] == "tread_depth" and v["verdict"] == "fail"]
    assert {v["reading"] for v in bald} == {0.0}  # steer tire, 49 CFR 393.75(b): below 4/32 in


@pytest.mark.parametrize(("depth", "pressure", "distance"), [("mm", "kpa", "km"), ("in", "bar", "mi")])
def test_other_measures_stand_in_the_heads_and_read_back(
    blank: Callable[..., Filled], positions: Table, depth: str, pressure: str, distance: str
) -> None:
    form = blank(depth_measure=depth, pressure_measure=pressure, distance_measure=distance)
    cells = {f"tread_outer_{depth}": 0.25, f"pressure_{pressure}": 6.5, f"odometer_{distance}": 1234.5}
    form.write("readings", 2, read_on=DAY, **cells)
    log = read(form.save(), positions)
    core = log.core_readings
    assert core["grooves"][log.grooves.index("outer")][:2] == ([0.25], depth)
    assert (core["pressure"][0][0], core["pressure"][1]) == (6.5, pressure)
    assert (core["odometer"][0][0], core["odometer"][1]) == (1234.5, distance)


def test_rows_that_were_left_alone_are_no_problem(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank().write("readings", 3, read_on=DAY, tread_outer_32nds=9)
    log = read(form.save(), positions)
    assert (len(log.rows), len(log.issue_list)) == (1, 0)
    assert log.counts["readings"].rows_in == 1


def test_a_reading_without_a_date_is_a_problem(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank().write("readings", 3, tread_outer_32nds=9)
    with pytest.raises(DataRefused, match="no read_on"):
        read(form.save(), positions)


def test_a_value_that_cannot_be_is_named_by_its_row(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank().write("readings", 3, read_on=DAY, tread_outer_32nds="5/32", pressure_psi=950, warm="no")
    found = read(form.save(), positions).issues.to_pylist()
    assert [(i["sheet"], i["row"], i["column"], i["effect"]) for i in found] == [
        ("readings", 3, "tread_outer_32nds", "cell"),
        ("readings", 3, "pressure_psi", "cell"),
    ]


def test_the_head_of_a_unit_counts_for_its_rows_only(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank()
    trailer, tractor = (form.row_of("readings", unit=u) for u in ("R7", "T1"))
    form.write("readings", trailer, read_on=DAY, odometer_mi=80500, reader="R1")
    form.write("readings", trailer + 1, tread_outer_32nds=9)
    form.write("readings", tractor + 1, read_on=dt.date(2025, 6, 13), tread_outer_32nds=9)  # the second row of its unit
    form.write("readings", tractor, tread_outer_32nds=8)
    log = read(form.save(), positions)
    days = {
        int(row): str(np.datetime64(int(d), "D")) for row, d in zip(log.rows, log.core_readings["day"], strict=True)
    }
    assert days == {trailer + 1: "2025-06-12", tractor: "2025-06-13", tractor + 1: "2025-06-13"}
    odometer = dict(zip(log.rows.tolist(), log.core_readings["odometer"][0].tolist(), strict=True))
    assert odometer[trailer + 1] == 80500
    assert np.isnan(odometer[tractor])


def test_another_day_counts_from_its_row_on(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank()
    at = form.row_of("readings", unit="T1")
    for row in range(at, at + 4):
        form.write("readings", row, tread_outer_32nds=9)
    form.write("readings", at, read_on=DAY, odometer_mi=100)
    form.write("readings", at + 2, read_on=dt.date(2025, 6, 14))
    log = read(form.save(), positions)
    assert [int(d) - int(log.core_readings["day"][0]) for d in log.core_readings["day"]] == [0, 0, 2, 2]
    odometer = log.core_readings["odometer"][0]
    assert list(odometer[:2]) == [100, 100]
    assert np.isnan(odometer[2:]).all()  # the odometer of another day is not known


def test_an_odometer_alone_is_a_reading_and_a_date_alone_is_noted(
    blank: Callable[..., Filled], positions: Table
) -> None:
    form = blank()
    trailer, tractor = (form.row_of("readings", unit=u) for u in ("R7", "T1"))
    form.write("readings", trailer, read_on=DAY, odometer_mi=80500)
    form.write("readings", tractor, read_on=DAY, reader="R1")
    log = read(form.save(), positions)
    assert list(log.rows) == [trailer]
    (found,) = log.issues.to_pylist()
    assert (found["rule"], found["effect"], found["text"]) == ("nothing_typed", "note", "T1")


def test_the_blank_rows_at_the_end_take_more_readings(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank()
    spare = 2 + len(positions.rows)
    key = {"unit": "T1", "axle": 2, "side": "left", "dual": "inner"}
    form.write("readings", spare, **key, read_on=DAY, tread_outer_32nds=7)
    log = read(form.save(), positions)
    assert (list(log.rows), len(log.issue_list)) == ([spare], 0)


def test_formulas_that_a_spreadsheet_has_worked_out_change_nothing(
    blank: Callable[..., Filled], positions: Table
) -> None:
    """A spreadsheet fills the date down by the formulas of the form; openpyxl does not. Both read back the same."""
    form = blank().write("readings", 2, read_on=DAY, odometer_mi=5, tread_outer_32nds=9)
    plain = read(form.save(), positions)
    for row in range(3, 2 + len(positions.rows)):
        form.write("readings", row, read_on=DAY, odometer_mi=5)
    worked = read(form.save(), positions)
    own = [i for i, r in enumerate(worked.rows) if int(r) == 2]
    assert list(plain.rows) == [2]
    assert len(own) == 1
    assert worked.core_readings["odometer"][0][own] == plain.core_readings["odometer"][0]


# ---- wheel ends


def test_wheel_ends_read_back_with_the_day_of_their_unit(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank(quantity=["pushrod_stroke", "wheel_cracked"])
    form.write("readings", form.row_of("readings", unit="T1"), read_on=DAY, reader="R1", pressure_psi=99)
    at = form.row_of("wheelend_readings", unit="T1", axle=2, side="left", quantity="pushrod_stroke")
    facts = {"chamber": "clamp", "chamber_size": "30", "stroke_family": "standard", "reservoir_psi": 90}
    form.write("wheelend_readings", at, value_in=2.125, **facts)
    at = form.row_of("wheelend_readings", unit="T1", axle=1, side="right", quantity="wheel_cracked")
    form.write("wheelend_readings", at, present="yes")
    log = read(form.save(), positions, wheel_ends=True)
    assert len(log.issue_list) == 0
    assert log.counts["wheelend_readings"].rows_in == 2
    verdicts = {v["limit_id"]: v for v in wheelend.judge(log).to_pylist()}
    assert verdicts["US-B-11-30"]["reading"] == 2.125  # 49 CFR 393.47(e): 2 in, clamp type 30, standard stroke
    assert verdicts["US-B-11-30"]["verdict"] == "fail"
    assert verdicts["US-W-01"]["verdict"] == "fail"  # 49 CFR 393.205(a)


def test_either_table_may_be_left_alone(blank: Callable[..., Filled], positions: Table) -> None:
    form = blank()
    form.write("readings", 2, read_on=DAY, pressure_psi=99)
    assert len(read(form.save(), positions, wheel_ends=True).issue_list) == 0
    form = blank()
    form.write("wheelend_readings", 2, read_on=DAY, value_count=2)
    assert len(read(form.save(), positions, wheel_ends=True).issue_list) == 0
    with pytest.raises(DataRefused, match="nothing was written into the form"):
        read(blank().save(), positions, wheel_ends=True)


def test_a_fact_that_is_corrected_is_kept(tmp_path: Path, positions: Table) -> None:
    """The form comes with the chamber as it was last written; a row in which only that is changed is not dropped."""
    brakes = {
        "unit": ["T1"], "axle": ["2"], "side": ["left"], "read_on": ["2025-06-01"], "quantity": ["pushrod_stroke"],
        "value_in": ["1.5"], "chamber": ["clamp"], "chamber_size": ["24"], "stroke_family": ["long"],
    }  # fmt: skip
    path = tmp_path / "form.xlsx"
    wheelend.form(positions.columns(), path, wheelend_readings=brakes)
    form = Filled(path)
    heads = form.heads("wheelend_readings")
    shown = {name: form.sheet("wheelend_readings").cell(2, heads[name]).value for name in heads}
    assert (shown["chamber"], shown["chamber_size"], shown["stroke_family"]) == ("clamp", "24", "long")
    assert (shown["last value"], shown["value_in"]) == ("1.5 in", None)
    form.write("wheelend_readings", 2, chamber_size="30", read_on=DAY)
    log = wheelend.read_log(None, positions.columns(), wheelend_readings=form.save(), today=TODAY)
    assert [(i["rule"], i["effect"]) for i in log.issues.to_pylist()] == [("no_value", "note")]


# ---- what may be written where


def test_the_last_readings_stand_beside_their_cells(earlier: Filled) -> None:
    heads, sheet = earlier.heads("readings"), earlier.sheet("readings")
    at = earlier.row_of("readings", unit="T1", axle=1, side="left")
    shown = {name: sheet.cell(at, column).value for name, column in heads.items()}
    assert shown["last read"] == dt.datetime(2025, 6, 10)
    assert [shown[f"last {g}"] for g in ("outer", "middle", "inner")] == [2, 3, 2]
    assert (shown["last pressure"], shown["target psi"], shown["last tire"]) == (99, 100, "00017")
    assert heads["last outer"] == heads["tread_outer_32nds"] + 1
    assert all(shown[name] is None for name in heads if not name.startswith(("last", "target", "where")) and name not in
               ("unit", "axle", "side", "dual"))  # fmt: skip


def test_blank_leaves_out_what_was_read(tmp_path: Path, readings: Table, positions: Table) -> None:
    path = tmp_path / "form.xlsx"
    wheelend.form(positions.columns(), path, readings=readings.columns(), blank=True)
    assert not [name for name in Filled(path).heads("readings") if name.startswith("last")]


def test_only_what_is_to_be_written_is_open(earlier: Filled) -> None:
    heads, sheet = earlier.heads("readings"), earlier.sheet("readings")
    assert sheet.protection.sheet
    is_open = {name: not sheet.cell(2, column).protection.locked for name, column in heads.items()}
    shut = {name for name, free in is_open.items() if not free}
    assert shut == {name for name in heads if name.startswith(("last", "target", "where"))} | {
        "unit", "axle", "side", "dual",
    }  # fmt: skip
    assert sheet.freeze_panes == "E2"
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.page_setup.orientation == "landscape"
    assert "local codes" in sheet.oddFooter.left.text


def checks(sheet: Worksheet) -> dict[str, Any]:
    """Checks by the name of their column."""
    heads = {cell.column_letter: cell.value for cell in sheet[1]}
    found: dict[str, Any] = {}
    for check in sheet.data_validations.dataValidation:
        letter = re.match(r"[A-Z]+", str(check.sqref))
        assert letter is not None
        found.setdefault(heads[letter[0]], check)
    return found


def test_cells_are_checked_by_the_dictionary(earlier: Filled) -> None:
    found = checks(earlier.sheet("readings"))
    for name, column in (("tread_outer_32nds", ("tread", True)), ("pressure_psi", ("pressure", True))):
        known = _layout.GROOVE if column[0] == "tread" else columns("readings")[column]
        assert (float(found[name].formula1), float(found[name].formula2)) == (known.least, known.most)
        assert (found[name].type, found[name].errorStyle or "stop") == ("decimal", "stop")
    assert found["read_on"].type == "date"
    assert found["read_on"].formula2 == "TODAY()"
    book = earlier.book
    for name, words in (("warm", ["yes", "no"]), ("event", list(columns("readings")["event", False].codes))):
        sheet, _, cells = found[name].formula1.partition("!")
        listed = [cell.value for row in book[sheet][cells.replace("$", "")] for cell in row]
        assert listed == words


def test_bounds_are_those_of_the_measure(blank: Callable[..., Filled]) -> None:
    found = checks(blank(depth_measure="mm", pressure_measure="bar").sheet("readings"))
    assert float(found["tread_outer_mm"].formula2) == 40 * 25.4 / 32  # 1 in is 25.4 mm by definition
    assert float(found["pressure_bar"].formula2) == pytest.approx(200 * 0.0689475729, rel=1e-9)  # NIST SP 811


def test_texts_that_look_like_formulas_stay_texts(tmp_path: Path, positions: Table) -> None:
    positions.set(2, "unit", "=1+1")
    path = tmp_path / "form.xlsx"
    wheelend.form(positions.columns(), path)
    form = Filled(path)
    at = form.row_of("readings", unit="=1+1")
    assert form.sheet("readings").cell(at, 1).data_type == "s"
    log = read(form.write("readings", at, read_on=DAY, tire="=2", tread_outer_32nds=9).save(), positions)
    assert len(log.rows) == 1


def test_cautions_come_first_in_the_workbook(blank: Callable[..., Filled]) -> None:
    texts = [cell.value for cell in blank().sheet("read first")["A"]]
    assert [text for text in _texts.CAUTIONS if text not in texts] == []


# ---- what is refused


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"quantity": "pushrod_strok"}, "did you mean pushrod_stroke"),
        ({"depth_measure": "32nd"}, "did you mean 32nds"),
        ({"paper": "lettre"}, "did you mean letter"),
        ({"unit": "T9"}, "not in the data"),
    ],
)
def test_calls_that_cannot_be_are_refused(blank: Callable[..., Filled], how: dict[str, Any], said: str) -> None:
    with pytest.raises(BadCall, match=said):
        blank(**how)


def test_a_log_and_readings_beside_it_are_refused(tmp_path: Path, readings: Table, positions: Table) -> None:
    log = wheelend.read_log(readings.columns(), positions.columns(), today=TODAY)
    with pytest.raises(BadCall, match="a log has its readings with it"):
        wheelend.form(log, tmp_path / "form.xlsx", readings=readings.columns())


def test_readings_after_the_day_are_not_shown(tmp_path: Path, history: Table, positions: Table) -> None:
    """Five thousand miles and two months earlier every groove was 1/32 in deeper."""
    path = tmp_path / "form.xlsx"
    wheelend.form(positions.columns(), path, readings=history.columns(), as_of="2025-05-01")
    form = Filled(path)
    at, heads = form.row_of("readings", unit="T1", axle=1, side="left"), form.heads("readings")
    shown = [form.sheet("readings").cell(at, heads[name]).value for name in ("last read", "last outer", "last middle")]
    assert shown == [dt.datetime(2025, 4, 11), 3, 4]


@pytest.mark.parametrize(("name", "module"), [("form.xlsx", _workbook), ("form.pdf", _paper)])
def test_progress_comes_to_all_units(
    tmp_path: Path, positions: Table, name: str, module: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    counts: list[int] = []

    class Counted:
        def __init__(self, what: str, of: str) -> None:
            assert (what, of) == ("form", "units")

        def __call__(self, count: int) -> None:
            counts.append(count)

        def done(self) -> None:
            pass

    monkeypatch.setattr(module, "Progress", Counted)
    wheelend.form(positions.columns(), tmp_path / name)
    units = len(set(positions.columns()["unit"]))
    assert counts == [*range(1, units + 1)] * (2 if name == "form.xlsx" else 1)  # a workbook has two tables


def test_a_name_of_another_form_is_refused(tmp_path: Path, positions: Table) -> None:
    with pytest.raises(BadCall, match=r"\.xlsx or \.pdf"):
        wheelend.form(positions.columns(), tmp_path / "form.docx")


@pytest.mark.parametrize("name", ["none/form.xlsx", "none/form.pdf"])
def test_a_folder_that_is_not_there_is_named(tmp_path: Path, positions: Table, name: str) -> None:
    with pytest.raises(FileNotFoundError, match=name):
        wheelend.form(positions.columns(), tmp_path / name)


# ---- paper


def pdf_text(path: Path, *options: str) -> str:
    return poppler("pdftotext", *options, path, "-")


@pytest.fixture
def printed(tmp_path: Path, readings: Table, positions: Table) -> Path:
    path = tmp_path / "form.pdf"
    wheelend.form(positions.columns(), path, readings=readings.columns(), paper="a4")
    return path


def test_the_printed_form_has_a_part_for_each_unit_and_the_cautions(printed: Path) -> None:
    text = " ".join(pdf_text(printed).split())
    for words in ("T1", "R7", "axle 2 left outer", "Odometer, mi", "tread outer, 32nds", *_texts.CAUTIONS):
        assert words in text, words
    assert "last 99" in text
    pages = pdf_text(printed, "-layout").split("\f")[:-1]
    of_unit = {unit: [page for page in pages if page.split()[0] == unit] for unit in ("R7", "T1")}
    assert sum(map(len, of_unit.values())) == len(pages)  # the number of its unit stands at the head of every page
    for unit, own in of_unit.items():
        for number, page in enumerate(own, 1):
            assert f"page {number} of {len(own)}" in page, unit
            assert "local codes" in page  # in the foot of every page
        assert "Chock the wheels" in own[0]


def test_boxes_are_large_enough_for_a_gloved_hand(printed: Path) -> None:
    """12 mm high, 17 mm wide (common practice, no source), as they lie on the paper."""
    box = pdf_text(printed, "-bbox")
    rows = [float(y) for y in re.findall(r'yMin="([\d.]+)"[^>]*>axle<', box)]
    apart = [b - a for a, b in itertools.pairwise(rows) if 0 < b - a < 100]
    assert min(apart) / 72 * 25.4 >= 12


def test_the_command_writes_both_and_reads_back(tmp_path: Path, readings: Table, positions: Table, run: Any) -> None:
    files = []
    for name, table in (("readings", readings), ("positions", positions)):
        (tmp_path / f"{name}.csv").write_text(table.csv(), encoding="utf-8")
        files += [f"--{name}", tmp_path / f"{name}.csv"]
    for name in ("form.xlsx", "form.pdf"):
        done = run("form", *files, "-o", tmp_path / name, "--unit", "T1")
        assert (done.code, done.out) == (0, "")
        assert done.err == f"1 unit, 4 wheel positions, 12 wheel-end rows written to {name}.\n"
    filled = Filled(tmp_path / "form.xlsx").write("readings", 2, read_on=DAY, tread_outer_32nds=3).save()
    both = [f"--{table}={filled}" for table in ("readings", "wheelend-readings")]
    done = run("judge", *both, *files[2:])
    assert done.code == 1
    assert "3/32 in" in done.out
    assert run("form", *files, "-o", tmp_path / "form.doc").code == 2
