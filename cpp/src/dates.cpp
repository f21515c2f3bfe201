#include "wheelend/dates.hpp"

#include <array>
#include <chrono>
#include <cstdio>

namespace wheelend {

std::optional<std::int32_t> day_number(int year, int month, int day_of_month) {
  // The calendar types hold one byte for month and day and two for the year: 257 would wrap round to 1.
  if (year < -32767 || year > 32767 || month < 1 || month > 12 || day_of_month < 1 || day_of_month > 31) {
    return std::nullopt;
  }
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day_of_month))};
  if (!date.ok()) {
    return std::nullopt;
  }
  return static_cast<std::int32_t>(std::chrono::sys_days(date).time_since_epoch().count());
}

std::string iso_date(std::int32_t day) {
  const std::chrono::year_month_day date{std::chrono::sys_days(std::chrono::days(day))};
  std::array<char, 32> text{};
  const int n = std::snprintf(text.data(), text.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                              static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return std::string(text.data(), static_cast<std::size_t>(n));
}

}  // namespace wheelend
