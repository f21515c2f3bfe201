// Straight lines on plain doubles: least squares, robust slopes, and where a line reaches a value.
// Kernels of the degradation engine; x and y carry no units here, their types were checked one level up.
#pragma once

#include <cstdint>
#include <span>

namespace wheelend {

// y = intercept + slope x, by least squares. Standard errors assume independent errors of one spread.
// x and y finite and of one length.
struct LineFit {
  std::int64_t n = 0;
  double intercept = 0.0, slope = 0.0;
  double se_intercept = 0.0, se_slope = 0.0;  // NaN below three readings
  double residual_sd = 0.0;        // sqrt(residual sum of squares / (n - 2)); NaN below three readings
  double r_squared = 0.0;          // NaN when y does not vary
  double x_mean = 0.0, sxx = 0.0;  // sum of (x - x_mean)^2
  double intercept_at_mean = 0.0;  // value of the line at x_mean
  [[nodiscard]] std::int64_t degrees_of_freedom() const { return n - 2; }
};

// Needs two different x; throws ColumnError otherwise.
LineFit fit_line(std::span<const double> x, std::span<const double> y);

// y = slope x.
struct OriginFit {
  std::int64_t n = 0;
  double slope = 0.0, se_slope = 0.0, residual_sd = 0.0;
};
OriginFit fit_through_origin(std::span<const double> x, std::span<const double> y);

struct Interval {
  double estimate = 0.0, low = 0.0, high = 0.0;
};
// Where the line is at x (mean_response), or where one new reading would fall; two-sided, `level` in (0, 1).
Interval value_at(const LineFit& fit, double x, double level, bool mean_response);

enum class ReachStatus : std::uint8_t {
  bounded,    // low and high are finite
  unbounded,  // the slope does not differ from zero at this level: no finite interval exists
  flat,       // the slope is exactly zero: the value is never reached
};
struct Reach {
  ReachStatus status = ReachStatus::bounded;
  double at = 0.0, low = 0.0, high = 0.0;  // NaN where the status says so
  double standard_error = 0.0;             // delta method
};
// The x at which the line reaches y, with limits by inversion (Fieller 1954): all x whose mean (or new
// reading) at that level could be y.
Reach where_reaches(const LineFit& fit, double y, double level, bool mean_response);

// Median of all pairwise slopes (Theil 1950, Sen 1968); pairs with equal x are left out. Interval by the
// normal approximation to Kendall's statistic with ties, ranks rounded to the nearest.
struct PairwiseSlopes {
  std::int64_t pairs = 0;
  double slope = 0.0, low = 0.0, high = 0.0;
  double intercept_of_medians = 0.0;    // median(y) - slope median(x)
  double intercept_of_residuals = 0.0;  // median(y - slope x)
};
PairwiseSlopes pairwise_slopes(std::span<const double> x, std::span<const double> y, double level);

// Median over readings of the median slope to all others (Siegel 1982).
double repeated_median_slope(std::span<const double> x, std::span<const double> y);
// The same with two intercepts in use.
struct RepeatedMedian {
  double slope = 0.0;
  double intercept_of_residuals = 0.0;  // median(y - slope x)
  double intercept_of_pairs = 0.0;      // repeated median of the intercepts of the lines through two readings
};
RepeatedMedian repeated_median(std::span<const double> x, std::span<const double> y);

struct Moments {
  double mean = 0.0, sd = 0.0;  // sd with n - 1; NaN for one value
};
Moments moments(std::span<const double> values);

double median(std::span<const double> values);

// Quantile of Student's t and of the normal distribution.
double student_quantile(double p, double degrees_of_freedom);
double normal_quantile(double p);
double normal_cdf(double z);

}  // namespace wheelend
