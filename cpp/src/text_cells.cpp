#include "wheelend/text_cells.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <limits>
#include <string>

#include "ascii.hpp"
#include "wheelend/dates.hpp"
#include "wheelend/error.hpp"
#include "wheelend/exact.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t digits_a_double_keeps = 15;  // std::numeric_limits<double>::digits10

bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool all_digits(std::string_view s) {
  for (const char c : s) {
    if (!is_digit(c)) {
      return false;
    }
  }
  return !s.empty();
}

// [sign] 1 to 3 digits, then groups of exactly three after `mark`, then perhaps a decimal point and digits.
bool is_grouped(std::string_view s, char mark, char decimal) {
  if (!s.empty() && (s[0] == '+' || s[0] == '-')) {
    s.remove_prefix(1);
  }
  std::size_t lead = 0;
  while (lead < s.size() && is_digit(s[lead])) {
    ++lead;
  }
  if (lead < 1 || lead > 3 || lead == s.size() || s[lead] != mark || s[0] == '0') {  // 0,125 is no thousands
    return false;
  }
  std::size_t i = lead;
  while (i < s.size() && s[i] == mark) {
    if (i + 3 >= s.size() || !all_digits(s.substr(i + 1, 3))) {
      return false;
    }
    i += 4;
  }
  return i == s.size() || (s[i] == decimal && all_digits(s.substr(i + 1)));
}

std::size_t significant_digits(std::string_view s) {
  std::size_t n = 0;
  for (const char c : s) {
    if (c == 'e' || c == 'E') {
      break;
    }
    if (is_digit(c) && (n > 0 || c != '0')) {
      ++n;
    }
  }
  return n;
}

// A plain decimal with a point; no blanks, no grouping.
ParsedNumber parse_plain(std::string_view s) {
  std::string_view body = s;
  if (!body.empty() && (body[0] == '+' || body[0] == '-')) {
    body.remove_prefix(1);
  }
  if (body.empty() || !(is_digit(body[0]) || (body[0] == '.' && body.size() > 1 && is_digit(body[1])))) {
    const std::string_view word = body;
    const bool infinite =
        detail::equal_ignoring_case(word, "inf") || detail::equal_ignoring_case(word, "infinity");
    return {infinite ? NumberCell::not_finite : NumberCell::not_a_number, nan};
  }
  const char* first = s.data() + (s[0] == '+' ? 1 : 0);
  const char* last = s.data() + s.size();
  double v = nan;
  const auto [end, error] = std::from_chars(first, last, v);
  if (end != last) {
    return {NumberCell::not_a_number, nan};
  }
  if (error == std::errc::result_out_of_range || !std::isfinite(v)) {
    return {NumberCell::not_finite, nan};
  }
  if (significant_digits(s) > digits_a_double_keeps && !is_shortest_decimal(s, v)) {
    return {NumberCell::long_number, v};
  }
  return {NumberCell::number, v};
}

// [first, last) of s as a small whole number, all digits; -1 otherwise.
int whole(std::string_view s, std::size_t first, std::size_t count) {
  if (first + count > s.size() || !all_digits(s.substr(first, count)) || count > 6) {
    return -1;
  }
  int v = 0;
  for (std::size_t i = first; i < first + count; ++i) {
    v = v * 10 + (s[i] - '0');
  }
  return v;
}

ParsedDate bad(DateCell status) { return {status, 0, 0}; }

// hh:mm[:ss[.fraction]][Z|+hh:mm|-hh:mm]
bool parse_time(std::string_view t, std::int64_t& microsecond, bool& zoned, std::int64_t& offset_minutes) {
  const int hour = whole(t, 0, 2);
  const int minute = t.size() >= 5 && t[2] == ':' ? whole(t, 3, 2) : -1;
  if (hour < 0 || hour > 23 || minute < 0 || minute > 59) {
    return false;
  }
  std::size_t i = 5;
  int second = 0;
  std::int64_t fraction = 0;
  if (i < t.size() && t[i] == ':') {
    second = whole(t, i + 1, 2);
    if (second < 0 || second > 60) {
      return false;
    }
    i += 3;
    if (i < t.size() && t[i] == '.') {
      std::int64_t scale = 100'000;
      std::size_t digits = 0;
      for (++i; i < t.size() && is_digit(t[i]); ++i, ++digits) {
        fraction += (t[i] - '0') * scale;
        scale /= 10;
      }
      if (digits == 0) {
        return false;
      }
    }
  }
  zoned = i < t.size();
  offset_minutes = 0;
  if (zoned) {
    if ((t[i] == 'Z' || t[i] == 'z') && i + 1 == t.size()) {
      i += 1;
    } else if ((t[i] == '+' || t[i] == '-') && i + 6 == t.size() && t[i + 3] == ':') {
      const int h = whole(t, i + 1, 2), m = whole(t, i + 4, 2);
      if (h < 0 || h > 23 || m < 0 || m > 59) {
        return false;
      }
      offset_minutes = (t[i] == '-' ? -1 : 1) * (h * 60 + m);
    } else {
      return false;
    }
  }
  microsecond = ((hour * 60LL + minute) * 60 + second) * 1'000'000 + fraction;
  return true;
}

// a sep b sep c with one of / . - between; the three parts as text.
bool three_parts(std::string_view s, std::array<std::string_view, 3>& parts) {
  std::size_t start = 0;
  char mark = '\0';
  for (std::size_t k = 0; k < 3; ++k) {
    std::size_t end = start;
    while (end < s.size() && is_digit(s[end])) {
      ++end;
    }
    if (end == start) {
      return false;
    }
    parts[k] = s.substr(start, end - start);
    if (k < 2) {
      if (end >= s.size() || (s[end] != '/' && s[end] != '.' && s[end] != '-') ||
          (mark != '\0' && s[end] != mark)) {
        return false;
      }
      mark = s[end];
      start = end + 1;
    } else if (end != s.size()) {
      return false;
    }
  }
  return true;
}

ParsedDate with_time(int year, int month, int day_of_month, std::string_view rest) {
  const auto day = day_number(year, month, day_of_month);
  if (!day) {
    return bad(DateCell::no_such_day);
  }
  const std::int64_t midnight = *day * microseconds_per_day;
  if (rest.empty()) {
    return {DateCell::date, *day, midnight};
  }
  std::int64_t microsecond = 0, offset_minutes = 0;
  bool zoned = false;
  if ((rest[0] != 'T' && rest[0] != 't' && rest[0] != ' ') ||
      !parse_time(rest.substr(1), microsecond, zoned, offset_minutes)) {
    return bad(DateCell::not_a_date);
  }
  return {zoned ? DateCell::zoned_time : DateCell::local_time, *day,
          midnight + microsecond - offset_minutes * 60'000'000};
}

}  // namespace

std::string_view trimmed(std::string_view s) {
  const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; };
  while (!s.empty() && blank(s.front())) {
    s.remove_prefix(1);
  }
  while (!s.empty() && blank(s.back())) {
    s.remove_suffix(1);
  }
  return s;
}

bool is_missing_word(std::string_view s) {
  constexpr std::array<std::string_view, 7> words{"", "n/a", "na", "nan", "null", "none", "-"};
  return std::any_of(words.begin(), words.end(),
                     [s](std::string_view word) { return detail::equal_ignoring_case(s, word); });
}

ParsedNumber parse_number(std::string_view cell, NumberStyle style) {
  const std::string_view s = trimmed(cell);
  if (is_missing_word(s)) {
    return {NumberCell::missing, nan};
  }
  const ParsedNumber plain = parse_plain(s);
  if (style.decimal == '.' && plain.status != NumberCell::not_a_number) {
    return plain;
  }
  if (style.thousands != '\0' && is_grouped(s, style.thousands, style.decimal)) {
    std::string joined;
    for (const char c : s) {
      if (c != style.thousands) {
        joined += c == style.decimal ? '.' : c;
      }
    }
    return parse_plain(joined);
  }
  if (style.decimal == ',' && s.find('.') == std::string_view::npos) {
    std::string pointed(s);
    for (char& c : pointed) {
      c = c == ',' ? '.' : c;
    }
    const ParsedNumber p = parse_plain(pointed);
    if (p.status != NumberCell::not_a_number) {
      return p;
    }
  }
  for (const char mark : {',', ' ', '\'', '.'}) {
    if (mark != style.decimal && is_grouped(s, mark, style.decimal)) {
      return {NumberCell::thousands, nan};
    }
  }
  const std::size_t comma = s.find(',');
  if (style.decimal == '.' && comma != std::string_view::npos &&
      s.find(',', comma + 1) == std::string_view::npos) {
    std::string pointed(s);
    pointed[comma] = '.';
    if (parse_plain(pointed).status == NumberCell::number) {
      return {NumberCell::decimal_comma, nan};
    }
  }
  return {NumberCell::not_a_number, nan};
}

ParsedDate parse_date(std::string_view cell, DateOrder order) {
  const std::string_view s = trimmed(cell);
  if (is_missing_word(s)) {
    return bad(DateCell::missing);
  }
  if (s.size() >= 10 && s[4] == '-' && s[7] == '-') {
    const int year = whole(s, 0, 4), month = whole(s, 5, 2), day = whole(s, 8, 2);
    if (year >= 0 && month >= 0 && day >= 0) {
      return with_time(year, month, day, s.substr(10));
    }
  }
  std::string_view date = s, rest;
  if (const std::size_t gap = s.find_first_of(" T"); gap != std::string_view::npos) {
    date = s.substr(0, gap);
    rest = s.substr(gap);
  }
  std::array<std::string_view, 3> p;
  if (three_parts(date, p)) {
    if (p[0].size() == 4 && p[1].size() <= 2 && p[2].size() <= 2) {
      return with_time(whole(p[0], 0, 4), whole(p[1], 0, p[1].size()), whole(p[2], 0, p[2].size()), rest);
    }
    if (p[2].size() == 2 && p[0].size() <= 2) {
      return bad(DateCell::two_digit_year);
    }
    if (p[2].size() == 4 && p[0].size() <= 2 && p[1].size() <= 2) {
      if (order == DateOrder::year_month_day) {
        return bad(DateCell::other_order);
      }
      const int first = whole(p[0], 0, p[0].size()), second = whole(p[1], 0, p[1].size());
      const bool month_first = order == DateOrder::month_day_year;
      return with_time(whole(p[2], 0, 4), month_first ? first : second, month_first ? second : first, rest);
    }
    return bad(DateCell::not_a_date);
  }
  const std::size_t point = s.find('.');
  if (all_digits(s.substr(0, point)) &&
      (point == std::string_view::npos || all_digits(s.substr(point + 1))) &&
      s.substr(0, point).size() == 5) {
    return bad(DateCell::serial);
  }
  return bad(DateCell::not_a_date);
}

void parse_numbers(const TextColumn& cells, NumberStyle style, std::span<double> values,
                   std::span<std::uint8_t> statuses) {
  require_same_size(cells.size(), values.size(), "values");
  require_same_size(cells.size(), statuses.size(), "statuses");
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const ParsedNumber p =
        cells.is_valid(i) ? parse_number(cells[i], style) : ParsedNumber{NumberCell::missing, nan};
    values[i] = p.value;
    statuses[i] = static_cast<std::uint8_t>(p.status);
  }
}

void parse_dates(const TextColumn& cells, DateOrder order, std::span<std::int32_t> days,
                 std::span<std::int64_t> microseconds, std::span<std::uint8_t> statuses) {
  require_same_size(cells.size(), days.size(), "days");
  require_same_size(cells.size(), microseconds.size(), "microseconds");
  require_same_size(cells.size(), statuses.size(), "statuses");
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const ParsedDate p = cells.is_valid(i) ? parse_date(cells[i], order) : bad(DateCell::missing);
    days[i] = p.day;
    microseconds[i] = p.microsecond;
    statuses[i] = static_cast<std::uint8_t>(p.status);
  }
}

}  // namespace wheelend
