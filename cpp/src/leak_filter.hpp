// What is known of the air in one tire, from reading to reading: a mixture of normal distributions of level
// and loss rate, some of a sound tire and some of a leaking one. Private to the leak engine.
//
// Level: u = ln(absolute pressure) at 293.15 K, so that an error of temperature adds the same to every tire
// of a visit. Rate: b = -du/dt at the target pressure, per day. A sound tire follows its gauge pressure, a
// leak something between gauge and absolute pressure; over the range that is trended they differ by 3 %.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>

namespace wheelend {

// What units share; all but the fixed ones are learned (leak_learning). Shares are of readings or intervals,
// spreads of u.
struct AirModel {
  double loss = 0.0;               // mean b of sound tires, 1/day
  double loss_spread = 0.0;        // its spread between tires
  double reading = 0.0;            // error of one reading at the target pressure
  std::array<double, 3> visit{};   // shared by a visit: temperature of the tire, of the air, none known
  std::array<double, 3> season{};  // of ln(air temperature / 293.15 K): mean, cosine and sine of the year
  double warm_tires = 0.0;         // single readings too high by running or sun
  double warm_visits = 0.0;        // whole visits too high
  double slips = 0.0;              // readings off to either side
  double fill_low = 0.0;           // silent filling between two readings, of a tire that is low
  double fill_else = 0.0;          // of any other
  double written_low = 0.0;        // low tires whose filling at the visit is written down
};

// Before a fleet speaks.
AirModel prior_air_model();

// 1, cosine and sine of the day of the year.
std::array<double, 3> season_terms(std::int32_t day);
// How warm the air is on a day, by season: ln(T / 293.15 K).
double usual_heat(const AirModel& model, std::int32_t day);

inline constexpr std::size_t leak_nodes = 5;
inline constexpr std::size_t most_parts = 20;

// No initializers: rooms of many parts are made at every reading, and only what is filled is looked at.
struct AirPart {
  double w;           // weight
  double u, b;        // level and rate
  double uu, ub, bb;  // covariances
  std::uint8_t node;  // 0: sound; else the leak's class of rate
};

struct AirState {
  std::array<AirPart, most_parts> parts;
  std::size_t count = 0;
  std::int32_t day = std::numeric_limits<std::int32_t>::min();
  std::int32_t readings = 0;
  double target = 0.0;  // u of the cold target at 293.15 K
  double heat = 0.0;    // ln(T / 293.15 K) of the air when it was read last: whoever fills reads no table, so
                        // that a filling sets the target at that day's temperature
  double loss = 0.0, loss_variance = 0.0;  // prior of b with which this tire began
  std::int32_t filled_day = std::numeric_limits<std::int32_t>::min();  // last filling seen or written
  std::int32_t dropped_day = std::numeric_limits<std::int32_t>::min();
  bool alarmed = false;

  [[nodiscard]] bool begun() const { return count > 0; }
  [[nodiscard]] double leak_odds() const;  // ln of leak against sound
  [[nodiscard]] double leak_share() const;
  [[nodiscard]] double mean() const;
  [[nodiscard]] double variance() const;
  // The heaviest part of a sound tire; none: null.
  [[nodiscard]] const AirPart* sound() const;
};

// What an update found; the learning adds it up.
struct AirFound {
  double ordinary =
      0.0;              // share of belief that the reading is neither warm nor a slip, nothing filled or lost
  double error2 = 0.0;  // of that share: squared errors over their variances
  double warm = 0.0, slip = 0.0, fill = 0.0;  // shares of belief
  bool low = false;                           // was low before the reading
  double drop = 0.0;
};

// A tire of which nothing is known but its target.
void begin_tire(AirState& tire, const AirModel& model, double target, double heat, std::int32_t day);

// Carry a tire to a day without a reading; leaks may begin on the way.
void predict(AirState& tire, const AirModel& model, std::int32_t day);

// Take in a level read on the day it was carried to; `variance` is that of the reading, the visit's included.
AirFound update(AirState& tire, const AirModel& model, double level, double variance, double elapsed);

// It was filled to a level on this day. A leak is not healed by that.
void fill(AirState& tire, const AirModel& model, double level, double variance);

// Everything moves by the same: what a whole visit showed of the unit's levels.
void shift(AirState& tire, double by);

// Gauge share of the absolute pressure: what permeation follows.
double gauge_share(double u);

}  // namespace wheelend
