#include "wheelend/demand.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <span>
#include <vector>

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

// Units that differ in everything: how far they run, when they come in, what wears on them and how fast.
DemandFleet mixed(std::size_t units) {
  DemandFleet fleet = steady(units);
  for (std::size_t u = 0; u < units; ++u) {
    const auto n = static_cast<float>(u + 1);
    DemandUnit& unit = fleet.units[u];
    unit.last_visit = -2.0 * static_cast<double>(u);
    unit.visit_days = 10.0 + 3.0 * static_cast<double>(u);
    unit.km.assign(60, 4.0F * n);
    unit.level = 0.02;
    TireLaw law = fleet.laws[0];
    law.need.fill(60.0F + 20.0F * n);
    fleet.laws.push_back(law);
    fleet.places[2 * u].now = static_cast<std::int32_t>(u + 1);
  }
  fleet.practice.damage_per_year = 0.7;
  fleet.practice.with_mate = 0.4;
  fleet.practice.roles[0].retread_share = 0.4;
  fleet.practice.roles[0].moved_share = 0.2;
  return fleet;
}

// Where a removal is counted: the last month that ends on or after its day, told as simulate_demand orders
// it.
std::size_t cell_of(const RemovalEvent& e, std::size_t draw, const DemandOptions& options,
                    std::span<const std::int32_t> group) {
  const auto m = std::ranges::upper_bound(options.month_ends, static_cast<std::int32_t>(std::floor(e.day))) -
                 options.month_ends.begin();
  std::size_t cell = draw * options.month_ends.size() + static_cast<std::size_t>(m);
  cell = cell * static_cast<std::size_t>(options.groups) +
         static_cast<std::size_t>(group[static_cast<std::size_t>(e.place)]);
  cell = cell * tire_source_names.size() + static_cast<std::size_t>(e.source);
  return cell * removal_cause_names.size() + static_cast<std::size_t>(e.cause);
}

TEST(Demand, CountsAreThoseOfTheRemovalsMonthByMonthAndPlaceByPlace) {
  const DemandFleet fleet = mixed(5);
  const std::vector<std::int32_t> group{0, 1, 1, 2, 2, 0, 0, 1, 1, 2};
  DemandOptions options{.draws = 40, .month_ends = {30, 200, 365}, .groups = 3, .threads = 2};
  options.group = group;
  const std::vector<std::int32_t> counts = simulate_demand(fleet, options);
  std::vector<std::int32_t> told(40U * 3U * 3U * 9U);
  ASSERT_EQ(counts.size(), told.size());
  std::array<std::int64_t, 9> of_kind{};
  for (std::size_t draw = 0; draw < 40; ++draw) {
    for (const RemovalEvent& e : simulate_removals(fleet, options, draw)) {
      ++told[cell_of(e, draw, options, group)];
      ++of_kind[static_cast<std::size_t>(e.source) * 3 + static_cast<std::size_t>(e.cause)];
    }
  }
  EXPECT_EQ(counts, told);
  EXPECT_TRUE(std::ranges::all_of(of_kind, [](std::int64_t n) { return n > 0; }));  // every source and cause
}

TEST(Demand, ATireThatCameOnADayDoesNotGoWithItsMateOnThatDay) {
  DemandFleet fleet = mixed(6);
  fleet.practice.with_mate = 1.0;  // every worn tire takes its mate along
  std::size_t events = 0, along = 0;
  for (std::size_t draw = 0; draw < 60; ++draw) {
    const auto found = simulate_removals(fleet, {.month_ends = {500}}, draw);
    for (std::size_t i = 0; i < found.size(); ++i, ++events) {
      along += found[i].cause == RemovalCause::with_mate ? 1U : 0U;
      if (i > 0 && found[i].place == found[i - 1].place) {
        EXPECT_GT(found[i].day, found[i - 1].day);
      }
    }
  }
  EXPECT_GT(along, events / 10);
}

TEST(Demand, OrderOfUnitsMakesNoDifference) {
  const std::size_t units = 4;
  const DemandFleet fleet = mixed(units);
  DemandFleet turned = fleet;
  std::ranges::reverse(turned.units);
  std::ranges::reverse(turned.places);
  for (DemandPlace& place : turned.places) {
    const auto last = static_cast<std::int32_t>(units) - 1;
    place.unit = last - place.unit;
    place.mate = 2 * last + 1 - place.mate;
  }
  // A group a unit, so that one that took the chances of another would be seen.
  std::vector<std::int32_t> group, back;
  for (std::int32_t i = 0; i < static_cast<std::int32_t>(2 * units); ++i) {
    group.push_back(i / 2);
    back.push_back(static_cast<std::int32_t>(units) - 1 - i / 2);
  }
  DemandOptions options{.draws = 50, .month_ends = {100, 300}, .groups = static_cast<std::int32_t>(units)};
  options.group = group;
  const auto counts = simulate_demand(fleet, options);
  options.group = back;
  EXPECT_EQ(counts, simulate_demand(turned, options));
  std::vector<std::int64_t> of_unit(units);
  for (std::size_t i = 0; i < counts.size(); ++i) {
    of_unit[i / 9 % units] += counts[i];
  }
  std::ranges::sort(of_unit);
  EXPECT_EQ(std::ranges::adjacent_find(of_unit), of_unit.end());  // no unit could stand for another
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
