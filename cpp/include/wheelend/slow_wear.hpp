// Every other slow way to a limit: a quantity of the wheel-end readings (lining, drum, stroke, end play,
// torque, leak-down) followed as tread is, with the same fit and the same first passage. What a quantity is
// like stands in a row of settings; nothing here knows one by name.
#pragma once

#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include "wheelend/facts.hpp"
#include "wheelend/limits.hpp"
#include "wheelend/wear.hpp"
#include "wheelend/wheelends.hpp"

namespace wheelend {

// Settings of a quantity. Numbers are in `measure`, spreads of rates are of their logarithms.
struct SlowQuantity {
  std::int32_t quantity = -1;  // code of the wheel-end readings
  Measure measure = Measure::millimetre;
  bool rises = false;                      // towards a ceiling; else it falls to a floor
  bool by_time = false;                    // goes with time, not with distance
  double end = 0.0;                        // beyond all readings on the side that it goes to
  double fresh = 1.0, fresh_spread = 0.0;  // when new or just set; spread 0: only about known
  // How places that were there before the record differ from half of the way from fresh to the limit; NaN:
  // that says nothing of them.
  double level_spread = std::numeric_limits<double>::quiet_NaN();
  double rate = 0.0;         // typical, per km or per day, above 0
  double rate_spread = 0.5;  // of a fleet's typical rate about it
  double unit = 0.2, axle = 0.1, item = 0.2;
  double severity = 0.1, severity_days = 120.0;
  double reading = 1.0;  // of one reading
  double curve = 0.0;    // rate when fresh against rate at the end, less 1; 0: a straight line
  Statistic statistic = Statistic::as_read;  // of the limits, and of the value: as_read or loss_rate
  // Gauge pressure in psi to which losses are brought; NaN: they stay as they are.
  double start_psi = std::numeric_limits<double>::quiet_NaN();
};

// One row per place with a usable reading, by unit, axle, side, dual and place. In `wear` all values are in
// the quantity's measure where the names say mm.
struct SlowTable {
  WearTable wear;
  std::vector<std::int64_t> row;        // last reading used: names place and facts
  std::vector<std::int32_t> limit_row;  // of the limits; -1: none
  std::vector<std::int32_t> unknown;    // fact that decides whether some row speaks of the place; -1: none
  std::vector<std::uint8_t> doubted;    // whether its last reading does not fit the others and counts little
  std::vector<double> last_value;       // as read, brought to the starting pressure where that is asked for
  double rate = 0.0,
         rate_spread = 0.0;  // learned: typical of the fleet, and between its places, of the logarithm
  double reading = 0.0;      // learned: spread of one reading
};

// What is followed, against which limits. `limit`: one for all; NaN: the strictest row that is known to speak
// of the place, the fleet's own before the law's before advice. Rows on memory do not count.
struct SlowAsk {
  SlowQuantity of;
  const std::vector<LimitRow>& limits;
  const Facts& facts;
  double limit = std::numeric_limits<double>::quiet_NaN();
};

SlowTable slow_wear(const ReadingColumns& readings, const PositionColumns& positions,
                    const WheelendColumns& wheelends, std::span<const std::int32_t> unit_of,
                    std::size_t units, const SlowAsk& ask, const WearPrior& prior,
                    const WearOptions& options);

}  // namespace wheelend
