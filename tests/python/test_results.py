"""What the functions and commands hand back: columns, signs, days, filters, files, exit codes, words for people."""

from __future__ import annotations

import csv
import datetime as dt
import json
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

import wheelend
from wheelend import dictionary

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
FILES = [f"--{name}={SAMPLE / name}.csv" for name in ("readings", "positions", "tires")]
COMMANDS = ("judge", "pressures", "standing", "wear", "fitments", "doubts", "patterns", "leaks", "issues")

# The contract of the project, as its interface page lists it; further columns may follow.
PLACE = ["unit", "axle", "side", "dual"]
LEVELS = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
CONTRACT = {
    "judge": [
        *PLACE, "read_on", "quantity", "reading", "measure", "limit", "sense", "margin", "verdict", "severity",
        "limit_id", "clause", "reason",
    ],
    "pressures": [
        *PLACE, "read_on", "pressure_psi", "cold_psi", "target_psi", "deviation_psi", "deviation_percent", "method",
        "state", "reason",
    ],
    "standing": [
        "unit", "kind", "standing", "worst_position", "reason", "verdicts_failed", "due_within_30_days",
        "days_since_read",
    ],
    "wear": [
        *PLACE, "fitted_on", "readings_used", "depth_32nds", "rate_32nds_per_1000mi", "rate_se_32nds_per_1000mi",
        "limit_32nds", *(f"remaining_mi_{p}" for p in LEVELS), *(f"remaining_days_{p}" for p in LEVELS),
        *(f"due_{p}" for p in LEVELS), "status", "reason",
    ],
    "fitments": [*PLACE, "tire", "from", "to", "how_begun", "how_ended", "confidence"],
    "doubts": PLACE,
    "patterns": PLACE,
    "leaks": [
        *PLACE, "state", "rate_psi_per_month", "rate_low", "rate_high", "first_alarm_on", "below_80_on_p50", "reason",
    ],
    "issues": ["file", "sheet", "row", "column", "text", "rule", "effect", "message"],
}  # fmt: skip


@pytest.fixture(scope="module")
def fleet() -> wheelend.Log:
    return wheelend.read_log(SAMPLE / "readings.csv", SAMPLE / "positions.csv", SAMPLE / "tires.csv")


@pytest.fixture(scope="module")
def results(fleet: wheelend.Log) -> dict[str, pa.Table]:
    functions = {name: getattr(wheelend, name)(fleet) for name in COMMANDS if name != "issues"}
    return {**functions, "issues": fleet.issues}


def log(*rows: dict[str, Any], **how: Any) -> wheelend.Log:
    """Readings that carry the facts of their positions themselves; one row per dict."""
    base = {"unit": "U1", "kind": "tractor", "role": "drive", "axle": "2", "side": "left", "dual": "outer"}
    full = [{**base, "read_on": "2025-06-10", **row} for row in rows]
    names = dict.fromkeys(name for row in full for name in row)
    return wheelend.read_log({name: [row.get(name, "") for row in full] for name in names}, **how)


def rows_of(result: Any) -> list[dict[str, Any]]:
    """Rows of a dict of arrays, which is what the tables of ``log()`` come back as."""
    names = list(result)
    return [dict(zip(names, cells, strict=True)) for cells in zip(*result.values(), strict=True)]


# ---- columns


@pytest.mark.parametrize("name", COMMANDS)
def test_contract_columns_are_there_in_their_order(name: str, results: dict[str, pa.Table]) -> None:
    found = results[name].column_names
    assert [column for column in found if column in CONTRACT[name]] == CONTRACT[name]


@pytest.mark.parametrize("name", COMMANDS)
def test_columns_are_those_of_the_data_dictionary(name: str, results: dict[str, pa.Table]) -> None:
    measures = "(32nds_per_1000mi|32nds|psi)"
    patterns = [re.escape(r.name).replace("<m>", measures) for r in dictionary.RESULTS[name]]
    found = results[name].column_names
    assert [c for c in found if not any(re.fullmatch(p, c) for p in patterns)] == []
    assert [p for p in patterns if not any(re.fullmatch(p, c) for c in found)] == []
    assert len(found) == len(patterns)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_column_of_the_dictionary_says_what_it_means(name: str) -> None:
    assert all(column.words.strip() for column in dictionary.RESULTS[name])


def test_columns_carry_the_measure_of_the_readings() -> None:
    metric = log({"tread_a_mm": "9.5", "tread_b_mm": "9", "odometer_km": "1000", "pressure_kpa": "700"})
    pressures = set(wheelend.pressures(metric))
    assert {"pressure_kpa", "cold_kpa", "target_kpa", "deviation_kpa"} <= pressures
    wear = set(wheelend.wear(metric))
    assert {"depth_mm", "rate_mm_per_1000km", "rate_se_mm_per_1000km", "limit_mm"} <= wear
    assert "remaining_mi_p50" in wear  # the contract names miles, whatever the odometer


def test_words_of_the_contract(results: dict[str, pa.Table]) -> None:
    def words(name: str, column: str) -> set[str]:
        return set(results[name][column].to_pylist())

    assert words("judge", "verdict") <= {"pass", "fail", "no_verdict"}
    assert words("judge", "severity") <= {"violation", "out_of_service", "own", "advice"}
    assert words("pressures", "state") <= {"on_target", "under", "over", "demount", "flat", "unknown"}
    assert words("standing", "standing") == {"hold", "watch", "clear", "unread"}
    assert words("issues", "effect") == {"row", "cell", "note"}


@pytest.mark.parametrize("kind", ["pandas", "polars", "arrow", "dict"])
def test_a_result_is_of_the_kind_that_came_in(kind: str) -> None:
    import pandas
    import polars

    columns = {
        "unit": ["U1"], "kind": ["truck"], "role": ["drive"], "axle": [2], "side": ["left"], "dual": ["outer"],
        "read_on": [dt.date(2025, 6, 10)], "tread_a_32nds": [9.0],
    }  # fmt: skip
    make, type_ = {
        "pandas": (pandas.DataFrame, pandas.DataFrame),
        "polars": (polars.DataFrame, polars.DataFrame),
        "arrow": (pa.table, pa.Table),
        "dict": (dict, dict),
    }[kind]
    found = wheelend.read_log(make(columns))
    for name in COMMANDS[:4]:
        assert isinstance(getattr(wheelend, name)(found), type_), name
    assert isinstance(found.issues, type_)


# ---- margins


def test_margin_is_positive_on_the_passing_side(results: dict[str, pa.Table]) -> None:
    floors, ceilings = {">=", ">"}, {"<=", "<"}
    compared = 0
    for row in results["judge"].to_pylist():
        if row["margin"] is None:
            continue
        compared += 1
        difference = row["reading"] - row["limit"]
        assert row["margin"] == (difference if row["sense"] in floors else -difference)
        passes = {">=": difference >= 0, ">": difference > 0, "<=": difference <= 0, "<": difference < 0}[row["sense"]]
        assert row["sense"] in floors | ceilings
        assert row["verdict"] == ("pass" if passes else "fail")
    assert compared > 1000


@pytest.mark.parametrize(("cells", "limit_id", "verdict", "margin"), [
    ({"tread_a_32nds": "5"}, "US-T-03", "pass", 3.0),
    ({"tread_a_32nds": "1"}, "US-T-03", "fail", -1.0),
    ({"tread_a_mm": "3.175"}, "US-T-03", "pass", 2.0),  # 3.175 mm is 4/32 in
    ({"pressure_psi": "90", "needed_psi": "100"}, "US-T-11", "fail", -10.0),
    ({"pressure_psi": "90", "target_psi": "100"}, "DU-13", "pass", 10.0),  # 80 psi is the limit
])  # fmt: skip
def test_margin_is_in_the_measure_of_the_clause(
    cells: dict[str, str], limit_id: str, verdict: str, margin: float
) -> None:
    row = next(r for r in rows_of(wheelend.judge(log(cells))) if r["limit_id"] == limit_id)
    assert (row["verdict"], row["margin"]) == (verdict, margin)


def test_margin_of_a_ceiling_is_turned_round() -> None:
    steer = {"kind": "truck", "role": "steer", "axle": "1", "dual": "single", "tread_a_32nds": "9", "regrooved": "yes"}
    for rated, margin, verdict in (("4900", 20.0, "pass"), ("4920", 0.0, "fail"), ("4950", -30.0, "fail")):
        rows = rows_of(wheelend.judge(log({**steer, "rated_load_lb": rated})))
        row = next(r for r in rows if r["limit_id"] == "US-T-07")
        assert (row["verdict"], row["margin"]) == (verdict, margin)


# ---- as_of and all

SEEN = [
    {"read_on": "2025-01-10", "tread_a_32nds": "9", "pressure_psi": "90"},
    {"read_on": "2025-03-10", "tread_a_32nds": "7", "pressure_psi": "70"},
    {"read_on": "2025-06-10", "tread_a_32nds": "5", "pressure_psi": "50"},
]


@pytest.mark.parametrize(("as_of", "depth"), [
    (None, 5.0), ("2025-06-10", 5.0), ("2025-06-09", 7.0), (dt.date(2025, 3, 10), 7.0), ("2025-01-10", 9.0),
])  # fmt: skip
def test_as_of_leaves_later_readings_out(as_of: Any, depth: float) -> None:
    found = log(*SEEN)
    judged = [r["reading"] for r in rows_of(wheelend.judge(found, as_of=as_of)) if r["limit_id"] == "US-T-03"]
    assert judged == [depth]
    assert [r["pressure_psi"] for r in rows_of(wheelend.pressures(found, as_of=as_of))] == [10 * depth]


def test_before_the_first_reading_there_is_nothing_to_say() -> None:
    found = log(*SEEN)
    for name in ("judge", "pressures", "wear"):
        assert rows_of(getattr(wheelend, name)(found, as_of="2025-01-09")) == [], name
    standing = rows_of(wheelend.standing(found, as_of="2025-01-09"))
    assert [(r["unit"], r["standing"]) for r in standing] == [("U1", "unread")]


def test_all_speaks_of_every_inspection() -> None:
    found = log(*SEEN)
    judged = [r["reading"] for r in rows_of(wheelend.judge(found, all=True)) if r["limit_id"] == "US-T-03"]
    assert judged == [9.0, 7.0, 5.0]
    assert [r["pressure_psi"] for r in rows_of(wheelend.pressures(found, all=True))] == [90.0, 70.0, 50.0]
    early = wheelend.judge(found, all=True, as_of="2025-03-10")
    assert [r["reading"] for r in rows_of(early) if r["limit_id"] == "US-T-03"] == [9.0, 7.0]


def test_a_pressure_check_does_not_hide_the_tread_read_before_it() -> None:
    found = log(
        {"read_on": "2025-06-06", "tread_a_32nds": "1", "pressure_psi": "100"},
        {"read_on": "2025-06-09", "tread_a_32nds": "", "pressure_psi": "95"},
    )
    rows = {r["limit_id"]: r for r in rows_of(wheelend.judge(found))}
    assert (rows["US-T-03"]["verdict"], str(rows["US-T-03"]["read_on"])[:10]) == ("fail", "2025-06-06")


def test_as_of_is_printed(run: Any, readings: Any, positions: Any, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(readings.csv(), encoding="utf-8")
    (tmp_path / "p.csv").write_text(positions.csv(), encoding="utf-8")
    files = ["--readings", tmp_path / "r.csv", "--positions", tmp_path / "p.csv"]
    assert "2025-06-10" in run("judge", *files).err
    assert "2025-06-11" in run("judge", *files, "--as-of", "2025-06-11").err


# ---- filters


@pytest.mark.parametrize("name", ["judge", "pressures", "wear", "standing"])
def test_filters(name: str, fleet: wheelend.Log, results: dict[str, pa.Table]) -> None:
    def units(**filters: Any) -> set[str]:
        return set(getattr(wheelend, name)(fleet, **filters)["unit"].to_pylist())

    with (SAMPLE / "positions.csv").open(encoding="utf-8", newline="") as file:
        positions = list(csv.DictReader(file))
    north = {p["unit"] for p in positions if p["site"] == "North"}
    city = {p["unit"] for p in positions if p["group"] == "city"}
    everything = set(results[name]["unit"].to_pylist())
    assert units(unit="T101") == {"T101"}
    assert units(unit=["T101", "V404"]) == {"T101", "V404"}
    assert units(site="North") == north & everything
    assert units(site="North", group="city") == north & city & everything
    assert units(site=["North", "South"]) == everything


def test_a_filter_changes_no_row_that_it_leaves(fleet: wheelend.Log, results: dict[str, pa.Table]) -> None:
    for name in ("judge", "pressures", "wear", "standing"):
        whole = [row for row in results[name].to_pylist() if row["unit"] == "T103"]
        assert getattr(wheelend, name)(fleet, unit="T103").to_pylist() == whole, name


def test_a_name_that_is_not_there_gets_the_nearest_ones(fleet: wheelend.Log) -> None:
    with pytest.raises(wheelend.BadCall, match=r"unit: 'V40' is not in the data; did you mean .*V40\d"):
        wheelend.judge(fleet, unit="V40")
    with pytest.raises(wheelend.BadCall, match=r"site: 'Nort' .*did you mean North\?"):
        wheelend.judge(fleet, site="Nort")
    with pytest.raises(wheelend.BadCall, match=r"group: 'citty' .*did you mean city\?"):
        wheelend.standing(fleet, group="citty")
    with pytest.raises(wheelend.BadCall, match="site: the positions carry no column 'site'"):
        wheelend.judge(log({"tread_a_32nds": "5"}), site="North")


# ---- files


def from_csv(path: Path, schema: pa.Schema) -> list[dict[str, Any]]:
    def value(text: str, kind: pa.DataType) -> Any:
        if text == "":
            return None
        if pa.types.is_integer(kind):
            return int(text)
        if pa.types.is_floating(kind):
            return float(text)
        if pa.types.is_boolean(kind):
            return {"true": True, "false": False}[text]
        return dt.date.fromisoformat(text) if pa.types.is_date(kind) else text

    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        assert reader.fieldnames == schema.names
        return [{f.name: value(row[f.name], f.type) for f in schema} for row in reader]


def from_json(path: Path, schema: pa.Schema) -> list[dict[str, Any]]:
    rows = json.loads(path.read_text(encoding="utf-8"))
    dates = [f.name for f in schema if pa.types.is_date(f.type)]
    for row in rows:
        assert list(row) == schema.names
        row.update({name: dt.date.fromisoformat(row[name]) for name in dates if row[name] is not None})
    return list(rows)


def from_xlsx(path: Path, schema: pa.Schema) -> list[dict[str, Any]]:
    from python_calamine import CalamineWorkbook

    header, *rows = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python()
    assert header == schema.names
    return [dict(zip(header, (None if cell == "" else cell for cell in row), strict=True)) for row in rows]


def nearly(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """XlsxWriter writes numbers with 16 digits, one less than a double may need: up to 5e-16 of the number."""
    return [{n: pytest.approx(v, rel=1e-15) if isinstance(v, float) else v for n, v in row.items()} for row in rows]


def blank_is_missing(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Text files and sheets know no difference between an empty text and none."""
    return [{name: None if value == "" else value for name, value in row.items()} for row in rows]


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("suffix", ["csv", "parquet", "json", "xlsx"])
def test_output_reads_back_equal(
    command: str, suffix: str, results: dict[str, pa.Table], tmp_path: Path, run: Any
) -> None:
    path = tmp_path / f"out.{suffix}"
    done = run(command, *FILES, "-o", path)
    assert done.out == ""
    assert f"{len(results[command]):,} rows written to out.{suffix}" in done.err
    want = results[command]
    if suffix == "parquet":
        assert pq.read_table(path).equals(want)
        return
    found = {"csv": from_csv, "json": from_json, "xlsx": from_xlsx}[suffix](path, want.schema)
    expected = blank_is_missing(want.to_pylist())
    assert blank_is_missing(found) == (nearly(expected) if suffix == "xlsx" else expected)
    assert [p.name for p in tmp_path.iterdir()] == [path.name]  # no half-written file is left beside it


def test_timestamps_stay_timestamps_in_files(tmp_path: Path, run: Any) -> None:
    source = tmp_path / "r.csv"
    source.write_text(
        "unit,kind,role,axle,side,dual,read_on,tread_a_32nds\n"
        "U1,truck,drive,2,left,outer,2025-06-10T07:30:00-05:00,9\n",
        encoding="utf-8",
    )
    instant = dt.datetime(2025, 6, 10, 12, 30, tzinfo=dt.UTC)
    run("judge", "--readings", source, "-o", tmp_path / "o.parquet")
    assert pq.read_table(tmp_path / "o.parquet")["read_on"].to_pylist()[0] == instant
    run("judge", "--readings", source, "-o", tmp_path / "o.json")
    assert dt.datetime.fromisoformat(json.loads((tmp_path / "o.json").read_text())[0]["read_on"]) == instant


# ---- exit codes

ROW = "unit,kind,role,axle,side,dual,read_on"


@pytest.fixture
def shop(tmp_path: Path) -> Callable[..., Path]:
    def call(columns: str, *rows: str) -> Path:
        path = tmp_path / "readings.csv"
        lines = [f"{ROW},{columns}", *(f"U{i},tractor,steer,1,left,single,2025-06-10,{r}" for i, r in enumerate(rows))]
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return call


FINDINGS = {
    "violation": ("tread_a_32nds", "3", 1),
    "out of service": ("sidewall_max_psi,pressure_psi", "120,60", 1),
    "only the fleet's own": ("pull_32nds,tread_a_32nds", "6,5", 0),
    "the target stands in": ("target_psi,pressure_psi", "100,95", 0),
    "all pass": ("tread_a_32nds", "9", 0),
    "no verdict": ("sidewall_max_psi,pressure_psi", ",100", 0),
}


@pytest.mark.parametrize("command", ["judge", "standing"])
@pytest.mark.parametrize("case", FINDINGS)
def test_exit_0_or_1(command: str, case: str, shop: Any, run: Any) -> None:
    columns, cells, code = FINDINGS[case]
    assert run(command, "--readings", shop(columns, cells)).code == code


@pytest.mark.parametrize("command", ["pressures", "wear", "issues"])
def test_other_commands_do_not_use_1(command: str, shop: Any, run: Any) -> None:
    path = shop("sidewall_max_psi,pressure_psi,tread_a_32nds", "120,40,1", "120,40,bald")
    assert run(command, "--readings", path).code == 0


@pytest.mark.parametrize(("depth", "code"), [("3/32 in", 1), ("4/32 in", 0)])
def test_exit_of_spot(depth: str, code: int, run: Any) -> None:
    assert run("spot", "--kind", "tractor", "--role", "steer", "--depth", depth).code == code


@pytest.mark.parametrize("arguments", [
    [], ["nope"], ["judge"], ["judge", "--readings", "no_such_file.csv"], ["judge", *FILES, "--as-of", "2025-13-01"],
    ["judge", *FILES, "--limits", "nowhere"], ["judge", *FILES, "--unit", "T999"], ["judge", *FILES, "--site", "x"],
    ["judge", *FILES, "-o", "out.doc"], ["judge", *FILES, "--dates", "ymd"], ["judge", *FILES, "--on-bad", "x"],
    ["judge", *FILES, "--measure", "pressure"], ["judge", *FILES, "--no-such-option"],
    ["pressures", *FILES, "--reference", "68"], ["pressures", *FILES, "--method", "guess"],
    ["standing", *FILES, "--unread-after", "-1"], ["wear", *FILES, "--limit", "4"],
    ["spot", "--kind", "truck", "--role", "steer"], ["spot", "--kind", "truck", "--role", "steer", "--depth", "5/32"],
    ["spot", "--kind", "lorry", "--role", "steer", "--depth", "5/32 in"],
    ["spot", "--kind", "truck", "--role", "front", "--depth", "5/32 in"],
    ["spot", "--kind", "truck", "--role", "steer", "--depth", "5/32 km"],
], ids=lambda a: " ".join(x for x in a if x not in FILES) or "nothing")  # fmt: skip
def test_exit_2_for_wrong_usage(arguments: list[str], run: Any) -> None:
    done = run(*arguments)
    assert done.code == 2
    assert done.out == ""
    assert done.err.strip()
    assert "Traceback" not in done.err


def test_exit_2_for_a_limit_file_that_cannot_be_used(tmp_path: Path, run: Any) -> None:
    (tmp_path / "own.csv").write_text("id,bound\nX,2\n", encoding="utf-8")
    done = run("judge", *FILES, "--limits", tmp_path / "own.csv")
    assert done.code == 2
    assert "own.csv" in done.err


@pytest.mark.parametrize(("text", "options"), [
    ("", []),  # empty
    (f"{ROW},tread_a_32nds\n", []),  # a header alone
    ("colour,size\nred,3\n", []),  # another table
    (f"{ROW},tread_a\nU1,truck,drive,2,left,outer,2025-06-10,9\n", []),  # no measure
    (f"{ROW},tread_a_32nds\nU1,truck,drive,2,left,outer,someday,9\n", []),  # no row that can be used
    (f"{ROW},tread_a_32nds\nU1,truck,drive,2,left,outer,2025-06-10,bald\n", ["--on-bad", "raise"]),
])  # fmt: skip
def test_exit_3_where_nothing_can_be_used(text: str, options: list[str], tmp_path: Path, run: Any) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    done = run("judge", "--readings", path, *options)
    assert done.code == 3
    assert done.out == ""
    assert "readings.csv" in done.err
    assert "Traceback" not in done.err


# ---- standing


def standing_of(*rows: dict[str, Any], **how: Any) -> dict[str, Any]:
    found = rows_of(wheelend.standing(log(*rows), **how))
    assert len(found) == 1
    return found[0]


GOOD = {"tread_a_32nds": "18", "tread_b_32nds": "18", "pressure_psi": "100", "target_psi": "100"}


def test_clear() -> None:
    row = standing_of(GOOD)
    assert (row["standing"], row["worst_position"], row["reason"]) == ("clear", None, None)
    assert (row["verdicts_failed"], row["due_within_30_days"], row["days_since_read"]) == (0, 0, 0)


@pytest.mark.parametrize("cells", [
    {"tread_a_32nds": "1"}, {"pressure_psi": "80"}, {"pressure_psi": "50", "sidewall_max_psi": "110"},
    {"pressure_psi": "99", "needed_psi": "100"},
])  # fmt: skip
def test_hold(cells: dict[str, str]) -> None:
    row = standing_of(GOOD | cells)
    assert row["standing"] == "hold"
    assert row["worst_position"] == "axle 2 left outer"
    assert "limit" in row["reason"]
    assert row["verdicts_failed"] >= 1


@pytest.mark.parametrize(("cells", "words"), [
    ({"pull_32nds": "20"}, "own pull depth"), ({"pressure_psi": "94"}, "under"),
])  # fmt: skip
def test_watch(cells: dict[str, str], words: str) -> None:
    row = standing_of(GOOD | cells)
    assert row["standing"] == "watch"
    assert words in row["reason"]


def test_watch_for_a_tire_that_is_due_soon() -> None:
    # 2/32 in a month for nine months, and 1/32 in left to the pull depth: half a month
    depths = [(f"2025-{month:02d}-10", str(25 - 2 * month)) for month in range(1, 10)]
    rows = [GOOD | {"read_on": day, "tread_a_32nds": d, "tread_b_32nds": d, "pull_32nds": "6"} for day, d in depths]
    row = standing_of(*rows)
    assert (row["standing"], row["due_within_30_days"]) == ("watch", 1)
    assert row["reason"].startswith("due in ")


@pytest.mark.parametrize("found", ["95", "105", "106"])
def test_up_to_five_psi_below_the_target_and_above_it_nothing_is_watched(found: str) -> None:
    row = standing_of(GOOD | {"pressure_psi": found})
    assert (row["standing"], row["verdicts_failed"]) == ("clear", 0)


def test_a_flat_tire_without_a_target_is_held() -> None:
    row = standing_of({"tread_a_32nds": "18", "pressure_psi": "40", "sidewall_max_psi": "110"})
    assert row["standing"] == "hold"
    assert "OS-T-03" in row["reason"] or "out-of-service" in row["reason"]


def test_a_warm_tire_that_cannot_be_brought_to_cold_is_held_all_the_same() -> None:
    row = standing_of({"tread_a_32nds": "18", "pressure_psi": "78", "target_psi": "100", "warm": "yes"})
    assert row["standing"] == "hold"


@pytest.mark.parametrize(("as_of", "after", "standing"), [
    ("2025-07-24", 45, "clear"), ("2025-07-26", 45, "unread"), ("2025-07-24", 30, "unread"), ("2025-06-10", 0, "clear"),
])  # fmt: skip
def test_unread(as_of: str, after: int, standing: str) -> None:
    row = standing_of(GOOD, as_of=as_of, unread_after=after)
    assert row["standing"] == standing
    assert row["days_since_read"] == (dt.date.fromisoformat(as_of) - dt.date(2025, 6, 10)).days


def test_a_unit_that_was_never_read_is_unread(run: Any, readings: Any, positions: Any, tmp_path: Path) -> None:
    positions.again(7, unit="R8", side="left")
    (tmp_path / "r.csv").write_text(readings.csv(), encoding="utf-8")
    (tmp_path / "p.csv").write_text(positions.csv(), encoding="utf-8")
    run("standing", "--readings", tmp_path / "r.csv", "--positions", tmp_path / "p.csv", "-o", tmp_path / "o.json")
    rows = {r["unit"]: r for r in json.loads((tmp_path / "o.json").read_text())}
    assert (rows["R8"]["standing"], rows["R8"]["days_since_read"]) == ("unread", None)


def test_a_failure_outweighs_an_old_reading() -> None:
    assert standing_of(GOOD | {"tread_a_32nds": "1"}, as_of="2025-12-31")["standing"] == "hold"


def test_worst_units_come_first(results: dict[str, pa.Table]) -> None:
    order = ["hold", "unread", "watch", "clear"]
    found = [order.index(s) for s in results["standing"]["standing"].to_pylist()]
    assert found == sorted(found)
    assert len(set(results["standing"]["unit"].to_pylist())) == len(found) == 34


def test_a_unit_is_held_exactly_where_a_legal_verdict_fails(results: dict[str, pa.Table]) -> None:
    legal = {"violation", "out_of_service"}
    # a pressure below the fleet's own target is left to its state, as the data dictionary says
    fails = [
        r
        for r in results["judge"].to_pylist()
        if r["verdict"] == "fail" and (r["severity"], r["quantity"]) != ("own", "pressure")
    ]
    held = {r["unit"] for r in results["standing"].to_pylist() if r["standing"] == "hold"}
    assert held == {r["unit"] for r in fails if r["severity"] in legal}
    for row in results["standing"].to_pylist():
        assert row["verdicts_failed"] == sum(f["unit"] == row["unit"] for f in fails), row["unit"]


# ---- spot


@pytest.mark.parametrize("depth", ["4/32 in", "1/8 in", "0.125 in", "4 32nds", "3.175 mm", "8/64in", " 4/32  IN "])
def test_spot_takes_fractions_and_decimals_alike(depth: str) -> None:
    row = wheelend.spot(kind="tractor", role="steer", depth=depth).verdicts.to_pylist()[0]
    assert (row["limit_id"], row["verdict"], row["reading"], row["margin"]) == ("US-T-02", "pass", 4.0, 0.0)


@pytest.mark.parametrize(("given", "words"), [
    ({"depth": "5/32"}, "number and a measure"), ({"depth": "in"}, "number and a measure"),
    ({"depth": "1/3 in"}, "not a finite decimal"), ({"depth": "5/0 in"}, "divides by zero"),
    ({"depth": "5 psi"}, "not a measure of length"), ({"pressure": "5 in"}, "not a measure of pressure"),
    ({"pressure": "92"}, "number and a measure"), ({"depth": "5/32 in", "target": "9 barn"}, "not a measure of"),
    ({}, "give a depth, a pressure, or both"), ({"depth": []}, "give a depth, a pressure, or both"),
])  # fmt: skip
def test_spot_refuses_by_name(given: dict[str, Any], words: str) -> None:
    with pytest.raises(wheelend.BadCall, match=words):
        wheelend.spot(kind="tractor", role="steer", **given)


@pytest.mark.parametrize(("kind", "role"), [("lorry", "steer"), ("tractor", "front")])
def test_spot_names_the_argument_that_is_wrong(kind: str, role: str) -> None:
    with pytest.raises(wheelend.BadCall, match=r"kind|role"):
        wheelend.spot(kind=kind, role=role, depth="5/32 in")


def test_spot_judges_grooves_and_pressure_together() -> None:
    found = wheelend.spot(
        kind="tractor", role="steer", depth=["3/32 in", "1/32 in", "3/32 in"], pressure="80 psi", target="100 psi"
    )
    words = {r["limit_id"]: r["verdict"] for r in found.verdicts.to_pylist()}
    assert (words["US-T-02"], words["OS-T-01"], words["DU-13"]) == ("fail", "pass", "fail")
    assert found.fails
    assert found.pressures is not None
    assert found.pressures["state"].to_pylist() == ["demount"]


def test_spot_takes_the_axle() -> None:
    second = wheelend.spot(kind="truck", role="steer", axle=2, depth="3/32 in").verdicts["limit_id"].to_pylist()
    assert "US-A-01" in second
    assert "US-T-02" not in second


# ---- wear


def test_quantiles_are_ordered(results: dict[str, pa.Table]) -> None:
    rows = results["wear"].to_pylist()
    assert len(rows) > 250
    for row in rows:
        for what in ("remaining_mi", "remaining_days"):
            values = [row[f"{what}_{p}"] for p in LEVELS]
            known = [v for v in values if v is not None]
            assert known == sorted(known)
            assert values[: len(known)] == known, "once beyond the horizon, the later ones are as well"
            assert all(v >= 0 for v in known)


def test_due_dates_are_as_of_and_the_whole_days(fleet: wheelend.Log, results: dict[str, pa.Table]) -> None:
    checked = 0
    for row in results["wear"].to_pylist():
        for p in LEVELS:
            days = row[f"remaining_days_{p}"]
            due = None if days is None else fleet.last_day + dt.timedelta(days=math.floor(days))
            assert row[f"due_{p}"] == due
            checked += days is not None
    assert checked > 1000


def test_at_the_limit_nothing_remains(results: dict[str, pa.Table]) -> None:
    rows = [r for r in results["wear"].to_pylist() if r["status"] == "at_limit"]
    assert rows
    for row in rows:
        assert row["remaining_days_p50"] == 0.0
        assert row["remaining_mi_p50"] in (0.0, None)  # None: no odometer
        assert row["due_p50"] == dt.date(2026, 2, 27)  # the last reading of the sample
    far_below = rows_of(wheelend.wear(log({"tread_a_32nds": "1", "tread_b_32nds": "1", "pull_32nds": "9"})))[0]
    assert [far_below[f"remaining_days_{p}"] for p in LEVELS] == [0.0] * 7


@pytest.mark.parametrize(("cells", "limit", "expected"), [
    ({}, None, 2.0), ({"kind": "tractor", "role": "steer", "axle": "1", "dual": "single"}, None, 4.0),
    ({"pull_32nds": "6"}, None, 6.0), ({"pull_32nds": "6"}, "3/32 in", 3.0), ({}, "6.35 mm", 8.0),
])  # fmt: skip
def test_the_limit_is_the_argument_else_the_pull_depth_else_the_law(
    cells: dict[str, str], limit: str | None, expected: float
) -> None:
    row = rows_of(wheelend.wear(log(GOOD | cells), limit=limit))[0]
    # depth is in 1/32 in; 6.35 mm is 8/32 in exactly, and one conversion costs at most one ulp
    assert row["limit_32nds"] == pytest.approx(expected, rel=1e-15)


def test_a_tire_that_wears_straight_is_due_when_it_reaches_the_limit() -> None:
    # 1/32 in per 16 000 mi (within the published range of drive tires) and 8000 mi in 30 days; 10/32 in left to 2/32
    start = dt.date(2025, 1, 1)
    rows = [
        {
            "side": side,
            "read_on": (start + dt.timedelta(days=30 * i)).isoformat(),
            "odometer_mi": str(8000 * i),
            "tread_a_mm": f"{25.4 / 32 * (15 - i / 2):.9f}",
            "tread_b_mm": f"{25.4 / 32 * (15 - i / 2):.9f}",
        }
        for side in ("left", "right")
        for i in range(7)
    ]
    for row in rows_of(wheelend.wear(log(*rows))):
        assert row["readings_used"] == 7
        assert row["remaining_mi_p05"] < 160_000 < row["remaining_mi_p95"]
        assert row["remaining_days_p05"] < 600 < row["remaining_days_p95"]
        # A rate of k (1 + s d / 29) takes 15 to 12/32 in 48 000 mi and 12 to 2/32 in 160 000 mi with s = 0 (a line) and
        # in 190 000 mi with s = 1 (a new tire wears twice as fast as one that is worn off); s is not known from so few
        assert 160_000 * 0.97 < row["remaining_mi_p50"] < 190_000 * 1.03


def test_a_tire_read_once_is_answered_with_a_wider_interval() -> None:
    def width(row: dict[str, Any]) -> float:  # the later quantiles may lie beyond the horizon
        return 1.0 - float(row["remaining_days_p05"]) / float(row["remaining_days_p50"])

    days = ("2025-01-10", "18"), ("2025-02-10", "17.5"), ("2025-03-10", "17"), ("2025-04-10", "16.5")
    often = [{"unit": "A", "read_on": d, "tread_a_32nds": depth, "tread_b_32nds": depth} for d, depth in days]
    once = {"unit": "B", "read_on": "2025-04-10", "tread_a_32nds": "16.5", "tread_b_32nds": "16.5"}
    a, b = rows_of(wheelend.wear(log(*often, once)))
    assert (b["readings_used"], b["status"]) == (1, "from_group")
    assert width(b) > width(a)


# ---- for people


@pytest.mark.parametrize("command", COMMANDS)
def test_people_read_it_at_80_columns(command: str, run: Any) -> None:
    done = run(command, *FILES)
    assert done.out.strip()
    assert [line for line in (done.out + done.err).splitlines() if len(line) > 80] == []
    assert "\x1b" not in done.out + done.err
    assert "\t" not in done.out


def test_people_see_the_worst_first_and_the_count_of_all(run: Any) -> None:
    out = run("judge", *FILES).out.splitlines()
    assert out[1].startswith("V403")  # the flat tire: out of service comes before violations
    assert "out of service" in out[1]
    assert any(
        re.fullmatch(r"278 positions and 21 places of other kinds \(wheel end, axle, unit\), \d+", line) for line in out
    )


def test_the_terminal_shows_the_first_twenty_issues_and_the_count(tmp_path: Path, run: Any) -> None:
    path = tmp_path / "readings.csv"
    rows = "".join(f"U{i},truck,drive,2,left,outer,2025-06-10,9,bald\n" for i in range(30))
    path.write_text(f"{ROW},tread_a_32nds,tread_b_32nds\n{rows}", encoding="utf-8")
    out = run("issues", "--readings", path).out
    assert out.count("[cell]") == 20
    assert "10 more" in out
    assert "30 a value" in out


def test_nothing_judged_is_not_sold_as_nothing_found(run: Any) -> None:
    out = run("judge", *FILES, "--as-of", "2020-01-01").out
    assert "No violation" not in out


@pytest.mark.parametrize("command", [[], *[[c] for c in (*COMMANDS, "spot", "sample")]], ids=lambda c: " ".join(c))
def test_help_has_an_example(command: list[str], run: Any) -> None:
    done = run(*command, "--help")
    assert done.code == 0
    name = " ".join(command) or "judge"
    assert re.search(rf"Example:\s+wheelend {name}\b", done.out)
    assert [line for line in done.out.splitlines() if len(line) > 80] == []


def test_help_shows_the_caution(run: Any) -> None:
    words = " ".join(run("--help").out.split())
    assert "no certificate of roadworthiness" in words
    assert "licensed inspectors decide" in words
    assert "unsecured vehicle" in words
    assert "multi-piece rim" in words


def test_spot_ends_with_the_caution(run: Any) -> None:
    out = run("spot", "--kind", "truck", "--role", "drive", "--depth", "9/32 in").out
    assert "no certificate of roadworthiness" in out


def test_a_lost_column_is_said_by_every_command(run: Any, tmp_path: Path) -> None:
    # Without its measure a column is not used; a shop that does not look at `issues` must be told all the same.
    path = tmp_path / "readings.csv"
    path.write_text(
        "unit,kind,axle,side,dual,role,read_on,tread_outer_32nds,tread_inner\n"
        "U1,truck,1,left,single,steer,2026-01-05,6,1\n"
    )
    for command in ("judge", "standing", "wear", "pressures"):
        done = run(command, "-r", path)
        assert "NOT USED: readings.csv, column tread_inner: no measure is given" in done.err


def test_limits_lists_the_sets_and_the_rows_of_one(run: Any, tmp_path: Path) -> None:
    sets = run("limits")
    assert sets.code == 0
    assert "us-federal" in sets.out
    rows = run("limits", "us-federal")
    assert "US-T-02  tread depth, lowest depth, >= 4 32nds  [violation]" in rows.out
    assert "US-T-07  rated load, regrooved capacity, < 4920 lb (2232 kg)" in rows.out
    assert max(len(line) for line in rows.out.splitlines()) <= 80
    out = tmp_path / "set.csv"
    assert run("limits", "us-federal", "-o", out).code == 0
    assert out.read_text().count('"49 CFR 393.75(b)"') == 1
    assert run("limits", "nowhere").code == 2
