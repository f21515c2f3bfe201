// First passage of worn items: against closed forms where nothing is in doubt, and against simulated courses.
#include "wheelend/wear_ahead.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

#include "near.hpp"
#include "wheelend/line_fit.hpp"
#include "wheelend/wear.hpp"

using namespace wheelend;
using test::near;

namespace {

constexpr double full = 16.0, limit = 4.0;  // mm
constexpr double never = std::numeric_limits<double>::infinity();
constexpr std::size_t middle = 3;  // of the quantile levels
constexpr WearSpreads steady{.severity = 0.0, .use_drift = 0.0};

// One channel; exposure in km, rate in mm per km.
struct Item {
  double depth = 10.0, rate = 1e-4, strength = 1e-9, shoulder = 0.0, one_sided = 0.0, severity = 0.0;
  std::vector<double> offsets = {0.0};
  [[nodiscard]] ItemState state() const {
    ItemState s{.mean = {depth, std::log(rate), std::log(strength), shoulder, one_sided, severity}};
    for (std::size_t g = 0; g < offsets.size(); ++g) {
      s.mean.push_back(offsets[g]);
      s.channels.push_back(g);
      s.side.push_back(1.0);
      s.outside.push_back(shoulder > 0.0 ? 1.0 : 0.0);
    }
    s.covariance.assign(s.mean.size() * s.mean.size(), 0.0);
    return s;
  }
};
void set_covariance(ItemState& s, std::size_t a, std::size_t b, double value) {
  s.covariance[a * s.mean.size() + b] = s.covariance[b * s.mean.size() + a] = value;
}
Passage sure(const Item& item, double km_per_day) {
  return passage(item.state(), full, limit, Ahead(km_per_day, steady, 0.0, 0.0, 0.0), 0.0);
}
double median_days(const Item& item, double distance) {  // of use that meets `distance` on the grid itself
  const double day = Ahead::days()[34];
  return sure(item, distance / day).days[middle] / day * distance;
}

// Share of simulated courses that are over at a time or a distance.
double share(const std::vector<double>& over, double at) {
  const auto n = std::count_if(over.begin(), over.end(), [at](double t) { return t <= at; });
  return static_cast<double>(n) / static_cast<double>(over.size());
}

}  // namespace

// With nothing in doubt the median is the closed form, where that lies on the grid of times (the doubt that
// the kernel never goes below is 3e-5 of the distance).
TEST(WearAhead, SurePassageIsTheClosedForm) {
  constexpr test::Tolerance same{.relative = 1e-5};
  EXPECT_TRUE(near(median_days({}, 60'000.0), 60'000.0, same));  // 6 mm at 0.1 mm per 1000 km
  // strength 1: 24 ln((10 + 16) / (4 + 16)) mm of wear
  const double curved = 24.0 * std::log(1.3) / 1e-4;
  EXPECT_TRUE(near(median_days({.strength = 1.0}, curved), curved, same));
  // 0.7 deeper from the mould: 6.7 mm; a tenth more wear on this side, of which 0.6 mm is lost: 5.4 / 1.1
  EXPECT_TRUE(near(median_days({.offsets = {0.7}}, 67'000.0), 67'000.0, same));
  const double tilted = 5.4 / 1.1 / 1e-4;
  EXPECT_TRUE(near(median_days({.one_sided = 0.1}, tilted), tilted, same));
  // shoulder 0.2: 16 - w - 0.2 w^2 / 16 = 4 for w worn, of which 6 are
  const double shoulder = ((-1.0 + std::sqrt(1.0 + 4.0 * 0.0125 * 12.0)) / 0.025 - 6.0) / 1e-4;
  EXPECT_TRUE(near(median_days({.shoulder = 0.2}, shoulder), shoulder, same));
  // the shallowest of three counts
  EXPECT_TRUE(near(median_days({.offsets = {0.7, -1.0, 0.2}}, 50'000.0), 50'000.0, same));
}

TEST(WearAhead, SurePassageBetweenTimesOfTheGrid) {
  for (const double km_per_day : {50.0, 117.0, 300.0, 911.0}) {
    const Passage p = sure({}, km_per_day);
    const auto& grid = Ahead::days();
    const auto after = std::upper_bound(grid.begin(), grid.end(), 60'000.0 / km_per_day);
    for (const double day : p.days) {  // no nearer than the grid's own step
      EXPECT_GE(day, *(after - 1));
      EXPECT_LE(day, *after);
    }
  }
}

TEST(WearAhead, DepthAndRateNow) {
  // strength 1 at 10 mm: (1 + 10 / 16) / 1.5; one-sided wear adds a tenth and lies 0.6 mm lower
  const Passage p = sure({.strength = 1.0, .one_sided = 0.1}, 200.0);
  EXPECT_TRUE(near(p.depth, 9.4, {.absolute = 1e-5}));
  EXPECT_TRUE(near(p.rate, 1e-4 * 1.625 / 1.5 * 1.1, {.relative = 1e-5}));
  EXPECT_TRUE(near(p.rate_per_day, 200.0 * p.rate, {.relative = 1e-14}));
  ItemState s = Item{}.state();
  set_covariance(s, state_rate, state_rate, 0.04);
  const Passage q = passage(s, full, limit, Ahead(200.0, steady, 0.0, 0.0, 0.0), 0.0);
  // lognormal: sd is sqrt(exp(0.04) - 1) of the mean; 64 points know it to a fiftieth
  EXPECT_TRUE(near(q.rate_sd / q.rate, std::sqrt(std::expm1(0.04)), {.relative = 0.02}));
}

TEST(WearAhead, AtOrBelowTheLimitAlready) {
  for (const double depth : {4.0 - 1e-3, 3.0, 0.0}) {
    const Passage p = sure({.depth = depth}, 200.0);
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      EXPECT_EQ(p.days[q], 0.0);
      EXPECT_EQ(p.distance[q], 0.0);
    }
  }
  // Half a chance that it is there: the lower quantiles are 0, the upper are not.
  ItemState s = Item{.depth = limit}.state();
  set_covariance(s, state_depth, state_depth, 0.25);
  const Passage p = passage(s, full, limit, Ahead(200.0, steady, 0.0, 0.0, 0.0), 0.0);
  EXPECT_EQ(p.days[middle - 1], 0.0);
  // 0.5 mm above the middle times the 0.9 quantile of a normal law, to a point of 64 either side
  EXPECT_GT(p.days[5] * 200.0 * 1e-4, 0.5 * 1.282 - 0.15);
  EXPECT_LT(p.days[5] * 200.0 * 1e-4, 0.5 * 1.282 + 0.15);
}

TEST(WearAhead, BeyondTenYearsIsNever) {
  for (const double day : sure({}, 60'000.0 / 3700.0).days) {  // ten years are 3652 days
    EXPECT_EQ(day, never);
  }
  EXPECT_LT(sure({}, 60'000.0 / 3600.0).days[0], never);
  EXPECT_EQ(sure({.rate = 1e-12}, 200.0).distance[0], never);
}

TEST(WearAhead, QuantilesRiseAndWidenWithDoubt) {
  double last = 0.0;
  for (const double doubt : {0.05, 0.2, 0.4}) {
    ItemState s = Item{.offsets = {0.1, 0.0, -0.1}}.state();
    set_covariance(s, state_rate, state_rate, doubt * doubt);
    const Passage p = passage(s, full, limit, Ahead(200.0, steady, 0.0, 0.0, 0.0), 0.0);
    for (std::size_t q = 1; q < quantile_levels.size(); ++q) {
      EXPECT_GE(p.days[q], p.days[q - 1]);
      EXPECT_GE(p.distance[q], p.distance[q - 1]);
    }
    EXPECT_GT(p.days[6] - p.days[0], last);
    last = p.days[6] - p.days[0];
  }
}

// ---- simulated courses

// Severity as an Ornstein-Uhlenbeck path in steps of two days, depth and rate drawn together: the day on
// which the wear is what was needed. 20 000 courses know a share to 0.0035 (one standard error). The kernel
// has 64 points and a grid of times: its quantiles may be off by three of 64.
TEST(WearAhead, QuantilesAreThoseOfSimulatedCourses) {
  ItemState s = Item{.severity = 0.25}.state();
  set_covariance(s, state_depth, state_depth, 0.16);
  set_covariance(s, state_rate, state_rate, 0.03);
  set_covariance(s, state_depth, state_rate, 0.6 * 0.4 * std::sqrt(0.03));
  set_covariance(s, state_severity, state_severity, 0.01);
  const WearSpreads spreads{.severity = 0.2, .severity_days = 120.0};
  constexpr double use = 180.0, step = 2.0;
  const Passage p = passage(s, full, limit, Ahead(use, spreads, 0.0, 0.0, 0.0), 0.0);
  std::mt19937_64 bits(41);
  std::normal_distribution<double> normal;
  const double keep = std::exp(-step / 120.0), fresh = 0.2 * std::sqrt(1.0 - keep * keep);
  std::vector<double> over;
  for (int course = 0; course < 20'000; ++course) {
    const double z = normal(bits), depth = 10.0 + 0.4 * z;
    const double rate = 1e-4 * std::exp(std::sqrt(0.03) * (0.6 * z + 0.8 * normal(bits)));
    double severity = 0.25 + 0.1 * normal(bits), left = depth - limit, day = 0.0;
    while (left > 0.0) {
      const double next = keep * severity + fresh * normal(bits);
      const double lost = rate * use * step * (std::exp(severity) + std::exp(next)) / 2.0;
      day += step * std::min(1.0, left / lost);
      left -= lost, severity = next;
    }
    over.push_back(day);
  }
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    EXPECT_NEAR(share(over, p.days[q]), quantile_levels[q], 3.0 / 64.0) << p.days[q];
    EXPECT_NEAR(share(over, p.distance[q] / use), quantile_levels[q], 3.0 / 64.0) << p.distance[q];
  }
}

// Severity of one spread: the mean of a lognormal path over a time is the mean of its exponentials, so half
// of the variance that the mean of logarithms averages out comes on top. Correlations are added up.
TEST(WearAhead, WhatScattersWearsMoreThanItsMiddle) {
  const WearSpreads spreads{.severity = 0.3, .severity_days = 120.0};
  const Ahead ahead(100.0, spreads, 0.0, 0.0, 0.0);
  constexpr std::size_t t = 34;
  const double day = Ahead::days()[t];
  double of_mean = 0.0, kept = 0.0;
  for (int a = 0; a < 1000; ++a) {
    kept += std::exp(-day * (a + 0.5) / 1000.0 / 120.0) / 1000.0;
    for (int b = 0; b < 1000; ++b) {
      of_mean += 0.09 * std::exp(-day * std::abs(a - b) / 1000.0 / 120.0) / 1e6;
    }
  }
  EXPECT_TRUE(
      near(ahead.log_distance(t) - std::log(100.0 * day), (0.09 - of_mean) / 2.0, {.absolute = 1e-6}));
  EXPECT_TRUE(near(ahead.severity_kept(t), kept, {.absolute = 1e-5}));
  EXPECT_TRUE(near(ahead.severity_variance(t), of_mean - 0.09 * kept * kept, {.absolute = 1e-6}));
}

// The same with the use in doubt: a unit by its odometer, of which nothing but its group is known.
TEST(WearAhead, UseInDoubtAndTheGapSinceTheRecord) {
  const UseModel model{
      .log_km_per_day = {std::log(200.0)}, .between_units = 0.09, .drift = 0.02, .scatter = 0.05};
  const UseForecast use(model, {});
  const Ahead ahead(use, 40.0, steady, 0.0, 0.0, 0.0);
  for (std::size_t t = 0; t < Ahead::days().size(); t += 5) {
    const double day = Ahead::days()[t];
    EXPECT_TRUE(
        near(ahead.log_distance(t), use.between(40.0, 40.0 + day).mean + std::log(day), {.absolute = 1e-12}));
    EXPECT_EQ(ahead.variance(t), use.between(40.0, 40.0 + day).variance);
  }
  EXPECT_TRUE(
      near(ahead.km_per_day(), std::exp(use.between(40.0, 40.0 + 365.25 / 4.0).mean), {.relative = 1e-12}));
  EXPECT_EQ(ahead.gap_variance(), use.between(0.0, 40.0).variance);
  EXPECT_EQ(Ahead(use, 0.0, steady, 0.0, 0.0, 0.0).gap_variance(), 0.0);
  // A use constant in time, known to 0.3 of its logarithm: days are lognormal about 6 mm / (0.1 mm per 1000
  // km).
  const UseModel level{.log_km_per_day = {std::log(200.0)}, .between_units = 0.09};
  const UseForecast constant(level, {});
  const Passage p = passage(Item{}.state(), full, limit, Ahead(constant, 0.0, steady, 0.0, 0.0, 0.0), 0.0);
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    const double share_of_units = normal_cdf((std::log(p.days[q]) - std::log(300.0)) / 0.3);
    EXPECT_NEAR(share_of_units, quantile_levels[q], 0.02) << q;  // straight between times of the grid
  }
  // 10 000 km since the record, known to sqrt(gap variance) of themselves: 1 mm times that in depth
  const Ahead later(constant, 50.0, steady, 0.0, 0.0, 0.0);
  const Passage fresh = passage(Item{}.state(), full, limit, later, 0.0);
  const Passage stale = passage(Item{}.state(), full, limit, later, 10'000.0);
  EXPECT_GT(stale.distance[6] - stale.distance[0], fresh.distance[6] - fresh.distance[0]);
  EXPECT_TRUE(near(stale.days[middle], fresh.days[middle], {.relative = 0.02}));
}

// A season of +-20 % in the wear: one with a period of a year leaves whole years alone, and moves what is due
// in its strong half forward. 6 mm at 400 km a day and 0.1 mm per 1000 km are 150 days.
TEST(WearAhead, SeasonMovesTheDay) {
  const auto log_distance = [](double now, std::size_t t) {
    return Ahead(400.0, steady, now, 0.2, 0.0).log_distance(t) - std::log(400.0 * Ahead::days()[t]);
  };
  for (const std::size_t t : {std::size_t{0}, std::size_t{20}, std::size_t{30}, std::size_t{40}}) {
    for (const double now : {0.0, 100.0, 20'000.0}) {
      double mean = 0.0;  // by adding up
      for (int k = 0; k < 20'000; ++k) {
        const double day = now + Ahead::days()[t] * (k + 0.5) / 20'000.0;
        mean += 0.2 * std::cos(2.0 * std::numbers::pi * day / 365.25) / 20'000.0;
      }
      EXPECT_TRUE(near(log_distance(now, t), mean, {.absolute = 1e-6})) << t << ' ' << now;
    }
  }
  ItemState s = Item{}.state();
  set_covariance(s, state_rate, state_rate, 0.04);
  const auto days = [&s](double now) {
    return passage(s, full, limit, Ahead(400.0, steady, now, 0.2, 0.0), 0.0).days[middle];
  };
  EXPECT_LT(days(-75.0), days(-75.0 + 365.25 / 2.0) - 20.0);  // strong half about day 0
}

// Shows a defect: with the same distance every day, distances to the limit are the days times that distance,
// but only the days know of the season. To be enabled when that is mended.
TEST(WearAhead, DISABLED_DistanceKnowsTheSeason) {
  ItemState s = Item{}.state();
  set_covariance(s, state_rate, state_rate, 0.04);
  const Passage p = passage(s, full, limit, Ahead(400.0, steady, -75.0, 0.2, 0.0), 0.0);
  EXPECT_TRUE(near(p.distance[middle], 400.0 * p.days[middle], {.relative = 0.02}));
}

// Shows a defect: a distribution narrower than the grid's step of 0.17 in the logarithm is spread over it.
// Sure of everything but 1 % of the rate, 60 000 km lie between times of the grid: the median is off by up to
// a twelfth. To be enabled when that is mended.
TEST(WearAhead, DISABLED_NarrowDoubtBetweenTimesOfTheGrid) {
  const auto& grid = Ahead::days();
  for (const double place : {0.1, 0.3, 0.7, 0.9}) {
    const double day = grid[34] * std::pow(grid[35] / grid[34], place);
    ItemState s = Item{}.state();
    set_covariance(s, state_rate, state_rate, 1e-4);
    const Passage p = passage(s, full, limit, Ahead(60'000.0 / day, steady, 0.0, 0.0, 0.0), 0.0);
    EXPECT_TRUE(near(p.days[middle], day, {.relative = 0.005})) << place;
    EXPECT_LT(std::log(p.days[6] / p.days[0]), 2.0 * 1.645 * 0.01 * 1.5);
  }
}
