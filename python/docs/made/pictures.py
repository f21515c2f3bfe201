"""Every picture, and the sheet, made from the shipped sample while the manual is built."""

from __future__ import annotations

import shutil
from pathlib import Path

from made import runs
from wheelend.pictures._command import PICTURES

MORE = {"due": " --most 30", "spend": " --prices prices.csv"}  # so that each line has its name; what it needs
FOLDER = Path(__file__).resolve().parents[1] / "drawn"
BESIDE = Path(__file__).resolve().parents[1] / "beside"  # files that stand beside the pages as they are


def pictures(_: str) -> str:
    """A section per picture: its words, its command, and what that draws."""
    FOLDER.mkdir(exist_ok=True)
    parts = []
    for name, picture in PICTURES.items():
        line = f"picture {name} TABLES{MORE.get(name, '')} -o {name}.svg"
        runs.output(line)
        shutil.copy(Path(runs.folder()) / f"{name}.svg", FOLDER / f"{name}.svg")
        options = " ".join(f"`--{option.replace('_', '-')}`" for option in (*picture.takes, *picture.of_drawing))
        parts += [f"## {name}\n", picture.words[0].upper() + picture.words[1:] + ".\n"]
        parts += [f"![{picture.words}](drawn/{name}.svg)\n", runs.command(line), f"\nOptions of its own: {options}.\n"]
    return "\n".join(parts)


def sheet(arguments: str) -> str:
    """``sheet options``: the sheet of the sample, in a frame and to open by itself."""
    line = f"sheet TABLES {arguments} -o sheet.html"
    runs.output(line)
    BESIDE.mkdir(exist_ok=True)
    shutil.copy(Path(runs.folder()) / "sheet.html", BESIDE / "sheet.html")
    frame = '<iframe src="sheet.html" title="The sheet of the sample" class="sheet" loading="lazy"></iframe>'
    return f'{runs.command(line)}\n\n{frame}\n\n<a href="sheet.html">The same by itself</a>\n'
