"""Whether due dates of slow quantities hold what they say: fleets with known truth, forecast once, scored.

    .venv/bin/python tests/bench/slow_wear.py --of lining_thickness pushrod_stroke static_leak --seeds 1-20

Each place has a true rate (fleet, unit, axle and place of their own, a severity that wanders, a use that differs from
month to month), is renewed now and then, and is read with the error of a gauge. The fleet's true rate is drawn about
the row of settings by its own spread. An outcome is the day on which the truth reaches the limit; the table says how
many fall below each quantile: 0.05 0.25 0.50 0.75 0.95 are right.
"""

from __future__ import annotations

import argparse
import datetime as dt
import math
from typing import Any

import numpy as np

import wheelend
from wheelend import _slow, measures

START = dt.date(2023, 1, 1)
RECORD_DAYS, DAYS = 800, 800 + 3653
LEVELS = ("p05", "p25", "p50", "p75", "p95")
# The limit, from where a shop renews, and the step of its gauge, in the measure of the row.
LIMITS = {
    "lining_thickness": (0.25, 0.33, 1 / 32),
    "pad_thickness": (0.125, 0.2, 1 / 32),
    "drum_diameter": (16.62, 16.60, 0.001),
    "pushrod_stroke": (2.0, 1.85, 1 / 16),
    "bearing_end_play": (0.005, 0.0048, 0.001),
    "static_leak": (3.0, 2.6, 0.5),
}


def fleet(of: str, seed: int, units: int) -> tuple[wheelend.Log, dict[tuple[Any, ...], float]]:
    """Readings of a fleet, and for each place the days from the end of the record until it is at its limit."""
    rng = np.random.default_rng(np.random.SeedSequence([seed, _slow.quantity_code(of)]))
    s = _slow.find(of).core
    limit, renewed_at, step = LIMITS[of]
    way = 1.0 if s["rises"] else -1.0
    typical = s["rate"] * math.exp(rng.normal(0.0, s["rate_spread"]))
    readings: dict[str, list[Any]] = {}
    wheelends: dict[str, list[Any]] = {}
    truth = {}

    def put(table: dict[str, list[Any]], **row: Any) -> None:
        for name, value in row.items():
            table.setdefault(name, []).append(value)

    for u in range(units):
        unit = f"U{u:03d}"
        months = np.repeat(np.exp(rng.normal(0.0, 0.2, DAYS // 30 + 1)), 30)[:DAYS]
        km = np.cumsum(months * 300.0 * math.exp(rng.normal(0.0, 0.3)))
        wander = np.zeros(DAYS // 10 + 1)
        keep = math.exp(-10.0 / s["severity_days"])
        for k in range(1, len(wander)):
            wander[k] = keep * wander[k - 1] + math.sqrt(1 - keep * keep) * rng.normal(0.0, s["severity"])
        exposure = np.diff(km, prepend=0.0) if not s["by_time"] else np.ones(DAYS)
        exposure = exposure * np.exp(np.repeat(wander, 10)[:DAYS])
        visits = np.sort(rng.choice(RECORD_DAYS, int(rng.integers(3, 10)), replace=False))
        visits[-1] = max(visits[-1], RECORD_DAYS - 60)
        for day in visits:
            put(readings, unit=unit, axle=1, side="left", dual="single", kind="tractor", role="steer",
                read_on=(START + dt.timedelta(int(day))).isoformat(), odometer_mi=round(km[day] / 1.609344),
                tread_a_32nds=15.0)  # fmt: skip
        unit_effect = rng.normal(0.0, s["unit"])
        for axle in (1, 2, 3):
            axle_effect = rng.normal(0.0, s["axle"])
            for side in ("left", "right"):
                if axle > 1 or side == "right":
                    put(readings, unit=unit, axle=axle, side=side, dual="single", kind="tractor",
                        role="steer" if axle == 1 else "drive", read_on=START.isoformat(), odometer_mi="",
                        tread_a_32nds=15.0)  # fmt: skip
                rate = typical * math.exp(unit_effect + axle_effect + rng.normal(0.0, s["item"]))
                value = s["fresh"] + way * abs(limit - s["fresh"]) * rng.uniform(0.0, 0.8)
                lost = 0.0
                seen = iter([*visits.tolist(), DAYS])
                due = next(seen)
                for day in range(DAYS):
                    value += way * rate * exposure[day]
                    if day == due:
                        shown = round((value + rng.normal(0.0, 0.8 * s["reading"])) / step) * step
                        put(wheelends, unit=unit, axle=axle, side=side,
                            read_on=(START + dt.timedelta(day)).isoformat(), quantity=of, **{
                                f"value_{s['measure']}": max(shown, 0.0)})  # fmt: skip
                        due = next(seen)
                        if way * (value - renewed_at) > 0.0 and day < visits[-1]:
                            value = s["fresh"] + rng.normal(0.0, s["fresh_spread"] / 2)
                    if day == RECORD_DAYS:
                        lost = max(way * (value - limit), 0.0)
                        truth[unit, axle, side] = 0.0 if lost > 0.0 else math.inf
                    if day > RECORD_DAYS and truth[unit, axle, side] == math.inf and way * (value - limit) >= 0.0:
                        truth[unit, axle, side] = float(day - RECORD_DAYS)
                        break
    return wheelend.read_log(readings, wheelend_readings=wheelends), truth


def score(of: str, seed: int, units: int) -> list[tuple[int, float, list[float]]]:
    """Of each place: readings used, days in truth, days at the levels."""
    log, truth = fleet(of, seed, units)
    limit = f"{LIMITS[of][0]:g} {measures.table()[_slow.find(of).measure].label}"
    day = START + dt.timedelta(RECORD_DAYS)
    table = wheelend.wear(log, of=of, limit=limit, as_of=day)
    out = []
    for i in range(len(table["unit"])):
        days = [float(table[f"remaining_days_{q}"][i]) for q in LEVELS]
        key = (table["unit"][i], int(table["axle"][i]), table["side"][i])
        out.append((int(table["readings_used"][i]), truth[key], [math.inf if math.isnan(d) else d for d in days]))
    return out


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--of", nargs="+", default=["lining_thickness", "pushrod_stroke", "static_leak"], choices=LIMITS)
    ask.add_argument("--seeds", default="1-4")
    ask.add_argument("--units", type=int, default=40)
    given = ask.parse_args()
    low, _, high = given.seeds.partition("-")
    print(
        f"{'quantity':18} {'readings':9} {'places':>6} {'90 %':>6} {'50 %':>6} " + " ".join(f"{q:>6}" for q in LEVELS)
    )
    for of in given.of:
        all_of = [r for seed in range(int(low), int(high or low) + 1) for r in score(of, seed, given.units)]
        # A place at its limit today is no forecast: it counts where the forecast leaves it open.
        ahead = [r for r in all_of if r[1] > 0.0 or r[2][-1] > 0.0]
        for name, keep in (("1-2", (1, 2)), ("3-5", (3, 5)), ("6+", (6, 99)), ("all", (1, 99))):
            some = [r for r in ahead if keep[0] <= r[0] <= keep[1]]
            if some:
                below = [sum(t <= days[k] for _, t, days in some) / len(some) for k in range(len(LEVELS))]
                ends = [sum(d[a] <= t <= d[b] for _, t, d in some) / len(some) for a, b in ((0, 4), (1, 3))]
                print(
                    f"{of:18} {name:9} {len(some):6} {ends[0]:6.3f} {ends[1]:6.3f} "
                    + " ".join(f"{b:6.3f}" for b in below)
                )


if __name__ == "__main__":
    main()
