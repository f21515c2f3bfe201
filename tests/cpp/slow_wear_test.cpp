// Slow quantities on the engine of wear: one setting falls, the same setting mirrored rises.
#include "wheelend/slow_wear.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "near.hpp"

using namespace wheelend;
using test::near;

namespace {

// What is typical beforehand is twice as fast as what the readings below show (0.01 a day), so that they
// speak.
SlowQuantity falling() {
  return {.quantity = 7,
          .measure = Measure::millimetre,
          .rises = false,
          .by_time = true,
          .end = 0.0,
          .fresh = 19.0,
          .fresh_spread = 1.0,
          .rate = 0.02,
          .reading = 0.3};
}

// The same seen from the other end of a scale of 100 mm.
SlowQuantity rising() {
  SlowQuantity q = falling();
  q.rises = true;
  q.end = 100.0;
  q.fresh = 81.0;
  return q;
}

struct Readings {
  std::vector<std::int32_t> position, axle, day, quantity;
  std::vector<std::int8_t> side, dual;
  std::vector<std::int64_t> microsecond;
  std::vector<double> value;
  std::vector<std::uint8_t> measure;
  std::vector<std::int32_t> unit{0};

  void add(int on, double read) {
    position.push_back(0);
    axle.push_back(1);
    side.push_back(0);
    dual.push_back(-1);
    day.push_back(20000 + on);
    microsecond.push_back(std::int64_t{86400000000} * day.back());
    quantity.push_back(7);
    value.push_back(read);
    measure.push_back(static_cast<std::uint8_t>(Measure::millimetre));
  }

  [[nodiscard]] SlowTable table(const SlowQuantity& q, double limit, int threads = 1) const {
    PositionColumns positions;
    positions.facts = {{1, 1, 1}};
    positions.unit = unit;
    WheelendColumns w;
    w.position = position;
    w.axle = axle;
    w.side = side;
    w.dual = dual;
    w.microsecond = microsecond;
    w.day = day;
    w.quantity = quantity;
    w.value = value;
    w.measure = measure;
    const std::vector<LimitRow> none;
    const Facts facts;
    WearPrior prior;
    prior.km_per_day.fill(300.0);
    return slow_wear({}, positions, w, unit, 1, {.of = q, .limits = none, .facts = facts, .limit = limit},
                     prior, {.as_of = 20400, .threads = threads});
  }
};

TEST(SlowWear, FallsToItsFloor) {
  Readings r;
  for (int k = 0; k <= 5; ++k) {
    r.add(80 * k, 18.0 - 0.8 * k);
  }
  const SlowTable t = r.table(falling(), 6.0);
  ASSERT_EQ(t.wear.position.size(), 1u);
  // Six readings of an error of 0.3 know the slope to 0.3 / sqrt(17.5) / 80 = 9 percent; the prior, off by a
  // factor of two with a spread of 0.6 in logarithm, moves it by 2 percent of ln 2 towards it.
  EXPECT_TRUE(near(t.wear.rate_mm_per_day[0], 0.01, {.relative = 0.05}));
  EXPECT_TRUE(near(t.wear.remaining_days[3][0], 800.0, {.relative = 0.05}));
  EXPECT_TRUE(std::isnan(t.wear.rate_mm_per_km[0]));
  EXPECT_LT(t.wear.remaining_days[0][0], 800.0 / 1.1);
  EXPECT_GT(t.wear.remaining_days[6][0], 800.0 * 1.1);
  EXPECT_TRUE(near(t.rate, 0.01, {.relative = 0.1}));  // and so has the fleet
}

TEST(SlowWear, RisingIsTheSameSeenFromTheOtherEnd) {
  Readings down, up;
  for (int k = 0; k <= 5; ++k) {
    down.add(80 * k, 18.0 - 0.8 * k);
    up.add(80 * k, 82.0 + 0.8 * k);
  }
  const SlowTable a = down.table(falling(), 6.0), b = up.table(rising(), 94.0);
  EXPECT_TRUE(near(b.wear.depth_mm[0], 100.0 - a.wear.depth_mm[0], {.relative = 1e-9}));
  EXPECT_TRUE(near(b.wear.rate_mm_per_day[0], a.wear.rate_mm_per_day[0], {.relative = 1e-6}));
  for (std::size_t q = 0; q < 7; ++q) {
    EXPECT_TRUE(near(b.wear.remaining_days[q][0], a.wear.remaining_days[q][0], {.relative = 1e-6}));
  }
}

TEST(SlowWear, WhatIsSetAnewBeginsAnew) {
  Readings r;
  for (int k = 0; k <= 5; ++k) {
    r.add(80 * k, k < 3 ? 9.0 - 0.8 * k : 19.0 - 0.8 * (k - 3));
  }
  const SlowTable t = r.table(falling(), 6.0);
  EXPECT_EQ(t.wear.readings_used[0], 3);
  EXPECT_EQ(t.wear.fitted_day[0], 20240);
  EXPECT_EQ(static_cast<Begun>(t.wear.begun[0]), Begun::rise);
}

TEST(SlowWear, OneReadingIsAnsweredFromWhatIsTypicalAndWithoutALimitThereIsNoDate) {
  Readings r;
  r.add(400, 10.0);
  const SlowTable t = r.table(falling(), 6.0);
  EXPECT_EQ(static_cast<WearStatus>(t.wear.status[0]), WearStatus::from_group);
  EXPECT_TRUE(near(t.wear.remaining_days[3][0], 4.0 / 0.02, {.relative = 0.1}));  // as is typical
  EXPECT_GT(t.wear.remaining_days[6][0], 2.0 * t.wear.remaining_days[0][0]);
  const SlowTable none = r.table(falling(), std::nan(""));
  EXPECT_EQ(static_cast<WearStatus>(none.wear.status[0]), WearStatus::no_limit);
  EXPECT_TRUE(std::isnan(none.wear.remaining_days[3][0]));
}

}  // namespace
