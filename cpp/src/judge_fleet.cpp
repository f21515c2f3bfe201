#include <algorithm>
#include <iterator>

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

TireHistory::TireHistory(const ReadingColumns& readings, const RowsByPosition& rows)
    : readings_(readings), rows_(rows) {
  if (readings.tire.empty()) {
    return;
  }
  const auto time = [this](std::int64_t i) {
    return readings_.microsecond[static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(i)])];
  };
  start_.push_back(0);
  for (std::size_t p = 0; p + 1 < rows.start.size(); ++p) {
    std::int32_t there = -1;
    for (std::int64_t i = rows.start[p]; i < rows.start[p + 1];) {
      std::int64_t end = i + 1;
      while (end < rows.start[p + 1] && time(end) == time(i)) {
        ++end;
      }
      visits_.push_back(visit(i, end, there));
      there = visits_.back().after;
      i = end;
    }
    start_.push_back(static_cast<std::int64_t>(visits_.size()));
  }
}

// Rows of one time: the last number written down among those that took nothing off, else the tire that went,
// else the one that was there before.
TireHistory::Visit TireHistory::visit(std::int64_t first, std::int64_t last, std::int32_t before) const {
  std::int32_t gone = -1, came = -1;
  bool removed = false, changed = false;
  Visit out{.microsecond = 0, .during = before, .after = before};
  for (std::int64_t i = last - 1; i >= first; --i) {
    const auto row = static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(i)]);
    const std::int8_t event = readings_.event.at(row);
    out.microsecond = readings_.microsecond[row];
    if (event == static_cast<std::int8_t>(Event::removed)) {
      removed = true;
      gone = std::max(gone, readings_.tire_at(row));
    } else {
      came = came >= 0 ? came : readings_.tire_at(row);
      changed = changed || (event >= 0 && event != static_cast<std::int8_t>(Event::regrooved));
    }
  }
  if (came >= 0 || changed) {
    out.during = out.after = came;  // -1: another was fitted, and nobody wrote down which
  } else if (removed) {
    out.during = gone >= 0 ? gone : before;
    out.after = -1;
  }
  return out;
}

std::int32_t TireHistory::at(std::size_t position, std::int64_t microsecond) const {
  if (visits_.empty()) {
    return -1;
  }
  const auto first = visits_.begin() + start_[position], last = visits_.begin() + start_[position + 1];
  const auto later = std::upper_bound(
      first, last, microsecond, [](std::int64_t at, const Visit& visit) { return at < visit.microsecond; });
  if (later == first) {
    return -1;
  }
  const Visit& found = *std::prev(later);
  return found.microsecond == microsecond ? found.during : found.after;
}

VerdictTable judge_fleet(const Fleet& fleet, const std::vector<LimitRow>& limits,
                         const JudgeOptions& options) {
  const RowsByPosition rows = rows_by_position(fleet.readings, fleet.positions.facts.size());
  const TireHistory tires(fleet.readings, rows);
  const RowsByUse use = rows_by_use(limits);
  VerdictWriter writer(fleet.facts, limits, options);
  std::vector<TireShown> shown;
  judge_positions(fleet, rows, tires, use, options, writer, shown);
  judge_axles(fleet, use, options, shown, writer);
  BrakesRead brakes;
  judge_wheelends(fleet, rows, tires, use, options, writer, brakes);
  judge_units(fleet, use, options, brakes, writer);
  return writer.take();
}

}  // namespace wheelend
