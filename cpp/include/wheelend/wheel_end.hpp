// Small sums of the wheel end, on plain doubles: clamp load of a stud, stroke of a hot brake, hubs that are
// hotter than the others.
#pragma once

#include <span>
#include <vector>

namespace wheelend {

// F = T / (K D): torque in N m, diameter in m, force in N (formulas 8.1). K stands for all friction: its
// scatter is why a torque gives a range of clamp loads and never one.
double clamp_load(double torque, double nut_factor, double diameter);

// Stress area of a metric thread, pi/4 (d - 0.9382 P)^2 (ISO 898-1); the unit is that of the lengths,
// squared.
double stress_area(double diameter, double pitch);

// Clamp load lost when a joint settles by so much: f k_b k_j / (k_b + k_j), the stud's stiffness E A / l, the
// joint's so many times that (form of VDI 2230, from memory).
double settling_loss(double settles, double area, double length, double modulus, double joint_stiffer);

// Growth of a drum's diameter, alpha D dT, and the stroke that it costs: half of it, through the lever of
// slack adjuster and cam (formulas 8.2). Lengths in one unit, alpha per degree of the rise.
double drum_growth(double diameter, double alpha, double rise);
double stroke_of_hot_drum(double growth, double arm, double cam);

// 0.6745 (x - median) / MAD, a robust z-score (Iglewicz, Hoaglin 1993). NaN stays NaN; all NaN where the MAD
// is 0 or fewer than three are known.
std::vector<double> robust_scores(std::span<const double> values);

}  // namespace wheelend
