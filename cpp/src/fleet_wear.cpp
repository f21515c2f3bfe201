#include "wheelend/fleet_wear.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "demand_fleet.hpp"
#include "parallel.hpp"
#include "season.hpp"
#include "unit_use.hpp"
#include "wear_doubts.hpp"
#include "wear_items.hpp"
#include "wear_patterns.hpp"
#include "wear_rows.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const double sd_of_rounding = 1.0 / std::sqrt(12.0);  // of one step, uniform

// What is believed of the spread of wear before a fleet speaks. Lengths in mm. Spread between tires of one
// kind: decile groups of car tires in one locality differed twofold, which is 0.20 in log (Tire Science and
// Technology 1(2), derived), shared out over unit, axle and tire; the others are common practice, no source.
// What a tire wears to one side by itself, beside its axle, hardly shows in a record of a year or two, so
// that a wide prior of it stays and makes patterns less sure than they are (mean square of error over doubt
// 0.43 with 0.02, 0.68 so; simulated fleets, tuning seeds 1 to 3).
WearSpreads prior_spreads() {
  return {.unit = 0.15,
          .axle = 0.08,
          .item = 0.12,
          .severity = 0.08,
          .severity_days = 120.0,
          .strength_mean = -0.5,
          .strength = 0.4,
          .offset = 0.2,
          .one_sided_axle = 0.05,
          .one_sided_item = 0.005,
          .shoulder_mean = 0.08,
          .shoulder = 0.05,
          .reading = 0.35,
          .reader = 0.2};
}

TypicalWear typical_of(const WearPrior& prior) {
  return {.mm_per_km = {prior.mm_per_km.begin(), prior.mm_per_km.end()},
          .full_mm = {prior.full_mm.begin(), prior.full_mm.end()},
          .km_per_day = {prior.km_per_day.begin(), prior.km_per_day.end()}};
}

class Wearing {
 public:
  Wearing(const ReadingColumns& readings, const PositionColumns& positions, const TireColumns& tires,
          std::span<const std::int32_t> unit_of, std::size_t units, std::span<const double> limit_mm,
          const WearPrior& prior, const WearOptions& options)
      : readings_(readings),
        positions_(positions),
        tires_(tires),
        unit_of_(unit_of),
        limit_mm_(limit_mm),
        prior_(prior),
        options_(options),
        rows_(rows_by_position(readings, positions.facts.size())),
        tracks_(odometer_tracks(readings, unit_of, units, options.as_of)),
        kinds_(unit_kinds(positions, unit_of, units)) {
    for (const NumberColumn& groove : readings.grooves) {
      step_mm_ =
          std::max(step_mm_, convert(info(groove.measure).gauge_step, groove.measure, Measure::millimetre));
    }
  }

  FleetWear run() {
    out_.fitments = find_fitments(readings_, positions_, rows_, unit_of_, tracks_, limit_mm_,
                                  typical_of(prior_), options_.as_of, options_.threads);
    items_ = items_of(out_.fitments, positions_, tires_, unit_of_, kinds_.kind, prior_,
                      options_.demand_days > 0.0, static_cast<double>(options_.as_of));
    if (!items_.cases.empty()) {
      use_.emplace(tracks_, kinds_.kind, kinds_.group, prior_);
      lay_out_units();
      fill_items();
      const WearFit fit = fitted();
      out_.doubts = find_doubts(fit, items_, out_.fitments, readings_.grooves.front().measure, step_mm_);
      out_.patterns = find_patterns(fit, items_, readings_, rows_, options_.as_of);
      keep_what_was_learned(fit);
      write(fit);
      if (options_.demand_days > 0.0) {
        out_.demand = demand_fleet({readings_, positions_, tires_, unit_of_, limit_mm_, out_.fitments, items_,
                                    *use_, fit, kinds_.kind, options_});
      }
    }
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::size_t unit_at(std::size_t p) const { return static_cast<std::size_t>(unit_of_[p]); }

  // ---- the fit

  void lay_out_units() {
    fit_options_.first_day = first_knot_day(items_.items, options_.as_of);
    fit_options_.knot_days = knot_days;
    fit_options_.reading_floor = step_mm_ * sd_of_rounding;
    // Spreads, readers, season and which tire is which count as known once they are learned. What that leaves
    // out of the variance was found on simulated fleets (tests/bench/forecast.py, tuning seeds 1 to 3).
    fit_options_.left_out = {.readings = 0.5, .half_of_readings = 15.0, .record = 0.6, .moved = 0.3};
    fit_options_.threads = options_.threads;
    fit_options_.watch = options_.watch;
    units_ = units_with_knots(
        items_.items, tracks_.size(), fit_options_.first_day, options_.as_of,
        [this](std::size_t u) { return use_->by_distance(u); },
        [this](std::size_t u, double time) { return use_->exposure(u, time); });
  }

  void fill_items() {
    std::vector<WearItem>& items = items_.items;
    for (std::size_t i = 0; i < items.size(); ++i) {
      WearItem& item = items[i];
      const auto u = static_cast<std::size_t>(item.unit);
      for (ItemReading& r : item.readings) {
        r.exposure = use_->exposure(u, r.time);
      }
      item.begins = std::isnan(item.begins) ? nan : use_->exposure(u, item.begins);
      const auto former = static_cast<std::size_t>(std::max<std::int64_t>(item.previous, 0));
      if (item.previous >= 0 && !items[former].readings.empty() && !item.readings.empty()) {
        const double from = items[former].readings.back().time;
        item.exposure_between = item.readings.front().exposure - use_->exposure(u, from);
      }
    }
    std::vector<std::size_t> moved(items.size(), 0);
    for (const MoveAt& at : items_.moves) {  // about half way between the readings
      WearItem& item = items[at.item];
      const double before = at.reading > 0 ? item.readings[at.reading - 1].exposure : item.begins;
      item.moves[moved[at.item]++].exposure = (before + item.readings[at.reading].exposure) / 2.0;
    }
    for (const OddVisit& odd : out_.fitments.odd_visits) {
      units_[static_cast<std::size_t>(odd.unit)].odd_visits.emplace_back(odd.time, odd.by_mm);
    }
  }

  [[nodiscard]] WearFit fitted() const {
    WearSpreads spreads = prior_spreads();
    spreads.reading = std::max(spreads.reading, fit_options_.reading_floor);
    spreads.use_of_unit = std::sqrt(use_->model().between_units);
    spreads.use_drift = std::sqrt(use_->model().drift + use_->model().rest_of_mean(knot_days));
    std::vector<double> wanted(items_.items.size(), nan);
    for (const Case& c : items_.cases) {
      const WearItem& item = items_.items[c.item];
      const double now = use_->exposure(unit_at(c.position), static_cast<double>(options_.as_of));
      wanted[c.item] = std::max(now, item.readings.empty() ? item.begins : item.readings.back().exposure);
    }
    for (const std::size_t i : items_.fresh) {
      wanted[i] = items_.items[i].begins;
    }
    return fit_wear(items_.items, units_, items_.groups, items_.readers.size(), readings_.grooves.size(),
                    spreads, wanted, fit_options_);
  }

  void keep_what_was_learned(const WearFit& fit) {
    Learned& learned = out_.learned;
    learned.spreads = fit.spreads;
    learned.readers = items_.readers;
    learned.reader_mm = fit.readers;
    learned.season = std::hypot(fit.season_cos, fit.season_sin);
    const double angle = std::atan2(fit.season_sin, fit.season_cos) / (2.0 * std::numbers::pi);
    learned.season_peak_day = (angle < 0.0 ? angle + 1.0 : angle) * year_days;
    learned.use = use_->model();
    for (std::size_t g = 0; g < items_.keys.size(); ++g) {
      const RateKey& key = items_.keys[g];
      learned.rates.push_back(
          {.role = key.role == axle_role_names.size() ? std::int8_t{-1} : static_cast<std::int8_t>(key.role),
           .kind = key.kind == unit_kind_names.size() ? std::int8_t{-1} : static_cast<std::int8_t>(key.kind),
           .group = key.group,
           .mm_per_km = std::exp(fit.groups[g].log_rate),
           .spread = std::sqrt(fit.groups[g].variance)});
    }
  }

  // ---- the table

  void write(const WearFit& fit) {
    const auto now = static_cast<double>(options_.as_of);
    told(options_.watch, 0.9);
    const std::vector<Case>& cases = items_.cases;
    std::vector<Passage> passages(cases.size());
    parallel(cases.size(), options_.threads, [&](std::size_t first, std::size_t last) {
      std::optional<Ahead> ahead;  // cases are by position, and so by unit
      std::size_t of_unit = tracks_.size();
      for (std::size_t k = first; k < last; ++k) {
        const Case& c = cases[k];
        const std::size_t u = unit_at(c.position);
        if (u != of_unit) {
          ahead = use_->ahead(u, now, fit);
          of_unit = u;
        }
        const double limit = limit_mm_[c.position];
        passages[k] = passage(fit.items[c.item], items_.items[c.item].full, std::isnan(limit) ? 0.0 : limit,
                              *ahead, use_->days_since_odometer(u, now) * ahead->km_per_day());
      }
    });
    for (std::size_t k = 0; k < cases.size(); ++k) {
      write(cases[k], passages[k]);
    }
    write_further(fit, now);
  }

  // Few are asked, of one position or some: one after the other.
  void write_further(const WearFit& fit, double now) {
    std::vector<const Case*> at(limit_mm_.size(), nullptr);
    for (const Case& c : items_.cases) {
      at[c.position] = &c;
    }
    std::optional<Ahead> ahead;
    std::size_t of_unit = tracks_.size();
    for (const FurtherDepth& asked : options_.further) {
      const Case* c = at[static_cast<std::size_t>(asked.position)];
      Passage p;
      p.days.fill(nan);
      p.distance.fill(nan);
      if (c != nullptr && !std::isnan(asked.depth_mm)) {
        const std::size_t u = unit_at(c->position);
        if (u != of_unit) {
          ahead = use_->ahead(u, now, fit);
          of_unit = u;
        }
        p = passage(fit.items[c->item], items_.items[c->item].full, asked.depth_mm, *ahead,
                    use_->days_since_odometer(u, now) * ahead->km_per_day());
      }
      for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
        out_.further.remaining_days[q].push_back(within_horizon(p.days[q]));
        out_.further.remaining_km[q].push_back(within_horizon(p.distance[q]));
      }
    }
  }

  void write(const Case& c, const Passage& p) {
    const Fitment& fitment = out_.fitments.all[c.fitment];
    const std::vector<Visit>& visits = out_.fitments.visits[c.position];
    const bool came = fitment.begun != Begun::first_reading || visits[fitment.first].event == Event::fitted;
    std::int32_t last_day = visits[fitment.first].day;
    for (std::size_t i = fitment.first; i < fitment.last; ++i) {
      last_day = visits[i].has_tread() ? visits[i].day : last_day;
    }
    WearRow row{.position = static_cast<std::int32_t>(c.position),
                .begun = fitment.begun,
                .readings = items_.items[c.item].readings.size(),
                .last_day = last_day,
                .limit = limit_mm_[c.position],
                .by_distance = use_->by_distance(unit_at(c.position))};
    if (came) {
      row.fitted_day = visits[fitment.first].day;
    }
    add_row(out_.table, row, p);
  }

  const ReadingColumns& readings_;
  const PositionColumns& positions_;
  const TireColumns& tires_;
  std::span<const std::int32_t> unit_of_;
  std::span<const double> limit_mm_;
  const WearPrior& prior_;
  const WearOptions options_;
  const RowsByPosition rows_;
  const std::vector<Track> tracks_;
  const UnitKinds kinds_;
  double step_mm_ = 0.0;  // of the gauge
  WearItems items_;
  std::optional<UnitUse> use_;
  std::vector<WearUnit> units_;
  WearFitOptions fit_options_;
  FleetWear out_;
};

}  // namespace

Fitments fitments_of_fleet(const ReadingColumns& readings, const PositionColumns& positions,
                           std::span<const std::int32_t> unit_of, std::size_t units,
                           std::span<const double> limit_mm, const WearPrior& prior,
                           const WearOptions& options) {
  return find_fitments(readings, positions, rows_by_position(readings, positions.facts.size()), unit_of,
                       odometer_tracks(readings, unit_of, units, options.as_of), limit_mm, typical_of(prior),
                       options.as_of, options.threads);
}

FleetWear wear_of_fleet(const ReadingColumns& readings, const PositionColumns& positions,
                        const TireColumns& tires, std::span<const std::int32_t> unit_of, std::size_t units,
                        std::span<const double> limit_mm, const WearPrior& prior,
                        const WearOptions& options) {
  return Wearing(readings, positions, tires, unit_of, units, limit_mm, prior, options).run();
}

}  // namespace wheelend
