// First passage of worn items: against closed forms where nothing is in doubt, and against simulated courses.
#include "wheelend/wear_ahead.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "near.hpp"
#include "wheelend/line_fit.hpp"
#include "wheelend/wear.hpp"
#include "wheelend/wear_curve.hpp"

using namespace wheelend;
using test::near;

namespace {

constexpr double full = 16.0, limit = 4.0;  // mm
constexpr double never = std::numeric_limits<double>::infinity();
constexpr std::size_t middle = 3;  // of the quantile levels
constexpr WearSpreads steady{.severity = 0.0, .use_drift = 0.0, .turns_per_year = 0.0};

// A unit that runs the same every day.
UseModel constant_use(double km_per_day) { return {.log_km_per_day = {std::log(km_per_day)}}; }
Ahead constant(double km_per_day, const WearSpreads& spreads = steady, double now = 0.0, double cos = 0.0,
               double sin = 0.0) {
  const UseModel model = constant_use(km_per_day);
  return {UseForecast(model, {}), 0.0, spreads, now, cos, sin};
}

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
  return passage(item.state(), full, limit, constant(km_per_day), 0.0);
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
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      EXPECT_TRUE(
          near(p.days[q], 60'000.0 / km_per_day, {.relative = 1e-2}));  // variance of use at least 1e-6
      EXPECT_TRUE(near(p.distance[q], 60'000.0, {.relative = 1e-2}));
    }
    EXPECT_TRUE(near(p.days[middle], 60'000.0 / km_per_day, {.relative = 1e-5}));
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
  const Passage q = passage(s, full, limit, constant(200.0), 0.0);
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
  const Passage p = passage(s, full, limit, constant(200.0), 0.0);
  EXPECT_EQ(p.days[middle - 1], 0.0);
  // 0.5 mm above the middle times the 0.9 quantile of a normal law, to a point of 64 either side
  EXPECT_GT(p.days[5] * 200.0 * 1e-4, 0.5 * 1.282 - 0.15);
  EXPECT_LT(p.days[5] * 200.0 * 1e-4, 0.5 * 1.282 + 0.15);
}

// A last reading of 3 mm against a limit of 4 and a fit at 10 mm. What of the law is now is the odds that the
// reading is right; the rest is the law of the fit, so that a quantile at q is its quantile at (q - r) / (1 -
// r).
TEST(WearAhead, LastReadingBeyondTheLimitKeepsItsOdds) {
  ItemState s = Item{}.state();
  set_covariance(s, state_rate, state_rate, 0.04);
  const Ahead use = constant(200.0);
  const Passage fit = passage(s, full, limit, use, 0.0);
  EXPECT_FALSE(fit.read_beyond);
  s.last_read = 3.0, s.last_right = 0.375;  // 0.375 + 0.625 * 0.2 = 0.5; 0.375 + 0.625 * 0.84 = 0.9
  const Passage both = passage(s, full, limit, use, 0.0);
  EXPECT_TRUE(both.read_beyond);
  for (std::size_t q = 0; q < middle; ++q) {
    EXPECT_EQ(both.days[q], 0.0);
    EXPECT_EQ(both.distance[q], 0.0);
  }
  // Log-normal: 300 days times exp(0.2 z) at z(0.2) = -0.8416 and z(0.84) = 0.9945 (tables of the normal
  // law).
  EXPECT_TRUE(near(both.days[middle], 300.0 * std::exp(-0.2 * 0.8416), {.relative = 0.01}));
  EXPECT_TRUE(near(both.days[5], 300.0 * std::exp(0.2 * 0.9945), {.relative = 0.01}));
  EXPECT_EQ(both.depth, fit.depth);
  EXPECT_EQ(both.rate, fit.rate);
  // Of 64 cases 24 are there, and were 1 mm ago; the others are what they were.
  const WearCases cases = wear_cases_of(s, full, limit, use, 0.0);
  const WearCases before = wear_cases_of(Item{}.state(), full, limit, use, 0.0);
  std::size_t there = 0;
  for (std::size_t j = 0; j < wear_cases; ++j) {
    there += cases.exposure[j] < 0.0 ? 1U : 0U;
    EXPECT_TRUE(near(cases.exposure[j], cases.exposure[j] < 0.0 ? -1.0 / cases.rate[j] : before.exposure[j],
                     {.relative = 1e-9}));
  }
  EXPECT_EQ(there, 24U);
}

// However little speaks for it, the earliest day that is said is now; at the limit itself it is not beyond.
TEST(WearAhead, LastReadingBeyondTheLimitIsNowAtTheEarliest) {
  ItemState s = Item{}.state();
  s.last_read = 3.99, s.last_right = 1e-4;
  const Passage p = passage(s, full, limit, constant(200.0), 0.0);
  EXPECT_EQ(p.days[0], 0.0);
  EXPECT_GT(p.days[1], 200.0);
  s.last_read = limit, s.last_right = 0.5;
  EXPECT_GT(passage(s, full, limit, constant(200.0), 0.0).days[0], 200.0);
}

// In one of two states, each as likely: half of the law is of one, half of the other. 300 and 600 days; where
// one is there already, half of all is now.
TEST(WearAhead, OfSeveralStatesTheLawIsTheMixture) {
  const ItemState slow = Item{}.state(), fast = Item{.rate = 2e-4}.state(),
                  there = Item{.depth = 3.0}.state();
  const Ahead use = constant(200.0);
  const std::array<StateAndFull, 2> two{{{&slow, full}, {&fast, full}}};
  const Passage p = passage(two, limit, use, 0.0);
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    if (q != middle) {
      const double days = q < middle ? 150.0 : 300.0;
      EXPECT_TRUE(near(p.days[q], days, {.relative = 1e-2})) << q;
      EXPECT_TRUE(near(p.distance[q], 200.0 * days, {.relative = 1e-2})) << q;
    }
  }
  EXPECT_TRUE(near(p.depth, 10.0, {.relative = 1e-5}));
  EXPECT_TRUE(near(p.rate, 1.5e-4, {.relative = 1e-5}));
  EXPECT_TRUE(near(p.rate_sd, 0.5e-4, {.relative = 1e-3}));
  const std::array<StateAndFull, 2> one_there{{{&slow, full}, {&there, full}}};
  const Passage q = passage(one_there, limit, use, 0.0);
  EXPECT_EQ(q.days[middle], 0.0);
  EXPECT_TRUE(near(q.days[middle + 1], 300.0, {.relative = 1e-2}));
  const std::array<StateAndFull, 1> alone{{{&slow, full}}};
  EXPECT_EQ(passage(alone, limit, use, 0.0).days, passage(slow, full, limit, use, 0.0).days);
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
    const Passage p = passage(s, full, limit, constant(200.0), 0.0);
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
  const Passage p = passage(s, full, limit, constant(use, spreads), 0.0);
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
  const Ahead ahead = constant(100.0, spreads);
  constexpr std::size_t t = 34;
  const double day = Ahead::days()[t];
  double of_mean = 0.0, kept = 0.0;
  for (int a = 0; a < 1000; ++a) {
    kept += std::exp(-day * (a + 0.5) / 1000.0 / 120.0) / 1000.0;
    for (int b = 0; b < 1000; ++b) {
      of_mean += 0.09 * std::exp(-day * std::abs(a - b) / 1000.0 / 120.0) / 1e6;
    }
  }
  EXPECT_TRUE(near(ahead.at(t).exposure - std::log(100.0 * day), (0.09 - of_mean) / 2.0, {.absolute = 1e-6}));
  EXPECT_TRUE(near(ahead.at(t).kept, kept, {.absolute = 1e-5}));
  EXPECT_TRUE(near(ahead.at(t).severity_variance, of_mean - 0.09 * kept * kept, {.absolute = 1e-6}));
}

// The same with the use in doubt: a unit by its odometer, of which nothing but its group is known.
TEST(WearAhead, UseInDoubtAndTheGapSinceTheRecord) {
  const UseModel model{
      .log_km_per_day = {std::log(200.0)}, .between_units = 0.09, .drift = 0.02, .rest = 0.05};
  const UseForecast use(model, {});
  const Ahead ahead(use, 40.0, steady, 0.0, 0.0, 0.0);
  for (std::size_t t = 0; t < Ahead::days().size(); t += 5) {
    const double day = Ahead::days()[t];
    EXPECT_TRUE(
        near(ahead.at(t).exposure, use.between(40.0, 40.0 + day).mean + std::log(day), {.absolute = 1e-12}));
    EXPECT_EQ(ahead.at(t).variance, use.between(40.0, 40.0 + day).variance);
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
    return constant(400.0, steady, now, 0.2).at(t).exposure - std::log(400.0 * Ahead::days()[t]);
  };
  for (const std::size_t t : {std::size_t{0}, std::size_t{20}, std::size_t{30}, std::size_t{40}}) {
    for (const double now : {0.0, 100.0, 20'000.0}) {
      double mean = 0.0;  // by adding up
      for (int k = 0; k < 20'000; ++k) {
        const double day = now + Ahead::days()[t] * (k + 0.5) / 20'000.0;
        mean += std::exp(0.2 * std::cos(2.0 * std::numbers::pi * day / 365.25)) / 20'000.0;
      }
      // second order of 0.2; its cube over six is 1e-3, most of which averages out
      EXPECT_TRUE(near(log_distance(now, t), std::log(mean), {.absolute = 5e-4})) << t << ' ' << now;
    }
  }
  ItemState s = Item{}.state();
  set_covariance(s, state_rate, state_rate, 0.04);
  const auto days = [&s](double now) {
    return passage(s, full, limit, constant(400.0, steady, now, 0.2), 0.0).days[middle];
  };
  EXPECT_LT(days(-75.0), days(-75.0 + 365.25 / 2.0) - 20.0);  // strong half about day 0
}

// With the same distance every day, distances to the limit are the days times that distance: both know of the
// season.
TEST(WearAhead, DistanceKnowsTheSeason) {
  ItemState s = Item{}.state();
  set_covariance(s, state_rate, state_rate, 0.04);
  const Passage p = passage(s, full, limit, constant(400.0, steady, -75.0, 0.2), 0.0);
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    EXPECT_TRUE(near(p.distance[q], 400.0 * p.days[q], {.relative = 0.002}));  // a cubic through the grid
  }
}

// Sure of everything but 1 % of the rate, wherever 60 000 km lie between times of the grid: the days are
// log-normal, as distance over rate is.
TEST(WearAhead, NarrowDoubtBetweenTimesOfTheGrid) {
  const auto& grid = Ahead::days();
  for (const double place : {0.1, 0.3, 0.7, 0.9}) {
    const double day = grid[34] * std::pow(grid[35] / grid[34], place);
    ItemState s = Item{}.state();
    set_covariance(s, state_rate, state_rate, 1e-4);
    const Passage p = passage(s, full, limit, constant(60'000.0 / day), 0.0);
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      EXPECT_NEAR(normal_cdf(std::log(p.days[q] / day) / 0.01), quantile_levels[q], 0.005) << place;
    }
  }
}

// The closed form T = D / R where only the rate is in doubt, and that badly; with use known as badly the
// variances of the logarithms add up.
TEST(WearAhead, LognormalRateIsTheClosedForm) {
  const UseModel model{.log_km_per_day = {std::log(200.0)}, .between_units = 0.16};
  const Ahead doubtful(UseForecast(model, {}), 0.0, steady, 0.0, 0.0, 0.0);
  for (const double sd : {0.1, 0.6, 1.2}) {
    ItemState s = Item{}.state();
    set_covariance(s, state_rate, state_rate, sd * sd);
    const Passage known = passage(s, full, limit, constant(200.0), 0.0);
    const Passage unknown = passage(s, full, limit, doubtful, 0.0);
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      const double wide = std::sqrt(sd * sd + 0.16);
      // The search stops at 2 % of p (1 - p) and goes straight from there.
      EXPECT_NEAR(normal_cdf(std::log(known.days[q] / 300.0) / sd), quantile_levels[q], 0.002) << sd;
      EXPECT_NEAR(normal_cdf(std::log(known.distance[q] / 60'000.0) / sd), quantile_levels[q], 0.002) << sd;
      const double day = 300.0 * std::exp(wide * normal_quantile(quantile_levels[q]));
      if (day > 3652.5) {
        EXPECT_EQ(unknown.days[q], never);
      } else {
        EXPECT_NEAR(normal_cdf(std::log(unknown.days[q] / 300.0) / wide), quantile_levels[q], 0.002) << sd;
      }
    }
    EXPECT_TRUE(near(known.rate_sd / known.rate, std::sqrt(std::expm1(sd * sd)), {.relative = 1e-9}));
  }
}

// ---- against chance

// A state with all in doubt, drawn 100 000 times: each draw wears by the curve, groove by groove, and is over
// at a time when its shallowest groove is at or below the limit by then. What is run and how severe it is
// come from the same law at that time. A share is known to 0.0016; 64 points of the kernel and its search
// may be off by one of 64 at most.
struct Doubt {
  const char* name;
  double depth, depth_sd, rate, rate_sd, strength_sd, offset_sd;
};
class WearAheadByChance : public testing::TestWithParam<Doubt> {};

TEST_P(WearAheadByChance, QuantilesAreThoseOfDraws) {
  const Doubt& d = GetParam();
  constexpr Eigen::Index n = 9;
  ItemState s{.mean = {d.depth, std::log(d.rate), -0.5, 0.08, 0.02, 0.05, 0.1, -0.1, 0.05},
              .channels = {0, 1, 2},
              .side = {1.0, 0.0, -1.0},
              .outside = {1.0, 0.0, 1.0}};
  s.covariance.assign(n * n, 0.0);
  const std::vector<double> sd{d.depth_sd, d.rate_sd,   d.strength_sd, 0.2 * d.offset_sd, 0.2 * d.offset_sd,
                               0.06,       d.offset_sd, d.offset_sd,   d.offset_sd};
  for (std::size_t i = 0; i < sd.size(); ++i) {
    set_covariance(s, i, i, sd[i] * sd[i]);
  }
  const auto correlate = [&](std::size_t a, std::size_t b, double r) {
    set_covariance(s, a, b, r * sd[a] * sd[b]);
  };
  correlate(state_depth, state_rate, 0.3);
  correlate(state_rate, state_strength, -0.4);
  correlate(state_rate, state_severity, -0.3);
  for (std::size_t g = 0; g < 3; ++g) {
    correlate(state_depth, state_offsets + g, -0.2);
  }
  UseModel model{.log_km_per_day = {std::log(250.0)}, .between_units = 0.01, .drift = 0.015, .rest = 0.06};
  model.season_cos = 0.05;
  const UseForecast use(model, {.end_day = {20'000.0}, .days = {60.0}, .km_per_day = {260.0}});
  const Ahead ahead(use, 0.0, {.severity = 0.1, .severity_days = 120.0, .turns_per_year = 0.0}, 20'000.0,
                    0.05, 0.02);
  const Passage p = passage(s, full, limit, ahead, 0.0);

  const Eigen::MatrixXd root = Eigen::Map<const Eigen::MatrixXd>(s.covariance.data(), n, n).llt().matrixL();
  std::array<Ahead::At, 7> by_day{}, by_distance{};
  for (std::size_t q = 0; q < 7; ++q) {
    if (p.days[q] > 0.0 && p.days[q] < never) {
      by_day[q] = ahead.when(std::log(p.days[q]));
    }
    if (p.distance[q] > 0.0 && p.distance[q] < never) {
      double low = -7.0, high = std::log(3652.5);
      for (int k = 0; k < 60; ++k) {
        const double x = (low + high) / 2.0;
        (ahead.when(x).distance < std::log(p.distance[q]) ? low : high) = x;
      }
      by_distance[q] = ahead.when(low);
    }
  }
  std::mt19937_64 bits(2026);
  std::normal_distribution<double> normal;
  constexpr int draws = 100'000;
  int there = 0;
  std::array<int, 7> over{}, run{};
  std::vector<double> depths;
  for (int i = 0; i < draws; ++i) {
    Eigen::VectorXd x(n);
    for (Eigen::Index k = 0; k < n; ++k) {
      x[k] = normal(bits);
    }
    x = Eigen::Map<const Eigen::VectorXd>(s.mean.data(), n) + root * x;
    const double of_use = normal(bits), of_severity = normal(bits);
    const WearCurve curve{full, std::exp(x[state_strength])};
    const auto shallowest = [&](double wear) {
      const double common = curve.depth_after(x[state_depth], wear);
      double least = 1e9;
      for (std::size_t g = 0; g < 3; ++g) {
        const Channel groove{x[static_cast<Eigen::Index>(state_offsets + g)], s.side[g] * x[state_one_sided],
                             s.outside[g] * std::max(x[state_shoulder], 0.0)};
        least = std::min(least, groove.depth(common, full));
      }
      return least;
    };
    depths.push_back(shallowest(0.0));
    there += depths.back() <= limit ? 1 : 0;
    const auto is_over = [&](const Ahead::At& at, double use_sd) {
      const double log_exposure = at.exposure + at.kept * x[state_severity] + use_sd * of_use +
                                  std::sqrt(at.severity_variance) * of_severity;
      return shallowest(std::exp(x[state_rate] + log_exposure)) <= limit ? 1 : 0;
    };
    for (std::size_t q = 0; q < 7; ++q) {
      over[q] += p.days[q] < never ? is_over(by_day[q], std::sqrt(by_day[q].variance)) : 0;
      run[q] += p.distance[q] < never ? is_over(by_distance[q], 0.0) : 0;
    }
  }
  constexpr double off = 1.0 / 64.0 + 3.0 * 0.0016;
  const double now = static_cast<double>(there) / draws;
  for (std::size_t q = 0; q < 7; ++q) {
    if (p.days[q] == 0.0) {  // over already, at this level
      EXPECT_GT(now, quantile_levels[q] - off) << q;
      EXPECT_EQ(p.distance[q], 0.0);
    } else if (p.days[q] < never) {
      EXPECT_LT(now, quantile_levels[q] + off) << q;
      EXPECT_NEAR(static_cast<double>(over[q]) / draws, quantile_levels[q], off) << q;
      if (p.distance[q] < never) {
        EXPECT_NEAR(static_cast<double>(run[q]) / draws, quantile_levels[q], off) << q;
      }
    }
  }
  const auto shallower = std::count_if(depths.begin(), depths.end(), [&p](double x) { return x <= p.depth; });
  EXPECT_NEAR(static_cast<double>(shallower) / draws, 0.5,
              3.0 / 64.0);  // of 64 points, nothing smooths these
}

INSTANTIATE_TEST_SUITE_P(States, WearAheadByChance,
                         testing::Values(Doubt{"ordinary", 9.0, 0.2, 8e-5, 0.10, 0.3, 0.15},
                                         Doubt{"certain", 9.0, 0.02, 8e-5, 0.01, 0.02, 0.01},
                                         Doubt{"new", 15.5, 0.25, 8e-5, 0.35, 0.4, 0.30},
                                         Doubt{"rate known badly", 9.0, 0.2, 8e-5, 0.60, 0.3, 0.15},
                                         Doubt{"at the limit by a third", 5.15, 0.3, 8e-5, 0.12, 0.3, 0.20},
                                         Doubt{"grooves known badly", 12.0, 0.3, 8e-5, 0.15, 0.5, 0.60},
                                         Doubt{"soon", 5.5, 0.25, 8e-5, 0.10, 0.3, 0.15},
                                         Doubt{"beyond the horizon", 15.0, 0.2, 9e-6, 0.30, 0.3, 0.15}),
                         [](const auto& tested) {
                           std::string name = tested.param.name;
                           std::replace(name.begin(), name.end(), ' ', '_');
                           return name;
                         });

// ---- units by time

// Level, drift and rest of the use are seen in the wear alone. What the present severity tells of its mean to
// come, and what it leaves open, by covariances that are added up: severity and drift as they are now, rest
// as its mean over the last knot of 60 days.
TEST(WearAhead, UnitByTimeIsInDoubtOfItsUse) {
  const UseModel model{.log_km_per_day = {std::log(200.0)},
                       .between_units = 0.04,
                       .drift = 0.02,
                       .drift_days = 180.0,
                       .rest = 0.05,
                       .rest_days = 12.0,
                       .season_cos = 0.1};
  const WearSpreads spreads{.severity = 0.1,
                            .severity_days = 120.0,
                            .use_of_unit = 0.2,
                            .use_drift = std::sqrt(0.02 + model.rest_of_mean(60.0))};
  const Ahead ahead(model, 0, spreads, 20'000.0, 0.0, 0.0);
  EXPECT_TRUE(ahead.by_time());
  for (const std::size_t t : {std::size_t{20}, std::size_t{30}, std::size_t{38}}) {
    const double span = Ahead::days()[t];
    constexpr int fine = 1500;
    double of_mean = 0.0, with_now = 0.0, lift = 0.0, rest_seen = 0.0;
    for (int a = 0; a < fine; ++a) {
      const double lag = span * a / fine, pairs = (a == 0 ? 1.0 : 2.0) * (fine - a) / fine / fine;
      const double slow = 0.01 * std::exp(-lag / 120.0) + 0.02 * std::exp(-lag / 180.0);
      const double rest = 0.05 * std::exp(-lag / 12.0);
      of_mean += pairs * (slow + rest);
      lift += pairs * ((0.03 - slow) - rest) / 2.0;
      const double ahead_of_now = span * (a + 0.5) / fine;
      with_now += (0.01 * std::exp(-ahead_of_now / 120.0) + 0.02 * std::exp(-ahead_of_now / 180.0)) / fine;
      for (int b = 0; b < 300; ++b) {
        with_now += 0.05 * std::exp(-(ahead_of_now + 60.0 * (b + 0.5) / 300.0) / 12.0) / fine / 300.0;
      }
    }
    for (int b = 0; b < 3000; ++b) {
      rest_seen += (b == 0 ? 1.0 : 2.0) * (3000 - b) / 9e6 * 0.05 * std::exp(-60.0 * b / 3000.0 / 12.0);
    }
    const double now = 0.03 + rest_seen;
    EXPECT_TRUE(near(ahead.at(t).kept, with_now / now, {.relative = 2e-3})) << t;
    EXPECT_TRUE(near(ahead.at(t).severity_variance, of_mean - with_now * with_now / now, {.relative = 5e-3}));
    EXPECT_TRUE(near(ahead.at(t).exposure - std::log(model.middle_distance(0, 20'000.0, 20'000.0 + span)),
                     lift, {.absolute = 1e-4}));
  }
  // With the level in the rate and drift and rest in the severity, the days are those of a unit with an
  // odometer of which nothing but its group is known.
  const Ahead group(UseForecast(model, {}, 20'000.0), 0.0, {.severity = 0.1, .severity_days = 120.0},
                    20'000.0, 0.0, 0.0);
  ItemState by_time = Item{}.state(), by_odometer = Item{}.state();
  set_covariance(by_time, state_rate, state_rate, 0.01 + 0.04);
  set_covariance(by_time, state_severity, state_severity,
                 spreads.severity * spreads.severity + spreads.use_drift * spreads.use_drift);
  set_covariance(by_odometer, state_rate, state_rate, 0.01);
  set_covariance(by_odometer, state_severity, state_severity, 0.01);
  const Passage a = passage(by_time, full, limit, ahead, 0.0),
                b = passage(by_odometer, full, limit, group, 0.0);
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    EXPECT_TRUE(near(a.days[q], b.days[q], {.relative = 0.01})) << q;
    EXPECT_TRUE(std::isnan(a.distance[q]));
  }
}
