"""Wheel-end readings as they come in: each way in which a row or cell can be wrong, every kind of table and order."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
import pytest
import xlsxwriter

import wheelend
from wheelend import BadCall, BadValue, DataRefused

TODAY = "2025-06-20"
FILE = "wheelends.csv"
KEYS = ("unit", "read_on", "quantity")  # besides axle, side and dual, which may be blank
MISSING = ("", "n/a")
# Row 2 is 1/4 in beyond the 2 in of a standard type 30 chamber (49 CFR 393.47(e)(1)), row 6 a cracked wheel
# (49 CFR 393.205(a)): the latter stays whatever is spoiled elsewhere.
WHEELENDS = """
unit axle side  dual   read_on    quantity          value_in value_psi value_count present chamber chamber_size reservoir_psi
T1   2    left  n/a    2025-06-10 pushrod_stroke    2.25     n/a       n/a         n/a     clamp   30           85
T1   2    right n/a    2025-06-10 pushrod_stroke    2.0      n/a       n/a         n/a     clamp   30           85
T1   1    left  single 2025-06-10 pad_thickness     0.25     n/a       n/a         n/a     n/a     n/a          n/a
R7   1    left  n/a    2025-06-10 fasteners_missing n/a      n/a       0           n/a     n/a     n/a          n/a
R7   1    right n/a    2025-06-10 wheel_cracked     n/a      n/a       n/a         yes     n/a     n/a          n/a
T1   n/a  n/a   n/a    2025-06-10 low_air_warning   n/a      62        n/a         n/a     n/a     n/a          n/a
"""  # noqa: E501
CRACKED = ("R7", 1, "right", "US-W-01")
LONG = ("T1", 2, "left", "US-B-11-30")


@pytest.fixture
def wheelends(readings: Any) -> Any:
    return type(readings)(WHEELENDS)


@pytest.fixture
def positions(positions: Any) -> Any:
    """The small fleet, with tires on both sides of the drive axle."""
    return positions.again(4, side="right").again(5, side="right")


def fails(log: wheelend.Log, **options: Any) -> set[tuple[Any, ...]]:
    table = wheelend.verdicts.judge_table(
        log, "us-federal", options.get("all", False), None, wheelend.verdicts.Selection()
    )
    return {
        (v["unit"], v["axle"], v["side"], v["limit_id"])
        for v in table.to_pylist()
        if v["verdict"] == "fail" and v["severity"] == "violation"
    }


# ---- bad rows and cells


@dataclass(frozen=True)
class Issue:
    row: int
    column: str
    effect: str
    rule: str
    remedy: str
    text: str | None = None


@dataclass(frozen=True)
class Case:
    """A spoiled table. ``lost`` counts values that are not used, in rows that are."""

    name: str
    edit: Callable[[Any], Any]
    expect: tuple[Issue, ...] = ()
    lost: int = 0
    still: tuple[tuple[Any, ...], ...] = (CRACKED,)  # what must fail all the same


def fine(name: str, edit: Callable[[Any], Any], **other: Any) -> Case:
    return Case(name, edit, **{"still": (CRACKED, LONG)} | other)


def row(at: int, column: str, rule: str, remedy: str, text: str | None = None) -> Issue:
    return Issue(at, column, "row", rule, remedy, text)


def cell(at: int, column: str, rule: str, remedy: str, text: str | None = None) -> Issue:
    return Issue(at, column, "cell", rule, remedy, text)


def note(at: int, column: str, rule: str, remedy: str, text: str | None = None) -> Issue:
    return Issue(at, column, "note", rule, remedy, text)


NUMBER = "write the number alone"
SAYS_NOTHING = note(
    2, "", "no_value", "fill in a value, present (yes, no) of an observation, or start, end and duration"
)


def bad_key(name: str, column: str, text: str, rule: str, remedy: str) -> Case:
    shown = text if rule != "missing_key" else ""
    return Case(name, lambda t: t.set(2, column, text), (row(2, column, rule, remedy, shown),))


def bad_place(name: str, column: str, text: str, rule: str, remedy: str) -> Case:
    """Without its axle, side or dual a reading would pass for one of the whole axle or unit."""
    lost = cell(4, column, rule, remedy, text)
    return Case(
        name, lambda t: t.set(4, column, text), (lost, row(4, "", "unknown_position", "belongs nowhere: correct"))
    )


def bad_value(name: str, column: str, text: str, rule: str, remedy: str, shown: str | None = None) -> Case:
    """The only value of row 2: it is lost, and the row then says nothing."""
    lost = cell(2, column, rule, remedy, shown or text)
    return Case(name, lambda t: t.set(2, column, text), (lost, SAYS_NOTHING), lost=1)


def bad_cell(name: str, column: str, text: str, rule: str, remedy: str) -> Case:
    """Another cell of row 2, in a column that is there or added."""
    return Case(
        name,
        lambda t: (t if column in t.header else t.column(column, "")).set(2, column, text),
        (cell(2, column, rule, remedy, text),),
        lost=1,
    )


CASES = [
    fine("as it should be", lambda t: t),
    # units, quantities, days
    bad_key("an unknown unit", "unit", "RR7", "unknown_unit", "did you mean R7?"),
    bad_key("an unknown unit, nothing near", "unit", "X9", "unknown_unit", "add the unit to the positions table"),
    bad_key("no unit", "unit", "", "missing_key", "fill it in"),
    bad_key("an unknown quantity", "quantity", "pushrod stroke", "unknown_code", "did you mean pushrod_stroke?"),
    bad_key("an unknown quantity, nothing near", "quantity", "xyz", "unknown_code", "'wheelend words quantity' lists"),
    bad_key("no quantity", "quantity", "n/a", "missing_key", "fill it in"),
    bad_key("a day of another order", "read_on", "06/10/2025", "date_order", "--dates mdy"),
    bad_key("a day to come", "read_on", "2025-06-21", "future_date", "correct the date"),
    fine("a quantity in capitals", lambda t: t.set(2, "quantity", "Pushrod_Stroke")),
    # places
    Case(
        "an axle that the unit has not",
        lambda t: t.set(2, "axle", "3"),
        (row(2, "", "unknown_position", "this unit has no such place: correct axle, side or dual", "axle 3 left"),),
    ),
    Case(
        "a side without its axle",
        lambda t: t.set(2, "axle", ""),
        (row(2, "", "unknown_position", "a side needs its axle", "left"),),
    ),
    Case(
        "a dual that the axle has not",
        lambda t: t.set(4, "dual", "inner"),
        (row(4, "", "unknown_position", "leave blank what the reading is not of", "axle 1 left inner"),),
    ),
    Case(
        "a dual without its side",
        lambda t: t.set(4, "side", ""),
        (row(4, "", "unknown_position", "leave blank what the reading is not of", "axle 1 single"),),
    ),
    bad_place("an axle in words", "axle", "first", "not_a_number", NUMBER),
    bad_place("half an axle", "axle", "1.5", "not_whole", "correct it"),
    bad_place("axle 0", "axle", "0", "out_of_range", "correct it"),
    bad_place("an unknown side", "side", "curb", "unknown_code", "write left, right"),
    bad_place("an unknown dual", "dual", "middle", "unknown_code", "write single, outer, inner"),
    fine("sides in capitals", lambda t: t.set(2, "side", "LEFT").set(4, "dual", "Single")),
    fine("no side: a reading of the axle", lambda t: t.set(4, "side", "").set(4, "dual", "")),
    Case(
        "no places: all of units, and two readings of one thing",
        lambda t: t.drop("axle", "side", "dual"),
        (note(3, "", "conflict", "two readings of one thing at one time"),),
        still=(("R7", None, None, "US-W-01"),),
    ),
    # values
    bad_value("decimal comma", "value_in", "2,25", "decimal_comma", "--decimal ,"),
    bad_value("a fraction", "value_in", "2 1/4", "not_a_number", NUMBER),
    bad_value("a value with its measure", "value_in", "2.25 in", "not_a_number", NUMBER),
    bad_value("a stroke of 52 in", "value_in", "52", "out_of_range", "outside 0 to 5 in, which cannot be (stroke"),
    bad_value("a stroke below zero", "value_in", "-1", "out_of_range", "correct it"),
    fine("the longest stroke that is used", lambda t: t.set(3, "value_in", "5")),
    Case(
        "a stroke in psi",
        lambda t: t.set(2, "value_in", "").set(2, "value_psi", "85"),
        (
            cell(2, "value_psi", "unknown_measure", "'psi' does not measure pushrod_stroke: write it into value_32nds",
                 "85"),
            SAYS_NOTHING,
        ),
        lost=1,
    ),
    Case(
        "a number for an observation",
        lambda t: t.set(6, "value_count", "1"),
        (cell(6, "value_count", "unknown_measure", "wheel_cracked is an observation: write yes or no into the column "
              "present", "1"),),
        lost=1,
    ),
    Case(
        "two values in one row",
        lambda t: t.column("value_mm", "").set(2, "value_mm", "57.15"),
        (
            cell(2, "value_in", "two_values", "keep one, in one measure", "2.25"),
            cell(2, "value_mm", "two_values", "keep one, in one measure", "57.15"),
            SAYS_NOTHING,
        ),
        lost=2,
    ),
    fine("a value in mm beside", lambda t: t.column("value_mm", "").set(4, "value_in", "").set(4, "value_mm", "6.35")),
    Case("no value", lambda t: t.set(2, "value_in", ""), (SAYS_NOTHING,)),
    Case("present of a stroke", lambda t: t.set(2, "value_in", "").set(2, "present", "yes"), (SAYS_NOTHING,)),
    Case(
        "an observation without a word",
        lambda t: t.again(6, quantity="hub_leak", present=""),
        (note(8, "", "no_value", "present (yes, no) of an observation"),),
    ),
    Case(
        "a value without a measure",
        lambda t: t.set(1, "value_psi", "value"),
        (
            cell(1, "value", "missing_measure", "_psi", "value"),
            note(7, "", "no_value", "fill in a value"),
        ),
        lost=1,
    ),
    Case(
        "a value in a measure that nobody has",
        lambda t: t.set(1, "value_psi", "value_furlong"),
        (cell(1, "value_furlong", "unknown_measure", "end the name with _32nds"), note(7, "", "no_value", "fill in")),
        lost=1,
    ),
    Case(
        "a value in a measure of masses",
        lambda t: t.set(1, "value_psi", "value_kg"),
        (cell(1, "value_kg", "unknown_measure", "_32nds"), note(7, "", "no_value", "fill in")),
        lost=1,
    ),
    # words and numbers beside the value
    bad_cell("an unknown chamber", "chamber", "clampp", "unknown_code", "write clamp, bolt, roto, dd3, other"),
    bad_cell("present, perhaps", "present", "perhaps", "unknown_code", "write yes or no"),
    bad_cell("a reservoir beyond its gauge", "reservoir_psi", "850", "out_of_range", "more than 200 psi, which cannot"),
    bad_cell("a test that took no time", "duration_s", "0", "out_of_range", "correct it"),
    bad_cell("half a fastener", "fasteners", "9.5", "not_whole", "correct it"),
    bad_cell("stud 0", "place", "0", "out_of_range", "correct it"),
    bad_cell("an unknown thread", "thread", "wet", "unknown_code", "write oiled, dry"),
    bad_cell("an unknown fastener", "fastener", "m22", "unknown_code", "write m22_flange_nut"),
    Case(
        "a qualifier without a measure",
        lambda t: t.set(1, "reservoir_psi", "reservoir"),
        (cell(1, "reservoir", "missing_measure", "_psi or _kpa or _bar"),),
        lost=2,
    ),
    Case(
        "a column that nobody knows",
        lambda t: t.column("chambr", "x"),
        (note(1, "chambr", "unknown_column", "did you mean 'chamber'?"),),
    ),
    fine("a word in other letters", lambda t: t.set(2, "chamber", " CLAMP ")),
    fine("blanks in every optional cell", lambda t: t.set(4, "dual", "").set(3, "reservoir_psi", "-")),
]  # fmt: skip


def values_of(table: Any, refused: set[int]) -> int:
    """Cells that say something, besides keys, in the rows that are used."""
    counted = [i for i, name in enumerate(table.header) if name not in KEYS and name != "chambr"]
    rows = [cells for at, cells in enumerate(table.rows, 2) if at not in refused]
    return sum(cells[i].strip() not in (*MISSING, "-") for cells in rows for i in counted)


def names(cases: list[Case]) -> list[Any]:
    return [pytest.param(c, id=re.sub(r"\W+", "_", c.name)) for c in cases]


def place(table: Any, folder: Path, name: str = FILE) -> Path:
    path = folder / name
    path.write_text(table.csv(), encoding="utf-8")
    return path


@pytest.mark.parametrize("case", names(CASES))
def test_rows_and_cells(case: Case, wheelends: Any, readings: Any, positions: Any, tmp_path: Path) -> None:
    table = case.edit(wheelends)
    log = wheelend.read_log(readings.columns(), positions.columns(), None, place(table, tmp_path), today=TODAY)
    found = log.issue_list.table().to_pylist()
    key = ("row", "column", "effect", "rule")
    assert Counter(tuple(i[k] for k in key) for i in found) == Counter(
        (e.row, e.column, e.effect, e.rule) for e in case.expect
    )
    for e in case.expect:
        same = [i for i in found if tuple(i[k] for k in key) == (e.row, e.column, e.effect, e.rule)]
        assert (same[0]["file"], e.remedy in same[0]["message"]) == (FILE, True), same
        assert e.text in (None, same[0]["text"])

    refused = {e.row for e in case.expect if e.effect == "row"}
    counts, rows, values = log.counts["wheelend_readings"], len(table.rows), values_of(table, refused)
    assert (counts.rows_in, counts.rows_used, counts.rows_refused) == (rows, rows - len(refused), len(refused))
    assert (counts.values_in, counts.values_used, counts.values_refused) == (values, values - case.lost, case.lost)
    assert set(case.still) <= fails(log)


def test_a_column_whose_measure_is_given(positions: Any) -> None:
    table = {"unit": ["T1"], "read_on": ["2025-06-10"], "quantity": ["low_air_warning"], "value": ["380"]}
    log = wheelend.read_log(None, positions.columns(), None, pa.table(table), measures={"value": "kpa"}, today=TODAY)
    found = {v["limit_id"]: v["verdict"] for v in verdicts(log) if v["as_read"] == "380 kpa"}
    assert found["US-B-22"] == "fail"  # 60 psi is 413.7 kPa


def test_a_value_that_is_not_used_gives_no_verdict(wheelends: Any, positions: Any) -> None:
    """A stroke that cannot be read is not judged; a chamber that cannot be read leaves it without verdict."""
    table = wheelends.set(2, "value_in", "2,25").set(3, "chamber", "clampp").set(3, "value_in", "3")
    log = wheelend.read_log(None, positions.columns(), None, pa.table(table.columns()), today=TODAY)
    found = {
        (v["axle"], v["side"]): (v["verdict"], v["reason"])
        for v in wheelend.judge(log, limits="us-brake-stroke").to_pylist()
        if v["quantity"] == "pushrod_stroke"
    }
    assert set(found) == {(2, "right")}
    verdict, reason = found[2, "right"]
    assert (verdict, "chamber is not given" in reason) == ("no_verdict", True)


def test_on_bad_raise(wheelends: Any, positions: Any, tmp_path: Path) -> None:
    path = place(wheelends.set(3, "value_in", "2 in"), tmp_path)
    with pytest.raises(
        BadValue, match=r"^wheelends\.csv, row 3, column value_in: not a number: write the number alone"
    ):
        wheelend.read_log(None, positions.columns(), None, path, today=TODAY, on_bad="raise")
    path = place(wheelends.set(3, "value_in", "9"), tmp_path)
    with pytest.raises(BadValue, match=r"^wheelends\.csv, row 3, column value_in: outside 0 to 5 in"):
        wheelend.read_log(None, positions.columns(), None, path, today=TODAY, on_bad="raise")


@pytest.mark.parametrize(
    ("edit", "message"),
    [
        (lambda t: t.drop("quantity"), r"wheelends\.csv .* lacks the column 'quantity'"),
        (lambda t: t.drop("unit"), r"wheelends\.csv .* lacks the column 'unit'"),
        (lambda t: t.column("unit", "X9"), r"wheelends\.csv: none of its 6 rows can be used\. First problems: "),
        (lambda t: type(t)(WHEELENDS.split("\nT1")[0]), r"wheelends\.csv has a header and no rows"),
    ],
    ids=["no_quantity", "no_unit", "unknown_units", "no_rows"],
)
def test_tables_of_which_nothing_can_be_used(
    edit: Callable[[Any], Any], message: str, wheelends: Any, positions: Any, tmp_path: Path, run: Any
) -> None:
    path, where = place(edit(wheelends), tmp_path), place(positions, tmp_path, "p.csv")
    with pytest.raises(DataRefused, match=message):
        wheelend.read_log(None, where, None, path, today=TODAY)
    assert run("judge", "-w", path, "-p", where).code == 3


def test_wheel_ends_without_positions_are_wrong_usage(wheelends: Any, tmp_path: Path, run: Any) -> None:
    with pytest.raises(BadCall, match="give readings, or wheel-end readings together with positions"):
        wheelend.read_log(wheelend_readings=wheelends.columns())
    assert run("judge", "-w", place(wheelends, tmp_path)).code == 2


# ---- every kind of table


def typed(table: Any) -> dict[str, list[Any]]:
    """Numbers as numbers, blanks as None."""
    out: dict[str, list[Any]] = {}
    for name, texts in table.columns().items():
        number = name.startswith("value") or name.endswith("_psi")
        out[name] = [None if t in MISSING else float(t) if number else int(t) if name == "axle" else t for t in texts]
    return out


def as_csv(table: Any, folder: Path) -> Any:
    return place(table, folder)


def as_parquet(table: Any, folder: Path) -> Any:
    pyarrow.parquet.write_table(pa.table(typed(table)), folder / "w.parquet")
    return folder / "w.parquet"


def as_workbook(table: Any, folder: Path) -> Any:
    path = folder / "w.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("R")
        for j, (name, values) in enumerate(typed(table).items()):
            sheet.write_string(0, j, name)
            for i, value in enumerate(values, 1):
                if value is not None:
                    sheet.write(i, j, value)
    return path


def as_pandas(table: Any, _: Path) -> Any:
    return pa.table(typed(table)).to_pandas()


def as_polars(table: Any, _: Path) -> Any:
    polars = pytest.importorskip("polars")
    return polars.DataFrame(typed(table))


def as_arrow(table: Any, _: Path) -> Any:
    return pa.table(typed(table))


def as_texts(table: Any, _: Path) -> Any:
    return table.columns()


SOURCES = {f.__name__: f for f in (as_csv, as_parquet, as_workbook, as_pandas, as_polars, as_arrow, as_texts)}


def verdicts(log: wheelend.Log, limits: str = "us-federal", all_of_them: bool = False) -> list[dict[str, Any]]:
    table = wheelend.verdicts.judge_table(log, limits, all_of_them, None, wheelend.verdicts.Selection())
    return list(table.to_pylist())


@pytest.mark.parametrize("source", SOURCES.values(), ids=SOURCES)
def test_every_source_gives_the_same(
    source: Callable[[Any, Path], Any], wheelends: Any, positions: Any, tmp_path: Path
) -> None:
    log = wheelend.read_log(None, positions.columns(), None, source(wheelends, tmp_path), today=TODAY)
    plain = wheelend.read_log(None, positions.columns(), None, place(wheelends, tmp_path), today=TODAY)
    assert len(log.issue_list) == 0
    assert log.counts["wheelend_readings"] == plain.counts["wheelend_readings"]
    assert verdicts(log) == verdicts(plain)
    assert {CRACKED, LONG} <= fails(log)


@pytest.mark.parametrize(
    ("source", "module"), [("as_pandas", "pandas"), ("as_polars", "polars"), ("as_arrow", "pyarrow")]
)
def test_the_result_is_of_the_kind_that_came_in(
    source: str, module: str, wheelends: Any, positions: Any, tmp_path: Path
) -> None:
    log = wheelend.read_log(None, positions.columns(), None, SOURCES[source](wheelends, tmp_path), today=TODAY)
    for result in (wheelend.judge(log), wheelend.standing(log), log.issues):
        assert type(result).__module__.split(".")[0] == module


def test_numbers_are_the_decimals_that_were_written(wheelends: Any, positions: Any) -> None:
    """2.0000000000000001 in has more digits than a double keeps, and is above 2 in."""
    table = wheelends.set(2, "value_in", "2.0000000000000001").set(3, "value_in", "2.0000000000000000")
    log = wheelend.read_log(None, positions.columns(), None, pa.table(table.columns()), today=TODAY)
    found = {v["side"]: v["verdict"] for v in verdicts(log) if v["limit_id"] == "US-B-11-30"}
    assert found == {"left": "fail", "right": "pass"}


# ---- order, last readings, places


def history(wheelends: Any) -> Any:
    """The strokes of earlier days, and another stud of a wheel."""
    for day, left, right in (("2025-05-10", "2.0", "2.5"), ("2025-04-10", "1.5", "1.5")):
        wheelends.again(2, read_on=day, value_in=left).again(3, read_on=day, value_in=right)
    return wheelends


@pytest.mark.parametrize("seed", range(5))
def test_the_order_of_rows_does_not_matter(seed: int, wheelends: Any, positions: Any) -> None:
    table = history(wheelends)
    draw = random.Random(seed)
    plain = wheelend.read_log(None, positions.columns(), None, pa.table(table.columns()), today=TODAY)
    expect = verdicts(plain), verdicts(plain, all_of_them=True)
    draw.shuffle(table.rows)
    draw.shuffle(positions.rows)
    log = wheelend.read_log(None, positions.columns(), None, pa.table(table.columns()), today=TODAY)
    assert (verdicts(log), verdicts(log, all_of_them=True)) == expect


def strokes(log: wheelend.Log, **options: Any) -> set[tuple[str, str, float, str]]:
    table = wheelend.judge(log, limits="us-brake-stroke", **options)
    found = [v for v in table.to_pylist() if v["quantity"] == "pushrod_stroke"]
    return {(v["side"], v["read_on"].isoformat(), v["reading"], v["verdict"]) for v in found}


def test_the_last_reading_of_each_place_is_judged(wheelends: Any, positions: Any) -> None:
    table = history(wheelends).again(2, read_on="2025-06-12", quantity="free_stroke", value_in="0.5")
    log = wheelend.read_log(None, positions.columns(), None, pa.table(table.columns()), today=TODAY)
    last = {("left", "2025-06-10", 2.25, "fail"), ("right", "2025-06-10", 2.0, "pass")}
    may = {("left", "2025-05-10", 2.0, "pass"), ("right", "2025-05-10", 2.5, "fail")}
    april = {("left", "2025-04-10", 1.5, "pass"), ("right", "2025-04-10", 1.5, "pass")}
    assert strokes(log) == last
    assert strokes(log, all=True) == last | may | april
    assert strokes(log, as_of="2025-06-09") == may
    assert strokes(log, as_of="2025-05-01", all=True) == april
    assert strokes(log, as_of="2025-01-01") == set()


def test_each_stud_has_its_own_last_reading(positions: Any) -> None:
    """Torques of 450 to 500 lbf ft, threads oiled, pass (makers' manuals, WE-01 of the project's list)."""
    rows = [
        ("1", "2025-06-01", "440"),
        ("2", "2025-06-01", "440"),
        ("2", "2025-06-10", "460"),
        ("3", "2025-06-10", "510"),
    ]
    table = {
        "unit": ["T1"] * 4, "axle": ["1"] * 4, "side": ["left"] * 4, "quantity": ["fastener_torque"] * 4,
        "fastener": ["m22_flange_nut"] * 4, "thread": ["oiled"] * 4, "place": [r[0] for r in rows],
        "read_on": [r[1] for r in rows], "value_lbft": [r[2] for r in rows],
    }  # fmt: skip
    log = wheelend.read_log(None, positions.columns(), None, pa.table(table), today=TODAY)
    found = [(v["reading"], v["verdict"]) for v in verdicts(log, "trade") if v["limit_id"] == "WE-01"]
    assert sorted(found) == [(440, "fail"), (460, "pass"), (510, "fail")]


def test_readings_of_an_axle_or_unit_have_no_side_and_no_axle(wheelends: Any, positions: Any) -> None:
    table = wheelends.again(6, side="", quantity="axle_part_defect").again(
        6, axle="1", dual="single", quantity="hub_leak"
    )
    log = wheelend.read_log(None, positions.columns(), None, pa.table(table.columns()), today=TODAY)
    found = {
        (v["quantity"], v["unit"], v["axle"], v["side"], v["dual"]) for v in verdicts(log) if v["read_on"] is not None
    }
    assert {
        ("low_air_warning", "T1", None, None, None),
        ("axle_part_defect", "R7", 1, None, None),
        ("wheel_cracked", "R7", 1, "right", None),
        ("pad_thickness", "T1", 1, "left", "single"),
    } <= found
    places = {q: place for q, *place in found}
    assert places["fasteners_missing"] == ["R7", 1, "left", None]


# ---- the other functions


def without_bald_tires(readings: Any) -> Any:
    return readings.set(2, "tread_outer_32nds", "9").set(2, "tread_middle_32nds", "9").set(2, "tread_inner_32nds", "9")


def test_standing_counts_what_fails_at_wheel_ends(wheelends: Any, readings: Any, positions: Any) -> None:
    tables = pa.table(without_bald_tires(readings).columns()), positions.columns(), None
    before = wheelend.standing(wheelend.read_log(*tables, today=TODAY)).to_pylist()
    assert {s["standing"] for s in before} == {"clear"}
    log = wheelend.read_log(*tables, pa.table(wheelends.columns()), today=TODAY)
    found = {s["unit"]: s for s in wheelend.standing(log).to_pylist()}
    assert {s["standing"] for s in found.values()} == {"hold"}
    assert found["R7"]["reason"] == "wheel cracked (none allowed), 49 CFR 393.205(a)"
    assert found["R7"]["worst_position"] == "axle 1 right"
    # A pressure below the fleet's own target is left to its state (data dictionary, verdicts_failed).
    by_state = ("own", "pressure")
    failing = [v for v in verdicts(log) if v["verdict"] == "fail" and (v["severity"], v["quantity"]) != by_state]
    failed = Counter(v["unit"] for v in failing)
    assert failed["R7"] == 1
    assert {unit: s["verdicts_failed"] for unit, s in found.items()} == dict(failed)
    strokes_alone = {s["unit"]: s for s in wheelend.standing(log, limits="us-brake-stroke").to_pylist()}
    assert "2.25 in, limit <= 2 in, 49 CFR 393.47(e)(1)" in strokes_alone["T1"]["reason"]
    assert strokes_alone["T1"]["worst_position"] == "axle 2 left"
    assert strokes_alone["R7"]["standing"] == "clear"


def test_without_any_tire_reading(wheelends: Any, positions: Any, tmp_path: Path, run: Any) -> None:
    """Brakes alone, as a brake shop has them: judge, standing and issues work."""
    files = ("-w", place(wheelends.set(4, "value_in", "x"), tmp_path), "-p", place(positions, tmp_path, "p.csv"))
    shown = run("judge", *files)
    assert shown.code == 1
    assert "axle 2 left" in shown.out
    shown = run("standing", *files)
    assert shown.code == 1
    assert shown.out.count("hold") >= 2
    shown = run("issues", *files)
    assert shown.code == 0
    assert "row 4, column value_in: not a number" in " ".join(shown.out.split())
    assert "wheelend_readings: rows 6 in, 6 used, 0 not;" in shown.err
    log = wheelend.read_log(None, positions.columns(), None, pa.table(wheelends.columns()), today=TODAY)
    assert (log.first_day.isoformat(), log.last_day.isoformat()) == ("2025-06-10", "2025-06-10")
    assert {s["days_since_read"] for s in wheelend.standing(log, as_of="2025-06-15").to_pylist()} == {5}
    assert wheelend.pressures(log).num_rows == 0
    assert wheelend.wear(log).num_rows == 0


def test_units_of_which_only_wheel_ends_were_read_are_not_unread(wheelends: Any, readings: Any, positions: Any) -> None:
    """R7's tires were read in winter, its wheels last week."""
    for at in (6, 7):
        readings.set(at, "read_on", "2025-01-10")
    tables = pa.table(without_bald_tires(readings).columns()), positions.columns(), None
    alone = {s["unit"]: s["standing"] for s in wheelend.standing(wheelend.read_log(*tables, today=TODAY)).to_pylist()}
    assert alone["R7"] == "unread"
    table = wheelends.set(6, "present", "no")
    log = wheelend.read_log(*tables, pa.table(table.columns()), today=TODAY)
    found = {s["unit"]: s for s in wheelend.standing(log).to_pylist()}
    assert (found["R7"]["standing"], found["R7"]["days_since_read"]) == ("clear", 0)


def test_a_selection_leaves_the_wheel_ends_of_its_units(wheelends: Any, positions: Any) -> None:
    log = wheelend.read_log(None, positions.columns(), None, pa.table(wheelends.columns()), today=TODAY)
    whole = [v for v in verdicts(log) if v["unit"] == "R7"]
    assert whole
    assert wheelend.judge(log, unit="R7").to_pylist() == whole
