// Readings of a unit as levels on its visits: one temperature, one atmosphere, absolute pressures.
#pragma once

#include <vector>

#include "leak_unit.hpp"
#include "wheelend/cold_pressures.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend {

class LevelReader {
 public:
  LevelReader(const ReadingColumns& readings, const ColdColumns& conditions,
              const PositionColumns& positions);
  // All of a unit up to a day; `positions` are its places.
  void unit(const RowsByPosition& rows, const std::vector<std::int32_t>& positions, std::int32_t as_of,
            UnitAir& out) const;

 private:
  [[nodiscard]] static double kelvin(const NumberColumn& of, const Conversion& to, std::size_t row);
  [[nodiscard]] double air(std::size_t row) const;
  [[nodiscard]] AirReading reading(std::size_t row, std::int32_t place, double target) const;
  static double level(double gauge, double air, double gas);

  const ReadingColumns& r_;
  const ColdColumns& c_;
  const PositionColumns& p_;
  const Conversion tire_kelvin_, air_kelvin_, metres_;
};

}  // namespace wheelend
