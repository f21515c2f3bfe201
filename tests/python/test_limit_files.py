"""Limit files as a fleet writes them: a new country is one data file; a file with a mistake is refused as a whole."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

import wheelend
from wheelend import LimitFileError, _limit_files

Row = dict[str, str]
FIRST = 3  # line of the first row: a title and the header stand before it
TREAD = {
    "id": "XX-T-01", "quantity": "tread_depth", "statistic": "lowest_depth", "bound": "2", "measure": "mm",
    "sense": ">=", "severity": "violation", "clause": "Ordinance 1, s. 2", "status": "confirmed",
}  # fmt: skip
STROKE = TREAD | {
    "id": "XX-B-01", "quantity": "pushrod_stroke", "statistic": "as_read", "measure": "in", "sense": "<=",
    "clause": "Ordinance 1, s. 3",
}  # fmt: skip
CRACK = STROKE | {"id": "XX-W-01", "quantity": "wheel_cracked", "bound": "", "measure": "", "sense": "absent"}
PRESSURE = TREAD | {"quantity": "pressure", "statistic": "cold_pressure", "bound": "90", "measure": "percent"}
RECORD = TREAD | {"quantity": "record", "statistic": "keep_months", "bound": "12", "measure": "months",
                  "fact": "vehicle_file"}  # fmt: skip
DATE = TREAD | {"quantity": "inspection_age", "statistic": "months_since", "bound": "12", "measure": "months",
                "sense": "<=", "fact": "inspected_on"}  # fmt: skip


def content(*rows: Row) -> str:
    """The text of a file: a title, a header of the columns that the rows use, the rows."""
    out = io.StringIO()
    out.write("# title: Test\n")
    header = list(dict.fromkeys(name for row in rows for name in row))
    writer = csv.DictWriter(out, header, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def place(text: str | bytes, folder: Path, name: str = "own.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


@pytest.fixture
def log(readings: Any, positions: Any) -> wheelend.Log:
    return wheelend.read_log(readings.columns(), positions.columns(), today="2025-06-20")


# ---- a new country

COUNTRY = """\
# title: Atlantis: Roads Ordinance
# A remark for who reads the file.
id,quantity,statistic,where,needs,bound,measure,twin_bound,twin_measure,sense,severity,clause,status,note
XX-T-01,tread_depth,lowest_depth,gvwr > 3500 kg,,2.5,mm,,,>=,violation,"Ordinance, s. 4(1)",confirmed,heavy vehicles
XX-T-02,tread_depth,lowest_depth,gvwr <= 3500 kg,,1.6,mm,,,>=,violation,"Ordinance, s. 4(1)",confirmed,
XX-T-03,tread_depth,lowest_depth,built_on >= 2020-01-01; kind = trailer,,4,mm,,,>=,advice,"Ordinance, s. 5",partly,
XX-B-01,pushrod_stroke,as_read,chamber = clamp,reservoir >= 80 psi,1.5,in,38,mm,<=,out_of_service,s. 9,confirmed,
XX-W-01,wheel_cracked,as_read,,,,,,,absent,violation,"Ordinance, s. 12",confirmed,
"""
# 2.49 mm fails above 3,500 kg and passes at exactly 3,500 kg; 7716 lb is 3499.92 kg, 7717 lb is 3500.37 kg.
FLEET_POSITIONS = """
unit kind    axle side dual   role    gvwr_lb built_on
A    truck   1    left single steer   7717    2019-12-31
B    truck   1    left single steer   7716    2019-12-31
C    trailer 1    left single trailer 20000   2020-01-01
D    trailer 1    left single trailer 20000   2019-12-31
"""
FLEET_READINGS = """
unit axle side dual   read_on    tread_1_mm
A    1    left single 2025-06-10 2.49
B    1    left single 2025-06-10 2.49
C    1    left single 2025-06-10 3.9
D    1    left single 2025-06-10 3.9
"""
FLEET_WHEELENDS = """
unit axle side read_on    quantity       value_in value_mm present chamber reservoir_psi
A    1    left 2025-06-10 pushrod_stroke 1.5      n/a      n/a     clamp   85
B    1    left 2025-06-10 pushrod_stroke n/a      38.1     n/a     clamp   85
C    1    left 2025-06-10 wheel_cracked  n/a      n/a      yes     n/a     n/a
D    1    left 2025-06-10 pushrod_stroke 1.5      n/a      n/a     clamp   79
"""
FLEET_VERDICTS = {
    ("A", "XX-T-01"): "fail",
    ("B", "XX-T-02"): "pass",
    ("C", "XX-T-01"): "pass",
    ("D", "XX-T-01"): "pass",
    ("C", "XX-T-03"): "fail",
    ("A", "XX-B-01"): "pass",
    ("B", "XX-B-01"): "fail",  # 38.1 mm is 1.5 in, and above the 38 mm that the clause prints too
    ("D", "XX-B-01"): "no_verdict",
    ("C", "XX-W-01"): "fail",
}


def test_a_country_is_one_data_file(readings: Any, tmp_path: Path, run: Any) -> None:
    """Judged, listed and explained from the command line, with no line of code."""
    table = type(readings)
    files = [
        place(table(text).csv(), tmp_path, name)
        for text, name in (
            (FLEET_READINGS, "readings.csv"),
            (FLEET_POSITIONS, "positions.csv"),
            (FLEET_WHEELENDS, "w.csv"),
        )
    ]
    limits, out = place(COUNTRY, tmp_path, "atlantis.csv"), tmp_path / "verdicts.csv"
    named = [word for pair in zip(("-r", "-p", "-w"), files, strict=True) for word in pair]
    shown = run("judge", *named, "--limits", limits, "-o", out)
    assert shown.code == 1  # violations and an out-of-service row
    with out.open(encoding="utf-8", newline="") as f:
        found = list(csv.DictReader(f))
    assert {(v["unit"], v["limit_id"]): v["verdict"] for v in found} == FLEET_VERDICTS
    assert len(found) == len(FLEET_VERDICTS)
    held_to = {v["unit"]: (v["limit"], v["measure"]) for v in found if v["limit_id"] == "XX-B-01"}
    assert held_to == {"A": ("1.5", "in"), "B": ("38", "mm"), "D": ("1.5", "in")}
    assert next(v for v in found if v["unit"] == "D" and v["limit_id"] == "XX-B-01")["reason"].startswith(
        "not admissible: the rule asks for reservoir >= 80 psi"
    )

    shown = run("limits", limits)
    assert shown.code == 0
    assert [line.split()[0] for line in shown.out.splitlines() if line.startswith("XX-")] == [
        *("XX-T-01", "XX-T-02", "XX-T-03", "XX-B-01", "XX-W-01")
    ]
    assert "gvwr > 3500 kg" in shown.out
    shown = run("explain", "XX-B-01", "--limits", limits)
    assert shown.code == 0
    words = " ".join(shown.out.split())
    assert "pushrod stroke <= 1.5 in (38 mm)" in words
    assert "atlantis.csv, line 7" in words


def test_the_title_and_the_rows_of_a_set_are_listed() -> None:
    """A file in data/limits needs no more than to be there; this is how the sets that ship are listed."""
    listed = {row["name"]: row for row in wheelend.limits().to_pylist()}
    assert listed["de"]["title"] == "Germany (StVZO)"
    assert listed["us-federal"]["includes"] == "us-brake-stroke, us-out-of-service"


# ---- files that are fine


def test_rows_of_one_clause_that_are_parted(tmp_path: Path) -> None:
    """Conditions that no subject meets both of, with their edges; everything else in which rows may differ."""
    for pair in (
        ({"where": "kind = truck|tractor"}, {"where": "kind = bus|trailer"}),
        ({"where": "kind = truck"}, {"where": "kind != truck"}),
        ({"where": "gvwr > 3500 kg"}, {"where": "gvwr <= 3500 kg"}),
        ({"where": "gvwr > 3500 kg|not_stated"}, {"where": "gvwr <= 3500 kg"}),
        ({"where": "gvwr >= 3500 kg"}, {"where": "gvwr < 7716 lb"}),  # 3499.92 kg
        ({"where": "axle = 1"}, {"where": "axle > 1"}),
        ({"where": "axle = 1|2"}, {"where": "axle = 3|4"}),
        ({"where": "axle = 1|2"}, {"where": "axle != 1|2"}),
        ({"where": "built_on < 1975-03-01"}, {"where": "built_on >= 1975-03-01"}),
        ({"where": "marked = stated"}, {"where": "marked = not_stated"}),
        ({"where": "size = 11R22.5; gvwr > 3500 kg"}, {"where": "size = 12R22.5; gvwr > 12000 kg"}),
        ({"where": "site = North"}, {"where": "site = South"}),
        ({"where": "axle = 1"}, {"except": "XX-T-01"}),
        ({"valid_until": "2020-12-31"}, {"valid_from": "2021-01-01"}),
        ({}, {"clause": "Ordinance 1, s. 2a"}),
        ({}, {"severity": "advice"}),
        ({}, {"statistic": "lowest_any_groove"}),
    ):
        first, second = pair
        path = place(content(TREAD | first, TREAD | {"id": "XX-T-02"} | second), tmp_path)
        assert wheelend.limits(str(path)).num_rows == 2, pair


@pytest.mark.parametrize(
    "edit",
    [
        pytest.param(lambda t: "\ufeff" + t, id="byte_order_mark"),
        pytest.param(lambda t: t.replace("\n", "\r\n"), id="CRLF"),
        pytest.param(lambda t: t.rstrip("\n"), id="no_line_end"),
        pytest.param(lambda t: t + "\n,,\n# a remark\n", id="blank_lines_and_a_remark"),
        pytest.param(lambda t: t.replace("mm", " mm "), id="blanks_round_cells"),
        pytest.param(lambda t: t.replace("mm", "MM"), id="a_measure_in_capitals"),
        pytest.param(lambda t: t.replace(",2,", ",2.00,"), id="zeros_at_the_end"),
    ],
)
def test_forms_of_a_file_that_mean_the_same(edit: Callable[[str], str], log: wheelend.Log, tmp_path: Path) -> None:
    path = place(edit(content(TREAD)), tmp_path)
    found = wheelend.judge(log, limits=str(path))
    plain = wheelend.judge(log, limits=str(place(content(TREAD), tmp_path, "plain.csv")))
    assert [list(found[k]) for k in ("verdict", "limit")] == [list(plain[k]) for k in ("verdict", "limit")]
    assert "fail" in found["verdict"]


# ---- files that are refused


@dataclass(frozen=True)
class Case:
    """A file with a mistake; ``says``: the line, and words of the mistake and of the remedy."""

    name: str
    file: str | bytes
    says: tuple[tuple[int, str], ...]
    own: bool = field(default=True)


def case(name: str, row: Row, *says: str, base: Row = TREAD, own: bool = True) -> Case:
    """One row with a mistake, beside a good one that must not judge."""
    good = STROKE | {"id": "XX-GOOD", "clause": "another"}
    return Case(name, content(base | row, good), tuple((FIRST, words) for words in says), own)


def pair(name: str, first: Row, second: Row, *says: tuple[int, str]) -> Case:
    return Case(name, content(TREAD | first, TREAD | {"id": "XX-T-02"} | second), says)


def overlap(name: str, first: Row, second: Row) -> Case:
    """The remedy names three ways out."""
    parted = "XX-T-02 and XX-T-01 (line 3) are rows of one clause"
    return pair(name, first, second, (4, parted), (4, "'except'"))


DECIMAL = "write digits with a point"

CELLS = [
    case("an unknown statistic", {"statistic": "lowest_dept"}, "did you mean lowest_depth?"),
    case("a quantity of another statistic", {"quantity": "pressure"}, "write tread_depth"),
    case("an unknown quantity", {"quantity": "pushrod_strok"}, "did you mean pushrod_stroke?", base=STROKE),
    case("an unknown quantity, nothing near", {"quantity": "xyz"}, "'wheelend words quantity' lists them", base=STROKE),
    case("quantities of two kinds", {"quantity": "pushrod_stroke|cut_in"}, "give each a row", base=STROKE),
    case("an unknown kind of unit", {"where": "kind = lorry"}, "'lorry' is not one of truck, tractor, bus"),
    case("an unknown fact", {"where": "gvwrr > 3500 kg"}, "did you mean gvwr?"),
    case("an unknown fact in needs", {"needs": "reservor >= 80 psi"}, "did you mean reservoir?"),
    case("an unknown fact in same", {"same": "size; mke"}, "'mke' is not a fact", "did you mean make?"),
    case("a mass without a measure", {"where": "gvwr > 3500"}, "expected a number and a measure (lb, kg), got '3500'"),
    case("a mass in mm", {"where": "gvwr > 3500 mm"}, "'mm' is not a measure of mass; use lb, kg"),
    case("an order of words", {"where": "kind > truck"}, "words take = or !="),
    case("two bounds in one condition", {"where": "gvwr > 1 kg|2 kg"}, "takes one number or date"),
    case("a condition that is none", {"where": "heavy vehicles"}, "is not of the form 'fact = word'"),
    case("a condition without a value", {"where": "kind = "}, "is not of the form 'fact = word'"),
    case("a condition on what is not known alone", {"where": "gvwr > not_stated"}, "name one"),
    case("half an axle", {"where": "axle = 1.5"}, "'1.5' is not a whole number: correct it"),
    case("a day that is none", {"where": "built_on >= 1975-02-30"}, "write YYYY-MM-DD"),
    case("an unknown measure", {"measure": "furlong"}, "'furlong' is not known; use one of 32nds, mm, in"),
    case("no measure", {"measure": ""}, "no measure: write the one of the bound"),
    case("no measure of a count", {"measure": "", "quantity": "fasteners_missing"}, "no measure", base=STROKE),
    case("a measure of something else", {"measure": "psi"}, "psi does not measure tread_depth: use 32nds, mm, in"),
    case("no id", {"id": ""}, "a row without id: no id: give each row its own"),
    case("the id of the positions' own depth", {"id": "own-pull"}, "choose another id"),
    case("no clause", {"clause": ""}, "no clause: write where the limit is written"),
    case("an unknown severity", {"severity": "bad"}, "is not one of violation, out_of_service, own, advice"),
    case("an unknown status", {"status": "sure"}, "is not one of confirmed, partly, memory, own"),
    case("an unknown sense", {"sense": "=>"}, "is not one of >=, >, <=, <, within, absent"),
    *(
        case(f"a bound of {text}", {"bound": text}, f"bound {text!r} is not a decimal number", DECIMAL)
        for text in ("two", "4/32", "1,6", "2 mm", "nan", "inf", "1e400", "0x10", "1_0")
    ),
    case("no bound", {"bound": ""}, "no bound: write it in the clause's measure"),
    case("an upper bound below", {"sense": "within", "upper": "1"}, "upper is not above bound: exchange them"),
    case("an upper bound at the bound", {"sense": "within", "upper": "2.0"}, "exchange them"),
    case("an upper bound that is no number", {"sense": "within", "upper": "x"}, "upper 'x'", DECIMAL),
    case("within without an upper bound", {"sense": "within"}, "fill in both"),
    case("an upper bound without within", {"upper": "4"}, "only within does"),
    case("within with a base", {"sense": "within", "upper": "95", "base": "target"}, "no base", base=PRESSURE),
    case("absent of a depth", {"sense": "absent"}, "give a bound and another sense"),
    case("absent with a bound", {"bound": "1"}, "bound has no meaning with the sense absent", base=CRACK),
    case("absent with a measure", {"measure": "mm"}, "measure has no meaning", "leave it blank", base=CRACK),
    case("an observation with a bound", {"sense": ">=", "bound": "1"}, "takes the sense absent", base=CRACK),
    case("percent without a base", {}, "percent of what?", "base of the bound", base=PRESSURE),
    case("percent of a mass", {"base": "gvwr"}, "base 'gvwr' is not a pressure: use target, needed", base=PRESSURE),
    case("percent of nothing known", {"base": "tarjet"}, "did you mean target?", base=PRESSURE),
    case("a second measure alone", {"or_measure": "mm"}, "need an or_bound: fill it in"),
    case("a second bound that is no number", {"or_bound": "x", "or_measure": "mm"}, "or_bound 'x'", DECIMAL),
    case("a second bound of something else", {"or_bound": "1", "or_measure": "psi"}, "psi does not measure"),
    case("a second percent without a base", {"or_bound": "1", "or_measure": "percent"}, "percent of what?"),
    case("a twin of the same system", {"twin_bound": "0.2", "twin_measure": "m"}, "of the same system as measure"),
    case("a twin of something else", {"twin_bound": "2", "twin_measure": "psi"}, "psi does not measure tread_depth"),
    case("a twin without a number", {"twin_measure": "in"}, "need a twin_bound: fill it in"),
    case("a twin of a share", {"base": "target", "twin_bound": "2", "twin_measure": "kpa"}, "no twin", base=PRESSURE),
    case(
        "half a twin of a band",
        {"sense": "within", "upper": "4", "twin_bound": "0.1", "twin_measure": "in"},
        "has a twin_upper",
    ),
    case(
        "a twin of a band upside down",
        {"sense": "within", "upper": "4", "twin_bound": "0.2", "twin_measure": "in", "twin_upper": "0.1"},
        "twin_upper is not above twin_bound: exchange them",
    ),
    case("except that names nothing", {"except": "XX-T-09"}, "except names 'XX-T-09'", "correct it, or leave it out"),
    case("except that names itself", {"except": "XX-T-01"}, "leads back to itself through XX-T-01: remove one"),
    pair(
        "except in a circle",
        {"except": "XX-T-02"},
        {"except": "XX-T-01", "clause": "another"},
        (3, "leads back to itself through XX-T-02: remove one"),
        (4, "leads back to itself through XX-T-01: remove one"),
    ),
    case("a first day that is none", {"valid_from": "2025-13-01"}, "valid_from '2025-13-01'", "write YYYY-MM-DD"),
    case("a last day otherwise", {"valid_until": "31.12.2025"}, "valid_until '31.12.2025'", "write YYYY-MM-DD"),
    case(
        "out of force before it is in force",
        {"valid_from": "2025-02-01", "valid_until": "2025-01-31"},
        "valid_from is after valid_until: exchange them",
    ),
    case("defects that are no number", {"counts": "half"}, "counts 'half'", DECIMAL),
    case("less than no defect", {"counts": "-1"}, "write 1, or 0.5 for half a defect"),
    case("two defects of one brake", {"counts": "2"}, "write 1, or 0.5 for half a defect"),
    case("a fact where none is asked for", {"fact": "size"}, "takes no fact: leave it blank"),
    case("no fact where one is asked for", {"fact": ""}, "use built_on, inspected_on", base=DATE),
    case("a fact of another form", {"fact": "size"}, "use built_on, inspected_on", base=DATE),
    case("a record of half a month", {"bound": "1.5"}, "is not a whole number of months or days", base=RECORD),
    case("a record kept for days", {"measure": "days"}, "measure 'days' is not one of months", base=RECORD),
    case("an unknown record", {"fact": "diary"}, "is not one of periodic_inspection", base=RECORD),
    case("overrides in a file that ships", {"overrides": "XX"}, "own file: leave them out", own=False),
    case("tightens in a file that ships", {"tightens": "XX"}, "own file: leave them out", own=False),
    case("the fleet's word in a file that ships", {"status": "own"}, "say how sure we are", own=False),
    case(
        "several mistakes in one row",
        {"where": "kind = lorry", "bound": "x", "valid_from": "soon", "counts": "9"},
        *("'lorry'", "bound 'x'", "valid_from 'soon'", "counts '9'"),
    ),
    case("several words of one row", {"sense": "=>", "severity": "bad", "status": "?"}, "'=>'", "'bad'", "status '?'"),
]  # fmt: skip

OVERLAPS = [
    overlap("the same conditions", {}, {}),
    overlap("the same words in another order", {"where": "kind = truck|bus"}, {"where": "kind = bus|truck"}),
    overlap("one word in common", {"where": "kind = truck|bus"}, {"where": "kind = bus|trailer"}),
    overlap("a word and all others but another", {"where": "kind = truck"}, {"where": "kind != bus"}),
    overlap("nested masses", {"where": "gvwr > 3500 kg"}, {"where": "gvwr > 12000 kg"}),
    overlap("masses that touch", {"where": "gvwr >= 3500 kg"}, {"where": "gvwr <= 3500 kg"}),
    overlap("masses that touch, in two measures", {"where": "gvwr >= 3500 kg"}, {"where": "gvwr < 7717 lb"}),
    overlap(
        "both where the mass is not stated",
        {"where": "gvwr > 3500 kg|not_stated"},
        {"where": "gvwr <= 3500 kg|not_stated"},
    ),
    overlap("conditions on two facts", {"where": "gvwr > 3500 kg"}, {"where": "built_on >= 2020-01-01"}),
    overlap("days that touch", {"valid_until": "2021-01-01"}, {"valid_from": "2021-01-01"}),
    overlap("a row for all and one for some", {}, {"where": "kind = bus"}),
    overlap("text in other letters", {"where": "size = 11R22.5"}, {"where": "size = 11r22.5"}),
    overlap("stated and of some size", {"where": "marked = stated"}, {"where": "marked > 1 in"}),
    overlap("needs do not part", {"needs": "axle = 1"}, {"needs": "axle > 1"}),
    Case(
        "one quantity of several in common",
        content(
            STROKE | {"id": "XX-T-01", "quantity": "pushrod_stroke|free_stroke"},
            STROKE | {"id": "XX-T-02", "quantity": "free_stroke|slack_pull"},
        ),
        ((4, "XX-T-02 and XX-T-01 (line 3)"),),
    ),
]

HEADER = "id,quantity,statistic,bound,measure,sense,severity,clause,status\n"
GOOD_LINE = "A,tread_depth,lowest_depth,2,mm,>=,violation,s. 1,confirmed\n"

FILES = [
    pair("an id twice", {}, {"id": "XX-T-01", "clause": "another"}, (4, "stands on line 3 too: give each row its own")),
    Case("an unknown column", content(TREAD | {"colour": "red"}), ((2, "'colour' is not a column"), (2, "see data/"))),
    Case("a misspelt column", content(TREAD | {"valid_frm": ""}), ((2, "did you mean valid_from?"),)),
    Case("a column twice", HEADER.replace("measure", "bound") + GOOD_LINE, ((1, "'bound' stands twice: keep one"),)),
    Case("a column that is missing", HEADER.replace("clause", "note") + GOOD_LINE, ((1, "lacks the columns clause"),)),
    Case("a cell too few", HEADER + GOOD_LINE + "B,tread_depth\n", ((3, "2 cells where the header has 9: add"),)),
    Case("a cell too many", HEADER + GOOD_LINE.replace("s. 1", "s. 1, 2"), ((2, "10 cells"), (2, "or quote"))),
    Case("semicolons", HEADER.replace(",", ";") + GOOD_LINE.replace(",", ";"), ((1, "separate cells with commas"),)),
    Case("not UTF-8", (HEADER + GOOD_LINE.replace("s.", "\u00a7")).encode("cp1252"), ((1, "save it as CSV in UTF-8"),)),
    Case("UTF-16", (HEADER + GOOD_LINE).encode("utf-16"), ((1, "save it as CSV in UTF-8"),)),
    Case("an empty file", "", ((1, "lacks the columns id, quantity"), (1, "see data/README.md"))),
    Case("remarks only", "# title: Nothing\n", ((2, "lacks the columns id, quantity"),)),
    Case("a header only", "# title: Nothing\n" + HEADER, ((2, "no rows below the header: write one a limit"),)),
    Case(
        "a quotation mark that is not closed",
        HEADER + GOOD_LINE.replace("s. 1", '"s. 1') + GOOD_LINE.replace("A,", "B,"),
        ((2, "a quotation mark that is not closed"), (2, "close it")),
    ),
    Case("text after a quotation mark", HEADER + GOOD_LINE.replace("s. 1", '"s" 1'), ((2, "write two for one"),)),
    Case(
        "a row after a cell of several lines keeps its number",
        HEADER + GOOD_LINE.replace("s. 1", '"s.\n1"') + GOOD_LINE.replace("A,", "B,").replace(",2,", ",x,"),
        ((4, "B: bound 'x'"),),
    ),
    Case(
        "every row with its mistake",
        content(
            TREAD | {"bound": "x"},
            TREAD | {"id": "XX-T-02", "clause": "", "measure": "psi"},
            TREAD | {"id": "XX-T-03", "where": "kind = lorry"},
            TREAD,
            TREAD | {"id": "XX-T-01", "clause": "another"},
        ),
        ((3, "bound 'x'"), (4, "no clause"), (5, "'lorry'"), (7, "stands on line 6 too")),
    ),
]  # fmt: skip


def names(cases: list[Case]) -> list[Any]:
    return [pytest.param(c, id=re.sub(r"\W+", "_", c.name)) for c in cases]


@pytest.mark.parametrize("case", names([*CELLS, *OVERLAPS, *FILES]))
def test_a_malformed_file_is_refused_with_line_and_remedy(case: Case, log: wheelend.Log, tmp_path: Path) -> None:
    path = place(case.file, tmp_path)
    with pytest.raises(LimitFileError) as refused:
        _limit_files.read(path, own=case.own) if not case.own else wheelend.judge(log, limits=["de", str(path)])
    lines = str(refused.value).splitlines()
    for line, words in case.says:
        assert any(words in said for said in lines if said.startswith(f"own.csv, line {line}:")), lines
    said_of = {int(number) for number in re.findall(r"^own\.csv, line (\d+): ", str(refused.value), re.MULTILINE)}
    assert said_of == {line for line, _ in case.says}
    assert all(said.startswith("own.csv, line ") for said in lines)


@pytest.mark.parametrize("command", [("judge",), ("standing",), ("limits",), ("explain", "XX-T-01"), ("records",)])
def test_a_malformed_file_is_wrong_usage(
    command: tuple[str, ...], readings: Any, positions: Any, tmp_path: Path, run: Any
) -> None:
    bad = place(content(TREAD | {"bound": "x"}), tmp_path)
    files = ("-r", place(readings.csv(), tmp_path, "r.csv"), "-p", place(positions.csv(), tmp_path, "p.csv"))
    arguments = {"judge": (*files, "--limits", bad), "standing": (*files, "--limits", bad), "limits": (bad,)}
    shown = run(*command, *arguments.get(command[0], ("--limits", bad)))
    assert shown.code == 2
    assert "own.csv, line 3: XX-T-01: bound 'x' is not a decimal number" in shown.err
    assert shown.out == ""


def test_more_mistakes_than_fit_are_counted(tmp_path: Path) -> None:
    path = place(content(*(TREAD | {"id": f"XX-{i}", "clause": f"s. {i}", "bound": "x"} for i in range(30))), tmp_path)
    with pytest.raises(LimitFileError) as refused:
        wheelend.limits(str(path))
    lines = str(refused.value).splitlines()
    assert [line.partition(":")[0] for line in lines[:-1]] == [f"own.csv, line {i}" for i in range(3, 23)]
    assert lines[-1] == "... and 10 more"


def test_nothing_of_a_refused_file_stays(log: wheelend.Log, tmp_path: Path) -> None:
    """Neither its good rows nor the refusal: the corrected file is read anew."""
    before = wheelend.judge(log, limits="de")
    bad = place(
        content(TREAD | {"bound": "20"}, TREAD | {"id": "XX-T-02", "bound": "x", "clause": "another"}), tmp_path
    )
    with pytest.raises(LimitFileError, match="line 4"):
        wheelend.judge(log, limits=["de", str(bad)])
    after = wheelend.judge(log, limits="de")
    assert {k: list(v) for k, v in after.items()} == {k: list(v) for k, v in before.items()}
    place(content(TREAD | {"bound": "20"}), tmp_path)
    mended = wheelend.judge(log, limits=["de", str(bad)])
    assert set(mended["limit_id"]) == {"DE-T-01", "XX-T-01"}


@pytest.mark.parametrize("included", ["nowhere", "de; at"])
def test_a_file_that_includes_no_set(included: str, tmp_path: Path) -> None:
    path = place(f"# includes: {included}\n{content(TREAD)}", tmp_path)
    with pytest.raises(
        LimitFileError, match=rf"^own\.csv, the line '# includes': there is no set '{included}': correct"
    ):
        wheelend.limits(str(path))


def test_a_file_may_include_sets_that_ship(log: wheelend.Log, tmp_path: Path) -> None:
    path = place(f"# includes: de, at\n{content(TREAD)}", tmp_path)
    assert set(wheelend.limits(str(path))["file"].to_pylist()) == {"own.csv", "de.csv", "at.csv"}
    assert {"XX-T-01", "DE-T-01"} <= set(wheelend.judge(log, limits=str(path))["limit_id"])


@pytest.mark.parametrize("name", ["nowhere.csv", "nowhere", ""])
def test_a_set_that_is_not_there(name: str, log: wheelend.Log) -> None:
    with pytest.raises(wheelend.BadCall, match=r"there is no .*; there are at, au, .*give a path ending in \.csv"):
        wheelend.judge(log, limits=name)


def test_no_set_at_all(log: wheelend.Log) -> None:
    with pytest.raises(wheelend.BadCall, match="name at least one set"):
        wheelend.judge(log, limits=[])
