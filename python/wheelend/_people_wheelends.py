"""Short texts for people on slow quantities, mates and hubs."""

from __future__ import annotations

from typing import Any

import pyarrow as pa

from wheelend._people import MOST_FACTS, MOST_ROWS, _count_lines, _wrap, aligned, due_order, due_words, is_dated, more
from wheelend._slow import Settings
from wheelend._words import number, position_words, with_measure

_DUE_WORDS = "Due: as likely before as after. Nine times in ten between earliest and latest. N: readings used."


def slow_lines(table: pa.Table, of: Settings) -> list[str]:
    """Places by their median due date; then why some have none; then what to mind."""
    name = next(c for c in table.column_names if c.startswith(f"{of.quantity}_"))
    m = name.removeprefix(f"{of.quantity}_")
    all_rows = table.to_pylist()
    if not all_rows:
        return [f"No usable reading of {of.quantity}: it is read from the wheel-end readings (-w)."]
    rows = [r for r in all_rows if is_dated(r)]
    rows.sort(key=lambda r: (*due_order(r), *_place_key(r)))
    shown = rows[:MOST_ROWS]
    digits = _digits(m)
    cells = [
        (
            r["unit"], _place_words(r), number(r[f"last_{m}"], digits), number(r[name], digits),
            with_measure(r[f"limit_{m}"], m, digits), due_words(r),
            r["due_p05"].isoformat(), r["due_p95"].isoformat() if r["due_p95"] else "later",
            str(r["readings_used"]),
        )
        for r in shown
    ]  # fmt: skip
    lines = aligned(("UNIT", "PLACE", "READ", "NOW", "LIMIT", "DUE", "EARLIEST", "LATEST", "N"), cells) if shown else []
    lines += more(len(shown), len(rows), "places")
    notes = [r for r in rows if "read it again" in r["reason"] or "sudden change" in r["reason"]]
    if notes:
        lines += ["", "Look at these readings:"]
        for r in notes[:MOST_FACTS]:
            lines += _wrap(f"{r['unit']}, {_place_words(r)}: {r['reason']}")
        lines += more(min(len(notes), MOST_FACTS), len(notes), "such readings")
    none = [r for r in all_rows if r["status"] == "no_limit"]
    if none:
        why = sorted({part for r in none for part in r["reason"].split("; ") if "limit" in part})
        lines += [
            *([""] if lines else []),
            *_wrap(f"{len(none)} without a limit ({'; '.join(why)}): give --limit or --limits.", ""),
        ]
    lines += ["", *_wrap(_DUE_WORDS, ""), *_count_lines(table, "status")]
    return [*lines, *_wrap(f"Mind: {of.caution}." if of.caution else "", "")]


def _digits(measure: str) -> int:
    return {"in": 3, "mm": 1, "32nds": 1, "lbft": 0, "nm": 0}.get(measure, 1)


def _place_words(r: dict[str, Any]) -> str:
    return position_words(r) + (f" no. {r['place']}" if r["place"] is not None else "")


def _place_key(r: dict[str, Any]) -> tuple[Any, ...]:
    return r["unit"], r["axle"] or 0, r["side"] or "", r["dual"] or "", r["place"] or 0


def mates_lines(table: pa.Table) -> list[str]:
    """Pairs that are apart or drift apart, with what to look at."""
    rows = [r for r in table.to_pylist() if r["state"] in ("apart", "drifting")]
    rows.sort(key=lambda r: (r["state"], -abs(r["difference"]) / r["bound"], r["unit"], r["axle"]))
    lines = []
    if rows:
        shown = rows[:MOST_ROWS]
        head, *body = aligned(
            ("UNIT", "MATES", "WHAT", "APART", "A MONTH", "PASSES", "STATE"),
            [
                (
                    r["unit"], _mates_words(r), r["quantity"], with_measure(r["difference"], r["measure"], 1),
                    "-" if r["drift_per_month"] is None else f"{r['drift_per_month']:+.1f}",
                    r["passes_on"].isoformat() if r["state"] == "drifting" else "has", r["state"],
                )
                for r in shown
            ],
        )  # fmt: skip
        lines.append(head)
        for line, r in zip(body, shown, strict=True):
            lines += [line, *_wrap(r["reason"], "    ")]
        lines += more(len(shown), len(rows), "pairs")
    else:
        lines.append("No pair is apart or drifts apart.")
    bounds = sorted({f"{r['quantity']} {r['bound']:g} {r['measure']}" for r in table.to_pylist()})
    return [*lines, "", *_wrap(f"Mates may differ by: {', '.join(bounds)}." if bounds else "", ""),
            *_count_lines(table, "state")]  # fmt: skip


def _mates_words(r: dict[str, Any]) -> str:
    if r["mates"] == "dual":
        return f"axle {r['axle']} {r['side']}"
    return f"axle {r['axle']}" + ("" if r["dual"] in (None, "single") else f" {r['dual']} tires")


def hub_lines(table: pa.Table) -> list[str]:
    """Hubs that stand out."""
    m = "degf" if "temperature_degf" in table.column_names else "degc"
    rows = [r for r in table.to_pylist() if r["state"] == "hot"]
    rows.sort(key=lambda r: (-r[f"temperature_{m}"], r["unit"], r["axle"], r["side"]))
    nothing = "No hub temperature was read: it is one of the wheel-end readings (-w)."
    lines = ["No hub stands out." if len(table) else nothing]
    if rows:
        lines = []
        for r in rows[:MOST_ROWS]:
            temperature = with_measure(r[f"temperature_{m}"], m, 0)
            lines += _wrap(
                f"{r['unit']}, axle {r['axle']} {r['side']}: {temperature} on {r['read_on']}; {r['reason']}", ""
            )
        lines += more(min(len(rows), MOST_ROWS), len(rows), "hubs")
    caution = "There is no published limit of a hub's temperature: a hub like the others may still fail."
    return [*lines, "", *_count_lines(table, "state"), *_wrap(caution, "")]
