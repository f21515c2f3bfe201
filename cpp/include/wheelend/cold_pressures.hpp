// Cold-pressure deviations from target, over columns: the method that the reading allows, and the state it
// means.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "wheelend/inspections.hpp"
#include "wheelend/limits.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

enum class ColdMethod : std::uint8_t { as_read, gas_law, federal_subtraction, none };
inline constexpr std::array<std::string_view, 4> cold_method_names{"as_read", "gas_law",
                                                                   "federal_subtraction", "none"};

enum class PressureState : std::uint8_t { on_target, under, over, demount, flat, unknown };
inline constexpr std::array<std::string_view, 6> pressure_state_names{"on_target", "under", "over",
                                                                      "demount",   "flat",  "unknown"};

// What a threshold of a state is measured from.
enum class Base : std::uint8_t { none, target, sidewall_max };
inline constexpr std::array<std::string_view, 3> base_names{"", "target", "sidewall_max"};

// One row of data/limits/pressure_states.csv: in this state when value `sense` bound. A bound in percent is a
// share of the base, any other is a distance from it. The value is the pressure found, or the cold one. First
// row that holds wins.
struct StateRule {
  PressureState state = PressureState::unknown;
  bool of_cold = true;
  Base base = Base::target;
  double bound = 0.0;
  Measure measure = Measure::psi;
  Sense sense = Sense::less_than;
};

// Why a pressure is as it is; bits of ColdTable::notes, in the order of cold_note_words.
enum class ColdNote : std::uint32_t {
  no_target = 1U << 0,
  warm_without_estimate = 1U << 1,
  from_ambient = 1U << 2,    // gas law with the ambient temperature: the tire had not run
  no_temperature = 1U << 3,  // as read: no temperature was given
  tire_changed_since = 1U << 4,
  lower_of_two = 1U << 5,
  outside_range = 1U << 6,  // a temperature or altitude outside what the formulas are good for
  method_not_possible = 1U << 7,
};
inline constexpr std::array<std::string_view, 8> cold_note_words{
    "no target pressure is given",
    "read warm without a tire temperature, and the federal rule gives no estimate for it: read again cold",
    "corrected with the ambient temperature",
    "no temperature was read: taken as it is",
    "not read since the tire was changed",
    "two readings disagree: the lower is used",
    "temperature or altitude out of the range of the formulas",
    "the method asked for is not possible with this reading",
};

struct ColdOptions {
  std::int32_t as_of = 0;
  bool all = false;
  TemperaturePoint reference = {};
  // none: choose. Otherwise only this one; where it is not possible the state is unknown.
  ColdMethod method = ColdMethod::none;
};

struct ColdColumns {
  NumberColumn tire_temperature = {};
  NumberColumn ambient = {};
  NumberColumn altitude = {};
};

struct ColdTable {
  std::vector<std::int32_t> position;
  std::vector<std::int64_t> row;
  std::vector<double> found, cold, target, deviation,
      deviation_percent;  // in the measure of the pressure column
  std::vector<std::uint8_t> method, state;
  std::vector<std::uint32_t> notes;
};

// The choice, in this order: gas law with the tire's own temperature; a warm reading without it by the
// federal subtraction; a cold one by the gas law with the ambient temperature; a cold one as read. Altitude
// is taken from ISO 2533 and is the same for the reading and for its cold twin, so that pressures stay those
// of the place.
ColdTable cold_pressures(const ReadingColumns& readings, const ColdColumns& conditions,
                         const PositionColumns& positions, const TireColumns& tires,
                         const std::vector<StateRule>& rules, const ColdOptions& options);

}  // namespace wheelend
