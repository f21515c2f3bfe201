// Grouped lines, first passage, wear processes and lives on plain numbers, for studies and checks.
#include "columns.hpp"
#include "wheelend/first_passage.hpp"
#include "wheelend/grouped_lines.hpp"
#include "wheelend/life_fit.hpp"
#include "wheelend/recurrences.hpp"
#include "wheelend/renewals.hpp"
#include "wheelend/survival.hpp"
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

constexpr std::array<std::pair<const char*, RenewalLaw>, 4> renewal_words{
    {{"exponential", RenewalLaw::exponential},
     {"weibull", RenewalLaw::weibull},
     {"lognormal", RenewalLaw::lognormal},
     {"gamma", RenewalLaw::gamma}}};

constexpr std::array<std::pair<const char*, Ties>, 2> ties_words{
    {{"breslow", Ties::breslow}, {"efron", Ties::efron}}};

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

Lives lives_of(const py::object& life, const py::object& failed, const py::object& entry,
               const py::object& count) {
  return {view<double>(life, "life"), view<double>(entry, "entry"), view<double>(count, "count"),
          view<std::uint8_t>(failed, "failed")};
}

// One array per member of a list of structs.
template <class T, class... Member>
py::tuple columns_of(const std::vector<T>& rows, Member T::*... member) {
  const auto one = [&](auto T::* which) {
    std::vector<double> out;
    for (const T& row : rows) {
      out.push_back(static_cast<double>(row.*which));
    }
    return array_of(out);
  };
  return py::make_tuple(one(member)...);
}

void bind_survival(py::module_& m) {
  m.def(
      "survival_curve",
      [](const py::object& life, const py::object& failed, const py::object& entry, const py::object& count) {
        return columns_of(survival_curve(lives_of(life, failed, entry, count)), &SurvivalStep::time,
                          &SurvivalStep::at_risk, &SurvivalStep::failures, &SurvivalStep::survival,
                          &SurvivalStep::se, &SurvivalStep::hazard, &SurvivalStep::hazard_se);
      },
      py::arg("life"), py::arg("failed"), py::arg("entry"), py::arg("count"));
  m.def(
      "restricted_mean",
      [](const py::object& life, const py::object& failed, const py::object& entry, const py::object& count,
         double horizon) {
        const auto r = restricted_mean(survival_curve(lives_of(life, failed, entry, count)), horizon);
        return py::make_tuple(r.mean, r.se);
      },
      py::arg("life"), py::arg("failed"), py::arg("entry"), py::arg("count"), py::arg("horizon"));
  m.def(
      "log_rank",
      [](const py::object& life, const py::object& failed, const py::object& entry, const py::object& count,
         const py::object& group, std::int64_t groups) {
        const auto r =
            log_rank(lives_of(life, failed, entry, count), view<std::int64_t>(group, "group"), groups);
        return py::make_tuple(r.chi_squared, r.freedom, r.p);
      },
      py::arg("life"), py::arg("failed"), py::arg("entry"), py::arg("count"), py::arg("group"),
      py::arg("groups"));
  m.def(
      "fit_hazards",
      [](const py::object& life, const py::object& failed, const py::object& entry, const py::object& x,
         std::size_t width, const std::string& ties) {
        const std::vector<double> one(view<double>(life, "life").size(), 1.0);
        const Lives of{view<double>(life, "life"), view<double>(entry, "entry"), one,
                       view<std::uint8_t>(failed, "failed")};
        const auto f = fit_hazards(of, view<double>(x, "x"), width, one_of(ties_words, ties, "ties"));
        py::dict d;
        d["coefficients"] = array_of(f.coefficients);
        d["covariance"] = array_of(f.covariance);
        d["log_likelihood"] = f.log_likelihood;
        d["log_likelihood_at_zero"] = f.log_likelihood_at_zero;
        d["settled"] = f.settled;
        return d;
      },
      py::arg("life"), py::arg("failed"), py::arg("entry"), py::arg("x"), py::arg("width"), py::arg("ties"));
}

void bind_replacements(py::module_& m) {
  m.def(
      "expected_renewals",
      [](const std::string& law, double scale, double shape, const py::object& t, double age) {
        const RenewalProcess process{one_of(renewal_words, law, "law"), scale, shape};
        std::vector<double> out;
        for (const double until : view<double>(t, "t")) {
          out.push_back(expected_renewals(process, until, age).expected);
        }
        return array_of(out);
      },
      py::arg("law"), py::arg("scale"), py::arg("shape"), py::arg("t"), py::arg("age"));
  m.def(
      "count_distribution",
      [](const py::object& p) { return array_of(count_distribution(view<double>(p, "p"))); }, py::arg("p"));
  m.def(
      "mean_cumulative",
      [](const py::object& start, const py::object& end, const py::object& item, const py::object& time,
         const py::object& count) {
        return columns_of(mean_cumulative(view<double>(start, "start"), view<double>(end, "end"),
                                          view<std::int64_t>(item, "item"), view<double>(time, "time"),
                                          view<double>(count, "count")),
                          &MeanCount::time, &MeanCount::at_risk, &MeanCount::events, &MeanCount::mean,
                          &MeanCount::se);
      },
      py::arg("start"), py::arg("end"), py::arg("item"), py::arg("time"), py::arg("count"));
}

}  // namespace
}  // namespace wheelend::bindings

void bind_studies(py::module_& m) {
  using namespace wheelend;            // NOLINT(google-build-using-namespace): one function
  using namespace wheelend::bindings;  // NOLINT(google-build-using-namespace): one function
  bind_survival(m);
  bind_replacements(m);
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
