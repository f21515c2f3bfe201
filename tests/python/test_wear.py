"""What `wear` promises of every answer: one for each position, whatever the order of rows and the number of threads."""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import Any

import numpy as np
import pytest

import wheelend
from truth import Key, keys
from wheelend import _core
from wheelend._fleet_wear import _prior, limit_mm
from wheelend.simulate import Simulated, fleet

LEVELS = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
SCENARIOS = ("typical", "rotating", "sparse", "nasty")
SEED = 31  # none of those that the estimator is worked on with


@cache
def made(scenario: str) -> Simulated:
    return fleet(scenario, 24, years=2.0, seed=SEED)


@cache
def log_of(scenario: str) -> wheelend.Log:
    s = made(scenario)
    return wheelend.read_log(s.readings, positions=s.positions, tires=s.tires)


@cache
def answers(scenario: str) -> dict[str, Any]:
    found: dict[str, Any] = wheelend.wear(log_of(scenario))
    return found


def in_core(log: wheelend.Log, threads: int) -> dict[str, Any]:
    limit = limit_mm(log, None, "us-federal")
    found: dict[str, Any] = _core.wear(
        log.core_readings,
        log.core_positions,
        log.core_tires,
        len(log.units),
        limit,
        _prior(),
        int(np.datetime64(log.last_day, "D").astype(int)),
        threads,
    )
    return found


def columns_in(found: Any, path: str = "") -> dict[str, np.ndarray[Any, Any]]:
    """Every array of what the core hands back, by its path."""
    if isinstance(found, np.ndarray):
        return {path: found}
    parts = found.items() if isinstance(found, dict) else enumerate(found) if isinstance(found, list | tuple) else []
    return {name: column for key, part in parts for name, column in columns_in(part, f"{path}/{key}").items()}


# ---- the same to the last bit


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_threads_change_no_bit(scenario: str) -> None:
    one = columns_in(in_core(log_of(scenario), 1))
    assert len(one) > 50  # the dates, and all else that was found on the way
    for threads in (2, 3):
        other = columns_in(in_core(log_of(scenario), threads))
        assert list(other) == list(one)
        for name, column in one.items():
            np.testing.assert_array_equal(other[name], column, err_msg=f"{threads} threads: {name}")


def shuffled(table: dict[str, Any], seed: int) -> dict[str, Any]:
    order = np.random.default_rng(seed).permutation(len(next(iter(table.values()))))
    return {
        name: column[order] if isinstance(column, np.ndarray) else [column[i] for i in order]
        for name, column in table.items()
    }


def by_key(table: dict[str, Any]) -> dict[Key, dict[str, Any]]:
    names = [n for n in table if n not in ("unit", "axle", "side", "dual")]
    return {
        key: dict(zip(names, cells, strict=True))
        for key, cells in zip(keys(table), zip(*(table[n] for n in names), strict=True), strict=True)
    }


def same(a: Any, b: Any) -> bool:
    return a == b or (a != a and b != b) or (np.isscalar(a) and bool(np.isnat(a) and np.isnat(b)))


@pytest.mark.parametrize(
    ("scenario", "table"),
    [
        (scenario, table)
        for scenario in ("typical", "rotating", "nasty")
        for table in ("readings", "positions", "tires", "all")
        if (scenario, table) != ("nasty", "tires")  # there no tire number is written, so there is no such table
    ],
)
def test_order_of_rows_changes_no_bit(scenario: str, table: str) -> None:
    s = made(scenario)
    tables: dict[str, Any] = {"readings": s.readings, "positions": s.positions, "tires": s.tires}
    for i, name in enumerate(tables):
        if table in (name, "all") and tables[name] is not None:
            tables[name] = shuffled(tables[name], 7 + i)
    log = wheelend.read_log(tables["readings"], positions=tables["positions"], tires=tables["tires"])
    found, expected = by_key(wheelend.wear(log)), by_key(answers(scenario))
    assert found.keys() == expected.keys()
    for key, row in expected.items():
        for name, value in row.items():
            assert same(found[key][name], value), (key, name, found[key][name], value)


# ---- one answer for every position


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_every_position_with_a_usable_reading_has_one_answer(scenario: str) -> None:
    s = made(scenario)
    read = ~np.isnan(s.readings[f"tread_middle_{s.process.gauge}"])
    with_reading = {key for key, yes in zip(keys(s.readings), read, strict=True) if yes}
    found = keys(answers(scenario))
    assert len(found) == len(set(found))
    assert set(found) == with_reading


# ---- numbers that make sense


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_depths_rates_and_quantiles_are_in_range(scenario: str) -> None:
    found = answers(scenario)
    depth = next(found[n] for n in found if n.startswith("depth_"))
    assert (np.asarray(depth) >= 0).all()
    for name in found:
        if name.startswith("rate_"):
            known = np.asarray(found[name], float)
            assert (known[~np.isnan(known)] >= 0).all(), name
    for what in ("remaining_mi", "remaining_days"):
        q = np.column_stack([np.asarray(found[f"{what}_{p}"], float) for p in LEVELS])
        assert (q[~np.isnan(q)] >= 0).all()
        for row in q:
            known = row[~np.isnan(row)]
            assert (np.diff(known) >= 0).all()
            assert np.isnan(row[len(known) :]).all(), "once beyond the horizon, the later ones are as well"


def test_depth_never_falls_below_none_however_long_nobody_looked() -> None:
    s = made("typical")
    later = s.as_of + dt.timedelta(days=1500)
    found = by_key(wheelend.wear(log_of("typical"), as_of=later))
    assert min(row["depth_32nds"] for row in found.values()) >= 0
    role = dict(zip(keys(s.positions), s.positions["role"], strict=True))
    steer = [row for key, row in found.items() if role[key] == "steer"]
    assert len(steer) > 20
    for row in steer:  # 12/32 last for 107 000 mi: a year, at most two and a half
        assert row["status"] == "at_limit"
        assert row["remaining_days_p05"] == row["remaining_days_p50"] == 0.0


def rows(**columns: Any) -> dict[str, Any]:
    base = {"unit": "U1", "kind": "tractor", "role": "drive", "axle": "2", "side": "left", "dual": "outer"}
    n = max(len(v) for v in columns.values() if isinstance(v, list))
    return {k: v if isinstance(v, list) else [v] * n for k, v in {**base, **columns}.items()}


def only(found: dict[str, Any], row: int = 0) -> dict[str, Any]:
    return {name: column[row] for name, column in found.items()}


def test_at_its_limit_nothing_is_left() -> None:
    depths = ["5", "4", "3", "2", "1", "1"]
    days = [f"2025-{m:02d}-10" for m in range(1, 7)]
    row = only(wheelend.wear(wheelend.read_log(rows(read_on=days, tread_a_32nds=depths, tread_b_32nds=depths))))
    assert row["status"] == "at_limit"
    assert row["remaining_days_p05"] == row["remaining_days_p50"] == 0.0
    assert row["due_p50"] == np.datetime64("2025-06-10")


@pytest.mark.parametrize("grooves", [("tread_a_32nds",), ("tread_a_32nds", "tread_b_32nds", "tread_c_32nds")])
def test_a_last_depth_below_its_limit_is_due_now_unless_it_is_a_slip(grooves: tuple[str, ...]) -> None:
    """One groove at 1/32 in fails (49 CFR 393.75(c): 2/32 in), whatever was read before it."""
    days = [f"2025-{m:02d}-10" for m in range(1, 7)]
    miles = [str(100_000 + 5000 * i) for i in range(6)]
    depths = {g: ["12", "11.5", "11", "10.5", "10", "1" if g == grooves[-1] else "9.5"] for g in grooves}
    log = wheelend.read_log(rows(read_on=days, odometer_mi=miles, **depths))
    row = only(wheelend.wear(log))
    assert row["status"] == "read_again"
    assert row["remaining_days_p05"] == row["remaining_days_p10"] == 0.0
    assert row["remaining_days_p50"] > 90  # 30 days after: 0.0085 that it changed against 0.02 of a slip
    assert row["depth_32nds"] > 7
    assert "read it again" in row["reason"]
    assert only(wheelend.standing(log))["standing"] == "hold"


def test_never_within_ten_years_has_no_date() -> None:
    days = [f"2025-{m:02d}-10" for m in range(1, 13)]
    odometers = [str(1000 + 5 * i) for i in range(12)]  # five miles a month
    log = wheelend.read_log(rows(read_on=days, odometer_mi=odometers, tread_a_32nds="20", tread_b_32nds="20"))
    row = only(wheelend.wear(log))
    assert row["status"] == "not_within_ten_years"
    assert np.isnan(row["remaining_days_p50"])
    assert np.isnat(np.datetime64(row["due_p50"], "D"))
    assert row["depth_32nds"] == pytest.approx(20, abs=1)


def test_without_a_limit_there_is_a_depth_and_no_date() -> None:
    days = [f"2025-{m:02d}-10" for m in range(1, 7)]
    log = wheelend.read_log(rows(read_on=days, tread_a_32nds="9", tread_b_32nds="9"))
    row = only(wheelend.wear(log, limits="cdl-test"))  # a set without a depth of tread
    assert row["status"] == "no_limit"
    assert np.isnan(row["remaining_days_p50"])
    assert row["depth_32nds"] > 0


def test_a_tire_seen_once_is_answered_from_its_group_with_a_wider_interval_than_one_seen_ten_times() -> None:
    days = [f"2025-{m:02d}-10" for m in range(1, 11)]
    table: dict[str, list[str]] = {}
    for unit in range(8):
        for side in ("left", "right"):
            depths = [str(18 - i) for i in range(10)]
            miles = [str(100_000 + 8000 * i) for i in range(10)]
            part = rows(unit=f"U{unit}", side=side, read_on=days, odometer_mi=miles, tread_a_32nds=depths)
            for name, column in part.items():
                table.setdefault(name, []).extend(column)
    once = rows(unit="U9", read_on=days[-1:], odometer_mi=["172000"], tread_a_32nds=["9"])
    for name, column in once.items():
        table[name] += column
    found = by_key(wheelend.wear(wheelend.read_log(table)))
    a, b = found[("U9", 2, "left", "outer")], found[("U3", 2, "left", "outer")]
    assert (a["readings_used"], a["status"]) == (1, "from_group")
    assert (b["readings_used"], b["status"]) == (10, "from_readings")
    # 7/32 at 1/32 in a month, or later if wear slows down
    assert 0.75 * 213 < a["remaining_days_p50"] < 1.35 * 213
    width = [np.log(r["remaining_days_p95"] / r["remaining_days_p05"]) for r in (a, b)]
    assert width[0] > 1.2 * width[1]


def test_a_tire_that_wears_three_times_as_fast_as_is_typical_is_as_deep_as_it_was_read() -> None:
    days = [f"2025-{m:02d}-10" for m in range(3, 7)]
    miles = ["100000", "110000", "120000", "130000"]  # 2/32 in 10 000 mi; 0.6 are typical of drive tires
    depths = ["13", "11", "9", "7"]
    log = wheelend.read_log(rows(read_on=days, odometer_mi=miles, tread_a_32nds=depths, tread_b_32nds=depths))
    row = only(wheelend.wear(log, limit="6/32 in"))
    assert row["depth_32nds"] == pytest.approx(7, abs=1)
    assert row["remaining_days_p05"] < 15 < row["remaining_days_p95"]


def test_days_are_held_to_the_horizon() -> None:
    for scenario in SCENARIOS:
        for p in LEVELS:
            days = np.asarray(answers(scenario)[f"remaining_days_{p}"], float)
            assert (days[~np.isnan(days)] <= 10 * 365.25 + 1).all()


def test_a_long_run_can_be_stopped() -> None:
    made = fleet("typical", units=12, seed=31)
    log = wheelend.read_log(made.readings, made.positions, made.tires)
    due, day = np.full(len(log.positions), 2.0), (log.last_day - dt.date(1970, 1, 1)).days
    given = (log.core_readings, log.core_positions, log.core_tires, len(log.units), due, _prior(), day)
    watch = _core.Watch()
    assert watch.percent == 0
    _core.wear(*given, 1, watch)
    assert watch.percent >= 90
    watch.stop()
    with pytest.raises(_core.Stopped):
        _core.wear(*given, 1, watch)
