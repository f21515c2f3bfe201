// The one engine of slow approach to a limit: a level that falls (or rises) along an exposure.
//
// Here the typed skin for one series alone: trend() and crossing(), exact least squares with limits by
// inversion. A fleet's series are learned together in wear_fit.hpp, on plain doubles.
#pragma once

#include <vector>

#include "wheelend/line_fit.hpp"
#include "wheelend/quantities.hpp"

namespace wheelend {

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

}  // namespace wheelend
