"""What the back-test takes for the fate of a tire: small records written by hand, whose answer is plain."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest

import wheelend
from wheelend._backtest import _fitted, _outcomes
from wheelend.log import day_number

MM = 25.4 / 32  # of 1/32 in, SP811
START = day_number("2024-01-01")
SD = 0.4 * MM  # of a reading, as of a shop gauge: common practice, no source
LIMIT = 4.0  # 32nds


def record(depths: list[Any], every: int = 30, **columns: list[str]) -> wheelend.Log:
    """One tire position, read every so many days; a depth is one number or one per groove."""
    n = len(depths)
    grooves = [d if isinstance(d, list) else [d] * 3 for d in depths]
    days = [(dt.date(2024, 1, 1) + dt.timedelta(days=every * i)).isoformat() for i in range(n)]
    same = {"unit": "T1", "kind": "tractor", "role": "drive", "axle": "2", "side": "left", "dual": "outer"}
    return wheelend.read_log(
        {
            **{name: [value] * n for name, value in same.items()},
            "read_on": days,
            **{f"tread_{name}_32nds": [g[k] for g in grooves] for k, name in enumerate(("outer", "middle", "inner"))},
            **columns,
        }
    )


def tires(log: wheelend.Log) -> list[_fitted.Tire]:
    return _fitted.tires_of(log, day_number(log.last_day))[0]


def fate(log: wheelend.Log, cut: int, tire: int = 0) -> _outcomes.Outcome | None:
    return _outcomes.outcome(tires(log)[tire], LIMIT * MM, START + cut, SD)


STRAIGHT = [float(d) for d in range(12, 2, -1)]  # 1/32 in 30 days: at 4/32 on day 240


def test_a_straight_tire_is_due_where_its_line_says() -> None:
    found = fate(record(STRAIGHT), cut=60)
    assert found is not None
    assert found.middle == pytest.approx(180.0)
    assert found.low < 180 < found.high
    # half-width sqrt(3) standard errors, never less than of one reading: 0.4/32 at 1/32 in 30 days is 12 days
    assert found.high - found.middle == pytest.approx(np.sqrt(3) * 12.0)


@pytest.mark.parametrize("slip", [5, 6, 7])
def test_one_low_reading_decides_nothing(slip: int) -> None:
    spoiled = [[d, d - 10.0 if i == slip and d > 10 else d, max(d - 7.0, 0) if i == slip else d] for i, d in
               enumerate([float(x) for x in range(20, 10, -1)])]  # fmt: skip
    found = fate(record(spoiled), cut=60)
    assert found is not None
    assert np.isnan(found.middle)
    assert found.low >= 210.0  # it was read on day 270 with 11/32


def test_the_shallowest_groove_counts_and_not_the_lowest_noise() -> None:
    uneven = [[d + 3.0, d + 3.0, d] for d in STRAIGHT]
    found = fate(record(uneven), cut=60)
    assert found is not None
    assert found.middle == pytest.approx(180.0)
    # three grooves alike, each low by 1/32 at every third reading: the lowest reading is 1/32 early, or 30 days
    noisy = [[d - 1.0 if i % 3 == k else d for k in range(3)] for i, d in enumerate(STRAIGHT)]
    found = fate(record(noisy), cut=60)
    assert found is not None
    assert 165.0 <= found.middle <= 180.0


def test_a_tire_that_left_well_above_its_limit_is_censored() -> None:
    depths = [*STRAIGHT[:5], 18.0, 17.0, 16.0]  # 8/32 on day 120, then another
    log = record(depths)
    assert [len(t.day) for t in tires(log)] == [5, 3]
    found = fate(log, cut=60)
    assert found is not None
    assert (np.isnan(found.middle), np.isinf(found.high)) == (True, True)
    assert 60.0 <= found.low <= 60.0 + 30.0  # last read, and the step that it had still to wear


def test_a_tire_taken_off_at_its_limit_was_due() -> None:
    depths = [*STRAIGHT[:8], 18.0, 17.0]  # 5/32 on day 210, then another
    found = fate(record(depths), cut=60)
    assert found is not None
    assert found.middle == pytest.approx(180.0)


def test_a_tire_that_was_not_read_again_says_nothing() -> None:
    assert fate(record([*STRAIGHT[:4], 18.0, 17.0]), cut=100) is None


def test_an_event_and_a_number_part_tires() -> None:
    steady = [12.0, 12.0, 11.0, 11.0, 10.0]
    assert [len(t.day) for t in tires(record(steady, event=["", "", "rotated", "", ""]))] == [2, 3]
    assert [len(t.day) for t in tires(record(steady, event=["", "", "removed", "", ""]))] == [3, 2]
    assert [len(t.day) for t in tires(record(steady, tire=["A", "", "A", "B", "B"]))] == [3, 2]


def test_a_drop_that_is_confirmed_parts_tires() -> None:
    assert [len(t.day) for t in tires(record([16.0, 15.0, 14.0, 9.0, 8.0, 7.0]))] == [3, 3]
    assert [len(t.day) for t in tires(record([16.0, 15.0, 14.0, 9.0, 12.0, 11.0]))] == [5]  # a misread is left out
    assert [len(t.day) for t in tires(record([16.0, 15.0, 14.0, 18.0, 12.0, 11.0]))] == [5]


def test_no_reading_after_the_last_day_is_looked_at() -> None:
    log = record(STRAIGHT)
    early = _fitted.tires_of(log, START + 100)[0]
    assert [t.day.max() for t in early] == [START + 90]


def test_spread_of_readings_is_no_less_than_of_rounding() -> None:
    of_all = {0: tires(record([float(d) for d in range(30, 2, -1)]))}
    assert _outcomes.reading_sd_mm(of_all) == pytest.approx(MM / np.sqrt(12))
    rng = np.random.default_rng(3)
    noisy = [(40.0 - 0.5 * i + 0.8 * rng.standard_normal(3)).tolist() for i in range(70)]
    # 30 residuals of each groove: the median of their size is known to about a sixth
    assert _outcomes.reading_sd_mm({0: tires(record(noisy, every=10))}) == pytest.approx(0.8 * MM, rel=0.35)
