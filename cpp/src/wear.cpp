#include "wheelend/wear.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <optional>

#include "wheelend/degradation.hpp"
#include "wheelend/replacement.hpp"
#include "wheelend/use.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double days_per_year = 365.25;
constexpr double horizon_days = 10.0 * days_per_year;
constexpr double horizon_km = 3.0e6;  // beyond any tire: about 800 km on each day of the ten years
const double sd_of_rounding = 1.0 / std::sqrt(12.0);  // of one step, uniform

// One fitment on its way to a line.
struct Case {
  std::size_t position = 0;
  bool by_distance = false;
  bool in_use = false;
  std::int32_t fitted_day = std::numeric_limits<std::int32_t>::min();
  Begun begun = Begun::first_reading;
  double shallowest_mm = 0.0;  // of the grooves, against their mean; 0 or below
  std::int32_t last_day = 0;
  Run run = {};
};

struct Use {
  double km_per_day, se;
};

std::size_t code_or_last(std::int8_t code, std::size_t last) {
  return code < 0 ? last : static_cast<std::size_t>(code);
}

// Grooves that were read at every visit keep their offset from the mean; what the scatter of few visits makes
// look like an offset is shrunk away, since the least of noisy numbers reads low.
std::vector<double> groove_offsets(const std::vector<Visit>& v, const Fitment& f, double reading_sd) {
  const std::size_t grooves = v.empty() ? 0 : v[f.first].groove_mm.size();
  std::vector<double> sum(grooves, 0.0);
  double n = 0.0;
  for (std::size_t i = f.first; i < f.last; ++i) {
    const auto& d = v[i].groove_mm;
    if (std::any_of(d.begin(), d.end(), [](double x) { return std::isnan(x); })) {
      continue;
    }
    const double mean = moments(d).mean;
    for (std::size_t g = 0; g < grooves; ++g) {
      sum[g] += d[g] - mean;
    }
    n += 1.0;
  }
  if (n == 0.0 || grooves < 2) {
    return std::vector<double>(grooves, 0.0);
  }
  for (double& s : sum) {
    s /= n;
  }
  const double seen = std::pow(moments(sum).sd, 2);
  const double noise = reading_sd * reading_sd / n;
  const double kept = seen > noise ? (seen - noise) / seen : 0.0;
  for (double& s : sum) {
    s *= kept;
  }
  return sum;
}

double level_of(const Visit& v, const std::vector<double>& offsets) {
  double sum = 0.0;
  int n = 0;
  for (std::size_t g = 0; g < offsets.size(); ++g) {
    if (!std::isnan(v.groove_mm[g])) {
      sum += v.groove_mm[g] - offsets[g];
      ++n;
    }
  }
  return sum / n;
}

class Wearing {
 public:
  Wearing(const ReadingColumns& readings, const PositionColumns& positions,
          std::span<const std::int32_t> unit_of, std::size_t units, std::span<const double> limit_mm,
          const WearPrior& prior, const WearOptions& options)
      : readings_(readings),
        positions_(positions),
        unit_of_(unit_of),
        limit_mm_(limit_mm),
        prior_(prior),
        options_(options),
        rows_(rows_by_position(readings, positions.facts.size())),
        tracks_(odometer_tracks(readings, unit_of, units, options.as_of)) {
    double step = 0.0;
    for (const NumberColumn& groove : readings.grooves) {
      step = std::max(step, convert(info(groove.measure).gauge_step, groove.measure, Measure::millimetre));
    }
    reading_sd_ = step * sd_of_rounding;
    learn_kind_use();
  }

  WearTable run() {
    std::vector<Case> cases;
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      add_cases(p, cases);
    }
    std::vector<Run> runs;
    for (Case& c : cases) {
      runs.push_back(std::move(c.run));
    }
    const std::vector<Settled> settled = settle(runs, group_priors(), {.reading_sd_floor = reading_sd_});
    for (std::size_t i = 0; i < cases.size(); ++i) {
      if (cases[i].in_use) {
        write(cases[i], settled[i]);
      }
    }
    return std::move(out_);
  }

 private:
  static constexpr std::size_t roles = axle_role_names.size() + 1;
  static constexpr std::size_t kinds = unit_kind_names.size() + 1;

  [[nodiscard]] std::size_t kind_of(std::size_t p) const {
    return code_or_last(positions_.facts[p].kind, kinds - 1);
  }
  [[nodiscard]] std::int32_t group_of(std::size_t p, bool by_distance) const {
    const std::size_t role = code_or_last(positions_.facts[p].role, roles - 1);
    return static_cast<std::int32_t>(((by_distance ? 0 : roles) + role) * kinds + kind_of(p));
  }

  [[nodiscard]] std::vector<GroupPrior> group_priors() const {
    std::vector<GroupPrior> priors;
    for (const bool by_distance : {true, false}) {
      for (std::size_t role = 0; role < roles; ++role) {
        for (std::size_t kind = 0; kind < kinds; ++kind) {
          const double rate = prior_.mm_per_km[role] * (by_distance ? 1.0 : kind_use_[kind].km_per_day);
          const double share =
              by_distance ? prior_.rate_share : std::hypot(prior_.rate_share, prior_.use_share);
          priors.push_back({.rate = rate, .spread = share * rate});
        }
      }
    }
    return priors;
  }

  // A unit whose own track is too short runs as the units of its kind do, and those as the prior says.
  void learn_kind_use() {
    std::vector<std::vector<double>> seen(kinds);
    std::vector<bool> counted(tracks_.size(), false);
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      const auto unit = static_cast<std::size_t>(unit_of_[p]);
      if (!counted[unit] && !std::isnan(tracks_[unit].km_per_day) && tracks_[unit].any()) {
        seen[kind_of(p)].push_back(tracks_[unit].km_per_day);
        counted[unit] = true;
      }
    }
    for (std::size_t k = 0; k < kinds; ++k) {
      const double use = seen[k].empty() ? prior_.km_per_day[k] : median(seen[k]);
      kind_use_.push_back({use, prior_.use_share * use});
    }
  }

  [[nodiscard]] Use use_of(std::size_t p) const {
    const Track& track = tracks_[static_cast<std::size_t>(unit_of_[p])];
    if (track.any() && std::isfinite(track.km_per_day)) {
      return {track.km_per_day, track.km_per_day_se};
    }
    return kind_use_[kind_of(p)];
  }

  void add_cases(std::size_t p, std::vector<Case>& cases) const {
    const std::vector<Visit> v = visits(readings_, rows_, p, options_.as_of);
    const std::vector<Fitment> fitments = cut_fitments(v);
    for (std::size_t f = 0; f < fitments.size(); ++f) {
      Case c{.position = p, .in_use = f + 1 == fitments.size() && !fitments[f].removed};
      fill(c, v, fitments[f]);
      if (!c.run.x.empty()) {
        cases.push_back(std::move(c));
      }
    }
  }

  void fill(Case& c, const std::vector<Visit>& v, const Fitment& f) const {
    const Track& track = tracks_[static_cast<std::size_t>(unit_of_[c.position])];
    c.by_distance = track.any();
    c.begun = f.begun;
    if (f.begun != Begun::first_reading || v[f.first].event == Event::fitted) {
      c.fitted_day = v[f.first].day;
    }
    const std::vector<double> offsets = groove_offsets(v, f, reading_sd_);
    c.shallowest_mm = offsets.empty() ? 0.0 : *std::min_element(offsets.begin(), offsets.end());
    const double use = use_of(c.position).km_per_day;
    for (std::size_t i = f.first; i < f.last; ++i) {
      if (v[i].has_tread()) {
        c.run.x.push_back(c.by_distance ? track.at(v[i].time, use) : v[i].time);
        c.run.y.push_back(level_of(v[i], offsets));
        c.last_day = v[i].day;
      }
    }
    c.run.group = group_of(c.position, c.by_distance);
  }

  void write(const Case& c, const Settled& s) {
    const double limit = limit_mm_[c.position];
    const Use use = c.by_distance ? use_of(c.position) : Use{1.0, 0.0};
    const double daily = s.rate * use.km_per_day;
    const double daily_se = std::hypot(s.rate * use.se, s.rate_se * use.km_per_day);
    const auto gap = static_cast<double>(options_.as_of - c.last_day);
    const double level = s.level + c.shallowest_mm;
    const NormalPath by_day{.above = level - limit,
                            .above_se = s.level_se,
                            .rate = daily,
                            .rate_se = daily_se,
                            .covariance = s.covariance * use.km_per_day};
    const NormalPath by_km{.above = level - limit,
                           .above_se = s.level_se,
                           .rate = s.rate,
                           .rate_se = s.rate_se,
                           .covariance = s.covariance};
    double median_days = nan;
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      const double at_days =
          std::isnan(limit) ? nan : reach_quantile(by_day, quantile_levels[q], horizon_days + gap);
      const double left = std::isfinite(at_days) ? std::max(at_days - gap, 0.0) : nan;
      out_.remaining_days[q].push_back(left);
      median_days = quantile_levels[q] == 0.5 ? left : median_days;
      const bool countable = c.by_distance && !std::isnan(limit);
      const double at_km = countable ? reach_quantile(by_km, quantile_levels[q], horizon_km) : nan;
      out_.remaining_km[q].push_back(std::isfinite(at_km) ? std::max(at_km - gap * use.km_per_day, 0.0)
                                                          : nan);
    }
    out_.position.push_back(static_cast<std::int32_t>(c.position));
    out_.fitted_day.push_back(c.fitted_day);
    out_.begun.push_back(static_cast<std::uint8_t>(c.begun));
    out_.readings_used.push_back(s.readings);
    out_.last_day.push_back(c.last_day);
    out_.depth_mm.push_back(std::max(level - daily * gap, 0.0));
    out_.rate_mm_per_km.push_back(c.by_distance ? s.rate : nan);
    out_.rate_se_mm_per_km.push_back(c.by_distance ? s.rate_se : nan);
    out_.rate_mm_per_day.push_back(daily);
    out_.rate_se_mm_per_day.push_back(daily_se);
    out_.limit_mm.push_back(limit);
    out_.status.push_back(static_cast<std::uint8_t>(status(s, limit, median_days)));
  }

  static WearStatus status(const Settled& s, double limit, double median_days) {
    if (std::isnan(limit)) {
      return WearStatus::no_limit;
    }
    if (std::isnan(median_days)) {
      return WearStatus::not_within_horizon;
    }
    if (median_days == 0.0) {
      return WearStatus::at_limit;
    }
    return s.from_group ? WearStatus::from_group : WearStatus::from_readings;
  }

  const ReadingColumns& readings_;
  const PositionColumns& positions_;
  std::span<const std::int32_t> unit_of_;
  std::span<const double> limit_mm_;
  const WearPrior& prior_;
  const WearOptions options_;
  const RowsByPosition rows_;
  const std::vector<Track> tracks_;
  double reading_sd_ = 0.0;
  std::vector<Use> kind_use_;
  WearTable out_;
};

}  // namespace

WearTable wear(const ReadingColumns& readings, const PositionColumns& positions,
               std::span<const std::int32_t> unit_of, std::size_t units, std::span<const double> limit_mm,
               const WearPrior& prior, const WearOptions& options) {
  return Wearing(readings, positions, unit_of, units, limit_mm, prior, options).run();
}

std::vector<double> legal_minimum_mm(const std::vector<LimitRow>& limits,
                                     const std::vector<PositionFacts>& positions) {
  std::vector<double> out;
  for (const PositionFacts& p : positions) {
    double highest = nan;
    for (std::size_t i = 0; i < limits.size(); ++i) {
      const LimitRow& row = limits[i];
      if (row.statistic != Statistic::lowest_depth || row.severity != Severity::violation ||
          applies(limits, i, p) == Applies::no) {
        continue;
      }
      const double bound =
          convert(std::strtod(row.bound.text.c_str(), nullptr), row.bound.measure, Measure::millimetre);
      highest = std::isnan(highest) ? bound : std::max(highest, bound);
    }
    out.push_back(highest);
  }
  return out;
}

}  // namespace wheelend
