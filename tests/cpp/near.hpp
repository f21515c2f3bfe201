// Closeness, stated once for all tests.
//
// A number is near when it differs from the expected one by no more than the LARGER of
//   relative * |expected|   and   absolute.
// The larger and not the sum, so that neither quietly widens the other; both default to 0, so a test that
// names no tolerance asks for the same double. NaN is near nothing.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace wheelend::test {

struct Tolerance {
  double relative = 0.0;
  double absolute = 0.0;
};

// Half a unit of the last of `places` decimals: how far a printed number may lie from the one it was rounded
// from.
inline Tolerance printed_to(int places) { return {.absolute = 0.5 * std::pow(10.0, -places)}; }

// n roundings of a double on the way, each of at most half a unit in the last place.
constexpr Tolerance roundings(int n) { return {.relative = n * std::numeric_limits<double>::epsilon() / 2}; }

inline testing::AssertionResult near(double actual, double expected, Tolerance tolerance = {}) {
  const double allowed = std::max(tolerance.relative * std::abs(expected), tolerance.absolute);
  const double off = std::abs(actual - expected);
  if (off <= allowed) {
    return testing::AssertionSuccess();
  }
  return testing::AssertionFailure() << testing::PrintToString(actual) << " is off "
                                     << testing::PrintToString(expected) << " by " << off << ", allowed are "
                                     << allowed;
}

}  // namespace wheelend::test
