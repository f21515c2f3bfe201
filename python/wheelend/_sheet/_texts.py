"""Texts of the sheet: one file per language beside this module, ``en.toml`` and whatever is put next to it."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from wheelend._words import did_you_mean
from wheelend.errors import BadCall

_HERE = Path(__file__).resolve().parent


def languages() -> list[str]:
    """Languages that there is a file of."""
    return sorted(path.stem for path in _HERE.glob("*.toml"))


@cache
def texts(language: str) -> Texts:
    """All texts of one language."""
    if language not in languages():
        known = languages()
        raise BadCall(
            f"language: there is no text file for {language!r}{did_you_mean(language, known)}; there is "
            f"{', '.join(known)}"
        )
    return Texts(tomllib.loads((_HERE / f"{language}.toml").read_text(encoding="utf-8")))


class Texts:
    """Texts by name: ``t("due.title", days=30)``. A name that is not there is an error, never an empty text."""

    def __init__(self, tables: dict[str, Any]) -> None:
        self._tables = tables

    def __call__(self, name: str, **values: Any) -> str:
        found: Any = self._tables
        for part in name.split("."):
            found = found[part]
        text = str(found)
        return text.format(**values) if values else text

    def word(self, table: str, code: str) -> str:
        """Word for a code; the code itself, with blanks, where the table has none."""
        return str(self._tables[table].get(code, code.replace("_", " ")))

    def place(self, row: dict[str, Any]) -> str:
        """'axle 2 left outer'; 'whole unit' for what is not of an axle."""
        if row["axle"] is None:
            return self("place.unit")
        words = [self("place.axle", axle=row["axle"]), self.word("side", row["side"]) if row["side"] else ""]
        words.append(self.word("dual", row["dual"]) if row["dual"] not in (None, "single") else "")
        return " ".join(w for w in words if w)

    def count(self, name: str, n: int) -> str:
        """'1 unit', '12 units': the texts ``name.one`` and ``name.many``."""
        return self(f"{name}.one" if n == 1 else f"{name}.many", n=f"{n:,}")
