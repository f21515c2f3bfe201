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

inline constexpr std::int64_t microseconds_per_day = 86'400'000'000;

}  // namespace wheelend
