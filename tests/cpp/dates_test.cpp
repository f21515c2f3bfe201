#include "wheelend/dates.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <optional>
#include <string>

using namespace wheelend;

namespace {

// Gregorian leap rule and month lengths, ISO 8601-1:2019, 3.1.1 and 4.2.1.
bool is_leap(int year) { return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0; }
int month_length(int year, int month) {
  constexpr int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : lengths[month - 1];
}

}  // namespace

TEST(Dates, CountsFromTheFirstDayOf1970) {
  EXPECT_EQ(day_number(1970, 1, 1), 0);
  EXPECT_EQ(day_number(1970, 1, 2), 1);
  EXPECT_EQ(day_number(1969, 12, 31), -1);
}

// Formula of "seconds since the epoch", POSIX.1-2017, 4.16:
//   days = yday + (y-70)*365 + (y-69)/4 - (y-1)/100 + (y+299)/400, y = year - 1900, yday from 0.
TEST(Dates, AgreesWithTheFormulaOfPosix) {
  EXPECT_EQ(day_number(2000, 1, 1), 0 + 30 * 365 + 31 / 4 - 99 / 100 + 399 / 400);
  EXPECT_EQ(day_number(2000, 3, 1), 60 + 30 * 365 + 31 / 4 - 99 / 100 + 399 / 400);
  EXPECT_EQ(day_number(2026, 3, 1), 59 + 56 * 365 + 57 / 4 - 125 / 100 + 425 / 400);
  EXPECT_EQ(day_number(2101, 1, 1), 0 + 131 * 365 + 132 / 4 - 200 / 100 + 500 / 400);
}

// Walks the calendar by the leap rule alone: one day, one number, one text.
TEST(Dates, FollowsTheCalendarForEightCenturies) {
  std::int32_t expected = -135140;  // 1600-01-01: 370 years of 365 days before 1970 and 90 leap days
  ASSERT_EQ(-(370 * 365 + 90), expected);
  for (int year = 1600; year < 2400; ++year) {
    for (int month = 1; month <= 12; ++month) {
      for (int day = 1; day <= month_length(year, month); ++day, ++expected) {
        ASSERT_EQ(day_number(year, month, day), expected) << year << '-' << month << '-' << day;
        char text[40];
        std::snprintf(text, sizeof text, "%d-%02d-%02d", year, month, day);
        ASSERT_EQ(iso_date(expected), text);
      }
      ASSERT_EQ(day_number(year, month, month_length(year, month) + 1), std::nullopt) << year << '-' << month;
      ASSERT_EQ(day_number(year, month, 0), std::nullopt);
    }
  }
}

TEST(Dates, KnowsLeapYears) {
  EXPECT_TRUE(day_number(2024, 2, 29));
  EXPECT_TRUE(day_number(2000, 2, 29));
  EXPECT_FALSE(day_number(2023, 2, 29));
  EXPECT_FALSE(day_number(1900, 2, 29));
  EXPECT_FALSE(day_number(2100, 2, 29));
}

TEST(Dates, RefusesDaysThatAreNotInTheCalendar) {
  EXPECT_FALSE(day_number(2026, 0, 1));
  EXPECT_FALSE(day_number(2026, 13, 1));
  EXPECT_FALSE(day_number(2026, -1, 1));
  EXPECT_FALSE(day_number(2026, 1, 0));
  EXPECT_FALSE(day_number(2026, 1, 32));
  EXPECT_FALSE(day_number(2026, 1, -1));
  EXPECT_FALSE(day_number(2026, 2, 30));
  EXPECT_FALSE(day_number(2026, 4, 31));
}

// The calendar types of the standard library keep a month and a day in one byte and a year in two: 257 must
// not pass for 1, nor the year 67562 for 2026.
TEST(Dates, RefusesNumbersThatWouldWrapRound) {
  EXPECT_FALSE(day_number(2026, 1, 257));
  EXPECT_FALSE(day_number(2026, 257, 1));
  EXPECT_FALSE(day_number(2026, 256 + 12, 31));
  EXPECT_FALSE(day_number(65536 + 2026, 1, 1));
}

TEST(Dates, WritesFourDigitYears) {
  EXPECT_EQ(iso_date(0), "1970-01-01");
  EXPECT_EQ(iso_date(-1), "1969-12-31");
  // 400 years have 146 097 days; 2000-03-01 is day 11 017 (above).
  EXPECT_EQ(iso_date(11017 - 5 * 146097), "0000-03-01");
  EXPECT_EQ(iso_date(11017 + 20 * 146097 - 31 - 29 - 1), "9999-12-31");
}

TEST(Dates, HasDaysOf24Hours) { EXPECT_EQ(microseconds_per_day, 24LL * 60 * 60 * 1000 * 1000); }
