"""The command line as a program: forms of the result, where it goes, pipes, interrupts, exit codes, completion."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest
from python_calamine import CalamineWorkbook

from conftest import Table

FORMS = ("csv", "json", "parquet", "xlsx")


@pytest.fixture
def files(tmp_path: Path, readings: Table, positions: Table) -> list[str]:
    """A tiny fleet with one bald tire on a steer axle: `judge` ends with 1."""
    made = []
    for name, table in (("readings", readings), ("positions", positions)):
        (tmp_path / f"{name}.csv").write_text(table.csv(), encoding="utf-8")
        made += [f"--{name}", str(tmp_path / f"{name}.csv")]
    return made


def program(*arguments: str, **how: Any) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "wheelend", *arguments]
    return subprocess.run(command, capture_output=True, check=False, **how)


def rows_of(form: str, data: bytes) -> list[dict[str, Any]]:
    """Rows of a result, read by a library of their own format; numbers and dates as text."""
    if form == "csv":
        return list(csv.DictReader(io.StringIO(data.decode())))
    if form == "json":
        found = json.loads(data)
    elif form == "parquet":
        found = pq.read_table(io.BytesIO(data)).to_pylist()
    else:
        head, *rest = CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_index(0).to_python()
        found = [dict(zip(head, row, strict=True)) for row in rest]
    return [{k: _text(v) for k, v in row.items()} for row in found]


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:g}"
    return "" if value is None else str(value)


# ---- forms of the result


def test_every_form_on_stdout_gives_the_same_rows(files: list[str]) -> None:
    found = {}
    for form in FORMS:
        done = program("judge", *files, "--format", form)
        assert done.returncode == 1, done.stderr
        assert done.stderr.startswith(b"As of 2025-06-10")  # messages never mix with the data
        found[form] = rows_of(form, done.stdout)
    assert len(found["csv"]) > 10
    assert found["csv"] == found["json"] == found["parquet"] == found["xlsx"]


def test_the_format_beats_the_name_of_the_file(files: list[str], tmp_path: Path, run: Any) -> None:
    out = tmp_path / "verdicts.dat"
    assert run("judge", *files, "-o", out).code == 2
    assert not out.exists()
    assert run("judge", *files, "-o", out, "--format", "csv").code == 1
    assert out.read_text(encoding="utf-8").startswith('"unit","axle"')
    assert run("judge", *files, "--format", "table", "-o", out).code == 1
    assert out.read_text(encoding="utf-8").startswith("UNIT ")


def test_issues_and_limits_take_a_format(files: list[str], run: Any) -> None:
    assert run("limits", "us-federal", "--format", "csv").out.startswith('"id",')
    assert run("issues", *files, "--format", "csv").out.startswith('"file","sheet","row"')


def test_a_format_that_is_not_known_is_wrong_usage(files: list[str], run: Any) -> None:
    done = run("judge", *files, "--format", "pdf")
    assert done.code == 2
    assert "parquet" in done.err


# ---- where it goes


def test_a_reader_that_has_seen_enough_is_no_error(files: list[str]) -> None:
    """``| head``: quiet, and the exit code still says what was found."""
    for form in ("table", *FORMS):
        end, start = os.pipe()
        os.close(end)  # nobody reads
        command = [sys.executable, "-m", "wheelend", "judge", *files, "--format", form]
        done = subprocess.run(command, stdout=start, stderr=subprocess.PIPE, check=False)
        os.close(start)
        assert (done.returncode, done.stderr.count(b"\n")) == (1, 1), (form, done.stderr)


@pytest.mark.parametrize("name", ["none/v.csv", "none/v.xlsx", "none/v.parquet", "none/v.json"])
def test_a_folder_that_is_not_there_is_one_message(files: list[str], tmp_path: Path, run: Any, name: str) -> None:
    done = run("judge", *files, "-o", tmp_path / name)
    assert done.code == 2
    *_, last = done.err.splitlines()
    assert last.startswith(f"wheelend: {tmp_path / name}: No such file or directory; check the name")
    assert not (tmp_path / "none").exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device of Linux that is always full")
@pytest.mark.parametrize("form", ["table", *FORMS])
def test_a_full_disk_is_one_message(files: list[str], form: str) -> None:
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "wheelend", "judge", *files, "--format", form]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert b"No space left on device" in done.stderr
