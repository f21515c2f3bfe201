// Limits as data: what a row of a limit set says, and which wheel positions it speaks of.
// No legal number stands in code; rows come from data/limits/.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "wheelend/position.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend {

// The condition that passes. `absent`: the thing itself must not be there.
enum class Sense : std::uint8_t { at_least, more_than, at_most, less_than, absent };
inline constexpr std::array<std::string_view, 5> sense_names{">=", ">", "<=", "<", "absent"};

enum class Severity : std::uint8_t { violation, out_of_service, own, advice };
inline constexpr std::array<std::string_view, 4> severity_names{"violation", "out_of_service", "own",
                                                                "advice"};

// How the readings of one inspection become the one value that is compared.
enum class Statistic : std::uint8_t {
  lowest_depth,   // lowest admissible groove at any place
  adjacent_pair,  // two adjacent grooves at one place: the deeper of the pair, lowest over pairs and places
  adjacent_pair_three_places,  // the same at a place, third lowest over separate places
  cold_pressure,               // as read cold; a warm reading less the federal subtraction
  pressure_as_found,           // as read, cold or warm
  retread_or_regrooved,        // 1 where the tire is either
  regrooved_capacity,          // rated load of a regrooved tire; says nothing of other tires
};
inline constexpr std::array<std::string_view, 7> statistic_names{
    "lowest_depth",      "adjacent_pair",        "adjacent_pair_three_places", "cold_pressure",
    "pressure_as_found", "retread_or_regrooved", "regrooved_capacity"};

enum class Quantity : std::uint8_t { tread_depth, pressure, retread, rated_load };
inline constexpr std::array<std::string_view, 4> quantity_names{"tread_depth", "pressure", "retread",
                                                                "rated_load"};

constexpr Quantity quantity_of(Statistic s) {
  switch (s) {
    case Statistic::cold_pressure:
    case Statistic::pressure_as_found:
      return Quantity::pressure;
    case Statistic::retread_or_regrooved:
      return Quantity::retread;
    case Statistic::regrooved_capacity:
      return Quantity::rated_load;
    default:
      return Quantity::tread_depth;
  }
}

// What a bound in percent is a share of. `load` is the pressure that the load carried needs; where it is not
// given, the fleet's target stands in for it, and the verdict says so.
enum class Base : std::uint8_t { none, target, sidewall_max, load };
inline constexpr std::array<std::string_view, 4> base_names{"", "target", "sidewall_max", "load"};

enum class Wheels : std::uint8_t { any, front, steering };
inline constexpr std::array<std::string_view, 3> wheels_names{"any", "front", "steering"};

// A bound as its clause writes it: the decimal text, and its measure.
struct Bound {
  std::string text = {};
  Measure measure = Measure::thirty_seconds;
};

// The bound as a double; throws LimitError when its text is not a decimal number. The same in every locale.
double number_of(const Bound& bound);

struct LimitRow {
  std::string id = {};
  Statistic statistic = Statistic::lowest_depth;
  std::uint32_t kinds = 0;  // bit k: speaks of UnitKind k; 0 means all
  Wheels wheels = Wheels::any;
  std::vector<std::int32_t> except = {};  // rows whose positions this one leaves out ("all other tires")
  Sense sense = Sense::at_least;
  Severity severity = Severity::violation;
  Base base = Base::none;
  Bound bound = {};
  // Where a clause prints its number twice ("2,232 kg (4,920 lb)") the reading is held to the one in its own
  // system.
  std::optional<Bound> twin = std::nullopt;
};

enum class Applies : std::uint8_t { no, yes, unknown };

// Whether row `i` of the set speaks of this position; unknown where the kind or role that decides is missing.
Applies applies(const std::vector<LimitRow>& rows, std::size_t i, const PositionFacts& position);

}  // namespace wheelend
