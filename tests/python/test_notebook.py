"""Results in a notebook and at a prompt: short, with measures in the head, escaped, at a cost that does not grow."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

import wheelend
from wheelend import grouped, limit_sets, loads
from wheelend.simulate import fleet

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
TABLE = pa.table(
    {"unit": ["<b>&", "T2", "T3"], "depth_32nds": [5.123456789, None, 7.0], "rate_mm_per_month": [1, 2, 3]}
)


@pytest.mark.parametrize("kind", ["arrow", "pandas", "polars", "dict"])
def test_the_first_rows_of_any_kind(kind: str) -> None:
    from wheelend import _results

    table = _results.native(TABLE, kind)
    lines = repr(wheelend.show(table, 2)).splitlines()
    assert lines[0].split() == ["unit", "depth_32nds", "rate_mm_per_month"]
    assert lines[1].split() == ["<b>&", "5.1235", "1"]
    assert lines[-1] == "first 2 of 3 rows, 3 columns"


def test_html_has_measures_in_its_head_and_is_escaped() -> None:
    html = wheelend.show(TABLE)._repr_html_()
    assert "<th>depth<br><span" in html
    assert ">1/32 in</span>" in html
    assert "&lt;b&gt;&amp;" in html
    assert "<b>" not in html
    assert "<script" not in html
    assert "3 rows, 3 columns" in html


def test_chosen_columns_and_wrong_ones() -> None:
    assert repr(wheelend.show(TABLE, columns=["depth_32nds"])).splitlines()[0].split() == ["depth_32nds"]
    with pytest.raises(wheelend.BadCall, match="no column depth; it has unit, depth_32nds"):
        wheelend.show(TABLE, columns=["depth"])
    with pytest.raises(wheelend.BadCall, match="expected a table"):
        wheelend.show(3)


def test_an_empty_table_is_shown_as_such() -> None:
    assert repr(wheelend.show(TABLE.slice(0, 0))).splitlines()[-1] == "0 rows, 3 columns"


def test_only_the_head_is_read() -> None:
    # A table of which reading any later row would take all memory there is: 2^40 rows of one value, run-end encoded.
    many = 2**40
    ends = pa.RunEndEncodedArray.from_arrays(pa.array([many], pa.int64()), pa.array([1.5]))
    table = pa.table({"depth_mm": ends})
    assert "first 8 of 1,099,511,627,776 rows" in repr(wheelend.show(table))


def test_a_log_says_what_it_holds() -> None:
    log = wheelend.read_log(SAMPLE / "readings.csv", SAMPLE / "positions.csv", SAMPLE / "tires.csv")
    html = log._repr_html_()
    assert "34 units, 278 positions, 2025-01-06 to 2026-02-27" in html
    assert html.count("<tr>") == 1 + 5 + 3  # head, first readings, counts of three tables
    assert "tread_outer<br>" in html
    assert len(html) < 6000
    assert "first 5 of" in html


def test_a_log_without_tread_is_shown() -> None:
    only = {
        "unit": ["U1"], "axle": ["1"], "side": ["left"], "dual": ["single"], "kind": ["truck"], "role": ["steer"],
        "read_on": ["2025-01-05"], "pressure_kpa": ["700"],
    }  # fmt: skip
    assert "pressure<br>" in wheelend.read_log(only)._repr_html_()


def test_reprs_are_short_whatever_they_hold() -> None:
    made = fleet("typical", seed=1, units=12)
    rng = np.random.default_rng(1)
    unit = np.repeat(np.arange(300), 3)
    fit = grouped.fit_lines(unit, np.tile([0.0, 1.0, 2.0], 300), rng.normal(size=900) + unit % 7)
    spot = wheelend.spot(kind="tractor", role="steer", depth="5/32 in")
    held: list[tuple[Any, str]] = [
        (made, "12 units"),
        (made.truth, "readings"),
        (fit, "300 units, 900 readings"),
        (grouped.shrink(rng.normal(size=500), np.ones(500)), "500 values"),
        (limit_sets.load("us-federal"), "rows of"),
        (loads.load_tables(), "tables"),
        (spot, "pass: tread depth 5/32 in"),
    ]
    for value, words in held:
        text = repr(value)
        assert words in text
        assert len(text) < 900
        assert not re.search(r"array\(|0x[0-9a-f]{6}", text)


def test_the_extension_shows_arrow_tables() -> None:
    from IPython.core.interactiveshell import InteractiveShell

    shell = InteractiveShell()
    wheelend.load_ipython_extension(shell)
    data, _ = shell.display_formatter.format(TABLE)
    assert data["text/html"] == wheelend.show(TABLE)._repr_html_()
    assert data["text/plain"] == repr(wheelend.show(TABLE))
