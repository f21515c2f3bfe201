// How often a reading is a slip, and how often what is read became another thing unsaid. Common practice, no
// source.
#pragma once

#include <algorithm>

namespace wheelend {

inline constexpr double slip_share = 0.02;               // readings that are slips
inline constexpr double changes_per_day = 1.0 / 4000.0;  // a worn tire from elsewhere, a part that broke
inline constexpr double change_at_any_visit = 0.001;     // besides
inline constexpr double range_mm = 12.0;                 // over which a slip or another depth may be anything

// That what is there is another thing than so many days before, with no word about it.
inline double chance_of_change(double days) {
  return std::min(changes_per_day * days + change_at_any_visit, 0.5);
}

}  // namespace wheelend
