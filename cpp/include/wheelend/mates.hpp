// Mates that drift apart: the two tires of a dual pair, and the same place on both sides of an axle, in
// pressure or in depth. What both readings of a visit share (temperature, gauge, reader) is not in their
// difference.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "wheelend/inspections.hpp"

namespace wheelend {

enum class MateKind : std::uint8_t { dual, axle };  // inner against outer; right against left
inline constexpr std::array<std::string_view, 2> mate_kind_names{"dual", "axle"};
enum class MateQuantity : std::uint8_t { pressure, depth };
inline constexpr std::array<std::string_view, 2> mate_quantity_names{"pressure", "depth"};

// Which mates are compared in what, and how far apart they may be.
struct MateRule {
  MateKind kind = MateKind::dual;
  MateQuantity quantity = MateQuantity::pressure;
  double bound = 0.0;  // above 0
  // Size of changes from one visit to the next that are no drift: somebody filled one of the tires or put
  // another one there.
  double step = 0.0;
  Measure measure = Measure::psi;
  // Spread of one difference that was read, and of drifts; how often a drift changes.
  double reading = 1.0, drift_per_month = 1.0, changes_per_year = 0.5;
};

enum class MateState : std::uint8_t { apart, drifting, steady, too_few };
inline constexpr std::array<std::string_view, 4> mate_state_names{"apart", "drifting", "steady", "too_few"};

struct MateOptions {
  std::int32_t as_of = 0;
  double soon_days = 90.0;  // drifting: the bound is passed within so many days
  double level = 0.95;      // of the interval of the drift, which must leave out 0
  int threads = 1;
};

// One row per rule and pair that was ever read together; differences in the rule's measure: the first minus
// the other. Drift in 30.4375 days. Days from as_of until the bound is passed: NaN where the drift does not
// lead there.
struct MateTable {
  std::vector<std::int32_t> position, other, rule;
  std::vector<std::int64_t> visits;  // since either tire was last changed
  std::vector<std::int32_t> last_day;
  std::vector<double> difference;                    // at as_of
  std::vector<double> read;                          // at the last visit, as the tires were left
  std::vector<double> drift, drift_low, drift_high;  // at present; NaN below three visits
  std::vector<std::int32_t> since_day;               // from which on; min(): all the time, or not known
  std::vector<double> days, days_early, days_late;
  std::vector<std::uint8_t> filled;  // whether steps were left out
  std::vector<std::uint8_t> state;
};

MateTable drifting_mates(const ReadingColumns& readings, const PositionColumns& positions,
                         const std::vector<MateRule>& rules, const MateOptions& options);

}  // namespace wheelend
