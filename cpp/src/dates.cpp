#include "wheelend/dates.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>

#include "wheelend/error.hpp"

namespace wheelend {

namespace {

constexpr std::int64_t months_per_year = 12;

constexpr std::int32_t number_of(std::chrono::year_month_day date) {
  return static_cast<std::int32_t>(std::chrono::sys_days(date).time_since_epoch().count());
}

constexpr std::int32_t first_day = number_of(std::chrono::year::min() / 1 / 1);
constexpr std::int32_t last_day = number_of(std::chrono::year::max() / 12 / 31);

// The calendar types hold the year in two bytes: a day beyond them would wrap round to another year.
std::chrono::year_month_day date_of(std::int32_t day) {
  if (day < first_day || day > last_day) {
    throw ColumnError("day " + std::to_string(day) + ": outside the calendar, years -32767 to 32767");
  }
  return std::chrono::sys_days(std::chrono::days(day));
}

// Months since the beginning of year 0.
std::int64_t month_number(std::chrono::year_month_day date) {
  return static_cast<int>(date.year()) * months_per_year + static_cast<unsigned>(date.month()) - 1;
}

// Steps of so many months that have been completed, and the share of the next one.
double completed_steps(std::int32_t from, std::int32_t to, int months) {
  const std::int64_t apart = month_number(date_of(to)) - month_number(date_of(from));
  if (to < from) {
    throw ColumnError("an age is not negative: " + iso_date(to) + " lies before " + iso_date(from));
  }
  int steps = static_cast<int>(apart) / months;
  if (add_months(from, steps * months) > to) {  // the month has come, its day has not
    --steps;
  }
  const std::int32_t last = add_months(from, steps * months);
  const std::int32_t next = add_months(from, (steps + 1) * months);
  return steps + static_cast<double>(to - last) / (next - last);
}

}  // namespace

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
  return number_of(date);
}

std::string iso_date(std::int32_t day) {
  const std::chrono::year_month_day date{std::chrono::sys_days(std::chrono::days(day))};
  std::array<char, 32> text{};
  const int n = std::snprintf(text.data(), text.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                              static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return std::string(text.data(), static_cast<std::size_t>(n));
}

std::int32_t add_months(std::int32_t day, int months) {
  const std::chrono::year_month_day from = date_of(day);
  const std::int64_t target = month_number(from) + months;
  const std::int64_t month =
      (target % months_per_year + months_per_year) % months_per_year;  // never negative
  const std::int64_t year = (target - month) / months_per_year;
  if (year < static_cast<int>(std::chrono::year::min()) ||
      year > static_cast<int>(std::chrono::year::max())) {
    throw ColumnError(iso_date(day) + " and " + std::to_string(months) +
                      " months: outside the calendar, years -32767 to 32767");
  }
  const std::chrono::year_month to{std::chrono::year(static_cast<int>(year)),
                                   std::chrono::month(static_cast<unsigned>(month) + 1)};
  const std::chrono::day last = (to / std::chrono::last).day();
  return number_of(to / std::min(from.day(), last));
}

double calendar_years(std::int32_t from, std::int32_t to) {
  return completed_steps(from, to, static_cast<int>(months_per_year));
}

double calendar_months(std::int32_t from, std::int32_t to) { return completed_steps(from, to, 1); }

}  // namespace wheelend
