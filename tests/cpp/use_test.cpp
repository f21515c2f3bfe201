// Odometer tracks and the distance a day. 1 mile = 1.609344 km (NIST SP 811).
#include "wheelend/use.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "fleet.hpp"
#include "near.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr Measures in_km{.odometer = Measure::kilometre};
const std::vector<std::int32_t> one_unit{0, 0};  // two positions of one unit

Track track_of(const std::vector<Row>& rows, std::int32_t as_of = 10'000) {
  Table table(rows, in_km);
  table.mark_conflicts(2);
  return odometer_tracks(table.columns, one_unit, 1, as_of)[0];
}
std::vector<std::uint8_t> out_of_line(const std::vector<Row>& rows) {
  Table table(rows, in_km);
  table.mark_conflicts(2);
  return odometers_out_of_line(table.columns, one_unit, 1);
}

std::vector<Row> weekly(const std::vector<double>& km) {
  std::vector<Row> rows;
  for (const double x : km) {
    rows.push_back({.day = static_cast<std::int32_t>(7 * rows.size()), .odometer = x});
  }
  return rows;
}
using Flags = std::vector<std::uint8_t>;

}  // namespace

TEST(Use, TrackIsTheUnitsReadingsInTheOrderOfTime) {
  const Track t = track_of({{.day = 14, .odometer = 1200.0},
                            {.position = 1, .day = 0, .odometer = 1000.0},
                            {.position = 0, .day = 0, .odometer = 1000.0},  // the same, at another wheel
                            {.day = 7, .odometer = missing}});
  EXPECT_EQ(t.day, (std::vector<double>{0.0, 14.0}));
  EXPECT_EQ(t.km, (std::vector<double>{1000.0, 1200.0}));
}

TEST(Use, UnitsHaveTracksOfTheirOwn) {
  const std::vector<std::int32_t> units{1, 0};
  const Table table({{.position = 0, .odometer = 10.0}, {.position = 1, .odometer = 20.0}}, in_km);
  const auto t = odometer_tracks(table.columns, units, 3, 10);
  EXPECT_EQ(t[0].km, (std::vector<double>{20.0}));
  EXPECT_EQ(t[1].km, (std::vector<double>{10.0}));
  EXPECT_FALSE(t[2].any());
  EXPECT_TRUE(std::isnan(t[1].km_per_day));
}

TEST(Use, MilesBecomeKilometres) {
  const Table table(Row{.odometer = 100'000.0});
  EXPECT_TRUE(near(odometer_tracks(table.columns, one_unit, 1, 10)[0].km[0], 160'934.4, roundings(2)));
}

TEST(Use, ReadingsAfterAsOfAreLeftOut) {
  EXPECT_EQ(track_of(weekly({100, 200, 300}), 7).km, (std::vector<double>{100.0, 200.0}));
}

TEST(Use, NoOdometerNoTrack) {
  Table table(Row{.tread = {5.0}});
  table.columns.odometer.values = {};
  EXPECT_FALSE(odometer_tracks(table.columns, one_unit, 1, 10)[0].any());
  EXPECT_EQ(odometers_out_of_line(table.columns, one_unit, 1), (Flags{0}));
}

// ---- odometers that cannot stand together

TEST(Use, TypingErrorIsLeftOut) {
  const auto high = weekly({100'000, 101'000, 1'020'000, 103'000, 104'000});  // a digit too many
  EXPECT_EQ(track_of(high).km, (std::vector<double>{100'000, 101'000, 103'000, 104'000}));
  EXPECT_EQ(out_of_line(high), (Flags{0, 0, 1, 0, 0}));
  const auto low = weekly({100'000, 101'000, 10'200, 103'000, 104'000});
  EXPECT_EQ(track_of(low).km, (std::vector<double>{100'000, 101'000, 103'000, 104'000}));
  EXPECT_EQ(out_of_line(low), (Flags{0, 0, 1, 0, 0}));
}

TEST(Use, FirstReadingMayBeTheWrongOne) {
  EXPECT_EQ(out_of_line(weekly({900'000, 101'000, 102'000, 103'000})), (Flags{1, 0, 0, 0}));
}

// A vehicle cannot go 10 000 km in two days; it can in seven.
TEST(Use, DistanceNoVehicleCanGoIsOutOfLine) {
  const std::vector<Row> jump{{.day = 0, .odometer = 1000.0},
                              {.day = 2, .odometer = 11'000.0},
                              {.day = 3, .odometer = 1500.0},
                              {.day = 4, .odometer = 1900.0}};
  EXPECT_EQ(out_of_line(jump), (Flags{0, 1, 0, 0}));
  EXPECT_EQ(out_of_line(weekly({1000, 11'000, 12'000})), (Flags{0, 0, 0}));
}

TEST(Use, ResetKeepsTheLongerSide) {  // a new instrument starts at zero
  EXPECT_EQ(out_of_line(weekly({500'000, 501'000, 0, 1000, 2000, 3000})), (Flags{1, 1, 0, 0, 0, 0}));
  EXPECT_EQ(out_of_line(weekly({500'000, 501'000, 502'000, 503'000, 0, 1000})), (Flags{0, 0, 0, 0, 1, 1}));
}

TEST(Use, OfTwoAsLongTheLaterStays) {
  EXPECT_EQ(track_of(weekly({500'000, 501'000, 0, 1000})).km, (std::vector<double>{0.0, 1000.0}));
}

// Two values for one key: neither wins. The disagreement has a note of its own.
TEST(Use, OdometersThatDisagreeAreKeptOutOfTracks) {
  auto rows = weekly({1000, 2000, 3000});
  rows.push_back({.day = 7, .odometer = 2500.0});
  EXPECT_EQ(track_of(rows).km, (std::vector<double>{1000.0, 3000.0}));
  EXPECT_EQ(out_of_line(rows), (Flags{0, 0, 0, 0}));
}

TEST(Use, RowsThatAreNotUsedAreNotFlagged) {
  auto rows = weekly({100, 200, 300});
  rows.push_back({.position = -1, .day = 3, .odometer = 9e9});
  EXPECT_EQ(out_of_line(rows), (Flags{0, 0, 0, 0}));
}

TEST(Use, TracksDoNotDependOnTheOrderOfRows) {
  const auto rows = weekly({100'000, 101'000, 1'020'000, 103'000, 90, 104'000, 105'500, 105'500});
  const Track expected = track_of(rows);
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Track t = track_of(shuffled(rows, seed));
    EXPECT_EQ(t.km, expected.km);
    EXPECT_EQ(t.day, expected.day);
    EXPECT_EQ(t.km_per_day, expected.km_per_day);
  }
}

// ---- between and beyond

TEST(Use, OdometerAtADay) {
  const Track t = track_of(weekly({1000, 1700, 1700, 3100}));
  EXPECT_EQ(t.at(7.0, 50.0), 1700.0);
  EXPECT_TRUE(near(t.at(3.5, 50.0), 1350.0, roundings(4)));
  EXPECT_EQ(t.at(10.0, 50.0), 1700.0);
  EXPECT_EQ(t.at(-2.0, 50.0), 900.0);
  EXPECT_EQ(t.at(23.0, 50.0), 3200.0);
}

// ---- use

TEST(Use, SteadyUse) {
  const Track t =
      track_of(weekly({0, 700, 1400, 2100, 2800, 3500, 4200, 4900, 5600, 6300, 7000, 7700, 8400}));
  EXPECT_TRUE(near(t.km_per_day, 100.0, roundings(20)));
  EXPECT_TRUE(
      near(t.km_per_day_se, 0.0, {.absolute = 100.0 * 1e-12}));  // rounding of the blocks' means alone
}

TEST(Use, OnlyTheLastYearCounts) {
  std::vector<Row> rows;
  double km = 0.0;
  for (std::int32_t day = 0; day <= 730; day += 5) {
    rows.push_back({.day = day, .odometer = km});
    km += day < 365 ? 500.0 : 1500.0;  // 100, then 300 a day
  }
  EXPECT_TRUE(near(track_of(rows).km_per_day, 300.0, roundings(400)));
}

TEST(Use, BelowTwoWeeksNothingIsSaid) {
  EXPECT_TRUE(
      std::isnan(track_of({{.day = 0, .odometer = 0.0}, {.day = 13, .odometer = 1300.0}}).km_per_day));
  EXPECT_TRUE(near(track_of({{.day = 0, .odometer = 0.0}, {.day = 14, .odometer = 1400.0}}).km_per_day, 100.0,
                   roundings(4)));
}

// Two readings show one mean and no spread: straight lines between them must not pass for steady use.
TEST(Use, TwoReadingsShowNoSpread) {
  const Track t = track_of({{.day = 0, .odometer = 0.0}, {.day = 360, .odometer = 36'000.0}});
  EXPECT_TRUE(near(t.km_per_day, 100.0, roundings(4)));
  // 0.3 of the use for one block (common practice, no source), and sqrt(1 + 1/3) for its mean and three
  // months ahead
  EXPECT_TRUE(near(t.km_per_day_se, 30.0 * std::sqrt(4.0 / 3.0), roundings(10)));
}

// Months of 50 and 150 km a day in turn: sd of twelve such is 50 sqrt(12/11), and the mean of the coming
// three months may lie off by that times sqrt(1/12 + 1/3).
TEST(Use, ErrorOfTheComingMonths) {
  std::vector<Row> rows;
  double km = 0.0;
  const double month = 365.0 / 12.0;
  for (int i = 0; i <= 12; ++i) {
    const double day = i * month;
    rows.push_back(
        {.day = static_cast<std::int32_t>(day), .odometer = km, .hour = 24.0 * (day - std::floor(day))});
    km += month * (i % 2 == 0 ? 50.0 : 150.0);
  }
  const Track t = track_of(rows);
  EXPECT_TRUE(near(t.km_per_day, 100.0, {.relative = 1e-9}));  // times are kept to the microsecond
  EXPECT_TRUE(near(t.km_per_day_se, 50.0 * std::sqrt(12.0 / 11.0) * std::sqrt(1.0 / 12.0 + 1.0 / 3.0),
                   {.relative = 1e-8}));
}
