// From what is known of a tire to its loss rate and the days on which its pressure falls below limits.
#pragma once

#include <array>

#include "leak_filter.hpp"
#include "wheelend/wear.hpp"

namespace wheelend {

// Quantile of b, the loss rate: of the leaking parts alone, or of all. NaN where there are none.
double loss_rate(const AirState& tire, bool only_leaks, double level);

// Days from the state's day until the gauge pressure (Pa, at the reference temperature) is at `limit`, at the
// seven quantile levels; infinite where it is not within the horizon. Half of a leak's parts follow the gauge
// pressure, half the absolute pressure: readings cannot tell them apart.
std::array<double, 7> days_below(const AirState& tire, double limit_pa);

}  // namespace wheelend
