// Axles that go out of line: from some day on they wear one side of their tires. Found from the difference
// between the sides, axle by axle, as a change of slope at a knot.
#include <algorithm>
#include <cmath>

#include "wear_unit.hpp"

namespace wheelend::wear_fit {

namespace {

// Readings of one item while it was on one axle: the weighted difference between its sides, and how worn it
// was.
struct Run {
  std::vector<double> exposure = {}, common = {}, sided = {}, precision = {};
  double base = 0.0;    // common depth at which the run began
  double begins = 0.0;  // exposure there
};

double common_at(const WearItem& item, const Vector& common, double exposure) {
  const auto& r = item.readings;
  if (r.empty() || exposure <= r.front().exposure) {
    return common.size() > 0 ? common[0] : item.full;
  }
  for (std::size_t k = 1; k < r.size(); ++k) {
    if (exposure <= r[k].exposure) {
      const double span = r[k].exposure - r[k - 1].exposure;
      const double share = span > 0.0 ? (exposure - r[k - 1].exposure) / span : 1.0;
      return common[static_cast<Index>(k) - 1] +
             share * (common[static_cast<Index>(k)] - common[static_cast<Index>(k) - 1]);
    }
  }
  return common[static_cast<Index>(r.size()) - 1];
}

}  // namespace

void UnitSolver::find_turns() {
  const UnitState before = *state_;
  for (Index a = 0; a < before.axles(); ++a) {
    find_turn(a);
  }
  if (state_->turn != before.turn) {
    // Parameters keep their values; those of a new turn begin at none.
    UnitState& now = *state_;
    const Index fixed = 1 + 2 * now.axles() + now.knots();
    Index turns = 0;
    for (const std::int32_t t : now.turn) {
      turns += t >= 0 ? 2 : 0;
    }
    now.x = Vector::Zero(fixed + turns);
    now.x.head(fixed) = before.x.head(fixed);
    for (Index a = 0; a < now.axles(); ++a) {
      const auto at = static_cast<std::size_t>(a);
      if (now.turn[at] >= 0 && before.turn[at] >= 0) {
        now.x.segment(now.turned(a), 2) = before.x.segment(before.turned(a), 2);
      }
    }
    follow_all();
  }
}

// A linear model of the difference between the sides: a start and a slope for each run, a slope of the axle,
// and, from one of the knots on, a further slope. Evidence for the latter is the ratio of marginal
// likelihoods; every knot is as likely beforehand, together as often as the fleet's axles turn.
void UnitSolver::find_turn(Index axle) {
  const WearSpreads& s = common_->spreads;
  const double precision = 1.0 / square(s.reading);
  std::vector<Run> runs;
  double sides = 0.0;  // squares of the sides, of an item
  for (std::size_t k = 0; k < unit().items.size(); ++k) {
    const std::size_t i = item_at(k);
    const WearItem& item = fleet_.items[i];
    const ItemWork& w = work_[k];
    const auto column = static_cast<Index>(i);
    const auto own = beliefs_->own.col(column);
    std::size_t move = 0;
    Index at_axle = item.axle;
    bool open = false;
    for (std::size_t r = 0; r < item.readings.size(); ++r) {
      const auto reading = static_cast<Index>(r);
      const double exposure = item.readings[r].exposure;
      double began = item.readings.front().exposure;
      while (move < item.moves.size() && item.moves[move].exposure < exposure) {
        at_axle = item.moves[move].axle;
        began = item.moves[move].exposure;
        ++move;
        open = false;
      }
      if (at_axle != axle) {
        continue;
      }
      if (!open) {
        const bool from_new = r == 0 && item.previous < 0;  // else what was worn before is in its start
        runs.push_back(
            {.base = from_new ? item.full : common_at(item, w.course.common, began), .begins = began});
        open = true;
      }
      double weights = 0.0, sum = 0.0, squares = 0.0;
      for (const Index g : fleet_.has[i]) {
        const double side = fleet_.side(g, column), residual = w.residual(g, reading);
        if (!std::isnan(residual) && side != 0.0) {
          const double scaled = residual * residual * precision;
          const double nu = fleet_.options.weight_freedom;
          const double weight = (nu + 1.0) / (nu + scaled);
          weights += weight * side * side;
          sum += weight * side * (residual + own[p_offsets + g] - side * w.course.one_sided[reading]);
          squares += side * side;
        }
      }
      if (weights > 0.0) {
        Run& run = runs.back();
        run.exposure.push_back(exposure);
        run.common.push_back(w.course.common[reading]);
        run.sided.push_back(sum / weights);
        run.precision.push_back(weights * precision);
        sides = squares;
      }
    }
  }
  state_->turn[static_cast<std::size_t>(axle)] = -1;
  if (runs.empty() || sides == 0.0) {
    return;
  }
  const auto size = static_cast<Index>(2 * runs.size() + 1);
  Matrix information = Matrix::Zero(size, size);
  Vector right = Vector::Zero(size);
  information(0, 0) = 1.0 / square(s.one_sided_axle);
  for (std::size_t j = 0; j < runs.size(); ++j) {
    const Index start = 1 + 2 * static_cast<Index>(j), slope = start + 1;
    information(start, start) = sides / square(s.offset);
    information(slope, slope) = 1.0 / square(s.one_sided_item);
    const Run& run = runs[j];
    for (std::size_t r = 0; r < run.exposure.size(); ++r) {
      const double lost = run.common[r] - run.base, p = run.precision[r];
      for (const auto& [m, x] : {std::pair{Index{0}, lost}, {start, 1.0}, {slope, lost}}) {
        right[m] += p * x * run.sided[r];
        for (const auto& [n, y] : {std::pair{Index{0}, lost}, {start, 1.0}, {slope, lost}}) {
          information(m, n) += p * x * y;
        }
      }
    }
  }
  const Eigen::LLT<Matrix> factor(information);
  const Vector fitted = factor.solve(right);
  const double year_knots = 365.25 / fleet_.options.knot_days;
  const double prior = std::log(std::min(s.turns_per_year / year_knots, 0.5));
  const double variance = square(s.turn_one_sided);
  double most = 0.0, all = 0.0;
  std::int32_t best = -1;
  for (std::int32_t m = 1; m < static_cast<std::int32_t>(state_->knots()); ++m) {
    const double turn = unit().exposure_at_boundary[static_cast<std::size_t>(m)];
    Vector with = Vector::Zero(size);
    double squares = 0.0, gain = 0.0;
    for (std::size_t j = 0; j < runs.size(); ++j) {
      const Run& run = runs[j];
      const Index start = 1 + 2 * static_cast<Index>(j), slope = start + 1;
      // Common depth at the turn, on the straight line between readings.
      double from = run.base;
      if (turn > run.begins && !run.exposure.empty()) {
        from = run.common.front();
        for (std::size_t r = 0; r < run.exposure.size(); ++r) {
          if (run.exposure[r] >= turn) {
            if (r > 0) {
              const double span = std::max(run.exposure[r] - run.exposure[r - 1], 1e-9);
              const double share = (turn - run.exposure[r - 1]) / span;
              from = run.common[r - 1] + share * (run.common[r] - run.common[r - 1]);
            }
            break;
          }
          from = run.common[r];
        }
      }
      for (std::size_t r = 0; r < run.exposure.size(); ++r) {
        if (run.exposure[r] <= turn) {
          continue;
        }
        const double lost = run.common[r] - run.base, p = run.precision[r];
        const double x = std::min(run.common[r] - from, 0.0);
        squares += p * x * x;
        gain += p * x * run.sided[r];
        with[0] += p * x * lost;
        with[start] += p * x;
        with[slope] += p * x * lost;
      }
    }
    const Vector solved = factor.solve(with);
    const double said = std::max(squares - with.dot(solved), 0.0);
    const double shown = gain - with.dot(fitted);
    const double evidence =
        0.5 * square(shown) / (said + 1.0 / variance) - 0.5 * std::log1p(variance * said) + prior;
    all += std::exp(std::min(evidence, 50.0));
    if (best < 0 || evidence > most) {
      most = evidence;
      best = m;
    }
  }
  constexpr double odds = 1.0;
  if (all > odds) {
    state_->turn[static_cast<std::size_t>(axle)] = best;
  }
}

}  // namespace wheelend::wear_fit
