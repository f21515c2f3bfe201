#include "pybind.hpp"
#include "wheelend/error.hpp"
#include "wheelend/watch.hpp"

void bind_errors(py::module_& m) {
  const auto base = py::register_exception<wheelend::Error>(m, "Error", PyExc_ValueError);
  py::register_exception<wheelend::MeasureError>(m, "MeasureError", base);
  py::register_exception<wheelend::ColumnError>(m, "ColumnError", base);
  py::register_exception<wheelend::LimitError>(m, "LimitError", base);
  py::register_exception<wheelend::Stopped>(m, "Stopped", base);
}
