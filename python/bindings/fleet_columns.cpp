#include "fleet_columns.hpp"

namespace wheelend::bindings {

namespace {

void require_codes(std::span<const std::int8_t> codes, std::size_t n, const char* name) {
  for (const std::int8_t c : codes) {
    if (c >= static_cast<std::int8_t>(n)) {
      throw ColumnError(std::string(name) + ": code " + std::to_string(c) + " is beyond its table");
    }
  }
}

}  // namespace

void require_rows(std::size_t n, std::size_t given, const char* name) {
  if (given != 0) {
    require_same_size(n, given, name);
  }
}

ReadingColumns readings_of(const py::dict& d) {
  ReadingColumns r;
  r.position = column<std::int32_t>(d, "position");
  r.microsecond = column<std::int64_t>(d, "microsecond");
  r.day = column<std::int32_t>(d, "day");
  r.place = column<std::int32_t>(d, "place");
  if (d.contains("grooves")) {
    for (const py::handle groove : py::cast<py::list>(d["grooves"])) {
      r.grooves.push_back(number_column(groove, "grooves"));
    }
  }
  constexpr std::size_t most_grooves = 64;  // bits of the masks
  if (r.grooves.size() > most_grooves) {
    throw ColumnError("grooves: at most 64 groove columns, got " + std::to_string(r.grooves.size()));
  }
  r.barred = column<std::uint64_t>(d, "barred");
  r.inadmissible = column<std::uint64_t>(d, "inadmissible");
  r.across = column<std::int32_t>(d, "across");
  if (d.contains("across_sets")) {
    r.across_sets = py::cast<std::vector<std::vector<double>>>(d["across_sets"]);
  }
  for (const auto& set : r.across_sets) {
    require_same_size(r.grooves.size(), set.size(), "across_sets");
  }
  for (const std::int32_t set : r.across) {
    if (set >= static_cast<std::int32_t>(r.across_sets.size())) {
      throw ColumnError("across: a row names a set that is not there");
    }
  }
  r.pressure = number_column(d, "pressure");
  r.inflated_to = number_column(d, "inflated_to");
  r.warm.values = column<std::int8_t>(d, "warm");
  r.speed_last_hour = number_column(d, "speed_last_hour");
  r.odometer = number_column(d, "odometer");
  r.tire = column<std::int32_t>(d, "tire");
  r.event.values = column<std::int8_t>(d, "event");
  r.reader = column<std::int32_t>(d, "reader");
  r.conflict = column<std::uint8_t>(d, "conflict");
  const std::size_t n = r.size();
  require_same_size(n, r.microsecond.size(), "microsecond");
  require_same_size(n, r.day.size(), "day");
  require_rows(n, r.place.size(), "place");
  for (const NumberColumn& g : r.grooves) {
    require_same_size(n, g.values.size(), "grooves");
  }
  require_rows(n, r.barred.size(), "barred");
  require_rows(n, r.inadmissible.size(), "inadmissible");
  require_rows(n, r.across.size(), "across");
  require_rows(n, r.pressure.values.size(), "pressure");
  require_rows(n, r.inflated_to.values.size(), "inflated_to");
  require_rows(n, r.warm.values.size(), "warm");
  require_rows(n, r.speed_last_hour.values.size(), "speed_last_hour");
  require_rows(n, r.odometer.values.size(), "odometer");
  require_rows(n, r.tire.size(), "tire");
  require_rows(n, r.reader.size(), "reader");
  require_rows(n, r.event.values.size(), "event");
  require_rows(n, r.conflict.size(), "conflict");
  return r;
}

PositionColumns positions_of(const py::dict& d) {
  PositionColumns p;
  const auto kind = column<std::int8_t>(d, "kind");
  const auto role = column<std::int8_t>(d, "role");
  const auto axle = column<std::int32_t>(d, "axle");
  require_same_size(axle.size(), kind.size(), "kind");
  require_same_size(axle.size(), role.size(), "role");
  // Codes index tables of the core; below -1 they are missing as -1 is.
  require_codes(kind, unit_kind_names.size(), "kind");
  require_codes(role, axle_role_names.size(), "role");
  for (std::size_t i = 0; i < axle.size(); ++i) {
    p.facts.push_back({kind[i], role[i], axle[i]});
  }
  p.unit = column<std::int32_t>(d, "unit");
  p.side = column<std::int8_t>(d, "side");
  p.dual = column<std::int8_t>(d, "dual");
  p.group = column<std::int32_t>(d, "group");
  require_rows(axle.size(), p.group.size(), "group");
  p.combination = column<std::int32_t>(d, "combination");
  require_rows(axle.size(), p.combination.size(), "combination");
  require_rows(axle.size(), p.unit.size(), "unit");
  require_rows(axle.size(), p.side.size(), "side");
  require_rows(axle.size(), p.dual.size(), "dual");
  require_codes(p.side, side_names.size(), "side");
  require_codes(p.dual, dual_names.size(), "dual");
  p.axle_load = number_column(d, "axle_load");
  p.end_load = number_column(d, "end_load");
  require_rows(axle.size(), p.axle_load.values.size(), "axle_load");
  require_rows(axle.size(), p.end_load.values.size(), "end_load");
  p.target = number_column(d, "target");
  p.needed = number_column(d, "needed");
  p.pull = number_column(d, "pull");
  p.sidewall_max = number_column(d, "sidewall_max");
  p.rated_load = number_column(d, "rated_load");
  p.rated_load_dual = number_column(d, "rated_load_dual");
  p.retread.values = column<std::int8_t>(d, "retread");
  p.regrooved.values = column<std::int8_t>(d, "regrooved");
  require_rows(axle.size(), p.target.values.size(), "target");
  require_rows(axle.size(), p.needed.values.size(), "needed");
  require_rows(axle.size(), p.pull.values.size(), "pull");
  require_rows(axle.size(), p.sidewall_max.values.size(), "sidewall_max");
  require_rows(axle.size(), p.rated_load.values.size(), "rated_load");
  require_rows(axle.size(), p.rated_load_dual.values.size(), "rated_load_dual");
  require_rows(axle.size(), p.retread.values.size(), "retread");
  require_rows(axle.size(), p.regrooved.values.size(), "regrooved");
  return p;
}

TireColumns tires_of(const py::dict& d) {
  TireColumns t;
  t.sidewall_max = number_column(d, "sidewall_max");
  t.rated_load = number_column(d, "rated_load");
  t.rated_load_dual = number_column(d, "rated_load_dual");
  t.new_depth = number_column(d, "new");
  t.diameter = number_column(d, "diameter");
  t.circumference = number_column(d, "circumference");
  t.made_from = column<double>(d, "made_from");
  t.made_to = column<double>(d, "made_to");
  t.retreaded_from = column<double>(d, "retreaded_from");
  t.retreaded_to = column<double>(d, "retreaded_to");
  t.date_unusable.values = column<std::int8_t>(d, "date_unusable");
  t.retread.values = column<std::int8_t>(d, "retread");
  t.regrooved.values = column<std::int8_t>(d, "regrooved");
  return t;
}

void require_tires(const ReadingColumns& r, const TireColumns& t, std::size_t count) {
  for (const std::size_t n :
       {count, t.sidewall_max.values.size(), t.rated_load.values.size(), t.new_depth.values.size(),
        t.retread.values.size(), t.regrooved.values.size(), t.diameter.values.size(),
        t.circumference.values.size(), t.made_from.size(), t.made_to.size(), t.retreaded_from.size(),
        t.retreaded_to.size(), t.date_unusable.values.size(), t.rated_load_dual.values.size()}) {
    for (const std::int32_t tire : r.tire) {
      if (n != 0 && tire >= static_cast<std::int32_t>(n)) {
        throw ColumnError("tire: a reading names a tire that is not there");
      }
    }
  }
}

WheelendColumns wheelends_of(const py::dict& d, std::size_t positions) {
  WheelendColumns w;
  w.position = column<std::int32_t>(d, "position");
  w.axle = column<std::int32_t>(d, "axle");
  w.side = column<std::int8_t>(d, "side");
  w.dual = column<std::int8_t>(d, "dual");
  w.place = column<std::int32_t>(d, "place");
  w.microsecond = column<std::int64_t>(d, "microsecond");
  w.day = column<std::int32_t>(d, "day");
  w.quantity = column<std::int32_t>(d, "quantity");
  w.value = column<double>(d, "value");
  w.measure = column<std::uint8_t>(d, "measure");
  if (d.contains("long_texts")) {
    w.long_texts = py::cast<std::vector<std::pair<std::int64_t, std::string>>>(d["long_texts"]);
  }
  w.present.values = column<std::int8_t>(d, "present");
  w.start = number_column(d, "start");
  w.end = number_column(d, "end");
  w.before = number_column(d, "before");
  w.duration = number_column(d, "duration");
  w.combination = column<std::int32_t>(d, "combination");
  const std::size_t n = w.size();
  require_same_size(n, w.axle.size(), "axle");
  require_same_size(n, w.side.size(), "side");
  require_same_size(n, w.dual.size(), "dual");
  require_same_size(n, w.microsecond.size(), "microsecond");
  require_same_size(n, w.day.size(), "day");
  require_same_size(n, w.quantity.size(), "quantity");
  require_same_size(n, w.value.size(), "value");
  require_same_size(n, w.measure.size(), "measure");
  require_rows(n, w.place.size(), "place");
  require_rows(n, w.present.values.size(), "present");
  for (const NumberColumn* c : {&w.start, &w.end, &w.before, &w.duration}) {
    require_rows(n, c->values.size(), "start, end, before, duration");
  }
  require_rows(n, w.combination.size(), "combination");
  for (const std::int32_t p : w.position) {
    if (p < 0 || p >= static_cast<std::int32_t>(positions)) {
      throw ColumnError("position: a wheel-end reading names a position that is not there");
    }
  }
  for (const std::uint8_t m : w.measure) {
    if (m >= measure_table.size()) {
      throw ColumnError("measure: code " + std::to_string(m) + " is beyond its table");
    }
  }
  return w;
}

std::size_t tires_in(const py::dict& tires) {
  return tires.contains("count") ? py::cast<std::size_t>(tires["count"]) : 0;
}

std::span<const std::int32_t> units_of(const py::dict& positions, std::size_t units, std::size_t n) {
  const auto unit = column<std::int32_t>(positions, "unit");
  require_same_size(n, unit.size(), "unit");
  for (const std::int32_t u : unit) {
    if (u < 0 || u >= static_cast<std::int32_t>(units)) {
      throw ColumnError("unit: a position names a unit that is not there");
    }
  }
  return unit;
}

}  // namespace wheelend::bindings
