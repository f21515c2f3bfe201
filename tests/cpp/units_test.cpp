// Verdicts on whole units: the age of the periodic inspection, and defective brakes as a share of all brakes
// of the units that were presented together (out-of-service criteria, as the trade press reports them: 20 %;
// 1/4 in or more beyond the readjustment limit is one defect, less is half of one).
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fleet.hpp"
#include "near.hpp"
#include "verdict_lines.hpp"
#include "wheelend/dates.hpp"
#include "wheelend/error.hpp"
#include "wheelend_rows.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

std::int32_t day(int year, int month, int of_month) { return day_number(year, month, of_month).value(); }

// ---- brakes

constexpr std::int32_t stroke = 0, inoperative = 1;
enum BrakeRow : std::int32_t { limit_row, whole_row, half_row, action_row, share_row };

// Clamp type 30, standard stroke: 2 in (49 CFR 393.47(e)(1)).
std::vector<LimitRow> brake_rows() {
  const auto beyond = [](const char* id, Sense sense, const char* bound, double counts) {
    return LimitRow{.id = id,
                    .statistic = Statistic::beyond_limit,
                    .quantity = stroke,
                    .sense = sense,
                    .severity = Severity::advice,
                    .amount = amount(bound, Measure::inch),
                    .counts = counts};
  };
  return {{.id = "US-B-11-30",
           .statistic = Statistic::as_read,
           .quantity = stroke,
           .sense = Sense::at_most,
           .amount = amount("2", Measure::inch)},
          beyond("OS-B-02", Sense::less_than, "0.25", 1.0),
          beyond("OS-B-03", Sense::at_most, "0", 0.5),
          {.id = "inoperative",
           .statistic = Statistic::as_read,
           .quantity = inoperative,
           .sense = Sense::absent,
           .severity = Severity::advice,
           .amount = amount("", Measure::yes_no),
           .counts = 1.0},
          {.id = "OS-B-01",
           .statistic = Statistic::defective_brakes,
           .sense = Sense::less_than,
           .severity = Severity::out_of_service,
           .amount = amount("20", Measure::percent)}};
}

// A fleet of units with single tires, and one reading of stroke at each brake, in the order of positions.
class Brakes {
 public:
  explicit Brakes(const std::vector<std::pair<UnitKind, std::size_t>>& made) {
    for (const auto& [kind, axles] : made) {
      std::vector<AxleMade> roles(axles);
      roles.front().role = kind == UnitKind::trailer ? AxleRole::trailer : AxleRole::steer;
      units.add(kind, roles);
    }
  }
  static constexpr double good = 1.75, half = 2.125, whole = 2.25;

  // Strokes in the order of positions; a missing one was not read.
  Brakes& read(const std::vector<double>& strokes, std::int32_t combination = -1, std::int32_t on = 0) {
    for (std::size_t p = 0; p < strokes.size(); ++p) {
      if (!std::isnan(strokes[p])) {
        rows.push_back(row(static_cast<std::int32_t>(p), strokes[p], combination, on));
      }
    }
    return *this;
  }
  [[nodiscard]] PositionColumns positions() const {
    PositionColumns out = units.columns();
    out.combination = together;
    return out;
  }
  [[nodiscard]] WheelendRow row(std::int32_t p, double value, std::int32_t combination = -1,
                                std::int32_t on = 0) const {
    const auto i = static_cast<std::size_t>(p);
    const PositionColumns places = positions();
    return {.position = p,
            .value = value,
            .axle = places.facts[i].axle,
            .side = places.side[i],
            .day = on,
            .combination = combination};
  }
  [[nodiscard]] Verdicts judge(const JudgeOptions& options = {.as_of = long_after},
                               const std::vector<LimitRow>& rules = brake_rows()) const {
    const Table nothing(std::vector<Row>{});
    const WheelendTable table(rows);
    const PositionColumns places = positions();
    const FactList facts = facts_of(places);
    return Verdicts(judge_fleet({nothing.columns, places, {}, table.columns, facts.list}, rules, options));
  }
  // The one line on the share of defective brakes.
  [[nodiscard]] Line share() const {
    const std::vector<Line> lines = judge().of(share_row);
    EXPECT_EQ(lines.size(), 1U);
    return lines.at(0);
  }

  Units units;
  std::vector<std::int32_t> together;  // combinations by position, as the fleet's table gives it
  std::vector<WheelendRow> rows;
};

// One vehicle of so many brakes, some of them defective.
Brakes vehicle(std::size_t brakes, std::size_t whole, std::size_t half = 0) {
  Brakes out({{UnitKind::truck, brakes / 2}});
  std::vector<double> strokes(brakes, Brakes::good);
  std::fill_n(strokes.begin(), whole, Brakes::whole);
  std::fill_n(strokes.begin() + static_cast<std::ptrdiff_t>(whole), half, Brakes::half);
  return out.read(strokes);
}

// ---- periodic inspection

// 49 CFR 396.17: at least once every 12 months.
LimitRow twelve_months(std::int32_t inspected_on) {
  return {.id = "US-R-06",
          .statistic = Statistic::months_since,
          .sense = Sense::at_most,
          .amount = amount("12", Measure::month),
          .fact = inspected_on};
}
// Days of the last inspection by position.
Verdicts inspected(const std::vector<double>& by_position, const PositionColumns& positions,
                   std::int32_t as_of) {
  FactList facts = facts_of(positions);
  const LimitRow rule =
      twelve_months(facts.add_numbers(Level::unit, {.position = by_position}, Measure::count));
  const Table nothing(std::vector<Row>{});
  return Verdicts(
      judge_fleet({nothing.columns, positions, {}, no_wheelends, facts.list}, {rule}, {.as_of = as_of}));
}
Verdicts inspected(std::int32_t on, std::int32_t as_of) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::steer}});
  return inspected({static_cast<double>(on), static_cast<double>(on)}, units.columns(), as_of);
}

}  // namespace

// ---- periodic inspection

TEST(MonthsSince, TwelveMonthsPass) {
  EXPECT_EQ(inspected(day(2024, 5, 10), day(2025, 5, 10)).verdict(0), Verdict::pass);
  EXPECT_EQ(inspected(day(2024, 5, 10), day(2025, 5, 11)).verdict(0), Verdict::fail);
  EXPECT_EQ(inspected(day(2024, 5, 10), day(2025, 6, 10)).verdict(0), Verdict::fail);  // 13 months ago
  EXPECT_EQ(inspected(day(2024, 5, 10), day(2025, 6, 10)).line(0).reading, 13.0);
  EXPECT_EQ(inspected(day(2025, 5, 10), day(2025, 5, 10)).verdict(0), Verdict::pass);
  EXPECT_EQ(inspected(day(2024, 5, 10), day(2025, 5, 10)).line(0).level, Level::unit);
}

TEST(MonthsSince, WithoutADateSaysNothing) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::steer}});
  EXPECT_TRUE(inspected({missing, missing}, units.columns(), day(2025, 5, 10)).of(0).empty());
}

TEST(MonthsSince, IsSaidOnceOfEachUnit) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::steer}, {AxleRole::drive, true}});
  units.add(UnitKind::trailer, {{AxleRole::trailer, true}});
  std::vector<double> on(6, day(2024, 5, 10));
  on.insert(on.end(), 4, day(2025, 5, 1));
  const std::vector<Line> lines = inspected(on, units.columns(), day(2025, 6, 10)).of(0);
  ASSERT_EQ(lines.size(), 2U);
  EXPECT_EQ(lines[0].verdict, Verdict::fail);
  EXPECT_EQ(lines[0].position, 0);
  EXPECT_EQ(lines[1].verdict, Verdict::pass);
  EXPECT_EQ(lines[1].position, 6);
}

// Positions of two units may stand in any order in their table.
TEST(MonthsSince, PositionsOfAUnitNeedNotStandTogether) {
  const std::vector<std::int32_t> unit{0, 1, 0, 1};
  PositionColumns positions{.facts = std::vector<PositionFacts>(4, tractor_drive)};
  positions.unit = unit;
  const Verdicts v = inspected(std::vector<double>(4, day(2024, 5, 10)), positions, day(2025, 6, 10));
  EXPECT_EQ(v.of(0).size(), 2U);
}

// ---- defective brakes

TEST(DefectiveBrakes, AShareOfAllBrakes) {
  const Line one = vehicle(10, 1).share();
  EXPECT_EQ(one.verdict, Verdict::pass);
  EXPECT_EQ(one.reading, 10.0);
  EXPECT_EQ(one.measure, Measure::percent);
  const Line two = vehicle(10, 2).share();
  EXPECT_EQ(two.verdict, Verdict::fail);  // "20 % or more"
  EXPECT_EQ(two.reading, 20.0);
  EXPECT_EQ(two.margin, 0.0);
  EXPECT_EQ(two.severity, Severity::out_of_service);
  EXPECT_EQ(two.level, Level::unit);
  EXPECT_EQ(vehicle(6, 1).share().verdict, Verdict::pass);  // 16.7 %, which is not rounded up
  EXPECT_TRUE(near(vehicle(6, 1).share().reading, 100.0 / 6.0, roundings(2)));
  EXPECT_EQ(vehicle(4, 1).share().verdict, Verdict::fail);  // 25 %
  EXPECT_EQ(vehicle(10, 0).share().reading, 0.0);
}

TEST(DefectiveBrakes, SaysOfHowMany) {
  const auto against = vehicle(10, 1).share().against;
  ASSERT_TRUE(against);
  EXPECT_EQ(against->value, 10.0);
  EXPECT_EQ(against->position, -1);
  EXPECT_TRUE(vehicle(10, 1).share().of_wheelend);
  EXPECT_EQ(vehicle(10, 1).share().row, 0);  // the first that was read
}

TEST(DefectiveBrakes, HalvesCountAsHalves) {
  EXPECT_EQ(vehicle(10, 1, 2).share().reading, 20.0);  // 1 + 2 x 1/2 of 10
  EXPECT_EQ(vehicle(10, 1, 2).share().verdict, Verdict::fail);
  EXPECT_EQ(vehicle(10, 0, 3).share().reading, 15.0);
  EXPECT_EQ(vehicle(10, 0, 3).share().verdict, Verdict::pass);
  EXPECT_EQ(vehicle(10, 0, 4).share().verdict, Verdict::fail);
}

// Shares that are 20 % exactly for every number of brakes that allows it.
TEST(DefectiveBrakes, FifthsAreExact) {
  for (const std::size_t brakes : {10U, 20U, 30U, 40U, 50U, 60U}) {
    EXPECT_EQ(vehicle(brakes, brakes / 5).share().verdict, Verdict::fail) << brakes;
    EXPECT_EQ(vehicle(brakes, brakes / 5 - 1, 1).share().verdict, Verdict::pass) << brakes;
  }
}

TEST(DefectiveBrakes, WorstReadingOfABrakeCountsOnce) {
  Brakes brakes = vehicle(10, 1);
  WheelendRow dead = brakes.row(0, missing);
  dead.quantity = inoperative;
  dead.present = 1;
  brakes.rows.push_back(dead);  // the brake whose stroke is too long does not act at all
  EXPECT_EQ(brakes.share().reading, 10.0);
  brakes.rows.back() = dead;
  brakes.rows.back().position = 1;
  brakes.rows.back().side = right;
  EXPECT_EQ(brakes.share().reading, 20.0);
  brakes.rows.back().present = 0;
  EXPECT_EQ(brakes.share().reading, 10.0);
}

// A steering-axle brake of a power unit without action is out of service whatever the share (trade press).
TEST(DefectiveBrakes, SteeringAxleStandsApart) {
  std::vector<LimitRow> rules = brake_rows();
  LimitRow steering = rules[action_row];
  steering.id = "OS-B-04";
  steering.where = {power_unit(), steers()};
  steering.severity = Severity::out_of_service;
  steering.counts = 0.0;
  rules.push_back(steering);
  const auto dead = [&rules](std::int32_t position) {
    Brakes brakes = vehicle(10, 0);
    WheelendRow row = brakes.row(position, missing);
    row.quantity = inoperative;
    row.present = 1;
    brakes.rows.push_back(row);
    return brakes.judge({.as_of = long_after}, rules);
  };
  constexpr std::int32_t steering_row = share_row + 1;
  const Verdicts front = dead(0);
  EXPECT_EQ(front.of(steering_row).at(0).verdict, Verdict::fail);
  EXPECT_EQ(front.of(steering_row).at(0).severity, Severity::out_of_service);
  EXPECT_EQ(front.of(share_row).at(0).verdict, Verdict::pass);  // 10 %
  const Verdicts rear = dead(2);
  EXPECT_TRUE(rear.of(steering_row).empty());
  EXPECT_EQ(rear.of(share_row).at(0).reading, 10.0);
}

// ---- brakes that were not read

TEST(DefectiveBrakes, UnreadOnesMayDecide) {
  Brakes brakes({{UnitKind::truck, 5}});
  std::vector<double> strokes(10, Brakes::good);
  strokes[9] = missing;
  const Line none = Brakes(brakes).read(strokes).share();
  EXPECT_EQ(none.verdict, Verdict::pass);  // at worst 1 of 10
  EXPECT_EQ(none.reading, 0.0);
  strokes[0] = Brakes::whole;
  const Line open = Brakes(brakes).read(strokes).share();
  EXPECT_EQ(open.verdict, Verdict::no_verdict);  // 1 of 10, or 2
  EXPECT_TRUE(open.noted(Note::brakes_not_read));
  strokes[1] = Brakes::whole;
  EXPECT_EQ(Brakes(brakes).read(strokes).share().verdict, Verdict::fail);  // whatever the last one is
}

// The 20 % are of all brakes, read or not: two read and one of them defective are not 50 %.
TEST(DefectiveBrakes, AreSharedByThoseThatWereNotRead) {
  Brakes brakes({{UnitKind::truck, 5}});
  brakes.read({Brakes::whole, Brakes::good});
  EXPECT_EQ(brakes.share().verdict, Verdict::no_verdict);
}

TEST(DefectiveBrakes, ReadingWithoutVerdictIsNoneOfTheBrake) {
  std::vector<LimitRow> rules = brake_rows();
  rules[whole_row].needs =
      rules[half_row].needs = {of_kinds(UnitKind::bus)};  // stands for a test pressure that is not met
  const Brakes brakes = vehicle(10, 2);
  EXPECT_TRUE(brakes.judge({.as_of = long_after}, rules).of(share_row).empty());  // no brake is known at all
}

TEST(DefectiveBrakes, UnconfirmedRowsCountWhenAskedTo) {
  std::vector<LimitRow> rules = brake_rows();
  rules[whole_row].unconfirmed = rules[half_row].unconfirmed = true;
  const Brakes brakes = vehicle(10, 2);
  EXPECT_EQ(brakes.judge({.as_of = long_after}, rules).of(share_row).at(0).verdict, Verdict::no_verdict);
  EXPECT_EQ(brakes.judge({.as_of = long_after, .count_unconfirmed = true}, rules).of(share_row).at(0).verdict,
            Verdict::fail);
}

TEST(DefectiveBrakes, OfNoReadingsSayNothing) {
  EXPECT_TRUE(Brakes({{UnitKind::truck, 3}}).judge().of(share_row).empty());
}

// ---- units presented together

// "On the vehicle or combination as presented", not per vehicle: a tractor of 6 and a trailer of 4.
TEST(DefectiveBrakes, OfACombination) {
  Brakes brakes({{UnitKind::tractor, 3}, {UnitKind::trailer, 2}});
  std::vector<double> strokes(10, Brakes::good);
  strokes[6] = Brakes::whole;  // of the trailer: 25 % of its own, 10 % of all
  const Line together = Brakes(brakes).read(strokes, 0).share();
  EXPECT_EQ(together.verdict, Verdict::pass);
  EXPECT_EQ(together.reading, 10.0);
  strokes[0] = Brakes::whole;  // and of the tractor: 16.7 % of its own
  EXPECT_EQ(Brakes(brakes).read(strokes, 0).share().verdict, Verdict::fail);
  EXPECT_EQ(Brakes(brakes).read(strokes, 0).share().reading, 20.0);
  const Verdicts apart = Brakes(brakes).read(strokes).judge();
  ASSERT_EQ(apart.of(share_row).size(), 2U);
  for (const Line& line : apart.of(share_row)) {
    EXPECT_EQ(line.verdict, line.position == 0 ? Verdict::pass : Verdict::fail);
  }
}

TEST(DefectiveBrakes, OfACombinationStandAtThePowerUnit) {
  Brakes brakes({{UnitKind::trailer, 2}, {UnitKind::tractor, 3}});
  const Line line = brakes.read(std::vector<double>(10, Brakes::good), 0).share();
  EXPECT_EQ(line.position, 4);
  Brakes trailers({{UnitKind::trailer, 2}, {UnitKind::dolly, 1}});
  EXPECT_EQ(trailers.read(std::vector<double>(6, Brakes::good), 0).share().position, 0);
}

TEST(DefectiveBrakes, BrakesOfAUnitOfTheCombinationThatWasHardlyReadCount) {
  Brakes brakes({{UnitKind::tractor, 3}, {UnitKind::trailer, 2}});
  std::vector<double> strokes(7, Brakes::good);  // one brake of the trailer was read
  strokes[0] = Brakes::whole;
  EXPECT_EQ(Brakes(brakes).read(strokes, 0).share().verdict, Verdict::no_verdict);  // 1 of 10, up to 4
}

// Positions say which units belong together: one of which no brake was read belongs all the same.
TEST(DefectiveBrakes, BrakesOfAUnitOfTheCombinationThatWasNotReadCount) {
  Brakes brakes({{UnitKind::tractor, 3}, {UnitKind::trailer, 2}, {UnitKind::trailer, 2}});
  brakes.together = {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1};
  std::vector<double> strokes(6, Brakes::good);
  strokes[0] = Brakes::whole;
  EXPECT_EQ(Brakes(brakes).read(strokes, 0).share().verdict, Verdict::no_verdict);  // 1 of 10, up to 5
  strokes[1] = Brakes::whole;
  const Line two = Brakes(brakes).read(strokes, 0).share();
  EXPECT_EQ(two.verdict, Verdict::fail);
  EXPECT_EQ(two.reading, 20.0);  // of the ten of this combination, not of the fourteen of the fleet
  EXPECT_EQ(Brakes(brakes).read(strokes).share().against.value().value, 6.0);  // presented alone
}

// ---- days

TEST(DefectiveBrakes, OfTheLastDayOrOfEach) {
  Brakes brakes({{UnitKind::truck, 5}});
  std::vector<double> strokes(10, Brakes::good);
  brakes.read(strokes, -1, 30);
  strokes[0] = strokes[1] = Brakes::whole;
  brakes.read(strokes, -1, 10);
  EXPECT_EQ(brakes.share().verdict, Verdict::pass);
  const std::vector<Line> each = brakes.judge({.as_of = long_after, .all = true}).of(share_row);
  ASSERT_EQ(each.size(), 2U);
  EXPECT_EQ(each[0].verdict, Verdict::fail);
  EXPECT_EQ(each[1].verdict, Verdict::pass);
  EXPECT_EQ(brakes.judge({.as_of = 29}).of(share_row).at(0).verdict, Verdict::fail);
}

// The last reading of each brake counts, whenever it was taken: one found defective stays so until it is read
// again.
TEST(DefectiveBrakes, ReadOnTwoDaysCountTogether) {
  Brakes brakes({{UnitKind::truck, 5}});
  std::vector<double> strokes(10, Brakes::good);
  strokes[0] = Brakes::whole;
  brakes.read(strokes, -1, 10);
  brakes.rows.push_back(brakes.row(1, Brakes::whole, -1, 30));
  const Line two = brakes.share();
  EXPECT_EQ(two.verdict, Verdict::fail);
  EXPECT_EQ(two.reading, 20.0);
  EXPECT_EQ(two.row, 10);  // of the last day
  brakes.rows.push_back(brakes.row(0, Brakes::good, -1, 31));
  EXPECT_EQ(brakes.share().reading, 10.0);
  EXPECT_EQ(brakes.share().row, 11);
  // Day by day, where every inspection is judged: one brake of ten says little.
  const std::vector<Line> each = brakes.judge({.as_of = long_after, .all = true}).of(share_row);
  ASSERT_EQ(each.size(), 3U);
  EXPECT_EQ(each[0].reading, 10.0);
  EXPECT_TRUE(each[1].noted(Note::brakes_not_read));
  EXPECT_TRUE(each[2].noted(Note::brakes_not_read));
}

// Every axle has two brakes, also where only one side stands in the positions.
TEST(DefectiveBrakes, OfAnAxleOfWhichOneSideIsListed) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::steer}, {AxleRole::drive}});
  PositionColumns positions = units.columns();
  const std::vector<std::int32_t> unit{0, 0};
  const std::vector<std::int8_t> side{left, left}, dual(2, code(Dual::single));
  positions.facts = {positions.facts[0], positions.facts[2]};
  positions.unit = unit;
  positions.side = side;
  positions.dual = dual;
  const Table nothing(std::vector<Row>{});
  const WheelendTable table(
      {{.position = 0, .value = Brakes::half, .axle = 1}, {.position = 1, .value = Brakes::good, .axle = 2}});
  const FactList facts = facts_of(positions);
  const Line line = Verdicts(judge_fleet({nothing.columns, positions, {}, table.columns, facts.list},
                                         brake_rows(), {.as_of = long_after}))
                        .of(share_row)
                        .at(0);
  EXPECT_EQ(line.verdict, Verdict::no_verdict);  // half of one of four, or up to two and a half
  EXPECT_TRUE(line.noted(Note::brakes_not_read));
}

// A limit that rests on memory fails no brake, and so takes no vehicle out of service either.
TEST(DefectiveBrakes, BeyondALimitFromMemoryAreNotCounted) {
  std::vector<LimitRow> rules = brake_rows();
  rules[limit_row].unconfirmed = true;
  const Brakes brakes = vehicle(10, 2);
  const Verdicts v = brakes.judge({.as_of = long_after}, rules);
  EXPECT_EQ(v.verdict(whole_row, 0), Verdict::no_verdict);
  EXPECT_TRUE(v.noted(Note::unconfirmed, whole_row, 0));
  EXPECT_EQ(v.line(whole_row, 0).noted_limit, limit_row);
  EXPECT_EQ(v.line(limit_row, 0).noted_limit, -1);
  EXPECT_EQ(v.verdict(whole_row, 5), Verdict::pass);  // within that limit
  EXPECT_EQ(v.of(share_row).at(0).verdict, Verdict::no_verdict);
  EXPECT_EQ(brakes.judge({.as_of = long_after, .count_unconfirmed = true}, rules).of(share_row).at(0).verdict,
            Verdict::fail);
}

// A dual wheel end has one brake, whichever of its tires the reading stands at.
TEST(DefectiveBrakes, DualWheelEndHasOneBrake) {
  Units units;
  units.add(UnitKind::truck, {{AxleRole::steer}, {AxleRole::drive, true}});
  const PositionColumns positions = units.columns();
  std::vector<WheelendRow> rows;
  for (std::int32_t axle = 1; axle <= 2; ++axle) {
    for (const std::int8_t side : {left, right}) {
      rows.push_back({.position = units.at(0, axle, side),
                      .value = axle == 2 ? Brakes::whole : Brakes::good,
                      .axle = axle,
                      .side = side});
    }
  }
  rows.push_back(rows.back());
  rows.back().dual = code(Dual::inner);
  ++rows.back().position;
  const Table nothing(std::vector<Row>{});
  const WheelendTable table(rows);
  const FactList facts = facts_of(positions);
  const Verdicts v(judge_fleet({nothing.columns, positions, {}, table.columns, facts.list}, brake_rows(),
                               {.as_of = long_after}));
  EXPECT_EQ(v.of(share_row).at(0).reading, 50.0);
  EXPECT_EQ(v.of(share_row).at(0).against.value().value, 4.0);
}

TEST(DefectiveBrakes, RowMaySpeakOfPowerUnitsOnly) {
  std::vector<LimitRow> rules = brake_rows();
  rules[share_row].where = {power_unit()};
  Brakes trailer({{UnitKind::trailer, 2}});
  trailer.read(std::vector<double>(4, Brakes::whole));
  EXPECT_TRUE(trailer.judge({.as_of = long_after}, rules).of(share_row).empty());
  EXPECT_EQ(vehicle(4, 1).judge({.as_of = long_after}, rules).of(share_row).size(), 1U);
}

TEST(DefectiveBrakes, DoNotDependOnTheOrderOfRows) {
  Brakes brakes({{UnitKind::tractor, 3}, {UnitKind::trailer, 2}});
  std::vector<double> strokes(10, Brakes::good);
  strokes[2] = strokes[7] = Brakes::half;
  strokes[5] = missing;
  brakes.read(strokes, 0, 3);
  strokes[5] = Brakes::whole;
  brakes.read(strokes, 0, 9);
  const auto said = [&brakes](std::vector<WheelendRow> rows) {
    Brakes other = brakes;
    other.rows = std::move(rows);
    const std::vector<Line> lines = other.judge({.as_of = long_after, .all = true}).of(share_row);
    std::string out;
    for (const Line& line : lines) {
      out += std::to_string(static_cast<int>(line.verdict)) + " " + std::to_string(line.reading) + " " +
             std::to_string(line.notes) + ";";
    }
    return out;
  };
  const std::string expected = said(brakes.rows);
  ASSERT_FALSE(expected.empty());
  for (unsigned seed = 1; seed <= 20; ++seed) {
    ASSERT_EQ(said(shuffled(brakes.rows, seed)), expected) << "seed " << seed;
  }
}
