// Mates that drift apart.
#include "wheelend/mates.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "near.hpp"
#include "recent_drift.hpp"
#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

using namespace wheelend;
using test::near;

namespace {

// A dual pair that is read every 30 days: both go with the weather, the inner one loses besides.
struct Pair {
  std::vector<std::int32_t> position, day;
  std::vector<std::int64_t> microsecond;
  std::vector<double> pressure;
  std::vector<std::int32_t> unit{0, 0};
  std::vector<std::int8_t> side{0, 0}, dual{1, 2};

  explicit Pair(double lost_per_visit) {
    for (int k = 0; k < 6; ++k) {
      for (const std::int32_t p : {0, 1}) {
        position.push_back(p);
        day.push_back(20000 + 30 * k);
        microsecond.push_back(std::int64_t{86400000000} * day.back());
        pressure.push_back(100.0 + 5.0 * (k % 2) - p * lost_per_visit * k);
      }
    }
  }

  [[nodiscard]] MateTable table(double soon_days) const {
    ReadingColumns readings;
    readings.position = position;
    readings.day = day;
    readings.microsecond = microsecond;
    readings.pressure.values = pressure;
    readings.pressure.measure = Measure::psi;
    PositionColumns positions;
    positions.facts = {{1, 1, 2}, {1, 1, 2}};
    positions.unit = unit;
    positions.side = side;
    positions.dual = dual;
    return drifting_mates(readings, positions,
                          {{.kind = MateKind::dual,
                            .quantity = MateQuantity::pressure,
                            .bound = 5.0,
                            .step = 8.0,
                            .measure = Measure::psi,
                            .reading = 1.5,
                            .drift_per_month = 5.0,
                            .changes_per_year = 0.7}},
                          {.as_of = 20150, .soon_days = soon_days});
  }
};

TEST(Mates, TheWeatherIsNotInTheirDifference) {
  const MateTable t = Pair(0.5).table(400.0);
  ASSERT_EQ(t.position.size(), 1u);
  // Six readings without error lean on no drift by the prior: 1.5 psi a reading against 5 psi a month.
  constexpr double leans = 0.03;
  EXPECT_TRUE(near(t.drift[0], 0.5 / 30.0 * 30.4375, {.relative = leans}));
  EXPECT_TRUE(near(t.difference[0], 2.5, {.relative = leans}));
  EXPECT_TRUE(near(t.days[0], 150.0, {.relative = 2.0 * leans}));
  EXPECT_LT(t.drift_low[0], 0.5);
  EXPECT_GT(t.drift_high[0], 0.51);
  EXPECT_EQ(t.since_day[0], std::numeric_limits<std::int32_t>::min());
  EXPECT_EQ(static_cast<MateState>(t.state[0]), MateState::drifting);
}

TEST(Mates, FarFromTheBoundTheyAreSteady) {
  EXPECT_EQ(static_cast<MateState>(Pair(0.5).table(90.0).state[0]), MateState::steady);
  EXPECT_EQ(static_cast<MateState>(Pair(0.0).table(90.0).state[0]), MateState::steady);
  EXPECT_EQ(static_cast<MateState>(Pair(1.5).table(90.0).state[0]), MateState::apart);
}

// With neither changes, steps nor slips to speak of the drift is the slope of a linear regression with a
// prior of spread 1 (Gelman and others, Bayesian Data Analysis, 14.8: a prior counts as one more reading),
// for each spread of errors; these are weighed by their odds beforehand and by the evidence, in closed form.
TEST(Mates, WithoutChangesTheDriftIsThatOfARegression) {
  const std::vector<double> x{0.0, 1.0, 3.0}, y{0.0, 0.9, 1.8};
  std::vector<SeenDifference> seen;
  double xx = 0.0, xy = 0.0, yy = 0.0;
  for (std::size_t i = 0; i < 3; ++i) {
    seen.push_back({.day = x[i], .found = y[i], .left = y[i]});
    xx += (x[i] - 4.0 / 3.0) * (x[i] - 4.0 / 3.0);
    xy += (x[i] - 4.0 / 3.0) * (y[i] - 0.9);
    yy += (y[i] - 0.9) * (y[i] - 0.9);
  }
  const RecentDrift d = recent_drift(seen, 3.0, 0.95, {.reading = 1.0, .per_day = 1.0, .step = 1e6});
  const auto below = [&](double drift) {
    double sum = 0.0, total = 0.0;
    for (const double noise : {0.25, 0.5, 0.71, 1.0, 1.41, 2.0}) {
      const double v = noise * noise, odds = std::exp(-0.5 * std::pow(std::log(noise) / 0.5, 2.0));
      const double evidence =
          odds / v / std::sqrt(1.0 + xx / v) * std::exp(-0.5 * (yy - xy * xy / (xx + v)) / v);
      sum += evidence * normal_cdf((drift - xy / (xx + v)) / std::sqrt(v / (xx + v)));
      total += evidence;
    }
    return sum / total;
  };
  EXPECT_TRUE(near(below(d.drift), 0.5, {.absolute = 1e-4}));
  EXPECT_TRUE(near(below(d.low), 0.025, {.absolute = 1e-4}));
  EXPECT_TRUE(near(below(d.high), 0.975, {.absolute = 1e-4}));
  EXPECT_TRUE(std::isnan(d.since));
  EXPECT_THROW(recent_drift({seen[0], seen[1]}, 2.0, 0.95, {}), ColumnError);
}

// A step that nobody wrote down, and a slip: neither is drift.
TEST(Mates, StepsAndSlipsAreNoDrift) {
  const DriftPrior prior{.reading = 1.0, .per_day = 0.15, .changes_per_day = 0.7 / 365.25, .step = 8.0};
  for (const bool slip : {false, true}) {
    std::vector<SeenDifference> seen;
    for (int k = 0; k < 10; ++k) {
      const double found = 0.05 * 30.0 * k + (slip ? (k == 5 ? 12.0 : 0.0) : (k >= 5 ? -12.0 : 0.0));
      seen.push_back({.day = 30.0 * k, .found = found, .left = found});
    }
    const RecentDrift d = recent_drift(seen, 270.0, 0.95, prior);
    EXPECT_TRUE(near(d.drift, 0.05, {.absolute = 0.01})) << slip;
    EXPECT_TRUE(near(d.now, seen.back().found, {.absolute = 0.5})) << slip;
    EXPECT_EQ(d.stepped > 0.5, !slip);
  }
}

}  // namespace
