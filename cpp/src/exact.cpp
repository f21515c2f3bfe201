#include "wheelend/exact.hpp"

#include <array>
#include <boost/multiprecision/cpp_int.hpp>
#include <charconv>
#include <cmath>

#include "wheelend/error.hpp"

namespace wheelend {

namespace {

using boost::multiprecision::cpp_int;

// Exponents beyond these have no meaning for a reading and would only fill memory.
constexpr std::size_t largest_exponent = 400;

struct Fraction {
  cpp_int numerator = 1;
  cpp_int denominator = 1;
};

cpp_int power_of_ten(int n) { return boost::multiprecision::pow(cpp_int(10), static_cast<unsigned>(n)); }

[[noreturn]] void refuse(std::string_view text) {
  throw ColumnError("not a decimal number: '" + std::string(text) + "'");
}

void multiply_decimal(Fraction& f, std::string_view text) {
  std::size_t i = 0;
  bool negative = false;
  if (i < text.size() && (text[i] == '+' || text[i] == '-')) {
    negative = text[i++] == '-';
  }
  cpp_int digits = 0;
  int scale = 0;
  bool any = false, after_point = false;
  for (; i < text.size(); ++i) {
    const char c = text[i];
    if (c >= '0' && c <= '9') {
      digits = digits * 10 + (c - '0');
      scale += after_point ? 1 : 0;
      any = true;
    } else if (c == '.' && !after_point) {
      after_point = true;
    } else {
      break;
    }
  }
  int exponent = 0;
  if (any && i < text.size() && (text[i] == 'e' || text[i] == 'E')) {
    const char* first = text.data() + i + 1;
    const char* last = text.data() + text.size();
    if (first != last && *first == '+' && first + 1 != last && first[1] != '-') {
      ++first;
    }
    const auto [end, error] = std::from_chars(first, last, exponent);
    if (end != last || end == first || (error == std::errc::invalid_argument)) {
      refuse(text);
    }
    // A long text may carry a long exponent and still be a plain number: 0.00...01e401.
    if (digits != 0 && (error != std::errc() ||
                        static_cast<std::size_t>(std::abs(exponent)) > largest_exponent + text.size())) {
      refuse(text);
    }
    i = text.size();
  }
  if (!any || i != text.size()) {
    refuse(text);
  }
  if (digits == 0) {
    f.numerator = 0;
    return;
  }
  f.numerator *= negative ? cpp_int(-digits) : digits;
  const int shift = exponent - scale;
  if (shift >= 0) {
    f.numerator *= power_of_ten(shift);
  } else {
    f.denominator *= power_of_ten(-shift);
  }
}

Fraction exact_product(std::span<const Term> terms) {
  Fraction f;
  for (const Term& t : terms) {
    switch (t.form) {
      case Term::Form::number:
        multiply_decimal(f, shortest_decimal(t.number));
        break;
      case Term::Form::text:
        multiply_decimal(f, t.text);
        break;
      case Term::Form::ratio:
        f.numerator *= t.numerator;
        f.denominator *= t.denominator;
        break;
    }
  }
  return f;
}

double rough(const Term& t) {
  switch (t.form) {
    case Term::Form::number:
      return t.number;
    case Term::Form::ratio:
      return static_cast<double>(t.numerator) / static_cast<double>(t.denominator);
    case Term::Form::text:
      break;
  }
  double v = 0.0;
  const char* first = t.text.data();
  const char* last = first + t.text.size();
  if (first != last && *first == '+' && first + 1 != last && first[1] != '-') {
    ++first;
  }
  const auto [end, error] = std::from_chars(first, last, v);
  if (error != std::errc() || end != last) {
    refuse(t.text);
  }
  return v;
}

struct Rough {
  double value = 1.0;
  bool trusted = true;  // false once a partial product has left the normal range, where digits are lost
};

Rough rough_product(std::span<const Term> terms) {
  Rough p;
  bool zero = false;
  for (const Term& t : terms) {
    const double v = rough(t);
    if (!std::isfinite(v)) {
      throw ColumnError("exact comparison needs finite numbers");
    }
    zero = zero || v == 0.0;
    p.value *= v;
    p.trusted = p.trusted && (std::isnormal(v) || v == 0.0) && (std::isnormal(p.value) || zero);
  }
  if (zero) {
    p.value = 0.0;
  }
  return p;
}

}  // namespace

std::strong_ordering compare_products(std::span<const Term> left, std::span<const Term> right) {
  const auto [a, a_trusted] = rough_product(left);
  const auto [b, b_trusted] = rough_product(right);
  // Each term and each product is off by at most one rounding of 2^-53; 2^-48 covers sixteen of them on each
  // side.
  const double doubt = std::ldexp(std::abs(a) + std::abs(b), -48);
  if (a_trusted && b_trusted && a - b > doubt) {
    return std::strong_ordering::greater;
  }
  if (a_trusted && b_trusted && b - a > doubt) {
    return std::strong_ordering::less;
  }
  const Fraction x = exact_product(left);
  const Fraction y = exact_product(right);
  const cpp_int p = x.numerator * y.denominator;
  const cpp_int q = y.numerator * x.denominator;
  return p < q ? std::strong_ordering::less
               : (p > q ? std::strong_ordering::greater : std::strong_ordering::equal);
}

std::string shortest_decimal(double v) {
  std::array<char, 32> buffer{};
  // Above 2^53 the plain form writes the exact value of the double where that is as short.
  const bool large = std::abs(v) >= 9007199254740992.0;
  const auto [end, error] =
      large ? std::to_chars(buffer.data(), buffer.data() + buffer.size(), v, std::chars_format::scientific)
            : std::to_chars(buffer.data(), buffer.data() + buffer.size(), v);
  return std::string(buffer.data(), end);
}

bool is_shortest_decimal(std::string_view text, double v) {
  if (!std::isfinite(v)) {
    return false;
  }
  Fraction x;
  multiply_decimal(x, text);
  Fraction y;
  multiply_decimal(y, shortest_decimal(v));
  return x.numerator * y.denominator == y.numerator * x.denominator;
}

}  // namespace wheelend
