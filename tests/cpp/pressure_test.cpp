// Cold pressure. Expected numbers are computations of our own apart from the code (50 digits, or exact
// rationals) of published formulas: the law of Gay-Lussac on absolute pressure and temperature, and the
// troposphere of ISO 2533 / U.S. Standard Atmosphere 1976: p = 101325 (1 - 0.0065 h / 288.15)^(9.80665
// * 28.9644 / (8314.32 * 0.0065)). Units: psi = 8896443230521/1290320000 Pa, T/K = (t/F + 459.67) 5/9 (NIST
// SP 811, exact).
#include "wheelend/pressure.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <optional>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;
using test::printed_to;

namespace {

constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

TemperaturePoint fahrenheit(double t) { return temperature(t, Measure::degree_fahrenheit); }
TemperaturePoint celsius(double t) { return temperature(t, Measure::degree_celsius); }
GaugePressure gauge(double p) { return GaugePressure(p * psi); }
AbsolutePressure absolute(double p) { return AbsolutePressure(p * psi); }
Altitude metres_high(double h) { return Altitude(h * metres); }

double restated(double read, double from, double to, double atmosphere = 14.695949) {
  return at_reference(gauge(read), absolute(atmosphere), fahrenheit(from), fahrenheit(to),
                      absolute(atmosphere))
      .in(psi);
}

std::optional<double> subtraction(double speed, Measure speed_measure, double load, Measure load_measure) {
  const auto found = federal_hot_subtraction(speed, speed_measure, load, load_measure);
  return found ? std::optional(in_measure(*found, Measure::psi)) : std::nullopt;
}

}  // namespace

// (p + pa) T_ref / T - pa with pa = 14.695949 psi, four decimals
TEST(Pressure, RestatesReadingsAtAnotherTemperature) {
  EXPECT_TRUE(near(restated(100, 70, 60), 97.8346, printed_to(4)));
  EXPECT_TRUE(near(restated(100, 70, 80), 102.1654, printed_to(4)));
  EXPECT_TRUE(near(restated(100, 70, 0), 84.8420, printed_to(4)));
  EXPECT_TRUE(near(restated(100, 70, 32), 91.7714, printed_to(4)));
  EXPECT_TRUE(near(restated(100, 70, 150), 117.3234, printed_to(4)));
  EXPECT_TRUE(near(restated(112, 100, 68), 104.7560, printed_to(4)));
  EXPECT_TRUE(near(restated(118, 135, 68), 103.0495, printed_to(4)));
  EXPECT_TRUE(near(restated(95, 20, 68), 105.9771, printed_to(4)));
}

TEST(Pressure, TakesTheAirVolumeIntoAccount) {
  // The tire holds 0.5 % more air space at the reference: V / V_ref = 1/1.005.
  const GaugePressure p = at_reference(gauge(100), absolute(14.695949), fahrenheit(70), fahrenheit(70),
                                       absolute(14.695949), 1 / 1.005);
  EXPECT_TRUE(near(p.in(psi), 99.4294, printed_to(4)));
}

TEST(Pressure, FollowsTheGasLawToTwelveDigits) {
  struct Case {
    double read, from, to, atmosphere, expected;
  };
  // Exact rational arithmetic, rounded to 16 digits.
  constexpr Case cases[] = {
      {100, 70, 0, 14.69594877551345, 84.84204048882145},
      {100, 70, 120, 14.69594877551345, 110.82711393655612},
      {105, 60, 10, 14.69594877551345, 93.48346558628424},
      {110, 68, 98, 14.69594877551345, 117.08942798200655},
      {95, 32, -20, 12.228, 83.659352817947},
      {100, 70, 70, 14.69594877551345, 100.0},
  };
  for (const Case& c : cases) {
    EXPECT_TRUE(near(restated(c.read, c.from, c.to, c.atmosphere), c.expected, {.relative = 1e-12}));
  }
}

TEST(Pressure, LeavesAReadingAloneWhenNothingChanges) {
  const GaugePressure read = gauge(97.3);
  const GaugePressure same =
      at_reference(read, sea_level_pressure, celsius(15), celsius(15), sea_level_pressure);
  EXPECT_EQ(same, read);
}

TEST(Pressure, ComesBackFromTheReference) {
  const AbsolutePressure here = standard_pressure(metres_high(1200)),
                         there = standard_pressure(metres_high(300));
  const GaugePressure out = at_reference(gauge(103), here, celsius(31), celsius(20), there, 1.004);
  const GaugePressure back = at_reference(out, there, celsius(20), celsius(31), here, 1 / 1.004);
  EXPECT_TRUE(near(back.in(psi), 103.0, {.relative = 1e-14}));
}

TEST(Pressure, OfTheStandardAtmosphere) {
  struct Case {
    double h, pascals;
    double psi, gauge_rise;  // of a sealed tire against sea level, same gas temperature
  };
  constexpr Case cases[] = {
      {0, 101325.0, 14.6959, 0.0},      {500, 95460.8, 13.8454, 0.8505},
      {1000, 89874.6, 13.0352, 1.6607}, {1609.344, 83427.6, 12.1001, 2.5958},
      {2000, 79495.2, 11.5298, 3.1661}, {3000, 70108.5, 10.1684, 4.5276},
  };
  for (const Case& c : cases) {
    SCOPED_TRACE(c.h);
    const AbsolutePressure p = standard_pressure(metres_high(c.h));
    EXPECT_TRUE(near(p.in(pascals), c.pascals, printed_to(1)));
    EXPECT_TRUE(near(p.in(psi), c.psi, printed_to(4)));
    const GaugePressure up = at_reference(gauge(100), sea_level_pressure, celsius(15), celsius(15), p);
    EXPECT_TRUE(near((up - gauge(100)).in(psi), c.gauge_rise, printed_to(4)));
  }
}

// By geometric altitude, h = r z / (r + z) with r = 6 356 766 m; closed form in 50 digits.
TEST(Pressure, OfTheStandardAtmosphereByGeometricAltitude) {
  struct Case {
    double z, pascals;
  };
  constexpr Case cases[] = {
      {-2000, 127782.83336558689}, {0, 101325.0},
      {2000, 79501.424641667},     {4000, 61660.44413046505},
      {6000, 47217.642475894994},  {8000, 35651.62833582501},
      {10000, 26499.898139253346},
  };
  for (const Case& c : cases) {
    SCOPED_TRACE(c.z);
    EXPECT_TRUE(near(standard_pressure(geopotential_altitude(metres_high(c.z))).in(pascals), c.pascals,
                     {.relative = 1e-10}));
  }
}

TEST(Pressure, ChangesWithAltitudeAndTemperatureTogether) {
  const AbsolutePressure mile_high = standard_pressure(Altitude(5280.0 * feet));
  // 100 psi set at sea level and 15 degC; a mile up the standard atmosphere has 15 - 0.0065 * 1609.344
  // = 4.539 degC
  const GaugePressure up =
      at_reference(gauge(100), sea_level_pressure, celsius(15), celsius(4.539264), mile_high);
  EXPECT_TRUE(near(up.in(psi), 98.4320, printed_to(4)));
  const GaugePressure down =
      at_reference(gauge(100), mile_high, celsius(15), celsius(15), sea_level_pressure);
  EXPECT_TRUE(near(down.in(psi), 97.4042, printed_to(4)));
}

TEST(Pressure, OfTheAtmosphereIsRefusedOutsideItsRange) {
  EXPECT_NO_THROW((void)standard_pressure(metres_high(-5000)));
  EXPECT_NO_THROW((void)standard_pressure(metres_high(11000)));
  EXPECT_THROW((void)standard_pressure(metres_high(-5000.001)), ColumnError);
  EXPECT_THROW((void)standard_pressure(metres_high(11000.001)), ColumnError);
  EXPECT_THROW((void)standard_pressure(metres_high(not_a_number)), ColumnError);
  EXPECT_THROW((void)standard_pressure(metres_high(std::numeric_limits<double>::infinity())), ColumnError);
}

TEST(Pressure, IsUnknownWhenAnInputIs) {
  const auto unread = GaugePressure::from_si(not_a_number);
  EXPECT_TRUE(std::isnan(
      at_reference(unread, sea_level_pressure, celsius(20), celsius(15), sea_level_pressure).si()));
  EXPECT_TRUE(std::isnan(
      at_reference(gauge(100), sea_level_pressure, celsius(not_a_number), celsius(15), sea_level_pressure)
          .si()));
}

// 49 CFR 393.75(i)(2), table 1: average speed 41-55 mph (66-88.5 km/h) in the past hour; maximum load rating
// of 4,000 lb (1,814 kg) or less: 5 psi; above: 15 psi.
TEST(Pressure, HotSubtractionHoldsBetweenTheSpeedsOfTheTable) {
  const auto mph = [](double v) { return subtraction(v, Measure::mile_per_hour, 6000, Measure::pound); };
  EXPECT_EQ(mph(41), 15.0);
  EXPECT_EQ(mph(50), 15.0);
  EXPECT_EQ(mph(55), 15.0);
  EXPECT_EQ(mph(40.9), std::nullopt);
  EXPECT_EQ(mph(55.1), std::nullopt);
  EXPECT_EQ(mph(0), std::nullopt);
  const auto kmh = [](double v) { return subtraction(v, Measure::kilometre_per_hour, 6000, Measure::pound); };
  EXPECT_EQ(kmh(66), 15.0);
  EXPECT_EQ(kmh(80), 15.0);
  EXPECT_EQ(kmh(88.5), 15.0);
  EXPECT_EQ(kmh(65.9), std::nullopt);
  EXPECT_EQ(kmh(88.6), std::nullopt);
  // 41 mph is 65.98 km/h and 88.513 km/h is below 55 mph: in km/h both lie outside the pair that the clause
  // prints.
  EXPECT_EQ(kmh(65.98), std::nullopt);
  EXPECT_EQ(kmh(88.51), std::nullopt);
}

TEST(Pressure, HotSubtractionChangesAboveTheLoadOfTheTable) {
  const auto pound = [](double v) { return subtraction(50, Measure::mile_per_hour, v, Measure::pound); };
  EXPECT_EQ(pound(3999), 5.0);
  EXPECT_EQ(pound(4000), 5.0);
  EXPECT_EQ(pound(4000.01), 15.0);
  EXPECT_EQ(pound(4001), 15.0);
  const auto kilogram = [](double v) {
    return subtraction(80, Measure::kilometre_per_hour, v, Measure::kilogram);
  };
  EXPECT_EQ(kilogram(1814), 5.0);
  // 1814.1 kg is less than 4,000 lb but above the kilograms that the clause prints.
  EXPECT_EQ(kilogram(1814.1), 15.0);
  EXPECT_EQ(kilogram(1815), 15.0);
  // The two pairs are read apart from each other.
  EXPECT_EQ(subtraction(66, Measure::kilometre_per_hour, 4000, Measure::pound), 5.0);
  EXPECT_EQ(subtraction(41, Measure::mile_per_hour, 1815, Measure::kilogram), 15.0);
}

TEST(Pressure, HotSubtractionOfATruckTire) {
  // A truck tire read at 116 psi after an hour at 50 mph is estimated at 101 psi cold.
  const auto found = federal_hot_subtraction(50, Measure::mile_per_hour, 6175, Measure::pound);
  ASSERT_TRUE(found);
  EXPECT_EQ(116.0 - in_measure(*found, Measure::psi), 101.0);
}

// The clause prints 5 psi (34.5 kPa) and 15 psi (103.4 kPa), and 5 psi is 34.47 kPa: each system has its own
// number.
TEST(Pressure, HotSubtractionIsTheOneOfTheReadingsOwnSystem) {
  EXPECT_EQ(in_measure(HotSubtraction::light, Measure::psi), 5.0);
  EXPECT_EQ(in_measure(HotSubtraction::heavy, Measure::psi), 15.0);
  EXPECT_EQ(in_measure(HotSubtraction::light, Measure::kilopascal), 34.5);
  EXPECT_EQ(in_measure(HotSubtraction::heavy, Measure::kilopascal), 103.4);
  EXPECT_EQ(in_measure(HotSubtraction::light, Measure::bar), 0.345);
  EXPECT_EQ(in_measure(HotSubtraction::heavy, Measure::bar), 1.034);
  EXPECT_THROW((void)in_measure(HotSubtraction::light, Measure::millimetre), MeasureError);
}

TEST(Pressure, HotSubtractionIsUnknownWhenSpeedOrLoadIs) {
  const double inf = std::numeric_limits<double>::infinity();
  EXPECT_EQ(subtraction(not_a_number, Measure::mile_per_hour, 4000, Measure::pound), std::nullopt);
  EXPECT_EQ(subtraction(50, Measure::mile_per_hour, not_a_number, Measure::pound), std::nullopt);
  EXPECT_EQ(subtraction(inf, Measure::mile_per_hour, 4000, Measure::pound), std::nullopt);
  EXPECT_EQ(subtraction(50, Measure::mile_per_hour, inf, Measure::pound), std::nullopt);
}
