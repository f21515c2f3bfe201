"""Pages of the commands, made of what ``wheelend COMMAND --help`` is made of."""

from __future__ import annotations

from collections import Counter
from typing import Any

import typer

from made.text import cell, code, table
from wheelend.cli import app
from wheelend.dictionary import RESULTS

SHARED_BY = 4  # an option of at least so many commands is told once
_HELP = "--help"


def all_commands() -> dict[str, Any]:
    """The commands that help shows, by name."""
    root: Any = typer.main.get_command(app)  # a group, which its type does not say
    return {name: command for name, command in root.commands.items() if not command.hidden}


def context(name: str, command: Any) -> Any:
    return command.make_context(name, [], resilient_parsing=True)


def records(name: str, command: Any, kind: str) -> list[tuple[str, str]]:
    """Options or arguments of a command: how they are written, and what help says of them."""
    c = context(name, command)
    found = [p.get_help_record(c) for p in command.get_params(c) if p.param_type_name == kind]
    return [r for r in found if r is not None and _HELP not in r[0]]


def _longest(written: str) -> str:
    return max((word.strip(",") for word in written.split() if word.startswith("-")), key=len)


def _section(name: str, command: Any, shared: set[tuple[str, str]]) -> str:
    text = (command.help or "").replace("\b", "").strip()
    usage = " ".join(["wheelend", name, *command.collect_usage_pieces(context(name, command))])
    arguments = records(name, command, "argument")
    options = records(name, command, "option")
    parts = [f"(command-{name})=\n## {name}\n", _with_examples(text), f"```text\n{usage}\n```\n"]
    if arguments:
        parts.append(table(["argument", "what"], [[code(a), cell(what)] for a, what in arguments]))
    own = [o for o in options if o not in shared]
    if own:
        parts.append(table(["option", "what"], [[code(o), cell(what)] for o, what in own]))
    common = [code(_longest(o[0])) for o in options if o in shared]
    if common:
        parts.append(f"And of the [options that commands share](#shared-options): {', '.join(common)}.\n")
    if command.epilog:
        parts.append(" ".join(command.epilog.split()) + "\n")
    if name in RESULTS:
        parts.append(f"Its columns are in the [data dictionary](#results-{name}).\n")
    return "\n".join(parts)


def _with_examples(text: str) -> str:
    """Paragraphs of a help text; lines that begin with ``Example:`` as code."""
    parts = []
    for paragraph in text.split("\n\n"):
        words = " ".join(paragraph.split())
        if words.startswith("Example:"):
            words = f"Example:\n\n```sh\n{words.removeprefix('Example:').strip()}\n```"
        parts.append(words + "\n")
    return "\n".join(parts)


def commands(_: str) -> str:
    """All commands in a line each, the options that several share, then each command."""
    found = all_commands()
    options = {name: records(name, command, "option") for name, command in found.items()}
    count = Counter(option for of_one in options.values() for option in of_one)
    shared = {option: None for option, times in count.items() if times >= SHARED_BY}  # in the order of help
    first = [
        [f"[`{n}`](#command-{n})", cell(" ".join((c.help or "").split("\n\n")[0].split()))] for n, c in found.items()
    ]
    return "\n".join(
        [
            table(["command", "what"], first),
            "(shared-options)=\n## Options that commands share\n",
            table(["option", "what"], [[code(o), cell(what)] for o, what in shared]),
            *(_section(name, command, set(shared)) for name, command in found.items()),
        ]
    )
