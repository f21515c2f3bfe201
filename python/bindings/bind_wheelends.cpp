// What else slowly comes to a limit: quantities of the wheel-end readings, mates that drift apart; and small
// sums of the wheel end.
#include "fleet_columns.hpp"
#include "limit_columns.hpp"
#include "wheelend/air_loss.hpp"
#include "wheelend/mates.hpp"
#include "wheelend/slow_wear.hpp"
#include "wheelend/wheel_end.hpp"

namespace wheelend::bindings {
namespace {

SlowQuantity quantity_of_row(const py::dict& d) {
  const auto number = [&d](const char* name) { return py::cast<double>(d[name]); };
  SlowQuantity q;
  q.quantity = py::cast<std::int32_t>(d["quantity"]);
  q.measure = parse_measure(py::cast<std::string>(d["measure"]));
  q.rises = py::cast<bool>(d["rises"]);
  q.by_time = py::cast<bool>(d["by_time"]);
  q.end = number("end");
  q.fresh = number("fresh");
  q.fresh_spread = number("fresh_spread");
  q.level_spread = number("level_spread");
  q.rate = number("rate");
  q.rate_spread = number("rate_spread");
  q.unit = number("unit");
  q.axle = number("axle");
  q.item = number("item");
  q.severity = number("severity");
  q.severity_days = number("severity_days");
  q.reading = number("reading");
  q.curve = number("curve");
  q.statistic = code<Statistic>(statistic_names, py::cast<std::string>(d["statistic"]), "statistic");
  q.start_psi = number("start_psi");
  const bool away = q.rises ? q.fresh < q.end : q.fresh > q.end;
  if (!(q.rate > 0.0 && q.reading > 0.0 && q.severity_days > 0.0) || !away) {
    throw ColumnError(
        "a slow quantity needs a rate, a spread of readings and days above 0, and a fresh value that "
        "lies before the end of its scale");
  }
  return q;
}

py::dict slow_columns(const py::dict& readings, const py::dict& positions, const py::dict& wheelends,
                      std::size_t tires, std::size_t units, const py::dict& quantity, const py::list& facts,
                      const py::list& limits, double limit, const py::dict& prior, std::int32_t as_of,
                      int threads, Watch* watch) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const WheelendColumns w = wheelends_of(wheelends, p.facts.size());
  const auto unit = units_of(positions, units, p.facts.size());
  const Facts f = facts_of(facts, w.size(), tires, p.facts.size());
  const std::vector<LimitRow> rows = limits_of(limits, f.size());
  WearPrior typical;
  typical.km_per_day = py::cast<std::array<double, 6>>(prior["km_per_day"]);
  const SlowAsk ask{.of = quantity_of_row(quantity), .limits = rows, .facts = f, .limit = limit};
  SlowTable found;
  {
    const py::gil_scoped_release free;
    found =
        slow_wear(r, p, w, unit, units, ask, typical, {.as_of = as_of, .threads = threads, .watch = watch});
  }
  const WearTable& v = found.wear;
  py::dict out;
  out["position"] = array_of(v.position);
  out["row"] = array_of(found.row);
  out["fitted_day"] = array_of(v.fitted_day);
  out["begun"] = array_of(v.begun);
  out["readings_used"] = array_of(v.readings_used);
  out["last_day"] = array_of(v.last_day);
  out["last_value"] = array_of(found.last_value);
  out["value"] = array_of(v.depth_mm);
  out["rate_per_km"] = array_of(v.rate_mm_per_km);
  out["rate_se_per_km"] = array_of(v.rate_se_mm_per_km);
  out["rate_per_day"] = array_of(v.rate_mm_per_day);
  out["rate_se_per_day"] = array_of(v.rate_se_mm_per_day);
  out["limit"] = array_of(v.limit_mm);
  out["limit_row"] = array_of(found.limit_row);
  out["unknown"] = array_of(found.unknown);
  out["doubted"] = array_of(found.doubted);
  out["status"] = array_of(v.status);
  py::list km, days;
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    km.append(array_of(v.remaining_km[q]));
    days.append(array_of(v.remaining_days[q]));
  }
  out["remaining_km"] = km;
  out["remaining_days"] = days;
  py::dict learned;
  learned["rate"] = found.rate;
  learned["rate_spread"] = found.rate_spread;
  learned["reading"] = found.reading;
  out["learned"] = learned;
  return out;
}

py::dict mate_columns(const py::dict& readings, const py::dict& positions, const py::list& rules,
                      std::int32_t as_of, double soon_days, double level, int threads) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  std::vector<MateRule> all;
  for (const py::handle h : rules) {
    const auto d = py::cast<py::dict>(h);
    all.push_back({.kind = code<MateKind>(mate_kind_names, py::cast<std::string>(d["mates"]), "mates"),
                   .quantity = code<MateQuantity>(mate_quantity_names, py::cast<std::string>(d["quantity"]),
                                                  "quantity"),
                   .bound = py::cast<double>(d["bound"]),
                   .step = py::cast<double>(d["step"]),
                   .measure = parse_measure(py::cast<std::string>(d["measure"])),
                   .reading = py::cast<double>(d["reading"]),
                   .drift_per_month = py::cast<double>(d["drift"]),
                   .changes_per_year = py::cast<double>(d["changes"])});
  }
  MateTable v;
  {
    const py::gil_scoped_release free;
    v = drifting_mates(r, p, all,
                       {.as_of = as_of, .soon_days = soon_days, .level = level, .threads = threads});
  }
  py::dict out;
  out["position"] = array_of(v.position);
  out["other"] = array_of(v.other);
  out["rule"] = array_of(v.rule);
  out["visits"] = array_of(v.visits);
  out["last_day"] = array_of(v.last_day);
  out["difference"] = array_of(v.difference);
  out["read"] = array_of(v.read);
  out["drift"] = array_of(v.drift);
  out["drift_low"] = array_of(v.drift_low);
  out["drift_high"] = array_of(v.drift_high);
  out["days"] = array_of(v.days);
  out["days_early"] = array_of(v.days_early);
  out["days_late"] = array_of(v.days_late);
  out["since_day"] = array_of(v.since_day);
  out["filled"] = array_of(v.filled);
  out["state"] = array_of(v.state);
  return out;
}

}  // namespace
}  // namespace wheelend::bindings

void bind_wheelends(py::module_& m) {
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  m.attr("mate_states") = names(wheelend::mate_state_names);
  m.def("slow_wear", &slow_columns, py::arg("readings"), py::arg("positions"), py::arg("wheelends"),
        py::arg("tires"), py::arg("units"), py::arg("quantity"), py::arg("facts"), py::arg("limits"),
        py::arg("limit"), py::arg("prior"), py::arg("as_of"), py::arg("threads") = 1,
        py::arg("watch") = nullptr,
        "A quantity of the wheel-end readings followed to its limit at each place, as a dict of columns.");
  m.def("drifting_mates", &mate_columns, py::arg("readings"), py::arg("positions"), py::arg("rules"),
        py::arg("as_of"), py::arg("soon_days"), py::arg("level"), py::arg("threads") = 1,
        "Mates that drift apart, as a dict of columns.");
  m.def("loss_per_minute_at",
        py::overload_cast<double, double, double, double>(&wheelend::loss_per_minute_at),
        py::arg("reference"), py::arg("start"), py::arg("end"), py::arg("minutes"));
  m.def("clamp_load", &wheelend::clamp_load, py::arg("torque"), py::arg("nut_factor"), py::arg("diameter"));
  m.def("stress_area", &wheelend::stress_area, py::arg("diameter"), py::arg("pitch"));
  m.def("settling_loss", &wheelend::settling_loss, py::arg("settles"), py::arg("area"), py::arg("length"),
        py::arg("modulus"), py::arg("joint_stiffer"));
  m.def("drum_growth", &wheelend::drum_growth, py::arg("diameter"), py::arg("alpha"), py::arg("rise"));
  m.def("stroke_of_hot_drum", &wheelend::stroke_of_hot_drum, py::arg("growth"), py::arg("arm"),
        py::arg("cam"));
  m.def(
      "robust_scores",
      [](const py::object& values) {
        return array_of(wheelend::robust_scores(view<double>(values, "values")));
      },
      py::arg("values"));
}
