// How the depths of one inspection become the value that a rule compares: rules of other countries than the
// United States. Sources: UK, Road Vehicles (Construction and Use) Regulations 1986, reg. 27(1)(g); France,
// order JORFARTI000038987859; Japan, detail notice to the Safety Standards, arts. 89 and 167.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "fleet.hpp"
#include "verdict_lines.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

LimitRow rule(Statistic statistic, const char* mm) {
  return {.id = "rule", .statistic = statistic, .amount = amount(mm, Measure::millimetre)};
}

// The one row on one drive tire.
Line said(const LimitRow& row, const Table& table) {
  return Verdicts(table, {.facts = {tractor_drive}}, {}, long_after, {row}).line(0);
}

// Depths in mm, one row a place round the tire.
Table round_the_tire(const std::vector<std::vector<double>>& places) {
  std::vector<Row> rows;
  for (std::size_t i = 0; i < places.size(); ++i) {
    rows.push_back({.tread = places[i], .place = static_cast<std::int32_t>(i + 1)});
  }
  return Table(rows, {.tread = Measure::millimetre});
}

// ---- four points

Line four_points(const std::vector<double>& mm) {
  std::vector<std::vector<double>> places;
  for (const double depth : mm) {
    places.push_back({depth});
  }
  return said(rule(Statistic::second_lowest_of_four, "1"), round_the_tire(places));
}

// ---- three quarters of the breadth

// Grooves of one tire at these percents of the breadth.
Line band(const std::vector<double>& percent, const std::vector<double>& mm) {
  Table table(Row{.tread = mm, .across = 0}, {.tread = Measure::millimetre});
  table.columns.across_sets = {percent};
  return said(rule(Statistic::three_quarter_band, "1"), table);
}

}  // namespace

// "At most one of four points evenly round the tyre may be under 1 mm."
TEST(FourPoints, AtMostOneMayBeLow) {
  EXPECT_EQ(four_points({1.2, 1.1, 0.9, 1.0}).verdict, Verdict::pass);
  EXPECT_EQ(four_points({0.9, 0.9, 1.3, 1.4}).verdict, Verdict::fail);
  EXPECT_EQ(four_points({1.0, 1.0, 1.0, 1.0}).verdict, Verdict::pass);  // "under": at 1 mm it is not
  EXPECT_EQ(four_points({0.999, 1.0, 0.999, 1.0}).verdict, Verdict::fail);
}

TEST(FourPoints, SecondLowestDecides) {
  const Line line = four_points({1.4, 0.3, 1.2, 0.9});
  EXPECT_EQ(line.reading, 0.9);
  EXPECT_EQ(line.place, 4);
  EXPECT_EQ(line.verdict, Verdict::fail);
}

TEST(FourPoints, MoreThanFourAreMoreChances) {
  EXPECT_EQ(four_points({2.0, 0.5, 2.0, 2.0, 2.0}).verdict, Verdict::pass);
  EXPECT_EQ(four_points({2.0, 0.5, 2.0, 0.5, 2.0}).verdict, Verdict::fail);
}

// The point that is missing may be low, or not: it leaves open what the others do not settle.
TEST(FourPoints, ThreeDecideUnlessOneIsLow) {
  EXPECT_EQ(four_points({1.2, 1.1, 1.0}).verdict, Verdict::pass);
  EXPECT_EQ(four_points({0.9, 0.9, 1.3}).verdict, Verdict::fail);
  const Line open = four_points({1.2, 0.9, 1.3});
  EXPECT_EQ(open.verdict, Verdict::no_verdict);
  EXPECT_TRUE(open.noted(Note::fewer_than_four_places));
}

TEST(FourPoints, TwoDecideOnlyWhereBothAreLow) {
  EXPECT_EQ(four_points({0.9, 0.9}).verdict, Verdict::fail);
  EXPECT_EQ(four_points({0.9, 5.0}).verdict, Verdict::no_verdict);
  EXPECT_EQ(four_points({5.0, 5.0}).verdict, Verdict::no_verdict);  // the other two may both be low
  EXPECT_EQ(four_points({0.1}).verdict, Verdict::no_verdict);
  EXPECT_EQ(four_points({5.0}).verdict, Verdict::no_verdict);
}

TEST(FourPoints, OfAPointItsLowestGrooveCounts) {
  const LimitRow row = rule(Statistic::second_lowest_of_four, "1");
  EXPECT_EQ(said(row, round_the_tire({{2.0, 0.9}, {2.0, 2.0}, {0.9, 2.0}, {2.0, 2.0}})).verdict,
            Verdict::fail);
  EXPECT_EQ(said(row, round_the_tire({{0.9, 0.9}, {2.0, 2.0}, {2.0, 2.0}, {2.0, 2.0}})).verdict,
            Verdict::pass);  // one point, however many of its grooves
}

TEST(FourPoints, PointWithoutAMainGrooveIsNone) {
  std::vector<Row> rows;
  for (std::int32_t place = 1; place <= 4; ++place) {
    rows.push_back({.tread = {0.9}, .place = place, .barred = place == 1 ? all_grooves : 0});
  }
  const Line line =
      said(rule(Statistic::second_lowest_of_four, "1"), Table(rows, {.tread = Measure::millimetre}));
  EXPECT_EQ(line.verdict, Verdict::no_verdict);
  EXPECT_TRUE(line.noted(Note::fewer_than_four_places));
}

TEST(FourPoints, DoNotDependOnTheOrderOfRows) {
  const std::vector<double> points{1.4, 0.3, 1.2, 0.9, 2.0};
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Line line = four_points(shuffled(points, seed));
    EXPECT_EQ(line.verdict, Verdict::fail);
    EXPECT_EQ(line.reading, 0.9);
  }
}

// "1 mm throughout a continuous band of at least three quarters of the breadth of the tread and round the
// entire circumference": not necessarily the central three quarters.

TEST(Band, WhereEveryGrooveIsDeepEnough) {
  EXPECT_EQ(band({10, 30, 50, 70, 90}, {1.0, 1.0, 1.0, 1.0, 1.0}).verdict, Verdict::pass);
}

TEST(Band, MayLeaveOutAShoulder) {
  EXPECT_EQ(band({10, 30, 50, 70, 90}, {0.2, 5.0, 5.0, 5.0, 5.0}).verdict, Verdict::pass);
  EXPECT_EQ(band({10, 30, 50, 70, 90}, {5.0, 5.0, 5.0, 5.0, 0.2}).verdict, Verdict::pass);
  // 75 % fit between 10 and 90 ...
  EXPECT_EQ(band({10, 30, 50, 70, 90}, {0.2, 5.0, 5.0, 5.0, 0.2}).verdict, Verdict::pass);
  // ... and not between 20 and 80.
  EXPECT_EQ(band({20, 40, 60, 80}, {0.2, 5.0, 5.0, 0.2}).verdict, Verdict::fail);
}

TEST(Band, CannotLeaveOutTheMiddle) {
  const Line line = band({10, 30, 50, 70, 90}, {5.0, 5.0, 0.9, 5.0, 5.0});
  EXPECT_EQ(line.verdict, Verdict::fail);
  EXPECT_EQ(line.reading, 0.9);
  EXPECT_EQ(line.groove, 2);
}

// At a quarter of the breadth a groove lies in every band, on either side.
TEST(Band, CannotLeaveOutAGrooveAtAQuarter) {
  EXPECT_EQ(band({25, 50, 74}, {0.5, 5.0, 5.0}).verdict, Verdict::fail);
  EXPECT_EQ(band({26, 50, 75}, {5.0, 5.0, 0.5}).verdict, Verdict::fail);
  EXPECT_EQ(band({24.9, 50, 74}, {0.5, 5.0, 5.0}).verdict, Verdict::pass);
  EXPECT_EQ(band({26, 50, 75.1}, {5.0, 5.0, 0.5}).verdict, Verdict::pass);
}

// By the definition: bands that begin at every half percent. Grooves lie at whole percents, so no band of
// another beginning holds fewer of them.
TEST(Band, IsTheBestOfAllThereAre) {
  std::mt19937 next(7);
  int passed = 0, failed = 0;
  for (int trial = 0; trial < 400; ++trial) {
    std::vector<double> at, mm;
    for (std::size_t g = 0; g < 3 + next() % 4; ++g) {
      at.push_back(static_cast<double>(next() % 101));
      mm.push_back(next() % 3 == 0 ? 0.5 : 1.0 + static_cast<double>(next() % 40) / 10.0);
    }
    std::sort(at.begin(), at.end());
    double best = -1.0;
    for (double begin = 0.0; begin <= 25.0; begin += 0.5) {
      double lowest = 99.0;
      for (std::size_t g = 0; g < at.size(); ++g) {
        if (at[g] >= begin && at[g] <= begin + 75.0) {
          lowest = std::min(lowest, mm[g]);
        }
      }
      best = lowest == 99.0 ? best : std::max(best, lowest);
    }
    const Line line = band(at, mm);
    if (best < 0.0) {
      continue;  // no groove in any band
    }
    EXPECT_EQ(line.reading, best) << "trial " << trial;
    EXPECT_EQ(line.verdict, best >= 1.0 ? Verdict::pass : Verdict::fail);
    ++(best >= 1.0 ? passed : failed);
  }
  EXPECT_GT(passed, 50);
  EXPECT_GT(failed, 50);
}

TEST(Band, GoesRoundTheEntireTire) {
  Table table({{.tread = {5.0, 5.0, 5.0}, .place = 1, .across = 0},
               {.tread = {5.0, 0.9, 5.0}, .place = 2, .across = 0}},
              {.tread = Measure::millimetre});
  table.columns.across_sets = {{10, 50, 90}};
  EXPECT_EQ(said(rule(Statistic::three_quarter_band, "1"), table).verdict, Verdict::fail);
}

// Low at one place in the one shoulder and at another place in the other: a band may avoid both here.
TEST(Band, IsTheSameAllTheWayRound) {
  Table table({{.tread = {0.2, 5.0, 5.0}, .place = 1, .across = 0},
               {.tread = {5.0, 5.0, 0.2}, .place = 2, .across = 0}},
              {.tread = Measure::millimetre});
  table.columns.across_sets = {{10, 50, 90}};
  EXPECT_EQ(said(rule(Statistic::three_quarter_band, "1"), table).verdict, Verdict::pass);
  table.columns.across_sets = {{20, 50, 80}};
  EXPECT_EQ(said(rule(Statistic::three_quarter_band, "1"), table).verdict, Verdict::fail);
}

// Where it is not known how the grooves lie, only a tire decides of which every band passes, or none.
TEST(Band, OfGroovesThatAreNotPlaced) {
  const auto unplaced = [](const std::vector<double>& mm) {
    return said(rule(Statistic::three_quarter_band, "1"),
                Table(Row{.tread = mm}, {.tread = Measure::millimetre}));
  };
  EXPECT_EQ(unplaced({1.0, 5.0, 5.0}).verdict, Verdict::pass);
  EXPECT_EQ(unplaced({0.9, 0.8, 0.9}).verdict, Verdict::fail);
  EXPECT_EQ(unplaced({0.9, 0.8, 0.9}).reading, 0.9);
  const Line open = unplaced({0.9, 5.0, 5.0});
  EXPECT_EQ(open.verdict, Verdict::no_verdict);
  EXPECT_TRUE(open.noted(Note::band_not_known));
  EXPECT_FALSE(unplaced({1.0, 5.0, 5.0}).noted(Note::band_not_known));
}

TEST(Band, GrooveThatIsNotPlacedMayLieInAny) {
  EXPECT_EQ(band({10, missing, 90}, {5.0, 0.9, 5.0}).verdict, Verdict::no_verdict);
  EXPECT_EQ(band({10, missing, 90}, {5.0, 1.0, 5.0}).verdict, Verdict::pass);
  EXPECT_EQ(band({10, missing, 90}, {5.0, missing, 5.0}).verdict, Verdict::pass);  // nor read
}

TEST(Band, IsOfMainGrooves) {
  Table table(Row{.tread = {5.0, 0.5, 5.0}, .barred = 0b101, .across = 0}, {.tread = Measure::millimetre});
  table.columns.across_sets = {{10, 50, 90}};
  EXPECT_EQ(said(rule(Statistic::three_quarter_band, "1"), table).verdict, Verdict::pass);
}

// "Any recess of the pattern over the full width": wear indicators or not.
TEST(AnyGroove, CountsOneWithoutAnIndicator) {
  const Table table(Row{.tread = {1.5, 7.0, 7.0}, .barred = 0b110}, {.tread = Measure::millimetre});
  const Line any = said(rule(Statistic::lowest_any_groove, "1.6"), table);
  EXPECT_EQ(any.verdict, Verdict::fail);
  EXPECT_EQ(any.reading, 1.5);
  EXPECT_EQ(any.groove, 0);
  EXPECT_FALSE(any.noted(Note::some_without_bar));  // nothing was left out
  EXPECT_EQ(said(rule(Statistic::lowest_depth, "1.6"), table).verdict, Verdict::pass);
}

TEST(AnyGroove, CountsOnATireWithoutIndicatorsAtAll) {
  const Table table(Row{.tread = {1.6}, .barred = 0}, {.tread = Measure::millimetre});
  EXPECT_EQ(said(rule(Statistic::lowest_any_groove, "1.6"), table).verdict, Verdict::pass);
  EXPECT_EQ(said(rule(Statistic::lowest_depth, "1.6"), table).verdict, Verdict::no_verdict);
}

// A raised part of the pattern is no recess.
TEST(AnyGroove, LeavesOutWhatWasReadOnATieBar) {
  const Table table(Row{.tread = {1.0, 7.0}, .inadmissible = 0b01}, {.tread = Measure::millimetre});
  const Line any = said(rule(Statistic::lowest_any_groove, "1.6"), table);
  EXPECT_EQ(any.verdict, Verdict::pass);
  EXPECT_EQ(any.reading, 7.0);
  EXPECT_TRUE(any.noted(Note::some_inadmissible));
  const Table none(Row{.tread = {1.0, 7.0}, .inadmissible = 0b11}, {.tread = Measure::millimetre});
  EXPECT_EQ(said(rule(Statistic::lowest_any_groove, "1.6"), none).verdict, Verdict::no_verdict);
}

// The indicators of each place tell which grooves lie between which: at the second place the middle groove
// has none.
TEST(AdjacentPair, IndicatorsAreThoseOfThePlace) {
  const std::vector<Row> rows{{.tread = {5.0, 5.0, 5.0}, .place = 1},
                              {.tread = {1.0, missing, 1.0}, .place = 2, .barred = 0b101}};
  const Line line =
      said(rule(Statistic::adjacent_pair, "1.5875"), Table(rows, {.tread = Measure::millimetre}));
  EXPECT_EQ(line.verdict, Verdict::fail);
  EXPECT_EQ(line.place, 2);
}

// ---- a row that is not in force, or whose condition for a reading is not met

TEST(TreadRow, NotInForceSaysNothing) {
  const auto lines = [](const LimitRow& row, const std::vector<std::vector<double>>& places) {
    std::vector<Row> rows;
    for (std::size_t i = 0; i < places.size(); ++i) {
      rows.push_back({.day = 100, .tread = places[i], .place = static_cast<std::int32_t>(i + 1)});
    }
    return Verdicts(Table(rows, {.tread = Measure::millimetre}), {.facts = {tractor_drive}}, {}, 100, {row})
        .of(0);
  };
  const std::vector<std::vector<std::vector<double>>> tires{
      {{0.5, 0.5}, {0.5, 0.5}}, {{9.0, 9.0}, {9.0, 9.0}}, {{0.5, 9.0}}};
  for (const Statistic statistic :
       {Statistic::lowest_depth, Statistic::lowest_any_groove, Statistic::three_quarter_band,
        Statistic::second_lowest_of_four, Statistic::adjacent_pair, Statistic::adjacent_pair_three_places}) {
    LimitRow past = rule(statistic, "1"), to_come = past, now = past;
    past.until = 99;
    to_come.since = 101;
    now.since = now.until = 100;  // first and last day included
    for (const auto& tire : tires) {
      EXPECT_TRUE(lines(past, tire).empty()) << static_cast<int>(statistic);
      EXPECT_TRUE(lines(to_come, tire).empty()) << static_cast<int>(statistic);
      EXPECT_EQ(lines(now, tire).size(), 1U) << static_cast<int>(statistic);
    }
  }
}

TEST(TreadRow, NeedsThatAreNotMetGiveNoVerdict) {
  const std::vector<std::vector<std::vector<double>>> tires{
      {{0.5, 0.5}, {0.5, 0.5}}, {{9.0, 9.0}, {9.0, 9.0}}, {{0.5, 0.5}, {0.5, 0.5}, {0.5, 0.5}, {0.5, 0.5}}};
  for (const Statistic statistic :
       {Statistic::lowest_depth, Statistic::lowest_any_groove, Statistic::three_quarter_band,
        Statistic::second_lowest_of_four, Statistic::adjacent_pair, Statistic::adjacent_pair_three_places}) {
    LimitRow row = rule(statistic, "1");
    row.needs = {steers()};
    for (const auto& tire : tires) {
      EXPECT_EQ(said(row, round_the_tire(tire)).verdict, Verdict::no_verdict) << static_cast<int>(statistic);
    }
  }
}
