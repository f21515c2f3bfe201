// Wheel-end readings as columns: one quantity at one place a row (stroke, lining, torque, leak-down, an
// observation).
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "wheelend/inspections.hpp"

namespace wheelend {

struct WheelendColumns {
  std::span<const std::int32_t>
      position;                         // of this wheel; for a reading of an axle or unit any position of it
  std::span<const std::int32_t> axle;   // -1: a reading of the whole unit
  std::span<const std::int8_t> side;    // -1: a reading of the axle or unit
  std::span<const std::int8_t> dual;    // -1: a reading of the wheel end, not of one tire
  std::span<const std::int32_t> place;  // stud, shoe or other place at one wheel end; -1 missing
  std::span<const std::int64_t> microsecond;
  std::span<const std::int32_t> day;
  std::span<const std::int32_t> quantity;
  std::span<const double> value;                                      // NaN: none
  std::span<const std::uint8_t> measure;                              // of each value
  std::vector<std::pair<std::int64_t, std::string>> long_texts = {};  // as of NumberColumn
  CodeColumn present;                                                 // of an observation: 1 it is there
  NumberColumn start = {};                                            // pressure when timing began
  NumberColumn end = {};
  NumberColumn before = {};  // pressure before the brakes were applied
  NumberColumn duration = {};
  std::span<const std::int32_t>
      combination;  // units presented together; -1: the unit alone. Empty: not given

  [[nodiscard]] std::size_t size() const { return position.size(); }
  [[nodiscard]] std::int32_t place_at(std::size_t i) const { return place.empty() ? -1 : place[i]; }
};

}  // namespace wheelend
