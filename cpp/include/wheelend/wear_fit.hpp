// A fleet's wear learned together: every item (a tire at its position) leans on its axle, its unit and its
// group.
//
// Model, on plain doubles (depths in one unit, exposure in another), for channel g at reading k of item i on
// axle a of unit u:
//   y            = channel(common depth) + reader + error        channel and curve: wear_curve.hpp
//   common depth = curve.depth_after(first, wear)
//   wear         = exp(rate) * sum over knots of exposure * exp(severity)
//   rate         = group + unit + axle + item                    log of depth lost per exposure at half depth
//   strength     = exp(mean + item)                              of the curve
//   severity     = slow Ornstein-Uhlenbeck path of the unit, a value per knot, and a season common to all
// All effects are normal with spreads learned from the fleet (empirical Bayes): each pass linearises every
// unit about its present estimate (Gauss-Newton, Student-t weights on readings), solves it exactly - the
// items' few parameters are eliminated first, since the unit's matrix is arrow-shaped - and updates spreads,
// groups and readers from sums that can be added up over units in any split (one step of EM each). Results do
// not depend on the order of units.
#pragma once

#include <cstdint>
#include <vector>

#include "wheelend/wear_curve.hpp"

namespace wheelend {

struct ItemReading {
  double time = 0.0;               // days
  double exposure = 0.0;           // of the unit at that time, as driven, on the scale of WearUnit
  std::vector<double> depth = {};  // per channel; NaN: not read
  std::int32_t reader = -1;
};

struct WearItem {
  std::int32_t unit = 0;
  std::int32_t axle = 0;                   // within the unit, from 0
  std::int32_t group = 0;                  // of the rate
  double full = 1.0;                       // depth when new
  bool begins_full = false;                // fitted new shortly before its first reading
  std::int64_t previous = -1;              // item that is the same tire at its former place; comes before it
  double exposure_between = 0.0;           // about what it ran from its last reading there to its first here
  std::vector<ItemReading> readings = {};  // in the order of time
};

struct WearUnit {
  std::vector<std::int64_t> items = {};
  std::int32_t axles = 1;
  // Distance as driven up to each knot boundary; knots are stretches of
  // `knot_days`, the same for all units.
  std::vector<double> exposure_at_boundary = {};
  bool by_time = false;  // no odometer: exposure is the middle use of its kind,
                         // and the unit's own use is part of its rate
};

struct WearSpreads {
  double unit = 0.14, axle = 0.08, item = 0.11;  // of the log rate
  double severity = 0.08, severity_days = 120.0;
  double strength_mean = -0.5,
         strength = 0.4;  // of the log of the curve's strength
  double offset = 0.25;   // of channels, in depth
  double one_sided_axle = 0.04, one_sided_item = 0.02;
  double shoulder_mean = 0.05, shoulder = 0.04;
  double reading = 0.4;  // of one reading, rounding included, in depth
  double reader = 0.25;
  double use_of_unit = 0.0, use_drift = 0.0;  // of units by time: level, and
                                              // what drifts (added to severity)
};

struct WearGroup {
  double log_rate = 0.0;  // prior, then learned
};

struct WearFitOptions {
  double first_day = 0.0, knot_days = 60.0;  // where the knots lie
  int passes = 12;
  double prior_items = 20.0;    // how many items each prior spread is worth
  double prior_groups = 0.25;   // spread of a group's log rate about its prior
  double weight_freedom = 4.0;  // of Student's t
  double reading_floor = 0.0;   // no reading is better than this (step of the gauge / sqrt 12)
};

// What is known of an item at a time after its last reading.
struct ItemState {
  // common depth, log rate (all effects), log strength, shoulder, one-sided,
  // severity at the end, offsets...
  std::vector<double> mean = {};
  std::vector<double> covariance = {};          // row by row
  std::vector<std::size_t> channels = {};       // those that the item has
  std::vector<double> side = {}, outside = {};  // of each channel of the table: see Channel
};

struct WearFit {
  WearSpreads spreads;
  std::vector<WearGroup> groups;
  std::vector<double> readers;
  double season_cos = 0.0, season_sin = 0.0;  // of the log severity
  std::vector<ItemState> items;               // at the time asked for
  std::vector<double> weight;                 // least weight of any reading of each item
};

inline constexpr std::size_t state_depth = 0, state_rate = 1, state_strength = 2, state_shoulder = 3,
                             state_one_sided = 4, state_severity = 5, state_offsets = 6;

// `wanted[i]`: exposure of the unit of item i at the time asked for, not before
// its last reading; NaN: not asked for.
WearFit fit_wear(const std::vector<WearItem>& items, const std::vector<WearUnit>& units,
                 const std::vector<WearGroup>& groups, std::size_t readers, std::size_t channels,
                 const WearSpreads& prior, const std::vector<double>& wanted, const WearFitOptions& options);

}  // namespace wheelend
