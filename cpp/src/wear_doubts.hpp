// Readings that do not fit, and what slip of the pen each looks like.
#pragma once

#include "wear_items.hpp"
#include "wheelend/fleet_wear.hpp"

namespace wheelend {

// step_mm: of the gauge. Differences that rounding and a common error of reading explain are left out.
Doubts find_doubts(const WearFit& fit, const WearItems& items, const Fitments& fitments, Measure measure,
                   double step_mm);

}  // namespace wheelend
