// Wheel-end readings of one quantity as one series per place. Private to the core.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "wheelend/slow_wear.hpp"

namespace wheelend {

// What is left of a quantity at a place: 0 at the end of its scale, more the further it is away, one
// reading's spread being `spread_of_reading`; so that all that is followed looks alike.
class SlowScale {
 public:
  static constexpr double spread_of_reading = 0.4;
  explicit SlowScale(const SlowQuantity& of)
      : end_(of.end), per_unit_(of.reading / spread_of_reading * (of.rises ? -1.0 : 1.0)) {}
  [[nodiscard]] double left(double value) const { return (value - end_) / per_unit_; }
  [[nodiscard]] double value(double left) const { return end_ + left * per_unit_; }
  // Of a change or a rate, without sign.
  [[nodiscard]] double scaled(double size) const { return size / (per_unit_ < 0.0 ? -per_unit_ : per_unit_); }
  [[nodiscard]] double size(double scaled) const {
    return scaled * (per_unit_ < 0.0 ? -per_unit_ : per_unit_);
  }

 private:
  double end_, per_unit_;
};

struct SlowReading {
  std::int32_t day = 0;
  double time = 0.0;               // days
  double left = 0.0, value = 0.0;  // on the scale; as read
  std::int64_t row = -1;
};

// A place: a wheel end, one shoe or stud of it, an axle or a unit.
struct SlowSeries {
  std::int32_t unit = 0, axle = -1;
  std::int8_t side = -1, dual = -1;
  std::int32_t place = -1;
  std::vector<SlowReading> readings = {};  // in the order of time, at least one
};

// Readings up to the day as_of. Two different values of one place at one time: neither is used.
std::vector<SlowSeries> slow_series(const WheelendColumns& wheelends, std::span<const std::int32_t> unit_of,
                                    const SlowQuantity& of, std::int32_t as_of);

}  // namespace wheelend
