// From a fleet whose wear was learned to what simulates its demand.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "unit_use.hpp"
#include "wear_items.hpp"
#include "wheelend/demand.hpp"
#include "wheelend/fitments.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

struct Learnt {
  const ReadingColumns& readings;
  const PositionColumns& positions;
  const TireColumns& tires;
  std::span<const std::int32_t> unit_of;
  std::span<const double> limit_mm;
  const Fitments& fitments;
  const WearItems& items;
  const UnitUse& use;
  const WearFit& fit;
  const std::vector<std::size_t>& kind_of_unit;
  const WearOptions& options;
};

DemandFleet demand_fleet(const Learnt& learnt);

}  // namespace wheelend
