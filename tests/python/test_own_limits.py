"""A fleet's own limits: a file beside the sets that ships adds rows, tightens them or takes their place."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest

import wheelend
from wheelend import LimitFileError, limit_sets

TODAY = "2025-06-20"
Row = dict[str, str]
OWN = {
    "id": "OWN-T-01", "quantity": "tread_depth", "statistic": "lowest_depth", "where": "kind = tractor; axle = 1",
    "bound": "6", "measure": "32nds", "sense": ">=", "severity": "own", "clause": "shop manual, p. 3", "status": "own",
}  # fmt: skip
STROKE = OWN | {"id": "OWN-B-01", "quantity": "pushrod_stroke", "statistic": "as_read", "where": "", "measure": "in",
                "bound": "1.5", "sense": "<="}  # fmt: skip


def write(folder: Path, *rows: Row, name: str = "own.csv", about: str = "# title: Our own limits\n") -> str:
    path = folder / name
    with path.open("w", encoding="utf-8", newline="") as f:
        f.write(about)
        writer = csv.DictWriter(f, list(dict.fromkeys(n for r in rows for n in r)), restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    return str(path)


@pytest.fixture
def log(readings: Any, positions: Any) -> wheelend.Log:
    """Lowest depths: T1 axle 1 left 2/32 in and right 11/32 in, axle 2 14 and 13/32 in; R7 9 and 8/32 in."""
    sites = ["North", "North", "NORTH", "NORTH", "South", ""]
    groups = ["tractors"] * 4 + ["Vans"] * 2
    table = positions.column("site", sites).column("group", groups).column("size", ["11R22.5"] * 5 + ["11r22.5"])
    return wheelend.read_log(pa.table(readings.columns()), table.columns(), today=TODAY)


def said(log: wheelend.Log, limits: Any, limit_id: str) -> dict[tuple[Any, ...], str]:
    """Verdicts of a row by unit, axle, side and dual."""
    key = ("unit", "axle", "side", "dual")
    return {
        tuple(v[k] for k in key): v["verdict"]
        for v in wheelend.judge(log, limits=limits).to_pylist()
        if v["limit_id"] == limit_id
    }


LEFT, RIGHT = ("T1", 1, "left", "single"), ("T1", 1, "right", "single")


# ---- a row that adds


def test_a_row_of_its_own_is_judged_beside_the_others(log: wheelend.Log, tmp_path: Path) -> None:
    own = write(tmp_path, OWN | {"bound": "12"})
    found = wheelend.judge(log, limits=["us-federal", own]).to_pylist()
    ours = [v for v in found if v["limit_id"] == "OWN-T-01"]
    assert [(v["verdict"], v["severity"], v["clause"]) for v in ours] == [
        ("fail", "own", "shop manual, p. 3 [own.csv, line 3]")
    ] * 2
    law = wheelend.judge(log, limits="us-federal").to_pylist()
    assert [v for v in found if v["limit_id"] != "OWN-T-01"] == law


def test_a_row_of_its_own_alone(log: wheelend.Log, tmp_path: Path) -> None:
    assert said(log, write(tmp_path, OWN), "OWN-T-01") == {LEFT: "fail", RIGHT: "pass"}


def test_a_path_is_as_good_as_its_text(log: wheelend.Log, tmp_path: Path) -> None:
    own = Path(write(tmp_path, OWN))
    assert said(log, own, "OWN-T-01") == said(log, ["de", own], "OWN-T-01") == said(log, str(own), "OWN-T-01")
    assert wheelend.limits(own).num_rows == 1
    assert [row.id for row in limit_sets.explained("OWN-T-01", own)] == ["OWN-T-01"]


def test_what_only_the_fleet_asks_for_is_no_finding(readings: Any, positions: Any, tmp_path: Path, run: Any) -> None:
    """Exit code 1 is for what the law says: an own row that fails, on a fleet without a bald tire, gives 0."""
    for groove in ("outer", "middle", "inner"):
        readings.column(f"tread_{groove}_32nds", "9")
    (tmp_path / "r.csv").write_text(readings.csv())
    (tmp_path / "p.csv").write_text(positions.csv())
    own = write(tmp_path, OWN | {"bound": "12", "where": ""})
    files = ("-r", tmp_path / "r.csv", "-p", tmp_path / "p.csv", "--limits", "us-federal", "--limits", own)
    shown = run("judge", *files)
    assert shown.code == 0
    assert "OWN-T-01" in shown.out
    shown = run("standing", *files)
    assert shown.code == 0
    assert "watch" in shown.out
    assert "own.csv, line 3" in " ".join(shown.out.split())


def test_several_files_and_their_order(log: wheelend.Log, tmp_path: Path) -> None:
    one = write(tmp_path, OWN)
    two = write(tmp_path, OWN | {"id": "OWN-T-02", "where": "kind = trailer"}, name="two.csv")
    tables = [wheelend.judge(log, limits=names) for names in ([one, two, "de"], ["de", two, one])]
    found = [
        sorted((v["unit"], v["side"], v["limit_id"], v["verdict"], v["clause"]) for v in t.to_pylist()) for t in tables
    ]
    assert found[0] == found[1]
    assert {v[2] for v in found[0]} == {"OWN-T-01", "OWN-T-02", "DE-T-01"}


def test_changes_of_the_file_count_at_the_next_call(log: wheelend.Log, tmp_path: Path) -> None:
    own = write(tmp_path, OWN | {"bound": "2"})
    assert said(log, own, "OWN-T-01")[LEFT] == "pass"
    write(tmp_path, OWN | {"bound": "3"})
    assert said(log, own, "OWN-T-01")[LEFT] == "fail"
    assert said(log, ["us-federal", own], "OWN-T-01")[LEFT] == "fail"
    write(tmp_path, OWN | {"bound": "3", "note": "since May"})
    assert wheelend.limits(own)["note"].to_pylist() == ["since May"]
    assert limit_sets.explained("OWN-T-01", own)[0].text["note"] == "since May"


# ---- facts that are text


def test_text_is_compared_in_any_letters(log: wheelend.Log, tmp_path: Path) -> None:
    """One size, one site, written otherwise by whoever typed it."""
    all_of_size = said(log, write(tmp_path, OWN | {"where": "size = 11R22.5"}), "OWN-T-01")
    assert len(all_of_size) == 6
    assert set(all_of_size) == set(said(log, write(tmp_path, OWN | {"where": "size = 11r22.5"}), "OWN-T-01"))
    assert said(log, write(tmp_path, OWN | {"where": "size != 11R22.5"}), "OWN-T-01") == {}
    at_north = said(log, write(tmp_path, OWN | {"where": "site = north"}), "OWN-T-01")
    assert {key[:2] for key, verdict in at_north.items() if verdict != "no_verdict"} == {("T1", 1), ("T1", 2)}


def test_site_and_group_are_facts(log: wheelend.Log, tmp_path: Path) -> None:
    vans = said(log, write(tmp_path, OWN | {"where": "group = vans", "bound": "9"}), "OWN-T-01")
    assert vans == {("R7", 1, "left", "single"): "pass", ("R7", 1, "right", "single"): "fail"}
    own = write(tmp_path, OWN | {"where": "site = South|North", "bound": "1"})
    found = {v["unit"] + v["side"] + str(v["axle"]): v for v in wheelend.judge(log, limits=own).to_pylist()}
    assert found["R7left1"]["verdict"] == "pass"
    assert (found["R7right1"]["verdict"], found["R7right1"]["reason"]) == ("no_verdict", "site is not given")


def test_site_of_readings_that_carry_their_positions(readings: Any, tmp_path: Path) -> None:
    table = readings.column("kind", "truck").column("role", "drive").column("site", ["East"] * 4 + ["West"] * 2)
    log = wheelend.read_log(pa.table(table.columns()), today=TODAY)
    assert {key[0] for key in said(log, write(tmp_path, OWN | {"where": "site = west"}), "OWN-T-01")} == {"R7"}


def test_facts_of_the_tires_table(readings: Any, positions: Any, tmp_path: Path) -> None:
    tires = {"tire": ["a", "b"], "make": ["Acorn", "ACORN"], "design": ["X1", "x2"]}
    table = readings.column("tire", ["a", "b", "", "", "", ""])
    log = wheelend.read_log(pa.table(table.columns()), positions.columns(), tires, today=TODAY)
    acorns = said(log, write(tmp_path, OWN | {"where": "make = acorn", "bound": "1"}), "OWN-T-01")
    assert {key: verdict for key, verdict in acorns.items() if verdict == "pass"} == {LEFT: "pass", RIGHT: "pass"}
    of_design = said(log, write(tmp_path, OWN | {"where": "design = X2", "bound": "1"}), "OWN-T-01")
    assert of_design[RIGHT] == "pass"
    assert LEFT not in of_design


def test_text_of_a_wheel_end_reading(positions: Any, tmp_path: Path) -> None:
    wheelends = {
        "unit": ["T1"] * 3, "axle": ["1", "1", "2"], "side": ["left", "right", "left"], "read_on": ["2025-06-10"] * 3,
        "quantity": ["pushrod_stroke"] * 3, "value_in": ["1.6"] * 3, "chamber_size": ["A", "a", "B"],
    }  # fmt: skip
    log = wheelend.read_log(None, positions.columns(), None, pa.table(wheelends), today=TODAY)
    found = said(log, write(tmp_path, STROKE | {"where": "chamber_size = a"}), "OWN-B-01")
    assert found == {("T1", 1, "left", None): "fail", ("T1", 1, "right", None): "fail"}


def test_another_column_of_the_positions_is_no_fact(tmp_path: Path) -> None:
    with pytest.raises(LimitFileError, match=r"own\.csv, line 3: OWN-T-01: 'region' is not a fact"):
        wheelend.limits(write(tmp_path, OWN | {"where": "region = north"}))


# ---- a row that tightens another


def test_a_tighter_row_is_judged_beside_the_one_it_tightens(log: wheelend.Log, tmp_path: Path) -> None:
    own = write(tmp_path, OWN | {"bound": "12", "tightens": "US-T-02"})
    assert said(log, ["us-federal", own], "OWN-T-01") == {LEFT: "fail", RIGHT: "fail"}
    assert said(log, ["us-federal", own], "US-T-02") == {LEFT: "fail", RIGHT: "pass"}


STRICTER = [
    ("US-T-02", {"bound": "5"}),
    ("US-T-02", {"bound": "4", "sense": ">"}),  # at 4/32 in the law passes, and this row does not
    ("US-T-02", {"bound": "3.1751", "measure": "mm"}),  # 4/32 in is 3.175 mm
    ("DU-13", {"quantity": "pressure", "statistic": "cold_pressure", "bound": "85", "measure": "percent",
               "base": "target"}),
    ("US-B-10", {"quantity": "slack_length", "statistic": "side_to_side", "bound": "0", "measure": "in",
                 "sense": "<"}),
    ("US-S-05", {"quantity": "groove_width", "statistic": "as_read", "bound": "0.2", "upper": "0.3125",
                 "measure": "in", "sense": "within"}),
    ("US-R-06", {"quantity": "inspection_age", "statistic": "months_since", "bound": "11", "measure": "months",
                 "sense": "<=", "fact": "inspected_on"}),
    # built before 1975: 55 psi, or half of cut-out if that is less; this asks for 55 psi whatever the cut-out is
    ("US-B-23", {"quantity": "low_air_warning", "statistic": "as_read", "bound": "56", "measure": "psi"}),
]  # fmt: skip
NOT_STRICTER = [
    ("US-T-02", {"bound": "3"}),
    ("US-T-02", {"bound": "4"}),
    ("US-T-02", {"bound": "3.175", "measure": "mm"}),
    ("US-T-02", {"bound": "3.17", "measure": "mm"}),
    ("US-T-02", {"bound": "6", "sense": "<="}),
    ("US-T-02", {"bound": "6", "statistic": "lowest_any_groove"}),
    ("US-T-02", {"bound": "6", "or_bound": "1", "or_measure": "32nds"}),  # passing either is enough
    ("DU-13", {"quantity": "pressure", "statistic": "cold_pressure", "bound": "85", "measure": "percent",
               "base": "sidewall_max"}),
    ("DU-13", {"quantity": "pressure", "statistic": "cold_pressure", "bound": "90", "measure": "psi"}),
    ("US-S-05", {"quantity": "groove_width", "statistic": "as_read", "bound": "0.2", "upper": "0.32",
                 "measure": "in", "sense": "within"}),
    ("US-S-05", {"quantity": "groove_width", "statistic": "as_read", "bound": "0.1875", "upper": "0.3125",
                 "measure": "in", "sense": "within"}),
    ("US-W-01", {"quantity": "wheel_cracked", "statistic": "as_read", "bound": "", "measure": "", "sense": "absent"}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "row"), STRICTER, ids=lambda v: v if isinstance(v, str) else None)
def test_what_is_stricter(name: str, row: Row, tmp_path: Path) -> None:
    table = wheelend.limits(["us-federal", write(tmp_path, OWN | {"where": ""} | row | {"tightens": name})])
    assert {name, "OWN-T-01"} <= set(table["id"].to_pylist())


@pytest.mark.parametrize(("name", "row"), NOT_STRICTER, ids=lambda v: v if isinstance(v, str) else None)
def test_what_is_not_stricter(name: str, row: Row, tmp_path: Path) -> None:
    own = write(tmp_path, OWN | row | {"tightens": name})
    message = rf"own\.csv, line 3: OWN-T-01: is not stricter than {name}: give it a stricter bound"
    with pytest.raises(LimitFileError, match=message):
        wheelend.limits(["us-federal", own])


# ---- a row that takes the place of another


def test_the_row_that_is_replaced_is_gone(log: wheelend.Log, tmp_path: Path) -> None:
    own = write(tmp_path, OWN | {"bound": "2", "severity": "violation", "overrides": "US-T-02"})
    for limits in (["us-federal", own], [own, "us-federal"]):
        found = wheelend.judge(log, limits=limits)
        assert "US-T-02" not in set(found["limit_id"].to_pylist())
        assert said(log, limits, "OWN-T-01") == {LEFT: "pass", RIGHT: "pass"}
    assert "US-T-02" not in wheelend.limits(["us-federal", own])["id"].to_pylist()
    assert said(log, "us-federal", "US-T-02") == {LEFT: "fail", RIGHT: "pass"}  # alone as it was


def test_all_others_are_those_that_the_new_row_leaves(log: wheelend.Log, tmp_path: Path) -> None:
    """49 CFR 393.75(c) speaks of all tires but those of (b); a row in the place of (b) parts them anew."""
    before = said(log, "us-federal", "US-T-03")
    assert LEFT not in before
    assert ("R7", 1, "left", "single") in before
    own = write(tmp_path, OWN | {"overrides": "US-T-02"})
    assert said(log, ["us-federal", own], "US-T-03") == before
    wider = write(tmp_path, OWN | {"overrides": "US-T-02", "where": "kind = tractor|trailer; axle = 1"})
    left_over = said(log, ["us-federal", wider], "US-T-03")
    assert set(left_over) == {key for key in before if key[:2] == ("T1", 2)}


def test_the_limit_that_a_stroke_exceeds_is_the_own_one(positions: Any, tmp_path: Path) -> None:
    """1/4 in beyond the limit counts as a defective brake (OS-B-02): beyond whichever row now gives the limit."""
    wheelends = {
        "unit": ["T1"], "axle": ["2"], "side": ["left"], "read_on": ["2025-06-10"], "quantity": ["pushrod_stroke"],
        "value_in": ["2.25"], "chamber": ["clamp"], "chamber_size": ["30"], "stroke_family": ["standard"],
        "reservoir_psi": ["90"],
    }  # fmt: skip
    log = wheelend.read_log(None, positions.columns(), None, pa.table(wheelends), today=TODAY)
    at = ("T1", 2, "left", None)
    assert said(log, "us-out-of-service", "OS-B-02") == {at: "fail"}  # 2 in for type 30: 1/4 in beyond
    looser = {"bound": "2.125", "where": "chamber = clamp; chamber_size = 30", "overrides": "US-B-11-30"}
    own = write(tmp_path, STROKE | looser | {"severity": "violation"})
    assert said(log, ["us-out-of-service", own], "OS-B-02") == {at: "pass"}
    assert said(log, ["us-out-of-service", own], "OWN-B-01") == {at: "fail"}


def test_an_own_file_that_includes_the_set_it_changes(log: wheelend.Log, tmp_path: Path) -> None:
    own = write(tmp_path, OWN | {"bound": "2", "overrides": "US-T-02"}, about="# includes: us-federal\n")
    assert said(log, own, "OWN-T-01") == {LEFT: "pass", RIGHT: "pass"}
    assert said(log, own, "US-T-02") == {}
    assert len(said(log, own, "US-A-01")) == 2


def test_a_file_of_a_site_over_that_of_the_fleet(log: wheelend.Log, tmp_path: Path) -> None:
    fleet = write(tmp_path, OWN | {"bound": "5", "overrides": "US-T-02"}, name="fleet.csv")
    (tmp_path / "north").mkdir()
    site = write(tmp_path / "north", OWN | {"id": "SITE-1", "bound": "2", "overrides": "OWN-T-01"}, name="fleet.csv")
    found = set(wheelend.judge(log, limits=["us-federal", fleet, site])["limit_id"].to_pylist())
    assert "SITE-1" in found
    assert not found & {"OWN-T-01", "US-T-02"}
    assert LEFT not in said(log, ["us-federal", fleet, site], "US-T-03")


NAMES = [
    (
        "overrides nothing",
        OWN | {"overrides": "US-T-99"},
        "overrides names 'US-T-99', which no loaded set has: correct",
    ),
    (
        "tightens nothing",
        OWN | {"tightens": "US-T-99"},
        "tightens names 'US-T-99', which no loaded set has: correct it",
    ),
    ("overrides a row of another set", OWN | {"overrides": "DE-T-01"}, "or judge by its set too"),
    ("overrides itself", OWN | {"overrides": "OWN-T-01"}, "a row of the same file: change that row itself"),
    ("an id that ships", OWN | {"id": "US-T-02"}, "the id US-T-02 stands in us-federal.csv, line"),
    ("an id that ships, how to replace it", OWN | {"id": "US-T-02"}, "write its id into the column overrides"),
]


@pytest.mark.parametrize(("row", "words"), [pytest.param(*n[1:], id=n[0].replace(" ", "_")) for n in NAMES])
def test_names_of_rows_that_cannot_be(row: Row, words: str, log: wheelend.Log, tmp_path: Path) -> None:
    own = write(tmp_path, row)
    with pytest.raises(LimitFileError) as refused:
        wheelend.judge(log, limits=["us-federal", own])
    assert str(refused.value).startswith("own.csv, line 3: ")
    assert words in str(refused.value)


@pytest.mark.parametrize("files", [("A", "B"), ("A", "B", "C")])
def test_files_that_override_each_other(files: tuple[str, ...], log: wheelend.Log, tmp_path: Path) -> None:
    following = dict(zip(files, (*files[1:], files[0]), strict=True))
    paths = [write(tmp_path, OWN | {"id": a, "overrides": b}, name=f"{a}.csv") for a, b in following.items()]
    with pytest.raises(LimitFileError) as refused:
        wheelend.judge(log, limits=paths)
    said_of_each = "overrides leads back to the row itself: leave it out of one of them"
    assert str(refused.value).splitlines() == [f"{a}.csv, line 3: {a}: {said_of_each}" for a in files]


# ---- slips of the pen


@pytest.mark.parametrize(("changed", "remedy"), [
    ({"bound": "-3", "measure": "mm"}, "-3 mm is outside 0 to 31.75 mm"),
    ({"bound": "300", "measure": "mm"}, "300 mm is outside 0 to 31.75 mm"),
    ({"bound": "3", "measure": "psi"}, "psi does not measure tread_depth: use 32nds, mm, in"),
])  # fmt: skip
def test_a_bound_that_no_reading_comes_near_is_refused(changed: dict[str, str], remedy: str, tmp_path: Path) -> None:
    """40/32 in is deeper than any truck tire is made (common practice, no source)."""
    with pytest.raises(wheelend.LimitFileError, match=re.escape(remedy)):
        wheelend.limits(["us-federal", write(tmp_path, OWN | changed)])


def test_a_row_takes_the_place_only_of_one_of_the_same_value(tmp_path: Path) -> None:
    own = write(tmp_path, OWN | {"overrides": "US-T-11"})
    with pytest.raises(wheelend.LimitFileError, match="overrides names US-T-11, which is of pressure, cold_pressure"):
        wheelend.limits(["us-federal", own])
