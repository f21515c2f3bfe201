// Cold pressure: the gas law on absolute pressures, the standard atmosphere, and the federal hot-tire
// subtraction.
#pragma once

#include <cstdint>
#include <optional>

#include "wheelend/quantities.hpp"

namespace wheelend {

// Standard sea-level pressure, 101 325 Pa: ISO 2533.
inline constexpr AbsolutePressure sea_level_pressure = AbsolutePressure::from_si(101325.0);

// Pressure of the standard atmosphere at a geopotential altitude, troposphere:
//   p = 101325 (1 - 0.0065 h / 288.15)^(g0 M / (R* 0.0065)),   ISO 2533 / U.S. Standard Atmosphere 1976.
// Range -5000 m to 11 000 m; outside it throws ColumnError.
AbsolutePressure standard_pressure(Altitude geopotential);

// Geopotential altitude of a geometric one: h = r z / (r + z), r = 6 356 766 m (ISO 2533).
Altitude geopotential_altitude(Altitude geometric);

// Gauge pressure that a tire read at `gas` temperature would show at `reference`, air volume unchanged unless
// volume_ratio = V / V_reference is given:
//   p_ref = (p + pa) (T_ref / T) (V / V_ref) - pa_ref        (law of Gay-Lussac)
// Temperatures of the gas in the tire, above 0 K; altitude enters only through the two atmospheres.
GaugePressure at_reference(GaugePressure read, AbsolutePressure atmosphere, TemperaturePoint gas,
                           TemperaturePoint reference, AbsolutePressure reference_atmosphere,
                           double volume_ratio = 1.0);

// What 49 CFR 393.75(i)(2), table 1, says to take off the reading of a tire heated by running: 5 psi when its
// maximum load rating is 4,000 lb (1,814 kg) or less, 15 psi above, for an average of 41 to 55 mph (66
// to 88.5 km/h) over the last hour. Nothing outside that row: the table has no other. The clause prints the
// pair "41-55 mph (66-88.5 km/h)": a speed is inside when it is in the unit it was read in.
enum class HotSubtraction : std::uint8_t { light, heavy };
std::optional<HotSubtraction> federal_hot_subtraction(double speed, Measure speed_measure, double rated_load,
                                                      Measure load_measure);

// The number to take off a reading in psi, kPa or bar. The clause prints 5 psi (34.5 kPa) and 15 psi (103.4
// kPa): the number of the reading's own system is taken, not a conversion of the other.
double in_measure(HotSubtraction off, Measure pressure_measure);

// A reading less the subtraction. The difference of two decimals is a decimal again: no binary rest is left
// behind.
double less_subtraction(double read, Measure pressure_measure, HotSubtraction off);

// A number on nine decimal places: far below any gauge, far above the rounding of a double.
double on_nine_places(double value);

}  // namespace wheelend
