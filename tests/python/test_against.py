"""Purchases beside the forecast from before them: what is counted, what explains the difference, what is refused."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

import wheelend
from wheelend import _against, dictionary
from wheelend._against import _use_factor, _wear_factor
from wheelend.errors import BadCall, DataRefused
from wheelend.log import day_number

SAMPLE = Path(__file__).resolve().parents[2] / "data" / "samples" / "small_fleet"
FILES = [SAMPLE / f"{n}.csv" for n in ("readings", "positions", "tires")]
BOUGHT = {
    "bought_on": ["2025-09-02", "2025-09-20", "2025-10-14", "2025-12-12"],
    "tires": [4, 2, 9, 8],
    "amount": ["1702.50", "830.10", "3120", ""],
    "currency": ["USD", "usd", "USD", ""],
}


@cache
def log() -> wheelend.Log:
    return wheelend.read_log(*FILES, prices=SAMPLE / "prices.csv")


def months(**how: Any) -> list[dict[str, Any]]:
    return list(wheelend.demand(log(), against=how.pop("against", BOUGHT), draws=200, **how).to_pylist())


def test_purchases_stand_beside_their_months() -> None:
    rows = months()
    assert [r["month"] for r in rows] == [dt.date(2025, m, 1) for m in (9, 10, 11, 12)]
    assert [r["tires_bought"] for r in rows] == [6, 9, 0, 8]
    assert [r["spent"] for r in rows] == [Decimal("2532.60"), Decimal("3120.00"), Decimal("0.00"), Decimal("0.00")]
    assert [r["days"] for r in rows] == [30, 31, 30, 31]
    for r in rows:
        assert r["tires_within"] == (r["tires_p10"] <= r["tires_bought"] <= r["tires_p90"])
    assert [r.name for r in dictionary.RESULTS["against"]] == list(rows[0])


def test_the_forecast_is_the_one_that_was_made_then() -> None:
    # Exactly what `demand` said on the eve of the first purchase's month, from the readings up to then
    then = wheelend.demand(log(), as_of="2025-08-31", months=4, draws=200).to_pylist()
    for mine, theirs in zip(months(), then, strict=True):
        assert all(mine[f"tires_{q}"] == theirs[f"tires_{q}"] for q in ("p10", "p50", "p90"))
    earlier = months(as_of="2025-07-10")
    assert [r["month"] for r in earlier][:2] == [dt.date(2025, 7, 1), dt.date(2025, 8, 1)]
    assert [r["tires_bought"] for r in earlier] == [0, 0, 6, 9, 0, 8]


def test_what_explains_the_difference_adds_up() -> None:
    rows, causes = months(), months(explained=True)
    assert [r.name for r in dictionary.RESULTS["explained"]] == list(causes[0])
    assert [r["cause"] for r in causes] == list(_against.CAUSE_WORDS)
    bought, expected = (sum(r[n] for r in rows) for n in ("tires_bought", "tires_mean"))
    assert sum(r["tires"] for r in causes) == pytest.approx(bought - expected)
    one = {r["cause"]: r for r in causes}
    assert one["no_amount"]["found"] == "8 tires"
    # The amounts that were paid, less the spend on tires that was expected: to the last cent
    sums = sum((r["spend"] for r in causes), Decimal(0))
    spent = sum((r["spent"] for r in rows), Decimal(0))
    table = wheelend.demand(log(), as_of="2025-08-31", months=4, draws=200).to_pylist()
    tires = sum((r["new_tires_mean"] + r["retreads_mean"] for r in table), Decimal(0))
    assert abs(spent - sums - tires) <= Decimal("0.04")  # each month's two means are rounded once


def test_a_fleet_that_ran_more_is_found(history: Any, positions: Any) -> None:
    # 5000 mi in two months before, and 10 000 mi in the next two: twice as much
    log = wheelend.read_log(history.columns(), positions.columns())
    assert _use_factor(log, day_number("2025-04-11"), day_number("2025-06-10")) == pytest.approx(1.0, abs=0.05)
    at = history.header.index("odometer_mi")
    for row in history.rows:
        if row[history.header.index("read_on")] == "2025-06-10":
            row[at] = str(int(row[at]) + 5000)
    faster = wheelend.read_log(history.columns(), positions.columns())
    # 61, 60 and 60 days: 10 000 mi where 120 days had 10 000
    want = 10_000 / (10_000 / (day_number("2025-04-11") - day_number("2024-12-12")) * 60)
    assert _use_factor(faster, day_number("2025-04-11"), day_number("2025-06-10")) == pytest.approx(want, rel=1e-9)
    assert _use_factor(log, day_number("2025-06-10"), day_number("2025-07-10")) is None


def test_wear_is_compared_on_the_same_tires() -> None:
    def tires(rates: list[float], fitted: list[int]) -> dict[str, Any]:
        return {
            "position": np.arange(len(rates)),
            "rate_mm_per_km": np.array(rates),
            "fitted_day": np.array(fitted),
        }

    before, after = tires([1.0, 2.0, 9.0, np.nan], [5, 5, 5, 5]), tires([1.5, 3.0, 1.0, 1.0], [5, 5, 80, 5])
    assert _wear_factor(before, after) == pytest.approx(1.5)
    assert _wear_factor(before, tires([np.nan], [5])) is None


def test_units_that_were_not_read_before_were_not_forecast() -> None:
    table = pa.csv.read_csv(FILES[0])
    new = pa.compute.and_(
        pa.compute.equal(table["unit"], "T101"),
        pa.compute.less(table["read_on"].cast(pa.string()), "2025-09-01"),
    )
    later = wheelend.read_log(table.filter(pa.compute.invert(new)), *FILES[1:], prices=SAMPLE / "prices.csv")
    causes = {r["cause"]: r for r in wheelend.demand(later, against=BOUGHT, explained=True, draws=200).to_pylist()}
    assert causes["units_added"]["found"] == "1 unit"
    assert causes["units_added"]["tires"] > 0


def test_bad_rows_of_purchases_are_listed() -> None:
    own = wheelend.read_log(*FILES)
    rows = {
        "bought_on": ["2025-09-02", "soon", "2025-10-14", "2025-10-15"],
        "tires": ["4", "2", "2.5", "3"],
        "amount": ["10", "10", "10", "99"],
        "currency": ["USD", "USD", "USD", "$"],
    }
    found = wheelend.demand(own, against=rows, draws=50).to_pylist()
    assert [r["tires_bought"] for r in found] == [4, 3]
    said = [i for i in own.issues.to_pylist() if i["file"] == "purchases"]
    assert [(i["row"], i["rule"], i["effect"]) for i in said] == [
        (3, "not_a_date", "row"), (4, "not_whole", "row"), (5, "currency", "note"),
    ]  # fmt: skip


def test_calls_that_cannot_be_answered_are_refused() -> None:
    with pytest.raises(BadCall, match="not before the first purchase"):
        months(as_of="2025-09-02")
    with pytest.raises(BadCall, match="nothing was read before"):
        months(against={"bought_on": ["2024-06-01"], "tires": [3]})
    with pytest.raises(DataRefused, match="tires"):
        months(against={"bought_on": ["2025-09-02"]})


def test_the_command(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "purchases.csv"
    lines = ["bought_on,tires,amount,currency"]
    lines += [",".join(map(str, row)) for row in zip(*BOUGHT.values(), strict=True)]
    path.write_text("\n".join(lines) + "\n")
    files = [f"--{n}={SAMPLE / n}.csv" for n in ("readings", "positions", "tires", "prices")]
    shown = run("demand", *files, "--against", path, "--draws=60")
    assert shown.code == 0
    assert "23 tires were bought" in shown.out
    assert max(map(len, shown.out.splitlines())) <= 80
    assert run("demand", *files, "--against", path, "--draws=60", "--explained", "-o", tmp_path / "o.csv").code == 0
    assert (tmp_path / "o.csv").read_text().startswith('"cause","tires","spend","currency","found"')
