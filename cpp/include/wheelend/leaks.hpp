// Slow leaks found early: the loss rate of the tire at each position, alarms as they would have been raised
// at the time, and the days on which the pressure falls below its limits. Method: python/docs/leaks.md.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "wheelend/cold_pressures.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/watch.hpp"
#include "wheelend/wear.hpp"

namespace wheelend {

enum class LeakState : std::uint8_t {
  normal,
  suspected,      // more likely a leak than not, but short of an alarm
  slow_leak,      // an alarm stands
  refilled_leak,  // an alarm stands, and it was filled since: that heals nothing
  abrupt_loss,    // much was lost at once since the reading before
  unknown,        // no pressure that can be used
};
inline constexpr std::array<std::string_view, 6> leak_state_names{"normal",        "suspected",   "slow_leak",
                                                                  "refilled_leak", "abrupt_loss", "unknown"};

struct LeakOptions {
  std::int32_t as_of = 0;
  double false_alarms = 2.0;  // per 1000 tire-months, above 0
  double band_pa = 0.0;       // below target by more than this is below the band
  int threads = 1;
  Watch* watch = nullptr;
};

inline constexpr std::size_t pressure_limits = 3;  // target less the band, 80 % and 50 % of target

// One row per position. Pressures in Pa, gauge, at 293.15 K and the standard atmosphere; NaN where not known.
struct LeakTable {
  std::vector<std::uint8_t> state;
  std::vector<double> probability;                    // that it leaks
  std::vector<double> pressure, pressure_se, target;  // at as_of
  std::vector<double> rate, rate_low, rate_high;      // loss at target, Pa/day: median, 5 and 95 %
  std::vector<std::int32_t> first_alarm, last_alarm;  // of the tire in use; min(): none
  std::vector<std::int32_t> last_read, last_filled, dropped;
  std::vector<std::int64_t> readings;
  // Days after as_of, by limit and quantile level; 0: is below; NaN: beyond ten years or not known.
  std::array<std::array<std::vector<double>, 7>, pressure_limits> days;
};

struct LeakAlarms {
  std::vector<std::int32_t> position, day;
  std::vector<double> pressure, target, rate, probability;  // as the readings up to that day gave them
  std::vector<std::uint8_t> refilled;                       // filled since the leak was last read lower
};

// What was learned by the end of the record, in u = ln(absolute pressure) a day and as spreads of it.
struct LeaksLearned {
  double loss_per_month = 0.0, loss_spread_per_month = 0.0;  // share of the absolute pressure at target
  double reading = 0.0;
  std::array<double, 3> visit{};
  double warm_tires = 0.0, warm_visits = 0.0, slips = 0.0;
  double written = 0.0, fill_visit = 0.0, fill_low_per_month = 0.0, fill_else_per_month = 0.0;
  double swaps_per_month = 0.0;
  double alarm_odds = 0.0;
};

struct FleetLeaks {
  LeakTable table;
  LeakAlarms alarms;  // by position and day
  LeaksLearned learned;
};

// Every epoch of four weeks is judged with what the epochs before it taught, so that an alarm uses nothing of
// later days. Rows whose two pressures disagree are left out.
FleetLeaks leaks_of_fleet(const ReadingColumns& readings, const ColdColumns& conditions,
                          const PositionColumns& positions, const LeakOptions& options);

}  // namespace wheelend
