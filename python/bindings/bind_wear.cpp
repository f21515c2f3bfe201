// Wear of a fleet over columns of readings: due dates, fitments, doubts, patterns, what was learned.
#include <algorithm>

#include "fleet_columns.hpp"
#include "wheelend/fleet_wear.hpp"
#include "wheelend/wear.hpp"

namespace wheelend::bindings {
namespace {

py::dict learned_of(const Learned& v) {
  const WearSpreads& s = v.spreads;
  py::dict out;
  out["unit"] = s.unit;
  out["axle"] = s.axle;
  out["tire"] = s.item;
  out["severity"] = s.severity;
  out["curve"] = std::exp(s.strength_mean);
  out["curve_spread"] = s.strength;
  out["offset_mm"] = s.offset;
  out["one_sided_axle"] = s.one_sided_axle;
  out["one_sided_tire"] = s.one_sided_item;
  out["shoulder"] = s.shoulder_mean;
  out["shoulder_spread"] = s.shoulder;
  out["reading_mm"] = s.reading;
  out["turns_per_year"] = s.turns_per_year;
  out["turn_rate"] = s.turn_rate;
  out["turn_one_sided"] = s.turn_one_sided;
  out["season"] = v.season;
  out["season_peak_day"] = v.season_peak_day;
  out["readers"] = array_of(v.readers);
  out["reader_mm"] = array_of(v.reader_mm);
  py::list rates;
  for (const LearnedRate& r : v.rates) {
    rates.append(py::make_tuple(r.role, r.kind, r.group, r.mm_per_km, r.spread));
  }
  out["rates"] = rates;
  out["use_between_units"] = v.use.between_units;
  out["use_drift"] = v.use.drift;
  out["use_drift_days"] = v.use.drift_days;
  out["use_rest"] = v.use.rest;
  out["use_rest_days"] = v.use.rest_days;
  return out;
}

py::dict fitments_of(const FitmentTable& v) {
  py::dict out;
  out["position"] = array_of(v.position);
  out["tire"] = array_of(v.tire);
  out["from_day"] = array_of(v.from_day);
  out["to_day"] = array_of(v.to_day);
  out["begun"] = array_of(v.begun);
  out["ended"] = array_of(v.ended);
  out["as_new"] = array_of(v.as_new);
  out["confidence"] = array_of(v.confidence);
  out["previous"] = array_of(v.previous);
  out["readings"] = array_of(v.readings);
  out["first_mm"] = array_of(v.first_mm);
  out["last_mm"] = array_of(v.last_mm);
  return out;
}

py::dict doubts_of(const Doubts& v) {
  py::dict out;
  out["position"] = array_of(v.position);
  out["unit"] = array_of(v.unit);
  out["day"] = array_of(v.day);
  out["groove"] = array_of(v.groove);
  out["depth_mm"] = array_of(v.depth_mm);
  out["expected_mm"] = array_of(v.expected_mm);
  out["slip"] = array_of(v.slip);
  out["other"] = array_of(v.other);
  return out;
}

py::dict patterns_of(const Patterns& v) {
  py::dict out;
  out["position"] = array_of(v.position);
  out["one_sided"] = array_of(v.one_sided);
  out["one_sided_se"] = array_of(v.one_sided_se);
  out["shoulder"] = array_of(v.shoulder);
  out["shoulder_se"] = array_of(v.shoulder_se);
  out["since_day"] = array_of(v.since_day);
  out["around_mm"] = array_of(v.around_mm);
  out["around_step_mm"] = array_of(v.around_step_mm);
  out["worn"] = array_of(v.worn);
  return out;
}

WearPrior prior_of(const py::dict& prior) {
  return {.mm_per_km = py::cast<std::array<double, 8>>(prior["mm_per_km"]),
          .km_per_day = py::cast<std::array<double, 6>>(prior["km_per_day"]),
          .full_mm = py::cast<std::array<double, 8>>(prior["full_mm"])};
}

// Fitments by position and time, and what was read of each: one entry per fitment in `position` and
// `first_day`, one per reading in `fitment` (its index there), `day` and each of `grooves_mm`.
py::dict tires_on_positions(const py::dict& readings, const py::dict& positions, std::size_t units,
                            const py::object& limit_mm, const py::dict& prior, std::int32_t as_of,
                            int threads) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const auto unit = units_of(positions, units, p.facts.size());
  const auto limit = view<double>(limit_mm, "limit_mm");
  require_same_size(p.facts.size(), limit.size(), "limit_mm");
  const WearPrior w = prior_of(prior);
  Fitments found;
  {
    const py::gil_scoped_release free;
    found = fitments_of_fleet(r, p, unit, units, limit, w, {.as_of = as_of, .threads = threads});
  }
  std::stable_sort(found.all.begin(), found.all.end(),
                   [](const Fitment& a, const Fitment& b) { return a.position < b.position; });
  std::vector<std::int32_t> position, first_day, fitment, day;
  std::vector<std::vector<double>> grooves(r.grooves.size());
  for (const Fitment& f : found.all) {
    const auto at = static_cast<std::size_t>(f.position);
    if (f.first == f.last) {
      continue;  // told of, never seen
    }
    for (std::size_t v = f.first; v < f.last; ++v) {
      const Visit& visit = found.visits[at][v];
      if (found.believed[at][v]) {
        fitment.push_back(static_cast<std::int32_t>(position.size()));
        day.push_back(visit.day);
        for (std::size_t g = 0; g < grooves.size(); ++g) {
          grooves[g].push_back(visit.groove_mm[g]);
        }
      }
    }
    position.push_back(f.position);
    first_day.push_back(found.visits[at][f.first].day);
  }
  py::dict out;
  out["position"] = array_of(position);
  out["first_day"] = array_of(first_day);
  out["fitment"] = array_of(fitment);
  out["day"] = array_of(day);
  py::list columns;
  for (const std::vector<double>& groove : grooves) {
    columns.append(array_of(groove));
  }
  out["grooves_mm"] = columns;
  return out;
}

std::vector<FurtherDepth> further_of(const py::object& position, const py::object& depth_mm,
                                     std::size_t positions) {
  if (position.is_none()) {
    return {};
  }
  const auto at = view<std::int32_t>(position, "further_position");
  const auto depth = view<double>(depth_mm, "further_mm");
  require_same_size(at.size(), depth.size(), "further_mm");
  std::vector<FurtherDepth> out;
  for (std::size_t i = 0; i < at.size(); ++i) {
    if (at[i] < 0 || static_cast<std::size_t>(at[i]) >= positions) {
      throw ColumnError("further_position: a position that is not there");
    }
    out.push_back({at[i], depth[i]});
  }
  return out;
}

py::dict wear_columns(const py::dict& readings, const py::dict& positions, const py::dict& tires,
                      std::size_t units, const py::object& limit_mm, const py::dict& prior,
                      std::int32_t as_of, int threads, Watch* watch, const py::object& further_position,
                      const py::object& further_mm, double demand_days) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const TireColumns t = tires_of(tires);
  require_tires(r, t, tires_in(tires));
  const auto unit = units_of(positions, units, p.facts.size());
  const auto limit = view<double>(limit_mm, "limit_mm");
  require_same_size(p.facts.size(), limit.size(), "limit_mm");
  const WearPrior w = prior_of(prior);
  const std::vector<FurtherDepth> further = further_of(further_position, further_mm, p.facts.size());
  FleetWear found;
  {
    const py::gil_scoped_release free;
    found = wear_of_fleet(
        r, p, t, unit, units, limit, w,
        {.as_of = as_of, .demand_days = demand_days, .threads = threads, .watch = watch, .further = further});
  }
  const WearTable& v = found.table;
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
  py::list further_km, further_days;
  for (std::size_t q = 0; q < quantile_levels.size(); ++q) {
    further_km.append(array_of(found.further.remaining_km[q]));
    further_days.append(array_of(found.further.remaining_days[q]));
  }
  out["further_km"] = further_km;
  out["further_days"] = further_days;
  out["learned"] = learned_of(found.learned);
  out["fitments"] = fitments_of(table_of(found.fitments));
  out["doubts"] = doubts_of(found.doubts);
  out["patterns"] = patterns_of(found.patterns);
  if (demand_days > 0.0) {
    out["demand"] = std::make_shared<DemandFleet>(std::move(found.demand));
  }
  return out;
}

}  // namespace
}  // namespace wheelend::bindings

void bind_wear(py::module_& m) {
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  py::class_<wheelend::Watch>(m, "Watch")
      .def(py::init<>())
      .def_property_readonly("percent", [](const wheelend::Watch& w) { return w.percent.load(); })
      .def("stop", [](wheelend::Watch& w) { w.stop = true; });
  m.def("wear", &wear_columns, py::arg("readings"), py::arg("positions"), py::arg("tires"), py::arg("units"),
        py::arg("limit_mm"), py::arg("prior"), py::arg("as_of"), py::arg("threads") = 1,
        py::arg("watch") = nullptr, py::arg("further_position") = py::none(),
        py::arg("further_mm") = py::none(), py::arg("demand_days") = 0.0,
        "Wear of the tire in use at each position, learned from the whole fleet, as a dict of columns.");
  m.def("tires_on_positions", &tires_on_positions, py::arg("readings"), py::arg("positions"),
        py::arg("units"), py::arg("limit_mm"), py::arg("prior"), py::arg("as_of"), py::arg("threads") = 1,
        "The tires of each position, first to last, with the readings of each that are no slips.");
}
