#include "wheelend/slow_wear.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>

#include "limit_of_place.hpp"
#include "parallel.hpp"
#include "slow_chain.hpp"
#include "slow_series.hpp"
#include "split_mix.hpp"
#include "unit_use.hpp"
#include "wear_items.hpp"
#include "wear_rows.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double nothing = 1e-9;  // of an effect that a quantity does not have

// A unit's exposure when it goes with time: days, and no doubt about those to come.
UseModel time_itself() { return {.log_km_per_day = {0.0}}; }

class Following {
 public:
  Following(const ReadingColumns& readings, const PositionColumns& positions,
            const WheelendColumns& wheelends, std::span<const std::int32_t> unit_of, std::size_t units,
            const SlowAsk& ask, const WearPrior& prior, const WearOptions& options)
      : positions_(positions),
        wheelends_(wheelends),
        ask_(ask),
        of_(ask.of),
        prior_(prior),
        options_(options),
        scale_(ask.of),
        full_(scale_.left(ask.of.fresh)),
        series_(slow_series(wheelends, unit_of, ask.of, options.as_of)),
        tracks_(odometer_tracks(readings, unit_of, units, options.as_of)),
        kinds_(unit_kinds(positions, unit_of, units)) {}

  SlowTable run() {
    if (series_.empty()) {
      return std::move(out_);
    }
    if (!of_.by_time) {
      use_.emplace(tracks_, kinds_.kind, kinds_.group, prior_);
    }
    find_limits();
    typical_ = typical();
    find_chains();
    std::vector<Fitted> all;
    for (const std::vector<Chain>& chains : sets_) {
      make_items(chains);
      lay_out_units();
      all.push_back(fitted());
    }
    write(all);
    return std::move(out_);
  }

 private:
  // ---- what units ran

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

  // The likeliest course of each place, and as many as there are sets by their odds. One of each place makes
  // a set, and a fit of each set is one of the equally likely answers. Where hardly any place leaves a doubt,
  // the likeliest are the one set.
  void find_chains() {
    constexpr std::size_t sets = 5;
    chains_.resize(series_.size());
    sets_.assign(sets, std::vector<Chain>(series_.size()));
    std::vector<double> in_doubt(series_.size(), 0.0);
    parallel(series_.size(), options_.threads, [&](std::size_t first, std::size_t last) {
      for (std::size_t k = first; k < last; ++k) {
        const SlowSeries& s = series_[k];
        const double limit = limits_[k].value;
        const std::vector<SlowCourse> courses = slow_courses(
            s.readings, {.wear = [&](double from, double to) { return typical_ * ran(s, from, to); },
                         .full = full_,
                         .full_spread = scale_.scaled(of_.fresh_spread),
                         .limit = std::isnan(limit) ? nan : scale_.left(limit)});
        chains_[k] = courses.front().chain;
        for (const SlowCourse& c : courses) {
          in_doubt[k] += last_begin(c.chain) != last_begin(chains_[k]) ? c.weight : 0.0;
        }
        // Evenly through their odds; in an order that differs from place to place, the same whatever else is
        // in the fleet.
        std::uint64_t order = 0;
        for (const SlowReading& r : s.readings) {
          order = mixed(order + std::bit_cast<std::uint64_t>(r.time) + std::bit_cast<std::uint64_t>(r.left));
        }
        double passed = courses.front().weight;
        std::size_t at = 0;
        for (std::size_t m = 0; m < sets; ++m) {
          while (at + 1 < courses.size() && passed * sets < static_cast<double>(m) + 0.5) {
            passed += courses[++at].weight;
          }
          sets_[(m + order) % sets][k] = courses[at].chain;
        }
      }
    });
    constexpr double hardly_any = 0.02;
    if (std::accumulate(in_doubt.begin(), in_doubt.end(), 0.0) <
        hardly_any * static_cast<double>(series_.size())) {
      sets_.assign(1, chains_);
    }
  }

  // ---- items of the fit: what was there from one renewal to the next

  void make_items(const std::vector<Chain>& chains) {
    std::map<RateKey, std::int32_t> codes;
    items_.clear();
    last_item_.clear();
    groups_.clear();
    for (std::size_t k = 0; k < series_.size(); ++k) {
      const SlowSeries& s = series_[k];
      const auto p =
          static_cast<std::size_t>(wheelends_.position[static_cast<std::size_t>(s.readings.front().row)]);
      const std::int8_t role = s.axle >= 0 ? positions_.facts[p].role : std::int8_t{-1};
      const RateKey key{role < 0 ? axle_role_names.size() : static_cast<std::size_t>(role),
                        kinds_.kind[static_cast<std::size_t>(s.unit)],
                        kinds_.group[static_cast<std::size_t>(s.unit)]};
      const auto [found, is_new] = codes.try_emplace(key, static_cast<std::int32_t>(groups_.size()));
      if (is_new) {
        // The first trait is common to all: what the fleet as a whole is like.
        groups_.push_back({.traits = {0, static_cast<std::int32_t>(key.role), key.group},
                           .log_rate = std::log(scale_.scaled(of_.rate))});
      }
      const std::vector<Cut>& cuts = chains[k].cuts;
      for (std::size_t b = 0; b <= cuts.size(); ++b) {
        const std::size_t first = b == 0 ? 0 : cuts[b - 1].visit;
        const std::size_t last = b < cuts.size() ? cuts[b].visit : s.readings.size();
        add_item(k, first, last, found->second, chains[k], b > 0 && cuts[b - 1].as_new);
      }
      last_item_.push_back(items_.size() - 1);
    }
  }

  void add_item(std::size_t k, std::size_t first, std::size_t last, std::int32_t group, const Chain& chain,
                bool as_new) {
    const SlowSeries& s = series_[k];
    WearItem item{.unit = s.unit, .axle = std::max(s.axle - 1, 0), .group = group};
    double most = full_;
    for (std::size_t r = first; r < last; ++r) {
      const SlowReading& reading = s.readings[r];
      item.readings.push_back({.time = reading.time,
                               .exposure = exposure(static_cast<std::size_t>(s.unit), reading.time),
                               .depth = {reading.left},
                               .slip = !chain.believed[r]});
      most = r == first ? std::max(most, reading.left) : most;
    }
    // Only of what was there before the record, and not where its first reading says otherwise.
    constexpr double far = 3.0;
    const double about = scale_.scaled(of_.level_spread);
    // It was on its way for a time that nobody knows: half of the way on average.
    const double way =
        std::isnan(limits_[k].value) ? 0.0 : std::max(full_ - scale_.left(limits_[k].value), 0.0);
    const double level = full_ - way / 2.0;
    const double off = std::abs(s.readings[first].left - level);
    const bool levelled = first == 0 && off < far * std::hypot(about, SlowScale::spread_of_reading);
    item.full = levelled ? level : most;
    item.first_spread = levelled ? about : nan;
    // What was set anew was so at some time since the reading before.
    if (as_new && of_.fresh_spread > 0.0) {
      const double half = typical_ * ran(s, s.readings[first - 1].time, s.readings[first].time) / 2.0;
      item.full = std::max(full_ - half, SlowScale::spread_of_reading);
      item.first_spread = std::hypot(scale_.scaled(of_.fresh_spread), half);
    }
    items_.push_back(std::move(item));
  }

  void lay_out_units() {
    fit_options_.first_day = first_knot_day(items_, options_.as_of);
    fit_options_.knot_days = knot_days;
    // Nothing is left out: the dates are wide enough without, on simulated fleets (tests/bench/slow_wear.py).
    fit_options_.left_out = {};
    fit_options_.prior_traits = {of_.rate_spread, 0.25,
                                 0.25};  // roles, own groups: common practice, no source
    fit_options_.threads = options_.threads;
    fit_options_.watch = options_.watch;
    units_ = units_with_knots(
        items_, tracks_.size(), fit_options_.first_day, options_.as_of,
        [this](std::size_t u) { return of_.by_time || by_distance(u); },  // time is no guess of a use
        [this](std::size_t u, double time) { return exposure(u, time); });
  }

  // What a fit says of the last item of each place.
  struct Fitted {
    WearFit fit;
    std::vector<ItemState> state = {};
    std::vector<double> full = {};
    std::vector<bool> doubted = {};  // its last reading
    double log_rate = 0.0;           // mean over places
  };

  [[nodiscard]] Fitted fitted() const {
    Fitted out{.fit = fit()};
    std::vector<bool> doubted(items_.size(), false);
    for (const DoubtedReading& d : out.fit.doubted) {
      doubted[d.item] = doubted[d.item] || d.reading + 1 == items_[d.item].readings.size();
    }
    for (const std::size_t i : last_item_) {
      out.state.push_back(std::move(out.fit.items[i]));
      out.full.push_back(items_[i].full);
      out.doubted.push_back(doubted[i]);
      out.log_rate += out.fit.groups[static_cast<std::size_t>(items_[i].group)].log_rate /
                      static_cast<double>(last_item_.size());
    }
    return out;
  }

  [[nodiscard]] WearFit fit() const {
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

  void write(const std::vector<Fitted>& all) {
    const auto now = static_cast<double>(options_.as_of);
    const UseModel days = time_itself();
    const WearFit& fit = all.front().fit;
    std::vector<Passage> passages(series_.size());
    parallel(series_.size(), options_.threads, [&](std::size_t first, std::size_t last) {
      std::optional<Ahead> ahead;  // series are by unit
      std::int32_t of_unit = -1;
      std::vector<StateAndFull> states;
      for (std::size_t k = first; k < last; ++k) {
        const auto u = static_cast<std::size_t>(series_[k].unit);
        if (series_[k].unit != of_unit) {
          ahead = of_.by_time ? Ahead(days, 0, fit.spreads, now, fit.season_cos, fit.season_sin)
                              : use_->ahead(u, now, fit);
          of_unit = series_[k].unit;
        }
        states.clear();
        for (const Fitted& f : all) {
          states.push_back({&f.state[k], f.full[k]});
        }
        const double limit = limits_[k].value;
        const double since = of_.by_time ? 0.0 : use_->days_since_odometer(u, now) * ahead->km_per_day();
        passages[k] = passage(states, std::isnan(limit) ? 0.0 : scale_.left(limit), *ahead, since);
      }
    });
    for (std::size_t k = 0; k < series_.size(); ++k) {
      const auto doubted =
          std::count_if(all.begin(), all.end(), [k](const Fitted& f) { return f.doubted[k]; });
      write(k, passages[k], 2 * static_cast<std::size_t>(doubted) > all.size());
    }
    for (const Fitted& f : all) {
      const WearSpreads& s = f.fit.spreads;
      const auto n = static_cast<double>(all.size());
      out_.rate += scale_.size(std::exp(f.log_rate)) / n;
      out_.rate_spread += std::sqrt(s.unit * s.unit + s.axle * s.axle + s.item * s.item) / n;
      out_.reading += scale_.size(s.reading) / n;
    }
  }

  void write(std::size_t k, Passage p, bool doubted) {
    const SlowSeries& s = series_[k];
    const PlaceLimit& limit = limits_[k];
    const SlowReading& last = s.readings.back();
    WearRow row{.position = wheelends_.position[static_cast<std::size_t>(last.row)],
                .readings = s.readings.size() - last_begin(chains_[k]),
                .last_day = last.day,
                .limit = limit.value,
                .by_distance = by_distance(static_cast<std::size_t>(s.unit))};
    if (!chains_[k].cuts.empty()) {
      const Cut& cut = chains_[k].cuts.back();
      row.fitted_day = s.readings[cut.visit].day;
      row.begun = cut.begun;
    }
    p.depth = scale_.value(p.depth);
    for (double* rate : {&p.rate, &p.rate_sd, &p.rate_per_day, &p.rate_per_day_sd}) {
      *rate = scale_.size(*rate);
    }
    add_row(out_.wear, row, p);
    out_.row.push_back(last.row);
    out_.limit_row.push_back(limit.row);
    out_.unknown.push_back(limit.unknown);
    out_.doubted.push_back(doubted ? 1 : 0);
    out_.last_value.push_back(last.value);
  }

  const PositionColumns& positions_;
  const WheelendColumns& wheelends_;
  const SlowAsk& ask_;
  const SlowQuantity& of_;
  const WearPrior& prior_;
  const WearOptions options_;
  const SlowScale scale_;
  const double full_;
  const std::vector<SlowSeries> series_;
  const std::vector<Track> tracks_;
  const UnitKinds kinds_;
  std::optional<UnitUse> use_;
  std::vector<PlaceLimit> limits_;        // of each series
  double typical_ = 0.0;                  // rate that the fleet shows
  std::vector<Chain> chains_;             // the likeliest of each series
  std::vector<std::vector<Chain>> sets_;  // as drawn, by set and series
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
