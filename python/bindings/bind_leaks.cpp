// Leaks of a fleet over columns of readings, and the laws by which tires lose air.
#include "fleet_columns.hpp"
#include "wheelend/leaks.hpp"
#include "wheelend/loss_laws.hpp"

namespace wheelend::bindings {
namespace {

py::dict leak_columns(const py::dict& readings, const py::dict& positions, std::int32_t as_of,
                      double false_alarms, double band_pa, int threads, Watch* watch) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const ColdColumns c{number_column(readings, "tire_temperature"), number_column(readings, "ambient"),
                      number_column(readings, "altitude")};
  FleetLeaks found;
  {
    const py::gil_scoped_release free;
    found = leaks_of_fleet(r, c, p,
                           {.as_of = as_of,
                            .false_alarms = false_alarms,
                            .band_pa = band_pa,
                            .threads = threads,
                            .watch = watch});
  }
  const LeakTable& t = found.table;
  py::dict out;
  out["state"] = array_of(t.state);
  out["probability"] = array_of(t.probability);
  out["pressure"] = array_of(t.pressure);
  out["pressure_se"] = array_of(t.pressure_se);
  out["target"] = array_of(t.target);
  out["rate"] = array_of(t.rate);
  out["rate_low"] = array_of(t.rate_low);
  out["rate_high"] = array_of(t.rate_high);
  out["first_alarm"] = array_of(t.first_alarm);
  out["last_read"] = array_of(t.last_read);
  out["last_filled"] = array_of(t.last_filled);
  out["dropped"] = array_of(t.dropped);
  out["readings"] = array_of(t.readings);
  py::list days;
  for (const auto& limit : t.days) {
    py::list levels;
    for (const auto& level : limit) {
      levels.append(array_of(level));
    }
    days.append(levels);
  }
  out["days"] = days;
  const LeakAlarms& a = found.alarms;
  py::dict alarms;
  alarms["position"] = array_of(a.position);
  alarms["day"] = array_of(a.day);
  alarms["pressure"] = array_of(a.pressure);
  alarms["target"] = array_of(a.target);
  alarms["rate"] = array_of(a.rate);
  alarms["probability"] = array_of(a.probability);
  alarms["refilled"] = array_of(a.refilled);
  out["alarms"] = alarms;
  const LeaksLearned& l = found.learned;
  py::dict learned;
  learned["loss_per_month"] = l.loss_per_month;
  learned["loss_spread_per_month"] = l.loss_spread_per_month;
  learned["reading"] = l.reading;
  learned["visit"] = std::vector<double>(l.visit.begin(), l.visit.end());
  learned["warm_tires"] = l.warm_tires;
  learned["warm_visits"] = l.warm_visits;
  learned["slips"] = l.slips;
  learned["written"] = l.written;
  learned["fill_visit"] = l.fill_visit;
  learned["fill_low_per_month"] = l.fill_low_per_month;
  learned["fill_else_per_month"] = l.fill_else_per_month;
  learned["swaps_per_month"] = l.swaps_per_month;
  learned["alarm_odds"] = l.alarm_odds;
  out["learned"] = learned;
  return out;
}

LossLaw law_of(const std::string& name) {
  if (name == "gauge") {
    return LossLaw::gauge;
  }
  if (name == "absolute") {
    return LossLaw::absolute;
  }
  throw ColumnError("law: expected 'gauge' or 'absolute', got '" + name + "'");
}

}  // namespace
}  // namespace wheelend::bindings

void bind_leaks(py::module_& m) {
  using namespace wheelend;            // NOLINT(google-build-using-namespace): one function
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  m.attr("leak_states") = std::vector<std::string>(leak_state_names.begin(), leak_state_names.end());
  m.def("leaks", &leak_columns, py::arg("readings"), py::arg("positions"), py::arg("as_of"),
        py::arg("false_alarms"), py::arg("band_pa"), py::arg("threads") = 1, py::arg("watch") = nullptr,
        "Leaks, alarms and days below limits of every position, as a dict of columns.");
  m.def(
      "time_to_fall",
      [](double from, double to, double loss, double atmosphere, const std::string& law) {
        return time_to_fall(from, to, loss, atmosphere, law_of(law));
      },
      py::arg("from_gauge"), py::arg("to_gauge"), py::arg("loss"), py::arg("atmosphere"), py::arg("law"),
      "Time until a gauge pressure has fallen to another, in the unit of time of the first loss.");
  m.def(
      "hole_flow",
      [](double absolute, double atmosphere, double area, double discharge, double kelvin) {
        return hole_flow(absolute, atmosphere, {area, discharge, kelvin});
      },
      py::arg("absolute_pa"), py::arg("atmosphere_pa"), py::arg("area_m2"), py::arg("discharge"),
      py::arg("kelvin"), "Mass flow of air through a hole, kg/s.");
  m.def(
      "hole_time_constant",
      [](double volume, double area, double discharge, double kelvin) {
        return hole_time_constant(volume, {area, discharge, kelvin});
      },
      py::arg("volume_m3"), py::arg("area_m2"), py::arg("discharge"), py::arg("kelvin"),
      "Time constant of a vessel that empties through a choked hole, s.");
  m.def("choked_above", &choked_above, py::arg("atmosphere_pa"),
        "Gauge pressure above which flow is choked.");
  m.def("hole_area", &hole_area, py::arg("loss_pa_per_s"), py::arg("absolute_pa"), py::arg("volume_m3"),
        py::arg("discharge"), py::arg("kelvin"), "Area of the hole that loses so much while choked, m2.");
  m.def("activation_energy", &activation_energy, py::arg("ratio"), py::arg("from_kelvin"),
        py::arg("to_kelvin"), "Activation energy of permeation, J/mol.");
}
