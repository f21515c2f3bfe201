// Facts and conditions on them. Expected answers follow from three-valued logic (Kleene 1952, strong tables:
// a conjunction is the least of its parts in the order no, unknown, yes) and from the factors of NIST SP 811
// (1 lb = 0.45359237 kg, 1 in = 25.4 mm, both exact).
#include "wheelend/facts.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "fleet.hpp"
#include "wheelend/error.hpp"
#include "wheelend/limits.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr Subject first{.position = 0};
constexpr std::int32_t unknown_code = -1;

// A fact of one wheel, and whether a condition on it holds.
Applies of_code(std::int32_t code, const Condition& condition) {
  FactList facts;
  facts.add_codes(Level::wheel, {.position = {code}});
  return holds({condition}, facts.list, first).applies;
}
Applies of_number(double value, Measure measure, const Condition& condition) {
  FactList facts;
  facts.add_numbers(Level::wheel, {.position = {value}}, measure);
  return holds({condition}, facts.list, first).applies;
}
Condition more_than(const char* bound, Measure measure) {
  return number(0, Relation::more_than, bound, measure);
}
Condition at_least(const char* bound, Measure measure) {
  return number(0, Relation::at_least, bound, measure);
}

}  // namespace

// ---- three values

TEST(Facts, ConditionsAreJoinedByThreeValuedLogic) {
  FactList facts;
  facts.add_codes(Level::wheel, {.position = {0}});
  facts.add_codes(Level::wheel, {.position = {unknown_code}});
  const Condition no = is(0, {1}), yes = is(0, {0}), unknown = is(1, {0});
  const auto least = [](Applies a, Applies b) {
    const auto rank = [](Applies x) { return x == Applies::no ? 0 : (x == Applies::unknown ? 1 : 2); };
    return rank(a) < rank(b) ? a : b;
  };
  const std::vector<std::pair<Condition, Applies>> values{
      {no, Applies::no}, {unknown, Applies::unknown}, {yes, Applies::yes}};
  for (const auto& [a, value_a] : values) {
    for (const auto& [b, value_b] : values) {
      EXPECT_EQ(holds({a, b}, facts.list, first).applies, least(value_a, value_b));
      for (const auto& [c, value_c] : values) {
        EXPECT_EQ(holds({a, b, c}, facts.list, first).applies, least(least(value_a, value_b), value_c));
      }
    }
  }
}

TEST(Facts, NoConditionsHoldOfEverything) {
  const Answer answer = holds({}, {}, {});
  EXPECT_EQ(answer.applies, Applies::yes);
  EXPECT_EQ(answer.fact, -1);
}

TEST(Facts, OfCodes) {
  EXPECT_EQ(of_code(2, is(0, {1, 2})), Applies::yes);
  EXPECT_EQ(of_code(3, is(0, {1, 2})), Applies::no);
  EXPECT_EQ(of_code(2, is_not(0, {1, 2})), Applies::no);
  EXPECT_EQ(of_code(3, is_not(0, {1, 2})), Applies::yes);
  EXPECT_EQ(of_code(3, is(0, {})), Applies::no);  // a word that no reading uses has no code here
  EXPECT_EQ(of_code(3, is_not(0, {})), Applies::yes);
}

TEST(Facts, RelationsHaveTheirNames) {
  EXPECT_EQ(relation_names.size(), static_cast<std::size_t>(Relation::not_stated) + 1);
  EXPECT_EQ(relation_names[static_cast<std::size_t>(Relation::none_of)], "!=");
  EXPECT_EQ(relation_names[static_cast<std::size_t>(Relation::at_least)], ">=");
  EXPECT_EQ(relation_names[static_cast<std::size_t>(Relation::less_than)], "<");
  EXPECT_EQ(relation_names[static_cast<std::size_t>(Relation::not_stated)], "not_stated");
}

TEST(Facts, MissingIsUnknownForEveryRelation) {
  EXPECT_EQ(of_code(unknown_code, is(0, {1})), Applies::unknown);
  EXPECT_EQ(of_code(unknown_code, is_not(0, {1})), Applies::unknown);
  EXPECT_EQ(of_code(unknown_code, is_not(0, {})), Applies::unknown);
  for (const Relation relation : {Relation::any_of, Relation::none_of, Relation::at_least,
                                  Relation::more_than, Relation::at_most, Relation::less_than}) {
    EXPECT_EQ(of_number(missing, Measure::pound, number(0, relation, "1", Measure::pound)), Applies::unknown);
  }
}

TEST(Facts, ColumnThatWasNotGivenIsUnknown) {
  FactList facts;
  facts.add_codes(Level::wheel, {});
  facts.add_numbers(Level::wheel, {}, Measure::pound);
  EXPECT_EQ(holds({is(0, {1})}, facts.list, {.position = 0, .tire = 3, .row = 7}).applies, Applies::unknown);
  EXPECT_EQ(holds({number(1, Relation::at_least, "1", Measure::pound)}, facts.list,
                  {.position = 0, .tire = 3, .row = 7})
                .applies,
            Applies::unknown);
}

// ---- which fact is said

TEST(Facts, FirstThatIsNotKnownIsNamed) {
  FactList facts;
  for (int i = 0; i < 3; ++i) {
    facts.add_codes(Level::wheel, {.position = {unknown_code}});
  }
  facts.add_codes(Level::wheel, {.position = {1}});
  EXPECT_EQ(holds({is(3, {1}), is(2, {1}), is(0, {1})}, facts.list, first).fact, 2);
  EXPECT_EQ(holds({is(3, {1})}, facts.list, first).fact, -1);
}

TEST(Facts, NotStatedHoldsAndIsSaid) {
  FactList facts;
  facts.add_codes(Level::wheel, {.position = {unknown_code}});
  facts.add_codes(Level::wheel, {.position = {1}});
  facts.add_codes(Level::wheel, {.position = {unknown_code}});
  const Condition assumed = or_not_stated(is(0, {1}));
  const auto answer = [&facts](const std::vector<Condition>& conditions) {
    return holds(conditions, facts.list, first);
  };
  EXPECT_EQ(answer({assumed}).applies, Applies::yes);
  EXPECT_EQ(answer({assumed}).fact, 0);
  EXPECT_EQ(answer({assumed, is(1, {1})}).fact, 0);
  // It makes good for its own fact only, and never for one that is known to be otherwise.
  EXPECT_EQ(answer({assumed, is(1, {2})}).applies, Applies::no);
  EXPECT_EQ(of_code(3, or_not_stated(is(0, {1}))), Applies::no);
  for (const auto& both : {std::vector{assumed, is(2, {1})}, std::vector{is(2, {1}), assumed}}) {
    EXPECT_EQ(answer(both).applies, Applies::unknown);
    EXPECT_EQ(answer(both).fact, 2);  // what keeps the verdict from being given
  }
  EXPECT_EQ(answer({assumed, or_not_stated(is(2, {1}))}).fact, 0);
}

// Whether anything is known at all: yes or no, never unknown.
TEST(Facts, StatedOrNot) {
  FactList facts;
  facts.add_codes(Level::wheel, {.position = {4, unknown_code}});
  facts.add_numbers(Level::wheel, {.position = {4.0, missing}}, Measure::pound);
  for (const std::int32_t fact : {0, 1}) {
    const Condition stated{.fact = fact, .relation = Relation::stated};
    const Condition not_stated{.fact = fact, .relation = Relation::not_stated};
    EXPECT_EQ(holds({stated}, facts.list, {.position = 0}).applies, Applies::yes);
    EXPECT_EQ(holds({stated}, facts.list, {.position = 1}).applies, Applies::no);
    EXPECT_EQ(holds({not_stated}, facts.list, {.position = 0}).applies, Applies::no);
    EXPECT_EQ(holds({not_stated}, facts.list, {.position = 1}).applies, Applies::yes);
    EXPECT_EQ(holds({not_stated}, facts.list, {.position = 1}).fact, -1);
    // A reading of the axle does not know the fact of a wheel.
    EXPECT_EQ(holds({stated}, facts.list, {.position = 0, .level = Level::axle}).applies, Applies::no);
  }
}

// ---- numbers: compared as the decimals that were written, in whatever measure

// "Over 4,500 kg", "more than 10,000 lb", "5,500 kg or more" (Ontario, 49 CFR 570, British Columbia): the
// thresholds differ at equality, and 10,000 lb is 4535.9237 kg exactly.
TEST(Facts, NumbersAreExactAtABoundInAnotherMeasure) {
  EXPECT_EQ(of_number(4535.9237, Measure::kilogram, more_than("10000", Measure::pound)), Applies::no);
  EXPECT_EQ(of_number(4535.9238, Measure::kilogram, more_than("10000", Measure::pound)), Applies::yes);
  EXPECT_EQ(of_number(4535.9237, Measure::kilogram, at_least("10000", Measure::pound)), Applies::yes);
  EXPECT_EQ(of_number(4535.9236, Measure::kilogram, at_least("10000", Measure::pound)), Applies::no);
  EXPECT_EQ(of_number(1000.0, Measure::pound, at_least("453.59237", Measure::kilogram)), Applies::yes);
  EXPECT_EQ(of_number(1000.0, Measure::pound, more_than("453.59237", Measure::kilogram)), Applies::no);
  EXPECT_EQ(of_number(4500.0, Measure::kilogram, more_than("4500", Measure::kilogram)), Applies::no);
  EXPECT_EQ(of_number(5500.0, Measure::kilogram, at_least("5500", Measure::kilogram)), Applies::yes);
}

// 3 in is 76.2 mm; 0.1 + 0.2 is not written anywhere, but 0.3 is.
TEST(Facts, NumbersAreEqualToTheirOwnDecimalOnly) {
  const Condition three{number(0, Relation::any_of, "3", Measure::inch)};
  EXPECT_EQ(of_number(76.2, Measure::millimetre, three), Applies::yes);
  EXPECT_EQ(of_number(76.20000000000002, Measure::millimetre, three), Applies::no);
  EXPECT_EQ(of_number(76.2, Measure::millimetre, number(0, Relation::none_of, "3", Measure::inch)),
            Applies::no);
  EXPECT_EQ(of_number(0.3, Measure::inch, number(0, Relation::any_of, "0.30", Measure::inch)), Applies::yes);
  EXPECT_EQ(of_number(0.1 + 0.2, Measure::inch, number(0, Relation::any_of, "0.3", Measure::inch)),
            Applies::no);
}

TEST(Facts, RelationsAtAndBesideEquality) {
  struct Case {
    Relation relation;
    bool below, at, above;
  };
  constexpr Case cases[] = {
      {Relation::any_of, false, true, false},  {Relation::none_of, true, false, true},
      {Relation::at_least, false, true, true}, {Relation::more_than, false, false, true},
      {Relation::at_most, true, true, false},  {Relation::less_than, true, false, false}};
  for (const Case& c : cases) {
    const auto is_so = [&c](double psi) {
      return of_number(psi, Measure::psi, number(0, c.relation, "80", Measure::psi)) == Applies::yes;
    };
    EXPECT_EQ(is_so(79.9), c.below);
    EXPECT_EQ(is_so(80.0), c.at);
    EXPECT_EQ(is_so(80.1), c.above);
  }
}

TEST(Facts, NumberMayBeOneOfSeveral) {
  Condition axles = number(0, Relation::any_of, "1", Measure::count);
  axles.bounds.push_back({"3", Measure::count});
  Condition others = axles;
  others.relation = Relation::none_of;
  for (const double axle : {1.0, 2.0, 3.0}) {
    const bool among = axle != 2.0;
    EXPECT_EQ(of_number(axle, Measure::count, axles), among ? Applies::yes : Applies::no);
    EXPECT_EQ(of_number(axle, Measure::count, others), among ? Applies::no : Applies::yes);
  }
}

// "Built on or after 1 March 1975": 49 CFR 393.51(c).
TEST(Facts, DatesAreDays) {
  const auto day = [](int year, int month, int of_month) {
    return static_cast<double>(day_number(year, month, of_month).value());
  };
  const Condition since = at_least(std::to_string(day_number(1975, 3, 1).value()).c_str(), Measure::count);
  EXPECT_EQ(of_number(day(1975, 3, 1), Measure::count, since), Applies::yes);
  EXPECT_EQ(of_number(day(1975, 2, 28), Measure::count, since), Applies::no);
  EXPECT_EQ(of_number(missing, Measure::count, since), Applies::unknown);
}

// More digits than a double keeps, on either side.
TEST(Facts, LongDecimalsAreKept) {
  const std::vector<double> kilograms{3500.0};
  NumberColumn column{.values = kilograms, .measure = Measure::kilogram};
  column.long_texts = {{0, "3500.00000000000000000001"}};
  FactList facts;
  facts.add(Level::wheel, {}, {}, {.numbers = column});
  const auto over = [&facts](const char* bound) {
    return holds({more_than(bound, Measure::kilogram)}, facts.list, first).applies;
  };
  EXPECT_EQ(over("3500"), Applies::yes);
  EXPECT_EQ(over("3500.00000000000000000001"), Applies::no);
  EXPECT_EQ(over("3500.000000000000000000005"), Applies::yes);
}

// Temperature scales have different zeros: 212 degF is 100 degC (NIST SP 811).
TEST(Facts, TemperaturesAreComparedWithTheirZeros) {
  const Condition boils = at_least("100", Measure::degree_celsius);
  EXPECT_EQ(of_number(212.0, Measure::degree_fahrenheit, boils), Applies::yes);
  EXPECT_EQ(of_number(211.9, Measure::degree_fahrenheit, boils), Applies::no);
  EXPECT_EQ(of_number(211.9, Measure::degree_fahrenheit,
                      number(0, Relation::at_most, "100", Measure::degree_celsius)),
            Applies::yes);
  EXPECT_EQ(of_number(0.0, Measure::degree_celsius, at_least("32", Measure::degree_fahrenheit)),
            Applies::yes);
  EXPECT_EQ(of_number(-40.0, Measure::degree_celsius,
                      number(0, Relation::any_of, "-40", Measure::degree_fahrenheit)),
            Applies::yes);
  EXPECT_EQ(of_number(-0.1, Measure::degree_celsius, at_least("273.15", Measure::kelvin)), Applies::no);
  EXPECT_EQ(of_number(0.0, Measure::degree_celsius, at_least("273.15", Measure::kelvin)), Applies::yes);
}

// ---- whose facts

TEST(Facts, ComeFromTheRowThenTheTireThenThePosition) {
  FactList facts;
  facts.add_codes(Level::wheel, {.row = {1, -1, -1, -1}, .tire = {2, -1}, .position = {3, -1}});
  const auto code = [&](std::int64_t row, std::int32_t tire, std::int32_t position) {
    return code_of(facts.list[0], {.position = position, .tire = tire, .row = row});
  };
  EXPECT_EQ(code(0, 0, 0), 1);
  EXPECT_EQ(code(1, 0, 0), 2);
  EXPECT_EQ(code(1, 1, 0), 3);
  EXPECT_EQ(code(1, 1, 1), -1);
  EXPECT_EQ(code(-1, 0, 0), 2);  // a reading of treads has no such row
  EXPECT_EQ(code(-1, -1, 0), 3);
  EXPECT_EQ(code(-1, -1, -1), -1);
}

TEST(Facts, NumbersComeFromTheSamePlacesInTheirOwnMeasures) {
  const std::vector<double> row{110.0, missing}, tire{760.0, missing}, position{120.0, missing};
  FactList facts;
  facts.add(Level::wheel, {.numbers = {.values = row, .measure = Measure::psi}},
            {.numbers = {.values = tire, .measure = Measure::kilopascal}},
            {.numbers = {.values = position, .measure = Measure::bar}});
  const auto cell = [&](std::int64_t at_row, std::int32_t at_tire, std::int32_t at_position) {
    return number_of(facts.list[0], {.position = at_position, .tire = at_tire, .row = at_row});
  };
  EXPECT_EQ(cell(0, 0, 0).value(), 110.0);
  EXPECT_EQ(cell(0, 0, 0).column->measure, Measure::psi);
  EXPECT_EQ(cell(1, 0, 0).value(), 760.0);
  EXPECT_EQ(cell(1, 0, 0).column->measure, Measure::kilopascal);
  EXPECT_EQ(cell(1, 1, 0).value(), 120.0);
  EXPECT_EQ(cell(1, 1, 0).column->measure, Measure::bar);
  EXPECT_TRUE(std::isnan(cell(1, 1, 1).value()));
  EXPECT_TRUE(std::isnan(cell(-1, -1, -1).value()));
}

// What is rare is "no" unless somebody says so.
TEST(Facts, UsualCodeCountsWhereNothingIsStated) {
  FactList facts;
  facts.add_codes(Level::wheel, {.position = {1, -1}}, 0);
  EXPECT_EQ(code_of(facts.list[0], {.position = 0}), 1);
  EXPECT_EQ(code_of(facts.list[0], {.position = 1}), 0);
  EXPECT_EQ(code_of(facts.list[0], {.position = 0, .level = Level::unit}), 0);
  EXPECT_EQ(holds({is(0, {0})}, facts.list, {.position = 1}).applies, Applies::yes);
  EXPECT_EQ(holds({is(0, {0})}, facts.list, {.position = 1}).fact, -1);  // nothing was missing
}

// A reading of a whole axle stands at one of its wheels for want of a better place: it must not borrow that
// wheel's facts.
TEST(Facts, ReadingOfAnAxleOrUnitDoesNotKnowThoseOfAWheel) {
  for (const Level of_fact : {Level::unit, Level::axle, Level::wheel}) {
    for (const Level of_reading : {Level::unit, Level::axle, Level::wheel}) {
      FactList facts;
      facts.add_codes(of_fact, {.tire = {4}, .position = {5}});
      facts.add_numbers(of_fact, {.tire = {6.0}, .position = {7.0}}, Measure::count);
      const Subject subject{.position = 0, .level = of_reading};
      const bool known = of_fact <= of_reading;
      EXPECT_EQ(code_of(facts.list[0], subject), known ? 5 : -1);
      EXPECT_EQ(std::isnan(number_of(facts.list[1], subject).value()), !known);
    }
  }
}

TEST(Facts, RowOfAReadingSpeaksForItselfAtEveryLevel) {
  for (const Level of_reading : {Level::unit, Level::axle, Level::wheel}) {
    FactList facts;
    facts.add_codes(Level::wheel, {.row = {1}, .position = {2}});
    facts.add_numbers(Level::wheel, {.row = {90.0}, .position = {2.0}}, Measure::psi);
    const Subject subject{.position = 0, .row = 0, .level = of_reading};
    EXPECT_EQ(code_of(facts.list[0], subject), 1);
    EXPECT_EQ(number_of(facts.list[1], subject).value(), 90.0);
  }
}

// ---- bounds

TEST(Facts, BoundIsADecimalNumber) {
  const auto value = [](const char* text) { return number_of(Bound{text, Measure::inch}); };
  EXPECT_EQ(value("0.25"), 0.25);
  EXPECT_EQ(value("4920"), 4920.0);
  EXPECT_EQ(value("-5"), -5.0);
  for (const char* text : {"", "1/4", " 2", "2 ", "2in", "0x10", "inf", "nan", "1e999", "1,5", "+2"}) {
    EXPECT_THROW((void)value(text), LimitError) << "'" << text << "'";
  }
}
