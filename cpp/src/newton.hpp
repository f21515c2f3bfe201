// A minimum of a smooth function of few parameters.
#pragma once

#include <Eigen/Dense>
#include <cmath>

namespace wheelend {

struct Point {
  double value = 0.0;  // infinite where the function is not defined
  Eigen::VectorXd slope = {};
  Eigen::MatrixXd curvature = {};
};

struct Minimum {
  Eigen::VectorXd at;
  Point point;
  bool settled = false;
};

// Newton's method; curvatures are taken by their size, so that it leaves saddles, and steps are halved until
// the value falls. `settled` where the step that is left is below 1e-7 of a parameter's own error - or, where
// nothing falls any more, below 1e-3 of it: rounding of a sum of thousands of logs.
template <class Function>
Minimum minimise(const Function& f, Eigen::VectorXd start) {
  constexpr int most_steps = 200, most_halvings = 40;
  constexpr double close = 1e-7, close_enough = 1e-3;
  Minimum m{std::move(start), f(m.at), false};
  for (int step = 0; step < most_steps && std::isfinite(m.point.value); ++step) {
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> axes(m.point.curvature);
    const double flat = 1e-12 * axes.eigenvalues().cwiseAbs().maxCoeff() + 1e-300;
    const Eigen::VectorXd size = axes.eigenvalues().cwiseAbs().cwiseMax(flat);
    const Eigen::VectorXd along = axes.eigenvectors().transpose() * m.point.slope;
    const Eigen::VectorXd go = -(axes.eigenvectors() * along.cwiseQuotient(size));
    const double left =
        std::sqrt(along.cwiseAbs2().cwiseQuotient(size).sum());  // in errors of the parameters
    Minimum next = m;
    double length = 1.0;
    for (int half = 0; half < most_halvings; ++half, length /= 2.0) {
      next.at = m.at + length * go;
      next.point = f(next.at);
      if (next.point.value < m.point.value) {
        break;
      }
    }
    if (!(next.point.value < m.point.value)) {
      m.settled = left < close_enough;
      if (m.settled) {
        // The slope still has digits where the value has none left: one whole step by it.
        m.at += go;
        m.point = f(m.at);
      }
      return m;
    }
    m = std::move(next);
    if (left < close && length == 1.0) {
      m.settled = true;
      return m;
    }
  }
  return m;
}

}  // namespace wheelend
