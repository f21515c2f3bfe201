// Readings written row by row, as a person reads them, turned into the columns that the core takes; facts of
// the places they were read at; and the federal rows of the limit set, typed from their clauses.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <limits>
#include <optional>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "wheelend/dates.hpp"
#include "wheelend/facts.hpp"
#include "wheelend/inspections.hpp"
#include "wheelend/limits.hpp"

namespace wheelend::test {

inline constexpr double missing = std::numeric_limits<double>::quiet_NaN();
inline constexpr std::uint64_t all_grooves = ~std::uint64_t{0};

struct Row {
  std::int32_t position = 0;
  std::int32_t day = 0;
  std::vector<double> tread = {};  // outer to inner
  double pressure = missing;
  double odometer = missing;
  std::int32_t place = -1;
  std::int32_t tire = -1;
  Event event = Event::none;
  std::int8_t warm = -1;
  double speed = missing;
  std::uint64_t barred = all_grooves;
  std::uint64_t inadmissible = 0;
  double hour = 0.0;
  std::int32_t across = -1;  // set of Table::across_sets
  std::int32_t reader = -1;
};

struct Measures {
  Measure tread = Measure::thirty_seconds;
  Measure pressure = Measure::psi;
  Measure odometer = Measure::mile;
  Measure speed = Measure::mile_per_hour;
};

// Owns the cells that `columns` looks at, so it can be moved and not copied.
class Table {
 public:
  explicit Table(const std::vector<Row>& rows, Measures measures = {}) {
    std::size_t grooves = 0;
    for (const Row& row : rows) {
      grooves = std::max(grooves, row.tread.size());
    }
    tread_.resize(grooves);
    for (const Row& row : rows) {
      position_.push_back(row.position);
      day_.push_back(row.day);
      microsecond_.push_back(row.day * microseconds_per_day + static_cast<std::int64_t>(row.hour * 3600.0e6));
      place_.push_back(row.place);
      tire_.push_back(row.tire);
      event_.push_back(static_cast<std::int8_t>(row.event));
      warm_.push_back(row.warm);
      speed_.push_back(row.speed);
      barred_.push_back(row.barred);
      inadmissible_.push_back(row.inadmissible);
      across_.push_back(row.across);
      reader_.push_back(row.reader);
      pressure_.push_back(row.pressure);
      odometer_.push_back(row.odometer);
      for (std::size_t g = 0; g < grooves; ++g) {
        tread_[g].push_back(g < row.tread.size() ? row.tread[g] : missing);
      }
    }
    columns.position = position_;
    columns.day = day_;
    columns.microsecond = microsecond_;
    columns.place = place_;
    columns.tire = tire_;
    columns.event.values = event_;
    columns.warm.values = warm_;
    columns.speed_last_hour = {.values = speed_, .measure = measures.speed};
    columns.barred = barred_;
    columns.inadmissible = inadmissible_;
    columns.across = across_;
    columns.reader = reader_;
    columns.pressure = {.values = pressure_, .measure = measures.pressure};
    columns.odometer = {.values = odometer_, .measure = measures.odometer};
    for (const auto& groove : tread_) {
      columns.grooves.push_back({.values = groove, .measure = measures.tread});
    }
  }
  explicit Table(const Row& row, Measures measures = {}) : Table(std::vector<Row>{row}, measures) {}
  Table(Table&&) = default;
  Table(const Table&) = delete;
  Table& operator=(const Table&) = delete;
  Table& operator=(Table&&) = delete;
  ~Table() = default;

  // As intake does: what find_repeats sees becomes the conflict column.
  void mark_conflicts(std::size_t positions) {
    conflict_ = find_repeats(columns, positions).conflict;
    columns.conflict = conflict_;
  }

  ReadingColumns columns;

 private:
  std::vector<std::int32_t> position_, day_, place_, tire_, across_, reader_;
  std::vector<std::int64_t> microsecond_;
  std::vector<std::int8_t> event_, warm_;
  std::vector<std::uint64_t> barred_, inadmissible_;
  std::vector<double> speed_, pressure_, odometer_;
  std::vector<std::vector<double>> tread_;
  std::vector<std::uint8_t> conflict_;
};

// The same rows in an order that depends on the seed alone.
template <class T>
std::vector<T> shuffled(std::vector<T> rows, unsigned seed) {
  std::mt19937 next(seed);
  for (std::size_t i = rows.size(); i > 1; --i) {
    std::swap(rows[i - 1], rows[next() % i]);
  }
  return rows;
}

constexpr PositionFacts facts(UnitKind kind, AxleRole role, std::int32_t axle) {
  return {static_cast<std::int8_t>(kind), static_cast<std::int8_t>(role), axle};
}
inline constexpr PositionFacts tractor_steer = facts(UnitKind::tractor, AxleRole::steer, 1);
inline constexpr PositionFacts tractor_drive = facts(UnitKind::tractor, AxleRole::drive, 2);
inline constexpr PositionFacts truck_steer = facts(UnitKind::truck, AxleRole::steer, 1);
inline constexpr PositionFacts bus_front = facts(UnitKind::bus, AxleRole::steer, 1);
inline constexpr PositionFacts bus_rear = facts(UnitKind::bus, AxleRole::drive, 2);
inline constexpr PositionFacts trailer_front = facts(UnitKind::trailer, AxleRole::trailer, 1);
inline constexpr PositionFacts dolly_front = facts(UnitKind::dolly, AxleRole::dolly, 1);

// Facts by number. Owns the cells that `list` looks at.
class FactList {
 public:
  FactList() = default;
  FactList(FactList&&) = default;
  FactList(const FactList&) = delete;
  FactList& operator=(const FactList&) = delete;
  FactList& operator=(FactList&&) = default;
  ~FactList() = default;

  // Cells of one fact, by the table that gives them; empty: the table does not.
  template <class T>
  struct Cells {
    std::vector<T> row = {}, tire = {}, position = {};
  };

  std::int32_t add_codes(Level level, const Cells<std::int32_t>& cells, std::int32_t otherwise = -1) {
    list.push_back({.level = level,
                    .is_code = true,
                    .of_row = {.codes = keep(cells.row)},
                    .of_tire = {.codes = keep(cells.tire)},
                    .of_position = {.codes = keep(cells.position)},
                    .otherwise = otherwise});
    return static_cast<std::int32_t>(list.size()) - 1;
  }
  std::int32_t add_numbers(Level level, const Cells<double>& cells, Measure measure) {
    const auto column = [&](const std::vector<double>& values) {
      return FactColumn{.numbers = {.values = keep(values), .measure = measure}};
    };
    return add(level, column(cells.row), column(cells.tire), column(cells.position));
  }
  // Numbers that live elsewhere.
  std::int32_t add(Level level, const FactColumn& of_row, const FactColumn& of_tire,
                   const FactColumn& of_position) {
    list.push_back({.level = level, .of_row = of_row, .of_tire = of_tire, .of_position = of_position});
    return static_cast<std::int32_t>(list.size()) - 1;
  }

  Facts list;

 private:
  std::span<const std::int32_t> keep(const std::vector<std::int32_t>& cells) {
    return codes_.emplace_back(cells);
  }
  std::span<const double> keep(const std::vector<double>& cells) { return numbers_.emplace_back(cells); }

  std::deque<std::vector<std::int32_t>> codes_;
  std::deque<std::vector<double>> numbers_;
};

// Facts of facts_of(), by name.
enum FactOf : std::int32_t {
  of_kind,
  of_role,
  of_axle,
  of_dual,
  of_needed,
  of_target,
  of_sidewall,
  of_rated
};

// What the federal rows ask for, from the columns of positions and tires. Those must outlive it.
inline FactList facts_of(const PositionColumns& positions, const TireColumns& tires = {}) {
  FactList out;
  FactList::Cells<std::int32_t> kinds, roles, duals;
  FactList::Cells<double> axles;
  for (const PositionFacts& p : positions.facts) {
    kinds.position.push_back(p.kind);
    roles.position.push_back(p.role);
    axles.position.push_back(p.axle);
  }
  duals.position.assign(positions.dual.begin(), positions.dual.end());
  out.add_codes(Level::unit, kinds);
  out.add_codes(Level::axle, roles);
  out.add_numbers(Level::axle, axles, Measure::count);
  out.add_codes(Level::wheel, duals);
  out.add(Level::wheel, {}, {}, {.numbers = positions.needed});
  out.add(Level::wheel, {}, {}, {.numbers = positions.target});
  out.add(Level::wheel, {}, {.numbers = tires.sidewall_max}, {.numbers = positions.sidewall_max});
  out.add(Level::wheel, {}, {.numbers = tires.rated_load}, {.numbers = positions.rated_load});
  return out;
}

// A bound, or a share of a fact, or so much above one.
inline Amount amount(const std::string& number, Measure measure,
                     const std::vector<std::int32_t>& bases = {}) {
  Amount out;
  out.bound.text = number;
  out.bound.measure = measure;
  out.bases = bases;
  return out;
}

// ---- conditions

inline Condition is(std::int32_t fact, std::vector<std::int32_t> codes) {
  return {.fact = fact, .codes = std::move(codes)};
}
inline Condition is_not(std::int32_t fact, std::vector<std::int32_t> codes) {
  return {.fact = fact, .relation = Relation::none_of, .codes = std::move(codes)};
}
inline Condition number(std::int32_t fact, Relation relation, std::string bound, Measure measure) {
  return {.fact = fact, .relation = relation, .bounds = {{std::move(bound), measure}}};
}
inline Condition or_not_stated(Condition c) {
  c.or_not_stated = true;
  return c;
}
template <class... Kinds>
Condition of_kinds(Kinds... kinds) {
  return is(of_kind, {static_cast<std::int32_t>(kinds)...});
}
inline Condition power_unit() { return of_kinds(UnitKind::truck, UnitKind::tractor, UnitKind::bus); }
inline Condition first_axle() { return number(of_axle, Relation::any_of, "1", Measure::count); }
inline Condition steers() { return is(of_role, {static_cast<std::int32_t>(AxleRole::steer)}); }

// Rows of federal_rows(), by name.
enum FederalRow : std::int32_t {
  us_t_02,
  us_t_03,
  us_t_06,
  us_t_07,
  us_t_11,
  us_a_01,
  us_a_02,
  du_13,
  os_t_01,
  os_t_02,
  os_t_03
};

inline std::vector<LimitRow> federal_rows() {
  const Amount two{{"2", Measure::thirty_seconds}}, four{{"4", Measure::thirty_seconds}};
  const Amount pounds{{"4920", Measure::pound}}, none{{"", Measure::yes_no}};
  const std::optional<Bound> kilograms{{"2232", Measure::kilogram}};
  const std::vector<Condition> front{power_unit(), first_axle()}, steering{power_unit(), steers()};
  const auto percent = [](const char* share, const std::vector<std::int32_t>& of) {
    return amount(share, Measure::percent, of);
  };
  std::vector<LimitRow> rows(static_cast<std::size_t>(os_t_03) + 1);
  const auto set = [&rows](FederalRow which, LimitRow row) {
    rows[static_cast<std::size_t>(which)] = std::move(row);
  };
  // 49 CFR 393.75(b): front wheels of a bus, truck or truck tractor
  set(us_t_02, {.id = "US-T-02", .where = front, .amount = four});
  // 49 CFR 393.75(c): all other tires
  set(us_t_03, {.id = "US-T-03", .except = {us_t_02}, .amount = two});
  // 49 CFR 393.75(d): no regrooved, recapped or retreaded tire on the front wheels of a bus
  set(us_t_06, {.id = "US-T-06",
                .statistic = Statistic::retread_or_regrooved,
                .where = {of_kinds(UnitKind::bus), first_axle()},
                .sense = Sense::absent,
                .amount = none});
  // 49 CFR 393.75(e): regrooved with a capacity of 2,232 kg (4,920 lb, from memory) or more is banned
  set(us_t_07, {.id = "US-T-07",
                .statistic = Statistic::regrooved_capacity,
                .where = {of_kinds(UnitKind::truck, UnitKind::tractor), first_axle()},
                .sense = Sense::less_than,
                .amount = pounds,
                .twin = kilograms,
                .fact = of_rated});
  // 49 CFR 393.75(i)(1): cold pressure specified for the load carried; the fleet's target stands in for it
  set(us_t_11, {.id = "US-T-11",
                .statistic = Statistic::cold_pressure,
                .amount = percent("100", {of_needed, of_target})});
  // 49 CFR 396 Appendix A, item 10(a), (b)
  set(us_a_01, {.id = "US-A-01", .where = steering, .amount = four});
  set(us_a_02, {.id = "US-A-02", .except = {us_a_01}, .amount = two});
  // 29 CFR 1910.177(f): at 80 % or less, demount
  set(du_13, {.id = "DU-13",
              .statistic = Statistic::cold_pressure,
              .sense = Sense::more_than,
              .amount = percent("80", {of_target})});
  // Out-of-service criteria, as the trade press reports them
  set(os_t_01, {.id = "OS-T-01",
                .statistic = Statistic::adjacent_pair,
                .where = front,
                .severity = Severity::out_of_service,
                .amount = two});
  set(os_t_02, {.id = "OS-T-02",
                .statistic = Statistic::adjacent_pair_three_places,
                .except = {os_t_01},
                .severity = Severity::out_of_service,
                .amount = {{"1", Measure::thirty_seconds}}});
  set(os_t_03, {.id = "OS-T-03",
                .statistic = Statistic::pressure_as_found,
                .sense = Sense::more_than,
                .severity = Severity::out_of_service,
                .amount = percent("50", {of_sidewall})});
  return rows;
}

}  // namespace wheelend::test
