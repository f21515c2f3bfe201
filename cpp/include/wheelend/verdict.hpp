// Verdicts: what a limit says of a reading. Every pass or fail of the project goes through passes().
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "wheelend/error.hpp"
#include "wheelend/exact.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/limits.hpp"
#include "wheelend/quantities.hpp"

namespace wheelend {

enum class Verdict : std::uint8_t { pass, fail, no_verdict };
inline constexpr std::array<std::string_view, 3> verdict_names{"pass", "fail", "no_verdict"};

// Whether a reading that compares so with its bound passes. Not for `absent`, which has no bound.
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
  const std::array left{Term::of(reading.value), Term::of(reading.measure)};
  const std::array right{Term::of(std::string_view(limit.bound.text)), Term::of(limit.bound.measure)};
  return holds(left, limit.sense, right) ? Verdict::pass : Verdict::fail;
}

// Why a verdict is as it is; bits of VerdictTable::notes.
enum class Note : std::uint32_t {
  not_read = 1U << 0,
  none_admissible = 1U << 1,
  some_inadmissible = 1U << 2,
  some_without_bar = 1U << 3,
  within_gauge_step = 1U << 4,
  kind_or_role_missing = 1U << 5,
  no_target = 1U << 6,
  no_sidewall_max = 1U << 7,
  warm_without_estimate = 1U << 8,
  federal_estimate = 1U << 9,
  below_even_warm = 1U << 10,
  target_stands_in = 1U << 11,
  fewer_than_three_places = 1U << 12,
  one_groove_only = 1U << 13,
  tire_changed_since = 1U << 14,
  no_rated_load = 1U << 15,
  retread_not_stated = 1U << 16,
  lower_of_two = 1U << 17,
};

// Columns of verdicts; one entry per limit that applies to an inspection of a position.
struct VerdictTable {
  std::vector<std::int32_t> position;
  std::vector<std::int64_t> row;    // the first row of the inspection judged
  std::vector<std::int32_t> limit;  // row of the limit set; -1: the position's own pull depth
  std::vector<double> reading;      // in `measure`; NaN where there is none
  std::vector<double> bound;
  std::vector<double> margin;  // reading minus bound, turned so that it is positive on the passing side
  std::vector<std::uint8_t> measure;
  std::vector<double> as_read;  // the number that was written
  std::vector<std::uint8_t> as_read_measure;
  std::vector<std::int8_t> groove;  // column of the groove that decided; -1: none
  std::vector<std::int32_t> place;
  std::vector<std::uint8_t> verdict;
  std::vector<std::uint8_t> severity;
  std::vector<std::uint32_t> notes;
};

struct JudgeOptions {
  std::int32_t as_of = 0;  // readings of later days are left out
  bool all = false;        // every inspection, not only the last of each quantity
};

// Judges the last inspection of each position at which a quantity was read (tread and pressure each have
// their own last one: a pressure check on Monday must not hide the tread read on Friday), or every
// inspection.
VerdictTable judge_readings(const ReadingColumns& readings, const PositionColumns& positions,
                            const TireColumns& tires, const std::vector<LimitRow>& limits,
                            const JudgeOptions& options);

}  // namespace wheelend
