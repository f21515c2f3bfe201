// Axles that go out of line: from some day on they wear one side of their tires, and faster. Found axle by
// axle as a change of slope at a knot of the difference between the sides. (How fast the axle wears says too
// little beside the unit's severity.)
#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "season.hpp"
#include "wear_unit.hpp"

namespace wheelend::wear_fit {

namespace {

// What is read at each reading of a run, and its precision.
struct Series {
  std::vector<double> value = {}, precision = {};
};

// On the straight line between points, x rising; level outside them.
double between(std::span<const double> x, std::span<const double> y, double at) {
  const auto after = static_cast<std::size_t>(std::lower_bound(x.begin(), x.end(), at) - x.begin());
  if (after == 0 || after == x.size()) {
    return after == 0 ? y.front() : y.back();
  }
  const double share = (at - x[after - 1]) / (x[after] - x[after - 1]);
  return y[after - 1] + share * (y[after] - y[after - 1]);
}

// Readings of one item while it was on one axle.
struct Run {
  std::vector<double> exposure = {}, common = {};
  Series sided = {};    // difference between the sides: minus what the sides have lost
  double base = 0.0;    // common depth at which the run began
  double begins = 0.0;  // exposure there

  // Common depth at an exposure.
  [[nodiscard]] double common_at(double at) const {
    return at <= begins || exposure.empty() ? base : between(exposure, common, at);
  }
};

// A linear model of a series over the runs of an axle: a start and a slope on common depth for each run, and
// a slope of the axle; then, from some exposure on, a further slope. Normal priors.
class Bend {
 public:
  struct Variances {
    double start, slope, axle;
  };

  Bend(const std::vector<Run>& runs, const Variances& prior)
      : runs_(runs), size_(static_cast<Index>(2 * runs.size() + 1)) {
    Matrix information = Matrix::Zero(size_, size_);
    Vector right = Vector::Zero(size_);
    information(0, 0) = 1.0 / prior.axle;
    for (std::size_t j = 0; j < runs.size(); ++j) {
      const Index start = 1 + 2 * static_cast<Index>(j), slope = start + 1;
      information(start, start) = 1.0 / prior.start;
      information(slope, slope) = 1.0 / prior.slope;
      const Series& s = runs[j].sided;
      for (std::size_t r = 0; r < s.value.size(); ++r) {
        const double lost = runs[j].common[r] - runs[j].base, p = s.precision[r];
        const std::array<std::pair<Index, double>, 3> by{{{0, lost}, {start, 1.0}, {slope, lost}}};
        for (const auto& [m, x] : by) {
          right[m] += p * x * s.value[r];
          for (const auto& [n, y] : by) {
            information(m, n) += p * x * y;
          }
        }
      }
    }
    factor_.compute(information);
    fitted_ = factor_.solve(right);
  }

  // Logarithm of the ratio of marginal likelihoods: a further slope from `turn` on, against none; `variance`
  // is that of its prior.
  [[nodiscard]] double evidence(double turn, double variance) const {
    Vector with = Vector::Zero(size_);
    double squares = 0.0, gain = 0.0;
    for (std::size_t j = 0; j < runs_.size(); ++j) {
      const Run& run = runs_[j];
      const Series& s = run.sided;
      const Index start = 1 + 2 * static_cast<Index>(j);
      const double from = run.common_at(turn);
      for (std::size_t r = 0; r < s.value.size(); ++r) {
        if (run.exposure[r] <= turn) {
          continue;
        }
        const double lost = run.common[r] - run.base, p = s.precision[r];
        const double x = std::min(run.common[r] - from, 0.0);
        squares += p * x * x;
        gain += p * x * s.value[r];
        with[0] += p * x * lost;
        with[start] += p * x;
        with[start + 1] += p * x * lost;
      }
    }
    const double said = std::max(squares - with.dot(factor_.solve(with)), 0.0);
    const double shown = gain - with.dot(fitted_);
    return 0.5 * (square(shown) / (said + 1.0 / variance) - std::log1p(variance * said));
  }

 private:
  const std::vector<Run>& runs_;
  Index size_;
  Eigen::LLT<Matrix> factor_;
  Vector fitted_;
};

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

// Evidence for a turn is the ratio of marginal likelihoods; every knot is as likely beforehand, together as
// often as the fleet's axles turn.
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
    std::vector<double> exposures;
    for (const ItemReading& reading : item.readings) {
      exposures.push_back(reading.exposure);
    }
    const std::span<const double> commons(w.course.common.data(), exposures.size());
    std::size_t move = 0;
    Index at_axle = item.axle;
    bool open = false;
    for (std::size_t r = 0; r < item.readings.size(); ++r) {
      const auto reading = static_cast<Index>(r);
      const double exposure = exposures[r];
      double began = exposures.front();
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
        runs.push_back({.base = from_new ? item.full : between(exposures, commons, began), .begins = began});
        open = true;
      }
      double weights = 0.0, sum = 0.0, squares = 0.0;
      for (const Index g : fleet_.has[i]) {
        const double side = fleet_.side(g, column), residual = w.residual(g, reading);
        if (std::isnan(residual)) {
          continue;
        }
        const double weight = student_weight(square(residual) * precision, fleet_.options.weight_freedom);
        weights += weight * side * side;
        sum += weight * side * (residual + own[p_offsets + g] - side * w.course.one_sided[reading]);
        squares += side * side;
      }
      if (weights > 0.0) {
        Run& run = runs.back();
        run.exposure.push_back(exposure);
        run.common.push_back(w.course.common[reading]);
        run.sided.value.push_back(sum / weights);
        run.sided.precision.push_back(weights * precision);
        sides = squares;
      }
    }
  }
  state_->turn[static_cast<std::size_t>(axle)] = -1;
  std::erase_if(runs, [](const Run& run) { return run.exposure.empty(); });
  if (runs.empty() || sides == 0.0) {
    return;
  }
  const Bend sided(runs, {.start = square(s.offset) / sides,
                          .slope = square(s.one_sided_item),
                          .axle = square(s.one_sided_axle)});
  const double knots_a_year = year_days / fleet_.options.knot_days;
  const double prior = std::log(std::min(s.turns_per_year / knots_a_year, 0.5));
  double most = 0.0, all = 0.0;
  std::int32_t best = -1;
  for (std::int32_t m = 1; m < static_cast<std::int32_t>(state_->knots()); ++m) {
    const double turn = unit().exposure_at_boundary[static_cast<std::size_t>(m)];
    const double evidence = prior + sided.evidence(turn, square(s.turn_one_sided));
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
