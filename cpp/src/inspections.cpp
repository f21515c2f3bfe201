#include "wheelend/inspections.hpp"

#include <algorithm>
#include <cmath>

#include "wheelend/error.hpp"

namespace wheelend {

namespace {

// Missing sorts first, so that the order is total.
int compare_cells(double a, double b) {
  if (std::isnan(a) || std::isnan(b)) {
    return static_cast<int>(std::isnan(b)) - static_cast<int>(std::isnan(a));
  }
  return a < b ? -1 : (a > b ? 1 : 0);
}

std::uint64_t bits_at(std::span<const std::uint64_t> bits, std::size_t i) {
  return bits.empty() ? 0 : bits[i];
}

// Every cell that a result may depend on takes part: rows that tie here are the same reading.
bool earlier(const ReadingColumns& r, std::size_t a, std::size_t b) {
  if (r.microsecond[a] != r.microsecond[b]) {
    return r.microsecond[a] < r.microsecond[b];
  }
  if (r.place_at(a) != r.place_at(b)) {
    return r.place_at(a) < r.place_at(b);
  }
  for (const NumberColumn& groove : r.grooves) {
    if (const int c = compare_cells(groove.at(a), groove.at(b)); c != 0) {
      return c < 0;
    }
  }
  for (const NumberColumn* column : {&r.pressure, &r.inflated_to, &r.odometer, &r.speed_last_hour}) {
    if (const int c = compare_cells(column->at(a), column->at(b)); c != 0) {
      return c < 0;
    }
  }
  if (r.tire_at(a) != r.tire_at(b)) {
    return r.tire_at(a) < r.tire_at(b);
  }
  if (r.event.at(a) != r.event.at(b)) {
    return r.event.at(a) < r.event.at(b);
  }
  if (r.warm.at(a) != r.warm.at(b)) {
    return r.warm.at(a) < r.warm.at(b);
  }
  return std::pair(bits_at(r.barred, a), bits_at(r.inadmissible, a)) <
         std::pair(bits_at(r.barred, b), bits_at(r.inadmissible, b));
}

bool disagree(const NumberColumn& column, std::span<const std::int64_t> group) {
  double seen = std::numeric_limits<double>::quiet_NaN();
  for (const std::int64_t row : group) {
    const double v = column.at(static_cast<std::size_t>(row));
    if (std::isnan(v)) {
      continue;
    }
    if (!std::isnan(seen) && v != seen) {
      return true;
    }
    seen = v;
  }
  return false;
}

bool same_cell(double a, double b) { return a == b || (std::isnan(a) && std::isnan(b)); }

bool same_row(const ReadingColumns& r, std::size_t a, std::size_t b) {
  for (const NumberColumn& groove : r.grooves) {
    if (!same_cell(groove.at(a), groove.at(b))) {
      return false;
    }
  }
  for (const NumberColumn* c : {&r.pressure, &r.inflated_to, &r.odometer, &r.speed_last_hour}) {
    if (!same_cell(c->at(a), c->at(b))) {
      return false;
    }
  }
  return r.tire_at(a) == r.tire_at(b) && r.event.at(a) == r.event.at(b) && r.warm.at(a) == r.warm.at(b) &&
         bits_at(r.barred, a) == bits_at(r.barred, b) &&
         bits_at(r.inadmissible, a) == bits_at(r.inadmissible, b);
}

// `group`: rows of one key in the order of earlier(), where rows that say the same lie side by side.
void mark_repeats(const ReadingColumns& r, std::span<const std::int64_t> group, Repeats& out) {
  std::uint8_t conflict = 0;
  for (const NumberColumn& groove : r.grooves) {
    conflict |= disagree(groove, group) ? conflict_depth : std::uint8_t{0};
  }
  conflict |= disagree(r.pressure, group) ? conflict_pressure : std::uint8_t{0};
  conflict |= disagree(r.odometer, group) ? conflict_odometer : std::uint8_t{0};
  const std::int64_t first = *std::min_element(group.begin(), group.end());
  for (std::size_t i = 0; i < group.size();) {
    std::size_t j = i + 1;
    std::size_t least = i;  // of the rows that say the same, the first in the table stands for all
    while (j < group.size() &&
           same_row(r, static_cast<std::size_t>(group[j]), static_cast<std::size_t>(group[i]))) {
      least = group[j] < group[least] ? j : least;
      ++j;
    }
    for (std::size_t k = i; k < j; ++k) {
      const auto row = static_cast<std::size_t>(group[k]);
      out.conflict[row] = conflict;
      out.first[row] = group[k] == first ? -1 : first;
      out.identical[row] = k == least ? std::uint8_t{0} : std::uint8_t{1};
    }
    i = j;
  }
}

}  // namespace

std::string_view NumberColumn::text_at(std::int64_t i) const {
  const auto found = std::lower_bound(long_texts.begin(), long_texts.end(), i,
                                      [](const auto& cell, std::int64_t row) { return cell.first < row; });
  return found != long_texts.end() && found->first == i ? std::string_view(found->second)
                                                        : std::string_view();
}

RowsByPosition rows_by_position(const ReadingColumns& readings, std::size_t positions) {
  RowsByPosition out;
  out.start.assign(positions + 1, 0);
  for (const std::int32_t p : readings.position) {
    if (p >= static_cast<std::int32_t>(positions)) {
      throw ColumnError("a reading names a position that is not there");
    }
    if (p >= 0) {
      ++out.start[static_cast<std::size_t>(p) + 1];
    }
  }
  for (std::size_t p = 0; p < positions; ++p) {
    out.start[p + 1] += out.start[p];
  }
  out.order.resize(static_cast<std::size_t>(out.start[positions]));
  std::vector<std::int64_t> next(out.start.begin(), out.start.end() - 1);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (const std::int32_t p = readings.position[i]; p >= 0) {
      out.order[static_cast<std::size_t>(next[static_cast<std::size_t>(p)]++)] = static_cast<std::int64_t>(i);
    }
  }
  const auto before = [&readings](std::int64_t a, std::int64_t b) {
    return earlier(readings, static_cast<std::size_t>(a), static_cast<std::size_t>(b));
  };
  for (std::size_t p = 0; p < positions; ++p) {
    const auto first = out.order.begin() + out.start[p];
    const auto last = out.order.begin() + out.start[p + 1];
    if (!std::is_sorted(first, last, before)) {
      std::stable_sort(first, last, before);
    }
  }
  return out;
}

bool tire_changed(const ReadingColumns& readings, const RowsByPosition& rows, std::int64_t first,
                  std::int64_t later, std::int64_t end) {
  const auto row_at = [&rows](std::int64_t i) {
    return static_cast<std::size_t>(rows.order[static_cast<std::size_t>(i)]);
  };
  std::int32_t tire = -1;
  for (std::int64_t i = first; i < later; ++i) {
    tire = std::max(tire, readings.tire_at(row_at(i)));
  }
  for (std::int64_t i = later; i < end; ++i) {
    const std::int32_t now = readings.tire_at(row_at(i));
    if (readings.event.at(row_at(i)) >= 0 || (tire >= 0 && now >= 0 && now != tire)) {
      return true;
    }
  }
  return false;
}

FactCell tire_fact(const ReadingColumns& readings, std::size_t row, const NumberColumn& of_tire,
                   const NumberColumn& of_position) {
  const std::int32_t tire = readings.tire_at(row);
  if (tire >= 0 && !std::isnan(of_tire.at(static_cast<std::size_t>(tire)))) {
    return {&of_tire, tire};
  }
  return {&of_position, readings.position[row]};
}

Repeats find_repeats(const ReadingColumns& r, std::size_t positions) {
  Repeats out;
  out.first.assign(r.size(), -1);
  out.conflict.assign(r.size(), 0);
  out.identical.assign(r.size(), 0);
  const RowsByPosition rows = rows_by_position(r, positions);
  for (std::size_t p = 0; p < positions; ++p) {
    for (std::int64_t i = rows.start[p]; i < rows.start[p + 1];) {
      std::int64_t j = i + 1;
      const auto row = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(i)]);
      while (j < rows.start[p + 1]) {
        const auto other = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(j)]);
        if (r.microsecond[other] != r.microsecond[row] || r.place_at(other) != r.place_at(row)) {
          break;
        }
        ++j;
      }
      if (j - i > 1) {
        const std::span<const std::int64_t> group(rows.order.data() + i, static_cast<std::size_t>(j - i));
        mark_repeats(r, group, out);
      }
      i = j;
    }
  }
  return out;
}

}  // namespace wheelend
