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
# # A budget for tires
#
# How many tires will be needed in each month to come, how sure that is, and what it costs. The fleet is run on in many
# simulated futures; what it does with worn, odd and damaged tires is learned from its record.

# %%
from pathlib import Path
from tempfile import TemporaryDirectory

import wheelend
from wheelend import pictures, show

kept = TemporaryDirectory()
fleet = Path(kept.name) / "fleet"
wheelend.write_sample(fleet)
log = wheelend.read_log(
    *[fleet / f"{name}.csv" for name in ("readings", "positions", "tires")], prices=fleet / "prices.csv"
)
demand = wheelend.demand(log, months=12)
show(demand, 12, columns=["month", "days", "tires_p10", "tires_p50", "tires_p90", "spend_p50", "spend_p90", "currency"])

# %%
ax = pictures.plot_demand(demand)

# %% [markdown]
# The same in money, at the prices of the price table. Amounts are decimals; currencies are never added.

# %%
ax = pictures.plot_spend(pictures.spend_data(log))

# %% [markdown]
# Quantiles of months do not add up to those of a year; expected numbers do. By site and role:

# %%
for by in ("site", "role"):
    expected = {}
    for row in wheelend.demand(log, months=12, by=by).to_pylist():
        expected[row[by]] = expected.get(row[by], 0.0) + row["tires_mean"]
    print(by, {name: round(number, 1) for name, number in expected.items()})

# %% [markdown]
# ## What if
#
# Other work, other habits. Every case meets the same chances, so that their difference is that of the change.

# %%
cases = {
    "as in the record": {},
    "a tenth more miles": {"use": 1.1},
    "pulled 1 mm deeper": {"pull_shift_mm": 1.0},
    "a tire changed alone": {"with_mate": 0.0},
}
for name, changes in cases.items():
    table = wheelend.demand(log, months=12, changes=changes)
    print(f"{name:22} {sum(table['tires_mean'].to_pylist()):6.1f} tires in twelve months")

# %% [markdown]
# ## When the tires in use come due
#
# Those that are due within the year are most of the demand of its months.

# %%
ax = pictures.plot_due(pictures.due_data(log))

# %% [markdown]
# ## How far to trust it
#
# The dates that would have been told in the past, beside what became of the tires.

# %%
ax = pictures.plot_coverage(pictures.coverage_data(log))
