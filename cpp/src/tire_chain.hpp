// The readings of one position as the likeliest chain of tires.
#pragma once

#include <functional>
#include <limits>
#include <vector>

#include "wheelend/fitments.hpp"

namespace wheelend {

// What is known of wear and of reading at one position.
struct PlaceFacts {
  std::function<double(double, double)> wear_mm;               // typical, from one time to another
  double full_mm = 0.0, full_spread_mm = 0.0;                  // of a new tire; spread 0: only about known
  double limit_mm = std::numeric_limits<double>::quiet_NaN();  // depth at which tires are due; NaN: not known
  double level_spread_mm = 0.4;                                // of the middle depth of one visit
  std::function<double(double)> bias_mm;                       // of a visit at a time; NaN: it does not count
  // Whether the tires of the unit seem to have changed places at a visit, none of them being new.
  std::function<bool(double)> rotated;
};

// A visit of the chain at which another tire begins.
struct Cut {
  std::size_t visit = 0;
  Begun begun = Begun::rise;
  bool as_new = false;
  double confidence = 1.0;
};

struct Chain {
  std::vector<Cut> cuts;       // in the order of visits
  std::vector<bool> believed;  // by visit: read, and not taken for a slip
};

// The middle depth of a visit; NaN: not read.
double level_of(const Visit& visit);
// Middle of what the grooves that both visits read differ by; where they share none, of their levels.
double level_change(const Visit& before, const Visit& after);

Chain likeliest_chain(const std::vector<Visit>& visits, const PlaceFacts& facts);

}  // namespace wheelend
