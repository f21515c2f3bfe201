// The factor table against the definitions, and the arithmetic made from it.
// Sources: NIST SP 811 (2008), appendix B: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 lb = 0.453 592 37 kg,
// g0 = 9.806 65 m/s2, 1 bar = 100 kPa, T/K = (t/F + 459.67)/1.8, T/K = t/C + 273.15, all exact.
// SP 811 also: 1 min = 60 s, 1 d = 86 400 s, a degree Fahrenheit is 5/9 K, all exact.
// NIST Handbook 44, appendix C: 1 mi = 5280 ft = 1760 yd, exact.
#include "wheelend/unit_labels.hpp"

#include <gtest/gtest.h>

#include <cctype>
#include <cmath>
#include <cstdlib>
#include <string>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;
using test::printed_to;
using test::roundings;

namespace {

__extension__ using wide = __int128;
constexpr wide two_to_53 = static_cast<wide>(1) << 53;

struct Ratio {
  wide numerator, denominator;
};

// Units of `from` in units of `to`, cancelled, from the table but by integers only.
Ratio exact_ratio(Measure from, Measure to) {
  wide n = static_cast<wide>(info(from).numerator) * info(to).denominator;
  wide d = static_cast<wide>(info(from).denominator) * info(to).numerator;
  wide a = n, b = d;
  while (b != 0) {
    const wide r = a % b;
    a = b;
    b = r;
  }
  return {n / a, d / a};
}

std::string upper(std::string_view s) {
  std::string out(s);
  for (char& c : out) {
    c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  }
  return out;
}

bool converts(const MeasureInfo& a, const MeasureInfo& b) { return a.dimension == b.dimension; }

}  // namespace

static_assert(measure_table_in_step());

TEST(UnitLabels, TableListsEachMeasureAtItsPlace) {
  for (std::size_t i = 0; i < measure_table.size(); ++i) {
    EXPECT_EQ(static_cast<std::size_t>(measure_table[i].measure), i) << measure_table[i].label;
  }
  EXPECT_EQ(info(Measure::yes_no).label, "yes_no");  // the last of the enum is the last of the table
  EXPECT_EQ(static_cast<std::size_t>(Measure::yes_no) + 1, measure_table.size());
}

TEST(UnitLabels, TableRowsAreWellFormed) {
  for (const MeasureInfo& row : measure_table) {
    EXPECT_FALSE(row.label.empty());
    EXPECT_FALSE(row.source.empty()) << row.label;
    EXPECT_GT(row.numerator, 0) << row.label;
    EXPECT_GT(row.denominator, 0) << row.label;
    EXPECT_GT(row.offset_denominator, 0) << row.label;
    EXPECT_GE(row.gauge_step, 0.0) << row.label;
    if (row.dimension != Dimension::temperature) {
      EXPECT_EQ(row.offset_numerator, 0) << row.label;
    }
    for (const char c : row.label) {  // a label ends a column name
      EXPECT_TRUE(std::islower(static_cast<unsigned char>(c)) ||
                  std::isdigit(static_cast<unsigned char>(c)) || c == '_')
          << row.label;
    }
  }
}

TEST(UnitLabels, EachLabelAndItsWordsFindTheirOwnRow) {
  for (const MeasureInfo& row : measure_table) {
    EXPECT_EQ(find_measure(row.label), row.measure) << row.label;
    EXPECT_EQ(find_measure(upper(row.label)), row.measure) << row.label;
    EXPECT_EQ(parse_measure(row.label), row.measure) << row.label;
    if (!row.words.empty()) {
      EXPECT_EQ(find_measure(row.words), row.measure) << row.words;
    }
  }
}

TEST(UnitLabels, LabelsAreUnique) {
  for (const MeasureInfo& a : measure_table) {
    for (const MeasureInfo& b : measure_table) {
      if (a.measure != b.measure) {
        EXPECT_NE(upper(a.label), upper(b.label));
        EXPECT_NE(upper(a.label), upper(b.words)) << "the label of one row is the words of another";
        if (!a.words.empty()) {
          EXPECT_NE(upper(a.words), upper(b.words));
        }
      }
    }
  }
}

TEST(UnitLabels, KnowsTheSuffixesOfTheTables) {
  EXPECT_EQ(find_measure("32nds"), Measure::thirty_seconds);
  EXPECT_EQ(find_measure("MM"), Measure::millimetre);
  EXPECT_EQ(find_measure("in"), Measure::inch);
  EXPECT_EQ(find_measure("Psi"), Measure::psi);
  EXPECT_EQ(find_measure("kPa"), Measure::kilopascal);
  EXPECT_EQ(find_measure("bar"), Measure::bar);
  EXPECT_EQ(find_measure("degF"), Measure::degree_fahrenheit);
  EXPECT_EQ(find_measure("degC"), Measure::degree_celsius);
  EXPECT_EQ(find_measure("mi"), Measure::mile);
  EXPECT_EQ(find_measure("km"), Measure::kilometre);
  EXPECT_EQ(find_measure("ft"), Measure::foot);
  EXPECT_EQ(find_measure("m"), Measure::metre);
  EXPECT_EQ(find_measure("lb"), Measure::pound);
  EXPECT_EQ(find_measure("kg"), Measure::kilogram);
  EXPECT_EQ(find_measure("mph"), Measure::mile_per_hour);
  EXPECT_EQ(find_measure("kmh"), Measure::kilometre_per_hour);
  EXPECT_EQ(find_measure("psi_per_min"), Measure::psi_per_minute);
  EXPECT_EQ(find_measure("kPa/min"), Measure::kilopascal_per_minute);
  EXPECT_EQ(find_measure("lbf ft"), Measure::pound_foot);
  EXPECT_EQ(find_measure("N m"), Measure::newton_metre);
  EXPECT_EQ(find_measure("min"), Measure::minute);
}

TEST(UnitLabels, FindsNothingForOtherTexts) {
  for (const char* text : {"furlong", "ps", "psii", " psi", "psi ", "mm2", "32", "nds", "\u00B0F"}) {
    EXPECT_EQ(find_measure(text), std::nullopt) << text;
  }
  EXPECT_EQ(find_measure(std::string_view("psi\0", 4)), std::nullopt);
}

TEST(UnitLabels, FindsNothingForAnEmptyLabel) {
  EXPECT_EQ(find_measure(""), std::nullopt);
  EXPECT_THROW((void)parse_measure(""), MeasureError);
}

TEST(UnitLabels, RefusalNamesTheLabelAndTheKnownOnes) {
  try {
    (void)parse_measure("furlong");
    FAIL() << "accepted";
  } catch (const MeasureError& e) {
    const std::string text = e.what();
    EXPECT_NE(text.find("'furlong'"), std::string::npos) << text;
    for (const MeasureInfo& row : measure_table) {
      EXPECT_NE(text.find(std::string(row.label)), std::string::npos) << row.label << " is not in: " << text;
    }
  }
}

TEST(UnitLabels, FactorsAreTheDefinedOnes) {
  struct Case {
    Measure from, to;
    std::int64_t numerator, denominator;
    double value;  // the quotient to 17 digits or more, divided out in decimals apart from this code
    const char* source;
  };
  constexpr Case cases[] = {
      {Measure::inch, Measure::millimetre, 127, 5, 25.4, "SP 811"},
      {Measure::thirty_seconds, Measure::millimetre, 127, 160, 0.79375, "SP 811, inch / 32"},
      {Measure::mil, Measure::millimetre, 127, 5000, 0.0254, "SP 811, mil"},
      {Measure::foot, Measure::metre, 381, 1250, 0.3048, "SP 811"},
      {Measure::mile, Measure::kilometre, 25146, 15625, 1.609344, "HB 44, 5280 ft"},
      {Measure::pound, Measure::kilogram, 45359237, 100000000, 0.45359237, "SP 811"},
      // lb * g0 / in^2 = 0.45359237 * 9.80665 / 0.00064516
      {Measure::psi, Measure::kilopascal, 8896443230521, 1290320000000, 6.8947572931683613367,
       "SP 811, lbf/in2"},
      {Measure::bar, Measure::psi, 129032000000000, 8896443230521, 14.503773773020921515,
       "SP 811, bar and lbf/in2"},
      {Measure::bar, Measure::kilopascal, 100, 1, 100.0, "SP 811"},
      {Measure::mile_per_hour, Measure::kilometre_per_hour, 25146, 15625, 1.609344, "SP 811"},
      {Measure::mil_per_1000_miles, Measure::millimetre_per_1000_km, 25, 1584, 0.015782828282828282828,
       "inch and mile"},
      {Measure::thirty_seconds_per_1000_miles, Measure::millimetre_per_1000_km, 3125, 6336,
       0.49321338383838383838, "inch and mile"},
      {Measure::thirty_seconds_per_month, Measure::millimetre_per_month, 127, 160, 0.79375, "inch"},
      {Measure::degree_fahrenheit, Measure::kelvin, 5, 9, 0.55555555555555555556,
       "SP 811, the scale without its offset"},
      {Measure::psi_per_minute, Measure::kilopascal_per_minute, 8896443230521, 1290320000000,
       6.8947572931683613367, "SP 811, psi"},
      // lb * g0 * ft = 0.45359237 * 9.80665 * 0.3048; SP 811 prints 1.355 818 E+00
      {Measure::pound_foot, Measure::newton_metre, 3389544870828501, 2500000000000000, 1.3558179483314004,
       "SP 811, lbf ft"},
      {Measure::minute, Measure::second, 60, 1, 60.0, "SP 811"},
      {Measure::day, Measure::second, 86400, 1, 86400.0, "SP 811"},
      {Measure::year, Measure::month, 12, 1, 12.0, "months of the calendar"},
      {Measure::fahrenheit_difference, Measure::celsius_difference, 5, 9, 0.55555555555555555556,
       "SP 811, degree Fahrenheit"},
  };
  for (const Case& c : cases) {
    SCOPED_TRACE(std::string(info(c.from).label) + " to " + std::string(info(c.to).label) + ": " + c.source);
    const Ratio r = exact_ratio(c.from, c.to);
    EXPECT_TRUE(r.numerator == c.numerator && r.denominator == c.denominator);
    EXPECT_TRUE(near(factor(c.from) / factor(c.to), c.value, roundings(4)));
    if (info(c.from).dimension != Dimension::temperature) {
      EXPECT_EQ(convert(1.0, c.from, c.to), c.value);  // one division of exact integers: correctly rounded
    }
  }
  EXPECT_EQ(factor(Measure::psi), 6894.7572931683613367);  // the same in Pa; SP 811 prints 6.894 757 E+03
  EXPECT_EQ(factor(Measure::percent), 0.01);
  EXPECT_EQ(factor(Measure::mile_per_hour), 0.44704);                                // SP 811, exact
  EXPECT_TRUE(near(factor(Measure::kilometre_per_hour), 0.2777778, printed_to(7)));  // SP 811, 7 digits
}

// Degrees apart have no zero: 18 degF apart are 10 degC apart, while 18 degF are -7.8 degC (SP 811).
TEST(UnitLabels, DifferencesOfTemperatureHaveNoZero) {
  EXPECT_EQ(convert(18.0, Measure::fahrenheit_difference, Measure::celsius_difference), 10.0);
  EXPECT_EQ(convert(0.0, Measure::fahrenheit_difference, Measure::celsius_difference), 0.0);
  EXPECT_THROW((void)convert(18.0, Measure::degree_fahrenheit, Measure::celsius_difference), MeasureError);
  EXPECT_EQ(info(Measure::fahrenheit_difference).offset_numerator, 0);
}

// Clauses that print a number twice print it in inch-pound measures and in those of the SI (HB 44, appendix
// C, tells which is which); times, counts and shares are common to both.
TEST(UnitLabels, EachMeasureBelongsToItsSystem) {
  for (const char* label : {"32nds", "in", "mil", "ft", "mi", "psi", "degf", "lb", "mph", "32nds_per_1000mi",
                            "mil_per_1000mi", "32nds_per_month", "psi_per_min", "lbft", "degf_apart"}) {
    EXPECT_EQ(info(parse_measure(label)).system, System::customary) << label;
  }
  for (const char* label : {"mm", "m", "km", "kpa", "bar", "degc", "k", "kg", "kmh", "mm_per_1000km",
                            "mm_per_month", "kpa_per_min", "nm", "degc_apart"}) {
    EXPECT_EQ(info(parse_measure(label)).system, System::metric) << label;
  }
  for (const char* label : {"s", "min", "days", "years", "months", "percent", "count", "yes_no"}) {
    EXPECT_EQ(info(parse_measure(label)).system, System::either) << label;
  }
  EXPECT_EQ(measure_table.size(), 15U + 14U + 8U);  // all of them
}

TEST(UnitLabels, EveryDimensionHasItsName) {
  EXPECT_EQ(dimension_names.size(), static_cast<std::size_t>(Dimension::count) + 1);
  EXPECT_EQ(dimension_names[static_cast<std::size_t>(Dimension::length)], "length");
  EXPECT_EQ(dimension_names[static_cast<std::size_t>(Dimension::pressure_per_time)], "pressure_per_time");
  EXPECT_EQ(dimension_names[static_cast<std::size_t>(Dimension::temperature_difference)],
            "temperature_difference");
  EXPECT_EQ(dimension_names[static_cast<std::size_t>(Dimension::count)], "count");
}

// Mean month of 365.25/12 days: a convention of the project, not of a standard.
TEST(UnitLabels, MonthsAreTwelfthsOfAJulianYear) {
  EXPECT_TRUE(near(1e-3 / factor(Measure::millimetre_per_month), 365.25 / 12 * 86400, roundings(4)));
}

// A product of two table integers that went past 2^53 would be rounded before it is used.
TEST(UnitLabels, RatiosOfAllPairsAreExactInDoubles) {
  int pairs = 0;
  for (const MeasureInfo& a : measure_table) {
    for (const MeasureInfo& b : measure_table) {
      if (!converts(a, b)) {
        continue;
      }
      ++pairs;
      SCOPED_TRACE(std::string(a.label) + " to " + std::string(b.label));
      const Ratio r = exact_ratio(a.measure, b.measure);
      EXPECT_TRUE(r.numerator <= two_to_53);
      EXPECT_TRUE(r.denominator <= two_to_53);
      if (a.dimension != Dimension::temperature) {
        EXPECT_EQ(convert(1.0, a.measure, b.measure),
                  static_cast<double>(r.numerator) / static_cast<double>(r.denominator));
      }
    }
  }
  // 8 lengths, 3 pressures, 3 temperatures, 2 masses, 2 speeds, 3 and 2 wear rates, 2 rates of loss of air, 2
  // torques, 3 times, 2 ages, 2 differences of temperature, a share, 2 counts (of things, and yes or no)
  EXPECT_EQ(pairs, 64 + 9 + 9 + 4 + 4 + 9 + 4 + 4 + 4 + 9 + 4 + 4 + 1 + 4);
}

TEST(UnitLabels, ConversionsKeepTheIdentities) {
  EXPECT_EQ(convert(1.0, Measure::mile, Measure::foot), 5280.0);
  EXPECT_EQ(convert(5280.0, Measure::foot, Measure::mile), 1.0);
  EXPECT_EQ(convert(1760.0 * 3.0, Measure::foot, Measure::mile), 1.0);  // 1760 yd of 3 ft
  EXPECT_EQ(convert(1760.0 * 36.0, Measure::inch, Measure::mile), 1.0);
  EXPECT_EQ(convert(1.0, Measure::foot, Measure::inch), 12.0);
  EXPECT_EQ(convert(1.0, Measure::inch, Measure::thirty_seconds), 32.0);
  EXPECT_EQ(convert(1.0, Measure::inch, Measure::mil), 1000.0);
  EXPECT_EQ(convert(1.0, Measure::bar, Measure::kilopascal), 100.0);
  EXPECT_EQ(convert(100.0, Measure::kilopascal, Measure::bar), 1.0);
  EXPECT_EQ(convert(1.0, Measure::metre, Measure::millimetre), 1000.0);
  EXPECT_EQ(convert(90.0, Measure::kilometre_per_hour, Measure::kilometre_per_hour), 90.0);
  // The usual gauges are marked in the same steps whatever they are labelled in.
  EXPECT_EQ(convert(info(Measure::inch).gauge_step, Measure::inch, Measure::thirty_seconds),
            info(Measure::thirty_seconds).gauge_step);
}

TEST(UnitLabels, ConvertsTheMarksOfADepthGaugeExactly) {
  // n/32 in is n * 0.79375 mm; n * 79375 is a whole number, and one division rounds once.
  for (int n = 0; n <= 64; ++n) {
    const double mm = n * 79375 / 100000.0;
    EXPECT_EQ(convert(n, Measure::thirty_seconds, Measure::millimetre), mm) << n;
    EXPECT_EQ(convert(mm, Measure::millimetre, Measure::thirty_seconds), n) << n;
    EXPECT_EQ(convert(n / 32.0, Measure::inch, Measure::thirty_seconds), n) << n;
  }
  EXPECT_EQ(convert(3.175, Measure::millimetre, Measure::thirty_seconds), 4.0);
  EXPECT_EQ(convert(2.38125, Measure::millimetre, Measure::thirty_seconds), 3.0);
}

TEST(UnitLabels, ConvertsTemperaturesWithTheirOffsets) {
  EXPECT_TRUE(near(convert(70.0, Measure::degree_fahrenheit, Measure::kelvin), 294.2611, printed_to(4)));
  EXPECT_TRUE(
      near(convert(70.0, Measure::degree_fahrenheit, Measure::kelvin), 52967.0 / 180.0, roundings(3)));
  EXPECT_EQ(convert(0.0, Measure::degree_celsius, Measure::kelvin), 273.15);
  EXPECT_TRUE(near(convert(273.15, Measure::kelvin, Measure::degree_celsius), 0.0));
  EXPECT_TRUE(near(convert(-459.67, Measure::degree_fahrenheit, Measure::kelvin), 0.0, {.absolute = 1e-13}));
}

// t/F = 1.8 t/C + 32 (SP 811): each whole degree Celsius has a decimal in Fahrenheit, so nothing may be left
// over.
TEST(UnitLabels, ConvertsWholeDegreesExactly) {
  EXPECT_EQ(convert(32.0, Measure::degree_fahrenheit, Measure::degree_celsius), 0.0);
  EXPECT_EQ(convert(212.0, Measure::degree_fahrenheit, Measure::degree_celsius), 100.0);
  EXPECT_EQ(convert(-40.0, Measure::degree_celsius, Measure::degree_fahrenheit), -40.0);
  for (int c = -60; c <= 150; ++c) {
    const double f = (9 * c + 160) / 5.0;
    EXPECT_EQ(convert(c, Measure::degree_celsius, Measure::degree_fahrenheit), f) << c << " degC";
    EXPECT_EQ(convert(f, Measure::degree_fahrenheit, Measure::degree_celsius), c) << f << " degF";
  }
}

TEST(UnitLabels, ConvertsThereAndBack) {
  for (const MeasureInfo& a : measure_table) {
    for (const MeasureInfo& b : measure_table) {
      if (!converts(a, b)) {
        EXPECT_THROW((void)convert(1.0, a.measure, b.measure), MeasureError) << a.label << " to " << b.label;
        EXPECT_THROW(Conversion(a.measure, b.measure), MeasureError);
        continue;
      }
      for (const double v : {0.0, 1.0, -1.0, 0.1, 3.175, 98.6, 100.0, 123456.7, 1e-3}) {
        const double back = convert(convert(v, a.measure, b.measure), b.measure, a.measure);
        const bool offset = a.dimension == Dimension::temperature;
        // Four roundings of v; with an offset also of the largest number on the way, below 2 * |v| + 1000.
        EXPECT_TRUE(near(back, v,
                         {.relative = roundings(4).relative,
                          .absolute = offset ? roundings(6).relative * (2 * std::abs(v) + 1000) : 0.0}))
            << v << ' ' << a.label << " to " << b.label << " and back";
      }
    }
  }
}

TEST(UnitLabels, ConversionPreparedOnceGivesTheSameBits) {
  for (const MeasureInfo& a : measure_table) {
    for (const MeasureInfo& b : measure_table) {
      if (converts(a, b)) {
        const Conversion prepared(a.measure, b.measure);
        for (const double v : {0.1, 3.175, 97.3, -40.0}) {
          EXPECT_EQ(prepared(v), convert(v, a.measure, b.measure)) << a.label << " to " << b.label;
        }
      }
    }
  }
}

TEST(UnitLabels, KeepsANumberInItsOwnMeasureToTheBit) {
  for (const MeasureInfo& row : measure_table) {
    for (const double v : {0.1 + 0.2, 3.175, 1e300, 5e-324, -0.0}) {
      EXPECT_EQ(convert(v, row.measure, row.measure), v) << row.label;
    }
  }
}

TEST(UnitLabels, RefusalNamesBothMeasures) {
  try {
    (void)convert(1.0, Measure::psi, Measure::millimetre);
    FAIL() << "accepted";
  } catch (const MeasureError& e) {
    const std::string text = e.what();
    EXPECT_NE(text.find("'psi'"), std::string::npos) << text;
    EXPECT_NE(text.find("'mm'"), std::string::npos) << text;
  }
}
