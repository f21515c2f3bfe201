"""The list of all that users read is in step with the code, and complete."""

from __future__ import annotations

from pathlib import Path

import make_label_list

import wheelend
from made import commands
from wheelend import dictionary

TESTS = Path(__file__).resolve().parents[1]


def test_the_list_is_in_step_with_the_code() -> None:
    written = (TESTS / "labels.txt").read_text(encoding="utf-8").splitlines()
    made = make_label_list.label_list().splitlines()
    new = [line for line in made if line not in written]
    assert new == [], "run tests/make_label_list.py, and read what changed in tests/labels.txt"
    assert made == written, "run tests/make_label_list.py"


def test_the_list_names_what_users_meet() -> None:
    lines = make_label_list.label_list().splitlines()
    heads = {line.partition(":")[0] for line in lines}
    assert set(commands.all_commands()) <= heads
    assert {f"wheelend.{name}" for name in wheelend.__all__ if not name.startswith("__")} <= set(lines)
    assert {f"{table} -> {c.name}" for table, of in dictionary.RESULTS.items() for c in of} <= heads
    assert "standing.hold: may not leave" in lines  # a text of the sheet
    assert any(line.startswith("#5a1846: ") for line in lines)  # a fill
    assert "Chock the wheels and secure the unit before you walk round it" in " ".join(lines)  # a text of the form
