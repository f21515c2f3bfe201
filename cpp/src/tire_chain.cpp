#include "tire_chain.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "slips.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

// Costs are natural logarithms of odds. Frequencies of what people do: common practice, no source.
constexpr double new_per_day = 1.0 / 900.0;  // tires replaced
constexpr double due_share = 0.5,
                 nearly_due_share = 0.15;  // replaced once due, within one step and two and a half
constexpr double due_mm = 0.8, nearly_due_mm = 2.0;
constexpr double moved_of_due = 0.3;  // of these, by a worn one from elsewhere
constexpr double wrong_number = 7.0;  // that a tire number was written wrongly
struct ByEvent {
  double as_new, moved;
};
// What is there after an event. A tire that was rotated came from elsewhere; one that was retreaded is as
// new.
ByEvent by_event(Event event) {
  switch (event) {
    case Event::rotated:
      return {0.1, 0.85};
    case Event::retreaded:
      return {0.9, 0.05};
    default:
      return {0.6, 0.3};
  }
}
constexpr double new_by_rotation = 0.05, moved_by_rotation = 0.8, stayed_by_rotation = 0.15;
constexpr double new_by_number = 0.25, moved_by_number = 0.15;
constexpr double wear_share = 0.4;   // spread of wear about what is typical
constexpr double new_rise_mm = 1.5;  // a new tire is deeper than what it replaces by more
constexpr double of_full = 0.6;      // and than this share of the typical depth
constexpr std::size_t most_skipped = 4;

// Of a normal density.
double cost_of(double off, double spread) {
  constexpr double log_root_two_pi = 0.9189385332046727;
  return 0.5 * off * off / (spread * spread) + std::log(spread) + log_root_two_pi;
}

struct Step {
  double cost = infinity;
  bool cut = false, as_new = false;
  Begun begun = Begun::rise;
  double confidence = 1.0;
  std::size_t at = 0;  // visit at which the new tire begins
};

class Finding {
 public:
  Finding(const std::vector<Visit>& visits, const PlaceFacts& facts) : v_(visits), facts_(facts) {
    for (std::size_t i = 0; i < v_.size(); ++i) {
      if (!v_[i].has_tread()) {
        continue;
      }
      const double bias = facts.bias_mm(v_[i].time);
      if (!std::isnan(bias)) {
        read_.push_back(i);
        bias_.push_back(bias);
      }
    }
  }

  Chain run() {
    Chain out;
    out.believed.assign(v_.size(), false);
    if (read_.empty()) {
      add_unread(0, out);
      return out;
    }
    find();
    trace(out);
    return out;
  }

 private:
  // Whether a visit tells that another tire is here from it on.
  [[nodiscard]] bool begins(std::size_t i) const {
    return i > 0 && v_[i].event != Event::none && v_[i].event != Event::removed;
  }

  // The visit at which an event in (j, k] says that another tire began; none: 0.
  [[nodiscard]] std::size_t told(std::size_t j, std::size_t k) const {
    for (std::size_t i = k; i > j; --i) {
      if (begins(i) || v_[i - 1].event == Event::removed) {
        return i;
      }
    }
    return 0;
  }

  [[nodiscard]] bool rotated_between(std::size_t j, std::size_t k) const {
    for (std::size_t i = j + 1; i <= k; ++i) {
      if (facts_.rotated(v_[i].time)) {
        return true;
      }
    }
    return false;
  }

  [[nodiscard]] Step step(std::size_t from, std::size_t to, std::int32_t tire) const {
    const std::size_t j = read_[from], k = read_[to];
    const Visit &before = v_[j], &here = v_[k];
    const double days = here.time - before.time;
    const double wear = facts_.wear_mm(before.time, here.time);
    const double s0 = facts_.level_spread_mm;
    const double change = level_change(before, here) - (bias_[to] - bias_[from]);
    const double level = level_of(here) - bias_[to];
    const std::size_t event = told(j, k);
    const bool other_number = tire >= 0 && here.tire >= 0 && here.tire != tire;
    const bool same_number = tire >= 0 && here.tire == tire;
    double on = cost_of(change + wear, std::hypot(std::sqrt(2.0) * s0, wear_share * wear));
    on += other_number ? wrong_number : 0.0;
    // The same number says that it stayed.
    const bool rotated = event == 0 && !same_number && rotated_between(j, k);
    double as_new = -std::log(std::min(new_per_day * days + change_at_any_visit, 0.5));
    double moved = -std::log(chance_of_change(days));
    const double left = level_of(before) - bias_[from] - facts_.limit_mm;
    if (left < nearly_due_mm) {
      const double replaced = left < due_mm ? due_share : nearly_due_share;
      as_new = std::min(as_new, -std::log(replaced * (1.0 - moved_of_due)));
      moved = std::min(moved, -std::log(replaced * moved_of_due));
    }
    if (event > 0) {
      const ByEvent by = by_event(v_[event].event);
      as_new = -std::log(by.as_new);
      moved = -std::log(by.moved);
    } else if (rotated) {
      on -= std::log(stayed_by_rotation);
      as_new = -std::log(new_by_rotation);
      moved = -std::log(moved_by_rotation);
    } else if (other_number) {
      as_new = -std::log(new_by_number);
      moved = -std::log(moved_by_number);
    } else if (same_number) {
      as_new += wrong_number;
      moved += wrong_number;
    }
    if (facts_.full_spread_mm > 0.0) {
      as_new += cost_of(level - (facts_.full_mm - wear / 2.0), std::hypot(facts_.full_spread_mm, wear / 2.0));
    } else {
      constexpr double about_full_mm = 8.0;
      as_new += level > of_full * facts_.full_mm ? std::log(about_full_mm) : infinity;
    }
    if (event == 0 && !other_number && change + wear < new_rise_mm) {
      as_new = infinity;
    }
    moved += std::log(range_mm);
    Step out;
    const double cut = std::min(as_new, moved);
    if (event == 0 && on <= cut) {
      out.cost = on;
      return out;
    }
    out.cost = cut;
    out.cut = true;
    out.as_new = as_new <= moved;
    out.at = event > 0 ? event : k;
    if (event > 0) {
      out.begun = Begun::event;
      return out;
    }
    out.begun = other_number             ? Begun::tire_number
                : rotated && !out.as_new ? Begun::moved
                : change + wear > 0.0    ? Begun::rise
                                         : Begun::jump;
    // The alternative: it goes on, or what follows are slips.
    const double slips = slip_cost() * std::min(4.0, static_cast<double>(read_.size() - to));
    out.confidence = 1.0 / (1.0 + std::exp(cut - std::min(on, slips)));
    return out;
  }

  static double slip_cost() { return -std::log(slip_share) + std::log(range_mm); }

  void find() {
    const std::size_t n = read_.size();
    best_.assign(n, infinity);
    from_.assign(n, n);
    step_.resize(n);
    tire_.assign(n, -1);
    for (std::size_t k = 0; k < n; ++k) {
      if (k <= 2) {
        best_[k] = static_cast<double>(k) * slip_cost();
        tire_[k] = v_[read_[k]].tire;
      }
      for (std::size_t skipped = 0; skipped <= most_skipped && skipped < k; ++skipped) {
        const std::size_t j = k - 1 - skipped;
        const Step s = step(j, k, tire_[j]);
        const double cost = best_[j] + static_cast<double>(skipped) * slip_cost() + s.cost;
        if (cost < best_[k]) {
          best_[k] = cost;
          from_[k] = j;
          step_[k] = s;
          const std::int32_t here = v_[read_[k]].tire;
          tire_[k] = here >= 0 ? here : s.cut ? -1 : tire_[j];
        }
      }
    }
  }

  void trace(Chain& out) const {
    const std::size_t n = read_.size();
    std::size_t last = n - 1;
    double least = infinity;
    for (std::size_t k = n; k-- > 0 && n - 1 - k <= most_skipped;) {
      const double cost = best_[k] + static_cast<double>(n - 1 - k) * slip_cost();
      if (cost < least) {
        least = cost;
        last = k;
      }
    }
    for (std::size_t k = last; k < n; k = from_[k]) {
      out.believed[read_[k]] = true;
      if (from_[k] < n && step_[k].cut) {
        add_cuts(read_[from_[k]], step_[k], out);
      }
    }
    std::reverse(out.cuts.begin(), out.cuts.end());
    add_unread(read_[last] + 1, out);
  }

  // The last first: the tire that was read, and before it those that came and went unread.
  void add_cuts(std::size_t before, const Step& step, Chain& out) const {
    out.cuts.push_back(
        {.visit = step.at, .begun = step.begun, .as_new = step.as_new, .confidence = step.confidence});
    for (std::size_t i = step.at; i-- > before + 1;) {
      if (begins(i) && step.begun == Begun::event) {
        out.cuts.push_back({.visit = i, .begun = Begun::event, .as_new = v_[i].event != Event::rotated});
      }
    }
  }

  // What was fitted after the last reading that counts, and never read itself. Of tires that were rotated and
  // not read since nobody knows which is where: what was read last stands for what is there.
  void add_unread(std::size_t from, Chain& out) const {
    for (std::size_t i = v_.size(); i-- > std::max<std::size_t>(from, 1);) {
      if (v_[i].event == Event::fitted || v_[i].event == Event::retreaded) {
        out.cuts.push_back({.visit = i, .begun = Begun::event, .as_new = true});
        return;
      }
      if (v_[i - 1].event == Event::removed) {
        out.cuts.push_back({.visit = i, .begun = Begun::event});
        return;
      }
    }
  }

  const std::vector<Visit>& v_;
  const PlaceFacts& facts_;
  std::vector<std::size_t> read_;  // visits that count
  std::vector<double> bias_, best_;
  std::vector<std::size_t> from_;
  std::vector<Step> step_;
  std::vector<std::int32_t> tire_;  // last number known on the way to each
};

}  // namespace

double level_of(const Visit& visit) {
  std::vector<double> known;
  for (const double d : visit.groove_mm) {
    if (!std::isnan(d)) {
      known.push_back(d);
    }
  }
  return known.empty() ? nan : median(known);
}

double level_change(const Visit& before, const Visit& after) {
  std::vector<double> changes;
  for (std::size_t g = 0; g < before.groove_mm.size(); ++g) {
    const double d = after.groove_mm[g] - before.groove_mm[g];
    if (!std::isnan(d)) {
      changes.push_back(d);
    }
  }
  return changes.empty() ? level_of(after) - level_of(before) : median(changes);
}

Chain likeliest_chain(const std::vector<Visit>& visits, const PlaceFacts& facts) {
  return Finding(visits, facts).run();
}

}  // namespace wheelend
