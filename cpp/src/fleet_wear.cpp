#include "wheelend/fleet_wear.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include "wheelend/use.hpp"
#include "wheelend/use_model.hpp"
#include "wheelend/wear_ahead.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const double sd_of_rounding = 1.0 / std::sqrt(12.0);  // of one step, uniform
constexpr double block_days = 30.0;                   // of the use model
constexpr double knot_days = 60.0;                    // of the severity

std::size_t code_or_last(std::int8_t code, std::size_t last) {
  return code < 0 ? last : static_cast<std::size_t>(code);
}

// One fitment on its way to an item of the fit.
struct Case {
  std::size_t position = 0;
  bool in_use = false;
  std::int32_t tire = -1;
  std::int32_t fitted_day = std::numeric_limits<std::int32_t>::min();
  Begun begun = Begun::first_reading;
  std::int32_t last_day = 0;
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

UseModel prior_use(const WearPrior& prior) {
  UseModel use{
      .block_days = block_days, .between_units = 0.06, .drift = 0.015, .drift_days = 90.0, .scatter = 0.03};
  for (const double km : prior.km_per_day) {
    use.log_km_per_day.push_back(std::log(km));
  }
  return use;
}

constexpr double jump_mm = 1.5 * 0.79375;  // a step and a half of a shop gauge, beyond what wear explains
constexpr double same_tire_mm = 0.9 * 0.79375;  // mean difference of grooves read twice, by two people

double first_depth(const WearItem& item) {
  double most = nan;
  for (const double d : item.readings.front().depth) {
    most = std::isnan(d) || most > d ? most : d;
  }
  return most;
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

  WearTable run() {
    if (!readings_.grooves.empty()) {  // else nothing was read that could wear
      collect_cases();
    }
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

  // ---- fitments

  void collect_cases() {
    std::vector<Place> places(positions_.facts.size());
    for (std::size_t p = 0; p < places.size(); ++p) {
      places[p].visits = visits(readings_, rows_, p, options_.as_of);
      for (const Fitment& f : cut_fitments(places[p].visits)) {
        split_at_jumps(p, places[p].visits, f, places[p].fitments);
      }
    }
    split_at_the_last_visit(places);
    for (std::size_t p = 0; p < places.size(); ++p) {
      const std::vector<Fitment>& fitments = places[p].fitments;
      for (std::size_t f = 0; f < fitments.size(); ++f) {
        add_case(p, places[p].visits, fitments[f], f + 1 == fitments.size() && !fitments[f].removed);
      }
    }
    order_by_time();
    learn_full_depths();
  }

  struct Place {
    std::vector<Visit> visits;
    std::vector<Fitment> fitments;
  };

  // No later visit confirms a jump at the last one. Three tires or more of a unit that jump at once have
  // changed their places; two may as well have been written in each other's line, and are left to the
  // weights of the fit.
  void split_at_the_last_visit(std::vector<Place>& places) const {
    struct Jump {
      std::size_t p, last;
    };
    std::map<std::pair<std::size_t, double>, std::vector<Jump>> jumps;
    for (std::size_t p = 0; p < places.size(); ++p) {
      const Place& place = places[p];
      if (place.fitments.empty()) {
        continue;
      }
      std::vector<std::size_t> read;
      for (std::size_t i = place.fitments.back().first; i < place.fitments.back().last; ++i) {
        if (place.visits[i].has_tread()) {
          read.push_back(i);
        }
      }
      if (read.size() < 2) {
        continue;
      }
      const Visit &before = place.visits[read[read.size() - 2]], &here = place.visits[read.back()];
      const double wear = typical_wear(p, before.time, here.time);
      if (std::abs(mean_depth(here) - (mean_depth(before) - wear)) > jump_mm + wear) {
        jumps[{unit_at(p), here.time}].push_back({p, read.back()});
      }
    }
    constexpr std::size_t enough = 3;
    for (const auto& [key, list] : jumps) {
      for (const Jump& j : list) {
        if (list.size() >= enough && places[j.p].visits[j.last].time == key.second) {
          Fitment& was = places[j.p].fitments.back();
          const Fitment is{.first = j.last, .last = was.last, .begun = Begun::rise, .removed = was.removed};
          was.last = j.last;
          was.removed = false;
          places[j.p].fitments.push_back(is);
        }
      }
    }
  }

  static double mean_depth(const Visit& v) {
    double sum = 0.0;
    int n = 0;
    for (const double d : v.groove_mm) {
      if (!std::isnan(d)) {
        sum += d;
        ++n;
      }
    }
    return sum / n;
  }

  // What a tire at this position wears from one time to another, about: typical rate, the unit's own
  // distance.
  [[nodiscard]] double typical_wear(std::size_t p, double from, double to) const {
    const Track& t = tracks_[unit_at(p)];
    const double by_kind = prior_.km_per_day[kind_of_unit_[unit_at(p)]];
    const double per_day = t.any() && t.km_per_day > 0.0 ? t.km_per_day : by_kind;
    const double km = t.any() ? t.at(to, per_day) - t.at(from, per_day) : per_day * (to - from);
    return prior_.mm_per_km[role_at(p)] * std::max(km, 0.0);
  }

  // A tire that came in place of another without a word shows as a jump, up or down, that the next visit
  // confirms.
  void split_at_jumps(std::size_t p, const std::vector<Visit>& v, const Fitment& f,
                      std::vector<Fitment>& out) const {
    std::vector<std::size_t> read;
    for (std::size_t i = f.first; i < f.last; ++i) {
      if (v[i].has_tread()) {
        read.push_back(i);
      }
    }
    Fitment current = f;
    for (std::size_t k = 1; k + 1 < read.size(); ++k) {
      const Visit &before = v[read[k - 1]], &here = v[read[k]], &next = v[read[k + 1]];
      const double wear = typical_wear(p, before.time, here.time),
                   later = typical_wear(p, here.time, next.time);
      const double jump = mean_depth(here) - (mean_depth(before) - wear);
      const double after = mean_depth(next) - (mean_depth(before) - wear - later);
      const double stays = mean_depth(next) - (mean_depth(here) - later);
      const double least = jump_mm + wear, least_after = jump_mm + wear + later;
      if (std::abs(jump) > least && jump * after > 0.0 && std::abs(after) > least_after &&
          std::abs(stays) < least) {
        current.last = read[k];
        out.push_back(current);
        current = {.first = read[k], .last = f.last, .begun = Begun::rise, .removed = f.removed};
        out.back().removed = false;
      }
    }
    out.push_back(current);
  }

  void add_case(std::size_t p, const std::vector<Visit>& v, const Fitment& f, bool in_use) {
    Case c{.position = p, .in_use = in_use, .begun = f.begun};
    WearItem item{.unit = unit_of_[p]};
    for (std::size_t i = f.first; i < f.last; ++i) {
      c.tire = v[i].tire >= 0 ? v[i].tire : c.tire;
      if (v[i].has_tread()) {
        item.readings.push_back({.time = v[i].time, .depth = v[i].groove_mm, .reader = v[i].reader});
        c.last_day = v[i].day;
      }
    }
    if (item.readings.empty()) {
      return;
    }
    if (f.begun != Begun::first_reading || v[f.first].event == Event::fitted) {
      c.fitted_day = v[f.first].day;
    }
    cases_.push_back(c);
    items_.push_back(std::move(item));
  }

  // A tire's former place comes before its next: by the time of the first reading, then by position.
  void order_by_time() {
    std::vector<std::size_t> order(cases_.size());
    for (std::size_t i = 0; i < order.size(); ++i) {
      order[i] = i;
    }
    std::sort(order.begin(), order.end(), [this](std::size_t a, std::size_t b) {
      const double ta = items_[a].readings.front().time, tb = items_[b].readings.front().time;
      return ta != tb ? ta < tb : cases_[a].position < cases_[b].position;
    });
    std::vector<Case> cases;
    std::vector<WearItem> items;
    std::map<std::int32_t, std::int64_t> last;
    for (const std::size_t i : order) {
      if (cases_[i].tire >= 0) {
        const auto found = last.find(cases_[i].tire);
        if (found != last.end() && items[static_cast<std::size_t>(found->second)].readings.back().time <
                                       items_[i].readings.front().time) {
          items_[i].previous = found->second;
        }
        last[cases_[i].tire] = static_cast<std::int64_t>(items.size());
      }
      cases.push_back(cases_[i]);
      items.push_back(std::move(items_[i]));
    }
    cases_ = std::move(cases);
    items_ = std::move(items);
    follow_unnumbered();
  }

  static double channel_gap(const ItemReading& was, const ItemReading& is, double wear) {
    double sum = 0.0;
    int n = 0;
    for (std::size_t g = 0; g < was.depth.size(); ++g) {
      if (!std::isnan(was.depth[g]) && !std::isnan(is.depth[g])) {
        sum += std::abs(is.depth[g] - (was.depth[g] - wear));
        ++n;
      }
    }
    return n > 0 ? sum / n : std::numeric_limits<double>::infinity();
  }

  // A tire that moved within its unit and whose number nobody wrote: what begins at one place has the depths
  // of what ended at another. The closest pairs are joined first.
  void follow_unnumbered() {
    struct Pair {
      double gap;
      std::size_t was, is;
    };
    std::vector<bool> followed(items_.size(), false);
    std::map<std::int32_t, std::vector<std::size_t>> by_unit;
    for (std::size_t i = 0; i < items_.size(); ++i) {
      by_unit[items_[i].unit].push_back(i);
      if (items_[i].previous >= 0) {
        followed[static_cast<std::size_t>(items_[i].previous)] = true;
      }
    }
    std::vector<Pair> pairs;
    for (const auto& [unit, list] : by_unit) {
      for (const std::size_t is : list) {
        if (items_[is].previous >= 0 || cases_[is].begun == Begun::first_reading) {
          continue;
        }
        const ItemReading& first = items_[is].readings.front();
        for (const std::size_t was : list) {
          const ItemReading& last = items_[was].readings.back();
          const bool numbers_differ =
              cases_[was].tire >= 0 && cases_[is].tire >= 0 && cases_[was].tire != cases_[is].tire;
          constexpr double longest = 100.0;  // days: what ended earlier was not put on here
          if (was == is || followed[was] || numbers_differ || cases_[was].in_use || last.time >= first.time ||
              first.time - last.time > longest) {
            continue;
          }
          const double wear = typical_wear(cases_[was].position, last.time, first.time);
          const double gap = channel_gap(last, first, wear);
          if (gap < same_tire_mm) {
            pairs.push_back({gap, was, is});
          }
        }
      }
    }
    std::sort(pairs.begin(), pairs.end(), [](const Pair& a, const Pair& b) {
      return std::tie(a.gap, a.was, a.is) < std::tie(b.gap, b.was, b.is);
    });
    for (const Pair& pair : pairs) {
      if (!followed[pair.was] && items_[pair.is].previous < 0) {
        items_[pair.is].previous = static_cast<std::int64_t>(pair.was);
        followed[pair.was] = true;
      }
    }
  }

  // The depth of a new tire: as the tires table says, else what tires of the role begin with, else as is
  // typical.
  void learn_full_depths() {
    std::vector<std::vector<double>> seen(roles);
    for (std::size_t i = 0; i < items_.size(); ++i) {
      if (cases_[i].begun != Begun::first_reading && items_[i].previous < 0) {
        seen[role_at(cases_[i].position)].push_back(first_depth(items_[i]));
      }
    }
    std::vector<double> full;
    for (std::size_t r = 0; r < roles; ++r) {
      constexpr std::size_t enough = 8;
      full.push_back(prior_.full_mm[r]);
      if (seen[r].size() >= enough) {
        const auto at = seen[r].begin() + static_cast<std::ptrdiff_t>(seen[r].size() * 3 / 4);
        std::nth_element(seen[r].begin(), at, seen[r].end());
        full.back() = *at;
      }
    }
    for (std::size_t i = 0; i < items_.size(); ++i) {
      WearItem& item = items_[i];
      if (item.previous >= 0) {
        item.full = items_[static_cast<std::size_t>(item.previous)].full;
        continue;
      }
      const std::int32_t tire = cases_[i].tire;
      const double given = tire >= 0 ? tires_.new_depth.at(static_cast<std::size_t>(tire)) : nan;
      item.full = std::isnan(given) ? full[role_at(cases_[i].position)]
                                    : convert(given, tires_.new_depth.measure, Measure::millimetre);
      item.full = std::max(item.full, first_depth(item));
    }
  }

  // ---- use

  void learn_the_use() {
    for (std::size_t u = 0; u < tracks_.size(); ++u) {
      blocks_.push_back(blocks_of(u));
    }
    std::vector<UseBlocks> known;
    for (const UseBlocks& b : blocks_) {
      if (!b.end_day.empty()) {
        known.push_back(b);
      }
    }
    constexpr double prior_units = 5.0;
    use_ = learn_use(known, prior_use(prior_), prior_units);
    for (const UseBlocks& b : blocks_) {
      forecasts_.emplace_back(use_, b);
    }
  }

  [[nodiscard]] UseBlocks blocks_of(std::size_t u) const {
    const Track& t = tracks_[u];
    UseBlocks out{.group = static_cast<std::int32_t>(kind_of_unit_[u])};
    if (!t.any()) {
      return out;
    }
    for (double end = t.day.back(); end - block_days >= t.day.front(); end -= block_days) {
      out.end_day.push_back(end);
      out.km_per_day.push_back((t.at(end, 0.0) - t.at(end - block_days, 0.0)) / block_days);
    }
    std::reverse(out.end_day.begin(), out.end_day.end());
    std::reverse(out.km_per_day.begin(), out.km_per_day.end());
    return out;
  }

  // Whether a unit's wear goes by its odometer: a track of at least one block.
  [[nodiscard]] bool by_distance(std::size_t u) const { return !blocks_[u].end_day.empty(); }

  [[nodiscard]] double kind_km_per_day(std::size_t u) const {
    const double averaged = (use_.drift + use_.scatter) / 2.0;  // of the mean above the middle
    return std::exp(use_.log_km_per_day[kind_of_unit_[u]] + averaged);
  }

  [[nodiscard]] double exposure(std::size_t u, double time) const {
    if (!by_distance(u)) {
      return kind_km_per_day(u) * time;
    }
    const Track& t = tracks_[u];
    const double gap = std::max(time - t.day.back(), t.day.front() - time);
    return t.at(time, gap > 0.0 ? std::exp(forecasts_[u].between(0.0, gap).mean) : 0.0);
  }

  // ---- the fit

  void lay_out_units() {
    const double first = items_.front().readings.front().time;  // items are in the order of time
    fit_options_.first_day = first;
    fit_options_.knot_days = knot_days;
    fit_options_.reading_floor = reading_floor_;
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
      const std::size_t p = cases_[i].position, u = unit_at(p);
      item.axle = std::max(positions_.facts[p].axle - 1, 0);
      units_[u].axles = std::max(units_[u].axles, item.axle + 1);
      units_[u].items.push_back(static_cast<std::int64_t>(i));
      item.group = group_of(p);
      for (ItemReading& r : item.readings) {
        r.exposure = exposure(u, r.time);
        readers_ = std::max(readers_, static_cast<std::size_t>(r.reader + 1));
      }
      if (item.previous >= 0) {
        const double from = items_[static_cast<std::size_t>(item.previous)].readings.back().time;
        item.exposure_between = item.readings.front().exposure - exposure(u, from);
      }
    }
  }

  // Rates are learned by role, kind and the fleet's own group.
  std::int32_t group_of(std::size_t p) {
    const std::int32_t own = positions_.group.empty() ? -1 : positions_.group[p];
    const std::tuple key(role_at(p), kind_of_unit_[unit_at(p)], own);
    const auto [found, is_new] = group_codes_.try_emplace(key, static_cast<std::int32_t>(groups_.size()));
    if (is_new) {
      groups_.push_back({.log_rate = std::log(prior_.mm_per_km[role_at(p)])});
    }
    return found->second;
  }

  void fit_and_write() {
    WearSpreads spreads = prior_spreads();
    spreads.reading = std::max(spreads.reading, reading_floor_);
    spreads.use_of_unit = std::sqrt(use_.between_units);
    spreads.use_drift = std::sqrt(use_.drift + use_.scatter * block_days / knot_days);
    std::vector<double> wanted;
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const double now = exposure(unit_at(cases_[i].position), static_cast<double>(options_.as_of));
      wanted.push_back(cases_[i].in_use ? std::max(now, items_[i].readings.back().exposure) : nan);
    }
    const WearFit fit =
        fit_wear(items_, units_, groups_, readers_, readings_.grooves.size(), spreads, wanted, fit_options_);
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < cases_.size(); ++i) {
      if (cases_[i].in_use) {
        order.push_back(i);
      }
    }
    std::sort(order.begin(), order.end(),
              [this](std::size_t a, std::size_t b) { return cases_[a].position < cases_[b].position; });
    std::vector<std::optional<Ahead>> ahead(units_.size());
    for (const std::size_t i : order) {
      std::optional<Ahead>& of_unit = ahead[unit_at(cases_[i].position)];
      if (!of_unit) {
        of_unit = ahead_of(unit_at(cases_[i].position), fit);
      }
      write(i, fit, *of_unit);
    }
  }

  [[nodiscard]] double days_since_odometer(std::size_t u) const {
    return by_distance(u) ? std::max(static_cast<double>(options_.as_of) - tracks_[u].day.back(), 0.0) : 0.0;
  }

  [[nodiscard]] Ahead ahead_of(std::size_t u, const WearFit& fit) const {
    const auto now = static_cast<double>(options_.as_of);
    if (!by_distance(u)) {
      return {kind_km_per_day(u), fit.spreads, now, fit.season_cos, fit.season_sin};
    }
    return {forecasts_[u], days_since_odometer(u), fit.spreads, now, fit.season_cos, fit.season_sin};
  }

  void write(std::size_t i, const WearFit& fit, const Ahead& ahead) {
    const Case& c = cases_[i];
    const std::size_t u = unit_at(c.position);
    const double limit = limit_mm_[c.position];
    const bool limited = !std::isnan(limit), distance = by_distance(u);
    const Passage p = passage(fit.items[i], items_[i].full, limited ? limit : 0.0, ahead,
                              days_since_odometer(u) * ahead.km_per_day());
    out_.position.push_back(static_cast<std::int32_t>(c.position));
    out_.fitted_day.push_back(c.fitted_day);
    out_.begun.push_back(static_cast<std::uint8_t>(c.begun));
    out_.readings_used.push_back(static_cast<std::int64_t>(items_[i].readings.size()));
    out_.last_day.push_back(c.last_day);
    out_.depth_mm.push_back(p.depth);
    out_.rate_mm_per_km.push_back(distance ? p.rate : nan);
    out_.rate_se_mm_per_km.push_back(distance ? p.rate_sd : nan);
    out_.rate_mm_per_day.push_back(p.rate_per_day);
    out_.rate_se_mm_per_day.push_back(p.rate_per_day_sd);
    out_.limit_mm.push_back(limit);
    double median_days = nan;
    for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
      const double days = limited && std::isfinite(p.days[q]) ? p.days[q] : nan;
      out_.remaining_days[q].push_back(days);
      out_.remaining_km[q].push_back(limited && distance && std::isfinite(p.distance[q]) ? p.distance[q]
                                                                                         : nan);
      median_days = quantile_levels[q] == 0.5 ? days : median_days;
    }
    out_.status.push_back(static_cast<std::uint8_t>(status(items_[i].readings.size(), limit, median_days)));
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
  double reading_floor_ = 0.0;
  std::vector<Case> cases_;
  std::vector<WearItem> items_;
  std::vector<UseBlocks> blocks_;
  UseModel use_;
  std::vector<UseForecast> forecasts_;
  std::vector<WearUnit> units_;
  std::vector<WearGroup> groups_;
  std::map<std::tuple<std::size_t, std::size_t, std::int32_t>, std::int32_t> group_codes_;
  std::size_t readers_ = 0;
  WearFitOptions fit_options_;
  WearTable out_;
};

}  // namespace

WearTable wear_of_fleet(const ReadingColumns& readings, const PositionColumns& positions,
                        const TireColumns& tires, std::span<const std::int32_t> unit_of, std::size_t units,
                        std::span<const double> limit_mm, const WearPrior& prior,
                        const WearOptions& options) {
  return Wearing(readings, positions, tires, unit_of, units, limit_mm, prior, options).run();
}

}  // namespace wheelend
