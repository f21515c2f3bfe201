// Verdicts, cold pressures, odometers and wear over columns of readings.
#include "columns.hpp"
#include "wheelend/cold_pressures.hpp"
#include "wheelend/use.hpp"
#include "wheelend/verdict.hpp"
#include "wheelend/wear.hpp"

namespace wheelend::bindings {
namespace {

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

void require_rows(std::size_t n, std::size_t given, const char* name) {
  if (given != 0) {
    require_same_size(n, given, name);
  }
}

void require_codes(std::span<const std::int8_t> codes, std::size_t n, const char* name) {
  for (const std::int8_t c : codes) {
    if (c >= static_cast<std::int8_t>(n)) {
      throw ColumnError(std::string(name) + ": code " + std::to_string(c) + " is beyond its table");
    }
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
  r.pressure = number_column(d, "pressure");
  r.inflated_to = number_column(d, "inflated_to");
  r.warm.values = column<std::int8_t>(d, "warm");
  r.speed_last_hour = number_column(d, "speed_last_hour");
  r.odometer = number_column(d, "odometer");
  r.tire = column<std::int32_t>(d, "tire");
  r.event.values = column<std::int8_t>(d, "event");
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
  require_rows(n, r.pressure.values.size(), "pressure");
  require_rows(n, r.inflated_to.values.size(), "inflated_to");
  require_rows(n, r.warm.values.size(), "warm");
  require_rows(n, r.speed_last_hour.values.size(), "speed_last_hour");
  require_rows(n, r.odometer.values.size(), "odometer");
  require_rows(n, r.tire.size(), "tire");
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
  p.target = number_column(d, "target");
  p.needed = number_column(d, "needed");
  p.pull = number_column(d, "pull");
  p.sidewall_max = number_column(d, "sidewall_max");
  p.rated_load = number_column(d, "rated_load");
  p.retread.values = column<std::int8_t>(d, "retread");
  p.regrooved.values = column<std::int8_t>(d, "regrooved");
  require_rows(axle.size(), p.target.values.size(), "target");
  require_rows(axle.size(), p.needed.values.size(), "needed");
  require_rows(axle.size(), p.pull.values.size(), "pull");
  require_rows(axle.size(), p.sidewall_max.values.size(), "sidewall_max");
  require_rows(axle.size(), p.rated_load.values.size(), "rated_load");
  require_rows(axle.size(), p.retread.values.size(), "retread");
  require_rows(axle.size(), p.regrooved.values.size(), "regrooved");
  return p;
}

TireColumns tires_of(const py::dict& d) {
  TireColumns t;
  t.sidewall_max = number_column(d, "sidewall_max");
  t.rated_load = number_column(d, "rated_load");
  t.new_depth = number_column(d, "new");
  t.retread.values = column<std::int8_t>(d, "retread");
  t.regrooved.values = column<std::int8_t>(d, "regrooved");
  return t;
}

// Tire numbers index the tires table; a number beyond it would read outside the columns.
void require_tires(const ReadingColumns& r, const TireColumns& t) {
  for (const std::size_t n :
       {t.sidewall_max.values.size(), t.rated_load.values.size(), t.new_depth.values.size(),
        t.retread.values.size(), t.regrooved.values.size()}) {
    for (const std::int32_t tire : r.tire) {
      if (n != 0 && tire >= static_cast<std::int32_t>(n)) {
        throw ColumnError("tire: a reading names a tire that is not there");
      }
    }
  }
}

Bound bound_of(const py::handle& text, const py::handle& measure) {
  return {py::cast<std::string>(text), parse_measure(py::cast<std::string>(measure))};
}

LimitRow limit_of(const py::dict& d) {
  LimitRow row;
  row.id = py::cast<std::string>(d["id"]);
  row.statistic = code<Statistic>(statistic_names, py::cast<std::string>(d["statistic"]), "statistic");
  for (const py::handle kind : py::cast<py::list>(d["kinds"])) {
    row.kinds |=
        1U << static_cast<unsigned>(code<UnitKind>(unit_kind_names, py::cast<std::string>(kind), "kind"));
  }
  row.wheels = code<Wheels>(wheels_names, py::cast<std::string>(d["wheels"]), "wheels");
  row.except = py::cast<std::vector<std::int32_t>>(d["except"]);
  row.sense = code<Sense>(sense_names, py::cast<std::string>(d["sense"]), "sense");
  row.severity = code<Severity>(severity_names, py::cast<std::string>(d["severity"]), "severity");
  row.base = code<Base>(base_names, py::cast<std::string>(d["base"]), "base");
  if (row.sense != Sense::absent) {
    row.bound = bound_of(d["bound"], d["measure"]);
  }
  if (!d["twin_bound"].is_none()) {
    row.twin = bound_of(d["twin_bound"], d["twin_measure"]);
  }
  return row;
}

std::vector<LimitRow> limits_of(const py::list& rows) {
  std::vector<LimitRow> out;
  for (const py::handle row : rows) {
    out.push_back(limit_of(py::cast<py::dict>(row)));
  }
  for (const LimitRow& row : out) {
    for (const std::int32_t other : row.except) {
      if (other < 0 || other >= static_cast<std::int32_t>(out.size())) {
        throw LimitError("limit " + row.id + ": 'except' names a row that is not in the set");
      }
    }
  }
  return out;
}

py::dict judge(const py::dict& readings, const py::dict& positions, const py::dict& tires,
               const py::list& limits, std::int32_t as_of, bool all) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const TireColumns t = tires_of(tires);
  require_tires(r, t);
  const std::vector<LimitRow> rows = limits_of(limits);
  VerdictTable v;
  {
    const py::gil_scoped_release free;
    v = judge_readings(r, p, t, rows, {.as_of = as_of, .all = all});
  }
  py::dict out;
  out["position"] = array_of(v.position);
  out["row"] = array_of(v.row);
  out["limit"] = array_of(v.limit);
  out["reading"] = array_of(v.reading);
  out["bound"] = array_of(v.bound);
  out["margin"] = array_of(v.margin);
  out["measure"] = array_of(v.measure);
  out["as_read"] = array_of(v.as_read);
  out["as_read_measure"] = array_of(v.as_read_measure);
  out["groove"] = array_of(v.groove);
  out["place"] = array_of(v.place);
  out["verdict"] = array_of(v.verdict);
  out["severity"] = array_of(v.severity);
  out["notes"] = array_of(v.notes);
  return out;
}

py::dict cold(const py::dict& readings, const py::dict& positions, const py::dict& tires,
              const py::list& rules, std::int32_t as_of, bool all, double reference_k,
              const std::string& method) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const TireColumns t = tires_of(tires);
  require_tires(r, t);
  const ColdColumns c{number_column(readings, "tire_temperature"), number_column(readings, "ambient"),
                      number_column(readings, "altitude")};
  std::vector<StateRule> states;
  for (const py::handle h : rules) {
    const auto d = py::cast<py::dict>(h);
    states.push_back({code<PressureState>(pressure_state_names, py::cast<std::string>(d["state"]), "state"),
                      py::cast<std::string>(d["of"]) == "cold",
                      code<Base>(base_names, py::cast<std::string>(d["base"]), "base"),
                      py::cast<double>(d["bound"]), parse_measure(py::cast<std::string>(d["measure"])),
                      code<Sense>(sense_names, py::cast<std::string>(d["sense"]), "sense")});
  }
  const ColdOptions options{.as_of = as_of,
                            .all = all,
                            .reference = TemperaturePoint::from_si(reference_k),
                            .method = code<ColdMethod>(cold_method_names, method, "method")};
  ColdTable v;
  {
    const py::gil_scoped_release free;
    v = cold_pressures(r, c, p, t, states, options);
  }
  py::dict out;
  out["position"] = array_of(v.position);
  out["row"] = array_of(v.row);
  out["found"] = array_of(v.found);
  out["cold"] = array_of(v.cold);
  out["target"] = array_of(v.target);
  out["deviation"] = array_of(v.deviation);
  out["deviation_percent"] = array_of(v.deviation_percent);
  out["method"] = array_of(v.method);
  out["state"] = array_of(v.state);
  out["notes"] = array_of(v.notes);
  return out;
}

py::tuple repeats(const py::dict& readings, std::size_t positions) {
  const Repeats found = find_repeats(readings_of(readings), positions);
  return py::make_tuple(array_of(found.first), array_of(found.conflict), array_of(found.identical));
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

py::array_t<std::uint8_t> odometers(const py::dict& readings, const py::dict& positions, std::size_t units) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  return array_of(odometers_out_of_line(r, units_of(positions, units, p.facts.size()), units));
}

py::array_t<double> legal_minimum(const py::list& limits, const py::dict& positions) {
  return array_of(legal_minimum_mm(limits_of(limits), positions_of(positions).facts));
}

py::dict wear_columns(const py::dict& readings, const py::dict& positions, std::size_t units,
                      const py::object& limit_mm, const py::dict& prior, std::int32_t as_of) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const auto unit = units_of(positions, units, p.facts.size());
  const auto limit = view<double>(limit_mm, "limit_mm");
  require_same_size(p.facts.size(), limit.size(), "limit_mm");
  WearPrior w;
  w.mm_per_km = py::cast<std::array<double, 8>>(prior["mm_per_km"]);
  w.km_per_day = py::cast<std::array<double, 6>>(prior["km_per_day"]);
  w.rate_share = py::cast<double>(prior["rate_share"]);
  w.use_share = py::cast<double>(prior["use_share"]);
  WearTable v;
  {
    const py::gil_scoped_release free;
    v = wear(r, p, unit, units, limit, w, {.as_of = as_of});
  }
  py::dict out;
  out["position"] = array_of(v.position);
  out["fitted_day"] = array_of(v.fitted_day);
  out["begun"] = array_of(v.begun);
  out["readings_used"] = array_of(v.readings_used);
  out["last_day"] = array_of(v.last_day);
  out["depth_mm"] = array_of(v.depth_mm);
  out["rate_mm_per_km"] = array_of(v.rate_mm_per_km);
  out["rate_se_mm_per_km"] = array_of(v.rate_se_mm_per_km);
  out["rate_mm_per_day"] = array_of(v.rate_mm_per_day);
  out["rate_se_mm_per_day"] = array_of(v.rate_se_mm_per_day);
  out["limit_mm"] = array_of(v.limit_mm);
  out["status"] = array_of(v.status);
  py::list km, days;
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    km.append(array_of(v.remaining_km[q]));
    days.append(array_of(v.remaining_days[q]));
  }
  out["remaining_km"] = km;
  out["remaining_days"] = days;
  return out;
}

}  // namespace
}  // namespace wheelend::bindings

void bind_readings(py::module_& m) {
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  py::dict codes;
  codes["kind"] = names(wheelend::unit_kind_names);
  codes["role"] = names(wheelend::axle_role_names);
  codes["side"] = names(wheelend::side_names);
  codes["dual"] = names(wheelend::dual_names);
  codes["event"] = names(wheelend::event_names);
  codes["sense"] = names(wheelend::sense_names);
  codes["severity"] = names(wheelend::severity_names);
  codes["statistic"] = names(wheelend::statistic_names);
  codes["quantity"] = names(wheelend::quantity_names);
  codes["base"] = names(wheelend::base_names);
  codes["wheels"] = names(wheelend::wheels_names);
  codes["verdict"] = names(wheelend::verdict_names);
  codes["method"] = names(wheelend::cold_method_names);
  codes["state"] = names(wheelend::pressure_state_names);
  codes["begun"] = names(wheelend::begun_names);
  codes["wear_status"] = names(wheelend::wear_status_names);
  m.attr("codes") = codes;
  py::dict quantity_of;
  for (std::size_t s = 0; s < wheelend::statistic_names.size(); ++s) {
    const auto q = wheelend::quantity_of(static_cast<wheelend::Statistic>(s));
    quantity_of[py::str(std::string(wheelend::statistic_names[s]))] =
        wheelend::quantity_names[static_cast<std::size_t>(q)];
  }
  m.attr("quantity_of") = quantity_of;
  m.attr("quantile_levels") =
      std::vector<double>(wheelend::quantile_levels.begin(), wheelend::quantile_levels.end());

  m.def("judge", &judge, py::arg("readings"), py::arg("positions"), py::arg("tires"), py::arg("limits"),
        py::arg("as_of"), py::arg("all"), "Verdicts as a dict of columns.");
  m.def("cold_pressures", &cold, py::arg("readings"), py::arg("positions"), py::arg("tires"),
        py::arg("rules"), py::arg("as_of"), py::arg("all"), py::arg("reference_k"), py::arg("method"),
        "Cold pressures and states as a dict of columns.");
  m.def("find_repeats", &repeats, py::arg("readings"), py::arg("positions"),
        "(first, conflict, identical): rows that share position, time and place with another.");
  m.def("odometers_out_of_line", &odometers, py::arg("readings"), py::arg("positions"), py::arg("units"),
        "1 for each row whose odometer cannot stand with the unit's others.");
  m.def("legal_minimum_mm", &legal_minimum, py::arg("limits"), py::arg("positions"),
        "Highest legal minimum of the lowest groove per position, mm; NaN where none.");
  m.def("wear", &wear_columns, py::arg("readings"), py::arg("positions"), py::arg("units"),
        py::arg("limit_mm"), py::arg("prior"), py::arg("as_of"),
        "Wear of the tire in use at each position as a dict of columns.");
}
