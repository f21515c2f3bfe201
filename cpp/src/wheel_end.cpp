#include "wheelend/wheel_end.hpp"

#include <cmath>
#include <limits>
#include <numbers>

#include "wheelend/line_fit.hpp"

namespace wheelend {

double clamp_load(double torque, double nut_factor, double diameter) {
  return torque / (nut_factor * diameter);
}

double stress_area(double diameter, double pitch) {
  const double d = diameter - 0.9382 * pitch;
  return std::numbers::pi / 4.0 * d * d;
}

double settling_loss(double settles, double area, double length, double modulus, double joint_stiffer) {
  const double stud = modulus * area / length, joint = joint_stiffer * stud;
  return settles * stud * joint / (stud + joint);
}

double drum_growth(double diameter, double alpha, double rise) { return alpha * diameter * rise; }

double stroke_of_hot_drum(double growth, double arm, double cam) { return growth / 2.0 * arm / cam; }

std::vector<double> robust_scores(std::span<const double> values) {
  std::vector<double> known, off;
  for (const double v : values) {
    if (!std::isnan(v)) {
      known.push_back(v);
    }
  }
  std::vector<double> out(values.size(), std::numeric_limits<double>::quiet_NaN());
  constexpr std::size_t fewest = 3;
  if (known.size() < fewest) {
    return out;
  }
  const double middle = median(known);
  for (const double v : known) {
    off.push_back(std::abs(v - middle));
  }
  const double mad = median(off);
  constexpr double normal_quartile = 0.6745;
  for (std::size_t i = 0; i < values.size() && mad > 0.0; ++i) {
    out[i] = normal_quartile * (values[i] - middle) / mad;
  }
  return out;
}

}  // namespace wheelend
