// Loss of pressure of a reservoir in a timed test, brought to one starting pressure.
#pragma once

namespace wheelend {

// Loss per minute at a starting pressure `reference`, of a test that began at `start` and ended at `end`
// after so many minutes; gauge pressures, all in psi. A leak through a hole is choked as long as the gauge
// pressure is above 13 psi, so that the absolute pressure falls as p(t) = p(0) exp(-t / tau)
// (formulas 3.4, 8.2): the same hole loses in proportion to the absolute pressure. Negative where the
// pressure rose. Minutes above 0.
double loss_per_minute_at(double reference, double start, double end, double minutes);

// The same of a test of which only the loss per minute was written down, and where it began.
double loss_per_minute_at(double reference, double start, double loss_per_minute);

}  // namespace wheelend
