"""Renewal function, count of tires due, and mean cumulative function against numbers made elsewhere.

Rows 18, 19, 26 and 27 of the reference's table; tolerances are those that it states.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import integrate, stats

from outside import column, expected, table
from wheelend import replacements

# ---- row 26: expected replacements over a horizon


@pytest.mark.parametrize("row", table("renewal_function"), ids=lambda r: f"{r['family']}-{r['shape']}-{r['t']}")
def test_renewal_function(row: dict[str, str]) -> None:
    shape, size, t = float(row["shape"]), float(row["rate_or_scale"]), float(row["t"])
    erlang = row["family"] == "erlang"
    law: Any = "gamma" if erlang else "weibull"
    found = replacements.expected_replacements(t, law=law, scale=1 / size if erlang else size, shape=shape)
    # 1e-10 for a closed form (the Erlang), 1e-6 for the renewal equation solved in steps
    assert found == pytest.approx(float(row["m"]), rel=1e-10 if erlang else 1e-6)


def test_a_part_that_is_not_new_is_due_earlier() -> None:
    # Erlang of two stages of rate 1: at age a the part is in its first stage with probability 1 / (1 + a). The events
    # are every second point of a Poisson process: t / 2 less or plus (1 - exp(-2 t)) / 4 from the one or other stage.
    t, age = np.array([0.5, 1.0, 3.0]), 2.0
    wave = (1 - np.exp(-2 * t)) / 4
    want = t / 2 + wave * (age - 1) / (age + 1)
    found = replacements.expected_replacements(t, law="gamma", scale=1.0, shape=2.0, age=age)
    assert found == pytest.approx(want, rel=1e-6)
    # Without memory age does not matter, and a fleet in steady state needs t / mean (formulas 7.7)
    assert replacements.expected_replacements(7.0, law="exponential", scale=2.0, age=9.0) == 3.5
    ages = np.linspace(0, 2.6, 53)  # none in a hundred million is older
    curve = [replacements.expected_replacements(1.0, law="weibull", scale=1.0, shape=3.0, age=a) for a in ages]
    alive = np.exp(-(ages**3))
    mean_life = stats.weibull_min(3.0).mean()
    assert integrate.simpson(np.array(curve) * alive, x=ages) / mean_life == pytest.approx(1 / mean_life, rel=1e-4)


def test_renewals_beside_a_simulation() -> None:
    # Lognormal lives have neither closed form nor series here: 200 000 places drawn, error of the mean below 0.002
    lives = np.random.default_rng(5).lognormal(0.0, 0.4, (200_000, 12)).cumsum(axis=1)
    for t in (0.8, 2.0, 4.0):
        counts = (lives <= t).sum(axis=1)
        found = replacements.expected_replacements(t, law="lognormal", scale=1.0, shape=2.5)
        assert found == pytest.approx(counts.mean(), abs=4 * counts.std() / np.sqrt(len(counts)))


# ---- row 27: how many of several tires are due

DUE = {
    "eight_positions": [0.02, 0.10, 0.10, 0.25, 0.25, 0.60, 0.85, 0.97],
    "eighteen_wheeler": [0.9] * 2 + [0.35] * 8 + [0.2] * 8,
    "certain_and_impossible": [0, 1, 0.5, 1, 0],
}


@pytest.mark.parametrize("case", DUE)
def test_count_of_tires_due(case: str) -> None:
    rows = [row for row in table("replacement_count_pmf") if row["case"] == case]
    found = replacements.count_distribution(DUE[case])
    assert [int(row["k"]) for row in rows] == list(range(len(found.pmf)))
    assert found.pmf == pytest.approx(column(rows, "pmf"), abs=1e-14)
    assert found.cdf == pytest.approx(column(rows, "cdf"), abs=1e-14)
    # The tails too, relative to their own size: all terms of the sum are positive
    there = column(rows, "pmf") > 0
    assert found.pmf[there] == pytest.approx(column(rows, "pmf")[there], rel=1e-12)
    assert found.mean == pytest.approx(sum(DUE[case]), rel=1e-12)
    assert found.variance == pytest.approx(sum(p * (1 - p) for p in DUE[case]), rel=1e-12)


def test_far_tails_of_a_large_fleet_keep_their_digits() -> None:
    # 2000 tires of one probability: binomial, from scipy
    found = replacements.count_distribution(np.full(2000, 0.03))
    k = np.arange(2001)
    want = stats.binom(2000, 0.03)
    seen = want.pmf(k) > 1e-280
    assert found.pmf[seen] == pytest.approx(want.pmf(k)[seen], rel=1e-9)
    above = (want.sf(k) > 1e-280) & (want.sf(k) < 1e-3)
    assert found.sf[above] == pytest.approx(want.sf(k)[above], rel=1e-9)
    for level in (0.05, 0.5, 0.95, 0.999999):
        assert found.quantile(level) == want.ppf(level)


def test_the_order_of_the_tires_does_not_matter() -> None:
    p = np.random.default_rng(3).uniform(0, 1, 300)
    assert np.array_equal(replacements.count_distribution(p).pmf, replacements.count_distribution(p[::-1]).pmf)


# ---- rows 18 and 19: what comes again


def steps(found: replacements.MeanCumulative, want: list[dict[str, Any]], rtol: float) -> None:
    at = np.searchsorted(found.time, [w["time"] for w in want])
    for name, theirs in (("time", "time"), ("at_risk", "at_risk"), ("events", "events"), ("mean", "mcf"),
                         ("se", "se_robust")):  # fmt: skip
        assert getattr(found, name)[at] == pytest.approx([w[theirs] for w in want], rel=rtol), name


def test_cylinders_of_locomotives() -> None:
    rows, every = table("cylinder_replacements"), expected("cylinder_replacements")
    engines = sorted({row["engine"] for row in rows})
    end = [next(float(r["days"]) for r in rows if r["engine"] == e and r["event"] != "Replacement") for e in engines]
    events = [r for r in rows if r["event"] == "Replacement"]
    of = [engines.index(r["engine"]) for r in events]
    assert (len(engines), column(events, "count").sum()) == (every["engines"], every["replacements"])
    found = replacements.mean_cumulative(of, column(events, "days"), column(events, "count"), end=end)
    assert len(found.time) == len(every["mcf"])
    steps(found, every["mcf"], every["rtol"])
    # In another order, and with those of one age apart, it is the same to the last digit
    singly = np.repeat(np.arange(len(of)), column(events, "count").astype(int))[::-1]
    again = replacements.mean_cumulative(np.array(of)[singly], column(events, "days")[singly], end=end)
    assert again.mean == pytest.approx(found.mean, rel=1e-12)
    assert again.se == pytest.approx(found.se, rel=1e-9)


def test_repairs_of_vehicles_by_mileage() -> None:
    rows, every = table("vehicle_repairs_by_mileage"), expected("vehicle_repairs_by_mileage")
    vehicles = sorted({row["vehicle"] for row in rows})
    start, end = (
        [next(float(r["miles"]) for r in rows if r["vehicle"] == v and r["event"] == what) for v in vehicles]
        for what in ("Start", "End")
    )
    fails = [r for r in rows if r["event"] == "Fail"]
    of = [vehicles.index(r["vehicle"]) for r in fails]
    assert (len(vehicles), len(fails)) == (every["vehicles"], every["repairs"])
    found = replacements.mean_cumulative(of, column(fails, "miles"), end=end, start=start)
    steps(found, every["mcf_every_50th_event"], every["rtol"])
    steps(found, every["last"], every["rtol"])


def test_items_that_come_later_and_go_earlier() -> None:
    # By hand: two items over (0, 10], a third over (4, 6]. At 2 one of two, at 5 one of three, at 8 two of two.
    found = replacements.mean_cumulative([0, 2, 1, 1], [2, 5, 8, 8], end=[10, 10, 6], start=[0, 0, 4])
    assert found.at_risk == pytest.approx([2, 3, 2])
    assert found.mean == pytest.approx([1 / 2, 1 / 2 + 1 / 3, 1 / 2 + 1 / 3 + 1])
    # Residuals: after 2: (1/4, -1/4); after 5 each less by 1/9, the third 1/3 - 1/9; after 8 the first two less by
    # 1/2 and the second more by 1
    residuals = [[1 / 4, -1 / 4, 0], [5 / 36, -13 / 36, 2 / 9], [5 / 36 - 1 / 2, -13 / 36 + 1 / 2, 2 / 9]]
    assert found.se == pytest.approx([np.sqrt(np.square(r).sum()) for r in residuals])


def test_bad_calls_of_replacements_are_refused() -> None:
    for words, call in {
        "is none of": lambda: replacements.expected_replacements(1, law="normal", scale=1.0),  # type: ignore[arg-type]
        "scale and shape": lambda: replacements.expected_replacements(1, scale=0.0),
        "t and age": lambda: replacements.expected_replacements(-1, scale=1.0),
        "no part lives": lambda: replacements.expected_replacements(1, scale=1.0, shape=3.0, age=1e3),
        "no probability": lambda: replacements.count_distribution([0.5, np.nan]),
        "there is no item": lambda: replacements.mean_cumulative([2], [1], end=[3, 3]),
        "outside the span": lambda: replacements.mean_cumulative([0], [4], end=[3]),
        "before its end": lambda: replacements.mean_cumulative([0], [4], end=[3], start=[3]),
        "between 0 and 1": lambda: replacements.count_distribution([0.5]).quantile(1.0),
    }.items():
        with pytest.raises(ValueError, match=words):
            call()
