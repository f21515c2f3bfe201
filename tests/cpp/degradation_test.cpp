// The typed skin of a slow approach to a limit, for one series.
#include "wheelend/degradation.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;
using test::printed_to;
using test::roundings;
using test::Tolerance;

namespace {

template <class Value, class Exposure>
concept HasSeries = requires { typename Series<Value, Exposure>; };
template <class T, class Bound>
concept Crossable = requires(const T& t, Bound bound) { crossing(t, bound); };

// Reference section 9.3: 0, 15, 30, 45, 60 thousand miles; 18, 16, 15, 13, 12 /32 in; limit 4/32 in.
template <class Exposure, class Unit>
Series<TreadDepth, Exposure> five_readings(Unit unit, double step) {
  Series<TreadDepth, Exposure> s;
  for (const double depth : {18.0, 16.0, 15.0, 13.0, 12.0}) {
    s.at.push_back(Exposure(step * static_cast<double>(s.at.size()) * unit));
    s.level.push_back(TreadDepth(depth * thirty_seconds));
  }
  return s;
}

}  // namespace

TEST(Degradation, WrongPairsDoNotCompile) {
  static_assert(HasSeries<TreadDepth, Odometer> && HasSeries<TreadDepth, Date>);
  static_assert(HasSeries<GaugePressure, Date>);
  static_assert(!HasSeries<GaugePressure, Odometer>);  // a tire loses air by time, not by distance
  static_assert(!HasSeries<TreadDepth, Distance>);     // a place on the odometer, not a distance
  static_assert(!HasSeries<TreadDepth, Altitude>);
  static_assert(!HasSeries<Odometer, TreadDepth>);
  static_assert(!HasSeries<DepthChange, Date>);
  static_assert(Crossable<Trend<TreadDepth, Odometer>, TreadDepth>);
  static_assert(!Crossable<Trend<TreadDepth, Odometer>, LiningThickness>);
  static_assert(!Crossable<Trend<TreadDepth, Odometer>, double>);
}

TEST(Degradation, CrossingByDistance) {
  const auto t = trend(five_readings<Odometer>(miles, 15'000.0));
  const Crossing<Odometer> c = crossing(t, TreadDepth(4.0 * thirty_seconds), 0.95);
  EXPECT_EQ(c.status, ReachStatus::bounded);
  EXPECT_TRUE(near(c.at.in(miles), 138'000.0, {.relative = 1e-12}));
  EXPECT_TRUE(near(c.earliest.in(miles), 118'658.9, printed_to(1)));  // 118.6589 and 167.5222 thousand
  EXPECT_TRUE(near(c.latest.in(miles), 167'522.2, printed_to(1)));
}

TEST(Degradation,
     CrossingByDate) {  // the same numbers, a day for a thousand miles, from 2026-01-01 = day 20454
  auto series = five_readings<Date>(days, 15.0);
  for (Date& at : series.at) {
    at = at + Duration(20'454.0 * days);
  }
  const Crossing<Date> c = crossing(trend(series), TreadDepth(4.0 * thirty_seconds), 0.95);
  // Dates in seconds carry nine digits before the point: 1e-6 of a day is 5 digits above their last bit.
  EXPECT_TRUE(near(c.at.in(days), 20'454.0 + 138.0, {.absolute = 1e-6}));
  EXPECT_TRUE(near(c.earliest.in(days), 20'454.0 + 118.6589, printed_to(4)));
}

TEST(Degradation, LevelIsNinetyPercentUnlessSaid) {
  const auto t = trend(five_readings<Odometer>(miles, 15'000.0));
  const TreadDepth bound(4.0 * thirty_seconds);
  EXPECT_EQ(crossing(t, bound).earliest, crossing(t, bound, 0.9).earliest);
  EXPECT_LT(crossing(t, bound, 0.95).earliest, crossing(t, bound).earliest);
}

TEST(Degradation, TrendNeedsTwoExposures) {
  EXPECT_THROW(trend(Series<TreadDepth, Date>{}), ColumnError);
  const Series<TreadDepth, Date> once{{TreadDepth(1.0 * millimetres), TreadDepth(2.0 * millimetres)},
                                      {Date(), Date()}};
  EXPECT_THROW(trend(once), ColumnError);
}

TEST(Degradation, LevelThatDoesNotFallIsFlat) {
  const Series<GaugePressure, Date> steady{{GaugePressure(100.0 * psi), GaugePressure(100.0 * psi)},
                                           {Date(0.0 * days), Date(30.0 * days)}};
  EXPECT_EQ(crossing(trend(steady), GaugePressure(80.0 * psi)).status, ReachStatus::flat);
}
