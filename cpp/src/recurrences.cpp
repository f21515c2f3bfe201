#include "wheelend/recurrences.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "wheelend/error.hpp"

namespace wheelend {
namespace {

struct Event {
  double time;
  std::int64_t item;
  double count;
  auto operator<=>(const Event&) const = default;
};

std::vector<Event> checked(std::span<const double> start, std::span<const double> end,
                           std::span<const std::int64_t> item, std::span<const double> time,
                           std::span<const double> count) {
  require_same_size(start.size(), end.size(), "end");
  require_same_size(item.size(), time.size(), "time");
  require_same_size(item.size(), count.size(), "count");
  for (std::size_t i = 0; i < start.size(); ++i) {
    if (!(start[i] < end[i]) || std::isinf(start[i]) || std::isinf(end[i])) {
      throw ColumnError("item " + std::to_string(i + 1) + ": expected a start before its end, both finite");
    }
  }
  std::vector<Event> events;
  for (std::size_t i = 0; i < item.size(); ++i) {
    const std::string row = "event " + std::to_string(i + 1) + ": ";
    if (item[i] < 0 || item[i] >= static_cast<std::int64_t>(start.size())) {
      throw ColumnError(row + "there is no item " + std::to_string(item[i]));
    }
    const auto of = static_cast<std::size_t>(item[i]);
    if (!(time[i] > start[of] && time[i] <= end[of])) {
      throw ColumnError(row + "its time lies outside the span over which its item was watched");
    }
    if (!(count[i] >= 0.0) || std::isinf(count[i])) {
      throw ColumnError(row + "expected a count of 0 or more");
    }
    if (count[i] > 0.0) {
      events.push_back({time[i], item[i], count[i]});
    }
  }
  std::sort(events.begin(), events.end());
  return events;
}

}  // namespace

std::vector<MeanCount> mean_cumulative(std::span<const double> start, std::span<const double> end,
                                       std::span<const std::int64_t> item, std::span<const double> time,
                                       std::span<const double> count) {
  const std::vector<Event> events = checked(start, end, item, time, count);
  const auto by = [](std::span<const double> of) {
    std::vector<std::size_t> order(of.size());
    for (std::size_t i = 0; i < order.size(); ++i) {
      order[i] = i;
    }
    std::sort(order.begin(), order.end(), [of](auto a, auto b) { return of[a] < of[b]; });
    return order;
  };
  const std::vector<std::size_t> comes = by(start), goes = by(end);

  // The residual of item i, whose square the variance sums: what it had beyond the mean of those watched,
  // own[i] - (down - down_at[i]). While it is watched it falls with the others, so that only sums are kept.
  std::vector<double> own(start.size(), 0.0), down_at(start.size(), 0.0);
  double down = 0.0, squares = 0.0, sum_watched = 0.0;
  std::int64_t watched = 0;
  std::size_t next_in = 0, next_out = 0;
  const auto residual = [&](std::size_t i) { return own[i] - (down - down_at[i]); };

  std::vector<MeanCount> out;
  double mean = 0.0;
  for (std::size_t first = 0; first < events.size();) {
    const double t = events[first].time;
    for (; next_in < comes.size() && start[comes[next_in]] < t; ++next_in) {
      down_at[comes[next_in]] = down;
      ++watched;
    }
    for (; next_out < goes.size() && end[goes[next_out]] < t; ++next_out) {
      sum_watched -= residual(goes[next_out]);
      --watched;
    }
    std::size_t last = first;
    double here = 0.0;
    for (; last < events.size() && events[last].time == t; ++last) {
      here += events[last].count;
    }
    const auto n = static_cast<double>(watched);
    const double fall = here / (n * n);
    squares += n * fall * fall - 2.0 * fall * sum_watched;
    sum_watched -= n * fall;
    down += fall;
    for (std::size_t e = first; e < last; ++e) {
      const auto i = static_cast<std::size_t>(events[e].item);
      const double rise = events[e].count / n;
      squares += rise * (2.0 * residual(i) + rise);
      sum_watched += rise;
      own[i] += rise;
    }
    mean += here / n;
    out.push_back({t, watched, here, mean, std::sqrt(std::max(squares, 0.0))});
    first = last;
  }
  return out;
}

}  // namespace wheelend
