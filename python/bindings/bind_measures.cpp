// Measures, exact comparison, text cells, and the physics of pressure.
#include "columns.hpp"
#include "wheelend/dates.hpp"
#include "wheelend/exact.hpp"
#include "wheelend/pressure.hpp"
#include "wheelend/text_cells.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend::bindings {
namespace {

py::list measures() {
  py::list out;
  for (const MeasureInfo& row : measure_table) {
    py::dict d;
    d["label"] = row.label;
    d["words"] = row.words;
    d["metric"] = row.system == System::metric;
    d["dimension"] = dimension_names[static_cast<std::size_t>(row.dimension)];
    d["numerator"] = row.numerator;
    d["denominator"] = row.denominator;
    d["offset_numerator"] = row.offset_numerator;
    d["offset_denominator"] = row.offset_denominator;
    d["gauge_step"] = row.gauge_step;
    d["source"] = row.source;
    out.append(d);
  }
  return out;
}

py::array_t<double> convert_column(const py::object& values, const std::string& from, const std::string& to) {
  const std::span<const double> in = view<double>(values, "values");
  const Conversion conversion(parse_measure(from), parse_measure(to));
  py::array_t<double> out(static_cast<py::ssize_t>(in.size()));
  double* p = out.mutable_data();
  for (std::size_t i = 0; i < in.size(); ++i) {
    p[i] = conversion(in[i]);
  }
  return out;
}

int compare_written(const std::string& a, const std::string& a_measure, const std::string& b,
                    const std::string& b_measure) {
  const Measure ma = parse_measure(a_measure), mb = parse_measure(b_measure);
  (void)Conversion(ma, mb);  // refuses measures of different things
  const std::array left{Term::of(std::string_view(a)), Term::of(ma)};
  const std::array right{Term::of(std::string_view(b)), Term::of(mb)};
  const std::strong_ordering order = compare_products(left, right);
  return order < 0 ? -1 : (order > 0 ? 1 : 0);
}

char one_char(const std::string& s) {
  if (s.size() > 1) {
    throw ColumnError("a decimal or thousands mark is one character, got '" + s + "'");
  }
  return s.empty() ? '\0' : s[0];
}

py::tuple parse_number_cells(const py::object& offsets, const py::object& data, const py::object& valid,
                             const std::string& decimal, const std::string& thousands) {
  const TextColumn cells = text_column(offsets, data, valid);
  const NumberStyle style{one_char(decimal), one_char(thousands)};
  const auto n = static_cast<py::ssize_t>(cells.size());
  py::array_t<double> values(n);
  py::array_t<std::uint8_t> statuses(n);
  const std::span<double> v(values.mutable_data(), cells.size());
  const std::span<std::uint8_t> s(statuses.mutable_data(), cells.size());
  {
    const py::gil_scoped_release free;
    parse_numbers(cells, style, v, s);
  }
  return py::make_tuple(values, statuses);
}

py::tuple parse_date_cells(const py::object& offsets, const py::object& data, const py::object& valid,
                           const std::string& order) {
  const TextColumn cells = text_column(offsets, data, valid);
  if (order != "iso" && order != "mdy" && order != "dmy") {
    throw ColumnError("order: expected iso, mdy or dmy, got '" + order + "'");
  }
  const DateOrder o = order == "mdy"   ? DateOrder::month_day_year
                      : order == "dmy" ? DateOrder::day_month_year
                                       : DateOrder::year_month_day;
  const auto n = static_cast<py::ssize_t>(cells.size());
  py::array_t<std::int32_t> days(n);
  py::array_t<std::int64_t> micros(n);
  py::array_t<std::uint8_t> statuses(n);
  const std::span<std::int32_t> d(days.mutable_data(), cells.size());
  const std::span<std::int64_t> u(micros.mutable_data(), cells.size());
  const std::span<std::uint8_t> s(statuses.mutable_data(), cells.size());
  {
    const py::gil_scoped_release free;
    parse_dates(cells, o, d, u, s);
  }
  return py::make_tuple(days, micros, statuses);
}

double at_reference_psi(double psi, double degf, double reference_degf, double atmosphere_pa,
                        double reference_atmosphere_pa, double volume_ratio) {
  return at_reference(GaugePressure::from_si(psi * factor(Measure::psi)),
                      AbsolutePressure::from_si(atmosphere_pa), temperature(degf, Measure::degree_fahrenheit),
                      temperature(reference_degf, Measure::degree_fahrenheit),
                      AbsolutePressure::from_si(reference_atmosphere_pa), volume_ratio)
             .si() /
         factor(Measure::psi);
}

}  // namespace
}  // namespace wheelend::bindings

void bind_measures(py::module_& m) {
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  m.def("measures", &measures,
        "Rows of the factor table: label, dimension, exact ratio and offset to SI, source.");
  m.def("convert", &convert_column, py::arg("values"), py::arg("from_measure"), py::arg("to_measure"),
        "Column in another measure of the same dimension; NaN stays NaN.");
  m.def("compare", &compare_written, py::arg("a"), py::arg("a_measure"), py::arg("b"), py::arg("b_measure"),
        "-1, 0 or 1: two written decimals compared as exact rationals.");
  m.def("parse_numbers", &parse_number_cells, py::arg("offsets"), py::arg("data"), py::arg("valid"),
        py::arg("decimal"), py::arg("thousands"), "Text cells as (values, statuses).");
  m.def("parse_dates", &parse_date_cells, py::arg("offsets"), py::arg("data"), py::arg("valid"),
        py::arg("order"), "Text cells as (days, microseconds, statuses).");
  m.def(
      "standard_pressure_pa",
      [](double metres) { return wheelend::standard_pressure(wheelend::Altitude::from_si(metres)).si(); },
      py::arg("geopotential_m"), "Pressure of the standard atmosphere, ISO 2533.");
  m.def(
      "geopotential_m",
      [](double metres) { return wheelend::geopotential_altitude(wheelend::Altitude::from_si(metres)).si(); },
      py::arg("geometric_m"));
  m.def("at_reference_psi", &at_reference_psi, py::arg("psi"), py::arg("degf"), py::arg("reference_degf"),
        py::arg("atmosphere_pa"), py::arg("reference_atmosphere_pa"), py::arg("volume_ratio") = 1.0,
        "Gauge pressure at a reference temperature, gas law on absolute pressures.");
}
