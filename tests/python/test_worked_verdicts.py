"""Published rules, worked: one small CSV per case, judged through the command line as a shop would.

Cases and verdicts are the 114 of the project's list of limits, which were set down from the clauses before the program
existed. Here: tread and pressure in the United States (1-43); test_worked_countries.py, test_worked_dates.py,
test_worked_brakes.py and test_worked_wheels.py hold the others. A case names the rows that decide it; every other row
of the loaded sets must not fail, so that a case cannot pass by failing on something else.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

import test_worked_brakes
import test_worked_countries
import test_worked_dates
import test_worked_wheels
from cases import (
    ADVICE,
    FAIL,
    NO_ROW,
    NV,
    OOS,
    OWN,
    Case,
    Judged,
    P,
    Row,
    arguments,
    axles,
    drive,
    faults,
    inflated,
    judged,
    places,
    read,
    seen,
    steer,
    tire,
    trailer,
    wheel,
    write,
)
from cases import grooves as depths
from wheelend.j1939 import scaled

STEER_MINIMUMS = ("US-T-02", "US-A-01")  # the rule for use and the yearly inspection ask for the same here
OTHER_MINIMUMS = ("US-T-03", "US-A-02")
FRONT, OTHERS = "49 CFR 393.75(b)", "49 CFR 393.75(c)"
OUT = "out-of-service criteria: tires (edition-dependent)"  # widely published facts of a yearly criteria book
COLD = "49 CFR 393.75(i)"


def both(rows: tuple[str, str], word: str, **more: str) -> dict[str, str]:
    return dict.fromkeys(rows, word) | {name.replace("_", "-"): text for name, text in more.items()}


def pair(outer: dict[str, str], inner: dict[str, str]) -> list[Row]:
    return [wheel("tractor", "drive", 2, "outer", **outer), wheel("tractor", "drive", 2, "inner", **inner)]


def regrooved(rubber_32nds: str, width_in: str) -> list[Row]:
    return [
        seen("rubber_over_cord", "1", "left", dual="single", value_32nds=rubber_32nds),
        seen("groove_width", "1", "left", dual="single", value_in=width_in),
    ]


TRUCK = axles("T1", "truck", "steer", "drive")

CASES = [
    # ---- tread, United States
    Case("1", FRONT, [steer("6", "4", "5", kind="truck")], both(STEER_MINIMUMS, P, OS_T_01=P)),
    Case("2", FRONT, [steer("6", "3", "5", kind="truck")], both(STEER_MINIMUMS, FAIL, OS_T_01=P)),
    Case("3", FRONT, [steer("3.175", measure="mm")], both(STEER_MINIMUMS, P)),
    Case("4", FRONT, [steer("3.17", measure="mm")], both(STEER_MINIMUMS, FAIL), reason="within one step of the gauge"),
    # three readings in every groove; their mean, 5.33/32, would pass
    Case(
        "5",
        FRONT,
        places(steer, ("6", "6", "5", "5"), ("6", "6", "5", "5"), ("6", "6", "5", "3")),
        both(STEER_MINIMUMS, FAIL, OS_T_01=P),
    ),
    Case(
        "6",
        FRONT,
        [steer("7", "3", "6", not_admissible="2")],
        both(STEER_MINIMUMS, P),
        reason="readings on a tie bar, hump or fillet left out",
    ),
    # 49 CFR 393.5: a major groove contains a wear indicator
    Case(
        "7",
        FRONT,
        [steer("2", "7", "7", "7", tread_barred="2;3;4")],
        both(STEER_MINIMUMS, P),
        reason="grooves without a wear indicator left out",
    ),
    Case("8", OTHERS, [drive("2", "2", "3")], both(OTHER_MINIMUMS, P, OS_T_02=P)),
    Case("9", OTHERS, [trailer("1.5875", "1.6", measure="mm")], both(OTHER_MINIMUMS, P)),
    Case("10", OTHERS, [trailer("1.58", "1.6", measure="mm")], both(OTHER_MINIMUMS, FAIL)),
    Case("11, United States", OTHERS, [trailer("1.59", "1.7", measure="mm")], both(OTHER_MINIMUMS, P)),
    Case("11, Germany", "StVZO § 36(3)", [trailer("1.59", "1.7", measure="mm")], {"DE-T-01": FAIL}, limits=("de",)),
    Case(
        "12",
        OTHERS,
        [wheel("dolly", "dolly", 1, "outer", **depths("32nds", "3", "4"))],
        {**both(OTHER_MINIMUMS, P), "US-T-02": NO_ROW, "US-A-01": NO_ROW},
    ),
    Case(
        "13",
        "49 CFR 396 Appendix A, item 10(a)",
        [wheel("truck", "steer", 2, **depths("32nds", "3", "4", "4"))],
        {"US-A-01": FAIL, "US-T-03": P, "US-T-02": NO_ROW, "US-A-02": NO_ROW},
    ),
    # Appendix A, item 10(a), rejects a retread on the steering axle of a bus too.
    Case(
        "14, front",
        "49 CFR 393.75(d)",
        [steer("9", "9", kind="bus", tire="X1")],
        {"US-T-06": FAIL, "US-A-03-RETREAD": FAIL},
        tire(retread="yes"),
    ),
    Case(
        "14, rear",
        "49 CFR 393.75(d)",
        [drive("9", "9", kind="bus", tire="X1")],
        {"US-T-06": NO_ROW, "US-A-03-RETREAD": NO_ROW},
        tire(retread="yes"),
    ),
    Case("15", FRONT, [steer("9", "9", tire="X1")], {"US-T-02": P, "US-T-06": NO_ROW}, tire(retread="yes")),
    Case(
        "16",
        "49 CFR 393.75(e)",
        [steer("9", "9", kind="truck", tire="X1")],
        {"US-T-07": FAIL, "US-A-03-REGROOVED": FAIL},
        tire(regrooved="yes", rated_load_lb="4920"),
    ),
    Case(
        "17",
        "49 CFR 393.75(e)",
        [steer("9", "9", kind="truck", tire="X1")],
        # the yearly inspection bans any regrooved tire there: Appendix A, item 10(a)
        {"US-T-07": P, "US-A-03-REGROOVED": FAIL},
        tire(regrooved="yes", rated_load_lb="4919"),
    ),
    Case(
        "18",
        OTHERS,
        [trailer("9", "9", tire="X1")],
        {"US-T-03": P, "US-T-07": NO_ROW},
        tire(regrooved="yes", rated_load_lb="6000"),
    ),
    Case(
        "19",
        "49 CFR 569.7(a)(2)(ii)",
        [],
        {"US-S-03": P, "US-S-05": P},
        positions=TRUCK,
        wheelends=regrooved("3", "0.3125"),
    ),
    Case(
        "20",
        "49 CFR 569.7(a)(2)(iv)",
        [],
        {"US-S-05": FAIL, "US-S-03": P},
        positions=TRUCK,
        wheelends=regrooved("3", "0.375"),
    ),
    # ---- out of service
    Case("21", OUT, [steer("1", "1", "4")], {"OS-T-01": OOS, **both(STEER_MINIMUMS, FAIL)}),
    Case("22", FRONT, [steer("3", "1", "3")], both(STEER_MINIMUMS, FAIL, OS_T_01=P)),
    Case("23", FRONT, [steer("2", "2", "4")], both(STEER_MINIMUMS, FAIL, OS_T_01=P)),
    Case("24", OUT, places(drive, *[("0.5", "0.5", "3")] * 3), {"OS-T-02": OOS, **both(OTHER_MINIMUMS, FAIL)}),
    Case("25", OTHERS, places(drive, *[("0.5", "0.5", "3")] * 2), both(OTHER_MINIMUMS, FAIL, OS_T_02=P)),
    Case("26", OTHERS, places(drive, *[("1", "1", "3")] * 3), both(OTHER_MINIMUMS, FAIL, OS_T_02=P)),
    Case("27", OUT, [inflated(pressure_psi="60", tire="X1")], {"OS-T-03": OOS}, tire(sidewall_max_psi="120")),
    Case("28", OUT, [inflated(pressure_psi="61", tire="X1")], {"OS-T-03": P}, tire(sidewall_max_psi="120")),
    # ---- pressure
    Case("29", COLD, [inflated(needed_psi="100", pressure_psi="100", warm="no")], {"US-T-11": P}),
    Case("30", COLD, [inflated(needed_psi="100", pressure_psi="99", warm="no")], {"US-T-11": FAIL}),
    Case("29, target stands in", COLD, [inflated(target_psi="100", pressure_psi="100")], {"US-T-11": P}),
    # The fleet's target is the fleet's own number: the project decided that it cannot make a violation.
    Case(
        "30, target stands in",
        COLD,
        [inflated(target_psi="100", pressure_psi="99")],
        {"US-T-11": OWN, "DU-13": P},
        reason="judged by target: needed is not given",
    ),
    Case(
        "31",
        COLD,
        [inflated(needed_psi="100", pressure_psi="115", warm="yes", speed_last_hour_mph="50", tire="X1")],
        {"US-T-11": P},
        tire(rated_load_lb="6175"),
        reason="393.75(i)(2)",
    ),
    Case(
        "32",
        COLD,
        [inflated(needed_psi="100", pressure_psi="110", warm="yes", speed_last_hour_mph="50", tire="X1")],
        {"US-T-11": FAIL},
        tire(rated_load_lb="6175"),
    ),
    Case(
        "33",
        COLD,
        [inflated(needed_psi="80", pressure_psi="84", warm="yes", speed_last_hour_mph="45", tire="X1")],
        {"US-T-11": FAIL},
        tire(rated_load_lb="4000"),
    ),
    Case(
        "34",
        COLD,
        [inflated(needed_psi="100", pressure_psi="115", warm="yes", speed_last_hour_mph="65", tire="X1")],
        {"US-T-11": NV},
        tire(rated_load_lb="6175"),
        reason="read again cold",
    ),
    Case(
        "35",
        COLD,
        [inflated(needed_psi="100", pressure_kpa="689", warm="no")],
        {"US-T-11": FAIL},
        reason="within one step of the gauge",
    ),
    Case(
        "36, 81 psi", "29 CFR 1910.177(f)", [inflated(target_psi="100", pressure_psi="81")],
        {"DU-13": P, "US-T-11": OWN},
    ),
    Case(
        "36, 80 psi", "29 CFR 1910.177(f)", [inflated(target_psi="100", pressure_psi="80")],
        {"DU-13": FAIL, "US-T-11": OWN},
    ),
    Case(
        "37",
        "FMCSA survey",
        pair({"pressure_psi": "100"}, {"pressure_psi": "94"}),
        {"DU-06": ADVICE},
        limits=("trade",),
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_worked_verdict(case: Case, tmp_path: Path, run: Any) -> None:
    assert faults(case, judged(case, tmp_path, run)) == []


@pytest.mark.parametrize("case", [c for c in CASES if c.id in ("3", "4", "27")], ids=lambda c: c.id)
def test_worked_verdict_as_a_process(case: Case, tmp_path: Path) -> None:
    out = tmp_path / "verdicts.csv"
    command = [sys.executable, "-m", "wheelend", *arguments(case, tmp_path), "-o", str(out)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert done.stdout == ""
    assert "verdicts.csv" in done.stderr
    assert faults(case, Judged(done.returncode, read(out))) == []


@pytest.mark.parametrize(("found", "state"), [("81", "under"), ("80", "demount")])
def test_36_state_of_the_pressure(found: str, state: str, tmp_path: Path, run: Any) -> None:
    readings = write(tmp_path / "readings.csv", [inflated(target_psi="100", pressure_psi=found)])
    result = run("pressures", "--readings", readings, "-o", tmp_path / "out.csv")
    assert result.code == 0
    assert [row["state"] for row in read(tmp_path / "out.csv")] == [state]


# ---- messages of the vehicle network: SAE J1939, PGN 65268 (Tire Condition), from public listings

SINGLES = axles("U1", "tractor", "steer", needed_psi="100")
DUALS = [
    {"unit": "U1", "kind": "tractor", "axle": "2", "side": side, "dual": dual, "role": "drive", "needed_psi": "100"}
    for side, dual in (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer"))
]


def decoded(folder: Path, run: Any, **cells: str) -> Path:
    """Readings of one message, on a tractor of two singles and four duals."""
    message = {"unit": "U1", "read_on": "2025-06-10", "spn_929": "0x00", "spn_241": "172", **cells}
    messages = write(folder / "messages.csv", [message])
    positions = write(folder / "positions.csv", SINGLES + DUALS)
    result = run("j1939", messages, "--positions", positions, "-o", folder / "readings.csv")
    assert result.code == 0, result.err
    return folder / "readings.csv"


def verdict_on_pressure(folder: Path, run: Any, raw: str) -> tuple[int, Row]:
    """Of the tire that the message speaks of."""
    readings = decoded(folder, run, spn_241=raw, spn_242="9376")
    out = folder / "verdicts.csv"
    result = run("judge", "--readings", readings, "--positions", folder / "positions.csv", "-o", out)
    (row,) = [v for v in read(out) if v["limit_id"] == "US-T-11"]
    return result.code, row


def test_38_raw_172_is_688_kpa_and_fails_within_the_resolution(tmp_path: Path, run: Any) -> None:
    code, row = verdict_on_pressure(tmp_path, run, "172")
    assert (code, row["verdict"], row["as_read"]) == (1, "fail", "688 kpa")  # SPN 241: 4 kPa a bit, gauge
    assert float(row["margin"]) == pytest.approx(688 / 6.894757293168361 - 100, abs=1e-9)  # NIST SP 811: kPa per psi
    assert round(float(row["margin"]), 2) == -0.21
    assert "within one step of the gauge" in row["reason"]


def test_39_raw_255_has_no_verdict(tmp_path: Path, run: Any) -> None:
    code, row = verdict_on_pressure(tmp_path, run, "255")  # not available
    assert (code, row["verdict"], row["reading"]) == (0, "no_verdict", "")


def test_40_raw_250_is_1000_kpa(tmp_path: Path, run: Any) -> None:
    (row,) = read(decoded(tmp_path, run, spn_241="250"))  # SPN 241: the end of its range
    assert float(row["pressure_kpa"]) == 1000
    code, verdict = verdict_on_pressure(tmp_path, run, "250")
    assert (code, verdict["verdict"], round(float(verdict["reading"]), 1)) == (0, "pass", 145.0)


def test_41_raw_9376_is_20_degc(tmp_path: Path, run: Any) -> None:
    assert scaled(242, 9376) == (20.0, "value")  # SPN 242: 1/32 degC a bit, offset -273 degC
    (row,) = read(decoded(tmp_path, run, spn_242="9376"))
    assert float(row["tire_degc"]) == 20


# SPN 929: high nibble the axle from the front, low nibble the tire from the left, both from 0
@pytest.mark.parametrize(("location", "axle", "side", "dual"), [
    pytest.param("0x12", "2", "right", "inner", id="42"), pytest.param("0x01", "1", "right", "single", id="43"),
])  # fmt: skip
def test_42_43_location_of_a_tire(location: str, axle: str, side: str, dual: str, tmp_path: Path, run: Any) -> None:
    (row,) = read(decoded(tmp_path, run, spn_929=location))
    assert (row["axle"], row["side"], row["dual"]) == (axle, side, dual)


# ---- all of them

# Cases of several inputs: how many the list gives.
INPUTS = {
    11: 2, 14: 2, 36: 2, 44: 2, 45: 2, 52: 2, 56: 2, 67: 2, 72: 2, 78: 2, 82: 2, 83: 2, 89: 2, 92: 2, 94: 2, 95: 4,
    96: 3, 98: 2, 100: 4, 103: 4, 105: 2, 109: 2, 111: 2, 112: 2,
}  # fmt: skip


def numbers_of_tests(names: Iterable[str]) -> set[int]:
    """Numbers that names of tests begin with: test_42_43_location_of_a_tire."""
    return {int(n) for name in names if (m := re.match(r"test_((?:\d+_)+)", name)) for n in m[1].split("_")[:-1]}


def test_every_worked_verdict_is_there_with_all_its_inputs() -> None:
    others = (test_worked_countries, test_worked_dates, test_worked_brakes, test_worked_wheels)
    cases = Counter(case.number for case in CASES)
    alone = numbers_of_tests(globals())
    for module in others:
        cases += Counter(case.number for case in module.CASES)
        alone |= numbers_of_tests(vars(module))
    assert set(cases) | alone == set(range(1, 115))
    assert [number for number, inputs in INPUTS.items() if cases[number] < inputs] == []
