"""The limit sets as a page: every row of data/limits, with its clause and how sure we are of it."""

from __future__ import annotations

from typing import Any

from made.text import cell, code, table
from wheelend import limits

STATUS = {"confirmed": "confirmed", "partly": "partly confirmed", "memory": "from memory", "own": "own"}


def _condition(row: dict[str, Any]) -> str:
    """What passes."""
    if row["sense"] == "absent":
        return "absent"
    bound = f"{row['bound']} to {row['upper']}" if row["sense"] == "within" else f"{row['sense']} {row['bound']}"
    base = f" of {row['base']}" if row["base"] and row["measure"] == "percent" else ""
    above = f" above {row['base']}" if row["base"] and not base else ""
    other = f", or {row['sense']} {row['or_bound']} {row['or_measure']}" if row["or_bound"] else ""
    twin = f" ({row['twin_bound']} {row['twin_measure']})" if row["twin_bound"] else ""
    return f"{bound} {row['measure']}{base}{above}{other}{twin}"


def _subject(row: dict[str, Any]) -> str:
    parts = [
        row["where"],
        f"not {row['except']}" if row["except"] else "",
        f"needs {row['needs']}" * bool(row["needs"]),
    ]
    return "; ".join(p for p in parts if p)


def _row(row: dict[str, Any]) -> list[str]:
    return [
        code(row["id"]),
        cell(f"{row['quantity']}, {row['statistic']}".replace("_", " ").replace("|", ", ")),
        cell(_subject(row)),
        cell(_condition(row)),
        cell(row["severity"].replace("_", " ")),
        cell(row["clause"]),
        cell(STATUS[row["status"]]) + (f"; see {cell(row['conflicts'])}" if row["conflicts"] else ""),
    ]


def _title(of_set: dict[str, Any]) -> str:
    brings = ", ".join(code(name) for name in of_set["includes"].split(", ") if name)
    return cell(of_set["title"]) + (f"; brings {brings}" if brings else "")


def limit_sets(_: str) -> str:
    """The list of sets, then the rows of each."""
    sets = limits().to_pylist()
    counts = ("rows", "confirmed", "partly", "memory")
    rows = [[f"[`{s['name']}`](#set-{s['name']})", _title(s), *(str(s[c]) for c in counts)] for s in sets]
    parts = [table(["set", "what", "rows", "confirmed", "partly", "from memory"], rows)]
    for s in sets:
        own = [r for r in limits(s["name"]).to_pylist() if r["file"] == f"{s['name']}.csv"]
        parts.append(f"(set-{s['name']})=\n## {s['name']}: {s['title']}\n")
        head = ["id", "what", "whom it speaks of", "passes", "severity", "clause", "status"]
        parts.append(table(head, [_row(r) for r in own]))
    return "\n".join(parts)
