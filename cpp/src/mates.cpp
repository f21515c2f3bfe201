#include "wheelend/mates.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

#include "parallel.hpp"
#include "recent_drift.hpp"
#include "season.hpp"
#include "wheelend/fitments.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

// What a tire showed on a day, in the measure of the rule: grooves of the depth, or the pressure as found;
// and how it was left.
struct Shown {
  std::vector<double> found = {};
  double left = nan;  // pressure after inflation; NaN: as found
  std::int32_t tire = -1;
  bool changed = false;  // another tire is there than the day before
};
using History = std::map<std::int32_t, Shown>;  // by day

History history(const ReadingColumns& r, const RowsByPosition& rows, std::size_t p, const MateRule& rule,
                std::int32_t as_of) {
  History out;
  for (Visit& v : visits(r, rows, p, as_of)) {
    Shown& s = out[v.day];
    s.tire = std::max(s.tire, v.tire);
    s.changed = s.changed || v.event != Event::none;
    if (rule.quantity == MateQuantity::depth && v.has_tread()) {
      s.found = std::move(v.groove_mm);
      for (double& depth : s.found) {
        depth = convert(depth, Measure::millimetre, rule.measure);
      }
    }
  }
  for (std::int64_t k = rows.start[p]; k < rows.start[p + 1] && rule.quantity == MateQuantity::pressure;
       ++k) {
    const auto row = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(k)]);
    const double found = r.pressure.at(row), left = r.inflated_to.at(row);
    if (r.day[row] > as_of || std::isnan(found) || (r.conflict_at(row) & conflict_pressure) != 0) {
      continue;
    }
    Shown& s = out[r.day[row]];
    s.found = {convert(found, r.pressure.measure, rule.measure)};
    s.left = std::isnan(left) ? nan : convert(left, r.inflated_to.measure, rule.measure);
  }
  return out;
}

// Middle of what the grooves that both have differ by.
double apart(const Shown& a, const Shown& b) {
  std::vector<double> each;
  for (std::size_t g = 0; g < std::min(a.found.size(), b.found.size()); ++g) {
    if (!std::isnan(a.found[g]) && !std::isnan(b.found[g])) {
      each.push_back(a.found[g] - b.found[g]);
    }
  }
  return each.empty() ? nan : median(each);
}

double put_into(const Shown& s) { return std::isnan(s.left) ? 0.0 : s.left - s.found.front(); }

double left_apart(const Shown& a, const Shown& b, double found) {
  if (std::isnan(a.left) && std::isnan(b.left)) {
    return found;
  }
  return (std::isnan(a.left) ? a.found.front() : a.left) - (std::isnan(b.left) ? b.found.front() : b.left);
}

// The difference from visit to visit, with what was put into either tire.
struct Course {
  std::vector<SeenDifference> seen;
  bool filled = false;
};

Course course_of(const History& first, const History& second) {
  Course c;
  std::int32_t tire_a = -1, tire_b = -1;
  double put_in = 0.0;  // since both were read
  for (auto a = first.begin(), b = second.begin(); a != first.end() || b != second.end();) {
    const bool only_a = b == second.end() || (a != first.end() && a->first < b->first);
    const bool only_b = a == first.end() || (b != second.end() && b->first < a->first);
    const Shown* of_a = only_b ? nullptr : &a->second;
    const Shown* of_b = only_a ? nullptr : &b->second;
    const auto another = [](const Shown* s, std::int32_t& known) {
      const bool other = s != nullptr && (s->changed || (known >= 0 && s->tire >= 0 && s->tire != known));
      known = s != nullptr && s->tire >= 0 ? s->tire : known;
      return other;
    };
    const bool other_a = another(of_a, tire_a), other_b = another(of_b, tire_b);
    if (other_a || other_b) {
      c = {};
      put_in = 0.0;
    }
    const double found = of_a != nullptr && of_b != nullptr ? apart(*of_a, *of_b) : nan;
    if (!std::isnan(found)) {
      const double left = left_apart(*of_a, *of_b, found);
      c.seen.push_back(
          {.day = static_cast<double>(a->first), .found = found, .left = left, .put_in = put_in});
      c.filled = c.filled || left != found || put_in != 0.0;
      put_in = 0.0;
    } else {  // one alone was read: what was put into it is known
      put_in += (of_a != nullptr ? put_into(*of_a) : 0.0) - (of_b != nullptr ? put_into(*of_b) : 0.0);
    }
    a = only_b ? a : std::next(a);
    b = only_a ? b : std::next(b);
  }
  return c;
}

class Comparing {
 public:
  Comparing(const ReadingColumns& readings, const PositionColumns& positions,
            const std::vector<MateRule>& rules, const MateOptions& options)
      : readings_(readings),
        positions_(positions),
        rules_(rules),
        options_(options),
        rows_(rows_by_position(readings, positions.facts.size())) {}

  MateTable run() {
    for (std::size_t rule = 0; rule < rules_.size(); ++rule) {
      const std::vector<Pair> all = pairs(rules_[rule].kind);
      std::vector<Compared> found(all.size());
      parallel(all.size(), options_.threads, [&](std::size_t from, std::size_t to) {
        for (std::size_t k = from; k < to; ++k) {
          found[k] = compare(rules_[rule], all[k]);
        }
      });
      for (std::size_t k = 0; k < all.size(); ++k) {
        write(rule, all[k], found[k]);
      }
    }
    return std::move(out_);
  }

 private:
  using Pair = std::pair<std::size_t, std::size_t>;

  // Outer and inner of a wheel end, or left and right of the same place; by unit and axle.
  [[nodiscard]] std::vector<Pair> pairs(MateKind kind) const {
    std::map<std::tuple<std::int32_t, std::int32_t, std::int8_t>, std::array<std::int64_t, 2>> found;
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      const std::int8_t side = positions_.side_at(p), dual = positions_.dual_at(p);
      const bool of_dual = kind == MateKind::dual;
      if (side < 0 || dual < 0 || (of_dual && dual == static_cast<std::int8_t>(Dual::single))) {
        continue;
      }
      const std::int8_t together = of_dual ? side : dual;
      const bool second = of_dual ? dual == static_cast<std::int8_t>(Dual::inner)
                                  : side == static_cast<std::int8_t>(Side::right);
      const auto at = found.try_emplace({positions_.unit_at(p), positions_.facts[p].axle, together},
                                        std::array<std::int64_t, 2>{-1, -1});
      at.first->second[second ? 1 : 0] = static_cast<std::int64_t>(p);
    }
    std::vector<Pair> out;
    for (const auto& [key, pair] : found) {
      if (pair[0] >= 0 && pair[1] >= 0) {
        out.emplace_back(static_cast<std::size_t>(pair[0]), static_cast<std::size_t>(pair[1]));
      }
    }
    return out;
  }

  // How a pair went, and how it goes; no drift below three visits.
  struct Compared {
    Course course;
    RecentDrift drift{.drift = nan, .low = nan, .high = nan};
  };

  [[nodiscard]] Compared compare(const MateRule& rule, const Pair& pair) const {
    Compared out{.course = course_of(history(readings_, rows_, pair.first, rule, options_.as_of),
                                     history(readings_, rows_, pair.second, rule, options_.as_of))};
    Course& c = out.course;
    if (c.seen.size() >= least_visits) {
      out.drift = recent_drift(c.seen, static_cast<double>(options_.as_of), options_.level,
                               {.reading = rule.reading,
                                .per_day = rule.drift_per_month / month_days,
                                .changes_per_day = rule.changes_per_year / year_days,
                                .step = rule.step});
      c.filled = c.filled || out.drift.stepped > 0.5;
    } else if (!c.seen.empty()) {
      out.drift.now = c.seen.back().left;
    }
    return out;
  }

  void write(std::size_t number, const Pair& pair, const Compared& found) {
    const MateRule& rule = rules_[number];
    const Course& c = found.course;
    if (c.seen.empty()) {
      return;
    }
    const double difference = found.drift.now, drift = found.drift.drift, low = found.drift.low,
                 high = found.drift.high, since = found.drift.since;
    // At the bound is not beyond it: what a mean of many courses may be off by does not count.
    const double bound = rule.bound * (1.0 + 1e-9);
    // What was read last counts by itself as well, as whoever judges that reading fails it.
    const double read = c.seen.back().left;
    const bool apart = std::abs(difference) > bound || std::abs(read) > bound;
    const auto passed = [&](double per_day) {
      if (apart) {
        return 0.0;
      }
      const double days = per_day == 0.0 ? nan : (std::copysign(rule.bound, per_day) - difference) / per_day;
      return std::isfinite(days) ? std::max(days, 0.0) : nan;
    };
    // The ends of the interval that lead away from each other's mates at most and at least.
    const double fast = drift < 0.0 ? low : high, slow = drift < 0.0 ? high : low;
    const double days = passed(drift);
    const bool certain = low * high > 0.0;
    MateState state = MateState::steady;
    if (apart) {
      state = MateState::apart;
    } else if (c.seen.size() < least_visits) {
      state = MateState::too_few;
    } else if (certain && days <= options_.soon_days) {
      state = MateState::drifting;
    }
    out_.position.push_back(static_cast<std::int32_t>(pair.first));
    out_.other.push_back(static_cast<std::int32_t>(pair.second));
    out_.rule.push_back(static_cast<std::int32_t>(number));
    out_.visits.push_back(static_cast<std::int64_t>(c.seen.size()));
    out_.last_day.push_back(static_cast<std::int32_t>(c.seen.back().day));
    out_.difference.push_back(difference);
    out_.read.push_back(read);
    out_.drift.push_back(drift * month_days);
    out_.drift_low.push_back(low * month_days);
    out_.drift_high.push_back(high * month_days);
    out_.days.push_back(days);
    out_.days_early.push_back(passed(fast));
    out_.days_late.push_back(certain ? passed(slow) : nan);
    out_.since_day.push_back(std::isnan(since) ? std::numeric_limits<std::int32_t>::min()
                                               : static_cast<std::int32_t>(since));
    out_.filled.push_back(c.filled ? 1 : 0);
    out_.state.push_back(static_cast<std::uint8_t>(state));
  }

  const ReadingColumns& readings_;
  const PositionColumns& positions_;
  const std::vector<MateRule>& rules_;
  const MateOptions options_;
  const RowsByPosition rows_;
  MateTable out_;
};

}  // namespace

MateTable drifting_mates(const ReadingColumns& readings, const PositionColumns& positions,
                         const std::vector<MateRule>& rules, const MateOptions& options) {
  return Comparing(readings, positions, rules, options).run();
}

}  // namespace wheelend
