#include "wheelend/removals.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <vector>

namespace {

using namespace wheelend;

constexpr double none = std::numeric_limits<double>::quiet_NaN();

TEST(Removals, TheRecordMovesThePullAwayFromTheLimit) {
  std::vector<TireLook> looks;
  for (int i = 0; i < 400; ++i) {
    const double depth = 0.02 * i;  // above the limit: pulled below 3, left on above
    looks.push_back({.role = 0, .depth = depth, .days = 30.0, .removed = depth < 3.0, .mate_depth = none});
  }
  const RemovalHabits habits = learn_removals(looks, 2);
  EXPECT_NEAR(habits.pull[0], 3.0, 0.1);
  EXPECT_EQ(habits.pull[1], 0.0);  // nothing was seen of that role
  EXPECT_LT(habits.sd, 0.3);
  EXPECT_LT(habits.damages, 5.0);
}

TEST(Removals, DeepTiresThatWentWereLost) {
  std::vector<TireLook> looks;
  for (int i = 0; i < 1000; ++i) {
    looks.push_back({.role = 0, .depth = 10.0, .days = 36.525, .removed = i % 50 == 0, .mate_depth = none});
  }
  const RemovalHabits habits = learn_removals(looks, 1);
  // 20 of 1000 in a tenth of a year each: 0.2 a year, drawn a little to the 0.05 that is believed beforehand
  EXPECT_NEAR(habits.hazard * 365.25, 0.2, 0.05);
  EXPECT_NEAR(habits.damages, 20.0, 0.5);
}

TEST(Removals, NoLooksAreNoNews) {
  const RemovalHabits habits = learn_removals({}, 1);
  EXPECT_EQ(habits.pull[0], 0.0);
  EXPECT_NEAR(habits.with_mate, 0.3, 1e-9);
}

}  // namespace
