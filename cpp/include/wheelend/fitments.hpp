// Fitments: the readings of one position cut where another tire came, or the same tire was retreaded or
// moved.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "wheelend/inspections.hpp"

namespace wheelend {

// The tread of one inspection of a position: grooves with an indicator, admissible, mean over places, in mm.
struct Visit {
  std::int32_t day = 0;
  double time = 0.0;              // days since 1970, with the time of day
  std::vector<double> groove_mm;  // NaN: not read
  std::int32_t tire = -1;
  std::int32_t reader = -1;
  Event event = Event::none;
  [[nodiscard]] bool has_tread() const;
};

enum class Begun : std::uint8_t { first_reading, tire_number, event, rise };
inline constexpr std::array<std::string_view, 4> begun_names{"first reading", "tire number", "event",
                                                             "rise in depth"};

struct Fitment {
  std::size_t first = 0, last = 0;  // visits [first, last)
  Begun begun = Begun::first_reading;
  bool removed = false;  // ended by the event `removed`; a depth read then is the last of this tire
};

// Visits of one position, rows order[begin..end) of RowsByPosition, up to the day as_of. Rows whose depth
// disagrees with another row of the same key (conflict_depth) give no depth here. Where one row tells of a
// tire removed and another of what came, the visit is that of the tire that came.
std::vector<Visit> visits(const ReadingColumns& readings, const RowsByPosition& rows, std::size_t position,
                          std::int32_t as_of);

// A new fitment begins with another tire number, with an event, after the event `removed`, or with a rise of
// the depth by 2/32 in or more (two steps of a shop gauge) over most of the last three readings, so that one
// low misread does not pass for a worn tire, that the next inspection confirms or that is the last one seen.
std::vector<Fitment> cut_fitments(const std::vector<Visit>& visits);

}  // namespace wheelend
