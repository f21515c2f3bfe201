# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # A morning in the shop
#
# Which units may not leave, why, and what comes next. The fleet is invented: `write_sample` writes it. Put the paths of
# your own files in its place.

# %%
from pathlib import Path
from tempfile import TemporaryDirectory

import wheelend
from wheelend import pictures, show

kept = TemporaryDirectory()
fleet = Path(kept.name) / "fleet"
wheelend.write_sample(fleet)
log = wheelend.read_log(*[fleet / f"{name}.csv" for name in ("readings", "positions", "tires", "wheelend_readings")])
log

# %% [markdown]
# Nothing of a file is dropped without a word. Here is every row and value that could not be used, with what to do:

# %%
show(log.issues, columns=["file", "row", "column", "text", "effect", "message"])

# %% [markdown]
# ## Who may not leave
#
# `hold`: a violation or an out-of-service criterion fails.

# %%
standing = wheelend.standing(log).to_pylist()
for unit in standing:
    if unit["standing"] == "hold":
        print(f"{unit['unit']}  {unit['worst_position']:22} {unit['reason']}")

# %% [markdown]
# Every finding on one of them, with the clause it rests on:

# %%
held = next(unit["unit"] for unit in standing if unit["standing"] == "hold")
findings = wheelend.judge(log, unit=held)
fails = findings.filter(findings["verdict"].to_numpy(zero_copy_only=False) == "fail")
show(fails, columns=["axle", "side", "dual", "as_read", "limit", "measure", "severity", "clause"])

# %% [markdown]
# ## What is due next
#
# Each tire leans on its axle, its unit and its group as far as its own readings leave it open. The thick line holds the
# date one time in two, the thin one nine times in ten.

# %%
ax = pictures.plot_due(pictures.due_data(log, site="North", most=30))

# %% [markdown]
# One tire: what was read, and where it is going. Without a position it is the one that is due soonest.

# %%
ax = pictures.plot_depth(pictures.depth_data(log, unit="T106", axle=1, side="left"))

# %% [markdown]
# ## Air
#
# Pressures are compared cold, at one temperature: a tire that was read warm looks better than it is.

# %%
ax = pictures.plot_pressure(pictures.pressure_data(log, unit="T102"))

# %% [markdown]
# ## How it wears
#
# The tire that wears most unevenly, groove by groove. What to look at first is advice, not a verdict.

# %%
ax = pictures.plot_across(pictures.across_data(log, site="North"))

# %% [markdown]
# A pass here is no certificate of roadworthiness: local codes, the vehicle and tire makers' figures and licensed
# inspectors decide. Do not inflate on the vehicle a tire found at 80 percent of its pressure or below, and never work
# beside an unsecured vehicle.
