#include "wheelend/slow_wear.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "limit_of_place.hpp"
#include "parallel.hpp"
#include "slow_series.hpp"
#include "tire_chain.hpp"
#include "unit_use.hpp"
#include "wear_items.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double knot_days = 60.0;  // of the severity
constexpr double nothing = 1e-9;    // of an effect that a quantity does not have

// A unit's exposure when it goes with time: days, and no doubt about those to come.
UseModel time_itself() { return {.log_km_per_day = {0.0}}; }

class Following {
 public:
  Following(const ReadingColumns& readings, const PositionColumns& positions,
            const WheelendColumns& wheelends, std::span<const std::int32_t> unit_of, std::size_t units,
            const SlowAsk& ask, const WearPrior& prior, const WearOptions& options)
      : positions_(positions),
        wheelends_(wheelends),
        unit_of_(unit_of),
        units_of_fleet_(units),
        ask_(ask),
        of_(ask.of),
        prior_(prior),
        options_(options),
        scale_(ask.of),
        full_(scale_.left(ask.of.fresh)),
        series_(slow_series(wheelends, unit_of, ask.of, options.as_of)),
        tracks_(odometer_tracks(readings, unit_of, units, options.as_of)) {}

  SlowTable run() {
    if (series_.empty()) {
      return std::move(out_);
    }
    describe_units();
    if (!of_.by_time) {
      use_.emplace(tracks_, kind_of_unit_, group_of_unit_, prior_);
    }
    find_limits();
    find_chains(typical());
    make_items();
    lay_out_units();
    write(fitted());
    return std::move(out_);
  }

 private:
  // ---- units and what they ran

  void describe_units() {
    kind_of_unit_.assign(units_of_fleet_, unit_kind_names.size());
    group_of_unit_.assign(units_of_fleet_, -1);
    for (std::size_t p = positions_.facts.size(); p-- > 0;) {
      const auto u = static_cast<std::size_t>(unit_of_[p]);
      const std::int8_t kind = positions_.facts[p].kind;
      kind_of_unit_[u] = kind < 0 ? unit_kind_names.size() : static_cast<std::size_t>(kind);
      group_of_unit_[u] = positions_.group.empty() ? -1 : positions_.group[p];
    }
  }

  [[nodiscard]] double exposure(std::size_t u, double time) const {
    return of_.by_time ? time : use_->exposure(u, time);
  }
  [[nodiscard]] bool by_distance(std::size_t u) const { return !of_.by_time && use_->by_distance(u); }

  [[nodiscard]] double ran(const SlowSeries& s, double from, double to) const {
    const auto u = static_cast<std::size_t>(s.unit);
    return std::max(exposure(u, to) - exposure(u, from), 0.0);
  }

  // ---- what was replaced, adjusted or repaired when

  void find_limits() {
    const LimitOfPlace limits(ask_, options_.as_of);
    for (const SlowSeries& s : series_) {
      limits_.push_back(limits.at(wheelends_, s.readings.back().row));
    }
  }

  // Rate that the fleet shows: the middle of what was lost from reading to reading, each counting by what was
  // run meanwhile. Steps back by more than a reading may be off are of parts that were set anew.
  [[nodiscard]] double typical() const {
    const double prior = scale_.scaled(of_.rate);
    constexpr double set_anew = 4.0 * SlowScale::spread_of_reading;
    struct Step {
      double rate, weight;
    };
    std::vector<Step> steps;
    double weight = 0.0;
    for (const SlowSeries& s : series_) {
      for (std::size_t r = 1; r < s.readings.size(); ++r) {
        const double exposed = ran(s, s.readings[r - 1].time, s.readings[r].time);
        const double lost = s.readings[r - 1].left - s.readings[r].left;
        if (exposed > 0.0 && lost > -set_anew) {
          steps.push_back({lost / exposed, exposed});
          weight += exposed;
        }
      }
    }
    constexpr std::size_t enough = 8;
    constexpr double most_off = 20.0;
    if (steps.size() < enough) {
      return prior;
    }
    std::sort(steps.begin(), steps.end(), [](const Step& a, const Step& b) {
      return a.rate != b.rate ? a.rate < b.rate : a.weight < b.weight;
    });
    double passed = 0.0;
    for (const Step& step : steps) {
      passed += step.weight;
      if (passed >= weight / 2.0) {
        return std::clamp(step.rate, prior / most_off, prior * most_off);
      }
    }
    return prior;
  }

  void find_chains(double rate) {
    visits_.resize(series_.size());
    chains_.resize(series_.size());
    parallel(series_.size(), options_.threads, [&](std::size_t first, std::size_t last) {
      for (std::size_t k = first; k < last; ++k) {
        const SlowSeries& s = series_[k];
        for (const SlowReading& r : s.readings) {
          visits_[k].push_back({.day = r.day, .time = r.time, .groove_mm = {r.left}});
        }
        const double limit = limits_[k].value;
        const PlaceFacts facts{
            .wear_mm = [&](double from, double to) { return rate * ran(s, from, to); },
            .full_mm = full_,
            .full_spread_mm = scale_.scaled(of_.fresh_spread),
            .limit_mm = std::isnan(limit) ? nan : scale_.left(limit),
            .level_spread_mm = SlowScale::spread_of_reading,
            .bias_mm = [](double) { return 0.0; },
            .rotated = [](double) { return false; },
        };
        chains_[k] = likeliest_chain(visits_[k], facts);
      }
    });
  }

  // ---- items of the fit: what was there from one renewal to the next

  void make_items() {
    std::map<RateKey, std::int32_t> codes;
    for (std::size_t k = 0; k < series_.size(); ++k) {
      const SlowSeries& s = series_[k];
      const auto p =
          static_cast<std::size_t>(wheelends_.position[static_cast<std::size_t>(s.readings.front().row)]);
      const std::int8_t role = s.axle >= 0 ? positions_.facts[p].role : std::int8_t{-1};
      const RateKey key{role < 0 ? axle_role_names.size() : static_cast<std::size_t>(role),
                        kind_of_unit_[static_cast<std::size_t>(s.unit)],
                        group_of_unit_[static_cast<std::size_t>(s.unit)]};
      const auto [found, is_new] = codes.try_emplace(key, static_cast<std::int32_t>(groups_.size()));
      if (is_new) {
        // The first trait is common to all: what the fleet as a whole is like.
        groups_.push_back({.traits = {0, static_cast<std::int32_t>(key.role), key.group},
                           .log_rate = std::log(scale_.scaled(of_.rate))});
      }
      std::vector<std::size_t> begins{0};
      for (const Cut& cut : chains_[k].cuts) {
        begins.push_back(cut.visit);
      }
      begins.push_back(s.readings.size());
      for (std::size_t b = 0; b + 1 < begins.size(); ++b) {
        add_item(k, begins[b], begins[b + 1], found->second);
      }
      last_item_.push_back(items_.size() - 1);
    }
  }

  void add_item(std::size_t k, std::size_t first, std::size_t last, std::int32_t group) {
    const SlowSeries& s = series_[k];
    WearItem item{.unit = s.unit, .axle = std::max(s.axle - 1, 0), .group = group};
    double most = full_;
    for (std::size_t r = first; r < last; ++r) {
      const SlowReading& reading = s.readings[r];
      item.readings.push_back({.time = reading.time,
                               .exposure = exposure(static_cast<std::size_t>(s.unit), reading.time),
                               .depth = {reading.left},
                               .slip = !chains_[k].believed[r]});
      most = r == first ? std::max(most, reading.left) : most;
    }
    // Only of what was there before the record, and not where its first reading says otherwise.
    constexpr double far = 3.0;
    const double about = scale_.scaled(of_.level_spread);
    const double off = std::abs(s.readings[first].left - full_);
    const bool levelled = first == 0 && off < far * std::hypot(about, SlowScale::spread_of_reading);
    item.full = levelled ? full_ : most;
    item.first_spread = levelled ? about : nan;
    items_.push_back(std::move(item));
  }

  void lay_out_units() {
    double first = static_cast<double>(options_.as_of);
    for (const WearItem& item : items_) {
      first = std::min(first, item.readings.front().time);
    }
    fit_options_.first_day = first;
    fit_options_.knot_days = knot_days;
    // Nothing is left out: on simulated fleets the dates are wide enough without (tests/bench/slow_wear.py).
    // Nothing is left out: the dates are wide enough without, on simulated fleets (tests/bench/slow_wear.py).
    fit_options_.left_out = {};
    fit_options_.prior_traits = {of_.rate_spread, 0.25,
                                 0.25};  // roles, own groups: common practice, no source
    fit_options_.threads = options_.threads;
    fit_options_.watch = options_.watch;
    const double span = static_cast<double>(options_.as_of) + 1.0 - first;
    const auto knots = static_cast<std::size_t>(std::max(std::ceil(span / knot_days), 1.0));
    units_.resize(units_of_fleet_);
    for (std::size_t u = 0; u < units_.size(); ++u) {
      units_[u].by_time = !by_distance(u);
      for (std::size_t m = 0; m <= knots; ++m) {
        units_[u].exposure_at_boundary.push_back(exposure(u, first + static_cast<double>(m) * knot_days));
      }
    }
    for (std::size_t i = 0; i < items_.size(); ++i) {
      WearUnit& unit = units_[static_cast<std::size_t>(items_[i].unit)];
      unit.items.push_back(static_cast<std::int64_t>(i));
      unit.axles = std::max(unit.axles, items_[i].axle + 1);
    }
  }

  [[nodiscard]] WearFit fitted() const {
    const bool curved = of_.curve > 0.0;
    WearSpreads spreads{.unit = of_.unit,
                        .axle = of_.axle,
                        .item = of_.item,
                        .severity = of_.severity,
                        .severity_days = of_.severity_days,
                        .strength_mean = curved ? std::log(of_.curve) : std::log(nothing),
                        .strength = curved ? 0.4 : nothing,
                        .offset = nothing,
                        .one_sided_axle = nothing,
                        .one_sided_item = nothing,
                        .shoulder_mean = 0.0,
                        .shoulder = nothing,
                        .reading = SlowScale::spread_of_reading,
                        .turns_per_year = nothing};
    if (use_) {
      spreads.use_of_unit = std::sqrt(use_->model().between_units);
      spreads.use_drift = std::sqrt(use_->model().drift + use_->model().rest_of_mean(knot_days));
    }
    std::vector<double> wanted(items_.size(), nan);
    for (const std::size_t i : last_item_) {
      const double now =
          exposure(static_cast<std::size_t>(items_[i].unit), static_cast<double>(options_.as_of));
      wanted[i] = std::max(now, items_[i].readings.back().exposure);
    }
    return fit_wear(items_, units_, groups_, 0, 1, spreads, wanted, fit_options_);
  }

  // ---- the table

  void write(const WearFit& fit) {
    const auto now = static_cast<double>(options_.as_of);
    const UseModel days = time_itself();
    std::vector<Passage> passages(series_.size());
    parallel(series_.size(), options_.threads, [&](std::size_t first, std::size_t last) {
      std::optional<Ahead> ahead;  // series are by unit
      std::int32_t of_unit = -1;
      for (std::size_t k = first; k < last; ++k) {
        const auto u = static_cast<std::size_t>(series_[k].unit);
        if (series_[k].unit != of_unit) {
          ahead = of_.by_time ? Ahead(days, 0, fit.spreads, now, fit.season_cos, fit.season_sin)
                              : use_->ahead(u, now, fit);
          of_unit = series_[k].unit;
        }
        const double limit = limits_[k].value;
        const std::size_t i = last_item_[k];
        const double since = of_.by_time ? 0.0 : use_->days_since_odometer(u, now) * ahead->km_per_day();
        passages[k] = passage(fit.items[i], items_[i].full, std::isnan(limit) ? 0.0 : scale_.left(limit),
                              *ahead, since);
      }
    });
    std::vector<bool> doubted(items_.size(), false);
    for (const DoubtedReading& d : fit.doubted) {
      doubted[d.item] = doubted[d.item] || d.reading + 1 == items_[d.item].readings.size();
    }
    double log_rates = 0.0;
    for (std::size_t k = 0; k < series_.size(); ++k) {
      write(k, passages[k], doubted[last_item_[k]]);
      log_rates += fit.groups[static_cast<std::size_t>(items_[last_item_[k]].group)].log_rate;
    }
    out_.rate = scale_.size(std::exp(log_rates / static_cast<double>(series_.size())));
    out_.rate_spread = std::sqrt(fit.spreads.unit * fit.spreads.unit + fit.spreads.axle * fit.spreads.axle +
                                 fit.spreads.item * fit.spreads.item);
    out_.reading = scale_.size(fit.spreads.reading);
  }

  void write(std::size_t k, const Passage& p, bool doubted) {
    const SlowSeries& s = series_[k];
    const WearItem& item = items_[last_item_[k]];
    const PlaceLimit& limit = limits_[k];
    const bool limited = !std::isnan(limit.value), distance = by_distance(static_cast<std::size_t>(s.unit));
    const bool renewed = !chains_[k].cuts.empty();
    const SlowReading& first = s.readings[renewed ? chains_[k].cuts.back().visit : 0];
    const SlowReading& last = s.readings.back();
    WearTable& to = out_.wear;
    to.position.push_back(wheelends_.position[static_cast<std::size_t>(last.row)]);
    to.fitted_day.push_back(renewed ? first.day : std::numeric_limits<std::int32_t>::min());
    to.begun.push_back(
        static_cast<std::uint8_t>(renewed ? chains_[k].cuts.back().begun : Begun::first_reading));
    to.readings_used.push_back(static_cast<std::int64_t>(item.readings.size()));
    to.last_day.push_back(last.day);
    to.depth_mm.push_back(scale_.value(p.depth));
    to.rate_mm_per_km.push_back(distance ? scale_.size(p.rate) : nan);
    to.rate_se_mm_per_km.push_back(distance ? scale_.size(p.rate_sd) : nan);
    to.rate_mm_per_day.push_back(scale_.size(p.rate_per_day));
    to.rate_se_mm_per_day.push_back(scale_.size(p.rate_per_day_sd));
    to.limit_mm.push_back(limit.value);
    double median_days = nan;
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      const double days = limited && std::isfinite(p.days[q]) ? p.days[q] : nan;
      to.remaining_days[q].push_back(days);
      to.remaining_km[q].push_back(limited && distance && std::isfinite(p.distance[q]) ? p.distance[q] : nan);
      median_days = quantile_levels[q] == 0.5 ? days : median_days;
    }
    to.status.push_back(static_cast<std::uint8_t>(wear_status(item.readings.size(), limited, median_days)));
    out_.row.push_back(last.row);
    out_.limit_row.push_back(limit.row);
    out_.unknown.push_back(limit.unknown);
    out_.doubted.push_back(doubted ? 1 : 0);
    out_.last_value.push_back(scale_.value(last.left));
  }

  const PositionColumns& positions_;
  const WheelendColumns& wheelends_;
  std::span<const std::int32_t> unit_of_;
  const std::size_t units_of_fleet_;
  const SlowAsk& ask_;
  const SlowQuantity& of_;
  const WearPrior& prior_;
  const WearOptions options_;
  const SlowScale scale_;
  const double full_;
  const std::vector<SlowSeries> series_;
  const std::vector<Track> tracks_;
  std::vector<std::size_t> kind_of_unit_;
  std::vector<std::int32_t> group_of_unit_;
  std::optional<UnitUse> use_;
  std::vector<PlaceLimit> limits_;          // of each series
  std::vector<std::vector<Visit>> visits_;  // of each series
  std::vector<Chain> chains_;
  std::vector<WearItem> items_;
  std::vector<std::size_t> last_item_;  // of each series
  std::vector<WearGroup> groups_;
  std::vector<WearUnit> units_;
  WearFitOptions fit_options_;
  SlowTable out_;
};

}  // namespace

SlowTable slow_wear(const ReadingColumns& readings, const PositionColumns& positions,
                    const WheelendColumns& wheelends, std::span<const std::int32_t> unit_of,
                    std::size_t units, const SlowAsk& ask, const WearPrior& prior,
                    const WearOptions& options) {
  return Following(readings, positions, wheelends, unit_of, units, ask, prior, options).run();
}

}  // namespace wheelend
