#include "wheelend/fleet_wear.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <tuple>

#include "wheelend/fitments.hpp"
#include "wheelend/line_fit.hpp"
#include "wheelend/use.hpp"
#include "wheelend/use_model.hpp"
#include "wheelend/wear_ahead.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const double sd_of_rounding = 1.0 / std::sqrt(12.0);  // of one step, uniform
constexpr double knot_days = 60.0;                    // of the severity

std::size_t code_or_last(std::int8_t code, std::size_t last) {
  return code < 0 ? last : static_cast<std::size_t>(code);
}

// A position in use and the item of the fit that is on it.
struct Case {
  std::size_t position = 0, item = 0;
  std::size_t fitment = 0;
};

// Where a reading stands: position and visit there.
struct Source {
  std::size_t position, visit;
};

// What is believed of the spread of wear before a fleet speaks. Lengths in mm. Spread between tires of one
// kind: decile groups of car tires in one locality differed twofold, which is 0.20 in log (Tire Science and
// Technology 1(2), derived), shared out over unit, axle and tire; the others are common practice, no source.
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
          .one_sided_item = 0.02,
          .shoulder_mean = 0.08,
          .shoulder = 0.05,
          .reading = 0.35,
          .reader = 0.2};
}

// Spreads of use before a fleet speaks: common practice, no source. `groups`: kind of each group of units.
UseModel prior_use(const WearPrior& prior, const std::vector<std::size_t>& groups) {
  UseModel use{.between_units = 0.06, .drift = 0.015, .drift_days = 180.0, .rest = 0.06, .rest_days = 10.0};
  for (const std::size_t kind : groups) {
    use.log_km_per_day.push_back(std::log(prior.km_per_day[kind]));
  }
  return use;
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
        kind_of_unit_(units, kinds - 1) {
    for (std::size_t p = 0; p < positions.facts.size(); ++p) {
      kind_of_unit_[unit_at(p)] = code_or_last(positions.facts[p].kind, kinds - 1);
    }
    double step = 0.0;
    for (const NumberColumn& groove : readings.grooves) {
      step = std::max(step, convert(info(groove.measure).gauge_step, groove.measure, Measure::millimetre));
    }
    reading_floor_ = step * sd_of_rounding;
  }

  FleetWear run() {
    const TypicalWear typical{.mm_per_km = {prior_.mm_per_km.begin(), prior_.mm_per_km.end()},
                              .full_mm = {prior_.full_mm.begin(), prior_.full_mm.end()},
                              .km_per_day = {prior_.km_per_day.begin(), prior_.km_per_day.end()}};
    out_.fitments = find_fitments(readings_, positions_, tires_, unit_of_, tracks_, limit_mm_, typical,
                                   options_.as_of);
    make_items();
    if (!cases_.empty()) {
      learn_the_use();
      lay_out_units();
      fill_items();
      fit_and_write();
    }
    return std::move(out_);
  }

 private:
  static constexpr std::size_t roles = axle_role_names.size() + 1;
  static constexpr std::size_t kinds = unit_kind_names.size() + 1;

  [[nodiscard]] std::size_t unit_at(std::size_t p) const { return static_cast<std::size_t>(unit_of_[p]); }
  [[nodiscard]] std::size_t role_at(std::size_t p) const {
    return code_or_last(positions_.facts[p].role, roles - 1);
  }

  // ---- from fitments to items

  static constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

  void make_items() {
    const std::vector<Fitment>& all = out_.fitments.all;
    std::vector<std::size_t> item_of(all.size(), none);
    std::map<std::int32_t, std::size_t> last;  // fitment of each position
    for (std::size_t f = 0; f < all.size(); ++f) {
      item_of[f] = item_with(f, item_of);
      last[all[f].position] = f;
    }
    for (const auto& [position, f] : last) {
      if (item_of[f] != none && all[f].ended != Ended::removed) {
        cases_.push_back({.position = static_cast<std::size_t>(position), .item = item_of[f], .fitment = f});
      }
    }
  }

  // The item that a fitment is of: a new one, or, of a tire that moved within its unit, the one it was.
  std::size_t item_with(std::size_t f, const std::vector<std::size_t>& item_of) {
    const Fitment& fitment = out_.fitments.all[f];
    const auto p = static_cast<std::size_t>(fitment.position);
    const std::vector<Visit>& visits = out_.fitments.visits[p];
    std::vector<ItemReading> readings;
    std::vector<Source> sources;
    for (std::size_t i = fitment.first; i < fitment.last; ++i) {
      if (visits[i].has_tread()) {
        sources.push_back({p, i});
        readings.push_back({.time = visits[i].time,
                            .depth = visits[i].groove_mm,
                            .reader = reader_of(visits[i].reader),
                            .slip = !out_.fitments.believed[p][i]});
      }
    }
    const std::size_t before =
        fitment.previous >= 0 ? item_of[static_cast<std::size_t>(fitment.previous)] : none;
    const std::int32_t axle = std::max(positions_.facts[p].axle - 1, 0);
    if (before != none && items_[before].unit == unit_of_[p]) {
      if (!readings.empty()) {
        moves_.push_back({before, items_[before].readings.size()});
        items_[before].moves.push_back({.axle = axle, .group = group_of(p)});
        items_[before].readings.insert(items_[before].readings.end(), readings.begin(), readings.end());
        sources_[before].insert(sources_[before].end(), sources.begin(), sources.end());
      }
      return before;
    }
    const bool dated = fitment.as_new && visits[fitment.first].event == Event::fitted;
    if (readings.empty() && !dated) {
      return none;
    }
    WearItem item{.unit = unit_of_[p], .axle = axle, .group = group_of(p)};
    item.full = full_of(fitment, readings);
    item.previous = before == none ? -1 : static_cast<std::int64_t>(before);
    item.begins = dated ? visits[fitment.first].time : nan;  // as a time, until exposures are known
    item.readings = std::move(readings);
    items_.push_back(std::move(item));
    sources_.push_back(std::move(sources));
    return items_.size() - 1;
  }

  // Readers in the order in which they come, so that nothing depends on how they are numbered.
  std::int32_t reader_of(std::int32_t code) {
    if (code < 0) {
      return -1;
    }
    const auto [found, is_new] =
        reader_codes_.try_emplace(code, static_cast<std::int32_t>(reader_codes_.size()));
    if (is_new) {
      out_.learned.readers.push_back(code);
    }
    return found->second;
  }

  [[nodiscard]] double full_of(const Fitment& fitment, const std::vector<ItemReading>& readings) const {
    const double given =
        fitment.tire >= 0 ? tires_.new_depth.at(static_cast<std::size_t>(fitment.tire)) : nan;
    const double full = std::isnan(given)
                            ? out_.fitments.full_mm[role_at(static_cast<std::size_t>(fitment.position))]
                            : convert(given, tires_.new_depth.measure, Measure::millimetre);
    double deepest = 0.0;  // the middle groove of the first reading that counts
    const auto first =
        std::find_if(readings.begin(), readings.end(), [](const ItemReading& r) { return !r.slip; });
    if (first != readings.end()) {
      std::vector<double> known;
      for (const double d : first->depth) {
        if (!std::isnan(d)) {
          known.push_back(d);
        }
      }
      deepest = median(known);
    }
    return std::max(full, deepest);
  }

  // ---- use

  // Use is learned by kind and the fleet's own group, that of a unit's first position. Gives kinds by group.
  std::vector<std::size_t> group_the_units() {
    std::vector<std::int32_t> own(tracks_.size(), -1);
    for (std::size_t p = positions_.group.size(); p-- > 0;) {
      own[unit_at(p)] = positions_.group[p];
    }
    std::map<std::pair<std::size_t, std::int32_t>, std::int32_t> codes;
    std::vector<std::size_t> kinds_of_groups;
    for (std::size_t u = 0; u < tracks_.size(); ++u) {
      const auto [found, is_new] =
          codes.try_emplace({kind_of_unit_[u], own[u]}, static_cast<std::int32_t>(kinds_of_groups.size()));
      if (is_new) {
        kinds_of_groups.push_back(kind_of_unit_[u]);
      }
      use_group_.push_back(found->second);
    }
    return kinds_of_groups;
  }

  void learn_the_use() {
    const std::vector<std::size_t> groups = group_the_units();
    for (std::size_t u = 0; u < tracks_.size(); ++u) {
      blocks_.push_back(use_blocks(tracks_[u].day, tracks_[u].km, use_group_[u]));
    }
    std::vector<UseBlocks> known;
    for (const UseBlocks& b : blocks_) {
      if (!b.end_day.empty()) {
        known.push_back(b);
      }
    }
    constexpr double prior_units = 5.0;
    use_ = learn_use(known, prior_use(prior_, groups), prior_units);
    for (const UseBlocks& b : blocks_) {
      forecasts_.emplace_back(use_, b);
    }
  }

  // Whether a unit's wear goes by its odometer: a track of at least one block.
  [[nodiscard]] bool by_distance(std::size_t u) const { return !blocks_[u].end_day.empty(); }

  [[nodiscard]] double exposure(std::size_t u, double time) const {
    if (!by_distance(u)) {
      return use_.middle_distance(use_group_[u], 0.0, time);
    }
    const Track& t = tracks_[u];
    const double gap = std::max(time - t.day.back(), t.day.front() - time);
    return t.at(time, gap > 0.0 ? std::exp(forecasts_[u].between(0.0, gap).mean) : 0.0);
  }

  // ---- the fit

  void lay_out_units() {
    double first = static_cast<double>(options_.as_of);
    for (const WearItem& item : items_) {
      first = std::min(first, item.readings.empty() ? item.begins : item.readings.front().time);
      first = std::isnan(item.begins) ? first : std::min(first, item.begins);
    }
    fit_options_.first_day = first;
    fit_options_.knot_days = knot_days;
    fit_options_.reading_floor = reading_floor_;
    fit_options_.threads = options_.threads;
    const double span = static_cast<double>(options_.as_of) + 1.0 - first;
    const auto knots = static_cast<std::size_t>(std::max(std::ceil(span / knot_days), 1.0));
    units_.resize(tracks_.size());
    for (std::size_t u = 0; u < units_.size(); ++u) {
      units_[u].by_time = !by_distance(u);
      for (std::size_t m = 0; m <= knots; ++m) {
        units_[u].exposure_at_boundary.push_back(exposure(u, first + static_cast<double>(m) * knot_days));
      }
    }
  }

  void fill_items() {
    for (std::size_t i = 0; i < items_.size(); ++i) {
      WearItem& item = items_[i];
      const auto u = static_cast<std::size_t>(item.unit);
      units_[u].items.push_back(static_cast<std::int64_t>(i));
      units_[u].axles = std::max(units_[u].axles, item.axle + 1);
      for (const ItemMove& move : item.moves) {
        units_[u].axles = std::max(units_[u].axles, move.axle + 1);
      }
      for (ItemReading& r : item.readings) {
        r.exposure = exposure(u, r.time);
      }
      item.begins = std::isnan(item.begins) ? nan : exposure(u, item.begins);
      const auto former = static_cast<std::size_t>(std::max<std::int64_t>(item.previous, 0));
      if (item.previous >= 0 && !items_[former].readings.empty() && !item.readings.empty()) {
        const double from = items_[former].readings.back().time;
        item.exposure_between = item.readings.front().exposure - exposure(u, from);
      }
    }
    std::vector<std::size_t> moved(items_.size(), 0);
    for (const auto& [i, reading] : moves_) {  // about half way between the readings
      WearItem& item = items_[i];
      const double before = reading > 0 ? item.readings[reading - 1].exposure : item.begins;
      item.moves[moved[i]++].exposure = (before + item.readings[reading].exposure) / 2.0;
    }
    for (const OddVisit& odd : out_.fitments.odd_visits) {
      units_[static_cast<std::size_t>(odd.unit)].odd_visits.emplace_back(odd.time, odd.by_mm);
    }
  }

  // Rates are learned by role, kind and the fleet's own group.
  std::int32_t group_of(std::size_t p) {
    const std::int32_t own = positions_.group.empty() ? -1 : positions_.group[p];
    const std::tuple key(role_at(p), kind_of_unit_[unit_at(p)], own);
    const auto [found, is_new] = group_codes_.try_emplace(key, static_cast<std::int32_t>(groups_.size()));
    if (is_new) {
      groups_.push_back({.traits = {static_cast<std::int32_t>(role_at(p)),
                                    static_cast<std::int32_t>(kind_of_unit_[unit_at(p)]), own},
                         .log_rate = std::log(prior_.mm_per_km[role_at(p)])});
    }
    return found->second;
  }

  void fit_and_write() {
    WearSpreads spreads = prior_spreads();
    spreads.reading = std::max(spreads.reading, reading_floor_);
    spreads.use_of_unit = std::sqrt(use_.between_units);
    spreads.use_drift = std::sqrt(use_.drift + use_.rest_of_mean(knot_days));
    std::vector<double> wanted(items_.size(), nan);
    for (const Case& c : cases_) {
      const WearItem& item = items_[c.item];
      const double now = exposure(unit_at(c.position), static_cast<double>(options_.as_of));
      wanted[c.item] = std::max(now, item.readings.empty() ? item.begins : item.readings.back().exposure);
    }
    const WearFit fit = fit_wear(items_, units_, groups_, reader_codes_.size(), readings_.grooves.size(),
                                 spreads, wanted, fit_options_);
    keep_what_was_learned(fit);
    keep_doubts(fit);
    std::vector<std::optional<Ahead>> ahead(units_.size());
    for (const Case& c : cases_) {
      std::optional<Ahead>& of_unit = ahead[unit_at(c.position)];
      if (!of_unit) {
        of_unit = ahead_of(unit_at(c.position), fit);
      }
      write(c, fit, *of_unit);
    }
  }

  // ---- readings that do not fit

  void keep_doubts(const WearFit& fit) {
    // Depth expected of every doubted row, to find two that were written in each other's lines.
    std::map<std::pair<std::size_t, double>, std::vector<const DoubtedReading*>> by_visit;
    for (const DoubtedReading& d : fit.doubted) {
      const auto u = static_cast<std::size_t>(items_[d.item].unit);
      by_visit[{u, items_[d.item].readings[d.reading].time}].push_back(&d);
    }
    for (const OddUnitVisit& odd : fit.odd_visits) {
      add_doubt({.unit = static_cast<std::int32_t>(odd.unit),
                 .day = static_cast<std::int32_t>(std::floor(odd.time)),
                 .expected_mm = odd.by,
                 .slip = std::isnan(odd.by) ? Slip::other_unit : Slip::visit_off});
    }
    for (const auto& [visit, list] : by_visit) {
      for (const DoubtedReading* d : list) {
        const Source& source = sources_[d->item][d->reading];
        const Visit& v = out_.fitments.visits[source.position][source.visit];
        const double depth =
            d->channel >= 0 ? v.groove_mm[static_cast<std::size_t>(d->channel)] : mean_of(v.groove_mm);
        // What rounding and a common error of reading explain is not worth a second look.
        const double least = 1.5 * std::sqrt(12.0) * reading_floor_;
        if (std::abs(depth - d->expected) < least) {
          continue;
        }
        Doubt doubt{.position = static_cast<std::int32_t>(source.position),
                    .unit = items_[d->item].unit,
                    .day = v.day,
                    .groove = d->channel,
                    .depth_mm = depth,
                    .expected_mm = d->expected};
        name_slip(*d, list, doubt);
        add_doubt(doubt);
      }
    }
  }

  struct Doubt {
    std::int32_t position = -1, unit = -1, day = 0, groove = -1;
    double depth_mm = nan, expected_mm = nan;
    Slip slip = Slip::unknown;
    std::int32_t other = -1;
  };

  static double mean_of(const std::vector<double>& depths) {
    double sum = 0.0, n = 0.0;
    for (const double d : depths) {
      if (!std::isnan(d)) {
        sum += d;
        n += 1.0;
      }
    }
    return n > 0.0 ? sum / n : nan;
  }

  void name_slip(const DoubtedReading& d, const std::vector<const DoubtedReading*>& visit,
                 Doubt& doubt) const {
    const Measure measure = readings_.grooves.front().measure;
    const double written = convert(doubt.depth_mm, Measure::millimetre, measure);
    const double meant = convert(doubt.expected_mm, Measure::millimetre, measure);
    const double step = info(measure).gauge_step;
    if (d.channel < 0) {
      for (const DoubtedReading* other : visit) {
        if (other == &d || other->channel >= 0) {
          continue;
        }
        const Source& there = sources_[other->item][other->reading];
        const double its = mean_of(out_.fitments.visits[there.position][there.visit].groove_mm);
        constexpr double near_mm = 0.8;  // a step of a shop gauge
        if (std::abs(its - doubt.expected_mm) < near_mm &&
            std::abs(other->expected - doubt.depth_mm) < near_mm) {
          doubt.slip = Slip::swapped;
          doubt.other = static_cast<std::int32_t>(there.position);
          return;
        }
      }
      constexpr double mm_per_32nd = 0.79375;  // SP811
      const double in_mm = meant * mm_per_32nd, in_32nds = meant / mm_per_32nd;
      const double off = std::min(std::abs(written - in_mm), std::abs(written - in_32nds));
      if (off < step && std::abs(written - meant) > 1.5 * step) {
        doubt.slip = Slip::other_measure;
        return;
      }
    }
    constexpr double digit = 10.0;
    if (d.channel >= 0 && std::abs(std::abs(written - meant) - digit) < 1.5 * step) {
      doubt.slip = Slip::digit;
    }
  }

  void add_doubt(const Doubt& d) {
    Doubts& to = out_.doubts;
    to.position.push_back(d.position);
    to.unit.push_back(d.unit);
    to.day.push_back(d.day);
    to.groove.push_back(d.groove);
    to.depth_mm.push_back(d.depth_mm);
    to.expected_mm.push_back(d.expected_mm);
    to.slip.push_back(static_cast<std::uint8_t>(d.slip));
    to.other.push_back(d.other);
  }

  // ---- patterns

  void keep_pattern(const Case& c, const ItemState& state) {
    const WearItem& item = items_[c.item];
    Patterns& to = out_.patterns;
    const auto sd = [&state](std::size_t k) {
      return std::sqrt(std::max(state.covariance[k * state.mean.size() + k], 0.0));
    };
    to.position.push_back(static_cast<std::int32_t>(c.position));
    to.one_sided.push_back(state.mean[state_one_sided]);
    to.one_sided_se.push_back(sd(state_one_sided));
    to.shoulder.push_back(state.mean[state_shoulder]);
    to.shoulder_se.push_back(sd(state_shoulder));
    to.since_day.push_back(std::isnan(state.turned_day) ? std::numeric_limits<std::int32_t>::min()
                                                        : static_cast<std::int32_t>(state.turned_day));
    const double first = item.readings.empty() ? item.full : mean_of(item.readings.front().depth);
    to.worn_mm.push_back(first - state.mean[state_depth]);
    const auto [around, step] = around_at(c.position);
    to.around_mm.push_back(around);
    to.around_step_mm.push_back(step);
  }

  // The largest difference of one groove between places round the tire, at the last inspection of the
  // position that read two places or more.
  [[nodiscard]] std::pair<double, double> around_at(std::size_t p) const {
    double around = nan, step = nan;
    if (readings_.place.empty()) {
      return {around, step};
    }
    std::int64_t time = std::numeric_limits<std::int64_t>::min();
    std::vector<std::size_t> rows;
    for (std::int64_t k = rows_.start[p]; k < rows_.start[p + 1]; ++k) {
      const auto row = static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(k)]);
      if (readings_.day[row] > options_.as_of) {
        break;
      }
      if (readings_.microsecond[row] != time) {
        rows.clear();
        time = readings_.microsecond[row];
      }
      rows.push_back(row);
      for (const NumberColumn& groove : readings_.grooves) {
        double low = nan, high = nan;
        for (const std::size_t r : rows) {
          const double d = groove.at(r);
          if (!std::isnan(d) && readings_.place_at(r) >= 0) {
            low = std::isnan(low) ? d : std::min(low, d);
            high = std::isnan(high) ? d : std::max(high, d);
          }
        }
        const double apart = convert(high - low, groove.measure, Measure::millimetre);
        if (rows.size() > 1 && !std::isnan(apart)) {
          around =
              rows.size() == 2 && &groove == &readings_.grooves.front() ? apart : std::max(around, apart);
          step = convert(info(groove.measure).gauge_step, groove.measure, Measure::millimetre);
        }
      }
    }
    return {around, step};
  }

  void keep_what_was_learned(const WearFit& fit) {
    Learned& learned = out_.learned;
    learned.spreads = fit.spreads;
    learned.reader_mm = fit.readers;
    learned.season = std::hypot(fit.season_cos, fit.season_sin);
    const double angle = std::atan2(fit.season_sin, fit.season_cos) / (2.0 * std::numbers::pi);
    learned.season_peak_day = (angle < 0.0 ? angle + 1.0 : angle) * 365.25;
    learned.use = use_;
    learned.rates.resize(groups_.size());
    for (const auto& [key, code] : group_codes_) {
      const auto& [role, kind, group] = key;
      const WearGroup& g = fit.groups[static_cast<std::size_t>(code)];
      learned.rates[static_cast<std::size_t>(code)] = {
          .role = role + 1 == roles ? std::int8_t{-1} : static_cast<std::int8_t>(role),
          .kind = kind + 1 == kinds ? std::int8_t{-1} : static_cast<std::int8_t>(kind),
          .group = group,
          .mm_per_km = std::exp(g.log_rate),
          .spread = std::sqrt(g.variance)};
    }
  }

  [[nodiscard]] double days_since_odometer(std::size_t u) const {
    return by_distance(u) ? std::max(static_cast<double>(options_.as_of) - tracks_[u].day.back(), 0.0) : 0.0;
  }

  [[nodiscard]] Ahead ahead_of(std::size_t u, const WearFit& fit) const {
    const auto now = static_cast<double>(options_.as_of);
    if (!by_distance(u)) {
      return {use_, use_group_[u], fit.spreads, now, fit.season_cos, fit.season_sin};
    }
    return {forecasts_[u], days_since_odometer(u), fit.spreads, now, fit.season_cos, fit.season_sin};
  }

  void write(const Case& c, const WearFit& fit, const Ahead& ahead) {
    const Fitment& fitment = out_.fitments.all[c.fitment];
    const std::vector<Visit>& visits = out_.fitments.visits[c.position];
    const WearItem& item = items_[c.item];
    const std::size_t u = unit_at(c.position);
    const double limit = limit_mm_[c.position];
    const bool limited = !std::isnan(limit), distance = by_distance(u);
    const Passage p = passage(fit.items[c.item], item.full, limited ? limit : 0.0, ahead,
                              days_since_odometer(u) * ahead.km_per_day());
    keep_pattern(c, fit.items[c.item]);
    const bool came = fitment.begun != Begun::first_reading || visits[fitment.first].event == Event::fitted;
    std::int32_t last_day = visits[fitment.first].day;
    for (std::size_t i = fitment.first; i < fitment.last; ++i) {
      last_day = visits[i].has_tread() ? visits[i].day : last_day;
    }
    out_.table.position.push_back(static_cast<std::int32_t>(c.position));
    out_.table.fitted_day.push_back(came ? visits[fitment.first].day
                                         : std::numeric_limits<std::int32_t>::min());
    out_.table.begun.push_back(static_cast<std::uint8_t>(fitment.begun));
    out_.table.readings_used.push_back(static_cast<std::int64_t>(item.readings.size()));
    out_.table.last_day.push_back(last_day);
    out_.table.depth_mm.push_back(p.depth);
    out_.table.rate_mm_per_km.push_back(distance ? p.rate : nan);
    out_.table.rate_se_mm_per_km.push_back(distance ? p.rate_sd : nan);
    out_.table.rate_mm_per_day.push_back(p.rate_per_day);
    out_.table.rate_se_mm_per_day.push_back(p.rate_per_day_sd);
    out_.table.limit_mm.push_back(limit);
    double median_days = nan;
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      const double days = limited && std::isfinite(p.days[q]) ? p.days[q] : nan;
      out_.table.remaining_days[q].push_back(days);
      out_.table.remaining_km[q].push_back(limited && distance && std::isfinite(p.distance[q]) ? p.distance[q]
                                                                                               : nan);
      median_days = quantile_levels[q] == 0.5 ? days : median_days;
    }
    out_.table.status.push_back(static_cast<std::uint8_t>(status(item.readings.size(), limit, median_days)));
  }

  static WearStatus status(std::size_t readings, double limit, double median_days) {
    constexpr std::size_t few = 3;
    if (std::isnan(limit)) {
      return WearStatus::no_limit;
    }
    if (std::isnan(median_days)) {
      return WearStatus::not_within_horizon;
    }
    if (median_days == 0.0) {
      return WearStatus::at_limit;
    }
    return readings < few ? WearStatus::from_group : WearStatus::from_readings;
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
  std::vector<std::size_t> kind_of_unit_;
  std::vector<std::int32_t> use_group_;
  double reading_floor_ = 0.0;
  std::vector<Case> cases_;
  std::vector<WearItem> items_;
  std::vector<std::vector<Source>> sources_;                // of the readings of each item
  std::vector<std::pair<std::size_t, std::size_t>> moves_;  // item, first reading after it
  std::vector<UseBlocks> blocks_;
  UseModel use_;
  std::vector<UseForecast> forecasts_;
  std::vector<WearUnit> units_;
  std::vector<WearGroup> groups_;
  std::map<std::tuple<std::size_t, std::size_t, std::int32_t>, std::int32_t> group_codes_;
  std::map<std::int32_t, std::int32_t> reader_codes_;
  WearFitOptions fit_options_;
  FleetWear out_;
};

}  // namespace

FleetWear wear_of_fleet(const ReadingColumns& readings, const PositionColumns& positions,
                        const TireColumns& tires, std::span<const std::int32_t> unit_of, std::size_t units,
                        std::span<const double> limit_mm, const WearPrior& prior,
                        const WearOptions& options) {
  return Wearing(readings, positions, tires, unit_of, units, limit_mm, prior, options).run();
}

}  // namespace wheelend
