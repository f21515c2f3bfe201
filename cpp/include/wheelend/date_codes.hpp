// Date codes of tires: the week in which a tire was made or retreaded, as moulded into its sidewall.
//
// Four digits are the week and the last two digits of the year (49 CFR 574.5(b)(3); 64 FR 36807, 8 Jul 1999).
// Week 01 begins on the first Sunday of the year and weeks run to Saturday (SOR/2013-198 s. 6(4)(c); "first
// full calendar week" in 574.5(b)(3), from memory): these are not the weeks of ISO 8601. The year is the one
// in which the week begins; its last week may run into the next. Three digits, used before, are the week and
// the last digit of the year: they do not record the decade, and nothing here guesses it.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "wheelend/text_cells.hpp"

namespace wheelend {

enum class DateCodeStatus : std::uint8_t {
  week = 0,
  decade_unknown = 1,   // three digits: see candidate_weeks
  no_such_week = 2,     // 5322: 2022 has 52 Sundays; 542: no year has a week 54
  in_the_future = 3,    // the week begins after `today`
  not_a_date_code = 4,  // anything else
  missing = 5,          // blank, or a word for a missing cell
};

inline constexpr std::array<std::string_view, 6> date_code_status_names{
    "week", "decade_unknown", "no_such_week", "in_the_future", "not_a_date_code", "missing"};

struct ParsedDateCode {
  DateCodeStatus status;
  std::int32_t first_day;  // the Sunday, days since 1970-01-01; 0 unless status is week
  std::int32_t last_day;   // the Saturday; 0 unless status is week
};

// Weeks that begin in the year: 52 or 53.
int weeks_of_year(int year);

// The date code in a text: the code alone, or the end of a tire identification number, with or without "DOT".
// A number has 13 symbols (new tires) or 7 (retreads) by 49 CFR 574.5(a), and had 8 to 12 before 80 FR 19553
// (from memory). Blanks and hyphens may stand between its groups, not within the code. Empty when there is
// none, and for what may as well be a date: a number without a letter (20230511), or one without "DOT" that
// ends in 20 and two digits ("May 2023"). Four digits at the end of a last group are taken for the code, even
// if three would do. The other sidewall may carry the number without its date (SOR/2013-198 s. 6(2)(b));
// where that ends in digits nothing shows it. So the code alone is the safer thing to write down.
std::string_view find_date_code(std::string_view text);

// Two digits of a year mean 20YY: tires before 2000 carry three digits.
ParsedDateCode parse_date_code(std::string_view cell, std::int32_t today);

// First days of all weeks that a three-digit code may mean: those that have begun by `up_to`, in the years
// since 1971, oldest first. Later years than 2000 are among them: three digits may be what is left of four,
// and not every market changed on one day. Empty for any other text.
std::vector<std::int32_t> candidate_weeks(std::string_view cell, std::int32_t up_to);

void parse_date_codes(const TextColumn& cells, std::int32_t today, std::span<std::uint8_t> statuses,
                      std::span<std::int32_t> first_days, std::span<std::int32_t> last_days);

}  // namespace wheelend
