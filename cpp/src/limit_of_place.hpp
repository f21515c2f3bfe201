// The limit that a quantity of the wheel-end readings is followed to at a place. Private to the core.
#pragma once

#include <vector>

#include "verdict_writer.hpp"
#include "wheelend/slow_wear.hpp"

namespace wheelend {

struct PlaceLimit {
  double value = std::numeric_limits<double>::quiet_NaN();  // in the quantity's measure
  std::int32_t row = -1;                                    // of the limits
  std::int32_t unknown = -1;                                // fact that decides whether a row speaks of it
};

class LimitOfPlace {
 public:
  LimitOfPlace(const SlowAsk& ask, std::int32_t day);
  // By the facts of a reading.
  [[nodiscard]] PlaceLimit at(const WheelendColumns& wheelends, std::int64_t row) const;

 private:
  [[nodiscard]] double bound(const Of& of, std::int32_t limit) const;
  const SlowAsk& ask_;
  const std::int32_t day_;
  VerdictWriter writer_;
  std::vector<std::int32_t> rows_;
};

}  // namespace wheelend
