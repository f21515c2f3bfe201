// Wear across the tread, as the fit has learned it, and around the tire, as it was read.
#pragma once

#include "wear_items.hpp"
#include "wheelend/fleet_wear.hpp"

namespace wheelend {

Patterns find_patterns(const WearFit& fit, const WearItems& items, const ReadingColumns& readings,
                       const RowsByPosition& rows, std::int32_t as_of);

}  // namespace wheelend
