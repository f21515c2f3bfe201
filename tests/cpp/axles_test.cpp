// Verdicts on tires that run side by side. Expected answers follow by arithmetic from the figures named
// beside them; diameter and circumference go together by pi.
#include <gtest/gtest.h>

#include <string>
#include <tuple>
#include <vector>

#include "fleet.hpp"
#include "near.hpp"
#include "verdict_lines.hpp"
#include "wheelend_rows.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr double pi = 3.14159265358979323846;

// One tire on the drive axle, at outer left, inner left, outer right, inner right.
struct Tire {
  double depth = missing, pressure = missing;
  double diameter = missing, circumference = missing;
  std::int32_t make = -1, size = -1, construction = -1;
  std::int32_t day = 0;
  Event event = Event::none;
  double hour = 0.0;
};

// What is known of the tires, by number.
struct Made {
  explicit Made(const std::vector<Tire>& tires) {
    for (const Tire& t : tires) {
      diameter.push_back(t.diameter);
      circumference.push_back(t.circumference);
      makes.tire.push_back(t.make);
      sizes.tire.push_back(t.size);
      constructions.tire.push_back(t.construction);
    }
  }
  [[nodiscard]] TireColumns columns(Measure measure) const {
    TireColumns out;
    out.diameter = {.values = diameter, .measure = measure};
    out.circumference = {.values = circumference, .measure = measure};
    return out;
  }
  std::vector<double> diameter, circumference;
  FactList::Cells<std::int32_t> makes, sizes, constructions;
};

// Facts after those of facts_of().
constexpr std::int32_t make = of_rated + 1, size_fact = make + 1, construction = size_fact + 1;

VerdictTable side_by_side(const std::vector<Tire>& tires, const std::vector<LimitRow>& rules,
                          const Measures& measures = {}, const JudgeOptions& options = {.as_of = long_after},
                          Measure length = Measure::inch, AxleRole role = AxleRole::drive) {
  Units units;
  units.add(UnitKind::truck, {{role, tires.size() == 4}});
  const PositionColumns positions = units.columns();
  std::vector<Row> rows;
  for (std::size_t p = 0; p < tires.size(); ++p) {
    const Tire& t = tires[p];
    const auto number = static_cast<std::int32_t>(p);
    rows.push_back({.position = number,
                    .day = t.day,
                    .tread = {t.depth},
                    .pressure = t.pressure,
                    .tire = number,
                    .event = t.event,
                    .hour = t.hour});
  }
  const Table table(rows, measures);
  const Made made(tires);
  const TireColumns tire_columns = made.columns(length);
  FactList facts = facts_of(positions, tire_columns);
  facts.add_codes(Level::wheel, made.makes);
  facts.add_codes(Level::wheel, made.sizes);
  facts.add_codes(Level::wheel, made.constructions);
  return judge_fleet({table.columns, positions, tire_columns, no_wheelends, facts.list}, rules, options);
}

LimitRow rule(Statistic statistic, const char* bound, Measure measure) {
  return {.id = "rule",
          .statistic = statistic,
          .sense = Sense::at_most,
          .severity = Severity::advice,
          .amount = {{bound, measure}}};
}
// Trade press (tire service trainer): tires of one size, maker and design in a pair, no more than 4/32 in
// apart.
LimitRow pair_depth() {
  LimitRow row = rule(Statistic::pair_depth, "4", Measure::thirty_seconds);
  row.same = {make};
  return row;
}
const LimitRow pair_pressure = rule(Statistic::pair_pressure, "5", Measure::psi);  // FMCSA survey benchmark
const LimitRow pair_diameter = rule(Statistic::pair_diameter, "0.25", Measure::inch);            // tire maker
const LimitRow pair_circumference = rule(Statistic::pair_circumference, "0.75", Measure::inch);  // tire maker
// France, order JORFARTI000038987859: tires of one axle no more than 5 mm apart.
const LimitRow axle_depth = rule(Statistic::axle_depth, "5", Measure::millimetre);

// A dual pair on the left; the pair on the right is even.
std::vector<Tire> pair(const Tire& on_outer, const Tire& on_inner) {
  return {on_outer, on_inner, on_outer, on_outer};
}
Line of_pair(const Tire& on_outer, const Tire& on_inner, const LimitRow& row, const Measures& measures = {}) {
  const std::vector<Line> all = Verdicts(side_by_side(pair(on_outer, on_inner), {row}, measures)).of(0);
  EXPECT_EQ(all.size(), 2U);
  return all.at(0);
}

}  // namespace

// ---- depth of a pair

TEST(Pair, OfOneMakeAndDesignByDepth) {
  EXPECT_EQ(of_pair({.depth = 12.0, .make = 1}, {.depth = 8.0, .make = 1}, pair_depth()).verdict,
            Verdict::pass);
  EXPECT_EQ(of_pair({.depth = 12.0, .make = 1}, {.depth = 7.0, .make = 1}, pair_depth()).verdict,
            Verdict::fail);
  EXPECT_EQ(of_pair({.depth = 7.0, .make = 1}, {.depth = 12.0, .make = 1}, pair_depth()).verdict,
            Verdict::fail);
}

TEST(Pair, SaysWhichTireIsLowerAndWhatItIsAgainst) {
  const Line line = of_pair({.depth = 12.0, .make = 1}, {.depth = 7.0, .make = 1}, pair_depth());
  EXPECT_EQ(line.position, 1);
  EXPECT_EQ(line.row, 1);
  EXPECT_EQ(line.reading, 5.0);
  EXPECT_EQ(line.margin, -1.0);
  EXPECT_EQ(line.severity, Severity::advice);
  EXPECT_EQ(line.level, Level::wheel);
  ASSERT_TRUE(line.against);
  EXPECT_EQ(line.against->value, 12.0);
  EXPECT_EQ(line.against->position, 0);
}

// 12.7 - 9.525 is 3.175 mm, 4/32 in, and not 3.1749999999999989.
TEST(Pair, DifferenceOfDecimalsIsADecimal) {
  const Measures mm{.tread = Measure::millimetre};
  EXPECT_EQ(of_pair({.depth = 12.7, .make = 1}, {.depth = 9.525, .make = 1}, pair_depth(), mm).verdict,
            Verdict::pass);
  EXPECT_EQ(of_pair({.depth = 12.7, .make = 1}, {.depth = 9.5, .make = 1}, pair_depth(), mm).verdict,
            Verdict::fail);
  EXPECT_EQ(
      of_pair({.depth = 8.3}, {.depth = 8.2}, rule(Statistic::pair_depth, "0.1", Measure::millimetre), mm)
          .verdict,
      Verdict::pass);
}

TEST(Pair, LowestGrooveOfEachTireCounts) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::drive, true}});
  const PositionColumns positions = units.columns();
  const Table table(
      {{.position = 0, .tread = {12.0, 10.0, 12.0}}, {.position = 1, .tread = {12.0, 12.0, 5.0}}});
  const FactList facts = facts_of(positions);
  const Verdicts v(judge_fleet({table.columns, positions, {}, no_wheelends, facts.list},
                               {rule(Statistic::pair_depth, "4", Measure::thirty_seconds)},
                               {.as_of = long_after}));
  EXPECT_EQ(v.line(0, 1).reading, 5.0);
  EXPECT_EQ(v.verdict(0, 1), Verdict::fail);
}

// "Same size, maker and tread design only": others are not compared by depth.
TEST(Pair, OfUnlikeTiresIsNotComparedByDepth) {
  const std::vector<Tire> unlike =
      pair({.depth = 12.0, .make = 1}, {.depth = 7.0, .make = 2});  // the right pair is of one make
  const Verdicts v(side_by_side(unlike, {pair_depth()}));
  ASSERT_EQ(v.of(0).size(), 1U);
  EXPECT_GE(v.of(0)[0].position, 2);
}

TEST(Pair, OfTiresOfUnknownMakeHasNoVerdict) {
  for (const auto& [a, b] : {std::pair(1, -1), std::pair(-1, 1), std::pair(-1, -1)}) {
    const Line line = of_pair({.depth = 12.0, .make = a}, {.depth = 7.0, .make = b}, pair_depth());
    EXPECT_EQ(line.verdict, Verdict::no_verdict);
    EXPECT_TRUE(line.noted(Note::fact_missing));
    EXPECT_EQ(line.fact, make);
  }
}

TEST(Pair, EveryFactThatMustBeTheSameCounts) {
  LimitRow row = pair_depth();
  row.same = {make, size_fact};
  const Tire deep{.depth = 12.0, .make = 1, .size = 1};
  EXPECT_EQ(of_pair(deep, {.depth = 7.0, .make = 1, .size = 1}, row).verdict, Verdict::fail);
  EXPECT_EQ(Verdicts(side_by_side(pair(deep, {.depth = 7.0, .make = 1, .size = 2}), {row})).of(0).size(), 1U);
  // One that differs settles it, whatever is not known.
  EXPECT_EQ(Verdicts(side_by_side(pair(deep, {.depth = 7.0, .make = -1, .size = 2}), {row})).of(0).size(),
            1U);
}

// ---- pressure of a pair

TEST(Pair, OfPressures) {
  EXPECT_EQ(of_pair({.pressure = 100.0}, {.pressure = 94.0}, pair_pressure).verdict, Verdict::fail);
  EXPECT_EQ(of_pair({.pressure = 100.0}, {.pressure = 95.0}, pair_pressure).verdict, Verdict::pass);
  EXPECT_EQ(of_pair({.pressure = 100.0}, {.pressure = 94.0}, pair_pressure).position, 1);
  const Measures kpa{.pressure = Measure::kilopascal};  // 5 psi are 34.47 kPa
  EXPECT_EQ(of_pair({.pressure = 700.0}, {.pressure = 665.6}, pair_pressure, kpa).verdict, Verdict::pass);
  EXPECT_EQ(of_pair({.pressure = 700.0}, {.pressure = 665.5}, pair_pressure, kpa).verdict, Verdict::fail);
}

TEST(Pair, DepthAndPressureHaveTheirOwnDays) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::drive, true}});
  const PositionColumns positions = units.columns();
  const Table table({{.position = 0, .day = 1, .tread = {12.0}},
                     {.position = 1, .day = 1, .tread = {7.0}},
                     {.position = 0, .day = 5, .pressure = 100.0},
                     {.position = 1, .day = 5, .pressure = 94.0}});
  const FactList facts = facts_of(positions);
  const Verdicts v(judge_fleet({table.columns, positions, {}, no_wheelends, facts.list},
                               {rule(Statistic::pair_depth, "4", Measure::thirty_seconds), pair_pressure},
                               {.as_of = long_after}));
  EXPECT_EQ(v.verdict(0, 1), Verdict::fail);
  EXPECT_EQ(v.line(0, 1).row, 1);
  EXPECT_EQ(v.verdict(1, 1), Verdict::fail);
  EXPECT_EQ(v.line(1, 1).row, 3);
}

// ---- which readings

TEST(Pair, ReadOnAnotherDayIsNotCompared) {
  const Line line = of_pair({.pressure = 100.0}, {.pressure = 60.0, .day = 1}, pair_pressure);
  EXPECT_EQ(line.verdict, Verdict::no_verdict);
  EXPECT_TRUE(line.noted(Note::other_not_read));
  EXPECT_EQ(of_pair({.pressure = 100.0}, {.pressure = 60.0, .hour = 9.0}, pair_pressure).verdict,
            Verdict::fail);
}

TEST(Pair, OfWhichOneWasNotRead) {
  const Line line = of_pair({.depth = 9.0, .pressure = 100.0}, {.depth = 9.0}, pair_pressure);
  EXPECT_EQ(line.verdict, Verdict::no_verdict);
  EXPECT_TRUE(line.noted(Note::other_not_read));
  EXPECT_TRUE(Verdicts(side_by_side(pair({.depth = 9.0}, {.depth = 9.0}), {pair_pressure})).of(0).empty());
}

// A tire that came since: its neighbour was read beside another one.
TEST(Pair, TireChangedSinceIsNotCompared) {
  for (const bool all : {false, true}) {
    Units units;
    units.add(UnitKind::truck, {{AxleRole::drive, true}});
    const PositionColumns positions = units.columns();
    const Table table({{.position = 0, .day = 1, .tread = {12.0}},
                       {.position = 1, .day = 1, .tread = {7.0}},
                       {.position = 1, .day = 5, .pressure = 100.0, .event = Event::fitted}});
    const FactList facts = facts_of(positions);
    const Verdicts v(judge_fleet({table.columns, positions, {}, no_wheelends, facts.list},
                                 {rule(Statistic::pair_depth, "4", Measure::thirty_seconds)},
                                 {.as_of = long_after, .all = all}));
    ASSERT_EQ(v.of(0).size(), 1U);
    EXPECT_EQ(v.of(0)[0].verdict, Verdict::no_verdict) << all;
    EXPECT_TRUE(v.of(0)[0].noted(Note::other_not_read));
  }
}

TEST(Pair, ReadingsAfterAsOfAreLeftOut) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::drive, true}});
  const PositionColumns positions = units.columns();
  const Table table({{.position = 0, .day = 1, .pressure = 100.0},
                     {.position = 1, .day = 1, .pressure = 100.0},
                     {.position = 1, .day = 9, .pressure = 60.0}});
  const FactList facts = facts_of(positions);
  const auto as_of = [&](std::int32_t day) {
    return Verdicts(judge_fleet({table.columns, positions, {}, no_wheelends, facts.list}, {pair_pressure},
                                {.as_of = day}))
        .of(0)
        .at(0)
        .verdict;
  };
  EXPECT_EQ(as_of(8), Verdict::pass);
  EXPECT_EQ(as_of(9), Verdict::no_verdict);
}

TEST(Pair, SingleTiresAreNone) {
  EXPECT_TRUE(
      Verdicts(side_by_side({{.pressure = 100.0}, {.pressure = 60.0}}, {pair_pressure, pair_diameter}))
          .of(0)
          .empty());
}

// ---- diameter and circumference

TEST(Pair, DiameterAgainstCircumference) {
  const auto pass = [](const Tire& a, const Tire& b, const LimitRow& row) {
    return of_pair(a, b, row).verdict;
  };
  // 1/4 in of diameter are 0.785 in of circumference.
  const Tire wide{.diameter = 40.25}, narrow{.diameter = 40.0};
  EXPECT_EQ(pass(wide, narrow, pair_diameter), Verdict::pass);
  EXPECT_EQ(pass(wide, narrow, pair_circumference), Verdict::fail);
  EXPECT_TRUE(
      near(of_pair(wide, narrow, pair_circumference).reading, 0.25 * pi, {.absolute = 1e-9}));  // nine places
  // 3/4 in of circumference are 0.2387 in of diameter.
  const Tire longer{.circumference = 126.75}, shorter{.circumference = 126.0};
  EXPECT_EQ(pass(longer, shorter, pair_circumference), Verdict::pass);
  EXPECT_EQ(pass(longer, shorter, pair_diameter), Verdict::pass);
  EXPECT_TRUE(near(of_pair(longer, shorter, pair_diameter).reading, 0.2387, printed_to(4)));
  EXPECT_EQ(pass({.circumference = 126.76}, shorter, pair_circumference), Verdict::fail);
  EXPECT_EQ(pass({.diameter = 40.26}, narrow, pair_diameter), Verdict::fail);
}

TEST(Pair, MeasuredWayIsTakenBeforeTheOther) {  // a tape round the tire beats pi times a diameter
  const Tire both{.diameter = 41.0, .circumference = 126.0};
  EXPECT_EQ(of_pair(both, {.circumference = 126.0}, pair_circumference).verdict, Verdict::pass);
  EXPECT_EQ(of_pair(both, {.diameter = 41.0}, pair_diameter).verdict, Verdict::pass);
}

// COMAR 11.14.05.05(g): 1/2 in.
TEST(Pair, OfAStateRule) {
  const LimitRow state = rule(Statistic::pair_diameter, "0.5", Measure::inch);
  EXPECT_EQ(of_pair({.diameter = 40.5}, {.diameter = 40.0}, state).verdict, Verdict::pass);
  EXPECT_EQ(of_pair({.diameter = 40.51}, {.diameter = 40.0}, state).verdict, Verdict::fail);
}

TEST(Pair, OfUnlikeTiresIsStillHeldToItsDiameters) {  // different makers, 12/32 each, 3/8 in apart
  const std::vector<Tire> tires =
      pair({.depth = 12.0, .diameter = 40.375, .make = 1}, {.depth = 12.0, .diameter = 40.0, .make = 2});
  const Verdicts v(side_by_side(tires, {pair_depth(), pair_diameter}));
  EXPECT_EQ(v.verdict(1, 1), Verdict::fail);
  EXPECT_FALSE(v.has(0, 0));
  EXPECT_FALSE(v.has(0, 1));
}

TEST(Pair, WithoutBothDiametersIsNotCompared) {
  EXPECT_TRUE(Verdicts(side_by_side(pair({.depth = 9.0}, {.depth = 9.0, .diameter = 40.0}), {pair_diameter}))
                  .of(0)
                  .empty());
}

TEST(Pair, InMillimetres) {  // 6.35 mm are 1/4 in
  const auto apart = [](double mm) {
    const Tire a{.depth = 9.0, .diameter = 1000.0 + mm}, b{.depth = 9.0, .diameter = 1000.0};
    return Verdicts(
               side_by_side({a, b, b, b}, {pair_diameter}, {}, {.as_of = long_after}, Measure::millimetre))
        .of(0)
        .at(0)
        .verdict;
  };
  EXPECT_EQ(apart(6.35), Verdict::pass);
  EXPECT_EQ(apart(6.36), Verdict::fail);
}

// "Applies to: radial": a row for tires of one construction does not speak of a pair of two.
TEST(Pair, BothTiresMustBeOfWhatTheRowSpeaksOf) {
  constexpr std::int32_t radial = 0, bias = 1;
  LimitRow row = pair_diameter;
  row.where = {is(construction, {radial})};
  const auto lines = [&row](std::int32_t a, std::int32_t b) {
    const Tire wide{.depth = 9.0, .diameter = 41.0, .construction = a},
        narrow{.depth = 9.0, .diameter = 40.0, .construction = b};
    const Tire even{.depth = 9.0, .diameter = 40.0, .construction = bias};
    return Verdicts(side_by_side({wide, narrow, even, even}, {row})).of(0);
  };
  ASSERT_EQ(lines(radial, radial).size(), 1U);
  EXPECT_EQ(lines(radial, radial)[0].verdict, Verdict::fail);
  EXPECT_TRUE(lines(radial, bias).empty());
  EXPECT_TRUE(lines(bias, radial).empty());
  for (const auto& [a, b] : {std::pair(radial, -1), std::pair(-1, radial)}) {
    ASSERT_EQ(lines(a, b).size(), 1U);
    EXPECT_EQ(lines(a, b)[0].verdict, Verdict::no_verdict);
    EXPECT_EQ(lines(a, b)[0].fact, construction);
  }
}

// Limits of one clause by size, the size not known: one line says so, not one for each.
TEST(Pair, OneRowOfAClauseStandsForAll) {
  std::vector<LimitRow> rows{pair_diameter, pair_diameter};
  for (std::int32_t i = 0; i < 2; ++i) {
    rows[static_cast<std::size_t>(i)].where = {is(size_fact, {i})};
    rows[static_cast<std::size_t>(i)].clause = 4;
  }
  const Tire tire{.depth = 9.0, .diameter = 40.0};
  const Verdicts v(side_by_side({tire, tire, tire, tire}, rows));
  EXPECT_EQ(v.of(0).size(), 2U);  // the two pairs
  EXPECT_TRUE(v.of(1).empty());
  const Tire known{.depth = 9.0, .diameter = 40.0, .size = 1};
  const Verdicts second(side_by_side({known, known, known, known}, rows));
  EXPECT_TRUE(second.of(0).empty());
  EXPECT_EQ(second.of(1).size(), 2U);
}

// ---- the tires of an axle

TEST(Axle, OfTreadsApart) {
  const Measures mm{.tread = Measure::millimetre};
  const auto apart = [&mm](double deep, double worn) {
    return Verdicts(side_by_side({{.depth = deep}, {.depth = worn}}, {axle_depth}, mm)).line(0, 1);
  };
  EXPECT_EQ(apart(11.0, 6.0).verdict, Verdict::pass);
  EXPECT_EQ(apart(11.1, 6.0).verdict, Verdict::fail);
  EXPECT_EQ(apart(11.1, 6.0).reading, 5.1);
  EXPECT_EQ(apart(11.1, 6.0).level, Level::axle);
  EXPECT_EQ(apart(11.1, 6.0).row, 1);
  EXPECT_EQ(apart(11.1, 6.0).against.value().position, 0);
}

TEST(Axle, AnyTwoOfItsTiresCount) {
  const Measures mm{.tread = Measure::millimetre};
  const Verdicts v(
      side_by_side({{.depth = 9.0}, {.depth = 8.0}, {.depth = 12.0}, {.depth = 6.9}}, {axle_depth}, mm));
  ASSERT_EQ(v.of(0).size(), 1U);
  EXPECT_EQ(v.of(0)[0].reading, 5.1);
  EXPECT_EQ(v.of(0)[0].position, 3);
  EXPECT_EQ(v.of(0)[0].against.value().position, 2);
}

TEST(Axle, OfWhichOneTireWasNotReadThatDay) {
  const Measures mm{.tread = Measure::millimetre};
  for (const Tire& last : {Tire{.pressure = 100.0}, Tire{.depth = 6.0, .day = 3}}) {
    const Verdicts v(
        side_by_side({{.depth = 12.0}, {.depth = 12.0}, {.depth = 12.0}, last}, {axle_depth}, mm));
    ASSERT_EQ(v.of(0).size(), 1U);
    EXPECT_EQ(v.of(0)[0].verdict, Verdict::no_verdict);
    EXPECT_TRUE(v.of(0)[0].noted(Note::other_not_read));
  }
}

// Carriers' practice: the two steer tires no more than 4/32 in apart, other axles not.
TEST(Axle, RowMaySpeakOfSteerAxlesOnly) {
  LimitRow row = rule(Statistic::axle_depth, "4", Measure::thirty_seconds);
  row.where = {steers()};
  const std::vector<Tire> tires{{.depth = 12.0}, {.depth = 7.0}};
  const auto on = [&](AxleRole role) {
    return Verdicts(side_by_side(tires, {row}, {}, {.as_of = long_after}, Measure::inch, role)).of(0);
  };
  ASSERT_EQ(on(AxleRole::steer).size(), 1U);
  EXPECT_EQ(on(AxleRole::steer)[0].verdict, Verdict::fail);
  EXPECT_TRUE(on(AxleRole::drive).empty());
}

// Appendix A to Part 396, item 10(a): bias and radial are not mixed on an axle. Tire makers: nor are sizes.
TEST(Axle, IsOfOneSizeAndConstruction) {
  LimitRow sizes{.id = "sizes",
                 .statistic = Statistic::axle_sizes,
                 .sense = Sense::absent,
                 .amount = amount("", Measure::yes_no),
                 .fact = size_fact};
  LimitRow constructions = sizes;
  constructions.statistic = Statistic::axle_constructions;
  constructions.fact = construction;
  const auto lines = [&](const std::vector<std::int32_t>& codes) {
    std::vector<Tire> tires;
    for (const std::int32_t code : codes) {
      tires.push_back({.depth = 9.0, .size = code, .construction = 7 - code});
    }
    const Verdicts v(side_by_side(tires, {sizes}));
    return v.of(0);
  };
  EXPECT_EQ(lines({1, 1, 1, 1}).at(0).verdict, Verdict::pass);
  EXPECT_EQ(lines({1, 1, 1, 1}).at(0).level, Level::axle);
  EXPECT_EQ(lines({1, 1, 2, 1}).at(0).verdict, Verdict::fail);
  EXPECT_EQ(lines({1, 1, 2, 1}).at(0).position, 2);  // the odd one
  EXPECT_EQ(lines({1, 1, 2, 3}).at(0).position, 2);  // the first that is unlike those before it
  EXPECT_EQ(lines({1, 2}).at(0).verdict, Verdict::fail);
  EXPECT_EQ(lines({1, -1, 2, -1}).at(0).verdict, Verdict::fail);  // mixed, whatever the others are
  EXPECT_EQ(lines({1, -1, 1, 1}).at(0).verdict, Verdict::no_verdict);
  EXPECT_EQ(lines({1, -1, 1, 1}).at(0).fact, size_fact);
  EXPECT_TRUE(lines({-1, -1, -1, -1}).empty());
  EXPECT_EQ(lines({1, 1, 2, 2}).size(), 1U);
  const Tire radial{.depth = 9.0, .construction = 0}, bias{.depth = 9.0, .construction = 1};
  EXPECT_EQ(Verdicts(side_by_side({radial, bias}, {constructions})).of(0).at(0).verdict, Verdict::fail);
  EXPECT_EQ(Verdicts(side_by_side({bias, bias}, {constructions})).of(0).at(0).verdict, Verdict::pass);
}

TEST(Axle, AxlesAndUnitsAreApart) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::drive}, {AxleRole::drive}});
  units.add(UnitKind::trailer, {{AxleRole::trailer}});
  const PositionColumns positions = units.columns();
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 6; ++p) {
    rows.push_back({.position = p, .tread = {4.0 + 6.0 * (p / 2)}});
  }
  const Table table(rows, {.tread = Measure::millimetre});
  const FactList facts = facts_of(positions);
  const Verdicts v(judge_fleet({table.columns, positions, {}, no_wheelends, facts.list}, {axle_depth},
                               {.as_of = long_after}));
  ASSERT_EQ(v.of(0).size(), 3U);
  for (const Line& line : v.of(0)) {
    EXPECT_EQ(line.verdict, Verdict::pass);
    EXPECT_EQ(line.reading, 0.0);
  }
}

TEST(Axle, InForceOnTheDayOfJudging) {
  LimitRow row = axle_depth;
  row.since = 50;
  const std::vector<Tire> tires{{.depth = 12.0}, {.depth = 6.0}};
  EXPECT_TRUE(Verdicts(side_by_side(tires, {row}, {}, {.as_of = 49})).of(0).empty());
  EXPECT_EQ(Verdicts(side_by_side(tires, {row}, {}, {.as_of = 50})).of(0).size(), 1U);
}

TEST(Axle, DoesNotDependOnTheOrderOfRows) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::drive, true}, {AxleRole::drive, true}});
  const PositionColumns positions = units.columns();
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < 8; ++p) {
    for (const std::int32_t day : {1, 5}) {
      for (const std::int32_t place : {1, 2}) {
        rows.push_back({.position = p,
                        .day = day,
                        .tread = {12.0 - p % 3 - place / 2.0 - day / 10.0},
                        .place = place,
                        .tire = p});
      }
      rows.push_back({.position = p, .day = day, .pressure = 100.0 - 3.0 * (p % 4) - day, .tire = p});
    }
  }
  const FactList facts = facts_of(positions);
  const std::vector<LimitRow> rules{rule(Statistic::pair_depth, "1", Measure::thirty_seconds), pair_pressure,
                                    axle_depth};
  const auto said = [&](const std::vector<Row>& in) {
    const Table table(in);
    const VerdictTable v =
        judge_fleet({table.columns, positions, {}, no_wheelends, facts.list}, rules, {.as_of = 5});
    std::vector<std::tuple<std::int32_t, std::int32_t, int, std::uint32_t, double, std::int32_t>> out;
    for (std::size_t i = 0; i < v.limit.size(); ++i) {
      const Line line = line_of(v, i);
      out.emplace_back(v.limit[i], line.position, v.verdict[i], line.notes, line.reading,
                       line.against ? line.against->position : -1);
    }
    return out;
  };
  const auto expected = said(rows);
  ASSERT_EQ(expected.size(), 10U);  // four pairs by two rows, two axles
  for (unsigned seed = 1; seed <= 30; ++seed) {
    ASSERT_EQ(said(shuffled(rows, seed)), expected) << "seed " << seed;
  }
}
