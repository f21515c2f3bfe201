// From readings to due dates, learned from the whole fleet. Invented fleets, worn without noise by the law
// that the model holds (a rate that falls with depth) or straight; a tire that wears 1/32 in over 5000 mi
// loses 0.79375 mm over 8046.72 km (NIST SP 811). The model leans on its prior and allows for a bend it
// cannot rule out, so dates are held to within what it says of its own width, and depths to a part of the
// gauge's step.
#include "wheelend/fleet_wear.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "fleet.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr double step_mm = 0.79375;
constexpr double mm_per_km = step_mm / 8046.72;
constexpr double km_per_day = 250.0 * 1.609344;  // 1/32 in every 20 days
constexpr double two_mm = 2 * step_mm;

WearPrior agreeing() {
  WearPrior p;
  p.mm_per_km.fill(mm_per_km);
  p.km_per_day.fill(km_per_day);
  p.full_mm.fill(18 * step_mm);
  return p;
}

// One groove read on every 20th day, in 32nds.
std::vector<Row> read_of(std::int32_t position, double deepest, double wear_per_visit, int visits) {
  std::vector<Row> rows;
  for (int i = 0; i < visits; ++i) {
    rows.push_back({.position = position,
                    .day = 20 * i,
                    .tread = {deepest - wear_per_visit * i},
                    .odometer = 100'000.0 + 5000.0 * i});
  }
  return rows;
}

void add(std::vector<Row>& to, const std::vector<Row>& rows) {
  to.insert(to.end(), rows.begin(), rows.end());
}

WearTable worn(const std::vector<Row>& rows, std::size_t positions, std::int32_t as_of,
               std::vector<std::int32_t> units = {}, double limit = two_mm,
               const WearPrior& prior = agreeing()) {
  Table table(rows);
  table.mark_conflicts(positions);
  if (!std::any_of(rows.begin(), rows.end(), [](const Row& r) { return !std::isnan(r.odometer); })) {
    table.columns.odometer.values = {};
  }
  if (units.empty()) {
    for (std::size_t p = 0; p < positions; ++p) {
      units.push_back(static_cast<std::int32_t>(p / 4));
    }
  }
  const auto count = static_cast<std::size_t>(*std::max_element(units.begin(), units.end())) + 1;
  const PositionColumns columns{.facts = std::vector<PositionFacts>(positions, tractor_drive)};
  const std::vector<double> limits(positions, limit);
  return wear_of_fleet(table.columns, columns, {}, units, count, limits, prior, {.as_of = as_of});
}

std::size_t row_of(const WearTable& t, std::int32_t position) {
  const auto found = std::find(t.position.begin(), t.position.end(), position);
  EXPECT_NE(found, t.position.end());
  return static_cast<std::size_t>(found - t.position.begin());
}

WearStatus status(const WearTable& t, std::int32_t position) {
  return static_cast<WearStatus>(t.status[row_of(t, position)]);
}

// Eight tires on two units, all the same age and all worn straight.
std::vector<Row> straight_fleet(int visits = 10, double deepest = 18.0) {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 8; ++p) {
    add(rows, read_of(p, deepest, 1.0, visits));
  }
  return rows;
}

}  // namespace

TEST(FleetWear,
     StraightWear) {  // 18/32 to 9/32: 7/32 above 2/32 are 140 days at the rate so far, later if it bends
  const WearTable t = worn(straight_fleet(), 8, 180);
  ASSERT_EQ(t.position.size(), 8U);
  for (std::size_t i = 0; i < 8; ++i) {
    EXPECT_NEAR(t.depth_mm[i], 9 * step_mm, 0.25 * step_mm);
    EXPECT_NEAR(t.rate_mm_per_day[i], step_mm / 20.0, 0.1 * step_mm / 20.0);
    EXPECT_GT(t.remaining_days[3][i], 130.0);
    EXPECT_LT(t.remaining_days[3][i], 170.0);
    EXPECT_LT(t.remaining_days[0][i], 140.0);
    EXPECT_GT(t.remaining_days[6][i], 140.0);
    EXPECT_NEAR(t.remaining_km[3][i], 140 * km_per_day, 0.2 * 140 * km_per_day);
    EXPECT_EQ(t.readings_used[i], 10);
    EXPECT_EQ(t.last_day[i], 180);
    EXPECT_EQ(t.limit_mm[i], two_mm);
    EXPECT_EQ(static_cast<WearStatus>(t.status[i]), WearStatus::from_readings);
  }
}

TEST(FleetWear, QuantilesStandInOrder) {
  const WearTable t = worn(straight_fleet(), 8, 180);
  for (std::size_t i = 0; i < 8; ++i) {
    for (std::size_t q = 1; q < 7; ++q) {
      EXPECT_GT(t.remaining_days[q][i], t.remaining_days[q - 1][i]);
      EXPECT_GT(t.remaining_km[q][i], t.remaining_km[q - 1][i]);
    }
  }
}

// Depth falls by the law with strength 1 on a full depth of 18/32: y' = -(1 + y/18)/(1.5) per step of wear,
// so (y + 18) falls by exp(-w/27). From 6/32 on, the line through the readings says much too early.
TEST(FleetWear, CurvedWearIsFollowed) {
  std::vector<Row> rows;
  const auto depth = [](double visits) { return 36.0 * std::exp(-1.5 * visits / 27.0) - 18.0; };
  for (std::int32_t p = 0; p < 16; ++p) {
    for (int i = 0; i < 9; ++i) {
      rows.push_back({.position = p, .day = 20 * i, .tread = {depth(i)}, .odometer = 1e5 + 5000.0 * i});
    }
  }
  const WearTable t = worn(rows, 16, 160);
  const double due = 20.0 * (27.0 / 1.5 * std::log(36.0 / 20.0)) - 160.0;  // 2/32: 51.6 days
  const double by_line = 20.0 * (depth(8) - 2.0) / ((depth(0) - depth(8)) / 8.0);
  ASSERT_LT(by_line, due - 8.0);
  for (std::size_t i = 0; i < t.position.size(); ++i) {
    EXPECT_LT(std::abs(t.remaining_days[3][i] - due), 0.5 * (due - by_line));
    EXPECT_LT(t.remaining_days[0][i], due);
    EXPECT_GT(t.remaining_days[6][i], due);
  }
}

TEST(FleetWear, ShallowestGrooveDecides) {  // grooves at d, d and d - 3
  std::vector<Row> rows = straight_fleet();
  for (Row& r : rows) {
    r.tread = {r.tread[0], r.tread[0], r.tread[0] - 3.0};
  }
  const WearTable t = worn(rows, 8, 180);
  EXPECT_NEAR(t.depth_mm[0], 6 * step_mm, 0.4 * step_mm);
  EXPECT_LT(t.remaining_days[3][0], 110.0);  // 80 by the rate so far; 140 by the others
}

TEST(FleetWear, TireSeenOnceIsAnsweredFromTheFleet) {
  std::vector<Row> rows = straight_fleet();
  rows.push_back({.position = 8, .day = 180, .tread = {12.0}, .odometer = 145'000.0});
  const WearTable t = worn(rows, 9, 180);
  const std::size_t once = row_of(t, 8), often = row_of(t, 0);
  EXPECT_EQ(t.readings_used[once], 1);
  EXPECT_EQ(status(t, 8), WearStatus::from_group);
  EXPECT_NEAR(t.remaining_days[3][once], 200.0, 40.0);
  EXPECT_GT(
      std::log(t.remaining_days[6][once] / t.remaining_days[0][once]),
      std::log(t.remaining_days[6][often] / t.remaining_days[0][often]));  // width says how little is known
}

TEST(FleetWear, FleetMovesThePrior) {  // a prior twice too fast: the tire seen once follows the fleet
  std::vector<Row> rows = straight_fleet();
  rows.push_back({.position = 8, .day = 180, .tread = {12.0}, .odometer = 145'000.0});
  WearPrior fast = agreeing();
  fast.mm_per_km.fill(2 * mm_per_km);
  const WearTable t = worn(rows, 9, 180, {}, two_mm, fast);
  EXPECT_GT(t.remaining_days[3][row_of(t, 8)], 150.0);  // 100 by the prior, 200 by the fleet
}

TEST(FleetWear, AtItsLimit) {
  const WearTable t = worn(straight_fleet(10, 10.0), 8, 180);  // 10/32 to 1/32
  EXPECT_EQ(status(t, 0), WearStatus::at_limit);
  EXPECT_EQ(t.remaining_days[3][0], 0.0);
  EXPECT_EQ(t.remaining_km[3][0], 0.0);
  EXPECT_GE(worn(straight_fleet(10, 10.0), 8, 580).depth_mm[0], 0.0);
}

TEST(FleetWear, WithoutALimitThereIsARateAndNoDate) {
  const WearTable t = worn(straight_fleet(), 8, 180, {}, missing);
  EXPECT_EQ(status(t, 0), WearStatus::no_limit);
  EXPECT_TRUE(std::isnan(t.remaining_days[3][0]));
  EXPECT_TRUE(std::isnan(t.remaining_km[3][0]));
  EXPECT_NEAR(t.rate_mm_per_km[0], mm_per_km, 0.1 * mm_per_km);
}

TEST(FleetWear, WithoutOdometerByTheDay) {
  std::vector<Row> rows = straight_fleet();
  for (Row& r : rows) {
    r.odometer = missing;
  }
  const WearTable t = worn(rows, 8, 180);
  EXPECT_TRUE(std::isnan(t.rate_mm_per_km[0]));
  EXPECT_TRUE(std::isnan(t.remaining_km[3][0]));
  EXPECT_NEAR(t.rate_mm_per_day[0], step_mm / 20.0, 0.15 * step_mm / 20.0);
  EXPECT_NEAR(t.remaining_days[3][0], 145.0, 30.0);
}

TEST(FleetWear, RemovedTireHasNoRow) {
  std::vector<Row> rows = straight_fleet();
  rows.push_back({.position = 3, .day = 190, .event = Event::removed});
  const WearTable t = worn(rows, 8, 190);
  EXPECT_EQ(t.position.size(), 7U);
  EXPECT_EQ(std::count(t.position.begin(), t.position.end(), 3), 0);
}

TEST(FleetWear, NewTireBeginsAnew) {
  std::vector<Row> rows = straight_fleet(9, 18.0);
  for (Row& r : rows) {
    if (r.position == 2 && r.day >= 120) {
      r.tread[0] += 6.0;  // 12/32 becomes 18/32 on day 120
    }
  }
  const WearTable t = worn(rows, 8, 160);
  const std::size_t i = row_of(t, 2);
  EXPECT_EQ(static_cast<Begun>(t.begun[i]), Begun::rise);
  EXPECT_EQ(t.fitted_day[i], 120);
  EXPECT_EQ(t.readings_used[i], 3);
  EXPECT_NEAR(t.depth_mm[i], 16 * step_mm, 0.4 * step_mm);
}

// A tire with a number that changes its place keeps its history: nine readings at one place and one at
// another are ten, and the wear between is not lost.
TEST(FleetWear, TireThatMovesKeepsItsHistory) {
  std::vector<Row> rows = straight_fleet(9);
  for (Row& r : rows) {
    r.tire = r.position;
  }
  for (std::int32_t p = 0; p < 8;
       ++p) {  // on day 180 positions 0 and 1 have changed tires; depths differ by 3
    rows.push_back({.position = p, .day = 180, .tread = {9.0}, .odometer = 145'000.0, .tire = p});
  }
  for (Row& r : rows) {
    if (r.tire == 1) {
      r.tread[0] -= 3.0;
    }
    if (r.day == 180 && r.position < 2) {
      r.tire = 1 - r.position;
      r.tread[0] = r.tire == 1 ? 6.0 : 9.0;
    }
  }
  const WearTable t = worn(rows, 8, 180);
  const std::size_t here = row_of(t, 1), stayed = row_of(t, 4);
  EXPECT_NEAR(t.depth_mm[here], 9 * step_mm, 0.3 * step_mm);
  EXPECT_NEAR(t.rate_mm_per_day[here], step_mm / 20.0, 0.15 * step_mm / 20.0);
  // known about as well as a tire that stayed: one seen once is half as wide again and more
  EXPECT_LT(std::log(t.remaining_days[6][here] / t.remaining_days[0][here]),
            1.3 * std::log(t.remaining_days[6][stayed] / t.remaining_days[0][stayed]));
}

TEST(FleetWear, OneMisreadMovesTheDateLittle) {
  std::vector<Row> rows = straight_fleet();
  const double before = worn(rows, 8, 180).remaining_days[3][2];
  for (Row& r : rows) {
    if (r.position == 2 && r.day == 80) {
      r.tread[0] = 11.0;  // 14 read as 11
    }
  }
  EXPECT_NEAR(worn(rows, 8, 180).remaining_days[3][2], before, 0.1 * before);
}

TEST(FleetWear, DoesNotDependOnTheOrderOfRows) {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 12; ++p) {
    for (int i = 0; i < 4 + p % 6; ++i) {  // wear of its own and some scatter
      const double d = 18.0 - (0.8 + 0.05 * p) * i + 0.3 * ((7 * i + 3 * p) % 5 - 2);
      rows.push_back({.position = p,
                      .day = 20 * i + p,
                      .tread = {d, d - 0.5, i % 4 == 3 ? missing : d - 1.0},
                      .odometer = 1000.0 * (p / 4) + 5200.0 * i + 300.0 * (i % 3)});
    }
  }
  const WearTable expected = worn(rows, 12, 300);
  ASSERT_EQ(expected.position.size(), 12U);
  for (unsigned seed = 1; seed <= 10; ++seed) {
    const WearTable t = worn(shuffled(rows, seed), 12, 300);
    EXPECT_EQ(t.position, expected.position);
    EXPECT_EQ(t.depth_mm, expected.depth_mm);
    EXPECT_EQ(t.rate_mm_per_day, expected.rate_mm_per_day);
    EXPECT_EQ(t.rate_se_mm_per_day, expected.rate_se_mm_per_day);
    EXPECT_EQ(t.remaining_days, expected.remaining_days);
  }
}

TEST(FleetWear, ReadingsAfterAsOfAreLeftOut) {
  const WearTable early = worn(straight_fleet(5), 8, 80), cut = worn(straight_fleet(10), 8, 80);
  EXPECT_EQ(early.remaining_days, cut.remaining_days);
  EXPECT_EQ(early.readings_used, cut.readings_used);
}

TEST(FleetWear, NothingReadNothingSaid) {
  EXPECT_TRUE(worn({{.position = 0, .day = 3, .odometer = 5.0}}, 1, 10).position.empty());
}
