// Units with their axles, and wheel-end readings written row by row, as columns.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "fleet.hpp"
#include "wheelend/wheelends.hpp"

namespace wheelend::test {

constexpr std::int8_t code(Side s) { return static_cast<std::int8_t>(s); }
constexpr std::int8_t code(Dual d) { return static_cast<std::int8_t>(d); }
inline constexpr std::int8_t left = code(Side::left), right = code(Side::right);

struct AxleMade {
  AxleRole role = AxleRole::drive;
  bool dual = false;
};

// Positions of units in the order in which they are added: each axle left to right, outer before inner.
class Units {
 public:
  std::int32_t add(UnitKind kind, const std::vector<AxleMade>& axles) {
    std::int32_t number = 0;
    for (const AxleMade& axle : axles) {
      ++number;
      for (const std::int8_t side : {left, right}) {
        for (const Dual dual :
             axle.dual ? std::vector{Dual::outer, Dual::inner} : std::vector{Dual::single}) {
          columns_.facts.push_back(facts(kind, axle.role, number));
          unit_.push_back(units_);
          side_.push_back(side);
          dual_.push_back(code(dual));
        }
      }
    }
    return units_++;
  }
  // The columns, with room for what a test adds.
  [[nodiscard]] PositionColumns columns() const {
    PositionColumns out = columns_;
    out.unit = unit_;
    out.side = side_;
    out.dual = dual_;
    return out;
  }
  // The first position at a place.
  [[nodiscard]] std::int32_t at(std::int32_t unit, std::int32_t axle, std::int8_t side) const {
    for (std::size_t p = 0; p < unit_.size(); ++p) {
      if (unit_[p] == unit && columns_.facts[p].axle == axle && side_[p] == side) {
        return static_cast<std::int32_t>(p);
      }
    }
    return -1;
  }

 private:
  PositionColumns columns_;
  std::vector<std::int32_t> unit_;
  std::vector<std::int8_t> side_, dual_;
  std::int32_t units_ = 0;
};

struct WheelendRow {
  std::int32_t position = 0;
  double value = missing;
  std::int32_t axle = 1;
  std::int8_t side = left;
  std::int8_t dual = -1;
  std::int32_t place = -1;
  std::int32_t day = 0;
  double hour = 0.0;
  std::int32_t quantity = 0;
  Measure measure = Measure::inch;
  std::int8_t present = -1;
  double start = missing, end = missing, before = missing, duration = missing;
  std::int32_t combination = -1;
};

// Owns the cells that `columns` looks at, so it can be moved and not copied.
class WheelendTable {
 public:
  explicit WheelendTable(const std::vector<WheelendRow>& rows, Measure pressure = Measure::psi,
                         Measure duration = Measure::second) {
    for (const WheelendRow& row : rows) {
      position_.push_back(row.position);
      axle_.push_back(row.axle);
      side_.push_back(row.side);
      dual_.push_back(row.dual);
      place_.push_back(row.place);
      day_.push_back(row.day);
      microsecond_.push_back(row.day * microseconds_per_day + static_cast<std::int64_t>(row.hour * 3600.0e6));
      quantity_.push_back(row.quantity);
      value_.push_back(row.value);
      measure_.push_back(static_cast<std::uint8_t>(row.measure));
      present_.push_back(row.present);
      start_.push_back(row.start);
      end_.push_back(row.end);
      before_.push_back(row.before);
      duration_.push_back(row.duration);
      combination_.push_back(row.combination);
    }
    columns.position = position_;
    columns.axle = axle_;
    columns.side = side_;
    columns.dual = dual_;
    columns.place = place_;
    columns.day = day_;
    columns.microsecond = microsecond_;
    columns.quantity = quantity_;
    columns.value = value_;
    columns.measure = measure_;
    columns.present.values = present_;
    columns.start = {.values = start_, .measure = pressure};
    columns.end = {.values = end_, .measure = pressure};
    columns.before = {.values = before_, .measure = pressure};
    columns.duration = {.values = duration_, .measure = duration};
    columns.combination = combination_;
  }
  WheelendTable(WheelendTable&&) = default;
  WheelendTable(const WheelendTable&) = delete;
  WheelendTable& operator=(const WheelendTable&) = delete;
  WheelendTable& operator=(WheelendTable&&) = delete;
  ~WheelendTable() = default;

  WheelendColumns columns;

 private:
  std::vector<std::int32_t> position_, axle_, place_, day_, quantity_, combination_;
  std::vector<std::int64_t> microsecond_;
  std::vector<std::int8_t> side_, dual_, present_;
  std::vector<std::uint8_t> measure_;
  std::vector<double> value_, start_, end_, before_, duration_;
};

}  // namespace wheelend::test
