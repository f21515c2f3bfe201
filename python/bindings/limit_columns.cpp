#include "limit_columns.hpp"

#include "fleet_columns.hpp"

namespace wheelend::bindings {

namespace {

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

}  // namespace

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

}  // namespace wheelend::bindings
