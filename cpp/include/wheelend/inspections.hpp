// Readings as columns, and their rows gathered by wheel position and inspection.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "wheelend/position.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend {

enum class Event : std::int8_t { none = -1, fitted, removed, rotated, retreaded, regrooved };
inline constexpr std::array<std::string_view, 5> event_names{"fitted", "removed", "rotated", "retreaded",
                                                             "regrooved"};

// Numbers with one measure; NaN is missing. Empty: the column was not given.
struct NumberColumn {
  std::span<const double> values = {};
  Measure measure = Measure::thirty_seconds;
  // Cells written with more digits than a double keeps: row and text, rows increasing.
  std::vector<std::pair<std::int64_t, std::string>> long_texts = {};

  [[nodiscard]] bool given() const { return !values.empty(); }
  [[nodiscard]] double at(std::size_t i) const {
    return given() ? values[i] : std::numeric_limits<double>::quiet_NaN();
  }
  // The text of cell i where it has one of its own, else empty.
  [[nodiscard]] std::string_view text_at(std::int64_t i) const;
};

// A flag or code column; -1 is missing. Empty: not given.
struct CodeColumn {
  std::span<const std::int8_t> values = {};
  [[nodiscard]] std::int8_t at(std::size_t i) const { return values.empty() ? std::int8_t{-1} : values[i]; }
};

// Bits of ReadingColumns::conflict: two readings of one key disagree.
inline constexpr std::uint8_t conflict_depth = 1;
inline constexpr std::uint8_t conflict_pressure = 2;
inline constexpr std::uint8_t conflict_odometer = 4;

struct ReadingColumns {
  std::span<const std::int32_t> position;       // index of the position, 0-based; -1: row not used
  std::span<const std::int64_t> microsecond;    // of read_on since 1970-01-01
  std::span<const std::int32_t> day;            // local day of read_on
  std::span<const std::int32_t> place;          // round the tire; -1 missing. Empty: not given
  std::vector<NumberColumn> grooves;            // outer to inner, at most 64
  std::span<const std::uint64_t> barred;        // bit g: groove g has a wear indicator. Empty: all have
  std::span<const std::uint64_t> inadmissible;  // bit g: read on a tie bar, hump or fillet. Empty: none
  // Where the grooves lie across the tread, in percent of the breadth from the outer edge: sets of one number
  // a groove, and which of them each row has (-1: not given). Empty: not given.
  std::vector<std::vector<double>> across_sets = {};
  std::span<const std::int32_t> across;
  NumberColumn pressure;
  NumberColumn inflated_to;
  CodeColumn warm;  // 1 run within three hours
  NumberColumn speed_last_hour;
  NumberColumn odometer;
  std::span<const std::int32_t> tire;    // index of the tire; -1 missing. Empty: not given
  std::span<const std::int32_t> reader;  // who read; -1 missing. Empty: not given
  CodeColumn event;
  std::span<const std::uint8_t> conflict;  // Empty: none

  [[nodiscard]] std::size_t size() const { return position.size(); }
  [[nodiscard]] std::int32_t place_at(std::size_t i) const { return place.empty() ? -1 : place[i]; }
  [[nodiscard]] std::int32_t reader_at(std::size_t i) const { return reader.empty() ? -1 : reader[i]; }
  [[nodiscard]] std::int32_t tire_at(std::size_t i) const { return tire.empty() ? -1 : tire[i]; }
  [[nodiscard]] std::int32_t across_at(std::size_t i) const { return across.empty() ? -1 : across[i]; }
  [[nodiscard]] std::uint8_t conflict_at(std::size_t i) const {
    return conflict.empty() ? std::uint8_t{0} : conflict[i];
  }
  [[nodiscard]] bool has_bar(std::size_t i, std::size_t groove) const {
    return barred.empty() || ((barred[i] >> groove) & 1U) != 0;
  }
  [[nodiscard]] bool is_admissible(std::size_t i, std::size_t groove) const {
    return inadmissible.empty() || ((inadmissible[i] >> groove) & 1U) == 0;
  }
};

// One row per wheel position. Numbers are NaN and codes -1 where not given.
struct PositionColumns {
  std::vector<PositionFacts> facts = {};
  std::span<const std::int32_t> unit = {};  // number of the unit. Empty: every position is one of its own
  std::span<const std::int8_t> side = {};   // Empty: not given
  std::span<const std::int8_t> dual = {};
  std::span<const std::int32_t> group = {};  // of the fleet's own; -1 missing. Empty: not given
  std::span<const std::int32_t> combination =
      {};  // units that were presented together; -1: alone. Empty: not given
  NumberColumn target = {};
  NumberColumn needed = {};  // pressure that the load carried needs
  NumberColumn pull = {};
  NumberColumn sidewall_max = {};
  NumberColumn rated_load = {};
  NumberColumn axle_load = {};
  NumberColumn end_load = {};  // load on this end of the axle
  NumberColumn rated_load_dual = {};
  CodeColumn retread = {};
  CodeColumn regrooved = {};

  [[nodiscard]] std::int32_t unit_at(std::size_t p) const {
    return unit.empty() ? static_cast<std::int32_t>(p) : unit[p];
  }
  [[nodiscard]] std::int8_t side_at(std::size_t p) const { return side.empty() ? std::int8_t{-1} : side[p]; }
  [[nodiscard]] std::int8_t dual_at(std::size_t p) const { return dual.empty() ? std::int8_t{-1} : dual[p]; }
};

// One row per tire of the tires table.
struct TireColumns {
  NumberColumn sidewall_max = {};
  NumberColumn rated_load = {};
  NumberColumn rated_load_dual = {};
  NumberColumn new_depth = {};
  NumberColumn diameter = {};
  NumberColumn circumference = {};
  CodeColumn retread = {};
  CodeColumn regrooved = {};
  // First and last day of the week in which the tire was made, and retreaded; NaN where not known.
  std::span<const double> made_from = {}, made_to = {}, retreaded_from = {}, retreaded_to = {};
  CodeColumn date_unusable = {};  // 1: a date code is written that cannot be read or does not give the decade
};

// Rows of each position in the order of time. Ties are broken by place and then by what was read, so that the
// result does not depend on the order of the rows in the table.
struct RowsByPosition {
  std::vector<std::int64_t> start;  // rows of position p: order[start[p]] .. order[start[p + 1] - 1]
  std::vector<std::int64_t> order;
};
RowsByPosition rows_by_position(const ReadingColumns& readings, std::size_t positions);

// Whether a row of order[later, end) tells of another tire than order[first, later) had: an event, or another
// number.
bool tire_changed(const ReadingColumns& readings, const RowsByPosition& rows, std::int64_t first,
                  std::int64_t later, std::int64_t end);

// A fact of the tire read at `row`: the cell of the tires table where that gives it, else of the position.
struct FactCell {
  const NumberColumn* column;
  std::int64_t index;
  [[nodiscard]] double value() const { return column->at(static_cast<std::size_t>(index)); }
};
FactCell tire_fact(const ReadingColumns& readings, std::size_t row, const NumberColumn& of_tire,
                   const NumberColumn& of_position);

// Rows that share position, time and place with another.
struct Repeats {
  std::vector<std::int64_t> first;  // the first such row; -1 where there is none
  std::vector<std::uint8_t>
      conflict;  // conflict_depth and the like, on every row that is part of the disagreement
  std::vector<std::uint8_t> identical;  // 1 on each row that says nothing that an earlier one has not said
};
Repeats find_repeats(const ReadingColumns& readings, std::size_t positions);

}  // namespace wheelend
