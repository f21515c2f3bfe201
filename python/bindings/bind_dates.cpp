// Date codes of tires and calendar ages.
#include <optional>

#include "columns.hpp"
#include "wheelend/date_codes.hpp"
#include "wheelend/dates.hpp"

namespace wheelend::bindings {
namespace {

std::int32_t one_day(const py::object& day, const char* name) {
  try {
    return py::cast<std::int32_t>(day);
  } catch (const py::cast_error&) {
    throw ColumnError(std::string(name) + ": expected a whole number of days or an int32 array");
  }
}

py::object add_months_to(const py::object& day, int months) {
  if (!py::isinstance<py::array>(day)) {
    return py::int_(add_months(one_day(day, "day"), months));
  }
  std::vector<std::int32_t> out;
  for (const std::int32_t d : view<std::int32_t>(day, "day")) {
    out.push_back(add_months(d, months));
  }
  return array_of(out);
}

// One day, or one for each row.
struct Days {
  std::span<const std::int32_t> column;
  std::int32_t one = 0;
  bool is_column = false;

  Days(const py::object& days, const char* name) : is_column(py::isinstance<py::array>(days)) {
    if (is_column) {
      column = view<std::int32_t>(days, name);
    } else {
      one = one_day(days, name);
    }
  }
  std::int32_t operator[](std::size_t i) const { return is_column ? column[i] : one; }
};

py::object ages(const py::object& from_day, const py::object& to_day,
                double (*age)(std::int32_t, std::int32_t)) {
  const Days from(from_day, "from_day"), to(to_day, "to_day");
  if (!from.is_column && !to.is_column) {
    return py::float_(age(from.one, to.one));
  }
  if (from.is_column && to.is_column) {
    require_same_size(from.column.size(), to.column.size(), "to_day");
  }
  std::vector<double> out(from.is_column ? from.column.size() : to.column.size());
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = age(from[i], to[i]);
  }
  return array_of(out);
}

std::optional<std::string> find_code(const std::string& text) {
  const std::string_view code = find_date_code(text);
  return code.empty() ? std::nullopt : std::optional<std::string>(code);
}

py::tuple parse_code(const std::string& text, std::int32_t today) {
  const ParsedDateCode p = parse_date_code(text, today);
  return py::make_tuple(date_code_status_names[static_cast<std::size_t>(p.status)], p.first_day, p.last_day);
}

py::tuple parse_code_cells(const py::object& offsets, const py::object& data, const py::object& valid,
                           std::int32_t today) {
  const TextColumn cells = text_column(offsets, data, valid);
  std::vector<std::uint8_t> statuses(cells.size());
  std::vector<std::int32_t> first_days(cells.size()), last_days(cells.size());
  {
    const py::gil_scoped_release free;
    parse_date_codes(cells, today, statuses, first_days, last_days);
  }
  return py::make_tuple(array_of(statuses), array_of(first_days), array_of(last_days));
}

}  // namespace
}  // namespace wheelend::bindings

void bind_dates(py::module_& m) {
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  py::list statuses;
  for (const std::string_view name : wheelend::date_code_status_names) {
    statuses.append(name);
  }
  m.attr("codes")["date_code"] = statuses;  // the table of bind_readings
  m.def("add_months", &add_months_to, py::arg("day"), py::arg("months"),
        "Same date so many months later, or the last day of a shorter month; int or int32 array.");
  m.def(
      "calendar_years",
      [](const py::object& from, const py::object& to) { return ages(from, to, &wheelend::calendar_years); },
      py::arg("from_day"), py::arg("to_day"),
      "Age in calendar years, whole on anniversaries; int or int32 arrays.");
  m.def(
      "calendar_months",
      [](const py::object& from, const py::object& to) { return ages(from, to, &wheelend::calendar_months); },
      py::arg("from_day"), py::arg("to_day"), "Age in calendar months; int or int32 arrays.");
  m.def("find_date_code", &find_code, py::arg("text"),
        "Three or four digits in a date code or a tire identification number; None where there are none.");
  m.def("parse_date_code", &parse_code, py::arg("text"), py::arg("today"),
        "(status, first_day, last_day); days are 0 unless the status is 'week'.");
  m.def("candidate_weeks", &wheelend::candidate_weeks, py::arg("text"), py::arg("up_to"),
        "First days of the weeks that a code of three digits may mean.");
  m.def("weeks_of_year", &wheelend::weeks_of_year, py::arg("year"), "Weeks that begin in a year: 52 or 53.");
  m.def("parse_date_codes", &parse_code_cells, py::arg("offsets"), py::arg("data"), py::arg("valid"),
        py::arg("today"), "Text cells as (statuses, first_days, last_days).");
}
