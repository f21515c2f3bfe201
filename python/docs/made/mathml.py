"""Formulas as MathML, which browsers show by themselves: no script, nothing to fetch."""

from __future__ import annotations

from typing import Any

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx

_SHORT = 30  # characters of source that fit on the line of a phone


def _inline(translator: Any, node: nodes.Element) -> None:
    formula = convert(node.astext())
    # A long one scrolls by itself where the page is narrow; a short one keeps its line.
    long = len(node.astext()) > _SHORT
    translator.body.append(f'<span class="long formula">{formula}</span>' if long else formula)
    raise nodes.SkipNode


def _display(translator: Any, node: nodes.Element) -> None:
    translator.body.append(f'<div class="formula">{convert(node.astext(), display="block")}</div>')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, Any]:
    app.add_html_math_renderer("mathml", (_inline, None), (_display, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
