#include "unit_use.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace wheelend {

namespace {

// Spreads of use before a fleet speaks: common practice, no source. `groups`: kind of each group of units.
UseModel prior_use(const WearPrior& prior, const std::vector<std::size_t>& groups) {
  UseModel use{.between_units = 0.06, .drift = 0.015, .drift_days = 180.0, .rest = 0.06, .rest_days = 10.0};
  for (const std::size_t kind : groups) {
    use.log_km_per_day.push_back(std::log(prior.km_per_day[kind]));
  }
  return use;
}

}  // namespace

UnitUse::UnitUse(const std::vector<Track>& tracks, const std::vector<std::size_t>& kind_of_unit,
                 const std::vector<std::int32_t>& group_of_unit, const WearPrior& prior)
    : tracks_(tracks) {
  std::map<std::pair<std::size_t, std::int32_t>, std::int32_t> codes;
  std::vector<std::size_t> kinds_of_groups;
  std::vector<UseBlocks> known;
  for (std::size_t u = 0; u < tracks.size(); ++u) {
    const auto [found, is_new] = codes.try_emplace({kind_of_unit[u], group_of_unit[u]},
                                                   static_cast<std::int32_t>(kinds_of_groups.size()));
    if (is_new) {
      kinds_of_groups.push_back(kind_of_unit[u]);
    }
    group_.push_back(found->second);
    blocks_.push_back(use_blocks(tracks[u].day, tracks[u].km, group_[u]));
    if (by_distance(u)) {
      known.push_back(blocks_[u]);
    }
  }
  constexpr double prior_units = 5.0;
  model_ = learn_use(known, prior_use(prior, kinds_of_groups), prior_units);
  for (const UseBlocks& b : blocks_) {
    forecasts_.emplace_back(model_, b);
  }
}

double UnitUse::exposure(std::size_t u, double time) const {
  if (!by_distance(u)) {
    return model_.middle_distance(group_[u], 0.0, time);
  }
  const Track& t = tracks_[u];
  const double gap = std::max(time - t.day.back(), t.day.front() - time);
  return t.at(time, gap > 0.0 ? std::exp(forecasts_[u].between(0.0, gap).mean) : 0.0);
}

double UnitUse::days_since_odometer(std::size_t u, double now) const {
  return by_distance(u) ? std::max(now - tracks_[u].day.back(), 0.0) : 0.0;
}

Ahead UnitUse::ahead(std::size_t u, double now, const WearFit& fit) const {
  if (!by_distance(u)) {
    return {model_, group_[u], fit.spreads, now, fit.season_cos, fit.season_sin};
  }
  return {forecasts_[u], days_since_odometer(u, now), fit.spreads, now, fit.season_cos, fit.season_sin};
}

}  // namespace wheelend
