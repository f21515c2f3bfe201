// Clamp load, settling, hot drums and hub scores: rows B, V and J of the project's formulas.
#include "wheelend/wheel_end.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>

#include "near.hpp"

using namespace wheelend;
using test::near;

namespace {

constexpr double newton_metre_per_lbft = 1.3558179483314004, newton_per_lbf = 4.4482216152605;  // SP811

TEST(WheelEnd, ClampLoadByTorqueAndFriction) {
  const std::array<std::array<double, 3>, 3> rows{
      {{475.0, 0.110, 59826.4}, {475.0, 0.200, 32904.5}, {500.0, 0.330, 20991.7}}};  // B1, B4, B5
  for (const auto& [torque, k, lbf] : rows) {
    const double load = clamp_load(torque * newton_metre_per_lbft, k, 0.022) / newton_per_lbf;
    EXPECT_TRUE(near(load, lbf, {.relative = 3e-6}));  // six printed digits
  }
}

TEST(WheelEnd, StressAreaAndSettling) {
  EXPECT_TRUE(near(stress_area(22.0, 1.5), 333.06, {.relative = 2e-5}));                               // B7
  EXPECT_TRUE(near(settling_loss(10e-6, 333.06e-6, 0.035, 205e9, 4.0), 15606.0, {.relative = 1e-4}));  // B9
}

TEST(WheelEnd, AHotDrumCostsStroke) {
  const double growth = drum_growth(16.5, 6.0e-6, 400.0);
  EXPECT_TRUE(near(growth, 0.0396, {.relative = 1e-9}));                                // V7
  EXPECT_TRUE(near(stroke_of_hot_drum(growth, 5.5, 0.5), 0.2178, {.relative = 1e-9}));  // V7
}

TEST(WheelEnd, RobustScoresNameTheHotHub) {
  const std::array hubs{142.0, 145.0, 139.0, 171.0, 148.0, 144.0};
  const auto scores = robust_scores(hubs);
  EXPECT_TRUE(near(scores[3], 5.9581, {.relative = 1e-5}));   // J1
  EXPECT_TRUE(near(scores[2], -1.2366, {.relative = 5e-5}));  // J1
  const std::array few{1.0, std::numeric_limits<double>::quiet_NaN(), 2.0};
  EXPECT_TRUE(std::isnan(robust_scores(few)[0]));
}

}  // namespace
