// How far units will run: monthly use as a level, a slow drift and what scatters from month to month,
// learned from the whole fleet and projected for each unit with its doubt.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace wheelend {

// Use of one unit in blocks of equal length, the last one ending at the end of the record; oldest first.
struct UseBlocks {
  std::vector<double> end_day = {};     // of each block, days since 1970
  std::vector<double> km_per_day = {};  // NaN: not known
  std::int32_t group = 0;
};

// What the fleet's units have in common. Variances are those of the logarithm of use.
struct UseModel {
  double block_days = 30.0;
  std::vector<double> log_km_per_day = {};  // by group: of the middle unit
  double between_units = 0.0;
  double drift = 0.0;  // of the slow part, which forgets itself over drift_days
                       // (Ornstein-Uhlenbeck)
  double drift_days = 180.0;
  double scatter = 0.0;  // of single blocks
  double season_cos = 0.0,
         season_sin = 0.0;  // 0 unless a year and more was seen
};

// Learned by moments that can be added up: the variogram of log use over lags up to two years (Cressie 1993,
// 2.4), the spread of units' means, the season by least squares on units seen over a year and more. `prior`
// is what counts before any unit speaks; it weighs as `prior_units` units.
UseModel learn_use(std::span<const UseBlocks> units, const UseModel& prior, double prior_units);

// Distance from the end of the record on: log of the mean use over the next `days` is normal.
struct UseAhead {
  double mean = 0.0;  // of the log of km per day
  double variance = 0.0;
};

// One unit's projection: conditioning of the joint normal law on its blocks (simple kriging, Cressie 1993,
// 3.2).
class UseForecast {
 public:
  UseForecast(const UseModel& model, const UseBlocks& unit);
  // Over the days from `from` to `to`, both counted from the end of the record.
  [[nodiscard]] UseAhead between(double from, double to) const;

 private:
  [[nodiscard]] double season(double day) const;
  const UseModel& model_;
  double mean_ = 0.0;
  double end_ = 0.0;
  std::vector<double> before_;   // days from each block's middle to the end of the record
  std::vector<double> weight_;   // inverse covariance times deviation
  std::vector<double> inverse_;  // inverse covariance, row by row
};

}  // namespace wheelend
