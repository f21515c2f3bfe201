#include "pybind.hpp"
#include "wheelend/error.hpp"

void bind_errors(py::module_& m) {
  const auto base = py::register_exception<wheelend::Error>(m, "Error", PyExc_ValueError);
  py::register_exception<wheelend::MeasureError>(m, "MeasureError", base);
  py::register_exception<wheelend::ColumnError>(m, "ColumnError", base);
  py::register_exception<wheelend::LimitError>(m, "LimitError", base);
}
