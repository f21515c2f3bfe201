// Load and inflation: what a tire carries at a pressure and what pressure a load needs, by a load table or
// by the power law; load index and speed symbol.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "wheelend/quantities.hpp"

namespace wheelend {

enum class LoadStatus : std::uint8_t {
  found,
  over_the_table,    // more load, or more pressure, than the last row
  under_the_table,   // less than the first row: the table does not say
  over_the_maximum,  // power law: more load, or more pressure, than the maximum of the tire
  below_the_range,   // power law: less than lowest_share of the maximum pressure
  no_value           // load or pressure missing, below zero or not finite
};
inline constexpr std::array<std::string_view, 6> load_status_names{
    "found", "over_the_table", "under_the_table", "over_the_maximum", "below_the_range", "no_value"};

// NaN unless the status is `found`.
struct LoadAnswer {
  Load load;
  LoadStatus status;
};
struct PressureAnswer {
  GaugePressure pressure;
  LoadStatus status;
};

// A number as it was written. With a load table it is compared as the decimal that it is: 5980 lb is the row
// of 5980 lb, and so is 2712.4823726 kg.
struct WrittenLoad {
  double value;
  Measure measure;
  [[nodiscard]] Load load() const;  // throws MeasureError where the measure is none of load
};
struct WrittenPressure {
  double value;
  Measure measure;
  [[nodiscard]] GaugePressure pressure() const;  // throws MeasureError where it is none of pressure
};

// Load on one tire, in the measure that the axle load was written in: an axle's load over its tires, or the
// heavier end over the tires of an end. Throws ColumnError when there is no tire.
WrittenLoad tire_load(WrittenLoad on_axle, int tires);
WrittenLoad tire_load(WrittenLoad left_end, WrittenLoad right_end, int tires_per_end);

// The power law
//   L(P) = L_max (P / P_max)^n        P_required = P_max (L / L_max)^(1/n)
// is a screening tool where no load table is at hand; a table always wins.

// Maximum load of a tire and the pressure that it is stated at, as its sidewall says.
struct TireMaximum {
  GaugePressure pressure;
  Load load;
};

// For 17.5, 19.5, 22.5 and 24.5 in radial truck tires. As an official number from memory; it is held to the
// rows 105 psi, 5980 lb and 110 psi, 6175 lb of 295/75R22.5 (trade press), which give 0.672 to 0.707.
inline constexpr double radial_truck_exponent = 0.7;
// Exponents in use: 0.5 for passenger tires (standards of P-metric sizes), 1 before 1928 (history of the
// formula).
inline constexpr double lowest_exponent = 0.5;
inline constexpr double highest_exponent = 1.0;
// Of the maximum pressure; below it the power law is not used. Common practice, no source.
inline constexpr double lowest_share = 0.65;
// Load of one tire of a dual pair as a share of the same tire used single, at the same pressure. From memory;
// 0.91 x 5155.3 lb at 85 psi is within 2 lb of the 4690 lb that a weighing guide prints.
inline constexpr double dual_factor = 0.91;

// The curve of a tire in a dual pair. It is scaled from the maximum for *single* use: the dual maximum on the
// sidewall is a load-index value and no point of the curve.
TireMaximum in_dual_pair(const TireMaximum& single, double factor = dual_factor);

// Throw ColumnError when the maximum is not above zero or the exponent is outside lowest_exponent ..
// highest_exponent.
LoadAnswer load_by_power_law(GaugePressure pressure, const TireMaximum& maximum,
                             double exponent = radial_truck_exponent);
PressureAnswer pressure_by_power_law(Load load, const TireMaximum& maximum,
                                     double exponent = radial_truck_exponent);

// Next multiple of 5 psi, the step of the load tables (common practice, no source); a multiple stays. Where
// that is more than the maximum, the maximum itself, since it carries what the formula was asked for.
GaugePressure up_to_next_5_psi(GaugePressure required, GaugePressure maximum);

// Rows of a load table for one size and assembly, as printed: pressures rise and loads rise. A table is not
// smooth: where a row is the maximum of a load range it holds the load of the load index instead of the
// curve's, and it is taken as it stands.
struct LoadTable {
  std::vector<double> pressure;  // gauge
  Measure pressure_measure = Measure::psi;
  std::vector<double> load;
  Measure load_measure = Measure::pound;
};

// First row that makes the table unusable, from 0, and why; nothing where it is sound. The functions below
// throw ColumnError on a table with a fault.
struct TableFault {
  std::size_t row;
  std::string what;
};
std::optional<TableFault> first_fault(const LoadTable& table);

// Row of the smallest pressure whose load is at least this one, as the trade reads a table. Never between
// rows.
struct RowChoice {
  std::int32_t row;  // -1 unless the status is `found`
  LoadStatus status;
};
RowChoice required_row(const LoadTable& table, WrittenLoad load);
void required_rows(const LoadTable& table, std::span<const double> loads, Measure load_measure,
                   std::span<std::int32_t> rows, std::span<std::uint8_t> statuses);

// Between two rows by the power law through both; on a row, the row. Nothing beyond the first and last row.
LoadAnswer load_in_table(const LoadTable& table, WrittenPressure pressure);
PressureAnswer pressure_between_rows(const LoadTable& table, WrittenLoad load);

// Load of a load index (ISO 4000-1, UN R54), 100 to 180; nothing outside.
std::optional<Load> load_of_index(int index);
// The index of a load, which may be off by `within`: the pounds on a sidewall are no single rounding of the
// kilograms. Nothing where no index has this load.
std::optional<int> index_of_load(Load load, Load within = {});

// Speed in km/h of a speed symbol (UN R54), capital letter; nothing for any other character.
std::optional<int> speed_of_symbol(char symbol);

}  // namespace wheelend
