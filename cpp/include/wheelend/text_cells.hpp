// Cells of text tables: what was written, as a number or a date, or the reason why it is neither.
// Nothing is guessed: a comma is a decimal comma or a thousands comma only when the caller says so.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

namespace wheelend {

enum class NumberCell : std::uint8_t {
  number = 0,         // a decimal number
  missing = 1,        // blank, or one of: n/a na nan null none - (any case)
  decimal_comma = 2,  // 4,5 where the decimal mark is a point
  thousands = 3,      // 1,234 or 1 234 or 1'234 where no thousands mark was agreed
  not_finite = 4,     // inf, or beyond the range of numbers
  not_a_number = 5,   // anything else
  long_number =
      6,  // a number with more digits than a double keeps; the text must be kept for exact comparison
};

inline constexpr std::array<std::string_view, 7> number_cell_names{
    "number", "missing", "decimal_comma", "thousands", "not_finite", "not_a_number", "long_number"};

struct NumberStyle {
  char decimal = '.';
  char thousands = '\0';  // none
};

struct ParsedNumber {
  NumberCell status;
  double value;  // NaN unless status is number or long_number
};

ParsedNumber parse_number(std::string_view cell, NumberStyle style = {});

enum class DateCell : std::uint8_t {
  date = 0,        // a date without a time
  local_time = 1,  // date and time without a zone
  zoned_time = 2,  // RFC 3339 timestamp
  missing = 3,
  other_order = 4,     // 03/04/2026: which is the month?
  two_digit_year = 5,  // 03/04/26
  no_such_day = 6,     // 2026-02-30, 2026-13-01
  serial = 7,          // 45291: a spreadsheet's day number
  not_a_date = 8,
};

inline constexpr std::array<std::string_view, 9> date_cell_names{
    "date",           "local_time",  "zoned_time", "missing",   "other_order",
    "two_digit_year", "no_such_day", "serial",     "not_a_date"};

enum class DateOrder : std::uint8_t { year_month_day, month_day_year, day_month_year };

struct ParsedDate {
  DateCell status;
  std::int32_t day;          // days since 1970-01-01, as written (local); 0 unless usable
  std::int64_t microsecond;  // of the instant since 1970-01-01T00:00Z; a date counts as its midnight
};

ParsedDate parse_date(std::string_view cell, DateOrder order = DateOrder::year_month_day);

// The cell without surrounding blanks.
std::string_view trimmed(std::string_view cell);
bool is_missing_word(std::string_view trimmed_cell);

// A column of text as Arrow lays it out: cell i is data[offsets[i]..offsets[i+1]); a cell with valid[i] == 0
// is missing.
struct TextColumn {
  std::span<const std::int64_t> offsets;  // one more than there are cells
  const char* data;
  std::span<const std::uint8_t> valid;  // empty: all valid
  [[nodiscard]] std::size_t size() const { return offsets.empty() ? 0 : offsets.size() - 1; }
  [[nodiscard]] std::string_view operator[](std::size_t i) const {
    return {data + offsets[i], static_cast<std::size_t>(offsets[i + 1] - offsets[i])};
  }
  [[nodiscard]] bool is_valid(std::size_t i) const { return valid.empty() || valid[i] != 0; }
};

void parse_numbers(const TextColumn& cells, NumberStyle style, std::span<double> values,
                   std::span<std::uint8_t> statuses);
void parse_dates(const TextColumn& cells, DateOrder order, std::span<std::int32_t> days,
                 std::span<std::int64_t> microseconds, std::span<std::uint8_t> statuses);

}  // namespace wheelend
