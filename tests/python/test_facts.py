"""Facts: what counts for a whole unit, how words are spelled, what is worked out for the day of judging."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import wheelend
from cases import axles, seen
from test_standing import TODAY, log_of, table

TRACTOR = axles("T1", "tractor", "steer", "drive")


def issues(log: wheelend.Log) -> list[tuple[Any, ...]]:
    return [(i["row"], i["column"], i["rule"], i["effect"]) for i in log.issue_list.table().to_pylist()]


def said(log: wheelend.Log, limit_id: str, **how: Any) -> list[dict[str, Any]]:
    found = wheelend.judge(log, **how)
    rows = [dict(zip(found, values, strict=True)) for values in zip(*found.values(), strict=True)]
    return [row for row in rows if row["limit_id"] == limit_id]


# ---- of a whole unit


def with_last(cells: dict[str, str]) -> list[dict[str, str]]:
    """The tractor, of which only the last position states something."""
    return [*TRACTOR[:-1], TRACTOR[-1] | cells]


def test_a_fact_of_the_unit_may_stand_on_any_of_its_positions() -> None:
    log = log_of({"pressure_psi": "100"}, positions=with_last({"inspected_on": "2023-01-01"}))
    assert [v["verdict"] for v in said(log, "US-R-06")] == ["fail"]  # 49 CFR 396.17: every 12 months
    assert issues(log) == []


def test_the_kind_of_one_position_is_that_of_the_unit() -> None:
    bare = [{k: "" if k == "kind" else v for k, v in p.items()} for p in TRACTOR]
    log = log_of({"tread_a_32nds": "3"}, positions=[*bare[:-1], TRACTOR[-1]])
    assert [v["verdict"] for v in said(log, "US-T-02")] == ["fail"]  # 49 CFR 393.75(b): front of a power unit, 4/32 in


@pytest.mark.parametrize(("column", "first", "last"), [
    ("kind", "tractor", "trailer"), ("gvwr_lb", "9000", "33000"), ("inspected_on", "2025-01-01", "2024-01-01"),
    ("built_on", "1999-01-01", "2001-01-01"), ("minibus", "no", "yes"),
])  # fmt: skip
def test_positions_of_a_unit_that_say_otherwise_are_issues(column: str, first: str, last: str) -> None:
    positions = [p | {column: first} for p in TRACTOR[:-1]] + [TRACTOR[-1] | {column: last}]
    assert issues(log_of({"pressure_psi": "100"}, positions=positions)) == [(5, column, "conflict", "cell")]


def test_an_inspection_that_is_still_to_come_is_an_issue() -> None:
    log = log_of({"pressure_psi": "100"}, positions=with_last({"inspected_on": "2099-01-01"}))
    assert issues(log) == [(5, "inspected_on", "future_date", "cell")]
    assert said(log, "US-R-06") == []


# ---- spellings


def pair(name: str, left: str, right: str) -> wheelend.Log:
    positions = [p | {name: word} for p, word in zip(TRACTOR[:2], (left, right), strict=True)]
    readings = {
        "unit": ["T1"] * 2, "axle": ["1"] * 2, "side": ["left", "right"], "dual": ["single"] * 2,
        "read_on": ["2025-06-10"] * 2, "tread_a_32nds": ["9"] * 2,
    }  # fmt: skip
    return wheelend.read_log(readings, table(positions), today=TODAY)


def test_a_blank_makes_no_two_sizes_of_one() -> None:
    assert [v["verdict"] for v in said(pair("size", "295/75 R22.5", "295/75r22.5"), "DU-11-SIZE", limits="trade")] == [
        "pass"
    ]
    unlike = said(pair("size", "295/75R22.5", "11R22.5"), "DU-11-SIZE", limits="trade")
    assert [v["verdict"] for v in unlike] == ["fail"]


def test_a_construction_in_other_words_is_asked_for_and_makes_no_violation() -> None:
    log = pair("construction", "radial", "R")
    (found,) = log.issue_list.table().to_pylist()
    assert (found["row"], found["text"], found["rule"]) == (3, "R", "unknown_code")
    assert found["message"].endswith("write radial, bias; did you mean radial?")
    assert [v["verdict"] for v in said(log, "US-A-03-MIXED")] != ["fail"]
    assert [v["verdict"] for v in said(pair("construction", "radial", "Bias"), "US-A-03-MIXED")] == ["fail"]


@pytest.mark.parametrize(("written", "meant"), [("30L", "30"), ("T24", "24"), ("18", "")])
def test_a_chamber_size_that_is_none_is_asked_for(written: str, meant: str) -> None:
    """Sizes as 49 CFR 393.47(e) lists them: the family (long stroke) has a column of its own."""
    rows = [seen("pushrod_stroke", "2", side, value_in="1.5", chamber_size=size) for side, size in
            (("left", "30"), ("right", written))]  # fmt: skip
    log = log_of(*rows)
    (found,) = log.issue_list.table().to_pylist()
    assert (found["row"], found["rule"]) == (3, "unknown_code")
    assert found["message"].endswith(f"; did you mean {meant}?" if meant else "lists them")
    assert "fail" not in {v["verdict"] for v in said(log, "US-B-09")}


def test_the_size_of_a_pair_is_that_of_its_tires_where_they_agree() -> None:
    """Least spacing of 295/75R22.5 duals: 13.2 in (tire maker's sheet of 2011)."""
    positions = [
        {"unit": "T1", "kind": "tractor", "axle": "2", "side": "left", "dual": dual, "role": "drive"}
        for dual in ("outer", "inner")
    ]
    spacing = seen("dual_spacing", "2", "left", value_in="13.1")
    for inner, word in (("295/75R22.5", "fail"), ("11R22.5", "no_verdict")):
        readings = {
            "unit": ["T1"] * 2, "axle": ["2"] * 2, "side": ["left"] * 2, "dual": ["outer", "inner"],
            "read_on": ["2025-06-09"] * 2, "tread_a_32nds": ["9"] * 2, "tire": ["a", "b"],
        }  # fmt: skip
        tires = {"tire": ["a", "b"], "size": ["295/75R22.5", inner]}
        log = wheelend.read_log(readings, table(positions), tires, table([spacing]), today=TODAY)
        found = wheelend.judge(log, limits="trade")
        words = [v for q, v in zip(found["quantity"], found["verdict"], strict=True) if q == "dual_spacing"]
        assert words == [word]


# ---- the pressure that the load needs


def changed(**january: str) -> wheelend.Log:
    """A 295/75R22.5 in January and an 11R22.5 in June on a steer axle of 12,000 lb."""
    positions = [p | {"axle_load_lb": "12000"} for p in TRACTOR[:2]]
    rows = [
        {
            "unit": "T1",
            "axle": "1",
            "side": "left",
            "dual": "single",
            "read_on": day,
            "tire": tire,
            "pressure_psi": "110",
        }
        for day, tire in (("2025-01-10", "a"), ("2025-06-10", "b"))
    ]
    tires = {"tire": ["a", "b"], "size": ["295/75R22.5", "11R22.5"]}
    return wheelend.read_log(table(rows), table(positions), tires, today=TODAY)


def test_the_size_is_that_of_the_tire_on_the_day_of_judging() -> None:
    """110 psi: formulas L1 (trade press). For 11R22.5 no table ships a row up to 6000 lb, or none at all."""
    january = said(changed(), "US-T-11", as_of="2025-01-31")
    assert [(v["verdict"], v["limit"]) for v in january] == [("pass", 110.0)]
    every = said(changed(), "US-T-11", all=True)
    assert {v["verdict"] for v in every} == {"no_verdict"}  # one pressure cannot stand for both sizes
    assert {v["reason"] for v in every} == {"none of needed, needed_by_load, target is given (size is not given)"}


def test_half_an_axle_does_not_carry_the_axle() -> None:
    """formulas 2.3: the load of an end over the tires on that end; who shares it must be known."""
    one = [TRACTOR[0] | {"axle_load_lb": "12000", "size": "295/75R22.5"}]
    (found,) = said(log_of({"pressure_psi": "110"}, positions=one), "US-T-11")
    assert (found["verdict"], found["reason"]) == (
        "no_verdict",
        "none of needed, needed_by_load, target is given (not all tires of the axle are in the positions)",
    )


def test_three_tires_on_a_four_tire_axle(tmp_path: Path) -> None:
    """formulas 2.3, FMCSA guidance question 1 to 393.75: 12,000 lb, left inner removed: the left outer carries 6000 lb
    as a single (110 psi, L1), each right one 3000 lb of a pair."""
    tables = tmp_path / "tables.csv"
    head = "size,load_range,assembly,pressure,pressure_measure,load,load_measure,source,status"
    rows = [("single", 105, 5980), ("single", 110, 6175), ("dual", 70, 3000), ("dual", 80, 4000)]
    lines = [f"295/75R22.5,,{a},{p},psi,{load},lb,invented,memory" for a, p, load in rows]
    tables.write_text("\n".join([head, *lines]), encoding="utf-8")
    positions = [
        {"unit": "T1", "kind": "tractor", "axle": "2", "side": side, "dual": dual, "role": "drive",
         "axle_load_lb": "12000", "size": "295/75R22.5"}
        for side in ("left", "right") for dual in ("outer", "inner")
    ]  # fmt: skip
    readings = [
        {"unit": "T1", "axle": "2", "side": p["side"], "dual": p["dual"], "read_on": "2025-06-10", "pressure_psi": "90"}
        for p in positions
    ]
    readings.append(readings[1] | {"read_on": "2025-06-11", "event": "removed", "pressure_psi": ""})
    log = wheelend.read_log(table(readings), table(positions), load_tables=tables, today=TODAY)
    found = {(v["side"], v["dual"]): (v["verdict"], v["limit"]) for v in said(log, "US-T-11")}
    assert found["left", "outer"] == ("fail", 110.0)
    assert found["right", "outer"] == found["right", "inner"] == ("pass", 70.0)


# ---- fasteners by yes and no


def test_a_missing_fastener_may_be_said_with_yes() -> None:
    """49 CFR 393.205(c): one missing nut is a violation."""
    log = log_of(seen("fasteners_missing", "1", "left", present="yes"))
    assert [(v["verdict"], v["reading"]) for v in said(log, "US-W-03")] == [("fail", 1.0)]
    assert issues(log) == [(2, "present", "not_counted", "note")]
    log = log_of(seen("fasteners_missing", "1", "left", present="no"))
    assert [v["verdict"] for v in said(log, "US-W-03")] == ["pass"]
    assert issues(log) == []


def test_two_strokes_of_one_brake_are_noted() -> None:
    rows = [seen("pushrod_stroke", "2", "left", value_in=stroke) for stroke in ("1.5", "2.25", "1.5")]
    assert issues(log_of(*rows)) == [(3, "", "conflict", "note")]
    numbered = [row | {"place": str(i)} for i, row in enumerate(rows, 1)]
    assert issues(log_of(*numbered)) == []


# ---- regrooved


def test_a_regrooved_tire_on_the_steering_axle_of_a_truck() -> None:
    """49 CFR 396 Appendix A, item 10(a); what is not stated counts as not regrooved (decision 15)."""
    for regrooved, words in (("yes", ["fail"]), ("no", []), ("", [])):
        positions = [p | {"regrooved": regrooved} for p in TRACTOR]
        log = log_of({"tread_a_32nds": "9"}, positions=positions)
        assert [v["verdict"] for v in said(log, "US-A-03-REGROOVED")] == words
    drive = [p | {"regrooved": "yes"} for p in TRACTOR]
    log = log_of({"tread_a_32nds": "9", "axle": "2"}, positions=drive)
    assert said(log, "US-A-03-REGROOVED") == []


def test_a_front_tire_level_with_its_indicator_is_below_the_front_limit() -> None:
    """The indicator stands at 2/32 in (49 CFR 571.119 S6.4); the front of a power unit needs 4/32 in (393.75(b))."""
    level = seen("level_with_indicator", "1", "left", dual="single", present="yes")
    log = log_of(level)
    assert [v["verdict"] for v in said(log, "US-T-02-INDICATOR")] == ["fail"]
    assert [v["verdict"] for v in said(log, "CA-T-02-INDICATOR", limits="canada-ontario")] == ["fail"]
    assert said(log_of(level | {"axle": "2"}), "US-T-02-INDICATOR") == []
