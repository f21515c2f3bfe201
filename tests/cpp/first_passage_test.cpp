// First passage of random wear. Tables in 50 digits are checked from Python (test_outside_passage.py); here
// closed forms and edges.
#include "wheelend/first_passage.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "near.hpp"
#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

using namespace wheelend;
using test::near;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

TEST(FirstPassage, WithoutDriftItIsTheReflectionPrinciple) {
  // P = 2 Phi(-D / (s sqrt x)) (Karlin, Taylor 1975, section 7.4)
  for (const double x : {0.01, 0.5, 4.0, 900.0}) {
    EXPECT_TRUE(near(passed_by(WienerPassage{0.0, 2.0, 3.0}, x), 2.0 * normal_cdf(-1.5 / std::sqrt(x)),
                     {.relative = 1e-12}));
  }
  EXPECT_EQ(passed_by(WienerPassage{0.0, 2.0, 3.0}, infinity), 1.0);
}

TEST(FirstPassage, GammaWearOfShapeOneIsExponential) {
  // At x = 1 / shape_rate wear is exponential: P(wear >= D) = exp(-D / scale)
  const GammaPassage m{.shape_rate = 0.25, .scale = 2.0, .distance = 50.0};
  EXPECT_TRUE(near(passed_by(m, 4.0), std::exp(-25.0), {.relative = 1e-12}));
  EXPECT_TRUE(near(not_passed_by(m, 4.0), 1.0 - std::exp(-25.0), {.relative = 1e-12}));
}

TEST(FirstPassage, FarTailsNeitherOverflowNorVanish) {
  // exp(2 drift D / volatility^2) alone would be exp(20000).
  const WienerPassage m{.drift = 1.0, .volatility = 0.1, .distance = 100.0};
  const double early = passed_by(m, 80.0), late = not_passed_by(m, 125.0);
  EXPECT_GT(early, 0.0);
  EXPECT_LT(early, 1e-100);
  EXPECT_GT(late, 0.0);
  EXPECT_LT(late, 1e-100);
  EXPECT_TRUE(std::isfinite(passage_quantile(m, 1e-300)));
}

TEST(FirstPassage, BeforeTheStartNothingHasPassed) {
  for (const FirstPassage& m :
       {FirstPassage(WienerPassage{1, 1, 1}), FirstPassage(GammaPassage{1, 1, 1}),
        FirstPassage(InverseGaussianPassage{1, 1, 1}), FirstPassage(LognormalRatePassage{0, 1, 1})}) {
    for (const double x : {-1.0, 0.0}) {
      EXPECT_EQ(passed_by(m, x), 0.0);
      EXPECT_EQ(not_passed_by(m, x), 1.0);
    }
    EXPECT_TRUE(std::isnan(passed_by(m, std::nan(""))));
    EXPECT_EQ(passed_by(m, infinity), 1.0);
    for (const double p : {1e-9, 0.2, 0.5, 0.8}) {
      EXPECT_TRUE(near(passed_by(m, passage_quantile(m, p)), p, {.relative = 1e-12}));
    }
  }
  // A level below its limit has passed at 0.
  EXPECT_EQ(passed_by(NormalPath{.above = -1.0, .rate = 1.0}, 0.0), 1.0);
  EXPECT_EQ(not_passed_by(NormalPath{.above = -1.0, .rate = 1.0}, 0.0), 0.0);
}

TEST(FirstPassage, ParametersOutsideTheirModelsAreRefused) {
  EXPECT_THROW(require_defined(WienerPassage{1.0, 0.0, 1.0}), ColumnError);
  EXPECT_THROW(require_defined(WienerPassage{1.0, 1.0, -1.0}), ColumnError);
  EXPECT_THROW(require_defined(NormalPath{1.0, 0.1, 1.0, 0.1, 0.02}), ColumnError);
  EXPECT_NO_THROW(require_defined(WienerPassage{-1.0, 1.0, 1.0}));
}

}  // namespace
