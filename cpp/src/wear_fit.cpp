#include "wheelend/wear_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "wheelend/error.hpp"

namespace wheelend {

namespace {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double year_days = 365.25;
constexpr double season_from_days =
    540.0;  // a year and a half: below it a season cannot be told from a drift

// Parameters of an item, before the offsets of its channels.
enum : Eigen::Index { p_depth, p_rate, p_strength, p_shoulder, p_one_sided, p_offsets };

double square(double x) { return x * x; }

struct ItemWork {
  Vector x, prior_mean, prior_precision;  // p_offsets + channels
  Matrix information_inverse;             // of the item alone, given the unit
  Matrix gain;                            // information_inverse times the block shared with the unit
  Vector gradient;
  Matrix covariance;  // of the item
  Matrix with_unit;   // covariance of the item with the unit
  double squares = 0.0, rows = 0.0, least_weight = 1.0;
};

struct UnitWork {
  Vector x;  // unit, axles, one-sided of axles, severity of knots
  Matrix covariance;
  std::map<double, double> off;  // by time of a visit: by how much all its
                                 // readings are off, where they are
};

// Where the parts of a unit's parameters lie.
struct UnitLayout {
  Eigen::Index axles, knots;
  [[nodiscard]] Eigen::Index axle(std::int32_t a) const { return 1 + a; }
  [[nodiscard]] Eigen::Index one_sided(std::int32_t a) const { return 1 + axles + a; }
  [[nodiscard]] Eigen::Index knot(Eigen::Index m) const { return 1 + 2 * axles + m; }
  [[nodiscard]] Eigen::Index size() const { return 1 + 2 * axles + knots; }
};

// Sums over units that the spreads, groups and readers are updated from.
struct Sums {
  double units = 0.0, unit = 0.0, axles = 0.0, axle = 0.0, one_axle = 0.0;
  double knots = 0.0, severity = 0.0;
  double items = 0.0, item = 0.0, strength_sum = 0.0, strength = 0.0, strength_trust = 0.0;
  double shoulder_sum = 0.0, shoulder = 0.0, shoulder_trust = 0.0, one_item = 0.0, offsets = 0.0,
         offset = 0.0;
  double squares = 0.0, rows = 0.0, freedom = 0.0;
  double season_cc = 0.0, season_cs = 0.0, season_ss = 0.0, season_c = 0.0, season_s = 0.0;
  std::vector<double> group_sum, group_trust, group_units;
  std::vector<double> reader_sum, reader_weight;
};

class Fitting {
 public:
  Fitting(const std::vector<WearItem>& items, const std::vector<WearUnit>& units,
          const std::vector<WearGroup>& groups, std::size_t readers, std::size_t channels,
          const WearSpreads& prior, const std::vector<double>& wanted, const WearFitOptions& options)
      : items_(items),
        units_(units),
        prior_groups_(groups),
        channels_(static_cast<Eigen::Index>(channels)),
        prior_(prior),
        wanted_(wanted),
        options_(options) {
    fit_.spreads = prior;
    fit_.groups = groups;
    fit_.readers.assign(readers, 0.0);
    item_work_.resize(items.size());
    unit_work_.resize(units.size());
    place_channels();
    begin();
  }

  WearFit run() {
    for (int pass = 0; pass < options_.passes; ++pass) {
      Sums sums = empty_sums();
      for (std::size_t u = 0; u < units_.size(); ++u) {
        if (pass > 2) {
          find_visits_off(u);
        }
        solve(u);
        add_sums(u, sums);
      }
      if (pass + 1 < options_.passes) {
        update(sums);
        carry_tires_on();
      }
    }
    fit_.items.resize(items_.size());
    for (std::size_t i = 0; i < items_.size(); ++i) {
      fit_.weight.push_back(item_work_[i].least_weight);
      if (!std::isnan(wanted_[i])) {
        fit_.items[i] = state_of(i);
      }
    }
    return std::move(fit_);
  }

 private:
  [[nodiscard]] Eigen::Index knots() const {
    return static_cast<Eigen::Index>(units_.empty() ? 1 : units_.front().exposure_at_boundary.size() - 1);
  }
  [[nodiscard]] UnitLayout layout(std::size_t u) const { return {units_[u].axles, knots()}; }

  // Side and shoulder of each channel, by its place among those that the item has at all.
  void place_channels() {
    for (const WearItem& item : items_) {
      std::vector<Eigen::Index> read;
      for (Eigen::Index g = 0; g < channels_; ++g) {
        const bool any = std::any_of(item.readings.begin(), item.readings.end(), [g](const ItemReading& r) {
          return !std::isnan(r.depth[static_cast<std::size_t>(g)]);
        });
        if (any) {
          read.push_back(g);
        }
      }
      Vector side = Vector::Zero(channels_), outside = Vector::Zero(channels_);
      const auto n = read.size();
      for (std::size_t k = 0; k < n && n > 1; ++k) {
        side[read[k]] = 1.0 - 2.0 * static_cast<double>(k) / static_cast<double>(n - 1);
        outside[read[k]] = n > 2 && (k == 0 || k + 1 == n) ? 1.0 : 0.0;
      }
      side_.push_back(side);
      outside_.push_back(outside);
      has_.push_back(read);
    }
  }

  void begin() {
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const WearItem& item = items_[i];
      ItemWork& w = item_work_[i];
      const Eigen::Index n = p_offsets + channels_;
      w.x = Vector::Zero(n);
      w.prior_mean = Vector::Zero(n);
      w.prior_precision = Vector::Zero(n);
      double sum = 0.0;
      int count = 0;
      for (const double d : item.readings.front().depth) {
        if (!std::isnan(d)) {
          sum += d;
          ++count;
        }
      }
      w.x[p_depth] = count > 0 ? sum / count : item.full / 2.0;
      w.prior_mean[p_depth] = item.begins_full ? item.full : w.x[p_depth];
      w.x[p_strength] = w.prior_mean[p_strength] = prior_.strength_mean;
      w.x[p_shoulder] = w.prior_mean[p_shoulder] = prior_.shoulder_mean;
      set_priors(i);
    }
    for (std::size_t u = 0; u < units_.size(); ++u) {
      unit_work_[u].x = Vector::Zero(layout(u).size());
    }
  }

  void set_priors(std::size_t i) {
    ItemWork& w = item_work_[i];
    const WearSpreads& s = fit_.spreads;
    w.prior_precision[p_depth] = 1.0 / square(0.5 * items_[i].full);  // nearly nothing: the readings say it
    w.prior_precision[p_rate] = 1.0 / square(s.item);
    w.prior_precision[p_strength] = 1.0 / square(s.strength);
    w.prior_precision[p_shoulder] = 1.0 / square(s.shoulder);
    w.prior_precision[p_one_sided] = 1.0 / square(s.one_sided_item);
    w.prior_mean[p_rate] = 0.0;
    w.prior_mean[p_one_sided] = 0.0;
    w.prior_mean[p_strength] = s.strength_mean;
    w.prior_mean[p_shoulder] = s.shoulder_mean;
    for (Eigen::Index g = 0; g < channels_; ++g) {
      w.prior_precision[p_offsets + g] = 1.0 / square(s.offset);
      w.prior_mean[p_offsets + g] = 0.0;
    }
  }

  // A tire that moved brings what was learned of it: its depth, its own rate, its curve, its grooves.
  void carry_tires_on() {
    for (std::size_t i = 0; i < items_.size(); ++i) {
      set_priors(i);
      const std::int64_t before = items_[i].previous;
      if (before < 0) {
        continue;
      }
      const auto b = static_cast<std::size_t>(before);
      const ItemWork& was = item_work_[b];
      ItemWork& w = item_work_[i];
      const WearItem& former = items_[b];
      const double at_end = common_depth(b, former.readings.back().exposure);
      const WearCurve curve{former.full, std::exp(was.x[p_strength])};
      const double wear = std::exp(log_rate(i)) * items_[i].exposure_between;
      w.prior_mean[p_depth] = std::clamp(curve.depth_after(at_end, wear), 0.0, items_[i].full);
      // The depth at the end is about as well known as that at the first reading; what it ran since is a
      // guess.
      w.prior_precision[p_depth] =
          1.0 / (2.0 * was.covariance(p_depth, p_depth) + square(0.5 * wear) + square(fit_.spreads.reading));
      for (const Eigen::Index p :
           {Eigen::Index{p_rate}, Eigen::Index{p_strength}, Eigen::Index{p_shoulder}}) {
        w.prior_mean[p] = was.x[p];
        w.prior_precision[p] = 1.0 / std::max(was.covariance(p, p), 1e-8);
      }
      for (Eigen::Index g = 0; g < channels_; ++g) {
        w.prior_mean[p_offsets + g] = was.x[p_offsets + g];
        w.prior_precision[p_offsets + g] = 1.0 / std::max(was.covariance(p_offsets + g, p_offsets + g), 1e-8);
      }
    }
  }

  [[nodiscard]] double season_at_knot(Eigen::Index m) const {
    const double day = options_.first_day + (static_cast<double>(m) + 0.5) * options_.knot_days;
    const double angle = 2.0 * std::numbers::pi * day / year_days;
    return fit_.season_cos * std::cos(angle) + fit_.season_sin * std::sin(angle);
  }

  [[nodiscard]] double log_rate(std::size_t i) const {
    const WearItem& item = items_[i];
    const auto u = static_cast<std::size_t>(item.unit);
    const Vector& x = unit_work_[u].x;
    return fit_.groups[static_cast<std::size_t>(item.group)].log_rate + x[0] + x[layout(u).axle(item.axle)] +
           item_work_[i].x[p_rate];
  }

  // Exposure in each knot from the item's first reading to `until`, weighted by severity and season.
  void knot_exposure(std::size_t i, double until, Vector& out) const {
    const WearItem& item = items_[i];
    const auto u = static_cast<std::size_t>(item.unit);
    const std::vector<double>& boundary = units_[u].exposure_at_boundary;
    const double from = item.readings.front().exposure;
    const Eigen::Index n = knots();
    out.setZero(n);
    for (Eigen::Index m = 0; m < n; ++m) {
      const double low =
          m == 0 ? -std::numeric_limits<double>::infinity() : boundary[static_cast<std::size_t>(m)];
      const double high =
          m + 1 == n ? std::numeric_limits<double>::infinity() : boundary[static_cast<std::size_t>(m) + 1];
      const double overlap = std::min(until, high) - std::max(from, low);
      if (overlap > 0.0) {
        out[m] = overlap * std::exp(unit_work_[u].x[layout(u).knot(m)] + season_at_knot(m));
      }
    }
  }

  [[nodiscard]] double common_depth(std::size_t i, double until) const {
    Vector exposure;
    knot_exposure(i, until, exposure);
    const ItemWork& w = item_work_[i];
    const WearCurve curve{items_[i].full, std::exp(w.x[p_strength])};
    return curve.depth_after(w.x[p_depth], std::exp(log_rate(i)) * exposure.sum());
  }

  // The common depth at an exposure, with its derivatives by the item's and the unit's parameters.
  double differentiate(std::size_t i, double until, Vector& by_item, Vector& by_unit) const {
    const WearItem& item = items_[i];
    const auto u = static_cast<std::size_t>(item.unit);
    const UnitLayout at = layout(u);
    const ItemWork& w = item_work_[i];
    Vector exposure;
    knot_exposure(i, until, exposure);
    const double rate = std::exp(log_rate(i)), wear = rate * exposure.sum();
    const WearCurve curve{item.full, std::exp(w.x[p_strength])};
    const double first = w.x[p_depth], depth = curve.depth_after(first, wear);
    const double per_wear = curve.rate_at(depth);
    by_item.setZero(p_offsets + channels_);
    by_unit.setZero(at.size());
    by_item[p_depth] = per_wear / curve.rate_at(first);
    by_item[p_rate] = -per_wear * wear;
    constexpr double step = 1e-4;
    by_item[p_strength] =
        (WearCurve{item.full, std::exp(w.x[p_strength] + step)}.depth_after(first, wear) - depth) / step;
    by_unit[0] = by_unit[at.axle(item.axle)] = by_item[p_rate];
    for (Eigen::Index m = 0; m < at.knots; ++m) {
      by_unit[at.knot(m)] = -per_wear * rate * exposure[m];
    }
    return depth;
  }

  [[nodiscard]] Channel channel(std::size_t i, Eigen::Index g) const {
    const WearItem& item = items_[i];
    const auto u = static_cast<std::size_t>(item.unit);
    const ItemWork& w = item_work_[i];
    const double tilt = unit_work_[u].x[layout(u).one_sided(item.axle)] + w.x[p_one_sided];
    return {.offset = w.x[p_offsets + g],
            .one_sided = side_[i][g] * tilt,
            .shoulder = outside_[i][g] * std::max(w.x[p_shoulder], 0.0)};
  }

  // Adds the readings of an item to its own information and to the unit's.
  void add_readings(std::size_t i, Matrix& own, Matrix& shared, Vector& gradient, Matrix& unit_info,
                    Vector& unit_gradient) {
    const WearItem& item = items_[i];
    const auto u = static_cast<std::size_t>(item.unit);
    const UnitLayout at = layout(u);
    ItemWork& w = item_work_[i];
    const double variance = square(fit_.spreads.reading);
    Vector common_item, common_unit, by_item, by_unit;
    w.squares = w.rows = 0.0;
    w.least_weight = 1.0;
    for (const ItemReading& reading : item.readings) {
      const double common = differentiate(i, reading.exposure, common_item, common_unit);
      const double worn = item.full - common;
      const double bias = bias_of(u, reading);
      for (const Eigen::Index g : has_[i]) {
        const double y = reading.depth[static_cast<std::size_t>(g)];
        if (std::isnan(y)) {
          continue;
        }
        const Channel c = channel(i, g);
        const double slope = c.slope(common, item.full);
        by_item = slope * common_item;
        by_unit = slope * common_unit;
        by_item[p_one_sided] = -side_[i][g] * worn;
        by_unit[at.one_sided(item.axle)] = by_item[p_one_sided];
        by_item[p_shoulder] = -outside_[i][g] * worn * std::abs(worn) / item.full;
        by_item[p_offsets + g] = 1.0;
        const double residual = y - bias - c.depth(common, item.full);
        const double weight =
            (options_.weight_freedom + 1.0) / (options_.weight_freedom + square(residual) / variance);
        const double precision = weight / variance;
        own.noalias() += precision * by_item * by_item.transpose();
        shared.noalias() += precision * by_item * by_unit.transpose();
        gradient.noalias() += precision * residual * by_item;
        unit_info.noalias() += precision * by_unit * by_unit.transpose();
        unit_gradient.noalias() += precision * residual * by_unit;
        w.squares += weight * square(residual);
        w.rows += 1.0;
        w.least_weight = std::min(w.least_weight, weight);
      }
    }
  }

  // What a reading is off by: its reader, and its visit where all of that is off.
  [[nodiscard]] double bias_of(std::size_t u, const ItemReading& reading) const {
    const double reader = reading.reader >= 0 ? fit_.readers[static_cast<std::size_t>(reading.reader)] : 0.0;
    const auto visit = unit_work_[u].off.find(reading.time);
    return reader + (visit == unit_work_[u].off.end() ? 0.0 : visit->second);
  }

  // A visit whose readings are off together by about a step of the gauge (a worn foot, a gauge not set to
  // zero): no tire alone can show that.
  void find_visits_off(std::size_t u) {
    std::map<double, std::vector<double>> visits;
    for (const std::int64_t item : units_[u].items) {
      const auto i = static_cast<std::size_t>(item);
      for (const ItemReading& reading : items_[i].readings) {
        const double common = common_depth(i, reading.exposure);
        const double reader =
            reading.reader >= 0 ? fit_.readers[static_cast<std::size_t>(reading.reader)] : 0.0;
        for (const Eigen::Index g : has_[i]) {
          const double y = reading.depth[static_cast<std::size_t>(g)];
          if (!std::isnan(y)) {
            visits[reading.time].push_back(y - reader - channel(i, g).depth(common, items_[i].full));
          }
        }
      }
    }
    unit_work_[u].off.clear();
    constexpr std::size_t readings_needed = 6;
    constexpr double least = 2.0, most = 8.0;  // of the spread of one reading
    for (auto& [time, residuals] : visits) {
      if (residuals.size() < readings_needed) {
        continue;
      }
      const auto quartile = [&residuals](std::size_t q) {
        const auto at = residuals.begin() + static_cast<std::ptrdiff_t>(residuals.size() * q / 4);
        std::nth_element(residuals.begin(), at, residuals.end());
        return *at;
      };
      const double middle = quartile(2), low = quartile(1), high = quartile(3);
      // Three quarters of the readings lie on one side, away from what was expected.
      const double nearest = middle > 0.0 ? low : -high;
      if (std::abs(middle) > least * fit_.spreads.reading && std::abs(middle) < most * fit_.spreads.reading &&
          nearest > 0.5 * fit_.spreads.reading) {
        unit_work_[u].off[time] = middle;
      }
    }
  }

  [[nodiscard]] Matrix unit_prior(std::size_t u) const {
    const UnitLayout at = layout(u);
    const WearSpreads& s = fit_.spreads;
    Matrix precision = Matrix::Zero(at.size(), at.size());
    const double level = square(s.unit) + (units_[u].by_time ? square(s.use_of_unit) : 0.0);
    precision(0, 0) = 1.0 / level;
    for (std::int32_t a = 0; a < units_[u].axles; ++a) {
      precision(at.axle(a), at.axle(a)) = 1.0 / square(s.axle);
      precision(at.one_sided(a), at.one_sided(a)) = 1.0 / square(s.one_sided_axle);
    }
    const double variance = square(s.severity) + (units_[u].by_time ? square(s.use_drift) : 0.0);
    const double keep = std::exp(-options_.knot_days / s.severity_days);
    const double innovation = variance * (1.0 - keep * keep);
    for (Eigen::Index m = 0; m < at.knots; ++m) {
      const Eigen::Index k = at.knot(m);
      precision(k, k) += m == 0 ? 1.0 / variance : 1.0 / innovation;
      if (m > 0) {
        precision(k - 1, k - 1) += keep * keep / innovation;
        precision(k, k - 1) -= keep / innovation;
        precision(k - 1, k) -= keep / innovation;
      }
    }
    return precision;
  }

  // One Gauss-Newton step of a unit and its items.
  void solve(std::size_t u) {
    const UnitLayout at = layout(u);
    UnitWork& work = unit_work_[u];
    const Matrix prior = unit_prior(u);
    Matrix info = prior;
    Vector gradient = -prior * work.x;
    const Eigen::Index n = p_offsets + channels_;
    for (const std::int64_t item : units_[u].items) {
      const auto i = static_cast<std::size_t>(item);
      ItemWork& w = item_work_[i];
      Matrix own = w.prior_precision.asDiagonal();
      Matrix shared = Matrix::Zero(n, at.size());
      w.gradient = -w.prior_precision.cwiseProduct(w.x - w.prior_mean);
      add_readings(i, own, shared, w.gradient, info, gradient);
      const Eigen::LLT<Matrix> factor(own);
      w.information_inverse = factor.solve(Matrix::Identity(n, n));
      w.gain = w.information_inverse * shared;
      info.noalias() -= shared.transpose() * w.gain;
      gradient.noalias() -= w.gain.transpose() * w.gradient;
    }
    const Eigen::LLT<Matrix> factor(info);
    work.covariance = factor.solve(Matrix::Identity(at.size(), at.size()));
    Vector step = work.covariance * gradient;
    constexpr double most = 0.5;  // of a logarithm in one step: the readings are
                                  // linearised about the last estimate
    for (Eigen::Index k = 0; k < at.size(); ++k) {
      step[k] = std::clamp(step[k], -most, most);
    }
    work.x += step;
    for (const std::int64_t item : units_[u].items) {
      const auto i = static_cast<std::size_t>(item);
      ItemWork& w = item_work_[i];
      Vector own = w.information_inverse * w.gradient - w.gain * step;
      for (const Eigen::Index k : {Eigen::Index{p_rate}, Eigen::Index{p_strength}, Eigen::Index{p_shoulder},
                                   Eigen::Index{p_one_sided}}) {
        own[k] = std::clamp(own[k], -most, most);
      }
      w.x += own;
      w.x[p_depth] = std::clamp(w.x[p_depth], 0.02 * items_[i].full, 1.5 * items_[i].full);
      w.with_unit = -w.gain * work.covariance;
      w.covariance = w.information_inverse - w.with_unit * w.gain.transpose();
    }
  }

  [[nodiscard]] Sums empty_sums() const {
    Sums s;
    s.group_sum.assign(fit_.groups.size(), 0.0);
    s.group_trust = s.group_units = s.group_sum;
    s.reader_sum.assign(fit_.readers.size(), 0.0);
    s.reader_weight = s.reader_sum;
    return s;
  }

  void add_sums(std::size_t u, Sums& sums) const {
    const UnitLayout at = layout(u);
    const UnitWork& work = unit_work_[u];
    const auto second = [&work](Eigen::Index k) { return square(work.x[k]) + work.covariance(k, k); };
    if (!units_[u].by_time) {
      sums.units += 1.0;
      sums.unit += second(0);
      for (Eigen::Index m = 0; m < at.knots; ++m) {
        sums.severity += second(at.knot(m));
        sums.knots += 1.0;
      }
    }
    for (std::int32_t a = 0; a < units_[u].axles; ++a) {
      sums.axles += 1.0;
      sums.axle += second(at.axle(a));
      sums.one_axle += second(at.one_sided(a));
    }
    add_season(u, sums);
    std::vector<bool> seen(fit_.groups.size(), false);
    for (const std::int64_t item : units_[u].items) {
      add_item(u, static_cast<std::size_t>(item), seen, sums);
    }
    const Matrix prior = unit_prior(u);
    sums.freedom += static_cast<double>(at.size()) - (prior * work.covariance).trace();
  }

  void add_item(std::size_t u, std::size_t i, std::vector<bool>& seen, Sums& sums) const {
    const WearSpreads& s = fit_.spreads;
    const UnitLayout at = layout(u);
    const UnitWork& work = unit_work_[u];
    const ItemWork& w = item_work_[i];
    const Eigen::Index axle = at.axle(items_[i].axle);
    sums.squares += w.squares;
    sums.rows += w.rows;
    sums.freedom +=
        static_cast<double>(w.x.size()) - w.prior_precision.cwiseProduct(w.covariance.diagonal()).sum();
    // How far the group is from its mean, by what its items' readings say beyond their prior.
    const double own = w.x[p_rate] + work.x[0] + work.x[axle];
    const double variance =
        w.covariance(p_rate, p_rate) + work.covariance(0, 0) + work.covariance(axle, axle) +
        2.0 * (w.with_unit(p_rate, 0) + w.with_unit(p_rate, axle) + work.covariance(0, axle));
    const double level = square(s.unit) + (units_[u].by_time ? square(s.use_of_unit) : 0.0);
    const double trust = std::clamp(1.0 - variance / (level + square(s.axle) + square(s.item)), 0.0, 1.0);
    const auto group = static_cast<std::size_t>(items_[i].group);
    const double share = units_[u].by_time ? 0.25 : 1.0;  // the use of a unit by time is not its wear
    sums.group_sum[group] += share * own;
    sums.group_trust[group] += share * trust;
    if (!seen[group]) {
      sums.group_units[group] += share;
      seen[group] = true;
    }
    if (items_[i].previous >= 0) {
      return;  // counted at its former place
    }
    const auto second = [&w](Eigen::Index k) {
      return square(w.x[k] - w.prior_mean[k]) + w.covariance(k, k);
    };
    sums.items += 1.0;
    sums.item += second(p_rate);
    sums.strength += second(p_strength);
    sums.strength_sum += w.x[p_strength] - w.prior_mean[p_strength];
    sums.strength_trust += std::max(1.0 - w.covariance(p_strength, p_strength) / square(s.strength), 0.0);
    sums.shoulder += second(p_shoulder);
    sums.shoulder_sum += w.x[p_shoulder] - w.prior_mean[p_shoulder];
    sums.shoulder_trust += std::max(1.0 - w.covariance(p_shoulder, p_shoulder) / square(s.shoulder), 0.0);
    sums.one_item += second(p_one_sided);
    for (const Eigen::Index g : has_[i]) {
      sums.offset += second(p_offsets + g);
      sums.offsets += 1.0;
    }
    add_readers(i, sums);
  }

  void add_readers(std::size_t i, Sums& sums) const {
    const WearItem& item = items_[i];
    const double variance = square(fit_.spreads.reading);
    for (const ItemReading& reading : item.readings) {
      if (reading.reader < 0) {
        continue;
      }
      const auto r = static_cast<std::size_t>(reading.reader);
      const double common = common_depth(i, reading.exposure);
      for (const Eigen::Index g : has_[i]) {
        const double y = reading.depth[static_cast<std::size_t>(g)];
        if (!std::isnan(y)) {
          const double residual = y -
                                  (bias_of(static_cast<std::size_t>(item.unit), reading) - fit_.readers[r]) -
                                  channel(i, g).depth(common, item.full);
          const double off = residual - fit_.readers[r];
          const double weight =
              (options_.weight_freedom + 1.0) / (options_.weight_freedom + square(off) / variance);
          sums.reader_sum[r] += weight * residual;
          sums.reader_weight[r] += weight;
        }
      }
    }
  }

  void add_season(std::size_t u, Sums& sums) const {
    const UnitLayout at = layout(u);
    const UnitWork& work = unit_work_[u];
    const double variance =
        square(fit_.spreads.severity) + (units_[u].by_time ? square(fit_.spreads.use_drift) : 0.0);
    for (Eigen::Index m = 0; m < at.knots; ++m) {
      const double trust = std::clamp(1.0 - work.covariance(at.knot(m), at.knot(m)) / variance, 0.0, 1.0);
      const double day = options_.first_day + (static_cast<double>(m) + 0.5) * options_.knot_days;
      const double angle = 2.0 * std::numbers::pi * day / year_days;
      const double c = std::cos(angle), s = std::sin(angle), y = work.x[at.knot(m)];
      sums.season_cc += trust * c * c;
      sums.season_cs += trust * c * s;
      sums.season_ss += trust * s * s;
      sums.season_c += c * y;
      sums.season_s += s * y;
    }
  }

  // One EM step of each spread; the prior counts as `prior_items` items.
  void update(const Sums& sums) {
    WearSpreads& s = fit_.spreads;
    const double n0 = options_.prior_items;
    // Plain EM creeps where a spread is small; a longer step in the logarithm gets there in a few passes.
    constexpr double longer = 1.8;
    const auto spread = [n0](double& value, double prior, double sum, double n) {
      const double em = std::sqrt((n0 * prior * prior + sum) / (n0 + n));
      value *= std::pow(em / value, longer);
    };
    spread(s.unit, prior_.unit, sums.unit, sums.units);
    spread(s.axle, prior_.axle, sums.axle, sums.axles);
    spread(s.one_sided_axle, prior_.one_sided_axle, sums.one_axle, sums.axles);
    spread(s.severity, prior_.severity, sums.severity, sums.knots);
    spread(s.item, prior_.item, sums.item, sums.items);
    spread(s.one_sided_item, prior_.one_sided_item, sums.one_item, sums.items);
    // Squares about a mean that moves by `step`.
    const auto about = [&sums](double squares, double sum, double step) {
      return squares - 2.0 * step * sum + sums.items * square(step);
    };
    const double strength_step = std::clamp(sums.strength_sum / (sums.strength_trust + n0 / 4.0), -0.5, 0.5);
    const double shoulder_step = sums.shoulder_sum / (sums.shoulder_trust + n0 / 4.0);
    spread(s.strength, prior_.strength, about(sums.strength, sums.strength_sum, strength_step), sums.items);
    spread(s.shoulder, prior_.shoulder, about(sums.shoulder, sums.shoulder_sum, shoulder_step), sums.items);
    s.strength_mean += strength_step;
    s.shoulder_mean += shoulder_step;
    spread(s.offset, prior_.offset, sums.offset, sums.offsets);
    const double freedom = std::max(sums.rows - sums.freedom, 1.0);
    s.reading = std::max(std::sqrt((n0 * square(prior_.reading) + sums.squares) / (n0 + freedom)),
                         options_.reading_floor);
    update_groups(sums);
    update_readers(sums);
    update_season(sums);
  }

  void update_groups(const Sums& sums) {
    for (std::size_t g = 0; g < fit_.groups.size(); ++g) {
      if (sums.group_units[g] == 0.0) {
        continue;
      }
      const double spread = square(fit_.spreads.unit) + square(fit_.spreads.axle) / 2.0;
      const double seen = fit_.groups[g].log_rate + sums.group_sum[g] / std::max(sums.group_trust[g], 0.5);
      const double weight = std::min(sums.group_units[g], sums.group_trust[g]) / spread;
      const double prior = 1.0 / square(options_.prior_groups);
      fit_.groups[g].log_rate = (weight * seen + prior * prior_groups_[g].log_rate) / (weight + prior);
    }
  }

  void update_readers(const Sums& sums) {
    const double ratio = square(fit_.spreads.reading / fit_.spreads.reader);
    double total = 0.0, weights = 0.0;
    for (std::size_t r = 0; r < fit_.readers.size(); ++r) {
      fit_.readers[r] = sums.reader_sum[r] / (sums.reader_weight[r] + ratio);
      total += fit_.readers[r] * sums.reader_weight[r];
      weights += sums.reader_weight[r];
    }
    for (double& reader : fit_.readers) {  // what all readers share cannot be told from the tires
      reader -= weights > 0.0 ? total / weights : 0.0;
    }
  }

  void update_season(const Sums& sums) {
    if (static_cast<double>(knots()) * options_.knot_days < season_from_days) {
      return;
    }
    const double ridge = 5.0;  // knots that the prior of no season is worth
    const double cc = sums.season_cc + ridge, ss = sums.season_ss + ridge, cs = sums.season_cs;
    const double det = cc * ss - cs * cs;
    fit_.season_cos += (ss * sums.season_c - cs * sums.season_s) / det;
    fit_.season_sin += (cc * sums.season_s - cs * sums.season_c) / det;
  }

  // Common depth at the exposure asked for and the parameters that decide what follows, with their joint
  // covariance.
  [[nodiscard]] ItemState state_of(std::size_t i) const {
    const WearItem& item = items_[i];
    const auto u = static_cast<std::size_t>(item.unit);
    const UnitLayout at = layout(u);
    const UnitWork& work = unit_work_[u];
    const ItemWork& w = item_work_[i];
    const Eigen::Index n = static_cast<Eigen::Index>(state_offsets) + channels_;
    Matrix by_item = Matrix::Zero(n, p_offsets + channels_), by_unit = Matrix::Zero(n, at.size());
    Vector row_item, row_unit, mean = Vector::Zero(n);
    mean[state_depth] = differentiate(i, wanted_[i], row_item, row_unit);
    by_item.row(state_depth) = row_item;
    by_unit.row(state_depth) = row_unit;
    mean[state_rate] = log_rate(i);
    by_item(state_rate, p_rate) = by_unit(state_rate, 0) = by_unit(state_rate, at.axle(item.axle)) = 1.0;
    mean[state_strength] = w.x[p_strength];
    by_item(state_strength, p_strength) = 1.0;
    mean[state_shoulder] = w.x[p_shoulder];
    by_item(state_shoulder, p_shoulder) = 1.0;
    mean[state_one_sided] = work.x[at.one_sided(item.axle)] + w.x[p_one_sided];
    by_item(state_one_sided, p_one_sided) = by_unit(state_one_sided, at.one_sided(item.axle)) = 1.0;
    mean[state_severity] = work.x[at.knot(at.knots - 1)];
    by_unit(state_severity, at.knot(at.knots - 1)) = 1.0;
    for (Eigen::Index g = 0; g < channels_; ++g) {
      mean[static_cast<Eigen::Index>(state_offsets) + g] = w.x[p_offsets + g];
      by_item(static_cast<Eigen::Index>(state_offsets) + g, p_offsets + g) = 1.0;
    }
    Matrix covariance = by_item * w.covariance * by_item.transpose();
    const Matrix cross = by_item * w.with_unit * by_unit.transpose();
    covariance += cross + cross.transpose() + by_unit * work.covariance * by_unit.transpose();
    ItemState state;
    state.mean.assign(mean.data(), mean.data() + n);
    state.covariance.assign(covariance.data(), covariance.data() + n * n);
    state.channels.assign(has_[i].begin(), has_[i].end());
    state.side.assign(side_[i].data(), side_[i].data() + channels_);
    state.outside.assign(outside_[i].data(), outside_[i].data() + channels_);
    return state;
  }

  const std::vector<WearItem>& items_;
  const std::vector<WearUnit>& units_;
  const std::vector<WearGroup>& prior_groups_;
  const Eigen::Index channels_;
  const WearSpreads prior_;
  const std::vector<double>& wanted_;
  const WearFitOptions options_;
  std::vector<Vector> side_, outside_;
  std::vector<std::vector<Eigen::Index>> has_;
  std::vector<ItemWork> item_work_;
  std::vector<UnitWork> unit_work_;
  WearFit fit_;
};

}  // namespace

WearFit fit_wear(const std::vector<WearItem>& items, const std::vector<WearUnit>& units,
                 const std::vector<WearGroup>& groups, std::size_t readers, std::size_t channels,
                 const WearSpreads& prior, const std::vector<double>& wanted, const WearFitOptions& options) {
  require_same_size(items.size(), wanted.size(), "wanted");
  for (const WearItem& item : items) {
    if (item.readings.empty() || !(item.full > 0.0)) {
      throw ColumnError("an item needs a reading and a full depth above 0");
    }
  }
  return Fitting(items, units, groups, readers, channels, prior, wanted, options).run();
}

}  // namespace wheelend
