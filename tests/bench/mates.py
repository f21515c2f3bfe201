"""Whether the drift of mates holds what it says: dual pairs with known losses, some of which begin to leak.

    .venv/bin/python tests/bench/mates.py --seeds 1-4 --pairs 500

Each pair is read about monthly with the error of a gauge in whole psi, both tires go with the weather, tires that have
fallen far are filled up, which is mostly written down, and now and then one of the two is not read. In some pairs one
tire begins to leak at some day of the record. The table says how often the 95 % interval of the drift holds the present
difference of losses, how wide it is, how far off the drift is, and what is called drifting or apart.
"""

from __future__ import annotations

import argparse
import datetime as dt
from typing import Any

import numpy as np

import wheelend

START = dt.date(2024, 1, 1)
MONTH = 30.4375
TARGET = 100.0


def fleet(seed: int, pairs: int) -> tuple[wheelend.Log, dict[str, tuple[str, float]]]:
    """Readings, and for each unit its kind and the present drift of outer less inner in psi a month."""
    rng = np.random.default_rng(np.random.SeedSequence([seed, 77]))
    table: dict[str, list[Any]] = {
        name: []
        for name in ("unit", "kind", "role", "axle", "side", "dual", "read_on", "pressure_psi", "inflated_to_psi")
    }
    truth = {}
    for u in range(pairs):
        visits = np.cumsum(rng.integers(15, 45, int(rng.integers(6, 20))))
        loss = np.abs(rng.normal(1.5, 0.5, 2))
        kind = ("steady", "leaks from the beginning", "begins to leak")[rng.choice(3, p=(0.5, 0.2, 0.3))]
        leak, leaks_from = np.zeros(2), 0.0
        if kind != "steady":
            leak[rng.integers(2)] = rng.uniform(3.0, 9.0)
            if kind == "begins to leak":  # so that at least three visits see it
                leaks_from = float(rng.uniform(visits[1], visits[-3]))
        pressure, before = TARGET + rng.normal(0.0, 2.0, 2), 0.0
        for day in visits.tolist():
            leaking = max(day - max(before, leaks_from), 0.0)
            pressure = pressure - loss * (day - before) / MONTH - leak * leaking / MONTH
            weather = 5.0 * np.sin(2 * np.pi * day / 365.25) + rng.normal(0.0, 2.0)
            for i, dual in enumerate(("outer", "inner")):
                if rng.random() < 0.06:
                    continue
                shown, filled = round(float(pressure[i] + weather + rng.normal(0.0, 1.0))), ""
                if shown < TARGET - 10 and rng.random() < 0.7:
                    pressure[i] = TARGET - weather + rng.normal(0.0, 1.0)
                    filled = f"{TARGET:g}" if rng.random() < 0.8 else ""
                for name, value in zip(
                    table,
                    (f"P{u:04d}", "tractor", "drive", 2, "left", dual, (START + dt.timedelta(day)).isoformat(), shown,
                     filled), strict=True,
                ):  # fmt: skip
                    table[name].append(value)
            before = day
        truth[f"P{u:04d}"] = (kind, float(-(loss + leak)[0] + (loss + leak)[1]))
    return wheelend.read_log(table), truth


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--seeds", default="1-4")
    ask.add_argument("--pairs", type=int, default=500)
    given = ask.parse_args()
    low, _, high = given.seeds.partition("-")
    rows: list[tuple[str, float, dict[str, Any]]] = []
    for seed in range(int(low), int(high or low) + 1):
        log, truth = fleet(seed, given.pairs)
        table = wheelend.mates(log)
        for i in range(len(table["unit"])):
            row = {name: table[name][i] for name in table}
            if row["quantity"] == "pressure" and not np.isnan(row["drift_per_month"]):
                rows.append((*truth[row["unit"]], row))
    print(f"{'pairs':26} {'n':>5} {'95 %':>6} {'width':>6} {'bias':>6} {'error':>6} {'found':>6}")
    for kind in ("steady", "leaks from the beginning", "begins to leak", "all"):
        some = [(t, r) for k, t, r in rows if kind in (k, "all")]
        inside = np.mean([r["drift_low"] <= t <= r["drift_high"] for t, r in some])
        width = np.median([r["drift_high"] - r["drift_low"] for _, r in some])
        off = np.array([(r["drift_per_month"] - t) * np.sign(t) for t, r in some])
        found = np.mean([r["state"] in ("apart", "drifting") for _, r in some])
        print(
            f"{kind:26} {len(some):5} {inside:6.3f} {width:6.2f} {off.mean():6.2f} {np.abs(off).mean():6.2f} "
            f"{found:6.3f}"
        )


if __name__ == "__main__":
    main()
