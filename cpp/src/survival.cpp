#include "wheelend/survival.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <limits>
#include <numeric>
#include <string>

#include "newton.hpp"
#include "wheelend/error.hpp"

namespace wheelend {
namespace {

// Throws for rows that are none; returns how many failed.
double require_lives(const Lives& of) {
  require_same_size(of.life.size(), of.entry.size(), "entry");
  require_same_size(of.life.size(), of.count.size(), "count");
  require_same_size(of.life.size(), of.failed.size(), "failed");
  double failed = 0.0;
  for (std::size_t i = 0; i < of.life.size(); ++i) {
    if (!(of.entry[i] >= 0.0) || !(of.life[i] > of.entry[i]) || std::isinf(of.life[i]) ||
        !(of.count[i] >= 0.0) || std::isinf(of.count[i]) || of.failed[i] > 1) {
      throw ColumnError("row " + std::to_string(i + 1) +
                        ": expected 0 <= entry < life, life finite, failed 0 or 1, and a count of 0 or more");
    }
    failed += of.failed[i] != 0 ? of.count[i] : 0.0;
  }
  if (!(failed > 0.0)) {
    throw ColumnError("nothing is known to have failed");
  }
  return failed;
}

std::vector<double> failure_times(const Lives& of) {
  std::vector<double> times;
  for (std::size_t i = 0; i < of.life.size(); ++i) {
    if (of.failed[i] != 0 && of.count[i] > 0.0) {
      times.push_back(of.life[i]);
    }
  }
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());
  return times;
}

// Lives at risk and failures at each of the times, of the rows that `mine` takes. Sums do not depend on the
// order of the rows where counts are whole.
struct Table {
  std::vector<double> at_risk, failures;
};
template <class Mine>
Table table_of(const Lives& of, const std::vector<double>& times, Mine mine) {
  const std::size_t n = times.size();
  std::vector<double> change(n + 1, 0.0);
  Table out{std::vector<double>(n, 0.0), std::vector<double>(n, 0.0)};
  const auto place = [&](double t) {
    return static_cast<std::size_t>(std::upper_bound(times.begin(), times.end(), t) - times.begin());
  };
  for (std::size_t i = 0; i < of.life.size(); ++i) {
    if (!mine(i)) {
      continue;
    }
    const std::size_t end = place(of.life[i]);  // times up to and at the life
    change[place(of.entry[i])] += of.count[i];
    change[end] -= of.count[i];
    if (of.failed[i] != 0 && of.count[i] > 0.0) {
      out.failures[end - 1] += of.count[i];
    }
  }
  double at_risk = 0.0;
  for (std::size_t j = 0; j < n; ++j) {
    at_risk += change[j];
    out.at_risk[j] = at_risk;
  }
  return out;
}

}  // namespace

std::vector<SurvivalStep> survival_curve(const Lives& lives) {
  require_lives(lives);
  const std::vector<double> times = failure_times(lives);
  const Table t = table_of(lives, times, [](std::size_t) { return true; });
  std::vector<SurvivalStep> out;
  double survival = 1.0, greenwood = 0.0, hazard = 0.0, hazard_variance = 0.0;
  for (std::size_t j = 0; j < times.size(); ++j) {
    const double n = t.at_risk[j], d = t.failures[j];
    survival *= (n - d) / n;
    greenwood += d < n ? d / (n * (n - d)) : 0.0;
    hazard += d / n;
    hazard_variance += d / (n * n);
    out.push_back(
        {times[j], n, d, survival, survival * std::sqrt(greenwood), hazard, std::sqrt(hazard_variance)});
  }
  return out;
}

RestrictedMean restricted_mean(std::span<const SurvivalStep> curve, double horizon) {
  if (!(horizon > 0.0) || std::isinf(horizon)) {
    throw ColumnError("horizon: expected a finite number above 0");
  }
  // Areas from each failure to the horizon, from the end; the curve keeps its last value.
  RestrictedMean out;
  double area = 0.0, variance = 0.0, to = horizon;
  for (std::size_t j = curve.size(); j-- > 0;) {
    const SurvivalStep& s = curve[j];
    if (s.time >= horizon) {
      continue;
    }
    area += s.survival * (to - s.time);
    to = s.time;
    const double left = s.at_risk - s.failures;
    variance += left > 0.0 ? area * area * s.failures / (s.at_risk * left) : 0.0;
  }
  out.mean = area + to;
  out.se = std::sqrt(variance);
  return out;
}

LogRank log_rank(const Lives& lives, std::span<const std::int64_t> group, std::int64_t groups) {
  require_lives(lives);
  require_same_size(lives.life.size(), group.size(), "group");
  if (groups < 2) {
    throw ColumnError("group: expected two groups or more");
  }
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (group[i] < 0 || group[i] >= groups) {
      throw ColumnError("row " + std::to_string(i + 1) + ": there is no group " + std::to_string(group[i]));
    }
  }
  const std::vector<double> times = failure_times(lives);
  std::vector<Table> of;
  for (std::int64_t g = 0; g < groups; ++g) {
    of.push_back(table_of(lives, times, [&](std::size_t i) { return group[i] == g; }));
  }
  const auto k = static_cast<Eigen::Index>(groups - 1);  // the last follows from the others
  Eigen::VectorXd excess = Eigen::VectorXd::Zero(k);
  Eigen::MatrixXd variance = Eigen::MatrixXd::Zero(k, k);
  for (std::size_t j = 0; j < times.size(); ++j) {
    double n = 0.0, d = 0.0;
    for (const Table& t : of) {
      n += t.at_risk[j];
      d += t.failures[j];
    }
    const double spread = n > 1.0 ? d * (n - d) / (n - 1.0) : 0.0;
    for (Eigen::Index a = 0; a < k; ++a) {
      const Table& t = of[static_cast<std::size_t>(a)];
      const double share = t.at_risk[j] / n;
      excess(a) += t.failures[j] - d * share;
      for (Eigen::Index b = 0; b < k; ++b) {
        const double other = of[static_cast<std::size_t>(b)].at_risk[j] / n;
        variance(a, b) += spread * share * ((a == b ? 1.0 : 0.0) - other);
      }
    }
  }
  const Eigen::LDLT<Eigen::MatrixXd> solver(variance);
  if (solver.info() != Eigen::Success || !(solver.vectorD().minCoeff() > 0.0)) {
    throw ColumnError("the groups are never at risk together: nothing can be compared");
  }
  const double chi = excess.dot(solver.solve(excess));
  return {chi, groups - 1, boost::math::gamma_q(0.5 * static_cast<double>(groups - 1), 0.5 * chi)};
}

namespace {

struct Life {
  double life, entry;
  bool failed;
  Eigen::VectorXd x;
};

bool before(const Life& a, const Life& b) {
  if (a.life != b.life) {
    return a.life < b.life;
  }
  if (a.failed != b.failed) {
    return a.failed;
  }
  if (a.entry != b.entry) {
    return a.entry < b.entry;
  }
  return std::lexicographical_compare(a.x.begin(), a.x.end(), b.x.begin(), b.x.end());
}

// Sums over those at risk: weight, weight x, weight x x'.
struct Weighted {
  double sum = 0.0;
  Eigen::VectorXd x;
  Eigen::MatrixXd xx;
  explicit Weighted(Eigen::Index k) : x(Eigen::VectorXd::Zero(k)), xx(Eigen::MatrixXd::Zero(k, k)) {}
  void add(const Life& one, double weight) {
    sum += weight;
    x += weight * one.x;
    xx += weight * one.x * one.x.transpose();
  }
};

// -log partial likelihood with its derivatives; `rows` as `before` sorts them.
Point at_coefficients(const std::vector<Life>& rows, Ties ties, const Eigen::VectorXd& at) {
  const Eigen::Index k = at.size();
  Point out{0.0, Eigen::VectorXd::Zero(k), Eigen::MatrixXd::Zero(k, k)};
  for (std::size_t first = 0; first < rows.size();) {
    const double t = rows[first].life;
    std::size_t last = first;
    while (last < rows.size() && rows[last].life == t && rows[last].failed) {
      ++last;
    }
    if (last > first) {
      Weighted risk(k), dying(k);
      for (std::size_t i = first; i < rows.size(); ++i) {
        if (rows[i].entry < t) {
          const double weight = std::exp(at.dot(rows[i].x));
          risk.add(rows[i], weight);
          if (i < last) {
            dying.add(rows[i], weight);
            out.value -= at.dot(rows[i].x);
            out.slope -= rows[i].x;
          }
        }
      }
      const auto d = static_cast<double>(last - first);
      for (std::size_t j = 0; j < last - first; ++j) {
        const double gone = ties == Ties::efron ? static_cast<double>(j) / d : 0.0;
        const double sum = risk.sum - gone * dying.sum;
        const Eigen::VectorXd mean = (risk.x - gone * dying.x) / sum;
        out.value += std::log(sum);
        out.slope += mean;
        out.curvature += (risk.xx - gone * dying.xx) / sum - mean * mean.transpose();
      }
    }
    first = last;
    while (first < rows.size() && rows[first].life == t) {
      ++first;  // still running at t: at risk there, gone after it
    }
  }
  if (!std::isfinite(out.value)) {
    out.value = std::numeric_limits<double>::infinity();
  }
  return out;
}

}  // namespace

HazardFit fit_hazards(const Lives& lives, std::span<const double> x, std::size_t width, Ties ties) {
  require_lives(lives);
  require_same_size(lives.life.size() * width, x.size(), "x");
  if (width == 0) {
    throw ColumnError("x: expected one covariate or more");
  }
  const auto k = static_cast<Eigen::Index>(width);
  Eigen::VectorXd mean = Eigen::VectorXd::Zero(k);
  std::vector<Life> rows;
  for (std::size_t i = 0; i < lives.life.size(); ++i) {
    const Eigen::VectorXd of = Eigen::Map<const Eigen::VectorXd>(x.data() + i * width, k);
    if (!of.allFinite()) {
      throw ColumnError("row " + std::to_string(i + 1) + ": a covariate is not a finite number");
    }
    rows.push_back({lives.life[i], lives.entry[i], lives.failed[i] != 0, of});
  }
  std::sort(rows.begin(), rows.end(), before);
  for (const Life& row : rows) {
    mean += row.x / static_cast<double>(rows.size());
  }
  for (Life& row : rows) {
    row.x -= mean;  // changes no coefficient, and keeps the exponentials small
  }
  const auto f = [&](const Eigen::VectorXd& at) { return at_coefficients(rows, ties, at); };
  const Minimum best = minimise(f, Eigen::VectorXd::Zero(k));
  HazardFit out;
  out.coefficients.assign(best.at.begin(), best.at.end());
  out.log_likelihood = -best.point.value;
  const Point zero = f(Eigen::VectorXd::Zero(k));
  out.log_likelihood_at_zero = -zero.value;
  const Eigen::LLT<Eigen::MatrixXd> information(best.point.curvature);
  out.settled = best.settled && information.info() == Eigen::Success;
  if (out.settled) {
    // Where covariates part the failed from the others the search ends only because the likelihood goes flat:
    // there is next to nothing left of the information that the rows had without covariates.
    constexpr double flat = 1e-9;
    const Eigen::GeneralizedSelfAdjointEigenSolver<Eigen::MatrixXd> left(
        best.point.curvature, zero.curvature, Eigen::EigenvaluesOnly | Eigen::Ax_lBx);
    out.settled = left.info() == Eigen::Success && left.eigenvalues().minCoeff() > flat;
  }
  if (out.settled) {
    const Eigen::MatrixXd covariance = information.solve(Eigen::MatrixXd::Identity(k, k));
    out.covariance.assign(covariance.data(), covariance.data() + covariance.size());
  }
  return out;
}

}  // namespace wheelend
