// The exposure at which wear first reaches a limit, where wear is random: its distribution for the models in
// use in the study of wear. Plain doubles, far tails included. The normal random line, which the fleet's
// functions use, is in replacement.hpp.
#pragma once

#include <variant>

#include "wheelend/replacement.hpp"

namespace wheelend {

// Wear is a Wiener process: mean drift x, variance volatility^2 x. First passage of `distance` is inverse
// Gaussian with mean distance / drift and shape distance^2 / volatility^2. Needs volatility and distance
// above 0; with a drift below 0 some paths never arrive.
struct WienerPassage {
  double drift = 0.0, volatility = 0.0, distance = 0.0;
};

// Wear by x is gamma distributed, shape `shape_rate` x, and `scale`; it never falls. All above 0.
struct GammaPassage {
  double shape_rate = 0.0, scale = 0.0, distance = 0.0;
};

// Wear by x is inverse Gaussian, mean rate x and shape `shape` x^2; it never falls. All above 0.
struct InverseGaussianPassage {
  double rate = 0.0, shape = 0.0, distance = 0.0;
};

// A straight line whose rate is lognormal: log rate ~ N(log_rate, log_rate_sd^2). Sd and distance above 0.
struct LognormalRatePassage {
  double log_rate = 0.0, log_rate_sd = 0.0, distance = 0.0;
};

using FirstPassage =
    std::variant<WienerPassage, GammaPassage, InverseGaussianPassage, LognormalRatePassage, NormalPath>;

// Throws ColumnError where a parameter lies outside what its model is defined for.
void require_defined(const FirstPassage& model);

// Probability that the limit is reached by x, and that it is not; each exact in its own tail.
double passed_by(const FirstPassage& model, double x);
double not_passed_by(const FirstPassage& model, double x);

// Density at x. NaN for gamma and inverse Gaussian wear: no closed form.
double passage_density(const FirstPassage& model, double x);

// The x by which the limit is reached with probability p; infinity where it does not become that likely.
double passage_quantile(const FirstPassage& model, double p);

}  // namespace wheelend
