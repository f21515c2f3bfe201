"""Short tables for people: worst first, readable at 80 columns, in a pipe and without colour."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import pyarrow as pa
import pyarrow.compute as pc

from wheelend._issues import describe
from wheelend._standing import worst_first
from wheelend._words import number, position_words, with_measure
from wheelend.verdicts import LEGAL

if TYPE_CHECKING:
    from wheelend._issues import Issues
    from wheelend.verdicts import Spot

WIDTH = 80
MOST_ROWS = 40
MOST_OWN = 15
MOST_ISSUES = 20
_SEVERITY_WORDS = {"out_of_service": "out of service"}
CAUTION = (
    "A pass here is no certificate of roadworthiness: local codes, the vehicle and tire makers' figures and licensed "
    "inspectors decide."
)


def aligned(header: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Columns padded to their widest cell, two blanks between."""
    table = [list(header), *(list(r) for r in rows)]
    widths = [max(len(r[i]) for r in table) for i in range(len(header))]
    return ["  ".join(c.ljust(w) for c, w in zip(r, widths, strict=True)).rstrip() for r in table]


def _wrap(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent)


def _more(shown: int, total: int, what: str) -> list[str]:
    return [f"... and {total - shown} more {what}: -o FILE writes all"] if total > shown else []


def verdict_lines(verdicts: pa.Table) -> list[str]:
    """Failing verdicts, those of one reading against one bound together with all their clauses.

    What the law says comes first, each with its clauses; then, shorter, what only the fleet itself asks for.
    """
    failing = sorted(verdicts.filter(pc.equal(verdicts["verdict"], "fail")).to_pylist(), key=worst_first)
    merged: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in failing:
        key = tuple(
            row[k]
            for k in ("unit", "axle", "side", "dual", "read_on", "quantity", "measure", "limit", "sense", "severity")
        )
        merged.setdefault(key, {**row, "clauses": []})["clauses"].append(f"{row['limit_id']}: {row['clause']}")
    if len(verdicts) == 0:
        return ["Nothing was judged: no reading up to that day, or none that the filters leave."]
    legal = [r for r in merged.values() if r["severity"] in LEGAL]
    own = [r for r in merged.values() if r["severity"] not in LEGAL]
    lines = _finding_lines(legal, MOST_ROWS, "No violation and no out-of-service finding.", clauses=True)
    if own:
        lines += ["", "Below the fleet's own limits and targets:"]
        lines += _finding_lines(own, MOST_OWN, "", clauses=False)
    return [*lines, "", *_verdict_summary(verdicts)]


def _finding_lines(rows: list[dict[str, Any]], most: int, none: str, *, clauses: bool) -> list[str]:
    if not rows:
        return [none]
    shown = rows[:most]
    last = "SEVERITY" if clauses else "LIMIT ROW"
    head, *body = aligned(
        ("UNIT", "POSITION", "READING", "LIMIT", "MARGIN", last), [_verdict_cells(r, clauses) for r in shown]
    )
    lines = [head]
    for line, row in zip(body, shown, strict=True):
        lines.append(line)
        if clauses:
            reason = f" ({row['reason']})" if row["reason"] else ""
            lines += _wrap("; ".join(row["clauses"]) + reason, "    ")
    return lines + _more(len(shown), len(rows), "findings")


def _verdict_cells(row: dict[str, Any], clauses: bool) -> tuple[str, ...]:
    severity = _SEVERITY_WORDS.get(row["severity"], row["severity"]) if clauses else row["limit_id"]
    if row["sense"] == "absent":
        return row["unit"], position_words(row), row["quantity"], "none allowed", "", severity
    return (
        row["unit"],
        position_words(row),
        with_measure(row["reading"], row["measure"]),
        f"{row['sense']} {with_measure(row['limit'], row['measure'])}",
        number(row["margin"]),
        severity,
    )


def _verdict_summary(verdicts: pa.Table) -> list[str]:
    count = Counter(verdicts["verdict"].to_pylist())
    places = verdicts.select(["unit", "axle", "side", "dual"]).group_by(["unit", "axle", "side", "dual"]).aggregate([])
    lines = [
        f"{len(places)} positions, {len(verdicts)} verdicts: {count['pass']} pass, {count['fail']} fail, "
        f"{count['no_verdict']} without verdict."
    ]
    silent = verdicts.filter(pc.equal(verdicts["verdict"], "no_verdict"))
    for reason, n in Counter(silent["reason"].to_pylist()).most_common(5):
        lines += _wrap(f"no verdict, {n}: {reason}")
    return lines


def spot_lines(spot: Spot) -> list[str]:
    """Every verdict on one position, and the cold pressure."""
    lines = []
    for row in spot.verdicts.to_pylist():
        where = f"{row['limit_id']}, {row['clause']}"
        if row["verdict"] == "no_verdict":
            lines += _wrap(f"no verdict: {row['quantity'].replace('_', ' ')}, {where}: {row['reason']}", "")
            continue
        reading = row["as_read"] if row["sense"] == "absent" else with_measure(row["reading"], row["measure"])
        limit = (
            "none allowed"
            if row["sense"] == "absent"
            else f"{row['sense']} {with_measure(row['limit'], row['measure'])}"
        )
        reason = f" ({row['reason']})" if row["reason"] else ""
        lines += _wrap(
            f"{row['verdict']}: {row['quantity'].replace('_', ' ')} {reading}, limit {limit}, {where}{reason}",
            "",
        )
    if spot.pressures is not None:
        for row in spot.pressures.to_pylist():
            off = row["deviation_percent"]
            words = "" if off is None else f", {off:+.1f} % off target"
            lines.append(f"pressure state: {row['state'].replace('_', ' ')}{words}")
    return [*lines, *_wrap(CAUTION, "")]


def pressure_lines(pressures: pa.Table, measure: str) -> list[str]:
    """Pressures off their target, the lowest first."""
    off = pressures.filter(pc.invert(pc.is_in(pressures["state"], pa.array(["on_target", "unknown"]))))
    rows = sorted(
        off.to_pylist(),
        key=lambda r: (r["deviation_percent"] or 0.0, r["unit"], r["axle"], r["side"], r["dual"]),
    )
    shown = rows[:MOST_ROWS]
    lines = ["Every pressure that is known is on target."]
    if rows:
        lines = aligned(
            ("UNIT", "POSITION", "FOUND", "COLD", "TARGET", "OFF", "STATE"),
            [
                (
                    r["unit"],
                    position_words(r),
                    with_measure(r[f"pressure_{measure}"], measure, 1),
                    with_measure(r[f"cold_{measure}"], measure, 1),
                    with_measure(r[f"target_{measure}"], measure, 1),
                    "-" if r["deviation_percent"] is None else f"{r['deviation_percent']:+.0f}%",
                    r["state"],
                )
                for r in shown
            ],
        )
        lines += _more(len(shown), len(rows), "pressures off target")
    return [*lines, "", *_count_lines(pressures, "state")]


def standing_lines(standing: pa.Table) -> list[str]:
    """One line per unit, and the reason below it."""
    rows = standing.to_pylist()
    shown = rows[:MOST_ROWS]
    head, *body = aligned(
        ("UNIT", "KIND", "STANDING", "WORST", "FAILS", "DUE 30 D", "READ"),
        [
            (
                r["unit"],
                r["kind"] or "-",
                r["standing"],
                r["worst_position"] or "-",
                str(r["verdicts_failed"]),
                str(r["due_within_30_days"]),
                "never" if r["days_since_read"] is None else f"{r['days_since_read']} d ago",
            )
            for r in shown
        ],
    )
    lines = [head]
    for line, row in zip(body, shown, strict=True):
        lines.append(line)
        if row["reason"] and row["standing"] != "unread":
            lines += _wrap(row["reason"], "    ")
    return [*lines, *_more(len(shown), len(rows), "units"), "", *_count_lines(standing, "standing")]


_WEAR_WORDS = (
    "Due: as likely before as after. Nine times in ten between earliest and latest, if tires wear straight. "
    "N: readings used."
)


def wear_lines(wear: pa.Table, measure: str) -> list[str]:
    """Tires by their median due date."""
    rows = [r for r in wear.to_pylist() if r["due_p50"] is not None]
    rows.sort(key=lambda r: (r["remaining_days_p50"], r["unit"], r["axle"], r["side"], r["dual"]))
    shown = rows[:MOST_ROWS]
    lines = aligned(
        ("UNIT", "POSITION", "DEPTH", "LIMIT", "DUE", "EARLIEST", "LATEST", "N"),
        [
            (
                r["unit"],
                position_words(r),
                number(r[f"depth_{measure}"], 1),
                with_measure(r[f"limit_{measure}"], measure, 1),
                r["due_p50"].isoformat(),
                r["due_p05"].isoformat() if r["due_p05"] else "-",
                r["due_p95"].isoformat() if r["due_p95"] else "later",
                str(r["readings_used"]),
            )
            for r in shown
        ],
    )
    lines += _more(len(shown), len(rows), "tires")
    lines += ["", *_wrap(_WEAR_WORDS, "")]
    return [*lines, *_count_lines(wear, "status")]


def _count_lines(table: pa.Table, column: str) -> list[str]:
    count = Counter(table[column].to_pylist())
    return _wrap(", ".join(f"{n} {word.replace('_', ' ')}" for word, n in count.most_common()), "")


def set_lines(sets: pa.Table) -> list[str]:
    """The limit sets, with how sure we are of their rows."""
    return aligned([n.upper() for n in sets.column_names], [[str(v) for v in r.values()] for r in sets.to_pylist()])


def limit_lines(rows: pa.Table) -> list[str]:
    """Each row of a limit set: bound, whom it applies to, clause, status."""
    lines: list[str] = []
    for r in rows.to_pylist():
        bound = f"{r['sense']} {r['bound']} {r['measure']}".rstrip()
        base = f" of {r['base'].replace('_', ' ')}" if r["base"] else ""
        twin = f" ({r['twin_bound']} {r['twin_measure']})" if r["twin_bound"] else ""
        whom = f"{r['kinds'].replace(';', ', ') or 'every kind'}, {r['wheels']} wheels"
        other = f", not where {r['except']} applies" if r["except"] else ""
        lines.append(f"{r['id']}  {r['statistic'].replace('_', ' ')} {bound}{base}{twin}  [{r['severity']}]")
        lines += _wrap(f"{whom}{other}; {r['clause']}; {r['status']}", "    ")
        lines += _wrap(r["note"], "    ") if r["note"] else []
    return lines


def issue_lines(issues: Issues) -> list[str]:
    """The first problems and the count of all."""
    lines: list[str] = []
    shown = 0
    for batch in issues.batches():
        for row in batch.slice(0, MOST_ISSUES - shown).to_pylist():
            text = f" (found: {row['text']!r})" if row["text"] else ""
            lines += textwrap.wrap(f"[{row['effect']}] {describe(row)}{text}", WIDTH, subsequent_indent="    ")
            shown += 1
        if shown >= MOST_ISSUES:
            break
    return [*lines, *_more(shown, len(issues), "problems"), *issue_summary(issues)]


def issue_summary(issues: Issues) -> list[str]:
    n = issues.counts
    if len(issues) == 0:
        return ["No problems in the input."]
    return [f"{n['row']:,} problems cost a row, {n['cell']:,} a value, {n['note']:,} are notes."]
