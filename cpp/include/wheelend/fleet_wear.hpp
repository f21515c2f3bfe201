// Wear of the tire in use at each position, learned from the whole fleet together, and when it reaches its
// limit: curved wear, grooves, readers, one-sided and shoulder wear, severity and use of the unit; see
// wear_fit.hpp for the model. Comes to stand in the place of wear().
#pragma once

#include <span>

#include "wheelend/wear.hpp"

namespace wheelend {

struct FleetWear {
  WearTable table;
  Fitments fitments;
};

// limit_mm: per position, NaN where there is none. unit_of: unit of each position. A position without a
// usable tread reading of the tire now on it gives no row. A tire's own new depth comes before the prior's.
FleetWear wear_of_fleet(const ReadingColumns& readings, const PositionColumns& positions,
                        const TireColumns& tires, std::span<const std::int32_t> unit_of, std::size_t units,
                        std::span<const double> limit_mm, const WearPrior& prior, const WearOptions& options);

}  // namespace wheelend
