#include "wear_rows.hpp"

#include <algorithm>
#include <cmath>

namespace wheelend {

namespace {
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
}  // namespace

UnitKinds unit_kinds(const PositionColumns& positions, std::span<const std::int32_t> unit_of,
                     std::size_t units) {
  UnitKinds out{.kind = std::vector<std::size_t>(units, unit_kind_names.size()),
                .group = std::vector<std::int32_t>(units, -1)};
  for (std::size_t p = positions.facts.size(); p-- > 0;) {
    const auto u = static_cast<std::size_t>(unit_of[p]);
    const std::int8_t kind = positions.facts[p].kind;
    out.kind[u] = kind < 0 ? unit_kind_names.size() : static_cast<std::size_t>(kind);
    out.group[u] = positions.group.empty() ? -1 : positions.group[p];
  }
  return out;
}

double first_knot_day(const std::vector<WearItem>& items, std::int32_t as_of) {
  auto first = static_cast<double>(as_of);
  for (const WearItem& item : items) {
    first = std::min(first, item.readings.empty() ? item.begins : item.readings.front().time);
    first = std::isnan(item.begins) ? first : std::min(first, item.begins);
  }
  return first;
}

std::vector<WearUnit> units_with_knots(const std::vector<WearItem>& items, std::size_t units,
                                       double first_day, std::int32_t as_of,
                                       const std::function<bool(std::size_t)>& by_distance,
                                       const std::function<double(std::size_t, double)>& exposure) {
  const double span = static_cast<double>(as_of) + 1.0 - first_day;
  const auto knots = static_cast<std::size_t>(std::max(std::ceil(span / knot_days), 1.0));
  std::vector<WearUnit> out(units);
  for (std::size_t u = 0; u < units; ++u) {
    out[u].by_time = !by_distance(u);
    for (std::size_t m = 0; m <= knots; ++m) {
      out[u].exposure_at_boundary.push_back(exposure(u, first_day + static_cast<double>(m) * knot_days));
    }
  }
  for (std::size_t i = 0; i < items.size(); ++i) {
    WearUnit& unit = out[static_cast<std::size_t>(items[i].unit)];
    unit.items.push_back(static_cast<std::int64_t>(i));
    unit.axles = std::max(unit.axles, items[i].axle + 1);
    for (const ItemMove& move : items[i].moves) {
      unit.axles = std::max(unit.axles, move.axle + 1);
    }
  }
  return out;
}

void add_row(WearTable& to, const WearRow& row, const Passage& p) {
  const bool limited = !std::isnan(row.limit);
  to.position.push_back(row.position);
  to.fitted_day.push_back(row.fitted_day);
  to.begun.push_back(static_cast<std::uint8_t>(row.begun));
  to.readings_used.push_back(static_cast<std::int64_t>(row.readings));
  to.last_day.push_back(row.last_day);
  to.depth_mm.push_back(p.depth);
  to.rate_mm_per_km.push_back(row.by_distance ? p.rate : nan);
  to.rate_se_mm_per_km.push_back(row.by_distance ? p.rate_sd : nan);
  to.rate_mm_per_day.push_back(p.rate_per_day);
  to.rate_se_mm_per_day.push_back(p.rate_per_day_sd);
  to.limit_mm.push_back(row.limit);
  double median_days = nan;
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    const double days = limited ? within_horizon(p.days[q]) : nan;
    to.remaining_days[q].push_back(days);
    to.remaining_km[q].push_back(limited && row.by_distance ? within_horizon(p.distance[q]) : nan);
    median_days = quantile_levels[q] == 0.5 ? days : median_days;
  }
  to.status.push_back(
      static_cast<std::uint8_t>(wear_status(row.readings, limited, median_days, limited && p.read_beyond)));
}

double within_horizon(double remaining) { return std::isfinite(remaining) ? remaining : nan; }

WearStatus wear_status(std::size_t readings, bool limited, double median_days, bool read_beyond) {
  constexpr std::size_t few = 3;
  if (!limited) {
    return WearStatus::no_limit;
  }
  if (median_days == 0.0) {
    return WearStatus::at_limit;
  }
  if (read_beyond) {
    return WearStatus::read_again;
  }
  if (std::isnan(median_days)) {
    return WearStatus::not_within_horizon;
  }
  return readings < few ? WearStatus::from_group : WearStatus::from_readings;
}

}  // namespace wheelend
