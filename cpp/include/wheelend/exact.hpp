// The one exact comparator. Products of decimals and ratios are compared as rationals: no slack, no rounding.
//
// A reading is the decimal that was written. A double stands for its shortest decimal (the fewest digits that
// read back as the same double), so 3.175 means 3175/1000 and not the nearest binary fraction. Where two
// products differ by more than doubles can be wrong, doubles decide; otherwise the products are formed
// exactly.
#pragma once

#include <compare>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "wheelend/unit_labels.hpp"

namespace wheelend {

// One factor of a product.
struct Term {
  enum class Form : std::uint8_t { number, text, ratio } form;
  double number = 0.0;         // number: stands for its shortest decimal
  std::string_view text = {};  // text: a decimal as written, sign, point and exponent allowed
  std::int64_t numerator = 1;  // ratio
  std::int64_t denominator = 1;

  static Term of(double v) { return {.form = Form::number, .number = v}; }
  static Term of(std::string_view s) { return {.form = Form::text, .text = s}; }
  static Term of(std::int64_t n, std::int64_t d) {
    return {.form = Form::ratio, .numerator = n, .denominator = d};
  }
  // Factor of a measure without offset.
  static Term of(Measure m) { return of(info(m).numerator, info(m).denominator); }
};

// Sign of (product of left) - (product of right). Numbers must be finite; a text must be a decimal.
// Throws ColumnError otherwise.
std::strong_ordering compare_products(std::span<const Term> left, std::span<const Term> right);

// The shortest decimal of a double: the fewest digits that read back as the same double ("3.175", "1e-05").
std::string shortest_decimal(double v);

// True when the decimal text has the same value as the shortest decimal of the double v.
bool is_shortest_decimal(std::string_view text, double v);

}  // namespace wheelend
