// What tires and units of a fleet share: losses, errors, habits of filling. Private to the leak engine.
//
// Level: u = ln(absolute pressure) at 293.15 K, so that an error of temperature adds the same to every tire
// of a visit. Rate: b = -du/dt at the target pressure, per day. A sound tire follows its gauge pressure, a
// leak something between gauge and absolute pressure; over the range that is trended they differ by 3 %.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "season.hpp"

namespace wheelend {

// What is learned from a fleet. Shares are of readings or intervals, spreads of u.
struct AirModel {
  double loss = 0.0;               // mean b of sound tires, 1/day
  double loss_spread = 0.0;        // its spread between tires
  double reading = 0.0;            // error of one reading at the target pressure
  std::array<double, 3> visit{};   // shared by a visit: temperature of the tire, of the air, none known
  std::array<double, 3> season{};  // of ln(air temperature / 293.15 K): mean, cosine and sine of the year
  double warm_tires = 0.0;         // single readings too high by running or sun
  double warm_visits = 0.0;        // whole visits too high
  double slips = 0.0;              // readings off to either side
  double written = 0.0;            // tires read low whose filling at the visit is written down
  double fill_visit = 0.0;  // tires read low and not written, that are filled at the visit all the same
  double fill_low = 0.0;    // silent fillings a day between visits, of a tire that is low
  double fill_else = 0.0;   // of any other
  double drops = 0.0;       // sudden losses a day
  double swaps = 0.0;       // a day: another tire of which nobody wrote
};

// Before a fleet speaks.
AirModel prior_air_model();

// 1, cosine and sine of the day of the year.
std::array<double, 3> season_terms(std::int32_t day);
// How warm the air is on a day, by season: ln(T / 293.15 K).
double usual_heat(const AirModel& model, std::int32_t day);

// Gauge share of the absolute pressure: what permeation follows.
double gauge_share(double u);

// ---- what is fixed: choices, but for those with a source

namespace air {

inline constexpr double reference_psia = 115.0;  // where psi become shares: a truck tire's absolute pressure
constexpr double per_day(double psi_per_month) { return psi_per_month / reference_psia / month_days; }

// Classes of leak rate beyond a sound tire's loss, psi a month: formulas 3.1 calls 3 to 5 worth watching and
// more a leak; the spread of each reaches its neighbors. Shares and hazard are invented; only the threshold
// of an alarm decides, and it is set on simulated sound tires.
inline constexpr std::size_t leak_classes = 4;
inline constexpr std::array<double, leak_classes> class_rate{per_day(3.2), per_day(6.0), per_day(12.0),
                                                             per_day(26.0)};
inline constexpr std::array<double, leak_classes> class_share{0.30, 0.38, 0.25, 0.07};
inline constexpr double class_spread = 0.36;        // of its rate
inline constexpr double begins = 0.15 / year_days;  // leaks a day of a sound tire
inline constexpr double healed = 0.30;              // leaks that are repaired when a tire is filled
inline constexpr double least_drop = 0.05;          // of u
inline constexpr double drop_range = 1.2;           // from there on: three quarters of the pressure
inline constexpr double wander = 0.0004 * 0.0004;   // variance of u a day that no line explains
inline constexpr double warm_rise = 0.09;     // of u, of a tire or unit that has run: 5 to 20 % of gauge
inline constexpr double warm_spread = 0.045;  // (formulas 1.6)
inline constexpr double slip_ten =
    10.0 / reference_psia;  // a slip of the pen or the eye: ten psi to either side,
inline constexpr double slip_ten_spread =
    0.012;  // half of all (common practice, no source); the others are wide
inline constexpr double slip_spread = 0.12;
inline constexpr double low_by = 0.030;          // of u below target as shown: low, may be filled
inline constexpr double written_spread = 0.015;  // of a filling at a visit: gauge, rounding, cooling
inline constexpr double fill_spread = 0.025;     // of any other: weather, hour, gauge
inline constexpr double begun_below = 0.015;   // a tire of which nothing is known is below its target by this
inline constexpr double begun_spread = 0.035;  // give or take

}  // namespace air

}  // namespace wheelend
