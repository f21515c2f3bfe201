"""A wear study in ten lines: one tire, five readings, and the mileage at which it reaches 4/32 in.

The readings are invented. The interval is by inversion: it leans to the late side, as the true one does.
"""

from wheelend.lines import fit_line, where_reaches

thousand_miles = [0, 15, 30, 45, 60]
depth_32nds = [18, 16, 15, 13, 12]

line = fit_line(thousand_miles, depth_32nds)
print(f"wear {-line.slope:.4f} +- {line.se_slope:.4f} thirty-seconds per 1000 mi, residual sd {line.residual_sd:.4f}")
due = where_reaches(thousand_miles, depth_32nds, 4, level=0.95)
print(f"4/32 in at {due.at:.1f} thousand miles, 95 % between {due.low:.1f} and {due.high:.1f} ({due.status})")
