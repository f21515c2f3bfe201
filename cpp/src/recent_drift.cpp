#include "recent_drift.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "normal.hpp"
#include "slips.hpp"
#include "wheelend/error.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double unwritten = 0.03;   // changes by a step at a visit: common practice, no source
constexpr double step_spread = 1.5;  // of steps and of slips, in sizes of a step
constexpr std::size_t kept = 20;     // courses that are followed at a time
// How well a difference is read differs from pair to pair: shares of what is usual, of even odds but for a
// spread of 0.5 in their logarithm about 0.
constexpr std::array<double, 6> noises{0.25, 0.5, 0.71, 1.0, 1.41, 2.0};
constexpr double spread_of_noise = 0.5;

// A course that the difference may have taken: state (difference, drift) with its covariance.
struct Course {
  double log_weight = 0.0;
  double x = 0.0, s = 0.0, xx = 0.0, xs = 0.0, ss = 0.0;
  std::size_t since = 0;  // first reading of its last stretch
  bool stepped = false;
};

class Following {
 public:
  Following(const std::vector<SeenDifference>& seen, const DriftPrior& prior) : seen_(seen), prior_(prior) {}

  // Adds what the courses are at the last reading, as it was left.
  void run(double noise, double log_weight, std::vector<Course>& out) {
    variance_ = square(prior_.reading * noise);
    now_ = {{.log_weight = log_weight, .x = seen_[0].found, .xx = variance_, .ss = square(prior_.per_day)}};
    leave(0);
    for (std::size_t i = 1; i < seen_.size(); ++i) {
      next_.clear();
      for (const Course& c : now_) {
        advance(c, i);
      }
      prune();
      leave(i);
    }
    out.insert(out.end(), now_.begin(), now_.end());
  }

 private:
  void advance(const Course& c, std::size_t i) {
    const double days = seen_[i].day - seen_[i - 1].day;
    const double put_in = seen_[i].put_in, changed = put_in != 0.0 ? variance_ : 0.0;
    // A new stretch is one of three readings at least, the last before it among them.
    const bool may_change = i + least_visits <= seen_.size() + 1 && prior_.changes_per_day > 0.0;
    const double change = may_change ? -std::expm1(-prior_.changes_per_day * days) : 0.0;
    Course on = c;
    on.log_weight += std::log1p(-change);
    on.x += c.s * days + put_in;
    on.xx += days * (2.0 * c.xs + days * c.ss) + changed;
    on.xs += days * c.ss;
    look(on, i);
    if (!may_change) {
      return;
    }
    // It changed somewhere in between, about half way.
    Course anew = c;
    const double half = days / 2.0, fresh = square(prior_.per_day);
    anew.log_weight += std::log(change);
    anew.x += c.s * half + put_in;
    anew.xx += half * (2.0 * c.xs + half * c.ss) + half * half * fresh + changed +
               (fresh + c.ss + square(c.s)) * square(days) / 12.0;
    anew.xs = half * fresh;
    anew.s = 0.0;
    anew.ss = fresh;
    anew.since = i;
    read(anew, i, variance_, 1.0 - slip_share - unwritten, false);
  }

  // The reading as it should be; a slip that says nothing; a step since the reading before.
  void look(const Course& c, std::size_t i) {
    const double beyond = square(step_spread * prior_.step);
    read(c, i, variance_, 1.0 - slip_share - unwritten, false);
    Course slip = c;
    slip.log_weight += std::log(slip_share) + log_normal(seen_[i].found - c.x, c.xx + variance_ + beyond);
    next_.push_back(slip);
    Course step = c;
    step.xx += beyond;
    read(step, i, variance_, unwritten, true);
  }

  void read(Course c, std::size_t i, double variance, double chance, bool step) {
    const double off = seen_[i].found - c.x, of_off = c.xx + variance;
    const double gain_x = c.xx / of_off, gain_s = c.xs / of_off;
    c.log_weight += std::log(chance) + log_normal(off, of_off);
    c.x += gain_x * off;
    c.s += gain_s * off;
    c.ss -= gain_s * c.xs;
    c.xs -= gain_s * c.xx;
    c.xx -= gain_x * c.xx;
    c.stepped = c.stepped || step;
    next_.push_back(c);
  }

  void prune() {
    if (next_.size() > kept) {
      std::stable_sort(next_.begin(), next_.end(),
                       [](const Course& a, const Course& b) { return a.log_weight > b.log_weight; });
      next_.resize(kept);
    }
    std::swap(now_, next_);
  }

  // What was put in at a reading is known as well as a reading is.
  void leave(std::size_t i) {
    if (seen_[i].left != seen_[i].found) {
      for (Course& c : now_) {
        c.x = seen_[i].left;
        c.xx = variance_;
        c.xs = 0.0;
      }
    }
  }

  const std::vector<SeenDifference>& seen_;
  const DriftPrior& prior_;
  double variance_ = 1.0;
  std::vector<Course> now_, next_;
};

// Where the drift lies below with a probability.
double quantile(const std::vector<Course>& all, double level) {
  constexpr double far = 8.0;
  double low = all.front().s, high = low;
  for (const Course& c : all) {
    low = std::min(low, c.s - far * std::sqrt(c.ss));
    high = std::max(high, c.s + far * std::sqrt(c.ss));
  }
  const double good = 1e-7 * (high - low);
  while (high - low > good) {
    const double middle = (low + high) / 2.0;
    double below = 0.0;
    for (const Course& c : all) {
      below += c.log_weight * normal_cdf((middle - c.s) / std::sqrt(c.ss));
    }
    (below < level ? low : high) = middle;
  }
  return (low + high) / 2.0;
}

}  // namespace

RecentDrift recent_drift(const std::vector<SeenDifference>& seen, double day, double level,
                         const DriftPrior& prior) {
  if (seen.size() < least_visits) {
    throw ColumnError("a drift needs three readings");
  }
  std::vector<Course> all;
  Following following(seen, prior);
  for (const double noise : noises) {
    following.run(noise, -0.5 * square(std::log(noise) / spread_of_noise), all);
  }
  const double most = std::max_element(all.begin(), all.end(), [](const Course& a, const Course& b) {
                        return a.log_weight < b.log_weight;
                      })->log_weight;
  double total = 0.0;
  constexpr double nothing = 1e-5;
  std::erase_if(all, [&](const Course& c) { return std::exp(c.log_weight - most) < nothing; });
  for (Course& c : all) {
    c.log_weight = std::exp(c.log_weight - most);  // from here on the weight itself
    total += c.log_weight;
  }
  RecentDrift out;
  double changed = 0.0;
  std::vector<double> since(seen.size(), 0.0);
  for (Course& c : all) {
    c.log_weight /= total;
    out.now += c.log_weight * (c.x + c.s * (day - seen.back().day));
    out.stepped += c.stepped ? c.log_weight : 0.0;
    changed += c.since > 0 ? c.log_weight : 0.0;
    since[c.since] += c.log_weight;
  }
  out.drift = quantile(all, 0.5);
  out.low = quantile(all, (1.0 - level) / 2.0);
  out.high = quantile(all, (1.0 + level) / 2.0);
  if (changed > 0.5) {
    double passed = 0.0;
    for (std::size_t i = 1; i < seen.size(); ++i) {
      passed += since[i];
      if (passed >= changed / 2.0) {
        out.since = (seen[i - 1].day + seen[i].day) / 2.0;
        break;
      }
    }
  }
  return out;
}

}  // namespace wheelend
