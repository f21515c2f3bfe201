#include <algorithm>

#include "judging.hpp"

namespace wheelend {

RowsByUse rows_by_use(const std::vector<LimitRow>& limits) {
  RowsByUse use;
  for (std::size_t i = 0; i < limits.size(); ++i) {
    const auto limit = static_cast<std::int32_t>(i);
    switch (limits[i].statistic) {
      case Statistic::lowest_depth:
      case Statistic::lowest_any_groove:
      case Statistic::three_quarter_band:
      case Statistic::second_lowest_of_four:
      case Statistic::adjacent_pair:
      case Statistic::adjacent_pair_three_places:
        use.tread.push_back(limit);
        break;
      case Statistic::cold_pressure:
      case Statistic::pressure_as_found:
        use.pressure.push_back(limit);
        break;
      case Statistic::retread_or_regrooved:
      case Statistic::regrooved_capacity:
      case Statistic::load_carried:
      case Statistic::speed_last_hour:
      case Statistic::age_of_tire:
      case Statistic::age_of_casing:
        use.tire.push_back(limit);
        break;
      case Statistic::pair_depth:
      case Statistic::axle_depth:
        use.pair_tread.push_back(limit);
        break;
      case Statistic::pair_pressure:
        use.pair_pressure.push_back(limit);
        break;
      case Statistic::pair_diameter:
      case Statistic::pair_circumference:
      case Statistic::axle_sizes:
      case Statistic::axle_constructions:
        use.pair_tire.push_back(limit);
        break;
      case Statistic::months_since:
        use.unit.push_back(limit);
        break;
      case Statistic::defective_brakes:
        use.brakes.push_back(limit);
        break;
      default:
        use.wheelend.push_back(limit);
    }
  }
  return use;
}

std::int32_t tire_at(const ReadingColumns& readings, const RowsByPosition& rows, std::int64_t start,
                     std::int64_t at, std::int64_t microsecond) {
  std::int32_t gone = -1;
  for (std::int64_t i = at; i >= start; --i) {
    const auto row = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(i)]);
    const bool now = readings.microsecond[row] == microsecond;
    if (gone >= 0 && !now) {
      return gone;
    }
    if (readings.event.at(row) == static_cast<std::int8_t>(Event::removed)) {
      if (!now) {
        return -1;
      }
      gone = std::max(gone, readings.tire_at(row));
      continue;
    }
    if (readings.tire_at(row) >= 0) {
      return readings.tire_at(row);
    }
    if (readings.event.at(row) >= 0 && readings.event.at(row) != static_cast<std::int8_t>(Event::regrooved)) {
      return -1;  // another tire was fitted, and nobody wrote down which
    }
  }
  return gone;
}

VerdictTable judge_fleet(const Fleet& fleet, const std::vector<LimitRow>& limits,
                         const JudgeOptions& options) {
  const RowsByPosition rows = rows_by_position(fleet.readings, fleet.positions.facts.size());
  const RowsByUse use = rows_by_use(limits);
  VerdictWriter writer(fleet.facts, limits, options);
  std::vector<TireShown> shown;
  judge_positions(fleet, rows, use, options, writer, shown);
  judge_axles(fleet, use, options, shown, writer);
  BrakesRead brakes;
  judge_wheelends(fleet, rows, use, options, writer, brakes);
  judge_units(fleet, use, options, brakes, writer);
  return writer.take();
}

}  // namespace wheelend
