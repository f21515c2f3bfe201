// Dates of inspections: days since 1970-01-01, Gregorian calendar.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace wheelend {

// The day of a calendar date; nothing when there is no such day (30 February).
std::optional<std::int32_t> day_number(int year, int month, int day_of_month);

// "2026-03-01"
std::string iso_date(std::int32_t day);

// The same date so many months later (earlier when negative). A date that the month does not have becomes its
// last day: 31 January and one month is 28 or 29 February (the rule of Regulation (EEC, Euratom) No 1182/71,
// Art. 3(2)(c), for periods in months and in years). Throws ColumnError outside the years -32767 to 32767.
std::int32_t add_months(std::int32_t day, int months);

// Age in calendar years: completed years, and the days since the last anniversary as a share of the days to
// the next. Exactly n on the n-th anniversary and more a day later, so that a limit "10 years" may be
// compared as it stands. Anniversaries are those of add_months: of 29 February it is 28 February in common
// years, since a period of years ends within the month in which it began; an age limit is then never judged a
// day late. Throws ColumnError when `to` lies before `from`, or outside the years of add_months.
double calendar_years(std::int32_t from, std::int32_t to);

// The same in calendar months.
double calendar_months(std::int32_t from, std::int32_t to);

inline constexpr std::int64_t microseconds_per_day = 86'400'000'000;

}  // namespace wheelend
