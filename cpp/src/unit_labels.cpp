#include "wheelend/unit_labels.hpp"

#include <cctype>
#include <numeric>
#include <string>

#include "ascii.hpp"
#include "wheelend/error.hpp"

namespace wheelend {

namespace {

// a/b * c/d with the common divisors taken out before multiplying, as doubles (exact below 2^53 for all pairs
// of the table, which a test checks).
void ratio(const MeasureInfo& from, const MeasureInfo& to, double& num, double& den) {
  std::int64_t a = from.numerator, b = from.denominator, c = to.denominator, d = to.numerator;
  const std::int64_t ab = std::gcd(a, b), cd = std::gcd(c, d);
  a /= ab, b /= ab, c /= cd, d /= cd;
  const std::int64_t ad = std::gcd(a, d), cb = std::gcd(c, b);
  a /= ad, d /= ad, c /= cb, b /= cb;
  num = static_cast<double>(a) * static_cast<double>(c);
  den = static_cast<double>(b) * static_cast<double>(d);
}

}  // namespace

std::optional<Measure> find_measure(std::string_view label) {
  if (label.empty()) {
    return std::nullopt;  // yes_no has no words
  }
  for (const MeasureInfo& row : measure_table) {
    if (detail::equal_ignoring_case(row.label, label) || detail::equal_ignoring_case(row.words, label)) {
      return row.measure;
    }
  }
  return std::nullopt;
}

Measure parse_measure(std::string_view label) {
  if (const auto found = find_measure(label)) {
    return *found;
  }
  std::string known;
  for (const MeasureInfo& row : measure_table) {
    known += (known.empty() ? "" : ", ") + std::string(row.label);
  }
  throw MeasureError("unknown measure '" + std::string(label) + "': write one of " + known);
}

Conversion::Conversion(Measure from, Measure to) {
  const MeasureInfo& a = info(from);
  const MeasureInfo& b = info(to);
  if (a.dimension != b.dimension) {
    throw MeasureError("cannot express '" + std::string(a.label) + "' in '" + std::string(b.label) +
                       "': they measure different things");
  }
  same_ = from == to;
  affine_ = a.dimension == Dimension::temperature && !same_;
  ratio(a, b, num_, den_);
  if (affine_) {
    // One fraction of whole numbers, (value * num + offset) / den, so that 32 degF is 0 degC and not 4e-14.
    std::int64_t n = a.numerator * b.denominator, d = a.denominator * b.numerator;
    std::int64_t on =
        (a.offset_numerator * b.offset_denominator - b.offset_numerator * a.offset_denominator) *
        b.denominator;
    std::int64_t od = a.offset_denominator * b.offset_denominator * b.numerator;
    const std::int64_t g = std::gcd(n, d), og = std::gcd(on, od);
    n /= g, d /= g, on /= og, od /= og;
    const std::int64_t common = std::lcm(d, od);
    num_ = static_cast<double>(n * (common / d));
    offset_ = static_cast<double>(on * (common / od));
    den_ = static_cast<double>(common);
  }
}

double convert(double value, Measure from, Measure to) { return Conversion(from, to)(value); }

}  // namespace wheelend
