"""Which tire was where: on simulated fleets whose truth is known, and on records made by hand."""

from __future__ import annotations

import csv
import datetime as dt
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import truth
import wheelend
from wheelend._words import position_words
from wheelend.simulate import Simulated, fleet

SEED = 31  # none of those that the estimator is worked on with
UNITS = 30
SAMPLE = Path(__file__).resolve().parents[2] / "data" / "samples" / "small_fleet"
FILES = [f"--{name}={SAMPLE / name}.csv" for name in ("readings", "positions", "tires")]


@cache
def made(scenario: str) -> Simulated:
    return fleet(scenario, UNITS, seed=SEED)


@cache
def found(scenario: str, numbers: bool = True) -> list[truth.Row]:
    s = made(scenario)
    readings = s.readings if numbers else truth.without_numbers(s)
    log = wheelend.read_log(readings, positions=s.positions, tires=s.tires if numbers else None)
    return rows_of(wheelend.fitments(log))


def rows_of(result: Any) -> list[truth.Row]:
    """Rows of a dict of arrays; missing dates are None."""
    names = list(result)
    rows = [dict(zip(names, cells, strict=True)) for cells in zip(*result.values(), strict=True)]
    for row in rows:
        for name in ("from", "to"):
            row[name] = None if row[name] is None or np.isnat(np.datetime64(row[name], "D")) else row[name]
    return rows


# ---- against the truth; the shares are the goals of the project


@pytest.mark.xfail(strict=True, reason="about 97 % of 703: moves without an event, numbers later")
def test_tires_that_moved_are_followed() -> None:
    share = truth.moved_followed(made("rotating"), found("rotating"))
    assert share.of > 300
    assert share.value >= 0.99


@pytest.mark.parametrize("scenario", ["typical", "rotating", "uneven", "sparse", "nasty"])
def test_new_tires_are_found_without_numbers(scenario: str) -> None:
    share = truth.replacements_found(made(scenario), found(scenario, numbers=False))
    assert share.of > 200
    assert share.value >= 0.97


@pytest.mark.parametrize(
    "scenario",
    [
        "clean", "typical", "rotating", "uneven", "sparse",
        pytest.param("nasty", marks=pytest.mark.xfail(strict=True, reason="about 2 % here, 3 % in the bench")),
    ],
)  # fmt: skip
def test_one_tire_is_hardly_ever_taken_for_two(scenario: str) -> None:
    share = truth.false_cuts(made(scenario), found(scenario))
    assert share.of > 200
    assert share.value <= 0.01


def test_where_all_is_written_down_all_is_known() -> None:
    s, rows = made("clean"), found("clean")
    assert truth.replacements_found(s, rows).value == 1.0
    assert truth.false_cuts(s, rows).yes == 0
    # every tire that was read there is named where it was
    named = {(r["unit"], r["axle"], r["side"], r["dual"], r["tire"]) for r in rows}
    f = s.truth.fitments
    places = truth.keys(f)
    for i in truth.good_days(s):
        assert (*places[i], f["tire"][i]) in named


@pytest.mark.parametrize("scenario", ["typical", "nasty"])
def test_surer_beginnings_are_more_often_true(scenario: str) -> None:
    rows = [r for r in found(scenario, numbers=False) if r["how_begun"] not in ("first reading", "event")]
    sure = [r["confidence"] for r in rows]
    assert np.median(sure) > 0.9
    assert min(sure) > 0
    assert max(sure) <= 1


# ---- what holds of every table


@pytest.mark.parametrize("scenario", ["typical", "rotating", "nasty"])
def test_fitments_of_a_position_follow_each_other(scenario: str) -> None:
    s, rows = made(scenario), found(scenario)
    read = {key for key, d in zip(truth.keys(s.readings), s.readings["tread_middle_32nds"], strict=True) if d == d}
    at = [(r["unit"], r["axle"], r["side"], r["dual"]) for r in rows]
    assert set(at) >= read
    for here, row, there, following in zip(at, rows, at[1:], rows[1:], strict=False):
        if here == there:
            assert following["how_begun"] != "first reading"
            assert row["to"] is not None
            assert row["to"] <= following["from"]
            assert row["how_ended"] != "in use"
        else:
            assert following["how_begun"] == "first reading" or following["from"] is not None
            assert row["to"] is None or row["how_ended"] in ("removed", "moved")
    assert len(set(at)) == sum(a != b for a, b in pairwise(at)) + 1  # each in one block
    for row in rows:
        assert (row["came_from"] is not None) <= (row["how_begun"] != "first reading")
        assert row["readings"] >= 0
        assert (row["readings"] == 0) == np.isnan(row["first_32nds"])
        assert row["reason"]


@pytest.mark.parametrize(
    "scenario",
    [
        "typical",
        pytest.param(
            "rotating", marks=pytest.mark.xfail(strict=True, reason="back where it was; where between is left out")
        ),
        "nasty",
    ],
)
def test_no_tire_comes_from_where_it_is(scenario: str) -> None:
    for row in found(scenario):
        assert row["came_from"] != position_words(row)


# ---- by hand


def shop(**cells: dict[int, str]) -> dict[str, list[str]]:
    """Ten months of the outer tires of a tractor's drive axles; cells of some rows are set by ``column={row: text}``.

    Rows 4 i to 4 i + 3 are month i. Left tires have 16 and 13 at first, right ones 10 and 7; 1/64 goes in a month.
    """
    out: dict[str, list[str]] = {}
    for month in range(10):
        for axle, side, depth in ((2, "left", 16), (3, "left", 13), (2, "right", 10), (3, "right", 7)):
            row = {"unit": "U1", "kind": "tractor", "role": "drive", "axle": str(axle), "side": side, "dual": "outer"}
            row |= {"read_on": f"2025-{month + 1:02d}-10", "odometer_mi": str(100_000 + 8000 * month)}
            row |= {f"tread_{g}_32nds": str(depth - month // 2) for g in ("a", "b", "c")}
            for name, text in (row | {"tire": "", "event": ""}).items():
                out.setdefault(name, []).append(text)
    for name, texts in cells.items():
        for i, text in texts.items():
            out[name][i] = text
    return out


def all_grooves(texts: dict[int, str]) -> dict[str, dict[int, str]]:
    return {f"tread_{g}_32nds": texts for g in ("a", "b", "c")}


def test_a_quiet_unit() -> None:
    rows = rows_of(wheelend.fitments(wheelend.read_log(shop())))
    assert [(r["axle"], r["side"]) for r in rows] == [(2, "left"), (2, "right"), (3, "left"), (3, "right")]
    for row in rows:
        assert (row["how_begun"], row["how_ended"], row["readings"]) == ("first reading", "in use", 10)
        assert (row["from"], row["to"], row["came_from"], row["tire"]) == (None, None, None, None)
        assert row["confidence"] == 1
        assert row["reason"] == "there when the record begins"
    assert (rows[0]["first_32nds"], rows[0]["last_32nds"]) == pytest.approx((16, 12))


def test_a_new_tire_without_a_word() -> None:
    new = {4 * month + 3: str(29 - month // 2 + 2) for month in range(4, 10)}  # axle 3 right, from May on
    rows = rows_of(wheelend.fitments(wheelend.read_log(shop(**all_grooves(new)))))
    assert len(rows) == 5
    before, after = rows[3:]
    assert (before["to"], before["how_ended"]) == (np.datetime64("2025-05-10"), "replaced")
    assert (after["from"], after["how_begun"], after["readings"]) == (np.datetime64("2025-05-10"), "rise in depth", 6)
    assert after["reason"] == "the depth rose: another tire"
    assert after["confidence"] > 0.9


def rotated(month: int) -> dict[str, dict[int, str]]:
    """Left and right of axle 2 change places from a month on (16 and 10 at first)."""
    left = {4 * m: str(10 - m // 2) for m in range(month, 10)}
    right = {4 * m + 2: str(16 - m // 2) for m in range(month, 10)}
    return all_grooves(left | right)


@pytest.mark.parametrize("event", ["rotated", ""])
def test_two_tires_that_changed_places(event: str) -> None:
    cells = rotated(5) | {"event": {20: event, 22: event}}
    rows = rows_of(wheelend.fitments(wheelend.read_log(shop(**cells))))
    assert len(rows) == 6
    for row, other in ((rows[1], "axle 2 right outer"), (rows[3], "axle 2 left outer")):
        assert row["from"] == np.datetime64("2025-06-10")
        assert row["how_begun"] == ("event" if event else "depths of another position")
        assert row["came_from"] == other
        assert other in row["reason"]
        assert 0.5 < row["confidence"] <= 1
    assert rows[0]["how_ended"] == rows[2]["how_ended"] == "moved"


def test_a_number_says_where_a_tire_came_from() -> None:
    numbers = {i: ("AB", "CD", "EF", "GH")[i % 4] for i in range(20)}
    numbers |= {4 * m + k: ("EF", "CD", "AB", "GH")[k] for m in range(5, 10) for k in range(4)}
    rows = rows_of(wheelend.fitments(wheelend.read_log(shop(tire=numbers, **rotated(5)))))
    assert [(r["axle"], r["side"], r["tire"]) for r in rows] == [
        (2, "left", "AB"), (2, "left", "EF"), (2, "right", "EF"), (2, "right", "AB"), (3, "left", "CD"),
        (3, "right", "GH"),
    ]  # fmt: skip
    assert rows[1]["reason"] == "another tire number was written; the tire came from axle 2 right outer"


def test_to_is_the_day_of_removal() -> None:
    cells = {"event": {39: "removed"}}  # the last row: axle 3 right
    row = rows_of(wheelend.fitments(wheelend.read_log(shop(**cells))))[3]
    assert (row["how_ended"], row["to"]) == ("removed", np.datetime64("2025-10-10"))


def test_as_of_and_filters() -> None:
    log = wheelend.read_log(shop(**rotated(5)))
    assert len(rows_of(wheelend.fitments(log, as_of="2025-05-31"))) == 4
    assert rows_of(wheelend.fitments(log, as_of=dt.date(2025, 5, 31)))[0]["readings"] == 5
    assert len(rows_of(wheelend.fitments(log, unit="U1"))) == 6
    with pytest.raises(wheelend.errors.BadCall):
        wheelend.fitments(log, unit="U2")


def test_the_kind_of_table_that_came_in_goes_out() -> None:
    frame = wheelend.fitments(wheelend.read_log(pd.DataFrame(shop())))
    assert isinstance(frame, pd.DataFrame)
    assert len(frame) == 4


# ---- command line


def test_people_see_fitments(run: Any) -> None:
    done = run("fitments", *FILES, "--unit", "T106")
    assert done.code == 0
    head, *lines = done.out.splitlines()
    assert head.split() == ["UNIT", "POSITION", "TIRE", "FROM", "TO", "BY", "SURE", "DEPTH"]
    assert any(line.startswith("T106") for line in lines)
    assert "first reading" in done.out
    assert "%" in done.out


def test_a_file_has_every_fitment(run: Any, tmp_path: Path) -> None:
    out = tmp_path / "fitments.csv"
    assert run("fitments", *FILES, "-o", out).code == 0
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    log = wheelend.read_log(SAMPLE / "readings.csv", SAMPLE / "positions.csv", SAMPLE / "tires.csv")
    expected = wheelend.fitments(log).to_pylist()
    assert len(rows) == len(expected)
    assert [r["how_begun"] for r in rows] == [r["how_begun"] for r in expected]
    assert [r["from"] for r in rows] == ["" if r["from"] is None else r["from"].isoformat() for r in expected]
