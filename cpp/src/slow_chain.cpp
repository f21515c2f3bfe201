#include "slow_chain.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "normal.hpp"
#include "slips.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

// Frequencies of what shops do: common practice, no source.
constexpr double new_per_day = 1.0 / 10000.0;               // set anew without being due
constexpr double due_share = 0.4, nearly_due_share = 0.12;  // at a visit, once it is due, and nearly so
constexpr double due = 0.8, nearly_due = 2.0;               // two spreads of a reading, and five
constexpr double due_way = 0.2, nearly_due_way = 0.4;       // and no more of the way from new to the limit
constexpr double rate_spread = 0.4;                         // of a place about what is typical
constexpr double least_rise = 1.5, of_full = 0.6,
                 about_full = 8.0;  // of new things that are only about known
constexpr std::size_t kept = 24;

// State: what is left, and the place's rate as a share of what is typical, with their covariance.
struct Open {
  double log_weight = 0.0;
  double x = 0.0, c = 1.0, xx = 0.0, xc = 0.0, cc = square(rate_spread);
  std::vector<Cut> cuts = {};
  std::vector<bool> believed = {};
};

class Following {
 public:
  Following(std::span<const SlowReading> readings, const SlowPlace& place) : r_(readings), place_(place) {}

  std::vector<Open> run() {
    Open first{.x = r_[0].left, .xx = square(range_mm)};
    slip(first);
    first.log_weight = std::log((1.0 - slip_share) / range_mm);
    first.xx = variance;
    first.believed.push_back(true);
    next_.push_back(std::move(first));
    for (std::size_t i = 1; i < r_.size(); ++i) {
      std::swap(now_, next_);
      next_.clear();
      for (const Open& o : now_) {
        advance(o, i);
      }
      if (next_.size() > kept) {
        std::stable_sort(next_.begin(), next_.end(),
                         [](const Open& a, const Open& b) { return a.log_weight > b.log_weight; });
        next_.resize(kept);
      }
    }
    return std::move(next_);
  }

 private:
  static constexpr double variance = SlowScale::spread_of_reading * SlowScale::spread_of_reading;

  // How likely it is that it was set anew after the last visit, by what was left then.
  [[nodiscard]] double chance_of_new(const Open& o, double days) const {
    double chance = new_per_day * days + change_at_any_visit;
    const double way = place_.full - place_.limit;
    if (way > 0.0) {
      const double spread = std::sqrt(o.xx);
      const double there = normal_cdf((place_.limit + std::min(due, due_way * way) - o.x) / spread);
      const double near =
          normal_cdf((place_.limit + std::min(nearly_due, nearly_due_way * way) - o.x) / spread);
      chance += due_share * there + nearly_due_share * (near - there);
    }
    return chance;
  }

  void advance(const Open& before, std::size_t i) {
    const double days = r_[i].time - r_[i - 1].time, wear = place_.wear(r_[i - 1].time, r_[i].time);
    // Over many years all of this may have happened: some odds are left to none of it.
    const double anew = std::min(chance_of_new(before, days), 0.45),
                 other = std::min(chance_of_change(days), 0.45);
    Open on = before;
    on.x -= on.c * wear;
    on.xx += wear * (wear * on.cc - 2.0 * on.xc);
    on.xc -= wear * on.cc;
    slip(on);
    read(on, i, 1.0 - slip_share - anew - other);
    const double rise = r_[i].left - on.x;
    // Set anew somewhere in between.
    Open fresh = on;
    fresh.xc = -wear / 2.0 * fresh.cc;
    fresh.x = place_.full - fresh.c * wear / 2.0;
    if (place_.full_spread > 0.0) {
      fresh.xx = square(place_.full_spread) + square(wear / 2.0);
      fresh.cuts.push_back({.visit = i, .begun = Begun::rise, .as_new = true});
      read(fresh, i, anew);
    } else if (rise > least_rise && r_[i].left > of_full * place_.full) {
      begin_at(fresh, i, anew / about_full, true);
    }
    // Another thing: read once only it is as well a slip (`ItemState::last_right`).
    if (i + 1 < r_.size()) {
      begin_at(on, i, other / range_mm, false);
      next_.back().cuts.back().begun = rise > 0.0 ? Begun::rise : Begun::jump;
    }
  }

  void begin_at(Open o, std::size_t i, double odds, bool as_new) {
    o.log_weight += std::log(odds);
    o.x = r_[i].left;
    o.xx = variance;
    o.xc = 0.0;
    o.cuts.push_back({.visit = i, .begun = Begun::rise, .as_new = as_new});
    o.believed.push_back(true);
    next_.push_back(std::move(o));
  }

  void slip(Open o) {
    o.log_weight += std::log(slip_share / range_mm);
    o.believed.push_back(false);
    next_.push_back(std::move(o));
  }

  void read(Open o, std::size_t i, double chance) {
    const double off = r_[i].left - o.x, of_off = o.xx + variance;
    const double gain_x = o.xx / of_off, gain_c = o.xc / of_off;
    o.log_weight += std::log(chance) + log_normal(off, of_off);
    o.x += gain_x * off;
    o.c += gain_c * off;
    o.cc -= gain_c * o.xc;
    o.xc -= gain_c * o.xx;
    o.xx -= gain_x * o.xx;
    o.believed.push_back(true);
    next_.push_back(std::move(o));
  }

  std::span<const SlowReading> r_;
  const SlowPlace& place_;
  std::vector<Open> now_, next_;
};

}  // namespace

std::size_t last_begin(const Chain& chain) { return chain.cuts.empty() ? 0 : chain.cuts.back().visit; }

std::vector<SlowCourse> slow_courses(std::span<const SlowReading> readings, const SlowPlace& place) {
  std::vector<Open> open = Following(readings, place).run();
  double most = open.front().log_weight;
  for (const Open& o : open) {
    most = std::max(most, o.log_weight);
  }
  std::vector<SlowCourse> out;
  double total = 0.0;
  std::map<std::size_t, double> by_begin;
  for (Open& o : open) {
    const double weight = std::exp(o.log_weight - most);
    out.push_back(
        {.chain = {.cuts = std::move(o.cuts), .believed = std::move(o.believed)}, .weight = weight});
    by_begin[last_begin(out.back().chain)] += weight;
    total += weight;
  }
  for (SlowCourse& c : out) {
    c.weight /= total;
  }
  std::stable_sort(out.begin(), out.end(), [&](const SlowCourse& a, const SlowCourse& b) {
    const std::size_t of_a = last_begin(a.chain), of_b = last_begin(b.chain);
    if (of_a != of_b) {
      const double wa = by_begin[of_a], wb = by_begin[of_b];
      return wa != wb ? wa > wb : of_a < of_b;
    }
    return a.weight > b.weight;
  });
  return out;
}

}  // namespace wheelend
