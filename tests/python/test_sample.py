"""The invented fleet: reproducible, as promised, and described truly in its ABOUT.md."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from pathlib import Path

import pytest

from wheelend import sample

SHIPPED = Path(__file__).resolve().parents[2] / "data" / "samples" / "small_fleet"
NAMES = ["readings.csv", "positions.csv", "tires.csv"]
GROOVES = ("tread_outer_32nds", "tread_middle_32nds", "tread_inner_32nds")
KEY = ("unit", "axle", "side", "dual")

Row = dict[str, str]


def table(path: Path) -> list[Row]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def wheel(row: Row) -> str:
    return " ".join(row[name] for name in KEY)


def minima(folder: Path) -> dict[str, int]:
    return {wheel(row): 4 if row["role"] == "steer" else 2 for row in table(folder / "positions.csv")}


def last_depths(folder: Path) -> dict[str, int]:
    """Shallowest depth of the last inspection; the planted slips never fall on it."""
    seen: dict[str, dict[str, int]] = defaultdict(dict)
    for row in table(folder / "readings.csv"):
        depths = [row[name] for name in GROOVES]
        if re.fullmatch(r"\d{4}-\d\d-\d\d", row["read_on"]) and all(d.isdigit() for d in depths):
            before = seen[wheel(row)].get(row["read_on"], 99)
            seen[wheel(row)][row["read_on"]] = min(before, *map(int, depths))
    return {position: dates[max(dates)] for position, dates in seen.items()}


def about_rows() -> list[list[str]]:
    """Rows of the tables in ABOUT.md that begin with a row number, or with a range of them."""
    lines = (SHIPPED / "ABOUT.md").read_text(encoding="utf-8").splitlines()
    tables = [line[1:-1].split("|") for line in lines if re.match(r"\| \d", line)]
    return [[cell.strip() for cell in row] for row in tables]


@pytest.fixture(scope="module")
def shipped_readings() -> list[Row]:
    return table(SHIPPED / "readings.csv")


def test_the_shipped_files_are_the_default_output(tmp_path: Path) -> None:
    paths = sample.write_sample(tmp_path)
    assert paths == [tmp_path / name for name in NAMES]
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(NAMES)
    for path in paths:
        assert path.read_bytes() == (SHIPPED / path.name).read_bytes()


def test_lines_end_in_a_line_feed_only() -> None:
    for name in NAMES:
        content = (SHIPPED / name).read_bytes()
        assert content.endswith(b"\n")
        assert b"\r" not in content


@pytest.mark.parametrize("name", NAMES)
def test_an_existing_file_is_left_alone(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine")
    with pytest.raises(FileExistsError, match=rf"{name} exists already .* another directory"):
        sample.write_sample(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "mine"


def test_a_file_in_the_place_of_the_directory_is_refused(tmp_path: Path) -> None:
    (tmp_path / "fleet").write_text("mine")
    with pytest.raises(FileExistsError):
        sample.write_sample(tmp_path / "fleet")
    assert (tmp_path / "fleet").read_text() == "mine"


def test_a_missing_directory_is_made_and_text_is_taken(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "fleet"
    assert sample.write_sample(str(folder))[0] == folder / "readings.csv"


def test_another_seed_gives_other_data_with_the_same_cases(tmp_path: Path) -> None:
    readings, _, _ = sample.write_sample(tmp_path, seed=7)
    assert readings.read_bytes() != (SHIPPED / "readings.csv").read_bytes()
    limits, depths, shipped = minima(tmp_path), last_depths(tmp_path), last_depths(SHIPPED)
    planted = {position for position in limits if shipped[position] < limits[position]}
    assert planted
    assert all(depths[position] < limits[position] for position in planted)


def test_units_positions_and_months() -> None:
    positions = table(SHIPPED / "positions.csv")
    kinds = {row["unit"]: row["kind"] for row in positions}
    assert len(kinds) == 34
    assert set(kinds.values()) == {"tractor", "truck", "bus", "trailer", "dolly"}
    assert len({wheel(row) for row in positions}) == len(positions) == 278
    assert {row["site"] for row in positions} == {"North", "South"}
    assert {row["group"] for row in positions} == {"linehaul", "city"}


def test_the_record_spans_fourteen_months(shipped_readings: list[Row]) -> None:
    good = [r["read_on"] for r in shipped_readings if re.match(r"\d{4}-", r["read_on"])]
    assert len({day[:7] for day in good}) == 14
    assert (min(good), max(good)) == ("2025-01-06", "2026-02-27")


def test_six_to_ten_positions_end_below_a_federal_minimum() -> None:
    limits, depths = minima(SHIPPED), last_depths(SHIPPED)
    assert 6 <= sum(depths[position] < limits[position] for position in limits) <= 10


def test_two_units_are_unread_for_three_months(shipped_readings: list[Row]) -> None:
    last: dict[str, str] = {}
    for row in shipped_readings:
        if re.match(r"\d{4}-", row["read_on"]):
            last[row["unit"]] = max(last.get(row["unit"], ""), row["read_on"])
    known = {row["unit"] for row in table(SHIPPED / "positions.csv")}
    unread = {unit for unit in known if last[unit] < "2025-11-27"}
    assert unread == {"T112", "V413"}


def test_every_tire_read_is_listed_and_only_those(shipped_readings: list[Row]) -> None:
    listed = [row["tire"] for row in table(SHIPPED / "tires.csv")]
    assert len(set(listed)) == len(listed)
    assert {row["tire"] for row in shipped_readings} == set(listed)


def test_tread_never_grows_beyond_reading_error(shipped_readings: list[Row]) -> None:
    mistakes = {int(row[0]) for row in about_rows() if row[1] in {f"`{name}`" for name in GROOVES}}
    lowest: dict[tuple[str, str], int] = {}
    for number, row in enumerate(shipped_readings, start=2):
        for name in GROOVES if number not in mistakes else ():
            before = lowest.get((row["tire"], name), 99)
            assert int(row[name]) <= before + 1
            lowest[row["tire"], name] = min(before, int(row[name]))


def test_about_has_the_headings_that_a_data_folder_needs() -> None:
    text = (SHIPPED / "ABOUT.md").read_text(encoding="utf-8")
    found = re.findall(r"^## (.+)$", text, flags=re.MULTILINE)
    assert found == ["Origin", "Licence", "Columns with units", "What is planted", "How made"]


def test_the_mistakes_stand_where_about_says(shipped_readings: list[Row]) -> None:
    mistakes = [row for row in about_rows() if row[1].startswith("`")]
    assert len(mistakes) == 15
    for number, column, text, _ in mistakes:
        assert shipped_readings[int(number) - 2][column.strip("`")] == text.strip("`")


def test_the_positions_and_days_stand_where_about_says(shipped_readings: list[Row]) -> None:
    named = [row for row in about_rows() if re.match(r"[A-Z]\d{3} \d ", row[1])]
    assert len(named) == 8 + 2 + 67
    for numbers, position, day, *_ in named:
        first, *rest = map(int, numbers.split(" to "))
        for number in range(first, (rest or [first])[0] + 1):
            row = shipped_readings[number - 2]
            assert position.startswith(wheel(row))
            assert row["read_on"] == day


def test_the_replacements_are_those_about_lists(shipped_readings: list[Row]) -> None:
    listed = {(r[1], r[4], r[5]) for r in about_rows() if len(r) == 6}
    seen: set[str] = set()
    on: dict[str, str] = {}
    found = set()
    for row in shipped_readings:
        before = on.get(wheel(row))
        if before and before != row["tire"] and row["tire"] not in seen:
            found.add((wheel(row), row["tire"], row["event"]))
        on[wheel(row)] = row["tire"]
        seen.add(row["tire"])
    assert found == listed
    assert len(listed) == 67
