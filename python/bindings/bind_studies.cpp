// Grouped lines, first passage, wear processes and lives on plain numbers, for studies and checks.
#include "columns.hpp"
#include "wheelend/first_passage.hpp"
#include "wheelend/grouped_lines.hpp"
#include "wheelend/life_fit.hpp"
#include "wheelend/wear_process.hpp"

namespace wheelend::bindings {
namespace {

template <class T, std::size_t N>
T one_of(const std::array<std::pair<const char*, T>, N>& words, const std::string& word, const char* what) {
  for (const auto& [name, value] : words) {
    if (word == name) {
      return value;
    }
  }
  std::string known;
  for (const auto& [name, value] : words) {
    known += std::string(known.empty() ? "" : ", ") + name;
  }
  throw ColumnError(std::string(what) + ": '" + word + "' is none of " + known);
}

constexpr std::array<std::pair<const char*, UnitsDiffer>, 3> differ_words{
    {{"level", UnitsDiffer::level},
     {"level_and_rate", UnitsDiffer::level_and_rate},
     {"independently", UnitsDiffer::independently}}};

constexpr std::array<std::pair<const char*, LifeLaw>, 3> law_words{{{"exponential", LifeLaw::exponential},
                                                                    {"weibull", LifeLaw::weibull},
                                                                    {"lognormal", LifeLaw::lognormal}}};

py::tuple tuple_of(const Spread& s) { return py::make_tuple(s.level, s.covariance, s.rate); }

py::dict dict_of(const GroupedFit& f) {
  py::dict d;
  d["level"] = f.level;
  d["rate"] = f.rate;
  d["error"] = tuple_of(f.error);
  d["between"] = tuple_of(f.between);
  d["residual_sd"] = f.residual_sd;
  d["minus_two_log_likelihood"] = f.minus_two_log_likelihood;
  d["at_edge"] = f.at_edge;
  d["settled"] = f.settled;
  d["readings"] = f.readings;
  std::vector<std::int64_t> readings;
  std::vector<double> numbers;
  for (const GroupedUnit& u : f.units) {
    readings.push_back(u.readings);
    numbers.insert(numbers.end(), {u.level, u.rate, u.conditional.level, u.conditional.covariance,
                                   u.conditional.rate, u.error.level, u.error.covariance, u.error.rate});
  }
  d["unit_readings"] = array_of(readings);
  d["unit_numbers"] = array_of(numbers);  // eight a unit
  return d;
}

FirstPassage model_of(const std::string& model, const std::vector<double>& p) {
  enum class Model : std::uint8_t { wiener, gamma, inverse_gaussian, lognormal_rate, normal_line };
  constexpr std::array<std::pair<const char*, Model>, 5> words{{{"wiener", Model::wiener},
                                                                {"gamma", Model::gamma},
                                                                {"inverse_gaussian", Model::inverse_gaussian},
                                                                {"lognormal_rate", Model::lognormal_rate},
                                                                {"normal_line", Model::normal_line}}};
  const Model which = one_of(words, model, "model");
  require_same_size(which == Model::normal_line ? 5 : 3, p.size(), "parameters");
  FirstPassage out;
  switch (which) {
    case Model::wiener:
      out = WienerPassage{p[0], p[1], p[2]};
      break;
    case Model::gamma:
      out = GammaPassage{p[0], p[1], p[2]};
      break;
    case Model::inverse_gaussian:
      out = InverseGaussianPassage{p[0], p[1], p[2]};
      break;
    case Model::lognormal_rate:
      out = LognormalRatePassage{p[0], p[1], p[2]};
      break;
    case Model::normal_line:
      out = NormalPath{p[0], p[1], p[2], p[3], p[4]};
      break;
  }
  require_defined(out);
  return out;
}

template <double (*F)(const FirstPassage&, double)>
void bind_passage(py::module_& m, const char* name) {
  m.def(
      name,
      [](const std::string& model, const std::vector<double>& parameters, const py::object& values) {
        const FirstPassage of = model_of(model, parameters);
        std::vector<double> out;
        for (const double v : view<double>(values, "values")) {
          out.push_back(F(of, v));
        }
        return array_of(out);
      },
      py::arg("model"), py::arg("parameters"), py::arg("values"));
}

LifeFit life(const std::string& law, const py::object& low, const py::object& high, const py::object& count) {
  return fit_life(one_of(law_words, law, "law"), view<double>(low, "low"), view<double>(high, "high"),
                  view<double>(count, "count"));
}

}  // namespace
}  // namespace wheelend::bindings

void bind_studies(py::module_& m) {
  using namespace wheelend;            // NOLINT(google-build-using-namespace): one function
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  m.def(
      "fit_grouped",
      [](const py::object& unit, std::int64_t units, const py::object& x, const py::object& y,
         const std::string& differ, bool restricted) {
        return dict_of(fit_grouped(view<std::int64_t>(unit, "unit"), units, view<double>(x, "x"),
                                   view<double>(y, "y"),
                                   {one_of(differ_words, differ, "differ"), restricted}));
      },
      py::arg("unit"), py::arg("units"), py::arg("x"), py::arg("y"), py::arg("differ"),
      py::arg("restricted"));
  m.def(
      "shrink",
      [](const py::object& values, const py::object& variances) {
        const Shrunken s = shrink(view<double>(values, "values"), view<double>(variances, "variances"));
        return py::make_tuple(s.mean, s.between_sd, array_of(s.value), array_of(s.share));
      },
      py::arg("values"), py::arg("variances"));
  bind_passage<passed_by>(m, "passed_by");
  bind_passage<not_passed_by>(m, "not_passed_by");
  bind_passage<passage_density>(m, "passage_density");
  bind_passage<passage_quantile>(m, "passage_quantile");
  m.def(
      "fit_wiener_wear",
      [](const py::object& exposure, const py::object& wear) {
        const auto f = fit_wiener_wear(view<double>(exposure, "exposure"), view<double>(wear, "wear"));
        return py::make_tuple(f.drift, f.volatility, f.log_likelihood);
      },
      py::arg("exposure"), py::arg("wear"));
  m.def(
      "fit_gamma_wear",
      [](const py::object& exposure, const py::object& wear) {
        const auto f = fit_gamma_wear(view<double>(exposure, "exposure"), view<double>(wear, "wear"));
        return py::make_tuple(f.shape_rate, f.scale, f.log_likelihood);
      },
      py::arg("exposure"), py::arg("wear"));
  m.def(
      "fit_inverse_gaussian_wear",
      [](const py::object& exposure, const py::object& wear) {
        const auto f =
            fit_inverse_gaussian_wear(view<double>(exposure, "exposure"), view<double>(wear, "wear"));
        return py::make_tuple(f.rate, f.shape, f.log_likelihood);
      },
      py::arg("exposure"), py::arg("wear"));
  m.def(
      "fit_life",
      [](const std::string& law, const py::object& low, const py::object& high, const py::object& count,
         const std::vector<double>& p) {
        const LifeFit f = life(law, low, high, count);
        py::dict d;
        d["location"] = f.location;
        d["spread"] = f.spread;
        d["covariance"] = py::make_tuple(f.location_variance, f.covariance, f.log_spread_variance);
        d["log_likelihood"] = f.log_likelihood;
        d["settled"] = f.settled;
        d["items"] = f.items;
        d["failures"] = f.failures;
        std::vector<double> lives, errors;
        for (const double share : p) {
          const LifeQuantile q = life_quantile(f, share);
          lives.push_back(q.life);
          errors.push_back(q.log_se);
        }
        d["quantiles"] = py::make_tuple(array_of(lives), array_of(errors));
        return d;
      },
      py::arg("law"), py::arg("low"), py::arg("high"), py::arg("count"), py::arg("p"));
}
