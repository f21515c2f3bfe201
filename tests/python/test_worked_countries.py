"""Worked verdicts 44-60 of the project's list of limits: tread outside the United States."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from cases import (
    ADVICE,
    FAIL,
    NO_ROW,
    OOS,
    Case,
    P,
    Row,
    drive,
    faults,
    grooves,
    judged,
    places,
    seen,
    steer,
    trailer,
    wheel,
)

HEAVY = {"gvwr_kg": "18000"}
ACROSS = {"tread_at": "10;30;50;70;90"}  # five grooves, percent of the breadth
FRANCE = "JORFARTI000038987859"
UK = "C&U Regulations 1986"
ONTARIO = "Ontario driver's handbook"


def mm(depth: str, **cells: str) -> Row:
    """A drive tire of a truck, one depth all over."""
    return drive(depth, depth, measure="mm", kind="truck", **cells)


def axle_of(left: str, right: str) -> list[Row]:
    sides = (("left", left), ("right", right))
    return [wheel("trailer", "trailer", **grooves("mm", depth)) | HEAVY | {"side": side} for side, depth in sides]


CASES = [
    Case("44, 1.6 mm", "StVZO § 36(3)", [mm("1.6")], {"DE-T-01": P}, limits=("de",)),
    Case("44, 1.5 mm", "StVZO § 36(3)", [mm("1.5")], {"DE-T-01": FAIL}, limits=("de",)),
    Case("45, 2.0 mm", "KDV 1967 § 4(4) Z 2", [mm("2.0", **HEAVY)], {"AT-T-01": P, "AT-T-02": NO_ROW}, limits=("at",)),
    Case("45, 1.9 mm", "KDV 1967 § 4(4) Z 2", [mm("1.9", **HEAVY)], {"AT-T-01": FAIL}, limits=("at",)),
    # "over" 3,500 kg
    Case(
        "46",
        "KDV 1967 § 4(4) Z 1",
        [mm("1.7", gvwr_kg="3500")],
        {"AT-T-02": P, "AT-T-01": NO_ROW},
        limits=("at",),
    ),
    # a band of three quarters of the breadth, not necessarily central: the outer groove lies outside of it
    Case(
        "47",
        f"{UK} reg. 27(1)(g)",
        places(drive, *[("0.6", "1.0", "1.2", "1.0", "1.1")] * 3, measure="mm", kind="truck", **HEAVY, **ACROSS),
        {"UK-T-01": P, "UK-T-03": NO_ROW},
        limits=("uk",),
    ),
    Case(
        "48",
        f"{UK} reg. 27(1)(g)",
        places(
            drive, ("3", "3", "3", "3", "3"), ("3", "3", "0.9", "3", "3"), ("3", "3", "3", "3", "3"),
            measure="mm", kind="truck", **HEAVY, **ACROSS,
        ),
        {"UK-T-01": FAIL},
        limits=("uk",),
    ),
    Case(
        "49",
        f"{UK} reg. 27(4)",
        [trailer("1.5", "1.5", measure="mm", gvwr_kg="3500")],
        {"UK-T-03": FAIL, "UK-T-01": NO_ROW},
        limits=("uk",),
    ),
    # four points evenly round the tire, at most one of them under 1 mm
    Case(
        "50",
        FRANCE,
        places(drive, ("1.2",), ("1.1",), ("0.9",), ("1.0",), measure="mm", kind="truck", **HEAVY),
        {"FR-T-02": P, "FR-T-01": NO_ROW},
        limits=("fr",),
    ),
    Case(
        "51",
        FRANCE,
        places(drive, ("0.9",), ("0.9",), ("1.3",), ("1.4",), measure="mm", kind="truck", **HEAVY),
        {"FR-T-02": FAIL},
        limits=("fr",),
    ),
    Case("52, 11.0 mm", FRANCE, axle_of("11.0", "6.0"), {"FR-T-03": P}, limits=("fr",)),
    Case("52, 11.1 mm", FRANCE, axle_of("11.1", "6.0"), {"FR-T-03": FAIL}, limits=("fr",)),
    # 75 percent of the contact width, all round, not at the indicators
    Case(
        "53",
        "WA Road Traffic (Vehicles) Regulations 2014 reg. 270(2)",
        places(drive, *[("1.0", "1.5", "1.5", "1.5", "1.5")] * 3, measure="mm", kind="truck", **HEAVY, **ACROSS),
        {"AU-T-01": P},
        limits=("au",),
    ),
    # the ministry's notice on expressways is not the roadworthiness limit
    Case("54", "art. 9; detail notice arts. 89, 167", [mm("2.0")], {"JP-T-01": P, "JP-T-02": ADVICE}, limits=("jp",)),
    Case(
        "55",
        "National Road Traffic Regulations 2000 reg. 212(j)(ii)",
        [mm("1.2")],
        {"ZA-T-02": FAIL, "ZA-T-01": P},
        wheelends=[seen("level_with_indicator", "2", "left", unit="U1", dual="outer", present="yes")],
        limits=("za",),
    ),
    Case(
        "56, 3.0 mm",
        ONTARIO,
        [steer("3.0", measure="mm", kind="truck", gvwr_kg="9000")],
        {"CA-T-02": P, "CA-T-03": NO_ROW},
        limits=("canada-ontario",),
    ),
    # NSC 13: below the jurisdiction's figure is a major defect of the daily inspection
    Case(
        "56, 2.9 mm",
        ONTARIO,
        [steer("2.9", measure="mm", kind="truck", gvwr_kg="9000")],
        {"CA-T-02": FAIL, "CA-B-03-FRONT": OOS},
        limits=("canada-ontario",),
    ),
    # "more than" 4,500 kg
    Case(
        "57",
        ONTARIO,
        [steer("1.6", measure="mm", kind="truck", gvwr_kg="4500")],
        {"CA-T-03": P, "CA-T-02": NO_ROW},
        limits=("canada-ontario",),
    ),
    Case(
        "58",
        "CQLR c. C-24.2, r. 32, s. 159(1)",
        [mm("0.8")],
        {"CA-T-04": FAIL, "CA-T-05": P},
        limits=("canada-quebec",),
    ),
    Case(
        "59",
        "CQLR c. C-24.2, r. 32, s. 178(2)",
        [mm("0.7")],
        {"CA-T-05": OOS, "CA-T-04": FAIL},
        limits=("canada-quebec",),
    ),
    # must exceed 1.5 mm
    Case(
        "60",
        "C.R.C. c. 1038, Schedule IV s. 120(2)(b)",
        [trailer("1.5", "1.5", measure="mm", gvwr_kg="15000", new_vehicle="yes")],
        {"CA-T-01": FAIL},
        limits=("canada",),
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_worked_verdict(case: Case, tmp_path: Path, run: Any) -> None:
    assert faults(case, judged(case, tmp_path, run)) == []
