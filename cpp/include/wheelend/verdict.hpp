// Verdicts: what a limit says of a reading. Every pass or fail of the project goes through passes().
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "wheelend/error.hpp"
#include "wheelend/exact.hpp"
#include "wheelend/facts.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/limits.hpp"
#include "wheelend/quantities.hpp"
#include "wheelend/wheelends.hpp"

namespace wheelend {

enum class Verdict : std::uint8_t { pass, fail, no_verdict };
inline constexpr std::array<std::string_view, 3> verdict_names{"pass", "fail", "no_verdict"};

// Whether a reading that compares so with its bound passes. Not for `within` and `absent`, which have no one
// bound.
bool passes(std::strong_ordering reading_to_bound, Sense sense);

// Whether left `sense` right holds, as exact products.
bool holds(std::span<const Term> left, Sense sense, std::span<const Term> right);

// One value as it was written, of a kind K. It keeps its decimal, so that it can be compared exactly.
template <class K>
struct Reading {
  double value;
  Measure measure;
};

// A bound as its clause writes it, for readings of the kind K only.
template <class K>
struct Limit {
  Bound bound;
  Sense sense;
};

// The verdict of one limit on one reading of the same kind; other kinds do not compile. Measures of different
// dimensions have no order: MeasureError.
template <class K>
Verdict judge(const Reading<K>& reading, const Limit<K>& limit) {
  if (info(reading.measure).dimension != info(limit.bound.measure).dimension) {
    throw MeasureError("a reading in '" + std::string(info(reading.measure).label) +
                       "' against a bound in '" + std::string(info(limit.bound.measure).label) + "'");
  }
  if (info(reading.measure).dimension == Dimension::temperature && reading.measure != limit.bound.measure) {
    throw MeasureError("temperatures on two scales have no order as products");
  }
  const std::array left{Term::of(reading.value), Term::of(reading.measure)};
  const std::array right{Term::of(std::string_view(limit.bound.text)), Term::of(limit.bound.measure)};
  return holds(left, limit.sense, right) ? Verdict::pass : Verdict::fail;
}

// Why a verdict is as it is; bits of VerdictTable::notes, in the order of note_words.
enum class Note : std::uint64_t {
  not_read = 1U << 0,
  none_admissible = 1U << 1,
  some_inadmissible = 1U << 2,
  some_without_bar = 1U << 3,
  within_gauge_step = 1U << 4,
  fact_missing = 1U << 5,
  fact_assumed = 1U << 6,
  not_admissible = 1U << 7,
  unconfirmed = 1U << 8,
  warm_without_estimate = 1U << 9,
  federal_estimate = 1U << 10,
  below_even_warm = 1U << 11,
  stands_in = 1U << 12,
  fewer_than_three_places = 1U << 13,
  one_groove_only = 1U << 14,
  tire_changed_since = 1U << 15,
  retread_not_stated = 1U << 16,
  lower_of_two = 1U << 17,
  fewer_than_four_places = 1U << 18,
  band_not_known = 1U << 19,
  other_printed_number = 1U << 20,
  alternative_decides = 1U << 21,
  other_not_read = 1U << 22,
  scaled_to_a_minute = 1U << 23,
  first_drop_included = 1U << 24,
  brakes_not_read = 1U << 25,
  week_decides = 1U << 26,
  date_code_unusable = 1U << 27,
  no_limit_to_exceed = 1U << 28,
  tires_missing = 1U << 29,
  positions_incomplete = 1U << 30,
  pressure_rose = 1U << 31,
  low_where_read = std::uint64_t{1} << 32,
  retread_date_unknown = std::uint64_t{1} << 33,
  fails_whatever = std::uint64_t{1} << 34,
  rating_not_given = std::uint64_t{1} << 35,
  rest_not_read = std::uint64_t{1} << 36,
  no_row = std::uint64_t{1} << 37,
};
// {fact}: VerdictTable::fact; {id}: VerdictTable::noted_limit, else the row of the limit set.
inline constexpr std::array<std::string_view, 38> note_words{
    "not read",
    "no admissible reading: every groove read lies on a tie bar, hump or fillet, or has no wear indicator",
    "readings on a tie bar, hump or fillet left out",
    "grooves without a wear indicator left out",
    "within one step of the gauge",
    "{fact} is not given",
    "{fact} is not given: held to the row for that",
    "not admissible: {fact} is outside what the rule asks for",
    "unconfirmed row {id} would fail",
    "read warm, and the rule gives no estimate for it: read again cold",
    "read warm: cold pressure estimated by 49 CFR 393.75(i)(2)",
    "too low even while warm",
    "{fact} stands in for what the clause names",
    "low at fewer than three places: the rule asks for three",
    "no two adjacent grooves were read",
    "not read since the tire was changed",
    "not stated whether the tire is a retread",
    "two readings disagree: the lower is judged",
    "fewer than four places read: the rest could decide",
    "where the grooves lie across the tread is not given (tread_at)",
    "held to the number that the clause prints in this measure",
    "passes by the other bound of the clause",
    "not read at the other tire or side on the same day",
    "timed over another span than a minute: scaled to a minute",
    "the drop of the application is in it: time it from after that drop (start)",
    "brakes that were not read, or without verdict, could decide",
    "the week of the date code straddles the age: the day is not known",
    "the date code cannot be read, or does not give the decade",
    "no readjustment limit applies: chamber type and size not given, or not in the tables",
    "a tire of this end of the axle was removed: its load is on those that are left",
    "not all tires of the axle are in the positions",
    "the pressure rose while it was timed: was the engine running?",
    "low where it was read: read three places",
    "a retread, and the week of its retreading is not known",
    "fails whatever {fact} is",
    "read warm: rated_load is not given, which the rule's estimate goes by",
    "no other wheel end of this unit was read that day",
    "no limit of these sets speaks of this reading",
};

// Instead of a row of the limit set: the position's own pull depth; no row that speaks of the reading.
inline constexpr std::int32_t own_pull = -1, no_row_speaks = -2;

// Columns of verdicts; one entry per limit that applies to a reading.
struct VerdictTable {
  std::vector<std::int32_t> position;  // for a reading of an axle or unit: any position of it
  std::vector<std::uint8_t> level;
  std::vector<std::int64_t> row;          // the first row of what was judged; -1: none
  std::vector<std::uint8_t> of_wheelend;  // 1: `row` is one of the wheel-end readings
  std::vector<std::int32_t> limit;        // row of the limit set; own_pull; no_row_speaks
  std::vector<double> reading;            // in `measure`; NaN where there is none
  std::vector<double> bound;
  std::vector<double> margin;  // reading minus bound, turned so that it is positive on the passing side
  std::vector<std::uint8_t> measure;
  std::vector<std::uint8_t> sense;  // of `within` the side that is nearer
  std::vector<double> as_read;      // the number that was written
  std::vector<std::uint8_t> as_read_measure;
  std::vector<std::int8_t> groove;  // column of the groove that decided; -1: none
  std::vector<std::int32_t> place;
  std::vector<std::uint8_t> verdict;
  std::vector<std::uint8_t> severity;
  std::vector<std::uint64_t> notes;
  std::vector<std::int16_t> fact;         // that the notes speak of; -1: none
  std::vector<std::int32_t> noted_limit;  // row that the notes speak of; -1: that of the verdict

  // What a verdict compares its reading with, or counts it of: few verdicts have one.
  struct Against {
    std::int64_t verdict;
    double value;           // in as_read_measure
    std::int32_t position;  // where it was read; -1: a number of things
  };
  std::vector<Against> against;
};

struct JudgeOptions {
  std::int32_t as_of = 0;          // readings of later days are left out
  bool all = false;                // every inspection, not only the last of each quantity
  bool count_unconfirmed = false;  // rows that rest on memory may fail a reading
};

// What is judged. Columns that are not given are empty.
struct Fleet {
  const ReadingColumns& readings;
  const PositionColumns& positions;
  const TireColumns& tires;
  const WheelendColumns& wheelends;
  const Facts& facts;
};

// Judges the last inspection of each position at which a quantity was read (tread and pressure each have
// their own last one: a pressure check on Monday must not hide the tread read on Friday), or every
// inspection; then the axles, the wheel ends and the units.
VerdictTable judge_fleet(const Fleet& fleet, const std::vector<LimitRow>& limits,
                         const JudgeOptions& options);

}  // namespace wheelend
