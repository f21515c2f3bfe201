// Cells of text: each status with many ways to get it. The cells are written here as people and programs
// write them.
#include "wheelend/text_cells.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "wheelend/dates.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;

namespace {

constexpr NumberStyle point{};
constexpr NumberStyle comma{.decimal = ',', .thousands = '\0'};

struct NumberCase {
  std::string_view cell;
  NumberStyle style;
  NumberCell status;
  double value;  // 0 where the status carries none
};

bool carries_a_value(NumberCell status) {
  return status == NumberCell::number || status == NumberCell::long_number;
}

void check(const NumberCase& c) {
  SCOPED_TRACE("'" + std::string(c.cell) + "', decimal '" + c.style.decimal + "', thousands '" +
               (c.style.thousands == '\0' ? std::string("none") : std::string(1, c.style.thousands)) + "'");
  const ParsedNumber p = parse_number(c.cell, c.style);
  EXPECT_EQ(static_cast<int>(p.status), static_cast<int>(c.status));
  if (carries_a_value(c.status)) {
    EXPECT_EQ(p.value, c.value);
  } else {
    EXPECT_TRUE(std::isnan(p.value)) << p.value;
  }
}

void check_all(NumberStyle style, NumberCell status, std::initializer_list<std::string_view> cells) {
  for (const std::string_view cell : cells) {
    check({cell, style, status, 0.0});
  }
}

constexpr std::int64_t second = 1'000'000, minute = 60 * second, hour = 60 * minute;

struct DateCase {
  std::string_view cell;
  std::int32_t day;
  std::int64_t microsecond;  // after midnight of that day, UTC
};

void check(const DateCase& c, DateCell status, DateOrder order = DateOrder::year_month_day) {
  SCOPED_TRACE(std::string(c.cell));
  const ParsedDate p = parse_date(c.cell, order);
  EXPECT_EQ(static_cast<int>(p.status), static_cast<int>(status));
  EXPECT_EQ(p.day, c.day);
  EXPECT_EQ(p.microsecond, c.day * microseconds_per_day + c.microsecond);
}

void check_unusable(DateCell status, std::initializer_list<std::string_view> cells,
                    DateOrder order = DateOrder::year_month_day) {
  for (const std::string_view cell : cells) {
    check({cell, 0, 0}, status, order);
  }
}

}  // namespace

// --- numbers

TEST(NumberCells, ReadsDecimals) {
  for (const NumberCase& c : std::initializer_list<NumberCase>{
           {"4", point, NumberCell::number, 4.0},
           {"4.5", point, NumberCell::number, 4.5},
           {"-4.5", point, NumberCell::number, -4.5},
           {"+5", point, NumberCell::number, 5.0},
           {".5", point, NumberCell::number, 0.5},
           {"-.5", point, NumberCell::number, -0.5},
           {"+.5", point, NumberCell::number, 0.5},
           {"5.", point, NumberCell::number, 5.0},
           {"0", point, NumberCell::number, 0.0},
           {"007", point, NumberCell::number, 7.0},
           {"3.175", point, NumberCell::number, 3.175},
           {"0.1", point, NumberCell::number, 0.1},
           {"1e5", point, NumberCell::number, 100000.0},
           {"1E+5", point, NumberCell::number, 100000.0},
           {"2.5e-3", point, NumberCell::number, 0.0025},
           {"123456.789", point, NumberCell::number, 123456.789},
           {"1.234", point, NumberCell::number, 1.234},
           {" 4.5 ", point, NumberCell::number, 4.5},
           {"\t4.5\r\n", point, NumberCell::number, 4.5},
       }) {
    check(c);
  }
}

TEST(NumberCells, ReadsBlanksAndTheirWordsAsMissing) {
  for (const NumberStyle style : {point, comma}) {
    check_all(style, NumberCell::missing,
              {"", " ", "\t", "  \r\n", "n/a", "N/A", "na", "NA", "nan", "NaN", "null", "NULL", "none",
               "None", "-", " - ", " n/a\t"});
  }
}

TEST(NumberCells, NamesADecimalCommaWhereAPointWasAgreed) {
  check_all(point, NumberCell::decimal_comma,
            {"4,5", "-4,5", "+4,5", "12,75", "0,5", ",5", "1234,5", "12,3456", "1,2e3"});
}

TEST(NumberCells, NamesThousandsMarksThatWereNotAgreed) {
  check_all(point, NumberCell::thousands,
            {"1,234", "12,345", "123,456", "1,234,567", "-1,234", "+1,234", "1,234.5", "1 234", "12 345 678",
             "1'234", "1 234.5"});
  check_all(comma, NumberCell::thousands, {"1.234", "1.234.567", "1.234,5", "1 234", "1 234,5", "1'234,5"});
  // another mark than the agreed one
  check_all({.decimal = '.', .thousands = ','}, NumberCell::thousands, {"1 234", "1'234"});
}

TEST(NumberCells, ReadsADecimalCommaThatWasAgreed) {
  for (const NumberCase& c : std::initializer_list<NumberCase>{
           {"4,5", comma, NumberCell::number, 4.5},
           {"-4,5", comma, NumberCell::number, -4.5},
           {"+,5", comma, NumberCell::number, 0.5},
           {"5", comma, NumberCell::number, 5.0},
           {"1,234", comma, NumberCell::number, 1.234},
           {"3,175", comma, NumberCell::number, 3.175},
           {"1,5e2", comma, NumberCell::number, 150.0},
           {"1e999", comma, NumberCell::not_finite, 0.0},
           {"4.5", comma, NumberCell::not_a_number, 0.0},
           {"1,2,3", comma, NumberCell::not_a_number, 0.0},
           {"1.5,2", comma, NumberCell::not_a_number, 0.0},
       }) {
    check(c);
  }
}

TEST(NumberCells, ReadsThousandsMarksThatWereAgreed) {
  constexpr NumberStyle us{.decimal = '.', .thousands = ','}, german{.decimal = ',', .thousands = '.'},
      french{.decimal = ',', .thousands = ' '}, swiss{.decimal = '.', .thousands = '\''};
  for (const NumberCase& c : std::initializer_list<NumberCase>{
           {"1,234", us, NumberCell::number, 1234.0},
           {"1,234,567", us, NumberCell::number, 1234567.0},
           {"-1,234.5", us, NumberCell::number, -1234.5},
           {"+12,345", us, NumberCell::number, 12345.0},
           {"1234", us, NumberCell::number, 1234.0},
           {"4.5", us, NumberCell::number, 4.5},
           {"4,5", us, NumberCell::decimal_comma, 0.0},
           {"12,34", us, NumberCell::decimal_comma, 0.0},
           {"1,2345", us, NumberCell::decimal_comma, 0.0},
           {"1234,567", us, NumberCell::decimal_comma, 0.0},
           {"1,234,56", us, NumberCell::not_a_number, 0.0},
           {",234", us, NumberCell::decimal_comma, 0.0},
           {"1,,234", us, NumberCell::not_a_number, 0.0},
           {"1.234", german, NumberCell::number, 1234.0},
           {"1.234.567,25", german, NumberCell::number, 1234567.25},
           {"12,5", german, NumberCell::number, 12.5},
           {"1.5", german, NumberCell::not_a_number, 0.0},
           {"1 234,5", french, NumberCell::number, 1234.5},
           {"12 34", french, NumberCell::not_a_number, 0.0},
           {"1'234.5", swiss, NumberCell::number, 1234.5},
           {"1'23", swiss, NumberCell::not_a_number, 0.0},
       }) {
    check(c);
  }
}

// No number is written with a leading group of zero: 0,125 is an eighth by whoever wrote it, never 125.
TEST(NumberCells, DoesNotTakeADecimalCommaAfterZeroForThousands) {
  EXPECT_NE(parse_number("0,125", {.decimal = '.', .thousands = ','}).status, NumberCell::number);
  EXPECT_NE(parse_number("0.125", {.decimal = ',', .thousands = '.'}).status, NumberCell::number);
}

TEST(NumberCells, NamesNumbersBeyondTheRange) {
  check_all(point, NumberCell::not_finite,
            {"inf", "-inf", "+inf", "Inf", "INF", "infinity", "-Infinity", "1e999", "-1e999", "1e309"});
  check_all(point, NumberCell::not_finite, {"1" + std::string(400, '0')});
  check({"1e308", point, NumberCell::number, 1e308});
}

TEST(NumberCells, NamesTextsThatAreNoNumbers) {
  check_all(point, NumberCell::not_a_number,
            {"bald", "4/32",  "5psi",  "5 psi",   "1_000",    "0x10", "1e",    "e5",    "--5",
             "+-5",  "1.2.3", "5-",    "5+",      "1,2,3",    "4 5",  "12 34", ".",     "-.",
             "+",    "-,5,",  "1e5.5", "1.234,5", "info",     "#N/A", "n.a.",  "none!", "$5",
             "5%",   "(5)",   "1e+",   "1 e5",    "1,23,456", "= 5",  "--",    "?",     "nan(1)"});
}

// Eight letters that begin with "inf" are not yet infinity.
TEST(NumberCells, KnowsInfinityFromOtherWords) {
  check_all(point, NumberCell::not_a_number, {"inflated", "Infrared", "infinite", "infinitx", "inferred"});
}

TEST(NumberCells, NamesTextsBeyondAsciiThatAreNoNumbers) {
  check_all(point, NumberCell::not_a_number,
            {"\u0663",                    // Arabic-Indic three
             "\uFF14",                    // fullwidth four
             "\u00BD", "4\u00BD",         // one half, four and a half
             "\u22125",                   // minus sign
             "\u2013",                    // en dash
             "\u00A05", "5\u00A0",        // no-break space
             "1\u00A0234", "1\u202F234",  // no-break spaces as thousands marks
             "\uFEFF5",                   // byte order mark
             "5\u00B0",                   // degree sign
             "\xFF\xFE", "4\xFF",         // no UTF-8 at all
             std::string_view("4\0", 2), std::string_view("\0", 1), std::string_view("4\0005", 3)});
}

TEST(NumberCells, MarksNumbersThatADoubleDoesNotKeep) {
  for (const NumberCase& c : std::initializer_list<NumberCase>{
           {"0.1000000000000000055511151231257827", point, NumberCell::long_number, 0.1},
           {"3.17499999999999999999999999999", point, NumberCell::long_number, 3.175},
           {"3.17500000000000000000000000001", point, NumberCell::long_number, 3.175},
           {"9007199254740993", point, NumberCell::long_number, 9007199254740992.0},
           {"-9007199254740993", point, NumberCell::long_number, -9007199254740992.0},
           {"12345678901234567890", point, NumberCell::long_number, 12345678901234567890.0},
           // many digits, but what the double stands for is what was written
           {"3.1750000000000000000000000000", point, NumberCell::number, 3.175},
           {"000000000000000000004", point, NumberCell::number, 4.0},
           {"0.30000000000000004", point, NumberCell::number, 0.1 + 0.2},
           {"123456789012345", point, NumberCell::number, 123456789012345.0},
           {"9007199254740992", point, NumberCell::number, 9007199254740992.0},
           {"0.0000000000000000000000000000004", point, NumberCell::number, 4e-31},
       }) {
    check(c);
  }
}

// A cell may be absurd; the table it stands in is read all the same.
TEST(NumberCells, NeverThrows) {
  const std::string zeros(399, '0'), ones(399, '1');
  for (const std::string& cell : std::initializer_list<std::string>{
           "0." + zeros + "1234567890123456789e401", ones + "e-410", "1234567890123456789e-401",
           "0." + ones + "e999999999999", "1e99999999999999999999", "0e999", std::string(100000, '9'),
           std::string(100000, ','), std::string(100000, '-')}) {
    for (const NumberStyle style : {point, comma, NumberStyle{'.', ','}, NumberStyle{',', '.'}}) {
      EXPECT_NO_THROW((void)parse_number(cell, style)) << cell.substr(0, 40);
    }
  }
}

TEST(NumberCells, ReadsAColumn) {
  const std::string data = "4.5n/a4,5 7 9";
  const std::array<std::int64_t, 7> offsets{0, 3, 6, 9, 12, 12, 13};
  const std::array<std::uint8_t, 6> valid{1, 1, 1, 1, 1, 0};
  std::array<double, 6> values{};
  std::array<std::uint8_t, 6> statuses{};
  parse_numbers({offsets, data.data(), valid}, point, values, statuses);
  const std::array<NumberCell, 6> expected{NumberCell::number, NumberCell::missing, NumberCell::decimal_comma,
                                           NumberCell::number, NumberCell::missing, NumberCell::missing};
  for (std::size_t i = 0; i < expected.size(); ++i) {
    EXPECT_EQ(static_cast<int>(statuses[i]), static_cast<int>(expected[i])) << i;
  }
  EXPECT_EQ(values[0], 4.5);
  EXPECT_EQ(values[3], 7.0);
  EXPECT_TRUE(std::isnan(values[1]) && std::isnan(values[2]) && std::isnan(values[4]) &&
              std::isnan(values[5]));

  parse_numbers({offsets, data.data(), {}}, point, values, statuses);  // no mask: all are valid
  EXPECT_EQ(values[5], 9.0);
}

TEST(NumberCells, ReadsASliceOfAColumn) {
  // Arrow slices share their data: the first offset need not be 0.
  const std::string data = "xxx4.55";
  const std::array<std::int64_t, 3> offsets{3, 6, 7};
  std::array<double, 2> values{};
  std::array<std::uint8_t, 2> statuses{};
  parse_numbers({offsets, data.data(), {}}, point, values, statuses);
  EXPECT_EQ(values[0], 4.5);
  EXPECT_EQ(values[1], 5.0);
}

TEST(NumberCells, ReadsAnEmptyColumn) {
  const std::array<std::int64_t, 1> only_end{0};
  EXPECT_NO_THROW(parse_numbers({only_end, nullptr, {}}, point, {}, {}));
  EXPECT_NO_THROW(parse_numbers({{}, nullptr, {}}, point, {}, {}));
}

TEST(NumberCells, RefusesColumnsOfAnotherLength) {
  const std::string data = "45";
  const std::array<std::int64_t, 3> offsets{0, 1, 2};
  std::array<double, 2> values{};
  std::array<std::uint8_t, 2> statuses{};
  std::array<double, 1> short_values{};
  std::array<std::uint8_t, 3> long_statuses{};
  EXPECT_THROW(parse_numbers({offsets, data.data(), {}}, point, short_values, statuses), ColumnError);
  EXPECT_THROW(parse_numbers({offsets, data.data(), {}}, point, values, long_statuses), ColumnError);
}

// --- trimming and words

TEST(TextCells, TrimsBlanksOnly) {
  EXPECT_EQ(trimmed("  a b\t\r\n"), "a b");
  EXPECT_EQ(trimmed(""), "");
  EXPECT_EQ(trimmed(" \t"), "");
  EXPECT_EQ(trimmed("a"), "a");
  EXPECT_EQ(trimmed("\u00A0a"), "\u00A0a");
}

TEST(TextCells, KnowsTheWordsForMissing) {
  for (const char* word : {"", "n/a", "N/a", "na", "nan", "null", "none", "-"}) {
    EXPECT_TRUE(is_missing_word(word)) << word;
  }
  for (const char* word : {"0", "n", "nil", "no", "nano", "nones", "--", " ", "missing", "n/a."}) {
    EXPECT_FALSE(is_missing_word(word)) << word;
  }
}

// --- dates
// Day numbers: 2026-03-01 is 20513, 2024-02-29 is 19782, 2000-02-29 is 11016 by the formula of
// POSIX.1-2017, 4.16 (dates_test.cpp).

TEST(DateCells, ReadsDates) {
  for (const DateCase& c : std::initializer_list<DateCase>{
           {"2026-03-01", 20513, 0},
           {" 2026-03-01 ", 20513, 0},
           {"2026/03/01", 20513, 0},
           {"2026.03.01", 20513, 0},
           {"2026-3-1", 20513, 0},
           {"2026/3/1", 20513, 0},
           {"2024-02-29", 19782, 0},
           {"2000-02-29", 11016, 0},
           {"1970-01-01", 0, 0},
           {"1969-12-31", -1, 0},
       }) {
    check(c, DateCell::date);
    check(c, DateCell::date, DateOrder::month_day_year);  // a year in front is clear in any order
    check(c, DateCell::date, DateOrder::day_month_year);
  }
}

TEST(DateCells, ReadsTimesWithoutAZone) {
  for (const DateCase& c : std::initializer_list<DateCase>{
           {"2026-03-01T10:15", 20513, 10 * hour + 15 * minute},
           {"2026-03-01 10:15", 20513, 10 * hour + 15 * minute},
           {"2026-03-01t10:15:30", 20513, 10 * hour + 15 * minute + 30 * second},
           {"2026-03-01T10:15:30.5", 20513, 10 * hour + 15 * minute + 30 * second + 500'000},
           {"2026-03-01T10:15:30.000001", 20513, 10 * hour + 15 * minute + 30 * second + 1},
           {"2026-03-01T00:00:00", 20513, 0},
           {"2026-03-01T23:59:59.999999", 20513, 24 * hour - 1},
           {"2026/03/01 10:15", 20513, 10 * hour + 15 * minute},
           {"1969-12-31T12:00", -1, 12 * hour},
       }) {
    check(c, DateCell::local_time);
  }
}

TEST(DateCells, ReadsTimesWithAZone) {
  for (const DateCase& c : std::initializer_list<DateCase>{
           {"2026-03-01T10:15:30Z", 20513, 10 * hour + 15 * minute + 30 * second},
           {"2026-03-01 10:15:30z", 20513, 10 * hour + 15 * minute + 30 * second},
           {"2026-03-01T10:15Z", 20513, 10 * hour + 15 * minute},
           {"2026-03-01T10:15:30+00:00", 20513, 10 * hour + 15 * minute + 30 * second},
           {"2026-03-01T10:15:30-00:00", 20513, 10 * hour + 15 * minute + 30 * second},
           {"2026-03-01T10:15:30.25+05:30", 20513, 4 * hour + 45 * minute + 30 * second + 250'000},
           // The day stays the one that was written, although the instant lies on another day in UTC.
           {"2026-03-01T23:30:00-05:00", 20513, 28 * hour + 30 * minute},
           {"2026-03-01T00:30:00+09:00", 20513, -8 * hour - 30 * minute},
       }) {
    check(c, DateCell::zoned_time);
  }
}

// The examples of RFC 3339, section 5.8.
TEST(DateCells, ReadsTheExamplesOfRfc3339) {
  check({"1985-04-12T23:20:50.52Z", 5580, 23 * hour + 20 * minute + 50 * second + 520'000},
        DateCell::zoned_time);
  const ParsedDate pacific = parse_date("1996-12-19T16:39:57-08:00"),
                   utc = parse_date("1996-12-20T00:39:57Z");
  EXPECT_EQ(pacific.status, DateCell::zoned_time);
  EXPECT_EQ(pacific.microsecond, utc.microsecond);
  EXPECT_EQ(pacific.day + 1, utc.day);
  const ParsedDate leap = parse_date("1990-12-31T23:59:60Z"),
                   leap_pacific = parse_date("1990-12-31T15:59:60-08:00");
  EXPECT_EQ(leap.status, DateCell::zoned_time);
  EXPECT_EQ(leap.microsecond, leap_pacific.microsecond);
  check({"1937-01-01T12:00:27.87+00:20", -12053, 11 * hour + 40 * minute + 27 * second + 870'000},
        DateCell::zoned_time);
}

TEST(DateCells, CountsInstantsAsPosixDoes) {
  // 10^9 seconds after the epoch, from memory; 11574 days of 86400 s and 6400 s, by the formula of POSIX
  EXPECT_EQ(parse_date("2001-09-09T01:46:40Z").microsecond, 1'000'000'000 * second);
}

TEST(DateCells, DropsWhatIsFinerThanAMicrosecond) {
  EXPECT_EQ(parse_date("1970-01-01T00:00:00.1234569Z").microsecond, 123456);
  EXPECT_EQ(parse_date("1970-01-01T00:00:00.0000000000000000000000000000009Z").microsecond, 0);
}

TEST(DateCells, ReadsBlanksAndTheirWordsAsMissing) {
  check_unusable(DateCell::missing, {"", "  ", "n/a", "NA", "NaN", "none", "-"});
}

TEST(DateCells, AsksForTheOrderOfDayAndMonth) {
  check_unusable(DateCell::other_order, {"03/04/2026", "3/4/2026", "03-04-2026", "3.4.2026", "13/04/2026",
                                         "04/13/2026", "03/04/2026 10:15"});
}

TEST(DateCells, ReadsTheOrderThatWasAgreed) {
  for (const char* cell : {"03/04/2026", "3/4/2026", "03-04-2026", "3.4.2026"}) {
    check({cell, 20516, 0}, DateCell::date, DateOrder::month_day_year);  // 4 March
    check({cell, 20546, 0}, DateCell::date, DateOrder::day_month_year);  // 3 April
  }
  check({"3/4/2026 10:15", 20516, 10 * hour + 15 * minute}, DateCell::local_time, DateOrder::month_day_year);
  check({"3/4/2026 10:15Z", 20546, 10 * hour + 15 * minute}, DateCell::zoned_time, DateOrder::day_month_year);
  check_unusable(DateCell::no_such_day, {"13/04/2026", "02/29/2026", "00/10/2026"},
                 DateOrder::month_day_year);
  check_unusable(DateCell::no_such_day, {"04/13/2026", "31/04/2026", "29.2.2026"}, DateOrder::day_month_year);
}

TEST(DateCells, RefusesTwoDigitYears) {
  for (const DateOrder order :
       {DateOrder::year_month_day, DateOrder::month_day_year, DateOrder::day_month_year}) {
    check_unusable(DateCell::two_digit_year, {"03/04/26", "3-4-26", "26-03-04", "3.4.26"}, order);
  }
}

TEST(DateCells, NamesDaysThatAreNotInTheCalendar) {
  check_unusable(DateCell::no_such_day,
                 {"2026-02-30", "2026-02-29", "1900-02-29", "2100-02-29", "2026-13-01", "2026-00-10",
                  "2026-01-00", "2026-04-31", "2026-06-31", "2026/02/30", "2026-2-30", "2026-02-30T10:00"});
}

// Months and days of three digits must not wrap round to small ones (257 = 256 + 1).
TEST(DateCells, DoesNotWrapLongMonthsAndDaysRound) {
  for (const char* cell : {"2026-257-01", "2026/01/257", "2026/257/257", "2026.268.31"}) {
    const ParsedDate p = parse_date(cell);
    EXPECT_TRUE(p.status == DateCell::no_such_day || p.status == DateCell::not_a_date)
        << cell << " was read as " << iso_date(p.day);
  }
}

TEST(DateCells, NamesDayNumbersOfSpreadsheets) {
  check_unusable(DateCell::serial, {"45291", "45291.5", "45291.0", " 45291 ", "36526"});
}

TEST(DateCells, NamesTextsThatAreNoDates) {
  check_unusable(DateCell::not_a_date, {"yesterday",
                                        "4529",
                                        "452910",
                                        "2026",
                                        "2026-03",
                                        "20260301",
                                        "2026-03-01T",
                                        "2026-03-01 ?",
                                        "2026-03-01x",
                                        "2026-03-01T25:00",
                                        "2026-03-01T24:00",
                                        "2026-03-01T10:60",
                                        "2026-03-01T10:15:61",
                                        "2026-03-01T10",
                                        "2026-03-01T1:15",
                                        "2026-03-01T10:15:",
                                        "2026-03-01T10:15:30.",
                                        "2026-03-01T10:15:30,5",
                                        "2026-03-01T10:15+0530",
                                        "2026-03-01T10:15+5:30",
                                        "2026-03-01T10:15+24:00",
                                        "2026-03-01T10:15+05:60",
                                        "2026-03-01T10:15ZZ",
                                        "2026-03-01T10:15+05:30x",
                                        "2026-03-01T10:15+05:300",
                                        "2026-03-01T10:15 PM",
                                        "2026-03-01T10:15Z ?",
                                        "2026-03-01  10:15",
                                        "03/04-2026",
                                        "2026-03/01",
                                        "03//2026",
                                        "/03/2026",
                                        "1/2/3/4",
                                        "March 3, 2026",
                                        "3 Mar 2026",
                                        "-2026-03-01",
                                        "2026-W09-7",
                                        "2026-060",
                                        "1,5",
                                        "45291.",
                                        ".45291"});
}

TEST(DateCells, NamesTextsBeyondAsciiThatAreNoDates) {
  check_unusable(DateCell::not_a_date,
                 {"\u0662\u0660\u0662\u0666-\u0660\u0663-\u0660\u0661",  // Arabic-Indic digits
                  "2026\u201103\u201101",                                // non-breaking hyphens
                  "\uFEFF2026-03-01", "\u00A02026-03-01", "2026-03-01\u00A0",
                  std::string_view("2026-03-01\0", 11), "\xFF\xFE"});
}

TEST(DateCells, ReadsAColumn) {
  const std::string data = "2026-03-012026-03-01T10:15Z3/4/2026";
  const std::array<std::int64_t, 6> offsets{0, 10, 27, 35, 35, 35};
  const std::array<std::uint8_t, 5> valid{1, 1, 1, 1, 0};
  std::array<std::int32_t, 5> days{};
  std::array<std::int64_t, 5> microseconds{};
  std::array<std::uint8_t, 5> statuses{};
  parse_dates({offsets, data.data(), valid}, DateOrder::year_month_day, days, microseconds, statuses);
  const std::array<DateCell, 5> expected{DateCell::date, DateCell::zoned_time, DateCell::other_order,
                                         DateCell::missing, DateCell::missing};
  for (std::size_t i = 0; i < expected.size(); ++i) {
    EXPECT_EQ(static_cast<int>(statuses[i]), static_cast<int>(expected[i])) << i;
  }
  EXPECT_EQ(days, (std::array<std::int32_t, 5>{20513, 20513, 0, 0, 0}));
  EXPECT_EQ(microseconds[1] - microseconds[0], 10 * hour + 15 * minute);

  parse_dates({offsets, data.data(), valid}, DateOrder::month_day_year, days, microseconds, statuses);
  EXPECT_EQ(days[2], 20516);
}

TEST(DateCells, HidesWhatIsBehindTheMask) {
  const std::string data = "2026-03-01";
  const std::array<std::int64_t, 2> offsets{0, 10};
  const std::array<std::uint8_t, 1> valid{0};
  std::array<std::int32_t, 1> days{7};
  std::array<std::int64_t, 1> microseconds{7};
  std::array<std::uint8_t, 1> statuses{7};
  parse_dates({offsets, data.data(), valid}, DateOrder::year_month_day, days, microseconds, statuses);
  EXPECT_EQ(static_cast<int>(statuses[0]), static_cast<int>(DateCell::missing));
  EXPECT_EQ(days[0], 0);
  EXPECT_EQ(microseconds[0], 0);
}

TEST(DateCells, RefusesColumnsOfAnotherLength) {
  const std::string data = "2026-03-01";
  const std::array<std::int64_t, 2> offsets{0, 10};
  std::array<std::int32_t, 1> days{};
  std::array<std::int64_t, 1> microseconds{};
  std::array<std::uint8_t, 1> statuses{};
  std::array<std::int32_t, 2> long_days{};
  std::array<std::int64_t, 2> long_microseconds{};
  const TextColumn cells{offsets, data.data(), {}};
  EXPECT_THROW(parse_dates(cells, DateOrder::year_month_day, long_days, microseconds, statuses), ColumnError);
  EXPECT_THROW(parse_dates(cells, DateOrder::year_month_day, days, long_microseconds, statuses), ColumnError);
  EXPECT_THROW(parse_dates(cells, DateOrder::year_month_day, days, microseconds, {}), ColumnError);
}
