// Load and inflation: power law, load tables, load index, speed symbol. A written number is a pair (number,
// label); a maximum is (pressure, load); a table is ((pressures, label), (loads, label)).
#include <utility>

#include "columns.hpp"
#include "wheelend/load_inflation.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend::bindings {
namespace {

using Written = std::pair<double, std::string>;
using Maximum = std::pair<Written, Written>;
using Answer = std::pair<std::optional<double>, std::string_view>;

WrittenLoad load_of(const Written& a) { return {a.first, parse_measure(a.second)}; }
WrittenPressure pressure_of(const Written& a) { return {a.first, parse_measure(a.second)}; }

// A number across the border again: the roundings of the conversions are taken off.
double number_in(double si, Measure measure) { return on_nine_places(si / factor(measure)); }

Answer answer(double si, Measure measure, LoadStatus status) {
  return {status == LoadStatus::found ? std::optional(number_in(si, measure)) : std::nullopt,
          load_status_names[static_cast<std::size_t>(status)]};
}

std::vector<double> numbers(const NumberColumn& column) {
  return {column.values.begin(), column.values.end()};
}

LoadTable table_of(const py::tuple& table) {
  const NumberColumn pressure = number_column(py::handle(table[0]), "pressure");
  const NumberColumn load = number_column(py::handle(table[1]), "load");
  return {numbers(pressure), pressure.measure, numbers(load), load.measure};
}

TireMaximum maximum_of(const Maximum& maximum, double factor_of_single) {
  return in_dual_pair({pressure_of(maximum.first).pressure(), load_of(maximum.second).load()},
                      factor_of_single);
}

Answer by_power_law_load(const Written& pressure, const Maximum& maximum, double factor_of_single,
                         double exponent) {
  const LoadAnswer a =
      load_by_power_law(pressure_of(pressure).pressure(), maximum_of(maximum, factor_of_single), exponent);
  return answer(a.load.si(), parse_measure(maximum.second.second), a.status);
}

Answer by_power_law_pressure(const Written& load, const Maximum& maximum, double factor_of_single,
                             double exponent) {
  const PressureAnswer a =
      pressure_by_power_law(load_of(load).load(), maximum_of(maximum, factor_of_single), exponent);
  return answer(a.pressure.si(), parse_measure(maximum.first.second), a.status);
}

double rounded_up(const Written& required, const Written& maximum) {
  const WrittenPressure r = pressure_of(required);
  return number_in(up_to_next_5_psi(r.pressure(), pressure_of(maximum).pressure()).si(), r.measure);
}

std::optional<std::pair<std::size_t, std::string>> fault(const py::tuple& table) {
  const auto found = first_fault(table_of(table));
  return found ? std::optional(std::pair(found->row, found->what)) : std::nullopt;
}

py::tuple rows_of(const py::tuple& table, const py::tuple& loads) {
  const NumberColumn column = number_column(loads, "loads");
  std::vector<std::int32_t> rows(column.values.size());
  std::vector<std::uint8_t> statuses(column.values.size());
  required_rows(table_of(table), column.values, column.measure, rows, statuses);
  return py::make_tuple(array_of(rows), array_of(statuses));
}

Answer between_rows(const py::tuple& table, const Written& load) {
  const LoadTable rows = table_of(table);
  const PressureAnswer a = pressure_between_rows(rows, load_of(load));
  return answer(a.pressure.si(), rows.pressure_measure, a.status);
}

Answer load_at(const py::tuple& table, const Written& pressure) {
  const LoadTable rows = table_of(table);
  const LoadAnswer a = load_in_table(rows, pressure_of(pressure));
  return answer(a.load.si(), rows.load_measure, a.status);
}

Written of_heavier_end(const Written& left, const Written& right, int tires_per_end) {
  const WrittenLoad load = tire_load(load_of(left), load_of(right), tires_per_end);
  return {load.value, std::string(info(load.measure).label)};
}

std::optional<double> load_of_index_kg(int index) {
  const auto load = load_of_index(index);
  return load ? std::optional(load->in(kilograms)) : std::nullopt;
}

}  // namespace
}  // namespace wheelend::bindings

void bind_loads(py::module_& m) {
  using namespace wheelend;            // NOLINT(google-build-using-namespace): one function
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  m.attr("radial_truck_exponent") = radial_truck_exponent;
  m.attr("dual_factor") = dual_factor;
  m.def("load_statuses", [] { return py::cast<py::list>(py::cast(load_status_names)); });
  m.def(
      "tire_load", [](const Written& on_axle, int tires) { return tire_load(load_of(on_axle), tires).value; },
      py::arg("on_axle"), py::arg("tires"), "Load on one tire, in the measure of the axle load.");
  m.def("tire_load_of_ends", &of_heavier_end, py::arg("left"), py::arg("right"), py::arg("tires_per_end"),
        "Load on one tire of the heavier end, with its measure.");
  m.def("load_by_power_law", &by_power_law_load, py::arg("pressure"), py::arg("maximum"),
        py::arg("factor_of_single"), py::arg("exponent"),
        "(load in the measure of the maximum or None, status)");
  m.def("pressure_by_power_law", &by_power_law_pressure, py::arg("load"), py::arg("maximum"),
        py::arg("factor_of_single"), py::arg("exponent"),
        "(pressure in the measure of the maximum or None, status)");
  m.def("up_to_next_5_psi", &rounded_up, py::arg("required"), py::arg("maximum"),
        "In the measure of the required pressure.");
  m.def("load_table_fault", &fault, py::arg("table"), "(row from 0, reason), or None where it is sound.");
  m.def("required_rows", &rows_of, py::arg("table"), py::arg("loads"),
        "(rows of the table, codes of load_statuses); row -1: none.");
  m.def("pressure_between_rows", &between_rows, py::arg("table"), py::arg("load"),
        "(pressure in the measure of the table or None, status)");
  m.def("load_in_table", &load_at, py::arg("table"), py::arg("pressure"),
        "(load in the measure of the table or None, status)");
  m.def("load_of_index", &load_of_index_kg, py::arg("index"), "Load in kg, or None outside the table.");
  m.def(
      "index_of_load",
      [](const Written& load, const Written& within) {
        return index_of_load(load_of(load).load(), load_of(within).load());
      },
      py::arg("load"), py::arg("within"), "The index of a load that is off by no more, or None.");
  m.def("speed_of_symbol", &speed_of_symbol, py::arg("symbol"), "Speed in km/h, or None.");
}
