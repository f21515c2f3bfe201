"""What the worked verdicts and the traps share: the tables of one small case, and the command line that judges them.

A case is set down as a shop would write it: a few rows of readings, positions, tires and wheel-end readings, each a
CSV of its own, judged by one call of the command.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

P, FAIL, OOS, OWN, ADVICE, NV = (
    "pass",
    "fail: violation",
    "fail: out_of_service",
    "fail: own",
    "fail: advice",
    "no_verdict",
)
NO_ROW = "no row"  # the clause does not speak of this tire, axle or unit
COUNT_UNCONFIRMED = ("--count-unconfirmed",)

Row = dict[str, str]
Words = str | Mapping[str, int]  # one word that all rows of a limit say, or how many rows say which


# ---- tables


def write(path: Path, rows: list[Row]) -> Path:
    header = list(dict.fromkeys(name for row in rows for name in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, header, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


def read(path: Path) -> list[Row]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def wheel(kind: str, role: str, axle: int = 1, dual: str = "single", **cells: str) -> Row:
    """One reading that carries the facts of its position itself: one file is enough for a small shop."""
    facts = {"unit": "U1", "kind": kind, "role": role, "axle": str(axle), "side": "left", "dual": dual}
    return {**facts, "read_on": "2025-06-10", **cells}


def grooves(measure: str, *depths: str) -> Row:
    """Depths outer to inner."""
    return {f"tread_{i}_{measure}": d for i, d in enumerate(depths, 1)}


def steer(*depths: str, measure: str = "32nds", kind: str = "tractor", **cells: str) -> Row:
    return wheel(kind, "steer", **grooves(measure, *depths), **cells)


def drive(*depths: str, measure: str = "32nds", kind: str = "tractor", **cells: str) -> Row:
    return wheel(kind, "drive", 2, "outer", **grooves(measure, *depths), **cells)


def trailer(*depths: str, measure: str = "32nds", **cells: str) -> Row:
    return wheel("trailer", "trailer", 1, "outer", **grooves(measure, *depths), **cells)


def places(make: Callable[..., Row], *of_each: tuple[str, ...], **cells: str) -> list[Row]:
    """The same tire read at several places round it."""
    return [make(*depths, place=str(i), **cells) for i, depths in enumerate(of_each, 1)]


def inflated(**cells: str) -> Row:
    return wheel("tractor", "drive", 2, "outer", **cells)


def tire(number: str = "X1", **cells: str) -> list[Row]:
    return [{"tire": number, **cells}]


def axles(unit: str, kind: str, *roles: str, **facts: str) -> list[Row]:
    """Positions of a unit with single tires: one axle for each role, from the front."""
    return [
        {"unit": unit, "kind": kind, "axle": str(axle), "side": side, "dual": "single", "role": role, **facts}
        for axle, role in enumerate(roles, 1)
        for side in ("left", "right")
    ]


def seen(quantity: str, axle: str = "", side: str = "", unit: str = "T1", **cells: str) -> Row:
    """One wheel-end reading; without axle it is one of the whole unit."""
    place = {"unit": unit, "axle": axle, "side": side, "read_on": "2025-06-10"}
    return {**place, "quantity": quantity, **cells}


# ---- one case


@dataclass(frozen=True)
class Case:
    """A worked verdict.

    ``source`` is where the rule that decides is published: the first of the expected rows must name it as its clause.
    ``expected`` holds the rows that decide, by id; every other row of the loaded sets must not fail. ``reason`` must
    stand in the reason of the first expected row.
    """

    id: str
    source: str
    readings: list[Row]
    expected: Mapping[str, Words]
    tires: list[Row] = field(default_factory=list)
    positions: list[Row] = field(default_factory=list)
    wheelends: list[Row] = field(default_factory=list)
    limits: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    reason: str = ""

    @property
    def number(self) -> int:
        return int(self.id.partition(",")[0])


@dataclass(frozen=True)
class Judged:
    code: int
    rows: list[Row]

    def of(self, limit_id: str) -> list[Row]:
        return [row for row in self.rows if row["limit_id"] == limit_id]

    def word(self, limit_id: str) -> Words:
        return one_or_counts(word_of(row) for row in self.of(limit_id))


def word_of(row: Row) -> str:
    return f"fail: {row['severity']}" if row["verdict"] == "fail" else row["verdict"]


def one_or_counts(words: Iterable[str]) -> Words:
    counts = Counter(words)
    if not counts:
        return NO_ROW
    return next(iter(counts)) if len(counts) == 1 else dict(counts)


def files(case: Case, folder: Path) -> list[str]:
    tables = {
        "readings": case.readings,
        "positions": case.positions,
        "tires": case.tires,
        "wheelend-readings": case.wheelends,
    }
    return [f"--{name}={write(folder / f'{name}.csv', rows)}" for name, rows in tables.items() if rows]


def arguments(case: Case, folder: Path) -> list[str]:
    return ["judge", *files(case, folder), *(f"--limits={name}" for name in case.limits), *case.options]


def judged(case: Case, folder: Path, run: Any) -> Judged:
    out = folder / "verdicts.csv"
    result = run(*arguments(case, folder), "-o", out)
    assert result.code in (0, 1), result.err
    return Judged(result.code, read(out))


def faults(case: Case, found: Judged) -> list[str]:
    """Where the command says otherwise than the case; empty where it agrees."""
    said = {name: found.word(name) for name in case.expected}
    wrong = [f"{name}: {said[name]}, not {word}" for name, word in case.expected.items() if said[name] != word]
    others = [row for row in found.rows if row["limit_id"] not in case.expected and row["verdict"] == "fail"]
    wrong += [f"{row['limit_id']}: {word_of(row)}, and is not expected to" for row in others]
    if found.code != exit_code(case):
        wrong.append(f"exit code {found.code}")
    first = found.of(next(iter(case.expected)))
    wrong += [f"clause {row['clause']!r} is not {case.source!r}" for row in first if case.source not in row["clause"]]
    if case.reason and not any(case.reason in row["reason"] for row in first):
        wrong.append(f"no reason {case.reason!r} in {[row['reason'] for row in first]}")
    return wrong


def exit_code(case: Case) -> int:
    """1 where a violation or an out-of-service limit fails."""
    words = {word for said in case.expected.values() for word in ([said] if isinstance(said, str) else said)}
    return 1 if {FAIL, OOS} & words else 0


def not_counted(case: Case, *unconfirmed: str) -> Case:
    """The twin of a case that rests on rows from memory, the first of its rows among them: they fail nothing."""
    expected = {name: NV if name in unconfirmed else word for name, word in case.expected.items()}
    reason = f"unconfirmed row {next(iter(expected))} would fail"
    return replace(case, id=f"{case.id}, not counted", expected=expected, options=(), reason=reason)
