// Verdicts, cold pressures and odometers over columns of readings.
#include "fleet_columns.hpp"
#include "limit_columns.hpp"
#include "wheelend/cold_pressures.hpp"
#include "wheelend/fleet_wear.hpp"
#include "wheelend/text_cells.hpp"
#include "wheelend/use.hpp"
#include "wheelend/verdict.hpp"
#include "wheelend/wear.hpp"

namespace wheelend::bindings {
namespace {

py::dict judge(const py::dict& readings, const py::dict& positions, const py::dict& tires,
               const py::dict& wheelends, const py::list& facts, const py::list& limits, std::int32_t as_of,
               bool all, bool count_unconfirmed) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const TireColumns t = tires_of(tires);
  require_tires(r, t, tires_in(tires));
  const WheelendColumns w = wheelends_of(wheelends, p.facts.size());
  const Facts f = facts_of(facts, w.size(), tires_in(tires), p.facts.size());
  const std::vector<LimitRow> rows = limits_of(limits, f.size());
  VerdictTable v;
  {
    const py::gil_scoped_release free;
    v = judge_fleet({r, p, t, w, f}, rows,
                    {.as_of = as_of, .all = all, .count_unconfirmed = count_unconfirmed});
  }
  py::dict out;
  out["position"] = array_of(v.position);
  out["level"] = array_of(v.level);
  out["row"] = array_of(v.row);
  out["of_wheelend"] = array_of(v.of_wheelend);
  out["limit"] = array_of(v.limit);
  out["reading"] = array_of(v.reading);
  out["bound"] = array_of(v.bound);
  out["margin"] = array_of(v.margin);
  out["measure"] = array_of(v.measure);
  out["sense"] = array_of(v.sense);
  out["as_read"] = array_of(v.as_read);
  out["as_read_measure"] = array_of(v.as_read_measure);
  out["groove"] = array_of(v.groove);
  out["place"] = array_of(v.place);
  out["verdict"] = array_of(v.verdict);
  out["severity"] = array_of(v.severity);
  out["notes"] = array_of(v.notes);
  out["fact"] = array_of(v.fact);
  out["noted_limit"] = array_of(v.noted_limit);
  std::vector<std::int64_t> against;
  std::vector<double> against_value;
  std::vector<std::int32_t> against_position;
  for (const VerdictTable::Against& a : v.against) {
    against.push_back(a.verdict);
    against_value.push_back(a.value);
    against_position.push_back(a.position);
  }
  out["against"] = array_of(against);
  out["against_value"] = array_of(against_value);
  out["against_position"] = array_of(against_position);
  return out;
}

py::dict cold(const py::dict& readings, const py::dict& positions, const py::dict& tires,
              const py::list& rules, std::int32_t as_of, bool all, double reference_k,
              const std::string& method) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const TireColumns t = tires_of(tires);
  require_tires(r, t, tires_in(tires));
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

py::array_t<std::uint8_t> odometers(const py::dict& readings, const py::dict& positions, std::size_t units) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  return array_of(odometers_out_of_line(r, units_of(positions, units, p.facts.size()), units));
}

py::array_t<double> legal_minimum(const py::list& limits, const py::list& facts, const py::dict& positions) {
  const std::size_t n = positions_of(positions).facts.size();
  const Facts f = facts_of(facts, 0, 0, n);
  return array_of(legal_minimum_mm(limits_of(limits, f.size()), f, n));
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
  codes["level"] = names(wheelend::level_names);
  codes["relation"] = names(wheelend::relation_names);
  codes["verdict"] = names(wheelend::verdict_names);
  codes["method"] = names(wheelend::cold_method_names);
  codes["state"] = names(wheelend::pressure_state_names);
  codes["number_cell"] = names(wheelend::number_cell_names);
  codes["date_cell"] = names(wheelend::date_cell_names);
  codes["begun"] = names(wheelend::begun_names);
  codes["wear_status"] = names(wheelend::wear_status_names);
  codes["begun"] = names(wheelend::begun_names);
  codes["ended"] = names(wheelend::ended_names);
  codes["slip"] = names(wheelend::slip_names);
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

  m.attr("cold_notes") =
      std::vector<std::string>(wheelend::cold_note_words.begin(), wheelend::cold_note_words.end());
  m.attr("judge_notes") = std::vector<std::string>(wheelend::note_words.begin(), wheelend::note_words.end());

  m.def("judge", &judge, py::arg("readings"), py::arg("positions"), py::arg("tires"), py::arg("wheelends"),
        py::arg("facts"), py::arg("limits"), py::arg("as_of"), py::arg("all"), py::arg("count_unconfirmed"),
        "Verdicts as a dict of columns.");
  m.def("cold_pressures", &cold, py::arg("readings"), py::arg("positions"), py::arg("tires"),
        py::arg("rules"), py::arg("as_of"), py::arg("all"), py::arg("reference_k"), py::arg("method"),
        "Cold pressures and states as a dict of columns.");
  m.def("find_repeats", &repeats, py::arg("readings"), py::arg("positions"),
        "(first, conflict, identical): rows that share position, time and place with another.");
  m.def("odometers_out_of_line", &odometers, py::arg("readings"), py::arg("positions"), py::arg("units"),
        "1 for each row whose odometer cannot stand with the unit's others.");
  m.def("legal_minimum_mm", &legal_minimum, py::arg("limits"), py::arg("facts"), py::arg("positions"),
        "Highest legal minimum of the lowest groove per position, mm; NaN where none.");
}
