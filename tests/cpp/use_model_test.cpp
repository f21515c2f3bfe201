// How far units will run: against dense conditional normal laws, and against fleets made of known processes.
#include "wheelend/use_model.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "near.hpp"
#include "wheelend/line_fit.hpp"

using namespace wheelend;
using test::near;

namespace {

const double level = std::log(300.0);  // km a day

UseModel model_of(double between, double drift, double rest, double drift_days = 180.0,
                  double rest_days = 10.0) {
  return {.log_km_per_day = {level},
          .between_units = between,
          .drift = drift,
          .drift_days = drift_days,
          .rest = rest,
          .rest_days = rest_days};
}
UseBlocks blocks_of(const std::vector<double>& km_per_day, double end = 20'000.0, double days = 30.0) {
  UseBlocks unit{.days = std::vector<double>(km_per_day.size(), days), .km_per_day = km_per_day};
  for (std::size_t b = 0; b < km_per_day.size(); ++b) {
    unit.end_day.push_back(end - days * static_cast<double>(km_per_day.size() - 1 - b));
  }
  return unit;
}
UseBlocks without(UseBlocks unit, std::size_t b) {
  unit.end_day.erase(unit.end_day.begin() + static_cast<std::ptrdiff_t>(b));
  unit.days.erase(unit.days.begin() + static_cast<std::ptrdiff_t>(b));
  unit.km_per_day.erase(unit.km_per_day.begin() + static_cast<std::ptrdiff_t>(b));
  return unit;
}
double square_of(double x) { return x * x; }
// Sum over a path's points in place of the closed form.
double kept(double days, double relaxation) {
  constexpr int fine = 2000;
  double sum = 0.0;
  for (int lag = 0; lag < fine; ++lag) {  // pairs that are so far apart, the midpoint of each step
    sum += (lag == 0 ? 1.0 : 2.0) * (fine - lag) * std::exp(-days * lag / fine / relaxation);
  }
  return sum / fine / fine;
}

// Logarithms linearised about the mean of 90 days either side of a block, as the header says.
std::vector<double> linearised(const UseBlocks& unit) {
  std::vector<double> y;
  for (std::size_t b = 0; b < unit.days.size(); ++b) {
    double km = 0.0, days = 0.0;
    for (std::size_t c = 0; c < unit.days.size(); ++c) {
      if (unit.end_day[c] - unit.days[c] < unit.end_day[b] + 90.0 &&
          unit.end_day[c] >= unit.end_day[b] - unit.days[b] - 90.0) {
        km += unit.km_per_day[c] * unit.days[c];
        days += unit.days[c];
      }
    }
    y.push_back(std::log(km / days) + unit.km_per_day[b] * days / km - 1.0);
  }
  return y;
}

// The joint law of drift and rest on fine points, in the blocks and ahead, written out in full and
// conditioned by one dense inverse: nothing is integrated in closed form and nothing goes step by step.
UseAhead by_dense(const UseModel& m, const UseBlocks& unit, double from, double to) {
  constexpr Eigen::Index fine = 80, ahead = 400;
  std::vector<double> at;
  const auto blocks = static_cast<Eigen::Index>(unit.days.size());
  for (std::size_t b = 0; b < unit.days.size(); ++b) {
    for (Eigen::Index k = 0; k < fine; ++k) {
      at.push_back(unit.end_day[b] - unit.days[b] * (1.0 - (static_cast<double>(k) + 0.5) / fine) -
                   unit.end_day.back());
    }
  }
  for (Eigen::Index k = 0; k < ahead; ++k) {
    at.push_back(from + (to - from) * (static_cast<double>(k) + 0.5) / ahead);
  }
  const auto points = static_cast<Eigen::Index>(at.size());
  Eigen::MatrixXd drift(points, points), rest(points, points);
  for (Eigen::Index i = 0; i < points; ++i) {
    for (Eigen::Index j = 0; j < points; ++j) {
      const double apart = std::abs(at[static_cast<std::size_t>(i)] - at[static_cast<std::size_t>(j)]);
      drift(i, j) = m.drift * std::exp(-apart / m.drift_days);
      rest(i, j) = m.rest * std::exp(-apart / m.rest_days);
    }
  }
  Eigen::MatrixXd mean_of_block = Eigen::MatrixXd::Zero(blocks, points);
  for (Eigen::Index b = 0; b < blocks; ++b) {
    mean_of_block.row(b).segment(b * fine, fine).setConstant(1.0 / fine);
  }
  Eigen::RowVectorXd mean_ahead = Eigen::RowVectorXd::Zero(points);
  mean_ahead.tail(ahead).setConstant(1.0 / ahead);
  const Eigen::MatrixXd seen =
      (mean_of_block * (drift + rest) * mean_of_block.transpose()).array() + m.between_units;
  const Eigen::MatrixXd precision = seen.inverse();
  const Eigen::MatrixXd drift_seen = (drift * mean_of_block.transpose()).array() + m.between_units;
  const Eigen::MatrixXd rest_seen = rest * mean_of_block.transpose();
  const std::vector<double> y = linearised(unit);
  const Eigen::VectorXd deviation = Eigen::Map<const Eigen::VectorXd>(y.data(), blocks).array() - level;
  // Level and drift together (the log), and rest (the share).
  const Eigen::VectorXd log_mean = drift_seen * precision * deviation;
  const Eigen::MatrixXd log_covariance =
      (drift.array() + m.between_units).matrix() - drift_seen * precision * drift_seen.transpose();
  const double log_ahead = mean_ahead * log_mean;
  const double log_variance = mean_ahead * log_covariance * mean_ahead.transpose();
  const double share = 1.0 + (mean_ahead * rest_seen * precision * deviation).value();
  const double share_variance =
      mean_ahead * (rest - rest_seen * precision * rest_seen.transpose()) * mean_ahead.transpose();
  const double both =
      -(mean_ahead * drift_seen * precision * rest_seen.transpose() * mean_ahead.transpose()).value();
  // The log of the mean of a path lies above the mean of its log by half the variance averaged out; a share
  // becomes the log-normal law of its two moments.
  const double lift = (log_covariance.diagonal().tail(ahead).mean() - log_variance) / 2.0;
  const double log_share = std::log1p(share_variance / share / share);
  return {.mean = level + log_ahead + lift + std::log(share) - log_share / 2.0,
          .variance = log_variance + 2.0 * both / share + log_share};
}

// Units whose odometer is read every four weeks. Level and drift are normal in the log; rest is a unit that
// works and stands by turns, in spells of geometric length. With `ahead` days after the last reading.
struct Process {
  double between = 0.0, drift = 0.0, drift_days = 180.0, season = 0.0;
  double worked_days = 1e9, stood_days = 10.0;
};
struct Course {
  std::vector<double> day, km;
  double end_km = 0.0;
  std::vector<double> km_ahead;  // by day from the last reading on
};
std::vector<Course> courses_of(const Process& p, std::size_t units, int readings, int ahead, unsigned seed) {
  std::mt19937_64 bits(seed);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> chance;
  const double keep = std::exp(-1.0 / p.drift_days), at_work = p.worked_days / (p.worked_days + p.stood_days);
  std::vector<Course> out(units);
  for (Course& c : out) {
    const double own = std::sqrt(p.between) * normal(bits);
    double slow = std::sqrt(p.drift) * normal(bits), km = 1000.0;
    bool works = chance(bits) < at_work;
    const int last = 28 * (readings - 1);
    for (int t = 0; t <= last + ahead; ++t) {
      if (t % 28 == 0 && t <= last) {
        c.day.push_back(20'000.0 + t);
        c.km.push_back(km);
      }
      if (t >= last) {
        c.km_ahead.push_back(km - c.km.back());
      }
      const double season = p.season * std::cos(2.0 * std::numbers::pi * (20'000.5 + t) / 365.25);
      km += works ? std::exp(level + own + slow + season) / at_work : 0.0;
      works = chance(bits) < 1.0 / (works ? p.worked_days : p.stood_days) ? !works : works;
      slow = keep * slow + std::sqrt(p.drift * (1.0 - keep * keep)) * normal(bits);
    }
  }
  return out;
}
std::vector<UseBlocks> fleet_of(const std::vector<Course>& courses) {
  std::vector<UseBlocks> out;
  for (const Course& c : courses) {
    out.push_back(use_blocks(c.day, c.km, 0));
  }
  return out;
}

}  // namespace

// ---- blocks

TEST(UseModel, BlocksRunFromReadingToReading) {
  const std::vector<double> day{0.0, 28.0, 30.0, 56.0, 60.0}, km{0.0, 2800.0, 3000.0, 3260.0, 4000.0};
  const UseBlocks b = use_blocks(day, km, 7);
  EXPECT_EQ(b.group, 7);
  EXPECT_EQ(b.end_day, (std::vector<double>{30.0, 60.0}));  // three weeks at least, from the end backwards
  EXPECT_EQ(b.days, (std::vector<double>{30.0, 30.0}));
  EXPECT_TRUE(near(b.km_per_day[0], 100.0, test::roundings(4)));
  EXPECT_TRUE(near(b.km_per_day[1], 1000.0 / 30.0, test::roundings(4)));
}

TEST(UseModel, BlockTakesInARestThatIsTooShort) {
  const std::vector<double> day{0.0, 10.0, 40.0}, km{0.0, 0.0, 400.0};
  EXPECT_EQ(use_blocks(day, km, 0).days, (std::vector<double>{40.0}));
}

TEST(UseModel, NoBlockBelowThreeWeeks) {
  const std::vector<double> none, day{0.0, 20.0}, km{0.0, 400.0};
  EXPECT_TRUE(use_blocks(none, none, 0).days.empty());
  EXPECT_TRUE(use_blocks(day, km, 0).days.empty());
}

// ---- one unit

TEST(UseModel, ForecastIsTheConditionalNormalLaw) {
  const UseModel model = model_of(0.05, 0.04, 0.09, 180.0, 12.0);
  const UseBlocks whole = blocks_of({200.0, 350.0, 250.0, 420.0, 380.0, 500.0, 130.0, 450.0});
  for (const UseBlocks& unit : {whole, without(without(whole, 5), 2), blocks_of({0.0, 410.0, 380.0}),
                                blocks_of({350.0}, 20'000.0, 170.0)}) {
    const UseForecast forecast(model, unit);
    for (const auto& [from, to] : {std::pair{0.0, 30.0}, {0.0, 400.0}, {45.0, 135.0}, {10.0, 1000.0}}) {
      const UseAhead told = forecast.between(from, to), dense = by_dense(model, unit, from, to);
      // 80 midpoints a block and 400 ahead: (step / relaxation)^2 / 24 of what they are the mean of, for rest
      // over 1000 days (step 2.5 of 12 days) 0.002 of its 0.002; 1e-6 keeps the filter regular
      EXPECT_TRUE(near(told.mean, dense.mean, {.absolute = 2e-4})) << from << ' ' << to;
      EXPECT_TRUE(near(told.variance, dense.variance, {.relative = 2e-3})) << from << ' ' << to;
    }
  }
}

TEST(UseModel, UnitWithoutBlocksRunsAsItsGroup) {
  UseModel model = model_of(0.05, 0.02, 0.09);
  model.level_variance = {0.01};
  const UseAhead ahead = UseForecast(model, UseBlocks{}, 20'000.0).between(0.0, 90.0);
  const double drift = 0.02 * kept(90.0, 180.0), rest = std::log1p(0.09 * kept(90.0, 10.0));
  EXPECT_TRUE(near(ahead.variance, 0.05 + 0.01 + drift + rest, {.relative = 1e-5}));
  EXPECT_TRUE(near(ahead.mean, level + (0.02 - drift) / 2.0 - rest / 2.0, {.absolute = 1e-6}));
}

TEST(UseModel, MoreBlocksNarrowAndFartherWidens) {
  const UseModel model = model_of(0.05, 0.04, 0.09);
  double last = 1e9;
  for (const std::size_t n : {0U, 1U, 3U, 12U}) {
    const UseForecast forecast(model, blocks_of(std::vector<double>(n, 300.0)));
    EXPECT_LT(forecast.between(0.0, 90.0).variance, last);
    last = forecast.between(0.0, 90.0).variance;
    EXPECT_LE(last, forecast.between(300.0, 390.0).variance);
  }
}

// A unit that stood all the time has no logarithm; it is not taken for one that is not known.
TEST(UseModel, UnitThatNeverMovedIsExpectedToRunLittle) {
  const UseModel model = model_of(0.1, 0.04, 0.09);
  const UseAhead parked = UseForecast(model, blocks_of(std::vector<double>(24, 0.0))).between(0.0, 90.0);
  EXPECT_LT(std::exp(parked.mean), 0.05 * 300.0);
  EXPECT_GT(parked.variance, 0.0);
  // and one month of standing takes away a share of the year, not its logarithm
  const UseAhead month =
      UseForecast(model, blocks_of({300.0, 300.0, 0.0, 300.0, 300.0, 300.0})).between(0.0, 90.0);
  EXPECT_GT(std::exp(month.mean), 0.7 * 300.0);
}

TEST(UseModel, SlipOfTheOdometerIsNoUse) {
  const UseModel model = model_of(0.05, 0.04, 0.09);
  const UseBlocks slipped = blocks_of({300.0, 320.0, 2900.0, 280.0, 310.0});
  EXPECT_EQ(UseForecast(model, slipped).between(0.0, 90.0).mean,
            UseForecast(model, without(slipped, 2)).between(0.0, 90.0).mean);
  // At the end of the record it leaves days of which nothing is known.
  const UseAhead last =
      UseForecast(model, blocks_of({300.0, 320.0, 280.0, 310.0, 2900.0})).between(0.0, 90.0);
  const UseAhead before = UseForecast(model, blocks_of({300.0, 320.0, 280.0, 310.0})).between(30.0, 120.0);
  EXPECT_TRUE(near(last.mean, before.mean, {.absolute = 1e-12}));
  EXPECT_TRUE(near(last.variance, before.variance, {.relative = 1e-12}));
  // A unit that comes back to work, as others of its group run, is no slip.
  const UseBlocks back = blocks_of({0.0, 10.0, 0.0, 310.0});
  EXPECT_GT(UseForecast(model, back).between(0.0, 90.0).mean,
            UseForecast(model, without(back, 3)).between(0.0, 90.0).mean + 0.5);
}

// To the second order of the amplitude, 0.22: what is left is of the order of its cube over six, where that
// does not average out.
TEST(UseModel, SeasonMovesTheForecastByItsMean) {
  UseModel model = model_of(0.05, 0.04, 0.09);
  const UseModel level_model = model;
  model.season_cos = 0.2, model.season_sin = -0.1;
  double mean = 0.0;
  for (int k = 0; k < 9000; ++k) {
    const double angle = 2.0 * std::numbers::pi * (20'000.0 + 20.0 + (k + 0.5) * 0.01) / 365.25;
    mean += std::exp(0.2 * std::cos(angle) - 0.1 * std::sin(angle)) / 9000.0;
  }
  EXPECT_TRUE(near(UseForecast(model, UseBlocks{}, 20'000.0).between(20.0, 110.0).mean,
                   UseForecast(level_model, UseBlocks{}, 20'000.0).between(20.0, 110.0).mean + std::log(mean),
                   {.absolute = 5e-4}));
}

// Where no season was seen yet, half a year seen tells less of the other half than of the same.
TEST(UseModel, SeasonNotSeenIsADoubt) {
  UseModel model = model_of(0.05, 0.04, 0.09);
  const UseBlocks unit = blocks_of(std::vector<double>(4, 300.0));
  const UseAhead sure = UseForecast(model, unit).between(0.0, 180.0);
  model.season_doubt = 0.0036;
  const UseAhead doubt = UseForecast(model, unit).between(0.0, 180.0);
  EXPECT_EQ(doubt.mean, sure.mean);
  double c = 0.0, s = 0.0;  // mean over the 180 days to come less that over the 120 seen
  for (int k = 0; k < 3000; ++k) {
    const double next = 2.0 * std::numbers::pi * (20'000.0 + 180.0 * (k + 0.5) / 3000.0) / 365.25;
    const double seen = 2.0 * std::numbers::pi * (20'000.0 - 120.0 * (k + 0.5) / 3000.0) / 365.25;
    c += (std::cos(next) - std::cos(seen)) / 3000.0;
    s += (std::sin(next) - std::sin(seen)) / 3000.0;
  }
  EXPECT_TRUE(near(doubt.variance - sure.variance, 0.0036 * (c * c + s * s), {.relative = 1e-4}));
}

TEST(UseModel, MiddleDistanceAddsUpOverTheSeason) {
  UseModel model = model_of(0.05, 0.04, 0.09);
  model.season_cos = 0.2, model.season_sin = -0.1;
  double sum = 0.0;
  for (int k = 0; k < 20'000; ++k) {
    const double angle = 2.0 * std::numbers::pi * (20'000.0 + (k + 0.5) * 0.01) / 365.25;
    sum += 3.0 * (1.0 + 0.2 * std::cos(angle) - 0.1 * std::sin(angle));
  }
  EXPECT_TRUE(near(model.middle_distance(0, 20'000.0, 20'200.0), sum, {.relative = 1e-8}));
  EXPECT_TRUE(
      near(model.middle_distance(0, 20'000.0, 20'050.0) + model.middle_distance(0, 20'050.0, 20'200.0),
           model.middle_distance(0, 20'000.0, 20'200.0), {.relative = 1e-12}));
}

// ---- the fleet

TEST(UseModel, PriorAloneWithoutUnits) {
  const UseModel prior = model_of(0.07, 0.03, 0.08, 180.0, 15.0), learned = learn_use({}, prior, 10.0);
  EXPECT_TRUE(near(learned.rest, 0.08, {.relative = 1e-10}));
  EXPECT_EQ(learned.rest_days, 15.0);
  EXPECT_TRUE(near(learned.drift, 0.03, {.relative = 1e-10}));
  EXPECT_EQ(learned.drift_days, 180.0);
  EXPECT_TRUE(near(learned.between_units, 0.07, {.relative = 1e-13}));
  EXPECT_TRUE(near(learned.log_km_per_day[0], level, {.relative = 1e-13}));
  EXPECT_TRUE(near(learned.level_variance[0], 0.25, {.relative = 1e-13}));  // 0.5^2 about the typical
  EXPECT_EQ(learned.season_cos, 0.0);
}

// Lags are taken in days, however long the blocks are: a fleet read every four weeks or every eight is one
// fleet. 4000 units over two years, the drift known to about a tenth.
TEST(UseModel, LengthOfBlocksIsOfNoMatter) {
  const auto courses = courses_of({.between = 0.05, .drift = 0.04, .drift_days = 180.0}, 4000, 27, 0, 11);
  std::vector<UseBlocks> short_blocks = fleet_of(courses), long_blocks;
  for (const Course& c : courses) {
    std::vector<double> day, km;
    for (std::size_t i = 0; i < c.day.size(); i += 2) {
      day.push_back(c.day[i]);
      km.push_back(c.km[i]);
    }
    long_blocks.push_back(use_blocks(day, km, 0));
  }
  ASSERT_EQ(short_blocks[0].days[0], 28.0);
  ASSERT_EQ(long_blocks[0].days[0], 56.0);
  for (const auto& blocks : {short_blocks, long_blocks}) {
    const UseModel m = learn_use(blocks, model_of(0.02, 0.01, 0.05, 90.0), 1.0);
    EXPECT_EQ(m.drift_days, 180.0);
    EXPECT_NEAR(m.drift, 0.04, 0.004);
    EXPECT_LT(m.rest_of_mean(28.0), 0.002);
  }
}

// One block each of two units; a prior that cannot be moved, so that the spread is known. The prior level
// weighs 1 / 0.5^2, a unit 1 over between, drift and rest of its mean.
TEST(UseModel, LevelLeansOnThePrior) {
  const std::vector<UseBlocks> units{blocks_of({400.0}), blocks_of({600.0})};
  UseModel prior = model_of(0.07, 0.03, 0.08);
  prior.log_km_per_day.push_back(level + 1.0);  // of a group that nobody is in
  const UseModel learned = learn_use(units, prior, 1e12);
  const double drift = 0.03 * kept(30.0, 180.0), rest = 0.08 * kept(30.0, 10.0);
  const double weight = 1.0 / (0.07 + drift + rest);
  const double seen = (std::log(400.0) + std::log(600.0)) / 2.0 - (0.03 - drift) / 2.0 + rest / 2.0;
  EXPECT_TRUE(near(learned.log_km_per_day[0], (2.0 * weight * seen + 4.0 * level) / (2.0 * weight + 4.0),
                   {.relative = 1e-6}));
  EXPECT_TRUE(near(learned.level_variance[0], 1.0 / (2.0 * weight + 4.0), {.relative = 1e-5}));
  EXPECT_TRUE(near(learned.log_km_per_day[1], level + 1.0, {.relative = 1e-13}));
  EXPECT_TRUE(near(learned.level_variance[1], 0.25, {.relative = 1e-13}));
}

// Units that work 80 days and stand 12 by turns. At work or not is a Markov chain of two states, whose
// covariance over t days is p q exp(-t (1 / worked + 1 / stood)); its integral both ways is the variance of
// long means times their days: 2 worked^2 stood^2 / (worked + stood)^3, against the mean share squared.
// Allowed: a fifth, since two years show long times to that.
TEST(UseModel, SpellsOfStandingAreLearnedAsShares) {
  const double worked = 80.0, stood = 12.0, both = worked + stood;
  const auto courses =
      courses_of({.between = 0.09, .worked_days = worked, .stood_days = stood}, 2000, 27, 0, 3);
  const UseModel m = learn_use(fleet_of(courses), model_of(0.05, 0.02, 0.05), 5.0);
  const double per_day = 2.0 * square_of(stood * worked) / (both * both * both) / square_of(worked / both);
  const double long_mean = m.rest_of_mean(365.0) + m.drift * kept(365.0, m.drift_days);
  EXPECT_TRUE(near(long_mean, per_day / 365.0, {.relative = 0.2}));
  EXPECT_TRUE(near(m.between_units, 0.09, {.absolute = 0.01}));  // known to 0.09 sqrt(2 / 2000) = 0.003
}

// Level, drift and spells of standing together: the distance run after the record lies in the intervals as
// often as they say. 800 units know a share of a half to 0.018, of nine tenths to 0.011; allowed are three of
// these and 0.03. Over three months a unit has stood once, twice or not at all, which is more peaked than a
// log-normal law of the same variance: the inner half may hold 0.08 more.
TEST(UseModel, IntervalsHoldTheDistanceThatWasRun) {
  const Process process{
      .between = 0.06, .drift = 0.02, .drift_days = 150.0, .worked_days = 90.0, .stood_days = 9.0};
  for (const int readings : {5, 27}) {
    const auto courses = courses_of(process, 800, readings, 730, 17);
    const auto blocks = fleet_of(courses);
    const UseModel m = learn_use(blocks, model_of(0.05, 0.02, 0.05), 5.0);
    for (const int days : {90, 180, 365, 730}) {
      int half = 0, most = 0;
      for (std::size_t u = 0; u < courses.size(); ++u) {
        const UseAhead a = UseForecast(m, blocks[u]).between(0.0, days);
        const double run = courses[u].km_ahead[static_cast<std::size_t>(days)] / days;
        const double z = std::abs(std::log(run) - a.mean) / std::sqrt(a.variance);
        half += z < normal_quantile(0.75) ? 1 : 0;
        most += z < normal_quantile(0.95) ? 1 : 0;
      }
      const double peaked = days <= 180 ? 0.08 : 0.0;
      EXPECT_GT(half / 800.0, 0.5 - 3.0 * 0.018 - 0.03) << readings << ' ' << days;
      EXPECT_LT(half / 800.0, 0.5 + 3.0 * 0.018 + 0.03 + peaked) << readings << ' ' << days;
      EXPECT_NEAR(most / 800.0, 0.9, 3.0 * 0.011 + 0.03) << readings << ' ' << days;
    }
  }
}

TEST(UseModel, NoSeasonFromAShortRecord) {  // a year and a half: 20 blocks of four weeks
  const Process process{.between = 0.01, .season = 0.4};
  const UseModel prior = model_of(0.05, 0.04, 0.09);
  const UseModel none = learn_use(fleet_of(courses_of(process, 50, 20, 0, 5)), prior, 5.0);
  EXPECT_EQ(none.season_cos, 0.0);
  EXPECT_GT(none.season_doubt, 0.0);
  const UseModel seen = learn_use(fleet_of(courses_of(process, 50, 27, 0, 5)), prior, 5.0);
  EXPECT_NEAR(seen.season_cos, 0.4, 0.03);  // prior of none: 20 of 1350 blocks; a share for a log: 0.4^3 / 8
  EXPECT_LT(seen.season_doubt, 0.1 * none.season_doubt);
}

TEST(UseModel, OrderOfUnitsIsOfNoMatter) {
  std::vector<UseBlocks> fleet =
      fleet_of(courses_of({.between = 0.1, .drift = 0.06, .worked_days = 100.0}, 40, 20, 0, 7));
  const UseModel prior = model_of(0.05, 0.04, 0.09), first = learn_use(fleet, prior, 5.0);
  std::reverse(fleet.begin(), fleet.end());
  const UseModel second =
      learn_use(fleet, prior, 5.0);  // sums in another order: roundings of some hundred terms
  EXPECT_TRUE(near(second.between_units, first.between_units, {.relative = 1e-10}));
  EXPECT_TRUE(near(second.drift, first.drift, {.relative = 1e-10}));
  EXPECT_TRUE(near(second.rest, first.rest, {.relative = 1e-10}));
}
