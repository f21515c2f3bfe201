// When an uncertain level reaches its limit.
#include "wheelend/replacement.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "near.hpp"

using namespace wheelend;
using test::near;
using test::Tolerance;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

// Wear a + b t up to L, a ~ N(0.3, 0.4^2) mm, b ~ N(0.085, 0.02^2) mm per 1000 mi, correlation -0.3, L = 12.7
// mm. What is left above the limit is L - a, so its covariance with the rate has the other sign.
constexpr NormalPath worn{
    .above = 12.7 - 0.3, .above_se = 0.4, .rate = 0.085, .rate_se = 0.02, .covariance = 0.3 * 0.4 * 0.02};

constexpr NormalPath plain{
    .above = 5.0, .above_se = 0.3, .rate = 0.02, .rate_se = 0.004, .covariance = -0.0003};

TEST(Replacement, SeenFromFurtherOnIsTheSamePath) {
  const NormalPath path{.above = 8.0, .above_se = 0.5, .rate = 0.2, .rate_se = 0.05, .covariance = 0.01};
  const NormalPath later = seen_from(path, 10.0);
  for (const double x : {10.0, 25.0, 40.0, 80.0}) {
    EXPECT_TRUE(
        near(reached_by(later, x - 10.0), reached_by(path, x), {.relative = 1e-12}));  // a few roundings
  }
}

TEST(Replacement, ARateThatMayBeNoneNeedNotReachItsLimit) {
  // Rate known to 60 % of itself: 4.8 % of the normal law never gets there, so that its 0.96 quantile is
  // infinite, and its 0.95 quantile is not.
  const NormalPath path{.above = 8.0, .above_se = 0.0, .rate = 1.0, .rate_se = 0.6, .covariance = 0.0};
  EXPECT_TRUE(std::isinf(reach_quantile(path, 0.96, 1e9)));
  const double x = reach_quantile(path, 0.95, 1e9);
  ASSERT_TRUE(std::isfinite(x));
  // Counted by hand: reached by x means rate >= 8 / x, of which 95 % must be.
  EXPECT_TRUE(near(0.5 * std::erfc((8.0 / x - 1.0) / (0.6 * std::sqrt(2.0))), 0.95, {.absolute = 1e-9}));
}

}  // namespace

// Own closed forms in 50-digit arithmetic, tails included.
TEST(Replacement, ReachedByAgainstFiftyDigits) {
  struct Case {
    double t, probability;
  };
  constexpr Case cases[] = {{60, 9.257632675114252e-11}, {100, 0.02102547665762616},
                            {130, 0.2952803424856383},   {150, 0.547946546234388},
                            {170, 0.7326387300797252},   {200, 0.8809750536849859},
                            {300, 0.9868993424937768}};
  for (const Case& c : cases) {
    EXPECT_TRUE(near(reached_by(worn, c.t), c.probability, {.relative = 1e-10})) << c.t;
  }
}

TEST(Replacement, QuantileInvertsReachedBy) {
  for (const NormalPath& path : {worn, plain}) {
    for (const double p : {0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95}) {
      const double x = reach_quantile(path, p, 1e4);
      ASSERT_TRUE(std::isfinite(x));
      EXPECT_TRUE(near(reached_by(path, x), p, {.absolute = 1e-12}));  // slope of P times the last bit of x
    }
  }
}

TEST(Replacement, MedianIsWhereTheMeanPathReaches) {
  EXPECT_TRUE(near(reach_quantile(plain, 0.5, 1e4), 5.0 / 0.02, {.relative = 1e-12}));
}

TEST(Replacement, QuantilesRiseWithTheLevel) {
  for (const NormalPath& path :
       {worn, plain, NormalPath{.above = -0.1, .above_se = 0.2, .rate = 0.02, .rate_se = 0.01}}) {
    double before = 0.0;
    for (double p = 0.01; p < 0.995; p += 0.01) {
      const double x = reach_quantile(path, p, 1e6);
      EXPECT_GE(x, before);
      before = x;
    }
  }
}

TEST(Replacement, ReachedByRisesWithTheDistance) {
  double before = 0.0;
  for (double x = 0.0; x <= 600.0; x += 1.0) {
    const double p = reached_by(plain, x);
    EXPECT_GE(p, before);
    before = p;
  }
}

TEST(Replacement, ThereAlready) {
  const NormalPath below{.above = -1.0, .above_se = 0.3, .rate = 0.02, .rate_se = 0.004};
  for (const double p : {0.05, 0.5, 0.95}) {
    EXPECT_EQ(reach_quantile(below, p, 1e4), 0.0);
  }
  const NormalPath at{.above = 0.0, .above_se = 0.3, .rate = 0.02, .rate_se = 0.004};
  EXPECT_EQ(reach_quantile(at, 0.5, 1e4), 0.0);
  EXPECT_GT(reach_quantile(at, 0.75, 1e4), 0.0);
}

TEST(Replacement, NotWithinTheHorizon) {
  EXPECT_EQ(reach_quantile(plain, 0.5, 249.0), infinity);
  EXPECT_TRUE(std::isfinite(reach_quantile(plain, 0.5, 251.0)));
  // A rate that may be zero never reaches with certainty: Phi(rate/se) = Phi(1) = 0.84.
  const NormalPath slow{.above = 5.0, .above_se = 0.0, .rate = 0.02, .rate_se = 0.02};
  EXPECT_EQ(reach_quantile(slow, 0.9, 1e12), infinity);
  EXPECT_TRUE(std::isfinite(reach_quantile(slow, 0.8, 1e12)));
  EXPECT_EQ(reach_quantile({.above = 5.0, .above_se = 0.1, .rate = -0.02, .rate_se = 0.001}, 0.5, 1e4),
            infinity);
}

TEST(Replacement, WithoutUncertaintyAStep) {
  const NormalPath sure{.above = 5.0, .rate = 0.02};
  EXPECT_EQ(reached_by(sure, 249.0), 0.0);
  EXPECT_EQ(reached_by(sure, 251.0), 1.0);
  for (const double p : {0.05, 0.5, 0.95}) {
    EXPECT_TRUE(near(reach_quantile(sure, p, 1e4), 250.0, {.relative = 1e-12}));
  }
}

// A tire at its limit whose rate is poorly known: P rises for a while and then falls off towards
// Phi(rate/se), since a normal rate may be negative. What is reached once stays reached.
TEST(Replacement, QuantileIsFoundBeforeTheProbabilityTurns) {
  const NormalPath turning{
      .above = -0.2, .above_se = 0.2, .rate = 0.01, .rate_se = 0.01, .covariance = -0.0015};
  double most = 0.0, at = 0.0;
  for (double x = 0.0; x < 1000.0; x += 0.01) {
    if (reached_by(turning, x) > most) {
      most = reached_by(turning, x);
      at = x;
    }
  }
  ASSERT_GT(at, 0.0);
  ASSERT_GT(most, reached_by(turning, 1e5) + 0.01);
  const double p = most - 0.001;
  ASSERT_LT(reached_by(turning, 0.0), p);
  const double x = reach_quantile(turning, p, 1e5);
  EXPECT_LE(x, at);
  EXPECT_TRUE(near(reached_by(turning, x), p, {.absolute = 1e-12}));
}
