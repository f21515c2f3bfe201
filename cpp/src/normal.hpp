// Squares, and the logarithm of the normal density. Its distribution function is normal_cdf (line_fit.hpp).
#pragma once

#include <cmath>
#include <numbers>

namespace wheelend {

inline double square(double x) { return x * x; }

inline double log_normal(double off, double variance) {
  return -0.5 * (square(off) / variance + std::log(2.0 * std::numbers::pi * variance));
}

}  // namespace wheelend
