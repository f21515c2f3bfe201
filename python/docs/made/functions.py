"""Pages of functions and classes: the docstrings, read by autodoc and numpydoc."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from pathlib import Path
from types import ModuleType
from typing import Any

import wheelend
from wheelend.dictionary import RESULTS

PAGES = Path(__file__).resolve().parents[1]
_MARK = re.compile(r"^<!-- made: (functions|module) (.*?) -->$", re.MULTILINE)
# Modules whose names are no part of the front: what of them is public is offered by `wheelend` itself, or said
# elsewhere in the manual (commands, data dictionary).
BEHIND_THE_FRONT = {"cli", "dictionary", "errors", "limit_sets", "log", "sample", "trends", "verdicts"}


def public() -> dict[str, Any]:
    """All that the package offers, by full name."""
    found = {f"wheelend.{name}": getattr(wheelend, name) for name in wheelend.__all__ if not name.startswith("__")}
    for name in sorted(m.name for m in pkgutil.iter_modules(wheelend.__path__)):
        if not name.startswith("_") and name not in BEHIND_THE_FRONT:
            home = importlib.import_module(f"wheelend.{name}")
            found |= {f"wheelend.{name}.{n}": getattr(home, n) for n in public_names(home)}
    return found


def _directive(module: str, name: str, thing: Any) -> str:
    if inspect.isclass(thing):
        members = "\n   :members:\n   :inherited-members: Exception\n" if not issubclass(thing, BaseException) else "\n"
        return f".. autoclass:: {module}.{name}{members}"
    if callable(thing):
        return f".. autofunction:: {module}.{name}\n"
    return f".. autodata:: {module}.{name}\n   :no-value:\n"


def _block(directives: list[str]) -> str:
    return "\n".join(f"```{{eval-rst}}\n{text}```\n" for text in directives)


def functions(arguments: str) -> str:
    """``functions MODULE: name, name``: these names of a module; ``name()`` for a class that nobody calls."""
    module, _, names = arguments.partition(": ")
    home = importlib.import_module(module)
    parts = []
    for name in names.split(", "):
        parts.append(_block([_directive(module, name, getattr(home, name.removesuffix("()")))]))
        if name in RESULTS:
            parts.append(f"Columns of `{name}`: [data dictionary](../dictionary.md#results-{name}).\n")
    return "\n".join(parts)


def public_names(module: ModuleType) -> list[str]:
    """What a module offers: its ``__all__``, or what is defined in it and has no underscore."""
    if hasattr(module, "__all__"):
        return [name for name in module.__all__ if not name.startswith("__")]
    own = [(name, thing) for name, thing in vars(module).items() if not name.startswith("_")]
    return [
        name
        for name, thing in own
        if getattr(thing, "__module__", None) == module.__name__ and (inspect.isclass(thing) or callable(thing))
    ]


def _named() -> set[str]:
    """Full names that pages name by their marks."""
    found: set[str] = set()
    for page in PAGES.rglob("*.md"):
        for kind, arguments in _MARK.findall(page.read_text(encoding="utf-8")):
            home, _, names = arguments.partition(": ")
            listed = names.split(", ") if kind == "functions" else public_names(importlib.import_module(home))
            found |= {f"{home}.{name.removesuffix('()')}" for name in listed}
    return found


def others(_: str) -> str:
    """What is public and stands on no page of a subject yet, so that nothing is left out."""
    names = sorted(set(public()) - _named())
    blocks = [_block([_directive(*name.rpartition(".")[::2], public()[name])]) for name in names]
    return "\n".join(["## Others\n", *blocks]) if blocks else ""


def module(arguments: str) -> str:
    """``module MODULE``: all that it offers, its own docstring first."""
    home = importlib.import_module(arguments)
    text = inspect.getdoc(home) or ""
    here = f".. py:module:: {arguments}\n"
    return f"{text}\n\n" + _block(
        [here, *[_directive(arguments, name, getattr(home, name)) for name in public_names(home)]]
    )
