// From fitments to items of the fit: a tire on a unit is one item, wherever on the unit it was.
#pragma once

#include <cstdint>
#include <vector>

#include "wheelend/fitments.hpp"
#include "wheelend/wear.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

// A position in use, the item of the fit that is on it, and the fitment.
struct Case {
  std::size_t position = 0, item = 0, fitment = 0;
};

// Where a reading stands: position and visit there.
struct Source {
  std::size_t position, visit;
};

// An item that moves: number of the first reading at its new place.
struct MoveAt {
  std::size_t item, reading;
};

// Role, kind of unit and the fleet's own group of a group of items.
struct RateKey {
  std::size_t role, kind;
  std::int32_t group;
  auto operator<=>(const RateKey&) const = default;
};

struct WearItems {
  std::vector<WearItem> items;               // exposures still to be filled in; `begins` is a time
  std::vector<std::vector<Source>> sources;  // of the readings of each item
  std::vector<MoveAt> moves;                 // in the order in which they are in the items
  std::vector<Case> cases;                   // by position
  std::vector<WearGroup> groups;
  std::vector<RateKey> keys;  // of the groups
  // By position: the item that stands for a new tire there, one per axle and role; empty: not asked for.
  std::vector<std::size_t> fresh;
  std::vector<std::int32_t> readers;  // codes, in the order in which they come: that is how items number them
};

// kind_of_unit: as for UnitUse. fresh: also items that stand for new tires, to be fitted `now`.
WearItems items_of(const Fitments& fitments, const PositionColumns& positions, const TireColumns& tires,
                   std::span<const std::int32_t> unit_of, const std::vector<std::size_t>& kind_of_unit,
                   const WearPrior& prior, bool fresh, double now);

// Middle and mean of the depths that were read.
double middle_of(const std::vector<double>& depths);
double mean_of(const std::vector<double>& depths);

}  // namespace wheelend
