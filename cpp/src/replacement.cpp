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
  if (!(reached_by(path, horizon) >= p)) {
    return std::numeric_limits<double>::infinity();
  }
  double low = 0.0, high = horizon;
  constexpr int halvings = 60;  // of the horizon: below a double's resolution
  for (int i = 0; i < halvings; ++i) {
    const double middle = low + (high - low) / 2.0;
    (reached_by(path, middle) >= p ? high : low) = middle;
  }
  return high;
}

}  // namespace wheelend
