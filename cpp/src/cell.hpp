// A value as it was written, and where: what verdicts compare. Private to the core.
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <string_view>

#include "wheelend/exact.hpp"
#include "wheelend/facts.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

struct Cell {
  double value = std::numeric_limits<double>::quiet_NaN();
  Measure measure = Measure::thirty_seconds;
  std::string_view text = {};  // only where the double does not keep the decimal
  std::int8_t groove = -1;
  std::int32_t place = -1;

  [[nodiscard]] bool missing() const { return std::isnan(value); }
  [[nodiscard]] Term term() const { return text.empty() ? Term::of(value) : Term::of(text); }
};

inline Cell cell_of(const NumberColumn& column, std::int64_t row) {
  return {.value = column.at(static_cast<std::size_t>(row)),
          .measure = column.measure,
          .text = column.text_at(row)};
}

inline Cell cell_of(const FactCell& fact) { return cell_of(*fact.column, fact.index); }

// A bound. Up to fifteen digits a double keeps the decimal, since no two such decimals share one (IEEE 754
// binary64); then doubles may be compared, which is faster.
inline Cell cell_of(const Bound& bound) {
  constexpr std::size_t digits_kept = 15;
  const bool kept = bound.text.size() <= digits_kept;
  return {.value = number_of(bound),
          .measure = bound.measure,
          .text = kept ? std::string_view() : std::string_view(bound.text)};
}

// Degrees above absolute zero: scales with different zeros have no order as products.
inline Term above_absolute_zero(const Cell& cell) {
  const MeasureInfo& scale = info(cell.measure);
  const double zero = static_cast<double>(scale.offset_numerator * scale.denominator) /
                      static_cast<double>(scale.offset_denominator * scale.numerator);
  return Term::of(on_nine_places(cell.value + zero));
}

inline std::strong_ordering order(const Cell& a, const Cell& b) {
  if (a.measure == b.measure && a.text.empty() &&
      b.text.empty()) {  // doubles are ordered as their decimals are
    return a.value < b.value
               ? std::strong_ordering::less
               : (a.value > b.value ? std::strong_ordering::greater : std::strong_ordering::equal);
  }
  const bool scales = a.measure != b.measure && info(a.measure).dimension == Dimension::temperature;
  const std::array left{scales ? above_absolute_zero(a) : a.term(), Term::of(a.measure)};
  const std::array right{scales ? above_absolute_zero(b) : b.term(), Term::of(b.measure)};
  return compare_products(left, right);
}

inline bool less(const Cell& a, const Cell& b) { return order(a, b) < 0; }

}  // namespace wheelend
