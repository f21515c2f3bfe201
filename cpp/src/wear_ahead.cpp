#include "wheelend/wear_ahead.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "wheelend/line_fit.hpp"
#include "wheelend/wear.hpp"

namespace wheelend {

namespace {

constexpr double year_days = 365.25;
constexpr double horizon_days = 10.0 * year_days;
constexpr std::size_t grid_points = 48;
constexpr std::size_t draws = 64;
constexpr double quarter = 91.3125;  // days
constexpr std::array<unsigned, 16> bases{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53};

double square(double x) { return x * x; }

double kept_in_mean(double days, double relaxation) {
  const double r = days / relaxation;
  return 2.0 / r * (1.0 - (1.0 - std::exp(-r)) / r);
}

double halton(std::size_t index, unsigned base) {
  double f = 1.0, r = 0.0;
  for (std::size_t i = index; i > 0; i /= base) {
    f /= base;
    r += f * static_cast<double>(i % base);
  }
  return r;
}

// Fixed normal points that fill the space evenly (Halton 1960), each with its opposite.
const Eigen::MatrixXd& normal_points() {
  static const Eigen::MatrixXd points = [] {
    Eigen::MatrixXd p(draws, bases.size());
    for (std::size_t j = 0; j < draws / 2; ++j) {
      for (std::size_t k = 0; k < bases.size(); ++k) {
        const double z = normal_quantile(halton(j + 20, bases[k]));
        p(static_cast<Eigen::Index>(2 * j), static_cast<Eigen::Index>(k)) = z;
        p(static_cast<Eigen::Index>(2 * j + 1), static_cast<Eigen::Index>(k)) = -z;
      }
    }
    // To unit covariance: few points must not change the spread.
    const Eigen::MatrixXd covariance = p.transpose() * p / static_cast<double>(draws);
    const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
    return Eigen::MatrixXd(factor.matrixL().solve(p.transpose()).transpose());
  }();
  return points;
}

// One possible item: what it needs until its shallowest channel is at the limit, as distance of middling
// severity.
struct Draw {
  double log_needed = 0.0;  // -infinity: there already
  double severity = 0.0;
  double depth = 0.0;
  double rate = 0.0;
};

Draw draw_of(const Eigen::VectorXd& x, const ItemState& state, double full, double limit) {
  const double common = std::clamp(x[state_depth], -0.2 * full, 1.6 * full);
  const WearCurve curve{full, std::exp(std::min(x[state_strength], 3.0))};
  Draw d{.severity = x[state_severity]};
  double least_wear = std::numeric_limits<double>::infinity(), shallowest = least_wear, slope = 1.0;
  for (const std::size_t g : state.channels) {
    const Channel channel{.offset = x[static_cast<Eigen::Index>(state_offsets + g)],
                          .one_sided = state.side[g] * x[state_one_sided],
                          .shoulder = state.outside[g] * std::max(x[state_shoulder], 0.0)};
    const double depth = channel.depth(common, full);
    if (depth < shallowest) {
      shallowest = depth;
      slope = channel.slope(common, full);
    }
    const double zero = -full / curve.strength * 0.95;
    const double at_limit = std::max(channel.common_at(limit, full), zero);
    least_wear = std::min(least_wear, curve.wear_between(std::max(common, zero), at_limit));
  }
  const double rate = std::exp(x[state_rate]);
  d.log_needed = least_wear > 0.0 ? std::log(least_wear / rate) : -std::numeric_limits<double>::infinity();
  d.depth = std::max(shallowest, 0.0);
  d.rate = rate * std::max(curve.rate_at(common), 0.0) * slope;
  return d;
}

// Where a distribution function that rises along the grid reaches p; straight in the logarithm between
// points.
double quantile_on(const std::vector<double>& at, const std::vector<double>& cumulated, double start,
                   double p) {
  if (start >= p) {
    return 0.0;
  }
  for (std::size_t t = 0; t < at.size(); ++t) {
    if (cumulated[t] >= p) {
      const double before = t == 0 ? start : cumulated[t - 1];
      const double share = cumulated[t] > before ? (p - before) / (cumulated[t] - before) : 1.0;
      if (t == 0) {
        return share * at[0];
      }
      return std::exp(std::log(at[t - 1]) + share * (std::log(at[t]) - std::log(at[t - 1])));
    }
  }
  return std::numeric_limits<double>::infinity();
}

}  // namespace

const std::vector<double>& Ahead::days() {
  static const std::vector<double> grid = [] {
    std::vector<double> g;
    for (std::size_t t = 0; t < grid_points; ++t) {
      g.push_back(std::exp(std::log(horizon_days) * static_cast<double>(t) / (grid_points - 1)));
    }
    return g;
  }();
  return grid;
}

Ahead::Ahead(const UseForecast& use, double gap, const WearSpreads& spreads, double now, double season_cos,
             double season_sin) {
  for (const double t : days()) {
    const UseAhead u = use.between(gap, gap + t);
    log_distance_.push_back(u.mean + std::log(t));
    variance_.push_back(u.variance);
  }
  const UseAhead soon = use.between(gap, gap + quarter);
  km_per_day_ = std::exp(soon.mean);
  use_variance_ = soon.variance;
  gap_variance_ = gap >= 1.0 ? use.between(0.0, gap).variance : 0.0;
  add_severity(spreads, false, now, season_cos, season_sin);
}

Ahead::Ahead(double km_per_day, const WearSpreads& spreads, double now, double season_cos, double season_sin)
    : km_per_day_(km_per_day) {
  for (const double t : days()) {
    log_distance_.push_back(std::log(km_per_day * t));
    variance_.push_back(0.0);
  }
  add_severity(spreads, true, now, season_cos, season_sin);
}

void Ahead::add_severity(const WearSpreads& s, bool by_time, double now, double season_cos,
                         double season_sin) {
  const double spread = square(s.severity) + (by_time ? square(s.use_drift) : 0.0);
  for (std::size_t t = 0; t < days().size(); ++t) {
    const double span = days()[t], relaxation = s.severity_days;
    const double kept = relaxation / span * (1.0 - std::exp(-span / relaxation));
    const double mean_variance = spread * kept_in_mean(span, relaxation);
    kept_.push_back(kept);
    severity_variance_.push_back(std::max(mean_variance - spread * kept * kept, 1e-9));
    const double half = std::numbers::pi * span / year_days;
    const double angle = 2.0 * std::numbers::pi * (now + span / 2.0) / year_days;
    const double season =
        std::sin(half) / half * (season_cos * std::cos(angle) + season_sin * std::sin(angle));
    log_distance_[t] += season + spread * (1.0 - kept_in_mean(span, relaxation)) / 2.0;
  }
}

Passage passage(const ItemState& state, double full, double limit, const Ahead& ahead,
                double exposure_since) {
  const auto n = static_cast<Eigen::Index>(state.mean.size());
  const Eigen::Map<const Eigen::VectorXd> mean(state.mean.data(), n);
  Eigen::MatrixXd covariance = Eigen::Map<const Eigen::MatrixXd>(state.covariance.data(), n, n);
  covariance(state_depth, state_depth) +=
      square(std::exp(state.mean[state_rate]) * exposure_since) * ahead.gap_variance();
  covariance.diagonal().array() += 1e-12;
  const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
  const Eigen::MatrixXd& points = normal_points();
  const Eigen::Index dimensions = std::min<Eigen::Index>(n, points.cols());
  std::vector<Draw> all;
  const Eigen::MatrixXd root = factor.matrixL();
  for (std::size_t j = 0; j < draws; ++j) {
    const Eigen::VectorXd x =
        mean +
        root.leftCols(dimensions) * points.row(static_cast<Eigen::Index>(j)).head(dimensions).transpose();
    all.push_back(draw_of(x, state, full, limit));
  }
  Passage out;
  std::vector<double> depths;
  double log_rate = 0.0, log_rate_squares = 0.0;
  for (const Draw& d : all) {
    depths.push_back(d.depth);
    log_rate += d.rate / draws;
    log_rate_squares += d.rate * d.rate / draws;
  }
  out.depth = median(depths);
  out.rate = log_rate;
  out.rate_sd = std::sqrt(std::max(log_rate_squares - log_rate * log_rate, 0.0));
  out.rate_per_day = out.rate * ahead.km_per_day();
  out.rate_per_day_sd = out.rate_per_day * std::sqrt(square(out.rate_sd / out.rate) + ahead.use_variance());
  const std::vector<double>& grid = Ahead::days();
  std::vector<double> by_day(grid.size()), by_distance(grid.size()), distance(grid.size());
  double there = 0.0;
  for (const Draw& d : all) {
    there += std::isinf(d.log_needed) ? 1.0 / draws : 0.0;
  }
  for (std::size_t t = 0; t < grid.size(); ++t) {
    const double sd = std::sqrt(ahead.variance(t) + ahead.severity_variance(t));
    const double sd_severity = std::sqrt(ahead.severity_variance(t));
    distance[t] = ahead.km_per_day() * grid[t];
    for (const Draw& d : all) {
      if (std::isinf(d.log_needed)) {
        by_day[t] += 1.0 / draws;
        by_distance[t] += 1.0 / draws;
        continue;
      }
      const double severity = d.severity * ahead.severity_kept(t);
      by_day[t] += normal_cdf((ahead.log_distance(t) + severity - d.log_needed) / sd) / draws;
      by_distance[t] += normal_cdf((std::log(distance[t]) + severity - d.log_needed) / sd_severity) / draws;
    }
    if (t > 0) {  // what was reached stays reached
      by_day[t] = std::max(by_day[t], by_day[t - 1]);
      by_distance[t] = std::max(by_distance[t], by_distance[t - 1]);
    }
  }
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    out.days[q] = quantile_on(grid, by_day, there, quantile_levels[q]);
    out.distance[q] = quantile_on(distance, by_distance, there, quantile_levels[q]);
  }
  return out;
}

}  // namespace wheelend
