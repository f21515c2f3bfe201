// How a fleet takes tires off, learned from its record: the depth at which it pulls, by role, tires that go
// along with their mates, and tires lost early (damage). Plain doubles.
//
// Model of a tire that was read at depth d above its limit and next looked for `days` later: it is pulled
// with the chance Phi((pull - d) / sd); if not, it is lost by damage with the chance 1 - exp(-hazard days);
// if not, and its mate was taken off worn, it goes along with the chance with_mate. A tire still there has
// passed all three: so tires that are still running count as they should (censoring).
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace wheelend {

// A tire between two looks.
struct TireLook {
  std::int32_t role = 0;
  double depth = 0.0;  // of the shallowest groove above the limit at the first look
  double days = 0.0;   // to the second
  bool removed = false;
  double mate_depth = 0.0;  // the same of its mate; NaN: it has none, or it was not looked at
  bool mate_removed = false;
};

struct RemovalHabits {
  std::vector<double> pull, pull_se;  // by role, above the limit
  double sd = 0.0;
  double hazard = 0.0;   // of damage, a day
  double damages = 0.0;  // expected among the removals
  double with_mate = 0.0;
  std::vector<double> removals;  // by role
};

// By expectation and maximisation (Dempster, Laird, Rubin 1977), with what is believed beforehand counting as
// a few tires. `roles`: how many there are.
RemovalHabits learn_removals(std::span<const TireLook> looks, std::size_t roles);

}  // namespace wheelend
