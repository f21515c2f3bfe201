// Events that come again. Published data are checked from Python (test_outside_replacements.py).
#include "wheelend/recurrences.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;

namespace {

using Numbers = std::vector<double>;
using Items = std::vector<std::int64_t>;

TEST(MeanCumulative, OneEventOfTwoItems) {
  const auto found = mean_cumulative(Numbers{0, 0}, Numbers{9, 9}, Items{1}, Numbers{4}, Numbers{1});
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].at_risk, 2);
  EXPECT_EQ(found[0].mean, 0.5);
  // Residuals 1/4 and -1/4
  EXPECT_TRUE(near(found[0].se, std::sqrt(2.0) / 4.0, {.relative = 1e-15}));
}

TEST(MeanCumulative, ItemsThatAreNotWatchedDoNotCount) {
  // The second item comes at 5 and the first is gone by 8.
  const auto found =
      mean_cumulative(Numbers{0, 5}, Numbers{7, 9}, Items{0, 0, 1, 1}, Numbers{2, 6, 6, 8}, Numbers(4, 1.0));
  ASSERT_EQ(found.size(), 3U);
  EXPECT_EQ(found[0].mean, 1.0);
  EXPECT_EQ(found[1].mean, 2.0);
  EXPECT_EQ(found[2].mean, 3.0);
  EXPECT_EQ(found[2].se, 0.0);  // nobody differed from the mean of those watched
}

TEST(MeanCumulative, RefusesEventsNobodySaw) {
  EXPECT_THROW(mean_cumulative(Numbers{0}, Numbers{1}, Items{1}, Numbers{1}, Numbers{1}), ColumnError);
  EXPECT_THROW(mean_cumulative(Numbers{0}, Numbers{1}, Items{0}, Numbers{2}, Numbers{1}), ColumnError);
  EXPECT_THROW(mean_cumulative(Numbers{0}, Numbers{1}, Items{0}, Numbers{1}, Numbers{-1}), ColumnError);
  EXPECT_THROW(mean_cumulative(Numbers{1}, Numbers{1}, Items{}, Numbers{}, Numbers{}), ColumnError);
}

}  // namespace
