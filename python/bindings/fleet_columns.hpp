// Dicts of arrays as the columns of a fleet that the core reads: readings, positions, tires, wheel-end
// readings.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "columns.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/wheelends.hpp"

namespace wheelend::bindings {

// Of a name table of the core: all of it, and the entry of one name.
template <std::size_t N>
py::list names(const std::array<std::string_view, N>& table) {
  py::list out;
  for (const std::string_view name : table) {
    out.append(name);
  }
  return out;
}

template <class Enum, std::size_t N>
Enum code(const std::array<std::string_view, N>& table, const std::string& name, const char* what) {
  for (std::size_t i = 0; i < N; ++i) {
    if (table[i] == name) {
      return static_cast<Enum>(i);
    }
  }
  std::string known;
  for (const std::string_view t : table) {
    known += (known.empty() ? "" : ", ") + ("'" + std::string(t) + "'");
  }
  throw LimitError(std::string(what) + " '" + name + "' is not one of " + known);
}

void require_rows(std::size_t n, std::size_t given, const char* name);

ReadingColumns readings_of(const py::dict& d);
PositionColumns positions_of(const py::dict& d);
TireColumns tires_of(const py::dict& d);
std::size_t tires_in(const py::dict& tires);
// Tire numbers index the tires table; a number beyond it would read outside the columns.
void require_tires(const ReadingColumns& r, const TireColumns& t, std::size_t count);
WheelendColumns wheelends_of(const py::dict& d, std::size_t positions);
// Unit of each of n positions, each below `units`.
std::span<const std::int32_t> units_of(const py::dict& positions, std::size_t units, std::size_t n);

}  // namespace wheelend::bindings
