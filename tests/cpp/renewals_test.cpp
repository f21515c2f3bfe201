// Expected replacements and counts of tires due. Reference values are checked from Python
// (test_outside_replacements.py); here closed forms and edges.
#include "wheelend/renewals.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;

namespace {

using Numbers = std::vector<double>;

TEST(Renewals, ExponentialLivesComeAtOneRateWhateverTheAge) {
  const RenewalProcess p{RenewalLaw::exponential, 4.0, 1.0};
  EXPECT_EQ(expected_renewals(p, 10.0, 0.0).expected, 2.5);
  EXPECT_EQ(expected_renewals(p, 10.0, 99.0).expected, 2.5);
}

TEST(Renewals, WeibullOfShapeOneIsExponential) {
  EXPECT_TRUE(
      near(expected_renewals({RenewalLaw::weibull, 2.0, 1.0}, 7.0, 0.0).expected, 3.5, {.relative = 1e-8}));
  EXPECT_TRUE(
      near(expected_renewals({RenewalLaw::weibull, 2.0, 1.0}, 7.0, 3.0).expected, 3.5, {.relative = 1e-8}));
}

TEST(Renewals, GammaInStepsIsGammaInClosedForm) {
  // An age next to nothing takes the steps, age 0 the closed form.
  const RenewalProcess p{RenewalLaw::gamma, 0.25, 4.0};
  for (const double t : {0.5, 1.5, 6.0}) {
    const double closed = expected_renewals(p, t, 0.0).expected;
    EXPECT_TRUE(near(expected_renewals(p, t, 1e-9).expected, closed, {.relative = 1e-7}));
  }
}

TEST(Renewals, NothingByTheStart) {
  EXPECT_EQ(expected_renewals({RenewalLaw::lognormal, 1.0, 2.0}, 0.0, 0.0).expected, 0.0);
}

TEST(Renewals, RefusesWhatIsNone) {
  EXPECT_THROW(expected_renewals({RenewalLaw::weibull, 0.0, 1.0}, 1.0, 0.0), ColumnError);
  EXPECT_THROW(expected_renewals({RenewalLaw::weibull, 1.0, 1.0}, NAN, 0.0), ColumnError);
  EXPECT_THROW(expected_renewals({RenewalLaw::weibull, 1.0, 3.0}, 1.0, 1e3), ColumnError);
}

TEST(CountDistribution, OfNoneIsNone) { EXPECT_EQ(count_distribution({}), Numbers{1.0}); }

TEST(CountDistribution, CertainAndImpossibleOnesOnlyShift) {
  EXPECT_EQ(count_distribution(Numbers{1.0, 0.0, 0.5, 1.0}), (Numbers{0.0, 0.0, 0.5, 0.5, 0.0}));
}

TEST(CountDistribution, RefusesWhatIsNoProbability) {
  EXPECT_THROW(count_distribution(Numbers{0.5, 1.5}), ColumnError);
  EXPECT_THROW(count_distribution(Numbers{NAN}), ColumnError);
}

}  // namespace
