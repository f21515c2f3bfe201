#include "wheelend/fitments.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "parallel.hpp"
#include "tire_chain.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const double step_mm = convert(1.0, Measure::thirty_seconds, Measure::millimetre);  // of a shop gauge
const double same_tire_mm = 0.9 * step_mm;  // mean difference of grooves read twice, by two people
constexpr std::size_t roles = axle_role_names.size() + 1;
constexpr std::size_t kinds = unit_kind_names.size() + 1;

std::size_t code_or_last(std::int8_t code, std::size_t last) {
  return code < 0 ? last : static_cast<std::size_t>(code);
}

// Where what was read at one visit of a unit is: position and visit there.
struct Read {
  std::size_t position, visit;
};

class Finder {
 public:
  Finder(const ReadingColumns& readings, const PositionColumns& positions, const RowsByPosition& rows,
         std::span<const std::int32_t> unit_of, const std::vector<Track>& tracks,
         std::span<const double> limit_mm, const TypicalWear& typical, std::int32_t as_of, int threads)
      : positions_(positions),
        unit_of_(unit_of),
        tracks_(tracks),
        limit_mm_(limit_mm),
        typical_(typical),
        threads_(threads) {
    out_.visits.resize(positions.facts.size());
    parallel(out_.visits.size(), threads, [&](std::size_t first, std::size_t last) {
      for (std::size_t p = first; p < last; ++p) {
        out_.visits[p] = visits(readings, rows, p, as_of);
      }
    });
    by_unit_.resize(tracks.size());
    for (std::size_t p = 0; p < out_.visits.size(); ++p) {
      by_unit_[unit_at(p)].push_back(p);
    }
    out_.full_mm = typical.full_mm;
    full_spread_.assign(roles, 0.0);
  }

  Fitments run() {
    learn_rates();
    for (std::size_t u = 0; u < by_unit_.size(); ++u) {
      find_odd_visits(u);
    }
    // Once to learn how deep new tires are, and once more with that.
    find_chains();
    learn_full_depths();
    for (std::size_t u = 0; u < by_unit_.size(); ++u) {
      find_rotations(u);
    }
    find_chains();
    for (std::size_t u = 0; u < by_unit_.size(); ++u) {
      check_last_visit(u);
    }
    for (const Chain& chain : chains_) {
      out_.believed.push_back(chain.believed);
    }
    build();
    join_by_number();
    join_by_depth();
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::size_t unit_at(std::size_t p) const { return static_cast<std::size_t>(unit_of_[p]); }
  [[nodiscard]] std::size_t role_at(std::size_t p) const {
    return code_or_last(positions_.facts[p].role, roles - 1);
  }
  [[nodiscard]] std::size_t kind_at(std::size_t p) const {
    return code_or_last(positions_.facts[p].kind, kinds - 1);
  }

  // ---- what is typical

  [[nodiscard]] double km(std::size_t p, double from, double to) const {
    const Track& t = tracks_[unit_at(p)];
    const double by_kind = typical_.km_per_day[kind_at(p)];
    if (!t.any()) {
      return by_kind * (to - from);
    }
    const double per_day = t.km_per_day > 0.0 ? t.km_per_day : by_kind;
    return std::max(t.at(to, per_day) - t.at(from, per_day), 0.0);
  }

  [[nodiscard]] double wear(std::size_t p, double from, double to) const {
    return mm_per_km_[role_at(p)] * km(p, from, to);
  }

  // Typical wear of a role: the median over its positions of what was lost between readings that a tire
  // change does not explain, over the distance; half the distance between quartiles of what is left says how
  // well a visit is read.
  void learn_rates() {
    mm_per_km_ = typical_.mm_per_km;
    std::vector<std::vector<double>> rates(roles);
    for (std::size_t p = 0; p < out_.visits.size(); ++p) {
      double lost = 0.0, ran = 0.0;
      each_step(p, [&](const Visit& a, const Visit& b, double change) {
        const double expected = wear(p, a.time, b.time);
        if (std::abs(change + expected) < 2.0 * step_mm + expected) {
          lost -= change;
          ran += km(p, a.time, b.time);
        }
      });
      const double typical_loss = typical_.mm_per_km[role_at(p)] * ran;
      if (typical_loss > 2.0 * step_mm) {
        rates[role_at(p)].push_back(lost / ran);
      }
    }
    constexpr std::size_t enough = 8;
    for (std::size_t r = 0; r < roles; ++r) {
      if (rates[r].size() >= enough) {
        mm_per_km_[r] = std::max(median(rates[r]), typical_.mm_per_km[r] / 4.0);
      }
    }
    std::vector<double> off;
    for (std::size_t p = 0; p < out_.visits.size(); ++p) {
      each_step(p, [&](const Visit& a, const Visit& b, double change) {
        const double expected = wear(p, a.time, b.time);
        if (expected < 2.0 * step_mm) {
          off.push_back(std::abs(change + expected));
        }
      });
    }
    constexpr double sd_of_median = 1.4826;  // of a normal law: 1 / its third quartile
    constexpr std::size_t enough_steps = 20;
    if (off.size() >= enough_steps) {
      level_spread_ = std::clamp(sd_of_median * median(off) / std::sqrt(2.0), 0.3 * step_mm, step_mm);
    }
  }

  template <class Body>
  void each_step(std::size_t p, const Body& body) const {
    const std::vector<Visit>& v = out_.visits[p];
    std::size_t before = v.size();
    for (std::size_t i = 0; i < v.size(); ++i) {
      if (v[i].has_tread()) {
        if (before < v.size()) {
          body(v[before], v[i], level_change(v[before], v[i]));
        }
        before = i;
      }
    }
  }

  // ---- visits that are off as a whole

  // By time: what was read of a unit then.
  [[nodiscard]] std::map<double, std::vector<Read>> visits_of_unit(std::size_t u) const {
    std::map<double, std::vector<Read>> out;
    for (const std::size_t p : by_unit_[u]) {
      for (std::size_t i = 0; i < out_.visits[p].size(); ++i) {
        if (out_.visits[p][i].has_tread()) {
          out[out_.visits[p][i].time].push_back({p, i});
        }
      }
    }
    return out;
  }

  // The reading before visit i, and the one after it; none: the size.
  [[nodiscard]] std::size_t read_before(std::size_t p, std::size_t i) const {
    const std::vector<Visit>& v = out_.visits[p];
    while (i-- > 0) {
      if (v[i].has_tread()) {
        return i;
      }
    }
    return v.size();
  }
  [[nodiscard]] std::size_t read_after(std::size_t p, std::size_t i) const {
    const std::vector<Visit>& v = out_.visits[p];
    do {
      ++i;
    } while (i < v.size() && !v[i].has_tread());
    return i;
  }

  // Tires do not grow back: a visit at which most tires lie off the line between the visits before and after
  // by more than a step, all to one side, was read with a gauge that was off. At the last visit there is only
  // the one before.
  void find_odd_visits(std::size_t u) {
    const auto all = visits_of_unit(u);
    for (auto here = all.begin(); here != all.end(); ++here) {
      std::vector<double> off;
      double slack = 0.0;
      for (const Read& r : here->second) {
        const std::vector<Visit>& v = out_.visits[r.position];
        const std::size_t after = read_after(r.position, r.visit);
        std::size_t before = read_before(r.position, r.visit);
        while (before < v.size() && odd_by(u, v[before].time) != 0.0) {
          before = read_before(r.position, before);
        }
        if (before == v.size()) {
          continue;
        }
        const double since = wear(r.position, v[before].time, v[r.visit].time);
        double expected = -since;
        if (after < v.size()) {
          const double share =
              (v[r.visit].time - v[before].time) / std::max(v[after].time - v[before].time, 1e-9);
          // Between the two neighbours, but not below what the next one shows.
          expected = std::max(expected, share * (level_change(v[before], v[after])));
          slack = std::max(slack, 0.3 * since);
        } else {
          slack = std::max(slack, since);
        }
        off.push_back(level_change(v[before], v[r.visit]) - expected);
      }
      constexpr std::size_t tires_needed = 4;
      if (off.size() < tires_needed) {
        continue;
      }
      const double middle = median(off);
      const auto same_side = std::count_if(off.begin(), off.end(), [middle](double d) {
        return (middle > 0.0 ? d : -d) > 0.5 * step_mm && std::abs(d - middle) < 1.5 * step_mm;
      });
      if (std::abs(middle) > 1.3 * step_mm + slack && std::abs(middle) < 5.0 * step_mm + slack &&
          4 * same_side >= 3 * static_cast<std::ptrdiff_t>(off.size())) {
        const bool again = here != all.begin() && !out_.odd_visits.empty() &&
                           out_.odd_visits.back().unit == static_cast<std::int32_t>(u) &&
                           out_.odd_visits.back().time == std::prev(here)->first &&
                           out_.odd_visits.back().by_mm * middle > 0.0;
        if (again) {  // twice in a row it is not the gauge, but what the tires did
          odd_.erase({u, out_.odd_visits.back().time});
          out_.odd_visits.pop_back();
        } else {
          out_.odd_visits.push_back({static_cast<std::int32_t>(u), here->first, middle});
          odd_[{u, here->first}] = middle;
        }
      }
    }
  }

  [[nodiscard]] double odd_by(std::size_t u, double time) const {
    const auto found = odd_.find({u, time});
    return found == odd_.end() ? 0.0 : found->second;
  }

  // ---- chains

  void find_chains() {
    chains_.resize(out_.visits.size());
    parallel(chains_.size(), threads_, [this](std::size_t first, std::size_t last) {
      for (std::size_t p = first; p < last; ++p) {
        chains_[p] = likeliest_chain(out_.visits[p], facts_of(p));
      }
    });
  }

  [[nodiscard]] PlaceFacts facts_of(std::size_t p) const {
    const std::size_t role = role_at(p), u = unit_at(p);
    return {.wear_mm = [this, p](double from, double to) { return wear(p, from, to); },
            .full_mm = out_.full_mm[role],
            .full_spread_mm = full_spread_[role],
            .limit_mm = limit_mm_[p],
            .level_spread_mm = level_spread_,
            .bias_mm = [this, u](double time) { return odd_by(u, time); },
            .rotated = [this, u, role](double time) { return rotated_.contains({u, role, time}); }};
  }

  // The depth of a new tire: the middle of what tires of the role begin with.
  void learn_full_depths() {
    std::vector<std::vector<double>> seen(roles);
    for (std::size_t p = 0; p < chains_.size(); ++p) {
      for (const Cut& cut : chains_[p].cuts) {
        const Visit& v = out_.visits[p][cut.visit];
        if (cut.as_new && v.has_tread() && chains_[p].believed[cut.visit]) {
          seen[role_at(p)].push_back(level_of(v) - odd_by(unit_at(p), v.time));
        }
      }
    }
    constexpr std::size_t enough = 6;
    for (std::size_t r = 0; r < roles; ++r) {
      if (seen[r].size() < enough) {
        continue;
      }
      // The shortest range that holds half of them (Rousseeuw, Leroy 1988): tires that came part worn lie
      // about, new ones close together.
      std::sort(seen[r].begin(), seen[r].end());
      const std::size_t half = (seen[r].size() + 1) / 2;
      std::size_t at = 0;
      for (std::size_t i = 0; i + half < seen[r].size() + 1; ++i) {
        if (seen[r][i + half - 1] - seen[r][i] <= seen[r][at + half - 1] - seen[r][at]) {
          at = i;
        }
      }
      constexpr double half_of_a_normal = 2.0 * 0.6745;  // its middle half, in standard deviations
      out_.full_mm[r] = (seen[r][at] + seen[r][at + half - 1]) / 2.0;
      full_spread_[r] = std::clamp((seen[r][at + half - 1] - seen[r][at]) / half_of_a_normal, 0.75 * step_mm,
                                   3.0 * step_mm);
    }
  }

  // ---- rotations with no word about them

  // Tires of one role of a unit that all change their depths by little, while the depths as a whole stay:
  // they have changed places. Against going on, by squares of what does not fit; that the depths of n tires
  // fit better in another order is chance with odds of up to n! to one.
  void find_rotations(std::size_t u) {
    const auto all = visits_of_unit(u);
    for (const auto& [time, reads] : all) {
      std::map<std::size_t, std::pair<std::vector<double>, std::vector<double>>> by_role;  // expected, read
      if (odd_by(u, time) != 0.0) {
        continue;
      }
      for (const Read& r : reads) {
        const std::vector<Visit>& v = out_.visits[r.position];
        const std::size_t before = last_believed_before(r.position, r.visit);
        if (before == v.size() || !chains_[r.position].believed[r.visit] ||
            is_new_at(r.position, before, r.visit)) {
          continue;
        }
        auto& [expected, read] = by_role[role_at(r.position)];
        expected.push_back(level_of(v[before]) - odd_by(u, v[before].time) -
                           wear(r.position, v[before].time, time));
        read.push_back(level_of(v[r.visit]));
      }
      for (auto& [role, depths] : by_role) {
        auto& [expected, read] = depths;
        constexpr std::size_t tires_needed = 4;
        if (expected.size() < tires_needed) {
          continue;
        }
        const double spread = std::sqrt(2.0) * level_spread_ + 0.1 * step_mm;
        const double going_on = misfit(expected, read, spread);
        std::sort(expected.begin(), expected.end());
        std::sort(read.begin(), read.end());
        const double changed = misfit(expected, read, spread);
        constexpr double log_odds = 4.6;  // one visit in a hundred: common practice, no source
        const double by_chance = std::lgamma(static_cast<double>(expected.size()) + 1.0);
        if (going_on - changed > log_odds + by_chance) {
          rotated_.insert({u, role, time});
        }
      }
    }
  }

  static double misfit(const std::vector<double>& expected, const std::vector<double>& read, double spread) {
    double sum = 0.0;
    for (std::size_t i = 0; i < expected.size(); ++i) {
      const double off = std::min(std::abs(expected[i] - read[i]) / spread, 4.0);  // one slip is no rotation
      sum += off * off / 2.0;
    }
    return sum;
  }

  // Whether the first chains have a new tire begin between two visits.
  [[nodiscard]] bool is_new_at(std::size_t p, std::size_t before, std::size_t here) const {
    return std::any_of(chains_[p].cuts.begin(), chains_[p].cuts.end(), [before, here](const Cut& c) {
      return c.as_new && c.visit > before && c.visit <= here;
    });
  }

  // ---- the last visit

  // No later visit confirms what the last one shows. Tires of a unit that changed their depths all at once
  // changed places if they are the same depths; two that did may as well have been written in each other's
  // line, and are left as they were; if they are other depths, the visit was to another unit.
  void check_last_visit(std::size_t u) {
    const auto all = visits_of_unit(u);
    if (all.size() < 2) {
      return;
    }
    const auto& [time, reads] = *all.rbegin();
    struct Change {
      std::size_t position, visit;
      double was, is;
      bool as_new, told;
    };
    std::vector<Change> changed;
    std::size_t seen = 0;
    for (const Read& r : reads) {
      const std::vector<Visit>& v = out_.visits[r.position];
      const std::size_t before = last_believed_before(r.position, r.visit);
      if (before == v.size()) {
        continue;
      }
      ++seen;
      const Chain& chain = chains_[r.position];
      const bool cut = !chain.cuts.empty() && chain.cuts.back().visit > before;
      if (cut || !chain.believed[r.visit]) {
        const double since = wear(r.position, v[before].time, time);
        changed.push_back({r.position, r.visit, level_of(v[before]) - since, level_of(v[r.visit]),
                           cut && chain.cuts.back().as_new, cut && chain.cuts.back().begun == Begun::event});
      }
    }
    std::erase_if(changed, [](const Change& c) { return c.told; });
    if (changed.size() < 2) {
      return;
    }
    std::vector<double> was, is;
    std::size_t as_new = 0;
    for (const Change& c : changed) {
      was.push_back(c.was);
      is.push_back(c.is);
      if (c.as_new) {
        ++as_new;
      }
    }
    std::sort(was.begin(), was.end());
    std::sort(is.begin(), is.end());
    double apart = 0.0;
    for (std::size_t i = 0; i < was.size(); ++i) {
      apart += std::abs(was[i] - is[i]) / static_cast<double>(was.size());
    }
    const bool same_depths = apart < 2.0 * level_spread_ + 0.25 * step_mm;
    if (changed.size() == 2 && same_depths && !numbers_are_of_unit(u, time)) {
      for (const Change& c : changed) {
        doubt_last(c.position, c.visit);
      }
    } else if (changed.size() >= 3 && same_depths) {
      for (const Change& c : changed) {
        if (!chains_[c.position].believed[c.visit]) {
          chains_[c.position].believed[c.visit] = true;
          chains_[c.position].cuts.push_back({.visit = c.visit, .begun = Begun::jump, .confidence = 0.7});
        } else {
          chains_[c.position].cuts.back().as_new = false;
        }
      }
    } else if (changed.size() >= as_new + 3 && 5 * (changed.size() - as_new) >= 2 * seen) {
      const std::vector<double>& known = tracks_[u].day;
      if (numbers_are_of_unit(u, time) || std::binary_search(known.begin(), known.end(), time)) {
        return;  // the tires' numbers, or the odometer, are those of this unit
      }
      odd_[{u, time}] = nan;
      out_.odd_visits.push_back({static_cast<std::int32_t>(u), time, nan});
      for (const Read& r : reads) {
        doubt_last(r.position, r.visit);
      }
    }
  }

  // Whether most tire numbers written at a visit were written on this unit before.
  [[nodiscard]] bool numbers_are_of_unit(std::size_t u, double time) const {
    std::set<std::int32_t> own, here;
    for (const std::size_t p : by_unit_[u]) {
      for (const Visit& v : out_.visits[p]) {
        if (v.tire >= 0) {
          (v.time < time ? own : here).insert(v.tire);
        }
      }
    }
    std::size_t known = 0;
    for (const std::int32_t tire : here) {
      if (own.contains(tire)) {
        ++known;
      }
    }
    return 2 * known > here.size();
  }

  [[nodiscard]] std::size_t last_believed_before(std::size_t p, std::size_t i) const {
    for (std::size_t k = i; k-- > 0;) {
      if (chains_[p].believed[k]) {
        return k;
      }
    }
    return out_.visits[p].size();
  }

  // The last reading of a position is a slip: no tire begins with it.
  void doubt_last(std::size_t p, std::size_t visit) {
    Chain& chain = chains_[p];
    chain.believed[visit] = false;
    const std::size_t before = last_believed_before(p, visit);
    while (!chain.cuts.empty() && before < out_.visits[p].size() && chain.cuts.back().visit > before &&
           chain.cuts.back().begun != Begun::event) {
      chain.cuts.pop_back();
    }
  }

  // ---- fitments

  void build() {
    for (std::size_t p = 0; p < chains_.size(); ++p) {
      const std::vector<Visit>& v = out_.visits[p];
      if (v.empty()) {
        continue;
      }
      Fitment f{.position = static_cast<std::int32_t>(p)};
      f.as_new = v.front().event == Event::fitted && v.front().has_tread() &&
                 level_of(v.front()) > out_.full_mm[role_at(p)] - 2.0 * step_mm;
      for (const Cut& cut : chains_[p].cuts) {
        f.last = cut.visit;
        f.ended =
            cut.visit > 0 && v[cut.visit - 1].event == Event::removed ? Ended::removed : Ended::replaced;
        add(p, f);
        f = {.position = static_cast<std::int32_t>(p),
             .first = cut.visit,
             .begun = cut.begun,
             .as_new = cut.as_new,
             .confidence = cut.confidence};
      }
      f.last = v.size();
      f.ended = v.back().event == Event::removed ? Ended::removed : Ended::in_use;
      add(p, f);
      heal(p);
    }
    std::sort(out_.all.begin(), out_.all.end(), [this](const Fitment& a, const Fitment& b) {
      const double ta = time_of(a), tb = time_of(b);
      return ta != tb ? ta < tb : a.position < b.position;
    });
  }

  // Neighbours of a position that turn out to be one tire are one fitment: the same number, or, with no word
  // of a change, the same grooves.
  void heal(std::size_t p) {
    auto first = out_.all.end();
    while (first != out_.all.begin() && (first - 1)->position == static_cast<std::int32_t>(p)) {
      --first;
    }
    for (auto f = first; f != out_.all.end() && f + 1 != out_.all.end();) {
      Fitment& next = *(f + 1);
      const Visit *end = last_read(*f), *begin = first_read(next);
      const bool same_number = f->tire >= 0 && f->tire == next.tire;
      const bool told = next.begun == Begun::event || (f->tire >= 0 && next.tire >= 0 && !same_number);
      bool same = false;
      if (end != nullptr && begin != nullptr && f->ended != Ended::removed && !told) {
        const double worn = wear(p, end->time, begin->time);
        const double most = same_tire_mm + 0.3 * worn;
        same = groove_gap(*end, *begin, worn) < (same_number ? 3.0 * most : most);
      }
      if (same) {
        f->last = next.last;
        f->ended = next.ended;
        f->tire = f->tire >= 0 ? f->tire : next.tire;
        out_.all.erase(f + 1);
      } else {
        ++f;
      }
    }
  }

  [[nodiscard]] double time_of(const Fitment& f) const {
    return out_.visits[static_cast<std::size_t>(f.position)][f.first].time;
  }

  // With the number that most of its readings have; of as many the one that was written last.
  void add(std::size_t p, Fitment f) {
    std::map<std::int32_t, std::pair<int, std::size_t>> numbers;  // how often, where last
    for (std::size_t i = f.first; i < f.last; ++i) {
      const Visit& v = out_.visits[p][i];
      if (v.tire >= 0 && (chains_[p].believed[i] || !v.has_tread())) {
        auto& [count, last] = numbers[v.tire];
        ++count;
        last = i;
      }
    }
    std::pair<int, std::size_t> most{0, 0};
    for (const auto& [tire, seen] : numbers) {
      if (seen > most) {
        most = seen;
        f.tire = tire;
      }
    }
    out_.all.push_back(f);
  }

  [[nodiscard]] const Visit* first_read(const Fitment& f) const { return read_of(f, false); }
  [[nodiscard]] const Visit* last_read(const Fitment& f) const { return read_of(f, true); }
  [[nodiscard]] const Visit* read_of(const Fitment& f, bool last) const {
    const auto p = static_cast<std::size_t>(f.position);
    const Visit* found = nullptr;
    for (std::size_t i = f.first; i < f.last; ++i) {
      if (chains_[p].believed[i]) {
        found = &out_.visits[p][i];
        if (!last) {
          return found;
        }
      }
    }
    return found;
  }

  void join(std::size_t was, std::size_t is, double confidence) {
    Fitment& next = out_.all[is];
    Fitment& former = out_.all[was];
    next.previous = static_cast<std::int64_t>(was);
    next.same_tire = confidence;
    next.as_new = false;
    former.ended = former.ended == Ended::removed ? Ended::removed : Ended::moved;
    if (next.begun == Begun::rise || next.begun == Begun::jump) {
      next.begun = Begun::moved;
    }
    followed_.insert(was);
  }

  void join_by_number() {
    std::map<std::int32_t, std::size_t> last;
    for (std::size_t i = 0; i < out_.all.size(); ++i) {
      const Fitment& f = out_.all[i];
      if (f.tire < 0) {
        continue;
      }
      const auto found = last.find(f.tire);
      if (found != last.end()) {
        const Visit* end = last_read(out_.all[found->second]);
        const Visit* begin = first_read(f);
        // A tire does not grow: where it would, one of the two numbers is wrong.
        const double most_rise_mm = 2.0 * step_mm;
        const bool grew =
            end != nullptr && begin != nullptr && level_of(*begin) > level_of(*end) + most_rise_mm;
        if (!grew && (end == nullptr || begin == nullptr || end->time < begin->time)) {
          join(found->second, i, 0.99);
        }
      }
      last[f.tire] = i;
    }
  }

  static double groove_gap(const Visit& was, const Visit& is, double wear) {
    double sum = 0.0;
    int n = 0;
    for (std::size_t g = 0; g < was.groove_mm.size(); ++g) {
      if (!std::isnan(was.groove_mm[g]) && !std::isnan(is.groove_mm[g])) {
        sum += std::abs(is.groove_mm[g] - (was.groove_mm[g] - wear));
        ++n;
      }
    }
    return n > 0 ? sum / n : std::numeric_limits<double>::infinity();
  }

  // A tire that moved within its unit and whose number nobody wrote: what begins at one place has the depths
  // of what ended at another. The closest pairs are joined first.
  void join_by_depth() {
    struct Pair {
      double gap;
      std::size_t was, is;
    };
    std::vector<std::vector<std::size_t>> of_unit(by_unit_.size());
    for (std::size_t i = 0; i < out_.all.size(); ++i) {
      of_unit[unit_at(static_cast<std::size_t>(out_.all[i].position))].push_back(i);
    }
    std::vector<Pair> pairs;
    for (const std::vector<std::size_t>& list : of_unit) {
      for (const std::size_t is : list) {
        const Fitment& next = out_.all[is];
        const Visit* first = first_read(next);
        if (next.previous >= 0 || next.begun == Begun::first_reading || next.as_new || first == nullptr) {
          continue;
        }
        for (const std::size_t was : list) {
          const Fitment& former = out_.all[was];
          const Visit* last = last_read(former);
          constexpr double longest = 100.0;  // days: what ended earlier was not put on here
          if (was == is || last == nullptr || followed_.contains(was) || former.ended == Ended::in_use ||
              (former.tire >= 0 && next.tire >= 0 && former.tire != next.tire) || last->time >= first->time ||
              first->time - last->time > longest) {
            continue;
          }
          const double worn = wear(static_cast<std::size_t>(former.position), last->time, first->time);
          const double gap = groove_gap(*last, *first, worn);
          if (gap < same_tire_mm + 0.3 * worn) {
            pairs.push_back({gap, was, is});
          }
        }
      }
    }
    std::sort(pairs.begin(), pairs.end(), [](const Pair& a, const Pair& b) {
      return std::tie(a.gap, a.was, a.is) < std::tie(b.gap, b.was, b.is);
    });
    for (const Pair& pair : pairs) {
      if (!followed_.contains(pair.was) && out_.all[pair.is].previous < 0) {
        join(pair.was, pair.is, 1.0 / (1.0 + std::exp(6.0 * (pair.gap - same_tire_mm))));
      }
    }
  }

  const PositionColumns& positions_;
  std::span<const std::int32_t> unit_of_;
  const std::vector<Track>& tracks_;
  std::span<const double> limit_mm_;
  const TypicalWear& typical_;
  const int threads_;
  std::vector<std::vector<std::size_t>> by_unit_;  // positions
  std::vector<double> mm_per_km_, full_spread_;
  double level_spread_ = 0.55 * step_mm;
  std::map<std::pair<std::size_t, double>, double> odd_;
  std::set<std::tuple<std::size_t, std::size_t, double>> rotated_;  // unit, role, time of the visit
  std::vector<Chain> chains_;
  std::set<std::size_t> followed_;
  Fitments out_;
};

}  // namespace

Fitments find_fitments(const ReadingColumns& readings, const PositionColumns& positions,
                       const RowsByPosition& rows, std::span<const std::int32_t> unit_of,
                       const std::vector<Track>& tracks, std::span<const double> limit_mm,
                       const TypicalWear& typical, std::int32_t as_of, int threads) {
  return Finder(readings, positions, rows, unit_of, tracks, limit_mm, typical, as_of, threads).run();
}

FitmentTable table_of(const Fitments& fitments) {
  constexpr std::int32_t unknown = std::numeric_limits<std::int32_t>::min();
  FitmentTable out;
  std::map<std::int32_t, std::size_t> last;  // row of each position so far
  for (const Fitment& f : fitments.all) {
    const auto p = static_cast<std::size_t>(f.position);
    const std::vector<Visit>& visits = fitments.visits[p];
    const std::int32_t from = visits[f.first].day;
    const auto before = last.find(f.position);
    if (before != last.end() && out.to_day[before->second] == unknown) {
      out.to_day[before->second] = from;
    }
    if (f.previous >= 0 && out.to_day[static_cast<std::size_t>(f.previous)] == unknown) {
      out.to_day[static_cast<std::size_t>(f.previous)] = from;  // seen elsewhere
    }
    last[f.position] = out.position.size();
    std::int64_t readings = 0;
    double first = std::numeric_limits<double>::quiet_NaN(), end = first;
    for (std::size_t i = f.first; i < f.last; ++i) {
      if (fitments.believed[p][i]) {
        end = level_of(visits[i]);
        first = readings == 0 ? end : first;
        ++readings;
      }
    }
    const bool known = f.begun != Begun::first_reading || visits[f.first].event == Event::fitted;
    const bool gone = f.ended == Ended::removed;
    out.position.push_back(f.position);
    out.tire.push_back(f.tire);
    out.from_day.push_back(known ? from : unknown);
    out.to_day.push_back(gone && f.last > f.first ? visits[f.last - 1].day : unknown);
    out.begun.push_back(static_cast<std::uint8_t>(f.begun));
    out.as_new.push_back(f.as_new ? 1 : 0);
    out.ended.push_back(static_cast<std::uint8_t>(f.ended));
    out.confidence.push_back(f.confidence * (f.previous >= 0 ? f.same_tire : 1.0));
    out.previous.push_back(f.previous);
    out.readings.push_back(readings);
    out.first_mm.push_back(first);
    out.last_mm.push_back(end);
  }
  return out;
}

}  // namespace wheelend
