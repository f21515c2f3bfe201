#include "wheelend/date_codes.hpp"

#include <algorithm>
#include <chrono>
#include <string>

#include "ascii.hpp"
#include "wheelend/error.hpp"

namespace wheelend {

namespace {

constexpr int century = 2000;                    // four digits since 2000: 64 FR 36807
constexpr int first_year_of_numbers = 1971;      // "In January 1971", 79 FR 42999 (24 Jul 2014)
constexpr int last_year = 9999;                  // four-digit years, ISO 8601
constexpr std::int32_t days_per_week = 7;        // Sunday to Saturday, SOR/2013-198 s. 6(4)(c)
constexpr std::size_t symbols_of_retread = 7;    // 49 CFR 574.5(a)(2)
constexpr std::size_t symbols_of_new_tire = 13;  // 49 CFR 574.5(a)(1)

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return detail::lower(c) >= 'a' && detail::lower(c) <= 'z'; }
bool is_separator(char c) { return c == ' ' || c == '-'; }

bool all_digits(std::string_view s) { return std::all_of(s.begin(), s.end(), is_digit); }

bool has_dot_mark(std::string_view s) { return detail::equal_ignoring_case(s.substr(0, 3), "DOT"); }

std::string_view without_dot_mark(std::string_view s) {
  if (!has_dot_mark(s)) {
    return s;
  }
  s.remove_prefix(3);
  return s.substr(std::min(s.size(), s.find_first_not_of(" -")));
}

// Three or four digits at the end of the last group of symbols.
std::string_view digits_at_end(std::string_view group) {
  for (const std::size_t n : {std::size_t{4}, std::size_t{3}}) {
    if (group.size() >= n && all_digits(group.substr(group.size() - n))) {
      return group.substr(group.size() - n);
    }
  }
  return {};
}

// A tire identification number by its symbols alone. One without a letter may as well be a date, 20230511.
bool is_whole_number(std::string_view s) {
  const auto digits = static_cast<std::size_t>(std::count_if(s.begin(), s.end(), is_digit));
  const auto letters = static_cast<std::size_t>(std::count_if(s.begin(), s.end(), is_letter));
  const auto separators = static_cast<std::size_t>(std::count_if(s.begin(), s.end(), is_separator));
  const std::size_t symbols = digits + letters;
  return symbols + separators == s.size() && letters > 0 && !is_separator(s.front()) &&
         symbols >= symbols_of_retread && symbols <= symbols_of_new_tire;
}

// "May 2023" has the symbols of a retread.
bool reads_as_year(std::string_view code) { return code.size() == 4 && code.substr(0, 2) == "20"; }

int number(std::string_view digits) {
  int v = 0;
  for (const char c : digits) {
    v = v * 10 + (c - '0');
  }
  return v;
}

std::int32_t first_sunday(int year) {
  const std::chrono::sys_days day = std::chrono::year(year) / std::chrono::January / std::chrono::Sunday[1];
  return static_cast<std::int32_t>(day.time_since_epoch().count());
}

std::int32_t beginning(int week, int year) { return first_sunday(year) + (week - 1) * days_per_week; }

bool exists(int week, int year) { return week >= 1 && week <= weeks_of_year(year); }

std::vector<std::int32_t> weeks_of_any_decade(std::string_view three_digits, std::int32_t up_to) {
  const int week = number(three_digits.substr(0, 2));
  const int unit = number(three_digits.substr(2));
  std::vector<std::int32_t> out;
  for (int year = first_year_of_numbers; year <= last_year && first_sunday(year) <= up_to; ++year) {
    if (year % 10 == unit && exists(week, year) && beginning(week, year) <= up_to) {
      out.push_back(beginning(week, year));
    }
  }
  return out;
}

ParsedDateCode parse_four_digits(std::string_view code, std::int32_t today) {
  const int week = number(code.substr(0, 2));
  const int year = century + number(code.substr(2));
  if (!exists(week, year)) {
    return {DateCodeStatus::no_such_week, 0, 0};
  }
  const std::int32_t first = beginning(week, year);
  if (first > today) {
    return {DateCodeStatus::in_the_future, 0, 0};
  }
  return {DateCodeStatus::week, first, first + days_per_week - 1};
}

}  // namespace

int weeks_of_year(int year) {
  if (year < 0 || year > last_year) {
    throw ColumnError("weeks_of_year: expected a year from 0 to 9999, got " + std::to_string(year));
  }
  return (first_sunday(year + 1) - first_sunday(year)) / days_per_week;
}

std::string_view find_date_code(std::string_view text) {
  const std::string_view marking = trimmed(text);
  const std::string_view symbols = without_dot_mark(marking);
  const std::string_view last_group = symbols.substr(symbols.find_last_of(" -") + 1);  // npos + 1 is 0
  const std::string_view code = digits_at_end(last_group);
  if (code.size() == symbols.size()) {
    return code;  // alone
  }
  const bool may_be_a_date = reads_as_year(code) && !has_dot_mark(marking);
  return is_whole_number(symbols) && !may_be_a_date ? code : std::string_view{};
}

ParsedDateCode parse_date_code(std::string_view cell, std::int32_t today) {
  if (is_missing_word(trimmed(cell))) {
    return {DateCodeStatus::missing, 0, 0};
  }
  const std::string_view code = find_date_code(cell);
  if (code.empty()) {
    return {DateCodeStatus::not_a_date_code, 0, 0};
  }
  if (code.size() == 4) {
    return parse_four_digits(code, today);
  }
  const bool any = !weeks_of_any_decade(code, today).empty();
  return {any ? DateCodeStatus::decade_unknown : DateCodeStatus::no_such_week, 0, 0};
}

std::vector<std::int32_t> candidate_weeks(std::string_view cell, std::int32_t up_to) {
  const std::string_view code = find_date_code(cell);
  return code.size() == 3 ? weeks_of_any_decade(code, up_to) : std::vector<std::int32_t>{};
}

void parse_date_codes(const TextColumn& cells, std::int32_t today, std::span<std::uint8_t> statuses,
                      std::span<std::int32_t> first_days, std::span<std::int32_t> last_days) {
  require_same_size(cells.size(), statuses.size(), "statuses");
  require_same_size(cells.size(), first_days.size(), "first_days");
  require_same_size(cells.size(), last_days.size(), "last_days");
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const ParsedDateCode p =
        cells.is_valid(i) ? parse_date_code(cells[i], today) : ParsedDateCode{DateCodeStatus::missing, 0, 0};
    statuses[i] = static_cast<std::uint8_t>(p.status);
    first_days[i] = p.first_day;
    last_days[i] = p.last_day;
  }
}

}  // namespace wheelend
