// How a tire loses air: the laws of decay, flow through a hole, permeation against temperature. Plain
// doubles: pressures in Pa, times in s unless said otherwise.
#pragma once

#include <cstdint>

namespace wheelend {

// What the pressure difference does: permeation follows each gas's partial pressures, for air in air the
// gauge pressure; flow through a choked hole the absolute pressure (formulas 3.2 and 3.4).
enum class LossLaw : std::uint8_t { gauge, absolute };

// Time until a gauge pressure falls to another, which is lower, when it loses `loss` per unit of time at
// first; in the unit of that loss. 0 if it is there; infinite without a loss. Gauge: dp/dt = -k p. Absolute:
// dp/dt = -k (p + atmosphere).
double time_to_fall(double from, double to, double loss, double atmosphere, LossLaw law);

// The gas of the leak: dry air, heat capacity ratio 1.4, R = 287.05287 J/(kg K) (ISO 2533).
struct Hole {
  double area = 0.0;            // m2
  double discharge = 0.8;       // coefficient
  double temperature = 293.15;  // of the gas, K
};
// Mass flow, kg/s, from an absolute pressure to the atmosphere: choked above the critical ratio, else the
// formula of the isentropic nozzle (3.2 and 3.3).
double hole_flow(double absolute, double atmosphere, const Hole& hole);
// Time constant, s, of a vessel of constant temperature that empties through a choked hole: V / (Cd A c*)
// (3.4).
double hole_time_constant(double volume, const Hole& hole);
// Gauge pressure above which the flow is choked.
double choked_above(double atmosphere);
// Area of the hole that loses `loss` Pa/s at an absolute pressure while the flow is choked.
double hole_area(double loss, double absolute, double volume, double discharge, double temperature);

// Activation energy, J/mol, of permeation that grows by `ratio` from one absolute temperature to another
// (Arrhenius).
double activation_energy(double ratio, double from_kelvin, double to_kelvin);

}  // namespace wheelend
