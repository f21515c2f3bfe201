#include "wear_patterns.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

// The largest difference of one groove between places round the tire, at the last inspection of the
// position that read two places or more.
std::pair<double, double> around_at(const ReadingColumns& readings, const RowsByPosition& rows, std::size_t p,
                                    std::int32_t as_of) {
  double around = nan, step = nan;
  if (readings.place.empty()) {
    return {around, step};
  }
  std::int64_t time = std::numeric_limits<std::int64_t>::min();
  std::vector<std::size_t> here;
  for (std::int64_t k = rows.start[p]; k < rows.start[p + 1]; ++k) {
    const auto row = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(k)]);
    if (readings.day[row] > as_of) {
      break;
    }
    if (readings.microsecond[row] != time) {
      here.clear();
      time = readings.microsecond[row];
    }
    here.push_back(row);
    for (const NumberColumn& groove : readings.grooves) {
      double low = nan, high = nan;
      for (const std::size_t r : here) {
        const double d = groove.at(r);
        if (!std::isnan(d) && readings.place_at(r) >= 0) {
          low = std::isnan(low) ? d : std::min(low, d);
          high = std::isnan(high) ? d : std::max(high, d);
        }
      }
      const double apart = convert(high - low, groove.measure, Measure::millimetre);
      if (here.size() > 1 && !std::isnan(apart)) {
        around = here.size() == 2 && &groove == &readings.grooves.front() ? apart : std::max(around, apart);
        step = convert(info(groove.measure).gauge_step, groove.measure, Measure::millimetre);
      }
    }
  }
  return {around, step};
}

}  // namespace

Patterns find_patterns(const WearFit& fit, const WearItems& items, const ReadingColumns& readings,
                       const RowsByPosition& rows, std::int32_t as_of) {
  Patterns to;
  for (const Case& c : items.cases) {
    const WearItem& item = items.items[c.item];
    const ItemState& state = fit.items[c.item];
    const auto sd = [&state](std::size_t k) {
      return std::sqrt(std::max(state.covariance[k * state.mean.size() + k], 0.0));
    };
    to.position.push_back(static_cast<std::int32_t>(c.position));
    to.one_sided.push_back(state.mean[state_one_sided]);
    to.one_sided_se.push_back(sd(state_one_sided));
    to.shoulder.push_back(state.mean[state_shoulder]);
    to.shoulder_se.push_back(sd(state_shoulder));
    to.since_day.push_back(std::isnan(state.turned_day) ? std::numeric_limits<std::int32_t>::min()
                                                        : static_cast<std::int32_t>(state.turned_day));
    to.worn.push_back(std::clamp(1.0 - state.mean[state_depth] / item.full, 0.0, 1.0));
    const auto [around, step] = around_at(readings, rows, c.position, as_of);
    to.around_mm.push_back(around);
    to.around_step_mm.push_back(step);
  }
  return to;
}

}  // namespace wheelend
