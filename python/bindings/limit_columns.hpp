// Facts and limit rows, put together in Python, as the core reads them.
#pragma once

#include <cstddef>
#include <vector>

#include "pybind.hpp"
#include "wheelend/facts.hpp"
#include "wheelend/limits.hpp"

namespace wheelend::bindings {

// `rows`, `tires`, `positions`: entries of the columns of wheel-end readings, tires and positions.
Facts facts_of(const py::list& facts, std::size_t rows, std::size_t tires, std::size_t positions);
// `facts`: how many there are; whatever a row names must be there.
std::vector<LimitRow> limits_of(const py::list& rows, std::size_t facts);

}  // namespace wheelend::bindings
