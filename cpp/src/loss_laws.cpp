#include "wheelend/loss_laws.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace wheelend {

namespace {

constexpr double gas_constant_of_air = 287.05287;  // J/(kg K), ISO 2533
constexpr double gas_constant = 8.31446261815324;  // J/(mol K), SI 2019
constexpr double gamma_of_air = 1.4;               // heat capacity ratio of a diatomic gas

double critical_ratio() { return std::pow(2.0 / (gamma_of_air + 1.0), gamma_of_air / (gamma_of_air - 1.0)); }

// c* of (3.4), m/s.
double choked_speed(double temperature) {
  const double g = gamma_of_air;
  return std::sqrt(g * gas_constant_of_air * temperature) *
         std::pow(2.0 / (g + 1.0), 0.5 * (g + 1.0) / (g - 1.0));
}

}  // namespace

double time_to_fall(double from, double to, double loss, double atmosphere, LossLaw law) {
  if (from <= to) {
    return 0.0;
  }
  if (!(loss > 0.0)) {
    return std::numeric_limits<double>::infinity();
  }
  const double base = law == LossLaw::gauge ? 0.0 : atmosphere;
  return std::log((from + base) / (to + base)) * (from + base) / loss;
}

double hole_flow(double absolute, double atmosphere, const Hole& hole) {
  const double r = atmosphere / absolute, g = gamma_of_air;
  if (r >= 1.0) {
    return 0.0;
  }
  const double flow = hole.discharge * hole.area * absolute;
  const double gas = gas_constant_of_air * hole.temperature;
  if (r <= critical_ratio()) {
    return flow * choked_speed(hole.temperature) / gas;
  }
  return flow * std::sqrt(2.0 * g / ((g - 1.0) * gas) * (std::pow(r, 2.0 / g) - std::pow(r, (g + 1.0) / g)));
}

double hole_time_constant(double volume, const Hole& hole) {
  return volume / (hole.discharge * hole.area * choked_speed(hole.temperature));
}

double choked_above(double atmosphere) { return atmosphere * (1.0 / critical_ratio() - 1.0); }

double hole_area(double loss, double absolute, double volume, double discharge, double temperature) {
  return loss * volume / (absolute * discharge * choked_speed(temperature));
}

double activation_energy(double ratio, double from_kelvin, double to_kelvin) {
  return gas_constant * std::log(ratio) / (1.0 / from_kelvin - 1.0 / to_kelvin);
}

}  // namespace wheelend
