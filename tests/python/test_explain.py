"""What the commands say of limits, words and records: a simple row, rows with everything, and what was nearly meant."""

from __future__ import annotations

import csv
import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest

import wheelend
from wheelend import BadCall, dictionary, limit_sets
from wheelend._records import records

ROOT = Path(__file__).resolve().parents[2]


def blocks(text: str) -> dict[str, dict[str, str]]:
    """Row by row what ``explain`` says: name of each line, and its text without line breaks."""
    found: dict[str, dict[str, str]] = {}
    for block in text.strip().split("\n\n"):
        head, *lines = block.splitlines()
        said = found.setdefault(head, {})
        name = ""
        for line in lines:
            started = re.match(r"  (\w[\w ]*):\s+(.*)", line)
            if started:
                name, said[started[1]] = started[1], started[2]
            else:
                said[name] += " " + line.strip()
    return found


def line_of(name: str, limit_id: str) -> str:
    """Where the row stands, counted in the file itself."""
    lines = (ROOT / "data" / "limits" / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    at = next(i for i, line in enumerate(lines, 1) if line.startswith(f"{limit_id},"))
    return f"{name}.csv, line {at}"


# ---- explain


def test_a_simple_row(run: Any) -> None:
    """49 CFR 393.75(c): 2/32 in on all tires but the front ones of (b)."""
    shown = run("explain", "US-T-03")
    assert shown.code == 0
    said = blocks(shown.out)["US-T-03"]
    assert said["clause"] == "49 CFR 393.75(c)"
    assert said["passes"] == "tread depth >= 2 32nds"
    assert said["severity"] == "violation"
    assert "US-T-02" in said["applies"]
    assert said["status"].startswith("confirmed")
    assert said["file"] == line_of("us-federal", "US-T-03")
    assert not {"conflicts", "in force", "counts as", "compares"} & set(said)
    assert all(len(line) <= 80 for line in shown.out.splitlines())


SAYS = [
    # two printed numbers, conditions on words and a measured fact, conditions on the test
    ("US-B-11-24L3", "passes", "pushrod stroke <= 2.5 in (63.5 mm)"),
    ("US-B-11-24L3", "applies", "chamber = clamp, chamber_size = 24, stroke_family = long"),
    ("US-B-11-24L3", "applies", "reservoir >= 80 psi"),
    # a band, printed twice; a conflict
    ("WE-01", "passes", "within 450 to 500 lbft (610 to 678 nm)"),
    ("WE-01", "conflicts", "WE-05"),
    # bases that stand in for each other; a share; either of two bounds
    ("US-T-11", "passes", "100 percent of needed, else needed by load, else target"),
    ("DU-13", "passes", "> 80 percent of target"),
    ("US-B-23", "passes", "55 psi, or 50 percent of cut out: either is enough"),
    ("WE-21", "passes", "drum diameter <= marked"),
    ("WE-22", "passes", "drum diameter <= original + 0.12 in"),
    # a thing that must not be there; what counts; what is compared; since when; how sure
    ("US-T-06", "passes", "retread absent"),
    ("OS-B-03", "counts as", "0.5 defective brake"),
    ("DU-03", "compares", "tires of the same size, make, design"),
    ("UK-T-05", "in force", "2021-02-01 to further notice"),
    ("US-B-20", "status", "cannot fail a reading unless unconfirmed rows are counted"),
    ("US-W-03", "passes", "fasteners missing or fasteners loose <= 0 count"),
]


@pytest.mark.parametrize(("limit_id", "line", "words"), SAYS, ids=lambda v: str(v) if "-" in str(v)[:4] else None)
def test_rows_with_more_to_say(limit_id: str, line: str, words: str, run: Any) -> None:
    shown = run("explain", limit_id)
    assert shown.code == 0
    assert words in blocks(shown.out)[limit_id][line]


def test_every_row_that_ships_can_be_explained(run: Any) -> None:
    """Each with its clause and where it stands."""
    for name in limit_sets.names():
        for row in wheelend.limits(name).to_pylist():
            if row["file"] == f"{name}.csv":
                said = blocks(run("explain", row["id"], "--limits", name).out)[row["id"]]
                assert "".join(said["clause"].split()) == "".join(row["clause"].split())  # wherever a line ends
                assert said["file"] == f"{name}.csv, line {row['line']}" == line_of(name, row["id"])


def test_the_first_part_of_an_id_names_all_its_rows(run: Any) -> None:
    assert list(blocks(run("explain", "US-S").out)) == ["US-S-03", "US-S-05", "US-S-06", "US-S-07", "US-S-09"]
    assert list(blocks(run("explain", "WE-07").out)) == ["WE-07"]  # a whole id: not WE-07-SPACER beside it
    assert list(blocks(run("explain", "us-t-02 ").out)) == ["US-T-02"]


@pytest.mark.parametrize(
    ("limit_id", "words"),
    [
        ("US-T-0Z", r"did you mean .*US-T-0\d"),
        ("UST-02", r"did you mean .*US-T-02"),
        ("DE-T-02", r"did you mean .*DE-T-01"),
        ("quite another thing", r"'quite another thing' \(wheelend limits NAME lists the rows of a set\)"),
    ],
)
def test_an_id_that_there_is_not(limit_id: str, words: str, run: Any) -> None:
    shown = run("explain", limit_id)
    assert shown.code == 2
    assert shown.out == ""
    assert f"no limit goes by {limit_id!r}" in shown.err
    assert re.search(words, shown.err)


def test_only_the_sets_that_are_named(run: Any) -> None:
    assert run("explain", "DE-T-01", "--limits", "de").code == 0
    assert run("explain", "DE-T-01", "--limits", "at").code == 2
    with pytest.raises(BadCall, match="no limit goes by 'DE-T-01'"):
        limit_sets.explain("DE-T-01", ["at", "fr"])


def test_a_row_of_a_set_that_is_included_is_found(run: Any) -> None:
    shown = run("explain", "US-B-11-30", "--limits", "us-federal")
    assert blocks(shown.out)["US-B-11-30"]["file"] == line_of("us-brake-stroke", "US-B-11-30")


def test_a_row_of_the_fleets_own_says_where_it_stands(tmp_path: Path, run: Any) -> None:
    own = tmp_path / "own.csv"
    own.write_text(
        "# title: Ours\n\n"
        "id,quantity,statistic,where,bound,measure,sense,severity,clause,status,overrides\n"
        "OWN-1,tread_depth,lowest_depth,site = north,5,32nds,>=,own,shop manual,own,US-T-02\n"
    )
    said = blocks(run("explain", "OWN-1", "--limits", "us-federal", "--limits", own).out)["OWN-1"]
    assert said["clause"] == "shop manual [own.csv, line 4]"
    assert said["file"] == "own.csv, line 4"
    assert said["status"] == "the fleet's own decision"


# ---- limits


def test_the_sets_and_the_rows_of_one(run: Any, tmp_path: Path) -> None:
    shown = run("limits")
    assert shown.code == 0
    words = shown.out.split()
    assert set(limit_sets.names()) <= set(words)
    shown = run("limits", "de")
    assert "DE-T-01" in shown.out
    assert ">= 1.6 mm" in shown.out
    assert run("limits", "dee").code == 2
    out = tmp_path / "rows.csv"
    assert run("limits", "de", "at", "-o", out).code == 0
    with out.open(encoding="utf-8", newline="") as f:
        assert [row["id"] for row in csv.DictReader(f)] == [r["id"] for r in wheelend.limits(["de", "at"]).to_pylist()]


# ---- words


def test_every_quantity_with_its_column_and_what_it_is(run: Any) -> None:
    shown = run("words")
    assert shown.code == 0
    lines = [re.split(r"\s{2,}", line.strip()) for line in shown.out.splitlines()]
    listed = {parts[0]: parts[1:] for parts in lines if len(parts) == 3}
    for q in dictionary.QUANTITIES:
        column, words = listed[q.name]
        assert words == q.words
        known = dictionary.columns("wheelend_readings")
        label = column.removeprefix("value_")
        assert ("present", False) in known if column == "present" else label in known["value", True].measures
    assert run("words", "quantity").out == shown.out


@pytest.mark.parametrize(
    ("column", "words"),
    [
        ("kind", ["truck", "tractor", "bus", "trailer", "dolly"]),
        ("brake", ["air_drum", "air_disc", "hydraulic_drum", "hydraulic_disc", "electric", "wedge"]),
        ("thread", ["oiled", "dry"]),
        ("present", ["yes", "no"]),
        ("warm", ["yes", "no"]),
    ],
)
def test_the_words_of_a_column(column: str, words: list[str], run: Any) -> None:
    shown = run("words", column)
    assert shown.code == 0
    head, *listed = shown.out.splitlines()
    assert head.startswith(f"{column}: ")
    assert [line.strip() for line in listed] == words


@pytest.mark.parametrize("column", ["brak", "unit", "pressure"])
def test_a_column_that_takes_no_words(column: str, run: Any) -> None:
    shown = run("words", column)
    assert shown.code == 2
    assert f"{column!r} is not a column that takes words; those are " in shown.err
    assert {"brake,", "fastener,", "kind,", "quantity,"} <= set(shown.err.split())


# ---- records


def test_how_long_a_report_is_kept(run: Any) -> None:
    """49 CFR 396.21(b): fourteen months. A report of 15 January 2024 through 15 March 2025 (worked verdict 113)."""
    shown = run("records", "periodic_report", "--dated", "2024-01-15")
    assert shown.code == 0
    assert shown.out.startswith("periodic report: keep for 14 months, through 2025-03-15\n")
    assert "US-R-07: 49 CFR 396.21(b)" in shown.out
    (rule,) = records("periodic_report", dated=dt.date(2024, 1, 15))
    assert (rule.record, rule.rule, rule.number, rule.date) == (
        *("periodic_report", "keep_months", 14),
        dt.date(2025, 3, 15),
    )


def test_all_records_without_a_date(run: Any) -> None:
    shown = run("records")
    assert shown.code == 0
    assert "periodic inspection: due within 12 months\n" in shown.out  # 49 CFR 396.17
    assert "roadside report: due within 15 days\n" in shown.out  # 49 CFR 396.9(d)(3)
    assert "through" not in shown.out


def test_a_record_that_is_due_in_days(run: Any) -> None:
    """49 CFR 396.9(d)(3): fifteen days; 2024 has a 29 February."""
    shown = run("records", "roadside_report", "--dated", "2024-02-20")
    assert "roadside report: due within 15 days, by 2024-03-06" in shown.out
    assert "roadside report: keep for 12 months, through 2025-02-20" in shown.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("periodic_reprot",), "expected one of periodic_inspection, periodic_report"),
        (("vehicle_file", "--limits", "de"), "say nothing of vehicle_file: choose others"),
        (("--limits", "de"), "say nothing of records: choose others"),
        (("vehicle_file", "--dated", "2024-02-30"), "expected a date as YYYY-MM-DD, got '2024-02-30'"),
    ],
    ids=lambda v: "_".join(v) if isinstance(v, tuple) else None,
)
def test_records_that_cannot_be_told(arguments: tuple[str, ...], words: str, run: Any) -> None:
    shown = run("records", *arguments)
    assert shown.code == 2
    assert shown.out == ""
    assert words in shown.err
