#include "pybind.hpp"

PYBIND11_MODULE(_core, m) {
  m.doc() = "Compiled core of wheelend; use the functions of the package wheelend instead.";
  m.attr("__version__") = WHEELEND_VERSION;
  bind_errors(m);
  bind_measures(m);
  bind_readings(m);
  bind_lines(m);
  bind_dates(m);
  bind_loads(m);
  bind_studies(m);
  bind_wear(m);
  bind_demand(m);
  bind_wheelends(m);
  bind_leaks(m);
}
