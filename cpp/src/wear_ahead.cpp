#include "wheelend/wear_ahead.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "normal.hpp"
#include "relaxation.hpp"
#include "season.hpp"
#include "wheelend/line_fit.hpp"
#include "wheelend/wear.hpp"

namespace wheelend {

namespace {

constexpr double horizon_days = 10.0 * year_days;
constexpr std::size_t grid_points = 48;
constexpr double quarter = 91.3125;  // days
constexpr double infinity = std::numeric_limits<double>::infinity();
const double grid_step = std::log(horizon_days) / (grid_points - 1);

// ---- the normal distribution function from a table: a hundred million evaluations an hour and more

// Cubics that meet the function and its density at the ends of 256 pieces from -8 to 8: off by at most
// (1/16)^4 / 384 * 1.4 = 6e-8 (error of Hermite interpolation; 1.4 bounds the third derivative of the
// density).
class NormalTable {
 public:
  NormalTable() {
    for (std::size_t i = 0; i < pieces; ++i) {
      const double z = -reach + static_cast<double>(i) / per_unit, next = z + 1.0 / per_unit;
      const double a = normal_cdf(z), b = normal_cdf(next), da = density(z) / per_unit,
                   db = density(next) / per_unit;
      cubic_[i] = {a, da, 3.0 * (b - a) - 2.0 * da - db, 2.0 * (a - b) + da + db};
    }
  }
  [[nodiscard]] double at(double z) const {
    constexpr double last = static_cast<double>(pieces) - 1e-9;
    const double place = std::min(std::max(0.0, (z + reach) * per_unit), last);
    const auto i = static_cast<int>(place);
    const double u = place - i;
    const auto& c = cubic_[static_cast<std::size_t>(i)];
    return c[0] + u * (c[1] + u * (c[2] + u * c[3]));
  }

 private:
  static double density(double z) { return std::exp(-z * z / 2.0) / std::sqrt(2.0 * std::numbers::pi); }
  static constexpr std::size_t pieces = 256;
  static constexpr double reach = 8.0, per_unit = 16.0;
  std::array<std::array<double, 4>, pieces> cubic_{};
};

const NormalTable& normal_table() {
  static const NormalTable table;
  return table;
}

// ---- points of the normal law

constexpr std::size_t draws = wear_cases;
constexpr std::size_t most_channels = 10;  // of an item; beyond these the deepest are left out
constexpr std::size_t most_bent = 4 + most_channels;
constexpr std::size_t most_dimensions = most_bent + 2;

using Row = std::array<double, draws>;

// Points that fill the space evenly, each with its opposite: a lattice (Korobov 1959) shifted by half a step.
// Its generator is, of those whose powers repeat last, the one of least error on products of quadratics in
// eight dimensions. The first coordinate alone takes all 64 levels in order.
const std::array<Row, most_bent>& normal_points() {
  static const std::array<Row, most_bent> points = [] {
    std::array<Row, most_bent> p{};
    std::size_t step = 1;
    for (std::size_t d = 0; d < most_bent; ++d) {
      for (std::size_t j = 0; j < draws; ++j) {
        const std::size_t half_steps = (2 * j + 1) * step % (2 * draws);
        p[d][j] = normal_quantile(static_cast<double>(half_steps) / (2 * draws));
      }
      step = step * 53 % draws;
    }
    // To unit covariance, one after the other (Gram and Schmidt), so that the first keeps its order: few
    // points must not change the spread.
    for (std::size_t d = 0; d < most_bent; ++d) {
      for (std::size_t e = 0; e <= d; ++e) {
        double product = 0.0;
        for (std::size_t j = 0; j < draws; ++j) {
          product += p[d][j] * p[e][j] / draws;
        }
        for (std::size_t j = 0; j < draws; ++j) {
          p[d][j] = e == d ? p[d][j] / std::sqrt(product) : p[d][j] - product * p[e][j];
        }
      }
    }
    return p;
  }();
  return points;
}

// A turn of an axle for each point: when, as a probability that it has come by then, and two normal deviates.
// Each runs through all of its 64 levels, in orders of their own.
struct TurnPoints {
  Row by{}, rate{}, one_sided{};
  TurnPoints() {
    for (std::size_t j = 0; j < draws; ++j) {
      by[j] = level(j * 37 + 11);
      rate[j] = normal_quantile(level(j * 21 + 5));
      one_sided[j] = normal_quantile(level(j * 45 + 29));
    }
  }

 private:
  static double level(std::size_t step) { return (static_cast<double>(step % draws) + 0.5) / draws; }
};

const TurnPoints& turn_points_of_axles() {
  static const TurnPoints points;
  return points;
}

// ---- one item

// Parameters in the order of the factor: those that bend the way to the limit, then rate and severity, in
// which its logarithm is straight.
enum Bent : std::size_t { b_depth, b_strength, b_shoulder, b_one_sided, b_offsets };

class Item {
 public:
  Item(const ItemState& state, double full, double limit, const Ahead& ahead, double exposure_since)
      : state_(state), full_(full), limit_(limit), ahead_(ahead) {
    choose_channels();
    lay_out();
    factorize(square(std::exp(state.mean[state_rate]) * exposure_since) * ahead.gap_variance());
    turn_points();
    draw();
  }

  // What each possible item needs until its shallowest channel is at the limit: log of the exposure at rate
  // 1, less the log rate. Those that are there already are `there` of all.
  std::size_t needing = 0;
  Row log_needed{}, severity{};
  double there = 0.0;
  // Of log rate and severity, given the points: variances and covariance.
  double rate_variance = 0.0, severity_variance = 0.0, with_severity = 0.0;
  double depth = 0.0, rate = 0.0, rate_sd = 0.0;
  // Of every point: wear left (negative once past the limit), log rate, and depth lost per wear at the limit.
  Row left_of{}, log_rate_of{}, slope_of{};

 private:
  // The shallowest at the middle values.
  void choose_channels() {
    for (const std::size_t g : state_.channels) {
      channels_[std::min(count_, most_channels - 1)] = g;
      count_ = std::min(count_ + 1, most_channels);
    }
    if (state_.channels.size() > most_channels) {
      std::vector<std::size_t> all = state_.channels;
      std::stable_sort(all.begin(), all.end(),
                       [this](std::size_t a, std::size_t b) { return middle_depth(a) < middle_depth(b); });
      std::copy_n(all.begin(), most_channels, channels_.begin());
    }
  }
  [[nodiscard]] double middle_depth(std::size_t g) const {
    const Channel channel{.offset = state_.mean[state_offsets + g],
                          .one_sided = state_.side[g] * state_.mean[state_one_sided],
                          .shoulder = state_.outside[g] * std::max(state_.mean[state_shoulder], 0.0)};
    return channel.depth(state_.mean[state_depth], full_);
  }

  void lay_out() {
    bent_ = b_offsets + count_;
    size_ = bent_ + 2;
    place_[b_depth] = state_depth;
    place_[b_strength] = state_strength;
    place_[b_shoulder] = state_shoulder;
    place_[b_one_sided] = state_one_sided;
    for (std::size_t c = 0; c < count_; ++c) {
      place_[b_offsets + c] = state_offsets + channels_[c];
    }
    place_[bent_] = state_rate;
    place_[bent_ + 1] = state_severity;
    for (std::size_t i = 0; i < size_; ++i) {
      mean_[i] = state_.mean[place_[i]];
    }
  }

  // Lower factor of the covariance; a parameter without any doubt of its own has a column of zeros.
  void factorize(double more_depth_variance) {
    const std::size_t n = state_.mean.size();
    for (std::size_t j = 0; j < size_; ++j) {
      const double own =
          state_.covariance[place_[j] * n + place_[j]] + (j == b_depth ? more_depth_variance : 0.0);
      double pivot = own;
      for (std::size_t k = 0; k < j; ++k) {
        pivot -= square(factor_[j][k]);
      }
      constexpr double nothing = 1e-12;  // of its variance: roundings of a dozen products
      const bool some = pivot > nothing * own;
      factor_[j][j] = some ? std::sqrt(pivot) : 0.0;
      for (std::size_t i = j + 1; i < size_; ++i) {
        double sum = state_.covariance[place_[i] * n + place_[j]];
        for (std::size_t k = 0; k < j; ++k) {
          sum -= factor_[i][k] * factor_[j][k];
        }
        factor_[i][j] = some ? sum / factor_[j][j] : 0.0;
      }
    }
    rate_variance = square(factor_[bent_][bent_]);
    with_severity = factor_[bent_][bent_] * factor_[bent_ + 1][bent_];
    severity_variance = square(factor_[bent_ + 1][bent_]) + square(factor_[bent_ + 1][bent_ + 1]);
  }

  using Vector = std::array<double, most_dimensions>;

  [[nodiscard]] double bounded_depth(double common) const {
    return std::clamp(common, -0.2 * full_, 1.6 * full_);
  }
  // The curve never falls below this.
  [[nodiscard]] double zero_of(const WearCurve& curve) const { return -full_ / curve.strength * 0.95; }
  // Common depth at which the first channel is at the limit.
  [[nodiscard]] double first_limit(const Vector& x, const WearCurve& curve) const {
    double highest = zero_of(curve);
    for (std::size_t c = 0; c < count_; ++c) {
      highest = std::max(highest, channel(x, c).common_at(limit_, full_));
    }
    return highest;
  }
  [[nodiscard]] Channel channel(const Vector& x, std::size_t c) const {
    const std::size_t g = channels_[c];
    return {.offset = x[b_offsets + c],
            .one_sided = state_.side[g] * x[b_one_sided],
            .shoulder = state_.outside[g] * std::max(x[b_shoulder], 0.0)};
  }

  // Wear left until each channel is at the limit; below 0 once past it.
  [[nodiscard]] std::array<double, most_channels> wear_left(const Vector& x) const {
    const WearCurve curve{full_, std::exp(std::min(x[b_strength], most_strength))};
    const double zero = zero_of(curve), common = std::max(bounded_depth(x[b_depth]), zero);
    std::array<double, most_channels> left{};
    for (std::size_t c = 0; c < count_; ++c) {
      left[c] = curve.wear_between(common, std::max(channel(x, c).common_at(limit_, full_), zero));
    }
    return left;
  }

  // Turns the points so that their first coordinates, which fill their space best, run in the ways in which
  // the wear left of each channel changes most; first that of the channel with least left.
  void turn_points() {
    const std::array<double, most_channels> middle = wear_left(mean_);
    std::array<Vector, most_channels> slope{};
    Vector x = mean_;
    for (std::size_t i = 0; i < bent_; ++i) {
      double variance = 0.0;
      for (std::size_t k = 0; k <= i; ++k) {
        variance += square(factor_[i][k]);
      }
      if (variance > 0.0) {
        const double step = std::sqrt(variance) / 2.0;
        x[i] = mean_[i] + step;
        const std::array<double, most_channels> there_left = wear_left(x);
        for (std::size_t c = 0; c < count_; ++c) {
          slope[c][i] = (there_left[c] - middle[c]) / step;
        }
        x[i] = mean_[i];
      }
    }
    std::array<std::size_t, most_channels> order{};
    for (std::size_t c = 0; c < count_; ++c) {
      order[c] = c;
    }
    std::sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(count_),
              [&middle](std::size_t a, std::size_t b) {
                return middle[a] != middle[b] ? middle[a] < middle[b] : a < b;
              });
    for (std::size_t axis = 0; axis < std::min(count_, bent_); ++axis) {
      turn_axis(axis, slope[order[axis]]);
    }
  }

  // Reflects the axes from `axis` on so that the first of them takes up all that is left of a slope
  // (Householder 1958).
  void turn_axis(std::size_t axis, const Vector& slope) {
    Vector way{};
    double length = 0.0;
    for (std::size_t k = axis; k < bent_; ++k) {
      for (std::size_t i = 0; i < bent_; ++i) {
        way[k] += slope[i] * factor_[i][k];
      }
      length += square(way[k]);
    }
    length = std::sqrt(length);
    if (!(length > 0.0)) {
      return;
    }
    way[axis] += way[axis] < 0.0 ? -length : length;  // the sign that loses no digits
    double norm = 0.0;
    for (std::size_t k = axis; k < bent_; ++k) {
      norm += square(way[k]);
    }
    for (std::size_t i = 0; i < size_; ++i) {
      double along = 0.0;
      for (std::size_t k = axis; k < bent_; ++k) {
        along += factor_[i][k] * way[k];
      }
      for (std::size_t k = axis; k < bent_; ++k) {
        factor_[i][k] -= 2.0 * along / norm * way[k];
      }
    }
  }

  void draw() {
    const std::array<Row, most_bent>& z = normal_points();
    std::array<Row, most_dimensions> x;
    for (std::size_t i = 0; i < size_; ++i) {
      x[i].fill(mean_[i]);
      for (std::size_t k = 0; k < bent_; ++k) {
        const double f = factor_[i][k];
        for (std::size_t j = 0; j < draws && f != 0.0; ++j) {
          x[i][j] += f * z[k][j];
        }
      }
    }
    constexpr double hardly_ever = 0.002 / year_days;
    const bool may_turn = std::isnan(state_.turned_day) && ahead_.turns().per_day > hardly_ever;
    Row depths;
    double sum = 0.0, squares = 0.0;
    for (std::size_t j = 0; j < draws; ++j) {
      Vector one;
      for (std::size_t i = 0; i < size_; ++i) {
        one[i] = x[i][j];
      }
      const double log_rate = one[bent_];
      const WearCurve curve{full_, std::exp(std::min(one[b_strength], most_strength))};
      const double common = bounded_depth(one[b_depth]);
      double shallowest = infinity, slope = 1.0;
      for (std::size_t c = 0; c < count_; ++c) {
        const Channel ch = channel(one, c);
        const double d = ch.depth(common, full_);
        if (d < shallowest) {
          shallowest = d;
          slope = ch.slope(common, full_);
        }
      }
      depths[j] = std::max(shallowest, 0.0);
      const double now = std::exp(log_rate) * std::max(curve.rate_at(common), 0.0) * slope;
      sum += now;
      squares += now * now;
      const double at_limit = first_limit(one, curve);
      const double left = curve.wear_between(std::max(common, zero_of(curve)), at_limit);
      left_of[j] = left > 0.0 && may_turn ? left_with_turn(one, curve, j, left) : left;
      log_rate_of[j] = log_rate;
      slope_of[j] = std::max(curve.rate_at(at_limit) * slope, 0.05);
      if (left > 0.0) {
        log_needed[needing] = std::log(left_of[j]) - log_rate;
        severity[needing] = one[bent_ + 1];
        ++needing;
      }
    }
    there = static_cast<double>(draws - needing) / draws;
    // What the points leave of the log rate is normal: moments of a log-normal law.
    rate = sum / draws * std::exp(rate_variance / 2.0);
    rate_sd = std::sqrt(std::max(squares / draws * std::exp(2.0 * rate_variance) - square(rate), 0.0));
    depth = middle_of(depths);
  }

  // Wear left, on the scale of today's rate, where the axle goes out of line on the way: from then on it
  // wears faster, and one side more.
  [[nodiscard]] double left_with_turn(const Vector& x, const WearCurve& curve, std::size_t j,
                                      double left) const {
    constexpr double unseen_days =
        60.0;  // it may have turned as lately as one knot of the fit without a sign
    const TurnPoints& points = turn_points_of_axles();
    const Ahead::Turns& turns = ahead_.turns();
    const double days = -std::log1p(-points.by[j]) / turns.per_day - unseen_days;
    double until = 0.0;  // wear up to the turn
    if (days >= horizon_days) {
      return left;
    }
    if (days > 0.0) {
      const Ahead::At at = ahead_.when(std::log(days));
      until = std::exp(x[bent_] + at.exposure + at.kept * x[bent_ + 1]);
    }
    if (until >= left) {
      return left;
    }
    const double turn = curve.depth_after(std::max(bounded_depth(x[b_depth]), zero_of(curve)), until);
    const double gained = turns.one_sided * points.one_sided[j];
    double limit = zero_of(curve);
    for (std::size_t c = 0; c < count_; ++c) {
      Channel ch = channel(x, c);
      const double side = state_.side[channels_[c]];
      ch.one_sided += side * gained;
      ch.offset += side * gained * (full_ - turn);  // what was worn before was worn as before
      limit = std::max(limit, ch.common_at(limit_, full_));
    }
    const double after = std::max(curve.wear_between(turn, limit), 0.0);
    const double faster = std::exp(turns.rate_mean + turns.rate * points.rate[j]);
    return std::max(until + after / faster, 1e-9 * full_);
  }

  // Mean of the middle eight: a median that one point more or less does not move.
  static double middle_of(Row& values) {
    constexpr std::ptrdiff_t half = draws / 2, around = 4;
    std::nth_element(values.begin(), values.begin() + half - around, values.end());
    std::nth_element(values.begin() + half - around, values.begin() + half + around, values.end());
    double sum = 0.0;
    for (auto v = values.begin() + half - around; v != values.begin() + half + around; ++v) {
      sum += *v;
    }
    return sum / (2 * around);
  }

  static constexpr double most_strength = 3.0;  // of its logarithm: the curve of no tire
  const ItemState& state_;
  const double full_, limit_;
  const Ahead& ahead_;
  std::array<std::size_t, most_channels> channels_{};
  std::size_t count_ = 0, bent_ = 0, size_ = 0;
  std::array<std::size_t, most_dimensions> place_{};
  Vector mean_{};
  std::array<Vector, most_dimensions> factor_{};
};

// ---- quantiles of the time

// The distribution function of the log of the time at which an item is at its limit, if it is not there
// already; the time is the day, or (with the use taken as known) stands for the distance run by then.
class Law {
 public:
  Law(std::span<const Item> items, const Ahead& ahead, bool of_days)
      : items_(items), ahead_(ahead), of_days_(of_days) {
    for (const Item& item : items) {
      there_ += item.there / static_cast<double>(items.size());
    }
    if (there_ < 1.0) {
      find_middle();
    }
  }

  // Fills quantiles of the log of the time, at rising levels: -infinity where it is over already, infinity
  // where it is not within the grid.
  template <std::size_t N>
  std::array<double, N> quantiles(const std::array<double, N>& levels) {
    std::array<double, N> out{};
    if (there_ >= 1.0) {
      out.fill(-infinity);
      return out;
    }
    for (const double off : {-1.9, -1.28, -0.67, 0.0, 0.67, 1.28, 1.9}) {  // about where the levels lie
      look(std::clamp(middle_ + off * spread_, first_time, last_time));
    }
    for (std::size_t q = 0; q < N; ++q) {
      out[q] = levels[q] <= there_ ? -infinity : reach((levels[q] - there_) / (1.0 - there_));
      if (q > 0) {
        out[q] = std::max(out[q], out[q - 1]);
      }
    }
    return out;
  }

 private:
  struct Node {
    double x, p, score;  // log of the time, its probability, the logit of that
  };
  static constexpr double first_time = -7.0;  // a minute and a half: no sooner than now
  const double last_time = std::log(horizon_days);

  [[nodiscard]] double sd_at(const Item& item, const Ahead::At& at) const {
    const double own =
        item.rate_variance + at.kept * (2.0 * item.with_severity + at.kept * item.severity_variance);
    return std::sqrt((of_days_ ? at.variance : 0.0) + at.severity_variance + std::max(own, 0.0) + 1e-12);
  }

  // Of each point of an item that is not there yet, among all such.
  [[nodiscard]] double weight(const Item& item) const {
    return item.needing == 0 ? 0.0
                             : (1.0 - item.there) / (1.0 - there_) / static_cast<double>(items_.size()) /
                                   static_cast<double>(item.needing);
  }

  [[nodiscard]] double probability(double x) const {
    const Ahead::At at = ahead_.when(x);
    const NormalTable& normal = normal_table();
    double total = 0.0;
    for (const Item& item : items_) {
      const double per_sd = 1.0 / sd_at(item, at);
      double sum = 0.0;
      for (std::size_t j = 0; j < item.needing; ++j) {
        sum += normal.at((at.exposure + at.kept * item.severity[j] - item.log_needed[j]) * per_sd);
      }
      total += weight(item) * sum;
    }
    return total;
  }

  // Where the middle of all lies, and how wide they are.
  void find_middle() {
    double mean = 0.0, squares = 0.0, severity = 0.0;
    for (const Item& item : items_) {
      const double w = weight(item);
      for (std::size_t j = 0; j < item.needing; ++j) {
        mean += w * item.log_needed[j];
        squares += w * square(item.log_needed[j]);
        severity += w * item.severity[j];
      }
    }
    middle_ = mean - ahead_.at(grid_points / 2).exposure + std::log(Ahead::days()[grid_points / 2]);
    Ahead::At at;
    for (int step = 0; step < 4; ++step) {  // distance goes nearly as time
      middle_ = std::clamp(middle_, first_time, last_time);
      at = ahead_.when(middle_);
      middle_ += mean - at.kept * severity - at.exposure;
    }
    const double here = std::clamp(middle_, first_time, last_time);
    middle_ = here;
    spread_ = std::sqrt(std::max(squares - mean * mean, 0.0) + square(sd_at(items_.front(), at)));
  }

  // Puts another point into the row of those looked at.
  void look(double x) {
    if (count_ == nodes_.size()) {
      return;
    }
    std::size_t i = count_;
    while (i > 0 && nodes_[i - 1].x >= x) {
      --i;
    }
    if (i < count_ && nodes_[i].x == x) {
      return;
    }
    const double p = probability(x);
    std::copy_backward(nodes_.begin() + static_cast<std::ptrdiff_t>(i),
                       nodes_.begin() + static_cast<std::ptrdiff_t>(count_),
                       nodes_.begin() + static_cast<std::ptrdiff_t>(count_ + 1));
    nodes_[i] = {x, p, logit(p)};
    ++count_;
  }

  static double logit(double p) {
    constexpr double least = 1e-7;  // the table knows no less
    const double inside = std::clamp(p, least, 1.0 - least);
    return std::log(inside / (1.0 - inside));
  }

  // How far the logit may be from straight between point `after` and the one before, by how the steepness
  // changes from the stretch before to the one after.
  [[nodiscard]] double bend(std::size_t after) const {
    if (after < 2 || after + 1 >= count_) {
      return infinity;
    }
    const auto flatness = [this](std::size_t i) {
      return (nodes_[i].x - nodes_[i - 1].x) / std::max(nodes_[i].score - nodes_[i - 1].score, 1e-9);
    };
    const double step = nodes_[after].score - nodes_[after - 1].score;
    const double apart =
        (nodes_[after + 1].score + nodes_[after].score - nodes_[after - 1].score - nodes_[after - 2].score) /
        2.0;
    const double change = std::abs(flatness(after + 1) - flatness(after - 1)) / std::max(apart, 1e-9);
    return step * step / 8.0 * change / flatness(after);
  }

  // Straight in the logit between the points about a level, once that is good to 0.02 p (1 - p) of
  // probability; looks nearer where it is not.
  double reach(double level) {
    constexpr double good = 0.02;
    const double near = good * level * (1.0 - level);
    const double score = logit(level);
    for (int look_again = 0;; ++look_again) {
      std::size_t after = 0;
      while (after < count_ && nodes_[after].p < level) {
        ++after;
      }
      double x;
      if (after == 0) {
        if (nodes_[0].x <= first_time) {
          return -infinity;
        }
        x = std::max(nodes_[0].x - 1.5 * spread_ * (1 + look_again), first_time);
      } else if (after == count_) {
        if (nodes_[count_ - 1].x >= last_time) {
          return infinity;
        }
        x = std::min(nodes_[count_ - 1].x + 1.5 * spread_ * (1 + look_again), last_time);
      } else {
        const Node &a = nodes_[after - 1], &b = nodes_[after];
        double share = b.score > a.score ? (score - a.score) / (b.score - a.score) : 0.5;
        x = a.x + share * (b.x - a.x);
        const double nearest = std::min(level - a.p, b.p - level);
        if (nearest < near || bend(after) < good || b.x - a.x < 1e-9 || look_again >= most_looks) {
          return x;
        }
        // One end that never moves is a bad guide: halve now and then.
        x = look_again % 3 == 2 ? (a.x + b.x) / 2.0 : x;
      }
      if (count_ == nodes_.size()) {
        return x;
      }
      look(x);
    }
  }

  static constexpr int most_looks = 12;
  std::span<const Item> items_;
  const Ahead& ahead_;
  const bool of_days_;
  double there_ = 0.0;
  double middle_ = 0.0, spread_ = 1.0;
  std::array<Node, 96> nodes_{};
  std::size_t count_ = 0;
};

}  // namespace

namespace {
Ahead::Turns turns_of(const WearSpreads& s) {
  return {.per_day = s.turns_per_year / year_days,
          .rate_mean = s.turn_rate_mean,
          .rate = s.turn_rate,
          .one_sided = s.turn_one_sided};
}
}  // namespace

const std::vector<double>& Ahead::days() {
  static const std::vector<double> grid = [] {
    std::vector<double> g;
    for (std::size_t t = 0; t < grid_points; ++t) {
      g.push_back(std::exp(grid_step * static_cast<double>(t)));
    }
    return g;
  }();
  return grid;
}

Ahead::Ahead(const UseForecast& use, double gap, const WearSpreads& spreads, double now, double season_cos,
             double season_sin) {
  for (std::size_t t = 0; t < grid_points; ++t) {
    const UseAhead u = use.between(gap, gap + days()[t]);
    const double log_distance = u.mean + grid_step * static_cast<double>(t);
    at_.push_back({.distance = log_distance, .exposure = log_distance, .variance = u.variance});
  }
  const UseAhead soon = use.between(gap, gap + quarter);
  km_per_day_ = std::exp(soon.mean);
  use_variance_ = soon.variance;
  gap_variance_ = gap >= 1.0 ? use.between(0.0, gap).variance : 0.0;
  turns_ = turns_of(spreads);
  const std::array<Part, 1> parts{{{square(spreads.severity), spreads.severity_days}}};
  add_severity(parts, square(spreads.severity), now, season_cos, season_sin);
}

Ahead::Ahead(const UseModel& use, std::int32_t group, const WearSpreads& spreads, double now,
             double season_cos, double season_sin)
    : km_per_day_(use.middle_distance(group, now, now + quarter) / quarter), by_time_(true) {
  for (const double t : days()) {
    const double log_distance = std::log(use.middle_distance(group, now, now + t));
    at_.push_back({.distance = log_distance, .exposure = log_distance});
  }
  turns_ = turns_of(spreads);
  // Drift and rest of the use are seen in the wear only, as part of the severity of the last weeks.
  const std::array<Part, 3> parts{{{square(spreads.severity), spreads.severity_days},
                                   {use.drift, use.drift_days},
                                   {use.rest, use.rest_days, WearFitOptions{}.knot_days, false}}};
  add_severity(parts, square(spreads.severity) + square(spreads.use_drift), now, season_cos, season_sin);
}

void Ahead::add_severity(std::span<const Part> parts, double now_variance, double now, double season_cos,
                         double season_sin) {
  for (std::size_t t = 0; t < grid_points; ++t) {
    const double span = days()[t];
    double of_mean = 0.0, with_now = 0.0, averaged = 0.0;
    for (const Part& p : parts) {
      const double kept = kept_in_mean(span, p.relaxation);
      of_mean += p.variance * kept;
      with_now +=
          p.variance * mean_decay(0.0, p.known_over, p.relaxation) * mean_decay(0.0, span, p.relaxation);
      // Half the variance that the mean averages out lifts a logarithm; a share of mean 1 falls by its half.
      averaged += p.variance * (p.of_logarithm ? 1.0 - kept : -kept);
    }
    At& at = at_[t];
    at.kept = now_variance > 0.0 ? std::min(with_now / now_variance, 1.0) : 0.0;
    at.severity_variance = std::max(of_mean - at.kept * with_now, 1e-9);
    at.exposure += log_mean_season(season_cos, season_sin, now, now + span) + averaged / 2.0;
  }
}

// Cubic through the four points of the grid that lie about a time (Lagrange); before the first day all is as
// on that day but for the distance, which goes with time.
Ahead::At Ahead::when(double log_days) const {
  if (!(log_days > 0.0)) {
    At at = at_.front();
    at.distance += log_days;
    at.exposure += log_days;
    return at;
  }
  const double place = log_days / grid_step;
  const auto first =
      static_cast<std::size_t>(std::clamp(static_cast<int>(place) - 1, 0, static_cast<int>(grid_points) - 4));
  const double u = place - static_cast<double>(first);
  const double a = -(u - 1.0) * (u - 2.0) * (u - 3.0) / 6.0, b = u * (u - 2.0) * (u - 3.0) / 2.0;
  const double c = -u * (u - 1.0) * (u - 3.0) / 2.0, d = u * (u - 1.0) * (u - 2.0) / 6.0;
  const At *p = &at_[first], *q = p + 1, *r = p + 2, *s = p + 3;
  return {.distance = a * p->distance + b * q->distance + c * r->distance + d * s->distance,
          .exposure = a * p->exposure + b * q->exposure + c * r->exposure + d * s->exposure,
          .kept = a * p->kept + b * q->kept + c * r->kept + d * s->kept,
          .variance = std::max(a * p->variance + b * q->variance + c * r->variance + d * s->variance, 0.0),
          .severity_variance = std::max(a * p->severity_variance + b * q->severity_variance +
                                            c * r->severity_variance + d * s->severity_variance,
                                        0.0)};
}

namespace {
// At the limit is not beyond it: what conversions of one number may differ by does not count.
bool reads_beyond(const ItemState& state, double full, double limit) {
  return state.last_read < limit - 1e-9 * full;
}
}  // namespace

WearCases wear_cases_of(const ItemState& state, double full, double limit, const Ahead& ahead,
                        double exposure_since) {
  const Item item(state, full, limit, ahead, exposure_since);
  const double right = reads_beyond(state, full, limit) ? state.last_right : 0.0;
  WearCases out{.spread = std::sqrt(item.rate_variance)};
  for (std::size_t j = 0; j < wear_cases; ++j) {
    const double rate = std::exp(item.log_rate_of[j]);
    out.exposure[j] = item.left_of[j] / rate;
    out.rate[j] = item.slope_of[j] * rate;
    // The cases in which the last reading is right, evenly among all.
    const auto at = static_cast<double>(j);
    if (std::floor((at + 1.0) * right) > std::floor(at * right)) {
      out.exposure[j] = std::min(out.exposure[j], (state.last_read - limit) / out.rate[j]);
    }
  }
  return out;
}

Passage passage(const ItemState& state, double full, double limit, const Ahead& ahead,
                double exposure_since) {
  const StateAndFull one{&state, full};
  return passage({&one, 1}, limit, ahead, exposure_since);
}

Passage passage(std::span<const StateAndFull> states, double limit, const Ahead& ahead,
                double exposure_since) {
  const auto n = static_cast<double>(states.size());
  std::vector<Item> items;
  items.reserve(states.size());
  Passage out;
  double squares = 0.0;
  for (const auto& [state, full] : states) {
    Item& item = items.emplace_back(*state, full, limit, ahead, exposure_since);
    out.depth += item.depth / n;
    out.rate += item.rate / n;
    squares += (square(item.rate_sd) + square(item.rate)) / n;
    if (reads_beyond(*state, full, limit)) {
      // Whoever judges that reading fails it: the earliest day that is said is now.
      const double there = state->last_right + (1.0 - state->last_right) * item.there;
      item.there = std::max(there, quantile_levels.front());
      out.read_beyond = true;
    }
  }
  out.rate_sd =
      states.size() == 1 ? items.front().rate_sd : std::sqrt(std::max(squares - square(out.rate), 0.0));
  out.rate_per_day = out.rate * ahead.km_per_day();
  out.rate_per_day_sd = out.rate_per_day * std::sqrt(square(out.rate_sd / out.rate) + ahead.use_variance());
  const std::array<double, 7> days = Law(items, ahead, true).quantiles(quantile_levels);
  for (std::size_t q = 0; q < days.size(); ++q) {
    out.days[q] = std::exp(days[q]);
  }
  if (ahead.by_time()) {
    out.distance.fill(std::numeric_limits<double>::quiet_NaN());
    return out;
  }
  const std::array<double, 7> distance = Law(items, ahead, false).quantiles(quantile_levels);
  for (std::size_t q = 0; q < distance.size(); ++q) {
    out.distance[q] =
        std::isinf(distance[q]) ? std::exp(distance[q]) : std::exp(ahead.when(distance[q]).distance);
  }
  return out;
}

}  // namespace wheelend
