// Leak-down brought to one starting pressure: rows Z5, Z6 of the project's formulas.
#include "wheelend/air_loss.hpp"

#include <gtest/gtest.h>

#include "near.hpp"

using namespace wheelend;
using test::near;

namespace {

TEST(AirLoss, TheSameHoleLosesInProportionToTheAbsolutePressure) {
  // 2 psi a minute at 120 psig is 1.7030 at 100 and 1.5546 at 90: four printed digits, over a tenth of a
  // minute, in which the loss does not yet decay.
  EXPECT_TRUE(near(loss_per_minute_at(120.0, 100.0, 100.0 - 0.17030, 0.1), 2.0, {.relative = 1e-3}));
  EXPECT_TRUE(near(loss_per_minute_at(120.0, 90.0, 90.0 - 0.15546, 0.1), 2.0, {.relative = 1e-3}));
}

TEST(AirLoss, TenMinutesAreNotTenTimesOne) {
  EXPECT_TRUE(near(loss_per_minute_at(120.0, 120.0, 101.414, 10.0), 2.0, {.relative = 5e-5}));  // five digits
}

TEST(AirLoss, WhatRoseIsNegativeAndNothingIsNothing) {
  EXPECT_LT(loss_per_minute_at(120.0, 100.0, 101.0, 1.0), 0.0);
  EXPECT_EQ(loss_per_minute_at(120.0, 100.0, 0.0), 0.0);
}

}  // namespace
