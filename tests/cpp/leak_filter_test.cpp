// The air in one tire: mixtures keep what they should, and without anything else to explain a reading the
// filter is a regression.
#include "leak_filter.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <random>

#include "leak_learning.hpp"
#include "near.hpp"

using namespace wheelend;
using test::near;

namespace {

const double target = std::log(790e3);

// Nothing happens to tires but loss.
AirModel plain_model() {
  AirModel m = prior_air_model();
  m.warm_tires = m.slips = m.fill_visit = m.fill_low = m.fill_else = m.swaps = m.drops = 0.0;
  return m;
}

AirFound read(AirState& tire, const AirModel& m, std::int32_t day, double level, double sd) {
  const double days = day - tire.known_day;
  predict(tire, day);
  const AirFound found = update(tire, m, level, sd * sd, interval_of(m, days), true);
  tire.known_day = day;
  return found;
}

TEST(AirParts, MergingKeepsMeanAndCovariance) {
  const AirPart a{0.3, 1.0, 0.2, 0.04, -0.001, 0.0009}, b{0.7, 1.4, 0.1, 0.01, 0.002, 0.0004};
  AirPart both = a;
  merge(both, b);
  const double u = 0.3 * 1.0 + 0.7 * 1.4, r = 0.3 * 0.2 + 0.7 * 0.1;
  EXPECT_TRUE(near(both.w, 1.0, {.relative = 1e-15}));
  EXPECT_TRUE(near(both.u, u, {.relative = 1e-14}));
  EXPECT_TRUE(near(both.b, r, {.relative = 1e-14}));
  // E[x y] - E[x] E[y] over the mixture
  EXPECT_TRUE(near(both.uu, 0.3 * (0.04 + 1.0) + 0.7 * (0.01 + 1.96) - u * u, {.relative = 1e-12}));
  EXPECT_TRUE(near(both.ub, 0.3 * (-0.001 + 0.2) + 0.7 * (0.002 + 0.14) - u * r, {.relative = 1e-12}));
  EXPECT_TRUE(near(both.bb, 0.3 * (0.0009 + 0.04) + 0.7 * (0.0004 + 0.01) - r * r, {.relative = 1e-12}));
}

TEST(AirParts, NoRoomIsNoLoss) {
  AirParts parts;
  double u = 0.0;
  for (int i = 0; i < 20; ++i) {  // far from one another, more than there is room for
    parts.add(2, {0.05, 10.0 * i, 0.0, 1.0, 0.0, 1.0});
    u += 0.05 * 10.0 * i;
  }
  EXPECT_EQ(parts.of(2).size(), leak_room);
  double weight = 0.0, mean = 0.0;
  parts.each([&](std::size_t of_class, const AirPart& p) {
    EXPECT_EQ(of_class, 2U);
    weight += p.w, mean += p.w * p.u;
  });
  EXPECT_TRUE(near(weight, 1.0, {.relative = 1e-12}));
  EXPECT_TRUE(near(mean, u, {.relative = 1e-12}));
}

// Generalized least squares of level on time with a normal prior, in closed form (any textbook): errors of
// reading, and a level that wanders. The tire stays near its target, so that the law of permeation is a
// straight line within half a percent.
TEST(AirFilter, ASoundTireIsARegression) {
  const AirModel m = plain_model();
  AirState tire;
  begin_tire(tire, m, target, 0.0, 0);
  const AirPart before = tire.parts.of(0).front();
  constexpr double sd = 0.004;
  constexpr int n = 11, every = 4;
  std::mt19937_64 chance(4);
  std::normal_distribution<double> normal;
  Eigen::VectorXd level(n);
  Eigen::MatrixXd x(n, 2), variance(n, n);
  for (int i = 0; i < n; ++i) {
    level[i] = target - 0.001 - 1.2 * m.loss * every * i + sd * normal(chance);
    read(tire, m, every * i, level[i], sd);
    x.row(i) << 1.0, -every * i;
    for (int j = 0; j < n; ++j) {
      variance(i, j) = air::wander * every * std::min(i, j) + (i == j ? sd * sd : 0.0);
    }
  }
  const Eigen::MatrixXd weighted = variance.inverse() * x;
  Eigen::Matrix2d information = x.transpose() * weighted;
  information(0, 0) += 1.0 / before.uu, information(1, 1) += 1.0 / before.bb;
  const Eigen::Vector2d moment =
      weighted.transpose() * level + Eigen::Vector2d(before.u / before.uu, before.b / before.bb);
  const Eigen::Matrix2d covariance = information.inverse();
  const double loss = (covariance * moment)[1], se = std::sqrt(covariance(1, 1));
  const AirPart sound = tire.sound();
  EXPECT_TRUE(near(sound.b, loss, {.relative = 0.01}));
  EXPECT_TRUE(near(std::sqrt(sound.bb), se, {.relative = 0.01}));
  EXPECT_GT(se, 0.1 * std::sqrt(before.bb));
  EXPECT_LT(tire.leak_share(), 0.1);
}

TEST(AirFilter, AFillingAtTheVisitBeforeIsTakenForOne) {
  AirModel m = plain_model();
  m.fill_visit = 0.25;
  AirState tire;
  begin_tire(tire, m, target, 0.0, 0);
  for (std::int32_t day = 0; day <= 112; day += 28) {
    read(tire, m, day, target - m.loss * day, 0.005);
  }
  AirState unfilled = tire;
  tire.low = true, tire.set = target, tire.set_variance = 0.01 * 0.01;
  const AirFound found = read(tire, m, 140, target - m.loss * 28, 0.005);
  EXPECT_GT(found.fill_visit, 0.99);
  EXPECT_EQ(tire.filled_day, 112);  // the day of the visit, not that of the reading
  // Where it was not read low nobody fills it, and the reading has no explanation: it says little.
  EXPECT_EQ(read(unfilled, m, 140, target - m.loss * 28, 0.005).fill_visit, 0.0);
}

// The chance that a leak began since the reading before is small where that was yesterday: it must not be
// thrown away for that.
TEST(AirFilter, ALeakIsFoundHoweverOftenTheTireIsRead) {
  const AirModel m = plain_model();
  for (const std::int32_t every : {1, 7, 28}) {
    AirState tire;
    begin_tire(tire, m, target, 0.0, 0);
    for (std::int32_t day = 0; day <= 196; day += every) {
      const double leak = day > 112 ? air::per_day(12.0) * (day - 112) : 0.0;
      read(tire, m, day, target - m.loss * day - leak, 0.01);
      if (day == 112) {
        EXPECT_LT(tire.leak_share(), 0.1) << every;
      }
    }
    EXPECT_GT(tire.leak_share(), 0.99) << every;
  }
}

TEST(AirFilter, ANumberThatIsTheSameRulesOutAnotherTire) {
  AirModel m = plain_model();
  m.swaps = 0.3 / 365.25;
  for (const bool same : {true, false}) {
    AirState tire;
    begin_tire(tire, m, target, 0.0, 0);
    for (std::int32_t day = 0; day <= 112; day += 28) {
      read(tire, m, day, target - 2.0 * m.loss * day, 0.005);
    }
    predict(tire, 140);
    const double swap = update(tire, m, target, 0.005 * 0.005, interval_of(m, 28.0), same).swap;
    if (same) {
      EXPECT_EQ(swap, 0.0);
    } else {
      EXPECT_GT(swap, 0.9);
    }
  }
}

TEST(AirLearning, ALossIsSeenWithoutThePriorOfItsTire) {
  const AirModel m = plain_model();
  AirState tire;
  begin_tire(tire, m, target, 0.0, 0);
  const double loss = 1.3 * m.loss;
  for (std::int32_t day = 0; day <= 60; day += 2) {
    read(tire, m, day, target - 0.015 - loss * day, 0.003);
  }
  LossSeen seen;
  ASSERT_TRUE(loss_seen(tire, seen));
  const AirPart sound = tire.sound();
  EXPECT_GT(seen.variance, sound.bb);
  EXPECT_GT(std::abs(seen.loss - m.loss), std::abs(sound.b - m.loss));  // the prior pulled it
  EXPECT_NEAR(seen.loss, loss, 0.03 * loss);
}

}  // namespace
