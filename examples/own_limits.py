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
# # Limits of your own
#
# The law's numbers ship with the package, each with its clause. A fleet adds its own in a file of the same form: a rule
# that is new, one that is stricter than the law, one that takes the place of a trade figure.

# %%
from pathlib import Path
from tempfile import TemporaryDirectory

import wheelend
from wheelend import show

kept = TemporaryDirectory()
folder = Path(kept.name)
wheelend.write_sample(folder / "fleet")
tables = [folder / "fleet" / f"{name}.csv" for name in ("readings", "positions", "tires", "wheelend_readings")]
log = wheelend.read_log(*tables)

# %% [markdown]
# What the law says of a tractor's front wheels:

# %%
show(wheelend.explain("US-T-02"), columns=["id", "bound", "measure", "sense", "severity", "clause"])

# %% [markdown]
# Three rows of an invented handbook. `tightens` is checked: a row that is not stricter is refused.

# %%
ours = folder / "ours.csv"
ours.write_text(
    """# title: Our fleet
id,quantity,statistic,where,needs,bound,upper,measure,base,sense,severity,clause,status,overrides,tightens
OUR-1,pressure,cold_pressure,,,95,,percent,target,>=,own,fleet handbook 2.1,own,,
OUR-2,tread_depth,lowest_depth,kind = tractor; axle = 1,,6,,32nds,,>=,own,fleet handbook 2.2,own,,US-T-02
OUR-3,fastener_torque,as_read,fastener = m22_flange_nut,thread = oiled,450,480,lbft,,within,own,our wheels,own,WE-01,
""",
    encoding="utf-8",
)
verdicts = wheelend.judge(log, limits=["us-federal", "trade", ours])
rows = [row for row in verdicts.to_pylist() if (row["limit_id"] or "").startswith("OUR-")]
for name in ("OUR-1", "OUR-2", "OUR-3"):
    told = [row["verdict"] for row in rows if row["limit_id"] == name]
    print(f"{name}: {told.count('fail')} of {len(told)} fail")

# %% [markdown]
# Each finding names the file and line it rests on:

# %%
for row in rows:
    if row["limit_id"] == "OUR-2" and row["verdict"] == "fail":
        print(f"{row['unit']} axle {row['axle']} {row['side']}: {row['as_read']}; {row['clause']}")

# %% [markdown]
# A fleet's own row never makes a violation: it is `own`, and a unit that breaks only such rows is watched, not held.


# %%
def standings(*limits):
    return {row["unit"]: row["standing"] for row in wheelend.standing(log, limits=limits).to_pylist()}


before, after = standings("us-federal", "trade"), standings("us-federal", "trade", ours)
for unit in log.units:
    if before[unit] != after[unit]:
        print(f"{unit}: {before[unit]} -> {after[unit]}")

# %% [markdown]
# ## A slip in the file
#
# A file that cannot be used as written is refused as a whole, with line and remedy; nothing is guessed.

# %%
ours.write_text(ours.read_text(encoding="utf-8").replace("axle = 1,,6,", "axle = 1,,3,"), encoding="utf-8")
try:
    wheelend.judge(log, limits=["us-federal", "trade", ours])
except wheelend.LimitFileError as refused:
    print(refused)

# %% [markdown]
# The legal minimum is not the only figure that counts: local codes, the vehicle and tire makers' figures and licensed
# inspectors decide.
