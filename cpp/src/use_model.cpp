#include "wheelend/use_model.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "normal.hpp"
#include "relaxation.hpp"
#include "season.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double least_block_days = 21.0;  // three working weeks: below it single trips decide
constexpr double most_times =
    4.0;  // a busy month is not four times the usual one: common practice, no source
constexpr double most_of_group = 2.0;  // nor far above what units of the kind do: common practice, no source
constexpr double least_of_group = 0.02;  // a unit that never moved runs so little, for its logarithm's sake
constexpr double local_days = 90.0;  // either side of a block: the mean that logarithms are linearised about
constexpr double least_local = 0.2;  // of the unit's whole mean, where it stood for half a year
constexpr double prior_group_spread = 0.5;  // of a kind's use about the typical: common practice, no source
constexpr double season_spread = 0.06;  // of each coefficient before it was seen: common practice, no source
constexpr std::size_t lags = 25;
constexpr double lag_days = 30.0;
constexpr std::array<double, 8> rests{3.0, 5.0, 7.0, 10.0, 15.0, 22.0, 35.0, 60.0};  // days that are tried
constexpr std::array<double, 6> drifts{90.0, 130.0, 180.0, 270.0, 400.0, 720.0};     // days that are tried

double mean_of(const UseBlocks& unit) {
  double km = 0.0, days = 0.0;
  for (std::size_t b = 0; b < unit.days.size(); ++b) {
    km += unit.km_per_day[b] * unit.days[b];
    days += unit.days[b];
  }
  return days > 0.0 ? km / days : 0.0;
}

// Blocks without those that only a slip in the odometer explains: far above the unit's own and its group's.
UseBlocks believable(const UseBlocks& unit, double of_group) {
  UseBlocks out{.group = unit.group};
  const double most =
      unit.days.empty() ? 0.0 : std::max(most_times * median(unit.km_per_day), most_of_group * of_group);
  for (std::size_t b = 0; b < unit.days.size(); ++b) {
    if (unit.km_per_day[b] <= most) {
      out.end_day.push_back(unit.end_day[b]);
      out.days.push_back(unit.days[b]);
      out.km_per_day.push_back(unit.km_per_day[b]);
    }
  }
  return out;
}

double span_of(const UseBlocks& unit) {
  return unit.end_day.back() - unit.end_day.front() + unit.days.front();
}

// What is left of the blocks when the season is taken out.
void take_season_out(const UseModel& model, UseBlocks& unit) {
  if (model.season_cos == 0.0 && model.season_sin == 0.0) {
    return;
  }
  for (std::size_t b = 0; b < unit.days.size(); ++b) {
    unit.km_per_day[b] /= std::exp(
        log_mean_season(model.season_cos, model.season_sin, unit.end_day[b] - unit.days[b], unit.end_day[b]));
  }
}

class Learning {
 public:
  Learning(std::span<const UseBlocks> units, const UseModel& prior, double prior_units)
      : units_(units.begin(), units.end()), model_(prior), prior_(prior), weight_(prior_units) {}

  UseModel run() {
    drop_slips();
    learn_season();
    for (UseBlocks& unit : units_) {
      take_season_out(model_, unit);
    }
    learn_variogram();
    learn_levels();
    return model_;
  }

 private:
  void drop_slips() {
    std::vector<std::vector<double>> of_group(prior_.log_km_per_day.size());
    for (const UseBlocks& unit : units_) {
      if (!unit.days.empty()) {
        of_group[static_cast<std::size_t>(unit.group)].push_back(median(unit.km_per_day));
      }
    }
    for (UseBlocks& unit : units_) {
      unit =
          believable(unit, unit.days.empty() ? 0.0 : median(of_group[static_cast<std::size_t>(unit.group)]));
    }
  }

  void learn_season() {
    const double none = 20.0;  // no season counts as twenty blocks
    double cc = none, cs = 0.0, ss = none, cy = 0.0, sy = 0.0, squares = 0.0, n = 0.0;
    for (const UseBlocks& unit : units_) {
      const double mean = mean_of(unit);
      if (unit.days.empty() || span_of(unit) < 1.5 * year_days || mean <= 0.0) {
        continue;
      }
      for (std::size_t b = 0; b < unit.days.size(); ++b) {
        const Waves w = mean_waves(unit.end_day[b] - unit.days[b], unit.end_day[b]);
        const double y = std::min(unit.km_per_day[b] / mean, most_times) - 1.0;
        const double weight = unit.days[b] / lag_days;
        cc += weight * w.cos * w.cos;
        cs += weight * w.cos * w.sin;
        ss += weight * w.sin * w.sin;
        cy += weight * w.cos * y;
        sy += weight * w.sin * y;
        squares += weight * y * y;
        n += 1.0;
      }
    }
    const double det = cc * ss - cs * cs;
    model_.season_cos = (ss * cy - cs * sy) / det;
    model_.season_sin = (cc * sy - cs * cy) / det;
    // Blocks of a unit go together in their drift: a third of them speak.
    const double noise = n > 0.0 ? 3.0 * squares / n : 0.0;
    model_.season_doubt = n > 0.0
                              ? 1.0 / (1.0 / square(season_spread) + (cc + ss) / 2.0 / std::max(noise, 1e-4))
                              : square(season_spread);
  }

  struct Bin {
    double pairs = 0.0, gap = 0.0, per_day = 0.0, half_squares = 0.0;
  };

  void learn_variogram() {
    std::array<Bin, lags> bins{};
    std::vector<double> share;
    for (const UseBlocks& unit : units_) {
      const double mean = mean_of(unit);
      if (!(mean > 0.0)) {
        continue;
      }
      const std::size_t n = unit.days.size();
      share.resize(n);
      for (std::size_t b = 0; b < n; ++b) {
        share[b] = std::min(unit.km_per_day[b] / mean, most_times);
      }
      for (std::size_t b = 0; b < n; ++b) {
        for (std::size_t c = b + 1; c < n; ++c) {
          const double gap = unit.end_day[c] - unit.days[c] - unit.end_day[b];
          const auto lag = static_cast<std::size_t>(gap / lag_days + 0.5);
          if (lag >= lags) {
            break;
          }
          Bin& bin = bins[lag];
          bin.pairs += 1.0;
          bin.gap += gap;
          bin.per_day += (1.0 / unit.days[b] + 1.0 / unit.days[c]) / 2.0;
          bin.half_squares += square(share[c] - share[b]) / 2.0;
        }
      }
    }
    double scale = 0.0, pairs = 0.0;
    for (const Bin& bin : bins) {
      scale += bin.half_squares;
      pairs += bin.pairs;
    }
    scale = pairs > 0.0 ? scale / pairs : 1.0;
    double best = std::numeric_limits<double>::infinity();
    for (const double rest_days : rests) {
      const Curve of_rest = variograms(bins, rest_days);
      for (const double drift_days : drifts) {
        const auto [rest, drift, loss] =
            fit(bins, scale, {rest_days, of_rest}, {drift_days, variograms(bins, drift_days)});
        if (loss < best) {
          best = loss;
          model_.rest = rest;
          model_.rest_days = rest_days;
          model_.drift = drift;
          model_.drift_days = drift_days;
        }
      }
    }
  }

  // Variogram of block means of an Ornstein-Uhlenbeck path of variance 1.
  using Curve = std::array<double, lags>;
  static Curve variograms(const std::array<Bin, lags>& bins, double relaxation) {
    Curve out{};
    for (std::size_t lag = 0; lag < lags; ++lag) {
      if (bins[lag].pairs > 0.0) {
        const double days = bins[lag].pairs / bins[lag].per_day, gap = bins[lag].gap / bins[lag].pairs;
        out[lag] = kept_in_mean(days, relaxation) -
                   square(mean_decay(0.0, days, relaxation)) * std::exp(-gap / relaxation);
      }
    }
    return out;
  }

  // Least squares of the variogram on those of rest and drift, neither below 0, with a ridge towards the
  // prior. A bin of n pairs knows its value to sqrt(2 / n) of itself; pairs that overlap count less, and all
  // bins speak of the same data.
  struct Try {
    double days;
    const Curve& variogram;
  };
  [[nodiscard]] std::array<double, 3> fit(const std::array<Bin, lags>& bins, double scale, const Try& of_rest,
                                          const Try& of_drift) const {
    const double rest0 = prior_.rest_of_mean(lag_days) / kept_in_mean(lag_days, of_rest.days);
    const double drift0 = prior_.drift;
    const double ridge_rest = weight_ / square(std::max(rest0, 1e-6));
    const double ridge_drift = weight_ / square(std::max(drift0, 1e-6));
    double aa = ridge_rest, ab = 0.0, bb = ridge_drift, ay = ridge_rest * rest0, by = ridge_drift * drift0;
    constexpr double overlap_days = 60.0, same_data = 4.0;
    const auto weight_of = [scale](const Bin& bin) {
      return bin.pairs / (1.0 + bin.gap / bin.pairs / overlap_days) / same_data / square(scale);
    };
    for (std::size_t lag = 0; lag < lags; ++lag) {
      if (bins[lag].pairs > 0.0) {
        const double w = weight_of(bins[lag]), a = of_rest.variogram[lag], b = of_drift.variogram[lag];
        const double y = bins[lag].half_squares / bins[lag].pairs;
        aa += w * a * a;
        ab += w * a * b;
        bb += w * b * b;
        ay += w * a * y;
        by += w * b * y;
      }
    }
    const double det = aa * bb - ab * ab;
    double rest = (bb * ay - ab * by) / det, drift = (aa * by - ab * ay) / det;
    if (drift < 0.0) {
      drift = 0.0;
      rest = ay / aa;
    } else if (rest < 0.0) {
      rest = 0.0;
      drift = by / bb;
    }
    double loss = ridge_rest * square(rest - rest0) + ridge_drift * square(drift - drift0) +
                  square(std::log(of_rest.days / prior_.rest_days)) +
                  square(std::log(of_drift.days / prior_.drift_days));
    for (std::size_t lag = 0; lag < lags; ++lag) {
      if (bins[lag].pairs > 0.0) {
        const double y = bins[lag].half_squares / bins[lag].pairs;
        loss += weight_of(bins[lag]) *
                square(y - rest * of_rest.variogram[lag] - drift * of_drift.variogram[lag]);
      }
    }
    return {rest, drift, loss};
  }

  struct Level {
    double value = 0.0, variance = 0.0;
    std::size_t group = 0;
  };

  // Units' levels from their means, and what drift and rest make these scatter.
  [[nodiscard]] std::vector<Level> levels_seen() const {
    std::vector<Level> out;
    for (const UseBlocks& unit : units_) {
      if (!unit.days.empty()) {
        const double least =
            least_of_group * std::exp(model_.log_km_per_day[static_cast<std::size_t>(unit.group)]);
        const double mean = std::max(mean_of(unit), least), span = span_of(unit);
        const double kept = kept_in_mean(span, model_.drift_days);
        const double rest = model_.rest_of_mean(span);
        out.push_back({.value = std::log(mean) - model_.drift * (1.0 - kept) / 2.0 + rest / 2.0,
                       .variance = model_.drift * kept + rest,
                       .group = static_cast<std::size_t>(unit.group)});
      }
    }
    return out;
  }

  // Means of groups and the spread about them, in turn. A unit that is farther off than three spreads counts
  // as one at three: parked for good, it says nothing of the others.
  void learn_levels() {
    const std::vector<Level> seen = levels_seen();
    const std::size_t groups = prior_.log_km_per_day.size();
    model_.level_variance.assign(groups, 0.0);
    constexpr int passes = 4;
    constexpr double far = 3.0;
    for (int pass = 0; pass < passes; ++pass) {
      std::vector<double> weight(groups, 1.0 / square(prior_group_spread)), sum(groups, 0.0);
      for (std::size_t g = 0; g < groups; ++g) {
        sum[g] = weight[g] * prior_.log_km_per_day[g];
      }
      const auto deviation = [&](const Level& l) {
        const double most = far * std::sqrt(model_.between_units + l.variance);
        return pass == 0 ? l.value - model_.log_km_per_day[l.group]
                         : std::clamp(l.value - model_.log_km_per_day[l.group], -most, most);
      };
      for (const Level& l : seen) {
        const double w = 1.0 / (model_.between_units + l.variance);
        weight[l.group] += w;
        sum[l.group] += w * (model_.log_km_per_day[l.group] + deviation(l));
      }
      for (std::size_t g = 0; g < groups; ++g) {
        model_.log_km_per_day[g] = sum[g] / weight[g];
        model_.level_variance[g] = 1.0 / weight[g];
      }
      double squares = weight_ * prior_.between_units, n = weight_;
      for (const Level& l : seen) {
        squares += square(deviation(l)) - l.variance + model_.level_variance[l.group];
        n += 1.0;
      }
      model_.between_units = std::max(squares / n, 1e-4);
    }
  }

  std::vector<UseBlocks> units_;
  UseModel model_;
  const UseModel& prior_;
  const double weight_;
};

}  // namespace

UseBlocks use_blocks(std::span<const double> day, std::span<const double> km, std::int32_t group) {
  UseBlocks out{.group = group};
  if (day.empty() || day.back() - day.front() < least_block_days) {
    return out;
  }
  for (std::size_t end = day.size() - 1; end > 0;) {
    std::size_t begin = end;
    while (begin > 0 && day[end] - day[begin] < least_block_days) {
      --begin;
    }
    if (day[begin] - day.front() < least_block_days) {  // what is left is too short for a block of its own
      begin = 0;
    }
    out.end_day.push_back(day[end]);
    out.days.push_back(day[end] - day[begin]);
    out.km_per_day.push_back((km[end] - km[begin]) / out.days.back());
    end = begin;
  }
  std::reverse(out.end_day.begin(), out.end_day.end());
  std::reverse(out.days.begin(), out.days.end());
  std::reverse(out.km_per_day.begin(), out.km_per_day.end());
  return out;
}

double UseModel::middle_distance(std::int32_t group, double from, double to) const {
  const Waves w = mean_waves(from, to);
  return (to - from) * std::exp(log_km_per_day[static_cast<std::size_t>(group)]) *
         (1.0 + season_cos * w.cos + season_sin * w.sin);
}

double UseModel::rest_of_mean(double days) const { return rest * kept_in_mean(days, rest_days); }

UseModel learn_use(std::span<const UseBlocks> units, const UseModel& prior, double prior_units) {
  return Learning(units, prior, prior_units).run();
}

UseForecast::UseForecast(const UseModel& model, const UseBlocks& unit, double end)
    : model_(&model), end_(unit.end_day.empty() ? end : unit.end_day.back()) {
  const auto group = static_cast<std::size_t>(unit.group);
  const double doubt = model.level_variance.empty() ? 0.0 : model.level_variance[group];
  mean_ = {model.log_km_per_day[group], 0.0, 0.0};
  covariance_ = {model.between_units + doubt, 0.0, 0.0, model.drift, 0.0, model.rest};
  const UseBlocks blocks = believable(unit, std::exp(model.log_km_per_day[group]));
  if (!blocks.days.empty()) {
    seen_ = true;
    const Waves w = mean_waves(blocks.end_day.front() - blocks.days.front(), end_);
    season_seen_ = {w.cos, w.sin};
    filter(blocks);
  }
}

void UseForecast::filter(UseBlocks blocks) {
  const UseModel& m = *model_;
  take_season_out(m, blocks);
  const std::size_t n = blocks.days.size();
  const double least = std::max(least_local * mean_of(blocks), least_of_group * std::exp(mean_[0]));
  double sum_km = 0.0, sum_days = 0.0;
  std::size_t first = 0, last = 0;  // of the blocks about the present one: [first, last)
  for (std::size_t b = 0; b < n; ++b) {
    const double days = blocks.days[b], begin = blocks.end_day[b] - days;
    auto& [ll, ld, lr, dd, dr, rr] = covariance_;
    for (; last < n && blocks.end_day[last] - blocks.days[last] < blocks.end_day[b] + local_days; ++last) {
      sum_km += blocks.days[last] * blocks.km_per_day[last];
      sum_days += blocks.days[last];
    }
    for (; blocks.end_day[first] < begin - local_days; ++first) {
      sum_km -= blocks.days[first] * blocks.km_per_day[first];
      sum_days -= blocks.days[first];
    }
    const double local = std::max(sum_km / sum_days, least);
    const double y = std::log(local) + std::min(blocks.km_per_day[b] / local, most_times) - 1.0;
    if (b > 0) {
      wait(begin - blocks.end_day[b - 1]);
    }
    // The mean over the block and what holds at its end, jointly, given what holds at its beginning.
    const double keep_d = std::exp(-days / m.drift_days), keep_r = std::exp(-days / m.rest_days);
    const double mean_d = m.drift_days / days * (1.0 - keep_d), mean_r = m.rest_days / days * (1.0 - keep_r);
    const double kept_d = 2.0 * m.drift_days / days * (1.0 - mean_d);
    const double kept_r = 2.0 * m.rest_days / days * (1.0 - mean_r);
    const double with_l = ll + mean_d * ld + mean_r * lr;
    const double with_d = ld + mean_d * dd + mean_r * dr;
    const double with_r = lr + mean_d * dr + mean_r * rr;
    const double variance = with_l + mean_d * with_d + mean_r * with_r +
                            m.drift * (kept_d - mean_d * mean_d) + m.rest * (kept_r - mean_r * mean_r) + 1e-6;
    const double residual = y - mean_[0] - mean_d * mean_[1] - mean_r * mean_[2];
    const double end_l = with_l, end_d = keep_d * with_d + m.drift * mean_d * (1.0 - keep_d);
    const double end_r = keep_r * with_r + m.rest * mean_r * (1.0 - keep_r);
    const double gain_l = end_l / variance, gain_d = end_d / variance, gain_r = end_r / variance;
    mean_ = {mean_[0] + gain_l * residual, keep_d * mean_[1] + gain_d * residual,
             keep_r * mean_[2] + gain_r * residual};
    dd = keep_d * keep_d * dd + m.drift * (1.0 - keep_d * keep_d) - gain_d * end_d;
    dr = keep_d * keep_r * dr - gain_d * end_r;
    rr = keep_r * keep_r * rr + m.rest * (1.0 - keep_r * keep_r) - gain_r * end_r;
    ld = keep_d * ld - gain_l * end_d;
    lr = keep_r * lr - gain_l * end_r;
    ll -= gain_l * end_l;
  }
  wait(end_ - blocks.end_day.back());
}

// Days of which nothing is known.
void UseForecast::wait(double days) {
  if (days <= 0.0) {
    return;
  }
  const double keep_d = std::exp(-days / model_->drift_days), keep_r = std::exp(-days / model_->rest_days);
  auto& [ll, ld, lr, dd, dr, rr] = covariance_;
  mean_[1] *= keep_d;
  mean_[2] *= keep_r;
  ld *= keep_d;
  lr *= keep_r;
  dd = keep_d * keep_d * dd + model_->drift * (1.0 - keep_d * keep_d);
  dr *= keep_d * keep_r;
  rr = keep_r * keep_r * rr + model_->rest * (1.0 - keep_r * keep_r);
}

UseForecast::Doubt UseForecast::doubt_after(double days) const {
  const double keep = std::exp(-days / model_->drift_days);
  return {.level = covariance_[0],
          .level_with_drift = keep * covariance_[1],
          .drift = keep * keep * covariance_[3] + model_->drift * (1.0 - keep * keep)};
}

UseAhead UseForecast::between(double from, double to) const {
  const UseModel& m = *model_;
  const double span = std::max(to - from, 1.0);
  const auto& [ll, ld, lr, dd, dr, rr] = covariance_;
  const double d = mean_decay(from, from + span, m.drift_days),
               r = mean_decay(from, from + span, m.rest_days);
  const double d_squared = mean_decay(from, from + span, m.drift_days / 2.0);
  const double kept_d = kept_in_mean(span, m.drift_days), kept_r = kept_in_mean(span, m.rest_days);
  // Rest as the log-normal law of its two moments.
  constexpr double least_share = 0.1;
  const double share = std::max(1.0 + r * mean_[2], least_share);
  const double rest = std::log1p((r * r * rr + m.rest * (kept_r - r * r)) / (share * share));
  const double fresh = m.drift * (kept_d - d * d);
  // The mean of what drifts is above its middle: half the variance that the mean over the span averages out.
  const double averaged = m.drift * (1.0 - d_squared) - fresh + dd * (d_squared - d * d);
  const Waves w = mean_waves(end_ + from, end_ + from + span);
  const double c = seen_ ? w.cos - season_seen_[0] : w.cos, s = seen_ ? w.sin - season_seen_[1] : w.sin;
  const double variance = ll + 2.0 * d * ld + d * d * dd + fresh + 2.0 * r * (lr + d * dr) / share + rest +
                          m.season_doubt * (c * c + s * s);
  return {.mean = mean_[0] + d * mean_[1] + averaged / 2.0 + std::log(share) - rest / 2.0 +
                  log_mean_season(m.season_cos, m.season_sin, end_ + from, end_ + from + span),
          .variance = std::max(variance, 1e-6)};
}

}  // namespace wheelend
