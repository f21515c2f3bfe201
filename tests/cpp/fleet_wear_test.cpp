// From readings to due dates, learned from the whole fleet. Invented fleets, worn without noise by the law
// that the model holds (a rate that falls with depth) or straight; a tire that wears 1/32 in over 5000 mi
// loses 0.79375 mm over 8046.72 km (NIST SP 811). The model leans on its prior and allows for a bend it
// cannot rule out, so dates are held to within what it says of its own width, and depths to a part of the
// gauge's step.
#include "wheelend/fleet_wear.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <ostream>
#include <string>
#include <utility>

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

// Four drive tires to a unit, unless the test says otherwise.
struct Asked {
  std::vector<std::int32_t> units = {};
  std::vector<double> limits = {};  // one for all, or one for each position
  WearPrior prior = agreeing();
  std::vector<PositionFacts> facts = {};
  int threads = 1;
  std::vector<FurtherDepth> further = {};
};

FleetWear everything(const std::vector<Row>& rows, std::size_t positions, std::int32_t as_of,
                     Asked asked = {}) {
  Table table(rows);
  table.mark_conflicts(positions);
  if (!std::any_of(rows.begin(), rows.end(), [](const Row& r) { return !std::isnan(r.odometer); })) {
    table.columns.odometer.values = {};
  }
  if (asked.units.empty()) {
    for (std::size_t p = 0; p < positions; ++p) {
      asked.units.push_back(static_cast<std::int32_t>(p / 4));
    }
  }
  asked.limits.resize(positions, asked.limits.empty() ? two_mm : asked.limits.front());
  asked.facts.resize(positions, tractor_drive);
  const auto count = static_cast<std::size_t>(*std::max_element(asked.units.begin(), asked.units.end())) + 1;
  const PositionColumns columns{.facts = asked.facts, .unit = asked.units};
  return wear_of_fleet(table.columns, columns, {}, asked.units, count, asked.limits, asked.prior,
                       {.as_of = as_of, .threads = asked.threads, .further = asked.further});
}

WearTable worn(const std::vector<Row>& rows, std::size_t positions, std::int32_t as_of, Asked asked = {}) {
  return everything(rows, positions, as_of, std::move(asked)).table;
}

std::size_t row_of(const WearTable& t, std::int32_t position) {
  const auto found = std::find(t.position.begin(), t.position.end(), position);
  EXPECT_NE(found, t.position.end());
  return static_cast<std::size_t>(found - t.position.begin());
}

WearStatus status(const WearTable& t, std::int32_t position) {
  return static_cast<WearStatus>(t.status[row_of(t, position)]);
}

// The same to the last bit; missing is as good as missing.
void expect_same(const std::vector<double>& a, const std::vector<double>& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_TRUE(a[i] == b[i] || (std::isnan(a[i]) && std::isnan(b[i]))) << i << ' ' << a[i] << ' ' << b[i];
  }
}
void expect_same(const FleetWear& a, const FleetWear& b) {
  EXPECT_EQ(a.table.position, b.table.position);
  EXPECT_EQ(a.table.fitted_day, b.table.fitted_day);
  EXPECT_EQ(a.table.begun, b.table.begun);
  EXPECT_EQ(a.table.readings_used, b.table.readings_used);
  EXPECT_EQ(a.table.last_day, b.table.last_day);
  EXPECT_EQ(a.table.status, b.table.status);
  expect_same(a.table.depth_mm, b.table.depth_mm);
  expect_same(a.table.rate_mm_per_km, b.table.rate_mm_per_km);
  expect_same(a.table.rate_se_mm_per_km, b.table.rate_se_mm_per_km);
  expect_same(a.table.rate_mm_per_day, b.table.rate_mm_per_day);
  expect_same(a.table.rate_se_mm_per_day, b.table.rate_se_mm_per_day);
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    expect_same(a.table.remaining_km[q], b.table.remaining_km[q]);
    expect_same(a.table.remaining_days[q], b.table.remaining_days[q]);
  }
  EXPECT_EQ(a.doubts.position, b.doubts.position);
  EXPECT_EQ(a.doubts.day, b.doubts.day);
  EXPECT_EQ(a.doubts.slip, b.doubts.slip);
  expect_same(a.doubts.expected_mm, b.doubts.expected_mm);
  EXPECT_EQ(a.patterns.position, b.patterns.position);
  EXPECT_EQ(a.patterns.since_day, b.patterns.since_day);
  expect_same(a.patterns.one_sided, b.patterns.one_sided);
  expect_same(a.patterns.shoulder_se, b.patterns.shoulder_se);
  expect_same(a.patterns.around_mm, b.patterns.around_mm);
  expect_same(a.learned.reader_mm, b.learned.reader_mm);
  EXPECT_EQ(a.learned.readers, b.learned.readers);
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
  const WearTable t = worn(rows, 9, 180, {.prior = fast});
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
  const WearTable t = worn(straight_fleet(), 8, 180, {.limits = {missing}});
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
  EXPECT_EQ(worn(rows, 8, 189).position.size(), 8U);
  for (const double depth : {missing, 8.5}) {  // its depth read on the way out is no new tire
    rows.back().tread = {depth};
    const WearTable t = worn(rows, 8, 190);
    EXPECT_EQ(t.position.size(), 7U);
    EXPECT_EQ(std::count(t.position.begin(), t.position.end(), 3), 0);
  }
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
  const FleetWear expected = everything(rows, 12, 300);
  ASSERT_EQ(expected.table.position.size(), 12U);
  for (unsigned seed = 1; seed <= 5; ++seed) {
    expect_same(everything(shuffled(rows, seed), 12, 300), expected);
  }
  expect_same(everything(rows, 12, 300, {.threads = 2}), expected);
  expect_same(everything(rows, 12, 300, {.threads = 3}), expected);
}

TEST(FleetWear, ReadingsAfterAsOfAreLeftOut) {
  const WearTable early = worn(straight_fleet(5), 8, 80), cut = worn(straight_fleet(10), 8, 80);
  EXPECT_EQ(early.remaining_days, cut.remaining_days);
  EXPECT_EQ(early.readings_used, cut.readings_used);
}

TEST(FleetWear, LaterAsOfCountsFromThatDay) {  // 20 days on: 1/32 less, and 20 days less to go
  const WearTable then = worn(straight_fleet(), 8, 180), later = worn(straight_fleet(), 8, 200);
  EXPECT_NEAR(later.depth_mm[0], then.depth_mm[0] - step_mm, 0.2 * step_mm);
  EXPECT_NEAR(later.remaining_days[3][0], then.remaining_days[3][0] - 20.0, 6.0);
  EXPECT_EQ(later.last_day[0], 180);
}

TEST(FleetWear, EachPositionHasItsOwnLimit) {
  std::vector<double> limits(8, two_mm);
  limits[3] = 3 * two_mm;  // 6/32
  const WearTable t = worn(straight_fleet(), 8, 180, {.limits = limits});
  EXPECT_EQ(t.limit_mm[3], 3 * two_mm);
  EXPECT_GT(t.remaining_days[3][3], 45.0);  // 60 at the rate so far
  EXPECT_LT(t.remaining_days[3][3], 75.0);
  EXPECT_GT(t.remaining_days[3][0], 130.0);
  EXPECT_TRUE(std::isnan(worn(straight_fleet(), 8, 180, {.limits = {missing}}).limit_mm[0]));
}

// A table has a column for each groove of the widest tire; a narrower one leaves it empty. A groove without
// an indicator is not measured. Neither may hide an uneven tire. Doubt is summed over points in as many
// dimensions as there are columns: a fiftieth of a step, half a day.
TEST(FleetWear, GrooveThatATireDoesNotHaveHidesNothing) {
  std::vector<Row> three = straight_fleet();
  for (Row& r : three) {
    r.tread = {r.tread[0], r.tread[0] + 1.0, r.tread[0] - 3.0};
  }
  std::vector<Row> four = three, unbarred = three;
  for (std::size_t i = 0; i < three.size(); ++i) {
    const std::vector<double>& t = three[i].tread;
    four[i].tread = {t[0], missing, t[1], t[2]};
    unbarred[i].tread = {t[0], 1.0, t[1], t[2]};
    unbarred[i].barred = 0b1101;
  }
  const WearTable expected = worn(three, 8, 180);
  for (const auto& rows : {four, unbarred}) {
    const WearTable t = worn(rows, 8, 180);
    EXPECT_NEAR(t.depth_mm[2], expected.depth_mm[2], 0.02 * step_mm);
    EXPECT_NEAR(t.remaining_days[3][2], expected.remaining_days[3][2], 0.5);
    EXPECT_EQ(t.readings_used, expected.readings_used);
  }
}

TEST(FleetWear,
     GrooveUnreadNowAndThenKeepsItsPlace) {  // grooves at d, d and d - 3, the last read often enough
  std::vector<Row> rows = straight_fleet();
  for (Row& r : rows) {
    const double d = r.tread[0];
    r.tread = {d, d, (r.day / 20) % 3 == 2 ? missing : d - 3.0};
  }
  rows[0].tread[2] = missing;
  EXPECT_NEAR(worn(rows, 8, 180).depth_mm[0], 6 * step_mm, 0.4 * step_mm);
}

// The prior is twice too fast; the drive tires correct it for drive tires. Steer tires, of which none was
// seen twice, share kind and the fleet's own group with them, not the role: of the spreads of wear_fit.hpp
// (0.2 by role, 0.08 by kind, 0.2 by own group, 0.07 of each group) 0.51 of the correction goes over, so
// that 1.4 are left.
TEST(FleetWear, GroupSpeaksForItsOwnRole) {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 24; ++p) {
    add(rows, read_of(p, 18.0, 1.0, 10));
  }
  rows.push_back({.position = 24, .day = 180, .tread = {12.0}, .odometer = 145'000.0});
  rows.push_back({.position = 25, .day = 180, .tread = {12.0}, .odometer = 145'000.0});
  WearPrior fast = agreeing();
  fast.mm_per_km.fill(2 * mm_per_km);
  std::vector<PositionFacts> facts(26, tractor_drive);
  facts[25] = tractor_steer;
  std::vector<std::int32_t> units;
  for (std::int32_t p = 0; p < 26; ++p) {
    units.push_back(p < 24 ? p / 4 : p - 24);  // the last two beside tires of which much is known
  }
  const FleetWear w = everything(rows, 26, 180, {.units = units, .prior = fast, .facts = facts});
  const double drive = w.table.rate_mm_per_km[row_of(w.table, 24)];
  const double steer = w.table.rate_mm_per_km[row_of(w.table, 25)];
  EXPECT_LT(drive, 1.25 * mm_per_km);
  EXPECT_NEAR(steer, 1.4 * mm_per_km, 0.15 * mm_per_km);
  ASSERT_EQ(w.learned.rates.size(), 2U);
  double known = missing, unseen = missing;
  for (const LearnedRate& r : w.learned.rates) {
    EXPECT_EQ(r.kind, static_cast<std::int8_t>(UnitKind::tractor));
    if (r.role == static_cast<std::int8_t>(AxleRole::drive)) {
      EXPECT_NEAR(r.mm_per_km, mm_per_km, 0.15 * mm_per_km);
      known = r.spread;
    } else {
      EXPECT_EQ(r.role, static_cast<std::int8_t>(AxleRole::steer));
      unseen = r.spread;
    }
  }
  EXPECT_GT(unseen, known);
}

TEST(FleetWear, NotWithinTenYears) {  // yard tractors: 10 mi a day, 1/32 in over 50 000 mi, so 160 years
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 8; ++p) {
    for (int i = 0; i < 10; ++i) {
      rows.push_back({.position = p, .day = 20 * i, .tread = {18.0}, .odometer = 1000.0 + 200.0 * i});
    }
  }
  WearPrior slow = agreeing();
  slow.mm_per_km.fill(mm_per_km / 10.0), slow.km_per_day.fill(16.0);
  const WearTable t = worn(rows, 8, 180, {.prior = slow});
  EXPECT_EQ(status(t, 0), WearStatus::not_within_horizon);
  EXPECT_TRUE(std::isnan(t.remaining_days[3][0]));
  EXPECT_GT(t.rate_mm_per_km[0], 0.0);
}

TEST(FleetWear, FirstReadingSaysNothingOfTheFitting) {
  std::vector<Row> rows = straight_fleet(4);
  rows[0].event = Event::fitted;  // position 0, day 0
  const WearTable t = worn(rows, 8, 60);
  EXPECT_EQ(t.fitted_day[0], 0);
  EXPECT_EQ(t.fitted_day[1], std::numeric_limits<std::int32_t>::min());
}

// Fitted new by an event, and not read since: as deep as new less what it ran, at its fleet's rate.
TEST(FleetWear, FittedAndNotYetRead) {
  std::vector<Row> rows = straight_fleet();
  rows.push_back({.position = 3, .day = 181, .odometer = 145'250.0, .event = Event::fitted});
  const WearTable t = worn(rows, 8, 201);
  const std::size_t i = row_of(t, 3);
  EXPECT_EQ(t.readings_used[i], 0);
  EXPECT_EQ(t.fitted_day[i], 181);
  EXPECT_EQ(status(t, 3), WearStatus::from_group);
  EXPECT_NEAR(t.depth_mm[i], 17 * step_mm, 0.6 * step_mm);
  EXPECT_NEAR(t.remaining_days[3][i], 300.0, 60.0);
}

TEST(FleetWear, TypingErrorInAnOdometerMovesNothing) {
  std::vector<Row> rows = straight_fleet();
  const WearTable expected = worn(rows, 8, 180);
  for (Row& r : rows) {
    if (r.position < 4 && r.day == 80) {
      r.odometer *= 10.0;
    }
  }
  const WearTable t = worn(rows, 8, 180);  // the place of those readings is taken from their neighbours
  EXPECT_NEAR(t.rate_mm_per_km[0], expected.rate_mm_per_km[0], 1e-6 * mm_per_km);
  EXPECT_NEAR(t.remaining_days[3][0], expected.remaining_days[3][0], 1e-3);
}

// ---- readings that do not fit

namespace {

// Twelve tires in three grooves on two units of six, each of its own depth, read every 20 days.
std::vector<Row> mixed_fleet() {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 12; ++p) {
    for (Row r : read_of(p, 14.0 + p % 6 * 2.0, 1.0, 10)) {
      r.tread = {r.tread[0], r.tread[0] + 1.0, r.tread[0]};
      rows.push_back(r);
    }
  }
  return rows;
}
Row& at(std::vector<Row>& rows, std::int32_t position, std::int32_t day) {
  return *std::find_if(rows.begin(), rows.end(),
                       [&](const Row& r) { return r.position == position && r.day == day; });
}
const std::vector<std::int32_t> two_units{0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1};

struct Seen {
  std::int32_t position, unit, day, groove;
  Slip slip;
  std::int32_t other;
  bool operator==(const Seen&) const = default;
};
std::vector<Seen> seen(const Doubts& d) {
  std::vector<Seen> out;
  for (std::size_t i = 0; i < d.position.size(); ++i) {
    out.push_back(
        {d.position[i], d.unit[i], d.day[i], d.groove[i], static_cast<Slip>(d.slip[i]), d.other[i]});
  }
  return out;
}
std::ostream& operator<<(std::ostream& to, const Seen& s) {
  return to << '{' << s.position << ' ' << s.unit << ' ' << s.day << ' ' << s.groove << ' '
            << slip_names[static_cast<std::size_t>(s.slip)] << ' ' << s.other << '}';
}

}  // namespace

TEST(Doubts, NoneWhereAllFits) {
  EXPECT_TRUE(everything(mixed_fleet(), 12, 180, {.units = two_units}).doubts.position.empty());
}

TEST(Doubts, Digit) {
  std::vector<Row> rows = mixed_fleet();
  at(rows, 3, 80).tread[1] -= 10.0;  // 17 read as 7
  const FleetWear w = everything(rows, 12, 180, {.units = two_units});
  EXPECT_EQ(seen(w.doubts), (std::vector<Seen>{{3, 0, 80, 1, Slip::digit, -1}}));
  EXPECT_NEAR(w.doubts.depth_mm[0], 7.0 * step_mm, 1e-9);
  EXPECT_NEAR(w.doubts.expected_mm[0], 17.0 * step_mm, 0.8 * step_mm);
}

TEST(Doubts, TwoLinesSwapped) {
  std::vector<Row> rows = mixed_fleet();
  std::swap(at(rows, 0, 100).tread, at(rows, 4, 100).tread);  // 9 and 17
  const FleetWear w = everything(rows, 12, 180, {.units = two_units});
  EXPECT_EQ(seen(w.doubts),
            (std::vector<Seen>{{0, 0, 100, -1, Slip::swapped, 4}, {4, 0, 100, -1, Slip::swapped, 0}}));
}

TEST(Doubts, OtherMeasure) {  // 16, 17 and 16 of 32nds written as millimetres: 13
  std::vector<Row> rows = mixed_fleet();
  at(rows, 4, 120).tread = {13.0, 13.0, 13.0};
  const FleetWear w = everything(rows, 12, 180, {.units = two_units});
  EXPECT_EQ(seen(w.doubts), (std::vector<Seen>{{4, 0, 120, -1, Slip::other_measure, -1}}));
}

namespace {

void expect_visit_off(double steps) {
  std::vector<Row> rows = mixed_fleet();
  for (std::int32_t p = 6; p < 12; ++p) {
    for (double& d : at(rows, p, 100).tread) {
      d += steps;
    }
  }
  const FleetWear w = everything(rows, 12, 180, {.units = two_units});
  EXPECT_EQ(seen(w.doubts), (std::vector<Seen>{{-1, 1, 100, -1, Slip::visit_off, -1}}));
  ASSERT_FALSE(w.doubts.position.empty());
  EXPECT_NEAR(w.doubts.expected_mm[0], steps * step_mm, 0.6 * step_mm);
  EXPECT_TRUE(std::isnan(w.doubts.depth_mm[0]));
}

}  // namespace

TEST(Doubts, WholeVisitOff) {
  expect_visit_off(2.0);
  expect_visit_off(-2.0);
}

TEST(Doubts, WholeVisitOffByThreeSteps) {  // more than eight spreads where readings are good
  expect_visit_off(3.0);
  expect_visit_off(-3.0);
}

TEST(Doubts, VisitOfAnotherUnit) {
  for (const std::int32_t day : {100, 180}) {  // in the middle, and the last one
    std::vector<Row> rows = mixed_fleet();
    std::vector<double> other{18, 6, 17, 4, 5, 6};
    for (std::int32_t p = 6; p < 12; ++p) {
      const double d = other[static_cast<std::size_t>(p) - 6];
      at(rows, p, day).tread = {d, d, d};
      at(rows, p, day).odometer = 412'345.0;
    }
    const FleetWear w = everything(rows, 12, 180, {.units = two_units});
    const auto all = seen(w.doubts);
    EXPECT_EQ(std::count(all.begin(), all.end(), Seen{-1, 1, day, -1, Slip::other_unit, -1}), 1) << day;
    EXPECT_EQ(w.fitments.all.size(), 12U) << day;
  }
}

// ---- patterns

namespace {

// Position 0 wears its outer edge more, 1 its inner, 2 both shoulders, the others evenly.
FleetWear uneven_fleet() {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 16; ++p) {
    for (Row r : read_of(p, 18.0, 1.0, 12)) {
      const double d = r.tread[0], worn = 18.0 - d, side = p == 0 ? 0.4 * worn : p == 1 ? -0.4 * worn : 0.0;
      const double shoulder = p == 2 ? 0.5 * worn * worn / 18.0 : 0.0;
      r.tread = {std::max(d - side - shoulder, 0.0), d, std::max(d + side - shoulder, 0.0)};
      rows.push_back(r);
    }
  }
  std::vector<PositionFacts> facts;
  for (std::int32_t p = 0; p < 16; ++p) {  // each on an axle of its own
    facts.push_back(
        {static_cast<std::int8_t>(UnitKind::tractor), static_cast<std::int8_t>(AxleRole::drive), p % 4 + 1});
  }
  return everything(rows, 16, 220, {.facts = facts});
}

}  // namespace

TEST(Patterns, SignsAndSizes) {
  const FleetWear w = uneven_fleet();
  ASSERT_EQ(w.patterns.position.size(), 16U);
  EXPECT_GT(w.patterns.one_sided[0], 0.2);  // the outer edge
  EXPECT_LT(w.patterns.one_sided[1], -0.2);
  EXPECT_GT(w.patterns.one_sided[0], 2.0 * w.patterns.one_sided_se[0]);
  EXPECT_GT(w.patterns.shoulder[2], w.patterns.shoulder[5] + w.patterns.shoulder_se[2]);
  for (std::size_t p = 3; p < 16; ++p) {
    EXPECT_LT(std::abs(w.patterns.one_sided[p]), 0.1) << p;
    EXPECT_GT(w.patterns.one_sided_se[p], 0.0);
    EXPECT_NEAR(w.patterns.worn[p], 11.0 / 18.0, 0.06);  // a step of 18
    EXPECT_EQ(w.patterns.since_day[p], std::numeric_limits<std::int32_t>::min()) << p;
    EXPECT_TRUE(std::isnan(w.patterns.around_mm[p]));
  }
}

TEST(Patterns, AroundTheTire) {  // the last inspection of two places or more decides
  std::vector<Row> rows = straight_fleet();
  for (const auto& [place, depth] : {std::pair{1, 10.0}, {2, 15.0}}) {
    rows.push_back({.position = 8, .day = 100, .tread = {depth}, .odometer = 125'000.0, .place = place});
  }
  for (const auto& [place, depth] : {std::pair{1, 9.0}, {2, 12.0}, {3, 11.0}}) {
    rows.push_back({.position = 8, .day = 120, .tread = {depth}, .odometer = 130'000.0, .place = place});
  }
  rows.push_back({.position = 8, .day = 140, .tread = {10.0}, .odometer = 135'000.0, .place = 1});
  const FleetWear w = everything(rows, 9, 180);
  const auto i = static_cast<std::size_t>(
      std::find(w.patterns.position.begin(), w.patterns.position.end(), 8) - w.patterns.position.begin());
  EXPECT_NEAR(w.patterns.around_mm[i], 3 * step_mm, 1e-9);
  EXPECT_NEAR(w.patterns.around_step_mm[i], step_mm, 1e-9);
}

// ---- what is learned

TEST(FleetWear, ReadersAreLearned) {  // two take turns; one reads a step deeper than the other
  std::vector<Row> rows = mixed_fleet();
  for (Row& r : rows) {
    const bool deep = (r.day / 20) % 2 == 0;
    r.reader = deep ? 7 : 4;
    for (double& d : r.tread) {
      d += deep ? 0.5 : -0.5;
    }
  }
  const Learned learned = everything(rows, 12, 180, {.units = two_units}).learned;
  ASSERT_EQ(learned.readers, (std::vector<std::int32_t>{7, 4}));  // in the order in which they come
  EXPECT_NEAR(learned.reader_mm[0] - learned.reader_mm[1], step_mm, 0.3 * step_mm);
}

TEST(FleetWear, NothingReadNothingSaid) {
  EXPECT_TRUE(worn({{.position = 0, .day = 3, .tread = {1.0}, .barred = 0}}, 1, 10).position.empty());
  EXPECT_TRUE(worn({{.position = 0, .day = 3, .odometer = 5.0}}, 1, 10).position.empty());
}

// ---- further depths

TEST(FleetWear, FurtherDepthsAreReachedAsLimitsAre) {
  // Another call with that depth as the limit of all positions knows nothing of the further depths.
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 4; ++p) {
    add(rows, read_of(p, 12.0 - 0.5 * p, 0.4, 6));
  }
  Asked asked;
  asked.further = {
      {.position = 2, .depth_mm = 4.0}, {.position = 0, .depth_mm = 6.5}, {.position = 2, .depth_mm = 4.0}};
  const FurtherTable further = everything(rows, 4, 110, asked).further;
  for (std::size_t i = 0; i < asked.further.size(); ++i) {
    const auto [position, depth] = asked.further[i];
    const WearTable alone = worn(rows, 4, 110, {.limits = {depth}});
    const std::size_t row = row_of(alone, position);
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      EXPECT_EQ(further.remaining_days[q].at(i), alone.remaining_days[q][row]);
      EXPECT_EQ(further.remaining_km[q].at(i), alone.remaining_km[q][row]);
    }
  }
}

TEST(FleetWear, AFurtherDepthOfAPositionThatWasNeverReadIsMissing) {
  Asked asked;
  asked.further = {{.position = 3, .depth_mm = 4.0}, {.position = 0, .depth_mm = std::nan("")}};
  const FurtherTable further = everything(read_of(0, 12.0, 0.4, 6), 4, 110, asked).further;
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    ASSERT_EQ(further.remaining_days[q].size(), 2U);
    EXPECT_TRUE(std::isnan(further.remaining_days[q][0]));
    EXPECT_TRUE(std::isnan(further.remaining_days[q][1]));
    EXPECT_TRUE(std::isnan(further.remaining_km[q][0]));
  }
}
