#include "wheelend/line_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "wheelend/error.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
using Column = Eigen::Map<const Eigen::VectorXd>;

Column column(std::span<const double> v) { return {v.data(), static_cast<Eigen::Index>(v.size())}; }

void require_pairs(std::span<const double> x, std::span<const double> y, std::size_t least) {
  require_same_size(x.size(), y.size(), "y");
  if (x.size() < least) {
    throw ColumnError("a line needs at least " + std::to_string(least) + " readings, got " +
                      std::to_string(x.size()));
  }
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!std::isfinite(x[i]) || !std::isfinite(y[i])) {
      throw ColumnError("reading " + std::to_string(i + 1) + " is not finite");
    }
  }
}

void require_level(double level) {
  if (!(level > 0.0 && level < 1.0)) {
    throw ColumnError("level " + std::to_string(level) + " is outside 0..1");
  }
}

// The mean, corrected once for the rounding of its own sum.
double careful_mean(const Eigen::Ref<const Eigen::VectorXd>& v) {
  const double first = v.mean();
  return first + (v.array() - first).mean();
}

double median_of(std::vector<double>& v) {
  const auto middle = static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), v.begin() + middle, v.end());
  const double upper = v[static_cast<std::size_t>(middle)];
  if (v.size() % 2 == 1) {
    return upper;
  }
  return (*std::max_element(v.begin(), v.begin() + middle) + upper) / 2.0;
}

double median_of_residuals(std::span<const double> x, std::span<const double> y, double slope) {
  std::vector<double> rest(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) {
    rest[i] = y[i] - slope * x[i];
  }
  return median_of(rest);
}

// Sum of t (t - 1) (2 t + 5) over groups of equal values: the correction of Kendall's variance.
double tie_terms(std::span<const double> values) {
  std::vector<double> v(values.begin(), values.end());
  std::sort(v.begin(), v.end());
  double sum = 0.0;
  for (std::size_t i = 0; i < v.size();) {
    std::size_t j = i;
    while (j < v.size() && v[j] == v[i]) {
      ++j;
    }
    const auto t = static_cast<double>(j - i);
    sum += t * (t - 1.0) * (2.0 * t + 5.0);
    i = j;
  }
  return sum;
}

}  // namespace

LineFit fit_line(std::span<const double> x, std::span<const double> y) {
  require_pairs(x, y, 2);
  LineFit f;
  f.n = static_cast<std::int64_t>(x.size());
  f.x_mean = careful_mean(column(x));
  const double y_mean = careful_mean(column(y));
  const Eigen::VectorXd dx = column(x).array() - f.x_mean;
  const Eigen::VectorXd dy = column(y).array() - y_mean;
  f.sxx = dx.squaredNorm();
  if (!(f.sxx > 0.0)) {
    throw ColumnError("a line needs readings at two different places, all are at " + std::to_string(x[0]));
  }
  f.slope = dx.dot(dy) / f.sxx;
  f.intercept_at_mean = y_mean;
  f.intercept = y_mean - f.slope * f.x_mean;
  const double residual = (dy - f.slope * dx).squaredNorm();
  const double total = dy.squaredNorm();
  f.r_squared = total > 0.0 ? 1.0 - residual / total : nan;
  const auto freedom = static_cast<double>(f.degrees_of_freedom());
  f.residual_sd = freedom > 0.0 ? std::sqrt(residual / freedom) : nan;
  f.se_slope = f.residual_sd / std::sqrt(f.sxx);
  f.se_intercept = f.residual_sd * std::sqrt(1.0 / static_cast<double>(f.n) + f.x_mean * f.x_mean / f.sxx);
  return f;
}

OriginFit fit_through_origin(std::span<const double> x, std::span<const double> y) {
  require_pairs(x, y, 1);
  const double sxx = column(x).squaredNorm();
  if (!(sxx > 0.0)) {
    throw ColumnError("a line through the origin needs a reading away from zero");
  }
  OriginFit f;
  f.n = static_cast<std::int64_t>(x.size());
  f.slope = column(x).dot(column(y)) / sxx;
  const double residual = (column(y) - f.slope * column(x)).squaredNorm();
  f.residual_sd = f.n > 1 ? std::sqrt(residual / static_cast<double>(f.n - 1)) : nan;
  f.se_slope = f.residual_sd / std::sqrt(sxx);
  return f;
}

Interval value_at(const LineFit& fit, double x, double level, bool mean_response) {
  require_level(level);
  const double dx = x - fit.x_mean;
  const double t = student_quantile((1.0 + level) / 2.0, static_cast<double>(fit.degrees_of_freedom()));
  const double spread = fit.residual_sd * std::sqrt((mean_response ? 0.0 : 1.0) +
                                                    1.0 / static_cast<double>(fit.n) + dx * dx / fit.sxx);
  const double here = fit.intercept_at_mean + fit.slope * dx;
  return {here, here - t * spread, here + t * spread};
}

Reach where_reaches(const LineFit& fit, double y, double level, bool mean_response) {
  require_level(level);
  if (fit.slope == 0.0) {
    return {ReachStatus::flat, nan, nan, nan, nan};
  }
  const double u = (y - fit.intercept_at_mean) / fit.slope;
  const double own = (mean_response ? 0.0 : 1.0) + 1.0 / static_cast<double>(fit.n);
  Reach r{ReachStatus::bounded, fit.x_mean + u, nan, nan,
          fit.residual_sd / std::abs(fit.slope) * std::sqrt(own + u * u / fit.sxx)};
  const double t = student_quantile((1.0 + level) / 2.0, static_cast<double>(fit.degrees_of_freedom()));
  const double ratio = t * fit.residual_sd / fit.slope;
  const double g = ratio * ratio / fit.sxx;
  if (!(g < 1.0)) {
    r.status = ReachStatus::unbounded;
    return r;
  }
  const double centre = fit.x_mean + u / (1.0 - g);
  const double half = std::abs(ratio) / (1.0 - g) * std::sqrt((1.0 - g) * own + u * u / fit.sxx);
  r.low = centre - half;
  r.high = centre + half;
  return r;
}

PairwiseSlopes pairwise_slopes(std::span<const double> x, std::span<const double> y, double level) {
  require_pairs(x, y, 2);
  require_level(level);
  std::vector<double> slopes;
  slopes.reserve(x.size() * (x.size() - 1) / 2);
  for (std::size_t i = 0; i < x.size(); ++i) {
    for (std::size_t j = i + 1; j < x.size(); ++j) {
      if (x[i] != x[j]) {
        slopes.push_back((y[j] - y[i]) / (x[j] - x[i]));
      }
    }
  }
  if (slopes.empty()) {
    throw ColumnError("pairwise slopes need readings at two different places");
  }
  std::sort(slopes.begin(), slopes.end());
  PairwiseSlopes out;
  out.pairs = static_cast<std::int64_t>(slopes.size());
  out.slope = median(slopes);
  const auto n = static_cast<double>(x.size());
  const double variance = (n * (n - 1.0) * (2.0 * n + 5.0) - tie_terms(x) - tie_terms(y)) / 18.0;
  const double reach = normal_quantile((1.0 + level) / 2.0) * std::sqrt(std::max(variance, 0.0));
  const auto pairs = static_cast<double>(slopes.size());
  const auto last = static_cast<double>(slopes.size() - 1);
  // Ranks to the nearest, ties to even, as in the reference implementations of Sen's interval.
  const double low = std::clamp(std::nearbyint((pairs - reach) / 2.0) - 1.0, 0.0, last);
  const double high = std::clamp(std::nearbyint((pairs + reach) / 2.0), 0.0, last);
  out.low = slopes[static_cast<std::size_t>(low)];
  out.high = slopes[static_cast<std::size_t>(high)];
  out.intercept_of_medians = median(y) - out.slope * median(x);
  out.intercept_of_residuals = median_of_residuals(x, y, out.slope);
  return out;
}

namespace {

// Median over readings of the median of `of(i, j)` over all others at another place.
template <class OfPair>
double median_of_medians(std::span<const double> x, std::span<const double> y, OfPair of) {
  require_pairs(x, y, 2);
  std::vector<double> medians, own;
  for (std::size_t i = 0; i < x.size(); ++i) {
    own.clear();
    for (std::size_t j = 0; j < x.size(); ++j) {
      if (x[i] != x[j]) {
        own.push_back(of(i, j));
      }
    }
    if (!own.empty()) {
      medians.push_back(median_of(own));
    }
  }
  if (medians.empty()) {
    throw ColumnError("a repeated median needs readings at two different places");
  }
  return median_of(medians);
}

}  // namespace

double repeated_median_slope(std::span<const double> x, std::span<const double> y) {
  return median_of_medians(x, y, [&](std::size_t i, std::size_t j) { return (y[j] - y[i]) / (x[j] - x[i]); });
}

RepeatedMedian repeated_median(std::span<const double> x, std::span<const double> y) {
  RepeatedMedian out{.slope = repeated_median_slope(x, y)};
  out.intercept_of_residuals = median_of_residuals(x, y, out.slope);
  out.intercept_of_pairs = median_of_medians(
      x, y, [&](std::size_t i, std::size_t j) { return (y[i] * x[j] - y[j] * x[i]) / (x[j] - x[i]); });
  return out;
}

Moments moments(std::span<const double> values) {
  if (values.empty()) {
    return {nan, nan};
  }
  const double mean = careful_mean(column(values));
  const auto n = static_cast<double>(values.size());
  const Eigen::ArrayXd d = column(values).array() - mean;
  // The corrected two-pass sum (Chan, Golub, LeVeque 1983): the second term takes out the rounding of the
  // mean.
  const double squares = d.square().sum() - d.sum() * d.sum() / n;
  return {mean, values.size() > 1 ? std::sqrt(squares / (n - 1.0)) : nan};
}

double median(std::span<const double> values) {
  if (values.empty()) {
    return nan;
  }
  std::vector<double> v(values.begin(), values.end());
  return median_of(v);
}

double student_quantile(double p, double degrees_of_freedom) {
  if (!(degrees_of_freedom > 0.0)) {
    return nan;
  }
  return boost::math::quantile(boost::math::students_t(degrees_of_freedom), p);
}
double normal_quantile(double p) { return boost::math::quantile(boost::math::normal(), p); }
double normal_cdf(double z) {
  if (std::isnan(z)) {
    return nan;
  }
  constexpr double sqrt_half = 0.70710678118654752440;
  return 0.5 * std::erfc(-z * sqrt_half);
}

}  // namespace wheelend
