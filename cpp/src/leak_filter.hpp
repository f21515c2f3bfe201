// What is known of the air in one tire, from reading to reading. Private to the leak engine.
#pragma once

#include <cstdint>
#include <limits>

#include "leak_model.hpp"
#include "leak_parts.hpp"

namespace wheelend {

struct AirState {
  AirParts parts;
  std::int32_t day = std::numeric_limits<std::int32_t>::min();
  std::int32_t known_day =
      std::numeric_limits<std::int32_t>::min();  // when it was fitted, read or filled last
  std::int32_t readings = 0;
  double target = 0.0;        // u of the cold target at 293.15 K
  double target_share = 1.0;  // gauge_share of it
  double mean = 0.0;          // of the level
  double heat = 0.0;  // ln(T / 293.15 K) when it was read last: whoever fills reads no table, so that a
                      // filling sets the target at that day's temperature
  double loss = 0.0, loss_spread = 0.0;  // of sound tires, when this one began
  bool low = false;                      // read low at the last visit, and no filling written
  double set = 0.0, set_variance = 0.0;  // where a filling at that visit would have set it
  std::int32_t filled_day = std::numeric_limits<std::int32_t>::min();  // last filling seen or written
  std::int32_t dropped_day = std::numeric_limits<std::int32_t>::min();

  [[nodiscard]] bool begun() const { return !parts.empty(); }
  [[nodiscard]] double leak_odds() const;  // ln of leak against sound
  [[nodiscard]] double leak_share() const;
  [[nodiscard]] double variance() const;  // of the level
  void find_mean();                       // after parts have changed
  // All parts of a sound tire as one; weight 0: none.
  [[nodiscard]] AirPart sound() const;
};

// What an update found, as shares of belief; the learning adds it up.
struct AirFound {
  double ordinary = 0.0;  // the reading is neither warm nor a slip, nothing filled or lost
  double warm = 0.0, slip = 0.0, drop = 0.0;
  double fill_visit = 0.0, fill_low = 0.0, fill_else = 0.0;
  double swap = 0.0;
  double lowness = 0.0;  // was low before the reading
};

// Probabilities of what may happen to a tire within days between two readings.
struct AirInterval {
  double days = 0.0;
  double dropped = 0.0, swapped = 0.0, filled_low = 0.0, filled_else = 0.0;
};
AirInterval interval_of(const AirModel& model, double days);

// A tire of which nothing is known but its target.
void begin_tire(AirState& tire, const AirModel& model, double target, double heat, std::int32_t day);
// Another target; what is known stays.
void set_target(AirState& tire, double target);

// Carry a tire to a day without a reading; leaks may begin on the way.
void predict(AirState& tire, std::int32_t day);

// Take in a level read on the day it was carried to, at the end of an interval since the reading before (0
// days: none); `variance` is that of the reading, the visit's included. `same_tire`: its number says that it
// is the same.
AirFound update(AirState& tire, const AirModel& model, double level, double variance,
                const AirInterval& since, bool same_tire);

// It was filled to a level on this day. A leak is not healed by that.
void fill(AirState& tire, double level, double variance);

// Everything moves by the same: what a whole visit showed of the unit's levels and rates.
void shift(AirState& tire, double level, double rate);

}  // namespace wheelend
