// How far units will run: use as a level, a slow drift, a season and standing still, learned from the whole
// fleet and projected for each unit with its doubt.
//
// Model of the distance a day at time t of unit u in group g, on plain doubles:
//   use = exp(level of g + level of u + drift(t) + season(t)) * (1 + rest(t))
// The unit's level is normal, drift a slow and rest a fast Ornstein-Uhlenbeck path. Rest is what comes and
// goes within weeks: idle spells, busy weeks. It is no part of the logarithm, since a unit that stands has
// none; only its second moments count, so any spell of standing will do.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace wheelend {

// Use of one unit between odometer readings; oldest first, none overlaps another.
struct UseBlocks {
  std::vector<double> end_day = {};     // of each block, days since 1970
  std::vector<double> days = {};        // its length
  std::vector<double> km_per_day = {};  // over it, at least 0
  std::int32_t group = 0;
};

// Blocks from one reading of the odometer to another, as short as readings allow but not below three weeks,
// so that nothing is interpolated. `day` and `km` rise together.
UseBlocks use_blocks(std::span<const double> day, std::span<const double> km, std::int32_t group);

// What the fleet's units have in common. Variances of logarithms, but that of rest, which is of the share.
struct UseModel {
  std::vector<double> log_km_per_day = {};  // by group: of the middle unit
  std::vector<double> level_variance = {};  // by group: how badly that is known. Empty: well
  double between_units = 0.0;
  double drift = 0.0, drift_days = 180.0;  // variance, and time over which it forgets itself
  double rest = 0.0, rest_days = 10.0;
  double season_cos = 0.0, season_sin = 0.0;  // 0 unless a year and a half was seen
  double season_doubt = 0.0;                  // variance of each of the two

  // Distance of the middle unit of a group from day to day, its drift and rest left out: adds up over spans.
  [[nodiscard]] double middle_distance(std::int32_t group, double from, double to) const;
  // Variance of the mean of rest over some days.
  [[nodiscard]] double rest_of_mean(double days) const;
};

// Learned by moments that can be added up over units: the variogram of use against a unit's mean over lags up
// to two years (Cressie 1993, 2.4), the spread of units' means, the season by least squares on units seen
// over a year and a half. `prior` is what counts before any unit speaks; it weighs as `prior_units` units.
UseModel learn_use(std::span<const UseBlocks> units, const UseModel& prior, double prior_units);

// Distance from the end of the record on: log of the mean use over some days is normal.
struct UseAhead {
  double mean = 0.0;  // of the log of km per day
  double variance = 0.0;
};

// One unit's projection: the joint normal law of level, drift and rest at the end of its record, by a Kalman
// filter over its blocks (exact for block means of Ornstein-Uhlenbeck paths, logarithms linearised about the
// unit's own mean of half a year).
class UseForecast {
 public:
  // `end`: where a unit without blocks is looked at from; with blocks that is the end of the last. The model
  // must outlive the forecast.
  UseForecast(const UseModel& model, const UseBlocks& unit, double end = 0.0);
  // Over the days from `from` to `to`, both counted from the end of the record.
  [[nodiscard]] UseAhead between(double from, double to) const;
  // Of level and drift so many days after the end of the record: variances and covariance.
  struct Doubt {
    double level = 0.0, level_with_drift = 0.0, drift = 0.0;
  };
  [[nodiscard]] Doubt doubt_after(double days) const;

 private:
  void filter(UseBlocks blocks);
  void wait(double days);

  const UseModel* model_;
  double end_ = 0.0;
  std::array<double, 3> mean_{};         // of the log level, drift and rest at the end
  std::array<double, 6> covariance_{};   // ll, ld, lr, dd, dr, rr
  std::array<double, 2> season_seen_{};  // mean cosine and sine over the record
  bool seen_ = false;
};

}  // namespace wheelend
