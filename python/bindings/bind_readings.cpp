// Verdicts, cold pressures, odometers and wear over columns of readings.
#include "columns.hpp"
#include "wheelend/cold_pressures.hpp"
#include "wheelend/fleet_wear.hpp"
#include "wheelend/text_cells.hpp"
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

// Tire numbers index the tires table; a number beyond it would read outside the columns.
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

// Numbers come as (values, label[, texts]), codes as an int32 array.
FactColumn fact_column(const py::dict& d, const char* name, std::size_t rows) {
  FactColumn out;
  if (!d.contains(name) || d[name].is_none()) {
    return out;
  }
  if (py::isinstance<py::tuple>(d[name])) {
    out.numbers = number_column(py::handle(d[name]), name);
    require_same_size(rows, out.numbers.values.size(), name);
  } else {
    out.codes = view<std::int32_t>(d[name], name);
    require_same_size(rows, out.codes.size(), name);
  }
  return out;
}

// `rows`, `tires`, `positions`: entries of the columns of wheel-end readings, tires and positions.
Facts facts_of(const py::list& facts, std::size_t rows, std::size_t tires, std::size_t positions) {
  Facts out;
  for (const py::handle h : facts) {
    const auto d = py::cast<py::dict>(h);
    Fact fact;
    fact.level = code<Level>(level_names, py::cast<std::string>(d["level"]), "level");
    fact.is_code = py::cast<bool>(d["is_code"]);
    fact.otherwise = py::cast<std::int32_t>(d["otherwise"]);
    fact.of_row = fact_column(d, "of_row", rows);
    fact.of_tire = fact_column(d, "of_tire", tires);
    fact.of_position = fact_column(d, "of_position", positions);
    out.push_back(fact);
  }
  return out;
}

Bound bound_of(const py::handle& pair) {
  const auto parts = py::cast<py::tuple>(pair);
  return {py::cast<std::string>(parts[0]), parse_measure(py::cast<std::string>(parts[1]))};
}

std::vector<Condition> conditions_of(const py::handle& list) {
  std::vector<Condition> out;
  for (const py::handle h : py::cast<py::list>(list)) {
    const auto d = py::cast<py::dict>(h);
    Condition c;
    c.fact = py::cast<std::int32_t>(d["fact"]);
    c.relation = code<Relation>(relation_names, py::cast<std::string>(d["relation"]), "relation");
    c.codes = py::cast<std::vector<std::int32_t>>(d["codes"]);
    for (const py::handle b : py::cast<py::list>(d["bounds"])) {
      c.bounds.push_back(bound_of(b));
    }
    c.or_not_stated = py::cast<bool>(d["or_not_stated"]);
    out.push_back(c);
  }
  return out;
}

Amount amount_of(const py::dict& d) {
  Amount out;
  if (!d["bound"].is_none()) {
    out.bound = bound_of(d["bound"]);
  } else {
    out.bound.measure = Measure::yes_no;
  }
  out.bases = py::cast<std::vector<std::int32_t>>(d["bases"]);
  return out;
}

LimitRow limit_of(const py::dict& d) {
  LimitRow row;
  row.id = py::cast<std::string>(d["id"]);
  row.statistic = code<Statistic>(statistic_names, py::cast<std::string>(d["statistic"]), "statistic");
  row.quantity = py::cast<std::int32_t>(d["quantity"]);
  row.where = conditions_of(d["where"]);
  row.needs = conditions_of(d["needs"]);
  row.except = py::cast<std::vector<std::int32_t>>(d["except"]);
  row.clause = py::cast<std::int32_t>(d["clause"]);
  row.sense = code<Sense>(sense_names, py::cast<std::string>(d["sense"]), "sense");
  row.severity = code<Severity>(severity_names, py::cast<std::string>(d["severity"]), "severity");
  row.amount = amount_of(d);
  row.upper = py::cast<std::string>(d["upper"]);
  if (!d["twin"].is_none()) {
    row.twin = bound_of(d["twin"]);
    row.twin_upper = py::cast<std::string>(d["twin_upper"]);
  }
  if (!d["alternative"].is_none()) {
    row.alternative = amount_of(py::cast<py::dict>(d["alternative"]));
  }
  row.fact = py::cast<std::int32_t>(d["fact"]);
  row.same = py::cast<std::vector<std::int32_t>>(d["same"]);
  row.counts = py::cast<double>(d["counts"]);
  row.since = py::cast<std::int32_t>(d["since"]);
  row.until = py::cast<std::int32_t>(d["until"]);
  row.unconfirmed = py::cast<bool>(d["unconfirmed"]);
  return row;
}

// Every number that indexes something must be within it: a set that was put together by hand must not read
// beyond.
void require_indexes(const LimitRow& row, std::size_t rows, std::size_t facts) {
  const auto require = [&row](std::int32_t i, std::size_t n, const char* what) {
    if (i < 0 || i >= static_cast<std::int32_t>(n)) {
      throw LimitError("limit " + row.id + ": '" + what + "' names something that is not there");
    }
  };
  for (const std::int32_t other : row.except) {
    require(other, rows, "except");
  }
  for (const auto* conditions : {&row.where, &row.needs}) {
    for (const Condition& c : *conditions) {
      require(c.fact, facts, "where");
    }
  }
  for (const std::int32_t base : row.amount.bases) {
    require(base, facts, "base");
  }
  for (const std::int32_t base : row.alternative ? row.alternative->bases : std::vector<std::int32_t>()) {
    require(base, facts, "or_base");
  }
  for (const std::int32_t fact : row.same) {
    require(fact, facts, "same");
  }
  const bool about_a_fact =
      row.statistic == Statistic::sides_unlike || row.statistic == Statistic::axle_sizes ||
      row.statistic == Statistic::axle_constructions || row.statistic == Statistic::months_since;
  if (about_a_fact || row.fact >= 0) {
    require(row.fact, facts, "fact");
  }
}

std::vector<LimitRow> limits_of(const py::list& rows, std::size_t facts) {
  std::vector<LimitRow> out;
  for (const py::handle row : rows) {
    out.push_back(limit_of(py::cast<py::dict>(row)));
  }
  for (const LimitRow& row : out) {
    require_indexes(row, out.size(), facts);
  }
  return out;
}

std::size_t tires_in(const py::dict& tires) {
  return tires.contains("count") ? py::cast<std::size_t>(tires["count"]) : 0;
}

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

py::array_t<double> legal_minimum(const py::list& limits, const py::list& facts, const py::dict& positions) {
  const std::size_t n = positions_of(positions).facts.size();
  const Facts f = facts_of(facts, 0, 0, n);
  return array_of(legal_minimum_mm(limits_of(limits, f.size()), f, n));
}

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

py::dict wear_columns(const py::dict& readings, const py::dict& positions, const py::dict& tires,
                      std::size_t units, const py::object& limit_mm, const py::dict& prior,
                      std::int32_t as_of, int threads, Watch* watch) {
  const ReadingColumns r = readings_of(readings);
  const PositionColumns p = positions_of(positions);
  const TireColumns t = tires_of(tires);
  require_tires(r, t, tires_in(tires));
  const auto unit = units_of(positions, units, p.facts.size());
  const auto limit = view<double>(limit_mm, "limit_mm");
  require_same_size(p.facts.size(), limit.size(), "limit_mm");
  WearPrior w;
  w.mm_per_km = py::cast<std::array<double, 8>>(prior["mm_per_km"]);
  w.km_per_day = py::cast<std::array<double, 6>>(prior["km_per_day"]);
  w.full_mm = py::cast<std::array<double, 8>>(prior["full_mm"]);
  FleetWear found;
  {
    const py::gil_scoped_release free;
    found =
        wear_of_fleet(r, p, t, unit, units, limit, w, {.as_of = as_of, .threads = threads, .watch = watch});
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
  out["learned"] = learned_of(found.learned);
  out["fitments"] = fitments_of(table_of(found.fitments));
  out["doubts"] = doubts_of(found.doubts);
  out["patterns"] = patterns_of(found.patterns);
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
  py::class_<wheelend::Watch>(m, "Watch")
      .def(py::init<>())
      .def_property_readonly("percent", [](const wheelend::Watch& w) { return w.percent.load(); })
      .def("stop", [](wheelend::Watch& w) { w.stop = true; });
  m.def("wear", &wear_columns, py::arg("readings"), py::arg("positions"), py::arg("tires"), py::arg("units"),
        py::arg("limit_mm"), py::arg("prior"), py::arg("as_of"), py::arg("threads") = 1,
        py::arg("watch") = nullptr,
        "Wear of the tire in use at each position, learned from the whole fleet, as a dict of columns.");
}
