#include "wheelend/first_passage.hpp"

#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

constexpr double far = 25.0;  // where erfc nears the least double

// 1 - sqrt(pi) z exp(z^2) erfc(z) for z >= far: asymptotic series (Abramowitz and Stegun 7.1.23); the first
// term left out is below 1e-15 of the whole at z = 25.
double short_of_one(double z) {
  const double r = 0.5 / (z * z);
  return r * (1.0 - 3.0 * r * (1.0 - 5.0 * r * (1.0 - 7.0 * r * (1.0 - 9.0 * r))));
}

// exp(z^2) erfc(z), which neither overflows nor vanishes for z >= -25.
double scaled_erfc(double z) {
  if (z < far) {
    const double square = z * z;
    const double lost = std::fma(z, z, -square);  // rounding of the square, which exp would magnify
    return std::exp(square) * (1.0 + lost) * std::erfc(z);
  }
  return (1.0 - short_of_one(z)) / (z * std::sqrt(std::numbers::pi));
}

// scaled_erfc(from) - scaled_erfc(from + step), step above 0: for a short step by integrating the slope,
// which subtracts nothing that is nearly equal.
double fall_of_scaled_erfc(double from, double step) {
  constexpr double short_step = 1.0;
  if (step > short_step) {
    return scaled_erfc(from) - scaled_erfc(from + step);
  }
  const double limit = 2.0 / std::sqrt(std::numbers::pi);
  const auto fall = [from, limit](double beyond) {
    const double z = from + beyond;
    return z < far ? limit - 2.0 * z * scaled_erfc(z) : limit * short_of_one(z);
  };
  return boost::math::quadrature::gauss<double, 15>::integrate(fall, 0.0, step);
}

double normal_density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi); }

// Standardised distance still to go, and its mirror image, at x > 0.
struct Ends {
  double behind, mirror;  // (drift x - D) / (volatility sqrt x), (drift x + D) / (volatility sqrt x)
};
Ends ends(const WienerPassage& m, double x) {
  const double spread = m.volatility * std::sqrt(x);
  return {(m.drift * x - m.distance) / spread, (m.drift * x + m.distance) / spread};
}

// exp(2 drift D / volatility^2) Phi(-mirror). The exponent is (mirror^2 - behind^2) / 2: joined with the tail
// of Phi nothing overflows.
double mirrored(const WienerPassage& m, const Ends& e) {
  if (e.mirror < 0.0) {  // drift below 0: the exponential is below 1
    return std::exp(2.0 * m.drift * m.distance / (m.volatility * m.volatility)) * normal_cdf(-e.mirror);
  }
  return 0.5 * scaled_erfc(e.mirror / std::numbers::sqrt2) * std::exp(-0.5 * e.behind * e.behind);
}

double passed(const WienerPassage& m, double x) {
  if (std::isinf(x)) {
    return m.drift >= 0.0 ? 1.0 : std::exp(2.0 * m.drift * m.distance / (m.volatility * m.volatility));
  }
  const Ends e = ends(m, x);
  return normal_cdf(e.behind) + mirrored(m, e);
}
double not_passed(const WienerPassage& m, double x) {
  if (std::isinf(x)) {
    return m.drift >= 0.0 ? 0.0 : -std::expm1(2.0 * m.drift * m.distance / (m.volatility * m.volatility));
  }
  const Ends e = ends(m, x);
  // Both terms carry exp(-behind^2 / 2): taken out, so that neither tail loses its digits. Only where its
  // inverse would overflow they are subtracted as they are.
  constexpr double overflows = -20.0;
  if (e.behind < overflows) {
    return normal_cdf(-e.behind) - mirrored(m, e);
  }
  const double step = std::numbers::sqrt2 * m.distance / (m.volatility * std::sqrt(x));
  return 0.5 * std::exp(-0.5 * e.behind * e.behind) *
         fall_of_scaled_erfc(e.behind / std::numbers::sqrt2, step);
}
double density(const WienerPassage& m, double x) {
  return std::isinf(x) ? 0.0
                       : m.distance / (m.volatility * x * std::sqrt(x)) * normal_density(ends(m, x).behind);
}

double passed(const GammaPassage& m, double x) {
  return std::isinf(x) ? 1.0 : boost::math::gamma_q(m.shape_rate * x, m.distance / m.scale);
}
double not_passed(const GammaPassage& m, double x) {
  return std::isinf(x) ? 0.0 : boost::math::gamma_p(m.shape_rate * x, m.distance / m.scale);
}
double density(const GammaPassage& /*m*/, double /*x*/) { return nan; }

// The inverse Gaussian law of mean a and shape b is the first passage of sqrt(b) by a Wiener process of drift
// sqrt(b) / a; here it is wear itself that has the law, with a = rate x and b = shape x^2.
WienerPassage wear_by(const InverseGaussianPassage& m, double x) {
  const double root = std::sqrt(m.shape);
  return {.drift = root / m.rate, .volatility = 1.0, .distance = root * x};
}
double passed(const InverseGaussianPassage& m, double x) {
  return std::isinf(x) ? 1.0 : not_passed(wear_by(m, x), m.distance);
}
double not_passed(const InverseGaussianPassage& m, double x) {
  return std::isinf(x) ? 0.0 : passed(wear_by(m, x), m.distance);
}
double density(const InverseGaussianPassage& /*m*/, double /*x*/) { return nan; }

double place(const LognormalRatePassage& m, double x) {
  return (std::log(x / m.distance) + m.log_rate) / m.log_rate_sd;
}
double passed(const LognormalRatePassage& m, double x) { return normal_cdf(place(m, x)); }
double not_passed(const LognormalRatePassage& m, double x) { return normal_cdf(-place(m, x)); }
double density(const LognormalRatePassage& m, double x) {
  return std::isinf(x) ? 0.0 : normal_density(place(m, x)) / (m.log_rate_sd * x);
}

double passed(const NormalPath& m, double x) { return reached_by(m, x); }
double not_passed(const NormalPath& m, double x) {
  const NormalPath there = seen_from(m, x);
  return there.above_se > 0.0 ? normal_cdf(there.above / there.above_se) : 1.0 - reached_by(m, x);
}
double density(const NormalPath& m, double x) {
  const NormalPath there = seen_from(m, x);
  const double variance = there.above_se * there.above_se;
  // d/dx of (rate x - above) / sd(x); the variance changes by -2 (covariance of level and rate at x)
  return normal_density(there.above / there.above_se) * (m.rate * variance - there.above * there.covariance) /
         (variance * there.above_se);
}

// Halves an interval of x, on a logarithmic scale, that a probability of p lies in.
template <class Model>
double by_halving(const Model& m, double p, double guess) {
  const auto enough = [&](double x) { return p < 0.5 ? passed(m, x) >= p : not_passed(m, x) <= 1.0 - p; };
  double low = guess, high = guess;
  while (enough(low) && low > 0.0) {
    low /= 2.0;
  }
  while (!enough(high)) {
    high *= 2.0;
    if (std::isinf(high)) {
      return infinity;
    }
  }
  constexpr int halvings = 60;
  for (int i = 0; i < halvings && low < high; ++i) {
    const double middle = low > 0.0 ? std::sqrt(low) * std::sqrt(high) : high / 2.0;
    if (!(middle > low && middle < high)) {
      break;
    }
    (enough(middle) ? high : low) = middle;
  }
  return high;
}

double quantile(const WienerPassage& m, double p) {
  if (passed(m, infinity) < p) {
    return infinity;
  }
  return by_halving(m, p, m.drift > 0.0 ? m.distance / m.drift : std::pow(m.distance / m.volatility, 2.0));
}
double quantile(const GammaPassage& m, double p) {
  return by_halving(m, p, m.distance / (m.scale * m.shape_rate));
}
double quantile(const InverseGaussianPassage& m, double p) { return by_halving(m, p, m.distance / m.rate); }
double quantile(const LognormalRatePassage& m, double p) {
  return m.distance * std::exp(m.log_rate_sd * normal_quantile(p) - m.log_rate);
}
double quantile(const NormalPath& m, double p) {
  // Its own search halves a horizon: the least one that is far enough.
  double horizon = m.rate != 0.0 ? std::abs(m.above / m.rate) : 1.0;
  horizon = horizon > 0.0 ? horizon : 1.0;
  constexpr int doublings = 60;
  double x = infinity;
  for (int i = 0; i < doublings && std::isinf(x); ++i, horizon *= 2.0) {
    x = reach_quantile(m, p, horizon);
  }
  return x;
}

bool above_zero(double v) { return std::isfinite(v) && v > 0.0; }
bool defined(const WienerPassage& m) {
  return std::isfinite(m.drift) && above_zero(m.volatility) && above_zero(m.distance);
}
bool defined(const GammaPassage& m) {
  return above_zero(m.shape_rate) && above_zero(m.scale) && above_zero(m.distance);
}
bool defined(const InverseGaussianPassage& m) {
  return above_zero(m.rate) && above_zero(m.shape) && above_zero(m.distance);
}
bool defined(const LognormalRatePassage& m) {
  return std::isfinite(m.log_rate) && above_zero(m.log_rate_sd) && above_zero(m.distance);
}
bool defined(const NormalPath& m) {
  return std::isfinite(m.above) && std::isfinite(m.rate) && m.above_se >= 0.0 && m.rate_se >= 0.0 &&
         std::abs(m.covariance) <= m.above_se * m.rate_se * (1.0 + 1e-9);  // rounding of a correlation of 1
}

// Before 0 nothing has passed, but for a level that is below its limit already.
bool before_all(const FirstPassage& model, double x) {
  return x < 0.0 || (x == 0.0 && !std::holds_alternative<NormalPath>(model));
}

}  // namespace

void require_defined(const FirstPassage& model) {
  if (!std::visit([](const auto& m) { return defined(m); }, model)) {
    throw ColumnError("first passage: a parameter is not finite, or not above 0 where it must be");
  }
}

double passed_by(const FirstPassage& model, double x) {
  if (std::isnan(x)) {
    return nan;
  }
  return before_all(model, x) ? 0.0 : std::visit([x](const auto& m) { return passed(m, x); }, model);
}

double not_passed_by(const FirstPassage& model, double x) {
  if (std::isnan(x)) {
    return nan;
  }
  return before_all(model, x) ? 1.0 : std::visit([x](const auto& m) { return not_passed(m, x); }, model);
}

double passage_density(const FirstPassage& model, double x) {
  if (std::isnan(x)) {
    return nan;
  }
  return before_all(model, x) ? 0.0 : std::visit([x](const auto& m) { return density(m, x); }, model);
}

double passage_quantile(const FirstPassage& model, double p) {
  if (!(p > 0.0 && p < 1.0)) {
    return nan;
  }
  return std::visit([p](const auto& m) { return quantile(m, p); }, model);
}

}  // namespace wheelend
