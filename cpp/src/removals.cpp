#include "wheelend/removals.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "normal.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

// What is believed before a fleet speaks, in mm, days and tires. Common practice, no source.
constexpr double pull_spread = 1.6;  // of the pull depth about the limit: two steps of a gauge
constexpr double sd_prior = 0.6, log_sd_spread = 0.5;
constexpr double hazard_prior = 0.05 / 365.25, hazard_tires = 2.0;
constexpr double with_mate_prior = 0.3, with_mate_tires = 4.0;
constexpr double least_sd = 0.15, most_sd = 2.5;

class Learning {
 public:
  Learning(std::span<const TireLook> looks, std::size_t roles) : looks_(looks) {
    out_.pull.assign(roles, 0.0);
    out_.pull_se.assign(roles, pull_spread);
    out_.removals.assign(roles, 0.0);
    out_.sd = sd_prior;
    out_.hazard = hazard_prior;
    out_.with_mate = with_mate_prior;
    worn_.resize(looks.size());
  }

  RemovalHabits run() {
    begin();
    constexpr int rounds = 40;
    for (int i = 0; i < rounds; ++i) {
      expect();
      maximise();
    }
    return std::move(out_);
  }

 private:
  [[nodiscard]] double chance(std::int32_t role, double depth) const {
    const double z = (out_.pull[static_cast<std::size_t>(role)] - depth) / out_.sd;
    return z < -6.0 ? 0.0 : normal_cdf(z);
  }

  // The middle of the depths that tires were last read at is near the pull where most are pulled worn.
  void begin() {
    std::vector<std::vector<double>> last(out_.pull.size());
    for (const TireLook& l : looks_) {
      if (l.removed) {
        last[static_cast<std::size_t>(l.role)].push_back(l.depth);
        out_.removals[static_cast<std::size_t>(l.role)] += 1.0;
      }
    }
    for (std::size_t r = 0; r < last.size(); ++r) {
      constexpr std::size_t few = 5;
      out_.pull[r] = last[r].size() < few ? 0.0 : median(last[r]);
    }
  }

  void expect() {
    double lost = 0.0, days = 0.0, along = 0.0, may_go_along = 0.0;
    for (std::size_t i = 0; i < looks_.size(); ++i) {
      const TireLook& l = looks_[i];
      const double own = chance(l.role, l.depth), safe = std::exp(-out_.hazard * l.days);
      double mate_worn = 0.0;
      if (l.mate_removed && !std::isnan(l.mate_depth)) {
        const double p = chance(l.role, l.mate_depth), other = (1.0 - p) * (1.0 - safe);
        mate_worn = p + other > 0.0 ? p / (p + other) : 0.0;
      }
      const double goes_along = out_.with_mate * mate_worn;
      worn_[i] = 0.0;
      if (!l.removed) {
        may_go_along += mate_worn;
        days += l.days;
        continue;
      }
      const double all = std::max(1.0 - (1.0 - own) * safe * (1.0 - goes_along), 1e-12);
      const double damaged = (1.0 - own) * (1.0 - safe) / all;
      worn_[i] = own / all;
      days += (1.0 - worn_[i]) * l.days;  // one that is pulled runs no risk any more
      lost += damaged;
      along += (1.0 - own) * safe * goes_along / all;
      may_go_along += mate_worn * (1.0 - worn_[i]) * (1.0 - damaged);
    }
    out_.damages = lost;
    out_.hazard = (lost + hazard_tires) / (days + hazard_tires / hazard_prior);
    out_.with_mate = (along + with_mate_tires * with_mate_prior) / (may_go_along + with_mate_tires);
  }

  // Probit regression of what was pulled worn on depth, a step of Fisher's scoring: pull by role, one spread.
  void maximise() {
    const std::size_t roles = out_.pull.size();
    std::vector<double> score(roles, 0.0), information(roles, 0.0), cross(roles, 0.0);
    const double per = 1.0 / out_.sd;
    double score_s = -std::log(out_.sd / sd_prior) / square(log_sd_spread);
    double information_s = 1.0 / square(log_sd_spread);
    for (std::size_t r = 0; r < roles; ++r) {
      score[r] = -out_.pull[r] / square(pull_spread);
      information[r] = 1.0 / square(pull_spread);
    }
    for (std::size_t i = 0; i < looks_.size(); ++i) {
      const TireLook& l = looks_[i];
      const auto r = static_cast<std::size_t>(l.role);
      const double z = (out_.pull[r] - l.depth) * per;
      if (z < -5.0 && worn_[i] < 1e-9) {
        continue;
      }
      const double zc = std::clamp(z, -5.0, 5.0);
      const double p = normal_cdf(zc), f = std::exp(-zc * zc / 2.0) / std::sqrt(2.0 * std::numbers::pi);
      const double pull = f * f / (p * (1.0 - p)), off = (worn_[i] - p) * f / (p * (1.0 - p));
      // z by the pull: per; by the log of the spread: -z.
      score[r] += off * per;
      score_s += off * -zc;
      information[r] += pull * per * per;
      cross[r] += pull * per * -zc;
      information_s += pull * zc * zc;
    }
    for (std::size_t r = 0; r < roles; ++r) {
      information_s -= square(cross[r]) / information[r];
      score_s -= cross[r] / information[r] * score[r];
    }
    const double step_s = std::clamp(score_s / information_s, -0.3, 0.3);
    for (std::size_t r = 0; r < roles; ++r) {
      const double step = (score[r] - cross[r] * step_s) / information[r];
      out_.pull[r] += std::clamp(step, -out_.sd, out_.sd);
      out_.pull_se[r] = 1.0 / std::sqrt(information[r]);
    }
    out_.sd = std::clamp(out_.sd * std::exp(step_s), least_sd, most_sd);
  }

  std::span<const TireLook> looks_;
  std::vector<double> worn_;  // chance that a look's tire was pulled worn
  RemovalHabits out_;
};

}  // namespace

RemovalHabits learn_removals(std::span<const TireLook> looks, std::size_t roles) {
  return Learning(looks, roles).run();
}

}  // namespace wheelend
