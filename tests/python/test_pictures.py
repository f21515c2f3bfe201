"""Pictures: their tables against the functions they come from, and what can be seen of a drawing without eyes."""

from __future__ import annotations

import csv
import datetime as dt
import os
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any

os.environ.setdefault("MPLBACKEND", "Agg")

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
import pyarrow as pa
import pytest
from matplotlib.axes import Axes

import wheelend
from wheelend import dictionary, pictures
from wheelend._commands.pictures import NAMES
from wheelend.pictures import _axes
from wheelend.pictures._command import PICTURES

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
FILES = [f"--{name}={SAMPLE / name}.csv" for name in ("readings", "positions", "tires")]
PRICES = f"--prices={SAMPLE / 'prices.csv'}"
LEVELS = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
TIRE: dict[str, Any] = {"unit": "T106", "axle": 1, "side": "left"}  # a steer tire of the sample, with odometer
BY_TIME: dict[str, Any] = {"unit": "V401", "axle": 2, "side": "right", "dual": "outer"}  # a trailer without


@pytest.fixture(scope="module")
def fleet() -> wheelend.Log:
    tables = [SAMPLE / f"{name}.csv" for name in ("readings", "positions", "tires")]
    return wheelend.read_log(*tables, prices=SAMPLE / "prices.csv")


@pytest.fixture(scope="module")
def tables(fleet: wheelend.Log) -> dict[str, pa.Table]:
    how: dict[str, dict[str, Any]] = {"depth": TIRE, "due": {"most": 30}, "across": {"site": "North"}}
    return {name: PICTURES[name].data(fleet, **how.get(name, {})) for name in PICTURES}


@pytest.fixture(autouse=True)
def no_figure_stays() -> Any:
    yield
    plt.close("all")


def small(rows: int = 1, measure: str = "32nds", wear: float = 0.5, **more: list[str]) -> wheelend.Log:
    """One tire of a truck, read every 30 days, a little more worn each time."""
    days = [(dt.date(2025, 1, 1) + dt.timedelta(days=30 * i)).isoformat() for i in range(rows)]
    table: dict[str, list[str]] = {
        "unit": ["U1"] * rows, "kind": ["truck"] * rows, "role": ["drive"] * rows, "axle": ["2"] * rows,
        "side": ["left"] * rows, "dual": ["single"] * rows, "read_on": days,
        f"tread_outer_{measure}": [f"{16 - wear * i:g}" for i in range(rows)],
        f"tread_inner_{measure}": [f"{16 - 0.8 * wear * i:g}" for i in range(rows)],
    }  # fmt: skip
    return wheelend.read_log(table | more)


def rows_of(table: Any) -> list[dict[str, Any]]:
    if isinstance(table, dict):
        table = pa.table(table)
    return list(table.to_pylist())


# ---- tables


@pytest.mark.parametrize("name", PICTURES)
def test_columns_are_those_of_the_data_dictionary(name: str, tables: dict[str, pa.Table]) -> None:
    known = []
    for column in dictionary.RESULTS[f"{name}_data"]:
        label = "mi" if column.name.startswith("odometer") else "psi" if name == "pressure" else "32nds"
        known.append(column.name.replace("<m>", label))
    assert tables[name].column_names == known


@pytest.fixture(scope="module")
def wear_of_tire(fleet: wheelend.Log) -> dict[str, Any]:
    return next(r for r in wheelend.wear(fleet, unit="T106").to_pylist() if (r["axle"], r["side"]) == (1, "left"))


def test_dates_at_the_limit_are_those_of_wear(tables: dict[str, pa.Table], wear_of_tire: dict[str, Any]) -> None:
    due = [r for r in tables["depth"].to_pylist() if r["what"] == "due"]
    assert [r["on"] for r in due] == [wear_of_tire[f"due_{p}"] for p in LEVELS]
    days = [wear_of_tire[f"remaining_days_{p}"] for p in LEVELS]
    assert [r["days"] for r in due] == pytest.approx(days, abs=1e-6)  # a day number was added and taken off
    assert {r["depth_32nds"] for r in due} == {wear_of_tire["limit_32nds"]}


@pytest.mark.parametrize("depth", [5, 6, 7])
def test_the_fan_at_a_depth_is_what_wear_says_of_that_limit(
    fleet: wheelend.Log, tables: dict[str, pa.Table], depth: int
) -> None:
    # Another call of the engine, with that depth as its limit, knows nothing of the fan.
    there = wheelend.wear(fleet, unit="T106", limit=f"{depth}/32 in").to_pylist()
    row = next(r for r in there if (r["axle"], r["side"]) == (1, "left"))
    fan = [r for r in tables["depth"].to_pylist() if r["what"] == "forecast"]
    for level, name in zip((0.05, 0.10, 0.25, 0.5, 0.75, 0.9, 0.95), LEVELS, strict=True):
        curve = sorted((r["depth_32nds"], r["days"], r["odometer_mi"]) for r in fan if r["level"] == level)
        at = [c[0] for c in curve]
        # Between two depths that were asked (1/500 in apart) the date is a straight line to within a tenth of a day.
        assert np.interp(depth, at, [c[1] for c in curve]) == pytest.approx(row[f"remaining_days_{name}"], abs=0.1)
        now = next(r["odometer_mi"] for r in tables["depth"].to_pylist() if r["what"] == "as of")
        far = np.interp(depth, at, [c[2] for c in curve]) - now
        assert far == pytest.approx(row[f"remaining_mi_{name}"], abs=30)


def test_a_tire_loses_depth_on_every_curve_of_its_fan(tables: dict[str, pa.Table]) -> None:
    fan = [r for r in tables["depth"].to_pylist() if r["what"] == "forecast"]
    for level in {r["level"] for r in fan}:
        curve = [(r["days"], r["depth_32nds"]) for r in fan if r["level"] == level]
        days, depths = zip(*curve, strict=True)
        assert list(days) == sorted(days)
        assert list(depths) == sorted(depths, reverse=True)


def test_points_are_the_readings_of_the_file(tables: dict[str, pa.Table]) -> None:
    read = {}
    with (SAMPLE / "readings.csv").open(encoding="utf-8") as f:
        for row in csv.DictReader(f):
            if (row["unit"], row["axle"], row["side"]) == ("T106", "1", "left"):
                grooves = [row[f"tread_{g}_32nds"] for g in ("outer", "middle", "inner")]
                read[row["read_on"]] = (min(float(g) for g in grooves if g), row["odometer_mi"])
    points = [r for r in tables["depth"].to_pylist() if r["what"] in ("read", "in doubt")]
    assert len(points) > 5
    for p in points:
        depth, odometer = read[p["on"].isoformat()]
        assert p["depth_32nds"] == pytest.approx(depth)
        assert p["odometer_mi"] == pytest.approx(float(odometer))


def test_readings_at_the_position_where_the_tire_was_before(fleet: wheelend.Log) -> None:
    # T108: the tires of axles 2 and 3, left outer, change places on 2025-07-24 (ABOUT.md of the sample).
    found = pictures.depth_data(fleet, unit="T108", axle=2, side="left", dual="outer").to_pylist()
    before = {r["on"].isoformat(): r["depth_32nds"] for r in found if r["what"] == "read elsewhere"}
    with (SAMPLE / "readings.csv").open(encoding="utf-8") as f:
        rows = [r for r in csv.DictReader(f) if (r["unit"], r["side"], r["dual"]) == ("T108", "left", "outer")]
    there = {
        r["read_on"]: min(float(r[f"tread_{g}_32nds"]) for g in ("outer", "middle", "inner"))
        for r in rows
        if r["axle"] == "3" and r["read_on"] < "2025-07-24"
    }
    assert before == there
    after = [r["on"].isoformat() for r in found if r["what"] == "read"]
    assert after == sorted({r["read_on"] for r in rows if r["axle"] == "2" and r["read_on"] >= "2025-07-24"})


def test_a_fan_that_is_cut_by_the_horizon_ends_where_its_first_curve_does() -> None:
    slow = small(8, wear=0.05)  # from 16/32 in: 320 months to nothing
    table = pictures.depth_data(slow, limit="1/32 in")
    days = [r["days"] for r in rows_of(table) if r["what"] == "forecast"]
    assert max(days) <= 3653  # ten years, the horizon of the data dictionary
    lowest = {r["level"]: r["depth_32nds"] for r in rows_of(table) if r["what"] == "forecast"}
    assert lowest[0.95] > 1  # the last of each level: this curve is cut above the limit
    ax = pictures.plot_depth(table)
    _no_text_in_the_way(ax)
    last = min(end["days"] for end in (c[-1] for c in _curves(table).values()) if end["depth_32nds"] > 0)
    assert ax.get_xlim()[1] == pytest.approx(_day_number(slow.last_day) + last, abs=1)


def _curves(table: Any) -> dict[float, list[dict[str, Any]]]:
    """Of each level that is drawn: its points, from now on."""
    rows = [r for r in rows_of(table) if r["what"] == "forecast" and r["level"] in (0.05, 0.25, 0.5, 0.75, 0.95)]
    return {level: [r for r in rows if r["level"] == level] for level in {r["level"] for r in rows}}


def _day_number(day: dt.date) -> int:
    return (day - dt.date(1970, 1, 1)).days


def test_without_a_position_the_tire_due_soonest_is_drawn(fleet: wheelend.Log) -> None:
    rows = wheelend.wear(fleet, group="city").to_pylist()
    ahead = [r for r in rows if r["remaining_days_p50"]]
    soonest = min(ahead, key=lambda r: r["remaining_days_p50"])
    drawn = pictures.depth_data(fleet, group="city").to_pylist()[0]
    place = ("unit", "axle", "side", "dual")
    assert [drawn[p] for p in place] == [soonest[p] for p in place]


def test_due_dates_are_those_of_wear_soonest_first(fleet: wheelend.Log) -> None:
    rows = wheelend.wear(fleet, site="South").to_pylist()
    found = pictures.due_data(fleet, site="South").to_pylist()
    assert sorted(r["due_p50"] for r in rows if r["due_p50"]) == [r["due_p50"] for r in found]
    assert len(found) + found[0]["later"] == len(rows)
    at_limit = sum(r["status"] == "at_limit" for r in rows)
    assert [r["state"] for r in found].count("at its limit") == at_limit
    soon = sum(0 < (r["remaining_days_p50"] or 0) <= 30 for r in rows)
    assert [r["state"] for r in found].count("due within 30 days") == soon


def test_pressures_are_those_of_pressures(fleet: wheelend.Log, tables: dict[str, pa.Table]) -> None:
    found = [r for r in tables["pressure"].to_pylist() if r["what"] == "read"]
    place = {p: found[0][p] for p in ("unit", "axle", "side", "dual")}
    rows = wheelend.pressures(fleet, all=True, unit=place["unit"]).to_pylist()
    mine = [r for r in rows if all(r[p] == word for p, word in place.items())]
    shared = ("read_on", "pressure_psi", "cold_psi", "target_psi", "state")
    assert [[r[c] for c in shared] for r in found] == [[r[c] for c in shared] for r in mine]
    # 5 psi about the target (FMCSA survey of 2003), and 80 % of it (29 CFR 1910.177(f)): pressure_states.csv
    for r in found:
        assert (r["low_psi"], r["high_psi"]) == (r["target_psi"] - 5, r["target_psi"] + 5)
        assert r["demount_psi"] == pytest.approx(0.8 * r["target_psi"])


def test_the_pressure_furthest_below_is_drawn(fleet: wheelend.Log, tables: dict[str, pa.Table]) -> None:
    last = wheelend.pressures(fleet).to_pylist()
    worst = min((r for r in last if r["deviation_percent"] is not None), key=lambda r: r["deviation_percent"])
    drawn = [r for r in tables["pressure"].to_pylist() if r["what"] == "read"][-1]
    assert [drawn[p] for p in ("unit", "axle", "side", "dual")] == [worst[p] for p in ("unit", "axle", "side", "dual")]


LEAK: dict[str, Any] = {"unit": "V405", "axle": 1, "side": "right", "dual": "outer"}  # ABOUT.md: 5.5 psi a month


def test_alarms_and_dates_to_come_are_those_of_leaks(fleet: wheelend.Log) -> None:
    found = pictures.pressure_data(fleet, **LEAK).to_pylist()
    of_tire = [r for r in wheelend.leaks(fleet).to_pylist() if all(r[k] == v for k, v in LEAK.items())]
    assert {(r["leak"], r["rate_psi_per_month"]) for r in found} == {
        (of_tire[0]["state"], of_tire[0]["rate_psi_per_month"])
    }
    raised = [a for a in wheelend.leaks(fleet, alarms=True).to_pylist() if all(a[k] == v for k, v in LEAK.items())]
    assert raised
    assert {r["read_on"]: r["alarm"] for r in found if r["alarm"]} == {a["alarmed_on"]: a["reason"] for a in raised}
    to_80 = [r["read_on"] for r in found if r["what"] == "falls to" and r["cold_psi"] == pytest.approx(80)]
    assert to_80 == [of_tire[0][f"below_80_on_{p}"] for p in LEVELS if of_tire[0][f"below_80_on_{p}"] is not None]


def test_a_leak_is_drawn_with_its_alarms_and_dates(fleet: wheelend.Log) -> None:
    ax = pictures.plot_pressure(pictures.pressure_data(fleet, **LEAK))
    _no_text_in_the_way(ax)
    assert "leak, about" in ax.get_title(loc="left")
    words = [t.get_text() for t in ax.get_legend().get_texts()]
    assert {"leak alarm on that day", "falls to it if nobody fills it"} <= set(words)


def test_refills_are_those_of_the_file(fleet: wheelend.Log) -> None:
    with (SAMPLE / "readings.csv").open(encoding="utf-8") as f:
        row = next(r for r in csv.DictReader(f) if r["inflated_to_psi"] and r["dual"] == "single")
    found = pictures.pressure_data(fleet, unit=row["unit"], axle=int(row["axle"]), side=row["side"]).to_pylist()
    set_to = {r["read_on"].isoformat(): r["inflated_to_psi"] for r in found}
    assert set_to[row["read_on"]] == float(row["inflated_to_psi"])


def test_grooves_are_the_mean_of_their_places() -> None:
    readings = {
        "unit": ["U1"] * 4, "kind": ["truck"] * 4, "role": ["drive"] * 4, "axle": ["2"] * 4, "side": ["left"] * 4,
        "dual": ["single"] * 4, "read_on": ["2025-01-01", "2025-01-01", "2025-03-01", "2025-05-01"],
        "place": ["1", "2", "1", "1"], "tread_outer_mm": ["12", "13", "11", "10"],
        "tread_inner_mm": ["12", "12", "", "9"],
    }  # fmt: skip
    found = rows_of(pictures.across_data(wheelend.read_log(readings)))
    assert [(str(r["read_on"])[:10], r["groove"], round(r["depth_mm"], 9)) for r in found] == [
        ("2025-01-01", "outer", 12.5), ("2025-01-01", "inner", 12.0), ("2025-03-01", "outer", 11.0),
        ("2025-05-01", "outer", 10.0), ("2025-05-01", "inner", 9.0),
    ]  # fmt: skip
    assert [r["at_percent"] for r in found[:2]] == [25.0, 75.0]  # evenly spread, since the file does not say


def test_demand_is_that_of_demand(fleet: wheelend.Log, tables: dict[str, pa.Table]) -> None:
    there = wheelend.demand(fleet).to_pylist()
    drawn = tables["demand"].to_pylist()
    shared = ("month", "days", "tires_p10", "tires_p50", "tires_p90", "tires_mean")
    assert [[r[c] for c in shared] for r in drawn] == [[r[c] for c in shared] for r in there]
    # Quantiles of the sum lie within the sums of the quantiles: the months are not all low or all high together.
    first = drawn[0]
    assert sum(r["tires_p10"] for r in there) < first["total_p10"] <= first["total_p50"] <= first["total_p90"]
    assert first["total_p90"] < sum(r["tires_p90"] for r in there)


def test_spend_is_that_of_demand_with_prices(fleet: wheelend.Log, tables: dict[str, pa.Table]) -> None:
    there = wheelend.demand(fleet).to_pylist()
    drawn = tables["spend"].to_pylist()
    shared = ("month", "currency", "spend_p10", "spend_p50", "spend_p90", "spend_mean", "unpriced_mean")
    assert [[r[c] for c in shared] for r in drawn] == [[r[c] for c in shared] for r in there]
    first = drawn[0]
    assert sum(r["spend_p10"] for r in there) < first["total_p10"] <= first["total_p90"]
    assert first["total_p90"] < sum(r["spend_p90"] for r in there)


def test_currencies_are_not_added(tables: dict[str, pa.Table]) -> None:
    two = tables["spend"].to_pydict()
    two["currency"] = ["CAD", *two["currency"][1:]]
    with pytest.raises(wheelend.BadCall, match="several currencies"):
        pictures.plot_spend(pa.table(two))


def test_spend_without_prices_says_what_to_give(run: Callable[..., Any], tmp_path: Path) -> None:
    done = run("picture", "spend", *FILES, "-o", tmp_path / "a.png")
    assert done.code == 2
    assert "--prices" in done.err


def test_groups_of_demand_are_not_drawn_over_each_other(fleet: wheelend.Log) -> None:
    by_site = wheelend.demand(fleet, months=3, by="site", draws=50)
    with pytest.raises(wheelend.BadCall, match="has groups"):
        pictures.plot_demand(by_site)
    north = by_site.filter(pa.array([s == "North" for s in by_site["site"].to_pylist()]))
    assert pictures.plot_demand(north).get_ylabel() == "tires a month"


@pytest.mark.parametrize("months", [1, 13, 30, 90])
def test_months_can_be_read_however_many(months: int) -> None:
    first = dt.date(2026, 2, 1)
    dates = [dt.date(first.year + (1 + i) // 12, (1 + i) % 12 + 1, 1) for i in range(months)]
    number = list(range(months))
    table = {
        "month": pa.array(dates, pa.date32()), "days": [3, *[30] * (months - 1)], "tires_p10": number,
        "tires_p50": number, "tires_p90": [n + 3 for n in number], "tires_mean": [float(n) for n in number],
    }  # fmt: skip
    ax = pictures.plot_demand(table)
    _no_text_in_the_way(ax)
    assert ax.get_xticklabels()[0].get_text().endswith("2026")


def test_coverage_is_that_of_the_backtest(fleet: wheelend.Log, tables: dict[str, pa.Table]) -> None:
    rows = {r["readings"]: r for r in wheelend.backtest(fleet).to_pylist()}
    for r in tables["coverage"].to_pylist():
        name = {"within p25 to p75": "coverage_50", "within p05 to p95": "coverage_90", "before p50": "before_p50"}
        there = rows[r["readings"]]
        assert [r["found"], r["low"], r["high"]] == [there[name[r["share"]] + end] for end in ("", "_low", "_high")]
        assert r["tires"] == there["tires"]


# ---- drawings


@pytest.mark.parametrize("name", PICTURES)
def test_axes_say_what_they_measure(name: str, tables: dict[str, pa.Table]) -> None:
    ax = PICTURES[name].plot(tables[name])
    words = {
        "depth": ("odometer, mi", "shallowest groove, 1/32 in"), "due": ("", ""), "pressure": ("", "psi, gauge"),
        "demand": ("", "tires a month"), "spend": ("", "USD a month"),
        "across": ("groove, from the outer to the inner edge", "depth, 1/32 in"),
        "coverage": ("readings of the tire when it was forecast", "percent of outcomes"),
    }  # fmt: skip
    assert ax.get_title(loc="left")
    assert ax.get_xlabel().startswith(words[name][0])
    assert ax.get_ylabel() == words[name][1]


@pytest.mark.parametrize("name", PICTURES)
def test_text_is_neither_cut_off_nor_written_over(name: str, tables: dict[str, pa.Table]) -> None:
    _no_text_in_the_way(PICTURES[name].plot(tables[name]))


def _no_text_in_the_way(ax: Axes) -> None:
    figure = ax.get_figure()
    figure.canvas.draw()
    inside = figure.bbox
    title = ax.title if ax.title.get_text() else ax._left_title
    shown = [*_tick_labels(ax.xaxis), *_tick_labels(ax.yaxis)]
    legend = ax.get_legend()
    texts = [title, ax.xaxis.label, ax.yaxis.label, *shown, *(legend.get_texts() if legend else []), *ax.texts]
    boxes = [(t.get_text(), t.get_window_extent()) for t in texts if t.get_text()]
    assert len(boxes) > 3
    for words, box in boxes:
        assert inside.x0 - 1 <= box.x0, words
        assert box.x1 <= inside.x1 + 1, words
        assert inside.y0 - 1 <= box.y0, words
        assert box.y1 <= inside.y1 + 1, words
    for (one, a), (other, b) in combinations(boxes, 2):
        overlap = min(a.x1, b.x1) - max(a.x0, b.x0) > 1 and min(a.y1, b.y1) - max(a.y0, b.y0) > 1
        assert not overlap, (one, other)


def _tick_labels(axis: Any) -> list[Any]:
    low, high = sorted(axis.get_view_interval())
    room = 1e-9 * (high - low)
    return [t.label1 for t in axis.get_major_ticks() if low - room <= t.get_loc() <= high + room]


@pytest.mark.parametrize("name", PICTURES)
def test_it_draws_on_the_axes_given_and_changes_no_style(name: str, tables: dict[str, pa.Table]) -> None:
    figure, (mine, other) = plt.subplots(1, 2)
    before = dict(mpl.rcParams)
    assert PICTURES[name].plot(tables[name], ax=mine) is mine
    assert dict(mpl.rcParams) == before
    assert plt.get_fignums() == [figure.number]
    assert not other.has_data()


@pytest.mark.parametrize("name", PICTURES)
def test_it_draws_nothing_but_its_table(name: str, tables: dict[str, pa.Table]) -> None:
    empty = tables[name].slice(0, 0)
    ax = PICTURES[name].plot(empty)
    assert len(ax.texts) == 1  # says why there is nothing
    assert not ax.lines
    assert not ax.collections


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("kind", ["pandas", "polars", "dict"])
def test_tables_of_any_kind_are_drawn(name: str, kind: str, tables: dict[str, pa.Table]) -> None:
    from wheelend import _results

    ax = PICTURES[name].plot(_results.native(tables[name], kind))
    arrow = PICTURES[name].plot(tables[name])
    assert ax.get_title(loc="left") == arrow.get_title(loc="left")
    for one, two in zip(ax.lines, arrow.lines, strict=True):
        np.testing.assert_allclose(one.get_xydata(), two.get_xydata(), equal_nan=True)


def _refusal(name: str, table: pa.Table) -> str:
    """What is said of the table; nothing where it is drawn."""
    try:
        PICTURES[name].plot(table)
    except wheelend.BadCall as refused:
        return str(refused)
    return ""


@pytest.mark.parametrize("name", PICTURES)
def test_a_table_that_lacks_a_column_is_refused_by_its_name(name: str, tables: dict[str, pa.Table]) -> None:
    optional = {"demand": ("total_",), "spend": ("total_", "unpriced_")}.get(name, ())
    for column, known in zip(tables[name].column_names, dictionary.RESULTS[f"{name}_data"], strict=True):
        said = "" if column.startswith(optional) else f"plot_{name}: the table has no column {known.name}:"
        found = _refusal(name, tables[name].drop_columns([column]))
        assert found.startswith(said) if said else not found


@pytest.mark.parametrize("name", PICTURES)
def test_words_in_place_of_numbers_are_refused_by_their_column(name: str, tables: dict[str, pa.Table]) -> None:
    said = set()
    for i, column in enumerate(tables[name].column_names):
        kind = tables[name].schema.field(i).type
        if pa.types.is_floating(kind) or pa.types.is_date(kind):
            words = pa.array(["none of these"] * len(tables[name]))
            said.add(_refusal(name, tables[name].set_column(i, column, words)).partition(" is not of ")[0])
    assert said - {""}  # what is not drawn, such as the depth beside a due date, is not looked at
    assert all(s.startswith(f"plot_{name}: column ") for s in said - {""})


def test_a_table_of_something_else_is_refused(tables: dict[str, pa.Table]) -> None:
    with pytest.raises(wheelend.BadCall, match="no column on, days"):
        pictures.plot_depth(tables["pressure"])
    with pytest.raises(wheelend.BadCall, match="expected the table"):
        pictures.plot_due(3)
    strange = {**tables["due"].to_pydict(), "state": ["unheard of"] * len(tables["due"])}
    with pytest.raises(wheelend.BadCall, match="column state holds 'unheard of' \\(known: at its limit, "):
        pictures.plot_due(strange)
    with pytest.raises(wheelend.BadCall, match="columns are not all of one length"):
        pictures.plot_due({**tables["due"].to_pydict(), "state": ["later"]})


def test_due_dates_are_at_least_one(fleet: wheelend.Log) -> None:
    for most in (0, -3):
        with pytest.raises(wheelend.BadCall, match=f"most: expected 1 or more, got {most}"):
            pictures.due_data(fleet, most=most)


def test_states_differ_in_shape_and_lightness() -> None:
    from wheelend._look import lightness
    from wheelend.pictures import _coverage, _due, _pressure

    for styles in (_due._STYLES, _pressure._STYLES, _coverage._STYLES):
        assert len({shape + fill for shape, fill, _ in styles.values()}) == len(styles)
        for (shape, fill, _), (other, fill2, _) in combinations(styles.values(), 2):
            # The same fill needs another shape; another fill must be told apart in grey, or the shape differs.
            assert shape != other or abs(lightness(fill) - lightness(fill2)) >= 9


def test_depth_by_distance_or_date(fleet: wheelend.Log, tables: dict[str, pa.Table]) -> None:
    by_date = pictures.plot_depth(tables["depth"], against="date")
    assert by_date.get_xlabel() == ""
    trailer = pictures.depth_data(fleet, **BY_TIME)
    assert pictures.plot_depth(trailer).get_xlabel() == ""
    _no_text_in_the_way(pictures.plot_depth(trailer))
    with pytest.raises(wheelend.BadCall, match="no odometer"):
        pictures.plot_depth(trailer, against="distance")
    with pytest.raises(wheelend.BadCall, match="expected distance or date"):
        pictures.plot_depth(trailer, against="time")


def test_the_fan_meets_the_limit_at_the_due_date(tables: dict[str, pa.Table], wear_of_tire: dict[str, Any]) -> None:
    ax = pictures.plot_depth(tables["depth"], against="date")
    median = next(line for line in ax.lines if line.get_label() == "forecast, as likely above as below")
    x, y = median.get_data()
    on = np.interp(-6.0, -np.asarray(y), x)
    due = _day_number(wear_of_tire["due_p50"])
    assert due <= on <= due + 1


def test_one_tire_read_once() -> None:
    log = small(1)
    for name in ("depth", "due"):
        _no_text_in_the_way(PICTURES[name].plot(PICTURES[name].data(log)))
    with pytest.raises(wheelend.BadCall, match="read twice"):
        pictures.across_data(log)
    with pytest.raises(wheelend.BadCall, match="no pressure"):
        pictures.pressure_data(log)


def test_metric_tables_are_drawn_in_their_measures() -> None:
    log = small(6, "mm", target_kpa=["700"] * 6, pressure_kpa=["700", "650", "640", "560", "700", "300"])
    assert pictures.plot_depth(pictures.depth_data(log)).get_ylabel() == "shallowest groove, mm"
    found = rows_of(pictures.pressure_data(log, reference="20 degc"))
    assert found[0]["low_kpa"] == pytest.approx(700 - 5 * 6.894757293168)  # psi in kPa: NIST SP 811
    ax = pictures.plot_pressure(pictures.pressure_data(log, reference="20 degc"))
    assert ax.get_ylabel() == "kPa, gauge"
    assert "20 degC" in ax.get_title(loc="left")


def test_many_tires_are_counted_not_named(fleet: wheelend.Log) -> None:
    table = pictures.due_data(fleet)
    assert len(table) > 200
    ax = pictures.plot_due(table)
    _no_text_in_the_way(ax)
    assert ax.get_ylabel() == "tires, soonest first"
    assert ax.get_ylim()[0] > len(table)


def test_a_position_that_there_is_not_names_those_there_are(fleet: wheelend.Log) -> None:
    with pytest.raises(wheelend.BadCall, match="no wheel position is left; there are T106 axle 1 left, "):
        pictures.depth_data(fleet, unit="T106", axle=9)
    with pytest.raises(wheelend.BadCall, match="expected one of left, right"):
        pictures.depth_data(fleet, side="front")


# ---- the command


@pytest.mark.parametrize("name", PICTURES)
def test_one_command_makes_each_picture(name: str, run: Callable[..., Any], tmp_path: Path) -> None:
    path = tmp_path / f"{name}.png"
    done = run("picture", name, *FILES, PRICES, "--site", "North", "-o", path)
    assert done.code == 0, done.err
    assert f"written to {name}.png" in done.err
    image = plt.imread(path)
    assert image.shape[0] > 300
    assert image[..., :3].std() > 0.05  # not blank


def test_forms_of_files(tmp_path: Path, run: Callable[..., Any], tables: dict[str, pa.Table]) -> None:
    from wheelend.pictures._command import write

    for ending, begins in ((".svg", b"<?xml"), (".pdf", b"%PDF"), (".png", b"\x89PNG")):
        one, two = tmp_path / f"one{ending}", tmp_path / f"two{ending}"
        write("pressure", tables["pressure"], one)
        write("pressure", tables["pressure"], two)
        assert one.read_bytes().startswith(begins)
        assert one.read_bytes() == two.read_bytes()
    assert b"http" not in (tmp_path / "one.svg").read_bytes().replace(b"http://www.w3.org", b"").replace(
        b"http://purl.org", b""
    ).replace(b"http://creativecommons.org", b"").replace(b"https://matplotlib.org", b"")
    numbers = tmp_path / "numbers.csv"
    assert run("picture", "pressure", *FILES, "-o", numbers).code == 0
    with numbers.open(encoding="utf-8") as f:
        rows = list(csv.DictReader(f))
    assert [float(r["cold_psi"]) for r in rows] == tables["pressure"]["cold_psi"].to_pylist()
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith(".")) == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("dept", "-o", "a.png"), "did you mean depth?"),
        (("depth",), "-o depth.png"),
        (("depth", "-o", "a.gif"), "expected a name ending in .png, .svg, .pdf"),
        (("due", "--axle", "2", "-o", "a.png"), "takes no --axle; it takes --most, --limit, --limits"),
        (("coverage", "--against", "date", "-o", "a.png"), "takes no --against"),
    ],
)
def test_wrong_use_is_told(arguments: tuple[str, ...], words: str, run: Callable[..., Any]) -> None:
    done = run("picture", *arguments, *FILES)
    assert done.code == 2
    assert words in " ".join(done.err.split())


def test_endings_are_those_of_the_help(run: Callable[..., Any]) -> None:
    out = " ".join(run("picture", "--help").out.split())
    assert all(ending in out for ending in _axes.ENDINGS)
    assert all(name in out for name in PICTURES)
    assert tuple(PICTURES) == NAMES
