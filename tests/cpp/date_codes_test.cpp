#include "wheelend/date_codes.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <string>
#include <vector>

#include "wheelend/dates.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;

namespace {

std::int32_t at(int year, int month, int day) { return day_number(year, month, day).value(); }

const std::int32_t today = at(2025, 6, 10);

DateCodeStatus status(std::string_view text) { return parse_date_code(text, today).status; }

std::string code(int week, int year) {
  char text[16];
  std::snprintf(text, sizeof text, "%02d%02d", week, year % 100);
  return text;
}

// 1 January 1970 was a Thursday (POSIX.1-2017, 4.16 with tm_wday).
bool is_sunday(std::int32_t day) { return (day + 4) % 7 == 0; }

void expect_week(std::string_view text, std::string_view first, std::string_view last) {
  const ParsedDateCode p = parse_date_code(text, today);
  EXPECT_EQ(p.status, DateCodeStatus::week) << text;
  EXPECT_EQ(iso_date(p.first_day), first) << text;
  EXPECT_EQ(iso_date(p.last_day), last) << text;
}

}  // namespace

// ---- four digits: 49 CFR 574.5(b)(3), SOR/2013-198 s. 6(4)(c)

// Dates and weekdays are those of any printed calendar.
TEST(DateCode, WeeksBeginOnTheFirstSundayOfTheYear) {
  expect_week("0511", "2011-01-30", "2011-02-05");
  expect_week("5323", "2023-12-31", "2024-01-06");
  expect_week("0124", "2024-01-07", "2024-01-13");
  expect_week("0123", "2023-01-01", "2023-01-07");
  expect_week("0100", "2000-01-02", "2000-01-08");
}

TEST(DateCode, AYearHasAsManyWeeksAsSundays) {
  EXPECT_EQ(status("5322"), DateCodeStatus::no_such_week);  // 1 Jan 2022 is a Saturday: 52 Sundays
  expect_week("5222", "2022-12-25", "2022-12-31");
  EXPECT_EQ(status("0022"), DateCodeStatus::no_such_week);
  EXPECT_EQ(status("5422"), DateCodeStatus::no_such_week);
  EXPECT_EQ(status("9922"), DateCodeStatus::no_such_week);
}

// Walks the Sundays of 41 years: the n-th is week n, and there is no other.
TEST(DateCode, EverySundayFrom2000To2040IsOneWeek) {
  const std::int32_t later = at(2041, 12, 31);
  std::int32_t day = at(2000, 1, 1);
  for (int year = 2000; year <= 2040; ++year) {
    int week = 0;
    for (; day <= at(year, 12, 31); ++day) {
      if (is_sunday(day)) {
        const ParsedDateCode p = parse_date_code(code(++week, year), later);
        ASSERT_EQ(p.status, DateCodeStatus::week) << code(week, year);
        ASSERT_EQ(p.first_day, day) << code(week, year);
        ASSERT_EQ(p.last_day, day + 6) << code(week, year);
      }
    }
    ASSERT_EQ(weeks_of_year(year), week) << year;
    for (const int other : {0, week + 1, week + 2, 99}) {
      const ParsedDateCode p = parse_date_code(code(other, year), later);
      ASSERT_EQ(p.status, DateCodeStatus::no_such_week) << code(other, year);
    }
  }
}

// Years of 53 Sundays begin on a Sunday, or on a Saturday when they are leap years.
TEST(DateCode, YearsOf53Sundays) {
  std::vector<int> found;
  for (int year = 2000; year <= 2040; ++year) {
    if (weeks_of_year(year) == 53) {
      found.push_back(year);
    }
  }
  EXPECT_EQ(found, (std::vector<int>{2000, 2006, 2012, 2017, 2023, 2028, 2034, 2040}));
  EXPECT_THROW(weeks_of_year(-1), ColumnError);
  EXPECT_THROW(weeks_of_year(10'000), ColumnError);
}

TEST(DateCode, AWeekMustHaveBegun) {
  const std::int32_t sunday = at(2025, 6, 8);  // week 23: the first Sunday of 2025 is 5 January
  EXPECT_EQ(parse_date_code("2325", sunday).status, DateCodeStatus::week);
  EXPECT_EQ(parse_date_code("2325", sunday + 6).status, DateCodeStatus::week);
  EXPECT_EQ(parse_date_code("2325", sunday - 1).status, DateCodeStatus::in_the_future);
  EXPECT_EQ(parse_date_code("2325", sunday - 1).first_day, 0);
  EXPECT_EQ(status("3198"), DateCodeStatus::in_the_future);  // YY is 20YY: three digits before 2000
}

// ---- three digits: 64 FR 36807

TEST(DateCode, ThreeDigitsDoNotRecordTheDecade) {
  const ParsedDateCode p = parse_date_code("317", today);
  EXPECT_EQ(p.status, DateCodeStatus::decade_unknown);
  EXPECT_EQ(p.first_day, 0);
  EXPECT_EQ(p.last_day, 0);
}

// Week 31 begins 30 weeks after the first Sunday: 2 Jan 1977, 4 Jan 1987, 5 Jan 1997, 7 Jan 2007, 1 Jan 2017.
TEST(DateCode, ThreeDigitsMayBeAnyDecade) {
  std::vector<std::int32_t> want;
  for (const std::int32_t first :
       {at(1977, 1, 2), at(1987, 1, 4), at(1997, 1, 5), at(2007, 1, 7), at(2017, 1, 1)}) {
    want.push_back(first + 30 * 7);
  }
  EXPECT_EQ(candidate_weeks("317", today), want);
  EXPECT_EQ(candidate_weeks("317", want[4]), want);
  want.pop_back();
  EXPECT_EQ(candidate_weeks("317", at(2017, 7, 29)), want);  // the day before the last begins
}

TEST(DateCode, Week53OfThreeDigitsNeedsAYearOf53Sundays) {
  // 1972 (leap, began on a Saturday) and 2012 (leap, on a Sunday) alone have 53 among the years ending in 2.
  EXPECT_EQ(candidate_weeks("532", today), (std::vector<std::int32_t>{at(1972, 12, 31), at(2012, 12, 30)}));
  EXPECT_EQ(status("532"), DateCodeStatus::decade_unknown);
  EXPECT_EQ(status("542"), DateCodeStatus::no_such_week);
  EXPECT_EQ(status("002"), DateCodeStatus::no_such_week);
}

TEST(DateCode, CandidatesAreOfThreeDigitsOnly) {
  EXPECT_TRUE(candidate_weeks("0511", today).empty());
  EXPECT_TRUE(candidate_weeks("", today).empty());
  EXPECT_TRUE(
      candidate_weeks("317", at(1970, 12, 31)).empty());  // no numbers yet: Part 574 is of January 1971
}

// ---- where the code stands: lengths of 49 CFR 574.5(a); groups as they are moulded

TEST(FindDateCode, TakesTheCodeAlone) {
  EXPECT_EQ(find_date_code("0511"), "0511");
  EXPECT_EQ(find_date_code("  0511\t"), "0511");
  EXPECT_EQ(find_date_code("DOT 0511"), "0511");
  EXPECT_EQ(find_date_code("dot-0511"), "0511");
  EXPECT_EQ(find_date_code("317"), "317");
}

TEST(FindDateCode, TakesTheEndOfAFullNumber) {
  EXPECT_EQ(find_date_code("1ABC2D3E40511"), "0511");  // 13 symbols: 3 of the plant, 6 of the maker, date
  EXPECT_EQ(find_date_code("DOT 1AB C2D3E4 0511"), "0511");  // the same in its groups
  EXPECT_EQ(find_date_code("DOT 1AB-C2D3E4-0511"), "0511");
  EXPECT_EQ(find_date_code("ABC0511"), "0511");          // 7: retread
  EXPECT_EQ(find_date_code("DOT A1 B2 0511"), "0511");   // 8, before 80 FR 19553 (from memory)
  EXPECT_EQ(find_date_code("DOTA1B2C3D40511"), "0511");  // 12, the same
  EXPECT_EQ(find_date_code("dot a1 b2 c3d 0511"), "0511");
  EXPECT_EQ(find_date_code("DOT A1B2 C3D 317"), "317");  // before 64 FR 36807
  EXPECT_EQ(find_date_code("DOT A1 B2 1 317"), "317");   // the group decides, not the digit before it
  EXPECT_EQ(find_date_code("DOTA1B2CD317"), "317");
}

TEST(FindDateCode, RefusesOtherLengths) {
  EXPECT_EQ(find_date_code("DOT ABCD1 2E3F4G 0511"), "");  // 15
  EXPECT_EQ(find_date_code("AB0511"), "");                 // 6
  EXPECT_EQ(find_date_code("12"), "");
  EXPECT_EQ(find_date_code("10511"), "");
  EXPECT_EQ(find_date_code("DOT"), "");
  EXPECT_EQ(find_date_code(""), "");
}

TEST(FindDateCode, RefusesTheNumberOfTheOtherSidewall) {
  EXPECT_EQ(find_date_code("DOT 1AB C2D3EF"), "");  // without its date: SOR/2013-198 s. 6(2)(b)
}

TEST(FindDateCode, RefusesACodeInPieces) {
  EXPECT_EQ(find_date_code("05 11"), "");
  EXPECT_EQ(find_date_code("05-11"), "");
  EXPECT_EQ(find_date_code("05/11"), "");
  EXPECT_EQ(find_date_code("DOT ABCD EFGH 05 11"), "");
}

TEST(FindDateCode, RefusesWhatMayAsWellBeADate) {
  EXPECT_EQ(find_date_code("20230511"), "");
  EXPECT_EQ(find_date_code("2023-05-11"), "");
  EXPECT_EQ(find_date_code("05-11-2023"), "");
  EXPECT_EQ(find_date_code("May 2023"), "");
  EXPECT_EQ(find_date_code("11 May 2023"), "");
  EXPECT_EQ(find_date_code("week 23 2017"), "");
  EXPECT_EQ(find_date_code("DOT ABC 2023"), "2023");  // week 20 of 2023: the mark says what it is
}

TEST(FindDateCode, RefusesOtherSigns) {
  EXPECT_EQ(find_date_code("-0511"), "");
  EXPECT_EQ(find_date_code("511.0"), "");
  EXPECT_EQ(find_date_code("0511?"), "");
  EXPECT_EQ(find_date_code("DOT AB\xC3\x89 D1 0511"), "");
  EXPECT_EQ(find_date_code("unknown"), "");
}

TEST(DateCode, SaysWhyThereIsNone) {
  EXPECT_EQ(status("05-11"), DateCodeStatus::not_a_date_code);
  EXPECT_EQ(status("DOT"), DateCodeStatus::not_a_date_code);
  for (const char* blank : {"", "  ", "n/a", "None", "-"}) {
    EXPECT_EQ(status(blank), DateCodeStatus::missing) << blank;
  }
}

TEST(DateCode, EveryStatusHasAName) {
  EXPECT_EQ(date_code_status_names.size(), static_cast<std::size_t>(DateCodeStatus::missing) + 1);
  EXPECT_EQ(date_code_status_names[static_cast<std::size_t>(DateCodeStatus::in_the_future)], "in_the_future");
}

// ---- columns

TEST(DateCodeColumn, GivesEachCellItsOwn) {
  const std::string data = "05115322317x0511";
  const std::vector<std::int64_t> offsets{0, 4, 8, 11, 12, 16, 16};
  const std::vector<std::uint8_t> valid{1, 1, 1, 1, 0, 1};
  const TextColumn cells{offsets, data.data(), valid};
  std::vector<std::uint8_t> statuses(6, 99);
  std::vector<std::int32_t> first(6, -7), last(6, -7);
  parse_date_codes(cells, today, statuses, first, last);
  EXPECT_EQ(statuses, (std::vector<std::uint8_t>{0, 2, 1, 4, 5, 5}));  // as date_codes.hpp numbers them
  EXPECT_EQ(first, (std::vector<std::int32_t>{at(2011, 1, 30), 0, 0, 0, 0, 0}));
  EXPECT_EQ(last, (std::vector<std::int32_t>{at(2011, 2, 5), 0, 0, 0, 0, 0}));
  std::vector<std::int32_t> shorter(5);
  EXPECT_THROW(parse_date_codes(cells, today, statuses, shorter, last), ColumnError);
  EXPECT_THROW(parse_date_codes(cells, today, statuses, first, shorter), ColumnError);
}

TEST(DateCodeColumn, MayBeEmpty) {
  EXPECT_NO_THROW(parse_date_codes(TextColumn{{}, nullptr, {}}, today, {}, {}, {}));
}

// ---- age: worked case of the ten-year rule (UK, Construction and Use amendment 2020)

TEST(DateCode, ATireOfWeek05Of2011IsTooOldOn10February2021) {
  const ParsedDateCode p = parse_date_code("0511", today);
  EXPECT_GT(calendar_years(p.last_day, at(2021, 2, 10)), 10.0);  // even if made on its Saturday
  EXPECT_EQ(calendar_years(p.last_day, at(2021, 2, 5)), 10.0);
  EXPECT_LE(calendar_years(p.first_day, at(2021, 1, 30)), 10.0);
}
