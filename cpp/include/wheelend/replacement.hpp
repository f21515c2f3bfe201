// When a level that is uncertain, and falls at an uncertain rate, reaches its limit.
#pragma once

namespace wheelend {

// Level and rate jointly normal: level(x) = level - rate x, x >= 0 from now.
struct NormalPath {
  double above = 0.0;  // level now, less the limit
  double above_se = 0.0;
  double rate = 0.0;  // fall per unit of exposure
  double rate_se = 0.0;
  double covariance = 0.0;  // of level and rate
};

// Probability that the limit is reached by x (the normal random line, Meeker and Escobar 1998, section 13.5):
//   P = Phi((rate x - above) / sqrt(above_se^2 - 2 covariance x + rate_se^2 x^2))
double reached_by(const NormalPath& path, double x);

// The same path seen from x further on.
NormalPath seen_from(const NormalPath& path, double x);

// The exposure by which the limit is reached with probability p: 0 if it is that likely already, infinity if
// it does not become that likely within the horizon.
double reach_quantile(const NormalPath& path, double p, double horizon);

}  // namespace wheelend
