// Verdicts. Expected answers follow from the clauses named beside them by arithmetic on what was written:
// 1/32 in = 0.79375 mm, 1 lb = 0.45359237 kg (NIST SP 811).
#include "wheelend/verdict.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <optional>
#include <string>
#include <tuple>

#include "fleet.hpp"
#include "near.hpp"
#include "verdict_lines.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

Verdicts tread(const PositionFacts& where, const std::vector<double>& grooves,
               Measure measure = Measure::thirty_seconds) {
  return {Table(Row{.tread = grooves}, {.tread = measure}), PositionColumns{.facts = {where}}};
}

// A column of one number, which must outlive the answer's making.
struct One {
  double value;
  [[nodiscard]] NumberColumn in(Measure m) const { return {.values = {&value, 1}, .measure = m}; }
};

// Pressure needed for the load, found pressure, and how warm.
Verdicts pressure(double needed, const Row& row, Measure measure = Measure::psi, double rated_lb = missing) {
  const One need{needed}, rated{rated_lb};
  PositionColumns positions{.facts = {tractor_drive}};
  positions.needed = need.in(Measure::psi);
  positions.rated_load = rated.in(Measure::pound);
  return {Table({row}, {.pressure = measure}), positions};
}

Verdicts against_sidewall(double sidewall_psi, double found_psi) {
  const One marked{sidewall_psi};
  PositionColumns positions{.facts = {tractor_drive}};
  positions.sidewall_max = marked.in(Measure::psi);
  return {Table(Row{.pressure = found_psi}), positions};
}

Verdicts against_target(double target_psi, double found_psi) {
  const One target{target_psi};
  PositionColumns positions{.facts = {tractor_drive}};
  positions.target = target.in(Measure::psi);
  return {Table(Row{.pressure = found_psi}), positions};
}

Verdicts tire_facts(const PositionFacts& where, std::int8_t retread, std::int8_t regrooved, double rated,
                    Measure load = Measure::pound) {
  const One capacity{rated};
  PositionColumns positions{.facts = {where}};
  positions.retread = {.values = {&retread, 1}};
  positions.regrooved = {.values = {&regrooved, 1}};
  positions.rated_load = capacity.in(load);
  return {Table(Row{.tread = {9.0}}), positions};
}

std::vector<Row> at_places(const std::vector<std::vector<double>>& places) {
  std::vector<Row> rows;
  for (std::size_t i = 0; i < places.size(); ++i) {
    rows.push_back({.tread = places[i], .place = static_cast<std::int32_t>(i + 1)});
  }
  return rows;
}
Verdicts out_of_service(const PositionFacts& where, const std::vector<std::vector<double>>& places) {
  return {Table(at_places(places)), PositionColumns{.facts = {where}}};
}

template <class A, class B>
concept Judgeable = requires(const A& a, const B& b) { judge(a, b); };

}  // namespace

// ---- typed

TEST(Verdict, OfOneReadingAgainstOneLimit) {
  const Limit<TreadDepth> four{{"4", Measure::thirty_seconds}, Sense::at_least};
  EXPECT_EQ(judge(Reading<TreadDepth>{4.0, Measure::thirty_seconds}, four), Verdict::pass);
  EXPECT_EQ(judge(Reading<TreadDepth>{3.0, Measure::thirty_seconds}, four), Verdict::fail);
  EXPECT_EQ(judge(Reading<TreadDepth>{3.175, Measure::millimetre}, four),
            Verdict::pass);  // 3.175 mm is 4/32 in
  EXPECT_EQ(judge(Reading<TreadDepth>{3.17, Measure::millimetre}, four), Verdict::fail);
  EXPECT_EQ(judge(Reading<TreadDepth>{0.125, Measure::inch}, four), Verdict::pass);
  const Limit<GaugePressure> hundred{{"100", Measure::psi}, Sense::at_least};
  EXPECT_EQ(judge(Reading<GaugePressure>{689.0, Measure::kilopascal}, hundred), Verdict::fail);
  EXPECT_EQ(judge(Reading<GaugePressure>{690.0, Measure::kilopascal}, hundred), Verdict::pass);
}

TEST(Verdict, OfAnotherKindDoesNotCompile) {
  static_assert(Judgeable<Reading<TreadDepth>, Limit<TreadDepth>>);
  static_assert(!Judgeable<Reading<TreadDepth>, Limit<LiningThickness>>);
  static_assert(!Judgeable<Reading<GaugePressure>, Limit<AbsolutePressure>>);
  static_assert(!Judgeable<double, Limit<TreadDepth>>);
}

// What a kind cannot see is refused when it runs: metres against pascals have no order.
TEST(Verdict, OfAMeasureOfAnotherDimensionIsRefused) {
  const Limit<TreadDepth> four{{"4", Measure::thirty_seconds}, Sense::at_least};
  EXPECT_THROW(judge(Reading<TreadDepth>{4.0, Measure::psi}, four), MeasureError);
}

TEST(Verdict, SensesAtAndBesideEquality) {
  const auto holds_for = [](double left, Sense sense) {
    const std::array a{Term::of(left)};
    const std::array b{Term::of(std::string_view("4.0"))};
    return holds(a, sense, b);
  };
  struct Case {
    Sense sense;
    bool below, at, above;
  };
  constexpr Case cases[] = {{Sense::at_least, false, true, true},
                            {Sense::more_than, false, false, true},
                            {Sense::at_most, true, true, false},
                            {Sense::less_than, true, false, false}};
  for (const Case& c : cases) {
    EXPECT_EQ(holds_for(3.9, c.sense), c.below);
    EXPECT_EQ(holds_for(4.0, c.sense), c.at);
    EXPECT_EQ(holds_for(4.1, c.sense), c.above);
  }
  EXPECT_THROW(holds_for(4.0, Sense::absent), LimitError);
}

// ---- tread: 49 CFR 393.75(b), (c)

TEST(Verdict, OfFrontTread) {
  EXPECT_EQ(tread(truck_steer, {4.0}).verdict(us_t_02), Verdict::pass);
  EXPECT_EQ(tread(truck_steer, {3.0}).verdict(us_t_02), Verdict::fail);
  EXPECT_EQ(tread(tractor_steer, {3.175}, Measure::millimetre).verdict(us_t_02), Verdict::pass);
  EXPECT_EQ(tread(tractor_steer, {3.17}, Measure::millimetre).verdict(us_t_02), Verdict::fail);
  EXPECT_FALSE(tread(truck_steer, {4.0}).has(us_t_03));
}

// "At any point of a major tread groove": the mean of 5, 5, 3 would pass.
TEST(Verdict, LowestPointOfAnyGrooveDecides) {
  const Verdicts a =
      out_of_service(tractor_steer, {{6.0, 6.0, 5.0, 5.0}, {6.0, 6.0, 5.0, 5.0}, {6.0, 6.0, 5.0, 3.0}});
  const Line line = a.line(us_t_02);
  EXPECT_EQ(line.verdict, Verdict::fail);
  EXPECT_EQ(line.groove, 3);
  EXPECT_EQ(line.place, 3);
  EXPECT_EQ(line.reading, 3.0);
  EXPECT_EQ(line.margin, -1.0);
}

// "Not ... where tie bars, humps, or fillets are located"
TEST(Verdict, ReadingOnATieBarIsDropped) {
  const Table table(Row{.tread = {6.0, 3.0, 7.0}, .inadmissible = 0b010});
  const Verdicts a(table, {.facts = {tractor_steer}});
  EXPECT_EQ(a.verdict(us_t_02), Verdict::pass);
  EXPECT_EQ(a.line(us_t_02).reading, 6.0);
  EXPECT_TRUE(a.noted(Note::some_inadmissible, us_t_02));
  EXPECT_FALSE(a.noted(Note::none_admissible, us_t_02));
}

// 49 CFR 393.5: a major tread groove contains a wear indicator.
TEST(Verdict, GrooveWithoutIndicatorIsNotMajor) {
  const Table table(Row{.tread = {2.0, 7.0, 7.0}, .barred = 0b110});
  const Verdicts a(table, {.facts = {tractor_steer}});
  EXPECT_EQ(a.verdict(us_t_02), Verdict::pass);
  EXPECT_EQ(a.line(us_t_02).reading, 7.0);
  EXPECT_TRUE(a.noted(Note::some_without_bar, us_t_02));
}

TEST(Verdict, NothingAdmissibleIsNoVerdict) {
  const Table table(Row{.tread = {1.0, 1.0}, .barred = 0b10, .inadmissible = 0b10});
  const Verdicts a(table, {.facts = {tractor_drive}});
  EXPECT_EQ(a.verdict(us_t_03), Verdict::no_verdict);
  EXPECT_EQ(a.line(us_t_03).notes, bit(Note::none_admissible));
  EXPECT_TRUE(std::isnan(a.line(us_t_03).reading));
  EXPECT_EQ(a.line(us_t_03).bound, 2.0);
}

TEST(Verdict, OfAllOtherTread) {
  EXPECT_EQ(tread(tractor_drive, {2.0}).verdict(us_t_03), Verdict::pass);
  EXPECT_EQ(tread(trailer_front, {1.5875}, Measure::millimetre).verdict(us_t_03), Verdict::pass);
  EXPECT_EQ(tread(trailer_front, {1.58}, Measure::millimetre).verdict(us_t_03), Verdict::fail);
  EXPECT_EQ(tread(dolly_front, {3.0}).verdict(us_t_03), Verdict::pass);
}

// 2/32 in is 1.5875 mm and not 1.6 mm: 1.59 mm passes the one and fails the other.
TEST(Verdict, TwoThirtySecondsAreNotSixteenTenths) {
  const Table table(Row{.tread = {1.59}}, {.tread = Measure::millimetre});
  std::vector<LimitRow> rows = federal_rows();
  rows.push_back(
      {.id = "own 1.6 mm", .severity = Severity::own, .amount = amount("1.6", Measure::millimetre)});
  const Verdicts a(table, {.facts = {trailer_front}}, {}, long_after, rows);
  EXPECT_EQ(a.verdict(us_t_03), Verdict::pass);
  EXPECT_EQ(a.verdict(static_cast<std::int32_t>(rows.size()) - 1), Verdict::fail);
}

TEST(Verdict, OfTheSecondSteeringAxle) {  // Appendix A to Part 396, item 10(a)
  const Verdicts a = tread(facts(UnitKind::truck, AxleRole::steer, 2), {3.0});
  EXPECT_EQ(a.verdict(us_a_01), Verdict::fail);
  EXPECT_EQ(a.verdict(us_t_03), Verdict::pass);
  EXPECT_FALSE(a.has(us_t_02));
}

TEST(Verdict, MissingKindIsNoVerdictAndSaysWhy) {
  const Verdicts a = tread({-1, static_cast<std::int8_t>(AxleRole::steer), 1}, {9.0});
  EXPECT_EQ(a.verdict(us_t_02), Verdict::no_verdict);
  EXPECT_TRUE(a.noted(Note::fact_missing, us_t_02));
  EXPECT_EQ(a.line(us_t_02).fact, of_kind);
  EXPECT_EQ(a.verdict(us_t_03), Verdict::no_verdict);
}

// ---- retreads and regrooved tires: 49 CFR 393.75(d), (e)

TEST(Verdict, OfRetreadsOnABus) {
  EXPECT_EQ(tire_facts(bus_front, 1, 0, missing).verdict(us_t_06), Verdict::fail);
  EXPECT_EQ(tire_facts(bus_front, 0, 1, missing).verdict(us_t_06), Verdict::fail);
  EXPECT_EQ(tire_facts(bus_front, 0, 0, missing).verdict(us_t_06), Verdict::pass);
  EXPECT_FALSE(tire_facts(bus_rear, 1, 0, missing).has(us_t_06));
  EXPECT_FALSE(tire_facts(tractor_steer, 1, 0, missing).has(us_t_06));  // (d) names buses only
  const Verdicts unknown = tire_facts(bus_front, -1, -1, missing);
  EXPECT_EQ(unknown.verdict(us_t_06), Verdict::no_verdict);
  EXPECT_TRUE(unknown.noted(Note::retread_not_stated, us_t_06));
}

TEST(Verdict, OfRegroovedCapacity) {
  const Verdicts at = tire_facts(truck_steer, 0, 1, 4920.0);
  EXPECT_EQ(at.verdict(us_t_07), Verdict::fail);  // "or more": equality fails
  EXPECT_EQ(at.line(us_t_07).margin, 0.0);
  const Verdicts below = tire_facts(truck_steer, 0, 1, 4919.0);
  EXPECT_EQ(below.verdict(us_t_07), Verdict::pass);
  EXPECT_EQ(below.line(us_t_07).margin, 1.0);  // positive on the passing side of an upper limit
  EXPECT_FALSE(tire_facts(trailer_front, 0, 1, 6000.0).has(us_t_07));
  EXPECT_FALSE(tire_facts(truck_steer, 0, 0, 6000.0).has(us_t_07));
  const Verdicts unknown = tire_facts(truck_steer, 0, 1, missing);
  EXPECT_EQ(unknown.verdict(us_t_07), Verdict::no_verdict);
  EXPECT_TRUE(unknown.noted(Note::fact_missing, us_t_07));
  EXPECT_EQ(unknown.line(us_t_07).fact, of_rated);
}

// The clause prints 2,232 kg (4,920 lb): a reading is held to the number of its own system. 2231.8 kg is more
// than 4920 lb = 2231.67 kg and less than 2232 kg.
TEST(Verdict, TwinBoundBelongsToTheSystemOfTheReading) {
  const Verdicts kg = tire_facts(truck_steer, 0, 1, 2231.8, Measure::kilogram);
  EXPECT_EQ(kg.verdict(us_t_07), Verdict::pass);
  EXPECT_EQ(kg.line(us_t_07).bound, 2232.0);
  EXPECT_EQ(kg.line(us_t_07).measure, Measure::kilogram);
  EXPECT_EQ(tire_facts(truck_steer, 0, 1, 2232.0, Measure::kilogram).verdict(us_t_07), Verdict::fail);
}

// ---- out of service

TEST(Verdict, AdjacentGroovesOfASteerTire) {
  const Verdicts both = tread(tractor_steer, {1.0, 1.0, 5.0});
  EXPECT_EQ(both.verdict(os_t_01), Verdict::fail);
  EXPECT_EQ(both.line(os_t_01).severity, Severity::out_of_service);
  const Verdicts one = tread(tractor_steer, {3.0, 1.0, 3.0});
  EXPECT_EQ(one.verdict(us_t_02), Verdict::fail);
  EXPECT_EQ(one.verdict(os_t_01), Verdict::pass);
  EXPECT_EQ(one.line(os_t_01).reading, 3.0);  // the deeper of the pair decides
  const Verdicts at = tread(tractor_steer, {2.0, 2.0});
  EXPECT_EQ(at.verdict(us_t_02), Verdict::fail);
  EXPECT_EQ(at.verdict(os_t_01), Verdict::pass);  // below 2/32, not at
}

// Low grooves at two places round the tire are no pair: "at any one place".
TEST(Verdict, PairIsOfOnePlace) {
  EXPECT_EQ(out_of_service(tractor_steer, {{1.0, 5.0}, {5.0, 1.0}}).verdict(os_t_01), Verdict::pass);
  EXPECT_EQ(out_of_service(tractor_steer, {{5.0, 5.0}, {1.0, 1.0}}).verdict(os_t_01), Verdict::fail);
}

TEST(Verdict, GrooveWithoutIndicatorDoesNotPartItsNeighbours) {
  const Table table(Row{.tread = {1.0, 5.0, 1.0}, .barred = 0b101});
  const Verdicts a(table, {.facts = {tractor_steer}});
  EXPECT_EQ(a.verdict(os_t_01), Verdict::fail);
}

TEST(Verdict, UnreadGrooveWithIndicatorPartsItsNeighbours) {
  const Verdicts a = tread(tractor_steer, {1.0, missing, 1.0});
  EXPECT_EQ(a.verdict(us_t_02), Verdict::fail);
  EXPECT_EQ(a.verdict(os_t_01), Verdict::no_verdict);
  EXPECT_TRUE(a.noted(Note::one_groove_only, os_t_01));
  // Read on a tie bar, the middle one is as good as unread.
  const Table table(Row{.tread = {1.0, 9.0, 1.0}, .inadmissible = 0b010});
  EXPECT_EQ(Verdicts(table, {.facts = {tractor_steer}}).verdict(os_t_01), Verdict::no_verdict);
}

TEST(Verdict, SingleGrooveDecidesAPairOnlyWhenItPasses) {
  const Verdicts deep = tread(tractor_steer, {5.0});
  EXPECT_EQ(deep.verdict(os_t_01), Verdict::pass);
  EXPECT_TRUE(deep.noted(Note::one_groove_only, os_t_01));
  EXPECT_EQ(tread(tractor_steer, {1.0}).verdict(os_t_01), Verdict::no_verdict);
}

TEST(Verdict, ThreePlacesOfADriveTire) {
  const std::vector<double> low{0.5, 0.5, 4.0}, at{1.0, 1.0, 4.0}, deep{4.0, 4.0, 4.0};
  EXPECT_EQ(out_of_service(tractor_drive, {low, low, low}).verdict(os_t_02), Verdict::fail);
  const Verdicts two = out_of_service(tractor_drive, {low, low});
  EXPECT_EQ(two.verdict(us_t_03), Verdict::fail);
  EXPECT_EQ(two.verdict(os_t_02), Verdict::pass);
  EXPECT_TRUE(two.noted(Note::fewer_than_three_places, os_t_02));
  EXPECT_EQ(out_of_service(tractor_drive, {at, at, at}).verdict(os_t_02), Verdict::pass);  // below, not at
  EXPECT_EQ(out_of_service(tractor_drive, {low, low, at}).verdict(os_t_02), Verdict::pass);
  EXPECT_EQ(out_of_service(tractor_drive, {low, deep, low, deep}).verdict(os_t_02), Verdict::pass);
  const Verdicts third = out_of_service(tractor_drive, {low, deep, {0.9, 0.9, 4.0}, {0.7, 0.7, 4.0}});
  EXPECT_EQ(third.verdict(os_t_02), Verdict::fail);
  EXPECT_EQ(third.line(os_t_02).reading, 0.9);  // the third lowest place decides
  EXPECT_EQ(third.line(os_t_02).place, 3);
}

// Out-of-service criteria, "at three separate places" (trade press): one place says nothing of the others.
TEST(Verdict, OnePlaceOfABaldDriveTire) {
  for (const Verdicts& one :
       {out_of_service(tractor_drive, {{0.0, 0.0, 0.0}}), tread(tractor_drive, {0.0, 0.0, 0.0})}) {
    EXPECT_EQ(one.verdict(os_t_02), Verdict::no_verdict);
    EXPECT_EQ(one.line(os_t_02).notes, bit(Note::low_where_read));
    EXPECT_EQ(one.verdict(us_t_03), Verdict::fail);
  }
  EXPECT_EQ(tread(tractor_drive, {4.0, 4.0, 4.0}).verdict(os_t_02), Verdict::pass);
}

TEST(Verdict, FlatIsHalfOfTheSidewallMaximum) {
  EXPECT_EQ(against_sidewall(120.0, 60.0).verdict(os_t_03), Verdict::fail);  // at half: flat
  EXPECT_EQ(against_sidewall(120.0, 61.0).verdict(os_t_03), Verdict::pass);
  EXPECT_EQ(against_sidewall(120.0, 61.0).line(os_t_03).bound, 60.0);
  const Verdicts unknown = against_sidewall(missing, 30.0);
  EXPECT_EQ(unknown.verdict(os_t_03), Verdict::no_verdict);
  EXPECT_TRUE(unknown.noted(Note::fact_missing, os_t_03));
  EXPECT_EQ(unknown.line(os_t_03).fact, of_sidewall);
}

// Half of any pressure is above none.
TEST(Verdict, NoPressureIsFlatWhateverTheSidewallSays) {
  const Line flat = against_sidewall(missing, 0.0).line(os_t_03);
  EXPECT_EQ(flat.verdict, Verdict::fail);
  EXPECT_EQ(flat.severity, Severity::out_of_service);
  EXPECT_EQ(flat.notes, bit(Note::fails_whatever));
  EXPECT_EQ(flat.fact, of_sidewall);
  EXPECT_EQ(flat.reading, 0.0);
  EXPECT_EQ(flat.measure, Measure::psi);
  EXPECT_TRUE(std::isnan(flat.bound));
  EXPECT_TRUE(std::isnan(flat.margin));
  EXPECT_EQ(against_sidewall(120.0, 0.0).line(os_t_03).bound, 60.0);
  EXPECT_EQ(against_sidewall(missing, 0.5).verdict(os_t_03), Verdict::no_verdict);
  EXPECT_EQ(against_target(missing, 0.0).verdict(us_t_11), Verdict::no_verdict);  // speaks of the load
}

// ---- pressure: 49 CFR 393.75(i)

TEST(Verdict, OfColdPressure) {
  EXPECT_EQ(pressure(100.0, {.pressure = 100.0}).verdict(us_t_11), Verdict::pass);
  EXPECT_EQ(pressure(100.0, {.pressure = 99.0}).verdict(us_t_11), Verdict::fail);
  EXPECT_EQ(pressure(100.0, {.pressure = 99.0}).line(us_t_11).severity, Severity::violation);
}

TEST(Verdict, OfHotPressureByTheFederalSubtraction) {
  const auto hot = [](double needed, double found, double mph, double rated) {
    return pressure(needed, {.pressure = found, .warm = 1, .speed = mph}, Measure::psi, rated);
  };
  const Verdicts at = hot(100.0, 115.0, 50.0, 6175.0);  // 115 - 15 = 100
  EXPECT_EQ(at.verdict(us_t_11), Verdict::pass);
  EXPECT_EQ(at.line(us_t_11).reading, 100.0);
  EXPECT_EQ(at.line(us_t_11).margin, 0.0);
  EXPECT_TRUE(at.noted(Note::federal_estimate, us_t_11));
  EXPECT_EQ(hot(100.0, 110.0, 50.0, 6175.0).line(us_t_11).reading, 95.0);
  EXPECT_EQ(hot(100.0, 110.0, 50.0, 6175.0).verdict(us_t_11), Verdict::fail);
  EXPECT_EQ(hot(80.0, 84.0, 45.0, 4000.0).line(us_t_11).reading, 79.0);  // 4,000 lb or less takes 5
  EXPECT_EQ(hot(80.0, 84.0, 45.0, 4000.0).verdict(us_t_11), Verdict::fail);
  const Verdicts fast = hot(100.0, 115.0, 65.0, 6175.0);  // the table has one row, 41-55 mph
  EXPECT_EQ(fast.verdict(us_t_11), Verdict::no_verdict);
  EXPECT_TRUE(fast.noted(Note::warm_without_estimate, us_t_11));
}

// 49 CFR 393.75(i)(2), table 1, goes by the rating of the tire: what is missing is said. No tire is rated
// higher in a pair than alone, so that a dual rating above 4,000 lb settles it, and a lower one does not.
TEST(Verdict, OfHotPressureWithoutTheRating) {
  const auto hot = [](double mph, double rated_dual, double found = 115.0) {
    const One needed{100.0}, dual{rated_dual};
    PositionColumns positions{.facts = {tractor_drive}};
    positions.needed = needed.in(Measure::psi);
    positions.rated_load_dual = dual.in(Measure::pound);
    return Verdicts(Table(Row{.pressure = found, .warm = 1, .speed = mph}), positions).line(us_t_11);
  };
  EXPECT_EQ(hot(50.0, missing).verdict, Verdict::no_verdict);
  EXPECT_EQ(hot(50.0, missing).notes, bit(Note::rating_not_given));
  EXPECT_EQ(hot(50.0, 4000.0).notes, bit(Note::rating_not_given));
  EXPECT_EQ(hot(65.0, missing).notes, bit(Note::warm_without_estimate));
  EXPECT_EQ(hot(missing, missing).notes, bit(Note::warm_without_estimate));
  EXPECT_EQ(hot(50.0, 4001.0).reading, 100.0);
  EXPECT_EQ(hot(50.0, 5675.0).verdict, Verdict::pass);
  EXPECT_EQ(hot(50.0, 5675.0, 114.0).verdict, Verdict::fail);
  EXPECT_TRUE(hot(50.0, missing, 99.0).noted(Note::below_even_warm));
}

// Running only adds pressure: a tire too low while warm is too low cold.
TEST(Verdict, WarmAndStillTooLowFails) {
  const Verdicts a = pressure(100.0, {.pressure = 99.0, .warm = 1, .speed = 65.0}, Measure::psi, 6175.0);
  EXPECT_EQ(a.verdict(us_t_11), Verdict::fail);
  EXPECT_TRUE(a.noted(Note::below_even_warm, us_t_11));
}

// Quebec (CQLR c. C-24.2, r. 32 s. 159(8)): not above the figure on the sidewall. Heat only adds pressure, so
// a warm reading below it passes, and one above it says nothing of the cold tire.
TEST(Verdict, WarmAgainstACeiling) {
  const auto at = [](double found, std::int8_t warm) {
    const One marked{120.0};
    PositionColumns positions{.facts = {tractor_drive}};
    positions.sidewall_max = marked.in(Measure::psi);
    const LimitRow row{.id = "CA-T-06",
                       .statistic = Statistic::cold_pressure,
                       .sense = Sense::at_most,
                       .amount = amount("100", Measure::percent, {of_sidewall})};
    return Verdicts(Table(Row{.pressure = found, .warm = warm}), positions, {}, long_after, {row}).line(0);
  };
  EXPECT_EQ(at(120.0, 0).verdict, Verdict::pass);
  EXPECT_EQ(at(121.0, 0).verdict, Verdict::fail);
  EXPECT_EQ(at(120.0, 1).verdict, Verdict::pass);
  EXPECT_FALSE(at(120.0, 1).noted(Note::below_even_warm));
  EXPECT_EQ(at(121.0, 1).verdict, Verdict::no_verdict);
  EXPECT_TRUE(at(121.0, 1).noted(Note::warm_without_estimate));
}

// A band has a floor and a ceiling: warm, only what is below the floor is decided.
TEST(Verdict, WarmAgainstABand) {
  const auto at = [](double found) {
    const LimitRow band{.id = "band",
                        .statistic = Statistic::cold_pressure,
                        .sense = Sense::within,
                        .amount = amount("95", Measure::psi),
                        .upper = "105"};
    return Verdicts(Table(Row{.pressure = found, .warm = 1}), {.facts = {tractor_drive}}, {}, long_after,
                    {band})
        .line(0);
  };
  EXPECT_EQ(at(94.0).verdict, Verdict::fail);
  EXPECT_TRUE(at(94.0).noted(Note::below_even_warm));
  EXPECT_EQ(at(100.0).verdict, Verdict::no_verdict);
  EXPECT_EQ(at(110.0).verdict, Verdict::no_verdict);
  EXPECT_TRUE(at(110.0).noted(Note::warm_without_estimate));
}

TEST(Verdict, AFlatIsJudgedAsFound) {  // a hot tire at half its maximum is no less flat
  const One marked{120.0};
  PositionColumns positions{.facts = {tractor_drive}};
  positions.sidewall_max = marked.in(Measure::psi);
  EXPECT_EQ(Verdicts(Table(Row{.pressure = 60.0, .warm = 1}), positions).verdict(os_t_03), Verdict::fail);
}

// 689 kPa = 99.93 psi: fails by less than the 4 kPa step of the vehicle's message.
TEST(Verdict, WithinAStepOfTheGaugeIsNoted) {
  const Verdicts kpa = pressure(100.0, {.pressure = 689.0}, Measure::kilopascal);
  EXPECT_EQ(kpa.verdict(us_t_11), Verdict::fail);
  EXPECT_TRUE(kpa.noted(Note::within_gauge_step, us_t_11));
  EXPECT_EQ(kpa.line(us_t_11).measure, Measure::psi);
  // 689/6.894757293168361 - 100, rounded to four places by hand
  EXPECT_TRUE(near(kpa.line(us_t_11).margin, -0.0690, printed_to(4)));
  EXPECT_EQ(kpa.line(us_t_11).as_read, 689.0);
  EXPECT_FALSE(
      pressure(100.0, {.pressure = 680.0}, Measure::kilopascal).noted(Note::within_gauge_step, us_t_11));
  EXPECT_TRUE(tread(tractor_steer, {4.0}).noted(Note::within_gauge_step, us_t_02));
  EXPECT_TRUE(tread(tractor_steer, {3.5}).noted(Note::within_gauge_step, us_t_02));
  EXPECT_FALSE(tread(tractor_steer, {3.0}).noted(Note::within_gauge_step, us_t_02));  // a whole step
  EXPECT_FALSE(tread(tractor_steer, {5.0}).noted(Note::within_gauge_step, us_t_02));
}

TEST(Verdict, DemountAtEightyPercent) {  // 29 CFR 1910.177(f): "80% or less"
  EXPECT_EQ(against_target(100.0, 81.0).verdict(du_13), Verdict::pass);
  EXPECT_EQ(against_target(100.0, 80.0).verdict(du_13), Verdict::fail);
  EXPECT_EQ(against_target(110.0, 88.0).verdict(du_13),
            Verdict::fail);  // 0.8 x 110 is 88, not 88.00000000000001
  EXPECT_EQ(against_target(110.0, 88.1).verdict(du_13), Verdict::pass);
}

TEST(Verdict, TargetThatStandsInForTheLoadIsTheFleetsOwn) {
  const Verdicts a = against_target(100.0, 95.0);
  EXPECT_EQ(a.verdict(us_t_11), Verdict::fail);
  EXPECT_EQ(a.line(us_t_11).severity, Severity::own);
  EXPECT_TRUE(a.noted(Note::stands_in, us_t_11));
  EXPECT_EQ(a.line(us_t_11).fact, of_target);
  const Verdicts none = against_target(missing, 95.0);
  EXPECT_EQ(none.verdict(us_t_11), Verdict::no_verdict);
  EXPECT_TRUE(none.noted(Note::fact_missing, us_t_11));
  EXPECT_EQ(none.line(us_t_11).fact, of_target);
}

// ---- which inspection

TEST(Verdict, PressureCheckDoesNotHideTheTreadReadBefore) {
  const Table table({{.day = 10, .tread = {1.0, 1.0}, .pressure = 70.0}, {.day = 13, .pressure = 100.0}});
  const Verdicts a(table, {.facts = {tractor_drive}});
  EXPECT_EQ(a.verdict(us_t_03), Verdict::fail);
  EXPECT_EQ(a.line(us_t_03).row, 0);
  EXPECT_EQ(a.line(us_t_11).row, 1);
}

TEST(Verdict, TireChangedSinceTheTreadWasRead) {
  const auto after = [](const Row& later) {
    Row first{.day = 10, .tread = {1.0, 1.0}, .tire = 0};
    return Verdicts(Table({first, later}), {.facts = {tractor_drive}});
  };
  for (const Row& later : {Row{.day = 13, .pressure = 100.0, .tire = 1},
                           Row{.day = 13, .pressure = 100.0, .event = Event::fitted}}) {
    const Verdicts a = after(later);
    EXPECT_EQ(a.verdict(us_t_03), Verdict::no_verdict);
    EXPECT_TRUE(a.noted(Note::tire_changed_since, us_t_03));
  }
  EXPECT_EQ(after({.day = 13, .pressure = 100.0, .tire = 0}).verdict(us_t_03), Verdict::fail);
}

TEST(Verdict, QuantityNeverReadIsNoVerdict) {
  const Verdicts a(Table(Row{.pressure = 100.0}), {.facts = {tractor_drive}});
  EXPECT_EQ(a.verdict(us_t_03), Verdict::no_verdict);
  EXPECT_EQ(a.line(us_t_03).notes, bit(Note::not_read));
}

TEST(Verdict, ReadingsAfterAsOfAreLeftOut) {
  const Table table({{.day = 10, .tread = {5.0}}, {.day = 20, .tread = {1.0}}});
  const PositionColumns positions{.facts = {tractor_drive}};
  EXPECT_EQ(Verdicts(table, positions, {}, 20).verdict(us_t_03), Verdict::fail);
  EXPECT_EQ(Verdicts(table, positions, {}, 19).verdict(us_t_03), Verdict::pass);
  EXPECT_FALSE(Verdicts(table, positions, {}, 9).has(us_t_03));
}

TEST(Verdict, AllJudgesEveryInspectionForWhatItRead) {
  const Table table(
      {{.day = 10, .tread = {5.0}}, {.day = 20, .tread = {1.0}}, {.day = 30, .pressure = 99.0}});
  const VerdictTable v = judged(table, {.facts = {tractor_drive}}, {}, {.as_of = 100, .all = true});
  std::vector<std::pair<std::int64_t, Verdict>> tread_lines;
  std::vector<std::int64_t> pressure_rows;
  for (std::size_t i = 0; i < v.limit.size(); ++i) {
    if (v.limit[i] == us_t_03) {
      tread_lines.emplace_back(v.row[i], static_cast<Verdict>(v.verdict[i]));
    }
    if (v.limit[i] == us_t_11) {
      pressure_rows.push_back(v.row[i]);
    }
  }
  EXPECT_EQ(tread_lines,
            (std::vector<std::pair<std::int64_t, Verdict>>{{0, Verdict::pass}, {1, Verdict::fail}}));
  EXPECT_EQ(pressure_rows, (std::vector<std::int64_t>{2}));
}

TEST(Verdict, LowerOfTwoRowsThatDisagree) {
  Table table({{.tread = {5.0}, .pressure = 100.0}, {.tread = {1.0}, .pressure = 90.0}});
  table.mark_conflicts(1);
  const One need{100.0};
  PositionColumns positions{.facts = {tractor_drive}};
  positions.needed = need.in(Measure::psi);
  const Verdicts a(table, positions);
  EXPECT_EQ(a.line(us_t_03).reading, 1.0);
  EXPECT_EQ(a.verdict(us_t_03), Verdict::fail);
  EXPECT_TRUE(a.noted(Note::lower_of_two, us_t_03));
  EXPECT_EQ(a.line(us_t_11).reading, 90.0);
  EXPECT_TRUE(a.noted(Note::lower_of_two, us_t_11));
}

TEST(Verdict, OwnPullDepthIsALimitToo) {  // at the pull depth it passes, as at the legal minimum
  const One pull{6.0};
  PositionColumns positions{.facts = {tractor_drive}};
  positions.pull = pull.in(Measure::thirty_seconds);
  const auto at = [&](double depth) { return Verdicts(Table(Row{.tread = {depth}}), positions); };
  EXPECT_EQ(at(6.0).verdict(own_pull), Verdict::pass);
  EXPECT_EQ(at(5.0).verdict(own_pull), Verdict::fail);
  EXPECT_EQ(at(5.0).line(own_pull).severity, Severity::own);
  EXPECT_EQ(at(5.0).line(own_pull).margin, -1.0);
  EXPECT_EQ(at(5.0).verdict(us_t_03), Verdict::pass);
}

// A double holds about 17 digits; a decimal that was written with more is judged as it was written.
TEST(Verdict, DecimalsLongerThanADoubleAreKept) {
  const auto written = [](const std::string& text) {
    Table table(Row{.tread = {3.175}}, {.tread = Measure::millimetre});
    table.columns.grooves[0].long_texts = {{0, text}};
    return Verdicts(table, {.facts = {tractor_steer}}).verdict(us_t_02);
  };
  EXPECT_EQ(written("3.17500000000000000000000"), Verdict::pass);
  EXPECT_EQ(written("3.17499999999999999999999"), Verdict::fail);
  EXPECT_EQ(written("3.17500000000000000000001"), Verdict::pass);
}

TEST(Verdict, BoundThatIsNoNumberIsRefused) {
  const std::vector<LimitRow> rows{{.id = "bad", .amount = amount("2/32", Measure::inch)}};
  const Table table(Row{.tread = {5.0}});
  EXPECT_THROW(judged(table, {.facts = {tractor_drive}}, {}, {}, rows), LimitError);
}

// ---- order of rows

// Rows of one key may differ in what does not disagree (warm or not, tie bar or not); whatever the order in
// which the table lists them, the same values are judged the same way.
TEST(Verdict, DoesNotDependOnTheOrderOfRows) {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 3; ++p) {
    for (std::int32_t day : {1, 8, 15}) {
      for (std::int32_t place : {1, 2, 3}) {
        const double d = 1.0 + p + place - day / 8.0;
        rows.push_back({.position = p, .day = day, .tread = {d, d + 1.0, d}, .place = place, .tire = p});
      }
    }
    rows.push_back({.position = p, .day = 15, .pressure = 104.0, .warm = 1, .speed = 50.0});
    rows.push_back({.position = p, .day = 15, .pressure = 104.0, .warm = 0});
    rows.push_back({.position = p, .day = 15, .tread = {0.5, 3.0, 0.5}, .place = 1, .inadmissible = 0b001});
    rows.push_back({.position = p, .day = 15, .tread = {0.5, 3.0, 0.5}, .place = 1, .inadmissible = 0b100});
  }
  const std::vector<double> needed(3, 95.0), rated(3, 6175.0);
  PositionColumns positions{.facts = {tractor_steer, tractor_drive, trailer_front}};
  positions.needed = {.values = needed, .measure = Measure::psi};
  positions.rated_load = {.values = rated, .measure = Measure::pound};
  const auto said = [&positions](const std::vector<Row>& in) {
    Table table(in);
    table.mark_conflicts(3);
    const VerdictTable v = judged(table, positions, {}, {.as_of = 15});
    std::vector<std::tuple<std::int32_t, std::int32_t, int, std::uint32_t, std::int32_t, std::string>> out;
    for (std::size_t i = 0; i < v.limit.size(); ++i) {
      out.emplace_back(v.position[i], v.limit[i], v.verdict[i], v.notes[i], v.place[i],
                       std::to_string(v.reading[i]) + " " + std::to_string(v.margin[i]));
    }
    return out;
  };
  const auto expected = said(rows);
  ASSERT_FALSE(expected.empty());
  for (unsigned seed = 1; seed <= 50; ++seed) {
    EXPECT_EQ(said(shuffled(rows, seed)), expected) << "seed " << seed;
  }
}
