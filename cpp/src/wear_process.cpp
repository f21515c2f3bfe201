#include "wheelend/wear_process.hpp"

#include <algorithm>
#include <boost/math/special_functions/digamma.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include "wheelend/error.hpp"

namespace wheelend {
namespace {

struct Steps {
  std::vector<std::pair<double, double>>
      each;  // exposure, wear; in one order, whatever the order of the rows
  double n = 0.0, exposure = 0.0, wear = 0.0;
  [[nodiscard]] double rate() const { return wear / exposure; }
};

Steps steps_of(std::span<const double> exposure, std::span<const double> wear, bool rising) {
  require_same_size(exposure.size(), wear.size(), "wear");
  if (exposure.size() < 2) {
    throw ColumnError("a wear process needs two steps or more, got " + std::to_string(exposure.size()));
  }
  Steps s;
  for (std::size_t i = 0; i < exposure.size(); ++i) {
    if (!std::isfinite(exposure[i]) || !(exposure[i] > 0.0)) {
      throw ColumnError("step " + std::to_string(i + 1) + ": exposure is not above 0");
    }
    if (!std::isfinite(wear[i]) || (rising && !(wear[i] > 0.0))) {
      throw ColumnError("step " + std::to_string(i + 1) + ": wear is not " + (rising ? "above 0" : "finite"));
    }
    s.each.emplace_back(exposure[i], wear[i]);
  }
  std::sort(s.each.begin(), s.each.end());
  for (const auto& [dx, dy] : s.each) {
    s.exposure += dx;
    s.wear += dy;
  }
  s.n = static_cast<double>(s.each.size());
  const auto off = [&s](const auto& step) {
    constexpr double rounding = 1e-12;
    return std::abs(step.second - s.rate() * step.first) > rounding * std::abs(step.second);
  };
  if (std::none_of(s.each.begin(), s.each.end(), off)) {
    throw ColumnError("all steps are at one rate: there is no randomness to estimate");
  }
  return s;
}

}  // namespace

WienerWear fit_wiener_wear(std::span<const double> exposure, std::span<const double> wear) {
  const Steps s = steps_of(exposure, wear, false);
  WienerWear out{.drift = s.rate()};
  double squares = 0.0, logs = 0.0;
  for (const auto& [dx, dy] : s.each) {
    squares += (dy - out.drift * dx) * (dy - out.drift * dx) / dx;
    logs += std::log(dx);
  }
  const double variance = squares / s.n;
  out.volatility = std::sqrt(variance);
  out.log_likelihood = -0.5 * (s.n * (1.0 + std::log(2.0 * std::numbers::pi * variance)) + logs);
  return out;
}

GammaWear fit_gamma_wear(std::span<const double> exposure, std::span<const double> wear) {
  const Steps s = steps_of(exposure, wear, true);
  // By the shape rate: falls from above 0 to below 0 as it grows.
  const auto equation = [&s](double shape_rate) {
    double sum = 0.0;
    for (const auto& [dx, dy] : s.each) {
      sum += dx * (std::log(dy * shape_rate / s.rate()) - boost::math::digamma(shape_rate * dx));
    }
    return sum;
  };
  double low = s.n / s.exposure, high = low;
  while (equation(low) < 0.0 && low > 0.0) {
    low /= 2.0;
  }
  while (equation(high) > 0.0 && std::isfinite(high)) {
    high *= 2.0;
  }
  constexpr int halvings = 60;  // below a double's resolution
  for (int i = 0; i < halvings; ++i) {
    const double middle = low + (high - low) / 2.0;
    (equation(middle) > 0.0 ? low : high) = middle;
  }
  GammaWear out{.shape_rate = high, .scale = s.rate() / high};
  for (const auto& [dx, dy] : s.each) {
    const double shape = out.shape_rate * dx;
    out.log_likelihood += (shape - 1.0) * std::log(dy) - dy / out.scale - shape * std::log(out.scale) -
                          boost::math::lgamma(shape);
  }
  return out;
}

InverseGaussianWear fit_inverse_gaussian_wear(std::span<const double> exposure,
                                              std::span<const double> wear) {
  const Steps s = steps_of(exposure, wear, true);
  InverseGaussianWear out{.rate = s.rate()};
  double squares = 0.0, logs = 0.0;
  for (const auto& [dx, dy] : s.each) {
    const double off = dy / out.rate - dx;
    squares += off * off / dy;
    logs += 2.0 * std::log(dx) - 3.0 * std::log(dy);
  }
  out.shape = s.n / squares;
  out.log_likelihood = 0.5 * (s.n * (std::log(out.shape / (2.0 * std::numbers::pi)) - 1.0) + logs);
  return out;
}

}  // namespace wheelend
