// Wear of the tire in use at each position, and when it reaches its limit: what goes in and comes out.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <span>
#include <string_view>
#include <vector>

#include "wheelend/fitments.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/limits.hpp"
#include "wheelend/watch.hpp"

namespace wheelend {

inline constexpr std::array<double, 7> quantile_levels{0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95};

enum class WearStatus : std::uint8_t {
  from_readings,       // three readings or more
  from_group,          // one or two readings: the rate is that of its group
  at_limit,            // there already, more likely than not: the median is 0
  not_within_horizon,  // the median lies beyond ten years
  no_limit,            // no limit is known for the position
  read_again,          // the last reading lies beyond the limit, and by those before it is not there yet
};
inline constexpr std::array<std::string_view, 6> wear_status_names{
    "from_readings", "from_group", "at_limit", "not_within_ten_years", "no_limit", "read_again"};

// `median_days`: NaN beyond the horizon. `read_beyond`: of the last reading.
WearStatus wear_status(std::size_t readings, bool limited, double median_days, bool read_beyond);

// Before a fleet speaks: typical wear of a role and use of a kind, from data/priors.
struct WearPrior {
  std::array<double, 8> mm_per_km{};   // by role; the last for a missing role
  std::array<double, 6> km_per_day{};  // by kind; the last for a missing kind
  std::array<double, 8> full_mm{};     // depth of a new tire, by role
};

struct WearTable {
  std::vector<std::int32_t> position;
  std::vector<std::int32_t> fitted_day;  // min(): not known, it was there when the record begins
  std::vector<std::uint8_t> begun;
  std::vector<std::int64_t> readings_used;
  std::vector<std::int32_t> last_day;                     // of the last reading used
  std::vector<double> depth_mm;                           // shallowest groove at as_of; not below 0
  std::vector<double> rate_mm_per_km, rate_se_mm_per_km;  // NaN without an odometer
  std::vector<double> rate_mm_per_day, rate_se_mm_per_day;
  std::vector<double> limit_mm;
  std::array<std::vector<double>, 7> remaining_km;    // NaN without an odometer or beyond the horizon
  std::array<std::vector<double>, 7> remaining_days;  // NaN beyond the horizon
  std::vector<std::uint8_t> status;
};

// A further depth of which it is asked when the tire at a position reaches it: with several, the law of its
// depth on every day to come, since depth only falls.
struct FurtherDepth {
  std::int32_t position = 0;
  double depth_mm = 0.0;
};

// One entry per depth that was asked; NaN where nothing is known of the position, else as in WearTable.
struct FurtherTable {
  std::array<std::vector<double>, 7> remaining_km, remaining_days;
};

struct WearOptions {
  std::int32_t as_of = 0;
  double demand_days = 0.0;  // above 0: also what simulates demand that far ahead
  int threads = 1;
  Watch* watch = nullptr;
  std::span<const FurtherDepth> further = {};
};

// The legal minimum of each position in mm: the highest bound of the rows that judge the lowest groove as a
// violation, where kind and role leave it open the higher one. NaN where no row speaks of the position.
std::vector<double> legal_minimum_mm(const std::vector<LimitRow>& limits, const Facts& facts,
                                     std::size_t positions);

}  // namespace wheelend
