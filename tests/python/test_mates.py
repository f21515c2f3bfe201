"""``mates``: dual pairs and axles that drift apart in pressure or depth.

Bounds: formulas 6 (5 psi within duals by an FMCSA survey's benchmark and trade press; 4/32 in by trade press).
"""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.csv
import pytest

import wheelend
from wheelend import _mates, dictionary
from wheelend.cli import main
from wheelend.errors import BadCall

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
START = dt.date(2025, 1, 1)


def pair(
    outer: Callable[[int], float], inner: Callable[[int], float], days: Iterable[int], column: str = "pressure_psi",
    **more: Any,
) -> wheelend.Log:  # fmt: skip
    """A dual pair of a drive axle; what each shows on a day."""
    rows = []
    for day in days:
        for dual, shown in (("outer", outer), ("inner", inner)):
            row = {"unit": "U1", "kind": "tractor", "role": "drive", "axle": 2, "side": "left", "dual": dual,
                   "read_on": (START + dt.timedelta(day)).isoformat(), column: round(shown(day), 2)}  # fmt: skip
            rows.append({**row, **{name: value(dual, day) for name, value in more.items()}})
    names = list(dict.fromkeys(n for r in rows for n in r))
    return wheelend.read_log({n: [r.get(n, "") for r in rows] for n in names})


def only(log: wheelend.Log, **how: Any) -> dict[str, Any]:
    table = wheelend.mates(log, **how)
    assert len(table["unit"]) == 1
    return {name: table[name][0] for name in table}


def per_day(monthly: float) -> float:
    return monthly / 30.4375


def test_a_slow_leak_of_one_of_a_pair_is_seen_before_they_are_apart() -> None:
    """2 psi a month beside its mate, whatever the weather does to both: 5 psi after two and a half months."""
    season = [0.0, 4.0, -6.0, 3.0, -2.0]
    days = [0, 12, 24, 36, 48]
    swing = dict(zip(days, season, strict=True))
    row = only(pair(lambda d: 100 + swing[d], lambda d: 100 + swing[d] - per_day(2) * d, days))
    assert row["state"] == "drifting"
    assert row["drift_per_month"] == pytest.approx(2.0, abs=0.02)
    assert row["drift_low"] <= 2.0 <= row["drift_high"] + 0.02
    assert row["difference"] == pytest.approx(per_day(2) * 48, abs=0.05)
    due = np.datetime64(START) + int(5 / per_day(2))
    assert abs((np.datetime64(row["passes_on"]) - due).astype(int)) <= 1  # pressures are written in hundredths
    assert "look for a leak" in row["reason"]
    assert "outer 3.2 psi above inner" in row["reason"]


def test_what_is_put_in_is_taken_out_again() -> None:
    """A tire that is set to 100 at each visit still loses 3 psi a month beside its mate."""
    days = [0, 30, 60, 90, 120]
    log = pair(
        lambda d: 100.0, lambda d: 100.0 if d == 0 else 97.0, days,
        inflated_to_psi=lambda dual, d: 100.0 if dual == "inner" and d else "",
    )  # fmt: skip
    row = only(log)
    assert row["drift_per_month"] == pytest.approx(3.0 * 30.4375 / 30, abs=0.05)
    assert row["difference"] == pytest.approx(0.0, abs=0.05)  # as they were left
    assert row["state"] == "drifting"
    assert "taken out" in row["reason"]


def test_a_fill_that_nobody_wrote_down_is_no_drift() -> None:
    loss = per_day(3)
    row = only(pair(lambda d: 104.0, lambda d: 104 - loss * d + (12 if d > 100 else 0), [0, 25, 50, 75, 125, 150, 175]))
    assert row["drift_per_month"] == pytest.approx(3.0, abs=0.1)


def test_mates_that_lose_alike_are_steady() -> None:
    row = only(pair(lambda d: 100 - per_day(2) * d, lambda d: 99 - per_day(2) * d, range(0, 200, 25)))
    assert row["state"] == "steady"
    assert row["drift_per_month"] == pytest.approx(0.0, abs=0.02)
    assert np.isnat(np.datetime64(row["passes_on"] or "NaT"))


@pytest.mark.parametrize(("inner", "state"), [(95.0, "steady"), (94.9, "apart")])
def test_the_bound_itself_still_passes(inner: float, state: str) -> None:
    """ "Within 5 psi": 5 is within."""
    assert only(pair(lambda d: 100.0, lambda d: inner, [0, 30, 60]))["state"] == state


def test_depths_that_part_within_a_pair() -> None:
    row = only(pair(lambda d: 20 - 0.01 * d, lambda d: 20 - 0.03 * d, range(0, 160, 30), "tread_a_32nds"))
    assert (row["quantity"], row["state"]) == ("depth", "drifting")
    assert row["bound"] == 4.0
    assert row["drift_per_month"] == pytest.approx(0.02 * 30.4375, abs=0.01)
    assert "alignment" in row["reason"]


def test_a_new_tire_begins_a_new_comparison() -> None:
    tires = {"tire": lambda dual, d: f"{dual}{1 if d < 60 else 2}" if dual == "inner" else "outer1"}
    row = only(pair(lambda d: 20 - 0.01 * d, lambda d: 18 - 0.01 * (d % 60), [0, 30, 60, 90], "tread_a_32nds", **tires))
    assert row["visits"] == 2
    assert row["state"] == "too_few"


def test_measures_of_the_readings_carry_over() -> None:
    row = only(pair(lambda d: 700.0, lambda d: 660.0, [0, 30, 60], "pressure_kpa"))
    assert row["measure"] == "kpa"
    assert row["bound"] == pytest.approx(34.47, abs=0.01)
    assert row["state"] == "apart"


def test_an_axle_is_left_against_right() -> None:
    rows = [
        {"unit": "U1", "kind": "tractor", "role": "steer", "axle": 1, "side": side, "dual": "single",
         "read_on": (START + dt.timedelta(day)).isoformat(), "pressure_psi": 110 if side == "left" else 103}
        for day in (0, 30, 60) for side in ("left", "right")
    ]  # fmt: skip
    row = only(wheelend.read_log({n: [r[n] for r in rows] for n in rows[0]}))
    assert (row["mates"], row["side"], row["state"]) == ("axle", None, "apart")
    assert row["difference"] == pytest.approx(7.0)


def test_rules_agree_with_the_limit_sets() -> None:
    text = (ROOT / "data/limits/trade.csv").read_text("utf-8")
    rows = {r["id"]: r for r in csv.DictReader(x for x in text.splitlines() if not x.startswith("#"))}
    for rule, limit in ((("dual", "pressure"), "DU-06"), (("dual", "depth"), "DU-03"), (("axle", "depth"), "DU-12")):
        found = next(r for r in _mates.rules() if (r["mates"], r["quantity"]) == rule)
        assert (found["bound"], found["measure"]) == (float(rows[limit]["bound"]), rows[limit]["measure"])


# ---- the sample


@pytest.fixture(scope="module")
def fleet() -> wheelend.Log:
    return wheelend.read_log(*(SAMPLE / f"{name}.csv" for name in ("readings", "positions", "tires")))


def test_columns_and_words(fleet: wheelend.Log) -> None:
    table = wheelend.mates(fleet)
    assert table.column_names == [r.name for r in dictionary.RESULTS["mates"]]
    assert set(table["state"].to_pylist()) <= {"apart", "drifting", "steady", "too_few"}


def test_the_planted_slow_leak_parts_from_its_mate(fleet: wheelend.Log) -> None:
    """V405 axle 1 right outer loses about 4 psi a month (ABOUT.md), its mate what is normal."""
    rows = wheelend.mates(fleet, unit="V405").to_pylist()
    row = next(r for r in rows if (r["axle"], r["side"], r["quantity"]) == (1, "right", "pressure"))
    assert row["state"] == "apart"
    assert row["drift_high"] < 0
    assert "outer" in row["reason"]
    assert "look for a leak" in row["reason"]


def test_order_of_rows_changes_nothing(fleet: wheelend.Log) -> None:
    table = pa.csv.read_csv(SAMPLE / "readings.csv")
    shuffled = table.take(pa.array(np.random.default_rng(3).permutation(len(table))))
    other = wheelend.read_log(shuffled, SAMPLE / "positions.csv", SAMPLE / "tires.csv")
    one, two = (sorted(map(str, wheelend.mates(log).to_pylist())) for log in (fleet, other))
    assert one == two


def test_command(capsys: pytest.CaptureFixture[str]) -> None:
    files = [f"--{n}={SAMPLE / n}.csv" for n in ("readings", "positions", "tires")]
    with pytest.raises(SystemExit) as end:
        main(["mates", *files, "--unit", "V405"])
    assert end.value.code == 0
    assert "axle 1 right" in capsys.readouterr().out


def test_bad_calls(fleet: wheelend.Log) -> None:
    with pytest.raises(BadCall, match="1 to 3650"):
        wheelend.mates(fleet, soon_days=0)
