// Where a tire sits: kind of unit, role of the axle, side, place in a dual pair. Codes are the order of the
// enums.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

namespace wheelend {

enum class UnitKind : std::int8_t { truck, tractor, bus, trailer, dolly };
enum class AxleRole : std::int8_t { steer, drive, trailer, tag, pusher, lift, dolly };
enum class Side : std::int8_t { left, right };
enum class Dual : std::int8_t { single, outer, inner };

inline constexpr std::array<std::string_view, 5> unit_kind_names{"truck", "tractor", "bus", "trailer",
                                                                 "dolly"};
inline constexpr std::array<std::string_view, 7> axle_role_names{"steer",  "drive", "trailer", "tag",
                                                                 "pusher", "lift",  "dolly"};
inline constexpr std::array<std::string_view, 2> side_names{"left", "right"};
inline constexpr std::array<std::string_view, 3> dual_names{"single", "outer", "inner"};

// What a limit needs to know of a wheel position. A missing kind or role is -1.
struct PositionFacts {
  std::int8_t kind = -1;
  std::int8_t role = -1;
  std::int32_t axle = 1;  // counted from the front of the unit, from 1
};

}  // namespace wheelend
