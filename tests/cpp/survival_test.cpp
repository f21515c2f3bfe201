// Curves of lives without a law. Published ones are checked from Python (test_outside_survival.py).
#include "wheelend/survival.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;

namespace {

using Numbers = std::vector<double>;
using Flags = std::vector<std::uint8_t>;

TEST(SurvivalCurve, CompleteLivesAreSharesWithBinomialErrors) {
  const Numbers life{1, 2, 3, 4}, entry(4, 0.0), count(4, 1.0);
  const Flags failed(4, 1);
  const auto found = survival_curve({life, entry, count, failed});
  ASSERT_EQ(found.size(), 4U);
  EXPECT_EQ(found[1].survival, 0.5);
  EXPECT_TRUE(near(found[1].se, std::sqrt(0.5 * 0.5 / 4.0), {.relative = 1e-14}));
  EXPECT_EQ(found[3].survival, 0.0);
  EXPECT_EQ(found[3].se, 0.0);
  // All dead by 4: the restricted mean is the mean
  EXPECT_TRUE(near(restricted_mean(found, 10.0).mean, 2.5, {.relative = 1e-14}));
}

TEST(SurvivalCurve, ALifeCountsFromItsEntry) {
  const Numbers life{2, 5}, entry{0, 3}, count(2, 1.0);
  const Flags failed(2, 1);
  const auto found = survival_curve({life, entry, count, failed});
  EXPECT_EQ(found[0].at_risk, 1.0);
  EXPECT_EQ(found[1].at_risk, 1.0);
}

TEST(LogRank, AlikeGroupsDoNotDiffer) {
  const Numbers life{1, 1, 2, 2}, entry(4, 0.0), count(4, 1.0);
  const Flags failed(4, 1);
  const std::vector<std::int64_t> group{0, 1, 0, 1};
  const LogRank found = log_rank({life, entry, count, failed}, group, 2);
  EXPECT_TRUE(near(found.chi_squared, 0.0, {.absolute = 1e-20}));
  EXPECT_TRUE(near(found.p, 1.0, {.relative = 1e-9}));
}

TEST(HazardFit, TwoGroupsWithoutTiesBothWays) {
  // Order of deaths: x = 1, 0. Partial likelihood e^b / (1 + e^b): no maximum.
  const Numbers life{1, 2}, entry(2, 0.0), count(2, 1.0);
  const Flags failed(2, 1);
  EXPECT_FALSE(fit_hazards({life, entry, count, failed}, Numbers{1, 0}, 1, Ties::efron).settled);
  // x = 1, 0, 1: likelihood e^b / (2 e^b + 1) / (e^b + 1), so that 2 e^(2 b) = 1
  const Numbers three{1, 2, 3}, zero(3, 0.0), one(3, 1.0);
  const Flags all(3, 1);
  for (const Ties ties : {Ties::breslow, Ties::efron}) {
    const HazardFit f = fit_hazards({three, zero, one, all}, Numbers{1, 0, 1}, 1, ties);
    ASSERT_TRUE(f.settled);
    EXPECT_TRUE(near(f.coefficients[0], -0.5 * std::log(2.0), {.relative = 1e-9}));
  }
}

TEST(Lives, RowsThatAreNoneAreRefused) {
  const Numbers one{1}, zero{0}, minus{-1};
  const Flags yes{1}, no{0};
  EXPECT_THROW(survival_curve({zero, zero, one, yes}), ColumnError);
  EXPECT_THROW(survival_curve({one, one, one, yes}), ColumnError);
  EXPECT_THROW(survival_curve({one, zero, minus, yes}), ColumnError);
  EXPECT_THROW(survival_curve({one, zero, one, no}), ColumnError);
}

}  // namespace
