#include "wheelend/loss_laws.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "near.hpp"

namespace {

using namespace wheelend;
using test::near;
using test::printed_to;

constexpr double psi = 6894.757293168;      // Pa, SP 811
constexpr double sea_level = 101325.0;      // Pa, ISO 2533
constexpr double days_per_month = 30.4375;  // 365.25 / 12, the convention of formulas 3

double area_of(double millimetres) { return std::numbers::pi / 4.0 * std::pow(millimetres / 1000.0, 2); }

// Formulas 3.2, K1 to K4: days from 100 to 80 psi, printed to 0.01 d.
TEST(LossLaws, GaugePressureDecaysByPermeation) {
  const auto days = [](double loss_per_month) {
    return time_to_fall(100.0 * psi, 80.0 * psi, loss_per_month * psi / days_per_month, sea_level,
                        LossLaw::gauge);
  };
  EXPECT_TRUE(near(days(1.0), 679.19, printed_to(2)));
  EXPECT_TRUE(near(days(2.0), 339.60, printed_to(2)));
  EXPECT_TRUE(near(days(3.0), 226.40, printed_to(2)));
  EXPECT_TRUE(near(days(5.0), 135.84, printed_to(2)));
}

// Formulas 3.4, H1 to H3: 0.12 m3, discharge 0.8, 293.15 K; time constants printed to 6 digits.
TEST(LossLaws, AVesselEmptiesThroughAHole) {
  EXPECT_TRUE(near(hole_time_constant(0.12, {.area = area_of(0.1)}), 96151.3, printed_to(1)));
  EXPECT_TRUE(near(hole_time_constant(0.12, {.area = area_of(0.5)}), 3846.05, printed_to(2)));
  EXPECT_TRUE(near(hole_time_constant(0.12, {.area = area_of(1.0)}), 961.513, printed_to(3)));
  const double tau = hole_time_constant(0.12, {.area = area_of(1.0)});
  const double loss = (100.0 * psi + sea_level) / tau;
  EXPECT_TRUE(near(time_to_fall(100.0 * psi, 80.0 * psi, loss, sea_level, LossLaw::absolute), 184.239,
                   printed_to(3)));
}

// Formulas 3.4, H4 and H5, and the gauge pressure of 13.12 psi above which the flow is choked.
TEST(LossLaws, FlowIsChokedNearlyAllTheWayDown) {
  const Hole hole{.area = area_of(1.0)};
  EXPECT_TRUE(near(1000.0 * hole_flow(100.0 * psi + sea_level, sea_level, hole), 1.17285, printed_to(5)));
  EXPECT_TRUE(near(1000.0 * hole_flow(5.0 * psi + sea_level, sea_level, hole), 0.17886, printed_to(5)));
  EXPECT_TRUE(near(choked_above(sea_level) / psi, 13.12, printed_to(2)));
}

TEST(LossLaws, NothingIsLostWithoutALoss) {
  EXPECT_EQ(time_to_fall(80.0, 80.0, 1.0, sea_level, LossLaw::gauge), 0.0);
  EXPECT_TRUE(std::isinf(time_to_fall(90.0, 80.0, 0.0, sea_level, LossLaw::absolute)));
}

}  // namespace
