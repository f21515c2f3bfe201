// The one factor table: every measure that a column may carry, with its exact ratio to the SI unit.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

namespace wheelend {

enum class Dimension : std::uint8_t {
  length,
  pressure,
  temperature,
  mass,
  speed,
  depth_per_distance,
  depth_per_time,
  pressure_per_time,
  torque,
  time,
  age,
  temperature_difference,
  share,
  count
};
inline constexpr std::array<std::string_view, 14> dimension_names{"length",
                                                                  "pressure",
                                                                  "temperature",
                                                                  "mass",
                                                                  "speed",
                                                                  "depth_per_distance",
                                                                  "depth_per_time",
                                                                  "pressure_per_time",
                                                                  "torque",
                                                                  "time",
                                                                  "age",
                                                                  "temperature_difference",
                                                                  "share",
                                                                  "count"};

enum class Measure : std::uint8_t {
  thirty_seconds,
  millimetre,
  inch,
  mil,
  metre,
  foot,
  mile,
  kilometre,
  psi,
  kilopascal,
  bar,
  degree_fahrenheit,
  degree_celsius,
  kelvin,
  pound,
  kilogram,
  mile_per_hour,
  kilometre_per_hour,
  thirty_seconds_per_1000_miles,
  millimetre_per_1000_km,
  mil_per_1000_miles,
  thirty_seconds_per_month,
  millimetre_per_month,
  psi_per_minute,
  kilopascal_per_minute,
  pound_foot,
  newton_metre,
  second,
  minute,
  day,
  year,
  month,
  fahrenheit_difference,
  celsius_difference,
  percent,
  count,
  yes_no
};

// The system a measure belongs to: where a clause prints its number twice, a reading is held to the one in
// its own.
enum class System : std::uint8_t { customary, metric, either };

// value_in_SI = value * numerator / denominator + offset_numerator / offset_denominator.
struct MeasureInfo {
  Measure measure;
  Dimension dimension;
  System system;
  std::string_view label;  // suffix of a column, and what the command line reads
  std::string_view words;  // for people, after a number
  std::int64_t numerator;
  std::int64_t denominator;
  std::int64_t offset_numerator;
  std::int64_t offset_denominator;
  double gauge_step;  // step of the usual instrument in this measure; 0 where there is none
  std::string_view source;
};

// Sources: SP811 = NIST Special Publication 811, appendix B; HB44 = NIST Handbook 44, appendix C.
// Gauge steps: 1/32 in and 1 psi are what shop gauges are marked in, 4 kPa is the step of the vehicle message
// (SAE J1939-71, SPN 241); the others are common practice, no source.
inline constexpr std::array<MeasureInfo, 37> measure_table{{
    {Measure::thirty_seconds, Dimension::length, System::customary, "32nds", "/32 in", 127, 160000, 0, 1, 1.0,
     "1/32 of the inch, SP811"},
    {Measure::millimetre, Dimension::length, System::metric, "mm", "mm", 1, 1000, 0, 1, 0.1, "SI"},
    {Measure::inch, Dimension::length, System::customary, "in", "in", 127, 5000, 0, 1, 0.03125,
     "inch = 25.4 mm exactly, SP811"},
    {Measure::mil, Dimension::length, System::customary, "mil", "mil", 127, 5000000, 0, 1, 1.0,
     "1/1000 inch, SP811"},
    {Measure::metre, Dimension::length, System::metric, "m", "m", 1, 1, 0, 1, 0.0, "SI"},
    {Measure::foot, Dimension::length, System::customary, "ft", "ft", 381, 1250, 0, 1, 0.0,
     "foot = 0.3048 m exactly, SP811"},
    {Measure::mile, Dimension::length, System::customary, "mi", "mi", 201168, 125, 0, 1, 1.0,
     "mile = 5280 ft, HB44"},
    {Measure::kilometre, Dimension::length, System::metric, "km", "km", 1000, 1, 0, 1, 1.0, "SI"},
    // lbf = 0.45359237 kg * 9.80665 m/s2, per square inch of (0.0254 m)^2
    {Measure::psi, Dimension::pressure, System::customary, "psi", "psi", 8896443230521, 1290320000, 0, 1, 1.0,
     "lbf/in2, SP811"},
    {Measure::kilopascal, Dimension::pressure, System::metric, "kpa", "kPa", 1000, 1, 0, 1, 4.0, "SI"},
    {Measure::bar, Dimension::pressure, System::metric, "bar", "bar", 100000, 1, 0, 1, 0.1,
     "bar = 100 kPa, SP811"},
    {Measure::degree_fahrenheit, Dimension::temperature, System::customary, "degf", "degF", 5, 9, 45967, 180,
     1.0, "T/K = (t/F + 459.67) 5/9, SP811"},
    {Measure::degree_celsius, Dimension::temperature, System::metric, "degc", "degC", 1, 1, 5463, 20, 1.0,
     "T/K = t/C + 273.15, SP811"},
    {Measure::kelvin, Dimension::temperature, System::metric, "k", "K", 1, 1, 0, 1, 1.0, "SI"},
    {Measure::pound, Dimension::mass, System::customary, "lb", "lb", 45359237, 100000000, 0, 1, 0.0,
     "lb = 0.45359237 kg exactly, SP811"},
    {Measure::kilogram, Dimension::mass, System::metric, "kg", "kg", 1, 1, 0, 1, 0.0, "SI"},
    {Measure::mile_per_hour, Dimension::speed, System::customary, "mph", "mph", 1397, 3125, 0, 1, 0.0,
     "1609.344 m per 3600 s, SP811"},
    {Measure::kilometre_per_hour, Dimension::speed, System::metric, "kmh", "km/h", 5, 18, 0, 1, 0.0, "SI"},
    {Measure::thirty_seconds_per_1000_miles, Dimension::depth_per_distance, System::customary,
     "32nds_per_1000mi", "/32 in per 1000 mi", 3125, 6336000000000, 0, 1, 0.0, "from inch and mile"},
    {Measure::millimetre_per_1000_km, Dimension::depth_per_distance, System::metric, "mm_per_1000km",
     "mm per 1000 km", 1, 1000000000, 0, 1, 0.0, "SI"},
    {Measure::mil_per_1000_miles, Dimension::depth_per_distance, System::customary, "mil_per_1000mi",
     "mil per 1000 mi", 25, 1584000000000, 0, 1, 0.0, "from inch and mile"},
    // a month is 365.25/12 days of 86400 s = 2629800 s: convention, written in the data dictionary
    {Measure::thirty_seconds_per_month, Dimension::depth_per_time, System::customary, "32nds_per_month",
     "/32 in a month", 127, 420768000000, 0, 1, 0.0, "from inch; mean month"},
    {Measure::millimetre_per_month, Dimension::depth_per_time, System::metric, "mm_per_month", "mm a month",
     1, 2629800000, 0, 1, 0.0, "SI; mean month"},
    {Measure::psi_per_minute, Dimension::pressure_per_time, System::customary, "psi_per_min", "psi/min",
     8896443230521, 77419200000, 0, 1, 1.0, "from psi and 60 s"},
    {Measure::kilopascal_per_minute, Dimension::pressure_per_time, System::metric, "kpa_per_min", "kPa/min",
     50, 3, 0, 1, 4.0, "from kPa and 60 s"},
    // lbf ft = 0.45359237 kg * 9.80665 m/s2 * 0.3048 m
    {Measure::pound_foot, Dimension::torque, System::customary, "lbft", "lbf ft", 3389544870828501,
     2500000000000000, 0, 1, 5.0, "lbf times foot, SP811"},
    {Measure::newton_metre, Dimension::torque, System::metric, "nm", "N m", 1, 1, 0, 1, 5.0, "SI"},
    {Measure::second, Dimension::time, System::either, "s", "s", 1, 1, 0, 1, 1.0, "SI"},
    {Measure::minute, Dimension::time, System::either, "min", "min", 60, 1, 0, 1, 0.0, "60 s, SP811"},
    {Measure::day, Dimension::time, System::either, "days", "days", 86400, 1, 0, 1, 0.0,
     "24 h, SI brochure table 8"},
    // ages are counted on the calendar: a year is what passes from an anniversary to the next
    {Measure::year, Dimension::age, System::either, "years", "years", 1, 1, 0, 1, 0.0, "calendar years"},
    {Measure::month, Dimension::age, System::either, "months", "months", 1, 12, 0, 1, 0.0,
     "twelfth of a year"},
    {Measure::fahrenheit_difference, Dimension::temperature_difference, System::customary, "degf_apart",
     "degF apart", 5, 9, 0, 1, 1.0, "degree of Fahrenheit, SP811"},
    {Measure::celsius_difference, Dimension::temperature_difference, System::metric, "degc_apart",
     "degC apart", 1, 1, 0, 1, 1.0, "SI"},
    {Measure::percent, Dimension::share, System::either, "percent", "%", 1, 100, 0, 1, 0.0, "1/100"},
    {Measure::count, Dimension::count, System::either, "count", "", 1, 1, 0, 1, 0.0, "a number of things"},
    {Measure::yes_no, Dimension::count, System::either, "yes_no", "", 1, 1, 0, 1, 0.0, "1 = yes, 0 = no"},
}};

constexpr bool measure_table_in_step() {
  for (std::size_t i = 0; i < measure_table.size(); ++i) {
    if (static_cast<std::size_t>(measure_table[i].measure) != i) {
      return false;
    }
  }
  return true;
}
static_assert(measure_table_in_step(), "measure_table must list the enum in its order: info() indexes it");

constexpr const MeasureInfo& info(Measure m) { return measure_table[static_cast<std::size_t>(m)]; }

// Factor to SI, correctly rounded: both integers are below 2^53, so the division rounds once.
constexpr double factor(Measure m) {
  return static_cast<double>(info(m).numerator) / static_cast<double>(info(m).denominator);
}

// The measure of a label, any case ("psi", "32nds", "degF"); nothing if there is none.
std::optional<Measure> find_measure(std::string_view label);

// The same; throws MeasureError that names the label and lists the known ones.
Measure parse_measure(std::string_view label);

// `value` in another measure of the same dimension. The ratio is cancelled first, so that values which are
// exact in both measures come out exact (3.175 mm is 4/32 in). Throws MeasureError when the dimensions
// differ.
double convert(double value, Measure from, Measure to);

// convert() prepared once for a column: out = (value * numerator + offset) / denominator.
class Conversion {
 public:
  Conversion(Measure from, Measure to);
  double operator()(double value) const {
    return same_ ? value : (affine_ ? (value * num_ + offset_) / den_ : value * num_ / den_);
  }

 private:
  double num_ = 1.0, den_ = 1.0, offset_ = 0.0;
  bool same_ = false, affine_ = false;
};

}  // namespace wheelend
