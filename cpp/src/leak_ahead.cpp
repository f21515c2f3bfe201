#include "leak_ahead.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "wheelend/line_fit.hpp"
#include "wheelend/loss_laws.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double horizon = 10 * 365.25;
constexpr double least_rate = 1e-7;  // of u a day: a thousandth of a sound tire's
// Middles of slices of equal probability of the normal distribution: 10 of the rate, 3 of the level.
constexpr std::array<double, 5> rate_nodes{0.1257, 0.3853, 0.6745, 1.0364, 1.6449};
constexpr std::array<double, 3> level_nodes{-1.0, 0.0,
                                            1.0};  // and their weights: a variance of 1 - see below
constexpr std::array<double, 3> level_weights{0.5, 1.0, 0.5};
constexpr std::size_t most_points = most_parts * 2 * rate_nodes.size() * level_nodes.size();
constexpr double light = 0.01;  // parts below it are left out

struct Point {
  double days, w;
};

}  // namespace

double loss_rate(const AirState& tire, bool only_leaks, double level) {
  struct Rate {
    double w, b, sd;
  };
  std::array<Rate, most_parts> rates;
  std::size_t count = 0;
  double total = 0.0, mean = 0.0, square = 0.0;
  tire.parts.each([&](std::size_t j, const AirPart& p) {
    if (!only_leaks || j != 0) {
      rates[count++] = {p.w, p.b, std::sqrt(p.bb)};
      total += p.w, mean += p.w * p.b, square += p.w * (p.b * p.b + p.bb);
    }
  });
  if (!(total > 0.0)) {
    return std::numeric_limits<double>::quiet_NaN();
  }
  mean /= total;
  const double sd = std::sqrt(std::max(square / total - mean * mean, 0.0));
  // Newton's steps, held between bounds that close in.
  double low = mean - 12.0 * sd, high = mean + 12.0 * sd, x = mean;
  for (int i = 0; i < 60 && high - low > 1e-7 * sd; ++i) {
    double sum = 0.0, slope = 0.0;
    for (std::size_t k = 0; k < count; ++k) {
      const double z = (x - rates[k].b) / rates[k].sd;
      sum += rates[k].w * normal_cdf(z);
      slope += rates[k].w * std::exp(-0.5 * z * z) / rates[k].sd;
    }
    (sum < level * total ? low : high) = x;
    const double step = (level * total - sum) / (slope * std::numbers::inv_sqrtpi / std::numbers::sqrt2);
    const double next = x + step;
    const bool inside = next > low && next < high;
    x = inside ? next : 0.5 * (low + high);
    if (inside && std::abs(step) < 1e-5 * sd) {
      break;  // the step after it would be its square
    }
  }
  return std::max(x, 0.0);  // no tire gains air
}

std::array<double, 7> days_below(const AirState& tire, double limit_pa) {
  const double sea = sea_level_pressure.si(), at_target = tire.target_share;
  std::array<Point, most_points> points;
  std::size_t count = 0;
  double total = 0.0;
  tire.parts.each([&](std::size_t of_class, const AirPart& p) {
    if (p.w < light) {
      return;
    }
    const double slope = p.ub / p.bb, rest = std::sqrt(std::max(p.uu - slope * p.ub, 0.0)),
                 sd = std::sqrt(p.bb);
    for (std::size_t j = 0; j < 2 * rate_nodes.size(); ++j) {
      const double z = j % 2 == 0 ? rate_nodes[j / 2] : -rate_nodes[j / 2];
      const double b = std::max(p.b + z * sd, least_rate);
      const bool by_gauge = of_class == 0 || (j / 2) % 2 == 0;
      for (std::size_t i = 0; i < level_nodes.size(); ++i) {
        // Three points with weights 1/4, 1/2, 1/4 have the variance of 1 at +-sqrt(2).
        const double u = p.u + slope * z * sd + 1.4142135623730951 * level_nodes[i] * rest;
        const double gauge = std::max(std::exp(u) - sea, 0.0);
        // b is the loss of ln(absolute) at target: in Pa a day there, and here by the law.
        const double absolute = std::exp(tire.target);
        const double loss = by_gauge ? b * absolute * gauge / (absolute * at_target) : b * (gauge + sea);
        const double until =
            time_to_fall(gauge, limit_pa, loss, sea, by_gauge ? LossLaw::gauge : LossLaw::absolute);
        points[count++] = {until, p.w * level_weights[i]};
        total += p.w * level_weights[i];
      }
    }
  });
  std::sort(points.begin(), points.begin() + static_cast<std::ptrdiff_t>(count),
            [](const Point& a, const Point& b) { return a.days < b.days; });
  std::array<double, 7> out;
  double sum = 0.0, before = 0.0;
  std::size_t i = 0;
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    const double wanted = quantile_levels[q] * total;
    while (i + 1 < count && sum + points[i].w < wanted) {
      sum += points[i].w;
      before = points[i].days;
      ++i;
    }
    const double part = std::clamp((wanted - sum) / points[i].w, 0.0, 1.0);
    const double until =
        std::isfinite(points[i].days) ? before + part * (points[i].days - before) : points[i].days;
    out[q] = until <= horizon ? until : std::numeric_limits<double>::infinity();
  }
  return out;
}

}  // namespace wheelend
