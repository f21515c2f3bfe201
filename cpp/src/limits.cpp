#include "wheelend/limits.hpp"

#include <charconv>
#include <cmath>
#include <limits>

#include "wheelend/error.hpp"

namespace wheelend {

namespace {

constexpr Applies both(Applies a, Applies b) {
  if (a == Applies::no || b == Applies::no) {
    return Applies::no;
  }
  return a == Applies::unknown || b == Applies::unknown ? Applies::unknown : Applies::yes;
}

constexpr Applies as_applies(bool b) { return b ? Applies::yes : Applies::no; }

Applies kind_applies(const LimitRow& row, const PositionFacts& p) {
  if (row.kinds == 0) {
    return Applies::yes;
  }
  return p.kind < 0 ? Applies::unknown : as_applies(((row.kinds >> p.kind) & 1U) != 0);
}

Applies wheels_apply(const LimitRow& row, const PositionFacts& p) {
  switch (row.wheels) {
    case Wheels::front:
      if (p.axle != 1) {
        return Applies::no;
      }
      return p.kind < 0 ? Applies::unknown : as_applies(is_front(p));
    case Wheels::steering:
      return p.kind < 0 || p.role < 0 ? Applies::unknown : as_applies(is_power_unit_steering(p));
    case Wheels::any:
      break;
  }
  return Applies::yes;
}

}  // namespace

double number_of(const Bound& bound) {
  double v = std::numeric_limits<double>::quiet_NaN();
  const char* last = bound.text.data() + bound.text.size();
  const auto [end, error] = std::from_chars(bound.text.data(), last, v);
  if (error != std::errc() || end != last || !std::isfinite(v)) {
    throw LimitError("bound '" + bound.text + "' is not a decimal number");
  }
  return v;
}

Applies applies(const std::vector<LimitRow>& rows, std::size_t i, const PositionFacts& position) {
  const LimitRow& row = rows[i];
  Applies result = both(kind_applies(row, position), wheels_apply(row, position));
  for (const std::int32_t other : row.except) {
    const Applies there = applies(rows, static_cast<std::size_t>(other), position);
    result =
        both(result, there == Applies::yes ? Applies::no : (there == Applies::no ? Applies::yes : there));
  }
  return result;
}

}  // namespace wheelend
