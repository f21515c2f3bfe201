// Fitments: where one tire ends and the next begins. 1/32 in = 0.79375 mm (NIST SP 811).
#include "wheelend/fitments.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "fleet.hpp"
#include "near.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

std::vector<Visit> visits_of(const std::vector<Row>& rows, std::int32_t as_of = 1000) {
  Table table(rows);
  table.mark_conflicts(1);
  return visits(table.columns, rows_by_position(table.columns, 1), 0, as_of);
}

std::vector<Fitment> fitments_of(const std::vector<Row>& rows) { return cut_fitments(visits_of(rows)); }

// One inspection a week with one groove, in 32nds.
std::vector<Row> weekly(const std::vector<double>& depths) {
  std::vector<Row> rows;
  for (const double d : depths) {
    rows.push_back({.day = static_cast<std::int32_t>(7 * rows.size()), .tread = {d}});
  }
  return rows;
}

// First visit of each fitment.
std::vector<std::size_t> cuts(const std::vector<Fitment>& fitments) {
  std::vector<std::size_t> out;
  for (const Fitment& f : fitments) {
    out.push_back(f.first);
  }
  return out;
}
using Cuts = std::vector<std::size_t>;

}  // namespace

// ---- visits

TEST(Fitments, VisitIsTheMeanOverPlaces) {
  const auto v = visits_of(
      {{.day = 3, .tread = {8.0, 6.0}, .place = 1}, {.day = 3, .tread = {9.0, missing}, .place = 2}});
  ASSERT_EQ(v.size(), 1U);
  EXPECT_EQ(v[0].day, 3);
  EXPECT_TRUE(near(v[0].groove_mm[0], 8.5 * 0.79375, roundings(4)));
  EXPECT_TRUE(near(v[0].groove_mm[1], 6.0 * 0.79375, roundings(4)));
}

TEST(Fitments, VisitLeavesOutWhatTheLawDoesNotMeasure) {
  const auto v = visits_of({{.tread = {8.0, 2.0, 3.0}, .barred = 0b101, .inadmissible = 0b100}});
  EXPECT_FALSE(std::isnan(v[0].groove_mm[0]));
  EXPECT_TRUE(std::isnan(v[0].groove_mm[1]));
  EXPECT_TRUE(std::isnan(v[0].groove_mm[2]));
  EXPECT_TRUE(v[0].has_tread());
}

TEST(Fitments, RowsThatDisagreeGiveNoDepth) {
  const auto v =
      visits_of({{.day = 1, .tread = {8.0}}, {.day = 1, .tread = {7.0}}, {.day = 2, .tread = {8.0}}});
  ASSERT_EQ(v.size(), 2U);
  EXPECT_FALSE(v[0].has_tread());
  EXPECT_TRUE(v[1].has_tread());
}

TEST(Fitments, VisitsEndAtAsOf) {
  EXPECT_EQ(visits_of(weekly({9, 8, 7, 6}), 13).size(), 2U);
  EXPECT_EQ(visits_of(weekly({9, 8, 7, 6}), 14).size(), 3U);
  EXPECT_TRUE(visits_of(weekly({9}), -1).empty());
  EXPECT_TRUE(cut_fitments({}).empty());
}

TEST(Fitments, TimeOfDayIsKept) {
  const auto v = visits_of({{.day = 2, .tread = {8.0}, .hour = 6.0}});
  EXPECT_EQ(v[0].time, 2.25);
}

// ---- each way to begin

TEST(Fitments, RecordBeginsWithTheFirstReading) {
  const auto f = fitments_of(weekly({9, 8, 7}));
  ASSERT_EQ(f.size(), 1U);
  EXPECT_EQ(f[0].begun, Begun::first_reading);
  EXPECT_EQ(f[0].first, 0U);
  EXPECT_EQ(f[0].last, 3U);
  EXPECT_FALSE(f[0].removed);
}

TEST(Fitments, AnotherNumberIsAnotherTire) {
  auto rows = weekly({9, 8, 8, 7, 7});
  rows[0].tire = rows[1].tire = 5;
  rows[3].tire = 6;  // no number at the visit between: it stays with the tire before
  const auto f = fitments_of(rows);
  EXPECT_EQ(cuts(f), (Cuts{0, 3}));
  EXPECT_EQ(f[1].begun, Begun::tire_number);
}

TEST(Fitments, EventBeginsAFitment) {
  for (const Event e : {Event::fitted, Event::rotated, Event::retreaded, Event::regrooved}) {
    auto rows = weekly({9, 8, 8, 7});
    rows[2].event = e;
    const auto f = fitments_of(rows);
    EXPECT_EQ(cuts(f), (Cuts{0, 2}));
    EXPECT_EQ(f[1].begun, Begun::event);
    EXPECT_FALSE(f[1].removed);
  }
}

TEST(Fitments, RiseThatTheNextInspectionConfirms) {
  const auto f = fitments_of(weekly({5, 4, 18, 17, 16}));
  EXPECT_EQ(cuts(f), (Cuts{0, 2}));
  EXPECT_EQ(f[1].begun, Begun::rise);
}

TEST(Fitments, RiseAtTheLastReadingStands) { EXPECT_EQ(cuts(fitments_of(weekly({5, 4, 18}))), (Cuts{0, 2})); }

// Two steps of the gauge are a rise at every depth: the bound must not be lost in binary fractions.
TEST(Fitments, RiseOfTwoStepsAtAnyDepth) {
  for (int depth = 1; depth <= 30; ++depth) {
    EXPECT_EQ(cuts(fitments_of(weekly({1.0 * depth, depth + 2.0, depth + 2.0}))), (Cuts{0, 1})) << depth;
    EXPECT_EQ(cuts(fitments_of(weekly({1.0 * depth, depth + 1.0, depth + 1.0}))), (Cuts{0})) << depth;
  }
}

TEST(Fitments, SeveralTiresInTurn) {
  const auto f = fitments_of(weekly({4, 18, 17, 10, 4, 19, 18}));
  EXPECT_EQ(cuts(f), (Cuts{0, 1, 5}));
  EXPECT_EQ(f[1].last, 5U);
}

TEST(Fitments, RiseIsTheMeanOverGroovesThatBothVisitsRead) {
  std::vector<Row> rows{{.day = 0, .tread = {5.0, 5.0, missing}},
                        {.day = 7, .tread = {5.0, 6.0, 18.0}},
                        {.day = 14, .tread = {5.0, 5.0, 18.0}}};
  EXPECT_EQ(cuts(fitments_of(rows)), (Cuts{0}));  // the third groove was not read before
}

// ---- misreads

TEST(Fitments, SingleHighMisreadDoesNotCut) {
  EXPECT_EQ(cuts(fitments_of(weekly({10, 9, 19, 9, 8}))), (Cuts{0}));
}

TEST(Fitments, SingleLowMisreadDoesNotCut) {
  EXPECT_EQ(cuts(fitments_of(weekly({12, 11, 3, 10, 10}))), (Cuts{0}));
  EXPECT_EQ(cuts(fitments_of(weekly({12, 11, 3, 10}))), (Cuts{0}));
}

TEST(Fitments, NewTireAfterALowMisreadIsStillSeen) {
  EXPECT_EQ(cuts(fitments_of(weekly({12, 11, 3, 18, 17}))), (Cuts{0, 3}));
}

// ---- removed

TEST(Fitments, RemovedEndsAFitment) {
  auto rows = weekly({9, 8});
  rows.push_back({.day = 14, .event = Event::removed});
  EXPECT_TRUE(fitments_of(rows).back().removed);
  rows.push_back({.day = 21, .tread = {8.0}});  // whatever the depth, it is another tire or the same put back
  const auto f = fitments_of(rows);
  EXPECT_FALSE(f.back().removed);
  EXPECT_EQ(f.back().first, 3U);
  EXPECT_EQ(f.back().begun, Begun::event);
}

// The depth in a row that says "removed" is that of the tire that leaves.
TEST(Fitments, DepthReadAtRemovalBelongsToTheTireThatLeaves) {
  auto rows = weekly({9, 8, 4});
  rows[2].event = Event::removed;
  const auto gone = fitments_of(rows);
  ASSERT_EQ(gone.size(), 1U);
  EXPECT_TRUE(gone[0].removed);
  EXPECT_EQ(gone[0].last, 3U);
  rows.push_back({.day = 21, .tread = {18.0}});
  const auto f = fitments_of(rows);
  EXPECT_EQ(cuts(f), (Cuts{0, 3}));
  EXPECT_EQ(f[1].begun, Begun::event);
  EXPECT_FALSE(f[1].removed);
}

// One visit, two rows: the old tire comes off and the new one goes on.
TEST(Fitments, RemovedAndFittedInOneVisit) {
  auto rows = weekly({9, 8});
  rows.push_back({.day = 14, .event = Event::removed});
  rows.push_back({.day = 14, .tread = {18.0}, .event = Event::fitted});
  rows.push_back({.day = 21, .tread = {18.0}});
  const auto f = fitments_of(rows);
  EXPECT_EQ(cuts(f), (Cuts{0, 2}));
  EXPECT_FALSE(f[1].removed);
  EXPECT_EQ(f[1].last, 4U);
}

TEST(Fitments, RecordThatBeginsWithARemoval) {
  const auto f =
      fitments_of({{.day = 0, .tread = {4.0}, .event = Event::removed}, {.day = 7, .tread = {18.0}}});
  EXPECT_EQ(cuts(f), (Cuts{0, 1}));
  EXPECT_TRUE(f[0].removed);
  EXPECT_FALSE(f[1].removed);
}
