// The exact comparator against integers of 128 bits, and against cases whose answer is plain arithmetic:
// 1/32 in = 0.79375 mm (inch = 25.4 mm exactly, NIST SP 811).
#include "wheelend/exact.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <initializer_list>
#include <limits>
#include <random>
#include <string>

#include "wheelend/error.hpp"

using namespace wheelend;

namespace {

__extension__ using wide = __int128;

const Term mm = Term::of(Measure::millimetre);
const Term n32 = Term::of(Measure::thirty_seconds);

int sign(std::strong_ordering o) { return o < 0 ? -1 : (o > 0 ? 1 : 0); }
int sign(wide v) { return v < 0 ? -1 : (v > 0 ? 1 : 0); }
int compare(std::initializer_list<Term> left, std::initializer_list<Term> right) {
  return sign(compare_products({left.begin(), left.size()}, {right.begin(), right.size()}));
}

Term text(std::string_view s) { return Term::of(s); }
Term number(double v) { return Term::of(v); }

// k / 10^places as a decimal text, made from the digits of k alone.
std::string decimal_text(wide k, int places) {
  std::string digits;
  for (wide rest = k; rest > 0; rest /= 10) {
    digits.insert(digits.begin(), static_cast<char>('0' + static_cast<int>(rest % 10)));
  }
  const auto width = static_cast<std::size_t>(places) + 1;
  if (digits.size() < width) {
    digits.insert(0, width - digits.size(), '0');
  }
  if (places > 0) {
    digits.insert(digits.size() - static_cast<std::size_t>(places), 1, '.');
  }
  return digits;
}

wide ten_to(int n) {
  wide p = 1;
  for (; n > 0; --n) {
    p *= 10;
  }
  return p;
}

// Sign of k/10^places mm - n/32 in, by integers: k/(10^places 1000) m against n 127/160000 m.
int depth_against_mark(wide k, int places, wide n) { return sign(k * 160 - n * 127 * ten_to(places)); }

}  // namespace

TEST(Exact, PutsDepthsOnTheRightSideOfALimit) {
  struct Case {
    const char* depth_mm;
    double depth;
    double mark_32nds;
    int expected;
  };
  constexpr Case cases[] = {
      {"3.175", 3.175, 4, 0},     {"3.17", 3.17, 4, -1},       {"3.18", 3.18, 4, 1},
      {"3.1750", 3.1750, 4, 0},   {"1.59", 1.59, 2, 1},        {"1.5875", 1.5875, 2, 0},
      {"1.58", 1.58, 2, -1},      {"1.6", 1.6, 2, 1},          {"2.38125", 2.38125, 3, 0},
      {"2.38", 2.38, 3, -1},      {"2.39", 2.39, 3, 1},        {"25.4", 25.4, 32, 0},
      {"0.79375", 0.79375, 1, 0}, {"11.1125", 11.1125, 14, 0}, {"0", 0.0, 0, 0},
      {"-0.1", -0.1, 0, -1},
  };
  for (const Case& c : cases) {
    SCOPED_TRACE(c.depth_mm);
    EXPECT_EQ(compare({text(c.depth_mm), mm}, {number(c.mark_32nds), n32}), c.expected);
    EXPECT_EQ(compare({number(c.depth), mm}, {number(c.mark_32nds), n32}), c.expected);
    EXPECT_EQ(compare({number(c.mark_32nds), n32}, {number(c.depth), mm}), -c.expected);
  }
  // 1.59 mm passes 2/32 in and fails 1.6 mm
  EXPECT_EQ(compare({text("1.59"), mm}, {text("1.6"), mm}), -1);
}

TEST(Exact, TakesADoubleForItsShortestDecimal) {
  EXPECT_EQ(compare({number(0.1)}, {text("0.1")}), 0);
  EXPECT_EQ(compare({number(0.1)}, {Term::of(1, 10)}), 0);
  EXPECT_EQ(compare({number(0.3)}, {Term::of(3, 10)}), 0);
  // The sum of the doubles 0.1 and 0.2 is another double than 0.3: what was computed was not written.
  EXPECT_EQ(compare({number(0.1 + 0.2)}, {text("0.3")}), 1);
  EXPECT_EQ(compare({number(0.1 + 0.2)}, {text("0.30000000000000004")}), 0);
  // As binary fractions 3 * 0.1 and 0.3 differ; as decimals they do not.
  EXPECT_EQ(compare({number(3.0), number(0.1)}, {number(0.3)}), 0);
  EXPECT_EQ(compare({number(0.1), number(0.1)}, {number(0.01)}), 0);
  EXPECT_EQ(compare({number(1.1), number(1.1)}, {number(1.21)}), 0);
  // The nearest double to 0.1, all its digits written: above 0.1.
  EXPECT_EQ(compare({text("0.1000000000000000055511151231257827021181583404541015625")}, {number(0.1)}), 1);
}

TEST(Exact, SeesTheThirtiethDigit) {
  EXPECT_EQ(compare({text("3.17499999999999999999999999999"), mm}, {number(4.0), n32}), -1);
  EXPECT_EQ(compare({text("3.17500000000000000000000000000"), mm}, {number(4.0), n32}), 0);
  EXPECT_EQ(compare({text("3.17500000000000000000000000001"), mm}, {number(4.0), n32}), 1);
  EXPECT_EQ(compare({text("79.9999999999999999999999999999")}, {number(0.8), number(100.0)}), -1);
  EXPECT_EQ(compare({text("80.0000000000000000000000000001")}, {number(0.8), number(100.0)}), 1);
  const std::string long_zero = "0." + std::string(300, '0') + "1";
  EXPECT_EQ(compare({text(long_zero)}, {text("0")}), 1);
}

TEST(Exact, FindsEightyPercentOfEveryTarget) {
  const Term percent = Term::of(Measure::percent);
  for (int target = 1; target <= 200; ++target) {
    for (int reading = 0; reading <= 200; ++reading) {
      const int expected = sign(static_cast<wide>(5 * reading - 4 * target));
      ASSERT_EQ(compare({number(reading), Term::of(Measure::psi)},
                        {number(target), Term::of(Measure::psi), number(80.0), percent}),
                expected)
          << reading << " of " << target;
      ASSERT_EQ(compare({number(reading)}, {number(target), number(0.8)}), expected)
          << reading << " of " << target;
    }
  }
}

TEST(Exact, ComparesAcrossMeasures) {
  const Term psi = Term::of(Measure::psi), kpa = Term::of(Measure::kilopascal), bar = Term::of(Measure::bar);
  // 80 psi = 551.580583453... kPa: 80 * 8896443230521 / 1290320000000 (SP 811)
  EXPECT_EQ(compare({number(551.58), kpa}, {number(80.0), psi}), -1);
  EXPECT_EQ(compare({number(551.581), kpa}, {number(80.0), psi}), 1);
  EXPECT_EQ(compare({number(7.5), bar}, {number(750.0), kpa}), 0);
  EXPECT_EQ(compare({number(0.25), Term::of(Measure::inch)}, {number(8.0), n32}), 0);
  EXPECT_EQ(compare({number(6.35), mm}, {number(0.25), Term::of(Measure::inch)}), 0);
  EXPECT_EQ(
      compare({number(1814.36948), Term::of(Measure::kilogram)}, {number(4000.0), Term::of(Measure::pound)}),
      0);
  EXPECT_EQ(
      compare({number(1814.3694), Term::of(Measure::kilogram)}, {number(4000.0), Term::of(Measure::pound)}),
      -1);
}

TEST(Exact, ReadsEveryWayToWriteADecimal) {
  for (const char* s : {"3.175", "+3.175", "03.175", "3.175000", "3175e-3", "3175E-3", "0.3175e1",
                        "0.3175e+1", "31.75e-01", ".3175e1", "0.0003175e4"}) {
    EXPECT_EQ(compare({text(s), mm}, {number(4.0), n32}), 0) << s;
  }
  EXPECT_EQ(compare({text("3.")}, {number(3.0)}), 0);
  EXPECT_EQ(compare({text("1e22")}, {number(1e22)}), 0);
  EXPECT_EQ(compare({text("1e-22")}, {number(1e-22)}), 0);
  EXPECT_EQ(compare({text("-2.5")}, {number(-2.5)}), 0);
  EXPECT_EQ(compare({text("-2.5")}, {number(2.5)}), -1);
  EXPECT_EQ(compare({text("-0")}, {number(0.0)}), 0);
  EXPECT_EQ(compare({number(-0.0)}, {number(0.0)}), 0);
  EXPECT_EQ(compare({text("-3.175"), mm}, {number(-4.0), n32}), 0);
  EXPECT_EQ(compare({text("-3.17500000000000000000000000001"), mm}, {number(-4.0), n32}), -1);
}

TEST(Exact, TakesAnEmptyProductForOne) {
  EXPECT_EQ(compare({}, {}), 0);
  EXPECT_EQ(compare({text("1.00000000000000000000000000001")}, {}), 1);
}

// Refused whatever stands on the other side: near (5), where the products are formed, and far (1000), where
// doubles would already decide.
TEST(Exact, RefusesWhatIsNotADecimal) {
  for (const char* s : {"",      " ",   "+",        "-",   ".",   "-.",     "e5",     "1e",  "1e+",
                        "1e5.0", "5,0", "5.0.0",    " 5",  "5 ",  "5psi",   "0x5",    "5e-", "inf",
                        "-inf",  "nan", "infinity", "--5", "-+5", "\u0665", "\u22125"}) {
    EXPECT_THROW((void)compare({text(s)}, {number(5.0)}), ColumnError) << '\'' << s << '\'';
    EXPECT_THROW((void)compare({text(s)}, {number(1000.0)}), ColumnError) << '\'' << s << '\'';
    EXPECT_THROW((void)compare({number(1000.0)}, {text(s)}), ColumnError) << '\'' << s << '\'';
  }
}

TEST(Exact, RefusesTwoSigns) {
  EXPECT_THROW((void)compare({text("+-5")}, {number(-5.0)}), ColumnError);
  EXPECT_THROW((void)compare({text("+-5")}, {number(1000.0)}), ColumnError);
  EXPECT_THROW((void)is_shortest_decimal("1e+-5", 1e-5), ColumnError);
}

TEST(Exact, RefusesNumbersThatAreNotFinite) {
  const double inf = std::numeric_limits<double>::infinity(), nan = std::numeric_limits<double>::quiet_NaN();
  for (const double v : {inf, -inf, nan}) {
    EXPECT_THROW((void)compare({number(v)}, {number(1.0)}), ColumnError) << v;
    EXPECT_THROW((void)compare({number(1.0)}, {number(v)}), ColumnError) << v;
    EXPECT_THROW((void)compare({number(v), number(0.0)}, {number(1.0)}), ColumnError) << v;
  }
}

TEST(Exact, AgreesWithIntegersForEveryThousandthOfAMillimetre) {
  for (int k = 0; k <= 30000; ++k) {
    const std::string written = decimal_text(k, 3);
    const double read = std::strtod(written.c_str(), nullptr);
    const int nearest = (k * 160 + 63500) / 127000;
    for (int n = nearest > 0 ? nearest - 1 : 0; n <= nearest + 1; ++n) {
      const int expected = depth_against_mark(k, 3, n);
      ASSERT_EQ(compare({number(read), mm}, {number(n), n32}), expected)
          << written << " mm, " << n << "/32 in";
      ASSERT_EQ(compare({text(written), mm}, {number(n), n32}), expected)
          << written << " mm, " << n << "/32 in";
    }
  }
}

// Decimals within two units of their last place of a mark: the doubles of both sides are often equal.
TEST(Exact, AgreesWithIntegersAroundRandomMarks) {
  std::mt19937_64 random(20260301);  // the engine's sequence is fixed by the standard
  int ties = 0;
  for (int i = 0; i < 20000; ++i) {
    const auto n = static_cast<int>(random() % 64 + 1);
    const auto places = static_cast<int>(random() % 26);
    const wide k = n * 127 * ten_to(places) / 160 + static_cast<int>(random() % 5) - 2;
    if (k < 0) {
      continue;
    }
    const int expected = depth_against_mark(k, places, n);
    ties += expected == 0 ? 1 : 0;
    const std::string written = decimal_text(k, places);
    ASSERT_EQ(compare({text(written), mm}, {number(n), n32}), expected)
        << written << " mm, " << n << "/32 in";
    if (places <= 13) {  // at most 15 digits: the double's shortest decimal is what was written
      const double read = std::strtod(written.c_str(), nullptr);
      ASSERT_EQ(compare({number(read), mm}, {number(n), n32}), expected)
          << written << " mm, " << n << "/32 in";
    }
  }
  EXPECT_GT(ties, 1000) << "the cases must meet the limit itself often enough";
}

TEST(Exact, AgreesWithIntegersForAnyTwoProducts) {
  std::mt19937_64 random(7301);
  int near_misses = 0;
  for (int i = 0; i < 20000; ++i) {
    // a/10^p * b/c against d/10^q, where d is the quotient or next to it
    const auto a = static_cast<std::int64_t>(random() % 999999 + 1),
               b = static_cast<std::int64_t>(random() % 99999 + 1),
               c = static_cast<std::int64_t>(random() % 99999 + 1);
    const auto p = static_cast<int>(random() % 7), q = static_cast<int>(random() % 10);
    const wide d = static_cast<wide>(a) * b * ten_to(q) / (static_cast<wide>(c) * ten_to(p)) +
                   static_cast<int>(random() % 2);
    if (d >= ten_to(15)) {
      continue;
    }
    const int expected = sign(static_cast<wide>(a) * b * ten_to(q) - d * c * ten_to(p));
    const std::string left = decimal_text(a, p), right = decimal_text(d, q);
    ASSERT_EQ(compare({text(left), Term::of(b, c)}, {text(right)}), expected)
        << left << ' ' << b << '/' << c << ' ' << right;
    ASSERT_EQ(compare({number(std::strtod(left.c_str(), nullptr)), Term::of(b, c)},
                      {number(std::strtod(right.c_str(), nullptr))}),
              expected)
        << left << ' ' << b << '/' << c << ' ' << right;
    near_misses += d > ten_to(12) ? 1 : 0;
  }
  EXPECT_GT(near_misses, 500) << "the cases must reach beyond what doubles can decide often enough";
}

TEST(Exact, FindsEveryTenthOfAMillimetreEqualToItself) {
  for (int k = 1; k <= 300; ++k) {
    const double read = k / 10.0;  // division rounds correctly: the double nearest to k/10
    EXPECT_EQ(compare({number(read), mm}, {Term::of(k, 10000)}), 0) << read;
    EXPECT_EQ(compare({number(read)}, {text(decimal_text(k, 1))}), 0) << read;
    EXPECT_EQ(compare({number(std::nextafter(read, 100.0)), mm}, {Term::of(k, 10000)}), 1) << read;
    EXPECT_EQ(compare({number(std::nextafter(read, 0.0)), mm}, {Term::of(k, 10000)}), -1) << read;
  }
}

// A product that passes through numbers below the normal range of doubles has lost digits there; the doubles
// of such a product must not decide. 1.23456e-20 lies below 1.2346e-20.
TEST(Exact, DoesNotTrustProductsThatUnderflowOnTheWay) {
  EXPECT_EQ(compare({number(1.23456e-200), number(1e-120), number(1e300)}, {number(1.2346e-20)}), -1);
  EXPECT_EQ(compare({number(1.23456e-200), number(1e-120), number(1e300)}, {number(1.2345e-20)}), 1);
  EXPECT_EQ(compare({number(1e-200), number(1e-200)}, {number(1e-201), number(1e-200)}), 1);
}

TEST(Exact, ShortestDecimalReadsBackAndIsShortest) {
  std::mt19937_64 random(32);
  for (int i = 0; i < 20000; ++i) {
    const double v = static_cast<double>(random() >> 11) * std::ldexp(1.0, -static_cast<int>(random() % 70));
    const std::string s = shortest_decimal(v);
    ASSERT_EQ(std::strtod(s.c_str(), nullptr), v) << s;
    // The fewest digits by trial: printf rounds correctly at any number of digits.
    char trial[40];
    for (int digits = 1; digits <= 17; ++digits) {
      std::snprintf(trial, sizeof trial, "%.*e", digits - 1, v);
      if (std::strtod(trial, nullptr) == v) {
        break;
      }
    }
    ASSERT_EQ(compare({text(s)}, {text(trial)}), 0) << s << " is not " << trial;
  }
}

TEST(Exact, ShortestDecimalOfSomeReadings) {
  EXPECT_EQ(shortest_decimal(3.175), "3.175");
  EXPECT_EQ(shortest_decimal(0.1), "0.1");
  EXPECT_EQ(shortest_decimal(-0.5), "-0.5");
  EXPECT_EQ(shortest_decimal(0.1 + 0.2), "0.30000000000000004");
  EXPECT_EQ(shortest_decimal(1e-05), "1e-05");
}

// Above 2^53 the exact value of a double has more digits than its shortest decimal.
TEST(Exact, ShortestDecimalOfLargeNumbers) {
  EXPECT_EQ(compare({number(9007199254740993000.0)}, {text("9007199254740993000")}), 0);
  EXPECT_EQ(compare({number(123456789012345670000.0)}, {text("123456789012345670000")}), 0);
  EXPECT_TRUE(is_shortest_decimal("9007199254740993000", 9007199254740993000.0));
  EXPECT_FALSE(is_shortest_decimal("9007199254740993024", 9007199254740993000.0));
}

TEST(Exact, KnowsTheShortestDecimalHoweverItIsWritten) {
  EXPECT_TRUE(is_shortest_decimal("0.1", 0.1));
  EXPECT_TRUE(is_shortest_decimal("0.10", 0.1));
  EXPECT_TRUE(is_shortest_decimal("1e-1", 0.1));
  EXPECT_TRUE(is_shortest_decimal("+.1", 0.1));
  EXPECT_FALSE(is_shortest_decimal("0.1000000000000000055511151231257827", 0.1));
  EXPECT_FALSE(is_shortest_decimal("0.10000000000000000001", 0.1));
  EXPECT_FALSE(is_shortest_decimal("0.2", 0.1));
  EXPECT_FALSE(is_shortest_decimal("-0.1", 0.1));
  EXPECT_FALSE(is_shortest_decimal("1", std::numeric_limits<double>::quiet_NaN()));
  EXPECT_FALSE(is_shortest_decimal("1", std::numeric_limits<double>::infinity()));
  EXPECT_THROW((void)is_shortest_decimal("0,1", 0.1), ColumnError);
}
