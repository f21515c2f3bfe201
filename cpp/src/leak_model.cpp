#include "leak_model.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "wheelend/pressure.hpp"

namespace wheelend {

AirModel prior_air_model() {
  AirModel m;
  // 1 to 3 psi a month: formulas 3.1 (Tire Review, trade digest); spread so that 95 % lie within
  m.loss = air::per_day(1.8), m.loss_spread = air::per_day(0.7);
  m.reading = 0.8 / air::reference_psia;  // a gauge repeats better than it is right (formulas 9.1): a choice
  m.visit = {0.8 / air::reference_psia, 0.014, 0.04};  // reader; 5 degF of doubt (1.6); season unknown
  m.season = {-0.018, 0.0, 0.0};  // 15 degC: common practice, no source; the season is learned
  m.warm_tires = 0.015, m.warm_visits = 0.05, m.slips = 0.003;
  m.written = 0.3, m.fill_visit = 0.25;  // invented, weak
  m.fill_low = 0.8 / year_days, m.fill_else = 0.15 / year_days;
  m.drops = 0.04 / year_days, m.swaps = 0.1 / year_days;
  return m;
}

std::array<double, 3> season_terms(std::int32_t day) {
  const double angle = 2.0 * std::numbers::pi * std::fmod(day / year_days, 1.0);
  return {1.0, std::cos(angle), std::sin(angle)};
}

double usual_heat(const AirModel& model, std::int32_t day) {
  const std::array<double, 3> x = season_terms(day);
  return model.season[0] + model.season[1] * x[1] + model.season[2] * x[2];
}

double gauge_share(double u) { return std::max(1.0 - sea_level_pressure.si() * std::exp(-u), 0.02); }

}  // namespace wheelend
