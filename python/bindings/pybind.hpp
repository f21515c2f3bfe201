// The only includes of pybind11, for all binding files.
#pragma once

#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

namespace py = pybind11;

void bind_errors(py::module_& m);
void bind_measures(py::module_& m);
void bind_readings(py::module_& m);
void bind_leaks(py::module_& m);
void bind_lines(py::module_& m);
void bind_dates(py::module_& m);
void bind_loads(py::module_& m);
void bind_studies(py::module_& m);
void bind_wear(py::module_& m);
void bind_demand(py::module_& m);
void bind_wheelends(py::module_& m);
