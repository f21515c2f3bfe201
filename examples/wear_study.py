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
# # A published wear study, again
#
# Sixteen tires were run, and the life of each was estimated twice: from the depth of its center groove and from the
# weight it had lost (R. D. Stichler, G. G. Richey, J. Mandel, *Rubber Age* 73 (2), 1953). M. G. Natrella works them as
# an example of a straight line, in hundreds of miles (*Experimental Statistics*, NBS Handbook 91, 1963, pages 5-33 to
# 5-40, a work of the U.S. Government). The printed line, from memory: groove = 13.506 + 0.790212 weight.

# %%
from wheelend import lines

weight = [459, 419, 375, 334, 310, 305, 309, 319, 304, 273, 204, 245, 209, 189, 137, 114]  # hundreds of miles
groove = [357, 392, 311, 281, 240, 287, 259, 233, 231, 237, 209, 161, 199, 152, 115, 112]
line = lines.fit_line(weight, groove)
print(f"groove = {line.intercept:.3f} + {line.slope:.6f} weight, residual sd {line.residual_sd:.2f}")
at, low, high = lines.value_at(weight, groove, 300, level=0.95, mean_response=False)
print(f"at a weight life of 300: groove life {at:.1f}, of one further tire {low:.0f} to {high:.0f} (95 %)")
back = lines.where_reaches(weight, groove, 250, level=0.95)
print(f"a groove life of 250 means a weight life of {back.at:.1f}, 95 % between {back.low:.0f} and {back.high:.0f}")
print(f"R2 {line.r_squared:.3f}, yet weight says {sum(weight) / sum(groove) - 1:.0%} more life than the groove does")

# %% [markdown]
# The two go together closely and still disagree: a high correlation is not agreement. Beside each other:

# %%
import matplotlib.pyplot as plt
import numpy as np

fig, ax = plt.subplots(layout="constrained")
x = np.linspace(100, 480, 60)
ax.plot(weight, groove, "o", color="#16212b", label="16 tires")
ax.plot(x, line.intercept + line.slope * x, color="#2f6f8f", label="line")
ax.plot(x, x, color="#5a1846", linestyle="--", label="both alike")
ax.set_xlabel("life by loss of weight, hundreds of miles")
ax.set_ylabel("life by the center groove, hundreds of miles")
legend = ax.legend(frameon=False)

# %% [markdown]
# ## Why the model matters
#
# Another published set: one groove, read every four thousand miles (A. C. Tamhane, D. D. Dunlop, *Statistics and Data
# Analysis*, 2000; the printed results are from memory). The straight line has an R2 of 0.953 and a residual that bends;
# by it the tire is at 2/32 in (62.5 mil) at 41 thousand miles, by an exponential at 60.

# %%
miles = [0, 4, 8, 12, 16, 20, 24, 28, 32]  # thousands
depth = [394.33, 329.50, 291.00, 255.17, 229.33, 204.83, 179.00, 163.83, 150.33]  # mil
straight = lines.where_reaches(miles, depth, 62.5)
curved = lines.where_reaches(miles, np.log(depth), np.log(62.5))
print(f"straight: {straight.at:.2f} thousand miles, exponential: {curved.at:.2f}")

# %%
fig, ax = plt.subplots(layout="constrained")
x = np.linspace(0, 64, 100)
fit, logs = lines.fit_line(miles, depth), lines.fit_line(miles, np.log(depth))
ax.plot(miles, depth, "o", color="#16212b", label="read")
ax.plot(x, fit.intercept + fit.slope * x, color="#2f6f8f", label=f"straight line, R2 {fit.r_squared:.3f}")
ax.plot(x, np.exp(logs.intercept + logs.slope * x), color="#2f6f8f", linestyle=":", label="exponential")
ax.axhline(62.5, color="#5a1846", linestyle="--", label="2/32 in")
ax.set_ylim(0, 420)
ax.set_xlabel("distance, thousands of miles")
ax.set_ylabel("groove depth, mil")
legend = ax.legend(frameon=False)

# %% [markdown]
# `wheelend.wear` lets the rate fall with the depth as far as the fleet's own readings ask for it. Many tires at once:
# `wheelend.grouped`; wear with chance steps: `wheelend.passage`; lives: `wheelend.lives`.
