// Visits of a position: what was read of one tire at one time.
#include <algorithm>
#include <cmath>
#include <limits>

#include "wheelend/dates.hpp"
#include "wheelend/fitments.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
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

}  // namespace wheelend
