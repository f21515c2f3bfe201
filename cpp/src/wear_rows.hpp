// What tread and other slow quantities share around the fit: units with their knots before it, rows of the
// table after it.
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "wheelend/wear.hpp"
#include "wheelend/wear_ahead.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

inline constexpr double knot_days = 60.0;  // of the severity

// Kind (the last for a missing one) and the fleet's own group (-1 missing) of each unit: those of its first
// position.
struct UnitKinds {
  std::vector<std::size_t> kind;
  std::vector<std::int32_t> group;
};
UnitKinds unit_kinds(const PositionColumns& positions, std::span<const std::int32_t> unit_of,
                     std::size_t units);

// Where the knots begin: the first reading or beginning of all items. `begins` of items are times still.
double first_knot_day(const std::vector<WearItem>& items, std::int32_t as_of);

// Units with their items, as many as there are, and what they ran by each knot. `exposure`: of a unit at a
// time.
std::vector<WearUnit> units_with_knots(const std::vector<WearItem>& items, std::size_t units,
                                       double first_day, std::int32_t as_of,
                                       const std::function<bool(std::size_t)>& by_distance,
                                       const std::function<double(std::size_t, double)>& exposure);

// One row of the table; `depth`, rates and limit in the table's own measure.
struct WearRow {
  std::int32_t position = 0;
  std::int32_t fitted_day = std::numeric_limits<std::int32_t>::min();
  Begun begun = Begun::first_reading;
  std::size_t readings = 0;
  std::int32_t last_day = 0;
  double limit = std::numeric_limits<double>::quiet_NaN();
  bool by_distance = false;
};
void add_row(WearTable& to, const WearRow& row, const Passage& passage);

// Remaining days or distance without what lies beyond the horizon.
double within_horizon(double remaining);

}  // namespace wheelend
