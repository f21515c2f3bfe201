// Tires needed in the months to come, by simulation: every unit runs on, its tires wear, are read, pulled,
// lost and replaced, and replacements wear in their turn (a renewal process at every wheel position).
//
// A draw is one future of the whole fleet. What tires share is drawn once for all that share it: the doubt
// about the wear of a role, about the depth at which the fleet pulls and about the hazard of damage once per
// draw; use and severity once per unit. Random numbers are counted, not drawn in a row: each is a hash of
// (seed, draw, key of the unit, place, how many tires it has had), so that a result depends neither on
// threads nor on the order of units, and so that two runs with other options meet the same chances.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <span>
#include <string_view>
#include <vector>

#include "wheelend/watch.hpp"

namespace wheelend {

// Why a tire came off, and what was fitted in its place. Tires that were moved on from another position are
// no purchase.
enum class RemovalCause : std::uint8_t { worn, with_mate, damaged };
inline constexpr std::array<std::string_view, 3> removal_cause_names{"worn", "with_mate", "damaged"};
enum class TireSource : std::uint8_t { bought_new, retread, moved_on };
inline constexpr std::array<std::string_view, 3> tire_source_names{"new", "retread", "moved_on"};

// How far a tire is from its pull depth, as equally likely cases.
inline constexpr std::size_t tire_cases = 64;
struct TireLaw {
  // Exposure (km at middling severity) until the shallowest groove is at the pull depth; negative: past it.
  std::array<float, tire_cases> need{};
  std::array<float, tire_cases> rate{};  // mm per km that this groove loses there; above 0
  float spread = 0.0F;                   // of the log rate, given a case
};

// A wheel position.
struct DemandPlace {
  std::int32_t unit = 0;
  std::int32_t slot = 0;   // which place of its unit: from 0, below 256, fixed whatever the order of rows
  std::int32_t mate = -1;  // place whose tire may go along with its own; of the same unit
  std::int32_t role = 0;   // place in `roles` of DemandPractice
  std::int32_t now =
      -1;  // law of the tire in use; -1: nothing is known of it, it may be anywhere in its life
  std::int32_t fresh = 0;   // law of a new tire there
  std::int32_t moved = -1;  // of one that was moved on; -1: a share of a new one's life
};

// How a unit will run. Days count from the day of asking.
struct DemandUnit {
  std::uint64_t key = 0;     // of its random numbers: of its name, say
  double last_visit = 0.0;   // day of its last inspection, not above 0; NaN: never
  double visit_days = 30.0;  // between inspections
  double km_since = 0.0;     // exposure from the last inspection to day 0
  // Exposure of each step from day 0 on, steps as long as `visit_days`; middle values. As many as the horizon
  // needs, one more for luck.
  std::vector<float> km = {};
  // Variances of the log exposure: of its level; of what drifts, now given the level, in the long run, and
  // its relaxation; how the drift now goes with the level; of what comes and goes within a step.
  double level = 0.0, drift_now = 0.0, drift_on_level = 0.0, drift = 0.0, drift_days = 120.0, rest = 0.0;
};

// What a fleet does with the tires of one role.
struct RolePractice {
  double pull_mm = 0.0;        // depth of the pull, less the limit; laws have it in them
  double pull_doubt_mm = 0.0;  // standard error of it
  double pull_sd_mm = 0.5;     // from tire to tire and from visit to visit
  double wear_doubt = 0.0;     // of the log wear of the role, shared by all
  double moved_share = 0.0;    // of its replacements that are tires moved on from another position
  double moved_left = 0.4, moved_left_sd = 0.1;  // share of their usable tread that these still have
  double retread_share = 0.0;                    // of those bought
  double removals = 0.0;                         // that this was learned from
};

struct DemandPractice {
  std::vector<RolePractice> roles;
  double damage_per_year = 0.0, damage_doubt = 0.0;  // per tire; standard error of its logarithm
  double damages = 0.0;                              // that it was learned from
  double with_mate = 0.0;                            // share of worn tires whose mate goes along
  double shop_days = 2.0;                            // from the inspection to the work
};

struct DemandFleet {
  std::vector<DemandUnit> units;
  std::vector<DemandPlace> places;
  std::vector<std::int32_t> position;  // of each place: number in the positions table
  std::vector<TireLaw> laws;
  DemandPractice practice;
  double use_doubt = 0.0;  // of the log use of the whole fleet
};

// Changes against what was learned: as they stand, none.
struct DemandChanges {
  double use = 1.0, wear = 1.0;  // factors of distance and of wear per distance
  double fresh_wear = 1.0;       // the same, of tires still to be bought
  double pull_shift_mm = 0.0;    // above 0: tires are pulled so much deeper, that is earlier
  double damage_per_year = std::numeric_limits<double>::quiet_NaN();  // NaN: as learned
  double with_mate = std::numeric_limits<double>::quiet_NaN();
  double moved_share = 1.0;  // factor of the shares of tires moved on
  double growth_per_year =
      0.0;  // of the number of units; below 0: units are sold. New ones bring their tires
};

struct DemandOptions {
  std::uint64_t seed = 1;
  std::size_t first_draw = 0, draws = 1000;
  std::vector<std::int32_t> month_ends;      // days from the day of asking to the end of each month, rising
  std::span<const std::int32_t> group = {};  // of each place, from 0; -1: not counted. Empty: all are 0
  std::int32_t groups = 1;
  DemandChanges changes = {};
  int threads = 1;
  Watch* watch = nullptr;
};

// Tires fitted as replacements, by draw, month, group, source and cause, in this order, the last fastest.
// Throws ColumnError where places, units or laws do not fit together.
std::vector<std::int32_t> simulate_demand(const DemandFleet& fleet, const DemandOptions& options);

// One draw, told place by place: the day of each removal within the horizon, in the order of places and days.
// For tests of what the counts are made of.
struct RemovalEvent {
  std::int32_t place = 0;
  double day = 0.0;
  RemovalCause cause = RemovalCause::worn;
  TireSource source = TireSource::bought_new;
};
std::vector<RemovalEvent> simulate_removals(const DemandFleet& fleet, const DemandOptions& options,
                                            std::size_t draw);

}  // namespace wheelend
