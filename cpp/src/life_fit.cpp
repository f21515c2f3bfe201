#include "wheelend/life_fit.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <string>
#include <vector>

#include "newton.hpp"
#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

struct Row {
  double low, high;  // logs; equal: exact; -infinity and infinity: open
  double count;
  auto operator<=>(const Row&) const = default;
};

// log density of a standard law, with its first two derivatives.
struct Log {
  double value, first, second;
};
Log log_density(LifeLaw law, double w) {
  if (law == LifeLaw::lognormal) {
    return {-0.5 * w * w - 0.5 * std::log(2.0 * std::numbers::pi), -w, -1.0};
  }
  return {w - std::exp(w), 1.0 - std::exp(w), -std::exp(w)};
}

// log of the probability of (a, b], and d/da, d/db and second derivatives of it. a or b may be infinite.
struct Between {
  double value, a, b, aa, ab, bb;
};
Between between(LifeLaw law, double a, double b) {
  // Probability as exp(base) times a factor, so that far tails keep their digits.
  double log_probability = 0.0;
  if (law == LifeLaw::lognormal) {
    const bool upper = a > 0.0;  // in the tail that is the smaller
    const double p = upper ? normal_cdf(-a) - normal_cdf(-b) : normal_cdf(b) - normal_cdf(a);
    log_probability = std::log(p);
  } else {
    // S(a) - S(b) = exp(-e^a) (1 - exp(e^a - e^b))
    const double ea = std::exp(a), eb = std::exp(b);
    log_probability = -ea + (std::isinf(eb) ? 0.0 : std::log(-std::expm1(ea - eb)));
  }
  // Density at an end over the probability, and its own derivative; 0 at an open end.
  const auto end = [&](double w) -> std::array<double, 2> {
    if (std::isinf(w)) {
      return {0.0, 0.0};
    }
    const Log d = log_density(law, w);
    const double share = std::exp(d.value - log_probability);
    return {share, share * d.first};
  };
  const auto [at_a, turn_a] = end(a);
  const auto [at_b, turn_b] = end(b);
  return {log_probability, -at_a, at_b, -turn_a - at_a * at_a, at_a * at_b, turn_b - at_b * at_b};
}

// -log likelihood in (location, log spread), with both derivatives; in location alone where `fixed`.
Point at_point(LifeLaw law, const std::vector<Row>& rows, const Eigen::VectorXd& at) {
  const bool fixed = at.size() == 1;
  const double spread = fixed ? 1.0 : std::exp(at(1));
  double value = 0.0;
  Eigen::Vector2d slope = Eigen::Vector2d::Zero();
  Eigen::Matrix2d curvature = Eigen::Matrix2d::Zero();
  // Adds what depends on w = (log life - location) / spread: dw = (-1 / spread, -w).
  const auto add = [&](double w, double first, double second, double count) {
    const Eigen::Vector2d d(-1.0 / spread, -w);
    slope -= count * first * d;
    curvature -= count * second * d * d.transpose();
    Eigen::Matrix2d bend;
    bend << 0.0, 1.0 / spread, 1.0 / spread, w;
    curvature -= count * first * bend;
  };
  for (const Row& row : rows) {
    const double a = (row.low - at(0)) / spread, b = (row.high - at(0)) / spread;
    if (row.low == row.high) {
      const Log d = log_density(law, a);
      value -= row.count * (d.value - std::log(spread) - row.low);
      slope(1) += row.count;
      add(a, d.first, d.second, row.count);
      continue;
    }
    const Between p = between(law, a, b);
    value -= row.count * p.value;
    if (!std::isinf(a)) {
      add(a, p.a, p.aa, row.count);
    }
    if (!std::isinf(b)) {
      add(b, p.b, p.bb, row.count);
    }
    if (!std::isinf(a) && !std::isinf(b)) {
      const Eigen::Vector2d da(-1.0 / spread, -a), db(-1.0 / spread, -b);
      curvature -= row.count * p.ab * (da * db.transpose() + db * da.transpose());
    }
  }
  const Eigen::Index k = at.size();
  return {std::isfinite(value) ? value : infinity, slope.head(k), curvature.topLeftCorner(k, k)};
}

}  // namespace

LifeFit fit_life(LifeLaw law, std::span<const double> low, std::span<const double> high,
                 std::span<const double> count) {
  require_same_size(low.size(), high.size(), "high");
  require_same_size(low.size(), count.size(), "count");
  std::vector<Row> rows;
  LifeFit fit{.law = law};
  for (std::size_t i = 0; i < low.size(); ++i) {
    const bool exact = low[i] == high[i];
    if (!(low[i] >= 0.0) || !(high[i] > 0.0) || high[i] < low[i] || std::isinf(low[i]) ||
        !(count[i] >= 0.0) || std::isinf(count[i])) {
      throw ColumnError("row " + std::to_string(i + 1) +
                        ": expected 0 <= low <= high, low finite, high above 0, and a count of 0 or more");
    }
    if (count[i] == 0.0 || (low[i] == 0.0 && std::isinf(high[i]))) {
      continue;  // says nothing
    }
    rows.push_back({std::log(low[i]), exact ? std::log(low[i]) : std::log(high[i]), count[i]});
    fit.items += count[i];
    fit.failures += std::isinf(high[i]) ? 0.0 : count[i];
  }
  if (!(fit.failures > 0.0)) {
    throw ColumnError("no life is bounded from above: nothing is known to have failed");
  }
  std::sort(rows.begin(), rows.end());  // one order of all sums

  // Start: as if every failure lay in the middle of its row (on the log scale), spread from those alone. What
  // still runs lifts the start: the exponential's estimate where few failed.
  double sum = 0.0, squares = 0.0, run = 0.0;
  const auto middle = [](const Row& r) {
    return std::isinf(r.high) ? r.low : (std::isinf(r.low) ? r.high : (r.low + r.high) / 2.0);
  };
  for (const Row& r : rows) {
    run += r.count * std::exp(middle(r));
    if (!std::isinf(r.high)) {
      sum += r.count * middle(r);
      squares += r.count * middle(r) * middle(r);
    }
  }
  const double mean = sum / fit.failures;
  const double spread = std::sqrt(std::max(squares / fit.failures - mean * mean, 0.0));
  Eigen::VectorXd start(law == LifeLaw::exponential ? 1 : 2);
  start(0) = std::log(run / fit.failures);
  if (start.size() == 2) {
    constexpr double least = 1e-3;
    // A fraction that still runs hides the upper part of the spread: begin wide there.
    const bool all_failed = fit.failures == fit.items;
    start(1) = std::log(std::max(all_failed ? spread : std::max(spread, 0.5), least));
    start(0) = all_failed ? mean : start(0);
  }
  const Minimum best = minimise([&](const Eigen::VectorXd& at) { return at_point(law, rows, at); }, start);
  fit.location = best.at(0);
  fit.log_likelihood = -best.point.value;
  const Eigen::LLT<Eigen::MatrixXd> information(best.point.curvature);
  fit.settled = best.settled && information.info() == Eigen::Success;
  if (fit.settled) {
    const Eigen::MatrixXd covariance =
        information.solve(Eigen::MatrixXd::Identity(start.size(), start.size()));
    fit.location_variance = covariance(0, 0);
    if (start.size() == 2) {
      fit.covariance = covariance(0, 1);
      fit.log_spread_variance = covariance(1, 1);
    }
  }
  fit.spread = start.size() == 2 ? std::exp(best.at(1)) : 1.0;
  return fit;
}

LifeQuantile life_quantile(const LifeFit& fit, double p) {
  if (!(p > 0.0 && p < 1.0)) {
    throw ColumnError("p " + std::to_string(p) + " is outside 0..1");
  }
  const double w = fit.law == LifeLaw::lognormal ? normal_quantile(p) : std::log(-std::log1p(-p));
  const double u = w * fit.spread;  // d log life / d log spread
  const double variance = fit.location_variance + 2.0 * u * fit.covariance + u * u * fit.log_spread_variance;
  return {std::exp(fit.location + u), std::sqrt(variance)};
}

}  // namespace wheelend
