// Wear of the tire in use at each position, learned from the whole fleet together, and when it reaches its
// limit: curved wear, grooves, readers, one-sided and shoulder wear, severity and use of the unit; see
// wear_fit.hpp for the model.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "wheelend/demand.hpp"
#include "wheelend/fitments.hpp"
#include "wheelend/use_model.hpp"
#include "wheelend/wear.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

// What a reading that does not fit looks like.
enum class Slip : std::uint8_t { unknown, other_measure, digit, swapped, visit_off, other_unit };
inline constexpr std::array<std::string_view, 6> slip_names{
    "unknown", "other measure", "digit", "two positions swapped", "whole visit off", "another unit"};

// Readings that fit the others of their tire badly: they count little, and nothing is left out.
struct Doubts {
  std::vector<std::int32_t> position;  // -1: of a whole visit
  std::vector<std::int32_t> unit;
  std::vector<std::int32_t> day;
  std::vector<std::int32_t> groove;  // -1: of all grooves
  std::vector<double> depth_mm;      // as read; of all grooves their mean; NaN of a whole visit
  std::vector<double> expected_mm;   // of a whole visit: by how much it is off
  std::vector<std::uint8_t> slip;
  std::vector<std::int32_t> other;  // of two that were swapped the other position; else -1
};

// How a tire in use wears across and around. Shares are of the wear that is common to its grooves.
struct Patterns {
  std::vector<std::int32_t> position;
  std::vector<double> one_sided, one_sided_se;  // wear of the outer edge above the middle's; negative: inner
  std::vector<double> shoulder,
      shoulder_se;                      // both edges above the middle, over a whole life; negative: center
  std::vector<std::int32_t> since_day;  // from which on the axle wears to one side; min(): not found
  std::vector<double> around_mm,
      around_step_mm;        // largest difference of one groove round the tire at its last
                             // inspection of two places or more, and the gauge's step; NaN
  std::vector<double> worn;  // share of the new depth that is worn off, 0 to 1
};

// What was learned of tires of one role on units of one kind and one group of the fleet's own.
struct LearnedRate {
  std::int8_t role = -1, kind = -1;  // -1: not given
  std::int32_t group = -1;
  double mm_per_km = 0.0, spread = 0.0;  // at half of the new depth; of its logarithm
};

struct Learned {
  WearSpreads spreads;
  std::vector<LearnedRate> rates;
  std::vector<std::int32_t> readers;
  std::vector<double> reader_mm;               // what each of them reads too deep
  double season = 0.0, season_peak_day = 0.0;  // amplitude in log wear; day of the year
  UseModel use;
};

struct FleetWear {
  WearTable table;
  FurtherTable further;
  Fitments fitments;
  Learned learned;
  Doubts doubts;
  Patterns patterns;
  DemandFleet demand;  // where it was asked for
};

// limit_mm: per position, NaN where there is none. unit_of: unit of each position. A position has a row if
// the tire on it was ever read, or was fitted new by an event. A tire's own new depth comes before the
// prior's.
FleetWear wear_of_fleet(const ReadingColumns& readings, const PositionColumns& positions,
                        const TireColumns& tires, std::span<const std::int32_t> unit_of, std::size_t units,
                        std::span<const double> limit_mm, const WearPrior& prior, const WearOptions& options);

// The fitments alone, as wear_of_fleet finds them, for those who follow the tires and not their wear.
Fitments fitments_of_fleet(const ReadingColumns& readings, const PositionColumns& positions,
                           std::span<const std::int32_t> unit_of, std::size_t units,
                           std::span<const double> limit_mm, const WearPrior& prior,
                           const WearOptions& options);

}  // namespace wheelend
