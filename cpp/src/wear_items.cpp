#include "wear_items.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>

#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

class Making {
 public:
  Making(const Fitments& fitments, const PositionColumns& positions, const TireColumns& tires,
         std::span<const std::int32_t> unit_of, const std::vector<std::size_t>& kind_of_unit,
         const WearPrior& prior)
      : fitments_(fitments),
        positions_(positions),
        tires_(tires),
        unit_of_(unit_of),
        kind_of_unit_(kind_of_unit),
        prior_(prior) {}

  WearItems run(bool fresh, double now) {
    make_items();
    if (fresh) {
      make_fresh(now);
    }
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::size_t role_at(std::size_t p) const {
    const std::int8_t role = positions_.facts[p].role;
    return role < 0 ? axle_role_names.size() : static_cast<std::size_t>(role);
  }

  void make_items() {
    const std::vector<Fitment>& all = fitments_.all;
    std::vector<std::size_t> item_of(all.size(), none);
    std::map<std::int32_t, std::size_t> last;  // fitment of each position
    for (std::size_t f = 0; f < all.size(); ++f) {
      item_of[f] = item_with(f, item_of);
      last[all[f].position] = f;
    }
    for (const auto& [position, f] : last) {
      if (item_of[f] != none && all[f].ended != Ended::removed) {
        out_.cases.push_back(
            {.position = static_cast<std::size_t>(position), .item = item_of[f], .fitment = f});
      }
    }
  }

  void make_fresh(double now) {
    std::map<std::array<std::int32_t, 3>, std::size_t> made;  // by unit, axle and group of rates
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      const std::int32_t axle = std::max(positions_.facts[p].axle - 1, 0), group = group_of(p);
      const auto [found, is_new] = made.try_emplace({unit_of_[p], axle, group}, out_.items.size());
      if (is_new) {
        out_.items.push_back({.unit = unit_of_[p],
                              .axle = axle,
                              .group = group,
                              .full = fitments_.full_mm[role_at(p)],
                              .begins = now,
                              .still_to_come = true});
        out_.sources.emplace_back();
      }
      out_.fresh.push_back(found->second);
    }
  }

  // The item that a fitment is of: a new one, or, of a tire that moved within its unit, the one it was.
  std::size_t item_with(std::size_t f, const std::vector<std::size_t>& item_of) {
    const Fitment& fitment = fitments_.all[f];
    const auto p = static_cast<std::size_t>(fitment.position);
    const std::vector<Visit>& visits = fitments_.visits[p];
    std::vector<ItemReading> readings;
    std::vector<Source> sources;
    for (std::size_t i = fitment.first; i < fitment.last; ++i) {
      if (visits[i].has_tread()) {
        sources.push_back({p, i});
        readings.push_back({.time = visits[i].time,
                            .depth = visits[i].groove_mm,
                            .reader = reader_of(visits[i].reader),
                            .slip = !fitments_.believed[p][i]});
      }
    }
    const std::size_t before =
        fitment.previous >= 0 ? item_of[static_cast<std::size_t>(fitment.previous)] : none;
    const std::int32_t axle = std::max(positions_.facts[p].axle - 1, 0);
    if (before != none && out_.items[before].unit == unit_of_[p]) {
      if (!readings.empty()) {
        out_.moves.push_back({before, out_.items[before].readings.size()});
        out_.items[before].moves.push_back({.axle = axle, .group = group_of(p)});
        out_.items[before].readings.insert(out_.items[before].readings.end(), readings.begin(),
                                           readings.end());
        out_.sources[before].insert(out_.sources[before].end(), sources.begin(), sources.end());
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
    out_.items.push_back(std::move(item));
    out_.sources.push_back(std::move(sources));
    return out_.items.size() - 1;
  }

  // Readers in the order in which they come, so that nothing depends on how they are numbered.
  std::int32_t reader_of(std::int32_t code) {
    if (code < 0) {
      return -1;
    }
    const auto [found, is_new] =
        reader_codes_.try_emplace(code, static_cast<std::int32_t>(reader_codes_.size()));
    if (is_new) {
      out_.readers.push_back(code);
    }
    return found->second;
  }

  [[nodiscard]] double full_of(const Fitment& fitment, const std::vector<ItemReading>& readings) const {
    const double given =
        fitment.tire >= 0 ? tires_.new_depth.at(static_cast<std::size_t>(fitment.tire)) : nan;
    const double full = std::isnan(given)
                            ? fitments_.full_mm[role_at(static_cast<std::size_t>(fitment.position))]
                            : convert(given, tires_.new_depth.measure, Measure::millimetre);
    double deepest = 0.0;  // the middle groove of the first reading that counts
    const auto first =
        std::find_if(readings.begin(), readings.end(), [](const ItemReading& r) { return !r.slip; });
    if (first != readings.end()) {
      deepest = middle_of(first->depth);
    }
    return std::max(full, deepest);
  }

  // Rates are learned by role, kind and the fleet's own group.
  std::int32_t group_of(std::size_t p) {
    const std::int32_t own = positions_.group.empty() ? -1 : positions_.group[p];
    const RateKey key{role_at(p), kind_of_unit_[static_cast<std::size_t>(unit_of_[p])], own};
    const auto [found, is_new] = group_codes_.try_emplace(key, static_cast<std::int32_t>(out_.groups.size()));
    if (is_new) {
      out_.keys.push_back(key);
      out_.groups.push_back(
          {.traits = {static_cast<std::int32_t>(key.role), static_cast<std::int32_t>(key.kind), own},
           .log_rate = std::log(prior_.mm_per_km[key.role])});
    }
    return found->second;
  }

  const Fitments& fitments_;
  const PositionColumns& positions_;
  const TireColumns& tires_;
  std::span<const std::int32_t> unit_of_;
  const std::vector<std::size_t>& kind_of_unit_;
  const WearPrior& prior_;
  std::map<RateKey, std::int32_t> group_codes_;
  std::map<std::int32_t, std::int32_t> reader_codes_;
  WearItems out_;
};

}  // namespace

WearItems items_of(const Fitments& fitments, const PositionColumns& positions, const TireColumns& tires,
                   std::span<const std::int32_t> unit_of, const std::vector<std::size_t>& kind_of_unit,
                   const WearPrior& prior, bool fresh, double now) {
  return Making(fitments, positions, tires, unit_of, kind_of_unit, prior).run(fresh, now);
}

double middle_of(const std::vector<double>& depths) {
  std::vector<double> known;
  std::copy_if(depths.begin(), depths.end(), std::back_inserter(known),
               [](double d) { return !std::isnan(d); });
  return known.empty() ? nan : median(known);
}

double mean_of(const std::vector<double>& depths) {
  double sum = 0.0, n = 0.0;
  for (const double d : depths) {
    if (!std::isnan(d)) {
      sum += d;
      n += 1.0;
    }
  }
  return n > 0.0 ? sum / n : nan;
}

}  // namespace wheelend
