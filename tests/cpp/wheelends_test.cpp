// Verdicts on wheel-end readings, and the ways in which a clause states its bound. Expected answers follow by
// arithmetic from the clauses named beside them; 1 in = 25.4 mm, 1 psi = 6.894757293168361 kPa (NIST SP 811).
#include "wheelend/wheelends.hpp"

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

// A truck of two axles with single tires, and more facts than those of its positions.
class Shop {
 public:
  Shop() : Shop({{AxleRole::steer}, {AxleRole::drive}}) {}
  explicit Shop(const std::vector<AxleMade>& axles) {
    units.add(UnitKind::truck, axles);
    positions = units.columns();
    facts = facts_of(positions);
  }

  [[nodiscard]] Verdicts judge_table(const WheelendTable& table, const std::vector<LimitRow>& rules,
                                     const JudgeOptions& options = {.as_of = long_after}) const {
    const Table nothing(std::vector<Row>{});
    return Verdicts(judge_fleet({nothing.columns, positions, {}, table.columns, facts.list}, rules, options));
  }
  [[nodiscard]] Verdicts judge(const std::vector<WheelendRow>& rows, const std::vector<LimitRow>& rules,
                               const JudgeOptions& options = {.as_of = long_after}) const {
    return judge_table(WheelendTable(rows), rules, options);
  }
  // One reading against one rule.
  [[nodiscard]] Line line(const WheelendRow& row, const LimitRow& rule,
                          const JudgeOptions& options = {.as_of = long_after}) const {
    return judge({row}, {rule}, options).line(0, row.position);
  }
  [[nodiscard]] Verdict verdict(const WheelendRow& row, const LimitRow& rule) const {
    return line(row, rule).verdict;
  }
  // A fact of the row of the reading.
  std::int32_t of_row(const std::vector<double>& numbers, Measure measure) {
    return facts.add_numbers(Level::wheel, {.row = numbers}, measure);
  }
  std::int32_t of_row(const std::vector<std::int32_t>& codes) {
    return facts.add_codes(Level::wheel, {.row = codes});
  }

  Units units;
  PositionColumns positions;
  FactList facts;
};

LimitRow rule(Sense sense, const char* bound, Measure measure) {
  return {.id = "rule",
          .statistic = Statistic::as_read,
          .quantity = 0,
          .sense = sense,
          .amount = {{bound, measure}}};
}
LimitRow within(const char* low, const char* high, Measure measure) {
  LimitRow row = rule(Sense::within, low, measure);
  row.upper = high;
  return row;
}
// A share of a fact, or so much above it.
LimitRow based(Sense sense, const char* bound, Measure measure, std::vector<std::int32_t> bases) {
  LimitRow row = rule(sense, bound, measure);
  row.amount.bases = std::move(bases);
  return row;
}
LimitRow with(LimitRow row, Statistic statistic) {
  row.statistic = statistic;
  return row;
}

Verdict of_value(double value, Measure measure, const LimitRow& row) {
  return Shop().verdict({.value = value, .measure = measure}, row);
}

}  // namespace

// ---- as read

// 49 CFR 393.47(d): a lining below 1/4 in fails and one of 1/4 in passes; hydraulic on a steering axle, 1/16
// in "or less" fails.
TEST(AsRead, OfLinings) {
  const LimitRow air = rule(Sense::at_least, "0.25", Measure::inch);
  EXPECT_EQ(of_value(0.25, Measure::inch, air), Verdict::pass);
  EXPECT_EQ(of_value(8.0, Measure::thirty_seconds, air), Verdict::pass);
  EXPECT_EQ(of_value(6.35, Measure::millimetre, air), Verdict::pass);
  EXPECT_EQ(of_value(6.34, Measure::millimetre, air), Verdict::fail);
  const LimitRow hydraulic = rule(Sense::more_than, "0.0625", Measure::inch);
  EXPECT_EQ(of_value(2.0, Measure::thirty_seconds, hydraulic), Verdict::fail);
  EXPECT_EQ(of_value(1.5875, Measure::millimetre, hydraulic), Verdict::fail);
  EXPECT_EQ(of_value(1.59, Measure::millimetre, hydraulic), Verdict::pass);
}

TEST(AsRead, SaysWhatWasReadAndWhere) {
  const Line line = Shop().line(
      {.position = 3, .value = 6.0, .axle = 2, .side = right, .place = 2, .measure = Measure::millimetre},
      rule(Sense::at_least, "0.25", Measure::inch));
  EXPECT_EQ(line.as_read, 6.0);
  EXPECT_EQ(line.as_read_measure, Measure::millimetre);
  EXPECT_EQ(line.measure, Measure::inch);
  EXPECT_EQ(line.bound, 0.25);
  EXPECT_TRUE(near(line.reading, 6.0 / 25.4, roundings(2)));
  EXPECT_EQ(line.margin, -0.013779528);  // 6/25.4 - 0.25 = -0.01377952755..., shown to nine places
  EXPECT_EQ(line.place, 2);
  EXPECT_EQ(line.row, 0);
  EXPECT_TRUE(line.of_wheelend);
  EXPECT_EQ(line.level, Level::wheel);
}

// 100.05 - 100 is 0.05 and not 0.04999999999999716; what stands at its bound is 0 off it, and not -0.
TEST(AsRead, MarginsAreDecimals) {
  const auto margin = [](double psi, Sense sense) {
    return Shop().line({.value = psi, .measure = Measure::psi}, rule(sense, "100", Measure::psi)).margin;
  };
  EXPECT_EQ(margin(100.05, Sense::at_least), 0.05);
  EXPECT_EQ(margin(100.05, Sense::at_most), -0.05);
  EXPECT_FALSE(std::signbit(margin(100.0, Sense::at_least)));
  EXPECT_FALSE(std::signbit(margin(100.0, Sense::at_most)));
}

// Whatever the verdict, and whether a value is compared as it stands or with another.
TEST(AsRead, PlaceAtTheWheelEndIsSaid) {
  const auto place = [](const WheelendRow& row, const LimitRow& limit) {
    return Shop().line(row, limit).place;
  };
  const LimitRow lining = rule(Sense::at_least, "0.25", Measure::inch);
  EXPECT_EQ(place({.value = 0.2, .place = 3}, lining), 3);
  EXPECT_EQ(place({.value = 0.2}, lining), -1);
  EXPECT_EQ(place({.place = 4, .present = 1}, rule(Sense::absent, "", Measure::yes_no)), 4);
  EXPECT_EQ(place({.value = 0.2, .place = 5}, based(Sense::at_least, "50", Measure::percent, {of_rated})), 5);
}

// ---- readings that no row speaks of

namespace {

// The one line that the sets have nothing to say of.
Line unspoken(const Verdicts& v) {
  EXPECT_EQ(v.table().limit, std::vector<std::int32_t>{no_row_speaks});
  return line_of(v.table(), 0);
}

}  // namespace

TEST(NoRow, OfAnotherQuantity) {
  const Line line = unspoken(Shop().judge(
      {{.position = 2, .value = 3.0, .axle = 2, .place = 1, .quantity = 1, .measure = Measure::millimetre}},
      {rule(Sense::at_least, "0.25", Measure::inch)}));
  EXPECT_EQ(line.verdict, Verdict::no_verdict);
  EXPECT_EQ(line.severity, Severity::advice);
  EXPECT_EQ(line.notes, bit(Note::no_row));
  EXPECT_EQ(line.reading, 3.0);
  EXPECT_EQ(line.as_read, 3.0);
  EXPECT_EQ(line.measure, Measure::millimetre);
  EXPECT_TRUE(std::isnan(line.bound));
  EXPECT_TRUE(std::isnan(line.margin));
  EXPECT_EQ(line.position, 2);
  EXPECT_EQ(line.place, 1);
  EXPECT_EQ(line.row, 0);
  EXPECT_TRUE(line.of_wheelend);
}

TEST(NoRow, OfAnObservation) {
  const Line line = unspoken(Shop().judge({{.present = 1}}, {}));
  EXPECT_EQ(line.as_read, 1.0);
  EXPECT_EQ(line.measure, Measure::yes_no);
  EXPECT_EQ(unspoken(Shop().judge({{.present = 0}}, {})).as_read, 0.0);
}

TEST(NoRow, OfALossThatWasTimed) {
  const Line line = unspoken(Shop().judge({{.start = 112.0, .end = 109.0, .duration = 60.0}}, {}));
  EXPECT_TRUE(std::isnan(line.as_read));
  EXPECT_TRUE(Shop().judge({{}}, {}).table().limit.empty());  // nothing was read
}

TEST(NoRow, ThatAppliesOrIsInForce) {
  LimitRow of_buses = rule(Sense::at_least, "0.25", Measure::inch), former = of_buses;
  of_buses.where = {of_kinds(UnitKind::bus)};
  former.until = -1;  // the reading is of day 0
  unspoken(Shop().judge({{.value = 0.2}}, {of_buses, former}));
  // One that may apply speaks of it.
  Shop shop;
  LimitRow open = of_buses;
  open.where = {is(shop.of_row(std::vector<std::int32_t>{-1}), {1})};
  EXPECT_EQ(shop.judge({{.value = 0.2}}, {open}).table().limit, std::vector<std::int32_t>{0});
}

TEST(AsRead, LongDecimalsAreKept) {
  WheelendTable table({{.value = 0.25}, {.position = 1, .value = 0.25, .side = right}});
  table.columns.long_texts = {{0, "0.24999999999999999999999"}};
  const Verdicts v = Shop().judge_table(table, {rule(Sense::at_least, "0.25", Measure::inch)});
  EXPECT_EQ(v.verdict(0, 0), Verdict::fail);
  EXPECT_EQ(v.verdict(0, 1), Verdict::pass);
}

// Hub temperatures have no published limit; a fleet may set its own, in either scale.
TEST(AsRead, OfTemperaturesInEitherScale) {
  const LimitRow own = rule(Sense::at_most, "100", Measure::degree_celsius);
  EXPECT_EQ(of_value(212.0, Measure::degree_fahrenheit, own), Verdict::pass);
  EXPECT_EQ(of_value(212.1, Measure::degree_fahrenheit, own), Verdict::fail);
  const Line near_it = Shop().line({.value = 211.5, .measure = Measure::degree_fahrenheit}, own);
  EXPECT_TRUE(near_it.noted(Note::within_gauge_step));  // half a degree of a gauge marked in degrees
  const Line colder = Shop().line({.value = 200.0, .measure = Measure::degree_fahrenheit}, own);
  EXPECT_FALSE(colder.noted(Note::within_gauge_step));
}

// ---- things that are there or not

// 49 CFR 393.205(c): nuts or bolts missing or loose. Zero passes, one fails.
TEST(Observation, OfACount) {
  const LimitRow none = rule(Sense::absent, "", Measure::yes_no);
  EXPECT_EQ(of_value(0.0, Measure::count, none), Verdict::pass);
  EXPECT_EQ(of_value(1.0, Measure::count, none), Verdict::fail);
  EXPECT_EQ(of_value(3.0, Measure::count, none), Verdict::fail);
}

// 49 CFR 393.205(a): wheels and rims not cracked or broken.
TEST(Observation, OfYesAndNo) {
  const LimitRow none = rule(Sense::absent, "", Measure::yes_no);
  const auto seen = [&none](std::int8_t present) { return Shop().judge({{.present = present}}, {none}); };
  EXPECT_EQ(seen(1).verdict(0), Verdict::fail);
  EXPECT_EQ(seen(1).line(0).reading, 1.0);
  EXPECT_EQ(seen(0).verdict(0), Verdict::pass);
  EXPECT_EQ(seen(0).line(0).sense, Sense::absent);
  EXPECT_FALSE(seen(-1).has(0));  // the row says nothing
}

// ---- which readings

TEST(WheelendReadings, LastOfEachPlaceIsJudged) {
  const LimitRow lining = rule(Sense::at_least, "0.25", Measure::inch);
  const std::vector<WheelendRow> rows{{.value = 0.2, .day = 20},
                                      {.value = 0.5, .day = 10},
                                      {.position = 1, .value = 0.2, .side = right, .day = 10},
                                      {.position = 1, .value = 0.5, .side = right, .day = 10, .hour = 9.0}};
  const Verdicts v = Shop().judge(rows, {lining});
  EXPECT_EQ(v.line(0, 0).row, 0);
  EXPECT_EQ(v.verdict(0, 0), Verdict::fail);
  EXPECT_EQ(v.line(0, 1).row, 3);
  EXPECT_EQ(v.verdict(0, 1), Verdict::pass);
  EXPECT_EQ(Shop().judge(rows, {lining}, {.as_of = 19}).line(0, 0).row, 1);
  EXPECT_TRUE(Shop().judge(rows, {lining}, {.as_of = 9}).table().limit.empty());
  EXPECT_EQ(Shop().judge(rows, {lining}, {.as_of = 20, .all = true}).of(0).size(), 4U);
}

TEST(WheelendReadings, PlacesAtOneWheelEndAreTheirOwn) {
  const Verdicts v = Shop().judge({{.value = 480.0, .place = 1, .day = 1, .measure = Measure::pound_foot},
                                   {.value = 440.0, .place = 2, .day = 2, .measure = Measure::pound_foot},
                                   {.value = 460.0, .place = 1, .day = 3, .measure = Measure::pound_foot}},
                                  {within("450", "500", Measure::pound_foot)});
  ASSERT_EQ(v.of(0).size(), 2U);
  EXPECT_EQ(v.of(0)[0].row, 2);
  EXPECT_EQ(v.of(0)[1].row, 1);
  EXPECT_EQ(v.of(0)[1].verdict, Verdict::fail);
}

// Two readings of one place and time: neither is picked silently.
TEST(WheelendReadings, BothOfOneTimeAreJudged) {
  const Verdicts v =
      Shop().judge({{.value = 0.5}, {.value = 0.2}}, {rule(Sense::at_least, "0.25", Measure::inch)});
  EXPECT_EQ(v.of(0).size(), 2U);
}

TEST(WheelendReadings, DoNotDependOnTheOrderOfRows) {
  const Shop shop({{AxleRole::steer}, {AxleRole::drive}, {AxleRole::drive}});
  constexpr std::int32_t stroke = 0, hub = 1, seen = 2;
  std::vector<WheelendRow> rows;
  for (std::int32_t axle = 1; axle <= 3; ++axle) {
    for (const std::int8_t side : {left, right}) {
      for (const std::int32_t day : {1, 8}) {
        const WheelendRow here{
            .position = shop.units.at(0, axle, side), .axle = axle, .side = side, .day = day};
        const auto add = [&](std::int32_t quantity, double value, Measure measure, std::int8_t present) {
          WheelendRow row = here;
          row.quantity = quantity;
          row.value = value;
          row.measure = measure;
          row.present = present;
          rows.push_back(row);
        };
        const double v = 1.5 + 0.25 * axle + 0.125 * side + day / 8.0;
        add(stroke, v, Measure::inch, -1);
        add(stroke, v + 0.25, Measure::inch, -1);
        add(stroke, missing, Measure::inch, -1);  // among values that are read, in every place of the table
        add(stroke, 50.8, Measure::millimetre, -1);
        add(stroke, 50.8, Measure::inch, -1);
        add(seen, missing, Measure::inch, 1);
        add(seen, missing, Measure::inch, 0);
        add(hub, 140.0 + 20.0 * axle + 5.0 * side + day, Measure::degree_fahrenheit, -1);
      }
    }
  }
  const LimitRow most = rule(Sense::at_most, "2", Measure::inch);
  LimitRow excess = with(rule(Sense::less_than, "0.25", Measure::inch), Statistic::beyond_limit);
  excess.counts = 1.0;
  LimitRow hot = with(rule(Sense::at_most, "25", Measure::fahrenheit_difference), Statistic::above_the_rest);
  hot.quantity = hub;
  LimitRow crack = rule(Sense::absent, "", Measure::yes_no);
  crack.quantity = seen;
  const std::vector<LimitRow> rules{
      most,
      excess,
      with(rule(Sense::at_most, "0.125", Measure::inch), Statistic::side_to_side),
      hot,
      crack,
      {.id = "share",
       .statistic = Statistic::defective_brakes,
       .sense = Sense::less_than,
       .amount = amount("20", Measure::percent)}};
  for (const bool all : {false, true}) {
    const auto said = [&](const std::vector<WheelendRow>& in) {
      const Verdicts verdicts = shop.judge(in, rules, {.as_of = 10, .all = all});
      const VerdictTable& v = verdicts.table();
      std::vector<std::tuple<std::int32_t, std::int32_t, int, std::uint64_t, std::string>> out;
      for (std::size_t i = 0; i < v.limit.size(); ++i) {
        const Line line = line_of(v, i);
        out.emplace_back(line.position, v.limit[i], v.verdict[i], line.notes,
                         std::to_string(line.as_read) + " " + std::to_string(line.margin) + " " +
                             std::to_string(line.against ? line.against->value : -1.0));
      }
      return out;
    };
    const auto expected = said(rows);
    ASSERT_FALSE(expected.empty());
    for (unsigned seed = 1; seed <= 50; ++seed) {
      ASSERT_EQ(said(shuffled(rows, seed)), expected) << "seed " << seed;
    }
  }
}

// A reading of the axle or the unit stands at one of its wheels but is not of it.
TEST(WheelendReadings, OfAnAxleOrUnitDoNotBorrowFactsOfAWheel) {
  Shop shop;
  const std::int32_t wheel = shop.facts.add_codes(Level::wheel, {.position = {1, 1, 1, 1}});
  LimitRow of_wheel = rule(Sense::at_least, "0.25", Measure::inch), of_axle = of_wheel;
  of_wheel.where = {is(wheel, {1})};
  of_axle.where = {steers()};
  const auto lines = [&](std::int32_t axle, std::int8_t side) {
    return shop.judge({{.value = 0.2, .axle = axle, .side = side}}, {of_wheel, of_axle});
  };
  EXPECT_EQ(lines(1, left).verdict(0), Verdict::fail);
  EXPECT_EQ(lines(1, left).verdict(1), Verdict::fail);
  EXPECT_EQ(lines(1, -1).line(0).level, Level::axle);
  EXPECT_EQ(lines(1, -1).verdict(0), Verdict::no_verdict);
  EXPECT_EQ(lines(1, -1).line(0).fact, wheel);
  EXPECT_EQ(lines(1, -1).verdict(1), Verdict::fail);
  EXPECT_EQ(lines(-1, -1).line(1).level, Level::unit);
  EXPECT_EQ(lines(-1, -1).verdict(1), Verdict::no_verdict);
  EXPECT_EQ(lines(-1, -1).line(1).fact, of_role);
}

// A reading of one tire knows the tire that was there at the time; one of the wheel end knows none.
TEST(WheelendReadings, KnowTheTireOfTheirTime) {
  Shop shop;
  const std::int32_t width =
      shop.facts.add_numbers(Level::wheel, {.tire = {275.0, 315.0}}, Measure::millimetre);
  // C&U Regulations 1986 (UK), reg. 27(1)(b): a cut longer than 10 % of the section width
  const LimitRow cut = based(Sense::at_most, "10", Measure::percent, {width});
  const Table readings({{.day = 1, .tread = {9.0}, .tire = 0}, {.day = 5, .tread = {9.0}, .tire = 1}});
  const auto on = [&](std::int32_t day, std::int8_t dual) {
    const WheelendTable table({{.value = 30.0, .dual = dual, .day = day, .measure = Measure::millimetre}});
    return Verdicts(judge_fleet({readings.columns, shop.positions, {}, table.columns, shop.facts.list}, {cut},
                                {.as_of = day}))
        .line(0);
  };
  EXPECT_EQ(on(3, code(Dual::single)).bound, 27.5);
  EXPECT_EQ(on(3, code(Dual::single)).verdict, Verdict::fail);
  EXPECT_EQ(on(5, code(Dual::single)).bound, 31.5);
  EXPECT_EQ(on(5, code(Dual::single)).verdict, Verdict::pass);
  EXPECT_EQ(on(0, code(Dual::single)).verdict, Verdict::no_verdict);  // before anybody wrote down a tire
  EXPECT_EQ(on(3, -1).bound, 27.5);  // a reading of a wheel end with one tire
}

// A reading of a dual wheel end, as the spacing is, knows what both of its tires share.
TEST(WheelendReadings, OfADualWheelEndKnowWhatItsTiresShare) {
  Shop shop({{AxleRole::drive, true}});
  constexpr std::int32_t size_a = 0, size_b = 1;
  const std::int32_t size = shop.facts.add_codes(Level::wheel, {.tire = {size_a, size_a, size_b}});
  const std::int32_t width =
      shop.facts.add_numbers(Level::wheel, {.tire = {275.0, 275.0, 280.0}}, Measure::millimetre);
  // A tire maker's sheet: least spacing of duals by the size of the tires
  LimitRow spacing = rule(Sense::at_least, "12.5", Measure::inch);
  spacing.where = {is(size, {size_a})};
  const LimitRow share = based(Sense::at_least, "100", Measure::percent, {width});
  const auto read = [&](std::int32_t outer, std::int32_t inner) {
    const Table readings(
        {{.position = 0, .tread = {9.0}, .tire = outer}, {.position = 1, .tread = {9.0}, .tire = inner}});
    const WheelendTable table({{.value = 12.0, .day = 1}});
    return Verdicts(judge_fleet({readings.columns, shop.positions, {}, table.columns, shop.facts.list},
                                {spacing, share}, {.as_of = long_after}));
  };
  EXPECT_EQ(read(0, 1).verdict(0), Verdict::fail);
  EXPECT_EQ(read(0, 1).line(1).bound, 275.0);
  for (const auto& [outer, inner] : {std::pair(0, 2), std::pair(2, 0), std::pair(0, -1), std::pair(-1, 0)}) {
    EXPECT_EQ(read(outer, inner).verdict(0), Verdict::no_verdict);
    EXPECT_EQ(read(outer, inner).line(0).fact, size);
    EXPECT_EQ(read(outer, inner).line(1).fact, width);
  }
  EXPECT_FALSE(read(2, 2).has(0));  // of another size
}

// An observation of a tire says nothing of the one that came after it.
TEST(WheelendReadings, OfATireThatWasChangedSince) {
  const Shop shop;
  const LimitRow ply = rule(Sense::absent, "", Measure::yes_no);  // 49 CFR 393.75(a)(1): no ply exposed
  const auto seen = [&](const std::vector<Row>& rows, std::int8_t dual, std::int32_t as_of = long_after,
                        bool all = false) {
    const Table readings(rows);
    const WheelendTable table({{.dual = dual, .day = 1, .present = 1}});
    return Verdicts(judge_fleet({readings.columns, shop.positions, {}, table.columns, shop.facts.list}, {ply},
                                {.as_of = as_of, .all = all}))
        .line(0);
  };
  const std::int8_t tire = code(Dual::single);
  for (const Row& after :
       {Row{.day = 2, .tread = {18.0}, .event = Event::fitted}, Row{.day = 2, .event = Event::removed},
        Row{.day = 2, .tread = {18.0}, .tire = 1}}) {
    const std::vector<Row> rows{{.day = 0, .tread = {2.0}, .tire = 0}, after};
    EXPECT_EQ(seen(rows, tire).verdict, Verdict::no_verdict);
    EXPECT_TRUE(seen(rows, tire).noted(Note::tire_changed_since));
    EXPECT_EQ(seen(rows, tire, 1).verdict, Verdict::fail);                 // as of the day it was seen
    EXPECT_EQ(seen(rows, tire, long_after, true).verdict, Verdict::fail);  // every inspection as it was
    EXPECT_EQ(seen(rows, -1).verdict, Verdict::fail);  // of the wheel end, not of its tire
  }
  for (const Row& after : {Row{.day = 2, .tread = {2.0}}, Row{.day = 2, .tread = {2.0}, .tire = 0},
                           Row{.day = 2, .event = Event::regrooved}, Row{.day = 0, .event = Event::fitted},
                           Row{.position = 1, .day = 2, .event = Event::fitted}}) {
    EXPECT_EQ(seen({{.day = 0, .tread = {2.0}, .tire = 0}, after}, tire).verdict, Verdict::fail);
  }
}

TEST(WheelendReadings, DoNotKnowATireThatWasTakenOff) {
  Shop shop;
  const std::int32_t width = shop.facts.add_numbers(Level::wheel, {.tire = {275.0}}, Measure::millimetre);
  const Table readings(
      {{.day = 1, .tread = {9.0}, .tire = 0}, {.day = 5, .tire = 0, .event = Event::removed}});
  const WheelendTable table(
      {{.value = 30.0, .dual = code(Dual::single), .day = 9, .measure = Measure::millimetre}});
  const Verdicts v(judge_fleet({readings.columns, shop.positions, {}, table.columns, shop.facts.list},
                               {based(Sense::at_most, "10", Measure::percent, {width})},
                               {.as_of = long_after}));
  EXPECT_EQ(v.verdict(0), Verdict::no_verdict);
  EXPECT_EQ(v.line(0).fact, width);
}

// ---- bands

// Makers' manuals, M22x1.5 flange nut: 450 to 500 lbf ft, printed 610 to 678 N m.
TEST(Within, BothBoundsPass) {
  LimitRow torque = within("450", "500", Measure::pound_foot);
  for (const double lbft : {450.0, 475.0, 500.0}) {
    EXPECT_EQ(of_value(lbft, Measure::pound_foot, torque), Verdict::pass) << lbft;
  }
  for (const double lbft : {449.0, 449.9, 500.1, 501.0}) {
    EXPECT_EQ(of_value(lbft, Measure::pound_foot, torque), Verdict::fail) << lbft;
  }
}

TEST(Within, ShowsTheSideThatIsNearer) {
  const auto at = [](double lbft) {
    return Shop().line({.value = lbft, .measure = Measure::pound_foot},
                       within("450", "500", Measure::pound_foot));
  };
  EXPECT_EQ(at(449.0).sense, Sense::at_least);
  EXPECT_EQ(at(449.0).bound, 450.0);
  EXPECT_EQ(at(449.0).margin, -1.0);
  EXPECT_EQ(at(460.0).margin, 10.0);
  EXPECT_EQ(at(501.0).sense, Sense::at_most);
  EXPECT_EQ(at(501.0).bound, 500.0);
  EXPECT_EQ(at(501.0).margin, -1.0);
  EXPECT_EQ(at(490.0).margin, 10.0);
}

TEST(Within, PrintedTwinHoldsInItsOwnMeasure) {
  LimitRow torque = within("450", "500", Measure::pound_foot);
  torque.twin = {"610", Measure::newton_metre};
  torque.twin_upper = "678";
  const auto at = [&torque](double nm) {
    return Shop().line({.value = nm, .measure = Measure::newton_metre}, torque);
  };
  EXPECT_EQ(at(610.0).verdict, Verdict::pass);  // 449.9 lbf ft
  EXPECT_TRUE(at(610.0).noted(Note::other_printed_number));
  EXPECT_EQ(at(610.0).measure, Measure::newton_metre);
  EXPECT_EQ(at(609.0).verdict, Verdict::fail);
  EXPECT_EQ(at(678.0).verdict, Verdict::pass);  // 500.07 lbf ft
  EXPECT_TRUE(at(678.0).noted(Note::other_printed_number));
  EXPECT_EQ(at(679.0).verdict, Verdict::fail);
  EXPECT_FALSE(at(650.0).noted(Note::other_printed_number));  // both numbers agree
  EXPECT_EQ(of_value(449.95, Measure::pound_foot, torque), Verdict::fail);
}

// TMC RP 618 as seal, bearing and nut makers publish it: 0.001 to 0.005 in, and none is not tight enough.
TEST(Within, OfBearingEndPlay) {
  const LimitRow play = within("0.001", "0.005", Measure::inch);
  EXPECT_EQ(of_value(0.001, Measure::inch, play), Verdict::pass);
  EXPECT_EQ(of_value(0.005, Measure::inch, play), Verdict::pass);
  EXPECT_EQ(of_value(0.127, Measure::millimetre, play), Verdict::pass);  // 0.005 in exactly
  EXPECT_EQ(of_value(0.1271, Measure::millimetre, play), Verdict::fail);
  EXPECT_EQ(of_value(0.0, Measure::inch, play), Verdict::fail);
  EXPECT_EQ(of_value(0.006, Measure::inch, play), Verdict::fail);
}

// CDL manual 5.3: the valve closes between 20 and 45 psi.
TEST(Within, OfTheValve) {
  const LimitRow closes = within("20", "45", Measure::psi);
  EXPECT_EQ(of_value(20.0, Measure::psi, closes), Verdict::pass);
  EXPECT_EQ(of_value(45.0, Measure::psi, closes), Verdict::pass);
  EXPECT_EQ(of_value(19.0, Measure::psi, closes), Verdict::fail);
  EXPECT_EQ(of_value(46.0, Measure::psi, closes), Verdict::fail);
}

// ---- strokes: 49 CFR 393.47(e)(1)

namespace {

enum Family : std::int32_t { standard, long_stroke };

// The clause's rows for a clamp chamber of type 24, and what was read.
struct Stroke {
  double value;
  std::int32_t family = standard;
  double rated = missing, reservoir = 85.0;
  Measure measure = Measure::inch;
};

constexpr std::int32_t standard_row = 0, long_row = 1, longest_row = 2;

Verdicts stroke_24(const Stroke& read) {
  Shop shop;
  const std::int32_t family = shop.of_row(std::vector<std::int32_t>{read.family});
  const std::int32_t rated = shop.of_row({read.rated}, Measure::inch);
  const std::int32_t reservoir = shop.of_row({read.reservoir}, Measure::psi);
  const auto row = [&](const char* inches, const char* printed, std::vector<Condition> where) {
    LimitRow out = rule(Sense::at_most, inches, Measure::inch);
    out.where = std::move(where);
    // Appendix A to Part 396, item 1(a)(5)(a): reservoir 80 to 90 psi
    out.needs = {number(reservoir, Relation::at_least, "80", Measure::psi),
                 number(reservoir, Relation::at_most, "90", Measure::psi)};
    out.clause = 1;
    out.twin = {printed, Measure::millimetre};
    return out;
  };
  return shop.judge(
      {{.value = read.value, .measure = read.measure}},
      {row("1.75", "44.5", {or_not_stated(is(family, {standard}))}),
       row("2", "50.8",
           {is(family, {long_stroke}),
            or_not_stated(number(rated, Relation::less_than, "3", Measure::inch))}),
       row("2.5", "63.5",
           {is(family, {long_stroke}), number(rated, Relation::at_least, "3", Measure::inch)})});
}

}  // namespace

TEST(Stroke, LimitDependsOnTheFamily) {
  EXPECT_EQ(stroke_24({1.75}).verdict(standard_row), Verdict::pass);
  EXPECT_EQ(stroke_24({1.875}).verdict(standard_row), Verdict::fail);
  const Verdicts long_one = stroke_24({2.25, long_stroke, 2.5});
  EXPECT_EQ(long_one.verdict(long_row), Verdict::fail);
  EXPECT_FALSE(long_one.has(standard_row));
  EXPECT_FALSE(long_one.has(longest_row));
  EXPECT_EQ(stroke_24({2.5, long_stroke, 3.0}).verdict(longest_row), Verdict::pass);
}

// A chamber of unknown family is held to the standard limit, and the verdict says so.
TEST(Stroke, UnknownFamilyIsHeldToTheStandardLimit) {
  const Verdicts v = stroke_24({2.25, -1});
  EXPECT_EQ(v.verdict(standard_row), Verdict::fail);
  EXPECT_TRUE(v.noted(Note::fact_assumed, standard_row));
  EXPECT_FALSE(v.noted(Note::fact_missing, standard_row));
  EXPECT_FALSE(v.has(long_row));  // one row of a clause
  EXPECT_FALSE(stroke_24({2.25}).noted(Note::fact_assumed, standard_row));
  const Verdicts unrated = stroke_24({2.25, long_stroke});
  EXPECT_EQ(unrated.verdict(long_row), Verdict::fail);
  EXPECT_TRUE(unrated.noted(Note::fact_assumed, long_row));
}

// 44.5 mm is 1.752 in: above 1 3/4 in, and what the clause prints beside it.
TEST(Stroke, PrintedMillimetresPass) {
  const Verdicts at = stroke_24({.value = 44.5, .measure = Measure::millimetre});
  EXPECT_EQ(at.verdict(standard_row), Verdict::pass);
  EXPECT_TRUE(at.noted(Note::other_printed_number, standard_row));
  EXPECT_EQ(stroke_24({.value = 44.6, .measure = Measure::millimetre}).verdict(standard_row), Verdict::fail);
  EXPECT_FALSE(stroke_24({.value = 44.4, .measure = Measure::millimetre})
                   .noted(Note::other_printed_number, standard_row));
}

// Appendix A to Part 396, item 1(a)(5)(a).
TEST(Stroke, IsAdmissibleAtTheTestPressureOnly) {
  for (const double reservoir : {80.0, 85.0, 90.0}) {
    EXPECT_EQ(stroke_24({.value = 2.25, .reservoir = reservoir}).verdict(standard_row), Verdict::fail)
        << reservoir;
  }
  for (const double reservoir : {70.0, 79.9, 90.1, 120.0}) {
    const Line line = stroke_24({.value = 2.25, .reservoir = reservoir}).line(standard_row);
    EXPECT_EQ(line.verdict, Verdict::no_verdict) << reservoir;
    EXPECT_TRUE(line.noted(Note::not_admissible));
    EXPECT_EQ(line.bound, 1.75);
  }
  const Line unknown = stroke_24({.value = 2.25, .reservoir = missing}).line(standard_row);
  EXPECT_EQ(unknown.verdict, Verdict::no_verdict);
  EXPECT_TRUE(unknown.noted(Note::fact_missing));
  EXPECT_FALSE(unknown.noted(Note::not_admissible));
}

// Item 1(a)(5)(b): 80 % of the rated stroke that the maker marked.
TEST(Stroke, ShareOfTheRatedStroke) {
  Shop shop;
  const std::int32_t rated = shop.of_row({64.0}, Measure::millimetre);
  const LimitRow eighty = based(Sense::at_most, "80", Measure::percent, {rated});
  const auto at = [&](double mm) { return shop.line({.value = mm, .measure = Measure::millimetre}, eighty); };
  EXPECT_EQ(at(51.2).verdict, Verdict::pass);
  EXPECT_EQ(at(51.2).margin, 0.0);
  EXPECT_EQ(at(51.3).verdict, Verdict::fail);
  EXPECT_EQ(at(52.0).verdict, Verdict::fail);
  EXPECT_EQ(at(51.2).bound, 51.2);
  EXPECT_EQ(at(51.2).measure, Measure::millimetre);
}

// Rows of one clause: where none is known to apply, one stands for all of them.
TEST(Stroke, OneRowOfAClauseStandsForAll) {
  Shop shop;
  const std::int32_t type = shop.of_row(std::vector<std::int32_t>{-1});
  std::vector<LimitRow> rows(3, rule(Sense::at_most, "2", Measure::inch));
  for (std::int32_t i = 0; i < 3; ++i) {
    rows[static_cast<std::size_t>(i)].where = {is(type, {i})};
    rows[static_cast<std::size_t>(i)].clause = 7;
  }
  const Verdicts v = shop.judge({{.value = 2.25}}, rows);
  ASSERT_EQ(v.table().limit.size(), 1U);
  EXPECT_EQ(v.line(0).verdict, Verdict::no_verdict);
  EXPECT_EQ(v.line(0).fact, type);
  EXPECT_TRUE(std::isnan(v.line(0).bound));  // it may not be the one that applies
  EXPECT_EQ(v.line(0).measure, Measure::inch);
  // One that is known to apply takes the place of one that may.
  rows[2].where = {};
  EXPECT_EQ(shop.judge({{.value = 2.25}}, rows).table().limit, (std::vector<std::int32_t>{2}));
  rows[2].where = rows[1].where;
  for (LimitRow& row : rows) {
    row.clause = -1;  // clauses of their own
  }
  EXPECT_EQ(shop.judge({{.value = 2.25}}, rows).table().limit.size(), 3U);
}

// A row that is no longer in force does not stand for the one that is.
TEST(Stroke, RowOutOfForceDoesNotStandForTheClause) {
  Shop shop;
  const std::int32_t type = shop.of_row(std::vector<std::int32_t>{-1});
  std::vector<LimitRow> rows(2, rule(Sense::at_most, "2", Measure::inch));
  for (LimitRow& row : rows) {
    row.where = {is(type, {1})};
    row.clause = 7;
  }
  rows[0].until = 99;
  rows[1].since = 100;
  EXPECT_EQ(shop.judge({{.value = 2.25, .day = 99}}, rows).table().limit, (std::vector<std::int32_t>{0}));
  EXPECT_EQ(shop.judge({{.value = 2.25, .day = 100}}, rows).table().limit, (std::vector<std::int32_t>{1}));
}

// ---- needs

// Makers' manuals: the torque of a hub-piloted wheel is for oiled threads; without their condition there is
// no verdict.
TEST(Needs, ConditionOfTheThread) {
  constexpr std::int32_t oiled = 0, dry = 1;
  const auto torque = [](std::int32_t thread) {
    Shop shop;
    LimitRow row = within("450", "500", Measure::pound_foot);
    const std::int32_t fact = shop.of_row(std::vector<std::int32_t>{thread});
    row.needs = {is(fact, {oiled})};
    return shop.line({.value = 400.0, .measure = Measure::pound_foot}, row);
  };
  EXPECT_EQ(torque(oiled).verdict, Verdict::fail);
  EXPECT_EQ(torque(dry).verdict, Verdict::no_verdict);
  EXPECT_TRUE(torque(dry).noted(Note::not_admissible));
  EXPECT_EQ(torque(-1).verdict, Verdict::no_verdict);
  EXPECT_TRUE(torque(-1).noted(Note::fact_missing));
}

// A condition that may go unstated makes a reading admissible, and the verdict says so.
TEST(Needs, NotStatedIsSaid) {
  Shop shop;
  LimitRow row = rule(Sense::at_most, "0.005", Measure::inch);
  const std::int32_t set = shop.of_row(std::vector<std::int32_t>{-1});
  row.needs = {or_not_stated(is(set, {0}))};
  const Line line = shop.line({.value = 0.006}, row);
  EXPECT_EQ(line.verdict, Verdict::fail);
  EXPECT_TRUE(line.noted(Note::fact_assumed));
  EXPECT_EQ(line.fact, set);
}

TEST(Needs, HoldForAnObservationToo) {
  Shop shop;
  LimitRow row = rule(Sense::absent, "", Measure::yes_no);
  row.needs = {is(shop.of_row(std::vector<std::int32_t>{1}), {0})};
  EXPECT_EQ(shop.verdict({.present = 1}, row), Verdict::no_verdict);
  EXPECT_EQ(shop.verdict({.present = 0}, row), Verdict::no_verdict);
}

// ---- bounds with a base

// 49 CFR 393.50(a): not below 70 % of the gauge value before the application.
TEST(Base, ShareOfAPressure) {
  Shop shop;
  const std::int32_t before = shop.of_row({100.0}, Measure::psi);
  const LimitRow reserve = based(Sense::at_least, "70", Measure::percent, {before});
  EXPECT_EQ(shop.verdict({.value = 70.0, .measure = Measure::psi}, reserve), Verdict::pass);
  EXPECT_EQ(shop.verdict({.value = 69.9, .measure = Measure::psi}, reserve), Verdict::fail);
  EXPECT_EQ(shop.verdict({.value = 482.7, .measure = Measure::kilopascal}, reserve),
            Verdict::pass);  // 482.63
  EXPECT_EQ(shop.verdict({.value = 482.6, .measure = Measure::kilopascal}, reserve), Verdict::fail);
}

// Drums: no more than the figure cast into the drum (US Army TM 9-2330-326-14&P); without one the original
// diameter and 0.120 in.
TEST(Base, SoMuchAboveAFigure) {
  Shop shop;
  const std::int32_t marked = shop.of_row({16.62}, Measure::inch);
  const std::int32_t original = shop.of_row({16.5}, Measure::inch);
  const auto at = [&shop](double value, Measure measure, const LimitRow& row) {
    return shop.line({.value = value, .measure = measure}, row);
  };
  for (const LimitRow& row : {based(Sense::at_most, "0", Measure::inch, {marked}),
                              based(Sense::at_most, "0.120", Measure::inch, {original}),
                              based(Sense::at_most, "3.048", Measure::millimetre, {original})}) {
    EXPECT_EQ(at(16.62, Measure::inch, row).verdict, Verdict::pass);
    EXPECT_EQ(at(16.62, Measure::inch, row).bound, 16.62);
    EXPECT_EQ(at(16.62, Measure::inch, row).margin, 0.0);
    EXPECT_EQ(at(16.621, Measure::inch, row).verdict, Verdict::fail);
    EXPECT_EQ(at(422.148, Measure::millimetre, row).verdict, Verdict::pass);  // 16.620 in exactly
    EXPECT_EQ(at(422.149, Measure::millimetre, row).verdict, Verdict::fail);
  }
  EXPECT_EQ(at(16.62, Measure::inch, based(Sense::less_than, "0.120", Measure::inch, {original})).verdict,
            Verdict::fail);  // another manual rejects at it
}

// 16.4 + 0.08 is 16.48 and not 16.479999999999997.
TEST(Base, SumOfDecimalsIsADecimal) {
  Shop shop;
  const std::int32_t original = shop.of_row({16.4}, Measure::inch);
  const LimitRow rebored = based(Sense::at_most, "0.08", Measure::inch, {original});
  EXPECT_EQ(shop.verdict({.value = 16.48}, rebored), Verdict::pass);
  EXPECT_EQ(shop.verdict({.value = 16.481}, rebored), Verdict::fail);
}

TEST(Base, TwinOfAnAdditionIsAddedToo) {
  Shop shop;
  const std::int32_t original = shop.of_row({419.1}, Measure::millimetre);  // 16.5 in
  LimitRow row = based(Sense::at_most, "0.12", Measure::inch, {original});
  row.twin = {"3.05", Measure::millimetre};
  const auto at = [&](double mm) { return shop.line({.value = mm, .measure = Measure::millimetre}, row); };
  EXPECT_EQ(at(422.0).verdict, Verdict::pass);
  EXPECT_FALSE(at(422.0).noted(Note::other_printed_number));  // passes by either number
  EXPECT_EQ(at(422.15).verdict, Verdict::pass);               // 419.1 + 3.05, and above 419.1 + 3.048
  EXPECT_TRUE(at(422.15).noted(Note::other_printed_number));
  EXPECT_EQ(at(422.16).verdict, Verdict::fail);
}

TEST(Base, ThatIsNotKnownGivesNoVerdict) {
  Shop shop;
  const std::int32_t marked = shop.of_row({missing}, Measure::inch);
  const Line line = shop.line({.value = 16.7}, based(Sense::at_most, "0", Measure::inch, {marked}));
  EXPECT_EQ(line.verdict, Verdict::no_verdict);
  EXPECT_TRUE(line.noted(Note::fact_missing));
  EXPECT_EQ(line.fact, marked);
  EXPECT_TRUE(std::isnan(line.bound));
}

TEST(Base, LaterOneStandsInAndIsTheFleetsOwn) {
  Shop shop;
  const std::int32_t marked = shop.of_row({missing}, Measure::inch);
  const std::int32_t original = shop.of_row({16.5}, Measure::inch);
  const Line line =
      shop.line({.value = 16.7}, based(Sense::at_most, "0.12", Measure::inch, {marked, original}));
  EXPECT_EQ(line.verdict, Verdict::fail);
  EXPECT_EQ(line.severity, Severity::own);
  EXPECT_TRUE(line.noted(Note::stands_in));
  EXPECT_EQ(line.fact, original);
}

// ---- "whichever is less", "whichever is greater"

// 49 CFR 393.51(c): the warning comes on at 55 psi or half of the governor cut-out, whichever is less ("less"
// from memory).
TEST(Alternative, WhicheverIsLessOfAFloor) {
  const auto warning = [](double comes_on, double cut_out) {
    Shop shop;
    LimitRow row = rule(Sense::at_least, "55", Measure::psi);
    row.alternative = amount("50", Measure::percent, {shop.of_row({cut_out}, Measure::psi)});
    return shop.line({.value = comes_on, .measure = Measure::psi}, row);
  };
  EXPECT_EQ(warning(58.0, 120.0).verdict, Verdict::pass);
  EXPECT_FALSE(warning(58.0, 120.0).noted(Note::alternative_decides));
  EXPECT_EQ(warning(55.0, 120.0).verdict, Verdict::pass);
  EXPECT_EQ(warning(54.0, 120.0).verdict, Verdict::fail);
  EXPECT_EQ(warning(50.0, 100.0).verdict, Verdict::pass);  // half of 100
  EXPECT_TRUE(warning(50.0, 100.0).noted(Note::alternative_decides));
  EXPECT_EQ(warning(50.0, 100.0).bound, 50.0);
  EXPECT_EQ(warning(49.9, 100.0).verdict, Verdict::fail);
  EXPECT_EQ(warning(58.0, missing).verdict, Verdict::pass);  // whatever the cut-out
  EXPECT_EQ(warning(50.0, missing).verdict, Verdict::no_verdict);
  EXPECT_TRUE(warning(50.0, missing).noted(Note::fact_missing));
}

// C&U Regulations 1986 (UK), reg. 27(1)(b): a cut longer than 25 mm or 10 % of the section width, whichever
// is greater.
TEST(Alternative, WhicheverIsGreaterOfACeiling) {
  const auto cut = [](double mm, double width) {
    Shop shop;
    LimitRow row = rule(Sense::at_most, "25", Measure::millimetre);
    row.alternative = amount("10", Measure::percent, {shop.of_row({width}, Measure::millimetre)});
    return shop.line({.value = mm, .measure = Measure::millimetre}, row);
  };
  EXPECT_EQ(cut(25.0, 205.0).verdict, Verdict::pass);
  EXPECT_EQ(cut(25.1, 205.0).verdict, Verdict::fail);
  EXPECT_EQ(cut(27.5, 275.0).verdict, Verdict::pass);
  EXPECT_TRUE(cut(27.5, 275.0).noted(Note::alternative_decides));
  EXPECT_EQ(cut(27.6, 275.0).verdict, Verdict::fail);
  EXPECT_EQ(cut(25.0, missing).verdict, Verdict::pass);
  EXPECT_EQ(cut(26.0, missing).verdict, Verdict::no_verdict);
}

TEST(Alternative, FirstBoundMayBeTheOneThatIsNotKnown) {
  const auto at = [](double value, double base) {
    Shop shop;
    LimitRow row = based(Sense::at_least, "50", Measure::percent, {shop.of_row({base}, Measure::psi)});
    row.alternative = amount("55", Measure::psi);
    return shop.line({.value = value, .measure = Measure::psi}, row);
  };
  EXPECT_EQ(at(55.0, missing).verdict, Verdict::pass);
  EXPECT_EQ(at(54.0, missing).verdict, Verdict::no_verdict);
  EXPECT_EQ(at(54.0, 100.0).verdict, Verdict::pass);
  EXPECT_EQ(at(54.0, 120.0).verdict, Verdict::fail);
}

// ---- in force, and how sure

TEST(Row, IsInForceFromItsFirstToItsLastDay) {
  LimitRow row = rule(Sense::at_least, "0.25", Measure::inch);
  row.since = 10;
  row.until = 20;
  LimitRow seen = rule(Sense::absent, "", Measure::yes_no);
  seen.since = 10;
  seen.until = 20;
  for (const std::int32_t day : {9, 10, 15, 20, 21}) {
    const bool in_force = day >= 10 && day <= 20;
    EXPECT_EQ(Shop().judge({{.value = 0.2, .day = day}}, {row}).has(0), in_force) << day;
    EXPECT_EQ(Shop().judge({{.value = 0.3, .day = day}}, {row}).has(0), in_force) << day;
    EXPECT_EQ(Shop().judge({{.day = day, .present = 1}}, {seen}).has(0), in_force) << day;
  }
}

// 49 CFR 393.47(f), scribe mark: 1/16 in from memory. Such a row must not be the only ground of a failure.
TEST(Row, FromMemoryFailsNothingUnlessAskedTo) {
  LimitRow scribe = rule(Sense::at_most, "0.0625", Measure::inch);
  scribe.unconfirmed = true;
  const Shop shop;
  const JudgeOptions counted{.as_of = long_after, .count_unconfirmed = true};
  const Line line = shop.line({.value = 0.125}, scribe);
  EXPECT_EQ(line.verdict, Verdict::no_verdict);
  EXPECT_TRUE(line.noted(Note::unconfirmed));
  EXPECT_EQ(line.margin, -0.0625);  // what it would say is there to see
  EXPECT_EQ(shop.line({.value = 0.125}, scribe, counted).verdict, Verdict::fail);
  EXPECT_FALSE(shop.line({.value = 0.125}, scribe, counted).noted(Note::unconfirmed));
  EXPECT_EQ(shop.line({.value = 0.0625}, scribe).verdict, Verdict::pass);
  EXPECT_FALSE(shop.line({.value = 0.0625}, scribe).noted(Note::unconfirmed));
}

// Appendix A to Part 396, item 11(a), from memory.
TEST(Row, FromMemoryOfAnObservation) {
  LimitRow ring = rule(Sense::absent, "", Measure::yes_no);
  ring.unconfirmed = true;
  const Shop shop;
  EXPECT_EQ(shop.line({.present = 1}, ring).verdict, Verdict::no_verdict);
  EXPECT_TRUE(shop.line({.present = 1}, ring).noted(Note::unconfirmed));
  EXPECT_EQ(shop.line({.present = 0}, ring).verdict, Verdict::pass);
  EXPECT_EQ(shop.line({.present = 1}, ring, {.as_of = long_after, .count_unconfirmed = true}).verdict,
            Verdict::fail);
}

// ---- loss of air

namespace {

// What was timed; the rest is missing.
struct Timed {
  double start = missing, end = missing, duration = missing, before = missing;
  double rate = missing;
  Measure pressure = Measure::psi, time = Measure::second;
};

Verdicts loss(const Timed& t, const LimitRow& row) {
  const Measure rate = t.pressure == Measure::psi ? Measure::psi_per_minute : Measure::kilopascal_per_minute;
  const WheelendTable table({{.value = t.rate,
                              .axle = -1,
                              .side = -1,
                              .measure = rate,
                              .start = t.start,
                              .end = t.end,
                              .before = t.before,
                              .duration = t.duration}},
                            t.pressure, t.time);
  return Shop().judge_table(table, {row});
}
LimitRow leak(Sense sense, const char* bound, Measure measure = Measure::psi_per_minute) {
  return with(rule(sense, bound, measure), Statistic::loss_rate);
}

}  // namespace

// CDL manual 5.3, applied test: 3 psi in a minute for a single vehicle, after the first drop.
TEST(Loss, IsCountedFromAfterTheFirstDrop) {
  const LimitRow three = leak(Sense::at_most, "3");
  const Line line = loss({.start = 112.0, .end = 109.0, .duration = 60.0, .before = 120.0}, three).line(0);
  EXPECT_EQ(line.verdict, Verdict::pass);
  EXPECT_EQ(line.reading, 3.0);
  EXPECT_FALSE(line.noted(Note::scaled_to_a_minute));
  EXPECT_EQ(loss({.start = 112.0, .end = 108.9, .duration = 60.0}, three).verdict(0), Verdict::fail);
  // Timed from before the application: the drop of the application is in it.
  const Line with_drop = loss({.end = 109.0, .duration = 60.0, .before = 120.0}, three).line(0);
  EXPECT_EQ(with_drop.verdict, Verdict::no_verdict);
  EXPECT_TRUE(with_drop.noted(Note::first_drop_included));
}

// Combination of two, applied: 4 psi. 124.1 - 120 is 4.1 and not 4.099999999999994.
TEST(Loss, OfACombination) {
  const LimitRow four = leak(Sense::at_most, "4");
  EXPECT_EQ(loss({.start = 124.0, .end = 120.0, .duration = 60.0}, four).verdict(0), Verdict::pass);
  EXPECT_EQ(loss({.start = 124.1, .end = 120.0, .duration = 60.0}, four).verdict(0), Verdict::fail);
  EXPECT_EQ(loss({.start = 124.1, .end = 120.0, .duration = 60.0}, four).line(0).reading, 4.1);
  EXPECT_EQ(loss({.start = 100.3, .end = 96.3, .duration = 60.0}, four).verdict(0), Verdict::pass);
}

// Static test, single vehicle, 2 psi: "less than" in the model manual, "not more than" in California's text.
TEST(Loss, AtEqualityDependsOnTheText) {
  const Timed two{.start = 120.0, .end = 118.0, .duration = 60.0};
  EXPECT_EQ(loss(two, leak(Sense::less_than, "2")).verdict(0), Verdict::fail);
  EXPECT_EQ(loss(two, leak(Sense::at_most, "2")).verdict(0), Verdict::pass);
  EXPECT_EQ(loss({.start = 120.0, .end = 118.1, .duration = 60.0}, leak(Sense::less_than, "2")).verdict(0),
            Verdict::pass);
}

TEST(Loss, TimedOverAnotherSpanIsScaledAndSaysSo) {
  const LimitRow three = leak(Sense::at_most, "3");
  const Line half = loss({.start = 112.0, .end = 110.5, .duration = 30.0}, three).line(0);
  EXPECT_EQ(half.reading, 3.0);
  EXPECT_EQ(half.verdict, Verdict::pass);
  EXPECT_TRUE(half.noted(Note::scaled_to_a_minute));
  EXPECT_EQ(loss({.start = 112.0, .end = 110.4, .duration = 30.0}, three).verdict(0), Verdict::fail);
  const Line two =
      loss({.start = 112.0, .end = 106.0, .duration = 2.0, .time = Measure::minute}, three).line(0);
  EXPECT_EQ(two.reading, 3.0);
  EXPECT_TRUE(two.noted(Note::scaled_to_a_minute));
  EXPECT_FALSE(loss({.start = 112.0, .end = 109.0, .duration = 1.0, .time = Measure::minute}, three)
                   .noted(Note::scaled_to_a_minute, 0));
}

// Ontario, daily inspection, combination: 28 kPa (4 psi) in a minute.
TEST(Loss, InKilopascals) {
  LimitRow ontario = leak(Sense::at_most, "28", Measure::kilopascal_per_minute);
  ontario.twin = {"4", Measure::psi_per_minute};
  const auto kpa = [&](double end) {
    return loss({.start = 690.0, .end = end, .duration = 60.0, .pressure = Measure::kilopascal}, ontario);
  };
  EXPECT_EQ(kpa(662.0).verdict(0), Verdict::pass);
  EXPECT_EQ(kpa(661.9).verdict(0), Verdict::fail);
  EXPECT_EQ(kpa(661.9).line(0).reading, 28.1);
  EXPECT_EQ(loss({.start = 100.0, .end = 96.0, .duration = 60.0}, ontario).line(0).bound, 4.0);
  EXPECT_EQ(loss({.start = 100.0, .end = 96.0, .duration = 60.0}, ontario).verdict(0), Verdict::pass);
  // 4 psi are 27.5790 kPa: without a printed twin the one number holds for both.
  const LimitRow four = leak(Sense::at_most, "4");
  EXPECT_EQ(loss({.start = 690.0, .end = 662.421, .duration = 60.0, .pressure = Measure::kilopascal}, four)
                .verdict(0),
            Verdict::pass);
  EXPECT_EQ(loss({.start = 690.0, .end = 662.42, .duration = 60.0, .pressure = Measure::kilopascal}, four)
                .verdict(0),
            Verdict::fail);
}

TEST(Loss, InBarIsOneInKilopascals) {  // 0.28 bar are 28 kPa
  const LimitRow ontario = leak(Sense::at_most, "28", Measure::kilopascal_per_minute);
  const auto bar = [&](double end) {
    return loss({.start = 6.9, .end = end, .duration = 60.0, .pressure = Measure::bar}, ontario);
  };
  EXPECT_EQ(bar(6.62).line(0).reading, 28.0);
  EXPECT_EQ(bar(6.62).verdict(0), Verdict::pass);
  EXPECT_EQ(bar(6.61).verdict(0), Verdict::fail);
}

TEST(Loss, WrittenAsARateIsTakenAsWritten) {
  EXPECT_EQ(loss({.rate = 4.0}, leak(Sense::at_most, "4")).verdict(0), Verdict::pass);
  EXPECT_EQ(loss({.rate = 4.1}, leak(Sense::at_most, "4")).verdict(0), Verdict::fail);
  EXPECT_FALSE(loss({.rate = 4.0}, leak(Sense::at_most, "4")).noted(Note::scaled_to_a_minute, 0));
}

TEST(Loss, NotTimedToItsEndIsNoVerdict) {
  const LimitRow four = leak(Sense::at_most, "4");
  for (const Timed& t : {Timed{.start = 112.0, .end = 109.0}, Timed{.start = 112.0, .duration = 60.0},
                         Timed{.end = 109.0, .duration = 60.0}}) {
    ASSERT_TRUE(loss(t, four).has(0));
    EXPECT_EQ(loss(t, four).verdict(0), Verdict::no_verdict);
    EXPECT_TRUE(loss(t, four).noted(Note::not_read, 0));
  }
  EXPECT_FALSE(loss({}, four).has(0));
}

// Worked by the CDL manual 5.3: the pressure drops when the brakes are applied, so that timing that starts at
// the pressure before it has that first drop in it, whatever is written under start.
TEST(Loss, TimedFromThePressureBeforeTheApplication) {
  const LimitRow three = leak(Sense::at_most, "3");
  for (const double start : {120.0, 121.0}) {
    const Line line = loss({.start = start, .end = 109.0, .duration = 60.0, .before = 120.0}, three).line(0);
    EXPECT_EQ(line.verdict, Verdict::no_verdict);
    EXPECT_TRUE(line.noted(Note::first_drop_included));
  }
  EXPECT_EQ(loss({.start = 119.0, .end = 115.0, .duration = 60.0, .before = 120.0}, three).verdict(0),
            Verdict::fail);
}

// A closed system does not gain pressure: what rose was filled.
TEST(Loss, PressureThatRoseShowsNothing) {
  const Line line = loss({.start = 100.0, .end = 104.0, .duration = 60.0}, leak(Sense::at_most, "3")).line(0);
  EXPECT_EQ(line.verdict, Verdict::no_verdict);
  EXPECT_TRUE(line.noted(Note::pressure_rose));
  EXPECT_EQ(loss({.start = 100.0, .end = 100.0, .duration = 60.0}, leak(Sense::at_most, "3")).verdict(0),
            Verdict::pass);
}

TEST(Loss, OverNoTimeIsNoRate) {
  EXPECT_EQ(loss({.start = 112.0, .end = 109.0, .duration = 0.0}, leak(Sense::at_most, "4")).verdict(0),
            Verdict::no_verdict);
}

// ---- beyond the limit

namespace {

// As the out-of-service criteria are reported (trade press): 1/4 in or more beyond the readjustment limit is
// a defective brake, less is half of one.
constexpr std::int32_t limit_row = 0, whole_row = 1, half_row = 2;
std::vector<LimitRow> stroke_rows() {
  LimitRow limit = rule(Sense::at_most, "2", Measure::inch);  // clamp type 30, standard stroke
  limit.twin = {"50.8", Measure::millimetre};
  LimitRow whole = with(rule(Sense::less_than, "0.25", Measure::inch), Statistic::beyond_limit);
  LimitRow half = with(rule(Sense::at_most, "0", Measure::inch), Statistic::beyond_limit);
  whole.counts = 1.0;
  half.counts = 0.5;
  return {limit, whole, half};
}
Verdicts beyond(double value, Measure measure = Measure::inch,
                const std::vector<LimitRow>& rows = stroke_rows()) {
  return Shop().judge({{.value = value, .measure = measure}}, rows);
}

}  // namespace

TEST(Beyond, AQuarterInchIsAWholeDefect) {
  EXPECT_EQ(beyond(2.25).verdict(limit_row), Verdict::fail);
  EXPECT_EQ(beyond(2.25).verdict(whole_row), Verdict::fail);
  EXPECT_EQ(beyond(2.25).line(whole_row).reading, 0.25);
  EXPECT_EQ(beyond(2.125).verdict(whole_row), Verdict::pass);
  EXPECT_EQ(beyond(2.125).verdict(half_row), Verdict::fail);
  EXPECT_EQ(beyond(2.125).line(half_row).reading, 0.125);
  EXPECT_EQ(beyond(2.0).verdict(half_row), Verdict::pass);
  EXPECT_EQ(beyond(1.5).verdict(half_row), Verdict::pass);
  EXPECT_EQ(beyond(1.5).line(half_row).reading, 0.0);  // not beyond it
  const auto against = beyond(2.25).line(whole_row).against;
  ASSERT_TRUE(against);
  EXPECT_EQ(against->value, 2.0);
}

TEST(Beyond, InMillimetresFromThePrintedMillimetres) {  // 50.8 + 6.35
  EXPECT_EQ(beyond(57.15, Measure::millimetre).verdict(whole_row), Verdict::fail);
  EXPECT_EQ(beyond(57.14, Measure::millimetre).verdict(whole_row), Verdict::pass);
  EXPECT_EQ(beyond(57.14, Measure::millimetre).verdict(half_row), Verdict::fail);
  EXPECT_EQ(beyond(50.8, Measure::millimetre).verdict(half_row), Verdict::pass);
}

TEST(Beyond, WithoutALimitOfTheSameQuantity) {
  std::vector<LimitRow> rows = stroke_rows();
  rows[limit_row].quantity = 5;
  EXPECT_EQ(beyond(2.5, Measure::inch, rows).verdict(whole_row), Verdict::no_verdict);
  EXPECT_TRUE(beyond(2.5, Measure::inch, rows).noted(Note::no_limit_to_exceed, whole_row));
  rows = stroke_rows();
  rows[limit_row].where = {is(of_kind, {static_cast<std::int32_t>(UnitKind::bus)})};  // not this one's
  EXPECT_TRUE(beyond(2.5, Measure::inch, rows).noted(Note::no_limit_to_exceed, whole_row));
}

TEST(Beyond, OfALimitThatIsInForce) {
  std::vector<LimitRow> rows = stroke_rows();
  LimitRow former = rows[limit_row];
  former.amount.bound.text = "1";
  former.until = -1;  // readings are of day 0
  for (const bool behind : {false, true}) {
    std::vector<LimitRow> both = rows;
    both.insert(behind ? both.end() : both.begin(), former);
    const Verdicts v = beyond(2.125, Measure::inch, both);
    EXPECT_EQ(v.line(behind ? whole_row : whole_row + 1).reading, 0.125);
  }
}

TEST(Beyond, AShareOfTheRatedStroke) {  // limit 80 % of 64 mm: 51.2 mm
  Shop shop;
  std::vector<LimitRow> rows = stroke_rows();
  rows[limit_row] = based(Sense::at_most, "80", Measure::percent, {shop.of_row({64.0}, Measure::millimetre)});
  const Verdicts v = shop.judge({{.value = 57.55, .measure = Measure::millimetre}}, rows);
  EXPECT_EQ(v.verdict(whole_row), Verdict::fail);  // 57.55 - 51.2 = 6.35 mm
  EXPECT_EQ(shop.judge({{.value = 57.54, .measure = Measure::millimetre}}, rows).verdict(whole_row),
            Verdict::pass);
}

// ---- the two sides of an axle

namespace {

LimitRow same_length() {  // 49 CFR 393.47(c): slack adjusters of the same effective length
  return with(rule(Sense::at_most, "0", Measure::inch), Statistic::side_to_side);
}

}  // namespace

TEST(Sides, OfTheSameLength) {
  const auto apart = [](double a, double b, Measure measure = Measure::inch) {
    return Shop().judge({{.value = a}, {.position = 1, .value = b, .side = right, .measure = measure}},
                        {same_length()});
  };
  EXPECT_EQ(apart(5.5, 5.5).verdict(0), Verdict::pass);
  EXPECT_EQ(apart(5.5, 6.0).verdict(0), Verdict::fail);
  EXPECT_EQ(apart(6.0, 5.5).verdict(0), Verdict::fail);
  EXPECT_EQ(apart(6.0, 5.5).line(0).reading, 0.5);
  EXPECT_EQ(apart(5.5, 139.7, Measure::millimetre).verdict(0), Verdict::pass);  // 5.5 in
  EXPECT_EQ(apart(5.5, 139.8, Measure::millimetre).verdict(0), Verdict::fail);
  ASSERT_EQ(apart(5.5, 6.0).of(0).size(), 1U);  // once for the axle, at its left side
  const auto against = apart(5.5, 152.4, Measure::millimetre).line(0).against;
  ASSERT_TRUE(against);
  EXPECT_EQ(against->value, 6.0);  // in the measure of what was read on the left
  EXPECT_EQ(against->position, 1);
}

TEST(Sides, ThatWereNotReadOnOneDay) {
  const auto v = [](const std::vector<WheelendRow>& rows, bool all = false) {
    return Shop().judge(rows, {same_length()}, {.as_of = long_after, .all = all});
  };
  const WheelendRow first{.value = 5.5}, other{.position = 1, .value = 5.5, .side = right};
  WheelendRow later = other;
  later.day = 3;
  EXPECT_EQ(v({first}).verdict(0), Verdict::no_verdict);
  EXPECT_TRUE(v({first}).noted(Note::other_not_read, 0));
  EXPECT_EQ(v({other}).verdict(0, 1), Verdict::no_verdict);
  EXPECT_TRUE(v({first, later}).noted(Note::other_not_read, 0));
  WheelendRow afternoon = other;
  afternoon.hour = 15.0;
  EXPECT_EQ(v({first, afternoon}).verdict(0), Verdict::pass);
  EXPECT_EQ(v({first, other, later}).of(0).size(), 2U);  // of the last reading on each side
  EXPECT_EQ(v({first, other, later}, true).verdict(0, 0), Verdict::pass);
}

TEST(Sides, OfOneAxlePlaceAndDualAreCompared) {
  const Shop shop({{AxleRole::drive, true}, {AxleRole::drive, true}});
  const auto row = [&shop](std::int32_t axle, std::int8_t side, double value, Dual dual, std::int32_t place) {
    const std::int32_t p = shop.units.at(0, axle, side) + (dual == Dual::inner ? 1 : 0);
    return WheelendRow{
        .position = p, .value = value, .axle = axle, .side = side, .dual = code(dual), .place = place};
  };
  const Verdicts v = shop.judge({row(1, left, 5.0, Dual::outer, 1), row(1, right, 5.0, Dual::outer, 1),
                                 row(1, left, 6.0, Dual::inner, 1), row(1, right, 6.0, Dual::inner, 1),
                                 row(1, left, 7.0, Dual::outer, 2), row(1, right, 7.0, Dual::outer, 2),
                                 row(2, left, 8.0, Dual::outer, 1), row(2, right, 8.0, Dual::outer, 1)},
                                {same_length()});
  ASSERT_EQ(v.of(0).size(), 4U);
  for (const Line& line : v.of(0)) {
    EXPECT_EQ(line.verdict, Verdict::pass) << line.row;
  }
}

TEST(Sides, OfWhichOneHasNoNumber) {
  const WheelendRow here{.value = 5.5}, none{.position = 1, .side = right},
      there{.position = 1, .value = 5.5, .side = right};
  EXPECT_TRUE(Shop().judge({here, none}, {same_length()}).noted(Note::other_not_read, 0));
  EXPECT_EQ(Shop().judge({here, none, there}, {same_length()}).verdict(0), Verdict::pass);
  EXPECT_TRUE(Shop().judge({none}, {same_length()}).of(0).empty());
}

// 49 CFR 393.47(b): chambers of one size on an axle.
TEST(Sides, OfChambersOfOneSize) {
  const auto chambers = [](std::int32_t on_left, std::int32_t on_right) {
    Shop shop;
    LimitRow row = with(rule(Sense::absent, "", Measure::yes_no), Statistic::sides_unlike);
    row.fact = shop.of_row(std::vector<std::int32_t>{on_left, on_right});
    return shop.judge({{.value = 1.5}, {.position = 1, .value = 1.5, .side = right}}, {row});
  };
  EXPECT_EQ(chambers(24, 20).verdict(0), Verdict::fail);
  EXPECT_EQ(chambers(24, 24).verdict(0), Verdict::pass);
  EXPECT_EQ(chambers(24, -1).verdict(0), Verdict::no_verdict);
  EXPECT_TRUE(chambers(-1, 24).noted(Note::fact_missing, 0));
  EXPECT_EQ(chambers(24, 20).of(0).size(), 1U);
  Shop one_side;  // nothing to be unlike
  LimitRow row = with(rule(Sense::absent, "", Measure::yes_no), Statistic::sides_unlike);
  row.fact = one_side.of_row(std::vector<std::int32_t>{24});
  EXPECT_TRUE(one_side.judge({{.value = 1.5}}, {row}).of(0).empty());
}

// ---- above the rest

namespace {

// Hubs of a truck with two axles after a run; no limit is published, so the number is a fleet's own.
LimitRow fifty_above() {
  return with(rule(Sense::at_most, "50", Measure::fahrenheit_difference), Statistic::above_the_rest);
}
std::vector<WheelendRow> hubs(const std::vector<double>& values,
                              Measure measure = Measure::degree_fahrenheit) {
  std::vector<WheelendRow> rows;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const auto p = static_cast<std::int32_t>(i);
    rows.push_back({.position = p,
                    .value = values[i],
                    .axle = p / 2 + 1,
                    .side = p % 2 == 0 ? left : right,
                    .measure = measure});
  }
  return rows;
}

}  // namespace

TEST(Rest, OddHubStandsOutFromTheMedianOfTheOthers) {
  const Verdicts v = Shop().judge(hubs({150.0, 152.0, 148.0, 210.0}), {fifty_above()});
  EXPECT_EQ(v.line(0, 3).reading, 60.0);  // 148, 150, 152: median 150
  EXPECT_EQ(v.verdict(0, 3), Verdict::fail);
  EXPECT_EQ(v.line(0, 0).reading, -2.0);  // 148, 152, 210: median 152
  EXPECT_EQ(v.verdict(0, 0), Verdict::pass);
  EXPECT_EQ(Shop().judge(hubs({150.0, 160.0, 205.0}), {fifty_above()}).line(0, 2).reading,
            50.0);  // mean of two
  EXPECT_EQ(Shop().judge(hubs({150.0, 160.0, 205.0}), {fifty_above()}).verdict(0, 2), Verdict::pass);
}

TEST(Rest, DegreesOfTheOtherScaleAreSmaller) {  // 50 degF apart are 27.78 degC apart
  const LimitRow row = fifty_above();
  EXPECT_EQ(Shop().judge(hubs({60.0, 60.0, 60.0, 87.7}, Measure::degree_celsius), {row}).verdict(0, 3),
            Verdict::pass);
  EXPECT_EQ(Shop().judge(hubs({60.0, 60.0, 60.0, 87.8}, Measure::degree_celsius), {row}).verdict(0, 3),
            Verdict::fail);
  // 65.5556 degC is 150 degF: the others may be read in another scale.
  std::vector<WheelendRow> mixed = hubs({150.0, 150.0, 150.0, 200.0});
  mixed[0].value = 65.0;
  mixed[0].measure = Measure::degree_celsius;  // 149 degF
  EXPECT_EQ(Shop().judge(mixed, {row}).line(0, 3).reading, 50.0);
}

TEST(Rest, IsOfTheSameDayAndOfOtherWheelEnds) {
  std::vector<WheelendRow> rows = hubs({150.0, 210.0});
  rows[0].day = 1;
  EXPECT_TRUE(Shop().judge(rows, {fifty_above()}).noted(Note::rest_not_read, 0, 1));
  EXPECT_TRUE(Shop().judge(hubs({150.0}), {fifty_above()}).noted(Note::rest_not_read, 0));
  // A reading that stands twice is no second wheel end.
  std::vector<WheelendRow> twice = hubs({150.0, 170.0, 230.0, 230.0});
  twice[3].axle = 2;
  twice[3].side = left;
  twice[3].position = 2;
  for (const Line& line : Shop().judge(twice, {fifty_above()}).of(0)) {
    if (line.position == 2) {
      EXPECT_EQ(line.reading, 70.0);  // of 150 and 170
    }
  }
}

// ---- several rows for one reading

// 49 CFR 393.47(d) lets a strip on a steer drum go to 3/16 in; Appendix A to Part 396 rejects it below 1/4
// in.
TEST(WheelendRules, OfTwoClausesBothSpeak) {
  const std::vector<LimitRow> rows{rule(Sense::at_least, "0.1875", Measure::inch),
                                   rule(Sense::at_least, "0.25", Measure::inch)};
  const Verdicts v = Shop().judge({{.value = 0.1875}}, rows);
  EXPECT_EQ(v.verdict(0), Verdict::pass);
  EXPECT_EQ(v.verdict(1), Verdict::fail);
}
