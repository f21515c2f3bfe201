// Fitments: which tire was at which wheel position from when to when, found from depths, tire numbers and
// events; and where a tire went.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <span>
#include <string_view>
#include <vector>

#include "wheelend/inspections.hpp"
#include "wheelend/use.hpp"

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

// Visits of one position, rows order[begin..end) of RowsByPosition, up to the day as_of. Rows whose depth
// disagrees with another row of the same key (conflict_depth) give no depth here. Where one row tells of a
// tire removed and another of what came, the visit is that of the tire that came.
std::vector<Visit> visits(const ReadingColumns& readings, const RowsByPosition& rows, std::size_t position,
                          std::int32_t as_of);

// What shows that a tire came (and that the one before it went).
enum class Begun : std::uint8_t { first_reading, tire_number, event, rise, moved, jump };
inline constexpr std::array<std::string_view, 6> begun_names{
    "first reading", "tire number", "event", "rise in depth", "depths of another position", "fall in depth"};

// How a fitment ended. The last: nothing says that it did.
enum class Ended : std::uint8_t { replaced, moved, removed, in_use };
inline constexpr std::array<std::string_view, 4> ended_names{"replaced", "moved", "removed", "in use"};

// Visits [first, last) of a position that are of one tire. `last` may be `first` where an event tells of a
// tire that was never read.
struct Fitment {
  std::int32_t position = 0;
  std::size_t first = 0, last = 0;
  std::int32_t tire = -1;
  Begun begun = Begun::first_reading;
  Ended ended = Ended::in_use;
  bool as_new = false;         // it was fitted new, as far as its depth shows
  double confidence = 1.0;     // that another tire came here at all, 0 to 1
  std::int64_t previous = -1;  // fitment of the same tire before; comes before this one
  double same_tire = 1.0;      // confidence that it is the same tire, 0 to 1
};

// A visit to a unit whose depths are all off by about as much, or, `by_mm` NaN, are not of this unit at all.
struct OddVisit {
  std::int32_t unit = 0;
  double time = 0.0;
  double by_mm = 0.0;
};

struct Fitments {
  std::vector<std::vector<Visit>> visits;   // by position
  std::vector<std::vector<bool>> believed;  // by position and visit: read, and not taken for a slip
  std::vector<Fitment> all;                 // by time of the first visit, then by position
  std::vector<OddVisit> odd_visits;
  std::vector<double> full_mm;  // depth of a new tire, by role; the last for a missing role
};

// Fitments as columns. Days: min() where not known. Numbers of readings count visits with tread that were not
// taken for slips.
struct FitmentTable {
  std::vector<std::int32_t> position, tire;
  std::vector<std::int32_t> from_day;  // the first day that shows it; of a first reading not known
  std::vector<std::int32_t> to_day;    // the first day that shows it gone
  std::vector<std::uint8_t> begun, ended;
  std::vector<std::uint8_t> as_new;    // 1: fitted new, as far as its depth shows
  std::vector<double> confidence;      // that it is one tire, begun there and, where it moved, that tire
  std::vector<std::int64_t> previous;  // row of the same tire before; -1: none
  std::vector<std::int64_t> readings;
  std::vector<double> first_mm, last_mm;  // middle depth at its first and last reading
};
FitmentTable table_of(const Fitments& fitments);

// What is typical before a fleet speaks. By role (the last for a missing one) and by kind of unit.
struct TypicalWear {
  std::vector<double> mm_per_km, full_mm;
  std::vector<double> km_per_day;
};

// Finds the fitments of every position. Depths of one position are followed from reading to reading by the
// likeliest chain of these: the tire goes on (it wears about as is typical), a new tire came, a worn one came
// from elsewhere, or the reading is a slip and does not count (Viterbi 1967). Events and tire numbers weigh
// what they weigh: an event ends a fitment, another number nearly does. Then what began is joined with what
// ended elsewhere, by number, or within the unit by the depths of its grooves. limit_mm: depth at which tires
// are due, per position, NaN where there is none: tires that are due are replaced soon.
Fitments find_fitments(const ReadingColumns& readings, const PositionColumns& positions,
                       const RowsByPosition& rows, std::span<const std::int32_t> unit_of,
                       const std::vector<Track>& tracks, std::span<const double> limit_mm,
                       const TypicalWear& typical, std::int32_t as_of, int threads = 1);

}  // namespace wheelend
