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
constexpr double rounding_mm = 1e-6;  // a difference of two millimetre doubles must not miss two whole steps
constexpr double rise_mm = steps_of_a_rise * 0.79375 - rounding_mm;  // 1/32 in = 0.79375 mm, SP811

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

// The next visit that read the tire of visit i; none: visits.size().
std::size_t next_of_same(const std::vector<Visit>& v, std::size_t i) {
  for (std::size_t j = i + 1; j < v.size() && v[j - 1].event != Event::removed; ++j) {
    const bool leaves = v[j].event == Event::removed;
    if ((v[j].event != Event::none && !leaves) ||
        (v[j].tire >= 0 && v[i].tire >= 0 && v[j].tire != v[i].tire)) {
      return v.size();
    }
    if (v[j].has_tread()) {
      return j;
    }
  }
  return v.size();
}

// Whether a visit reads deeper, by `least`, than most of the readings before it. One misread among them, low
// or high, does not decide.
bool is_above_most(const std::vector<Visit>& v, const std::vector<std::size_t>& before, std::size_t here,
                   double least) {
  const auto above = std::count_if(before.begin(), before.end(),
                                   [&](std::size_t b) { return rise(v[b], v[here]) >= least; });
  return 2 * static_cast<std::size_t>(above) > before.size();
}

bool is_rise(const std::vector<Visit>& v, const std::vector<std::size_t>& before, std::size_t here) {
  if (!is_above_most(v, before, here, rise_mm)) {
    return false;
  }
  const std::size_t next = next_of_same(v, here);
  return next == v.size() || is_above_most(v, before, next, rise_mm / 2.0);
}

// Of several events at one visit: what came is there now, whatever went.
Event joined(Event a, Event b) {
  if (a == Event::removed || b == Event::removed) {
    const Event other = a == Event::removed ? b : a;
    return other == Event::none ? Event::removed : other;
  }
  return std::max(a, b);
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
  const auto row_at = [&rows](std::int64_t k) {
    return static_cast<std::size_t>(rows.order[static_cast<std::size_t>(k)]);
  };
  std::int64_t i = rows.start[position];
  const std::int64_t end = rows.start[position + 1];
  while (i < end) {
    const std::size_t first = row_at(i);
    if (r.day[first] > as_of) {
      break;
    }
    Visit v;
    v.day = r.day[first];
    v.time = static_cast<double>(r.microsecond[first]) / static_cast<double>(microseconds_per_day);
    std::fill(sum.begin(), sum.end(), 0.0);
    std::fill(count.begin(), count.end(), 0);
    std::int64_t last = i;
    for (; last < end && r.microsecond[row_at(last)] == r.microsecond[first]; ++last) {
      v.event = joined(v.event, static_cast<Event>(r.event.at(row_at(last))));
    }
    for (; i < last; ++i) {
      const std::size_t row = row_at(i);
      if (v.event != Event::removed && static_cast<Event>(r.event.at(row)) == Event::removed) {
        continue;  // of the tire that went
      }
      add_depths(r, row, sum, count);
      v.tire = std::max(v.tire, r.tire_at(row));
      v.reader = std::max(v.reader, r.reader_at(row));
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
  constexpr std::size_t looked_back = 3;
  Fitment current;
  std::int32_t tire = -1;
  std::vector<std::size_t> before;  // the last readings of the fitment
  const auto begin_at = [&](std::size_t i, Begun how) {
    current.last = i;
    out.push_back(current);
    current = {.first = i, .begun = how};
    tire = -1;
    before.clear();
  };
  for (std::size_t i = 0; i < visits.size(); ++i) {
    const Visit& v = visits[i];
    const bool leaves = v.event == Event::removed;
    if (current.removed) {
      begin_at(i, Begun::event);
    } else if (tire >= 0 && v.tire >= 0 && v.tire != tire) {
      begin_at(i, Begun::tire_number);
    } else if (i > 0 && v.event != Event::none && !leaves) {
      begin_at(i, Begun::event);
    } else if (!before.empty() && v.has_tread() && is_rise(visits, before, i)) {
      begin_at(i, Begun::rise);
    }
    current.removed = leaves;
    tire = v.tire >= 0 ? v.tire : tire;
    if (v.has_tread()) {
      before.push_back(i);
      if (before.size() > looked_back) {
        before.erase(before.begin());
      }
    }
  }
  current.last = visits.size();
  out.push_back(current);
  return out;
}

}  // namespace wheelend
