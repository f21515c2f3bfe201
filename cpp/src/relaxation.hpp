// Ornstein-Uhlenbeck paths over stretches of time: closed forms that use and severity share.
#pragma once

#include <cmath>

namespace wheelend {

// Mean of exp(-t / relaxation) for t from `from` to `to`.
inline double mean_decay(double from, double to, double relaxation) {
  const double span = to - from;
  return span < 1e-6 * relaxation
             ? std::exp(-from / relaxation)
             : relaxation / span * std::exp(-from / relaxation) * -std::expm1(-span / relaxation);
}

// Share of the variance of a path that is left in its mean over `days`.
inline double kept_in_mean(double days, double relaxation) {
  const double r = days / relaxation;
  return r < 1e-3 ? 1.0 - r / 3.0 : 2.0 / r * (1.0 + std::expm1(-r) / r);
}

}  // namespace wheelend
