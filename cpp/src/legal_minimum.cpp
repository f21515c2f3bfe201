#include <algorithm>
#include <cmath>
#include <limits>

#include "wheelend/wear.hpp"

namespace wheelend {

namespace {
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
}

std::vector<double> legal_minimum_mm(const std::vector<LimitRow>& limits, const Facts& facts,
                                     std::size_t positions) {
  std::vector<double> out;
  for (std::size_t p = 0; p < positions; ++p) {
    const Subject subject{.position = static_cast<std::int32_t>(p)};
    double highest = nan;
    for (std::size_t i = 0; i < limits.size(); ++i) {
      const LimitRow& row = limits[i];
      if (!is_minimum_depth(row.statistic) || row.severity != Severity::violation || row.unconfirmed ||
          applies(limits, i, facts, subject).applies == Applies::no) {
        continue;
      }
      const double bound =
          convert(number_of(row.amount.bound), row.amount.bound.measure, Measure::millimetre);
      highest = std::isnan(highest) ? bound : std::max(highest, bound);
    }
    out.push_back(highest);
  }
  return out;
}

}  // namespace wheelend
