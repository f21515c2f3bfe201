#include "wheelend/use.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "wheelend/dates.hpp"
#include "wheelend/line_fit.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
// Two drivers taking turns reach about 2200 km (1400 mi) in a day: common practice, no source.
constexpr double most_km_per_day = 2500.0;
constexpr double window_days = 365.0;   // a year, so that a season does not pass for a habit
constexpr double shortest_days = 14.0;  // two working weeks: below it one trip decides
constexpr int most_blocks = 12;
// How many readings a break in the odometer may span; bounds the work where all readings of a file carry one
// unit number.
constexpr std::size_t look_back = 500;
constexpr double blocks_ahead = 3.0;  // months over which the future mean is taken

struct Point {
  double day, km;
  friend bool operator==(const Point&, const Point&) = default;
};

bool can_follow(const Point& a, const Point& b) {
  return b.km >= a.km && b.km - a.km <= most_km_per_day * (b.day - a.day + 1.0);
}

double day_of(const ReadingColumns& r, std::size_t row) {
  return static_cast<double>(r.microsecond[row]) / static_cast<double>(microseconds_per_day);
}

// Of two odometers for one key neither wins; their disagreement has a note of its own.
bool has_odometer(const ReadingColumns& r, std::size_t row) {
  return !std::isnan(r.odometer.at(row)) && (r.conflict_at(row) & conflict_odometer) == 0;
}

std::vector<std::vector<Point>> points_by_unit(const ReadingColumns& r, std::span<const std::int32_t> unit_of,
                                               std::size_t units, std::int32_t as_of) {
  std::vector<std::vector<Point>> points(units);
  const Conversion to_km(r.odometer.measure, Measure::kilometre);
  for (std::size_t i = 0; i < r.size(); ++i) {
    if (r.position[i] >= 0 && r.day[i] <= as_of && has_odometer(r, i)) {
      points[static_cast<std::size_t>(unit_of[static_cast<std::size_t>(r.position[i])])].push_back(
          {day_of(r, i), to_km(r.odometer.at(i))});
    }
  }
  for (auto& p : points) {
    std::sort(p.begin(), p.end(),
              [](const Point& a, const Point& b) { return a.day != b.day ? a.day < b.day : a.km < b.km; });
    p.erase(std::unique(p.begin(), p.end()), p.end());
  }
  return points;
}

// The longest chain of points that can follow one another; of two as long, the one that ends later.
std::vector<Point> longest_chain(const std::vector<Point>& p) {
  if (std::adjacent_find(p.begin(), p.end(),
                         [](const Point& a, const Point& b) { return !can_follow(a, b); }) == p.end()) {
    return p;
  }
  std::vector<std::size_t> length(p.size(), 1), before(p.size(), p.size());
  std::size_t best = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    for (std::size_t j = i > look_back ? i - look_back : 0; j < i; ++j) {
      if (can_follow(p[j], p[i]) && length[j] + 1 > length[i]) {
        length[i] = length[j] + 1;
        before[i] = j;
      }
    }
    if (length[i] >= length[best]) {
      best = i;
    }
  }
  std::vector<Point> chain;
  for (std::size_t i = best; i < p.size(); i = before[i]) {
    chain.push_back(p[i]);
  }
  std::reverse(chain.begin(), chain.end());
  return chain;
}

// A reading at either end of a chain that nothing confirms, and that asks for several times the use between
// the others, is taken for a slip of a digit.
void drop_unlikely_ends(std::vector<Point>& chain) {
  constexpr double times = 4.0;  // a busy month is not four times the middle one: common practice, no source
  constexpr std::size_t enough = 5;
  const auto rate = [&chain](std::size_t i) {
    return (chain[i].km - chain[i - 1].km) / std::max(chain[i].day - chain[i - 1].day, 1.0);
  };
  if (chain.size() < enough) {
    return;
  }
  std::vector<double> rates;
  for (std::size_t i = 1; i < chain.size(); ++i) {
    rates.push_back(rate(i));
  }
  const double most = times * median(rates);
  if (most > 0.0 && rate(chain.size() - 1) > most) {
    chain.pop_back();
  }
  if (most > 0.0 && rate(1) > most) {
    chain.erase(chain.begin());
  }
}

// Mean distance a day over the last year, and how far the mean of the coming months may lie from it.
void learn_use(Track& t) {
  t.km_per_day = t.km_per_day_se = nan;
  if (!t.any() || t.day.back() - t.day.front() < shortest_days) {
    return;
  }
  const double end = t.day.back();
  const double begin = std::max(t.day.front(), end - window_days);
  // Between two readings the track is a straight line, whose months are all alike: they are one block.
  const auto stretches = t.day.end() - std::upper_bound(t.day.begin(), t.day.end(), begin);
  const int months = static_cast<int>((end - begin) / (window_days / most_blocks));
  const int blocks = std::clamp(std::min(months, static_cast<int>(stretches)), 1, most_blocks);
  std::vector<double> rates;
  for (int b = 0; b < blocks; ++b) {
    const double width = (end - begin) / blocks;
    const double from = begin + b * width;
    rates.push_back((t.at(from + width, 0.0) - t.at(from, 0.0)) / width);
  }
  const Moments m = moments(rates);
  t.km_per_day = m.mean;
  constexpr double unknown_share = 0.3;  // one block shows no spread; a third is common practice, no source
  const double sd = blocks > 1 ? m.sd : unknown_share * m.mean;
  t.km_per_day_se = sd * forecast_error_share(blocks);
  t.blocks = blocks;
}

}  // namespace

double forecast_error_share(int blocks) { return std::sqrt(1.0 / blocks + 1.0 / blocks_ahead); }

double Track::at(double when, double km_per_day_outside) const {
  if (when <= day.front()) {
    return km.front() - (day.front() - when) * km_per_day_outside;
  }
  if (when >= day.back()) {
    return km.back() + (when - day.back()) * km_per_day_outside;
  }
  const auto after = static_cast<std::size_t>(std::lower_bound(day.begin(), day.end(), when) - day.begin());
  if (day[after] == when) {
    return km[after];
  }
  const double share = (when - day[after - 1]) / (day[after] - day[after - 1]);
  return km[after - 1] + share * (km[after] - km[after - 1]);
}

std::vector<Track> odometer_tracks(const ReadingColumns& readings, std::span<const std::int32_t> unit_of,
                                   std::size_t units, std::int32_t as_of) {
  std::vector<Track> tracks(units);
  if (!readings.odometer.given()) {
    return tracks;
  }
  const auto points = points_by_unit(readings, unit_of, units, as_of);
  for (std::size_t u = 0; u < units; ++u) {
    std::vector<Point> chain = longest_chain(points[u]);
    drop_unlikely_ends(chain);
    for (const Point& p : chain) {
      tracks[u].day.push_back(p.day);
      tracks[u].km.push_back(p.km);
    }
    learn_use(tracks[u]);
  }
  return tracks;
}

std::vector<std::uint8_t> odometers_out_of_line(const ReadingColumns& readings,
                                                std::span<const std::int32_t> unit_of, std::size_t units) {
  std::vector<std::uint8_t> out(readings.size(), 0);
  if (!readings.odometer.given()) {
    return out;
  }
  const auto points = points_by_unit(readings, unit_of, units, std::numeric_limits<std::int32_t>::max());
  std::vector<std::vector<Point>> chains(units);
  for (std::size_t u = 0; u < units; ++u) {
    chains[u] = longest_chain(points[u]);
  }
  const Conversion to_km(readings.odometer.measure, Measure::kilometre);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (readings.position[i] < 0 || !has_odometer(readings, i)) {
      continue;
    }
    const Point here{day_of(readings, i), to_km(readings.odometer.at(i))};
    const auto& chain =
        chains[static_cast<std::size_t>(unit_of[static_cast<std::size_t>(readings.position[i])])];
    const bool kept = std::binary_search(
        chain.begin(), chain.end(), here,
        [](const Point& a, const Point& b) { return a.day != b.day ? a.day < b.day : a.km < b.km; });
    out[i] = kept ? std::uint8_t{0} : std::uint8_t{1};
  }
  return out;
}

}  // namespace wheelend
