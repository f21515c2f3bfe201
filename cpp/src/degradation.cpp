#include "wheelend/degradation.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include "wheelend/error.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double huber_k =
    1.345;  // 95 % efficient at the normal distribution: Huber, Robust Statistics, 1981
constexpr double mad_to_sd = 1.4826022;  // 1 / normal quantile of 3/4
constexpr int rounds = 8;                // of reweighting; the weights settle to 1e-6 in five or six
constexpr std::int64_t enough_readings = 3;

struct Robust {
  Eigen::ArrayXd weights = {};  // of the readings
  double slope = nan;           // of y on x
  double intercept = nan;
  double squares = 0.0;  // weighted residual sum of squares
  double weight = 0.0;   // sum of weights less the two that the line costs
  double sxx = 0.0;
};

// Pairwise-slope start, then Huber weights.
Robust robust_line(const Run& run, double sd_floor) {
  const auto n = static_cast<Eigen::Index>(run.x.size());
  const Eigen::Map<const Eigen::ArrayXd> x(run.x.data(), n), y(run.y.data(), n);
  const PairwiseSlopes start = pairwise_slopes(run.x, run.y, 0.9);
  Robust r{.slope = start.slope, .intercept = start.intercept_of_residuals};
  Eigen::ArrayXd weight = Eigen::ArrayXd::Ones(n);
  for (int round = 0; round < rounds; ++round) {
    const Eigen::ArrayXd residual = y - r.intercept - r.slope * x;
    const Eigen::ArrayXd size = residual.abs();
    const std::vector<double> sizes(size.data(), size.data() + n);
    const double sd = std::max(sd_floor, mad_to_sd * median(sizes));
    weight = (size <= huber_k * sd).select(Eigen::ArrayXd::Ones(n), huber_k * sd / size.max(sd * 1e-12));
    const double sum = weight.sum();
    const double mx = (weight * x).sum() / sum, my = (weight * y).sum() / sum;
    r.sxx = (weight * (x - mx).square()).sum();
    if (!(r.sxx > 0.0)) {
      break;
    }
    r.slope = (weight * (x - mx) * (y - my)).sum() / r.sxx;
    r.intercept = my - r.slope * mx;
  }
  r.weights = weight;
  r.squares = (weight * (y - r.intercept - r.slope * x).square()).sum();
  r.weight = std::max(weight.sum() - 2.0, 0.0);
  return r;
}

bool has_slope(const Run& run) {
  return run.x.size() >= 2 &&
         *std::min_element(run.x.begin(), run.x.end()) < *std::max_element(run.x.begin(), run.x.end());
}

struct Group {
  double rate = 0.0, spread = 0.0, sd = 0.0;
};

// Rate and spread of a group from its runs' slopes. Sorting first makes the sums free of the order of the
// runs.
Group learn_group(std::vector<const Robust*> lines, const GroupPrior& prior, const SettleOptions& options) {
  std::sort(lines.begin(), lines.end(), [](const Robust* a, const Robust* b) {
    return a->slope != b->slope ? a->slope < b->slope
                                : (a->sxx != b->sxx ? a->sxx < b->sxx : a->squares < b->squares);
  });
  const double doubt =
      1.0 + 1.0 / options.prior_mean_runs;  // of the group's rate itself, before a run has spoken
  Group g{.rate = prior.rate, .spread = prior.spread * std::sqrt(doubt), .sd = options.reading_sd_floor};
  double squares = 0.0, weight = 0.0;
  for (const Robust* line : lines) {
    squares += line->squares;
    weight += line->weight;
  }
  // The floor guards the answers; it must not pass for scatter of the readings here, or the scatter between
  // runs, which is what the readings leave over, would come out too small.
  const double seen_variance =
      weight > 0.0 ? squares / weight : options.reading_sd_floor * options.reading_sd_floor;
  g.sd = std::max(options.reading_sd_floor, std::sqrt(seen_variance));
  if (lines.empty()) {
    return g;
  }
  std::vector<double> rates, errors;
  for (const Robust* line : lines) {
    rates.push_back(-line->slope);
    errors.push_back(seen_variance / line->sxx);
  }
  // Only runs that tell more than the prior does may shape the group.
  std::vector<double> told;
  double error = 0.0;
  for (std::size_t i = 0; i < rates.size(); ++i) {
    if (errors[i] < g.spread * g.spread) {
      told.push_back(rates[i]);
      error += errors[i];
    }
  }
  if (told.empty()) {
    return g;
  }
  const auto n = static_cast<double>(told.size());
  const double middle = median(told);
  std::vector<double> away;
  for (const double r : told) {
    away.push_back(std::abs(r - middle));
  }
  const double scatter = mad_to_sd * median(away);
  const double between = std::max(scatter * scatter - error / n, 0.0);
  g.rate = (n * middle + options.prior_mean_runs * prior.rate) / (n + options.prior_mean_runs);
  const double shown = n - 1.0;  // a single run shows no spread between runs
  const double spread_squared =
      (shown * between + options.prior_runs * prior.spread * prior.spread) / (shown + options.prior_runs);
  g.spread = std::sqrt(spread_squared * (1.0 + 1.0 / (n + options.prior_mean_runs)));
  return g;
}

// One Gaussian solution: the readings by their weights, the rate pulled towards its group.
Settled settle_run(const Run& run, const Eigen::ArrayXd& weight, const Group& group) {
  const auto n = static_cast<Eigen::Index>(run.x.size());
  const Eigen::Map<const Eigen::ArrayXd> x(run.x.data(), n), y(run.y.data(), n);
  const double last = x.maxCoeff();
  const Eigen::ArrayXd back = last - x;  // level at x is level_last + rate * back
  const double variance = group.sd * group.sd;
  const double pull = variance / (group.spread * group.spread);
  const double cross = (weight * back).sum();
  Eigen::Matrix2d normal;
  normal << weight.sum(), cross, cross, (weight * back.square()).sum() + pull;
  const Eigen::Matrix2d inverse = normal.inverse();
  const Eigen::Vector2d solution =
      inverse * Eigen::Vector2d((weight * y).sum(), (weight * back * y).sum() + pull * group.rate);
  return {.readings = n,
          .level = solution(0),
          .level_se = std::sqrt(variance * inverse(0, 0)),
          .rate = solution(1),
          .rate_se = std::sqrt(variance * inverse(1, 1)),
          .covariance = variance * inverse(0, 1),
          .from_group = n < enough_readings};
}

// Each of these would end in 0/0 or in another group's memory.
void require_usable(std::span<const Run> runs, std::span<const GroupPrior> priors,
                    const SettleOptions& options) {
  if (!(options.reading_sd_floor > 0.0) || !(options.prior_runs > 0.0) || !(options.prior_mean_runs > 0.0)) {
    throw ColumnError("settle() needs a floor of the reading error and a weight of the prior above 0");
  }
  for (const Run& run : runs) {
    require_same_size(run.x.size(), run.y.size(), "y of a run");
    if (run.group < 0 || static_cast<std::size_t>(run.group) >= priors.size()) {
      throw ColumnError("a run is of group " + std::to_string(run.group) + ", of which there is no prior");
    }
    const GroupPrior& prior = priors[static_cast<std::size_t>(run.group)];
    if (!std::isfinite(prior.rate) || !(prior.spread > 0.0)) {
      throw ColumnError("a group needs a finite rate and a spread above 0");
    }
  }
}

}  // namespace

std::vector<Settled> settle(std::span<const Run> runs, std::span<const GroupPrior> priors,
                            const SettleOptions& options) {
  if (runs.empty()) {
    return {};
  }
  require_usable(runs, priors, options);
  // A misread is told from the run's own readings: held against the group, a tire unlike its group would lose
  // the very readings that say so. Below three readings there is nothing to tell by.
  std::vector<Robust> own(runs.size());
  std::vector<std::vector<const Robust*>> lines(priors.size());
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const Run& run = runs[i];
    const auto n = static_cast<Eigen::Index>(run.x.size());
    if (n >= enough_readings && has_slope(run)) {
      own[i] = robust_line(run, options.reading_sd_floor);
      lines[static_cast<std::size_t>(run.group)].push_back(&own[i]);
    } else {
      own[i].weights = Eigen::ArrayXd::Ones(n);
    }
  }
  std::vector<Group> groups;
  for (std::size_t g = 0; g < priors.size(); ++g) {
    groups.push_back(learn_group(std::move(lines[g]), priors[g], options));
  }
  std::vector<Settled> out;
  out.reserve(runs.size());
  for (std::size_t i = 0; i < runs.size(); ++i) {
    out.push_back(runs[i].x.empty()
                      ? Settled{}
                      : settle_run(runs[i], own[i].weights, groups[static_cast<std::size_t>(runs[i].group)]));
  }
  return out;
}

}  // namespace wheelend
