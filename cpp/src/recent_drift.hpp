// How fast a difference that is read now and then drifts at present: where its drift changed, only the
// stretch since then counts. Private to the core.
#pragma once

#include <limits>
#include <vector>

namespace wheelend {

// One reading of it; what was done to it in between and at it.
struct SeenDifference {
  double day = 0.0, found = 0.0;
  double left = 0.0;    // after what was put in: `found` where nothing was
  double put_in = 0.0;  // known changes since the reading before
};

// Before anything was read. Spreads are standard deviations.
struct DriftPrior {
  double reading = 1.0;          // of one difference
  double per_day = 0.1;          // of a drift
  double changes_per_day = 0.0;  // of the drift
  double step = 8.0;             // size of changes that are no drift and that nobody wrote down
};

struct RecentDrift {
  double now = 0.0;                           // the difference as it was left, on the day asked for
  double drift = 0.0, low = 0.0, high = 0.0;  // per day: median and interval
  // Day from which on it drifts so; NaN: it more likely did all the time.
  double since = std::numeric_limits<double>::quiet_NaN();
  double stepped = 0.0;  // probability that there was a step that nobody wrote down
};

// Readings in the order of days, at least `least_visits` of them.
inline constexpr std::size_t least_visits = 3;
RecentDrift recent_drift(const std::vector<SeenDifference>& seen, double day, double level,
                         const DriftPrior& prior);

}  // namespace wheelend
