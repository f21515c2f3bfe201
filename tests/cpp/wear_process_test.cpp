// Random wear fitted to steps. Fits made elsewhere are checked from Python (test_outside_passage.py); here
// closed forms and edges.
#include "wheelend/wear_process.hpp"

#include <gtest/gtest.h>

#include <boost/math/special_functions/digamma.hpp>
#include <cmath>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;

namespace {

using Numbers = std::vector<double>;

TEST(WearProcess, WienerIsMeanAndVariancePerExposure) {
  // Rate 6 / 4; squares (1 - 1.5)^2 / 1 + (2 - 1.5)^2 / 1 + (3 - 3)^2 / 2 = 0.5 over 3 steps
  const WienerWear f = fit_wiener_wear(Numbers{1, 1, 2}, Numbers{1, 2, 3});
  EXPECT_EQ(f.drift, 1.5);
  EXPECT_TRUE(near(f.volatility, std::sqrt(0.5 / 3.0), {.relative = 1e-14}));
}

TEST(WearProcess, GammaSolvesItsEquationForLittleAndMuchNoise) {
  for (const double off : {1e-3, 0.1, 0.9, 0.999}) {
    const Numbers wear{1.0 - off, 1.0 + off};
    const GammaWear f = fit_gamma_wear(Numbers{1, 1}, wear);
    // log of the mean less the mean of logs (Johnson, Kotz, Balakrishnan 1994, section 17.7)
    const double want = -0.5 * std::log1p(-off * off);
    const double found = std::log(f.shape_rate) - boost::math::digamma(f.shape_rate);
    EXPECT_TRUE(near(found, want, {.relative = 1e-8}));
    EXPECT_TRUE(near(f.shape_rate * f.scale, 1.0, {.relative = 1e-14}));
  }
}

TEST(WearProcess, InverseGaussianIsTheHarmonicMean) {
  // 1 / shape = mean(1 / x) - 1 / mean(x) for steps of one exposure (Chhikara, Folks 1989, section 5.2)
  const InverseGaussianWear f = fit_inverse_gaussian_wear(Numbers{1, 1, 1}, Numbers{1, 2, 4});
  EXPECT_TRUE(near(1.0 / f.shape, 1.75 / 3.0 - 3.0 / 7.0, {.relative = 1e-12}));
}

TEST(WearProcess, RefusesStepsThatAreNone) {
  EXPECT_THROW(fit_gamma_wear(Numbers{1, 1}, Numbers{1, 0}), ColumnError);
  EXPECT_THROW(fit_wiener_wear(Numbers{1, 0}, Numbers{1, 2}), ColumnError);
  EXPECT_THROW(fit_wiener_wear(Numbers{1, 2}, Numbers{1, 2}), ColumnError);
  EXPECT_NO_THROW(fit_wiener_wear(Numbers{1, 1}, Numbers{1, -1}));
}

}  // namespace
