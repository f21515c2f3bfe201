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
# # Slow leaks
#
# A tire that loses a few psi a month is hidden by the weather: ten degrees Fahrenheit are about two psi at highway
# pressures. Cold pressures at one temperature take the weather out, and the mates of a tire what is left of it.

# %%
from pathlib import Path
from tempfile import TemporaryDirectory

import wheelend
from wheelend import pictures, show

kept = TemporaryDirectory()
fleet = Path(kept.name) / "fleet"
wheelend.write_sample(fleet)
log = wheelend.read_log(*[fleet / f"{name}.csv" for name in ("readings", "positions", "tires")])

# %% [markdown]
# ## Which tires leak
#
# What is lost in a month, with its 90 % interval, and when the tire is at 80 % of its target if nobody fills it.

# %%
found = wheelend.leaks(log).to_pylist()
for tire in sorted(found, key=lambda t: -(t["probability"] or 0)):
    if tire["state"] not in ("normal", "unknown"):
        print(f"{tire['unit']} axle {tire['axle']} {tire['side']} {tire['dual']}: {tire['reason']}")

# %% [markdown]
# One of them, reading by reading. A star is an alarm as it would have been raised on that day, from readings up to that
# day only; the lines at the right say when the tire falls below each pressure.

# %%
ax = pictures.plot_pressure(pictures.pressure_data(log, unit="V405", axle=1, side="right", dual="outer"))

# %% [markdown]
# ## What the correction does
#
# The same readings stated at 20 degF and at 100 degF: the trend is the same, the level is not.

# %%
import matplotlib.pyplot as plt

fig, both = plt.subplots(1, 2, figsize=(11, 4.4), layout="constrained", sharey=True)
for ax, reference in zip(both, ("20 degf", "100 degf"), strict=True):
    table = pictures.pressure_data(log, unit="V405", axle=1, side="right", dual="outer", reference=reference)
    pictures.plot_pressure(table, ax=ax)

# %% [markdown]
# ## Every alarm of the record
#
# How many alarms of sound tires may there be? Fewer of them find leaks later.

# %%
for false_alarms in (0.5, 2.0, 10.0):
    alarms = wheelend.leaks(log, alarms=True, false_alarms=false_alarms)
    print(f"{false_alarms:4} false alarms per 1000 tire-months: {len(alarms)} alarms")
show(alarms, columns=["unit", "axle", "side", "dual", "alarmed_on", "cold_psi", "rate_psi_per_month", "reason"])

# %% [markdown]
# Do not inflate on the vehicle a tire found at 80 percent of its pressure or below (29 CFR 1910.177): deflate it,
# demount it, and have it inspected. Never stand beside an inflated multi-piece rim; use a cage and a remote, clip-on
# chuck.
