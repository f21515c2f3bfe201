#include "wheelend/wear_curve.hpp"

#include <algorithm>
#include <cmath>

namespace wheelend {

namespace {
constexpr double straight = 1e-6;  // below this strength the curve is a line to nine digits
}

double WearCurve::depth_after(double depth, double wear) const {
  if (strength < straight) {
    return depth - wear;
  }
  const double zero = full / strength;
  return (depth + zero) * std::exp(-wear / (zero * (1.0 + strength / 2.0))) - zero;
}

double WearCurve::wear_between(double from, double to) const {
  if (strength < straight) {
    return from - to;
  }
  const double zero = full / strength;
  return zero * (1.0 + strength / 2.0) * std::log((from + zero) / (to + zero));
}

double WearCurve::rate_at(double depth) const {
  return (1.0 + strength * depth / full) / (1.0 + strength / 2.0);
}

double Channel::depth(double common, double full) const {
  const double worn = full - common;
  return common + offset - one_sided * worn - shoulder * worn * std::abs(worn) / full;
}

double Channel::slope(double common, double full) const {
  return 1.0 + one_sided + 2.0 * shoulder * std::abs(full - common) / full;
}

double Channel::common_at(double depth, double full) const {
  // full + offset - depth = (1 + one_sided) worn + shoulder worn |worn| / full
  const double lost = full + offset - depth;
  const double line = std::max(1.0 + one_sided, 0.05);  // a channel that gained depth would never be worn
  if (shoulder <= 0.0 || lost <= 0.0) {
    return full - lost / line;
  }
  const double worn = 2.0 * lost / (line + std::sqrt(line * line + 4.0 * shoulder * lost / full));
  return full - worn;
}

}  // namespace wheelend
