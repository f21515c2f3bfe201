#include "wheelend/replacement.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "wheelend/line_fit.hpp"

namespace wheelend {

double reached_by(const NormalPath& path, double x) {
  const double variance =
      path.above_se * path.above_se - 2.0 * path.covariance * x + path.rate_se * path.rate_se * x * x;
  const double ahead = path.rate * x - path.above;
  if (!(variance > 0.0)) {
    return ahead >= 0.0 ? 1.0 : 0.0;
  }
  return normal_cdf(ahead / std::sqrt(variance));
}

double reach_quantile(const NormalPath& path, double p, double horizon) {
  if (reached_by(path, 0.0) >= p) {
    return 0.0;
  }
  // z = (rate x - above) / sd(x) has a derivative of the sign of start + turn x. Where it rises first and
  // falls later (a rate that may be negative lets levels come back), what matters is the rise: what was
  // reached stays reached.
  const double start = path.rate * path.above_se * path.above_se - path.above * path.covariance;
  const double turn = path.above * path.rate_se * path.rate_se - path.rate * path.covariance;
  const double end = start > 0.0 && turn < 0.0 ? std::min(horizon, -start / turn) : horizon;
  if (!(reached_by(path, end) >= p)) {
    return std::numeric_limits<double>::infinity();
  }
  double low = 0.0, high = end;
  constexpr int halvings = 60;  // of the horizon: below a double's resolution
  for (int i = 0; i < halvings; ++i) {
    const double middle = low + (high - low) / 2.0;
    (reached_by(path, middle) >= p ? high : low) = middle;
  }
  return high;
}

NormalPath seen_from(const NormalPath& path, double x) {
  const double variance =
      path.above_se * path.above_se - 2.0 * path.covariance * x + path.rate_se * path.rate_se * x * x;
  return {.above = path.above - path.rate * x,
          .above_se = std::sqrt(std::max(variance, 0.0)),
          .rate = path.rate,
          .rate_se = path.rate_se,
          .covariance = path.covariance - path.rate_se * path.rate_se * x};
}

}  // namespace wheelend
