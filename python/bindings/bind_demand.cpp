// Demand: fleets that can be simulated, and what is counted in them. How a fleet takes tires off.
#include <memory>

#include "columns.hpp"
#include "wheelend/demand.hpp"
#include "wheelend/removals.hpp"

namespace wheelend::bindings {
namespace {

DemandChanges changes_of(const py::dict& d) {
  DemandChanges c;
  const auto set = [&d](const char* name, double& to) {
    if (d.contains(name)) {
      to = py::cast<double>(d[name]);
    }
  };
  set("use", c.use);
  set("wear", c.wear);
  set("fresh_wear", c.fresh_wear);
  set("pull_shift_mm", c.pull_shift_mm);
  set("damage_per_year", c.damage_per_year);
  set("with_mate", c.with_mate);
  set("moved_share", c.moved_share);
  set("growth_per_year", c.growth_per_year);
  return c;
}

// Laws from need (km) and rate (mm per km), `tire_cases` values each, and spread.
std::vector<TireLaw> laws_of(const py::dict& d) {
  const auto need = column<float>(d, "need"), rate = column<float>(d, "rate"),
             spread = column<float>(d, "spread");
  require_same_size(need.size(), spread.size() * tire_cases, "need");
  require_same_size(rate.size(), spread.size() * tire_cases, "rate");
  std::vector<TireLaw> out(spread.size());
  for (std::size_t i = 0; i < out.size(); ++i) {
    std::copy_n(need.begin() + static_cast<std::ptrdiff_t>(i * tire_cases), tire_cases, out[i].need.begin());
    std::copy_n(rate.begin() + static_cast<std::ptrdiff_t>(i * tire_cases), tire_cases, out[i].rate.begin());
    out[i].spread = spread[i];
  }
  return out;
}

RolePractice role_of(const py::dict& d) {
  RolePractice r;
  const auto set = [&d](const char* name, double& to) {
    if (d.contains(name)) {
      to = py::cast<double>(d[name]);
    }
  };
  set("pull_mm", r.pull_mm);
  set("pull_doubt_mm", r.pull_doubt_mm);
  set("pull_sd_mm", r.pull_sd_mm);
  set("wear_doubt", r.wear_doubt);
  set("moved_share", r.moved_share);
  set("moved_left", r.moved_left);
  set("moved_left_sd", r.moved_left_sd);
  set("retread_share", r.retread_share);
  return r;
}

// A fleet from plain numbers: units as columns with `km` of all steps one after the other, places, laws,
// habits.
std::shared_ptr<DemandFleet> fleet_of(const py::dict& units, const py::dict& places, const py::dict& laws,
                                      const py::dict& practice) {
  auto fleet = std::make_shared<DemandFleet>();
  const auto key = column<std::uint64_t>(units, "key");
  const auto km = column<float>(units, "km");
  fleet->units.resize(key.size());
  if (key.empty() || km.size() % key.size() != 0) {
    throw ColumnError("km: expected as many steps for every unit");
  }
  const auto steps = static_cast<std::ptrdiff_t>(km.size() / key.size());
  const auto each = [&](const char* name, double DemandUnit::* member) {
    const auto values = column<double>(units, name);
    if (values.empty()) {
      return;
    }
    require_same_size(key.size(), values.size(), name);
    for (std::size_t u = 0; u < values.size(); ++u) {
      fleet->units[u].*member = values[u];
    }
  };
  each("last_visit", &DemandUnit::last_visit);
  each("visit_days", &DemandUnit::visit_days);
  each("km_since", &DemandUnit::km_since);
  each("level", &DemandUnit::level);
  each("drift_now", &DemandUnit::drift_now);
  each("drift_on_level", &DemandUnit::drift_on_level);
  each("drift", &DemandUnit::drift);
  each("drift_days", &DemandUnit::drift_days);
  each("rest", &DemandUnit::rest);
  for (std::size_t u = 0; u < key.size(); ++u) {
    fleet->units[u].key = key[u];
    const auto first = km.begin() + static_cast<std::ptrdiff_t>(u) * steps;
    fleet->units[u].km.assign(first, first + steps);
  }
  const auto unit = column<std::int32_t>(places, "unit"), slot = column<std::int32_t>(places, "slot");
  const auto mate = column<std::int32_t>(places, "mate"), role = column<std::int32_t>(places, "role");
  const auto now = column<std::int32_t>(places, "now"), fresh = column<std::int32_t>(places, "fresh");
  for (const auto& [values, name] :
       {std::pair{slot, "slot"}, {mate, "mate"}, {role, "role"}, {now, "now"}, {fresh, "fresh"}}) {
    require_same_size(unit.size(), values.size(), name);
  }
  for (std::size_t p = 0; p < unit.size(); ++p) {
    fleet->position.push_back(static_cast<std::int32_t>(p));
    fleet->places.push_back({unit[p], slot[p], mate[p], role[p], now[p], fresh[p]});
  }
  fleet->laws = laws_of(laws);
  for (const py::handle role_given : py::cast<py::list>(practice["roles"])) {
    fleet->practice.roles.push_back(role_of(py::cast<py::dict>(role_given)));
  }
  const auto set = [&practice](const char* name, double& to) {
    if (practice.contains(name)) {
      to = py::cast<double>(practice[name]);
    }
  };
  set("damage_per_year", fleet->practice.damage_per_year);
  set("damage_doubt", fleet->practice.damage_doubt);
  set("with_mate", fleet->practice.with_mate);
  set("shop_days", fleet->practice.shop_days);
  set("use_doubt", fleet->use_doubt);
  return fleet;
}

DemandOptions options_of(const DemandFleet& fleet, const py::object& month_ends, const py::object& group,
                         std::int32_t groups, std::size_t first_draw, std::size_t draws, std::uint64_t seed,
                         const py::dict& changes, int threads, Watch* watch) {
  DemandOptions o;
  const auto ends = view<std::int32_t>(month_ends, "month_ends");
  o.month_ends.assign(ends.begin(), ends.end());
  if (!group.is_none()) {
    o.group = view<std::int32_t>(group, "group");
    require_same_size(fleet.places.size(), o.group.size(), "group");
  }
  o.groups = groups;
  o.first_draw = first_draw;
  o.draws = draws;
  o.seed = seed;
  o.changes = changes_of(changes);
  o.threads = threads;
  o.watch = watch;
  return o;
}

// Counts by draw, month, group, source and cause.
py::array_t<std::int32_t> simulated(const DemandFleet& fleet, const py::object& month_ends,
                                    const py::object& group, std::int32_t groups, std::size_t first_draw,
                                    std::size_t draws, std::uint64_t seed, const py::dict& changes,
                                    int threads, Watch* watch) {
  const DemandOptions o =
      options_of(fleet, month_ends, group, groups, first_draw, draws, seed, changes, threads, watch);
  auto counts = std::make_unique<std::vector<std::int32_t>>();
  {
    const py::gil_scoped_release free;
    *counts = simulate_demand(fleet, o);
  }
  const std::vector<py::ssize_t> shape{
      static_cast<py::ssize_t>(draws), static_cast<py::ssize_t>(o.month_ends.size()),
      static_cast<py::ssize_t>(groups), static_cast<py::ssize_t>(tire_source_names.size()),
      static_cast<py::ssize_t>(removal_cause_names.size())};
  std::int32_t* const data = counts->data();  // handed over without a copy
  const py::capsule owner(counts.release(),
                          [](void* v) { delete static_cast<std::vector<std::int32_t>*>(v); });
  return py::array_t<std::int32_t>(shape, data, owner);
}

py::dict removals(const DemandFleet& fleet, const py::object& month_ends, std::size_t draw,
                  std::uint64_t seed, const py::dict& changes) {
  const DemandOptions o = options_of(fleet, month_ends, py::none(), 1, 0, 1, seed, changes, 1, nullptr);
  std::vector<std::int32_t> place;
  std::vector<double> day;
  std::vector<std::uint8_t> cause, source;
  for (const RemovalEvent& e : simulate_removals(fleet, o, draw)) {
    place.push_back(e.place);
    day.push_back(e.day);
    cause.push_back(static_cast<std::uint8_t>(e.cause));
    source.push_back(static_cast<std::uint8_t>(e.source));
  }
  py::dict out;
  out["place"] = array_of(place);
  out["day"] = array_of(day);
  out["cause"] = array_of(cause);
  out["source"] = array_of(source);
  return out;
}

py::dict practice_of(const DemandFleet& fleet) {
  const DemandPractice& p = fleet.practice;
  py::dict out;
  py::list roles;
  for (const RolePractice& r : p.roles) {
    py::dict d;
    d["pull_mm"] = r.pull_mm;
    d["pull_doubt_mm"] = r.pull_doubt_mm;
    d["pull_sd_mm"] = r.pull_sd_mm;
    d["wear_doubt"] = r.wear_doubt;
    d["moved_share"] = r.moved_share;
    d["moved_left"] = r.moved_left;
    d["moved_left_sd"] = r.moved_left_sd;
    d["retread_share"] = r.retread_share;
    d["removals"] = r.removals;
    roles.append(d);
  }
  out["roles"] = roles;
  out["damage_per_year"] = p.damage_per_year;
  out["damage_doubt"] = p.damage_doubt;
  out["damages"] = p.damages;
  out["with_mate"] = p.with_mate;
  out["shop_days"] = p.shop_days;
  out["use_doubt"] = fleet.use_doubt;
  return out;
}

void set_keys(DemandFleet& fleet, const py::object& keys) {
  const auto k = view<std::uint64_t>(keys, "keys");
  require_same_size(fleet.units.size(), k.size(), "keys");
  for (std::size_t u = 0; u < k.size(); ++u) {
    fleet.units[u].key = k[u];
  }
}

py::dict habits(const py::object& role, const py::object& depth, const py::object& days,
                const py::object& removed, const py::object& mate_depth, const py::object& mate_removed,
                std::size_t roles) {
  const auto r = view<std::int32_t>(role, "role");
  const auto d = view<double>(depth, "depth"), t = view<double>(days, "days");
  const auto m = view<double>(mate_depth, "mate_depth");
  const auto gone = view<std::uint8_t>(removed, "removed"),
             mate_gone = view<std::uint8_t>(mate_removed, "mate_removed");
  std::vector<TireLook> looks;
  for (const std::size_t n : {d.size(), t.size(), m.size(), gone.size(), mate_gone.size()}) {
    require_same_size(r.size(), n, "looks");
  }
  for (std::size_t i = 0; i < r.size(); ++i) {
    if (r[i] < 0 || static_cast<std::size_t>(r[i]) >= roles) {
      throw ColumnError("role: out of range");
    }
    looks.push_back({r[i], d[i], t[i], gone[i] != 0, m[i], mate_gone[i] != 0});
  }
  const RemovalHabits h = learn_removals(looks, roles);
  py::dict out;
  out["pull"] = array_of(h.pull);
  out["pull_se"] = array_of(h.pull_se);
  out["sd"] = h.sd;
  out["hazard"] = h.hazard;
  out["damages"] = h.damages;
  out["with_mate"] = h.with_mate;
  out["removals"] = array_of(h.removals);
  return out;
}

}  // namespace
}  // namespace wheelend::bindings

void bind_demand(py::module_& m) {
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  using wheelend::DemandFleet;
  py::dict codes = m.attr("codes");
  const auto names = [](const auto& table) {
    py::list out;
    for (const std::string_view name : table) {
      out.append(name);
    }
    return out;
  };
  codes["removal_cause"] = names(wheelend::removal_cause_names);
  codes["tire_source"] = names(wheelend::tire_source_names);
  m.attr("tire_cases") = wheelend::tire_cases;
  py::class_<DemandFleet, std::shared_ptr<DemandFleet>>(m, "DemandFleet")
      .def(py::init(&fleet_of), py::arg("units"), py::arg("places"), py::arg("laws"), py::arg("practice"))
      .def_property_readonly("position", [](const DemandFleet& f) { return array_of(f.position); })
      .def_property_readonly("practice", &practice_of)
      .def("set_keys", &set_keys, py::arg("keys"));
  m.def("simulate_demand", &simulated, py::arg("fleet"), py::arg("month_ends"), py::arg("group"),
        py::arg("groups"), py::arg("first_draw"), py::arg("draws"), py::arg("seed"), py::arg("changes"),
        py::arg("threads") = 1, py::arg("watch") = nullptr,
        "Tires fitted as replacements: counts by draw, month, group, source and cause.");
  m.def("simulate_removals", &removals, py::arg("fleet"), py::arg("month_ends"), py::arg("draw"),
        py::arg("seed"), py::arg("changes"), "The removals of one draw, by place and day.");
  m.def("learn_removals", &habits, py::arg("role"), py::arg("depth"), py::arg("days"), py::arg("removed"),
        py::arg("mate_depth"), py::arg("mate_removed"), py::arg("roles"),
        "How a fleet takes tires off, from what was found between two looks at each.");
}
