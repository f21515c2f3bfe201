// Strict views of NumPy arrays, and vectors handed back as arrays. The only user of NumPy.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "pybind.hpp"
#include "wheelend/error.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/text_cells.hpp"

namespace wheelend::bindings {

// A one-dimensional C-contiguous array of exactly T, seen without a copy. A silent cast would cut floats to
// integers and turn None into NaN, so the wrong type is refused by name.
template <class T>
std::span<const T> view(const py::handle& object, const char* name) {
  if (!py::isinstance<py::array>(object)) {
    throw ColumnError(std::string(name) + ": expected a NumPy array");
  }
  const auto array = py::reinterpret_borrow<py::array>(object);
  if (!array.dtype().equal(py::dtype::of<T>())) {
    throw ColumnError(std::string(name) + ": expected dtype " + std::string(py::str(py::dtype::of<T>())) +
                      ", got " + std::string(py::str(array.dtype())));
  }
  if (array.ndim() != 1 || (array.size() > 1 && array.strides(0) != static_cast<py::ssize_t>(sizeof(T)))) {
    throw ColumnError(std::string(name) + ": expected one dimension without gaps");
  }
  return {static_cast<const T*>(array.data()), static_cast<std::size_t>(array.size())};
}

// The entry of a dict, or an empty view where it is missing or None.
template <class T>
std::span<const T> column(const py::dict& columns, const char* name) {
  if (!columns.contains(name) || columns[name].is_none()) {
    return {};
  }
  return view<T>(columns[name], name);
}

// (values, label) or (values, label, [(row, text), ...])
inline NumberColumn number_column(const py::handle& object, const char* name) {
  const auto parts = py::cast<py::tuple>(object);
  NumberColumn out;
  out.values = view<double>(parts[0], name);
  out.measure = parse_measure(py::cast<std::string>(parts[1]));
  if (parts.size() > 2) {
    out.long_texts = py::cast<std::vector<std::pair<std::int64_t, std::string>>>(parts[2]);
  }
  return out;
}

inline NumberColumn number_column(const py::dict& columns, const char* name) {
  if (!columns.contains(name) || columns[name].is_none()) {
    return {};
  }
  return number_column(py::handle(columns[name]), name);
}

// A column of text as Arrow lays it out: offsets, bytes, and which cells are valid (or None).
inline TextColumn text_column(const py::object& offsets, const py::object& data, const py::object& valid) {
  TextColumn cells{view<std::int64_t>(offsets, "offsets"), nullptr, {}};
  const std::span<const std::uint8_t> bytes = view<std::uint8_t>(data, "data");
  cells.data = reinterpret_cast<const char*>(bytes.data());
  if (!valid.is_none()) {
    cells.valid = view<std::uint8_t>(valid, "valid");
    require_same_size(cells.size(), cells.valid.size(), "valid");
  }
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (cells.offsets[i] < 0 || cells.offsets[i + 1] < cells.offsets[i]) {
      throw ColumnError("offsets: must not decrease");
    }
  }
  if (cells.size() > 0 && cells.offsets[cells.size()] > static_cast<std::int64_t>(bytes.size())) {
    throw ColumnError("offsets: run beyond the data");
  }
  return cells;
}

template <class T>
py::array_t<T> array_of(const std::vector<T>& values) {
  return py::array_t<T>(static_cast<py::ssize_t>(values.size()), values.data());
}

}  // namespace wheelend::bindings
