#include "wheelend/use_model.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double year_days = 365.25;
constexpr double least_share = 0.05;  // of a unit's middle block: a block at rest has no logarithm
constexpr int most_lags = 24;
constexpr std::array<double, 5> relaxations{45.0, 90.0, 180.0, 360.0, 720.0};  // days that are tried

double square(double x) { return x * x; }

double angle_of(double day) { return 2.0 * std::numbers::pi * day / year_days; }

// Logarithms of a unit's blocks; NaN where not known.
std::vector<double> logs_of(const UseBlocks& unit) {
  std::vector<double> known;
  for (const double v : unit.km_per_day) {
    if (!std::isnan(v) && v > 0.0) {
      known.push_back(v);
    }
  }
  std::vector<double> out;
  const double least = known.empty() ? 1.0 : least_share * median(known);
  for (const double v : unit.km_per_day) {
    out.push_back(std::isnan(v) ? v : std::log(std::max(v, least)));
  }
  return out;
}

struct Season {
  double cc = 0.0, cs = 0.0, ss = 0.0, c = 0.0, s = 0.0;
};

// Share of the variance of a slow path that is left in its mean over `days`.
double kept_in_mean(double days, double relaxation) {
  const double r = days / relaxation;
  return r < 1e-6 ? 1.0 : 2.0 / r * (1.0 - (1.0 - std::exp(-r)) / r);
}

// Mean of exp(-t / relaxation) for t from `from` to `to`.
double mean_decay(double from, double to, double relaxation) {
  const double span = to - from;
  return span < 1e-9 ? std::exp(-from / relaxation)
                     : relaxation / span * (std::exp(-from / relaxation) - std::exp(-to / relaxation));
}

class Learning {
 public:
  Learning(std::span<const UseBlocks> units, const UseModel& prior, double prior_units)
      : units_(units), model_(prior), prior_(prior), weight_(prior_units) {
    for (const UseBlocks& unit : units) {
      logs_.push_back(logs_of(unit));
    }
  }

  UseModel run() {
    learn_season();
    learn_variogram();
    learn_levels();
    return model_;
  }

 private:
  static double mean_of(const std::vector<double>& y, double& n) {
    double sum = 0.0;
    n = 0.0;
    for (const double v : y) {
      if (!std::isnan(v)) {
        sum += v;
        n += 1.0;
      }
    }
    return n > 0.0 ? sum / n : 0.0;
  }

  [[nodiscard]] double middle(const UseBlocks& unit, std::size_t b) const {
    return unit.end_day[b] - model_.block_days / 2.0;
  }

  void learn_season() {
    const double least_blocks = 1.5 * year_days / model_.block_days;
    Season sums{.cc = 20.0, .ss = 20.0};  // no season counts as twenty blocks
    for (std::size_t u = 0; u < units_.size(); ++u) {
      double n = 0.0;
      const double mean = mean_of(logs_[u], n);
      if (n < least_blocks) {
        continue;
      }
      for (std::size_t b = 0; b < logs_[u].size(); ++b) {
        if (std::isnan(logs_[u][b])) {
          continue;
        }
        const double angle = angle_of(middle(units_[u], b)), c = std::cos(angle), s = std::sin(angle);
        sums.cc += c * c;
        sums.cs += c * s;
        sums.ss += s * s;
        sums.c += c * (logs_[u][b] - mean);
        sums.s += s * (logs_[u][b] - mean);
      }
    }
    const double det = sums.cc * sums.ss - sums.cs * sums.cs;
    model_.season_cos = (sums.ss * sums.c - sums.cs * sums.s) / det;
    model_.season_sin = (sums.cc * sums.s - sums.cs * sums.c) / det;
    for (std::size_t u = 0; u < units_.size(); ++u) {
      for (std::size_t b = 0; b < logs_[u].size(); ++b) {
        const double angle = angle_of(middle(units_[u], b));
        logs_[u][b] -= model_.season_cos * std::cos(angle) + model_.season_sin * std::sin(angle);
      }
    }
  }

  void learn_variogram() {
    std::array<double, most_lags + 1> sum{}, pairs{};
    for (const std::vector<double>& y : logs_) {
      for (std::size_t b = 0; b < y.size(); ++b) {
        for (std::size_t lag = 1; lag <= most_lags && b + lag < y.size(); ++lag) {
          if (!std::isnan(y[b]) && !std::isnan(y[b + lag])) {
            sum[lag] += square(y[b + lag] - y[b]) / 2.0;
            pairs[lag] += 1.0;
          }
        }
      }
    }
    // The prior's own variogram counts at each lag as if `prior units` had been seen.
    for (std::size_t lag = 1; lag <= most_lags; ++lag) {
      const double there =
          prior_.scatter +
          prior_.drift * (1.0 - std::exp(-static_cast<double>(lag) * prior_.block_days / prior_.drift_days));
      sum[lag] += weight_ * there;
      pairs[lag] += weight_;
    }
    double best = std::numeric_limits<double>::infinity();
    for (const double relaxation : relaxations) {
      const auto [scatter, drift, loss] = fit(sum, pairs, relaxation);
      if (loss < best) {
        best = loss;
        model_.scatter = scatter;
        model_.drift = drift;
        model_.drift_days = relaxation;
      }
    }
  }

  // Least squares of the variogram on 1 and 1 - exp(-lag / relaxation), neither below 0.
  static std::array<double, 3> fit(const std::array<double, most_lags + 1>& sum,
                                   const std::array<double, most_lags + 1>& pairs, double relaxation) {
    double w = 0.0, wx = 0.0, wxx = 0.0, wy = 0.0, wxy = 0.0;
    const auto x_of = [relaxation](std::size_t lag) {
      return 1.0 - std::exp(-static_cast<double>(lag) * 30.0 / relaxation);
    };
    for (std::size_t lag = 1; lag <= most_lags; ++lag) {
      const double x = x_of(lag), y = sum[lag] / pairs[lag];
      w += pairs[lag];
      wx += pairs[lag] * x;
      wxx += pairs[lag] * x * x;
      wy += pairs[lag] * y;
      wxy += pairs[lag] * x * y;
    }
    const double det = w * wxx - wx * wx;
    double scatter = (wxx * wy - wx * wxy) / det, drift = (w * wxy - wx * wy) / det;
    if (drift < 0.0) {
      drift = 0.0;
      scatter = wy / w;
    } else if (scatter < 0.0) {
      scatter = 0.0;
      drift = wxy / wxx;
    }
    double loss = 0.0;
    for (std::size_t lag = 1; lag <= most_lags; ++lag) {
      loss += pairs[lag] * square(sum[lag] / pairs[lag] - scatter - drift * x_of(lag));
    }
    return {scatter, drift, loss};
  }

  void learn_levels() {
    const std::size_t groups = prior_.log_km_per_day.size();
    std::vector<double> sum(groups, 0.0), count(groups, 0.0);
    std::vector<double> means;
    for (const std::vector<double>& y : logs_) {
      double n = 0.0;
      means.push_back(mean_of(y, n));
      means.back() = n > 0.0 ? means.back() : std::numeric_limits<double>::quiet_NaN();
    }
    constexpr double prior_group_spread =
        0.5;  // of a kind's use about the typical: common practice, no source
    for (std::size_t u = 0; u < means.size(); ++u) {
      if (!std::isnan(means[u])) {
        sum[static_cast<std::size_t>(units_[u].group)] += means[u];
        count[static_cast<std::size_t>(units_[u].group)] += 1.0;
      }
    }
    const double ratio = prior_.between_units / square(prior_group_spread);
    for (std::size_t g = 0; g < groups; ++g) {
      model_.log_km_per_day[g] = (sum[g] + ratio * prior_.log_km_per_day[g]) / (count[g] + ratio);
    }
    double squares = weight_ * prior_.between_units, n = weight_;
    for (std::size_t u = 0; u < means.size(); ++u) {
      if (std::isnan(means[u])) {
        continue;
      }
      double blocks = 0.0;
      mean_of(logs_[u], blocks);
      const double span = blocks * model_.block_days;
      const double of_mean = model_.scatter / blocks + model_.drift * kept_in_mean(span, model_.drift_days);
      const double deviation = means[u] - model_.log_km_per_day[static_cast<std::size_t>(units_[u].group)];
      squares += square(deviation) - of_mean;
      n += 1.0;
    }
    model_.between_units = std::max(squares / n, 1e-4);
  }

  std::span<const UseBlocks> units_;
  UseModel model_;
  const UseModel& prior_;
  const double weight_;
  std::vector<std::vector<double>> logs_;
};

}  // namespace

UseModel learn_use(std::span<const UseBlocks> units, const UseModel& prior, double prior_units) {
  return Learning(units, prior, prior_units).run();
}

UseForecast::UseForecast(const UseModel& model, const UseBlocks& unit) : model_(model) {
  mean_ = model.log_km_per_day[static_cast<std::size_t>(unit.group)];
  const std::vector<double> y = logs_of(unit);
  end_ = unit.end_day.empty() ? 0.0 : unit.end_day.back();
  std::vector<double> deviation;
  for (std::size_t b = 0; b < y.size(); ++b) {
    if (!std::isnan(y[b])) {
      const double middle = unit.end_day[b] - model.block_days / 2.0;
      before_.push_back(end_ - middle);
      deviation.push_back(y[b] - mean_ - season(middle));
    }
  }
  const auto n = static_cast<Eigen::Index>(before_.size());
  Eigen::MatrixXd covariance(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      const double apart =
          std::abs(before_[static_cast<std::size_t>(i)] - before_[static_cast<std::size_t>(j)]);
      covariance(i, j) = model.between_units + model.drift * std::exp(-apart / model.drift_days) +
                         (i == j ? model.scatter + 1e-6 : 0.0);
    }
  }
  const Eigen::MatrixXd inverse = covariance.llt().solve(Eigen::MatrixXd::Identity(n, n));
  const Eigen::VectorXd weight = inverse * Eigen::Map<const Eigen::VectorXd>(deviation.data(), n);
  inverse_.assign(inverse.data(), inverse.data() + n * n);
  weight_.assign(weight.data(), weight.data() + n);
}

double UseForecast::season(double day) const {
  const double angle = angle_of(day);
  return model_.season_cos * std::cos(angle) + model_.season_sin * std::sin(angle);
}

UseAhead UseForecast::between(double from, double to) const {
  const double span = std::max(to - from, 1.0);
  const auto n = static_cast<Eigen::Index>(before_.size());
  Eigen::VectorXd shared(n);
  for (Eigen::Index b = 0; b < n; ++b) {
    const double before = before_[static_cast<std::size_t>(b)];
    shared[b] = model_.between_units +
                model_.drift * mean_decay(from + before, from + before + span, model_.drift_days);
  }
  const double kept = kept_in_mean(span, model_.drift_days);
  const double noise = model_.scatter * std::min(model_.block_days / span, 4.0);
  double variance = model_.between_units + model_.drift * kept + noise;
  double mean = mean_;
  if (n > 0) {
    const Eigen::Map<const Eigen::MatrixXd> inverse(inverse_.data(), n, n);
    mean += shared.dot(Eigen::Map<const Eigen::VectorXd>(weight_.data(), n));
    variance -= shared.dot(inverse * shared);
  }
  // The mean of what scatters is above the middle: half the variance that the mean over the span averages
  // out.
  const double averaged =
      model_.drift * (1.0 - kept) + model_.scatter * std::max(1.0 - model_.block_days / span, 0.0);
  // The season's mean over the span, by its middle and what is left of it.
  const double half = std::numbers::pi * span / year_days;
  const double left = half < 1e-6 ? 1.0 : std::sin(half) / half;
  return {.mean = mean + averaged / 2.0 + left * season(end_ + from + span / 2.0),
          .variance = std::max(variance, 1e-6)};
}

}  // namespace wheelend
