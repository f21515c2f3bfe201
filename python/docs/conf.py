"""Settings of the manual. Built by ``python -m sphinx -W --keep-going -n -b html python/docs build/manual``.

Everything is on this machine: no script, font or inventory of another site is fetched, neither while building nor while
reading. Pages that repeat what code or data say are made here, see ``made/``.
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

DOCS = Path(__file__).resolve().parent
ROOT = DOCS.parents[1]
sys.path.insert(0, str(DOCS))

_PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
project = _PROJECT["name"]
version = release = _PROJECT["version"]
author = "the wheelend contributors"
copyright = f"{author}, {_PROJECT['license']}"

extensions = ["myst_nb", "sphinx.ext.autodoc", "numpydoc", "made", "made.mathml"]
exclude_patterns = ["made", "beside", "**/.*"]
nitpicky = True

myst_enable_extensions = ["amsmath", "colon_fence", "deflist", "dollarmath"]
myst_heading_anchors = 4

# Notebooks come executed from a run of the tests, else they are executed here (made/notebooks.py).
nb_execution_mode = "auto"
nb_execution_in_temp = True
nb_execution_raise_on_error = True
nb_execution_timeout = 180
nb_merge_streams = True

autodoc_member_order = "bysource"
autodoc_typehints = "none"  # types stand in the docstrings, with shapes and measures
numpydoc_show_class_members = False
numpydoc_class_members_toctree = False

html_theme = "pydata_sphinx_theme"
html_title = f"wheelend {version}"
html_static_path = ["static"]
html_css_files = ["manual.css"]
html_extra_path = ["beside"]
html_show_sourcelink = False
html_copy_source = False
html_last_updated_fmt = None
html_math_renderer = "mathml"
html_context = {"default_mode": "auto"}
html_theme_options = {
    "navbar_end": ["theme-switcher"],
    "header_links_before_dropdown": 6,
    "show_prev_next": True,
    "footer_start": ["copyright"],
    "footer_end": [],
    "secondary_sidebar_items": ["page-toc"],
    "show_toc_level": 2,
    "navigation_depth": 3,
    "pygments_light_style": "tango",
    "pygments_dark_style": "monokai",
}
