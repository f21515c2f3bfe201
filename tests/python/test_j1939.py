"""Tire messages of the vehicle network into readings.

Expected values are those of SAE J1939-71 and the J1939 digital annex, PGN 65268 (Tire Condition), as the project's list
of limits gives them (rows J-01 to J-09, worked verdicts 38-43, trap 13), which was set down before the program existed.
That pressures are gauge, the order of the bytes, the reserved codes and the error codes of whole bytes are from memory
there, and so here. Factor between psi and kPa: NIST SP 811, appendix B.
"""

from __future__ import annotations

import csv
import io
import math
import random
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.parquet
import pytest
import xlsxwriter

import wheelend
from wheelend import BadCall, DataRefused, j1939
from wheelend.dictionary import RESULTS

TODAY = "2025-06-20"
KPA_PER_PSI = 6.894757  # NIST SP 811, appendix B.8

# U1: a steer axle of singles and a drive axle of duals. U2: an axle of duals in front, one of singles behind it. U3: an
# axle with one tire on record, one with three, and one on which two tires are a pair.
POSITIONS = """\
unit,kind,axle,side,dual,role,needed_psi
U1,tractor,1,left,single,steer,100
U1,tractor,1,right,single,steer,100
U1,tractor,2,right,outer,drive,100
U1,tractor,2,left,outer,drive,100
U1,tractor,2,right,inner,drive,100
U1,tractor,2,left,inner,drive,100
U2,trailer,1,left,outer,trailer,100
U2,trailer,1,left,inner,trailer,100
U2,trailer,1,right,inner,trailer,100
U2,trailer,1,right,outer,trailer,100
U2,trailer,2,left,single,trailer,100
U2,trailer,2,right,single,trailer,100
U3,trailer,1,left,single,trailer,100
U3,trailer,2,left,outer,trailer,100
U3,trailer,2,left,inner,trailer,100
U3,trailer,2,right,inner,trailer,100
U3,trailer,3,left,outer,trailer,100
U3,trailer,3,left,inner,trailer,100
"""
# J-01: from left to right, facing forward, from 0
ACROSS = {
    2: [("left", "single"), ("right", "single")],
    4: [("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer")],
}
AXLES = {("U1", 1): 2, ("U1", 2): 4, ("U2", 1): 4, ("U2", 2): 2}  # tires of those that can be told

Columns = dict[str, list[Any]]


def positions() -> Columns:
    rows = list(csv.DictReader(io.StringIO(POSITIONS)))
    return {name: [row[name] for row in rows] for name in rows[0]}


def message(**cells: Any) -> dict[str, Any]:
    return {"unit": "U1", "read_on": "2025-06-10", "spn_929": "0x00", "spn_241": "172", **cells}


def table(*rows: dict[str, Any]) -> Columns:
    names = list(dict.fromkeys(name for row in rows for name in row))
    return {name: [row.get(name, "") for row in rows] for name in names}


def decode(*rows: dict[str, Any]) -> j1939.Decoded:
    return j1939.readings(table(*rows), positions(), today=TODAY)


def only(decoded: j1939.Decoded) -> dict[str, Any]:
    (row,) = decoded.readings.to_pylist()
    return dict(row)


def issues_of(decoded: j1939.Decoded) -> list[tuple[int, str, str, str]]:
    return [(i["row"], i["column"], i["effect"], i["rule"]) for i in decoded.issues.to_pylist()]


# ---- worked verdicts


def test_38_a_pressure_of_172_fails_within_one_step_of_the_gauge() -> None:
    # 172 x 4 kPa = 688 kPa = 99.79 psi, by 49 CFR 393.75(i) below the 100 psi that the load needs
    decoded = decode(message(spn_929="0x10", spn_1698="0", spn_2587="2"))
    assert only(decoded)["pressure_kpa"] == 688.0
    log = wheelend.read_log(decoded.readings, positions(), today=TODAY)
    (verdict,) = [v for v in wheelend.judge(log).to_pylist() if v["limit_id"] == "US-T-11"]
    assert (verdict["verdict"], verdict["side"], verdict["dual"], verdict["axle"]) == ("fail", "left", "outer", 2)
    assert verdict["measure"] == "psi"
    assert verdict["margin"] == pytest.approx(688 / KPA_PER_PSI - 100, abs=1e-5)  # SP 811 prints seven digits
    assert round(verdict["margin"], 2) == -0.21
    assert "within one step of the gauge" in verdict["reason"]


def test_38_the_next_number_passes() -> None:
    # 173 x 4 kPa = 692 kPa = 100.37 psi: the message has nothing between
    log = wheelend.read_log(decode(message(spn_929="0x10", spn_241="173")).readings, positions(), today=TODAY)
    (verdict,) = [v for v in wheelend.judge(log).to_pylist() if v["limit_id"] == "US-T-11"]
    assert verdict["verdict"] == "pass"


def test_39_a_pressure_of_255_has_no_verdict() -> None:
    decoded = decode(message(spn_241="255", spn_242="9376"))
    assert only(decoded)["pressure_kpa"] is None
    assert decoded.issues.num_rows == 0
    log = wheelend.read_log(decoded.readings, positions(), today=TODAY)
    words = [v["verdict"] for v in wheelend.judge(log).to_pylist() if v["limit_id"] == "US-T-11"]
    assert {"pass", "fail"}.isdisjoint(words)


def test_40_a_pressure_of_250_is_1000_kpa() -> None:
    value, status = j1939.scaled(241, 250)
    assert (value, status) == (1000.0, "value")
    assert round(value / KPA_PER_PSI, 1) == 145.0
    assert only(decode(message(spn_241="250")))["pressure_kpa"] == 1000.0


def test_41_a_temperature_of_9376_is_20_degc() -> None:
    assert j1939.scaled(242, 9376) == (20.0, "value")
    assert only(decode(message(spn_242="9376")))["tire_degc"] == 20.0


def test_42_location_12_of_four_tires_is_the_right_inner_of_the_second_axle() -> None:
    row = only(decode(message(spn_929="0x12")))
    assert (row["unit"], row["axle"], row["side"], row["dual"]) == ("U1", 2, "right", "inner")


def test_43_location_01_of_two_tires_is_the_right_of_the_first_axle() -> None:
    row = only(decode(message(spn_929="0x01")))
    assert (row["unit"], row["axle"], row["side"], row["dual"]) == ("U1", 1, "right", "single")


# ---- trap 13


def test_trap_13_not_available_is_no_pressure_of_1020_kpa() -> None:
    assert 255 * 4 == 1020  # what a naive program would say
    value, status = j1939.scaled(241, 0xFF)
    assert math.isnan(value)
    assert status == "not_available"


def test_trap_13_a_number_is_no_side_without_the_count_of_tires() -> None:
    # The same number 1 is the right tire of U1's first axle and a left one of U2's: numbering restarts for each unit.
    decoded = decode(message(unit="U1", spn_929="0x01"), message(unit="U2", spn_929="0x01"))
    found = [(r["unit"], r["side"], r["dual"]) for r in decoded.readings.to_pylist()]
    assert found == [("U1", "right", "single"), ("U2", "left", "inner")]


# ---- scaling and codes


@pytest.mark.parametrize(
    ("spn", "raw", "value"),
    [
        (241, 0, 0.0),  # J-02
        (241, 250, 1000.0),
        (242, 0, -273.0),  # J-03
        (242, 64255, 1734.96875),
        (2586, 0, 0.0),  # J-06
        (2586, 64255, 6425.5),
        (929, 0, 0),  # J-01
        (929, 254, 254),
        (1698, 1, 1),  # J-04
        (1697, 0, 0),  # J-05
        (1699, 1, 1),
        (2587, 4, 4),  # J-07
    ],
)
def test_ends_of_the_ranges(spn: int, raw: int, value: float) -> None:
    assert j1939.scaled(spn, raw) == (value, "value")


@pytest.mark.parametrize(
    ("spn", "counts"),
    [
        # J-08: one byte 0-250, 251-253, 254, 255; two bytes by their high byte
        (241, {"value": 251, "reserved": 3, "error": 1, "not_available": 1}),
        (242, {"value": 64256, "reserved": 3 * 256, "error": 256, "not_available": 256}),
        (2586, {"value": 64256, "reserved": 3 * 256, "error": 256, "not_available": 256}),
        (929, {"value": 255, "not_available": 1}),  # J-01
        (1698, {"value": 2, "error": 1, "not_available": 1}),  # J-04
        (1697, {"value": 1, "reserved": 1, "error": 1, "not_available": 1}),  # J-05
        (1699, {"value": 2, "reserved": 1, "not_available": 1}),
        (2587, {"value": 5, "reserved": 1, "error": 1, "not_available": 1}),  # J-07
    ],
)
def test_every_number_of_a_parameter_has_its_status(spn: int, counts: dict[str, int]) -> None:
    value, status = j1939.scaled(spn, np.arange(sum(counts.values())))
    assert Counter(status.tolist()) == counts
    assert (np.isnan(value) == (status != "value")).all()
    # values come first, then reserved, error and not available, in every row of the list
    order = ["value", "reserved", "error", "not_available"]
    places = [order.index(s) for s in status.tolist()]
    assert places == sorted(places)
    with pytest.raises(BadCall, match="whole numbers from 0 to"):
        j1939.scaled(spn, sum(counts.values()))


def test_a_leak_rate_is_the_decimal_of_its_tenths() -> None:
    # J-06: 0.1 Pa/s a bit. A double stands for its shortest decimal, so 3 bits must not be 0.30000000000000004.
    raw = np.arange(64256)
    value, _ = j1939.scaled(2586, raw)
    assert [repr(v) for v in value.tolist()] == [
        str(Decimal(r) / 10) if r % 10 else f"{r // 10}.0" for r in range(64256)
    ]


def test_shapes_and_missing_numbers() -> None:
    value, status = j1939.scaled(241, np.array([[172, 255], [np.nan, 254]]))
    assert value.shape == status.shape == (2, 2)
    assert value[0, 0] == 688.0
    assert status.tolist() == [["value", "not_available"], ["not_available", "error"]]
    value, status = j1939.scaled(241, [])
    assert value.shape == status.shape == (0,)


@pytest.mark.parametrize("raw", [-1, 256, 1.5, math.inf, "0xAC", [1, -1], {}])
def test_a_number_that_is_none_of_the_message(raw: Any) -> None:
    with pytest.raises(BadCall, match="raw: "):
        j1939.scaled(241, raw)


@pytest.mark.parametrize("spn", [3191, 3190, 0, "241"])
def test_another_parameter(spn: Any) -> None:
    # J-09: SPN 3191 is a pressure too, of another message, at 8 kPa a bit
    with pytest.raises(BadCall, match="spn: expected one of 929, 241"):
        j1939.scaled(spn, 1)


# ---- words


def test_states_are_words() -> None:
    # J-04, J-05, J-07: every state that is a value, and the one after them that is none
    rows = [message(spn_2587=i, spn_1698=min(i, 1), spn_1697=0, spn_1699=min(i, 1), spn_2586=i) for i in range(5)]
    found = decode(*rows, message(spn_2587=7, spn_1698=3, spn_1697=3, spn_1699=3, spn_2586=65535)).readings
    assert found["threshold"].to_pylist() == ["extreme_over", "over", "no_warning", "under", "extreme_under", None]
    assert found["status"].to_pylist() == ["no_fault", *["leak"] * 4, None]
    assert found["electrical_fault"].to_pylist() == ["no_fault"] * 5 + [None]
    assert found["sensor"].to_pylist() == ["off_or_isolated", *["on_and_polled"] * 4, None]
    assert found["leak_rate_pa_per_s"].to_pylist() == [0.0, 0.1, 0.2, 0.3, 0.4, None]


def test_read_log_takes_the_readings_without_a_complaint() -> None:
    row = message(spn_242=9376, spn_1698=1, spn_1697=0, spn_1699=1, spn_2586=5, spn_2587=2)
    log = wheelend.read_log(decode(row).readings, positions(), today=TODAY)
    assert log.counts["readings"].rows_used == 1
    assert log.counts["readings"].values_used == 2  # pressure and temperature
    assert log.lost_columns == []
    found = log.issues.to_pylist()
    assert {(i["rule"], i["effect"]) for i in found} == {("unknown_column", "note")}
    further = {"status", "electrical_fault", "sensor", "leak_rate_pa_per_s", "threshold"}
    assert {i["column"] for i in found} == further


def test_only_what_came_in_is_in_the_readings() -> None:
    found = decode(message()).readings
    assert found.column_names == ["unit", "axle", "side", "dual", "read_on", "pressure_kpa", "tire_degc"]
    assert found["tire_degc"].to_pylist() == [None]


# ---- places


def told() -> list[tuple[str, int, int, str, str]]:
    """Unit, axle, number and place of every tire that can be told."""
    return [(unit, axle, i, *place) for (unit, axle), n in AXLES.items() for i, place in enumerate(ACROSS[n])]


@pytest.mark.parametrize(("unit", "axle", "number", "side", "dual"), told())
def test_every_tire_of_both_kinds_of_axle(unit: str, axle: int, number: int, side: str, dual: str) -> None:
    row = only(decode(message(unit=unit, spn_929=16 * (axle - 1) + number)))
    assert (row["unit"], row["axle"], row["side"], row["dual"]) == (unit, axle, side, dual)


def test_every_location_of_every_unit_is_a_tire_or_a_refused_row() -> None:
    places = {(unit, 16 * (axle - 1) + i): (axle, side, dual) for unit, axle, i, side, dual in told()}
    asked = [(unit, location) for unit in ("U1", "U2", "U3") for location in range(256)]
    decoded = decode(*(message(unit=unit, spn_929=location) for unit, location in asked))
    found = [(r["unit"], r["axle"], r["side"], r["dual"]) for r in decoded.readings.to_pylist()]
    assert found == [(a[0], *places[a]) for a in asked if a in places]
    refused = decoded.issues.to_pylist()
    assert sorted(i["row"] for i in refused) == [row for row, a in enumerate(asked, 2) if a not in places]
    assert {i["effect"] for i in refused} == {"row"}
    u3 = Counter(i["rule"] for i in refused if i["row"] >= 2 + 512)
    assert u3 == {"axle_layout": 3 * 16, "unknown_axle": 13 * 16 - 1, "not_available": 1}


def test_an_axle_of_any_other_set_of_tires_is_not_guessed() -> None:
    sets = [tires for full in ACROSS.values() for n in range(1, len(full) + 1) for tires in combinations(full, n)]
    assert len(sets) == 3 + 15
    places = [(f"S{i}", side, dual) for i, tires in enumerate(sets) for side, dual in tires]
    fleet: Columns = {name: [place[i] for place in places] for i, name in enumerate(("unit", "side", "dual"))}
    fleet |= {"kind": ["trailer"] * len(places), "role": ["trailer"] * len(places), "axle": [1] * len(places)}
    rows = [message(unit=f"S{i}", spn_929=number) for i in range(len(sets)) for number in range(4)]
    decoded = j1939.readings(table(*rows), fleet, today=TODAY)
    found = [(r["unit"], r["side"], r["dual"]) for r in decoded.readings.to_pylist()]
    assert found == [
        (f"S{i}", *tire) for i, tires in enumerate(sets) if list(tires) in ACROSS.values() for tire in tires
    ]
    assert Counter(i["rule"] for i in decoded.issues.to_pylist()) == {"axle_layout": 16 * 4, "unknown_position": 2}


# ---- bad rows and values


@pytest.mark.parametrize(
    ("cells", "effect", "rule", "remedy"),
    [
        ({"unit": ""}, "row", "missing_key", "fill it in"),
        ({"unit": "U11"}, "row", "unknown_unit", "did you mean U1?"),
        ({"unit": "Q"}, "row", "unknown_unit", "add the unit to the positions table"),
        ({"read_on": ""}, "row", "missing_key", "fill it in"),
        ({"read_on": "06/10/2025"}, "row", "date_order", "write YYYY-MM-DD"),
        ({"read_on": "2025-06-21"}, "row", "future_date", "correct the date"),
        ({"spn_929": ""}, "row", "missing_key", "fill it in"),
        ({"spn_929": "255"}, "row", "not_available", "find the place of its sensor"),
        ({"spn_929": "0x30"}, "row", "unknown_axle", "add the axle to the positions table"),
        ({"spn_929": "0x02"}, "row", "unknown_position", "correct the location"),
        ({"spn_929": "0x14"}, "row", "unknown_position", "tire 5 from the left on axle 2"),
        ({"unit": "U3", "spn_929": "0x00"}, "row", "axle_layout", "lists 1: tires are numbered on axles of two"),
        ({"unit": "U3", "spn_929": "0x10"}, "row", "axle_layout", "lists 3: tires are numbered on axles of two"),
        ({"unit": "U3", "spn_929": "0x20"}, "row", "axle_layout", "lists 2: tires are numbered on axles of two"),
        ({"spn_929": "256"}, "row", "out_of_range", "no number of 8 bits (0 to 255)"),
        ({"spn_929": "left"}, "row", "not_a_number", "0xAC"),
        ({"spn_929": "1.5"}, "row", "not_whole", "give the raw number"),
        ({"spn_241": "254"}, "cell", "error_code", "have the sensor checked"),
        ({"spn_241": "0xFE"}, "cell", "error_code", "have the sensor checked"),
        ({"spn_241": "251"}, "cell", "reserved_code", "check the device"),
        ({"spn_241": "688"}, "cell", "out_of_range", "not the value it stands for"),
        ({"spn_241": "-1"}, "cell", "out_of_range", "no number of 8 bits"),
        ({"spn_241": "-1.5"}, "cell", "not_whole", "give the raw number"),
        ({"spn_241": "99.8"}, "cell", "not_whole", "not the value it stands for"),
        ({"spn_241": "172.00000000000000000001"}, "cell", "not_a_number", "decimal digits"),
        ({"spn_241": "AC"}, "cell", "not_a_number", "hexadecimal ones after 0x (0xAC)"),
        ({"spn_241": "0x"}, "cell", "not_a_number", "0xAC"),
        ({"spn_241": "0x1_0"}, "cell", "not_a_number", "0xAC"),
        ({"spn_241": "1,72"}, "cell", "not_a_number", "decimal digits"),
        ({"spn_241": "0x" + "F" * 400}, "cell", "out_of_range", "no number of 8 bits"),
        ({"spn_242": "0xFE00"}, "cell", "error_code", "have the sensor checked"),
        ({"spn_242": "0xFEFF"}, "cell", "error_code", "have the sensor checked"),
        ({"spn_242": "0xFB00"}, "cell", "reserved_code", "check the device"),
        ({"spn_242": "65536"}, "cell", "out_of_range", "no number of 16 bits"),
        ({"spn_2586": "0xFE12"}, "cell", "error_code", "have the sensor checked"),
        ({"spn_1698": "2"}, "cell", "error_code", "have the sensor checked"),
        ({"spn_1698": "4"}, "cell", "out_of_range", "no number of 2 bits"),
        ({"spn_1697": "1"}, "cell", "reserved_code", "check the device"),
        ({"spn_1699": "2"}, "cell", "reserved_code", "check the device"),
        ({"spn_2587": "5"}, "cell", "reserved_code", "check the device"),
        ({"spn_2587": "6"}, "cell", "error_code", "have the sensor checked"),
        ({"spn_2587": "8"}, "cell", "out_of_range", "no number of 3 bits"),
    ],
    ids=lambda v: " ".join(f"{k}={t[:12]}" for k, t in v.items()) if isinstance(v, dict) else "",
)
def test_one_bad_cell(cells: dict[str, str], effect: str, rule: str, remedy: str) -> None:
    good = {"spn_242": 9376, "spn_1698": 0, "spn_1697": 0, "spn_1699": 1, "spn_2586": 0, "spn_2587": 2}
    decoded = decode(message(**good), message(**good) | cells, message(**good, spn_929="0x11"))
    (issue,) = decoded.issues.to_pylist()
    assert (issue["file"], issue["row"], issue["effect"], issue["rule"]) == ("messages", 3, effect, rule)
    assert remedy in issue["message"]
    column = next(reversed(cells))
    assert issue["column"] == column
    assert issue["text"] == cells[column][:200]  # as found; issues show that much of a cell
    values = [r["pressure_kpa"] for r in decoded.readings.to_pylist()]
    assert len(values) == (2 if effect == "row" else 3)
    spoiled = effect == "cell" and column == "spn_241"
    assert values == ([688.0, None, 688.0] if spoiled else [688.0] * len(values))
    lost = 1 if effect == "cell" else 0
    count = decoded.counts["messages"]
    assert (count.rows_in, count.rows_used, count.rows_refused) == (3, len(values), 3 - len(values))
    assert (count.values_in, count.values_refused) == (7 * len(values), lost)


def test_not_available_is_simply_missing() -> None:
    # J-08 and the two and three bits of J-04 to J-07
    codes = {"spn_241": 255, "spn_242": 0xFF00, "spn_2586": 0xFFFF, "spn_1698": 3, "spn_1697": 3, "spn_1699": 3}
    decoded = decode(message(**codes, spn_2587=7), message(**dict.fromkeys(codes, ""), spn_2587="n/a"))
    assert decoded.issues.num_rows == 0
    for row in decoded.readings.to_pylist():
        assert [v for name, v in row.items() if name not in ("unit", "axle", "side", "dual", "read_on")] == [None] * 7
    assert decoded.counts["messages"].values_in == 0


def test_both_sums_over_many_spoiled_messages() -> None:
    chance = random.Random(7)
    cells: dict[str, list[Any]] = {
        "unit": ["U1", "U1", "U2", "U3", "U9", ""],
        "read_on": ["2025-06-10"] * 5 + ["?"],
        "spn_929": ["0x00", "0x10", 17, 0x30, 255, "", "x"],
        "spn_241": [172, 173, "0xFE", 252, 255, "", "x", 300],
        "spn_242": [9376, "0xFEFF", "0xFB01", 65535, "", "1.5"],
        "spn_2587": [2, 5, 6, 7, 8, ""],
    }
    rows = [{name: chance.choice(choices) for name, choices in cells.items()} for _ in range(3000)]
    decoded = j1939.readings({k: [str(v) for v in c] for k, c in table(*rows).items()}, positions(), today=TODAY)
    found = decoded.issues.to_pylist()
    refused = {i["row"] for i in found if i["effect"] == "row"}
    lost = [i for i in found if i["effect"] == "cell" and i["row"] not in refused]
    assert decoded.readings.num_rows + len(refused) == 3000
    assert 0 < decoded.readings.num_rows < 3000
    measured = ("pressure_kpa", "tire_degc", "threshold")
    used = sum(v is not None for r in decoded.readings.to_pylist() for n, v in r.items() if n in measured)
    count = decoded.counts["messages"]
    assert (count.values_used, count.values_refused) == (used, len(lost))
    assert count.values_in == used + len(lost)
    none = {"spn_241": ("", "255"), "spn_242": ("", "65535"), "spn_2587": ("", "7")}
    kept = [row for at, row in enumerate(rows, 2) if at not in refused]
    assert count.values_in == sum(str(row[name]) not in words for row in kept for name, words in none.items())


def test_issues_have_the_columns_of_the_data_dictionary() -> None:
    assert decode(message()).issues.column_names == [c.name for c in RESULTS["issues"]]


def test_pressure_of_the_other_message_is_not_read() -> None:
    # J-09
    decoded = decode(message(spn_3191="86"), message(spn_241="173"))
    assert issues_of(decoded) == [(1, "spn_3191", "cell", "other_message")]
    assert "PGN 64953" in decoded.issues["message"][0].as_py()
    assert decoded.readings["pressure_kpa"].to_pylist() == [688.0, 692.0]
    assert decoded.counts["messages"].values_refused == 1


def test_columns_that_are_not_read_are_noted() -> None:
    decoded = decode(message(channel="2"))
    assert issues_of(decoded) == [(1, "channel", "note", "unknown_column")]


def test_two_columns_for_one_parameter() -> None:
    columns = table(message()) | {"SPN_241": ["173"]}
    with pytest.raises(DataRefused, match="no parameter that can be read"):
        j1939.readings(columns, positions(), today=TODAY)
    decoded = j1939.readings(columns | {"spn_242": ["9376"]}, positions(), today=TODAY)
    assert only(decoded)["pressure_kpa"] is None
    assert [i["rule"] for i in decoded.issues.to_pylist()] == ["two_columns"] * 2


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"unit": ["U1"], "read_on": ["2025-06-10"], "spn_241": [172]}, "lacks, or has twice, spn_929"),
        ({"unit": ["U1"], "read_on": ["2025-06-10"], "spn_929": [0]}, "no parameter that can be read"),
        ({"unit": [], "read_on": [], "spn_929": [], "spn_241": []}, "a header and no rows"),
        (table(message(spn_929="x")), "none of its 1 rows can be used"),
        (table(message(unit="U9")), "none of its 1 rows can be used"),
        (table(message(spn_929="0x77")), "none of its 1 rows can be used"),
    ],
)
def test_nothing_that_can_be_used(columns: Columns, words: str) -> None:
    with pytest.raises(DataRefused, match=words) as caught:
        j1939.readings(columns, positions(), today=TODAY)
    assert caught.value.issues is not None
    assert caught.value.issues.table()["rule"].to_pylist()[-1] == "refused"


def test_bad_calls() -> None:
    with pytest.raises(BadCall, match="positions: expected a path"):
        j1939.readings(table(message()), None)
    with pytest.raises(BadCall, match="messages: expected a path"):
        j1939.readings(172, positions())
    with pytest.raises(BadCall, match="YYYY-MM-DD"):
        j1939.readings(table(message()), positions(), today="soon")


def test_positions_that_cannot_be_used_are_named() -> None:
    spoiled = positions()
    spoiled["side"][1] = "middle"
    decoded = j1939.readings(table(message(), message(spn_929="0x10")), spoiled, today=TODAY)
    # The right steer tire is lost, and with it the count of tires that the left one is told by.
    assert issues_of(decoded) == [(3, "side", "row", "unknown_code"), (2, "spn_929", "row", "axle_layout")]
    assert [r["axle"] for r in decoded.readings.to_pylist()] == [2]


# ---- every kind of column and table


RAW = [0x00, 0x01, 0x10, 0x11, 0x12, 0x13]
PRESSURES = [172, 173, 250, 0, 255, 100]
EXPECTED = [
    (1, "left", "single", 688.0),
    (1, "right", "single", 692.0),
    (2, "left", "outer", 1000.0),
    (2, "left", "inner", 0.0),
    (2, "right", "inner", None),
    (2, "right", "outer", 400.0),
]


def plain() -> Columns:
    n = len(RAW)
    return {"unit": ["U1"] * n, "read_on": ["2025-06-10"] * n, "spn_929": RAW, "spn_241": PRESSURES}


def texts(form: str) -> Columns:
    return {name: [format(v, form) if isinstance(v, int) else v for v in values] for name, values in plain().items()}


def csv_file(folder: Path, columns: Columns) -> Path:
    path = folder / "messages.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([list(columns), *zip(*columns.values(), strict=True)])
    return path


def workbook(folder: Path, columns: Columns) -> Path:
    path = folder / "messages.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for j, (name, values) in enumerate(columns.items()):
            sheet.write_column(0, j, [name, *values])
    return path


def parquet(folder: Path, columns: Columns) -> Path:
    path = folder / "messages.parquet"
    pyarrow.parquet.write_table(pa.table(columns), path, row_group_size=4)
    return path


def arrow_of(kind: pa.DataType) -> Callable[[Path], Any]:
    return lambda _: pa.table({k: pa.array(v, kind if k == "spn_241" else None) for k, v in plain().items()})


KINDS: dict[str, Callable[[Path], Any]] = {
    "csv": lambda folder: csv_file(folder, plain()),
    "csv hexadecimal": lambda folder: csv_file(folder, texts("#x")),
    "csv hexadecimal, capital letters": lambda folder: csv_file(folder, texts("#04X")),
    "xlsx": lambda folder: workbook(folder, plain()),
    "xlsx hexadecimal": lambda folder: workbook(folder, texts("#x")),
    "parquet": lambda folder: parquet(folder, plain()),
    "parquet text": lambda folder: parquet(folder, texts("#x")),
    "dict of lists": lambda _: plain(),
    "dict of text": lambda _: texts("d"),
    "dict of blanks and signs": lambda _: texts(" d"),
    "dict of mixed cells": lambda _: plain() | {"spn_929": ["0x0", 1, "16", 17.0, "0x012", 19]},
    "dict of numpy": lambda _: {k: np.array(v) for k, v in plain().items()},
    "pandas": lambda _: pd.DataFrame(plain()),
    "pandas floats": lambda _: pd.DataFrame(
        plain() | {"spn_241": [np.nan if p == 255 else float(p) for p in PRESSURES]}
    ),
    "pandas nullable": lambda _: pd.DataFrame(plain()).convert_dtypes(),
    "pandas categories": lambda _: pd.DataFrame(texts("#x")).astype("category"),
    "polars": lambda _: pl.DataFrame(plain()),
    "polars lazy": lambda _: pl.LazyFrame(texts("#x")),
    "arrow stream": lambda _: pa.table(plain()).to_reader(max_chunksize=4),
    "arrow in pieces": lambda _: pa.concat_tables([pa.table(plain()).slice(0, 1), pa.table(plain()).slice(1)]),
    "duckdb": lambda _: duckdb.from_arrow(pa.table(plain())),
    "uint8": arrow_of(pa.uint8()),
    "int64": arrow_of(pa.int64()),
    "float32": arrow_of(pa.float32()),
    "decimal": lambda _: pa.table(plain() | {"spn_241": pa.array([Decimal(p) for p in PRESSURES])}),
    "text view": lambda _: pa.table(plain() | {"spn_241": pa.array([hex(p) for p in PRESSURES], pa.string_view())}),
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_table_gives_the_same_readings(kind: str, tmp_path: Path) -> None:
    decoded = j1939.readings(KINDS[kind](tmp_path), positions(), today=TODAY)
    assert decoded.issues.num_rows == 0
    rows = decoded.readings.to_pylist()
    assert [(r["axle"], r["side"], r["dual"], r["pressure_kpa"]) for r in rows] == EXPECTED
    assert decoded.readings.schema.field("read_on").type == pa.date32()


def test_flags_are_no_numbers() -> None:
    columns = pa.table(plain() | {"spn_241": pa.array([True] * 6)})
    decoded = j1939.readings(columns, positions(), today=TODAY)
    assert {i["rule"] for i in decoded.issues.to_pylist()} == {"not_a_number"}
    assert decoded.readings["pressure_kpa"].null_count == 6


def test_positions_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "positions.csv"
    path.write_text(POSITIONS, encoding="utf-8")
    assert only(j1939.readings(table(message()), path, today=TODAY))["side"] == "left"


def test_rows_of_a_file_are_those_of_the_spreadsheet(tmp_path: Path) -> None:
    path = tmp_path / "messages.csv"
    path.write_text("unit,read_on,spn_929,spn_241\nU1,2025-06-10,0,254\n\nU1,2025-06-10,1\nU1,2025-06-10,1,173\n")
    decoded = j1939.readings(path, positions(), today=TODAY)
    assert sorted(issues_of(decoded)) == [(2, "spn_241", "cell", "error_code"), (4, "", "row", "ragged_row")]
    assert {i["file"] for i in decoded.issues.to_pylist()} == {"messages.csv"}
    assert decoded.counts["messages"].rows_in == 3
    assert decoded.readings["pressure_kpa"].to_pylist() == [None, 692.0]


# ---- days and instants


@pytest.mark.parametrize(
    "moments",
    [
        ["2025-06-10T23:30:00-05:00", "2025-06-11T00:30:00-05:00"],
        ["2025-06-10T23:30:00", "2025-06-11T00:30:00"],
        ["2025-06-10", "2025-06-11T00:30:00Z"],
    ],
)
def test_timestamps_keep_the_day_of_their_place(moments: list[str]) -> None:
    # RFC 3339: the first is 2025-06-11 in UTC, and still the tenth where the truck stood
    decoded = decode(*(message(read_on=m) for m in moments), message(read_on="?"))
    assert decoded.readings["read_on"].to_pylist() == moments
    log = wheelend.read_log(decoded.readings, positions(), today=TODAY)
    assert (str(log.first_day), str(log.last_day)) == ("2025-06-10", "2025-06-11")


def test_timestamps_of_a_frame_keep_their_zone() -> None:
    moments = pd.to_datetime(["2025-06-10T23:30:00-05:00", "?", "2025-06-11T00:30:00-05:00"], errors="coerce", utc=True)
    columns = table(message(), message(), message()) | {"read_on": moments.tz_convert("America/Bogota")}
    decoded = j1939.readings(columns, positions(), today=TODAY)
    assert decoded.readings.schema.field("read_on").type.tz == "America/Bogota"
    log = wheelend.read_log(decoded.readings, positions(), today=TODAY)
    assert (str(log.first_day), str(log.last_day)) == ("2025-06-10", "2025-06-11")


# ---- many messages


def test_many_messages_against_an_encoder_of_the_list() -> None:
    """Messages put together cell by cell from what they should mean, over several blocks of the reader."""
    chance = random.Random(11)
    n = 300_000
    wheels = [(unit, axle, i, side, dual) for unit, axle, i, side, dual in told()]
    meant = [(*chance.choice(wheels), chance.randrange(251), chance.randrange(64256)) for _ in range(n)]
    decoded = j1939.readings(
        {
            "unit": [m[0] for m in meant],
            "read_on": np.full(n, "2025-06-10"),
            "spn_929": [(m[1] - 1) << 4 | m[2] for m in meant],
            "spn_241": [m[5] for m in meant],
            "spn_242": [hex(m[6]) for m in meant],
        },
        positions(),
        today=TODAY,
    )
    found = decoded.readings
    assert decoded.issues.num_rows == 0
    for name, place in (("unit", 0), ("axle", 1), ("side", 3), ("dual", 4)):
        assert found[name].to_pylist() == [m[place] for m in meant]
    assert found["pressure_kpa"].to_pylist() == [4.0 * m[5] for m in meant]
    assert found["tire_degc"].to_pylist() == [float(Decimal("0.03125") * m[6] - 273) for m in meant]
