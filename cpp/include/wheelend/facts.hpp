// Facts: what is known of the thing that was read (kind of unit, role of the axle, size of the tire, type of
// the chamber, pressure in the reservoir), and conditions on them. Which facts there are is the caller's to
// say; the core knows none of them by name.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "wheelend/inspections.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend {

// A bound as its clause writes it: the decimal text, and its measure.
struct Bound {
  std::string text = {};
  Measure measure = Measure::thirty_seconds;
};

// The bound as a double; throws LimitError when its text is not a decimal number. The same in every locale.
double number_of(const Bound& bound);

// Of what a fact is one. A reading of a whole axle knows the facts of its unit and its axle, not those of a
// wheel.
enum class Level : std::uint8_t { unit, axle, wheel };
inline constexpr std::array<std::string_view, 3> level_names{"unit", "axle", "wheel"};

// A number or a code for each entry; a column that was not given is empty.
struct FactColumn {
  NumberColumn numbers = {};
  std::span<const std::int32_t> codes = {};  // -1 is missing
};

// One fact, from whichever table gives it: first the row of the wheel-end reading, then the tire, then the
// position.
struct Fact {
  Level level = Level::wheel;
  bool is_code =
      false;  // text, words and yes/no are codes; measured numbers, whole numbers and dates are numbers
  FactColumn of_row = {};
  FactColumn of_tire = {};
  FactColumn of_position = {};
  std::int32_t otherwise = -1;  // code that counts where nothing is stated ("no" of what is rare); -1: none
};
using Facts = std::vector<Fact>;

// Whose facts are asked for. The position of a reading that is not one of a wheel is any of its axle or unit.
// Of a dual wheel end a fact of the tires is known where both have the same.
struct Subject {
  std::int32_t position = -1;
  std::int32_t tire = -1;
  std::int32_t other_tire = -1;  // of the same wheel end, for a reading of the wheel end; -1: none
  std::int64_t row = -1;         // of the wheel-end readings
  Level level = Level::wheel;
};

// Code of a fact, its usual one where nothing is stated; -1 where it is not known.
std::int32_t code_of(const Fact& fact, const Subject& subject);

// The column and entry of a number; an empty column where it is not known.
FactCell number_of(const Fact& fact, const Subject& subject);

enum class Relation : std::uint8_t {
  any_of,
  none_of,
  at_least,
  more_than,
  at_most,
  less_than,
  stated,     // the fact is known, whatever it is
  not_stated  // it is not
};
inline constexpr std::array<std::string_view, 8> relation_names{"=",  "!=", ">=",     ">",
                                                                "<=", "<",  "stated", "not_stated"};

// What a limit asks of a fact: to be one of some codes, or to compare so with a number (exactly, in its
// measure).
struct Condition {
  std::int32_t fact = 0;
  Relation relation = Relation::any_of;
  std::vector<std::int32_t> codes = {};
  std::vector<Bound> bounds = {};
  bool or_not_stated = false;  // holds where the fact is not known, which the verdict then says
};

enum class Applies : std::uint8_t { no, yes, unknown };

// Whether conditions hold. `fact` is the first that is not known and decides, or that was taken as stated;
// else -1.
struct Answer {
  Applies applies = Applies::yes;
  std::int32_t fact = -1;
};

Answer holds(const std::vector<Condition>& conditions, const Facts& facts, const Subject& subject);

}  // namespace wheelend
