"""Worked verdicts 99-112 of the project's list of limits: fasteners, bearings, drums and dual pairs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from cases import (
    ADVICE,
    COUNT_UNCONFIRMED,
    FAIL,
    NO_ROW,
    OOS,
    Case,
    P,
    Row,
    Words,
    axles,
    faults,
    judged,
    not_counted,
    seen,
    tire,
    wheel,
)

TRACTOR = axles("T1", "tractor", "steer", "drive")
TORQUE = "makers' maintenance manuals: tightening torque of wheel fasteners"
SHEET = "tire maker's technical sheet; trade press: tires of a dual pair"


def found(
    id_: str, source: str, row: Row | list[Row], expected: Mapping[str, Words], *limits: str, **more: Any
) -> Case:
    """Wheel-end readings of a tractor, by the rows of trade practice unless others are named."""
    rows = [row] if isinstance(row, dict) else row
    return Case(id_, source, [], expected, positions=TRACTOR, wheelends=rows, limits=limits or ("trade",), **more)


def end(quantity: str, **cells: str) -> Row:
    return seen(quantity, "2", "left", **cells)


def nut(**cells: str) -> Row:
    return end("fastener_torque", fastener="m22_flange_nut", thread="oiled", place="1", **cells)


def missing_nuts(count: str) -> list[Row]:
    return [end(name, fasteners="10", value_count=count) for name in ("fasteners_missing", "fasteners_defective")]


SAME = {"size": "11R22.5", "make": "A", "design": "D", "construction": "radial"}


def pair(
    id_: str, source: str, outer: Row, inner: Row, expected: Mapping[str, Words], *limits: str, depths: tuple[str, str]
) -> Case:
    """Facts of the two tires of a pair, and what is left of their tread in 1/32 in."""
    readings = [
        wheel("tractor", "drive", 2, dual, tire=number, tread_1_32nds=depth)
        for dual, number, depth in (("outer", "X1", depths[0]), ("inner", "X2", depths[1]))
    ]
    tires = tire("X1", **outer) + tire("X2", **inner)
    return Case(id_, source, readings, expected, tires, limits=limits or ("trade",))


THREE_MISSING = found(
    "99, three of ten (table of ours, from memory)",
    "wheels, rims and hubs (edition-dependent)",
    missing_nuts("3"),
    {"OS-W-01-10": OOS, "US-W-03": FAIL, "US-A-06": FAIL},
    "us-federal",
    options=COUNT_UNCONFIRMED,
)

CASES = [
    # 393.205(c): zero; by count three of ten put it out of service
    found(
        "99, one of ten (table of ours, from memory)",
        "49 CFR 393.205(c)",
        missing_nuts("1"),
        {"US-W-03": FAIL, "US-A-06": FAIL, "OS-W-01-10": P},
        "us-federal",
        options=COUNT_UNCONFIRMED,
    ),
    THREE_MISSING,
    not_counted(THREE_MISSING, "OS-W-01-10", "US-A-06"),
    # hub-piloted two-piece flange nut, threads oiled: 450-500 lbf ft (610-678 N m)
    *(
        found(f"100, {lbft} lbf ft", TORQUE, nut(value_lbft=lbft), {"WE-01": word})
        for lbft, word in (("450", P), ("500", P), ("449", ADVICE), ("501", ADVICE))
    ),
    found("101", TORQUE, nut(value_nm="610"), {"WE-01": P}),
    # 50-100 mi (80-160 km) by truck makers' manuals, 40-80 km (25-50 mi) by BS AU 50-2.7a:1995
    found(
        "102",
        "truck makers' maintenance manuals: recheck after fitting",
        end("retorque_distance", value_km="120"),
        {"WE-09": P, "UK-W-01": ADVICE},
        "trade",
        "uk",
    ),
    *(
        found(f"103, {play} in", "TMC RP 618", end("bearing_end_play", value_in=play), {"WE-20": word})
        for play, word in (("0.001", P), ("0.005", P), ("0", ADVICE), ("0.006", ADVICE))
    ),
    found("104", "TMC RP 618", end("bearing_end_play", bearing="adjusted", value_mm="0.127"), {"WE-20": P}),
    *(
        found(
            f"105, {diameter} in",
            "US Army TM 9-2330-326-14&P",
            end("drum_diameter", marked_in="16.620", original_in="16.500", value_in=diameter),
            {"WE-21": word, "WE-22": NO_ROW, "WE-22-LESS": NO_ROW},
        )
        for diameter, word in (("16.620", P), ("16.621", ADVICE))
    ),
    # exactly 0.120 in above the original: one manual allows it, another rejects it
    found(
        "106",
        "US Army TM 9-2330-326-14&P",
        end("drum_diameter", original_in="16.500", value_mm="422.148"),
        {"WE-22": P, "WE-22-LESS": ADVICE, "WE-21": NO_ROW},
    ),
    # 1/4 in of diameter is 0.785 in of circumference; 3/4 in of circumference is 0.2387 in of diameter
    pair(
        "107",
        SHEET,
        SAME | {"diameter_in": "41.25"},
        SAME | {"diameter_in": "41.00"},
        {"DU-01": P, "DU-02": ADVICE},
        depths=("12", "12"),
    ),
    pair(
        "108",
        SHEET,
        SAME | {"circumference_in": "129.75"},
        SAME | {"circumference_in": "129.00"},
        {"DU-01": P, "DU-02": P},
        depths=("12", "12"),
    ),
    pair("109, 8/32 in", "trade press: tread of a dual pair", SAME, SAME, {"DU-03": P}, depths=("12", "8")),
    pair("109, 7/32 in", "trade press: tread of a dual pair", SAME, SAME, {"DU-03": ADVICE}, depths=("12", "7")),
    pair(
        "110",
        SHEET,
        SAME | {"diameter_in": "41.375"},
        SAME | {"diameter_in": "41.000", "make": "B"},
        {"DU-01": ADVICE, "DU-02": ADVICE, "DU-03": NO_ROW},
        depths=("12", "12"),
    ),
    *(
        pair(
            f"111, {apart} in",
            "COMAR 11.14.05.05(g)",
            {"diameter_in": diameter},
            {"diameter_in": "41.00"},
            {"DU-05": word},
            "us-maryland",
            depths=("12", "12"),
        )
        for apart, diameter, word in (("1/2", "41.50", P), ("0.51", "41.51", FAIL))
    ),
    *(
        found(
            f"112, {threads} threads",
            "r. 32, s. 121(2)",
            end("bolt_stand_out", value_count=threads, place="1"),
            {"CA-T-07-BOLT": word},
            "canada-quebec",
        )
        for threads, word in (("1.5", P), ("1.4", FAIL))
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_worked_verdict(case: Case, tmp_path: Path, run: Any) -> None:
    assert faults(case, judged(case, tmp_path, run)) == []


def test_106_the_conflict_is_written_down(run: Any) -> None:
    assert "WE-22-LESS" in run("explain", "WE-22", "--limits", "trade").out.partition("WE-22-LESS:")[0]
