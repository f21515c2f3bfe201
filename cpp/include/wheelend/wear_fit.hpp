// A fleet's wear learned together: every item (a tire on a unit) leans on its axle, its unit and its group.
//
// Model, on plain doubles (depths in one unit, exposure in another), for channel g at reading k of item i on
// axle a of unit u:
//   y            = common + offset(g) - side(g) * sided - outside(g) * shoulder * worn^2 / full
//                  + reader + error                              channel and curve: wear_curve.hpp
//   common depth = curve.depth_after(first, wear);   worn = full - common
//   wear         = sum over knots and places of exposure * exp(rate + severity)
//   rate         = group + unit + axle + item                    log of depth lost per exposure at half depth
//   sided        = sum over places of (tilt of the axle + tilt of the item) * common depth lost there
//   strength     = exp(mean + item)                              of the curve
//   severity     = slow Ornstein-Uhlenbeck path of the unit, a value per knot, and a season common to all
//   axle         = may go out of line at some knot: from then on its rate and its tilt are others
// All effects are normal with spreads learned from the fleet (empirical Bayes): each pass linearises every
// unit about its present estimate (Gauss-Newton, Student-t weights on readings), solves it exactly - the
// items' few parameters are eliminated first, since the unit's matrix is arrow-shaped - and updates spreads,
// groups and readers from sums that can be added up over units in any split. An item that moves between the
// axles of its unit stays one item; one that came from another unit brings its own effects as its prior.
// Results do not depend on the order of units, nor on how many threads work. (Of more than 600 units the part
// that spreads are first learned from is every second, third, ... of the list.)
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

#include "wheelend/watch.hpp"
#include "wheelend/wear_curve.hpp"

namespace wheelend {

struct ItemReading {
  double time = 0.0;               // days
  double exposure = 0.0;           // of the unit at that time, as driven, on the scale of WearUnit
  std::vector<double> depth = {};  // per channel; NaN: not read
  std::int32_t reader = -1;
  bool slip = false;  // taken for a slip beforehand: the fit begins without it
};

// Another place within the unit, from an exposure on.
struct ItemMove {
  double exposure = 0.0;
  std::int32_t axle = 0, group = 0;
};

struct WearItem {
  std::int32_t unit = 0;
  std::int32_t axle = 0;             // within the unit, from 0
  std::int32_t group = 0;            // of the rate
  std::vector<ItemMove> moves = {};  // in the order of exposure
  double full = 1.0;                 // depth when new
  // Exposure at which it began as new; NaN: its story begins with its first reading. An item without
  // readings has it.
  double begins = std::numeric_limits<double>::quiet_NaN();
  // Spread of its depth at its first reading about the full depth, where it did not begin as new; NaN: its
  // readings alone say how deep it was.
  double first_spread = std::numeric_limits<double>::quiet_NaN();
  std::int64_t previous = -1;              // item that is the same tire on another unit; comes before it
  double exposure_between = 0.0;           // about what it ran from its last reading there to its first here
  std::vector<ItemReading> readings = {};  // in the order of time
  bool still_to_come = false;              // not fitted yet: asked for only, nothing is learned from it
};

struct WearUnit {
  std::vector<std::int64_t> items = {};
  std::int32_t axles = 1;
  // Distance as driven up to each knot boundary; knots are stretches of `knot_days`, the same for all units.
  std::vector<double> exposure_at_boundary = {};
  // Visits known to be off beforehand: time, by how much; NaN: all of it is wrong.
  std::vector<std::pair<double, double>> odd_visits = {};
  bool by_time = false;  // no odometer: exposure is the middle use of its kind, and the unit's own use is
                         // part of its rate
};

struct WearSpreads {
  double unit = 0.14, axle = 0.08, item = 0.11;  // of the log rate
  double severity = 0.08, severity_days = 120.0;
  double strength_mean = -0.5, strength = 0.4;  // of the log of the curve's strength
  double offset = 0.25;                         // of channels, in depth
  double one_sided_axle = 0.04, one_sided_item = 0.02;
  double shoulder_mean = 0.05, shoulder = 0.04;
  double reading = 0.4;  // of one reading, rounding included, in depth
  double reader = 0.25;
  double as_new = 0.3;                        // of the first depth of an item that begins as new
  double use_of_unit = 0.0, use_drift = 0.0;  // of units by time: level, and what drifts (added to severity)
  // Axles that go out of line: how many in a year, what they gain in log rate and in one-sided wear.
  double turns_per_year = 0.02, turn_rate_mean = 0.1, turn_rate = 0.12, turn_one_sided = 0.2;
};

// A group of items. Groups that share a trait lean on one another: what is learned of steer tires of one kind
// of unit says something of those of another.
struct WearGroup {
  static constexpr std::size_t trait_count = 3;
  std::array<std::int32_t, trait_count> traits{-1, -1, -1};  // role, kind, the fleet's own; -1 is a trait too
  double log_rate = 0.0;                                     // prior, then learned
  double variance = 0.0;                                     // of what was learned
};

// What the model counts as known and is not quite, as shares that are added to the variance of a state.
// Errors that last from reading to reading weigh the more the more readings there are: `readings` n / (n +
// `half_of_readings`). Spreads and drifts are learned from so many knots only: `record` / knots. A tire that
// moved may be another: `moved`.
struct LeftOut {
  double readings = 0.0, half_of_readings = 15.0, record = 0.0, moved = 0.0;
};

struct WearFitOptions {
  double first_day = 0.0, knot_days = 60.0;  // where the knots lie
  int passes = 14;
  double prior_items = 20.0;  // how many items each prior spread is worth
  // Spread of log rates about their priors by each trait, and of a group about what its traits say.
  std::array<double, WearGroup::trait_count> prior_traits{0.2, 0.08, 0.2};
  double prior_groups = 0.07;
  double weight_freedom = 4.0;  // of Student's t
  double reading_floor = 0.0;   // no reading is better than this (step of the gauge / sqrt 12)
  LeftOut left_out = {};
  int threads = 1;
  Watch* watch = nullptr;  // told after every pass
};

// What is known of an item at a time after its last reading.
struct ItemState {
  // common depth, log rate (all effects), log strength, shoulder, one-sided wear per common depth lost,
  // severity at the end, offsets (as if the present one-sided wear had been there from new)...
  std::vector<double> mean = {};
  std::vector<double> covariance = {};          // row by row
  std::vector<std::size_t> channels = {};       // those that the item has
  std::vector<double> side = {}, outside = {};  // of each channel of the table: see Channel
  // Day from which on its axle is out of line; NaN: it is not.
  double turned_day = std::numeric_limits<double>::quiet_NaN();
  // Shallowest channel of the last reading as it was read, NaN without one; and how likely it is that this is
  // right and all the rest is not: then what is there changed at once, and no fit of the others knows it.
  double last_read = std::numeric_limits<double>::quiet_NaN(), last_right = 0.0;
};

// A reading that fits the others of its item badly and counts little.
struct DoubtedReading {
  std::size_t item = 0, reading = 0;
  std::int32_t channel = -1;  // -1: all of them
  double expected = 0.0;      // depth; of all channels the mean
  double weight = 0.0;        // against 1
};

// A visit whose readings are all off by about as much; NaN: they are not of this unit.
struct OddUnitVisit {
  std::size_t unit = 0;
  double time = 0.0, by = 0.0;
};

struct WearFit {
  WearSpreads spreads;
  std::vector<WearGroup> groups;
  std::vector<double> readers;
  double season_cos = 0.0, season_sin = 0.0;    // of the log severity
  std::vector<ItemState> items;                 // at the exposure asked for
  std::vector<std::vector<double>> shallowest;  // by item and reading: fitted depth of the shallowest channel
  std::vector<DoubtedReading> doubted;
  std::vector<OddUnitVisit> odd_visits;
};

inline constexpr std::size_t state_depth = 0, state_rate = 1, state_strength = 2, state_shoulder = 3,
                             state_one_sided = 4, state_severity = 5, state_offsets = 6;

// `wanted[i]`: exposure of the unit of item i at the time asked for, not before its last reading; NaN: not
// asked for.
WearFit fit_wear(const std::vector<WearItem>& items, const std::vector<WearUnit>& units,
                 const std::vector<WearGroup>& groups, std::size_t readers, std::size_t channels,
                 const WearSpreads& prior, const std::vector<double>& wanted, const WearFitOptions& options);

}  // namespace wheelend
