"""Demand: the engine against closed forms, laws that every draw obeys, and forecasts of simulated fleets."""

from __future__ import annotations

import csv
import datetime as dt
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats
from typer.testing import CliRunner

import outside
import wheelend
from wheelend import _core, _demand
from wheelend._demand import quantiles_of
from wheelend.cli import app
from wheelend.errors import BadCall
from wheelend.simulate import Simulated, fleet
from wheelend.verdicts import Selection

EVERYTHING = Selection(None, None, None)
CASES = _core.tire_cases
SAMPLE = Path(__file__).resolve().parents[2] / "data" / "samples" / "small_fleet"
FILES = [f"--{name}={SAMPLE / name}.csv" for name in ("readings", "positions", "tires")]


# ---- fleets of plain numbers


def plain_fleet(
    need: Any, *, first_need: Any = None, days: int = 400, mates: bool = False, slots: int = 1, **practice: Any
) -> _core.DemandFleet:
    """Units that run 1 km a day and are looked at daily. ``need``: km that a new tire lasts, its equally likely cases.

    ``first_need``: the same of the tires in use, a row per place; without it they are new.
    """
    first = np.atleast_2d(need if first_need is None else first_need)
    n = len(first) // slots
    laws = np.vstack([first, np.atleast_2d(need)]).astype(np.float32)
    unit, slot = np.divmod(np.arange(len(first), dtype=np.int32), np.int32(slots))
    place = np.arange(len(first), dtype=np.int32)
    units = {
        "key": np.arange(n, dtype=np.uint64) + np.uint64(77),
        "km": np.ones(n * (days + 3), np.float32),
        "last_visit": np.full(n, np.nan),
        "visit_days": np.ones(n),
    }
    places = {
        "unit": unit.astype(np.int32),
        "slot": slot.astype(np.int32),
        "mate": (place ^ 1).astype(np.int32) if mates else np.full(len(first), -1, np.int32),
        "role": np.zeros(len(first), np.int32),
        "now": place,
        "fresh": np.full(len(first), len(first), np.int32),
    }
    law = {"need": laws.ravel(), "rate": np.ones(laws.size, np.float32), "spread": np.zeros(len(laws), np.float32)}
    roles = [{"pull_sd_mm": 1e-3} | practice.pop("role", {})]
    return _core.DemandFleet(units, places, law, {"roles": roles, "shop_days": 0.0, **practice})


def counted(of: _core.DemandFleet, ends: list[int], draws: int, group: Any = None, groups: int = 1, **how: Any) -> Any:
    given = {"first_draw": 0, "seed": 5, "changes": {}, "threads": 2} | how
    return _core.simulate_demand(of, np.array(ends, np.int32), group, groups, draws=draws, **given)


SHARES = (np.arange(CASES) + 0.5) / CASES


@pytest.mark.parametrize("shape", [2, 3, 5])
def test_replacements_of_replacements_follow_the_renewal_function(shape: int) -> None:
    # checks.md 26: Erlang lives, expected number of replacements in (0, t] from a new part. A life of 1 is 200 days,
    # so that a look a day is half a per cent of it, taken off as half a day on the average. The law's 64 cases are
    # the means of its 64ths.
    scale, draws = 200.0, 60_000
    edges = stats.gamma.ppf(np.arange(CASES + 1) / CASES, shape)
    means = CASES * shape * np.diff(stats.gamma.cdf(edges, shape + 1)) / shape  # of life times rate/shape
    rows = [r for r in outside.table("renewal_function") if r["family"] == "erlang" and r["shape"] == str(shape)]
    at = {float(r["t"]): float(r["m"]) for r in rows if 0.5 <= float(r["t"]) <= 5}
    ends = [round(t * scale) for t in sorted(at)]
    counts = counted(plain_fleet(means * scale - 0.5, days=ends[-1]), ends, draws)
    found = counts.sum(axis=(2, 3, 4)).cumsum(axis=1)
    error = found.std(axis=0) / np.sqrt(draws)
    # What 64 cases leave out of the law moves the curve by less than one per cent where it still bends.
    expected = np.array([at[t] for t in sorted(at)])
    assert np.all(np.abs(found.mean(axis=0) - expected) < 4 * error + 0.01 * expected)


@pytest.mark.parametrize("case", ["eight_positions", "eighteen_wheeler", "certain_and_impossible"])
def test_tires_due_follow_their_exact_distribution(case: str) -> None:
    # checks.md 27: exact convolution; chances as its head gives them
    chances = {
        "eight_positions": [0.02, 0.10, 0.10, 0.25, 0.25, 0.60, 0.85, 0.97],
        "eighteen_wheeler": [0.9] * 2 + [0.35] * 8 + [0.2] * 8,
        "certain_and_impossible": [0, 1, 0.5, 1, 0],
    }[case]
    draws = 40_000
    # A tire with the share p of its cases due, to the nearest 64th.
    first = np.array([np.where(p > SHARES, 10.0, 1000.0) for p in chances])
    shares = (first < 100).mean(axis=1)
    counts = counted(plain_fleet(np.full(CASES, 1e6), first_need=first, days=40), [30], draws)
    found = np.bincount(counts.sum(axis=(1, 2, 3, 4)), minlength=len(chances) + 1) / draws
    exact = np.array([1.0])
    for p in shares:
        exact = np.convolve(exact, [1 - p, p])
    assert np.all(np.abs(found - exact) < 4.5 * np.sqrt(exact * (1 - exact) / draws) + 1e-12)
    # and that convolution is the reference's, once it is given the reference's chances
    given = np.array([1.0])
    for p in chances:
        given = np.convolve(given, [1 - p, p])
    rows = [r for r in outside.table("replacement_count_pmf") if r["case"] == case]
    assert np.allclose(given[: len(rows)], outside.column(rows, "pmf"), rtol=0, atol=1e-14)


def test_damage_is_a_poisson_process() -> None:
    of = plain_fleet(np.full(CASES, 1e9), first_need=np.full((50, CASES), 1e9), days=740, damage_per_year=0.3)
    counts = counted(of, [365, 731], 4000)
    damaged = counts[..., list(_core.codes["removal_cause"]).index("damaged")].sum(axis=(2, 3))
    assert counts.sum() == damaged.sum()
    expected = 50 * 0.3 * np.array([365, 366]) / 365.25
    assert np.all(np.abs(damaged.mean(axis=0) - expected) < 4 * np.sqrt(expected / 4000))
    assert damaged.var(axis=0) == pytest.approx(expected, rel=0.1)  # variance = mean; 4.5 standard errors of 4000


# ---- laws of every draw


def busy_fleet() -> _core.DemandFleet:
    rng = np.random.default_rng(8)
    first = rng.uniform(0, 300, (40, CASES))
    role = {"moved_share": 0.2, "retread_share": 0.3, "pull_sd_mm": 20.0}
    return plain_fleet(
        rng.uniform(150, 400, CASES), first_need=first, days=740, mates=True, slots=4, role=role, damage_per_year=0.2,
        with_mate=0.4,
    )  # fmt: skip


def test_every_removal_is_one_tire_fitted() -> None:
    # A place holds one tire at any time: each that is removed is counted once as fitted.
    of, ends = busy_fleet(), np.array([365, 731], np.int32)
    counts = counted(of, ends.tolist(), 40)
    for draw in range(40):
        events = _core.simulate_removals(of, ends, draw, 5, {})
        assert (events["day"] >= 0).all()
        assert (events["day"] < 731).all()
        by_source = np.bincount(events["source"], minlength=3)
        assert np.array_equal(by_source, counts[draw].sum(axis=(0, 1, 3)))
        in_first = np.bincount(events["cause"][events["day"] < 365], minlength=3)
        assert np.array_equal(in_first, counts[draw, 0].sum(axis=(0, 1)))


def test_a_mate_goes_along_on_the_same_day() -> None:
    events = _core.simulate_removals(busy_fleet(), np.array([731], np.int32), 3, 5, {})
    along = np.flatnonzero(events["cause"] == list(_core.codes["removal_cause"]).index("with_mate"))
    worn = {(p, d) for p, d, c in zip(events["place"], events["day"], events["cause"], strict=True) if c == 0}
    assert len(along) > 10
    assert all((events["place"][i] ^ 1, events["day"][i]) in worn for i in along)


def test_threads_and_parts_make_no_difference() -> None:
    of, group = busy_fleet(), np.arange(40, dtype=np.int32) % 3
    one = counted(of, [200, 731], 300, group, 3, threads=1)
    assert np.array_equal(one, counted(of, [200, 731], 300, group, 3, threads=3))
    later = counted(of, [200, 731], 100, group, 3, first_draw=200)
    assert np.array_equal(one[200:], later)
    assert np.array_equal(one.sum(axis=2), counted(of, [200, 731], 300)[:, :, 0])
    assert not np.array_equal(one, counted(of, [200, 731], 300, group, 3, seed=6))


def test_no_change_is_the_base_to_the_last_digit() -> None:
    of = busy_fleet()
    base = counted(of, [731], 200)
    same = {
        "use": 1.0,
        "wear": 1.0,
        "fresh_wear": 1.0,
        "pull_shift_mm": 0.0,
        "moved_share": 1.0,
        "growth_per_year": 0.0,
    }
    assert np.array_equal(base, counted(of, [731], 200, changes=same))


@pytest.mark.parametrize(
    "changes",
    [{"use": 1.2}, {"wear": 1.2}, {"fresh_wear": 1.3}, {"pull_shift_mm": 20.0}, {"damage_per_year": 0.5},
     {"growth_per_year": 0.3}, {"moved_share": 0.0}],
    ids=lambda c: next(iter(c)),
)  # fmt: skip
def test_changes_go_the_way_they_must(changes: dict[str, float]) -> None:
    bought = [0, 1]
    base, other = (counted(busy_fleet(), [731], 400, changes=c)[..., bought, :].sum() for c in ({}, changes))
    assert other > 1.03 * base


def test_selling_units_takes_their_demand_along() -> None:
    base, sold = (counted(busy_fleet(), [731], 400, changes=c).sum() for c in ({}, {"growth_per_year": -1.0}))
    # units left on the average over two years: (1 - exp(-2)) / 2 = 0.43
    assert 0.35 < sold / base < 0.52


@pytest.mark.parametrize(
    ("ends", "words"), [([], "month_ends"), ([5, 3], "month_ends"), ([4000], "horizon")], ids=["none", "falling", "far"]
)
def test_bad_horizons_are_refused(ends: list[int], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        counted(busy_fleet(), ends, 10)


# ---- how a fleet takes tires off


def test_habits_are_found_again() -> None:
    rng = np.random.default_rng(4)
    n, pull, sd, hazard, along = 60_000, np.array([1.5, -0.4]), 0.5, 0.1 / 365.25, 0.35
    role = rng.integers(0, 2, n).astype(np.int32)
    depth, mate = rng.uniform(-1, 10, (2, n))
    days = rng.uniform(10, 60, n)
    worn, mate_worn = (d < pull[role] + sd * rng.standard_normal(n) for d in (depth, mate))
    lost, mate_lost = rng.random((2, n)) < 1 - np.exp(-hazard * days)
    with_mate = mate_worn & (rng.random(n) < along)
    found = _core.learn_removals(
        role, depth, days, (worn | lost | with_mate).astype(np.uint8), mate, (mate_worn | mate_lost).astype(np.uint8), 2
    )
    assert found["pull"] == pytest.approx(pull, abs=0.06)  # about three standard errors
    assert found["sd"] == pytest.approx(sd, rel=0.08)
    assert found["hazard"] == pytest.approx(hazard, rel=0.15)
    assert found["with_mate"] == pytest.approx(along, abs=0.03)


def test_without_removals_the_limit_is_the_pull() -> None:
    found = _core.learn_removals(
        np.zeros(50, np.int32), np.full(50, 8.0), np.full(50, 30.0), np.zeros(50, np.uint8), np.full(50, np.nan),
        np.zeros(50, np.uint8), 2,
    )  # fmt: skip
    assert found["pull"] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert found["hazard"] * 365.25 < 0.05


# ---- fleets


@cache
def made(scenario: str, units: int = 48) -> tuple[Simulated, Any, np.datetime64]:
    """A fleet whose record is cut a year before its end."""
    s = fleet(scenario, units, years=4.0, seed=33)
    cut = np.datetime64(s.as_of) - 366
    keep = s.readings["read_on"] <= cut
    readings = {
        k: v[keep] if isinstance(v, np.ndarray) else [x for x, y in zip(v, keep, strict=True) if y]
        for k, v in s.readings.items()
    }
    return s, readings, cut


def fitted_new(s: Simulated, cut: np.datetime64, days: int) -> int:
    f = s.truth.fitments
    after = (f["from"] - cut).astype(float)
    return int(((np.array(f["how_begun"]) == "new") & (after > 0) & (after <= days)).sum())


@pytest.mark.parametrize("scenario", ["typical", "rotating"])
def test_the_year_to_come_is_forecast(scenario: str) -> None:
    s, readings, cut = made(scenario)
    log = wheelend.read_log(readings, positions=s.positions, tires=s.tires)
    ahead = _demand.future(log, as_of=cut.item(), draws=1000)
    table, totals = _demand.demand_table(ahead, None, EVERYTHING)
    true = fitted_new(s, cut, int(ahead.month_ends[-1]))
    low, _, high = totals[-1].quantiles
    width = high - low
    assert low - width < true < high + width  # at least four of its standard deviations
    # Not wider than a Poisson count with every second tire taking a mate along, and not near certain: most tires
    # that fall due within a year are seen coming.
    assert true * 0.07 < width < 2 * 1.28 * np.sqrt(2 * true)
    assert sum(table["tires_mean"].to_pylist()) == pytest.approx(totals[-1].mean)


@cache
def sample_log() -> Any:
    return wheelend.read_log(*(str(SAMPLE / f"{n}.csv") for n in ("readings", "positions", "tires")))


def test_the_table_is_the_contract() -> None:
    table = wheelend.demand(sample_log(), months=12, by="role", draws=200)
    assert table.column_names[:2] == ["month", "role"]
    assert {"tires_p10", "tires_p50", "tires_p90"} <= set(table.column_names)
    assert len(table) == 12 * len(set(table["role"].to_pylist()))
    assert len(set(table["month"].to_pylist())) == 12
    assert all(m.day == 1 for m in table["month"].to_pylist())
    for row in table.to_pylist():
        assert 0 <= row["tires_p10"] <= row["tires_p50"] <= row["tires_p90"]
        causes = row["worn_mean"] + row["with_mate_mean"] + row["damaged_mean"]
        assert row["tires_mean"] == pytest.approx(causes)


def test_no_months_give_no_rows() -> None:
    table = wheelend.demand(sample_log(), months=0)
    assert len(table) == 0
    assert "tires_p50" in table.column_names


def test_groups_add_up_draw_by_draw() -> None:
    ahead = _demand.future(sample_log(), months=6, draws=200)
    alone = ahead.counts()
    for by in ("role", "unit", "side"):
        group, names = _demand.groups_of(sample_log(), by, EVERYTHING, ahead.day)
        assert np.array_equal(ahead.counts(group, len(names)).sum(axis=2), alone[:, :, 0])


def test_a_part_of_the_fleet_is_what_it_is_in_the_whole() -> None:
    log = sample_log()
    unit = log.units[0]
    whole = wheelend.demand(log, months=6, by="unit", draws=300).to_pylist()
    part = wheelend.demand(log, months=6, draws=300, unit=unit).to_pylist()
    assert [r["tires_p90"] for r in whole if r["unit"] == unit] == [r["tires_p90"] for r in part]


def test_order_of_rows_makes_no_difference() -> None:
    s, readings, cut = made("typical", 12)
    rng = np.random.default_rng(0)

    def shuffled(table: Any) -> Any:
        order = rng.permutation(len(table["unit"]))
        return {
            k: v[order] if isinstance(v, np.ndarray) else np.array(v, object)[order].tolist() for k, v in table.items()
        }

    log = wheelend.read_log(readings, positions=s.positions, tires=s.tires)
    other = wheelend.read_log(shuffled(readings), positions=shuffled(s.positions), tires=s.tires)
    a, b = (wheelend.demand(x, months=12, draws=200, as_of=cut.item(), by="role") for x in (log, other))
    assert {k: list(v) for k, v in a.items()} == {k: list(v) for k, v in b.items()}


def test_months_are_those_of_the_calendar() -> None:
    day = (dt.date(2026, 1, 30) - dt.date(1970, 1, 1)).days
    firsts, ends = _demand.calendar_months(day, 3)
    assert firsts == [dt.date(2026, 1, 31), dt.date(2026, 2, 1), dt.date(2026, 3, 1)]
    assert ends.tolist() == [1, 29, 60]
    firsts, ends = _demand.calendar_months(day + 1, 12)
    assert firsts[0] == dt.date(2026, 2, 1)
    assert ends[-1] == 365


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"months": -1}, "months"),
        ({"months": 121}, "months"),
        ({"draws": 0}, "draws"),
        ({"by": "rolle"}, "did you mean|role"),
        ({"changes": {"usage": 1.1}}, "use"),
        ({"changes": {"use": -1.0}}, "use from"),
    ],
    ids=["months", "far", "draws", "by", "change", "value"],
)
def test_bad_calls_are_refused(arguments: dict[str, Any], words: str) -> None:
    with pytest.raises(BadCall, match=words):
        wheelend.demand(sample_log(), **arguments)


def test_past_forecasts_are_set_beside_what_was_fitted() -> None:
    s, _, cut = made("typical")
    log = wheelend.read_log(s.readings, positions=s.positions, tires=s.tires)
    table = wheelend.backtest(log, cuts=[cut.item()], demand=True)
    months = list(table["month"])
    assert 10 <= len(months) <= 12
    f = s.truth.fitments
    new = f["from"][np.array(f["how_begun"]) == "new"].astype("datetime64[M]")
    true = sum(int((new == np.datetime64(m, "M")).sum()) for m in months)
    # Counted on the day that shows them: at most a month's worth is shifted in or out at either end.
    assert abs(sum(table["fitted"]) - true) < 1.5 * true / len(months)
    assert 0.5 <= np.mean(table["within"]) <= 1.0
    assert sum(table["tires_p50"]) == pytest.approx(true, rel=0.2)  # about four standard deviations of 160


def test_the_command_writes_the_table_and_shows_a_short_one(tmp_path: Path) -> None:
    runner = CliRunner()
    shown = runner.invoke(app, ["demand", *FILES, "--months", "3", "--draws", "100", "--by", "role"])
    assert shown.exit_code == 0
    assert "ALL MONTHS" in shown.output
    assert max(len(line) for line in shown.output.splitlines()) <= 80
    out = tmp_path / "demand.csv"
    past = runner.invoke(app, ["backtest", *FILES, "--demand", "--every", "200"])
    assert past.exit_code == 0
    assert "SUM OF P50" in past.output
    written = runner.invoke(app, ["demand", *FILES, "--months", "3", "--draws", "100", "-o", str(out)])
    assert written.exit_code == 0
    rows = list(csv.DictReader(out.read_text().splitlines()))
    assert len(rows) == 3
    assert list(rows[0])[:5] == ["month", "days", "tires_p10", "tires_p50", "tires_p90"]


# ---- quantiles


@pytest.mark.parametrize("draws", [1, 2, 7, 10, 50, 999, 2000])
def test_quantiles_are_those_of_numpy_and_values_of_a_draw(draws: int) -> None:
    values = np.random.default_rng(draws).integers(0, 40, (draws, 3, 2))
    wanted = np.quantile(values, [0.1, 0.5, 0.9], axis=0, method="inverted_cdf")
    assert np.array_equal(quantiles_of(values), wanted)


def test_a_level_that_is_no_binary_fraction_takes_no_draw_more() -> None:
    # 55 % of 2000 is 1100, and 1100.0000000000002 in doubles
    assert quantiles_of(np.arange(1, 2001), [0.55, 0.07])[:2] == [1100, 140]
    exact = np.array([2**53 + 1, 2**53 + 3, 2**53 + 5])  # amounts that a double cannot hold
    assert quantiles_of(exact)[1] == 2**53 + 3
