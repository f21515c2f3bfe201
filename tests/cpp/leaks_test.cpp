// One tractor and its tires, read every four weeks; what is plain to see must be found, and nothing else.
#include "wheelend/leaks.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "fleet.hpp"

namespace {

using namespace wheelend;
using test::Row;
using test::Table;

constexpr std::int32_t visits = 14, every = 28, places = 10;

struct Fleet {
  std::vector<std::int8_t> side, dual;
  std::vector<std::int32_t> unit;
  std::vector<double> target;
  PositionColumns positions;
  Fleet() {
    for (std::int32_t p = 0; p < places; ++p) {
      positions.facts.push_back({1, static_cast<std::int8_t>(p < 2 ? 0 : 1), 1 + p / 4});
      side.push_back(static_cast<std::int8_t>(p % 2));
      dual.push_back(static_cast<std::int8_t>(p % 3));
      unit.push_back(0);
      target.push_back(100.0);
    }
    positions.unit = unit;
    positions.side = side;
    positions.dual = dual;
    positions.target = {.values = target, .measure = Measure::psi};
  }
};

// Sound tires lose 2 % of their gauge pressure a month and are filled when 4 psi are gone; a leaking one
// loses `leak` % more from the fifth visit on and is not filled. Readings are whole psi. They do
// not begin alike, so that they are not all filled at one visit, which would look like a change of the
// weather.
std::vector<Row> record(std::int32_t leaking, double leak) {
  std::vector<Row> rows;
  std::vector<double> pressure{100.0, 99.0, 98.0, 100.0, 97.0, 99.5, 96.5, 98.5, 97.5, 100.0};
  for (std::int32_t v = 0; v < visits; ++v) {
    for (std::int32_t p = 0; p < places; ++p) {
      double& now = pressure[static_cast<std::size_t>(p)];
      const double percent = 2.0 + (p == leaking && v > 4 ? leak : 0.0);
      now *= v == 0 ? 1.0 : std::exp(-percent / 100.0 * every / 30.4375);
      rows.push_back({.position = p, .day = v * every, .pressure = std::round(now)});
      if (p != leaking && now < 96.0) {
        now = 100.0;
      }
    }
  }
  return rows;
}

FleetLeaks leaks_of(const std::vector<Row>& rows, std::int32_t as_of, int threads = 1) {
  const Fleet fleet;
  const Table table(rows);
  const std::vector<double> gas(rows.size(), 68.0);
  return leaks_of_fleet(
      table.columns, {.tire_temperature = {.values = gas, .measure = Measure::degree_fahrenheit}},
      fleet.positions, {.as_of = as_of, .band_pa = 5.0 * 6894.757293168, .threads = threads});
}

bool is_alarmed(const FleetLeaks& found, std::int32_t position) {
  return std::find(found.alarms.position.begin(), found.alarms.position.end(), position) !=
         found.alarms.position.end();
}

TEST(Leaks, ALeakIsAlarmedAndItsMatesAreNot) {
  const FleetLeaks found = leaks_of(record(3, 6.0), (visits - 1) * every);
  for (std::int32_t p = 0; p < places; ++p) {
    EXPECT_EQ(is_alarmed(found, p), p == 3) << p;
  }
  EXPECT_EQ(static_cast<LeakState>(found.table.state[3]), LeakState::slow_leak);
  // 8 psi a month in all at the target, in Pa a day
  const double rate = 8.0 * 6894.757293168 / 30.4375;
  EXPECT_LT(found.table.rate_low[3], rate);
  EXPECT_GT(found.table.rate_high[3], rate);
  EXPECT_GT(found.table.rate_low[3], found.table.rate[2]);
}

TEST(Leaks, AlarmsAreThoseOfTheirDay) {
  const std::vector<Row> rows = record(3, 6.0);
  const FleetLeaks found = leaks_of(rows, (visits - 1) * every);
  ASSERT_FALSE(found.alarms.day.empty());
  const std::int32_t day = found.alarms.day.front();
  EXPECT_GT(day, 4 * every);  // sound until then
  EXPECT_FALSE(is_alarmed(leaks_of(rows, day - 1), 3));
  EXPECT_TRUE(is_alarmed(leaks_of(rows, day), 3));
}

TEST(Leaks, NoLeakNoAlarm) {
  const FleetLeaks found = leaks_of(record(-1, 0.0), (visits - 1) * every);
  EXPECT_TRUE(found.alarms.position.empty());
  for (const std::uint8_t state : found.table.state) {
    EXPECT_EQ(static_cast<LeakState>(state), LeakState::normal);
  }
}

TEST(Leaks, APositionWithoutAPressureIsUnknown) {
  std::vector<Row> rows = record(-1, 0.0);
  std::erase_if(rows, [](const Row& row) { return row.position == 7; });
  const FleetLeaks found = leaks_of(rows, (visits - 1) * every);
  EXPECT_EQ(static_cast<LeakState>(found.table.state[7]), LeakState::unknown);
  EXPECT_TRUE(std::isnan(found.table.rate[7]));
}

TEST(Leaks, ThreadsAndOrderOfRowsChangeNothing) {
  std::vector<Row> rows = record(3, 6.0);
  const FleetLeaks one = leaks_of(rows, (visits - 1) * every, 1);
  std::reverse(rows.begin(), rows.end());
  const FleetLeaks two = leaks_of(rows, (visits - 1) * every, 3);
  EXPECT_EQ(one.table.rate, two.table.rate);
  EXPECT_EQ(one.table.probability, two.table.probability);
  EXPECT_EQ(one.alarms.day, two.alarms.day);
}

}  // namespace
