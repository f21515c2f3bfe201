"""The back-test on simulated fleets whose truth is known, what it hands back, and recalibration."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

import wheelend
from backtest_truth import ALL, UNITS, log_of, made, narrowed, share, tried, truth_levels
from wheelend import _people, dictionary
from wheelend._backtest import _cases, _scores, backtest_table
from wheelend._backtest._recalibrate import recalibrated_table
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT
from wheelend.log import day_number
from wheelend.verdicts import Selection

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
FILES = [f"--{name}={SAMPLE / name}.csv" for name in ("readings", "positions", "tires")]
SHARES = ("coverage_50", "coverage_90")
NOBODY = Selection(None, None, None)


def inside(t: Any, name: str) -> bool:
    return bool(t.table[f"{name}_low"][ALL] <= t.truth[name] <= t.table[f"{name}_high"][ALL])


# ---- against the truth


def test_coverage_agrees_with_the_truth_within_its_width() -> None:
    fleets = [tried("typical", seed) for seed in (11, 12, 13, 14)]
    hits = [inside(t, name) for t in fleets for name in SHARES]
    # 8 intervals at 95 %: fewer than 6 hits would happen to an honest one in 0.6 % of all cases
    assert sum(hits) >= 6, hits
    for name in SHARES:
        off = np.mean([t.table[name][ALL] - t.truth[name] for t in fleets])
        assert abs(off) < 0.05, name  # of four fleets together: no bias beyond a twentieth


def events_only(t: Any, low: float, high: float) -> float:
    """What somebody would say who looks only at the tires that were seen at their limit."""
    cases = t.cases.of(t.cases.seen)
    return float(np.mean((cases.low + cases.high) / 2 <= high) - np.mean((cases.low + cases.high) / 2 <= low))


def test_tires_that_leave_early_do_not_bias_it() -> None:
    # Damage at 1 a year takes two tires in three within a year, and knows nothing of wear (exp(-1) = 0.37 stay)
    lossy, whole = ([tried("typical", s, damage_per_year=d) for s in (21, 22)] for d in (1.0, 0.0))
    assert all(t.table["censored"][ALL] > 2 * t.table["events"][ALL] for t in lossy)
    hits = [inside(t, name) for t in lossy for name in (*SHARES, "before_p50")]
    assert sum(hits) >= 4, hits  # of 6 at 95 %: fewer happen to an honest one in 0.2 % of all cases

    def off(fleets: list[Any]) -> float:
        return float(np.mean([t.table["before_p50"][ALL] - t.truth["before_p50"] for t in fleets]))

    naive = np.mean([events_only(t, 0.0, 0.5) - t.truth["before_p50"] for t in lossy])
    assert naive > 0.1  # those that are seen are those that were due early
    assert abs(off(lossy) - off(whole)) < naive / 2  # what the removals add


@pytest.mark.parametrize("seed", [31, 32])
def test_a_forecaster_made_over_sure_is_found_out(seed: int) -> None:
    # That it is found out, not by how much: of four such fleets the 90 % interval covered 0.63, and 0.71 was shown.
    # What became of a tire is known less sharply than such a forecast says, which flatters it.
    sure = tried("typical", seed, narrow=0.5)
    assert sure.truth["coverage_90"] < 0.75
    assert sure.table["coverage_90_high"][ALL] < 0.9
    assert sure.table["coverage_50"][ALL] < 0.5


@pytest.mark.parametrize("seed", [31, 32])
def test_recalibrated_coverage_is_better(seed: int) -> None:
    t = tried("typical", seed, narrow=0.5)
    for name, level in (("50", 0.5), ("90", 0.9)):
        before, after = t.table[f"coverage_{name}"][ALL], t.table[f"recalibrated_{name}"][ALL]
        assert abs(after - level) < abs(before - level) / 2


@pytest.mark.parametrize("seed", [31, 32])
def test_recalibrated_due_dates_cover_days_to_come(seed: int) -> None:
    """The whole way: an over-sure forecaster, its back-test, and due dates of today against what then comes true."""
    s = made("typical", seed)
    by = pa.table(tried("typical", seed, narrow=0.5).table)
    now = narrowed(0.5)(log_of(s), None, DEFAULT, s.as_of, NOBODY)
    right = recalibrated_table(now, by)
    coverage = [share(truth_levels(s, UNITS, {}, s.as_of, t), 0.05, 0.95) for t in (now, right)]
    assert coverage[0] < 0.9
    assert abs(coverage[1] - 0.9) < abs(coverage[0] - 0.9) / 2


# ---- honesty of the replay and of the recalibration


def test_a_forecast_sees_nothing_after_its_day() -> None:
    s = made("typical", 11)
    day = s.first_day + dt.timedelta(days=500)
    early = s.readings["read_on"] <= np.datetime64(day)
    cut = {name: np.asarray(values, object)[early].tolist() for name, values in s.readings.items()}
    cut["read_on"] = [str(d) for d in s.readings["read_on"][early]]
    alone = wheelend.read_log(cut, positions=s.positions, tires=s.tires)
    in_all = _cases.forecast(log_of(s), None, DEFAULT, day, NOBODY)
    assert in_all.equals(_cases.forecast(alone, None, DEFAULT, day, NOBODY))


def test_outcomes_come_from_readings_up_to_as_of() -> None:
    s = made("typical", 11)
    day = s.first_day + dt.timedelta(days=700)
    early = s.readings["read_on"] <= np.datetime64(day)
    cut = {name: np.asarray(values, object)[early].tolist() for name, values in s.readings.items()}
    cut["read_on"] = [str(d) for d in s.readings["read_on"][early]]
    alone = wheelend.read_log(cut, positions=s.positions, tires=s.tires)
    in_all = wheelend.backtest(log_of(s), every=120, as_of=day)
    same = wheelend.backtest(alone, every=120, as_of=day)
    for name in in_all:
        np.testing.assert_array_equal(in_all[name], same[name], err_msg=name)


def test_no_unit_is_scored_by_a_map_that_it_had_a_part_in() -> None:
    cases = tried("typical", 11).cases
    unit = cases.unit == np.unique(cases.unit)[3]
    right = _scores.cross_fitted(cases)
    other = _scores.cross_fitted(
        replace(cases, low=np.where(unit, 0.96, cases.low), high=np.where(unit, 1.0, cases.high))
    )
    assert right is not None
    assert other is not None
    # What became of this unit moves others, and not its own: as mapped, its levels depend on its outcomes alone
    changed = cases.of(unit)
    level = np.column_stack([right.low[unit], right.high[unit]])
    again = _scores.cross_fitted(replace(cases, middle=np.where(unit, np.nan, cases.middle)))
    assert again is not None
    np.testing.assert_array_equal(level, np.column_stack([again.low[unit], again.high[unit]]))
    assert (right.low[~unit] != other.low[~unit]).any()
    assert not np.allclose(level[:, 0], changed.low)


def test_few_tires_leave_the_forecast_as_it_is() -> None:
    cases = tried("typical", 11, narrow=0.5).cases
    first_tire = cases.tire == cases.tire[cases.seen][0]
    few, many = _scores.map_of(cases.of(first_tire))[ALL], _scores.map_of(cases)[ALL]
    off = [np.abs(m - _scores.NO_MAP).max() for m in (few, many)]
    assert off[0] < 1 / (1 + _scores.PRIOR_TIRES)  # one tire against the forecast's own word
    assert off[1] > 0.1
    none = _scores.map_of(cases.of(~cases.seen))[ALL]
    np.testing.assert_array_equal(none, _scores.NO_MAP)


def test_several_forecasts_of_one_tire_are_not_several_witnesses() -> None:
    """Each case five times over: the shares stay, and so do their intervals."""
    cases = tried("typical", 11).cases
    cases = cases.of(cases.unit < np.unique(cases.unit)[10])
    rows = np.tile(np.arange(len(cases.unit)), 5)
    once, again = _scores.scores(cases)[ALL], _scores.scores(cases.of(rows))[ALL]
    for a, b in ((once.coverage_90, again.coverage_90), (once.coverage_50, again.coverage_50)):
        assert (a.value, a.low, a.high) == pytest.approx((b.value, b.low, b.high), abs=1e-4)  # of the iteration


def test_order_of_rows_changes_nothing() -> None:
    s = made("typical", 11)
    order = np.random.default_rng(1).permutation(len(s.readings["read_on"]))
    turned = {n: v[order] if isinstance(v, np.ndarray) else [v[i] for i in order] for n, v in s.readings.items()}
    told: dict[dt.date, pa.Table] = {}

    def once(*arguments: Any) -> pa.Table:
        """The same forecasts for both, so that it is the back-test that is looked at."""
        return told.setdefault(arguments[3], _cases.forecast(*arguments))

    logs = (log_of(s), wheelend.read_log(turned, positions=s.positions, tires=s.tires))
    here, there = (backtest_table(log, 200, None, None, DEFAULT, None, NOBODY, once) for log in logs)
    assert here.equals(there)


# ---- what it hands back


@pytest.fixture(scope="module")
def sample() -> wheelend.Log:
    return wheelend.read_log(SAMPLE / "readings.csv", SAMPLE / "positions.csv", SAMPLE / "tires.csv")


@pytest.fixture(scope="module")
def found(sample: wheelend.Log) -> pa.Table:
    table = wheelend.backtest(sample)
    assert isinstance(table, pa.Table)
    return table


def test_columns_are_those_of_the_dictionary(found: pa.Table) -> None:
    assert found.column_names == [c.name for c in dictionary.RESULTS["backtest"]]
    assert found["readings"].to_pylist() == ["1", "2", "3-6", "7+", "all"]


def test_counts_add_up(found: pa.Table) -> None:
    for name in ("forecasts", "events", "censored"):
        of = found[name].to_pylist()
        assert sum(of[:ALL]) == of[ALL]
    assert all(e + c == n for e, c, n in zip(*(found[x].to_pylist() for x in ("events", "censored", "forecasts")),
                                            strict=True))  # fmt: skip
    for row in found.to_pylist():
        assert (row["coverage_90"] is None) == (row["events"] == 0)
        if row["events"]:
            assert row["coverage_90_low"] <= row["coverage_90"] <= row["coverage_90_high"]
        else:
            assert "no tire" in row["reason"]


def test_part_of_the_fleet_and_days_of_ones_own(sample: wheelend.Log, found: pa.Table) -> None:
    north = wheelend.backtest(sample, site="North")
    assert 0 < north["forecasts"][ALL].as_py() < found["forecasts"][ALL].as_py()
    last = day_number(sample.last_day)
    cuts = [dt.date(1970, 1, 1) + dt.timedelta(days=d) for d in _cases.cut_days(sample, 90, None, last)]
    assert wheelend.backtest(sample, cuts=cuts).equals(found)
    assert wheelend.backtest(sample, cuts=cuts[-1].isoformat())["forecasts"][ALL].as_py() > 0
    one = wheelend.backtest(sample, unit=sample.units[0])
    assert one["coverage_90_low"].null_count == len(one)


@pytest.mark.parametrize(
    ("how", "words"),
    [({"every": 0}, "every"), ({"every": 400}, "record"), ({"cuts": []}, "cuts"), ({"cuts": ["2020-01-01"]}, "cuts"),
     ({"cuts": ["2026-02-27"]}, "cuts"), ({"cuts": ["soon"]}, "YYYY-MM-DD")],
)  # fmt: skip
def test_bad_calls(sample: wheelend.Log, how: dict[str, Any], words: str) -> None:
    with pytest.raises(BadCall, match=words):
        wheelend.backtest(sample, **how)


def test_words_for_people_fit_the_screen(found: pa.Table) -> None:
    lines = _people.backtest_lines(found)
    assert lines[0].split()[:3] == ["READINGS", "CASES", "SEEN"]
    assert max(map(len, lines)) <= 80
    assert [line.split()[0] for line in lines[1:6]] == ["1", "2", "3-6", "7+", "all"]


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "wheelend", *arguments], capture_output=True, text=True, check=False)


def test_from_the_command_line(found: pa.Table, tmp_path: Path) -> None:
    shown = run("backtest", *FILES)
    assert (shown.returncode, "rows" in shown.stderr) == (0, False)  # no progress where stderr is no terminal
    assert shown.stdout.splitlines() == _people.backtest_lines(found)
    file = tmp_path / "backtest.csv"
    assert run("backtest", *FILES, "-o", str(file)).returncode == 0
    out = run("wear", *FILES, "--recalibrate", str(file), "-o", str(tmp_path / "wear.csv"))
    assert out.returncode == 0, out.stderr
    with (tmp_path / "wear.csv").open(encoding="utf-8", newline="") as rows:
        assert all("recalibrated" in row["reason"] for row in csv.DictReader(rows))
    assert run("backtest", *FILES, "--cut", "2020-01-01").returncode == 2
    assert run("backtest", *FILES, "--cut", "someday").returncode == 2
    (tmp_path / "other.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    refused = run("wear", *FILES, "--recalibrate", str(tmp_path / "other.csv"))
    assert refused.returncode == 2
    assert "wheelend.backtest" in refused.stderr
    assert run("wear", *FILES, "--recalibrate", str(tmp_path / "none.csv")).returncode == 3


# ---- recalibrate

AS_IT_IS = {f"level_for_p{int(100 * level):02d}": level for level in _scores.LEVELS}


def by_levels(**level: float) -> pa.Table:
    names = [name for name, _, _ in _scores.GROUPS]
    return pa.table({"readings": names, **{n: [float(v)] * len(names) for n, v in {**AS_IT_IS, **level}.items()}})


def test_levels_as_they_are_change_nothing(sample: wheelend.Log) -> None:
    wear = wheelend.wear(sample)
    same = wheelend.recalibrate(wear, by_levels())
    for name in wear.column_names:
        if name.startswith(("remaining_", "due_")):
            for a, b in zip(wear[name].to_pylist(), same[name].to_pylist(), strict=True):
                assert b == (pytest.approx(a, rel=1e-12) if isinstance(a, float) else a), name
    assert all("recalibrated" in r for r in same["reason"].to_pylist())


def test_wider_levels_give_wider_dates(sample: wheelend.Log) -> None:
    wear = wheelend.wear(sample)
    asked = {"level_for_p05": 0.02, "level_for_p10": 0.05, "level_for_p25": 0.10}
    asked |= {"level_for_p90": 0.96, "level_for_p95": 0.99}
    wide = wheelend.recalibrate(wear, by_levels(**asked))
    before, after = wear.to_pylist(), wide.to_pylist()
    spread = 0
    for a, b in zip(before, after, strict=True):
        assert b["remaining_days_p50"] == pytest.approx(a["remaining_days_p50"]) or a["remaining_days_p50"] is None
        if a["remaining_days_p05"] and a["remaining_days_p95"] and b["remaining_days_p95"]:
            assert b["remaining_days_p05"] < a["remaining_days_p05"]
            assert b["remaining_days_p95"] > a["remaining_days_p95"]
            assert b["remaining_days_p25"] == pytest.approx(a["remaining_days_p10"])
            ahead = int(np.floor(b["remaining_days_p05"]))
            assert b["due_p05"] == sample.last_day + dt.timedelta(days=ahead)
            spread += 1
    assert spread > 100


def test_tables_of_every_kind(sample: wheelend.Log) -> None:
    import polars

    by, wear = by_levels(level_for_p95=0.97), wheelend.wear(sample)
    want = wheelend.recalibrate(wear, by)
    assert polars.from_arrow(want).equals(wheelend.recalibrate(polars.from_arrow(wear), polars.from_arrow(by)))
    pandas = wheelend.recalibrate(wear.to_pandas(), by.to_pandas())
    assert pa.Table.from_pandas(pandas, preserve_index=False)["due_p50"].to_pylist() == want["due_p50"].to_pylist()
    columns = {n: wear[n].to_numpy(zero_copy_only=False) for n in wear.column_names}
    as_dict = wheelend.recalibrate(columns, {n: by[n].to_numpy(zero_copy_only=False) for n in by.column_names})
    np.testing.assert_array_equal(as_dict["remaining_days_p50"], want["remaining_days_p50"].to_numpy())


def test_what_cannot_be_recalibrated_says_so(sample: wheelend.Log) -> None:
    wear, by = wheelend.wear(sample), by_levels()
    for bad, words in (
        ((wear, by.drop_columns(["level_for_p10"])), "level_for_p10"),
        ((wear.drop_columns(["due_p50"]), by), "due_p50"),
        ((wheelend.recalibrate(wear, by), by), "before"),
        ((wear, by.slice(0, 3)), re.escape("7+")),
        ((wear, by_levels(level_for_p10=0.04)), "rise"),
        ((wear, io.StringIO("")), "by: expected a table"),
    ):
        with pytest.raises(BadCall, match=words):
            wheelend.recalibrate(*bad)
