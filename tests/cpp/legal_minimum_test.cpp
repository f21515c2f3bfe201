// The legal minimum of each position, to which its tire is followed. 1/32 in = 0.79375 mm (NIST SP 811).
#include <gtest/gtest.h>

#include <cmath>

#include "fleet.hpp"
#include "near.hpp"
#include "wheelend/error.hpp"
#include "wheelend/wear.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr double two_mm = 2 * 0.79375, four_mm = 4 * 0.79375;

std::vector<double> minima(const std::vector<LimitRow>& rows, const std::vector<PositionFacts>& positions) {
  const PositionColumns columns{.facts = positions};
  return legal_minimum_mm(rows, facts_of(columns).list, positions.size());
}

}  // namespace

TEST(LegalMinimum, OfEachKindAndRole) {  // 49 CFR 393.75(b), (c); 49 CFR 396 Appendix A, item 10
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

TEST(LegalMinimum, IsOfViolationsOnly) {
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
TEST(LegalMinimum, OfEachStatisticOfOneTire) {
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
TEST(LegalMinimum, IsNotOfUnconfirmedRows) {
  const LimitRow memory{.id = "memory", .amount = amount("3.2", Measure::millimetre), .unconfirmed = true};
  EXPECT_TRUE(std::isnan(minima({memory}, {tractor_drive})[0]));
}
