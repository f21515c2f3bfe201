// Mates that drift apart.
#include "wheelend/mates.hpp"

#include <gtest/gtest.h>

#include "near.hpp"

using namespace wheelend;
using test::near;

namespace {

// A dual pair that is read every 30 days: both go with the weather, the inner one loses besides.
struct Pair {
  std::vector<std::int32_t> position, day;
  std::vector<std::int64_t> microsecond;
  std::vector<double> pressure;
  std::vector<std::int32_t> unit{0, 0};
  std::vector<std::int8_t> side{0, 0}, dual{1, 2};

  explicit Pair(double lost_per_visit) {
    for (int k = 0; k < 6; ++k) {
      for (const std::int32_t p : {0, 1}) {
        position.push_back(p);
        day.push_back(20000 + 30 * k);
        microsecond.push_back(std::int64_t{86400000000} * day.back());
        pressure.push_back(100.0 + 5.0 * (k % 2) - p * lost_per_visit * k);
      }
    }
  }

  [[nodiscard]] MateTable table(double soon_days) const {
    ReadingColumns readings;
    readings.position = position;
    readings.day = day;
    readings.microsecond = microsecond;
    readings.pressure.values = pressure;
    readings.pressure.measure = Measure::psi;
    PositionColumns positions;
    positions.facts = {{1, 1, 2}, {1, 1, 2}};
    positions.unit = unit;
    positions.side = side;
    positions.dual = dual;
    return drifting_mates(readings, positions,
                          {{.kind = MateKind::dual,
                            .quantity = MateQuantity::pressure,
                            .bound = 5.0,
                            .step = 8.0,
                            .measure = Measure::psi}},
                          {.as_of = 20150, .soon_days = soon_days});
  }
};

TEST(Mates, TheWeatherIsNotInTheirDifference) {
  const MateTable t = Pair(0.5).table(400.0);
  ASSERT_EQ(t.position.size(), 1u);
  EXPECT_TRUE(near(t.drift[0], 0.5 / 30.0 * 30.4375, {.relative = 1e-9}));
  EXPECT_TRUE(near(t.difference[0], 2.5, {.relative = 1e-9}));
  EXPECT_TRUE(near(t.days[0], 150.0, {.relative = 1e-9}));
  EXPECT_EQ(static_cast<MateState>(t.state[0]), MateState::drifting);
}

TEST(Mates, FarFromTheBoundTheyAreSteady) {
  EXPECT_EQ(static_cast<MateState>(Pair(0.5).table(90.0).state[0]), MateState::steady);
  EXPECT_EQ(static_cast<MateState>(Pair(0.0).table(90.0).state[0]), MateState::steady);
  EXPECT_EQ(static_cast<MateState>(Pair(1.5).table(90.0).state[0]), MateState::apart);
}

}  // namespace
