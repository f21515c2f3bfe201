"""Words for people: positions as a mechanic names them, readings with their measure."""

from __future__ import annotations

from typing import Any

from wheelend import measures


def position_words(row: dict[str, Any]) -> str:
    """'axle 2 left outer'; singles without a word for it."""
    dual = "" if row["dual"] == "single" else f" {row['dual']}"
    return f"axle {row['axle']} {row['side']}{dual}"


def number(value: float | None, places: int = 2) -> str:
    """A number without needless zeros."""
    if value is None:
        return ""
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_measure(value: float | None, label: str | None, places: int = 2) -> str:
    """'3/32 in', '99.93 psi', '3.17 mm'."""
    if value is None:
        return "-"
    found = measures.find(label) if label else None
    if found is None:
        return number(value, places)
    return number(value, places) + ("" if found.words.startswith(("/", "%")) else " ") + found.words


def verdict_words(row: dict[str, Any]) -> str:
    """'3/32 in, limit >= 4/32 in, 49 CFR 393.75(b)'."""
    if row["sense"] == "absent":
        return f"{row['quantity']}: not allowed here, {row['clause']}"
    reading = with_measure(row["reading"], row["measure"])
    return f"{reading}, limit {row['sense']} {with_measure(row['limit'], row['measure'])}, {row['clause']}"
