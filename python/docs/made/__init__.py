"""Parts of the manual that are made from code and data while it is built, so that no copy of them can be wrong.

A line ``<!-- made: NAME arguments -->`` of a page is replaced by what the function of that name in ``MAKERS`` returns.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from made import commands, functions, headers, limit_sets, notebooks, pages, pictures, runs, tables

if TYPE_CHECKING:
    from sphinx.application import Sphinx

MARK = re.compile(r"^<!-- made: ([\w-]+) ?(.*?) -->$", re.MULTILINE)
MAKERS = {
    "functions": functions.functions,
    "module": functions.module,
    "others": functions.others,
    "commands": commands.commands,
    "input-tables": tables.input_tables,
    "quantities": tables.quantities,
    "results": tables.results,
    "measures": tables.measures,
    "limit-sets": limit_sets.limit_sets,
    "headers": headers.headers,
    "run": runs.run,
    "toctree": pages.toctree,
    "pictures": pictures.pictures,
    "sheet": pictures.sheet,
}


def made(text: str) -> str:
    """The text of a page with its marks replaced."""
    return MARK.sub(lambda found: MAKERS[found[1]](found[2]), text)


def _on_read(app: Sphinx, name: str, source: list[str]) -> None:
    source[0] = made(source[0])


def _outdated(app: Sphinx, env: Any, added: set[str], changed: set[str], removed: set[str]) -> list[str]:
    """Pages with a mark are made anew each time: what they are made from is no file of theirs."""
    pages = {name: env.doc2path(name) for name in env.found_docs}
    return [name for name, path in pages.items() if MARK.search(path.read_text(encoding="utf-8"))]


def setup(app: Sphinx) -> dict[str, Any]:
    notebooks.bring()
    pictures.BESIDE.mkdir(exist_ok=True)
    app.connect("source-read", _on_read)
    app.connect("env-get-outdated", _outdated)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
