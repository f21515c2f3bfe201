// Verdicts on facts of the tire itself: the load it carries, the speed it was run at, its age. Expected
// answers follow by arithmetic from the clauses named beside them.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fleet.hpp"
#include "verdict_lines.hpp"
#include "wheelend/dates.hpp"
#include "wheelend_rows.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

std::int32_t day(int year, int month, int of_month) { return day_number(year, month, of_month).value(); }

// ---- load

// 49 CFR 393.75(g): no more than the load marked on the sidewall.
LimitRow load_rule() {
  return {.id = "US-T-09",
          .statistic = Statistic::load_carried,
          .sense = Sense::at_most,
          .amount = amount("100", Measure::percent, {of_rated})};
}

// One drive axle of a unit with two or four tires, in the order outer and inner, left and right.
struct Axle {
  explicit Axle(std::size_t tires) : rated(tires, 6175.0), load(tires, missing), end(tires, missing) {
    columns.facts.assign(tires, tractor_drive);
    unit.assign(tires, 0);
    for (std::size_t p = 0; p < tires; ++p) {
      side.push_back(p < tires / 2 ? left : right);
      dual.push_back(code(tires == 2 ? Dual::single : (p % 2 == 0 ? Dual::outer : Dual::inner)));
    }
  }
  // The same axle with only some of its positions written down.
  [[nodiscard]] Axle with_only(const std::vector<std::size_t>& kept) const {
    Axle out(0);
    for (const std::size_t p : kept) {
      out.columns.facts.push_back(columns.facts[p]);
      out.unit.push_back(unit[p]);
      out.side.push_back(side[p]);
      out.dual.push_back(dual[p]);
      out.rated.push_back(rated[p]);
      out.load.push_back(load[p]);
      out.end.push_back(end[p]);
    }
    return out;
  }
  // What the tires are said to carry.
  Verdicts judge(const std::vector<Row>& rows, Measure measure = Measure::pound) {
    columns.unit = unit;
    columns.side = side;
    columns.dual = dual;
    columns.rated_load = {.values = rated, .measure = Measure::pound};
    columns.axle_load = {.values = load, .measure = measure};
    columns.end_load = {.values = end, .measure = measure};
    return Verdicts(Table(rows), columns, {}, long_after, {load_rule()});
  }
  std::vector<double> rated, load, end;
  std::vector<std::int32_t> unit;
  std::vector<std::int8_t> side, dual;
  PositionColumns columns;
};

std::vector<Row> one_reading_each(std::int32_t tires) {
  std::vector<Row> rows;
  for (std::int32_t p = 0; p < tires; ++p) {
    rows.push_back({.position = p, .pressure = 100.0});
  }
  return rows;
}

// ---- age

// A tire made in the week 30 January to 5 February 2011 (date code 0511; weeks run Sunday to Saturday).
struct Aged {
  double made_from = day(2011, 1, 30), made_to = day(2011, 2, 5);
  double retreaded_from = missing, retreaded_to = missing;
  std::int8_t unusable = 0, retread = -1;
  std::int32_t since = day(2021, 2, 1);  // of the rule

  [[nodiscard]] Verdicts judge(std::int32_t as_of, Statistic statistic = Statistic::age_of_tire,
                               std::int32_t read_on = day(2020, 12, 1)) const {
    TireColumns tires;
    tires.made_from = {&made_from, 1};
    tires.made_to = {&made_to, 1};
    tires.retreaded_from = {&retreaded_from, 1};
    tires.retreaded_to = {&retreaded_to, 1};
    tires.date_unusable.values = {&unusable, 1};
    tires.retread.values = {&retread, 1};
    // Road Vehicles (Construction and Use) amendment of 2020 (UK), in force since 1 February 2021
    const LimitRow rule{.id = "UK-T-05",
                        .statistic = statistic,
                        .sense = Sense::at_most,
                        .amount = amount("10", Measure::year),
                        .since = since};
    return Verdicts(Table(Row{.day = read_on, .tread = {9.0}, .tire = 0}), {.facts = {truck_steer}}, tires,
                    as_of, {rule});
  }
};

}  // namespace

TEST(TireLoad, IsSharedByTheTiresOfTheAxle) {
  Axle single(2);
  single.load.assign(2, 12350.0);
  EXPECT_EQ(single.judge(one_reading_each(2)).verdict(0), Verdict::pass);  // 6175 each: at the rating
  EXPECT_EQ(single.judge(one_reading_each(2)).line(0).reading, 6175.0);
  EXPECT_EQ(single.judge(one_reading_each(2)).line(0).bound, 6175.0);
  single.load.assign(2, 12351.0);
  EXPECT_EQ(single.judge(one_reading_each(2)).verdict(0), Verdict::fail);
  EXPECT_EQ(single.judge(one_reading_each(2)).line(0).margin, -0.5);
  Axle dual(4);
  dual.load.assign(4, 24700.0);
  const Verdicts v = dual.judge(one_reading_each(4));
  for (std::int32_t p = 0; p < 4; ++p) {
    EXPECT_EQ(v.verdict(0, p), Verdict::pass);
    EXPECT_EQ(v.line(0, p).reading, 6175.0);
    EXPECT_FALSE(v.noted(Note::tires_missing, 0, p));
  }
}

TEST(TireLoad, OfTheHeavierEndWhereItIsWeighed) {
  Axle dual(4);
  dual.load.assign(4, 24000.0);
  dual.end = {12352.0, 12352.0, 11648.0, 11648.0};
  const Verdicts v = dual.judge(one_reading_each(4));
  EXPECT_EQ(v.line(0, 0).reading, 6176.0);
  EXPECT_EQ(v.verdict(0, 0), Verdict::fail);
  EXPECT_EQ(v.line(0, 2).reading, 5824.0);
  EXPECT_EQ(v.verdict(0, 2), Verdict::pass);
}

TEST(TireLoad, InAnotherMeasureThanTheRating) {  // 6175 lb are 2800.93288475 kg
  Axle single(2);
  single.load.assign(2, 5601.0);
  EXPECT_EQ(single.judge(one_reading_each(2), Measure::kilogram).verdict(0), Verdict::pass);  // 2800.5 each
  single.load.assign(2, 5602.0);
  EXPECT_EQ(single.judge(one_reading_each(2), Measure::kilogram).verdict(0), Verdict::fail);
}

// FMCSA guidance, question 1 to 393.75: three tires may stay on a four-tire axle if none is overloaded. Each
// end carries half of the axle: tire load = load on that end / tires on that end.
TEST(TireLoad, ThreeTiresOfFourCarryTheLoadOfTheirOwnEnd) {
  Axle dual(4);
  dual.load.assign(4, 18525.0);
  std::vector<Row> rows = one_reading_each(4);
  rows.push_back({.position = 3, .day = 5, .event = Event::removed});
  const Verdicts at = dual.judge(rows);
  EXPECT_EQ(at.line(0, 2).reading, 9262.5);  // alone on its end: 18525 / 2
  EXPECT_EQ(at.verdict(0, 2), Verdict::fail);
  EXPECT_TRUE(at.noted(Note::tires_missing, 0, 2));
  EXPECT_EQ(at.line(0, 0).reading, 4631.25);  // the other end is not loaded more: 18525 / 2 / 2
  EXPECT_EQ(at.verdict(0, 0), Verdict::pass);
  EXPECT_FALSE(at.noted(Note::tires_missing, 0, 0));
  EXPECT_FALSE(at.has(0, 3));  // nothing is on it
  dual.load.assign(4, 12350.0);
  EXPECT_EQ(dual.judge(rows).verdict(0, 2), Verdict::pass);  // 6175
  dual.load.assign(4, 18525.0);
  rows.push_back({.position = 3, .day = 6, .event = Event::fitted});
  EXPECT_EQ(dual.judge(rows).line(0, 2).reading, 4631.25);
  EXPECT_TRUE(dual.judge(rows).has(0, 3));
}

TEST(TireLoad, OneTireLeftOnAnEndThatWasWeighed) {
  Axle dual(4);
  dual.end.assign(4, 8500.0);
  std::vector<Row> rows = one_reading_each(4);
  rows.push_back({.position = 1, .day = 5, .event = Event::removed});
  EXPECT_EQ(dual.judge(rows).line(0, 0).reading, 8500.0);
  EXPECT_EQ(dual.judge(rows).verdict(0, 0), Verdict::fail);
  EXPECT_EQ(dual.judge(rows).line(0, 2).reading, 4250.0);
}

// A table of positions that lacks some of the axle's tires does not say what shares the load.
TEST(TireLoad, PositionsThatLackTiresOfTheAxle) {
  const auto line = [](Axle axle, std::int32_t at) {
    const auto tires = static_cast<std::int32_t>(axle.side.size());
    return axle.judge(one_reading_each(tires)).line(0, at);
  };
  Axle single(2), dual(4);
  single.load.assign(2, 12000.0);
  dual.load.assign(4, 24000.0);
  for (const Line& found :
       {line(single.with_only({0}), 0), line(dual.with_only({0, 1}), 1), line(dual.with_only({0, 2, 3}), 0),
        line(dual.with_only({0, 2, 3}), 1), line(dual.with_only({1, 2, 3}), 0)}) {
    EXPECT_EQ(found.verdict, Verdict::no_verdict);
    EXPECT_EQ(found.notes, bit(Note::positions_incomplete));
  }
  EXPECT_EQ(line(single, 0).reading, 6000.0);
  EXPECT_EQ(line(dual, 0).reading, 6000.0);
  // Where the end itself was weighed, the other one need not be written down.
  dual.end = {12352.0, 12352.0, missing, missing};
  EXPECT_EQ(line(dual.with_only({0, 1}), 0).reading, 6176.0);
  EXPECT_EQ(line(dual.with_only({0}), 0).notes, bit(Note::positions_incomplete));
}

TEST(TireLoad, AxlesDoNotShare) {
  Axle both(4);
  both.columns.facts[2].axle = both.columns.facts[3].axle = 3;
  both.side = {left, right, left, right};
  both.dual.assign(4, code(Dual::single));
  both.load.assign(4, 12350.0);
  EXPECT_EQ(both.judge(one_reading_each(4)).line(0, 0).reading, 6175.0);
  EXPECT_EQ(both.judge(one_reading_each(4)).line(0, 3).reading, 6175.0);
}

// 49 CFR 393.75(g) of a dual tire of which only the rating for single use is known. No size is rated higher
// in a pair than alone (295/75R22.5 load range G: 6,175 lb single, 5,675 lb dual, from memory): beyond the
// single rating it is overloaded, within it nothing is known.
TEST(TireLoad, OfADualTireWithASingleRatingOnly) {
  const auto judged = [](double load, double dual_rating, const char* percent = "100") {
    Axle axle(4);
    axle.end.assign(4, 2.0 * load);
    axle.columns.unit = axle.unit;
    axle.columns.side = axle.side;
    axle.columns.dual = axle.dual;
    axle.columns.rated_load = {.values = axle.rated, .measure = Measure::pound};
    axle.columns.end_load = {.values = axle.end, .measure = Measure::pound};
    FactList facts = facts_of(axle.columns);
    const std::int32_t of_rated_dual =
        facts.add_numbers(Level::wheel, {.position = std::vector<double>(4, dual_rating)}, Measure::pound);
    LimitRow rule = load_rule();
    rule.amount = amount(percent, Measure::percent, {of_rated_dual, of_rated});
    const Table table(one_reading_each(4));
    const Line line = Verdicts(judge_fleet({table.columns, axle.columns, {}, no_wheelends, facts.list},
                                           {rule}, {.as_of = long_after}))
                          .line(0, 0);
    EXPECT_EQ(line.fact >= 0, std::isnan(dual_rating));
    EXPECT_TRUE(line.fact < 0 || line.fact == of_rated_dual);
    EXPECT_FALSE(line.noted(Note::stands_in));
    return line;
  };
  const Line beyond = judged(6500.0, missing);
  EXPECT_EQ(beyond.verdict, Verdict::fail);
  EXPECT_EQ(beyond.severity, Severity::violation);
  EXPECT_TRUE(beyond.noted(Note::fails_whatever));
  const Line within = judged(6000.0, missing);
  EXPECT_EQ(within.verdict, Verdict::no_verdict);
  EXPECT_TRUE(within.noted(Note::fact_missing));
  EXPECT_EQ(judged(6000.0, 5675.0).verdict, Verdict::fail);
  EXPECT_EQ(judged(5675.0, 5675.0).verdict, Verdict::pass);
  // 49 CFR 393.75(h), before 2002: 18 % above the rating. 6175 x 1.18 = 7286.5
  EXPECT_EQ(judged(7286.5, missing, "118").verdict, Verdict::no_verdict);
  EXPECT_EQ(judged(7287.0, missing, "118").verdict, Verdict::fail);
}

TEST(TireLoad, WithoutLoadOrRating) {
  Axle none(2);
  EXPECT_FALSE(none.judge(one_reading_each(2)).has(0));
  none.load.assign(2, 12350.0);
  none.rated.assign(2, missing);
  EXPECT_EQ(none.judge(one_reading_each(2)).verdict(0), Verdict::no_verdict);
  EXPECT_TRUE(none.judge(one_reading_each(2)).noted(Note::fact_missing, 0));
  EXPECT_EQ(none.judge(one_reading_each(2)).line(0).fact, of_rated);
}

TEST(TireLoad, ColumnsThatWereNotGivenSayNothing) {
  EXPECT_TRUE(Verdicts(Table(one_reading_each(2)), {.facts = {tractor_drive, tractor_drive}}, {}, long_after,
                       {load_rule()})
                  .of(0)
                  .empty());
}

// ---- speed: 49 CFR 393.75(f), a tire marked for 55 mph or less

TEST(TireSpeed, IsNotAboveTheOneThatIsMarked) {
  const auto run = [](double mph, double marked) {
    const PositionColumns positions{.facts = {tractor_drive}};
    FactList facts = facts_of(positions);
    const std::int32_t mark = facts.add_numbers(Level::wheel, {.position = {marked}}, Measure::mile_per_hour);
    const Table table(Row{.pressure = 100.0, .speed = mph});
    const LimitRow rule{.id = "US-T-08",
                        .statistic = Statistic::speed_last_hour,
                        .sense = Sense::at_most,
                        .amount = amount("100", Measure::percent, {mark})};
    return Verdicts(
        judge_fleet({table.columns, positions, {}, no_wheelends, facts.list}, {rule}, {.as_of = long_after}));
  };
  EXPECT_EQ(run(55.0, 55.0).verdict(0), Verdict::pass);
  EXPECT_EQ(run(55.1, 55.0).verdict(0), Verdict::fail);
  EXPECT_FALSE(run(65.0, missing).has(0));  // most tires carry no such mark
  EXPECT_FALSE(run(missing, 55.0).has(0));
}

// ---- age

TEST(TireAge, IsCountedFromTheWeekOfManufacture) {
  const Aged tire;
  EXPECT_EQ(tire.judge(day(2021, 2, 10)).verdict(0), Verdict::fail);
  EXPECT_EQ(tire.judge(day(2021, 2, 6)).verdict(0),
            Verdict::fail);                               // ten years and a day, if of the last day
  const Line open = tire.judge(day(2021, 2, 5)).line(0);  // ten years if made on the last day
  EXPECT_EQ(open.verdict, Verdict::no_verdict);
  EXPECT_TRUE(open.noted(Note::week_decides));
  EXPECT_EQ(tire.judge(day(2021, 2, 1)).verdict(0), Verdict::no_verdict);
}

TEST(TireAge, AtTenYearsPasses) {
  Aged tire;
  tire.made_from = day(2011, 2, 6);  // the next week
  tire.made_to = day(2011, 2, 12);
  EXPECT_EQ(tire.judge(day(2021, 2, 6)).verdict(0), Verdict::pass);  // the first day's tenth anniversary
  EXPECT_EQ(tire.judge(day(2021, 2, 7)).verdict(0), Verdict::no_verdict);
  EXPECT_EQ(tire.judge(day(2021, 2, 13)).verdict(0), Verdict::fail);
}

TEST(TireAge, RuleIsInForceOnTheDayOfJudging) {
  const Aged tire;
  EXPECT_FALSE(tire.judge(day(2021, 1, 31)).has(0));
  // The tread was read in December, the age is that of February.
  EXPECT_TRUE(tire.judge(day(2021, 2, 10)).has(0));
}

TEST(TireAge, OfARetreadIsCountedFromTheRetreading) {
  Aged tire;
  tire.retreaded_from = day(2018, 5, 6);
  tire.retreaded_to = day(2018, 5, 12);
  EXPECT_EQ(tire.judge(day(2021, 2, 10)).verdict(0), Verdict::pass);
  EXPECT_EQ(tire.judge(day(2021, 2, 10), Statistic::age_of_casing).verdict(0), Verdict::fail);
}

// The rule counts from the retreading; the casing's own code does not tell when that was.
TEST(TireAge, OfARetreadOfUnknownDate) {
  Aged tire;
  tire.retread = 1;
  EXPECT_EQ(tire.judge(day(2021, 2, 10)).verdict(0), Verdict::no_verdict);
  EXPECT_TRUE(tire.judge(day(2021, 2, 10)).noted(Note::retread_date_unknown, 0));
  EXPECT_EQ(tire.judge(day(2021, 2, 10), Statistic::age_of_casing).verdict(0), Verdict::fail);
  tire.unusable = 1;  // a retread code that cannot be read
  EXPECT_TRUE(tire.judge(day(2021, 2, 10)).noted(Note::retread_date_unknown, 0));
  for (const std::int8_t retread : {std::int8_t{0}, std::int8_t{-1}}) {
    tire.retread = retread;
    EXPECT_EQ(tire.judge(day(2021, 2, 10)).verdict(0), Verdict::fail);
  }
}

TEST(TireAge, WithoutADateCode) {
  Aged tire;
  tire.made_from = tire.made_to = missing;
  EXPECT_FALSE(tire.judge(day(2021, 2, 10)).has(0));
  tire.unusable = 1;  // three digits: the decade is not recorded (64 FR 36807)
  EXPECT_EQ(tire.judge(day(2021, 2, 10)).verdict(0), Verdict::no_verdict);
  EXPECT_TRUE(tire.judge(day(2021, 2, 10)).noted(Note::date_code_unusable, 0));
}

TEST(TireAge, IsNotBelowNothing) {  // judged as of a day before the week of the code
  Aged tire;
  tire.since = always_since;
  const Line line = tire.judge(day(2010, 1, 1), Statistic::age_of_tire, day(2009, 12, 1)).line(0);
  EXPECT_EQ(line.verdict, Verdict::pass);
  EXPECT_EQ(line.reading, 0.0);
}

// ---- whose facts

// A tire that was taken off takes its facts with it.
TEST(TireFacts, GoWithTheTire) {
  const std::vector<double> marked{120.0, 100.0};
  TireColumns tires;
  tires.sidewall_max = {.values = marked, .measure = Measure::psi};
  const auto flat = [&tires](const std::vector<Row>& rows) {
    return Verdicts(Table(rows), {.facts = {tractor_drive}}, tires).line(os_t_03);
  };
  EXPECT_EQ(flat({{.day = 1, .tread = {9.0}, .tire = 0}, {.day = 9, .pressure = 55.0}}).bound, 60.0);
  const Row off{.day = 5, .tire = 0, .event = Event::removed};
  const Line after = flat({{.day = 1, .tread = {9.0}, .tire = 0}, off, {.day = 9, .pressure = 55.0}});
  EXPECT_EQ(after.verdict, Verdict::no_verdict);
  EXPECT_TRUE(after.noted(Note::fact_missing));
  EXPECT_EQ(flat({off, {.day = 9, .pressure = 55.0}}).verdict, Verdict::no_verdict);
  // Read on its way out, it is still that tire, whatever was written down before.
  EXPECT_EQ(flat({{.day = 1, .tread = {9.0}, .tire = 1},
                  {.day = 5, .pressure = 55.0, .tire = 0, .event = Event::removed}})
                .bound,
            60.0);
  EXPECT_EQ(flat({{.day = 5, .pressure = 55.0, .tire = 0, .event = Event::removed}}).bound, 60.0);
  EXPECT_EQ(
      flat({{.day = 1, .tread = {9.0}, .tire = 0}, {.day = 5, .pressure = 55.0, .event = Event::removed}})
          .bound,
      60.0);
}

// One off and another on in one visit: what came is there now.
TEST(TireFacts, OfTheTireThatCameInOneVisit) {
  const std::vector<double> marked{120.0, 100.0};
  TireColumns tires;
  tires.sidewall_max = {.values = marked, .measure = Measure::psi};
  const Row off{.day = 5, .tread = {3.0}, .tire = 0, .event = Event::removed};
  const Row on{.day = 5, .pressure = 55.0, .tire = 1, .event = Event::fitted};
  for (const std::vector<Row>& rows : {std::vector{off, on}, std::vector{on, off}}) {
    const Verdicts v(Table(rows), {.facts = {tractor_drive}}, tires);
    EXPECT_EQ(v.line(os_t_03).bound, 50.0);
    EXPECT_EQ(v.verdict(os_t_03), Verdict::pass);
  }
}

// Seen from a later day, whatever the order in which the two were written down.
TEST(TireFacts, AfterAVisitAtWhichTiresWereChanged) {
  const std::vector<double> marked{120.0, 100.0};
  TireColumns tires;
  tires.sidewall_max = {.values = marked, .measure = Measure::psi};
  const Row later{.day = 9, .pressure = 55.0};
  for (const double tread : {3.0, missing}) {
    const Row off{.day = 5, .tread = {tread}, .tire = 0, .event = Event::removed};
    for (const double other : {9.0, missing}) {
      const Row on{.day = 5, .tread = {other}, .tire = 1, .event = Event::fitted};
      EXPECT_EQ(Verdicts(Table({off, on, later}), {.facts = {tractor_drive}}, tires).line(os_t_03).bound,
                50.0);
    }
  }
}

// Read many times without its number, a tire is the one that was written down once, until it is changed.
TEST(TireFacts, OfATireThatWasNamedOnce) {
  const std::vector<double> marked{120.0, 100.0};
  TireColumns tires;
  tires.sidewall_max = {.values = marked, .measure = Measure::psi};
  std::vector<Row> rows{{.day = 1, .pressure = 90.0, .tire = 0}};
  for (std::int32_t day = 2; day < 40; ++day) {
    rows.push_back({.day = day, .pressure = 90.0, .event = day == 30 ? Event::fitted : Event::none});
  }
  rows.push_back({.day = 40, .pressure = 90.0, .tire = 1});
  const Table table(rows);
  const PositionColumns positions{.facts = {tractor_drive}};
  const Verdicts all(judged(table, positions, tires, {.as_of = long_after, .all = true}));
  const std::vector<Line> lines = all.of(os_t_03);
  ASSERT_EQ(lines.size(), rows.size());
  for (const Line& line : lines) {
    const std::int32_t day = rows[static_cast<std::size_t>(line.row)].day;
    if (day < 30) {
      EXPECT_EQ(line.bound, 60.0) << day;
    } else if (day < 40) {
      EXPECT_TRUE(std::isnan(line.bound)) << day;  // another one, and nobody wrote down which
    } else {
      EXPECT_EQ(line.bound, 50.0);
    }
  }
}
