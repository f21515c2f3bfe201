#include "wheelend/renewals.hpp"

#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <string>

#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {
namespace {

// Probability of a life of t at most, and of a longer one.
double failed_by(const RenewalProcess& p, double t) {
  const double x = t / p.scale;
  if (!(x > 0.0)) {
    return 0.0;
  }
  switch (p.law) {
    case RenewalLaw::exponential:
      return -std::expm1(-x);
    case RenewalLaw::weibull:
      return -std::expm1(-std::pow(x, p.shape));
    case RenewalLaw::lognormal:
      return normal_cdf(p.shape * std::log(x));
    case RenewalLaw::gamma:
      return boost::math::gamma_p(p.shape, x);
  }
  return 0.0;
}
double alive_at(const RenewalProcess& p, double t) {
  const double x = t / p.scale;
  if (!(x > 0.0)) {
    return 1.0;
  }
  switch (p.law) {
    case RenewalLaw::exponential:
      return std::exp(-x);
    case RenewalLaw::weibull:
      return std::exp(-std::pow(x, p.shape));
    case RenewalLaw::lognormal:
      return normal_cdf(-p.shape * std::log(x));
    case RenewalLaw::gamma:
      return boost::math::gamma_q(p.shape, x);
  }
  return 1.0;
}

// The first life, of a part that is `age` old and still in use.
double first_failed_by(const RenewalProcess& p, double t, double age) {
  if (!(age > 0.0)) {
    return failed_by(p, t);
  }
  return 1.0 - alive_at(p, age + t) / alive_at(p, age);
}

// The sum of n gamma lives is gamma of n times the shape: only positive terms.
double gamma_renewals(const RenewalProcess& p, double t) {
  const double x = t / p.scale;
  double sum = 0.0;
  for (double n = 1.0;; ++n) {
    const double term = boost::math::gamma_p(n * p.shape, x);
    sum += term;
    if (n * p.shape > x && term < 1e-17 * sum) {
      return sum;
    }
    if (term == 0.0) {
      return sum;
    }
  }
}

// Expected renewals at the end of `steps` equal steps of (0, t].
double by_steps(const RenewalProcess& p, double t, double age, std::size_t steps) {
  const double h = t / static_cast<double>(steps);
  std::vector<double> middle(steps + 1), m(steps + 1, 0.0);  // middle[k]: failed by (k - 1/2) h
  for (std::size_t k = 1; k <= steps; ++k) {
    middle[k] = failed_by(p, (static_cast<double>(k) - 0.5) * h);
  }
  const double first = middle[1];
  std::vector<double> growth(steps + 1, 0.0);  // m[j] - m[j - 1]
  for (std::size_t i = 1; i <= steps; ++i) {
    double sum = failed_by(p, static_cast<double>(i) * h) - first * m[i - 1];
    for (std::size_t j = 1; j < i; ++j) {
      sum += growth[j] * middle[i - j + 1];
    }
    m[i] = sum / (1.0 - first);
    growth[i] = m[i] - m[i - 1];
  }
  if (!(age > 0.0)) {
    return m[steps];
  }
  // First failure at x, then a new part for t - x.
  double total = first_failed_by(p, t, age), before = 0.0;
  for (std::size_t j = 1; j <= steps; ++j) {
    const double by = first_failed_by(p, static_cast<double>(j) * h, age);
    total += (by - before) * 0.5 * (m[steps - j] + m[steps - j + 1]);
    before = by;
  }
  return total;
}

}  // namespace

Renewals expected_renewals(const RenewalProcess& p, double t, double age) {
  if (!(p.scale > 0.0) || !(p.shape > 0.0) || std::isinf(p.scale) || std::isinf(p.shape)) {
    throw ColumnError("scale and shape: expected numbers above 0");
  }
  if (!(t >= 0.0) || std::isinf(t) || !(age >= 0.0) || std::isinf(age)) {
    throw ColumnError("t and age: expected finite numbers of 0 or more");
  }
  if (p.law == RenewalLaw::exponential) {
    return {t / p.scale, 0.0};
  }
  if (p.law == RenewalLaw::gamma && age == 0.0) {
    return {gamma_renewals(p, t), 0.0};
  }
  if (!(alive_at(p, age) > 0.0)) {
    throw ColumnError("age " + std::to_string(age) + ": no part lives that long by this law");
  }
  // The error of the sums falls as the square of the step: two of them cancel it. The steps begin fine enough
  // to see one life; 2^15 steps take a second, and no law in use needs them.
  constexpr double close = 1e-9;
  constexpr std::size_t least_steps = 256, most_steps = 32768;
  std::size_t steps = least_steps;
  while (static_cast<double>(steps) < 64.0 * t / p.scale && steps < most_steps / 4) {
    steps *= 2;
  }
  double coarse = by_steps(p, t, age, steps), last = coarse;
  Renewals out;
  for (;;) {
    steps *= 2;
    const double fine = by_steps(p, t, age, steps);
    out.expected = fine + (fine - coarse) / 3.0;
    out.error = std::abs(out.expected - last);
    if (out.error <= close * out.expected || steps >= most_steps) {
      return out;
    }
    coarse = fine;
    last = out.expected;
  }
}

std::vector<double> count_distribution(std::span<const double> p) {
  std::vector<double> sorted(p.begin(), p.end());
  for (std::size_t i = 0; i < sorted.size(); ++i) {
    if (!(sorted[i] >= 0.0 && sorted[i] <= 1.0)) {
      throw ColumnError("row " + std::to_string(i + 1) + ": " + std::to_string(sorted[i]) +
                        " is no probability (0 to 1)");
    }
  }
  std::sort(sorted.begin(), sorted.end());
  std::vector<double> of(1, 1.0);
  of.reserve(sorted.size() + 1);
  for (const double yes : sorted) {
    const double no = 1.0 - yes;
    of.push_back(yes * of.back());
    for (std::size_t k = of.size() - 2; k > 0; --k) {
      of[k] = no * of[k] + yes * of[k - 1];
    }
    of[0] *= no;
  }
  return of;
}

}  // namespace wheelend
