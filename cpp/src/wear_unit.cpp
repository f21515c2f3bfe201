#include "wear_unit.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

#include "season.hpp"
#include "slips.hpp"

namespace wheelend::wear_fit {

namespace {

constexpr double most_step =
    0.5;  // of a logarithm in one step: readings are linearised about the last estimate

double clamped(double x, double most) { return std::clamp(x, -most, most); }

double median_of(std::span<double> v) {
  const std::size_t half = v.size() / 2;
  std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(half), v.end());
  if (v.size() % 2 == 1) {
    return v[half];
  }
  return (v[half] + *std::max_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(half))) / 2.0;
}

}  // namespace

void UnitSolver::step(std::size_t u, const Common& common, Beliefs& now, std::vector<Carried>& next,
                      const Tasks& tasks, Sums& sums, WearFit& found, std::vector<DoubtedReading>& doubted,
                      std::vector<OddUnitVisit>& odd) {
  u_ = u;
  common_ = &common;
  beliefs_ = &now;
  state_ = &now.units[u];
  finish_ = tasks.finish;
  const std::size_t n = unit().items.size();
  if (work_.size() < n) {
    work_.resize(n);
  }
  for (std::size_t k = 0; k < n; ++k) {
    set_prior(k);
  }
  follow_all();
  if (tasks.find_turns) {
    find_turns();
  }
  if (tasks.find_odd_visits) {
    find_odd_visits();
  }
  set_unit_prior();
  information_ = prior_;
  gradient_ = -prior_ * (state_->x - unit_prior_mean());
  squares_ = rows_ = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    weigh(k, tasks);
    assemble(k);
  }
  solve();
  add_sums(sums);
  for (std::size_t k = 0; k < n; ++k) {
    const std::size_t i = item_at(k);
    if (fleet_.followed[i]) {
      next[i] = carried_of(k);
    }
  }
  if (tasks.finish) {
    for (const auto& [time, by] : state_->off) {
      odd.push_back({.unit = u, .time = time, .by = by});
    }
    for (std::size_t k = 0; k < n; ++k) {
      report_doubted(k, doubted);
      found.shallowest[item_at(k)] = shallowest_of(k);
      if (!std::isnan(fleet_.wanted[item_at(k)])) {
        found.items[item_at(k)] = state_of(k);
      }
    }
  }
}

// ---- where everything is

Channel UnitSolver::channel(std::size_t i, Index g) const {
  const auto own = beliefs_->own.col(static_cast<Index>(i));
  return {.offset = own[p_offsets + g],
          .one_sided = 0.0,
          .shoulder = fleet_.outside(g, static_cast<Index>(i)) * own[p_shoulder]};
}

// What a reading is off by: its reader, and its visit where all of that is off.
double UnitSolver::bias_of(const ItemReading& reading) const {
  const double reader =
      reading.reader >= 0 ? common_->readers[static_cast<std::size_t>(reading.reader)] : 0.0;
  for (const auto& [time, by] : state_->off) {
    if (time == reading.time && !std::isnan(by)) {
      return reader + by;
    }
  }
  return reader;
}

void UnitSolver::set_prior(std::size_t k) {
  const std::size_t i = item_at(k);
  const WearItem& item = fleet_.items[i];
  const WearSpreads& s = common_->spreads;
  ItemWork& w = work_[k];
  const Index n = fleet_.item_size();
  w.prior_mean.setZero(n);
  w.prior_precision.resize(n);
  const bool as_new = !std::isnan(item.begins);
  const double own_depth = beliefs_->own(p_depth, static_cast<Index>(i));
  const bool about_full = as_new || item.first_spread > 0.0;
  w.prior_mean[p_depth] = about_full ? item.full : own_depth;
  // Nearly nothing where it did not begin as new: its readings say it.
  w.prior_precision[p_depth] = 1.0 / square(as_new       ? s.as_new
                                            : about_full ? item.first_spread
                                                         : 0.5 * item.full);
  w.prior_precision[p_rate] = 1.0 / square(s.item);
  w.prior_precision[p_strength] = 1.0 / square(s.strength);
  w.prior_precision[p_shoulder] = 1.0 / square(s.shoulder);
  w.prior_precision[p_one_sided] = 1.0 / square(s.one_sided_item);
  w.prior_precision.tail(fleet_.channels).setConstant(1.0 / square(s.offset));
  w.prior_mean[p_strength] = s.strength_mean;
  w.prior_mean[p_shoulder] = s.shoulder_mean;
  if (item.previous < 0) {
    return;
  }
  const Carried& was = beliefs_->carried[static_cast<std::size_t>(item.previous)];
  if (was.mean.size() == 0) {
    return;
  }
  // A tire that came from another unit brings what was learned of it: its depth, its own rate, its curve, its
  // grooves. What it ran in between is a guess.
  const auto u = static_cast<Index>(item.unit);
  const UnitState& state = beliefs_->units[static_cast<std::size_t>(u)];
  const double rate = common_->group_rate[static_cast<std::size_t>(item.group)] *
                      std::exp(state.x[0] + state.x[UnitState::axle(item.axle)] + was.mean[p_rate]);
  const WearCurve curve{item.full, std::exp(was.mean[p_strength])};
  const double wear = rate * item.exposure_between;
  w.prior_mean = was.mean;
  w.prior_mean[p_one_sided] = 0.0;
  w.prior_mean[p_depth] = std::clamp(curve.depth_after(was.mean[p_depth], wear), 0.0, item.full);
  for (const Index p : {Index{p_rate}, Index{p_strength}, Index{p_shoulder}}) {
    w.prior_precision[p] = 1.0 / std::max(was.variance[p], 1e-8);
  }
  for (Index g = 0; g < fleet_.channels; ++g) {
    w.prior_precision[p_offsets + g] = 1.0 / std::max(was.variance[p_offsets + g], 1e-8);
  }
  w.prior_precision[p_depth] = 1.0 / (was.variance[p_depth] + square(0.5 * wear) + square(s.reading));
}

void UnitSolver::follow_all() {
  const UnitRates rates(*state_, common_->season_at_knot);
  for (std::size_t k = 0; k < unit().items.size(); ++k) {
    const std::size_t i = item_at(k);
    follow(fleet_.items[i], fleet_.courses.pieces(i), fleet_.courses.ends(i),
           beliefs_->own.col(static_cast<Index>(i)).data(), *state_, rates, common_->group_rate,
           work_[k].course);
    find_residuals(k);
  }
}

void UnitSolver::find_residuals(std::size_t k) {
  const std::size_t i = item_at(k);
  const WearItem& item = fleet_.items[i];
  ItemWork& w = work_[k];
  const auto readings = static_cast<Index>(item.readings.size());
  w.residual.setConstant(fleet_.channels, readings, std::numeric_limits<double>::quiet_NaN());
  for (Index r = 0; r < readings; ++r) {
    const ItemReading& reading = item.readings[static_cast<std::size_t>(r)];
    const double bias = bias_of(reading);
    for (const Index g : fleet_.has[i]) {
      const double y = reading.depth[static_cast<std::size_t>(g)];
      const double expected = channel(i, g).depth(w.course.common[r], item.full) -
                              fleet_.side(g, static_cast<Index>(i)) * w.course.one_sided[r];
      w.residual(g, r) = y - bias - expected;
    }
  }
}

// By how much a visit was known to be off beforehand; NaN: it was not.
double UnitSolver::known_off(double time) const {
  for (const auto& [at, by] : unit().odd_visits) {
    if (at == time) {
      return by;
    }
  }
  return std::numeric_limits<double>::quiet_NaN();
}

// A visit whose readings are off together by about a step of the gauge (a worn foot, a gauge not set to
// zero), or of which most tires are far from what they should be (written under another unit's number): no
// tire alone can show either.
void UnitSolver::find_odd_visits() {
  struct AtVisit {
    double time;
    double bias;
    Index item, reading;
  };
  std::vector<AtVisit> all;
  for (std::size_t k = 0; k < unit().items.size(); ++k) {
    const WearItem& item = fleet_.items[item_at(k)];
    for (std::size_t r = 0; r < item.readings.size(); ++r) {
      const ItemReading& reading = item.readings[r];
      const double reader =
          reading.reader >= 0 ? common_->readers[static_cast<std::size_t>(reading.reader)] : 0.0;
      all.push_back({reading.time, bias_of(reading) - reader, static_cast<Index>(k), static_cast<Index>(r)});
    }
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const AtVisit& a, const AtVisit& b) { return a.time < b.time; });
  const double sd = common_->spreads.reading;
  constexpr std::size_t tires_needed = 4, readings_needed = 6;
  constexpr double least = 2.0, most = 8.0;  // of the spread of one reading
  std::vector<std::pair<double, double>> found;
  std::size_t visits = 0, wrong = 0;
  std::size_t last_off = 0;  // number of the last visit that is off, and where it stands in `found`
  std::vector<double> each, tires, scratch;
  for (std::size_t from = 0, to = 0; from < all.size(); from = to) {
    each.clear();
    tires.clear();
    for (to = from; to < all.size() && all[to].time == all[from].time; ++to) {
      const ItemWork& w = work_[static_cast<std::size_t>(all[to].item)];
      scratch.clear();
      for (Index g = 0; g < fleet_.channels; ++g) {
        const double residual = w.residual(g, all[to].reading);
        if (!std::isnan(residual)) {
          scratch.push_back(residual + all[to].bias);
          each.push_back(scratch.back());
        }
      }
      if (!scratch.empty()) {
        tires.push_back(median_of(scratch));
      }
    }
    ++visits;
    if (each.size() < readings_needed) {
      continue;
    }
    const double middle = median_of(each);
    const auto quartile = [&each](std::size_t q) {
      const auto at = each.begin() + static_cast<std::ptrdiff_t>(each.size() * q / 4);
      std::nth_element(each.begin(), at, each.end());
      return *at;
    };
    // Three quarters of the readings lie on one side, away from what was expected.
    const double nearest = middle > 0.0 ? quartile(1) : -quartile(3);
    if (std::abs(middle) > least * sd && std::abs(middle) < most * sd && nearest > 0.5 * sd) {
      // Of several in a row it is not the gauge that is off but the fit.
      const bool in_a_row = last_off + 1 == visits && last_off > 0;
      last_off = visits;
      if (!in_a_row) {
        found.emplace_back(all[from].time, middle);
      } else if (!found.empty() && found.back().first < all[from].time && !std::isnan(found.back().second) &&
                 found.back().second * middle > 0.0) {
        found.pop_back();
      }
      continue;
    }
    const auto far =
        std::count_if(tires.begin(), tires.end(), [sd](double t) { return std::abs(t) > 3.5 * sd; });
    if (tires.size() >= tires_needed && 5 * far >= 3 * static_cast<std::ptrdiff_t>(tires.size())) {
      // Known beforehand to be off by about as much, it is off by more than a gauge mostly is.
      const double known = known_off(all[from].time);
      const bool off = !std::isnan(known) && std::abs(middle - known) < least * sd;
      found.emplace_back(all[from].time, off ? middle : std::numeric_limits<double>::quiet_NaN());
      wrong += off ? std::size_t{0} : std::size_t{1};
    }
  }
  if (5 * wrong > visits) {  // then it is not the visits that are wrong
    std::erase_if(found, [](const auto& v) { return std::isnan(v.second); });
  }
  if (found == state_->off) {
    return;
  }
  state_->off = std::move(found);
  for (std::size_t k = 0; k < unit().items.size(); ++k) {
    find_residuals(k);
  }
}

// Student-t weights (Lange, Little, Taylor 1989) on each reading, and on all readings of a tire at a visit by
// their middle: a tire written in another's line is off in all its grooves.
void UnitSolver::weigh(std::size_t k, const Tasks& tasks) {
  const std::size_t i = item_at(k);
  ItemWork& w = work_[k];
  const double nu = fleet_.options.weight_freedom, variance = square(common_->spreads.reading);
  w.weight.setZero(fleet_.channels, w.residual.cols());
  std::vector<double> known;
  for (Index r = 0; r < w.residual.cols(); ++r) {
    const double time = fleet_.items[i].readings[static_cast<std::size_t>(r)].time;
    const bool wrong = std::any_of(state_->off.begin(), state_->off.end(),
                                   [time](const auto& v) { return v.first == time && std::isnan(v.second); });
    if (wrong || (tasks.leave_slips_out && fleet_.items[i].readings[static_cast<std::size_t>(r)].slip)) {
      continue;
    }
    known.clear();
    for (Index g = 0; g < fleet_.channels; ++g) {
      if (!std::isnan(w.residual(g, r))) {
        known.push_back(w.residual(g, r));
      }
    }
    double together = 1.0;
    if (known.size() > 1 && !tasks.plain) {
      constexpr double median_efficiency = 0.64;  // 2 / pi
      const double n = static_cast<double>(known.size());
      const double z2 = square(median_of(known)) * n * median_efficiency / variance;
      together = std::min(1.0, student_weight(z2, nu));
    }
    for (Index g = 0; g < fleet_.channels; ++g) {
      const double residual = w.residual(g, r);
      if (!std::isnan(residual)) {
        w.weight(g, r) = tasks.plain ? 1.0 : together * student_weight(square(residual) / variance, nu);
        squares_ += w.weight(g, r) * square(residual);
        rows_ += together;
      }
    }
  }
}

// ---- the step

double UnitSolver::unit_variance() const {
  const WearSpreads& s = common_->spreads;
  return square(s.unit) + (unit().by_time ? square(s.use_of_unit) : 0.0);
}

double UnitSolver::severity_variance() const {
  const WearSpreads& s = common_->spreads;
  return square(s.severity) + (unit().by_time ? square(s.use_drift) : 0.0);
}

void UnitSolver::set_unit_prior() {
  const UnitState& at = *state_;
  const WearSpreads& s = common_->spreads;
  prior_.setZero(at.size(), at.size());
  prior_(0, 0) = 1.0 / unit_variance();
  for (Index a = 0; a < at.axles(); ++a) {
    prior_(UnitState::axle(a), UnitState::axle(a)) = 1.0 / square(s.axle);
    prior_(at.one_sided(a), at.one_sided(a)) = 1.0 / square(s.one_sided_axle);
    if (at.turn[static_cast<std::size_t>(a)] >= 0) {
      const Index t = at.turned(a);
      prior_(t, t) = 1.0 / square(s.turn_rate);
      prior_(t + 1, t + 1) = 1.0 / square(s.turn_one_sided);
    }
  }
  const double variance = severity_variance();
  const double keep = std::exp(-fleet_.options.knot_days / s.severity_days);
  const double innovation = variance * (1.0 - keep * keep);
  for (Index m = 0; m < at.knots(); ++m) {
    const Index k = at.knot(m);
    prior_(k, k) += m == 0 ? 1.0 / variance : 1.0 / innovation;
    if (m > 0) {
      prior_(k - 1, k - 1) += keep * keep / innovation;
      prior_(k, k - 1) -= keep / innovation;
      prior_(k - 1, k) -= keep / innovation;
    }
  }
}

Vector UnitSolver::unit_prior_mean() const {
  Vector mean = Vector::Zero(state_->size());
  for (Index a = 0; a < state_->axles(); ++a) {
    if (state_->turn[static_cast<std::size_t>(a)] >= 0) {
      mean[state_->turned(a)] = common_->spreads.turn_rate_mean;
    }
  }
  return mean;
}

// Adds the readings of an item to its own information and to the unit's, and eliminates the item.
void UnitSolver::assemble(std::size_t k) {
  const std::size_t i = item_at(k);
  const WearItem& item = fleet_.items[i];
  const auto column = static_cast<Index>(i);
  ItemWork& w = work_[k];
  const Index n = fleet_.item_size(), readings = w.residual.cols();
  const double precision = 1.0 / square(common_->spreads.reading);
  const auto own = beliefs_->own.col(column);
  const double shoulder = own[p_shoulder];
  // What a reading says, against its weight: Fisher's information of Student's t (Lange, Little, Taylor
  // 1989). Only at the end: on the way the weights themselves make whole steps, and this would overshoot.
  const double nu = fleet_.options.weight_freedom, of_weight = finish_ ? (nu + 1.0) / (nu + 3.0) : 1.0;
  // Rows of the linear model, each times the root of its precision: derivatives by the item's parameters.
  rows_of_item_.resize(n, readings * static_cast<Index>(fleet_.has[i].size()));
  Matrix with_common = Matrix::Zero(n, readings), with_sided = Matrix::Zero(n, readings);
  Vector cc = Vector::Zero(readings), cs = cc, ss = cc, gradient_common = cc, gradient_sided = cc;
  w.gradient = -w.prior_precision.cwiseProduct(own - w.prior_mean);
  Index rows = 0;
  for (Index r = 0; r < readings; ++r) {
    const double worn = item.full - w.course.common[r];
    for (const Index g : fleet_.has[i]) {
      const double residual = w.residual(g, r);
      if (std::isnan(residual)) {
        continue;
      }
      const double side = fleet_.side(g, column), outside = fleet_.outside(g, column);
      const double slope = 1.0 + outside * 2.0 * shoulder * std::abs(worn) / item.full;
      const double pull = w.weight(g, r) * precision * residual;
      const double p = w.weight(g, r) * precision * of_weight, root = std::sqrt(p);
      double* row = rows_of_item_.col(rows++).data();
      const double *by_common = w.course.common_by_item.col(r).data(),
                   *by_sided = w.course.one_sided_by_item.col(r).data();
      double *common_column = with_common.col(r).data(), *sided_column = with_sided.col(r).data();
      const auto put = [&](Index at, double value) {
        row[at] = root * value;
        common_column[at] += p * slope * value;
        sided_column[at] -= p * side * value;
        w.gradient[at] += pull * value;
      };
      for (Index at = 0; at < p_offsets; ++at) {
        put(at, at == p_shoulder ? -outside * worn * std::abs(worn) / item.full
                                 : slope * by_common[at] - side * by_sided[at]);
      }
      for (Index c = 0; c < fleet_.channels; ++c) {
        row[p_offsets + c] = 0.0;
      }
      put(p_offsets + g, 1.0);
      cc[r] += p * slope * slope;
      cs[r] -= p * slope * side;
      ss[r] += p * side * side;
      gradient_common[r] += pull * slope;
      gradient_sided[r] -= pull * side;
    }
  }
  Matrix information = w.prior_precision.asDiagonal();
  information.selfadjointView<Eigen::Lower>().rankUpdate(rows_of_item_.leftCols(rows));
  const auto common = w.course.common_by_unit.leftCols(readings);
  const auto sided = w.course.one_sided_by_unit.leftCols(readings);
  gradient_.noalias() += common * gradient_common;
  gradient_.noalias() += sided * gradient_sided;
  // The two rows of a reading in the unit's parameters, by the factor of their two-by-two precision.
  rows_of_unit_.resize(state_->size(), 2 * readings);
  for (Index r = 0; r < readings; ++r) {
    const double root = std::sqrt(cc[r]), along = root > 0.0 ? cs[r] / root : 0.0;
    const double across = std::sqrt(std::max(ss[r] - along * along, 0.0));
    rows_of_unit_.col(2 * r) = root * common.col(r) + along * sided.col(r);
    rows_of_unit_.col(2 * r + 1) = across * sided.col(r);
  }
  information_.selfadjointView<Eigen::Lower>().rankUpdate(rows_of_unit_);
  w.gain.noalias() = with_common * common.transpose();
  w.gain.noalias() += with_sided * sided.transpose();
  const Eigen::LLT<Matrix> factor(information);
  factor.matrixL().solveInPlace(w.gain);
  information_.selfadjointView<Eigen::Lower>().rankUpdate(w.gain.transpose(), -1.0);
  factor.matrixU().solveInPlace(w.gain);
  w.inverse.setIdentity(n, n);
  factor.solveInPlace(w.inverse);
  gradient_.noalias() -= w.gain.transpose() * w.gradient;
}

void UnitSolver::solve() {
  UnitState& at = *state_;
  const Eigen::LLT<Matrix> factor(information_);
  covariance_ = factor.solve(Matrix::Identity(at.size(), at.size()));
  Vector step = covariance_ * gradient_;
  for (double& s : step) {
    s = clamped(s, most_step);
  }
  at.x += step;
  for (std::size_t k = 0; k < unit().items.size(); ++k) {
    const auto i = static_cast<Index>(item_at(k));
    const double full = fleet_.items[item_at(k)].full;
    ItemWork& w = work_[k];
    Vector own = w.inverse * w.gradient - w.gain * step;
    for (const Index p : {Index{p_rate}, Index{p_strength}, Index{p_shoulder}, Index{p_one_sided}}) {
      own[p] = clamped(own[p], most_step);
    }
    auto x = beliefs_->own.col(i);
    x += own;
    x[p_depth] = std::clamp(x[p_depth], 0.02 * full, 1.5 * full);
    x[p_shoulder] = std::max(x[p_shoulder], -0.4);  // below it wear in the middle would turn round
    w.with_unit.noalias() = -w.gain * covariance_;
    w.covariance = w.inverse;
    w.covariance.noalias() -= w.with_unit * w.gain.transpose();
  }
}

// ---- what the fleet learns from it

void UnitSolver::add_sums(Sums& sums) const {
  const UnitState& at = *state_;
  const WearSpreads& s = common_->spreads;
  const auto variance = [this](Index k) { return covariance_(k, k); };
  const double severity = severity_variance();
  if (!unit().by_time) {
    sums.unit.add(at.x[0], variance(0), square(s.unit));
  }
  for (Index m = 0; m < at.knots(); ++m) {
    const Index k = at.knot(m);
    if (!unit().by_time) {
      sums.severity.add(at.x[k], variance(k), severity);
    }
    const double trust = std::clamp(1.0 - variance(k) / severity, 0.0, 1.0);
    const double angle = knot_angle(m, fleet_.options), c = std::cos(angle), sine = std::sin(angle);
    sums.season_cc += trust * c * c;
    sums.season_cs += trust * c * sine;
    sums.season_ss += trust * sine * sine;
    sums.season_c += c * at.x[k];
    sums.season_s += sine * at.x[k];
  }
  const double years = static_cast<double>(at.knots()) * fleet_.options.knot_days / year_days;
  for (Index a = 0; a < at.axles(); ++a) {
    sums.axle.add(at.x[UnitState::axle(a)], variance(UnitState::axle(a)), square(s.axle));
    sums.one_sided_axle.add(at.x[at.one_sided(a)], variance(at.one_sided(a)), square(s.one_sided_axle));
    const std::int32_t turn = at.turn[static_cast<std::size_t>(a)];
    sums.axle_years += turn < 0 ? years : static_cast<double>(turn) * fleet_.options.knot_days / year_days;
    if (turn >= 0) {
      const Index t = at.turned(a);
      sums.turns += 1.0;
      const double beyond = at.x[t] - s.turn_rate_mean;
      sums.turn_rate_sum += beyond;
      sums.turn_rate += square(beyond) + variance(t);
      sums.turn_one_sided += square(at.x[t + 1]) + variance(t + 1);
    }
  }
  sums.squares += squares_;
  sums.rows += rows_;
  sums.freedom += static_cast<double>(at.size()) - prior_.cwiseProduct(covariance_).sum();
  std::vector<bool> seen(common_->groups.size(), false);
  for (std::size_t k = 0; k < unit().items.size(); ++k) {
    add_item_sums(k, seen, sums);
    add_reading_sums(k, sums);
  }
}

void UnitSolver::add_item_sums(std::size_t k, std::vector<bool>& seen, Sums& sums) const {
  const std::size_t i = item_at(k);
  const WearItem& item = fleet_.items[i];
  const WearSpreads& s = common_->spreads;
  const ItemWork& w = work_[k];
  const auto own = beliefs_->own.col(static_cast<Index>(i));
  const Index axle = UnitState::axle(item.axle);
  sums.freedom += static_cast<double>(w.prior_mean.size()) -
                  w.prior_precision.cwiseProduct(w.covariance.diagonal()).sum();
  if (item.still_to_come) {
    return;
  }
  // How far the group is from its mean, by what its items' readings say beyond their prior.
  const double rate = own[p_rate] + state_->x[0] + state_->x[axle];
  const double variance = w.covariance(p_rate, p_rate) + covariance_(0, 0) + covariance_(axle, axle) +
                          2.0 * (w.with_unit(p_rate, 0) + w.with_unit(p_rate, axle) + covariance_(0, axle));
  const double trust =
      std::clamp(1.0 - variance / (unit_variance() + square(s.axle) + square(s.item)), 0.0, 1.0);
  const auto group = static_cast<std::size_t>(item.group);
  const double share = unit().by_time ? 0.25 : 1.0;  // the use of a unit by time is not its wear
  sums.group_sum[group] += share * rate;
  sums.group_trust[group] += share * trust;
  if (!seen[group]) {
    sums.group_units[group] += share;
    seen[group] = true;
  }
  if (item.previous >= 0) {
    return;  // counted at its former place
  }
  const auto add = [&](Moment& to, Index p, double spread) {
    to.add(own[p] - w.prior_mean[p], w.covariance(p, p), square(spread));
  };
  add(sums.item, p_rate, s.item);
  add(sums.strength, p_strength, s.strength);
  add(sums.shoulder, p_shoulder, s.shoulder);
  add(sums.one_sided_item, p_one_sided, s.one_sided_item);
  sums.strength_sum += own[p_strength] - w.prior_mean[p_strength];
  sums.shoulder_sum += own[p_shoulder] - w.prior_mean[p_shoulder];
  for (const Index g : fleet_.has[i]) {
    add(sums.offset, p_offsets + g, s.offset);
  }
}

void UnitSolver::add_reading_sums(std::size_t k, Sums& sums) const {
  const WearItem& item = fleet_.items[item_at(k)];
  const ItemWork& w = work_[k];
  for (Index r = 0; r < w.residual.cols(); ++r) {
    const std::int32_t reader = item.readings[static_cast<std::size_t>(r)].reader;
    if (reader < 0) {
      continue;
    }
    const auto code = static_cast<std::size_t>(reader);
    for (Index g = 0; g < fleet_.channels; ++g) {
      if (w.weight(g, r) > 0.0) {
        sums.reader_sum[code] += w.weight(g, r) * (w.residual(g, r) + common_->readers[code]);
        sums.reader_weight[code] += w.weight(g, r);
      }
    }
  }
}

// ---- what is handed on

Carried UnitSolver::carried_of(std::size_t k) const {
  const std::size_t i = item_at(k);
  const WearItem& item = fleet_.items[i];
  const ItemWork& w = work_[k];
  Carried out;
  out.mean = beliefs_->own.col(static_cast<Index>(i));
  out.variance = w.covariance.diagonal();
  // The depth at the last reading is about as well known as that at the first.
  const auto last = static_cast<Index>(item.readings.size()) - 1;
  out.mean[p_depth] = last >= 0 ? w.course.common[last] : item.full;
  out.variance[p_depth] *= 2.0;
  for (const Index g : fleet_.has[i]) {  // what is worn to one side stays
    const double sided = last >= 0 ? w.course.one_sided[last] : 0.0;
    out.mean[p_offsets + g] -= fleet_.side(g, static_cast<Index>(i)) * sided;
  }
  return out;
}

// The common depth at the exposure asked for and the parameters that decide what follows, with their joint
// covariance.
ItemState UnitSolver::state_of(std::size_t k) {
  const std::size_t i = item_at(k);
  const WearItem& item = fleet_.items[i];
  const auto column = static_cast<Index>(i);
  const UnitState& at = *state_;
  const WearSpreads& s = common_->spreads;
  ItemWork& w = work_[k];
  const UnitRates rates(at, common_->season_at_knot);
  const auto own = beliefs_->own.col(column);
  follow(item, fleet_.courses.pieces(i), fleet_.courses.ends(i), own.data(), at, rates, common_->group_rate,
         w.course);
  const Index c = w.course.common.size() - 1, channels = fleet_.channels;
  const Index n = static_cast<Index>(state_offsets) + channels;
  const Index axle = item.moves.empty() ? item.axle : item.moves.back().axle;
  const std::int32_t group = item.moves.empty() ? item.group : item.moves.back().group;
  const bool turned = at.turn[static_cast<std::size_t>(axle)] >= 0;
  Matrix by_item = Matrix::Zero(n, fleet_.item_size()), by_unit = Matrix::Zero(n, at.size());
  Vector mean = Vector::Zero(n);
  const double common = w.course.common[c], worn = item.full - common;
  mean[state_depth] = common;
  by_item.row(state_depth).head(p_offsets) = w.course.common_by_item.col(c);
  by_unit.row(state_depth) = w.course.common_by_unit.col(c);
  mean[state_rate] = common_->groups[static_cast<std::size_t>(group)].log_rate + at.x[0] +
                     at.x[UnitState::axle(axle)] + own[p_rate] + (turned ? at.x[at.turned(axle)] : 0.0);
  by_item(state_rate, p_rate) = by_unit(state_rate, 0) = by_unit(state_rate, UnitState::axle(axle)) = 1.0;
  mean[state_strength] = own[p_strength];
  by_item(state_strength, p_strength) = 1.0;
  mean[state_shoulder] = own[p_shoulder];
  by_item(state_shoulder, p_shoulder) = 1.0;
  const double tilt =
      at.x[at.one_sided(axle)] + own[p_one_sided] + (turned ? at.x[at.turned(axle) + 1] : 0.0);
  mean[state_one_sided] = tilt;
  by_item(state_one_sided, p_one_sided) = by_unit(state_one_sided, at.one_sided(axle)) = 1.0;
  if (turned) {
    by_unit(state_rate, at.turned(axle)) = by_unit(state_one_sided, at.turned(axle) + 1) = 1.0;
  }
  const Index last_knot = at.knot(at.knots() - 1);
  mean[state_severity] = at.x[last_knot];
  by_unit(state_severity, last_knot) = 1.0;
  for (Index g = 0; g < channels; ++g) {
    const Index row = static_cast<Index>(state_offsets) + g;
    const double side = fleet_.side(g, column);
    // As if the tilt of today had been there from new.
    mean[row] = own[p_offsets + g] - side * (w.course.one_sided[c] - tilt * worn);
    by_item.row(row).head(p_offsets) =
        -side * (w.course.one_sided_by_item.col(c) + tilt * w.course.common_by_item.col(c)).transpose();
    by_item.row(row) += side * worn * by_item.row(state_one_sided);
    by_item(row, p_offsets + g) += 1.0;
    by_unit.row(row) =
        -side * (w.course.one_sided_by_unit.col(c) + tilt * w.course.common_by_unit.col(c)).transpose() +
        side * worn * by_unit.row(state_one_sided);
  }
  Matrix covariance = by_item * w.covariance * by_item.transpose();
  const Matrix cross = by_item * w.with_unit * by_unit.transpose();
  covariance += cross + cross.transpose() + by_unit * covariance_ * by_unit.transpose();
  const LeftOut& left_out = fleet_.options.left_out;
  const auto readings = static_cast<double>(item.readings.size());
  const bool moved = !item.moves.empty() || item.previous >= 0;
  covariance *= 1.0 + left_out.readings * readings / (readings + left_out.half_of_readings) +
                left_out.record / static_cast<double>(at.knots()) + (moved ? left_out.moved : 0.0);
  // The group's mean and the mean curve are themselves known only so well: what the item's own readings do
  // not say leans on them.
  const double rate_prior = unit_variance() + square(s.axle) + square(s.item);
  const double leans = std::clamp(covariance(state_rate, state_rate) / rate_prior, 0.0, 1.0);
  covariance(state_rate, state_rate) +=
      square(leans) * common_->groups[static_cast<std::size_t>(group)].variance;
  const double bends = std::clamp(w.covariance(p_strength, p_strength) / square(s.strength), 0.0, 1.0);
  covariance(state_strength, state_strength) += square(bends) * common_->strength_variance;
  const double sinks = std::clamp(w.covariance(p_shoulder, p_shoulder) / square(s.shoulder), 0.0, 1.0);
  covariance(state_shoulder, state_shoulder) += square(sinks) * common_->shoulder_variance;
  ItemState state;
  state.mean.assign(mean.data(), mean.data() + n);
  state.covariance.assign(covariance.data(), covariance.data() + n * n);
  state.channels.assign(fleet_.has[i].begin(), fleet_.has[i].end());
  state.side.assign(fleet_.side.col(column).data(), fleet_.side.col(column).data() + channels);
  state.outside.assign(fleet_.outside.col(column).data(), fleet_.outside.col(column).data() + channels);
  state.turned_day =
      turned ? fleet_.options.first_day +
                   static_cast<double>(at.turn[static_cast<std::size_t>(axle)]) * fleet_.options.knot_days
             : std::numeric_limits<double>::quiet_NaN();
  add_last_reading(k, state);
  return state;
}

// A last reading far from what the others say is a slip, or it is right and what is there changed since the
// one before. Nothing that follows tells these apart, so that both keep their odds; an ordinary error
// (Student-t, as the weights) is the third.
void UnitSolver::add_last_reading(std::size_t k, ItemState& state) const {
  const WearItem& item = fleet_.items[item_at(k)];
  const ItemWork& w = work_[k];
  if (item.readings.empty()) {
    return;
  }
  const std::size_t last = item.readings.size() - 1;
  const std::vector<double>& depth = item.readings[last].depth;
  double off = 0.0;
  for (Index g = 0; g < fleet_.channels; ++g) {
    const double read = depth[static_cast<std::size_t>(g)];
    if (!std::isnan(read) && !(read >= state.last_read)) {
      state.last_read = read;
      off = w.residual(g, static_cast<Index>(last));
    }
  }
  constexpr double long_ago = 3650.0;  // nothing was read before
  const double days = last > 0 ? item.readings[last].time - item.readings[last - 1].time : long_ago;
  const double changed = chance_of_change(days) / range_mm, slip = slip_share / range_mm;
  const boost::math::students_t_distribution<double> law(fleet_.options.weight_freedom);
  const double spread = common_->spreads.reading;
  const double error = boost::math::pdf(law, off / spread) / spread;
  state.last_right = changed / (changed + slip + error);
}

// At each reading, readers and errors left out.
std::vector<double> UnitSolver::shallowest_of(std::size_t k) const {
  const std::size_t i = item_at(k);
  const auto column = static_cast<Index>(i);
  const ItemCourse& course = work_[k].course;
  std::vector<double> out(fleet_.items[i].readings.size(), std::numeric_limits<double>::infinity());
  for (std::size_t r = 0; r < out.size(); ++r) {
    const auto at = static_cast<Index>(r);
    for (const Index g : fleet_.has[i]) {
      const double depth = channel(i, g).depth(course.common[at], fleet_.items[i].full) -
                           fleet_.side(g, column) * course.one_sided[at];
      out[r] = std::min(out[r], std::max(depth, 0.0));
    }
  }
  return out;
}

void UnitSolver::report_doubted(std::size_t k, std::vector<DoubtedReading>& out) const {
  constexpr double little = 0.25;
  const std::size_t i = item_at(k);
  const WearItem& item = fleet_.items[i];
  const ItemWork& w = work_[k];
  for (Index r = 0; r < w.residual.cols(); ++r) {
    const ItemReading& reading = item.readings[static_cast<std::size_t>(r)];
    double sum = 0.0, expected = 0.0, weight = 0.0, n = 0.0;
    for (Index g = 0; g < fleet_.channels; ++g) {
      if (!std::isnan(w.residual(g, r))) {
        sum += w.weight(g, r) < little ? 1.0 : 0.0;
        weight += w.weight(g, r);
        expected += reading.depth[static_cast<std::size_t>(g)] - w.residual(g, r);
        n += 1.0;
      }
    }
    if (n > 1.0 && sum == n) {
      out.push_back({.item = i,
                     .reading = static_cast<std::size_t>(r),
                     .channel = -1,
                     .expected = expected / n,
                     .weight = weight / n});
      continue;
    }
    for (Index g = 0; g < fleet_.channels && sum > 0.0; ++g) {
      if (!std::isnan(w.residual(g, r)) && w.weight(g, r) < little) {
        out.push_back({.item = i,
                       .reading = static_cast<std::size_t>(r),
                       .channel = static_cast<std::int32_t>(g),
                       .expected = reading.depth[static_cast<std::size_t>(g)] - w.residual(g, r),
                       .weight = w.weight(g, r)});
      }
    }
  }
}

}  // namespace wheelend::wear_fit
