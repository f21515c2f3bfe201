"""Shared by the Python tests: a tiny invented fleet that can be spoiled cell by cell, and the command line."""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def pytest_report_header() -> str:
    """Failures that depend on a version of a table library can be told apart in a log."""
    names = ("numpy", "pyarrow", "pandas", "polars", "duckdb", "python-calamine")
    return "tables: " + ", ".join(f"{name} {version(name)}" for name in names)


class Table:
    """A table as text. Rows are numbered as a spreadsheet shows them: the header is row 1."""

    def __init__(self, text: str) -> None:
        self.header, *self.rows = (line.split() for line in text.strip().splitlines())

    def set(self, row: int, column: str, text: str) -> Table:
        """One cell; row 1 renames the column."""
        (self.header if row == 1 else self.rows[row - 2])[self.header.index(column)] = text
        return self

    def column(self, name: str, values: str | list[str]) -> Table:
        """A further column, or other values for one that is there; one text stands for all rows."""
        texts = [values] * len(self.rows) if isinstance(values, str) else values
        if name in self.header:
            for row, text in zip(self.rows, texts, strict=True):
                row[self.header.index(name)] = text
            return self
        self.header.append(name)
        for row, text in zip(self.rows, texts, strict=True):
            row.append(text)
        return self

    def drop(self, *names: str) -> Table:
        keep = [i for i, name in enumerate(self.header) if name not in names]
        self.header = [self.header[i] for i in keep]
        self.rows = [[row[i] for i in keep] for row in self.rows]
        return self

    def again(self, row: int, **other: str) -> Table:
        """A further row at the end: a copy of ``row`` with other texts in some columns."""
        self.rows.append([other.get(name, text) for name, text in zip(self.header, self.rows[row - 2], strict=True)])
        return self

    def csv(self, delimiter: str = ",", end: str = "\n", quote: bool = False) -> str:
        out = io.StringIO()
        quoting = csv.QUOTE_ALL if quote else csv.QUOTE_MINIMAL
        csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=quoting).writerows([self.header, *self.rows])
        return out.getvalue()

    def columns(self) -> dict[str, list[str]]:
        return {name: [row[i] for row in self.rows] for i, name in enumerate(self.header)}


# T1 is a tractor with a steer axle of singles and a drive axle of duals, R7 a trailer with one axle of singles.
POSITIONS = """
unit kind    axle side  dual   role    target_psi
T1   tractor 1    left  single steer   100
T1   tractor 1    right single steer   100
T1   tractor 2    left  outer  drive   95
T1   tractor 2    left  inner  drive   95
R7   trailer 1    left  single trailer 95
R7   trailer 1    right single trailer 95
"""
# Every groove of row 2 is below the 4/32 in of a steer tire: whatever single value of it is spoiled, it stays bald.
# All other rows pass.
READINGS = """
unit axle side  dual   read_on odometer_mi tread_outer_32nds tread_middle_32nds tread_inner_32nds pressure_psi tire_degf
T1  1  left  single 2025-06-10 120000   2    3    2    99   75
T1  1  right single 2025-06-10 120000   12   12   11   101  76
T1  2  left  outer  2025-06-10 120000   15   14   15   94   74
T1  2  left  inner  2025-06-10 120000   14   14   13   93   74
R7  1  left  single 2025-06-10 80000    9    10   9    96   73
R7  1  right single 2025-06-10 80000    8    8    9    95   73
"""


@pytest.fixture
def root() -> Path:
    return ROOT


@pytest.fixture
def positions() -> Table:
    return Table(POSITIONS)


@pytest.fixture
def readings() -> Table:
    """One inspection of each position: 6 rows of 6 values besides the keys."""
    return Table(READINGS)


@pytest.fixture
def history(readings: Table) -> Table:
    """Four inspections of each position, 5000 miles and 1/32 in apart; the last one is ``readings``."""
    last = [list(row) for row in readings.rows]
    at = {name: i for i, name in enumerate(readings.header)}
    for back, day in ((1, "2025-04-11"), (2, "2025-02-10"), (3, "2024-12-12")):
        for row in last:
            earlier = list(row)
            earlier[at["read_on"]] = day
            earlier[at["odometer_mi"]] = str(int(row[at["odometer_mi"]]) - 5000 * back)
            for groove in ("outer", "middle", "inner"):
                name = f"tread_{groove}_32nds"
                earlier[at[name]] = str(int(row[at[name]]) + back)
            readings.rows.append(earlier)
    return readings


@dataclass(frozen=True)
class Run:
    code: int
    out: str
    err: str


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., Run]:
    """The command line in this process: ``run("judge", "--readings", path)``."""
    from wheelend.cli import main

    def call(*arguments: Any) -> Run:
        capsys.readouterr()
        code = 0
        try:
            main([str(a) for a in arguments])
        except SystemExit as exit_:
            code = exit_.code if isinstance(exit_.code, int) else 0 if exit_.code is None else 1
        sys.stdout.flush()
        shown = capsys.readouterr()
        return Run(code, shown.out, shown.err)

    return call
