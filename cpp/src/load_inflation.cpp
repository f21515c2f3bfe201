#include "wheelend/load_inflation.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "wheelend/error.hpp"
#include "wheelend/exact.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

LoadAnswer no_load(LoadStatus status) { return {Load::from_si(nothing), status}; }
PressureAnswer no_pressure(LoadStatus status) { return {GaugePressure::from_si(nothing), status}; }

bool usable(double value) { return std::isfinite(value) && value >= 0.0; }

double si_of(double value, Measure measure, Dimension dimension, const char* what) {
  if (info(measure).dimension != dimension) {
    throw MeasureError("'" + std::string(info(measure).label) + "' is no measure of " + what);
  }
  return value * factor(measure);
}

std::strong_ordering compare(double a, Measure of_a, double b, Measure of_b) {
  const std::array left{Term::of(a), Term::of(of_a)};
  const std::array right{Term::of(b), Term::of(of_b)};
  return compare_products(left, right);
}

void require_tires(int tires) {
  if (tires < 1) {
    throw ColumnError("tires: expected 1 or more, got " + std::to_string(tires));
  }
}

void require_maximum(const TireMaximum& m) {
  if (!(std::isfinite(m.pressure.si()) && m.pressure.si() > 0.0) ||
      !(std::isfinite(m.load.si()) && m.load.si() > 0.0)) {
    throw ColumnError("the maximum pressure and the maximum load must be above zero");
  }
}

void require_exponent(double n) {
  if (!(n >= lowest_exponent && n <= highest_exponent)) {
    throw ColumnError("exponent " + shortest_decimal(n) + " is outside 0.5 .. 1, the exponents in use");
  }
}

// Quantities carry the roundings of their conversion. On nine places 71.5 of 110 psi is 0.65 again.
bool is_over_maximum(double share) { return on_nine_places(share) > 1.0; }
bool is_below_range(double share) { return on_nine_places(share) < lowest_share; }

// First row of a rising column that is at least `value`; the number of rows where there is none.
std::size_t first_row_at_least(const std::vector<double>& rows, Measure of_rows, double value,
                               Measure measure) {
  const auto below = [&](double row, double v) { return compare(row, of_rows, v, measure) < 0; };
  return static_cast<std::size_t>(std::lower_bound(rows.begin(), rows.end(), value, below) - rows.begin());
}

// Exponent of the power law through a row and the row before it.
double exponent_up_to(const LoadTable& t, std::size_t row) {
  return std::log(t.load[row] / t.load[row - 1]) / std::log(t.pressure[row] / t.pressure[row - 1]);
}

RowChoice choose_row(const LoadTable& t, WrittenLoad load) {
  if (!usable(load.value)) {
    return {-1, LoadStatus::no_value};
  }
  const std::size_t row = first_row_at_least(t.load, t.load_measure, load.value, load.measure);
  if (row == t.load.size()) {
    return {-1, LoadStatus::over_the_table};
  }
  return {static_cast<std::int32_t>(row), LoadStatus::found};
}

std::optional<std::string> fault_of_row(const std::vector<double>& rows, std::size_t i, const char* name) {
  if (!(std::isfinite(rows[i]) && rows[i] > 0.0)) {
    return std::string(name) + " must be above zero";
  }
  if (i > 0 && !(rows[i] > rows[i - 1])) {
    return std::string(name) + " " + shortest_decimal(rows[i]) + " is not above " +
           shortest_decimal(rows[i - 1]) + ", that of the row before";
  }
  return std::nullopt;
}

void require_sound(const LoadTable& t) {
  (void)si_of(0.0, t.pressure_measure, Dimension::pressure, "pressure");
  (void)si_of(0.0, t.load_measure, Dimension::mass, "load");
  if (const auto fault = first_fault(t)) {
    throw ColumnError("load table, row " + std::to_string(fault->row + 1) + ": " + fault->what);
  }
}

// ISO 4000-1 and UN R54, annex on load-capacity indices. The annex itself was not seen: public listings that
// agree, 100-160 in several, 161-180 in one lineage and in parts of others. data/loads/load_index.csv says
// how sure each is.
constexpr int first_index = 100;
constexpr std::array<std::int16_t, 81> index_loads_kg{
    800,  825,  850,  875,  900,  925,  950,  975,  1000, 1030,  // 100
    1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360,  // 110
    1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850,  // 120
    1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430,  // 130
    2500, 2575, 2650, 2725, 2800, 2900, 3000, 3075, 3150, 3250,  // 140
    3350, 3450, 3550, 3650, 3750, 3875, 4000, 4125, 4250, 4375,  // 150
    4500, 4625, 4750, 4875, 5000, 5150, 5300, 5450, 5600, 5800,  // 160
    6000, 6150, 6300, 6500, 6700, 6900, 7100, 7300, 7500, 7750,  // 170
    8000};

struct SpeedSymbol {
  char symbol;
  std::int16_t kmh;
};
// UN R54 and public listings, which agree. H stands between U and V.
constexpr std::array<SpeedSymbol, 21> speed_symbols{
    {{'B', 50},  {'C', 60},  {'D', 65},  {'E', 70},  {'F', 80},  {'G', 90},  {'J', 100},
     {'K', 110}, {'L', 120}, {'M', 130}, {'N', 140}, {'P', 150}, {'Q', 160}, {'R', 170},
     {'S', 180}, {'T', 190}, {'U', 200}, {'H', 210}, {'V', 240}, {'W', 270}, {'Y', 300}}};

}  // namespace

Load WrittenLoad::load() const { return Load::from_si(si_of(value, measure, Dimension::mass, "load")); }

GaugePressure WrittenPressure::pressure() const {
  return GaugePressure::from_si(si_of(value, measure, Dimension::pressure, "pressure"));
}

WrittenLoad tire_load(WrittenLoad on_axle, int tires) {
  (void)on_axle.load();  // refuses a measure of something else
  require_tires(tires);
  return {on_axle.value / tires, on_axle.measure};
}

WrittenLoad tire_load(WrittenLoad left_end, WrittenLoad right_end, int tires_per_end) {
  (void)left_end.load();
  (void)right_end.load();
  if (!std::isfinite(left_end.value) || !std::isfinite(right_end.value)) {
    return {nothing, left_end.measure};  // the heavier of the two is not known
  }
  const bool left = compare(left_end.value, left_end.measure, right_end.value, right_end.measure) >= 0;
  return tire_load(left ? left_end : right_end, tires_per_end);
}

TireMaximum in_dual_pair(const TireMaximum& single, double factor) {
  if (!(factor > 0.0 && factor <= 1.0)) {
    throw ColumnError("dual factor " + shortest_decimal(factor) + " is not above 0 and up to 1");
  }
  return {single.pressure, single.load * factor};
}

LoadAnswer load_by_power_law(GaugePressure pressure, const TireMaximum& maximum, double exponent) {
  require_maximum(maximum);
  require_exponent(exponent);
  if (!usable(pressure.si())) {
    return no_load(LoadStatus::no_value);
  }
  const double share = pressure.si() / maximum.pressure.si();
  if (is_over_maximum(share)) {
    return no_load(LoadStatus::over_the_maximum);
  }
  if (is_below_range(share)) {
    return no_load(LoadStatus::below_the_range);
  }
  return {maximum.load * std::pow(share, exponent), LoadStatus::found};
}

PressureAnswer pressure_by_power_law(Load load, const TireMaximum& maximum, double exponent) {
  require_maximum(maximum);
  require_exponent(exponent);
  if (!usable(load.si())) {
    return no_pressure(LoadStatus::no_value);
  }
  const double share = load / maximum.load;
  if (is_over_maximum(share)) {
    return no_pressure(LoadStatus::over_the_maximum);
  }
  const double pressure_share = std::pow(share, 1.0 / exponent);
  if (is_below_range(pressure_share)) {
    return no_pressure(LoadStatus::below_the_range);
  }
  return {GaugePressure::from_si(maximum.pressure.si() * pressure_share), LoadStatus::found};
}

GaugePressure up_to_next_5_psi(GaugePressure required, GaugePressure maximum) {
  constexpr double step = 5.0;
  const double steps = std::ceil(on_nine_places(required.in(psi) / step));
  return std::min(GaugePressure(steps * step * psi), maximum);
}

std::optional<TableFault> first_fault(const LoadTable& table) {
  require_same_size(table.pressure.size(), table.load.size(), "load");
  if (table.pressure.empty()) {
    return TableFault{0, "the table has no rows"};
  }
  for (std::size_t i = 0; i < table.pressure.size(); ++i) {
    if (auto what = fault_of_row(table.pressure, i, "pressure")) {
      return TableFault{i, *what};
    }
    if (auto what = fault_of_row(table.load, i, "load")) {
      return TableFault{i, *what};
    }
  }
  return std::nullopt;
}

RowChoice required_row(const LoadTable& table, WrittenLoad load) {
  require_sound(table);
  (void)load.load();
  return choose_row(table, load);
}

void required_rows(const LoadTable& table, std::span<const double> loads, Measure load_measure,
                   std::span<std::int32_t> rows, std::span<std::uint8_t> statuses) {
  require_sound(table);
  (void)si_of(0.0, load_measure, Dimension::mass, "load");
  require_same_size(loads.size(), rows.size(), "rows");
  require_same_size(loads.size(), statuses.size(), "statuses");
  for (std::size_t i = 0; i < loads.size(); ++i) {
    const RowChoice choice = choose_row(table, {loads[i], load_measure});
    rows[i] = choice.row;
    statuses[i] = static_cast<std::uint8_t>(choice.status);
  }
}

LoadAnswer load_in_table(const LoadTable& table, WrittenPressure pressure) {
  require_sound(table);
  const GaugePressure p = pressure.pressure();
  if (!usable(pressure.value)) {
    return no_load(LoadStatus::no_value);
  }
  const std::size_t row =
      first_row_at_least(table.pressure, table.pressure_measure, pressure.value, pressure.measure);
  if (row == table.pressure.size()) {
    return no_load(LoadStatus::over_the_table);
  }
  const double load_unit = factor(table.load_measure);
  if (compare(table.pressure[row], table.pressure_measure, pressure.value, pressure.measure) == 0) {
    return {Load::from_si(table.load[row] * load_unit), LoadStatus::found};
  }
  if (row == 0) {
    return no_load(LoadStatus::under_the_table);
  }
  const double share = p.si() / (table.pressure[row - 1] * factor(table.pressure_measure));
  return {Load::from_si(table.load[row - 1] * load_unit * std::pow(share, exponent_up_to(table, row))),
          LoadStatus::found};
}

PressureAnswer pressure_between_rows(const LoadTable& table, WrittenLoad load) {
  const RowChoice choice = required_row(table, load);
  if (choice.status != LoadStatus::found) {
    return no_pressure(choice.status);
  }
  const auto row = static_cast<std::size_t>(choice.row);
  const double pressure_unit = factor(table.pressure_measure);
  if (compare(table.load[row], table.load_measure, load.value, load.measure) == 0) {
    return {GaugePressure::from_si(table.pressure[row] * pressure_unit), LoadStatus::found};
  }
  if (row == 0) {
    return no_pressure(LoadStatus::under_the_table);
  }
  const double share = load.load().si() / (table.load[row - 1] * factor(table.load_measure));
  return {GaugePressure::from_si(table.pressure[row - 1] * pressure_unit *
                                 std::pow(share, 1.0 / exponent_up_to(table, row))),
          LoadStatus::found};
}

std::optional<Load> load_of_index(int index) {
  if (index < first_index || index >= first_index + static_cast<int>(index_loads_kg.size())) {
    return std::nullopt;
  }
  return Load::from_si(index_loads_kg[static_cast<std::size_t>(index - first_index)]);
}

std::optional<int> index_of_load(Load load, Load within) {
  const auto distance = [&](double kg) { return std::abs(kg - load.si()); };
  const auto* const nearest = std::min_element(index_loads_kg.begin(), index_loads_kg.end(),
                                               [&](double a, double b) { return distance(a) < distance(b); });
  if (!(distance(*nearest) <= within.si())) {
    return std::nullopt;
  }
  return first_index + static_cast<int>(nearest - index_loads_kg.begin());
}

std::optional<int> speed_of_symbol(char symbol) {
  for (const SpeedSymbol& s : speed_symbols) {
    if (s.symbol == symbol) {
      return s.kmh;
    }
  }
  return std::nullopt;
}

}  // namespace wheelend
