// What a fleet teaches about its losses, errors and habits of filling. Private to the leak engine.
#pragma once

#include <array>
#include <vector>

#include "leak_filter.hpp"

namespace wheelend {

// Sums for the learning; those of units are added in their order.
struct AirSums {
  double errors = 0.0, error2 = 0.0;
  std::array<double, 3> visits{}, visit2{};
  std::array<double, 6> season{};  // products of season_terms: 11, 1c, 1s, cc, cs, ss
  std::array<double, 3> heat{};    // of them with ln(T / 293.15 K)
  double all_visits = 0.0, warm_visits = 0.0;
  double readings = 0.0, warm = 0.0, slips = 0.0;
  double low_read = 0.0, low_written = 0.0;  // tires read low, and whose filling is written
  double low_left = 0.0,
         low_filled = 0.0;                // not written and read again, and filled at the visit all the same
  double low_days = 0.0, road_low = 0.0;  // tire-days of low tires, and their fillings between visits
  double other_days = 0.0, road_other = 0.0;  // of others
  double unnamed_days = 0.0, swaps = 0.0;     // tire-days without a number, and tires that came meanwhile
  double days = 0.0, drops = 0.0;             // tire-days, and sudden losses
  void add(const AirSums& other);
  // What one reading showed, so many days after the one before (0: the first).
  void add(const AirFound& found, double since, bool same_tire);
};

inline constexpr double unknown_tires = 15.0;  // what is known of losses beforehand is worth so many tires

// The loss rate of a tire by its own readings alone.
struct LossSeen {
  double loss = 0.0, variance = 0.0;
  double weight = 0.0;  // share of belief that it is sound
};
// False where they say too little.
bool loss_seen(const AirState& tire, LossSeen& out);

// A new model from what an epoch showed: `total` up to it and with it.
void learn(AirModel& model, AirSums& total, const AirSums& epoch, const std::vector<LossSeen>& tires);

}  // namespace wheelend
