// From readings to due dates, on fleets small enough to work out by hand. A tire that wears 1/32 in over 5000
// mi loses 0.79375 mm over 8046.72 km (NIST SP 811). Where the prior agrees with the fleet there is nothing
// to lean towards, and answers are those of the plain line.
#include "wheelend/wear.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "fleet.hpp"
#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr double step_mm = 0.79375;              // 1/32 in
constexpr double mm_per_km = step_mm / 8046.72;  // 1/32 in over 5000 mi
constexpr double km_per_day = 250.0 * 1.609344;  // 250 mi: 1/32 in every 20 days
constexpr double two_mm = 2 * step_mm, four_mm = 4 * step_mm, six_mm = 6 * step_mm;
constexpr Tolerance sums{.relative = 1e-9};  // a few hundred roundings, amplified by extrapolation

WearPrior prior_of(double mm, double km) {
  WearPrior p;
  p.mm_per_km.fill(mm);
  p.km_per_day.fill(km);
  return p;
}
const WearPrior agreeing = prior_of(mm_per_km, km_per_day);

// One groove worn straight: an inspection every 20 days, 5000 mi and 1/32 in apart.
std::vector<Row> straight(std::int32_t position, double depth, int visits, double odometer = 100'000.0) {
  std::vector<Row> rows;
  for (int i = 0; i < visits; ++i) {
    rows.push_back(
        {.position = position, .day = 20 * i, .tread = {depth - i}, .odometer = odometer + 5000.0 * i});
  }
  return rows;
}
std::vector<Row> joined(std::vector<Row> a, const std::vector<Row>& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}
std::vector<Row> without_odometer(std::vector<Row> rows) {
  for (Row& r : rows) {
    r.odometer = missing;
  }
  return rows;
}

struct Line {
  double depth, per_km, per_day, limit, days, km;
  std::int64_t used;
  WearStatus status;
  Begun begun;
  std::int32_t fitted, last;
  std::array<double, 7> all_days, all_km;
};

// Every position is a drive tire of one unit, unless the test says otherwise.
WearTable worn(const std::vector<Row>& rows, std::int32_t as_of, std::vector<double> limits = {two_mm},
               const WearPrior& prior = agreeing, std::vector<std::int32_t> units = {}) {
  Table table(rows);
  const std::size_t positions = limits.size();
  table.mark_conflicts(positions);
  if (!std::any_of(rows.begin(), rows.end(), [](const Row& r) { return !std::isnan(r.odometer); })) {
    table.columns.odometer.values = {};
  }
  if (units.empty()) {
    units.assign(positions, 0);
  }
  const auto count = static_cast<std::size_t>(*std::max_element(units.begin(), units.end())) + 1;
  const PositionColumns columns{.facts = std::vector<PositionFacts>(positions, tractor_drive)};
  return wear(table.columns, columns, units, count, limits, prior, {.as_of = as_of});
}

Line line(const WearTable& t, std::int32_t position = 0) {
  const auto found = std::find(t.position.begin(), t.position.end(), position);
  EXPECT_NE(found, t.position.end());
  const auto i = static_cast<std::size_t>(found - t.position.begin());
  Line out{.depth = t.depth_mm[i],
           .per_km = t.rate_mm_per_km[i],
           .per_day = t.rate_mm_per_day[i],
           .limit = t.limit_mm[i],
           .days = t.remaining_days[3][i],
           .km = t.remaining_km[3][i],
           .used = t.readings_used[i],
           .status = static_cast<WearStatus>(t.status[i]),
           .begun = static_cast<Begun>(t.begun[i]),
           .fitted = t.fitted_day[i],
           .last = t.last_day[i],
           .all_days = {},
           .all_km = {}};
  for (std::size_t q = 0; q < 7; ++q) {
    out.all_days[q] = t.remaining_days[q][i];
    out.all_km[q] = t.remaining_km[q][i];
  }
  return out;
}

}  // namespace

TEST(Wear, StraightWear) {  // 18/32 to 9/32 over ten inspections; 7/32 above 2/32 are 35 000 mi and 140 days
  const Line w = line(worn(straight(0, 18.0, 10), 180));
  EXPECT_TRUE(near(w.depth, 9 * step_mm, sums));
  EXPECT_TRUE(near(w.per_km, mm_per_km, sums));
  EXPECT_TRUE(near(w.per_day, step_mm / 20.0, sums));
  EXPECT_TRUE(near(w.days, 140.0, sums));
  EXPECT_TRUE(near(w.km, 7 * 8046.72, sums));
  EXPECT_EQ(w.limit, two_mm);
  EXPECT_EQ(w.used, 10);
  EXPECT_EQ(w.last, 180);
  EXPECT_EQ(w.status, WearStatus::from_readings);
}

TEST(Wear, QuantilesStandInOrderRoundTheMedian) {
  const Line w = line(worn(straight(0, 18.0, 10), 180));
  for (std::size_t q = 1; q < 7; ++q) {
    EXPECT_GT(w.all_days[q], w.all_days[q - 1]);
    EXPECT_GT(w.all_km[q], w.all_km[q - 1]);
  }
  EXPECT_GT(w.all_days[0], 0.0);
}

TEST(Wear, LaterAsOfCountsFromThatDay) {
  const auto rows = straight(0, 18.0, 10);
  const Line w = line(worn(rows, 200));
  EXPECT_TRUE(near(w.depth, 8 * step_mm, sums));
  EXPECT_TRUE(near(w.days, 120.0, sums));
  EXPECT_TRUE(near(w.km, 6 * 8046.72, sums));
  EXPECT_EQ(w.last, 180);
}

TEST(Wear, ReadingsAfterAsOfAreLeftOut) {
  const Line w = line(worn(straight(0, 18.0, 10), 80));
  EXPECT_EQ(w.used, 5);
  EXPECT_TRUE(near(w.depth, 14 * step_mm, sums));
}

TEST(Wear, WithoutOdometerByTheDay) {
  const Line w = line(worn(without_odometer(straight(0, 18.0, 10)), 180));
  EXPECT_TRUE(std::isnan(w.per_km));
  EXPECT_TRUE(std::isnan(w.km));
  EXPECT_TRUE(near(w.per_day, step_mm / 20.0, sums));
  EXPECT_TRUE(near(w.days, 140.0, sums));
}

TEST(Wear, HigherLimitIsReachedSooner) {  // a pull depth of 6/32 leaves 3/32
  const Line w = line(worn(straight(0, 18.0, 10), 180, {six_mm}));
  EXPECT_TRUE(near(w.days, 60.0, sums));
  EXPECT_EQ(w.limit, six_mm);
}

TEST(Wear, EachPositionHasItsOwnLimit) {
  const WearTable t = worn(joined(straight(0, 18.0, 10), straight(1, 18.0, 10)), 180, {two_mm, four_mm});
  EXPECT_TRUE(near(line(t, 0).days, 140.0, sums));
  EXPECT_TRUE(near(line(t, 1).days, 100.0, sums));
}

// ---- several grooves

// Grooves at d, d and d - 3: the shallowest lies 2/32 below their mean. Its offset is shrunk by the share of
// noise (one step over sqrt 12, squared, over ten visits) in what is seen: 0.0525/10/(1.5 x 0.79375 x ...)^2,
// below 0.3 %.
TEST(Wear, ShallowestGrooveDecides) {
  auto rows = straight(0, 18.0, 10);
  for (Row& r : rows) {
    r.tread = {r.tread[0], r.tread[0], r.tread[0] - 3.0};
  }
  const Line w = line(worn(rows, 180));
  EXPECT_TRUE(near(w.depth, 6 * step_mm, {.absolute = 0.003 * 2 * step_mm}));
  EXPECT_TRUE(near(w.days, 80.0, {.absolute = 0.003 * 2 * 20.0}));
}

// A table has a column for each groove of the widest tire; a narrower one leaves it empty. A groove without
// an indicator is not measured. Neither may hide an uneven tire.
TEST(Wear, GrooveThatATireDoesNotHaveHidesNothing) {
  auto three = straight(0, 18.0, 10);
  for (Row& r : three) {
    r.tread = {r.tread[0], r.tread[0], r.tread[0] - 3.0};
  }
  auto four = three, unbarred = three;
  for (std::size_t i = 0; i < three.size(); ++i) {
    four[i].tread = {three[i].tread[0], missing, three[i].tread[1], three[i].tread[2]};
    unbarred[i].tread = {three[i].tread[0], 1.0, three[i].tread[1], three[i].tread[2]};
    unbarred[i].barred = 0b1101;
  }
  const Line expected = line(worn(three, 180));
  for (const auto& rows : {four, unbarred}) {
    const Line w = line(worn(rows, 180));
    EXPECT_EQ(w.depth, expected.depth);
    EXPECT_EQ(w.days, expected.days);
  }
}

TEST(Wear, GrooveUnreadNowAndThenKeepsItsOffset) {
  auto rows = straight(0, 18.0, 10);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double d = rows[i].tread[0];
    rows[i].tread = {d, d, i % 3 == 2 ? missing : d - 3.0};
  }
  EXPECT_TRUE(near(line(worn(rows, 180)).depth, 6 * step_mm, {.absolute = 0.005 * 2 * step_mm}));
}

// ---- few readings

TEST(Wear, TireSeenOnceIsAnsweredFromItsGroup) {
  const WearTable t = worn(joined(straight(0, 18.0, 10), {{.position = 1, .day = 180, .tread = {12.0}}}), 180,
                           {two_mm, two_mm});
  const Line w = line(t, 1);
  EXPECT_EQ(w.used, 1);
  EXPECT_EQ(w.status, WearStatus::from_group);
  EXPECT_TRUE(near(w.depth, 12 * step_mm, sums));
  EXPECT_TRUE(near(w.per_km, mm_per_km, sums));
  // 200 days at the group's rate. Rates below zero, some 5 % of a normal law as wide as this group's, are not
  // believed: with that share taken off, the median moves to the fast side, by less than 5 %.
  EXPECT_LT(w.days, 200.0);
  EXPECT_GT(w.days, 190.0);
  const Line seen_often = line(t, 0);  // width says how little is known
  EXPECT_GT(w.all_days[5] - w.all_days[1], 3.0 * (seen_often.all_days[5] - seen_often.all_days[1]));
}

TEST(Wear, GroupSpeaksOnlyForItsOwnRoleAndKind) {
  // The prior is twice too fast; ten drive tires correct it for drive tires, not for the steer tire.
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 10; ++p) {
    rows = joined(rows, straight(p, 18.0, 10));
  }
  rows.push_back({.position = 10, .day = 180, .tread = {12.0}});
  rows.push_back({.position = 11, .day = 180, .tread = {12.0}});
  Table table(rows);
  PositionColumns positions{.facts = std::vector<PositionFacts>(12, tractor_drive)};
  positions.facts[11] = tractor_steer;
  const std::vector<double> limits(12, two_mm);
  const std::vector<std::int32_t> units(12, 0);
  const WearPrior prior = prior_of(2 * mm_per_km, km_per_day);
  const WearTable t = wear(table.columns, positions, units, 1, limits, prior, {.as_of = 180});
  EXPECT_TRUE(
      near(line(t, 10).per_km, (10.0 + 0.5 * 2.0) / 10.5 * mm_per_km, sums));  // ten of one, half of two
  EXPECT_TRUE(near(line(t, 11).per_km, 2.0 * mm_per_km, sums));
}

// ---- states

TEST(Wear, AtItsLimit) {
  const Line w = line(worn(straight(0, 10.0, 10), 180));  // 10/32 to 1/32
  EXPECT_EQ(w.status, WearStatus::at_limit);
  EXPECT_EQ(w.days, 0.0);
  EXPECT_EQ(w.km, 0.0);
  EXPECT_TRUE(near(w.depth, step_mm, sums));
}

TEST(Wear, DepthDoesNotFallBelowNothing) {
  EXPECT_EQ(line(worn(straight(0, 10.0, 10), 180 + 400)).depth, 0.0);
}

TEST(Wear, NotWithinTenYears) {
  std::vector<Row> rows;
  for (int i = 0; i < 10; ++i) {  // a yard tractor: 10 mi a day, 1/32 in over 50 000 mi
    rows.push_back({.day = 20 * i, .tread = {18.0 - 0.004 * i}, .odometer = 200.0 * i});
  }
  const Line w = line(worn(rows, 180, {two_mm}, prior_of(mm_per_km / 10.0, 16.0)));
  EXPECT_EQ(w.status, WearStatus::not_within_horizon);
  EXPECT_TRUE(std::isnan(w.days));
  EXPECT_GT(w.km, 0.0);  // the distance is known all the same
}

TEST(Wear, WithoutALimitThereIsARateAndNoDate) {
  const Line w = line(worn(straight(0, 18.0, 10), 180, {missing}));
  EXPECT_EQ(w.status, WearStatus::no_limit);
  EXPECT_TRUE(std::isnan(w.days));
  EXPECT_TRUE(std::isnan(w.km));
  EXPECT_TRUE(near(w.per_km, mm_per_km, sums));
}

TEST(Wear, RemovedTireHasNoRow) {
  auto rows = straight(0, 18.0, 10);
  rows.push_back({.day = 190, .event = Event::removed});
  EXPECT_TRUE(worn(rows, 190).position.empty());
  EXPECT_EQ(worn(rows, 189).position.size(), 1U);
  rows.back().tread = {8.5};  // its depth read on the way out is no new tire
  EXPECT_TRUE(worn(rows, 190).position.empty());
}

TEST(Wear, NewTireBeginsANewLine) {
  auto rows = straight(0, 9.0, 7);
  for (Row r : straight(0, 18.0, 4, 140'000.0)) {
    r.day += 160;
    rows.push_back(r);
  }
  const Line w = line(worn(rows, 220));
  EXPECT_EQ(w.begun, Begun::rise);
  EXPECT_EQ(w.fitted, 160);
  EXPECT_EQ(w.used, 4);
  EXPECT_TRUE(near(w.depth, 15 * step_mm, sums));
}

TEST(Wear, FirstReadingSaysNothingOfTheFitting) {
  EXPECT_EQ(line(worn(straight(0, 18.0, 4), 60)).fitted, std::numeric_limits<std::int32_t>::min());
  auto rows = straight(0, 18.0, 4);
  rows[0].event = Event::fitted;
  EXPECT_EQ(line(worn(rows, 60)).fitted, 0);
}

TEST(Wear, PositionWithoutTreadHasNoRow) {
  EXPECT_TRUE(worn({{.pressure = 100.0, .odometer = 5.0}}, 0).position.empty());
  EXPECT_TRUE(worn({{.tread = {1.0}, .barred = 0}}, 0).position.empty());
}

// ---- robustness

TEST(Wear, OneMisreadMovesTheDateLittle) {
  auto rows = straight(0, 24.0, 12);
  rows[5].tread = {9.0};  // 19 was meant
  const Line w = line(worn(rows, 220));
  EXPECT_EQ(w.used, 12);
  EXPECT_TRUE(near(w.depth, 13 * step_mm, {.absolute = step_mm}));
  EXPECT_TRUE(near(w.days, 220.0, {.relative = 0.1}));
}

TEST(Wear, TypingErrorInAnOdometerMovesNothing) {
  auto rows = straight(0, 18.0, 10);
  rows[4].odometer *= 10.0;
  const Line w = line(worn(rows, 180));  // the place of that reading is taken from its neighbours
  EXPECT_TRUE(near(w.per_km, mm_per_km, sums));
  EXPECT_TRUE(near(w.days, 140.0, sums));
}

TEST(Wear, DoesNotDependOnTheOrderOfRows) {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 6; ++p) {
    for (int i = 0; i < 4 + p; ++i) {  // wear of its own, a bend and some scatter
      const double d = 18.0 - (0.8 + 0.1 * p) * i + 0.3 * ((7 * i + 3 * p) % 5 - 2);
      rows.push_back({.position = p,
                      .day = 20 * i + p,
                      .tread = {d, d - 0.5, i % 4 == 3 ? missing : d - 1.0},
                      .odometer = 1000.0 * p + 5200.0 * i + 300.0 * (i % 3)});
    }
  }
  const std::vector<std::int32_t> units{0, 0, 0, 1, 1, 2};
  const std::vector<double> limits(6, two_mm);
  const WearTable expected = worn(rows, 300, limits, agreeing, units);
  ASSERT_EQ(expected.position.size(), 6U);
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const WearTable t = worn(shuffled(rows, seed), 300, limits, agreeing, units);
    EXPECT_EQ(t.position, expected.position);
    EXPECT_EQ(t.depth_mm, expected.depth_mm);
    EXPECT_EQ(t.rate_mm_per_km, expected.rate_mm_per_km);
    EXPECT_EQ(t.rate_se_mm_per_km, expected.rate_se_mm_per_km);
    EXPECT_EQ(t.rate_se_mm_per_day, expected.rate_se_mm_per_day);
    for (std::size_t q = 0; q < 7; ++q) {
      EXPECT_EQ(t.remaining_days[q], expected.remaining_days[q]);
      EXPECT_EQ(t.remaining_km[q], expected.remaining_km[q]);
    }
  }
}

// ---- the legal minimum

namespace {

std::vector<double> minima(const std::vector<LimitRow>& rows, const std::vector<PositionFacts>& positions) {
  const PositionColumns columns{.facts = positions};
  return legal_minimum_mm(rows, facts_of(columns).list, positions.size());
}

}  // namespace

TEST(Wear, LegalMinimum) {  // 49 CFR 393.75(b), (c); 49 CFR 396 Appendix A, item 10
  const std::vector<PositionFacts> positions{tractor_steer,
                                             tractor_drive,
                                             trailer_front,
                                             dolly_front,
                                             facts(UnitKind::truck, AxleRole::steer, 2),
                                             {-1, -1, 1},
                                             {-1, -1, 2},
                                             {-1, static_cast<std::int8_t>(AxleRole::drive), 2}};
  const auto mm = minima(federal_rows(), positions);
  // Of a unit of unknown kind, an axle 2 may steer, but not where it drives.
  const std::vector<double> expected{four_mm, two_mm, two_mm, two_mm, four_mm, four_mm, four_mm, two_mm};
  ASSERT_EQ(mm.size(), expected.size());
  for (std::size_t i = 0; i < mm.size(); ++i) {
    EXPECT_TRUE(near(mm[i], expected[i], roundings(2))) << i;
  }
}

TEST(Wear, LegalMinimumIsOfViolationsOnly) {
  std::vector<LimitRow> rows{
      {.id = "own", .severity = Severity::own, .amount = amount("6", Measure::thirty_seconds)}};
  EXPECT_TRUE(std::isnan(minima(rows, {tractor_drive})[0]));
  rows.push_back({.id = "law", .amount = amount("1.6", Measure::millimetre)});
  EXPECT_EQ(minima(rows, {tractor_drive})[0], 1.6);
  EXPECT_TRUE(std::isnan(minima({}, {tractor_drive})[0]));
  const LimitRow bad{.id = "bad", .amount = amount("two", Measure::millimetre)};
  EXPECT_THROW(minima({bad}, {tractor_drive}), LimitError);
}

// Every way to state how deep one tire's tread must be: 1.6 mm by the lowest groove (Japan, detail notice
// arts. 89, 167), 1 mm over three quarters of the breadth (UK, C&U Regulations 1986 reg. 27(1)(g)), 1 mm by
// points round the tire (France, JORFARTI000038987859). Two grooves side by side say nothing of one.
TEST(Wear, LegalMinimumOfEachStatisticOfOneTire) {
  const auto of = [](Statistic statistic, const char* mm) {
    const LimitRow row{.id = "row", .statistic = statistic, .amount = amount(mm, Measure::millimetre)};
    return minima({row}, {tractor_drive})[0];
  };
  EXPECT_EQ(of(Statistic::lowest_any_groove, "1.6"), 1.6);
  EXPECT_EQ(of(Statistic::three_quarter_band, "1"), 1.0);
  EXPECT_EQ(of(Statistic::second_lowest_of_four, "1"), 1.0);
  EXPECT_TRUE(std::isnan(of(Statistic::adjacent_pair, "1")));
  EXPECT_TRUE(std::isnan(of(Statistic::axle_depth, "5")));
}

// A row that rests on memory fails no reading, so no tire is followed to it.
TEST(Wear, LegalMinimumIsNotOfUnconfirmedRows) {
  const LimitRow memory{.id = "memory", .amount = amount("3.2", Measure::millimetre), .unconfirmed = true};
  EXPECT_TRUE(std::isnan(minima({memory}, {tractor_drive})[0]));
}
