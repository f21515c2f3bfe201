// What was replaced, set anew or repaired at one place, and which readings are slips: the courses that the
// readings leave open, by their odds. Private to the core.
#pragma once

#include <cstddef>
#include <functional>
#include <limits>
#include <span>
#include <vector>

#include "slow_series.hpp"
#include "tire_chain.hpp"

namespace wheelend {

// What is known of one place, on the scale of `SlowScale`.
struct SlowPlace {
  std::function<double(double, double)> wear;               // typical, from one time to another
  double full = 0.0, full_spread = 0.0;                     // when set anew; spread 0: only about known
  double limit = std::numeric_limits<double>::quiet_NaN();  // NaN: not known
};

struct SlowCourse {
  Chain chain;
  double weight = 1.0;  // all together 1
};

// The likelier half of a place's courses comes first by its last beginning: those that share the likeliest
// one, the likeliest of them first of all.
std::vector<SlowCourse> slow_courses(std::span<const SlowReading> readings, const SlowPlace& place);

// Where the last stretch of a chain begins.
std::size_t last_begin(const Chain& chain);

}  // namespace wheelend
