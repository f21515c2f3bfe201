// How far units will run: against dense conditional normal laws, and against fleets made of known variances.
#include "wheelend/use_model.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <span>
#include <utility>
#include <vector>

#include "near.hpp"

using namespace wheelend;
using test::near;

namespace {

constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
const double level = std::log(300.0);  // km a day

UseModel model_of(double between, double drift, double scatter, double days = 180.0) {
  return {.log_km_per_day = {level},
          .between_units = between,
          .drift = drift,
          .drift_days = days,
          .scatter = scatter};
}
UseBlocks blocks_of(const std::vector<double>& km_per_day, double end = 20'000.0) {
  UseBlocks unit{.km_per_day = km_per_day};
  for (std::size_t b = 0; b < km_per_day.size(); ++b) {
    unit.end_day.push_back(end - 30.0 * static_cast<double>(km_per_day.size() - 1 - b));
  }
  return unit;
}

// The joint law of the blocks and of the slow part on `fine` days ahead, written out in full and conditioned
// by the inverse of the whole matrix: nothing is integrated in closed form.
UseAhead by_dense(const UseModel& m, const UseBlocks& unit, double from, double to) {
  constexpr Eigen::Index fine = 600;
  std::vector<double> at, seen;
  for (std::size_t b = 0; b < unit.km_per_day.size(); ++b) {
    if (!std::isnan(unit.km_per_day[b])) {
      at.push_back(unit.end_day[b] - unit.end_day.back() - 15.0);
      seen.push_back(std::log(unit.km_per_day[b]) - level);
    }
  }
  const auto n = static_cast<Eigen::Index>(at.size());
  for (Eigen::Index k = 0; k < fine; ++k) {
    at.push_back(from + (to - from) * (static_cast<double>(k) + 0.5) / fine);
  }
  Eigen::MatrixXd all(n + fine, n + fine);
  for (Eigen::Index i = 0; i < n + fine; ++i) {
    for (Eigen::Index j = 0; j < n + fine; ++j) {
      const double apart = std::abs(at[static_cast<std::size_t>(i)] - at[static_cast<std::size_t>(j)]);
      all(i, j) = m.between_units + m.drift * std::exp(-apart / m.drift_days) + (i == j ? m.scatter : 0.0);
    }
  }
  all.bottomRightCorner(fine, fine).diagonal().array() -= m.scatter;  // blocks ahead: below
  const double whole = m.drift + m.between_units, mean_alone = all.bottomRightCorner(fine, fine).mean();
  Eigen::MatrixXd joint(n + 1, n + 1);  // the mean over the days ahead is the last
  joint.topLeftCorner(n, n) = all.topLeftCorner(n, n);
  joint.topRightCorner(n, 1) = all.topRightCorner(n, fine).rowwise().mean();
  joint.bottomLeftCorner(1, n) = joint.topRightCorner(n, 1).transpose();
  joint(n, n) = mean_alone + m.scatter * 30.0 / (to - from);
  const Eigen::MatrixXd precision = joint.inverse();
  const Eigen::Map<const Eigen::VectorXd> deviation(seen.data(), n);
  const double lift = (whole - mean_alone + m.scatter * (1.0 - 30.0 / (to - from))) / 2.0;  // of a lognormal
  return {.mean = level + lift - precision.row(n).head(n).dot(deviation) / precision(n, n),
          .variance = 1.0 / precision(n, n)};
}

std::vector<UseBlocks> fleet_of(const UseModel& m, std::size_t units, std::size_t blocks, unsigned seed) {
  std::mt19937_64 bits(seed);
  std::normal_distribution<double> normal;
  const double keep = std::exp(-m.block_days / m.drift_days);
  std::vector<UseBlocks> out;
  for (std::size_t u = 0; u < units; ++u) {
    UseBlocks unit = blocks_of(std::vector<double>(blocks));
    const double own = std::sqrt(m.between_units) * normal(bits);
    double slow = std::sqrt(m.drift) * normal(bits);
    for (std::size_t b = 0; b < blocks; ++b) {
      const double angle = 2.0 * std::numbers::pi * (unit.end_day[b] - 15.0) / 365.25;
      unit.km_per_day[b] = std::exp(m.log_km_per_day[0] + own + slow + std::sqrt(m.scatter) * normal(bits) +
                                    m.season_cos * std::cos(angle) + m.season_sin * std::sin(angle));
      slow = keep * slow + std::sqrt(m.drift * (1.0 - keep * keep)) * normal(bits);
    }
    out.push_back(unit);
  }
  return out;
}

}  // namespace

TEST(UseModel, ForecastIsTheConditionalNormalLaw) {
  const UseModel model = model_of(0.05, 0.04, 0.09);
  const UseBlocks unit = blocks_of({200.0, 350.0, not_a_number, 420.0, 380.0, 500.0, not_a_number, 450.0});
  const UseForecast forecast(model, unit);
  for (const auto& [from, to] : {std::pair{0.0, 30.0}, {0.0, 400.0}, {45.0, 135.0}, {10.0, 2000.0}}) {
    const UseAhead told = forecast.between(from, to), dense = by_dense(model, unit, from, to);
    // 600 midpoints: curvature of the covariance over a step of at most 3.4 days; 1e-6 keeps a matrix regular
    EXPECT_TRUE(near(told.mean, dense.mean, {.absolute = 2e-5})) << from << ' ' << to;
    EXPECT_TRUE(near(told.variance, dense.variance, {.relative = 2e-4})) << from << ' ' << to;
  }
}

TEST(UseModel, UnitWithoutBlocksRunsAsItsGroup) {
  const UseModel model = model_of(0.05, 0.0, 0.09);
  for (const UseBlocks& unit : {UseBlocks{}, blocks_of({not_a_number, not_a_number})}) {
    const UseAhead ahead = UseForecast(model, unit).between(0.0, 90.0);
    EXPECT_TRUE(near(ahead.variance, 0.05 + 0.09 / 3.0, {.relative = 1e-12}));  // three blocks
    EXPECT_TRUE(near(ahead.mean, level + 0.09 * (2.0 / 3.0) / 2.0, {.relative = 1e-12}));
  }
}

TEST(UseModel, MoreBlocksNarrowAndFartherWidens) {
  const UseModel model = model_of(0.05, 0.04, 0.09);
  double last = 1e9;
  for (const std::size_t n : {0U, 1U, 3U, 12U}) {
    const UseBlocks unit = blocks_of(std::vector<double>(n, 300.0));
    const UseForecast forecast(model, unit);
    EXPECT_LT(forecast.between(0.0, 90.0).variance, last);
    last = forecast.between(0.0, 90.0).variance;
    EXPECT_LE(last, forecast.between(300.0, 390.0).variance);
  }
}

TEST(UseModel, BlockAtRestHasALogarithm) {  // that of 5 % of the middle block, as the source says
  const UseModel model = model_of(0.05, 0.04, 0.09);
  const UseAhead rest = UseForecast(model, blocks_of({300.0, 0.0, 300.0})).between(0.0, 90.0);
  EXPECT_TRUE(
      near(rest.mean, by_dense(model, blocks_of({300.0, 15.0, 300.0}), 0.0, 90.0).mean, {.absolute = 2e-5}));
}

TEST(UseModel, SeasonMovesTheForecastByItsMean) {
  UseModel model = model_of(0.05, 0.04, 0.09);
  const UseModel level_model = model;
  model.season_cos = 0.2, model.season_sin = -0.1;
  double mean = 0.0;
  for (int k = 0; k < 9000; ++k) {
    const double angle = 2.0 * std::numbers::pi * (20'000.0 + 20.0 + (k + 0.5) * 0.01) / 365.25;
    mean += (0.2 * std::cos(angle) - 0.1 * std::sin(angle)) / 9000.0;
  }
  const UseBlocks none = blocks_of({not_a_number});  // tells when, not how far
  EXPECT_TRUE(near(UseForecast(model, none).between(20.0, 110.0).mean,
                   UseForecast(level_model, none).between(20.0, 110.0).mean + mean, {.absolute = 1e-9}));
}

TEST(UseModel, PriorAloneWithoutUnits) {
  const UseModel prior = model_of(0.07, 0.03, 0.08), learned = learn_use({}, prior, 10.0);
  EXPECT_TRUE(near(learned.scatter, 0.08, {.relative = 1e-10}));
  EXPECT_TRUE(near(learned.drift, 0.03, {.relative = 1e-10}));
  EXPECT_EQ(learned.drift_days, 180.0);
  EXPECT_TRUE(near(learned.between_units, 0.07, {.relative = 1e-13}));
  EXPECT_TRUE(near(learned.log_km_per_day[0], level, {.relative = 1e-13}));
  EXPECT_EQ(learned.season_cos, 0.0);
}

// Two units of group 0 and one block each; the prior level weighs between / 0.5^2 of a unit (source): 0.28.
TEST(UseModel, LevelLeansOnThePrior) {
  const std::vector<UseBlocks> units{blocks_of({400.0}), blocks_of({600.0})};
  UseModel prior = model_of(0.07, 0.03, 0.08);
  prior.log_km_per_day.push_back(level + 1.0);  // of a group that nobody is in
  const UseModel learned = learn_use(units, prior, 10.0);
  EXPECT_TRUE(near(learned.log_km_per_day[0], (std::log(400.0) + std::log(600.0) + 0.28 * level) / 2.28,
                   {.relative = 1e-12}));
  EXPECT_TRUE(near(learned.log_km_per_day[1], level + 1.0, {.relative = 1e-13}));
}

// 4000 units over two years, the prior far off and worth one unit. Allowed are four standard errors, taken
// from what each of its eight parts says alone.
TEST(UseModel, VariancesOfASimulatedFleet) {
  UseModel truth = model_of(0.10, 0.06, 0.05);
  truth.season_cos = 0.12, truth.season_sin = -0.08;
  const std::vector<UseBlocks> fleet = fleet_of(truth, 4000, 24, 20260301);
  const UseModel prior = model_of(0.02, 0.01, 0.2, 90.0);
  const UseModel whole = learn_use(fleet, prior, 1.0);
  const auto told = [](const UseModel& m) {
    return Eigen::Array<double, 6, 1>{m.between_units,     m.drift + m.scatter, m.scatter,
                                      m.log_km_per_day[0], m.season_cos,        m.season_sin};
  };
  Eigen::Array<double, 6, 1> squares = Eigen::Array<double, 6, 1>::Zero();
  for (std::size_t part = 0; part < 8; ++part) {
    const UseModel m = learn_use(std::span(fleet).subspan(500 * part, 500), prior, 1.0);
    squares += (told(m) - told(whole)).square() / 7.0;
  }
  const Eigen::Array<double, 6, 1> error = (squares / 8.0).sqrt();
  for (Eigen::Index k = 0; k < 6; ++k) {
    EXPECT_TRUE(near(told(whole)[k], told(truth)[k], {.absolute = 4.0 * error[k]})) << k;
    EXPECT_LT(error[k], 0.01) << k;  // and that is narrow
  }
  EXPECT_EQ(whole.drift_days, 180.0);
}

TEST(UseModel, NoSeasonFromAShortRecord) {  // 17 blocks are below a year and a half
  UseModel truth = model_of(0.01, 0.001, 0.001);
  truth.season_cos = 0.4;
  EXPECT_EQ(learn_use(fleet_of(truth, 50, 17, 5), model_of(0.05, 0.04, 0.09), 5.0).season_cos, 0.0);
  EXPECT_NEAR(learn_use(fleet_of(truth, 50, 24, 5), model_of(0.05, 0.04, 0.09), 5.0).season_cos, 0.4, 0.05);
}

TEST(UseModel, OrderOfUnitsIsOfNoMatter) {
  std::vector<UseBlocks> fleet = fleet_of(model_of(0.1, 0.06, 0.05), 40, 20, 7);
  const UseModel prior = model_of(0.05, 0.04, 0.09), first = learn_use(fleet, prior, 5.0);
  std::reverse(fleet.begin(), fleet.end());
  const UseModel second =
      learn_use(fleet, prior, 5.0);  // sums in another order: roundings of some hundred terms
  EXPECT_TRUE(near(second.between_units, first.between_units, {.relative = 1e-11}));
  EXPECT_TRUE(near(second.drift, first.drift, {.relative = 1e-11}));
  EXPECT_TRUE(near(second.scatter, first.scatter, {.relative = 1e-11}));
}

// Shows a defect: the learned variogram takes its lags as 30 days each, whatever the length of a block, so
// a prior with blocks of 15 days comes back with twice its days of drift. To be enabled when that is mended.
TEST(UseModel, DISABLED_PriorAloneWithShorterBlocks) {
  UseModel prior = model_of(0.07, 0.03, 0.08);
  prior.block_days = 15.0;
  EXPECT_EQ(learn_use({}, prior, 10.0).drift_days, 180.0);
}
