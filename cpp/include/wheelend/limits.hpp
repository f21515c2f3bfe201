// Limits as data: what a row of a limit set says, and whom it applies to.
// No legal number stands in code; rows come from data/limits/.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "wheelend/facts.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend {

// The condition that passes. `within`: from the bound to the upper bound, both inclusive. `absent`: the thing
// itself must not be there.
enum class Sense : std::uint8_t { at_least, more_than, at_most, less_than, within, absent };
inline constexpr std::array<std::string_view, 6> sense_names{">=", ">", "<=", "<", "within", "absent"};

enum class Severity : std::uint8_t { violation, out_of_service, own, advice };
inline constexpr std::array<std::string_view, 4> severity_names{"violation", "out_of_service", "own",
                                                                "advice"};

// What a limit is about. `other` is a quantity of the wheel-end readings, named by its code.
enum class Quantity : std::uint8_t {
  tread_depth,
  pressure,
  retread,
  rated_load,
  tire_load,
  speed,
  tire_age,
  diameter,
  circumference,
  size,
  construction,
  inspection_age,
  brakes,
  other
};
inline constexpr std::array<std::string_view, 14> quantity_names{
    "tread_depth", "pressure",      "retread", "rated_load",   "tire_load",      "speed",  "tire_age",
    "diameter",    "circumference", "size",    "construction", "inspection_age", "brakes", "other"};

// How readings become the one value that is compared.
enum class Statistic : std::uint8_t {
  // of one tire
  lowest_depth,                // lowest admissible groove at any place
  lowest_any_groove,           // the same with grooves that carry no indicator
  three_quarter_band,          // the best band of three quarters of the breadth: its lowest groove
  second_lowest_of_four,       // second lowest of four places round the tire ("at most one below")
  adjacent_pair,               // two adjacent grooves at one place: the deeper, lowest over pairs and places
  adjacent_pair_three_places,  // the same at a place, third lowest over separate places
  cold_pressure,               // as read cold; a warm reading less the federal subtraction
  pressure_as_found,           // as read, cold or warm
  retread_or_regrooved,        // 1 where the tire is either
  regrooved_capacity,          // rated load of a regrooved tire; says nothing of other tires
  load_carried,                // load on this end of the axle, shared by the tires that are on it
  speed_last_hour,             // average speed over the last hour
  age_of_tire,                 // calendar years since it was made, or retreaded
  age_of_casing,               // calendar years since it was made
  // of a dual pair, or of an axle
  pair_depth,
  pair_pressure,
  pair_diameter,
  pair_circumference,
  axle_depth,
  axle_sizes,
  axle_constructions,
  // of a wheel-end reading
  as_read,
  loss_rate,     // (start - end) over the time it took
  beyond_limit,  // what it exceeds the limit by that the set gives for the same quantity; 0 where it does not
  side_to_side,  // difference between the two sides of the axle
  sides_unlike,  // 1 where a fact of the two sides differs
  above_the_rest,  // what it exceeds the median of the other wheel ends of the unit by
  // of a unit, or of the units presented together
  months_since,      // calendar months since the last periodic inspection
  defective_brakes,  // brakes that count as defective, as a share of all
};
inline constexpr std::array<std::string_view, 29> statistic_names{"lowest_depth",
                                                                  "lowest_any_groove",
                                                                  "three_quarter_band",
                                                                  "second_lowest_of_four",
                                                                  "adjacent_pair",
                                                                  "adjacent_pair_three_places",
                                                                  "cold_pressure",
                                                                  "pressure_as_found",
                                                                  "retread_or_regrooved",
                                                                  "regrooved_capacity",
                                                                  "load_carried",
                                                                  "speed_last_hour",
                                                                  "age_of_tire",
                                                                  "age_of_casing",
                                                                  "pair_depth",
                                                                  "pair_pressure",
                                                                  "pair_diameter",
                                                                  "pair_circumference",
                                                                  "axle_depth",
                                                                  "axle_sizes",
                                                                  "axle_constructions",
                                                                  "as_read",
                                                                  "loss_rate",
                                                                  "beyond_limit",
                                                                  "side_to_side",
                                                                  "sides_unlike",
                                                                  "above_the_rest",
                                                                  "months_since",
                                                                  "defective_brakes"};

// Whether a row states how deep one tire's tread must be, so that its bound is what wear is followed to.
constexpr bool is_minimum_depth(Statistic s) {
  return s == Statistic::lowest_depth || s == Statistic::lowest_any_groove ||
         s == Statistic::three_quarter_band || s == Statistic::second_lowest_of_four;
}

constexpr Quantity quantity_of(Statistic s) {
  switch (s) {
    case Statistic::lowest_depth:
    case Statistic::lowest_any_groove:
    case Statistic::three_quarter_band:
    case Statistic::second_lowest_of_four:
    case Statistic::adjacent_pair:
    case Statistic::adjacent_pair_three_places:
    case Statistic::pair_depth:
    case Statistic::axle_depth:
      return Quantity::tread_depth;
    case Statistic::cold_pressure:
    case Statistic::pressure_as_found:
    case Statistic::pair_pressure:
      return Quantity::pressure;
    case Statistic::retread_or_regrooved:
      return Quantity::retread;
    case Statistic::regrooved_capacity:
      return Quantity::rated_load;
    case Statistic::load_carried:
      return Quantity::tire_load;
    case Statistic::speed_last_hour:
      return Quantity::speed;
    case Statistic::age_of_tire:
    case Statistic::age_of_casing:
      return Quantity::tire_age;
    case Statistic::pair_diameter:
      return Quantity::diameter;
    case Statistic::pair_circumference:
      return Quantity::circumference;
    case Statistic::axle_sizes:
      return Quantity::size;
    case Statistic::axle_constructions:
      return Quantity::construction;
    case Statistic::months_since:
      return Quantity::inspection_age;
    case Statistic::defective_brakes:
      return Quantity::brakes;
    default:
      return Quantity::other;
  }
}

// A bound, alone or with a base: a share of it (bound in percent) or so much above it (bound in its own
// measure). Of several bases the first that is known counts; a later one stands in for it, and the verdict is
// the fleet's own. Of load_carried a later base must not be below the one it stands in for (no tire is rated
// higher in a pair than alone): beyond it the row fails as it stands, within it nothing is shown.
struct Amount {
  Bound bound = {};
  std::vector<std::int32_t> bases = {};  // facts
};

inline constexpr std::int32_t always_since = std::numeric_limits<std::int32_t>::min();
inline constexpr std::int32_t always_until = std::numeric_limits<std::int32_t>::max();

struct LimitRow {
  std::string id = {};
  Statistic statistic = Statistic::lowest_depth;
  std::int32_t quantity = -1;             // code of a quantity of the wheel-end readings
  std::vector<Condition> where = {};      // whom it speaks of
  std::vector<Condition> needs = {};      // what makes a reading admissible
  std::vector<std::int32_t> except = {};  // rows whose subjects this one leaves out ("all other tires")
  std::int32_t clause = -1;               // rows of one clause share a number: at most one of them applies
  Sense sense = Sense::at_least;
  Severity severity = Severity::violation;
  Amount amount = {};
  std::string upper = {};  // upper bound of `within`, in the measure of the bound
  // Where a clause prints its number twice ("2,232 kg (4,920 lb)") the reading is held to the one in its own
  // system.
  std::optional<Bound> twin = std::nullopt;
  std::string twin_upper = {};
  // "Whichever is less" of a floor, "whichever is greater" of a ceiling: passing either is enough.
  std::optional<Amount> alternative = std::nullopt;
  std::int32_t fact = -1;               // that the statistic is about: a date, a size, a rating
  std::vector<std::int32_t> same = {};  // facts that tires must share to be compared
  double counts = 0.0;                  // defective brakes that a failing reading counts as
  std::int32_t since = always_since;    // first day on which the row is in force
  std::int32_t until = always_until;    // last day
  bool unconfirmed = false;             // rests on memory alone: it must not be the only ground of a failure
};

// Whether row `i` of the set speaks of this subject; unknown where a fact that decides is not known.
Answer applies(const std::vector<LimitRow>& rows, std::size_t i, const Facts& facts, const Subject& subject);

}  // namespace wheelend
