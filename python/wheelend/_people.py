"""Short tables for people: worst first, readable at 80 columns, in a pipe and without colour."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import pyarrow as pa
import pyarrow.compute as pc

from wheelend._issues import describe
from wheelend._standing import together, worst_first
from wheelend._words import (
    did_you_mean,
    limit_words,
    number,
    place_key,
    position_words,
    quantity_words,
    reading_words,
    verdict_words,
    with_measure,
    words_of,
)
from wheelend.errors import BadCall
from wheelend.verdicts import LEGAL

if TYPE_CHECKING:
    from wheelend._issues import Issues
    from wheelend._limit_files import LimitRow
    from wheelend._records import RecordRule
    from wheelend.verdicts import Spot

WIDTH = 80
MOST_ROWS = 40
MOST_OWN = 15
MOST_FACTS = 5
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
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)


def more(shown: int, total: int, what: str) -> list[str]:
    return [f"... and {total - shown} more {what}: -o FILE writes all"] if total > shown else []


def verdict_lines(verdicts: pa.Table, readings: int) -> list[str]:
    """Failing verdicts, those of one reading against one bound together with all their clauses.

    What the law says comes first, each with its clauses; then, shorter, what only the fleet itself asks for; then what
    fails by rows that are known from memory. ``readings``: how many there were to judge.
    """
    if len(verdicts) == 0:
        return [nothing_judged(readings)]
    failing = sorted(verdicts.filter(pc.equal(verdicts["verdict"], "fail")).to_pylist(), key=worst_first)
    findings = together(failing)
    legal = [r for r in findings if r["severity"] in LEGAL]
    own = [r for r in findings if r["severity"] not in LEGAL]
    lines = _finding_lines(legal, MOST_ROWS, "No violation and no out-of-service finding.", clauses=True)
    if own:
        lines += ["", "Outside the fleet's own limits and targets, or against advice:"]
        lines += _finding_lines(own, MOST_OWN, "", clauses=False)
    return [*lines, *_memory_lines(verdicts), "", *_verdict_summary(verdicts)]


def nothing_judged(readings: int) -> str:
    """Why there is no verdict at all."""
    if readings:
        many = "1 reading, but no limit of these sets speaks of it."
        return many if readings == 1 else f"{readings:,} readings, but no limit of these sets speaks of them."
    return "Nothing was judged: no reading up to that day, or none that the filters leave."


def _memory_lines(verdicts: pa.Table) -> list[str]:
    """Readings that only a row's being from memory keeps from failing."""
    would = sorted(verdicts.filter(verdicts["would_fail"]).to_pylist(), key=worst_first)
    if not would:
        return []
    readings = {tuple(r[k] for k in ("unit", "axle", "side", "dual", "read_on", "quantity", "as_read")) for r in would}
    many = f"{len(readings)} readings" if len(readings) > 1 else "1 reading"
    head = f"{many} would fail a limit that is only known from memory (--count-unconfirmed judges by it):"
    lines = ["", *_wrap(head, "")]
    for r in would[:MOST_OWN]:
        lines += _wrap(f"{r['unit']}, {position_words(r)}: {verdict_words(r)} [{r['limit_id']}]")
    return lines + more(min(len(would), MOST_OWN), len(would), "such verdicts")


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
            clauses_of = "; ".join(f"{r['limit_id']}: {r['clause']}" for r in row["together"])
            lines += _wrap(clauses_of + reason, "    ")
    return lines + more(len(shown), len(rows), "findings")


def _verdict_cells(row: dict[str, Any], clauses: bool) -> tuple[str, ...]:
    severity = _SEVERITY_WORDS.get(row["severity"], row["severity"]) if clauses else row["limit_id"]
    return (
        row["unit"],
        position_words(row),
        reading_words(row),
        limit_words(row),
        "" if row["sense"] == "absent" else number(row["margin"], 4 if row["measure"] == "in" else 2),
        severity,
    )


def _verdict_summary(verdicts: pa.Table) -> list[str]:
    count = Counter(verdicts["verdict"].to_pylist())
    places = verdicts.select(["unit", "axle", "side", "dual"]).group_by(["unit", "axle", "side", "dual"]).aggregate([])
    others = places["dual"].null_count  # wheel ends, axles, units
    wheels = len(places) - others
    where = f"{wheels} position{'' if wheels == 1 else 's'}"
    where += f" and {others} place{'' if others == 1 else 's'} of other kinds (wheel end, axle, unit)" if others else ""
    many = f"{len(verdicts)} verdict{'' if len(verdicts) == 1 else 's'}"
    counted = f"{count['pass']} pass, {count['fail']} fail, {count['no_verdict']} without verdict."
    lines = _wrap(f"{where}, {many}: {counted}", "")
    silent = verdicts.filter(pc.equal(verdicts["verdict"], "no_verdict"))
    for reason, n in Counter(silent["reason"].to_pylist()).most_common(5):
        lines += _wrap(f"no verdict, {n}: {reason}")
    return lines


def spot_lines(spot: Spot) -> list[str]:
    """Every verdict on one position, and the cold pressure."""
    lines = [] if len(spot.verdicts) else [nothing_judged(1)]
    for row in spot.verdicts.to_pylist():
        where = f"{row['limit_id']}, {row['clause']}"
        if row["verdict"] == "no_verdict":
            lines += _wrap(f"no verdict: {quantity_words(row)}, {where}: {row['reason']}", "")
            continue
        reading = row["as_read"] if row["sense"] == "absent" else with_measure(row["reading"], row["measure"])
        reason = f" ({row['reason']})" if row["reason"] else ""
        said = f"{row['verdict']}: {quantity_words(row)} {reading}, limit {limit_words(row)}, {where}{reason}"
        lines += _wrap(said, "")
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
        lines += more(len(shown), len(rows), "pressures off target")
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
    return [
        *lines,
        *more(len(shown), len(rows), "units"),
        "",
        *_count_lines(standing, "standing"),
        "",
        *_wrap(CAUTION, ""),
    ]


_WEAR_WORDS = (
    "Due: as likely before as after. Nine times in ten between earliest and latest, if the tire stays where it is. "
    "N: readings used."
)


def is_dated(r: dict[str, Any]) -> bool:
    """Whether there is a day to tell: a median within the horizon, or a reading beyond the limit."""
    return r["due_p50"] is not None or r["status"] == "read_again"


def due_order(r: dict[str, Any]) -> tuple[float, float]:
    """What is due or may be due comes first."""
    return 0.0 if r["status"] == "read_again" else r["remaining_days_p50"], r["remaining_days_p05"]


def due_words(r: dict[str, Any]) -> str:
    """The median due date in words."""
    if r["status"] == "read_again":
        return "read again"
    return "now" if r["remaining_days_p50"] == 0 else str(r["due_p50"])


def wear_lines(wear: pa.Table, measure: str) -> list[str]:
    """Tires by their median due date."""
    rows = [r for r in wear.to_pylist() if is_dated(r)]
    rows.sort(key=lambda r: (*due_order(r), r["unit"], r["axle"], r["side"], r["dual"]))
    shown = rows[:MOST_ROWS]
    lines = aligned(
        ("UNIT", "POSITION", "DEPTH", "LIMIT", "DUE", "EARLIEST", "LATEST", "N"),
        [
            (
                r["unit"],
                position_words(r),
                number(r[f"depth_{measure}"], 1),
                with_measure(r[f"limit_{measure}"], measure, 1),
                due_words(r),
                r["due_p05"].isoformat(),
                r["due_p95"].isoformat() if r["due_p95"] else "later",
                str(r["readings_used"]),
            )
            for r in shown
        ],
    )
    lines += more(len(shown), len(rows), "tires")
    again = [r for r in rows if r["status"] == "read_again"]
    if again:
        lines += ["", "Look at these readings:"]
        for r in again[:MOST_FACTS]:
            lines += _wrap(f"{r['unit']}, {position_words(r)}: {r['reason']}")
        lines += more(min(len(again), MOST_FACTS), len(again), "such readings")
    lines += ["", *_wrap(_WEAR_WORDS, "")]
    return [*lines, *_count_lines(wear, "status")]


_BEGUN_SHORT = {
    "first reading": "",
    "tire number": "number",
    "event": "event",
    "rise in depth": "rise",
    "depths of another position": "moved",
    "fall in depth": "fall",
}


def fitment_lines(fitments: pa.Table, measure: str) -> list[str]:
    """Fitments by position and time."""
    rows = fitments.to_pylist()
    shown = rows[:MOST_ROWS]
    lines = aligned(
        ("UNIT", "POSITION", "TIRE", "FROM", "TO", "BY", "SURE", "DEPTH"),
        [
            (
                r["unit"],
                position_words(r),
                r["tire"] or "-",
                r["from"].isoformat() if r["from"] else "before",
                r["to"].isoformat() if r["to"] else "-",
                "moved" if r["came_from"] is not None else _BEGUN_SHORT[r["how_begun"]],
                f"{100 * r['confidence']:.0f} %",
                "-"
                if r[f"first_{measure}"] is None
                else f"{number(r[f'first_{measure}'], 0)} - {number(r[f'last_{measure}'], 0)}",
            )
            for r in shown
        ],
    )
    lines += more(len(shown), len(rows), "fitments")
    words = (
        f"BY: what shows that the tire came; SURE: that it did; DEPTH: first and last, in {words_of(measure)}. "
        "-o FILE says from where a tire moved, and why."
    )
    return [*lines, "", *_wrap(words, ""), *_count_lines(fitments, "how_begun")]


def doubt_lines(doubts: pa.Table, measure: str) -> list[str]:
    """Readings in doubt, each with its reason."""
    rows = doubts.to_pylist()
    shown = rows[:MOST_ROWS]
    lines = []
    for r in shown:
        where = f"{r['unit']} {position_words(r)} {r['read_on'].isoformat()}"
        if r[f"depth_{measure}"] is None:
            off = "" if r[f"off_{measure}"] is None else f": off by {with_measure(r[f'off_{measure}'], measure, 1)}"
            lines += _wrap(f"{where}{off}; {r['reason']}", "")
            continue
        groove = f" {r['groove']}" if r["groove"] else ""
        lines += _wrap(
            f"{where}{groove}: {with_measure(r[f'depth_{measure}'], measure, 1)}, expected about "
            f"{with_measure(r[f'expected_{measure}'], measure, 1)}; {r['reason']}",
            "",
        )
    if not rows:
        return ["every depth fits the others of its tire"]
    return [*lines, *more(len(shown), len(rows), "readings"), "", *_count_lines(doubts, "slip")]


def pattern_lines(patterns: pa.Table, measure: str) -> list[str]:
    """Patterns that say something, the strongest first."""
    named = [r for r in patterns.to_pylist() if r["advice"]]
    named.sort(key=lambda r: -max(abs(r["outer_percent"]), abs(r["inner_percent"])))
    shown = named[:MOST_ROWS]
    lines = []
    for r in shown:
        since = f", since about {r['since'].isoformat()}" if r["since"] else ""
        lines += _wrap(f"{r['unit']} {position_words(r)}: {r['pattern']}; {r['evidence']}{since}", "")
        lines += _wrap(r["advice"], "    ")
    return [
        *lines,
        *more(len(shown), len(named), "tires"),
        "",
        *_count_lines(patterns, "pattern"),
        "",
        *_wrap(CAUTION, ""),
    ]


_LEAK_WORDS = (
    "COLD: now and target, at 68 degF; LOSS: lost in a month at target, 90 % interval; ALARM: the first; BELOW 80 %: "
    "median day on which it is at 80 % of target if nobody fills it. --alarms lists when each was first seen; -o FILE "
    "writes every position."
)


_LEAK_SHORT = {
    "suspected": "maybe",
    "slow_leak": "leak",
    "refilled_leak": "leak, filled",
    "abrupt_loss": "sudden loss",
}


def leak_lines(leaks: pa.Table, measure: str) -> list[str]:
    """Tires that leak or may leak, the nearest to 80 % of target first."""
    never = dt.date.max
    rows = [r for r in leaks.to_pylist() if r["state"] not in ("normal", "unknown")]
    rows.sort(key=lambda r: (r["below_80_on_p50"] or never, *place_key(r)))
    shown = rows[:MOST_ROWS]
    lines = aligned(
        ("UNIT", "POSITION", "STATE", "COLD", "LOSS", "ALARM", "BELOW 80 %"),
        [
            (
                r["unit"],
                position_words(r),
                _LEAK_SHORT[r["state"]],
                f"{number(r[f'cold_{measure}'], 0)}/{number(r[f'target_{measure}'], 0)}",
                f"{number(r['rate_low'], 0)}-{number(r['rate_high'], 0)}",
                r["first_alarm_on"].isoformat() if r["first_alarm_on"] else "-",
                r["below_80_on_p50"].isoformat() if r["below_80_on_p50"] else "later",
            )
            for r in shown
        ],
    )
    if not rows:
        lines = ["no tire loses more than a sound one may"]
    lines += more(len(shown), len(rows), "tires")
    lines += [
        "",
        *_wrap(f"In {words_of(measure)}. {_LEAK_WORDS}", ""),
        *_count_lines(leaks, "state"),
        "",
        *_wrap(CAUTION, ""),
    ]
    return lines


def alarm_lines(alarms: pa.Table) -> list[str]:
    """Alarms by day, the latest first, each with its reason."""
    rows = alarms.to_pylist()[::-1]
    shown = rows[:MOST_ROWS]
    lines = []
    for r in shown:
        lines += _wrap(f"{r['alarmed_on'].isoformat()} {r['unit']} {position_words(r)}: {r['reason']}", "")
    if not rows:
        return ["no alarm"]
    return [*lines, *more(len(shown), len(rows), "alarms"), "", *_wrap(CAUTION, "")]


_BACKTEST_WORDS = (
    "SEEN: forecasts of tires that then came to their limit. IN 50 %, IN 90 %: share of outcomes within the interval, "
    "in percent, with its own 95 % interval. EARLY: share before the median; above 50, tires are due earlier than "
    "told. BIAS, ERROR: forecast minus found in days, medians over what was seen. RECAL.: IN 50 % and IN 90 % after "
    "recalibration, each unit by what the others show."
)


def backtest_lines(backtest: pa.Table) -> list[str]:
    """How far the forecasts were right, by readings."""
    rows = backtest.to_pylist()
    lines = aligned(
        ("READINGS", "CASES", "SEEN", "IN 50 %", "IN 90 %", "EARLY", "BIAS", "ERROR", "RECAL."),
        [
            (
                r["readings"],
                str(r["forecasts"]),
                str(r["events"]),
                _share_words(r, "coverage_50"),
                _share_words(r, "coverage_90"),
                _percent(r["before_p50"]),
                _whole(r["bias_days"], "+"),
                _whole(r["error_days"]),
                f"{_percent(r['recalibrated_50'])}, {_percent(r['recalibrated_90'])}",
            )
            for r in rows
        ],
    )
    notes = [line for r in rows if r["reason"] for line in _wrap(f"{r['readings']}: {r['reason']}", "")]
    return [*lines, "", *notes, *_wrap(_BACKTEST_WORDS, "")]


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.0f}"


def _whole(value: float | None, sign: str = "") -> str:
    return "-" if value is None else f"{value:{sign}.0f}"


def _share_words(row: dict[str, Any], name: str) -> str:
    if row[f"{name}_low"] is None:
        return _percent(row[name])
    return f"{_percent(row[name])} ({_percent(row[f'{name}_low'])}-{_percent(row[f'{name}_high'])})"


def _count_lines(table: pa.Table, column: str) -> list[str]:
    count = Counter(table[column].to_pylist())
    return _wrap(", ".join(f"{n} {word.replace('_', ' ')}" for word, n in count.most_common()), "")


def set_lines(sets: pa.Table) -> list[str]:
    """The limit sets, with how sure we are of their rows."""
    rows = sets.to_pylist()
    head, *body = aligned(
        ("SET", "ROWS", "CONFIRMED", "PARTLY", "FROM MEMORY"),
        [(r["name"], *(str(r[c]) for c in ("rows", "confirmed", "partly", "memory"))) for r in rows],
    )
    lines = [head]
    for line, row in zip(body, rows, strict=True):
        lines += [line, *_wrap(row["title"], "    ")]
        lines += _wrap(f"brings {row['includes']}", "    ") if row["includes"] else []
    return lines


def limit_lines(rows: pa.Table) -> list[str]:
    """Each row of a limit set: bound, whom it applies to, clause, status."""
    lines: list[str] = []
    for r in rows.to_pylist():
        first = f"{r['id']}  {_what(r)} {bound_words(r)}  [{r['severity'].replace('_', ' ')}]"
        lines += textwrap.wrap(first, WIDTH, subsequent_indent="    ", break_on_hyphens=False)
        lines += _wrap(f"{_whom(r)}; {r['clause']}; {r['status']}", "    ")
        lines += _wrap(r["note"], "    ") if r["note"] else []
    return lines


def _what(r: dict[str, str]) -> str:
    """Quantity, and how readings become one value where that does not go without saying."""
    quantity = r["quantity"].replace("|", " or ").replace("_", " ")
    plain = ("as_read", "retread_or_regrooved", "pressure_as_found", "speed_last_hour")
    return quantity if r["statistic"] in plain else f"{quantity}, {r['statistic'].replace('_', ' ')},"


def bound_words(r: dict[str, str]) -> str:
    """'>= 4 32nds', 'within 450 to 500 lbft (610 to 678 nm)', '> 80 percent of target'."""
    if r["sense"] == "absent":
        return "absent"
    bound = f"{r['bound']} to {r['upper']}" if r["upper"] else r["bound"]
    words = f"{r['sense']} {_of_base(bound, r['measure'], r['base'])}"
    if r["twin_bound"]:
        twin = f"{r['twin_bound']} to {r['twin_upper']}" if r["twin_upper"] else r["twin_bound"]
        words += f" ({twin} {r['twin_measure']})"
    if r["or_bound"]:
        words += f", or {_of_base(r['or_bound'], r['or_measure'], r['or_base'])}: either is enough"
    return words


def _of_base(bound: str, measure: str, base: str) -> str:
    names = base.replace("|", ", else ").replace("_", " ")
    if not base:
        return f"{bound} {measure}".rstrip()
    if measure == "percent":
        return f"{bound} percent of {names}"
    return names if float(bound) == 0.0 else f"{names} + {bound} {measure}"


def _whom(r: dict[str, str]) -> str:
    parts = [f"where {r['where'].replace(';', ',')}" if r["where"] else "everywhere"]
    if r["except"]:
        parts.append(f"not where {r['except'].replace(';', ',')} applies")
    if r["needs"]:
        parts.append(f"admissible with {r['needs'].replace(';', ',')}")
    return "; ".join(parts)


def explain_lines(rows: list[LimitRow]) -> list[str]:
    """All that a row says, one thing a line."""
    lines: list[str] = []
    for row in rows:
        r = row.text
        said = {
            "clause": row.clause,
            "severity": r["severity"].replace("_", " "),
            "passes": f"{r['quantity'].replace('|', ' or ').replace('_', ' ')} {bound_words(r)}",
            "value": STATISTIC_WORDS[r["statistic"]],
            "applies": _whom(r),
            "compares": "tires of the same " + r["same"].replace(";", ",") if r["same"] else "",
            "counts as": f"{r['counts']} defective brake" if r["counts"] else "",
            "in force": f"{r['valid_from'] or 'always'} to {r['valid_until'] or 'further notice'}"
            if r["valid_from"] or r["valid_until"]
            else "",
            "conflicts": f"{r['conflicts'].replace(';', ',')} (both are reported)" if r["conflicts"] else "",
            "status": STATUS_WORDS[r["status"]],
            "note": r["note"],
            "file": f"{row.file}, line {row.line}" if row.line else row.file,
        }
        lines += ["", row.id] if lines else [row.id]
        for name, text in said.items():
            if text:
                lines += textwrap.wrap(
                    f"  {name + ':':<10} {text}", WIDTH, subsequent_indent=" " * 13, break_on_hyphens=False
                )
    return lines


STATISTIC_WORDS = {
    "lowest_depth": "lowest admissible groove with a wear indicator, at any place round the tire",
    "lowest_any_groove": "lowest admissible groove, with or without a wear indicator, at any place",
    "three_quarter_band": "lowest groove, all round, of the best band of three quarters of the breadth",
    "second_lowest_of_four": "second lowest of four places round the tire: one of them may be below",
    "adjacent_pair": "the deeper of two adjacent grooves at one place; the lowest such pair",
    "adjacent_pair_three_places": "the same at each place; the third lowest of separate places",
    "cold_pressure": "pressure read cold; of a warm tire less what 49 CFR 393.75(i)(2) takes off, where it does",
    "pressure_as_found": "pressure as read, cold or warm",
    "retread_or_regrooved": "whether the tire is a retread or regrooved",
    "regrooved_capacity": "rated load of a regrooved tire",
    "load_carried": "load on the axle, or on this end of it, divided by the tires that are on it",
    "speed_last_hour": "average speed over the last hour",
    "age_of_tire": "calendar years from the week of manufacture, or of retreading, to the day of judging",
    "age_of_casing": "calendar years from the week of manufacture to the day of judging",
    "pair_depth": "deeper less shallower tire of a dual pair, by the lowest groove of each",
    "pair_pressure": "higher less lower tire of a dual pair",
    "pair_diameter": "larger less smaller tire of a dual pair; from the circumference by pi if need be",
    "pair_circumference": "larger less smaller tire of a dual pair; from the diameter by pi if need be",
    "axle_depth": "deepest less shallowest tire of the axle, by the lowest groove of each",
    "axle_sizes": "whether tires of the axle are of unlike sizes",
    "axle_constructions": "whether radial and bias tires are mixed on the axle",
    "as_read": "the reading itself",
    "loss_rate": "(start - end) / duration: pressure lost in a minute, from after the drop of the application",
    "beyond_limit": "reading less the limit of the set for the same quantity; 0 where it is within",
    "side_to_side": "difference between the two sides of the axle",
    "sides_unlike": "whether the two sides of the axle are unlike",
    "above_the_rest": "reading less the median of the other wheel ends of the unit",
    "months_since": "calendar months from that date to the day of judging",
    "defective_brakes": "brakes that count as defective (halves too) / all brakes of the units together",
    "keep_months": "calendar months that the record is kept",
    "due_months": "calendar months within which it is due again",
    "due_days": "days within which it is due",
}
STATUS_WORDS = {
    "confirmed": "confirmed from the published text",
    "partly": "partly confirmed: a secondary source, or only part of the row",
    "memory": "from memory: cannot fail a reading unless unconfirmed rows are counted",
    "own": "the fleet's own decision",
}


def word_lines(column: str) -> list[str]:
    """Words that a column takes; quantities with what they are and the columns that hold their values."""
    from wheelend.dictionary import QUANTITIES, TABLES

    if column == "quantity":
        column_of = {q.name: f"value_{q.range_measure}" if q.range_measure else "present" for q in QUANTITIES}
        rows = [(q.name, column_of[q.name], q.words) for q in QUANTITIES]
        other = "Any measure of the same kind may stand in its place: value_mm for value_in, value_kpa for value_psi."
        return [*aligned(("QUANTITY", "COLUMN", "MEANING"), rows), "", *_wrap(other, "")]
    found = [c for table in TABLES.values() for c in table if c.name == column and (c.codes or c.form == "yes_no")]
    if not found:
        known = sorted({c.name for table in TABLES.values() for c in table if c.codes})
        hint = did_you_mean(column, known)
        raise BadCall(f"words: {column!r} is not a column that takes words; those are {', '.join(known)}{hint}")
    return [f"{column}: {found[0].words}", *(f"  {word}" for word in found[0].codes or ("yes", "no"))]


def record_lines(rows: list[RecordRule]) -> list[str]:
    """Each record: how long it is kept, when it is due again, with the clause."""
    lines: list[str] = []
    for r in rows:
        lines += _wrap(f"{r.record.replace('_', ' ')}: {r.words}", "")
        lines += _wrap(f"{r.limit_id}: {r.clause}; {r.status}" + (f"; {r.note}" if r.note else ""), "    ")
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
    return [*lines, *more(shown, len(issues), "problems"), *issue_summary(issues)]


def issue_summary(issues: Issues) -> list[str]:
    n = issues.counts
    if len(issues) == 0:
        return ["No problems in the input."]
    return [f"{n['row']:,} problems cost a row, {n['cell']:,} a value, {n['note']:,} are notes."]
