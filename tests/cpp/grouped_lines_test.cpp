// Lines of many units fitted together. Published and certified fits are checked from Python
// (test_outside_grouped.py); here closed forms and edges.
#include "wheelend/grouped_lines.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;

namespace {

using Numbers = std::vector<double>;
using Units = std::vector<std::int64_t>;

// Three units of two readings: means 1, 4, 10, within each +-1. Analysis of variance: within mean square 2,
// between 2 * 21 = 42 (means' variance 21), so that the units' variance is (42 - 2) / 2 = 20.
const Units three{0, 0, 1, 1, 2, 2};
const Numbers six{0, 2, 3, 5, 9, 11};

TEST(GroupedLines, BalancedMeansAreTheAnalysisOfVariance) {
  const GroupedFit f = fit_grouped(three, 3, {}, six, {.differ = UnitsDiffer::level});
  ASSERT_TRUE(f.settled);
  EXPECT_TRUE(near(f.level, 5.0, {.relative = 1e-12}));
  EXPECT_TRUE(near(f.residual_sd * f.residual_sd, 2.0, {.relative = 1e-10}));
  EXPECT_TRUE(near(f.between.level, 20.0, {.relative = 1e-10}));
  EXPECT_TRUE(near(f.error.level, 42.0 / 6.0, {.relative = 1e-10}));
  // Shrunken by 2 / 42 of their distance to the mean; conditional variance 20 * 2 / 42.
  EXPECT_TRUE(near(f.units[2].level, 5.0 + 5.0 * 40.0 / 42.0, {.relative = 1e-10}));
  EXPECT_TRUE(near(f.units[2].conditional.level, 20.0 * 2.0 / 42.0, {.relative = 1e-10}));
}

TEST(GroupedLines, FullLikelihoodDividesByTheUnits) {
  // Balanced, maximum likelihood: between mean square with divisor 3 (Searle, Casella, McCulloch 1992, 3.7)
  const GroupedFit f = fit_grouped(three, 3, {}, six, {.differ = UnitsDiffer::level, .restricted = false});
  EXPECT_TRUE(near(f.residual_sd * f.residual_sd, 2.0, {.relative = 1e-10}));
  EXPECT_TRUE(near(f.between.level, (42.0 * 2.0 / 3.0 - 2.0) / 2.0, {.relative = 1e-10}));
}

TEST(GroupedLines, UnitWithOneReadingLeansOnTheOthers) {
  const Units unit{0, 0, 0, 1, 1, 1, 2, 2, 2, 3};
  const Numbers x{0, 10, 20, 0, 10, 20, 0, 10, 20, 10};
  const Numbers y{18.0, 16.9, 16.1, 17.5, 15.6, 13.4, 18.4, 17.2, 15.1, 14.0};
  const GroupedFit f = fit_grouped(unit, 4, x, y, {});
  ASSERT_TRUE(f.settled);
  EXPECT_EQ(f.units[3].readings, 1);
  EXPECT_GT(f.units[3].error.rate, 0.0);
  // Nothing of its own tells its rate but what a low level says of it: less sure than all others.
  for (int i = 0; i < 3; ++i) {
    EXPECT_GT(f.units[3].error.rate, f.units[static_cast<std::size_t>(i)].error.rate);
  }
}

TEST(GroupedLines, RefusesWhatLeavesNoError) {
  EXPECT_THROW(fit_grouped(Units{0, 1, 2}, 3, {}, Numbers{1, 2, 3}, {.differ = UnitsDiffer::level}),
               ColumnError);
  EXPECT_THROW(fit_grouped(Units{0, 0, 1, 1}, 2, {}, Numbers{1, 1, 2, 2}, {.differ = UnitsDiffer::level}),
               ColumnError);
  EXPECT_THROW(fit_grouped(three, 3, {}, six, {}), ColumnError);  // rates without x
  EXPECT_THROW(fit_grouped(three, 4, {}, six, {.differ = UnitsDiffer::level}), ColumnError);  // a unit unread
}

TEST(Shrink, IsTheEstimatorWithKLessThree) {
  // Mean 3, squares 10, k = 5: share (5 - 3) V / 10
  const Shrunken s = shrink(Numbers{1, 2, 3, 4, 5}, Numbers(5, 0.5));
  EXPECT_EQ(s.mean, 3.0);
  for (const double share : s.share) {
    EXPECT_TRUE(near(share, 0.1, {.relative = 1e-12}));
  }
  EXPECT_TRUE(near(s.value[0], 3.0 - 2.0 * 0.9, {.relative = 1e-12}));
  EXPECT_TRUE(near(s.between_sd, std::sqrt(10.0 / 4.0 - 0.5), {.relative = 1e-12}));
}

}  // namespace
