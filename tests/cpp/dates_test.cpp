#include "wheelend/dates.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <limits>
#include <optional>
#include <string>

#include "wheelend/error.hpp"

using namespace wheelend;

namespace {

// Gregorian leap rule and month lengths, ISO 8601-1:2019, 3.1.1 and 4.2.1.
bool is_leap(int year) { return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0; }
int month_length(int year, int month) {
  constexpr int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : lengths[month - 1];
}

std::int32_t at(int year, int month, int day) { return day_number(year, month, day).value(); }

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

// ---- months and years later

// 49 CFR 396.21(b): a periodic inspection report is kept for 14 months; dated 15 Jan 2024, through 15 Mar
// 2025.
TEST(AddMonths, KeepsAPeriodicInspectionReport) {
  EXPECT_EQ(iso_date(add_months(at(2024, 1, 15), 14)), "2025-03-15");
}

// Regulation (EEC, Euratom) No 1182/71, Art. 3(2)(c): a period of months or years ends on the same date, and
// on the last day of the month where that date does not occur in it.
TEST(AddMonths, EndsOnTheLastDayOfAMonthThatIsTooShort) {
  EXPECT_EQ(iso_date(add_months(at(2025, 1, 31), 1)), "2025-02-28");
  EXPECT_EQ(iso_date(add_months(at(2024, 1, 31), 1)), "2024-02-29");
  EXPECT_EQ(iso_date(add_months(at(2025, 8, 31), 1)), "2025-09-30");
  EXPECT_EQ(iso_date(add_months(at(2024, 2, 29), 12)), "2025-02-28");
  EXPECT_EQ(iso_date(add_months(at(2024, 2, 29), 48)), "2028-02-29");
}

// W3C XML Schema Part 2: Datatypes, second edition, appendix E.2 (from memory).
TEST(AddMonths, GivesTheExamplesOfXmlSchema) {
  EXPECT_EQ(iso_date(add_months(at(2000, 3, 30), 1)), "2000-04-30");
  EXPECT_EQ(iso_date(add_months(at(2000, 3, 31), 1)), "2000-04-30");
  EXPECT_EQ(iso_date(add_months(at(2000, 1, 1), -3)), "1999-10-01");
}

// The rule of Art. 3(2)(c) by counting months one at a time: no arithmetic of the core.
TEST(AddMonths, FollowsTheCalendarFromEveryDayOfFourYears) {
  for (int year = 2021; year <= 2024; ++year) {
    for (int month = 1; month <= 12; ++month) {
      for (int day = 1; day <= month_length(year, month); ++day) {
        int y = year, m = month;
        for (int months = 0; months <= 130; ++months) {
          const int d = day < month_length(y, m) ? day : month_length(y, m);
          ASSERT_EQ(add_months(at(year, month, day), months), at(y, m, d))
              << year << '-' << month << '-' << day << " + " << months;
          y += m == 12;
          m = m == 12 ? 1 : m + 1;
        }
      }
    }
  }
}

TEST(AddMonths, GoesBackOverTheYear) {
  EXPECT_EQ(iso_date(add_months(at(2025, 1, 15), -1)), "2024-12-15");
  EXPECT_EQ(iso_date(add_months(at(2025, 3, 31), -13)), "2024-02-29");
  EXPECT_EQ(add_months(at(2025, 3, 31), 0), at(2025, 3, 31));
  EXPECT_EQ(iso_date(add_months(at(3, 1, 5), -25)), "0000-12-05");
  EXPECT_EQ(add_months(at(-1, 1, 5), -1), at(-2, 12, 5));
}

TEST(AddMonths, RefusesWhatLiesOutsideTheCalendar) {
  constexpr int most = std::numeric_limits<int>::max();
  EXPECT_THROW(add_months(most, 0), ColumnError);
  EXPECT_THROW(add_months(std::numeric_limits<std::int32_t>::min(), 0), ColumnError);
  EXPECT_THROW(add_months(0, most), ColumnError);
  EXPECT_THROW(add_months(0, std::numeric_limits<int>::min()), ColumnError);
  EXPECT_EQ(add_months(at(32767, 11, 30), 1), at(32767, 12, 30));
  EXPECT_THROW(add_months(at(32767, 12, 1), 1), ColumnError);
  EXPECT_EQ(add_months(at(-32767, 2, 1), -1), at(-32767, 1, 1));
  EXPECT_THROW(add_months(at(-32767, 1, 1), -1), ColumnError);
  EXPECT_THROW(add_months(at(-32767, 1, 1) - 1, 1), ColumnError);
  EXPECT_THROW(add_months(at(32767, 12, 31) + 1, -1), ColumnError);
}

// ---- ages

// "10 years" of the Road Vehicles (Construction and Use) amendment of 2020 (UK): passes on the tenth
// anniversary and fails the day after.
TEST(CalendarYears, AreExactOnAnAnniversary) {
  EXPECT_EQ(calendar_years(at(2011, 2, 5), at(2021, 2, 5)), 10.0);
  EXPECT_GT(calendar_years(at(2011, 2, 5), at(2021, 2, 6)), 10.0);
  EXPECT_LT(calendar_years(at(2011, 2, 5), at(2021, 2, 4)), 10.0);
  EXPECT_EQ(calendar_years(at(2011, 2, 5), at(2011, 2, 5)), 0.0);
}

// Days between anniversaries, by the leap rule: 365, or 366 over a 29 February.
TEST(CalendarYears, CountDaysSinceTheLastAnniversary) {
  EXPECT_EQ(calendar_years(at(2023, 3, 1), at(2023, 3, 2)), 1.0 / 366);  // 29 Feb 2024 lies before the first
  EXPECT_EQ(calendar_years(at(2022, 3, 1), at(2022, 3, 2)), 1.0 / 365);
  EXPECT_EQ(calendar_years(at(2011, 2, 5), at(2021, 2, 10)), 10 + 5.0 / 365);
  EXPECT_EQ(calendar_years(at(2020, 12, 31), at(2021, 12, 30)), 364.0 / 365);
}

TEST(CalendarYears, OfA29FebruaryHaveTheirAnniversaryInFebruary) {
  EXPECT_EQ(calendar_years(at(2012, 2, 29), at(2022, 2, 28)), 10.0);
  EXPECT_GT(calendar_years(at(2012, 2, 29), at(2022, 3, 1)), 10.0);
  EXPECT_LT(calendar_years(at(2012, 2, 29), at(2022, 2, 27)), 10.0);
  EXPECT_EQ(calendar_years(at(2012, 2, 29), at(2016, 2, 29)), 4.0);
  EXPECT_LT(calendar_years(at(2012, 2, 29), at(2016, 2, 28)), 4.0);
}

// Every day of 45 years is older than the one before it, and anniversaries of the calendar give whole
// numbers.
TEST(CalendarYears, GrowDayByDay) {
  for (const std::int32_t from : {at(2000, 1, 1), at(2000, 2, 29), at(2003, 12, 31), at(2001, 2, 28)}) {
    double before = -1;
    for (std::int32_t day = from; day <= from + 45 * 366; ++day) {
      const double years = calendar_years(from, day);
      ASSERT_GT(years, before) << iso_date(from) << ' ' << iso_date(day);
      before = years;
    }
  }
  for (int n = 0; n <= 60; ++n) {
    ASSERT_EQ(calendar_years(at(1990, 7, 14), at(1990 + n, 7, 14)), n);
  }
}

// 49 CFR 396.17: at least one periodic inspection every 12 months.
TEST(CalendarMonths, OfAPeriodicInspection) {
  EXPECT_EQ(calendar_months(at(2024, 5, 10), at(2025, 5, 10)), 12.0);
  EXPECT_GT(calendar_months(at(2024, 5, 10), at(2025, 5, 11)), 12.0);
  EXPECT_EQ(calendar_months(at(2024, 5, 10), at(2025, 6, 10)), 13.0);
}

TEST(CalendarMonths, CountDaysSinceTheLastMonthlyDate) {
  EXPECT_EQ(calendar_months(at(2025, 4, 10), at(2025, 4, 25)), 15.0 / 30);
  EXPECT_EQ(calendar_months(at(2025, 1, 10), at(2025, 2, 24)), 1 + 14.0 / 28);
  EXPECT_EQ(calendar_months(at(2025, 1, 31), at(2025, 2, 28)), 1.0);  // Art. 3(2)(c), as above
  EXPECT_EQ(calendar_months(at(2025, 1, 31), at(2025, 3, 1)), 1 + 1.0 / 31);
}

TEST(Ages, AreNeverNegative) {
  EXPECT_THROW(calendar_years(at(2025, 1, 2), at(2025, 1, 1)), ColumnError);
  EXPECT_THROW(calendar_months(at(2025, 1, 2), at(2025, 1, 1)), ColumnError);
  EXPECT_THROW(calendar_years(at(2025, 1, 1), std::numeric_limits<std::int32_t>::max()), ColumnError);
  EXPECT_THROW(calendar_years(std::numeric_limits<std::int32_t>::min(), 0), ColumnError);
}
