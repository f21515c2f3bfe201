"""Wear across and around the tread: on simulated fleets whose axles are known, and on records made by hand."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest

import truth
import wheelend
from test_fitments import FILES, SAMPLE, shop
from wheelend._fleet_wear import learned_wear, limit_mm
from wheelend._results import place_columns
from wheelend.simulate import Simulated, fleet

SEED = 31  # none of those that the estimator is worked on with
WORN = 3.0  # 32nds: from which on a tire shows how it wears


@cache
def made(scenario: str) -> Simulated:
    return fleet(scenario, 36, seed=SEED)


@cache
def found(scenario: str) -> dict[truth.Key, truth.Row]:
    s = made(scenario)
    result = wheelend.patterns(wheelend.read_log(s.readings, positions=s.positions, tires=s.tires))
    names = list(result)
    rows = [dict(zip(names, cells, strict=True)) for cells in zip(*result.values(), strict=True)]
    return {(r["unit"], r["axle"], r["side"], r["dual"]): r for r in rows}


def since(row: truth.Row) -> Any:
    day = np.datetime64("NaT") if row["since"] is None else np.datetime64(row["since"], "D")
    return None if np.isnat(day) else day


def axles(s: Simulated) -> list[truth.Row]:
    """Truth of each axle, with its tires in use: key, 32nds lost there, 32nds lost while it was out of line."""
    days = truth.good_days(s)
    depth = np.mean([s.truth.readings[f"depth_{g}"] for g in ("outer", "middle", "inner")], axis=0)
    good, of = truth.is_good(s), s.truth.readings["fitment"]
    places = truth.keys(s.truth.fitments)
    a = s.truth.axles
    out = []
    for i in range(len(a["unit"])):
        tires = []
        for f in days:
            if places[f][:2] != (a["unit"][i], int(a["axle"][i])) or not np.isnat(s.truth.fitments["to"][f]):
                continue
            rows = np.flatnonzero(good & (of == f))
            lost = float(depth[rows].max() - depth[rows].min())
            turned = a["out_of_line_on"][i]
            after = rows[s.readings["read_on"][rows] >= turned] if not np.isnat(turned) else rows[:0]
            while_turned = float(depth[after].max() - depth[after].min()) if after.size else 0.0
            tires.append((places[f], lost, while_turned))
        out.append({name: a[name][i] for name in a} | {"tires": tires})
    return out


def test_axles_out_of_line_are_named() -> None:
    named, of = 0, 0
    for axle in axles(made("uneven")):
        gained = axle["one_sided_after"] - axle["one_sided"]
        if np.isnat(axle["out_of_line_on"]) or abs(axle["one_sided_after"]) < 0.2 or abs(gained) < 0.2:
            continue
        for key, _, lost in axle["tires"]:
            if lost >= WORN:
                of += 1
                side = "outer" if axle["one_sided_after"] > 0 else "inner"
                named += found("uneven")[key]["pattern"] == f"one side, {side}"
    assert of >= 20
    assert named / of >= 0.8


def test_the_day_on_which_an_axle_went_out_of_line_is_near() -> None:
    off = []
    for axle in axles(made("uneven")):
        if np.isnat(axle["out_of_line_on"]) or abs(axle["one_sided_after"] - axle["one_sided"]) < 0.25:
            continue
        worn = [key for key, _, lost in axle["tires"] if lost >= WORN]
        if worn:
            day = since(found("uneven")[worn[0]])
            off.append(np.inf if day is None else abs((day - axle["out_of_line_on"]).astype(int)))
    assert len(off) >= 10
    assert np.mean(np.array(off) <= 120) >= 0.8  # two of the stretches that the engine divides time into
    assert np.median(off) <= 60


@pytest.mark.parametrize("scenario", ["typical", "clean"])
def test_axles_that_stay_in_line_are_left_in_peace(scenario: str) -> None:
    rows = found(scenario)
    even = [key for axle in axles(made(scenario)) if abs(axle["one_sided"]) < 0.05 for key, *_ in axle["tires"]]
    assert len(even) > 150
    assert np.mean([rows[key]["pattern"].startswith("one side") for key in even]) <= 0.05
    assert np.mean([since(rows[key]) is not None for key in even]) <= 0.03


def test_one_sided_wear_is_as_large_as_it_is() -> None:
    """To a third of what axles differ by (0.04), and not surer than right: mean square of error over doubt below 2."""
    s = made("typical")
    log = wheelend.read_log(s.readings, positions=s.positions, tires=s.tires)
    day = int(np.datetime64(log.last_day, "D").astype(int))
    found_in_core = learned_wear(log, limit_mm(log, None, "us-federal"), day)["patterns"]
    names = pa.table(place_columns(log, found_in_core["position"])).to_pydict()
    at = {key: i for i, key in enumerate(truth.keys(names))}
    worn = [(at[key], axle["one_sided"]) for axle in axles(s) for key, lost, _ in axle["tires"] if lost >= WORN]
    rows, true = np.array([row for row, _ in worn]), np.array([side for _, side in worn])
    error = found_in_core["one_sided"][rows] - true
    assert len(error) > 100
    assert np.sqrt(np.mean(np.square(error))) < 0.04 / 3
    assert np.mean(np.square(error / found_in_core["one_sided_se"][rows])) < 2.0


# ---- by hand


def uneven(outer: float, middle: float, inner: float) -> dict[truth.Key, truth.Row]:
    """A tractor whose left front drive axle tire loses these per month in its grooves, the others half a step alike."""
    cells: dict[str, dict[int, str]] = {}
    for name, rate in (("a", outer), ("b", middle), ("c", inner)):
        cells[f"tread_{name}_32nds"] = {4 * month: str(16 - round(rate * month)) for month in range(10)}
    result = wheelend.patterns(wheelend.read_log(shop(**cells)))
    names = list(result)
    rows = [dict(zip(names, texts, strict=True)) for texts in zip(*result.values(), strict=True)]
    return {(r["unit"], r["axle"], r["side"], r["dual"]): r for r in rows}


HERE, THERE = ("U1", 2, "left", "outer"), ("U1", 3, "right", "outer")


@pytest.mark.parametrize(("rates", "pattern"), [((1.4, 1, 0.6), "one side, outer"), ((0.6, 1, 1.4), "one side, inner")])
def test_one_side(rates: tuple[float, float, float], pattern: str) -> None:
    row = uneven(*rates)[HERE]
    assert row["pattern"] == pattern
    edge = pattern.split()[-1]
    other = "inner" if edge == "outer" else "outer"
    assert row[f"{edge}_percent"] > 2 * row["edge_se"] > 0
    assert row[f"{edge}_percent"] > row[f"{other}_percent"]
    assert f"the {edge} edge has worn" in row["evidence"]
    assert "alignment" in row["advice"]


def test_both_shoulders_and_center() -> None:
    row = uneven(1.3, 0.9, 1.3)[HERE]
    assert row["pattern"] == "both shoulders"
    assert min(row["outer_percent"], row["inner_percent"]) > 10
    assert "pressure" in row["advice"]
    assert uneven(0.5, 0.9, 0.5)[HERE]["pattern"] in ("center", "even")  # the fleet's tires wear their shoulders


def test_even_wear_has_no_advice() -> None:
    row = uneven(0.5, 0.5, 0.5)[THERE]
    assert row["pattern"] in ("even", "too early to say")
    assert row["advice"] == row["evidence"] == ""
    assert np.isnan(row["around_32nds"])


def test_around_the_tire() -> None:
    table = shop()
    table["place"] = [""] * 40
    for place, depth in (("1", "12"), ("2", "9"), ("3", "12")):
        for texts in table.values():
            texts.append(texts[3])
        table["read_on"][-1], table["place"][-1] = "2025-10-10", place
        for groove in "abc":
            table[f"tread_{groove}_32nds"][-1] = depth
    for texts in table.values():  # instead of the one reading of that day without a place
        del texts[39]
    result = wheelend.patterns(wheelend.read_log(table))
    at = list(zip(result["axle"], result["side"], strict=True)).index((3, "right"))
    assert result["pattern"][at] == "around"
    assert result["around_32nds"][at] == pytest.approx(3)
    assert "balance" in result["advice"][at]


def test_one_row_for_each_position_in_use() -> None:
    log = wheelend.read_log(pd.DataFrame(shop()))
    frame = wheelend.patterns(log)
    assert isinstance(frame, pd.DataFrame)
    assert len(frame) == 4
    assert len(wheelend.patterns(log, as_of="2024-12-31")) == 0


# ---- command line


def test_people_see_patterns(run: Any) -> None:
    done = run("patterns", *FILES)
    assert done.code == 0
    assert "no certificate of roadworthiness" in " ".join(done.out.split())


def test_a_file_has_every_position(run: Any, tmp_path: Path) -> None:
    out = tmp_path / "patterns.csv"
    assert run("patterns", *FILES, "-o", out).code == 0
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    log = wheelend.read_log(SAMPLE / "readings.csv", SAMPLE / "positions.csv", SAMPLE / "tires.csv")
    assert [r["pattern"] for r in rows] == wheelend.patterns(log)["pattern"].to_pylist()
