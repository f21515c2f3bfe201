// The engine of slow approach to a limit: one series typed, many series leaning on their groups.
#include "wheelend/degradation.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;
using test::printed_to;
using test::roundings;
using test::Tolerance;

namespace {

using Worn = wheelend::Run;  // inside a TEST, Run is a function of GoogleTest

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

// y = level at x = 0 less rate x, at n places one `step` apart.
Worn straight(std::size_t n, double level, double rate, double step = 10.0, std::int32_t group = 0) {
  Worn run{.x = {}, .y = {}, .group = group};
  for (std::size_t i = 0; i < n; ++i) {
    const double x = step * static_cast<double>(i);
    run.x.push_back(x);
    run.y.push_back(level - rate * x);
  }
  return run;
}

Settled settled(const Worn& run, GroupPrior prior, double floor = 0.2) {
  return settle(std::vector{run}, std::vector{prior}, {.reading_sd_floor = floor})[0];
}

// Numbers that are the same everywhere: Knuth's 64-bit congruential generator (The Art of Computer
// Programming 2, section 3.3.4, MMIX) and the method of Box and Muller (1958).
class Chance {
 public:
  explicit Chance(std::uint64_t seed) : state_(seed) {}
  double uniform() {  // in (0, 1)
    state_ = state_ * 6364136223846793005U + 1442695040888963407U;
    return (static_cast<double>(state_ >> 11) + 0.5) / 9007199254740992.0;
  }
  double normal() {
    const double radius = std::sqrt(-2.0 * std::log(uniform()));
    return radius * std::cos(2.0 * std::numbers::pi * uniform());
  }
  std::size_t below(std::size_t n) { return static_cast<std::size_t>(uniform() * static_cast<double>(n)); }

 private:
  std::uint64_t state_;
};

// A fleet of worn tires: rates differ, readings scatter.
struct Fleet {
  std::vector<Worn> runs;
  std::vector<double> rates;
};
struct FleetFacts {
  double rate = 0.1, spread = 0.02, sd = 0.25;
  std::size_t least = 1, most = 6;
};
Fleet simulated(Chance& chance, std::size_t tires, FleetFacts f = {}) {
  Fleet fleet;
  for (std::size_t i = 0; i < tires; ++i) {
    const double rate = f.rate + f.spread * chance.normal();
    Worn run;
    const std::size_t n = f.least + chance.below(f.most - f.least + 1);
    for (std::size_t k = 0; k < n; ++k) {
      const double x = 60.0 * (static_cast<double>(k) + chance.uniform()) / static_cast<double>(n);
      run.x.push_back(x);
      run.y.push_back(14.0 - rate * x + f.sd * chance.normal());
    }
    fleet.runs.push_back(run);
    fleet.rates.push_back(rate);
  }
  return fleet;
}

}  // namespace

// ---- one series, typed

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

// ---- many series

// A group of which no run has spoken: its own spread, and the doubt about its rate, which the prior knows as
// half a run would: 0.03^2 (1 + 1/0.5) = 0.0027.
TEST(Degradation, OneReadingIsAnsweredByItsGroup) {
  const Settled s = settled({.x = {40.0}, .y = {9.0}}, {.rate = 0.08, .spread = 0.03});
  EXPECT_EQ(s.readings, 1);
  EXPECT_TRUE(s.from_group);
  EXPECT_TRUE(near(s.level, 9.0, roundings(8)));
  EXPECT_TRUE(near(s.level_se, 0.2, roundings(8)));
  EXPECT_TRUE(near(s.rate, 0.08, roundings(8)));
  EXPECT_TRUE(near(s.rate_se, std::sqrt(0.0027), {.relative = 1e-14}));
  EXPECT_TRUE(near(s.covariance, 0.0, {.absolute = 1e-15}));
}

// By hand: two readings say 0.1 with variance 2 (0.2/10)^2 = 0.0008, the group 0.08 with 0.0027. Together
// (27 0.1 + 8 0.08) / 35 = 3.34/35, variance 0.0008 0.0027 / 0.0035 = 0.00216/3.5.
// The level at the last reading is the mean of 9 and 10 - 10 rate, with variance 0.02 + 25 var and covariance
// -5 var.
TEST(Degradation, TwoReadingsAndTheGroupShareTheWord) {
  const Settled s = settled({.x = {0.0, 10.0}, .y = {10.0, 9.0}}, {.rate = 0.08, .spread = 0.03});
  const double variance = 0.00216 / 3.5;
  EXPECT_TRUE(s.from_group);
  EXPECT_TRUE(near(s.rate, 3.34 / 35.0, {.relative = 1e-12}));
  EXPECT_TRUE(near(s.rate_se, std::sqrt(variance), {.relative = 1e-12}));
  EXPECT_TRUE(near(s.level, (19.0 - 33.4 / 35.0) / 2.0, {.relative = 1e-12}));
  EXPECT_TRUE(near(s.level_se, std::sqrt(0.02 + 25.0 * variance), {.relative = 1e-12}));
  EXPECT_TRUE(near(s.covariance, -5.0 * variance, {.relative = 1e-12}));
}

TEST(Degradation, ManyExactReadingsGiveTheirOwnLine) {
  const Worn run = straight(50, 14.0, 0.1);
  const Settled s = settled(run, {.rate = 0.05, .spread = 0.02});
  // The group may pull by no more than (sd/spread)^2 / Sxx of the distance to it; Sxx = step^2 n (n^2 - 1)
  // / 12.
  const double sxx = 100.0 * 50.0 * (2500.0 - 1.0) / 12.0;
  const double most = 100.0 / sxx * 0.05;
  EXPECT_FALSE(s.from_group);
  EXPECT_TRUE(near(s.rate, 0.1, {.absolute = most}));
  EXPECT_TRUE(
      near(s.level, run.y.back(), {.absolute = most * 245.0}));  // the middle lies 245 from the last reading
  EXPECT_TRUE(near(s.rate_se, 0.2 / std::sqrt(sxx), {.relative = 1e-4}));  // pull / Sxx = 1e-4
}

TEST(Degradation, ExposuresInAnyOrder) {
  const Worn run = straight(6, 14.0, 0.1);
  Worn backward{.x = {run.x.rbegin(), run.x.rend()}, .y = {run.y.rbegin(), run.y.rend()}};
  const Settled a = settled(run, {.rate = 0.09, .spread = 0.02}),
                b = settled(backward, {.rate = 0.09, .spread = 0.02});
  EXPECT_TRUE(near(b.level, a.level, {.relative = 1e-13}));  // sums in another order
  EXPECT_TRUE(near(b.rate, a.rate, {.relative = 1e-13}));
}

TEST(Degradation, MisreadIsWeightedDown) {
  Worn run = straight(12, 14.0, 0.1);
  run.y[9] -= 8.0;  // 4 read for 12: a digit lost
  const double least_squares = -fit_line(run.x, run.y).slope;
  const Settled s = settled(run, {.rate = 0.1, .spread = 0.05});
  ASSERT_GT(std::abs(least_squares - 0.1), 0.015);
  EXPECT_LT(std::abs(s.rate - 0.1), 0.2 * std::abs(least_squares - 0.1));
  EXPECT_LT(std::abs(s.level - straight(12, 14.0, 0.1).y.back()), 0.5);
}

TEST(Degradation, OneMisreadTireDoesNotSpoilItsGroup) {
  std::vector<Worn> runs;
  for (int i = 0; i < 9; ++i) {
    runs.push_back(straight(8, 14.0, 0.1));
  }
  runs[0].y[7] -= 10.0;
  runs.push_back({.x = {0.0}, .y = {12.0}});
  const auto s =
      settle(runs, std::vector<GroupPrior>{{.rate = 0.1, .spread = 0.03}}, {.reading_sd_floor = 0.2});
  EXPECT_TRUE(near(s.back().rate, 0.1, {.relative = 1e-9}));  // the median of the group and its prior are 0.1
}

// Five long runs of known rates: the group is their median joined with the prior as half a run more.
TEST(Degradation, GroupIsTheMedianAndThePrior) {
  std::vector<Worn> runs;
  for (const double rate : {0.08, 0.09, 0.10, 0.12, 0.2}) {
    runs.push_back(straight(60, 30.0, rate));
  }
  runs.push_back({.x = {0.0}, .y = {12.0}});
  const auto s =
      settle(runs, std::vector<GroupPrior>{{.rate = 0.06, .spread = 0.03}}, {.reading_sd_floor = 0.1});
  EXPECT_TRUE(near(s.back().rate, (5.0 * 0.10 + 0.5 * 0.06) / 5.5, {.relative = 1e-9}));
}

// A single run shows no spread between runs, so it must not make the group look narrower.
TEST(Degradation, OneRunSaysNothingOfTheSpread) {
  const std::vector<Worn> runs{straight(60, 30.0, 0.1), {.x = {0.0}, .y = {12.0}}};
  const auto s =
      settle(runs, std::vector<GroupPrior>{{.rate = 0.1, .spread = 0.03}}, {.reading_sd_floor = 0.1});
  EXPECT_GE(s[1].rate_se, 0.03 * (1.0 - 1e-12));
}

TEST(Degradation, GroupsKeepToThemselves) {
  const std::vector<GroupPrior> priors{{.rate = 0.1, .spread = 0.02}, {.rate = 0.4, .spread = 0.08}};
  std::vector<Worn> runs{{.x = {0.0}, .y = {10.0}, .group = 0}, {.x = {0.0}, .y = {10.0}, .group = 1}};
  for (int i = 0; i < 20; ++i) {
    runs.push_back(straight(10, 40.0, 0.35, 10.0, 1));
  }
  const auto s = settle(runs, priors, {.reading_sd_floor = 0.2});
  EXPECT_TRUE(near(s[0].rate, 0.1, roundings(8)));
  EXPECT_TRUE(near(s[1].rate, (20.0 * 0.35 + 0.5 * 0.4) / 20.5, {.relative = 1e-9}));
}

TEST(Degradation, OrderOfRunsDoesNotMatter) {
  Chance chance(7);
  const std::vector<Worn> runs = simulated(chance, 60).runs;
  const std::vector<GroupPrior> prior{{.rate = 0.12, .spread = 0.04}};
  const auto expected = settle(runs, prior, {.reading_sd_floor = 0.2});
  std::vector<std::size_t> order(runs.size());
  for (std::size_t i = 0; i < order.size(); ++i) {
    order[i] = i;
  }
  for (int round = 0; round < 10; ++round) {
    for (std::size_t i = order.size(); i > 1; --i) {
      std::swap(order[i - 1], order[chance.below(i)]);
    }
    std::vector<Worn> mixed;
    for (const std::size_t i : order) {
      mixed.push_back(runs[i]);
    }
    const auto s = settle(mixed, prior, {.reading_sd_floor = 0.2});
    for (std::size_t i = 0; i < order.size(); ++i) {
      const Settled &a = s[i], &b = expected[order[i]];
      EXPECT_EQ(a.level, b.level);
      EXPECT_EQ(a.level_se, b.level_se);
      EXPECT_EQ(a.rate, b.rate);
      EXPECT_EQ(a.rate_se, b.rate_se);
      EXPECT_EQ(a.covariance, b.covariance);
    }
  }
}

TEST(Degradation, MoreReadingsSmallerErrors) {
  double rate_se = 1.0, level_se = 1.0;
  for (const std::size_t n : {2U, 3U, 5U, 9U, 17U}) {  // over the same span, each twice as dense
    const Settled s =
        settled(straight(n, 14.0, 0.1, 160.0 / static_cast<double>(n - 1)), {.rate = 0.1, .spread = 0.05});
    EXPECT_LE(s.rate_se, rate_se * (1.0 + 1e-12));  // a third reading in the middle adds nothing to the slope
    EXPECT_LT(s.level_se, level_se);
    rate_se = s.rate_se;
    level_se = s.level_se;
  }
  EXPECT_LT(rate_se, settled(straight(2, 14.0, 0.1, 160.0), {.rate = 0.1, .spread = 0.05}).rate_se);
}

TEST(Degradation, RunWithoutReadingsHasNoAnswer) {
  EXPECT_EQ(settled({}, {.rate = 0.1, .spread = 0.05}).readings, 0);
  EXPECT_TRUE(settle({}, {}, {.reading_sd_floor = 0.2}).empty());
}

TEST(Degradation, ReadingsAtOneExposureAreAveraged) {
  const Settled s =
      settled({.x = {5.0, 5.0, 5.0, 5.0}, .y = {9.9, 10.1, 9.9, 10.1}}, {.rate = 0.1, .spread = 0.05});
  EXPECT_TRUE(near(s.level, 10.0, {.relative = 1e-12}));
  EXPECT_TRUE(near(s.level_se, 0.1, {.relative = 1e-12}));  // 0.2 / sqrt(4)
  EXPECT_TRUE(near(s.rate, 0.1, {.relative = 1e-12}));
}

TEST(Degradation, RefusesWhatHasNoAnswer) {
  const std::vector<GroupPrior> prior{{.rate = 0.1, .spread = 0.05}};
  const std::vector<Worn> run{straight(4, 10.0, 0.1)};
  EXPECT_THROW(settle(run, prior, {.reading_sd_floor = 0.0}),
               ColumnError);  // exact readings and no floor: 0/0
  EXPECT_THROW(settle(run, std::vector<GroupPrior>{{.rate = 0.1, .spread = 0.0}}, {.reading_sd_floor = 0.2}),
               ColumnError);
  EXPECT_THROW(settle(run, {}, {.reading_sd_floor = 0.2}), ColumnError);
  EXPECT_THROW(settle(std::vector<Worn>{{.x = {1.0, 2.0}, .y = {1.0}}}, prior, {.reading_sd_floor = 0.2}),
               ColumnError);
}

// Fleets whose truth is known, with a prior that is off by a fifth: of the intervals that claim 90 %, between
// 85 and 95 % must hold the truth. 8000 tires count the share to 0.4 % (one standard error), so the band is
// that of the model's own shortcuts, not of chance.
TEST(Degradation, NinetyPercentIntervalsOfTheRateHold) {
  Chance chance(20260301);
  const double z = normal_quantile(0.95);
  int inside = 0, all = 0, inside_few = 0, few = 0;
  for (int fleet = 0; fleet < 200; ++fleet) {
    const Fleet f = simulated(chance, 40);
    const auto s = settle(f.runs, std::vector<GroupPrior>{{.rate = 0.12, .spread = 0.35 * 0.12}},
                          {.reading_sd_floor = 0.229});
    for (std::size_t i = 0; i < s.size(); ++i) {
      const bool holds = std::abs(s[i].rate - f.rates[i]) <= z * s[i].rate_se;
      inside += holds ? 1 : 0;
      ++all;
      inside_few += holds && s[i].from_group ? 1 : 0;
      few += s[i].from_group ? 1 : 0;
    }
  }
  EXPECT_GE(inside, 0.85 * all);
  EXPECT_LE(inside, 0.95 * all);
  EXPECT_GE(inside_few, 0.85 * few);  // tires seen once or twice are not sold short
}
