// Lines against certified and published values, and against other ways to the same number.
#include "wheelend/line_fit.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <random>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;
using test::printed_to;
using test::roundings;
using test::Tolerance;

namespace {

using Numbers = std::vector<double>;
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

// Groove depth in mil against thousand miles: Tamhane and Dunlop, Statistics and Data Analysis, 2000
// (attribution and printed results from memory; the numbers below were recomputed apart from the code).
const Numbers thousand_miles{0, 4, 8, 12, 16, 20, 24, 28, 32};
const Numbers mils{394.33, 329.50, 291.00, 255.17, 229.33, 204.83, 179.00, 163.83, 150.33};

// Five readings made up for formulas of our own (reference section 9.3): thousand miles, and 1/32 in as mils.
const Numbers five_miles{0, 15, 30, 45, 60};
Numbers five_mils() {
  Numbers y;
  for (const double n : {18.0, 16.0, 15.0, 13.0, 12.0}) {
    y.push_back(n * 31.25);
  }
  return y;
}

// NIST StRD linear regression, dataset Norris (U.S. Government, public domain). First y, then x.
const Numbers norris_y{0.1, 338.8, 118.1, 888.0, 9.2,   228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3,
                       0.1, 778.1, 668.8, 339.3, 448.9, 10.8,  557.7, 228.3, 998.0, 888.8, 119.6, 0.3,
                       0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2,  117.6, 228.9, 668.4, 449.2, 0.2};
const Numbers norris_x{0.2, 337.4, 118.2, 884.6, 10.1,  226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4,
                       0.6, 775.5, 666.9, 338.0, 447.5, 11.6,  556.0, 228.1, 995.8, 887.6, 120.2, 0.3,
                       0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1,  118.3, 229.2, 669.1, 448.9, 0.5};

Numbers without_first(const Numbers& v) { return {v.begin() + 1, v.end()}; }

double reach_at(const Numbers& x, const Numbers& y, double bound) {
  return where_reaches(fit_line(x, y), bound, 0.95, true).at;
}

double middle_of(Numbers v) {
  std::sort(v.begin(), v.end());
  const std::size_t n = v.size();
  return n % 2 == 1 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2.0;
}
Numbers slopes_from(const Numbers& x, const Numbers& y, std::size_t i, std::size_t first) {
  Numbers s;
  for (std::size_t j = first; j < x.size(); ++j) {
    if (x[j] != x[i]) {
      s.push_back((y[j] - y[i]) / (x[j] - x[i]));
    }
  }
  return s;
}

}  // namespace

// ---- least squares

TEST(LineFit, CertifiedValuesOfNorris) {
  const LineFit f = fit_line(norris_x, norris_y);
  constexpr Tolerance certified{.relative =
                                    1e-10};  // 15 digits certified; the intercept is a difference of means
  EXPECT_EQ(f.n, 36);
  EXPECT_TRUE(near(f.intercept, -0.262323073774029, certified));
  EXPECT_TRUE(
      near(f.slope, 1.00211681802045, {.relative = 1e-14}));  // half a unit of the last certified digit
  EXPECT_TRUE(near(f.se_intercept, 0.232818234301152, certified));
  EXPECT_TRUE(near(f.se_slope, 0.000429796848199937, certified));
  EXPECT_TRUE(near(f.residual_sd, 0.884796396144373, certified));
  EXPECT_TRUE(near(f.r_squared, 0.999993745883712, {.relative = 1e-14}));
}

// NIST StRD, dataset NoInt1: y = 130..140, x = 60..70, no intercept.
TEST(LineFit, CertifiedValuesOfNoInt1) {
  Numbers x, y;
  for (int i = 0; i <= 10; ++i) {
    x.push_back(60.0 + i);
    y.push_back(130.0 + i);
  }
  const OriginFit f = fit_through_origin(x, y);
  EXPECT_EQ(f.n, 11);
  EXPECT_TRUE(near(f.slope, 2.07438016528926, {.relative = 3e-15}));  // last certified digit
  EXPECT_TRUE(near(f.se_slope, 0.0165289256198347, {.relative = 1e-12}));
  EXPECT_TRUE(near(f.residual_sd, 3.56753034006338, {.relative = 1e-12}));
}

TEST(LineFit, GrooveDepthAgainstDistance) {
  const LineFit f = fit_line(thousand_miles, mils);
  EXPECT_EQ(f.x_mean, 16.0);
  EXPECT_EQ(f.sxx, 960.0);
  EXPECT_TRUE(near(f.intercept_at_mean, 244.14667, printed_to(5)));
  EXPECT_TRUE(near(f.intercept, 360.6367, printed_to(4)));
  EXPECT_TRUE(near(f.slope, -7.280625, printed_to(6)));
  EXPECT_TRUE(near(f.r_squared, 0.952610, printed_to(6)));
  EXPECT_TRUE(near(f.residual_sd, 19.01702, printed_to(5)));
  EXPECT_TRUE(near(f.se_slope, 0.613772, printed_to(6)));
  EXPECT_TRUE(near(f.se_intercept, 11.68855, printed_to(5)));
  EXPECT_TRUE(near(f.slope / f.se_slope, -11.8621, printed_to(4)));
  const double t = student_quantile(0.975, 7.0);
  EXPECT_TRUE(near(f.slope - t * f.se_slope, -8.7320, printed_to(4)));
  EXPECT_TRUE(near(f.slope + t * f.se_slope, -5.8293, printed_to(4)));
}

TEST(LineFit, MeanAndNewReadingAtAPlace) {
  const LineFit f = fit_line(thousand_miles, mils);
  const Interval mean = value_at(f, 25.0, 0.95, true), reading = value_at(f, 25.0, 0.95, false);
  EXPECT_TRUE(near(mean.estimate, 178.6210, printed_to(4)));
  EXPECT_TRUE(near(mean.high - mean.estimate, 19.8821, printed_to(4)));
  EXPECT_TRUE(near(mean.estimate - mean.low, 19.8821, printed_to(4)));
  EXPECT_TRUE(near(reading.high - reading.estimate, 49.1674, printed_to(4)));
  EXPECT_EQ(reading.estimate, mean.estimate);
}

TEST(LineFit, FirstReadingLeftOut) {
  const LineFit f = fit_line(without_first(thousand_miles), without_first(mils));
  EXPECT_TRUE(near(f.intercept, 340.1800, printed_to(4)));
  EXPECT_TRUE(near(f.slope, -6.378125, printed_to(6)));
  EXPECT_TRUE(near(f.r_squared, 0.974789, printed_to(6)));
}

TEST(LineFit, LogarithmsOfDepth) {
  Numbers logs;
  for (const double y : mils) {
    logs.push_back(std::log(y));
  }
  const LineFit f = fit_line(thousand_miles, logs);
  EXPECT_TRUE(near(f.intercept, 5.925953, printed_to(6)));
  EXPECT_TRUE(near(f.slope, -0.02977203, printed_to(8)));
  EXPECT_TRUE(near(f.r_squared, 0.992881, printed_to(6)));
  EXPECT_TRUE(near(reach_at(thousand_miles, logs, std::log(62.5)), 60.150, printed_to(3)));
  EXPECT_TRUE(near(reach_at(thousand_miles, logs, std::log(125.0)), 36.868, printed_to(3)));
}

TEST(LineFit, RateErrorOfEquallySpacedReadings) {
  // se(b) = sd/S sqrt(12 (n-1)/(n (n+1))): reference section 9.2, sd = 1, S = 1
  struct Case {
    int n;
    double factor;
  };
  constexpr Case cases[] = {{3, 1.414214}, {4, 1.341641}, {5, 1.264911},
                            {6, 1.195229}, {8, 1.080123}, {12, 0.919866}};
  for (const Case& c : cases) {
    Numbers x, y;
    for (int i = 0; i < c.n; ++i) {
      x.push_back(static_cast<double>(i) / (c.n - 1));
      y.push_back(0.0);
    }
    EXPECT_TRUE(near(1.0 / std::sqrt(fit_line(x, y).sxx), c.factor, printed_to(6)));
  }
}

TEST(LineFit, FarFromTheOrigin) {
  // Odometers near a million, depths that differ by a hundredth: y = 12 - (x - 999000)/100000, exact in
  // decimals.
  Numbers x, y;
  for (int i = 0; i < 11; ++i) {
    x.push_back(999'000.0 + 100.0 * i);
    y.push_back(12.0 - 0.001 * i);
  }
  EXPECT_TRUE(
      near(fit_line(x, y).slope, -1e-5, {.relative = 1e-12}));  // rounding of y: 12 eps / 0.01 of spread
}

TEST(LineFit, TwoReadingsHaveALineAndNoError) {
  const LineFit f = fit_line(Numbers{1, 3}, Numbers{5, 9});
  EXPECT_EQ(f.slope, 2.0);
  EXPECT_EQ(f.intercept, 3.0);
  EXPECT_TRUE(std::isnan(f.residual_sd));
  EXPECT_TRUE(std::isnan(f.se_slope));
  const Reach r = where_reaches(f, 11.0, 0.9, true);
  EXPECT_EQ(r.at, 4.0);
  EXPECT_EQ(r.status, ReachStatus::unbounded);
}

TEST(LineFit, LevelYHasNoRSquared) {
  EXPECT_TRUE(std::isnan(fit_line(Numbers{1, 2, 3}, Numbers{4, 4, 4}).r_squared));
}

TEST(LineFit, RefusesWhatHasNoLine) {
  EXPECT_THROW(fit_line(Numbers{1}, Numbers{1}), ColumnError);
  EXPECT_THROW(fit_line(Numbers{}, Numbers{}), ColumnError);
  EXPECT_THROW(fit_line(Numbers{1, 2}, Numbers{1}), ColumnError);
  EXPECT_THROW(fit_line(Numbers{3, 3, 3}, Numbers{1, 2, 3}), ColumnError);
  EXPECT_THROW(fit_line(Numbers{1, 2, not_a_number}, Numbers{1, 2, 3}), ColumnError);
  EXPECT_THROW(fit_line(Numbers{1, 2}, Numbers{1, std::numeric_limits<double>::infinity()}), ColumnError);
  EXPECT_THROW(fit_through_origin(Numbers{0, 0}, Numbers{1, 2}), ColumnError);
  EXPECT_THROW(fit_through_origin(Numbers{}, Numbers{}), ColumnError);
  EXPECT_THROW(pairwise_slopes(Numbers{2, 2}, Numbers{1, 3}, 0.9), ColumnError);
  EXPECT_THROW(repeated_median_slope(Numbers{2, 2}, Numbers{1, 3}), ColumnError);
  EXPECT_THROW(pairwise_slopes(Numbers{1}, Numbers{1}, 0.9), ColumnError);
  const LineFit f = fit_line(thousand_miles, mils);
  for (const double level : {0.0, 1.0, -0.5, 1.5, not_a_number}) {
    EXPECT_THROW(value_at(f, 1.0, level, true), ColumnError);
    EXPECT_THROW(where_reaches(f, 1.0, level, true), ColumnError);
    EXPECT_THROW(pairwise_slopes(thousand_miles, mils, level), ColumnError);
  }
}

// ---- where a line reaches a value

TEST(LineFit, DistanceToALimit) {
  EXPECT_TRUE(near(reach_at(thousand_miles, mils, 62.5), 40.949, printed_to(3)));
  EXPECT_TRUE(
      near(reach_at(without_first(thousand_miles), without_first(mils), 62.5), 43.536, printed_to(3)));
  EXPECT_TRUE(near(reach_at({24, 28, 32}, {179.00, 163.83, 150.33}, 62.5), 56.430, printed_to(3)));
  EXPECT_TRUE(near(reach_at(thousand_miles, mils, 125.0), 32.365, printed_to(3)));
}

TEST(LineFit, LimitsByInversion) {
  const LineFit f = fit_line(five_miles, five_mils());
  EXPECT_EQ(f.intercept, 556.25);
  EXPECT_EQ(f.slope, -3.125);
  EXPECT_TRUE(near(f.residual_sd, 9.882118, printed_to(6)));
  EXPECT_TRUE(near(f.r_squared, 0.986842, printed_to(6)));
  const Reach r = where_reaches(f, 125.0, 0.95, true);  // 4/32 in
  EXPECT_EQ(r.status, ReachStatus::bounded);
  EXPECT_TRUE(near(r.at, 138.0, roundings(4)));
  EXPECT_TRUE(near(r.standard_error, 7.33757, printed_to(5)));
  const double t = student_quantile(0.975, 3.0);
  EXPECT_TRUE(near(t, 3.18245, printed_to(5)));
  EXPECT_TRUE(near(r.at - t * r.standard_error, 114.6486, printed_to(4)));
  EXPECT_TRUE(near(r.at + t * r.standard_error, 161.3514, printed_to(4)));
  EXPECT_TRUE(near(r.low, 118.6589, printed_to(4)));
  EXPECT_TRUE(near(r.high, 167.5222, printed_to(4)));
}

// What inversion means: at its ends the interval of the line (or of a new reading) just touches the value.
TEST(LineFit, InversionAndIntervalAgree) {
  const LineFit f = fit_line(thousand_miles, mils);
  constexpr Tolerance touches{.absolute = 62.5 * 1e-12};
  for (const bool mean : {true, false}) {
    for (const double bound : {62.5, 125.0, 244.0, 350.0}) {
      const Reach r = where_reaches(f, bound, 0.9, mean);
      ASSERT_EQ(r.status, ReachStatus::bounded);
      EXPECT_TRUE(
          near(value_at(f, r.low, 0.9, mean).low, bound, touches));  // falling: reached early from below
      EXPECT_TRUE(near(value_at(f, r.high, 0.9, mean).high, bound, touches));
      EXPECT_TRUE(near(value_at(f, r.at, 0.9, mean).estimate, bound, touches));
    }
  }
}

TEST(LineFit, RisingLineReachesToo) {
  const Reach down = where_reaches(fit_line(five_miles, five_mils()), 125.0, 0.9, true);
  Numbers up;
  for (const double y : five_mils()) {
    up.push_back(-y);
  }
  const Reach mirrored = where_reaches(fit_line(five_miles, up), -125.0, 0.9, true);
  EXPECT_EQ(mirrored.low, down.low);
  EXPECT_EQ(mirrored.high, down.high);
}

TEST(LineFit, FlatLineNeverReaches) {
  const Reach r = where_reaches(fit_line(Numbers{0, 1, 2}, Numbers{5, 5, 5}), 4.0, 0.9, true);
  EXPECT_EQ(r.status, ReachStatus::flat);
  EXPECT_TRUE(std::isnan(r.at));
}

TEST(LineFit, SlopeThatMayBeZeroHasNoBounds) {
  const LineFit f = fit_line(Numbers{0, 1, 2, 3}, Numbers{5.0, 5.6, 4.4, 4.9});
  const Reach r = where_reaches(f, 4.0, 0.9, true);
  EXPECT_EQ(r.status, ReachStatus::unbounded);
  EXPECT_TRUE(std::isfinite(r.at));
  EXPECT_TRUE(std::isnan(r.low));
  EXPECT_TRUE(std::isnan(r.high));
}

TEST(LineFit, PerfectLineHasNoWidth) {
  const Reach r = where_reaches(fit_line(Numbers{0, 1, 2}, Numbers{10, 8, 6}), 2.0, 0.9, true);
  EXPECT_EQ(r.status, ReachStatus::bounded);
  EXPECT_EQ(r.at, 4.0);
  EXPECT_EQ(r.low, 4.0);
  EXPECT_EQ(r.high, 4.0);
}

// ---- robust slopes

// P. K. Sen, Journal of the American Statistical Association 63 (1968), example (from memory).
TEST(LineFit, ExampleOfSen) {
  const Numbers x{1, 2, 3, 4, 10, 12, 18}, y{9, 15, 19, 20, 45, 55, 78};
  const PairwiseSlopes s = pairwise_slopes(x, y, 0.93);
  EXPECT_EQ(s.pairs, 21);
  EXPECT_EQ(s.slope, 4.0);
  EXPECT_TRUE(near(s.low, 26.0 / 7.0, roundings(1)));
  EXPECT_TRUE(near(s.high, 35.0 / 8.0, roundings(1)));
  EXPECT_EQ(s.intercept_of_residuals, 6.0);
  EXPECT_EQ(s.intercept_of_medians, 4.0);
}

// Made-up depths with one misread and ties; values of an established open-source library (scipy 1.10.1).
TEST(LineFit, MisreadDoesNotMoveARobustSlope) {
  const Numbers x{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, y{18, 17, 17, 16, 15, 15, 14, 4, 12, 11};
  const PairwiseSlopes s = pairwise_slopes(x, y, 0.95);
  constexpr Tolerance same{.relative = 1e-12};
  EXPECT_EQ(s.pairs, 45);
  EXPECT_TRUE(near(s.slope, -0.7777777777777778, same));
  EXPECT_TRUE(near(s.low, -1.0, same));
  EXPECT_TRUE(near(s.high, -0.6666666666666666, same));
  EXPECT_TRUE(near(s.intercept_of_residuals, 18.166666666666664, same));
  EXPECT_TRUE(near(s.intercept_of_medians, 18.5, same));
  EXPECT_TRUE(near(repeated_median_slope(x, y), -0.775, same));
  EXPECT_TRUE(near(fit_line(x, y).slope, -1.0242424242424217, same));  // least squares follows it
}

TEST(LineFit, RobustSlopesAgainstAllPairs) {
  std::mt19937 next(20260301);
  for (int round = 0; round < 200; ++round) {
    const std::size_t n = 2 + next() % 14;
    Numbers x, y;
    for (std::size_t i = 0; i < n; ++i) {
      x.push_back(static_cast<double>(next() % 8));  // ties on purpose
      y.push_back(static_cast<double>(next() % 20) / 4.0);
    }
    Numbers all, medians;
    for (std::size_t i = 0; i < n; ++i) {
      const Numbers later = slopes_from(x, y, i, i + 1), any = slopes_from(x, y, i, 0);
      all.insert(all.end(), later.begin(), later.end());
      if (!any.empty()) {
        medians.push_back(middle_of(any));
      }
    }
    if (all.empty()) {
      continue;
    }
    const PairwiseSlopes s = pairwise_slopes(x, y, 0.9);
    EXPECT_EQ(s.pairs, static_cast<std::int64_t>(all.size()));
    EXPECT_EQ(s.slope, middle_of(all));
    EXPECT_LE(s.low, s.slope);
    EXPECT_GE(s.high, s.slope);
    EXPECT_EQ(repeated_median_slope(x, y), middle_of(medians));
  }
}

TEST(LineFit, WiderLevelWiderSlopes) {
  double low = -1e9, high = 1e9;
  for (const double level : {0.99, 0.95, 0.9, 0.8, 0.5}) {
    const PairwiseSlopes s = pairwise_slopes(thousand_miles, mils, level);
    EXPECT_GE(s.low, low);
    EXPECT_LE(s.high, high);
    low = s.low, high = s.high;
  }
}

// ---- moments and quantiles

// NIST StRD univariate (after Simon and Lesage 1989), exact by construction (U.S. Government, public domain).
TEST(LineFit, MomentsOfNumAcc) {
  const Moments one = moments(Numbers{10000001, 10000003, 10000002});
  EXPECT_EQ(one.mean, 10000002.0);
  EXPECT_EQ(one.sd, 1.0);
  Numbers two{1.2};
  for (int i = 0; i < 500; ++i) {
    two.push_back(1.1);
    two.push_back(1.3);
  }
  const Moments m = moments(two);
  EXPECT_TRUE(near(m.mean, 1.2, {.relative = 1e-12}));
  EXPECT_TRUE(near(m.sd, 0.1, {.relative = 1e-12}));
}

TEST(LineFit, MomentsOfFewValues) {
  EXPECT_TRUE(std::isnan(moments(Numbers{}).mean));
  EXPECT_EQ(moments(Numbers{4.5}).mean, 4.5);
  EXPECT_TRUE(std::isnan(moments(Numbers{4.5}).sd));
}

TEST(LineFit, Medians) {
  EXPECT_EQ(median(Numbers{3, 1, 2}), 2.0);
  EXPECT_EQ(median(Numbers{4, 1, 3, 2}), 2.5);
  EXPECT_EQ(median(Numbers{7}), 7.0);
  EXPECT_TRUE(std::isnan(median(Numbers{})));
}

// Printed tables of Student's t (from memory: any statistics book).
TEST(LineFit, Quantiles) {
  EXPECT_TRUE(near(student_quantile(0.975, 1.0), 12.706, printed_to(3)));
  EXPECT_TRUE(near(student_quantile(0.95, 10.0), 1.812, printed_to(3)));
  EXPECT_TRUE(near(student_quantile(0.975, 7.0), 2.365, printed_to(3)));
  EXPECT_TRUE(std::isnan(student_quantile(0.975, 0.0)));
  EXPECT_TRUE(near(normal_quantile(0.975), 1.959964, printed_to(6)));
  EXPECT_TRUE(near(normal_cdf(1.0), 0.8413447461, printed_to(10)));
  EXPECT_TRUE(near(normal_cdf(normal_quantile(0.1)), 0.1, {.relative = 1e-14}));
  EXPECT_EQ(normal_cdf(0.0), 0.5);
  EXPECT_TRUE(std::isnan(normal_cdf(not_a_number)));
}
