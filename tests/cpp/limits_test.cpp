// Which wheel positions a limit speaks of. Expected answers are read from the clauses named beside them.
#include "wheelend/limits.hpp"

#include <gtest/gtest.h>

#include <bit>

#include "fleet.hpp"
#include "wheelend/verdict.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr Subject here{.position = 0};

Applies federal(FederalRow row, PositionFacts position) {
  return applies(federal_rows(), static_cast<std::size_t>(row), facts_of({.facts = {position}}).list, here)
      .applies;
}

constexpr PositionFacts without_kind(PositionFacts p) { return {-1, p.role, p.axle}; }
constexpr PositionFacts without_role(PositionFacts p) { return {p.kind, -1, p.axle}; }

}  // namespace

TEST(Limits, FrontMeansTheFirstAxleOfATruckTractorOrBus) {  // 49 CFR 393.75(b)
  EXPECT_EQ(federal(us_t_02, truck_steer), Applies::yes);
  EXPECT_EQ(federal(us_t_02, tractor_steer), Applies::yes);
  EXPECT_EQ(federal(us_t_02, bus_front), Applies::yes);
  EXPECT_EQ(federal(us_t_02, tractor_drive), Applies::no);
  EXPECT_EQ(federal(us_t_02, bus_rear), Applies::no);
}

// 393.75(b) names bus, truck and truck tractor: the first axle of a trailer or dolly has no front wheels in
// its sense.
TEST(Limits, FrontAxleOfATrailerOrDollyIsNotFront) {
  EXPECT_EQ(federal(us_t_02, trailer_front), Applies::no);
  EXPECT_EQ(federal(us_t_02, dolly_front), Applies::no);
  EXPECT_EQ(federal(us_t_03, trailer_front), Applies::yes);
  EXPECT_EQ(federal(us_t_03, dolly_front), Applies::yes);
}

// The second steering axle is no front axle, but Appendix A to Part 396 item 10(a) says "any steering axle".
TEST(Limits, SecondSteeringAxleIsSteeringButNotFront) {
  const PositionFacts second = facts(UnitKind::truck, AxleRole::steer, 2);
  EXPECT_EQ(federal(us_t_02, second), Applies::no);
  EXPECT_EQ(federal(us_t_03, second), Applies::yes);
  EXPECT_EQ(federal(us_a_01, second), Applies::yes);
  EXPECT_EQ(federal(us_a_02, second), Applies::no);
}

TEST(Limits, SteeredAxleOfATrailerIsNotSteering) {  // item 10(a): "of a power unit"
  EXPECT_EQ(federal(us_a_01, facts(UnitKind::trailer, AxleRole::steer, 1)), Applies::no);
  EXPECT_EQ(federal(us_a_02, facts(UnitKind::trailer, AxleRole::steer, 1)), Applies::yes);
}

TEST(Limits, FirstAxleThatDoesNotSteerIsFrontButNotSteering) {
  const PositionFacts first = facts(UnitKind::truck, AxleRole::drive, 1);
  EXPECT_EQ(federal(us_t_02, first), Applies::yes);
  EXPECT_EQ(federal(us_a_01, first), Applies::no);
}

// "All other tires": whatever the facts, exactly one of the pair speaks, or neither is known to.
TEST(Limits, ExceptIsTheComplement) {
  for (std::int8_t kind = -1; kind < 5; ++kind) {
    for (std::int8_t role = -1; role < 7; ++role) {
      for (std::int32_t axle = 1; axle <= 3; ++axle) {
        for (const auto& [row, rest] : {std::pair(us_t_02, us_t_03), std::pair(us_a_01, us_a_02)}) {
          const Applies one = federal(row, {kind, role, axle}), other = federal(rest, {kind, role, axle});
          EXPECT_EQ(one == Applies::yes, other == Applies::no);
          EXPECT_EQ(one == Applies::no, other == Applies::yes);
          EXPECT_EQ(one == Applies::unknown, other == Applies::unknown);
        }
      }
    }
  }
}

TEST(Limits, KindsNarrowARow) {
  EXPECT_EQ(federal(us_t_06, bus_front), Applies::yes);
  EXPECT_EQ(federal(us_t_06, truck_steer), Applies::no);
  EXPECT_EQ(federal(us_t_06, bus_rear), Applies::no);
  EXPECT_EQ(federal(us_t_07, truck_steer), Applies::yes);
  EXPECT_EQ(federal(us_t_07, tractor_steer), Applies::yes);
  EXPECT_EQ(federal(us_t_07, bus_front), Applies::no);
}

TEST(Limits, RowWithoutKindsSpeaksOfEveryPosition) {
  EXPECT_EQ(federal(us_t_11, tractor_steer), Applies::yes);
  EXPECT_EQ(federal(us_t_11, dolly_front), Applies::yes);
  EXPECT_EQ(federal(us_t_11, {-1, -1, 1}), Applies::yes);
}

TEST(Limits, MissingKindIsUnknownOnlyWhereItDecides) {
  EXPECT_EQ(federal(us_t_02, without_kind(tractor_steer)), Applies::unknown);
  EXPECT_EQ(federal(us_t_03, without_kind(tractor_steer)), Applies::unknown);
  // Nothing but the first axle can be front, so a rear axle needs no kind ...
  EXPECT_EQ(federal(us_t_02, without_kind(tractor_drive)), Applies::no);
  EXPECT_EQ(federal(us_t_03, without_kind(tractor_drive)), Applies::yes);
  // ... and a kind that does not fit settles it whatever the role.
  EXPECT_EQ(federal(us_a_01, without_role(trailer_front)), Applies::no);
  EXPECT_EQ(federal(us_a_02, without_role(trailer_front)), Applies::yes);
}

TEST(Limits, MissingRoleIsUnknownOnlyForSteering) {
  EXPECT_EQ(federal(us_a_01, without_role(tractor_steer)), Applies::unknown);
  EXPECT_EQ(federal(us_a_02, without_role(tractor_steer)), Applies::unknown);
  EXPECT_EQ(federal(us_t_02, without_role(tractor_steer)), Applies::yes);
  EXPECT_EQ(federal(us_t_03, without_role(tractor_drive)), Applies::yes);
}

// Appendix A item 10(a) speaks of steering axles: a drive axle is none, whatever carries it.
TEST(Limits, MissingKindIsNotAskedForWhereTheRoleSettlesIt) {
  EXPECT_EQ(federal(us_a_01, without_kind(tractor_drive)), Applies::no);
  EXPECT_EQ(federal(us_a_02, without_kind(tractor_drive)), Applies::yes);
}

TEST(Limits, SeveralExceptionsAllCount) {
  const std::vector<LimitRow> rows{{.id = "steer", .where = {power_unit(), steers()}},
                                   {.id = "bus", .where = {of_kinds(UnitKind::bus)}},
                                   {.id = "rest", .except = {0, 1}}};
  const auto rest = [&rows](PositionFacts position) {
    return applies(rows, 2, facts_of({.facts = {position}}).list, here).applies;
  };
  EXPECT_EQ(rest(tractor_drive), Applies::yes);
  EXPECT_EQ(rest(tractor_steer), Applies::no);
  EXPECT_EQ(rest(bus_rear), Applies::no);
  EXPECT_EQ(rest(without_role(bus_rear)), Applies::no);  // a bus is left out either way
  EXPECT_EQ(rest(without_role(tractor_drive)), Applies::unknown);
}

// Where a row takes a fact as stated, its exception does so too: still exactly one of the two speaks.
TEST(Limits, ExceptionToARowThatTakesAFactAsStated) {
  const std::vector<LimitRow> rows{{.id = "steer", .where = {or_not_stated(steers())}},
                                   {.id = "rest", .except = {0}}};
  const FactList known = facts_of({.facts = {without_role(tractor_steer)}});
  EXPECT_EQ(applies(rows, 0, known.list, here).applies, Applies::yes);
  EXPECT_EQ(applies(rows, 1, known.list, here).applies, Applies::no);
}

TEST(Limits, ExceptionsOfExceptionsComeBack) {
  const std::vector<LimitRow> rows{{.id = "bus", .where = {of_kinds(UnitKind::bus)}},
                                   {.id = "power unit but no bus", .where = {power_unit()}, .except = {0}},
                                   {.id = "all but those", .except = {1}}};
  const auto third = [&rows](PositionFacts position) {
    return applies(rows, 2, facts_of({.facts = {position}}).list, here).applies;
  };
  EXPECT_EQ(third(bus_front), Applies::yes);
  EXPECT_EQ(third(tractor_steer), Applies::no);
  EXPECT_EQ(third(trailer_front), Applies::yes);
}

TEST(Limits, NameTheFirstFactThatIsNotKnown) {
  const std::vector<LimitRow> rows{{.id = "steer", .where = {steers()}},
                                   {.id = "power unit", .where = {power_unit()}, .except = {0}},
                                   {.id = "any", .except = {0}}};
  const FactList nothing = facts_of({.facts = {{-1, -1, 1}}});
  EXPECT_EQ(applies(rows, 1, nothing.list, here).fact, of_kind);
  EXPECT_EQ(applies(rows, 2, nothing.list, here).fact, of_role);
}

// ---- names, which files and tables use

TEST(Limits, NamesStandInTheOrderOfTheirEnums) {
  const auto name = [](Statistic s) { return statistic_names[static_cast<std::size_t>(s)]; };
  EXPECT_EQ(name(Statistic::lowest_depth), "lowest_depth");
  EXPECT_EQ(name(Statistic::second_lowest_of_four), "second_lowest_of_four");
  EXPECT_EQ(name(Statistic::cold_pressure), "cold_pressure");
  EXPECT_EQ(name(Statistic::age_of_casing), "age_of_casing");
  EXPECT_EQ(name(Statistic::pair_circumference), "pair_circumference");
  EXPECT_EQ(name(Statistic::axle_constructions), "axle_constructions");
  EXPECT_EQ(name(Statistic::as_read), "as_read");
  EXPECT_EQ(name(Statistic::sides_unlike), "sides_unlike");
  EXPECT_EQ(name(Statistic::defective_brakes), "defective_brakes");
  EXPECT_EQ(statistic_names.size(), static_cast<std::size_t>(Statistic::defective_brakes) + 1);
  EXPECT_EQ(sense_names[static_cast<std::size_t>(Sense::less_than)], "<");
  EXPECT_EQ(sense_names[static_cast<std::size_t>(Sense::within)], "within");
  EXPECT_EQ(sense_names.size(), static_cast<std::size_t>(Sense::absent) + 1);
  EXPECT_EQ(severity_names[static_cast<std::size_t>(Severity::own)], "own");
  EXPECT_EQ(severity_names.size(), static_cast<std::size_t>(Severity::advice) + 1);
  EXPECT_EQ(level_names[static_cast<std::size_t>(Level::axle)], "axle");
  EXPECT_EQ(level_names.size(), static_cast<std::size_t>(Level::wheel) + 1);
}

TEST(Limits, StatisticsTellWhatALimitIsAbout) {
  const auto about = [](Statistic s) { return quantity_names[static_cast<std::size_t>(quantity_of(s))]; };
  EXPECT_EQ(about(Statistic::three_quarter_band), "tread_depth");
  EXPECT_EQ(about(Statistic::axle_depth), "tread_depth");
  EXPECT_EQ(about(Statistic::pair_pressure), "pressure");
  EXPECT_EQ(about(Statistic::regrooved_capacity), "rated_load");
  EXPECT_EQ(about(Statistic::load_carried), "tire_load");
  EXPECT_EQ(about(Statistic::age_of_casing), "tire_age");
  EXPECT_EQ(about(Statistic::pair_diameter), "diameter");
  EXPECT_EQ(about(Statistic::pair_circumference), "circumference");
  EXPECT_EQ(about(Statistic::axle_sizes), "size");
  EXPECT_EQ(about(Statistic::axle_constructions), "construction");
  EXPECT_EQ(about(Statistic::months_since), "inspection_age");
  EXPECT_EQ(about(Statistic::defective_brakes), "brakes");
  for (const Statistic s : {Statistic::as_read, Statistic::loss_rate, Statistic::beyond_limit,
                            Statistic::side_to_side, Statistic::sides_unlike, Statistic::above_the_rest}) {
    EXPECT_EQ(about(s), "other");
  }
}

TEST(Limits, EachNoteHasItsWords) {
  const auto words = [](Note n) {
    return note_words[static_cast<std::size_t>(std::countr_zero(static_cast<std::uint64_t>(n)))];
  };
  EXPECT_EQ(words(Note::not_read), "not read");
  EXPECT_EQ(words(Note::within_gauge_step), "within one step of the gauge");
  EXPECT_EQ(words(Note::fact_missing), "{fact} is not given");
  EXPECT_EQ(words(Note::unconfirmed), "unconfirmed row {id} would fail");
  EXPECT_EQ(words(Note::fails_whatever), "fails whatever {fact} is");
  EXPECT_EQ(words(Note::no_row), note_words.back());
}
