#include "wheelend/wear.hpp"

#include <algorithm>
#include <cmath>
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
constexpr double prior_month_share =
    0.3;  // scatter of a unit's months before any were seen: common practice, no source
constexpr double prior_months = 4.0;                  // how many months that, or the kind, is worth
const double sd_of_rounding = 1.0 / std::sqrt(12.0);  // of one step, uniform

// One fitment on its way to a line.
struct Case {
  std::size_t position = 0;
  bool by_distance = false;
  bool in_use = false;
  std::int32_t fitted_day = std::numeric_limits<std::int32_t>::min();
  Begun begun = Begun::first_reading;
  double shallowest_mm = 0.0;  // of the grooves, against their mean; 0 or below
  double shallowest_variance = 0.0;
  std::int32_t last_day = 0;
  double last_x = 0.0;  // exposure at the last reading
  Run run = {};
};

struct Use {
  double km_per_day, se;
};

std::size_t code_or_last(std::int8_t code, std::size_t last) {
  return code < 0 ? last : static_cast<std::size_t>(code);
}

// Mean offset of each groove from the mean of all, over the visits of a fitment that read every one of them.
// A groove that the fitment never read is none of its grooves: tables have columns for the widest tire.
struct Offsets {
  std::vector<std::size_t> groove;
  std::vector<double> mm;  // of each of them
  double visits = 0.0;
};

// Depths of the grooves; empty where one was not read.
std::vector<double> depths_of(const Visit& v, const std::vector<std::size_t>& grooves) {
  std::vector<double> depths;
  for (const std::size_t g : grooves) {
    if (std::isnan(v.groove_mm[g])) {
      return {};
    }
    depths.push_back(v.groove_mm[g]);
  }
  return depths;
}

Offsets raw_offsets(const std::vector<Visit>& v, const Fitment& f) {
  Offsets out;
  for (std::size_t g = 0; g < v[f.first].groove_mm.size(); ++g) {
    for (std::size_t i = f.first; i < f.last; ++i) {
      if (!std::isnan(v[i].groove_mm[g])) {
        out.groove.push_back(g);
        break;
      }
    }
  }
  out.mm.assign(out.groove.size(), 0.0);
  for (std::size_t i = f.first; i < f.last; ++i) {
    if (const std::vector<double> depths = depths_of(v[i], out.groove); !depths.empty()) {
      const double mean = moments(depths).mean;
      for (std::size_t k = 0; k < depths.size(); ++k) {
        out.mm[k] += depths[k] - mean;
      }
      out.visits += 1.0;
    }
  }
  for (double& m : out.mm) {
    m /= std::max(out.visits, 1.0);
  }
  return out;
}

// Scatter of single grooves about their visit's mean and their own offset, pooled over the fleet.
struct GrooveNoise {
  double squares = 0.0, freedom = 0.0;

  void add(const std::vector<Visit>& v, const Fitment& f) {
    const Offsets offsets = raw_offsets(v, f);
    if (offsets.visits < 2.0 || offsets.mm.size() < 2) {
      return;
    }
    for (std::size_t i = f.first; i < f.last; ++i) {
      if (const std::vector<double> depths = depths_of(v[i], offsets.groove); !depths.empty()) {
        const double mean = moments(depths).mean;
        for (std::size_t k = 0; k < depths.size(); ++k) {
          squares += std::pow(depths[k] - mean - offsets.mm[k], 2);
        }
      }
    }
    freedom += (offsets.visits - 1.0) * (static_cast<double>(offsets.mm.size()) - 1.0);
  }
  [[nodiscard]] double variance(double least) const {
    return freedom > 0.0 ? std::max(squares / freedom, least) : least;
  }
};

// What the scatter of few visits makes look like an offset is shrunk away, since the least of noisy numbers
// reads low; `variance` is what is left of the doubt about each.
struct ShrunkOffsets {
  std::vector<double> mm;  // of every groove of the table; 0 where the fitment has none
  double variance = 0.0;
};

ShrunkOffsets groove_offsets(const std::vector<Visit>& v, const Fitment& f, double noise_variance) {
  const Offsets raw = raw_offsets(v, f);
  ShrunkOffsets out{.mm = std::vector<double>(v[f.first].groove_mm.size(), 0.0)};
  if (raw.visits == 0.0 || raw.mm.size() < 2) {
    return out;
  }
  const double seen = std::pow(moments(raw.mm).sd, 2);
  const double noise = noise_variance / raw.visits;
  const double kept = seen > noise ? (seen - noise) / seen : 0.0;
  for (std::size_t k = 0; k < raw.mm.size(); ++k) {
    out.mm[raw.groove[k]] = kept * raw.mm[k];
  }
  out.variance = kept * noise;
  return out;
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
    if (readings_.grooves.empty()) {
      return std::move(out_);  // nothing was read that could wear
    }
    learn_groove_noise();
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

  // A unit whose own track is too short runs as the units of its kind do, and those as the prior says. How
  // much a unit's months scatter is learned from its kind too: two months alone say next to nothing of it.
  void learn_kind_use() {
    std::vector<std::vector<double>> seen(kinds);
    std::vector<double> squares(kinds, 0.0), freedom(kinds, 0.0);
    std::vector<bool> counted(tracks_.size(), false);
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      const auto unit = static_cast<std::size_t>(unit_of_[p]);
      const Track& track = tracks_[unit];
      if (!counted[unit] && track.any() && track.km_per_day > 0.0) {
        const std::size_t kind = kind_of(p);
        seen[kind].push_back(track.km_per_day);
        squares[kind] += (track.blocks - 1) * month_share_squared(track);
        freedom[kind] += track.blocks - 1;
        counted[unit] = true;
      }
    }
    for (std::size_t k = 0; k < kinds; ++k) {
      const double use = seen[k].empty() ? prior_.km_per_day[k] : median(seen[k]);
      kind_use_.push_back({use, prior_.use_share * use});
      month_share_squared_.push_back((squares[k] + prior_months * prior_month_share * prior_month_share) /
                                     (freedom[k] + prior_months));
    }
  }

  // Scatter of a unit's months as a share of their mean, squared.
  static double month_share_squared(const Track& t) {
    return std::pow(t.km_per_day_se / (t.km_per_day * forecast_error_share(t.blocks)), 2);
  }

  [[nodiscard]] Use use_of(std::size_t p) const {
    const Track& track = tracks_[static_cast<std::size_t>(unit_of_[p])];
    if (!track.any() || !(track.km_per_day > 0.0)) {
      return kind_use_[kind_of(p)];
    }
    const double own = track.blocks - 1;
    const double share_squared =
        (own * month_share_squared(track) + prior_months * month_share_squared_[kind_of(p)]) /
        (own + prior_months);
    return {track.km_per_day,
            track.km_per_day * std::sqrt(share_squared) * forecast_error_share(track.blocks)};
  }

  void learn_groove_noise() {
    GrooveNoise noise;
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      const std::vector<Visit> v = visits(readings_, rows_, p, options_.as_of);
      for (const Fitment& f : cut_fitments(v)) {
        noise.add(v, f);
      }
    }
    groove_variance_ = noise.variance(reading_sd_ * reading_sd_);
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
    const ShrunkOffsets offsets = groove_offsets(v, f, groove_variance_);
    c.shallowest_mm = offsets.mm.empty() ? 0.0 : *std::min_element(offsets.mm.begin(), offsets.mm.end());
    c.shallowest_variance = offsets.variance;
    const double use = use_of(c.position).km_per_day;
    for (std::size_t i = f.first; i < f.last; ++i) {
      if (v[i].has_tread()) {
        c.run.x.push_back(c.by_distance ? track.at(v[i].time, use) : v[i].time);
        c.run.y.push_back(level_of(v[i], offsets.mm));
        c.last_day = v[i].day;
        c.last_x = c.run.x.back();
      }
    }
    c.run.group = group_of(c.position, c.by_distance);
  }

  // What the tire has run since its last reading: by the odometer as far as that was read, then by its use.
  [[nodiscard]] double exposure_since(const Case& c, const Use& use) const {
    const auto as_of = static_cast<double>(options_.as_of);
    if (!c.by_distance) {
      return std::max(as_of - c.last_x, 0.0);
    }
    return std::max(
        tracks_[static_cast<std::size_t>(unit_of_[c.position])].at(as_of, use.km_per_day) - c.last_x, 0.0);
  }

  void write(const Case& c, const Settled& s) {
    const double limit = limit_mm_[c.position];
    const Use use = c.by_distance ? use_of(c.position) : Use{1.0, 0.0};
    const double level = s.level + c.shallowest_mm;
    const NormalPath at_last{.above = level - limit,
                             .above_se = std::sqrt(s.level_se * s.level_se + c.shallowest_variance),
                             .rate = s.rate,
                             .rate_se = s.rate_se,
                             .covariance = s.covariance};
    const double since = exposure_since(c, use);
    const NormalPath now = seen_from(at_last, since);
    const NormalPath by_day = in_days(now, use.km_per_day, use.se);
    double median_days = nan;
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      const double at_days =
          std::isnan(limit) ? nan : reach_quantile_of_wear(by_day, quantile_levels[q], horizon_days);
      const double days = std::isfinite(at_days) ? at_days : nan;
      out_.remaining_days[q].push_back(days);
      median_days = quantile_levels[q] == 0.5 ? days : median_days;
      const bool countable = c.by_distance && !std::isnan(limit);
      const double at_km = countable ? reach_quantile_of_wear(now, quantile_levels[q], horizon_km) : nan;
      out_.remaining_km[q].push_back(std::isfinite(at_km) ? at_km : nan);
    }
    out_.position.push_back(static_cast<std::int32_t>(c.position));
    out_.fitted_day.push_back(c.fitted_day);
    out_.begun.push_back(static_cast<std::uint8_t>(c.begun));
    out_.readings_used.push_back(s.readings);
    out_.last_day.push_back(c.last_day);
    out_.depth_mm.push_back(std::max(level - s.rate * since, 0.0));
    out_.rate_mm_per_km.push_back(c.by_distance ? s.rate : nan);
    out_.rate_se_mm_per_km.push_back(c.by_distance ? s.rate_se : nan);
    out_.rate_mm_per_day.push_back(by_day.rate);
    out_.rate_se_mm_per_day.push_back(by_day.rate_se);
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
  double groove_variance_ = 0.0;
  std::vector<Use> kind_use_;
  std::vector<double> month_share_squared_;  // by kind
  WearTable out_;
};

}  // namespace

WearTable wear(const ReadingColumns& readings, const PositionColumns& positions,
               std::span<const std::int32_t> unit_of, std::size_t units, std::span<const double> limit_mm,
               const WearPrior& prior, const WearOptions& options) {
  return Wearing(readings, positions, unit_of, units, limit_mm, prior, options).run();
}

std::vector<double> legal_minimum_mm(const std::vector<LimitRow>& limits, const Facts& facts,
                                     std::size_t positions) {
  std::vector<double> out;
  for (std::size_t p = 0; p < positions; ++p) {
    const Subject subject{.position = static_cast<std::int32_t>(p)};
    double highest = nan;
    for (std::size_t i = 0; i < limits.size(); ++i) {
      const LimitRow& row = limits[i];
      if (!is_minimum_depth(row.statistic) || row.severity != Severity::violation || row.unconfirmed ||
          applies(limits, i, facts, subject).applies == Applies::no) {
        continue;
      }
      const double bound =
          convert(number_of(row.amount.bound), row.amount.bound.measure, Measure::millimetre);
      highest = std::isnan(highest) ? bound : std::max(highest, bound);
    }
    out.push_back(highest);
  }
  return out;
}

}  // namespace wheelend
