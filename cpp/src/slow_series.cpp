#include "slow_series.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "wheelend/air_loss.hpp"
#include "wheelend/dates.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

double number_in(const NumberColumn& column, std::size_t row, Measure measure) {
  const double value = column.at(row);  // a column that was not given has no measure either
  return std::isnan(value) ? nan : convert(value, column.measure, measure);
}

// Loss per minute, brought to the starting pressure that is asked for.
double loss_of(const WheelendColumns& w, std::size_t row, const SlowQuantity& of) {
  const double start = number_in(w.start, row, Measure::psi), given = w.value[row];
  double loss;
  if (!std::isnan(given)) {
    loss = convert(given, static_cast<Measure>(w.measure[row]), Measure::psi_per_minute);
    if (!std::isnan(start) && !std::isnan(of.start_psi)) {
      loss = loss_per_minute_at(of.start_psi, start, loss);
    }
  } else {
    const double end = number_in(w.end, row, Measure::psi), before = number_in(w.before, row, Measure::psi);
    const double minutes = number_in(w.duration, row, Measure::second) / 60.0;
    if (std::isnan(start) || std::isnan(end) || !(minutes > 0.0) || before <= start) {
      return nan;  // not timed, or with the drop of the application in it
    }
    loss = std::isnan(of.start_psi) ? (start - end) / minutes
                                    : loss_per_minute_at(of.start_psi, start, end, minutes);
  }
  return convert(loss, Measure::psi_per_minute, of.measure);
}

double value_of(const WheelendColumns& w, std::size_t row, const SlowQuantity& of) {
  if (of.statistic == Statistic::loss_rate) {
    return loss_of(w, row, of);
  }
  return std::isnan(w.value[row]) ? nan
                                  : convert(w.value[row], static_cast<Measure>(w.measure[row]), of.measure);
}

}  // namespace

std::vector<SlowSeries> slow_series(const WheelendColumns& w, std::span<const std::int32_t> unit_of,
                                    const SlowQuantity& of, std::int32_t as_of) {
  struct Row {
    std::size_t at;
    double value;
  };
  std::vector<Row> rows;
  for (std::size_t i = 0; i < w.size(); ++i) {
    if (w.quantity[i] == of.quantity && w.day[i] <= as_of) {
      if (const double value = value_of(w, i, of); !std::isnan(value)) {
        rows.push_back({i, value});
      }
    }
  }
  const auto place = [&](const Row& r) {
    return std::tuple(unit_of[static_cast<std::size_t>(w.position[r.at])], w.axle[r.at], w.side[r.at],
                      w.dual[r.at], w.place_at(r.at));
  };
  std::sort(rows.begin(), rows.end(), [&](const Row& a, const Row& b) {
    return std::tuple(place(a), w.microsecond[a.at], a.value, a.at) <
           std::tuple(place(b), w.microsecond[b.at], b.value, b.at);
  });
  const SlowScale scale(of);
  std::vector<SlowSeries> out;
  for (std::size_t i = 0; i < rows.size();) {
    SlowSeries series;
    std::tie(series.unit, series.axle, series.side, series.dual, series.place) = place(rows[i]);
    const std::size_t first = i;
    while (i < rows.size() && place(rows[i]) == place(rows[first])) {
      std::size_t same = i;
      while (same < rows.size() && place(rows[same]) == place(rows[first]) &&
             w.microsecond[rows[same].at] == w.microsecond[rows[i].at]) {
        ++same;
      }
      if (rows[same - 1].value == rows[i].value) {
        const std::size_t at = rows[i].at;
        series.readings.push_back(
            {.day = w.day[at],
             .time = static_cast<double>(w.microsecond[at]) / static_cast<double>(microseconds_per_day),
             .left = scale.left(rows[i].value),
             .value = rows[i].value,
             .row = static_cast<std::int64_t>(at)});
      }
      i = same;
    }
    if (!series.readings.empty()) {
      out.push_back(std::move(series));
    }
  }
  return out;
}

}  // namespace wheelend
