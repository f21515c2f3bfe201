"""Simulated fleets: reproducible, true to their own truth, and as their scenarios say."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np
import pytest

from wheelend import read_log, simulate
from wheelend.errors import BadCall
from wheelend.simulate import SCENARIOS, Process, Simulated, fleet, parameters
from wheelend.simulate._chance import Purpose, at_work, drift, share_at_work, stream
from wheelend.simulate._wear import depth_after

Table = dict[str, Any]
GROOVES = ("outer", "middle", "inner")
KEY = ("unit", "axle", "side", "dual")


@cache
def made(scenario: str = "typical", units: int = 12, years: float = 3.0, seed: int = 1, **changes: Any) -> Simulated:
    """A fleet that several tests look at."""
    return fleet(scenario, units, years, seed, **changes)


def same(a: Table, b: Table, rows_a: Any = slice(None), rows_b: Any = slice(None)) -> None:
    assert list(a) == list(b)
    for name in a:
        np.testing.assert_array_equal(np.asarray(a[name])[rows_a], np.asarray(b[name])[rows_b], err_msg=name)


def keys(table: Table) -> list[tuple[Any, ...]]:
    return list(zip(table["unit"], np.asarray(table["axle"]).tolist(), table["side"], table["dual"], strict=True))


def true_depths(s: Simulated) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.column_stack([s.truth.readings[f"depth_{g}"] for g in GROOVES])


# ---- streams


def test_a_seed_gives_one_fleet() -> None:
    one, again, other = fleet("nasty", 8, seed=3), fleet("nasty", 8, seed=3), fleet("nasty", 8, seed=4)
    same(one.readings, again.readings)
    same(one.truth.positions, again.truth.positions)
    assert not np.array_equal(one.truth.positions["due_day"], other.truth.positions["due_day"])


@pytest.mark.parametrize("scenario", ["typical", "rotating", "nasty"])
def test_a_unit_does_not_depend_on_how_many_there_are(scenario: str) -> None:
    few, many = made(scenario), fleet(scenario, 24, seed=1)
    known = set(few.truth.units["unit"])
    here = np.isin(many.truth.readings["unit"], list(known))
    same(few.readings, many.readings, rows_b=here)
    positions = np.isin(many.truth.positions["unit"], list(known))
    same(few.truth.positions, many.truth.positions, rows_b=positions)
    np.testing.assert_array_equal(few.truth.miles, many.truth.miles[: len(few.truth.miles)])


def test_a_longer_record_begins_as_a_shorter_one() -> None:
    short, long = fleet(units=8, years=1.0, seed=2), fleet(units=8, years=2.0, seed=2)
    until = long.readings["read_on"] <= np.datetime64(short.as_of)
    same(short.readings, long.readings, rows_b=until)
    assert until.sum() < len(until)


# ---- the truth holds together


def test_the_odometer_is_the_sum_of_the_miles() -> None:
    s = made()
    day = (s.readings["read_on"] - np.datetime64(s.first_day)).astype(int)
    checked = 0
    for unit, miles in zip(s.truth.units["unit"], s.truth.miles, strict=True):
        rows = np.flatnonzero((np.array(s.truth.readings["unit"]) == unit) & ~np.isnan(s.truth.readings["odometer_mi"]))
        if len(rows):
            run = np.concatenate([[0.0], np.cumsum(miles)])[day[rows]]
            true = s.truth.readings["odometer_mi"][rows]
            np.testing.assert_allclose(true - true[0], run - run[0], atol=1e-6)  # of 1e6 miles, doubles
            np.testing.assert_array_equal(s.readings["odometer_mi"][rows], np.floor(true))
            checked += len(rows)
    assert checked > 1000


@pytest.mark.parametrize("scenario", list(SCENARIOS))
def test_depth_never_grows_within_a_fitment(scenario: str) -> None:
    s = made(scenario)
    depths, fitment = true_depths(s), s.truth.readings["fitment"]
    order = np.lexsort((s.readings["read_on"], fitment))
    order = order[~np.isnan(depths[order, 0])]
    same_tire = fitment[order][1:] == fitment[order][:-1]
    assert (np.diff(depths[order], axis=0)[same_tire] <= 0).all()
    assert same_tire.sum() > 100


def test_due_day_is_when_the_path_simulated_onwards_reaches_the_limit() -> None:
    often = {"visit_days": 3.0, "visit_jitter_days": 0.0, "visit_missed": 0.0, "shop_days_at_most": 1}
    often |= {"pull_sd_32nds": 0.01, "pulled_in_pairs": 0.0}  # read once at the limit, then pulled
    now, later = (fleet("uneven", 12, years, seed=5, **often) for years in (1.5, 4.0))
    days_after = (later.readings["read_on"] - np.datetime64(now.as_of)).astype(int)
    shallowest = true_depths(later).min(axis=1)
    fitments = list(zip(keys(later.truth.fitments), later.truth.fitments["tire"], strict=True))
    p = now.truth.positions
    crossed = 0
    for key, tire, limit, depth, due in zip(
        keys(p), p["tire"], p["limit_32nds"], p["depth_32nds"], p["due_day"], strict=True
    ):
        assert (due == 0) == (depth <= limit)
        here = np.flatnonzero(later.truth.readings["fitment"] == fitments.index((key, tire)))
        above = days_after[here][shallowest[here] > limit]
        below = days_after[here][shallowest[here] <= limit]
        assert above.max(initial=0) <= due
        assert due <= below[below > 0].min(initial=10**6)
        crossed += bool(due > 0 and below.size)
    assert crossed > 15  # tires that were read on both sides of the limit, three days apart


def test_positions_are_those_of_the_fitments_without_an_end() -> None:
    s = made("rotating", units=24)
    f, p = s.truth.fitments, s.truth.positions
    last = np.flatnonzero(np.isnat(f["to"]))
    assert sorted(p["fitment"].tolist()) == last.tolist()
    assert [keys(f)[i] for i in p["fitment"]] == keys(p) == keys(s.positions)
    assert [f["tire"][i] for i in p["fitment"]] == p["tire"]
    assert {f["how_ended"][i] for i in last} == {""}
    for key in set(keys(f)):  # one tire after the other on each position
        mine = [i for i, k in enumerate(keys(f)) if k == key]
        np.testing.assert_array_equal(f["from"][mine[1:]], f["to"][mine[:-1]])


# ---- numbers


@pytest.mark.parametrize(
    ("role", "new", "least", "most"),
    [("steer", 18.0, 100e3, 150e3), ("drive", 30.0, 350e3, 500e3), ("trailer", 16.0, 200e3, 325e3)],
)
def test_the_middle_tire_lives_as_long_as_is_published(role: str, new: float, least: float, most: float) -> None:
    # Lives to 4/32: Truck News; Team Run Smart; Land Line 2009 (formulas 5.2)
    p = Process()
    run = np.linspace(0, 600e3, 600_001)
    depth = depth_after(p.curve, np.array(new), np.array(new), np.array(p.curve_strength), run / p.miles_per_32nd[role])
    assert least < run[np.argmax(depth <= 4.0)] < most


def test_the_straight_curve_is_the_published_one() -> None:
    # d(x) = (d0 + A/B) exp(-B x) - A/B, the curve of a rate A + B d (formulas 5.3, model 3)
    new, q = 28.0, 1.5
    a, b = 1 / (1 + q / 2), q / new / (1 + q / 2)
    x = np.linspace(0, 30, 7)
    expected = (20.0 + a / b) * np.exp(-b * x) - a / b
    np.testing.assert_allclose(depth_after("straight", np.array(20.0), np.array(new), np.array(q), x), expected)


@pytest.mark.parametrize(("curve", "rate"), [("straight", 1.5 / 1.3), ("two_phase", 1.6)])
def test_the_rate_of_a_curve(curve: str, rate: float) -> None:
    # At 25/30 of the new depth: (1 + q 5/6)/(1 + q/2) of the middle rate; in two phases 1 + q above 0.7, then 1
    new, q = np.array(30.0), np.array(0.6)
    slope = (25.0 - depth_after(curve, np.array(25.0), new, q, np.array(1e-6))) / 1e-6
    assert slope == pytest.approx(rate, rel=1e-5)
    at_half = (15.0 - depth_after(curve, np.array(15.0), new, q, np.array(1e-6))) / 1e-6
    assert at_half == pytest.approx(1.0, rel=1e-5)
    halfway = depth_after(curve, np.array(25.0), new, q, np.array(6.0))
    assert depth_after(curve, halfway, new, q, np.array(7.0)) == pytest.approx(
        float(depth_after(curve, np.array(25.0), new, q, np.array(13.0)))
    )


def test_errors_of_reading_have_their_spread() -> None:
    # Rounding to a step h adds h^2/12 (formulas 9.1, ME2: 9.0211 mil for 1/32 in); 3000 readings: 5 % are 3 s.e.
    s = made("clean", reading_sd_32nds=0.35)
    read = np.column_stack([s.readings[f"tread_{g}_32nds"] for g in GROOVES])
    error = (read - true_depths(s)).ravel()
    assert len(error) > 3000
    assert error.std() == pytest.approx(np.hypot(0.35, 9.0211 / 31.25), rel=0.05)
    assert abs(error.mean()) < 4 * 0.46 / np.sqrt(len(error))


def test_units_stand_idle_for_their_share() -> None:
    # Mean lengths: work 1/0.053, standing (0.05 * 2.5 + 0.003 * 14)/0.053: share 1/(1 + 0.125 + 0.042)
    p = Process()
    assert share_at_work(p, "trailer") == pytest.approx(1 / 1.167)
    days = [at_work(stream(1, u, Purpose.IDLE), 2000, p, "trailer") for u in range(60)]
    assert np.mean(days) == pytest.approx(1 / 1.167, abs=0.01)
    assert np.mean([d[0] for d in days]) > 0.7  # it begins as it goes on


def test_drift_has_its_spread_and_memory() -> None:
    # Stationary Ornstein-Uhlenbeck process: variance sd^2, correlation exp(-lag/relaxation)
    x = drift(stream(2, 0, Purpose.USE), 50_000, 0.1, 90.0)
    assert x.std() == pytest.approx(0.1, rel=0.1)
    assert np.corrcoef(x[:-13], x[13:])[0, 1] == pytest.approx(np.exp(-91 / 90), abs=0.05)


@pytest.mark.parametrize(("scenario", "step"), [("typical", 1.0), ("sparse", 0.5)])
def test_depths_are_written_on_the_step_of_the_gauge(scenario: str, step: float) -> None:
    s = made(scenario)
    depths = np.column_stack([s.readings[f"tread_{g}_{s.process.gauge}"] for g in GROOVES])
    good = np.array(s.truth.readings["slip"]) == ""
    depths = depths[good & ~np.isnan(depths[:, 0])]
    assert (np.mod(depths, step) == 0).all()
    assert len(np.unique(np.mod(depths, 2 * step))) == 2


def test_every_number_of_the_process_says_what_it_is() -> None:
    rows = parameters(Process())
    assert [r["name"] for r in rows] == [f.name for f in dataclasses.fields(Process)]
    assert [r["name"] for r in rows if not all(r[part].strip() for part in ("measure", "words", "origin"))] == []


# ---- scenarios


@pytest.mark.parametrize("scenario", list(SCENARIOS))
def test_read_log_takes_the_tables(scenario: str) -> None:
    s = made(scenario)
    log = read_log(s.readings, positions=s.positions, tires=s.tires)
    effects = set(log.issues["effect"])
    assert "row" not in effects
    assert len(log.positions) == len(s.truth.positions["unit"])
    if scenario == "clean":
        assert effects == set()


def test_clean_keeps_everything() -> None:
    s = made("clean")
    assert set(s.truth.readings["slip"]) == {""}
    assert None not in s.readings["tire"]
    assert not np.isnan(s.readings["odometer_mi"]).any()
    begun = np.array(s.truth.fitments["how_begun"])
    assert s.readings["event"].count("fitted") > 0.9 * (begun == "new").sum()


def test_short_is_four_months() -> None:
    s = made("short")
    assert (s.as_of - s.first_day).days == 122
    assert np.ptp(s.readings["read_on"]) <= np.timedelta64(122, "D")


def test_curved_bends_more() -> None:
    straight, curved = (np.median(made(name).truth.tires["curve_strength"]) for name in ("typical", "curved"))
    assert straight == pytest.approx(0.6, rel=0.2)
    assert curved == pytest.approx(2.5, rel=0.3)


def test_rotating_moves_tires() -> None:
    s = made("rotating", units=24)
    f = s.truth.fitments
    units: dict[str, set[str]] = {}
    for tire, unit in zip(f["tire"], f["unit"], strict=True):
        units.setdefault(tire, set()).add(unit)
    assert sum(len(u) > 1 for u in units.values()) > 5
    role = dict(zip(keys(s.positions), s.positions["role"], strict=True))
    made_for = dict(zip(s.truth.tires["tire"], s.truth.tires["role"], strict=True))
    moved = [(made_for[t], role[k]) for t, k in zip(f["tire"], keys(f), strict=True) if made_for[t] != role[k]]
    assert {m for m, _ in moved} == {"steer"}
    assert {r for _, r in moved} <= {"drive", "trailer"}
    assert "moved" not in made("typical").truth.fitments["how_ended"]


def test_uneven_axles_go_out_of_line() -> None:
    s = made("uneven", units=24)
    day = s.truth.axles["out_of_line_on"]
    share = 1 - np.isnat(day).mean()
    # 0.25 a year over three years: 1 - exp(-0.75) = 0.53 of 61 axles; 4 s.e. are 0.26
    assert abs(share - 0.53) < 0.26
    assert np.isnat(made("typical").truth.axles["out_of_line_on"]).all()

    def apart(of: Simulated) -> float:
        return float(np.nanmedian(np.abs(of.truth.readings["depth_outer"] - of.truth.readings["depth_inner"])))

    assert apart(s) > 1.5 * apart(made("typical"))


def test_sparse_reads_seldom_and_in_millimetres() -> None:
    s, typical = made("sparse"), made("typical")
    assert len(s.readings["unit"]) < 0.45 * len(typical.readings["unit"])
    assert {"tread_outer_mm", "tread_middle_mm", "tread_inner_mm"} <= set(s.readings)
    assert np.isnan(s.readings["odometer_mi"]).mean() > np.isnan(typical.readings["odometer_mi"]).mean()
    # 1/32 in = 0.79375 mm exactly (SP811): a drive tire is pulled at 2/32 and two more
    assert set(s.positions["pull_mm"]) == {6 * 0.79375, 4 * 0.79375}


def test_nasty_has_slips_of_every_kind() -> None:
    s = made("nasty", units=24)
    slips = np.array(s.truth.readings["slip"])
    assert set(slips) == {"", "other_measure", "digit", "swapped", "off_by_steps", "wrong_unit", "repeat"}
    assert set(s.readings["tire"]) == {None}
    assert s.tires is None
    written, true = np.array(s.readings["unit"]), np.array(s.truth.readings["unit"])
    np.testing.assert_array_equal(written != true, slips == "wrong_unit")
    exchanged = s.truth.units["exchanged_on"]
    assert (~np.isnat(exchanged)).any()


def test_rows_in_the_other_measure() -> None:
    # 1/32 in = 0.79375 mm (SP811). Written on whole numbers twice (a step each), error of reading up to four s.d.
    s = made("clean", wrong_measure=0.1)
    other = np.array(s.truth.readings["slip"]) == "other_measure"
    read = np.column_stack([s.readings[f"tread_{g}_32nds"] for g in GROOVES])[other]
    assert len(read) > 100
    np.testing.assert_allclose(read, 0.79375 * true_depths(s)[other], atol=0.79375 * (0.5 + 4 * 0.25) + 0.5)
    assert read.mean() < 0.82 * true_depths(s)[other].mean()


def test_low_pressure_wears_faster() -> None:
    low, full = made("wrong_pressure"), made("typical")
    np.testing.assert_array_equal(low.truth.miles, full.truth.miles)

    def of_first_tires(s: Simulated) -> dict[tuple[Any, ...], float]:
        """Middle groove of the tires that were there at the beginning, by position and day."""
        is_first = np.array(s.truth.fitments["how_begun"])[s.truth.readings["fitment"]] == "first"
        rows = np.flatnonzero(is_first).tolist()
        place, day = keys(s.readings), s.readings["read_on"]
        return {(place[i], day[i]): float(s.truth.readings["depth_middle"][i]) for i in rows}

    depth, depth_full = of_first_tires(low), of_first_tires(full)
    both = [key for key in depth if key in depth_full]
    assert len(both) > 1000
    more = [depth_full[key] - depth[key] for key in both]
    assert min(more) >= 0
    assert np.mean(more) > 0.1


def test_two_brands_stand_apart() -> None:
    tires = made("wrong_brands").truth.tires
    means = [tires["effect"][tires["brand"] == brand].mean() for brand in (0, 1)]
    assert means[1] - means[0] == pytest.approx(0.5, abs=0.08)


# ---- calls


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"scenario": "nice"}, "there is no scenario 'nice'; there are clean, typical"),
        ({"wear": 2.0}, "the process has no wear; it has"),
        ({"units": 0}, "units from 1"),
        ({"years": 0.0}, "years above 0"),
        ({"seed": -1}, "seed from 0"),
    ],
)
def test_bad_calls(arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(BadCall, match=message):
        fleet(**arguments)


# ---- the knowing forecaster


def test_the_knowing_forecaster_does_not_look_at_the_truth() -> None:
    s = made("nasty", units=4)
    draws = simulate.knows(s, draws=20)
    assert draws.shape == (len(s.truth.positions["unit"]), 20)
    hidden = {
        "positions": {"unit": s.truth.positions["unit"]},
        "tires": {name: s.truth.tires[name] for name in ("tire", "role", "brand")},
        "readings": {n: v for n, v in s.truth.readings.items() if not n.startswith("depth")},
        "units": {"unit": s.truth.units["unit"]},
        "axles": {name: s.truth.axles[name] for name in ("unit", "axle", "out_of_line_on")},
        "miles": np.zeros((0, 0)),
    }
    blind = dataclasses.replace(s, truth=dataclasses.replace(s.truth, **hidden))
    np.testing.assert_array_equal(simulate.knows(blind, draws=20), draws)


def test_the_knowing_forecaster_knows_what_it_does_not_know() -> None:
    # 100 positions, 12 units: the share within its 90 % has a standard error of some 5 % between units
    s = made("clean")
    due = s.truth.positions["due_day"]
    low, high = np.quantile(np.minimum(simulate.knows(s, draws=200), 3652.5), [0.05, 0.95], axis=1)
    assert 0.75 < ((low <= due) & (due <= high)).mean() < 1.0
