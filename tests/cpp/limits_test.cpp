// Which wheel positions a limit speaks of. Expected answers are read from the clauses named beside them.
#include "wheelend/limits.hpp"

#include <gtest/gtest.h>

#include "fleet.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

Applies federal(FederalRow row, PositionFacts position) {
  return applies(federal_rows(), static_cast<std::size_t>(row), position);
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

TEST(Limits, SeveralExceptionsAllCount) {
  const std::vector<LimitRow> rows{{.id = "steer", .wheels = Wheels::steering},
                                   {.id = "bus", .kinds = kind_bit(UnitKind::bus)},
                                   {.id = "rest", .except = {0, 1}}};
  EXPECT_EQ(applies(rows, 2, tractor_drive), Applies::yes);
  EXPECT_EQ(applies(rows, 2, tractor_steer), Applies::no);
  EXPECT_EQ(applies(rows, 2, bus_rear), Applies::no);
  EXPECT_EQ(applies(rows, 2, without_role(bus_rear)), Applies::no);  // a bus is left out either way
  EXPECT_EQ(applies(rows, 2, without_role(tractor_drive)), Applies::unknown);
}
