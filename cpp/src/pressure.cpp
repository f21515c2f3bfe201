#include "wheelend/pressure.hpp"

#include <array>
#include <cmath>
#include <string>

#include "wheelend/error.hpp"
#include "wheelend/exact.hpp"

namespace wheelend {

namespace {

// U.S. Standard Atmosphere 1976 (NOAA/NASA/USAF), table 2 and section 1.2; ISO 2533 has the same figures.
constexpr double sea_level_temperature = 288.15;  // K
constexpr double lapse_rate = 0.0065;             // K per m of geopotential altitude, below 11 km
constexpr double standard_gravity = 9.80665;      // m/s2
constexpr double molar_mass = 28.9644;            // kg/kmol
constexpr double gas_constant = 8314.32;          // J/(kmol K), the value of the 1976 standard
constexpr double earth_radius = 6356766.0;        // m
constexpr double lowest = -5000.0;                // m, the standard's table begins there
constexpr double tropopause = 11000.0;            // m

std::strong_ordering compare_in(double value, Measure from, double bound, Measure in) {
  if (info(from).dimension != info(in).dimension) {
    throw MeasureError("'" + std::string(info(from).label) + "' does not measure what '" +
                       std::string(info(in).label) + "' does");
  }
  const std::array left{Term::of(value), Term::of(from)};
  const std::array right{Term::of(bound), Term::of(in)};
  return compare_products(left, right);
}

}  // namespace

AbsolutePressure standard_pressure(Altitude geopotential) {
  const double h = geopotential.in(metres);
  if (!(h >= lowest && h <= tropopause)) {
    throw ColumnError("altitude " + std::to_string(h) + " m is outside -5000..11000 m");
  }
  constexpr double exponent = standard_gravity * molar_mass / (gas_constant * lapse_rate);
  return AbsolutePressure::from_si(sea_level_pressure.si() *
                                   std::pow(1.0 - lapse_rate * h / sea_level_temperature, exponent));
}

Altitude geopotential_altitude(Altitude geometric) {
  const double z = geometric.in(metres);
  return Altitude::from_si(earth_radius * z / (earth_radius + z));
}

GaugePressure at_reference(GaugePressure read, AbsolutePressure atmosphere, TemperaturePoint gas,
                           TemperaturePoint reference, AbsolutePressure reference_atmosphere,
                           double volume_ratio) {
  if (gas.in(kelvins) <= 0.0 || reference.in(kelvins) <= 0.0) {  // a missing one stays missing
    throw ColumnError("temperatures of the gas law must be above 0 K");
  }
  if (gas == reference && volume_ratio == 1.0 && atmosphere == reference_atmosphere) {
    return read;  // no change of state: keep the decimal that was read
  }
  const AbsolutePressure inside = to_absolute(read, atmosphere);
  const AbsolutePressure moved =
      AbsolutePressure::from_si(inside.si() * (reference.in(kelvins) / gas.in(kelvins)) * volume_ratio);
  return to_gauge(moved, reference_atmosphere);
}

std::optional<HotSubtraction> federal_hot_subtraction(double speed, Measure speed_measure, double rated_load,
                                                      Measure load_measure) {
  if (!std::isfinite(speed) || !std::isfinite(rated_load)) {
    return std::nullopt;
  }
  const bool metric_speed = speed_measure == Measure::kilometre_per_hour;
  const Measure row = metric_speed ? Measure::kilometre_per_hour : Measure::mile_per_hour;
  if (compare_in(speed, speed_measure, metric_speed ? 66.0 : 41.0, row) < 0 ||
      compare_in(speed, speed_measure, metric_speed ? 88.5 : 55.0, row) > 0) {
    return std::nullopt;
  }
  const bool metric_load = load_measure == Measure::kilogram;
  const bool light = compare_in(rated_load, load_measure, metric_load ? 1814.0 : 4000.0,
                                metric_load ? Measure::kilogram : Measure::pound) <= 0;
  return light ? HotSubtraction::light : HotSubtraction::heavy;
}

double in_measure(HotSubtraction off, Measure pressure_measure) {
  const bool light = off == HotSubtraction::light;
  constexpr double light_psi = 5.0, heavy_psi = 15.0, light_kpa = 34.5,
                   heavy_kpa = 103.4;  // 49 CFR 393.75(i)(2), table 1
  if (pressure_measure == Measure::psi) {
    return light ? light_psi : heavy_psi;
  }
  return convert(light ? light_kpa : heavy_kpa, Measure::kilopascal, pressure_measure);
}

double less_subtraction(double read, Measure pressure_measure, HotSubtraction off) {
  return on_nine_places(read - in_measure(off, pressure_measure));
}

double on_nine_places(double value) {
  constexpr double places = 1e9;
  return std::round(value * places) / places;
}

}  // namespace wheelend
