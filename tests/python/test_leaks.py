"""Slow leaks: worked cases, alarms that use nothing of later days, and what must not raise one."""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow.parquet as pq
import pytest

import wheelend
from wheelend import _core, lines
from wheelend._fleet_leaks import learned_leaks
from wheelend.simulate import Simulated, fleet

SAMPLE = Path(__file__).resolve().parents[2] / "data" / "samples" / "small_fleet"
PSI = 6894.757293168361  # Pa, NIST SP 811
SEA_LEVEL = 101325.0  # Pa, ISO 2533
MONTH = 365.25 / 12


@cache
def sample() -> wheelend.Log:
    return wheelend.read_log(SAMPLE / "readings.csv", SAMPLE / "positions.csv", SAMPLE / "tires.csv")


@cache
def made(scenario: str = "typical", units: int = 24, seed: int = 1, **changes: Any) -> Simulated:
    return fleet(scenario, units, seed=seed, **changes)


def log_of(s: Simulated) -> wheelend.Log:
    return wheelend.read_log(s.readings, s.positions, s.tires)


# ---- laws of loss


@pytest.mark.parametrize(("loss", "days"), [(1.0, 679.19), (2.0, 339.60), (3.0, 226.40), (5.0, 135.84)])
def test_days_to_80_by_permeation(loss: float, days: float) -> None:
    # Formulas 3.2, K1 to K4: 100 to 80 psi, gauge pressure decays exponentially; printed to 0.01 d
    found = _core.time_to_fall(100.0, 80.0, loss, SEA_LEVEL / PSI, "gauge") * 30.4375
    assert found == pytest.approx(days, abs=0.006)


def test_activation_energy_of_permeation() -> None:
    # Formulas 3.1, E1: loss doubles from 70 to 90 degF (Tire Science & Technology 13(1), midpoints): 46.61 kJ/mol
    assert _core.activation_energy(2.0, 294.261, 305.372) / 1000 == pytest.approx(46.61, abs=0.006)


@pytest.mark.parametrize(
    ("hole_mm", "tau", "to_80"), [(0.1, 96151.3, 18423.9), (0.5, 3846.05, 736.96), (1.0, 961.513, 184.239)]
)
def test_time_constant_of_a_hole(hole_mm: float, tau: float, to_80: float) -> None:
    # Formulas 3.4, H1 to H3: 0.12 m3, Cd 0.8, 293.15 K; 100 to 80 psi
    area = np.pi / 4 * (hole_mm / 1000) ** 2
    found = _core.hole_time_constant(0.12, area, 0.8, 293.15)
    assert found == pytest.approx(tau, rel=1e-5)
    start = 100 * PSI
    loss = (start + SEA_LEVEL) / found  # Pa/s at first
    assert _core.time_to_fall(start, 80 * PSI, loss, SEA_LEVEL, "absolute") == pytest.approx(to_80, rel=1e-5)


def test_flow_through_a_hole() -> None:
    # Formulas 3.4, H4 and H5 (by 3.3; 3.2 would be 12.6 % high), and where flow ceases to be choked: 13.12 psi
    area = np.pi / 4 * 0.001**2
    at_100 = _core.hole_flow(100 * PSI + SEA_LEVEL, SEA_LEVEL, area, 0.8, 293.15)
    at_5 = _core.hole_flow(5 * PSI + SEA_LEVEL, SEA_LEVEL, area, 0.8, 293.15)
    assert at_100 * 1000 == pytest.approx(1.17285, rel=1e-5)
    assert at_5 * 1000 == pytest.approx(0.17886, rel=3e-5)  # printed to five digits
    assert _core.choked_above(SEA_LEVEL) / PSI == pytest.approx(13.12, abs=0.005)


@pytest.mark.parametrize(("psi", "per_days", "micrometres"), [(1.0, 1.0, 9.85), (5.0, 30.4375, 3.99)])
def test_hole_of_a_loss(psi: float, per_days: float, micrometres: float) -> None:
    # Formulas 3.4, H6 and H7: at 100 psi, 0.12 m3, Cd 0.8
    area = _core.hole_area(psi * PSI / (per_days * 86400), 100 * PSI + SEA_LEVEL, 0.12, 0.8, 293.15)
    assert np.sqrt(4 * area / np.pi) * 1e6 == pytest.approx(micrometres, abs=0.006)


# ---- the worked series: 4 psi a month are built in (formulas 3.3)

DAYS = [0, 9, 23, 41, 60]
DEGF = [80, 62, 45, 71, 30]
READ = [108, 102, 97, 100, 89]


def worked() -> wheelend.Log:
    day = dt.date(2025, 3, 1)
    n = len(DAYS)
    return wheelend.read_log(
        {
            "unit": ["U1"] * n, "kind": ["truck"] * n, "role": ["steer"] * n, "axle": [1] * n, "side": ["left"] * n,
            "dual": ["single"] * n, "read_on": [day + dt.timedelta(days=d) for d in DAYS], "target_psi": [105.0] * n,
            "pressure_psi": READ, "tire_degf": DEGF,
        }
    )  # fmt: skip


def test_compensated_readings_give_the_loss_that_raw_ones_double() -> None:
    cold = np.array(wheelend.pressures(worked(), all=True, reference="68 degf")["cold_psi"])
    # Each reading at 68 degF as printed
    np.testing.assert_allclose(cold, [105.2718, 103.3422, 102.0905, 99.3516, 97.0471], atol=6e-5)
    fit, raw = lines.fit_line(DAYS, cold), lines.fit_line(DAYS, READ)
    assert fit.intercept == pytest.approx(104.97610, abs=6e-5)  # S1
    assert raw.intercept == pytest.approx(106.03425, abs=6e-6)
    assert fit.slope == pytest.approx(-0.1336644, abs=6e-7)  # S2
    assert raw.slope == pytest.approx(-0.2569267, abs=6e-8)
    assert -fit.slope * 30.4375 == pytest.approx(4.0684, abs=6e-5)  # S3: 4.1 a month
    assert -raw.slope * 30.4375 == pytest.approx(7.8202, abs=6e-5)  # not 7.8
    assert fit.se_slope * 30.4375 == pytest.approx(0.2105, abs=6e-5)  # S4
    assert raw.se_slope * 30.4375 == pytest.approx(2.2757, abs=6e-5)
    assert fit.residual_sd == pytest.approx(0.33555, abs=6e-6)  # S5
    assert raw.residual_sd == pytest.approx(3.62685, abs=6e-6)
    beyond_3 = (fit.slope * 30.4375 + 3.0) / (fit.se_slope * 30.4375)
    assert beyond_3 == pytest.approx(-5.0746, abs=3e-4)  # S6
    log_fit = lines.fit_line(DAYS, np.log(cold))
    assert -100 * log_fit.slope * 30.4375 == pytest.approx(4.0284, abs=6e-5)  # S7
    assert 100 * log_fit.se_slope * 30.4375 == pytest.approx(0.1971, abs=6e-5)
    assert lines.where_reaches(DAYS, cold, 84.0).at == pytest.approx(156.93, abs=6e-3)  # S8
    assert lines.where_reaches(DAYS, READ, 84.0).at == pytest.approx(85.76, abs=6e-3)


def test_leaks_of_the_worked_series_rules_out_what_raw_readings_say() -> None:
    # One tire of which nothing else is known, five readings: between a sound tire's 1.8 and the 4.07 of the line; the
    # interval holds the 4 that are built in and leaves out 7.8
    row = {name: column[0] for name, column in wheelend.leaks(worked()).items()}
    assert 1.8 < row["rate_psi_per_month"] < 4.07
    assert row["rate_low"] < 4.0 < row["rate_high"] < 7.8
    # At 68 degF on the last day by the line: 104.976 - 0.13366 * 60 = 96.96
    assert abs(row["cold_psi"] - 96.96) < 2 * row["cold_se_psi"]
    assert row["cold_se_psi"] < 2


@pytest.mark.parametrize(
    ("cold", "target", "state"), [(80.0, 100.0, "demount"), (88.0, 110.0, "demount"), (88.1, 110.0, "under")]
)
def test_at_80_percent_is_already_demount(cold: float, target: float, state: str) -> None:
    # Formulas 3.5, F1 and F2: at or below
    log = wheelend.read_log(
        {
            "unit": ["U1"], "kind": ["truck"], "role": ["steer"], "axle": [1], "side": ["left"], "dual": ["single"],
            "read_on": ["2025-06-10"], "pressure_psi": [cold], "target_psi": [target], "sidewall_max_psi": [120.0],
        }
    )  # fmt: skip
    assert wheelend.pressures(log)["state"][0] == state


def test_at_half_of_the_sidewall_maximum_is_flat() -> None:
    # F3: 120 on the sidewall, 60 read: out of service under "or lower", which is the sense of the row
    log = wheelend.read_log(
        {
            "unit": ["U1"], "kind": ["truck"], "role": ["steer"], "axle": [1], "side": ["left"], "dual": ["single"],
            "read_on": ["2025-06-10"], "pressure_psi": [60.0], "target_psi": [110.0], "sidewall_max_psi": [120.0],
        }
    )  # fmt: skip
    assert wheelend.pressures(log)["state"][0] == "flat"


# ---- the sample


def test_the_leak_of_the_sample_is_found_before_its_tire_is_at_80_percent() -> None:
    # ABOUT.md: V405 1 right outer loses 5.5 psi a month from 2025-07-01; from 100 psi it is at 80 after 110 days and
    # more, at the reading of 2025-09-30 (81 psi at 80 degF are 78.7 at 68)
    alarms = wheelend.leaks(sample(), alarms=True, unit="V405").to_pylist()
    here = [a for a in alarms if (a["axle"], a["side"], a["dual"]) == (1, "right", "outer")]
    assert here
    assert dt.date(2025, 7, 1) < here[0]["alarmed_on"] < dt.date(2025, 9, 30)
    rows = wheelend.leaks(sample(), unit="V405").to_pylist()
    row = next(r for r in rows if (r["axle"], r["side"], r["dual"]) == (1, "right", "outer"))
    assert row["state"] in ("slow_leak", "refilled_leak")
    assert row["first_alarm_on"] == here[0]["alarmed_on"]
    assert row["rate_low"] < 5.5 < row["rate_high"]
    assert "valve" in row["reason"]


def test_few_others_of_the_sample_are_taken_for_leaks() -> None:
    # 278 positions over 13 months at 2 a 1000 tire-months: about 7, and those planted
    assert len(wheelend.leaks(sample(), alarms=True)) <= 10


def test_no_alarm_is_raised_for_what_is_less_likely_a_leak_than_not() -> None:
    usual = wheelend.leaks(sample(), alarms=True).to_pylist()
    assert min(a["probability"] for a in usual) >= 0.5
    more = wheelend.leaks(sample(), alarms=True, false_alarms=10.0).to_pylist()  # odds of 2 to 10 and more
    assert 1 / 6 <= min(a["probability"] for a in more) < 0.5


# ---- as they would have been raised at the time


def test_an_alarm_uses_nothing_of_later_days() -> None:
    log = log_of(made())
    whole = wheelend.leaks(log, alarms=True)
    day = np.array(whole["alarmed_on"]).astype("datetime64[D]")
    assert len(day) > 20
    for cut in (np.datetime64("2019-06-30"), np.datetime64("2020-02-15")):
        early = wheelend.leaks(log, alarms=True, as_of=cut.item())
        keep = day <= cut
        assert keep.any()
        for name in whole:
            np.testing.assert_array_equal(np.asarray(whole[name])[keep], np.asarray(early[name]), err_msg=name)


def test_results_do_not_depend_on_threads_nor_on_the_order_of_rows() -> None:
    s = made()
    order = np.random.default_rng(7).permutation(len(s.readings["unit"]))
    shuffled = {
        name: [column[i] for i in order] if isinstance(column, list) else column[order]
        for name, column in s.readings.items()
    }
    day = (s.as_of - dt.date(1970, 1, 1)).days
    one = learned_leaks(log_of(s), day, 2.0, threads=1)
    two = learned_leaks(log_of(s), day, 2.0, threads=2)
    other = learned_leaks(wheelend.read_log(shuffled, s.positions, s.tires), day, 2.0, threads=2)
    for name in ("state", "rate", "rate_low", "pressure", "probability", "first_alarm"):
        np.testing.assert_array_equal(one[name], two[name], err_msg=name)
        np.testing.assert_array_equal(one[name], other[name], err_msg=name)
    for name in one["alarms"]:
        np.testing.assert_array_equal(one["alarms"][name], two["alarms"][name], err_msg=name)
        np.testing.assert_array_equal(one["alarms"][name], other["alarms"][name], err_msg=name)
    assert one["learned"] == two["learned"]


# ---- what is a leak, and what is not


def axle(columns: dict[int, dict[str, float]], days: list[int], **more: Any) -> list[dict[str, Any]]:
    """Rows of a trailer with eight tires at 100 psi less 1.5 a month; `columns`: cells of tire 0 by visit."""
    rows = []
    places = [(a, s, d) for a in (1, 2) for s in ("left", "right") for d in ("outer", "inner")]
    for visit, day in enumerate(days):
        for i, (a, side, dual) in enumerate(places):
            row = {
                "unit": "V1", "kind": "trailer", "role": "trailer", "axle": a, "side": side, "dual": dual,
                "target_psi": 100.0, "read_on": dt.date(2025, 1, 6) + dt.timedelta(days=day), "ambient_degf": 68.0,
                "pressure_psi": round(100 - 1.5 * day / MONTH + (0.4, -0.3, 0.1, 0.5)[(i + visit) % 4]),
                "inflated_to_psi": None, "warm": None, **more,
            }  # fmt: skip
            if i == 0:
                row |= columns.get(visit, {})
            rows.append(row)
    return rows


def state_of(rows: list[dict[str, Any]], **how: Any) -> dict[str, Any]:
    log = wheelend.read_log({name: [r[name] for r in rows] for name in rows[0]})
    found = wheelend.leaks(log, unit="V1", **how)
    at = next(
        i for i, (a, s, d) in enumerate(zip(found["axle"], found["side"], found["dual"], strict=True))
        if (a, s, d) == (1, "left", "outer")
    )  # fmt: skip
    return {name: column[at] for name, column in found.items()}


EVERY_FOUR_WEEKS = [28 * i for i in range(8)]


def test_a_sound_tire_is_normal() -> None:
    row = state_of(axle({}, EVERY_FOUR_WEEKS))
    assert row["state"] == "normal"
    assert row["rate_low"] < 1.5 < row["rate_high"]


def test_a_leak_is_found_and_a_filling_does_not_heal_it() -> None:
    falls = {2: 98.0, 3: 91.0, 4: 84.0, 5: 93.0, 6: 86.0, 7: 79.0}  # 7 psi in 28 days; filled to 100 at visit 4
    columns = {v: {"pressure_psi": p} for v, p in falls.items()}
    columns[4]["inflated_to_psi"] = 100.0
    row = state_of(axle(columns, EVERY_FOUR_WEEKS))
    assert row["state"] in ("slow_leak", "refilled_leak")
    # At the target, from about 90 psi: by the gauge pressure (formulas 3.1) and by the absolute pressure (3.4)
    lost = 7 / 28 * MONTH
    assert row["rate_low"] < lost * 114.7 / 104.7 < lost * 100 / 90 < row["rate_high"]
    assert "demount" in row["reason"]  # 79 of 100
    unwritten = {v: dict(c, inflated_to_psi=None) for v, c in columns.items()}
    again = state_of(axle(unwritten, EVERY_FOUR_WEEKS))  # found without the word as well
    assert again["state"] in ("slow_leak", "refilled_leak")


def test_one_warm_reading_raises_no_alarm() -> None:
    # 112 psi at visit 3 that nobody flagged: every cold reading after it looks like a loss of 12
    row = state_of(axle({3: {"pressure_psi": 112.0}}, EVERY_FOUR_WEEKS))
    assert row["state"] == "normal"
    assert np.isnat(np.datetime64(row["first_alarm_on"], "D"))


def test_a_cold_week_is_no_leak() -> None:
    # All eight tires read 6 psi lower at one visit and no temperature is written: it is shared, not a leak
    rows = axle({}, EVERY_FOUR_WEEKS, ambient_degf=None)
    for row in rows[-8:]:
        row["pressure_psi"] -= 6
    log = wheelend.read_log({name: [r[name] for r in rows] for name in rows[0]})
    assert set(wheelend.leaks(log)["state"]) == {"normal"}


def test_a_sudden_loss_is_told_from_a_slow_one() -> None:
    columns = {v: {"pressure_psi": 60.0} for v in (6, 7)}
    assert state_of(axle(columns, EVERY_FOUR_WEEKS))["state"] == "abrupt_loss"
    row = state_of(axle({7: {"pressure_psi": 45.0}}, EVERY_FOUR_WEEKS))
    assert row["state"] == "abrupt_loss"
    assert "demount" in row["reason"]


def test_a_position_without_pressure_is_unknown() -> None:
    log = wheelend.read_log(
        {
            "unit": ["U1"], "kind": ["truck"], "role": ["steer"], "axle": [1], "side": ["left"], "dual": ["single"],
            "read_on": ["2025-06-10"], "tread_a_32nds": [9.0],
        }
    )  # fmt: skip
    row = {name: column[0] for name, column in wheelend.leaks(log).items()}
    assert row["state"] == "unknown"
    assert len(wheelend.leaks(log, alarms=True)["unit"]) == 0


def test_dates_come_in_order() -> None:
    table = wheelend.leaks(sample()).to_pylist()
    for row in table:
        days = [row[f"below_80_on_{q}"] or dt.date.max for q in wheelend.dictionary.QUANTILES]
        assert days == sorted(days)
        for q in wheelend.dictionary.QUANTILES:
            band, eighty, half = (row[f"{n}_on_{q}"] or dt.date.max for n in ("below_band", "below_80", "below_50"))
            assert band <= eighty <= half


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_false_alarms_are_above_zero(bad: float) -> None:
    with pytest.raises(wheelend.BadCall, match="false_alarms"):
        wheelend.leaks(sample(), false_alarms=bad)


def test_more_false_alarms_find_more() -> None:
    log = log_of(made())
    few, many = (len(wheelend.leaks(log, alarms=True, false_alarms=f)["unit"]) for f in (0.5, 10.0))
    assert few < many


def test_commands(run: Any, tmp_path: Path) -> None:
    files = [f"--{name}={SAMPLE / name}.csv" for name in ("readings", "positions", "tires")]
    said = run("leaks", *files, "--unit", "V405")
    assert said.code == 0
    assert "axle 1 right outer" in said.out
    run("leaks", *files, "--alarms", "--false-alarms", "1", "-o", tmp_path / "alarms.parquet")
    found = pq.read_table(tmp_path / "alarms.parquet")
    assert found.column_names[:5] == ["unit", "axle", "side", "dual", "alarmed_on"]
    assert found.column_names[-1] == "reason"
