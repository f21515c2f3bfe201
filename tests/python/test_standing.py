"""Standings: no unit is clear that a rule, a row from memory, its own rows or its sidewall would stop."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import wheelend
from cases import axles, seen

TODAY = "2025-06-20"
TRACTOR = axles("T1", "tractor", "steer", "drive", target_psi="100")


def table(rows: list[dict[str, str]]) -> dict[str, list[str]]:
    names = list(dict.fromkeys(name for row in rows for name in row))
    return {name: [row.get(name, "") for row in rows] for name in names}


def log_of(*readings: dict[str, str], positions: list[dict[str, str]] = TRACTOR, **tables: Any) -> wheelend.Log:
    """Readings of the first position; wheel-end readings where they name a quantity."""
    wheelends = [r for r in readings if "quantity" in r]
    here = {"unit": "T1", "axle": "1", "side": "left", "dual": "single", "read_on": "2025-06-10", "warm": "no"}
    of_tires = [here | r for r in readings if "quantity" not in r]
    return wheelend.read_log(
        table(of_tires) if of_tires else None,
        table(positions),
        tables.get("tires"),
        table(wheelends) if wheelends else None,
        today=TODAY,
    )


def standing(log: wheelend.Log, **how: Any) -> dict[str, Any]:
    found = wheelend.standing(log, **how)
    row: dict[str, Any] = {name: values[0] for name, values in found.items()}
    return row


# The rows of OS-W-03, OS-W-01 and 49 CFR 393.47(g) are from memory: they may not fail a reading, nor be passed over.
@pytest.mark.parametrize(("reading", "row"), [
    (seen("hub_smoking", "1", "left", present="yes"), "OS-W-03-SMOKE"),
    (seen("pushrod_stroke", "2", "left", value_in="2.5", chamber="clamp", chamber_size="24", reservoir_psi="90"),
     "US-B-11-24"),
    (seen("fasteners_defective", "1", "left", value_count="4", fasteners="10"), "OS-W-01-10"),
    (seen("drum_diameter", "1", "left", value_in="16.7", marked_in="16.62"), "US-B-13-DRUM"),
    (seen("rotor_thickness", "1", "left", value_in="1.4", marked_in="1.46"), "US-B-13-ROTOR"),
])  # fmt: skip
def test_what_a_row_from_memory_would_stop_is_watched_and_held_when_counted(
    reading: dict[str, str], row: str, run: Any, tmp_path: Path
) -> None:
    log = log_of(reading)
    found = standing(log)
    assert (found["standing"], found["verdicts_failed"]) == ("watch", 0)
    assert found["reason"].startswith(f"would fail {row} (from memory; not counted): ")
    counted = standing(log, count_unconfirmed=True)
    assert counted["standing"] == "hold"
    assert counted["verdicts_failed"] >= 1
    verdicts = wheelend.judge(log)
    would = dict(zip(verdicts["limit_id"], verdicts["would_fail"], strict=True))
    assert would[row]


def test_people_are_told_what_would_fail(run: Any, tmp_path: Path) -> None:
    names = {}
    for name, rows in (
        ("positions", TRACTOR),
        ("wheelend-readings", [seen("hub_smoking", "1", "left", present="yes")]),
    ):
        names[name] = tmp_path / f"{name}.csv"
        columns = table(rows)
        lines = [",".join(columns), *(",".join(cells) for cells in zip(*columns.values(), strict=True))]
        names[name].write_text("\n".join(lines), encoding="utf-8")
    files = [f"--{name}={path}" for name, path in names.items()]
    said = run("judge", *files)
    assert said.code == 0
    text = " ".join(said.out.split())
    assert "1 reading would fail a limit that is only known from memory (--count-unconfirmed judges by it):" in text
    assert "T1, axle 1 left: hub smoking (none allowed)" in text
    assert run("standing", *files).code == 0
    held = run("standing", *files, "--count-unconfirmed")
    assert held.code == 1
    assert "no certificate of roadworthiness" in held.out


def test_only_the_row_that_the_target_stands_in_for_is_left_to_the_state(tmp_path: Path) -> None:
    """97 psi of a target of 100 is within the band of 5 psi (FMCSA survey of 2003): clear, though US-T-11 fails."""
    log = log_of({"pressure_psi": "97"})
    assert standing(log)["standing"] == "clear"
    own = tmp_path / "own.csv"
    own.write_text(
        "id,quantity,statistic,bound,measure,sense,severity,clause,status\n"
        "P-1,pressure,cold_pressure,98,psi,>=,own,shop manual,own\n",
        encoding="utf-8",
    )
    found = standing(log, limits=["us-federal", own])
    assert (found["standing"], found["verdicts_failed"]) == ("watch", 1)
    assert "98 psi" in found["reason"]


def test_a_pressure_below_what_the_load_table_asks_for_counts() -> None:
    """6000 lb on one 295/75R22.5: 105 psi carries 5980 lb, so 110 psi (formulas L1, trade press); the target is 90."""
    positions = [p | {"target_psi": "90", "axle_load_lb": "12000", "size": "295/75R22.5"} for p in TRACTOR]
    found = standing(log_of({"pressure_psi": "90"}, positions=positions))
    assert (found["standing"], found["reason"]) == ("watch", "90 psi, limit >= 110 psi, 49 CFR 393.75(i)(1)")


@pytest.mark.parametrize("of", ["position", "tire"])
def test_above_the_figure_on_the_sidewall_is_watched(of: str) -> None:
    """The sidewall's figure is the most that the tire may hold cold (49 CFR 571.119 S6.5, from memory)."""
    positions = [p | {"target_psi": ""} | ({"sidewall_max_psi": "120"} if of == "position" else {}) for p in TRACTOR]
    tires = {"tire": ["X"], "sidewall_max_psi": ["120"]} if of == "tire" else None
    for pressure, word in (("140", "watch"), ("120", "clear")):
        found = standing(log_of({"pressure_psi": pressure, "tire": "X"}, positions=positions, tires=tires))
        assert found["standing"] == word
    warm = standing(log_of({"pressure_psi": "125", "tire": "X", "warm": "yes"}, positions=positions, tires=tires))
    assert warm["standing"] == "clear"  # a warm tire is above its cold pressure: common practice, no source
