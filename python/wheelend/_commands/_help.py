"""Help as people read it: an example first, that can be copied, then what the command does, its options, its cautions.

No colour and no box is ever drawn, so that there is nothing that ``NO_COLOR`` or a pipe would have to switch off.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

from wheelend._words import did_you_mean

_EXAMPLE = "Example:"
NO_CERTIFICATE = (
    "Caution: a pass here is no certificate of roadworthiness: local codes, the vehicle and tire makers' figures and "
    "licensed inspectors decide."
)
INFLATION = (
    "Caution: a tire found at 80 percent of its pressure or below is not inflated on the vehicle (29 CFR 1910.177(f)): "
    "it is demounted and inspected. Never bleed a warm tire. Never stand beside an inflated multi-piece rim."
)
FORECAST = "Caution: a due date is a forecast, and no reason to leave out a walk-round. Local codes decide."
ADVICE = "Caution: advice, never a verdict. A licensed mechanic decides; secure the vehicle before you look."
WALK = (
    "Caution: secure the unit before you walk round it. A filled form is no certificate of roadworthiness: local "
    "codes, the makers' figures and licensed inspectors decide."
)


def paragraphs(text: str) -> list[str]:
    """Paragraphs of a help text, each as one line."""
    return [" ".join(part.split()) for part in (text or "").replace("\b", "").split("\n\n") if part.strip()]


def _write(formatter: Any, text: str) -> None:
    """The text of a command: its example first, in lines that can be copied."""
    parts = paragraphs(text)
    for example in (p for p in parts if p.startswith(_EXAMPLE)):
        formatter.write_paragraph()
        formatter.write(f"  {_EXAMPLE}\n")
        for line in _copyable(example.removeprefix(_EXAMPLE).strip(), formatter.width - 4):
            formatter.write(f"    {line}\n")
    for words in (p for p in parts if not p.startswith(_EXAMPLE)):
        formatter.write_paragraph()
        with formatter.indentation():
            formatter.write_text(words)


def _copyable(command: str, width: int) -> list[str]:
    """A command in lines of a shell: each but the last ends with a backslash, and none breaks a quoted word."""
    lines = [""]
    for word in _shell_words(command):
        if lines[-1] and len(lines[-1]) + len(word) + 3 > width:
            lines[-1] += " \\"
            lines.append(f"  {word}")
        else:
            lines[-1] += f" {word}" if lines[-1] else word
    return lines


def _shell_words(command: str) -> list[str]:
    """An option and its value stay together."""
    words: list[str] = []
    for word in shlex.split(command, posix=False):
        if words and words[-1].startswith("-") and " " not in words[-1] and not word.startswith("-"):
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


class Command(TyperCommand):
    """A command whose help begins with its example."""

    def format_help_text(self, ctx: Any, formatter: Any) -> None:
        _write(formatter, self.help or "")


class Group(TyperGroup):
    """All commands, each with its whole first sentence; a word that is none is answered with one that it is like."""

    def format_help_text(self, ctx: Any, formatter: Any) -> None:
        _write(formatter, self.help or "")

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        found = [(name, self.get_command(ctx, name)) for name in self.list_commands(ctx)]
        rows = [(name, paragraphs(c.help or "")[0]) for name, c in found if c is not None and not c.hidden]
        with formatter.section("Commands"):
            formatter.write_dl(rows)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        if args and self.get_command(ctx, args[0]) is None:
            names = self.list_commands(ctx)
            ctx.fail(
                f"no command {args[0]!r}{did_you_mean(args[0], names, most=3) or ';'} 'wheelend --help' lists them"
            )
        return super().resolve_command(ctx, args)


class App(typer.Typer):
    """An application whose commands show their help as :class:`Command` does."""

    def command(  # type: ignore[override]  # the rest of its arguments goes through `how`
        self, name: str | None = None, **how: Any
    ) -> Callable[[Callable[..., None]], Callable[..., None]]:
        return super().command(name, **{"cls": Command, **how})
