#include "demand_fleet.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <optional>

#include "normal.hpp"
#include "parallel.hpp"
#include "relaxation.hpp"
#include "season.hpp"
#include "wheelend/line_fit.hpp"
#include "wheelend/removals.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double usual_visit_days = 30.0, least_visit_days = 7.0, most_visit_days = 120.0;  // no source
constexpr double usual_shop_days = 2.0;                                                     // no source
constexpr double no_limit_km = 1e12;  // a tire that is due nowhere
constexpr std::int32_t none = -1;

class Making {
 public:
  explicit Making(const Learnt& l) : l_(l), now_(static_cast<double>(l.options.as_of)) {
    const std::size_t n = l.positions.facts.size();
    slot_.assign(n, 0);
    mate_.assign(n, none);
    case_.assign(n, nullptr);
    of_unit_.resize(l.kind_of_unit.size());
    for (std::size_t p = 0; p < n; ++p) {
      of_unit_[static_cast<std::size_t>(l.unit_of[p])].push_back(p);
    }
    for (const Case& c : l.items.cases) {
      case_[c.position] = &c;
    }
  }

  DemandFleet run() {
    find_places();
    find_depths();
    find_visits();
    learn_habits();
    learn_sources();
    make_units();
    out_.use_doubt = doubt_of_all();
    make_places();
    make_laws();
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::size_t role_at(std::size_t p) const {
    const std::int8_t role = l_.positions.facts[p].role;
    return role < 0 ? axle_role_names.size() : static_cast<std::size_t>(role);
  }

  // ---- places of a unit, in an order that does not depend on that of the table, and mates

  void find_places() {
    for (std::vector<std::size_t>& places : of_unit_) {
      const auto key = [this](std::size_t p) {
        return std::array<std::int32_t, 3>{l_.positions.facts[p].axle, l_.positions.side_at(p),
                                           l_.positions.dual_at(p)};
      };
      std::sort(places.begin(), places.end(),
                [&key](std::size_t a, std::size_t b) { return key(a) < key(b); });
      for (std::size_t s = 0; s < places.size(); ++s) {
        slot_[places[s]] = static_cast<std::int32_t>(std::min<std::size_t>(s, 255));
      }
      for (std::size_t i = 0; i < places.size(); ++i) {
        for (std::size_t j = i + 1; j < places.size(); ++j) {
          if (mate_[places[i]] == none && mate_[places[j]] == none && are_mates(places[i], places[j])) {
            mate_[places[i]] = static_cast<std::int32_t>(places[j]);
            mate_[places[j]] = static_cast<std::int32_t>(places[i]);
          }
        }
      }
    }
  }

  // The other tire of a dual wheel; of singles the other side of the axle.
  [[nodiscard]] bool are_mates(std::size_t p, std::size_t q) const {
    const PositionColumns& c = l_.positions;
    if (c.facts[p].axle != c.facts[q].axle || role_at(p) != role_at(q)) {
      return false;
    }
    const bool single =
        dual_names[static_cast<std::size_t>(std::max<std::int8_t>(c.dual_at(p), 0))] == "single";
    return single ? c.dual_at(p) == c.dual_at(q)
                  : c.side_at(p) == c.side_at(q) && c.dual_at(p) != c.dual_at(q);
  }

  // ---- the record, as looks

  // Fitted depth of the shallowest groove at each visit with tread.
  void find_depths() {
    depth_.resize(l_.positions.facts.size());
    for (std::size_t p = 0; p < depth_.size(); ++p) {
      depth_[p].assign(l_.fitments.visits[p].size(), nan);
    }
    for (std::size_t i = 0; i < l_.items.items.size(); ++i) {
      for (std::size_t r = 0; r < l_.items.sources[i].size(); ++r) {
        const Source& s = l_.items.sources[i][r];
        depth_[s.position][s.visit] = l_.fit.shallowest[i][r];
      }
    }
  }

  // Days on which at least half of a unit's places were read, and how far apart they are.
  void find_visits() {
    std::vector<double> gaps;
    visits_.resize(of_unit_.size());
    for (std::size_t u = 0; u < of_unit_.size(); ++u) {
      std::map<std::int32_t, std::size_t> read;
      for (const std::size_t p : of_unit_[u]) {
        for (const Visit& v : l_.fitments.visits[p]) {
          read[v.day] += v.has_tread() ? 1U : 0U;
        }
      }
      std::vector<std::int32_t> days;
      for (const auto& [day, places] : read) {
        if (2 * places >= of_unit_[u].size() && places > 0) {
          days.push_back(day);
        }
      }
      if (days.empty()) {
        continue;
      }
      constexpr std::size_t recent = 13;
      const std::size_t first = days.size() > recent ? days.size() - recent : 0;
      visits_[u].last = static_cast<double>(days.back());
      if (days.size() > 2) {
        visits_[u].apart = (days.back() - days[first]) / static_cast<double>(days.size() - 1 - first);
        gaps.push_back(visits_[u].apart);
      }
    }
    const double usual = gaps.empty() ? usual_visit_days : median(gaps);
    for (VisitsOfUnit& v : visits_) {
      v.apart = std::clamp(std::isnan(v.apart) ? usual : v.apart, least_visit_days, most_visit_days);
    }
  }

  // Whether a fitment ended in a rotation: the tire goes on elsewhere on its unit, and what came is not new.
  // Moves that were not followed show as several tires of a unit that go at once, far from worn, for others
  // that are not new either.
  [[nodiscard]] bool rotated(std::size_t f) const {
    return exchanged_[f] && (goes_on_here_[f] || with_others_[f]);
  }

  void find_rotations() {
    const std::vector<Fitment>& all = l_.fitments.all;
    exchanged_.assign(all.size(), false);
    with_others_.assign(all.size(), false);
    std::map<std::pair<std::int32_t, std::int32_t>, std::vector<std::size_t>> at_once;  // by unit and day
    for (std::size_t f = 0; f < all.size(); ++f) {
      const std::size_t next = next_at_[f];
      if (next == all.size() || all[f].ended == Ended::in_use || all[next].as_new) {
        continue;
      }
      exchanged_[f] = true;
      const auto p = static_cast<std::size_t>(all[f].position);
      double last = nan;
      for (std::size_t i = all[f].first; i < all[f].last; ++i) {
        last = std::isnan(depth_[p][i]) ? last : depth_[p][i];
      }
      constexpr double far_from_worn =
          2.5;  // mm above the limit, three steps of a gauge: chosen here, no source
      if (last - l_.limit_mm[p] > far_from_worn && all[next].first < l_.fitments.visits[p].size()) {
        at_once[{l_.unit_of[p], l_.fitments.visits[p][all[next].first].day}].push_back(f);
      }
    }
    for (const auto& [when, changes] : at_once) {
      for (const std::size_t f : changes) {
        with_others_[f] = changes.size() > 1;
      }
    }
  }

  void link_fitments() {
    const std::vector<Fitment>& all = l_.fitments.all;
    next_at_.assign(all.size(), all.size());
    goes_on_here_.assign(all.size(), false);
    std::vector<std::size_t> last(l_.positions.facts.size(), all.size());
    for (std::size_t f = 0; f < all.size(); ++f) {
      const auto p = static_cast<std::size_t>(all[f].position);
      if (last[p] < all.size()) {
        next_at_[last[p]] = f;
      }
      last[p] = f;
      if (all[f].previous >= 0) {
        const auto before = static_cast<std::size_t>(all[f].previous);
        goes_on_here_[before] = l_.unit_of[static_cast<std::size_t>(all[before].position)] == l_.unit_of[p];
      }
    }
    find_rotations();
  }

  struct Look {
    double depth = nan, days = 0.0;
    bool removed = false, rotated = false;
  };

  void learn_habits() {
    link_fitments();
    const std::size_t n = l_.positions.facts.size();
    std::vector<std::map<std::int32_t, Look>> looks(n);  // by day
    for (std::size_t f = 0; f < l_.fitments.all.size(); ++f) {
      const Fitment& fitment = l_.fitments.all[f];
      const auto p = static_cast<std::size_t>(fitment.position);
      const std::vector<Visit>& visits = l_.fitments.visits[p];
      if (std::isnan(l_.limit_mm[p])) {
        continue;
      }
      for (std::size_t i = fitment.first; i < fitment.last; ++i) {
        if (std::isnan(depth_[p][i])) {
          continue;
        }
        std::size_t j = i + 1;
        while (j < fitment.last && std::isnan(depth_[p][j])) {
          ++j;
        }
        const bool gone = j == fitment.last && fitment.ended != Ended::in_use;
        if (j >= visits.size() || (j == fitment.last && !gone)) {
          continue;
        }
        looks[p][visits[i].day] = {.depth = depth_[p][i] - l_.limit_mm[p],
                                   .days = std::max(visits[j].time - visits[i].time, 0.0),
                                   .removed = gone,
                                   .rotated = gone && rotated(f)};
      }
    }
    std::vector<TireLook> all;
    for (std::size_t p = 0; p < n; ++p) {
      for (const auto& [day, look] : looks[p]) {
        if (look.rotated) {
          continue;
        }
        TireLook tire{.role = static_cast<std::int32_t>(role_at(p)),
                      .depth = look.depth,
                      .days = look.days,
                      .removed = look.removed,
                      .mate_depth = nan};
        if (mate_[p] != none) {
          const auto& of_mate = looks[static_cast<std::size_t>(mate_[p])];
          const auto found = of_mate.find(day);
          if (found != of_mate.end()) {
            tire.mate_depth = found->second.depth;
            tire.mate_removed = found->second.removed && !found->second.rotated;
          }
        }
        all.push_back(tire);
      }
    }
    // Sorted, so that sums do not depend on the order of positions.
    std::sort(all.begin(), all.end(), [](const TireLook& a, const TireLook& b) {
      return std::tie(a.role, a.depth, a.days, a.removed, a.mate_removed) <
             std::tie(b.role, b.depth, b.days, b.removed, b.mate_removed);
    });
    const std::size_t roles = axle_role_names.size() + 1;
    const RemovalHabits habits = learn_removals(all, roles);
    DemandPractice& practice = out_.practice;
    practice.roles.resize(roles);
    for (std::size_t r = 0; r < roles; ++r) {
      practice.roles[r].pull_mm = habits.pull[r];
      practice.roles[r].pull_doubt_mm = habits.pull_se[r];
      practice.roles[r].pull_sd_mm = habits.sd;
      practice.roles[r].removals = habits.removals[r];
    }
    practice.damage_per_year = habits.hazard * year_days;
    practice.damages = habits.damages;
    practice.damage_doubt = 1.0 / std::sqrt(habits.damages + 2.0);
    practice.with_mate = habits.with_mate;
  }

  // What was fitted in the place of what came off, and how soon.
  void learn_sources() {
    DemandPractice& practice = out_.practice;
    struct Seen {
      double all = 0.0, moved = 0.0, bought = 0.0, retreads = 0.0;
      std::vector<double> left;
    };
    std::vector<Seen> seen(practice.roles.size());
    std::vector<double> shop;
    const std::vector<Fitment>& all = l_.fitments.all;
    for (std::size_t f = 0; f < all.size(); ++f) {
      const std::size_t next = next_at_[f];
      if (next == all.size() || all[f].ended == Ended::in_use || rotated(f)) {
        continue;
      }
      const auto p = static_cast<std::size_t>(all[f].position);
      const Fitment& came = all[next];
      const std::vector<Visit>& visits = l_.fitments.visits[p];
      Seen& s = seen[role_at(p)];
      double first = nan;
      for (std::size_t i = came.first; i < came.last && std::isnan(first); ++i) {
        first = depth_[p][i];
      }
      const double pull = std::max(l_.limit_mm[p] + practice.roles[role_at(p)].pull_mm, 0.0);
      if (!std::isnan(first) || came.as_new) {
        s.all += 1.0;
        if (came.as_new) {
          s.bought += 1.0;
          const bool retread =
              came.tire >= 0 && l_.tires.retread.at(static_cast<std::size_t>(came.tire)) == 1;
          s.retreads += retread || visits[came.first].event == Event::retreaded ? 1.0 : 0.0;
        } else {
          s.moved += 1.0;
          const double full = l_.fitments.full_mm[role_at(p)];
          if (full > pull && !std::isnan(first)) {
            s.left.push_back(std::clamp((first - pull) / (full - pull), 0.02, 1.0));
          }
        }
      }
      if (all[f].last > all[f].first && came.first < visits.size() &&
          visits[came.first].event == Event::fitted) {
        const double days = visits[came.first].time - visits[all[f].last - 1].time;
        const auto u = static_cast<std::size_t>(l_.unit_of[p]);
        if (days >= 0.0 && days < visits_[u].apart / 2.0) {
          shop.push_back(days);
        }
      }
    }
    for (std::size_t r = 0; r < seen.size(); ++r) {
      RolePractice& role = practice.roles[r];
      const Seen& s = seen[r];
      constexpr double none_moved = 5.0;  // that none is moved on counts as five replacements
      role.moved_share = s.all > 0.0 ? s.moved / (s.all + none_moved) : 0.0;
      role.retread_share = s.bought > 0.0 ? s.retreads / s.bought : 0.0;
      if (!s.left.empty()) {  // middle and spread that a few misread tires do not move
        role.moved_left = median(s.left);
        std::vector<double> off;
        for (const double x : s.left) {
          off.push_back(std::abs(x - role.moved_left));
        }
        constexpr double of_normal = 1.4826;  // standard deviation by median deviation
        role.moved_left_sd = std::max(of_normal * median(off), 0.02);
      }
      // Groups of a role lean on one another; that of the most doubt stands for what all share.
      double doubt = 0.0, groups = 0.0;
      for (std::size_t g = 0; g < l_.items.keys.size(); ++g) {
        if (l_.items.keys[g].role == r) {
          doubt += std::sqrt(l_.fit.groups[g].variance);
          groups += 1.0;
        }
      }
      role.wear_doubt = groups > 0.0 ? doubt / groups / std::sqrt(groups) : 0.0;
    }
    practice.shop_days = shop.empty() ? usual_shop_days : median(shop);
  }

  // ---- units

  void make_units() {
    out_.units.resize(of_unit_.size());
    for (std::size_t u = 0; u < of_unit_.size(); ++u) {
      if (!of_unit_[u].empty()) {
        make_unit(u);
      }
    }
  }

  void make_unit(std::size_t u) {
    const WearSpreads& s = l_.fit.spreads;
    const UnitUse& use = l_.use;
    DemandUnit& to = out_.units[u];
    to.key = u;
    to.visit_days = visits_[u].apart;
    to.last_visit = std::isnan(visits_[u].last) ? nan : std::min(visits_[u].last - now_, 0.0);
    const bool by_distance = use.by_distance(u);
    const double gap = use.days_since_odometer(u, now_);
    double severity = 0.0, severity_variance = square(s.severity);
    severity_now(u, severity, severity_variance);
    const auto log_exposure = [&](double from, double to_day) {
      const double days = to_day - from;
      const double log_km =
          by_distance ? use.forecast(u).between(gap + from, gap + to_day).mean + std::log(days)
                      : std::log(use.model().middle_distance(use.group(u), now_ + from, now_ + to_day));
      return log_km + log_mean_season(l_.fit.season_cos, l_.fit.season_sin, now_ + from, now_ + to_day) +
             severity * mean_decay(from, to_day, s.severity_days);
    };
    const auto steps = static_cast<std::size_t>(std::ceil(l_.options.demand_days / to.visit_days)) + 2;
    for (std::size_t k = 0; k < steps; ++k) {
      const double from = static_cast<double>(k) * to.visit_days;
      to.km.push_back(static_cast<float>(std::exp(log_exposure(from, from + to.visit_days))));
    }
    if (!std::isnan(to.last_visit) && to.last_visit < 0.0) {
      to.km_since = (use.exposure(u, now_) - use.exposure(u, now_ + to.last_visit)) * std::exp(severity);
    }
    const UseModel& m = use.model();
    to.rest = m.rest_of_mean(to.visit_days);
    if (by_distance) {
      const UseForecast::Doubt d = use.forecast(u).doubt_after(gap);
      to.level = std::max(d.level, 0.0);
      to.drift_on_level = to.level > 1e-12 ? d.level_with_drift / to.level : 0.0;
      to.drift_now = std::max(d.drift - to.drift_on_level * d.level_with_drift, 0.0) + severity_variance;
    } else {
      to.drift_now = severity_variance;
    }
    to.drift = m.drift + square(s.severity);
    to.drift_days = to.drift > 0.0
                        ? (m.drift * m.drift_days + square(s.severity) * s.severity_days) / to.drift
                        : s.severity_days;
  }

  // Standard deviation of the log exposure that all units share: what no season learned from a short record
  // would have told, and years that are busier or harder for everybody.
  [[nodiscard]] double doubt_of_all() const {
    constexpr double of_years = 0.03;        // common practice, no source
    constexpr double season_of_wear = 0.05;  // each of its coefficients before it was seen: the same
    double first = now_;
    for (const std::vector<Visit>& visits : l_.fitments.visits) {
      first = visits.empty() ? first : std::min(first, visits.front().time);
    }
    const Waves record = mean_waves(first, now_), ahead = mean_waves(now_, now_ + l_.options.demand_days);
    const double apart = square(record.cos - ahead.cos) + square(record.sin - ahead.sin);
    const bool seen = l_.fit.season_cos != 0.0 || l_.fit.season_sin != 0.0;
    return std::sqrt(square(of_years) +
                     apart * (l_.use.model().season_doubt + (seen ? 0.0 : square(season_of_wear))));
  }

  // The unit's severity at the end of its record, from any of its items; its variance with what the rate of
  // an item makes up for.
  void severity_now(std::size_t u, double& mean, double& variance) const {
    double sum = 0.0, together = 0.0, n = 0.0;
    for (const std::size_t p : of_unit_[u]) {
      if (case_[p] == nullptr) {
        continue;
      }
      const ItemState& state = l_.fit.items[case_[p]->item];
      const std::size_t size = state.mean.size();
      mean = state.mean[state_severity];
      sum += state.covariance[state_severity * size + state_severity];
      together += state.covariance[state_severity * size + state_rate];
      n += 1.0;
    }
    if (n > 0.0) {
      variance = std::max((sum + 2.0 * together) / n, 0.0);
    }
  }

  // ---- places and laws

  void make_places() {
    const std::size_t n = l_.positions.facts.size();
    std::vector<std::int32_t> place_of(n, none);
    std::vector<bool> empty(n, false);
    for (std::size_t f = 0; f < l_.fitments.all.size(); ++f) {
      if (next_at_[f] == l_.fitments.all.size()) {
        empty[static_cast<std::size_t>(l_.fitments.all[f].position)] =
            l_.fitments.all[f].ended == Ended::removed;
      }
    }
    std::map<std::pair<std::size_t, double>, std::pair<std::int32_t, std::int32_t>>
        fresh;  // by item and limit
    for (std::size_t p = 0; p < n; ++p) {
      if (empty[p]) {
        continue;  // the last tire was taken off and none is known to have come
      }
      place_of[p] = static_cast<std::int32_t>(out_.places.size());
      out_.position.push_back(static_cast<std::int32_t>(p));
      DemandPlace place{
          .unit = l_.unit_of[p], .slot = slot_[p], .role = static_cast<std::int32_t>(role_at(p))};
      const double limit = std::isnan(l_.limit_mm[p]) ? -1.0 : l_.limit_mm[p];
      const auto [found, is_new] = fresh.try_emplace({l_.items.fresh[p], limit}, none, none);
      if (is_new) {
        found->second.first = static_cast<std::int32_t>(wanted_.size());
        wanted_.push_back({p, l_.items.fresh[p], Wanted::fresh});
        if (out_.practice.roles[role_at(p)].moved_share > 0.0) {
          found->second.second = static_cast<std::int32_t>(wanted_.size());
          wanted_.push_back({p, l_.items.fresh[p], Wanted::moved});
        }
      }
      place.fresh = found->second.first;
      place.moved = found->second.second;
      if (case_[p] != nullptr) {
        place.now = static_cast<std::int32_t>(wanted_.size());
        wanted_.push_back({p, case_[p]->item, Wanted::in_use});
      }
      out_.places.push_back(place);
    }
    for (std::size_t p = 0; p < n; ++p) {
      if (place_of[p] != none && mate_[p] != none) {
        out_.places[static_cast<std::size_t>(place_of[p])].mate =
            place_of[static_cast<std::size_t>(mate_[p])];
      }
    }
  }

  void make_laws() {
    out_.laws.resize(wanted_.size());
    parallel(wanted_.size(), l_.options.threads, [&](std::size_t first, std::size_t last) {
      std::optional<Ahead> ahead;
      std::size_t of_unit = of_unit_.size();
      for (std::size_t k = first; k < last; ++k) {
        const Wanted& w = wanted_[k];
        const auto u = static_cast<std::size_t>(l_.unit_of[w.position]);
        if (u != of_unit) {
          ahead = l_.use.ahead(u, now_, l_.fit);
          of_unit = u;
        }
        out_.laws[k] = law_of(w, u, *ahead);
      }
    });
  }

  struct Wanted {
    std::size_t position, item;
    enum Which : std::uint8_t { in_use, fresh, moved } which;
  };

  [[nodiscard]] TireLaw law_of(const Wanted& w, std::size_t u, const Ahead& ahead) const {
    const RolePractice& role = out_.practice.roles[role_at(w.position)];
    const double limit = l_.limit_mm[w.position];
    const WearItem& item = l_.items.items[w.item];
    TireLaw law;
    const double pull = std::isnan(limit) ? 0.0 : std::max(limit + role.pull_mm, 0.0);
    const double since =
        w.which != Wanted::in_use ? 0.0 : l_.use.days_since_odometer(u, now_) * ahead.km_per_day();
    WearCases cases = wear_cases_of(l_.fit.items[w.item], item.full, pull, ahead, since);
    if (w.which ==
        Wanted::moved) {  // what a new tire runs from the depth at which moved ones come to the pull
      const double depth = pull + role.moved_left * std::max(item.full - pull, 0.0);
      const WearCases until = wear_cases_of(l_.fit.items[w.item], item.full, depth, ahead, since);
      for (std::size_t j = 0; j < tire_cases; ++j) {
        cases.exposure[j] -= until.exposure[j];
      }
    }
    for (std::size_t j = 0; j < tire_cases; ++j) {
      law.need[j] = static_cast<float>(std::isnan(limit) ? no_limit_km : cases.exposure[j]);
      law.rate[j] = static_cast<float>(cases.rate[j]);
    }
    law.spread = static_cast<float>(std::sqrt(std::max(square(cases.spread) - square(role.wear_doubt), 0.0)));
    return law;
  }

  struct VisitsOfUnit {
    double last = nan, apart = nan;  // day; days
  };

  const Learnt& l_;
  const double now_;
  std::vector<std::vector<std::size_t>> of_unit_;
  std::vector<std::int32_t> slot_, mate_;
  std::vector<const Case*> case_;
  std::vector<std::vector<double>> depth_;
  std::vector<VisitsOfUnit> visits_;
  std::vector<std::size_t> next_at_;
  std::vector<bool> goes_on_here_, exchanged_, with_others_;
  std::vector<Wanted> wanted_;
  DemandFleet out_;
};

}  // namespace

DemandFleet demand_fleet(const Learnt& learnt) { return Making(learnt).run(); }

}  // namespace wheelend
