#include "wheelend/demand.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include "wheelend/error.hpp"

namespace {

using namespace wheelend;

// Units that run 1 km a day and come in every 10 days, two places each; a tire lasts 100 km.
DemandFleet steady(std::size_t units) {
  DemandFleet fleet;
  TireLaw law;
  law.need.fill(100.0F);
  law.rate.fill(1.0F);
  fleet.laws = {law};
  fleet.practice.roles = {{.pull_sd_mm = 1e-3}};
  fleet.practice.shop_days = 0.0;
  for (std::size_t u = 0; u < units; ++u) {
    fleet.units.push_back(
        {.key = u + 1, .last_visit = 0.0, .visit_days = 10.0, .km = std::vector<float>(60, 10.0F)});
    for (std::int32_t slot = 0; slot < 2; ++slot) {
      const auto first = static_cast<std::int32_t>(2 * u);
      fleet.places.push_back({.unit = static_cast<std::int32_t>(u),
                              .slot = slot,
                              .mate = first + 1 - slot,
                              .now = 0,
                              .fresh = 0});
      fleet.position.push_back(first + slot);
    }
  }
  return fleet;
}

std::int64_t total(const std::vector<std::int32_t>& counts) {
  return std::accumulate(counts.begin(), counts.end(), std::int64_t{0});
}

TEST(Demand, TiresThatWearEvenlyAreReplacedAtTheVisitAfterTheirLife) {
  const DemandFleet fleet = steady(3);
  for (std::size_t draw = 0; draw < 20; ++draw) {
    for (const RemovalEvent& e : simulate_removals(fleet, {.month_ends = {500}}, draw)) {
      EXPECT_EQ(e.cause, RemovalCause::worn);
      EXPECT_EQ(e.source, TireSource::bought_new);
    }
    // A life is 100 days and up to a visit more: four or five of them in 500 days.
    const auto events = simulate_removals(fleet, {.month_ends = {500}}, draw).size();
    EXPECT_GE(events, 6U * 4U);
    EXPECT_LE(events, 6U * 5U);
  }
}

TEST(Demand, CountsAreThoseOfTheRemovals) {
  DemandFleet fleet = steady(5);
  fleet.practice.damage_per_year = 1.0;
  fleet.practice.with_mate = 0.5;
  const DemandOptions options{.draws = 9, .month_ends = {30, 200, 365}, .threads = 2};
  const std::vector<std::int32_t> counts = simulate_demand(fleet, options);
  ASSERT_EQ(counts.size(), 9U * 3U * 9U);
  std::size_t events = 0;
  for (std::size_t draw = 0; draw < 9; ++draw) {
    events += simulate_removals(fleet, options, draw).size();
  }
  EXPECT_EQ(total(counts), static_cast<std::int64_t>(events));
}

TEST(Demand, OrderOfUnitsMakesNoDifference) {
  DemandFleet fleet = steady(4), turned = fleet;
  fleet.practice.damage_per_year = turned.practice.damage_per_year = 0.5;
  std::reverse(turned.units.begin(), turned.units.end());
  const DemandOptions options{.draws = 50, .month_ends = {100, 300}};
  EXPECT_EQ(simulate_demand(fleet, options), simulate_demand(turned, options));
}

TEST(Demand, NothingIsFittedWhereThereAreNoPlaces) {
  EXPECT_EQ(total(simulate_demand(DemandFleet{}, {.draws = 3, .month_ends = {30}})), 0);
}

TEST(Demand, WhatDoesNotFitTogetherIsRefused) {
  DemandFleet fleet = steady(2);
  fleet.places[0].mate = 3;
  EXPECT_THROW(simulate_demand(fleet, {.month_ends = {30}}), ColumnError);
  fleet = steady(2);
  EXPECT_THROW(simulate_demand(fleet, {.month_ends = {}}), ColumnError);
  EXPECT_THROW(simulate_demand(fleet, {.month_ends = {5000}}), ColumnError);
  fleet.places[0].fresh = 7;
  EXPECT_THROW(simulate_demand(fleet, {.month_ends = {30}}), ColumnError);
}

TEST(Demand, ItCanBeStopped) {
  Watch watch;
  watch.stop = true;
  EXPECT_THROW(simulate_demand(steady(2), {.month_ends = {30}, .watch = &watch}), Stopped);
}

}  // namespace
