// Laws of lives. Published fits are checked from Python (test_outside_lives.py); here closed forms and edges.
#include "wheelend/life_fit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;

namespace {

using Numbers = std::vector<double>;
constexpr double infinity = std::numeric_limits<double>::infinity();

TEST(LifeFit, ExponentialMeanIsWhatWasRunPerFailure) {
  // Run 10 + 20 + 30 + 40 = 100, two failed (Meeker, Escobar 1998, section 7.6.2); error mean /
  // sqrt(failures)
  const LifeFit f = fit_life(LifeLaw::exponential, Numbers{10, 20, 30, 40},
                             Numbers{10, infinity, 30, infinity}, Numbers(4, 1.0));
  ASSERT_TRUE(f.settled);
  EXPECT_TRUE(near(std::exp(f.location), 50.0, {.relative = 1e-10}));
  EXPECT_TRUE(near(f.location_variance, 0.5, {.relative = 1e-8}));
  EXPECT_EQ(f.failures, 2.0);
}

TEST(LifeFit, LognormalOfExactLivesIsMeanAndSpreadOfLogs) {
  const Numbers lives{1.0, std::exp(1.0), std::exp(2.0)};
  const LifeFit f = fit_life(LifeLaw::lognormal, lives, lives, Numbers(3, 1.0));
  EXPECT_TRUE(near(f.location, 1.0, {.relative = 1e-9}));
  EXPECT_TRUE(near(f.spread, std::sqrt(2.0 / 3.0), {.relative = 1e-9}));
  EXPECT_TRUE(near(life_quantile(f, 0.5).life, std::exp(1.0), {.relative = 1e-9}));
}

TEST(LifeFit, TwoInspectionsGiveTheSharesExactly) {
  // Two parameters and three classes: 20 by 100, 50 by 200, 30 later; the fitted law has these shares.
  for (const LifeLaw law : {LifeLaw::weibull, LifeLaw::lognormal}) {
    const LifeFit f = fit_life(law, Numbers{0, 100, 200}, Numbers{100, 200, infinity}, Numbers{20, 50, 30});
    ASSERT_TRUE(f.settled);
    EXPECT_TRUE(near(life_quantile(f, 0.2).life, 100.0, {.relative = 1e-7}));
    EXPECT_TRUE(near(life_quantile(f, 0.7).life, 200.0, {.relative = 1e-7}));
    EXPECT_TRUE(near(f.log_likelihood, 20 * std::log(0.2) + 50 * std::log(0.5) + 30 * std::log(0.3),
                     {.relative = 1e-12}));
  }
}

TEST(LifeFit, LivesThatDoNotTellTheSpreadAreNotSettled) {
  EXPECT_FALSE(fit_life(LifeLaw::weibull, Numbers{5, 5}, Numbers{5, 5}, Numbers{1, 1}).settled);
  EXPECT_FALSE(fit_life(LifeLaw::lognormal, Numbers{4}, Numbers{5}, Numbers{9}).settled);
}

TEST(LifeFit, RefusesRowsThatAreNone) {
  EXPECT_THROW(fit_life(LifeLaw::weibull, Numbers{2}, Numbers{1}, Numbers{1}), ColumnError);
  EXPECT_THROW(fit_life(LifeLaw::weibull, Numbers{1}, Numbers{infinity}, Numbers{1}), ColumnError);
  EXPECT_THROW(fit_life(LifeLaw::weibull, Numbers{1}, Numbers{2}, Numbers{-1}), ColumnError);
}

}  // namespace
