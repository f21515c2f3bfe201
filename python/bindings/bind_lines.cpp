// Lines on plain numbers, for studies and checks.
#include "columns.hpp"
#include "wheelend/line_fit.hpp"
#include "wheelend/replacement.hpp"

namespace wheelend::bindings {
namespace {

py::dict dict_of(const LineFit& f) {
  py::dict d;
  d["n"] = f.n;
  d["intercept"] = f.intercept;
  d["slope"] = f.slope;
  d["se_intercept"] = f.se_intercept;
  d["se_slope"] = f.se_slope;
  d["residual_sd"] = f.residual_sd;
  d["r_squared"] = f.r_squared;
  d["df"] = f.degrees_of_freedom();
  return d;
}

LineFit fit(const py::object& x, const py::object& y) {
  return fit_line(view<double>(x, "x"), view<double>(y, "y"));
}

}  // namespace
}  // namespace wheelend::bindings

void bind_lines(py::module_& m) {
  using namespace wheelend;            // NOLINT(google-build-using-namespace): one function
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  m.def(
      "fit_line", [](const py::object& x, const py::object& y) { return dict_of(fit(x, y)); }, py::arg("x"),
      py::arg("y"));
  m.def(
      "fit_through_origin",
      [](const py::object& x, const py::object& y) {
        const OriginFit f = fit_through_origin(view<double>(x, "x"), view<double>(y, "y"));
        py::dict d;
        d["n"] = f.n;
        d["slope"] = f.slope;
        d["se_slope"] = f.se_slope;
        d["residual_sd"] = f.residual_sd;
        return d;
      },
      py::arg("x"), py::arg("y"));
  m.def(
      "value_at",
      [](const py::object& x, const py::object& y, double at, double level, bool mean_response) {
        const Interval i = value_at(fit(x, y), at, level, mean_response);
        return py::make_tuple(i.estimate, i.low, i.high);
      },
      py::arg("x"), py::arg("y"), py::arg("at"), py::arg("level"), py::arg("mean_response"));
  m.def(
      "where_reaches",
      [](const py::object& x, const py::object& y, double value, double level, bool mean_response) {
        const Reach r = where_reaches(fit(x, y), value, level, mean_response);
        constexpr std::array<const char*, 3> words{"bounded", "unbounded", "flat"};
        return py::make_tuple(words[static_cast<std::size_t>(r.status)], r.at, r.low, r.high,
                              r.standard_error);
      },
      py::arg("x"), py::arg("y"), py::arg("value"), py::arg("level"), py::arg("mean_response"));
  m.def(
      "pairwise_slopes",
      [](const py::object& x, const py::object& y, double level) {
        const PairwiseSlopes s = pairwise_slopes(view<double>(x, "x"), view<double>(y, "y"), level);
        py::dict d;
        d["pairs"] = s.pairs;
        d["slope"] = s.slope;
        d["low"] = s.low;
        d["high"] = s.high;
        d["intercept_of_medians"] = s.intercept_of_medians;
        d["intercept_of_residuals"] = s.intercept_of_residuals;
        return d;
      },
      py::arg("x"), py::arg("y"), py::arg("level"));
  m.def(
      "repeated_median",
      [](const py::object& x, const py::object& y) {
        const RepeatedMedian s = repeated_median(view<double>(x, "x"), view<double>(y, "y"));
        py::dict d;
        d["slope"] = s.slope;
        d["intercept_of_residuals"] = s.intercept_of_residuals;
        d["intercept_of_pairs"] = s.intercept_of_pairs;
        return d;
      },
      py::arg("x"), py::arg("y"));
  m.def(
      "moments",
      [](const py::object& values) {
        const Moments s = moments(view<double>(values, "values"));
        return py::make_tuple(s.mean, s.sd);
      },
      py::arg("values"));
  m.def(
      "reached_by",
      [](double above, double above_se, double rate, double rate_se, double covariance, double x) {
        return reached_by({above, above_se, rate, rate_se, covariance}, x);
      },
      py::arg("above"), py::arg("above_se"), py::arg("rate"), py::arg("rate_se"), py::arg("covariance"),
      py::arg("x"));
}
