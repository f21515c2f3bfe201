// The course of wear against its differential equation solved step by step, and against worked numbers.
#include "wheelend/wear_curve.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "near.hpp"

using namespace wheelend;
using test::near;
using test::roundings;

namespace {

constexpr double full = 16.0;  // mm, a drive tire of the order of 20/32 in

// d depth / d wear = -(1 + strength depth / full) / (1 + strength / 2), by fourth-order Runge-Kutta in
// small steps: the form that the header states, with no closed form in it.
double by_steps(double depth, double wear, double strength, int steps) {
  const auto fall = [strength](double y) { return -(1.0 + strength * y / full) / (1.0 + strength / 2.0); };
  const double h = wear / steps;
  for (int k = 0; k < steps; ++k) {
    const double a = fall(depth), b = fall(depth + h / 2.0 * a), c = fall(depth + h / 2.0 * b);
    depth += h / 6.0 * (a + 2.0 * b + 2.0 * c + fall(depth + h * c));
  }
  return depth;
}

}  // namespace

TEST(WearCurve, DepthFollowsItsDifferentialEquation) {
  for (const double strength : {0.01, 0.3, 1.0, 4.0}) {
    for (const double wear : {0.5, 6.0, 14.0}) {
      // 1000 steps of at most 0.014: the error of the method goes with the fourth power, 4e-8
      EXPECT_TRUE(near((WearCurve{full, strength}.depth_after(full, wear)),
                       by_steps(full, wear, strength, 1000), {.absolute = 1e-10}))
          << strength << ' ' << wear;
    }
  }
}

// Strength 1, from full to half: zero of the rate at -16 mm, so 24 ln(32 / 24) mm of wear.
TEST(WearCurve, HandWorkedHalfLife) {
  constexpr WearCurve curve{full, 1.0};
  EXPECT_TRUE(near(curve.wear_between(16.0, 8.0), 24.0 * std::log(4.0 / 3.0), roundings(4)));
  EXPECT_TRUE(near(curve.depth_after(16.0, 24.0 * std::log(4.0 / 3.0)), 8.0, roundings(8)));
}

TEST(WearCurve, WearBetweenUndoesDepthAfter) {
  for (const double strength : {0.0, 1e-3, 0.6, 3.0}) {
    const WearCurve curve{full, strength};
    for (const double from : {16.5, 12.0, 3.0}) {
      for (const double wear : {-2.0, 0.0, 1.0, 9.0}) {
        // zero of the rate at full / strength: adding it and taking it off costs its digits
        const double lost = full / std::max(strength, 1e-3) * 4e-16 * 8.0;
        EXPECT_TRUE(near(curve.wear_between(from, curve.depth_after(from, wear)), wear, {.absolute = lost}))
            << strength << ' ' << from;
      }
    }
    EXPECT_LT(curve.wear_between(4.0, 6.0), 0.0);  // to a deeper place
  }
}

TEST(WearCurve, StrengthZeroIsALine) {
  constexpr WearCurve line{full, 0.0};
  EXPECT_EQ(line.depth_after(16.0, 5.5), 10.5);
  EXPECT_EQ(line.wear_between(16.0, 10.5), 5.5);
  EXPECT_EQ(line.rate_at(1.0), 1.0);
  // and the curve comes to it without a jump where the formula changes
  for (const double strength : {0.9e-6, 1.1e-6}) {
    EXPECT_TRUE(near((WearCurve{full, strength}.depth_after(16.0, 10.0)), 6.0, {.absolute = 1e-4}));
  }
}

TEST(WearCurve, WearIsCountedAtHalfDepth) {
  for (const double strength : {0.0, 0.5, 2.0}) {
    const WearCurve curve{full, strength};
    EXPECT_EQ(curve.rate_at(8.0), 1.0);
    EXPECT_TRUE(near(curve.rate_at(16.0), curve.rate_at(0.0) * (1.0 + strength), roundings(4)));
    constexpr double h = 1e-4;
    for (const double depth : {15.0, 8.0, 2.0}) {  // central difference: error of h^2, and rounding / h
      const double slope = (curve.depth_after(depth, -h) - curve.depth_after(depth, h)) / (2.0 * h);
      EXPECT_TRUE(near(slope, curve.rate_at(depth), {.absolute = 1e-9}));
    }
  }
}

TEST(WearCurve, TwoStretchesAreOne) {
  constexpr WearCurve curve{full, 0.8};
  EXPECT_TRUE(near(curve.depth_after(curve.depth_after(16.0, 3.0), 4.0), curve.depth_after(16.0, 7.0),
                   roundings(16)));
}

// ---- channels

// 16 mm, 8 worn: offset 0.5, a twentieth more wear on this side, a tenth of the full depth at the shoulder
// over a whole life: 8 + 0.5 - 0.4 - 0.1 * 8 * 8 / 16.
TEST(WearChannel, HandWorkedDepth) {
  constexpr Channel channel{.offset = 0.5, .one_sided = 0.05, .shoulder = 0.1};
  EXPECT_TRUE(near(channel.depth(8.0, full), 7.7, roundings(8)));
  EXPECT_TRUE(near(channel.slope(8.0, full), 1.15, roundings(8)));
  EXPECT_EQ(channel.depth(full, full), 16.5);  // new: the mould alone
  EXPECT_TRUE(near(channel.depth(0.0, full), 0.5 - 0.8 - 1.6, roundings(16)));
}

TEST(WearChannel, CommonDepthUndoesDepth) {
  for (const double offset : {-0.6, 0.0, 0.7}) {
    for (const double one_sided : {-0.2, 0.0, 0.15}) {
      for (const double shoulder : {0.0, 0.05, 0.3}) {
        const Channel channel{.offset = offset, .one_sided = one_sided, .shoulder = shoulder};
        for (const double common : {16.0, 12.5, 7.0, 1.0, -1.0}) {
          EXPECT_TRUE(near(channel.common_at(channel.depth(common, full), full), common, {.absolute = 1e-12}))
              << offset << ' ' << one_sided << ' ' << shoulder << ' ' << common;
        }
      }
    }
  }
}

TEST(WearChannel, SlopeIsThatOfTheDepth) {
  constexpr double h = 1e-4;
  constexpr Channel channel{.offset = 0.2, .one_sided = -0.1, .shoulder = 0.2};
  for (const double common : {17.0, 15.0, 8.0, 1.0}) {  // central difference of a square: rounding alone
    const double slope = (channel.depth(common + h, full) - channel.depth(common - h, full)) / (2.0 * h);
    EXPECT_TRUE(near(slope, channel.slope(common, full), {.absolute = 1e-10})) << common;
  }
}
