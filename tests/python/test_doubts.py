"""Readings that do not fit: on simulated fleets whose slips are known, and on records made by hand."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import truth
import wheelend
from test_fitments import all_grooves, shop
from wheelend.simulate import Simulated, fleet

SEED = 31  # none of those that the estimator is worked on with


@cache
def made(scenario: str) -> Simulated:
    return fleet(scenario, 36, seed=SEED)


@cache
def found(scenario: str) -> list[truth.Row]:
    s = made(scenario)
    return rows_of(wheelend.doubts(wheelend.read_log(s.readings, positions=s.positions, tires=s.tires)))


def rows_of(result: Any) -> list[truth.Row]:
    names = list(result)
    return [dict(zip(names, cells, strict=True)) for cells in zip(*result.values(), strict=True)]


def is_visit(row: truth.Row) -> bool:
    return row["side"] is None


def place_and_day(row: truth.Row) -> tuple[Any, ...]:
    return row["unit"], row["axle"], row["side"], row["dual"], np.datetime64(row["read_on"], "D")


def told(rows: list[truth.Row]) -> tuple[set[Any], set[Any]]:
    """What is in doubt: (position, day) and (unit, day) of whole visits."""
    places = {place_and_day(r) for r in rows if not is_visit(r)}
    visits = {(r["unit"], np.datetime64(r["read_on"], "D")) for r in rows if is_visit(r)}
    return places, visits


def slips(s: Simulated) -> list[tuple[tuple[Any, ...], str, float, int]]:
    """Rows with a slip: place and day, which, by how much the worst groove is off in 32nds, inspections of the tire."""
    gauge, t = s.process.gauge, s.truth.readings
    good = truth.good_days(s)
    out = []
    for i, key in enumerate(truth.keys(s.readings)):
        if t["slip"][i] in ("", "repeat"):
            continue
        off = max(abs(s.readings[f"tread_{g}_{gauge}"][i] - t[f"depth_{g}"][i]) for g in ("outer", "middle", "inner"))
        out.append(((*key, s.readings["read_on"][i]), t["slip"][i], off, len(good.get(int(t["fitment"][i]), []))))
    return out


FAR = 5.0  # 32nds; twelve times the error of one reading in this scenario
OFTEN = 4  # good inspections of a tire, from which on its course is known


def share(kind: str) -> truth.Share:
    """Slips of one kind that are far off, on tires that were read often enough: how many are in doubt."""
    places, visits = told(found("nasty"))
    far = [at for at, which, off, n in slips(made("nasty")) if which == kind and off >= FAR and n >= OFTEN]
    return truth.Share(sum(at in places or (at[0], at[4]) in visits for at in far), len(far))


@pytest.mark.parametrize(("kind", "at_least"), [("digit", 20), ("swapped", 10), ("other_measure", 5)])
def test_slips_are_found(kind: str, at_least: int) -> None:
    seen = share(kind)
    assert seen.of >= at_least
    assert seen.value >= 0.9


def test_visits_of_another_unit_are_found() -> None:
    """Of units that are not alike: their tires are off by 2.5/32 and more in the middle, six errors of one reading."""
    s = made("nasty")
    places, visits = told(found("nasty"))
    usual = usual_depths(s)
    of_visit: dict[Any, list[tuple[float, bool]]] = {}
    mixed = np.array(s.truth.readings["slip"]) == "wrong_unit"
    for i in np.flatnonzero(mixed):
        key, day = truth.keys(s.readings)[i], s.readings["read_on"][i]
        if key in usual:
            off = abs(float(s.readings["tread_middle_32nds"][i]) - usual[key](day))
            of_visit.setdefault((key[0], day), []).append((off, (*key, day) in places or (key[0], day) in visits))
    unlike = [tires for tires in of_visit.values() if len(tires) >= 4 and np.median([off for off, _ in tires]) >= 2.5]
    assert len(unlike) >= 3
    assert all(2 * sum(seen for _, seen in tires) >= len(tires) for tires in unlike)


def usual_depths(s: Simulated) -> dict[truth.Key, Any]:
    """True depth of the middle groove by position, as a function of the day, between its own readings."""
    known: dict[truth.Key, list[tuple[Any, float]]] = {}
    own = ~np.isnan(s.truth.readings["depth_middle"])
    places = truth.keys(s.truth.fitments)
    for i in np.flatnonzero(own):
        key = places[int(s.truth.readings["fitment"][i])]
        known.setdefault(key, []).append((s.readings["read_on"][i], s.truth.readings["depth_middle"][i]))

    def of(points: list[tuple[Any, float]]) -> Any:
        points.sort()
        days = np.array([d for d, _ in points]).astype(float)
        return lambda day: float(np.interp(day.astype("datetime64[D]").astype(float), days, [y for _, y in points]))

    return {key: of(points) for key, points in known.items()}


def test_visits_that_are_off_as_a_whole_are_found() -> None:
    s = made("nasty")
    places, visits = told(found("nasty"))
    steps: dict[Any, list[Any]] = {}
    for at, which, _, _ in slips(s):
        if which == "off_by_steps":
            steps.setdefault((at[0], at[4]), []).append(at)
    several = {visit: rows for visit, rows in steps.items() if len(rows) >= 6}
    assert len(several) >= 15
    seen = [v in visits or np.mean([at in places for at in rows]) >= 0.5 for v, rows in several.items()]
    assert np.mean(seen) >= 0.75  # two steps are four errors of one reading


def test_most_doubts_are_slips() -> None:
    s = made("nasty")
    bad = {at for at, *_ in slips(s)}
    bad_visits = {(at[0], at[4]) for at, which, *_ in slips(s) if which in ("off_by_steps", "wrong_unit")}
    rows = found("nasty")
    assert len(rows) > 100
    right = [
        (r["unit"], np.datetime64(r["read_on"], "D")) in bad_visits if is_visit(r) else place_and_day(r) in bad
        for r in rows
    ]
    assert np.mean(right) > 0.5


def test_hardly_a_doubt_where_there_are_no_slips() -> None:
    s = made("clean")
    readings = 3 * len(s.readings["read_on"])
    # weights below a quarter are four standard errors off, or 2.1 of all three grooves together: 1 in 2000
    assert len(found("clean")) <= readings / 1000


def test_a_slip_is_named_for_what_it_is() -> None:
    named: dict[str, list[str]] = {}
    which = {at: kind for at, kind, *_ in slips(made("nasty"))}
    for row in found("nasty"):
        if not is_visit(row) and place_and_day(row) in which:
            named.setdefault(row["slip"], []).append(which[place_and_day(row)])
    for slip, kind in (("digit", "digit"), ("two positions swapped", "swapped")):
        assert len(named[slip]) >= 10
        assert named[slip].count(kind) >= 0.9 * len(named[slip])


# ---- by hand


def doubted(**cells: dict[int, str]) -> list[truth.Row]:
    return rows_of(wheelend.doubts(wheelend.read_log(shop(**cells))))


def test_nothing_in_doubt() -> None:
    assert doubted() == []


def test_a_digit() -> None:
    (row,) = doubted(tread_b_32nds={16: "4"})  # 14 at the fifth inspection, axle 2 left
    assert (row["axle"], row["side"], row["groove"], row["slip"]) == (2, "left", "b", "digit")
    assert np.datetime64(row["read_on"], "D") == np.datetime64("2025-05-10")
    assert row["depth_32nds"] == pytest.approx(4)
    assert row["expected_32nds"] == pytest.approx(14, abs=1)
    assert row["off_32nds"] == pytest.approx(row["depth_32nds"] - row["expected_32nds"])
    assert row["reason"] == "ten too many or too few: a digit"


def test_two_lines_swapped() -> None:
    rows = doubted(**all_grooves({20: "8", 22: "14"}))  # axle 2 left and right, 14 and 8
    assert [(r["axle"], r["side"], r["groove"], r["slip"]) for r in rows] == [
        (2, "left", None, "two positions swapped"),
        (2, "right", None, "two positions swapped"),
    ]
    assert "axle 2 right outer" in rows[0]["reason"]
    assert "axle 2 left outer" in rows[1]["reason"]


def test_a_doubt_takes_no_reading_away() -> None:
    """`judge` reads the slip as it stands: a typo must not hide a bald tire."""
    log = wheelend.read_log(shop(tread_b_32nds={36: "1"}))  # at the last inspection
    judged = wheelend.judge(log)
    assert "fail" in set(judged["verdict"])


def test_filters_and_kinds() -> None:
    table = shop(tread_b_32nds={16: "4"})
    log = wheelend.read_log(pd.DataFrame(table))
    assert isinstance(wheelend.doubts(log), pd.DataFrame)
    assert len(wheelend.doubts(log, unit="U1")) == 1
    assert len(wheelend.doubts(log, as_of="2025-04-30")) == 0


# ---- command line


@pytest.fixture
def in_doubt(tmp_path: Path) -> Path:
    return written(shop(tread_b_32nds={16: "4"}), tmp_path)


def written(table: dict[str, list[str]], folder: Path) -> Path:
    path = folder / "readings.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([list(table), *zip(*table.values(), strict=True)])
    return path


def test_people_see_doubts(run: Any, in_doubt: Path) -> None:
    done = run("doubts", "--readings", in_doubt)
    assert done.code == 0
    words = " ".join(done.out.split())
    assert words.startswith("U1 axle 2 left outer 2025-05-10 b: 4/32 in, expected about 14")
    assert "ten too many or too few: a digit" in words
    assert "1 digit" in done.out


def test_people_see_that_there_is_none(run: Any, tmp_path: Path) -> None:
    path = written(shop(), tmp_path)
    assert "every depth fits the others of its tire" in run("doubts", "--readings", path).out


def test_a_file_has_every_doubt(run: Any, in_doubt: Path, tmp_path: Path) -> None:
    out = tmp_path / "doubts.csv"
    assert run("doubts", "--readings", in_doubt, "-o", out).code == 0
    with out.open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["unit"], row["read_on"], row["groove"], row["slip"]) == ("U1", "2025-05-10", "b", "digit")
