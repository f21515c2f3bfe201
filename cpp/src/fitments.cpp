#include "wheelend/fitments.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "wheelend/dates.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double steps_of_a_rise =
    2.0;  // of 1/32 in: twice the step, so that rounding alone cannot look like a tire
constexpr double rise_mm = steps_of_a_rise * 0.79375;  // 1/32 in = 0.79375 mm, SP811

void add_depths(const ReadingColumns& r, std::size_t row, std::vector<double>& sum, std::vector<int>& count) {
  if ((r.conflict_at(row) & conflict_depth) != 0) {
    return;
  }
  for (std::size_t g = 0; g < r.grooves.size(); ++g) {
    const double depth = r.grooves[g].at(row);
    if (!std::isnan(depth) && r.has_bar(row, g) && r.is_admissible(row, g)) {
      sum[g] += convert(depth, r.grooves[g].measure, Measure::millimetre);
      ++count[g];
    }
  }
}

// Mean rise over the grooves that both visits read; NaN where there are none.
double rise(const Visit& before, const Visit& after) {
  double sum = 0.0;
  int n = 0;
  for (std::size_t g = 0; g < before.groove_mm.size(); ++g) {
    const double d = after.groove_mm[g] - before.groove_mm[g];
    if (!std::isnan(d)) {
      sum += d;
      ++n;
    }
  }
  return n > 0 ? sum / n : nan;
}

// The next visit with tread that no event or tire number parts from visit i; none: visits.size().
std::size_t next_of_same(const std::vector<Visit>& v, std::size_t i) {
  for (std::size_t j = i + 1; j < v.size(); ++j) {
    if (v[j].event != Event::none || (v[j].tire >= 0 && v[i].tire >= 0 && v[j].tire != v[i].tire)) {
      return v.size();
    }
    if (v[j].has_tread()) {
      return j;
    }
  }
  return v.size();
}

bool is_rise(const std::vector<Visit>& v, std::size_t before, std::size_t here) {
  if (!(rise(v[before], v[here]) >= rise_mm)) {
    return false;
  }
  const std::size_t next = next_of_same(v, here);
  return next == v.size() || rise(v[before], v[next]) >= rise_mm / 2.0;
}

}  // namespace

bool Visit::has_tread() const {
  return std::any_of(groove_mm.begin(), groove_mm.end(), [](double d) { return !std::isnan(d); });
}

std::vector<Visit> visits(const ReadingColumns& r, const RowsByPosition& rows, std::size_t position,
                          std::int32_t as_of) {
  std::vector<Visit> out;
  std::vector<double> sum(r.grooves.size());
  std::vector<int> count(r.grooves.size());
  std::int64_t i = rows.start[position];
  const std::int64_t end = rows.start[position + 1];
  while (i < end) {
    const auto first = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(i)]);
    if (r.day[first] > as_of) {
      break;
    }
    Visit v;
    v.day = r.day[first];
    v.time = static_cast<double>(r.microsecond[first]) / static_cast<double>(microseconds_per_day);
    std::fill(sum.begin(), sum.end(), 0.0);
    std::fill(count.begin(), count.end(), 0);
    for (; i < end; ++i) {
      const auto row = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(i)]);
      if (r.microsecond[row] != r.microsecond[first]) {
        break;
      }
      add_depths(r, row, sum, count);
      v.tire = std::max(v.tire, r.tire_at(row));
      v.event = std::max(v.event, static_cast<Event>(r.event.at(row)));
    }
    for (std::size_t g = 0; g < sum.size(); ++g) {
      v.groove_mm.push_back(count[g] > 0 ? sum[g] / count[g] : nan);
    }
    out.push_back(std::move(v));
  }
  return out;
}

std::vector<Fitment> cut_fitments(const std::vector<Visit>& visits) {
  std::vector<Fitment> out;
  if (visits.empty()) {
    return out;
  }
  Fitment current;
  std::int32_t tire = visits[0].tire;
  std::size_t last_tread = visits[0].has_tread() ? 0 : visits.size();
  current.removed = visits[0].event == Event::removed;
  const auto begin_at = [&](std::size_t i, Begun how) {
    current.last = i;
    out.push_back(current);
    current = {.first = i, .begun = how};
    tire = -1;
    last_tread = visits.size();
  };
  for (std::size_t i = 1; i < visits.size(); ++i) {
    const Visit& v = visits[i];
    if (tire >= 0 && v.tire >= 0 && v.tire != tire) {
      begin_at(i, Begun::tire_number);
    } else if (v.event != Event::none) {
      begin_at(i, Begun::event);
    } else if (v.has_tread() && last_tread < visits.size() && is_rise(visits, last_tread, i)) {
      begin_at(i, Begun::rise);
    }
    if (v.event != Event::none) {
      current.removed = v.event == Event::removed && !v.has_tread();
    } else if (v.has_tread()) {
      current.removed = false;
    }
    tire = v.tire >= 0 ? v.tire : tire;
    last_tread = v.has_tread() ? i : last_tread;
  }
  current.last = visits.size();
  out.push_back(current);
  return out;
}

}  // namespace wheelend
