#include "wheelend/grouped_lines.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <string>
#include <utility>

#include "newton.hpp"
#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {
namespace {

using Eigen::Matrix2d;
using Eigen::MatrixXd;
using Eigen::Vector2d;
using Eigen::VectorXd;

// A unit's readings turned by an orthogonal matrix: a few rows on which what the unit adds acts, and the
// rest, which only knows error. Nothing is lost, and no large sums are subtracted later.
struct Reduced {
  MatrixXd t;                                          // rows x q: of what the unit adds
  MatrixXd x;                                          // rows x p: of the population's line
  VectorXd y;                                          // rows
  double rest_xx = 0.0, rest_xy = 0.0, rest_yy = 0.0;  // of the rest; of x only the rate's column is left
  std::int64_t n = 0;
};

struct Problem {
  std::vector<Reduced> units;
  int p = 2, q = 2;  // columns of the population's line, and of what a unit adds
  bool correlated = true, restricted = true;
  std::int64_t n = 0;
  [[nodiscard]] double freedom() const { return static_cast<double>(restricted ? n - p : n); }
  [[nodiscard]] int parameters() const { return q == 1 ? 1 : (correlated ? 3 : 2); }
  // Lower factor of the variances between units, relative to the error's.
  [[nodiscard]] MatrixXd factor(const VectorXd& at) const {
    MatrixXd l = MatrixXd::Zero(q, q);
    l(0, 0) = at(0);
    if (q == 2) {
      l(1, 0) = correlated ? at(1) : 0.0;
      l(1, 1) = at(correlated ? 2 : 1);
    }
    return l;
  }
};

// Readings in the order of x.
Reduced reduce(const std::vector<std::pair<double, double>>& readings, int p, int q) {
  std::vector<double> x, y;
  for (const auto& [at, level] : readings) {
    x.push_back(at);
    y.push_back(level);
  }
  Reduced r;
  r.n = static_cast<std::int64_t>(x.size());
  const auto n = static_cast<double>(r.n);
  const double x_mean = moments(x).mean, y_mean = moments(y).mean;
  double sxx = 0.0, sxy = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    sxx += (x[i] - x_mean) * (x[i] - x_mean);
    sxy += (x[i] - x_mean) * (y[i] - y_mean);
  }
  const bool slopes = q == 2 && readings.front().first < readings.back().first;
  const double slope = slopes ? sxy / sxx : 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double left = y[i] - y_mean - slope * (x[i] - x_mean);
    r.rest_yy += left * left;
  }
  const int rows = slopes ? 2 : 1;
  r.x = MatrixXd::Zero(rows, p);
  r.y = VectorXd::Zero(rows);
  r.x(0, 0) = std::sqrt(n);
  r.y(0) = std::sqrt(n) * y_mean;
  if (p == 2) {
    r.x(0, 1) = std::sqrt(n) * x_mean;
  }
  if (slopes) {
    r.x(1, 1) = std::sqrt(sxx);
    r.y(1) = sxy / std::sqrt(sxx);
  } else if (p == 2) {
    r.rest_xx = sxx;
    r.rest_xy = sxy;
  }
  r.t = r.x.leftCols(q);
  return r;
}

// What follows from the variances between units, relative to the error's.
struct Profile {
  VectorXd line;           // of the population
  MatrixXd inverse;        // of X'V^-1 X: the error of the line, relative to the error's variance
  double squares = 0.0;    // weighted, of what is left
  double criterion = 0.0;  // -2 log likelihood
  MatrixXd slope;          // of the criterion, by the relative variances
};

Profile profile(const Problem& of, const MatrixXd& variances) {
  Profile out;
  MatrixXd xx = MatrixXd::Zero(of.p, of.p);
  VectorXd xy = VectorXd::Zero(of.p);
  double logs = 0.0;
  std::vector<Eigen::LLT<MatrixXd>> factors;
  factors.reserve(of.units.size());
  for (const Reduced& u : of.units) {
    const MatrixXd v = MatrixXd::Identity(u.t.rows(), u.t.rows()) + u.t * variances * u.t.transpose();
    const auto& factor = factors.emplace_back(v);
    logs += 2.0 * factor.matrixLLT().diagonal().array().log().sum();
    xx += u.x.transpose() * factor.solve(u.x);
    xy += u.x.transpose() * factor.solve(u.y);
    if (of.p == 2) {
      xx(1, 1) += u.rest_xx;
      xy(1) += u.rest_xy;
    }
  }
  const Eigen::LLT<MatrixXd> whole(xx);
  out.line = whole.solve(xy);
  out.inverse = whole.solve(MatrixXd::Identity(of.p, of.p));
  MatrixXd by_logs = MatrixXd::Zero(of.q, of.q), by_squares = by_logs;
  for (std::size_t i = 0; i < of.units.size(); ++i) {
    const Reduced& u = of.units[i];
    const VectorXd left = u.y - u.x * out.line;
    const VectorXd weighted = factors[i].solve(left);
    out.squares += left.dot(weighted) + u.rest_yy;
    if (of.p == 2) {
      const double rate = out.line(1);
      out.squares += rate * (rate * u.rest_xx - 2.0 * u.rest_xy);
    }
    const VectorXd s = u.t.transpose() * weighted;
    by_squares += s * s.transpose();
    by_logs += u.t.transpose() * factors[i].solve(u.t);
    if (of.restricted) {
      const MatrixXd k = u.t.transpose() * factors[i].solve(u.x);
      by_logs -= k * out.inverse * k.transpose();
    }
  }
  const double freedom = of.freedom();
  out.criterion = logs + freedom * (1.0 + std::log(2.0 * std::numbers::pi * out.squares / freedom));
  if (of.restricted) {
    out.criterion += 2.0 * whole.matrixLLT().diagonal().array().log().sum();
  }
  out.slope = by_logs - freedom / out.squares * by_squares;
  return out;
}

VectorXd slope_by_factor(const Problem& of, const VectorXd& at, double* criterion) {
  const MatrixXd l = of.factor(at);
  const Profile p = profile(of, l * l.transpose());
  *criterion = std::isfinite(p.criterion) ? p.criterion : std::numeric_limits<double>::infinity();
  const MatrixXd by = 2.0 * p.slope * l;
  VectorXd out(of.parameters());
  out(0) = by(0, 0);
  if (of.q == 2) {
    if (of.correlated) {
      out(1) = by(1, 0);
    }
    out(of.correlated ? 2 : 1) = by(1, 1);
  }
  return out;
}

Minimum search(const Problem& of, double start) {
  const auto at_point = [&of](const VectorXd& at) {
    Point point;
    point.slope = slope_by_factor(of, at, &point.value);
    const auto k = at.size();
    point.curvature.resize(k, k);
    for (Eigen::Index j = 0; j < k; ++j) {
      // Cube root of a double's resolution: where truncation and rounding of a central difference meet.
      const double h = 6e-6 * std::max(1.0, std::abs(at(j)));
      VectorXd up = at, down = at;
      up(j) += h;
      down(j) -= h;
      double unused = 0.0;
      point.curvature.col(j) =
          (slope_by_factor(of, up, &unused) - slope_by_factor(of, down, &unused)) / (up(j) - down(j));
    }
    point.curvature = (0.5 * (point.curvature + point.curvature.transpose())).eval();
    return point;
  };
  VectorXd first = VectorXd::Constant(of.parameters(), start);
  if (of.q == 2 && of.correlated) {
    first(1) = 0.0;
  }
  return minimise(at_point, first);
}

// (level, rate) on the scaled x back to that of the caller: level at x = 0, rate per unit of x.
struct Scale {
  double centre = 0.0, width = 1.0;
  [[nodiscard]] MatrixXd matrix(int columns) const {
    Matrix2d m;
    m << 1.0, -centre / width, 0.0, 1.0 / width;
    return m.topLeftCorner(columns, columns);
  }
};

Spread spread_of(const MatrixXd& m) {
  return m.rows() == 1 ? Spread{.level = m(0, 0)} : Spread{m(0, 0), m(0, 1), m(1, 1)};
}

Spread turned(const MatrixXd& by, const MatrixXd& m) { return spread_of(by * m * by.transpose()); }

void require(bool good, const char* message) {
  if (!good) {
    throw ColumnError(message);
  }
}

}  // namespace

GroupedFit fit_grouped(std::span<const std::int64_t> unit, std::int64_t units, std::span<const double> x,
                       std::span<const double> y, const GroupedOptions& options) {
  require_same_size(unit.size(), y.size(), "y");
  const bool lines = !x.empty();
  if (lines) {
    require_same_size(unit.size(), x.size(), "x");
  }
  require(units >= 2, "a grouped fit needs at least two units");
  require(lines || options.differ == UnitsDiffer::level, "without x units can differ in their level only");
  std::vector<std::vector<std::pair<double, double>>> readings(static_cast<std::size_t>(units));
  for (std::size_t i = 0; i < y.size(); ++i) {
    require(unit[i] >= 0 && unit[i] < units, "unit: a number outside 0 .. units - 1");
    if (!std::isfinite(y[i]) || (lines && !std::isfinite(x[i]))) {
      throw ColumnError("reading " + std::to_string(i + 1) + " is not finite");
    }
    readings[static_cast<std::size_t>(unit[i])].emplace_back(lines ? x[i] : 0.0, y[i]);
  }
  // One order of all sums, whatever the order of the rows.
  std::vector<double> all_x, all_y;
  for (auto& own : readings) {
    require(!own.empty(), "every unit needs a reading");
    std::sort(own.begin(), own.end());
    for (const auto& [at, level] : own) {
      all_x.push_back(at);
      all_y.push_back(level);
    }
  }

  Problem problem;
  problem.p = lines ? 2 : 1;
  problem.q = options.differ == UnitsDiffer::level ? 1 : 2;
  problem.correlated = options.differ != UnitsDiffer::independently;
  problem.restricted = options.restricted;
  problem.n = static_cast<std::int64_t>(y.size());
  // Numbers near one: x by its mean and spread (a shift only where the model does not depend on it), y less
  // the one line through everything.
  Scale scale;
  LineFit through{.intercept_at_mean = moments(all_y).mean};
  if (lines) {
    through = fit_line(all_x, all_y);
    scale.centre = problem.correlated ? through.x_mean : 0.0;
    scale.width = std::sqrt(through.sxx / static_cast<double>(problem.n));
  }
  double within = 0.0;
  std::int64_t columns_within = 0;
  for (auto& own : readings) {
    for (auto& [at, level] : own) {
      level -= through.intercept_at_mean + through.slope * (at - through.x_mean);
      at = (at - scale.centre) / scale.width;
    }
    const Reduced& reduced = problem.units.emplace_back(reduce(own, problem.p, problem.q));
    within += reduced.rest_yy;
    columns_within += reduced.t.rows();
  }
  require(problem.n > columns_within && problem.n > problem.p,
          "no unit has more readings than its own line needs: there is no error to estimate");
  const double total = std::inner_product(all_y.begin(), all_y.end(), all_y.begin(), 0.0);
  // Less than a few roundings of the readings themselves.
  require(within > 1e-30 * total, "every unit's readings lie on its own line: there is no error to estimate");

  // The criterion may have more than one hollow: start from units that differ little, as their errors, much.
  Minimum best = search(problem, 1.0);
  for (const double start : {0.1, 10.0}) {
    Minimum other = search(problem, start);
    // Better by more than rounding, so that the answer does not hang on it.
    if (other.settled && (!best.settled || other.point.value < best.point.value - 1e-9)) {
      best = std::move(other);
    }
  }

  const MatrixXd l = problem.factor(best.at);
  const MatrixXd relative = l * l.transpose();
  const Profile at_best = profile(problem, relative);
  const double variance = at_best.squares / problem.freedom();
  const MatrixXd back_line = scale.matrix(problem.p), back_unit = scale.matrix(problem.q);
  const double level_of_through = through.intercept_at_mean - through.slope * through.x_mean;
  GroupedFit fit;
  const VectorXd line = back_line * at_best.line;
  fit.level = line(0) + level_of_through;
  fit.rate = lines ? line(1) + through.slope : 0.0;
  fit.error = turned(back_line, variance * at_best.inverse);
  fit.between = turned(back_unit, variance * relative);
  fit.residual_sd = std::sqrt(variance);
  fit.minus_two_log_likelihood = at_best.criterion;
  if (lines && options.restricted) {
    // log det X'V^-1 X depends on the scale of x.
    fit.minus_two_log_likelihood += 2.0 * std::log(scale.width);
  }
  const Eigen::SelfAdjointEigenSolver<MatrixXd> axes(relative);
  // A spread of a millionth of the error's is none.
  fit.at_edge = axes.eigenvalues()(0) < 1e-12 * std::max(1.0, axes.eigenvalues().maxCoeff());
  fit.settled = best.settled;
  fit.readings = problem.n;
  for (const Reduced& u : problem.units) {
    const MatrixXd v = MatrixXd::Identity(u.t.rows(), u.t.rows()) + u.t * relative * u.t.transpose();
    const Eigen::LLT<MatrixXd> factor(v);
    const VectorXd adds = relative * (u.t.transpose() * factor.solve(u.y - u.x * at_best.line));
    const MatrixXd inner =
        MatrixXd::Identity(problem.q, problem.q) + l.transpose() * u.t.transpose() * u.t * l;
    const MatrixXd conditional = variance * l * inner.llt().solve(MatrixXd(l.transpose()));
    // The unit's line less its estimate: what the unit adds is estimated from readings less the population's
    // line, so that part of that line's error cancels.
    MatrixXd kept = MatrixXd::Identity(problem.p, problem.p);
    kept.topRows(problem.q) -= relative * u.t.transpose() * factor.solve(u.x);
    MatrixXd error = variance * kept * at_best.inverse * kept.transpose();
    error.topLeftCorner(problem.q, problem.q) += conditional;
    VectorXd own = at_best.line;
    own.head(problem.q) += adds;
    own = (back_line * own).eval();
    fit.units.push_back({.readings = u.n,
                         .level = own(0) + level_of_through,
                         .rate = lines ? own(1) + through.slope : 0.0,
                         .conditional = turned(back_unit, conditional),
                         .error = turned(back_line, error)});
  }
  return fit;
}

Shrunken shrink(std::span<const double> values, std::span<const double> variances) {
  require_same_size(values.size(), variances.size(), "variances");
  require(values.size() >= 4, "shrinkage needs at least four values");
  for (std::size_t i = 0; i < values.size(); ++i) {
    require(std::isfinite(values[i]), "a value is not finite");
    require(std::isfinite(variances[i]) && variances[i] > 0.0, "a variance is not above 0");
  }
  // One order of all sums, whatever the order of the values.
  std::vector<std::pair<double, double>> sorted;
  for (std::size_t i = 0; i < values.size(); ++i) {
    sorted.emplace_back(values[i], variances[i]);
  }
  std::sort(sorted.begin(), sorted.end());
  const auto k = static_cast<double>(values.size());
  const double lowest = sorted.front().first, range = sorted.back().first - lowest;
  Shrunken out;
  double a = 0.0;
  // The equation's right side at `between`. Its mean goes to `out`.
  const auto next = [&](double between) {
    double weights = 0.0, sum = 0.0, found = 0.0;
    for (const auto& [value, variance] : sorted) {
      weights += 1.0 / (variance + between);
      sum += (value - lowest) / (variance + between);
    }
    out.mean = lowest + sum / weights;
    for (const auto& [value, variance] : sorted) {
      const double d = value - out.mean;
      found += (k / (k - 1.0) * d * d - variance) / (variance + between);
    }
    return found / weights;
  };
  // The root, by halving between 0 and more than the values can spread: k / (k - 1) is below 2.
  if (next(0.0) > 0.0) {
    double low = 0.0, high = 2.0 * range * range;
    constexpr int halvings = 100;  // below a double's resolution
    for (int i = 0; i < halvings; ++i) {
      a = low + (high - low) / 2.0;
      (next(a) > a ? low : high) = a;
    }
  }
  next(a);
  out.between_sd = std::sqrt(a);
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double share = (k - 3.0) / (k - 1.0) * variances[i] / (variances[i] + a);
    out.share.push_back(share);
    out.value.push_back(out.mean + (1.0 - share) * (values[i] - out.mean));
  }
  return out;
}

}  // namespace wheelend
