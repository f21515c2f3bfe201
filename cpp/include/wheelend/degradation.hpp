// The one engine of slow approach to a limit: a level that falls (or rises) along an exposure.
//
// Part one, for one series alone: trend() and crossing(), typed, exact least squares with limits by
// inversion. Part two, for a fleet: settle(), which lets a series with few readings lean on its group. The
// kernels below work on plain doubles; the typed skin puts the units back on.
#pragma once

#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "wheelend/line_fit.hpp"
#include "wheelend/quantities.hpp"

namespace wheelend {

// ---- one series, typed

// The pairs of level and exposure that the engine serves.
template <class Value, class Exposure>
inline constexpr bool is_degradation = false;
template <>
inline constexpr bool is_degradation<TreadDepth, Odometer> = true;
template <>
inline constexpr bool is_degradation<TreadDepth, Date> = true;
template <>
inline constexpr bool is_degradation<GaugePressure, Date> = true;
template <>
inline constexpr bool is_degradation<LiningThickness, Odometer> = true;
template <>
inline constexpr bool is_degradation<LiningThickness, Date> = true;

// Readings of one run, in any order of exposure.
template <class Value, class Exposure>
  requires is_degradation<Value, Exposure>
struct Series {
  std::vector<Value> level;
  std::vector<Exposure> at;
};

template <class Value, class Exposure>
struct Trend {
  LineFit line;  // in SI
};

// Least-squares line of a run. Needs readings at two different exposures; throws ColumnError otherwise.
template <class Value, class Exposure>
Trend<Value, Exposure> trend(const Series<Value, Exposure>& series) {
  std::vector<double> x, y;
  for (const Exposure& e : series.at) {
    x.push_back(e.si());
  }
  for (const Value& v : series.level) {
    y.push_back(v.si());
  }
  return {fit_line(x, y)};
}

template <class Exposure>
struct Crossing {
  ReachStatus status;
  Exposure at, earliest, latest;
};

// Where the mean line of a run reaches the bound.
template <class Value, class Exposure>
Crossing<Exposure> crossing(const Trend<Value, Exposure>& trend, Value bound, double level = 0.9) {
  const Reach r = where_reaches(trend.line, bound.si(), level, true);
  return {r.status, Exposure::from_si(r.at), Exposure::from_si(r.low), Exposure::from_si(r.high)};
}

// ---- many series, leaning on their groups

// One run on plain doubles: levels y at exposures x, both counted in the caller's units.
struct Run {
  std::vector<double> x = {}, y = {};
  std::int32_t group = 0;
};

// What is believed of a group's fall per unit of exposure before its own readings speak.
struct GroupPrior {
  double rate = 0.0;    // positive: the level falls
  double spread = 0.0;  // standard deviation between runs
};

// A run after its readings and its group have both spoken; at the exposure of the last reading.
struct Settled {
  std::int64_t readings = 0;
  double level = 0.0, level_se = 0.0;
  double rate = 0.0, rate_se = 0.0;  // fall per unit of exposure
  double covariance = 0.0;           // of level and rate
  bool from_group = false;           // fewer than three readings: the group decides the rate
};

struct SettleOptions {
  // No series is taken to be read better than this (step of the gauge / sqrt 12). Must be given, above 0.
  double reading_sd_floor = 0.0;
  double prior_runs = 3.0;  // how many runs the prior's spread between runs is worth; above 0
  double prior_mean_runs =
      0.5;  // how many runs the prior's rate is worth: fleets differ more than their tires; above 0
};

// Model: y = level - rate (x - x_last) + error; rate ~ N(group rate, group spread^2). Group rate: median of
// the runs' robust slopes, joined with the prior as `prior_mean_runs` more runs. Spread between runs: what is
// left of their scatter (by the median absolute deviation) after each slope's own error, joined with the
// prior as `prior_runs` more; the group's spread adds the doubt about the group's rate, spread^2 / (runs +
// prior_mean_runs). Errors: one spread for a group, with Huber weights (k = 1.345, Huber 1981) from the run's
// own line, so that a misread is weighted down and never deleted. One Gaussian solution per run (2 x 2).
// Assumes a straight line within a run. Results do not depend on the order of the runs. Throws ColumnError
// for a run without a prior, a floor or a spread that is not above 0.
std::vector<Settled> settle(std::span<const Run> runs, std::span<const GroupPrior> priors,
                            const SettleOptions& options);

}  // namespace wheelend
