// How many replacements come: the renewal function of one place, and the exact distribution of how many of
// several parts are due. Plain doubles.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace wheelend {

enum class RenewalLaw : std::uint8_t { exponential, weibull, lognormal, gamma };

// Lives are independent and of one law. `scale`: mean (exponential), scale (Weibull, gamma), median
// (lognormal); `shape`: 1 / spread of the log for the lognormal, not used for the exponential. Both above 0.
struct RenewalProcess {
  RenewalLaw law = RenewalLaw::weibull;
  double scale = 1.0, shape = 1.0;
};

struct Renewals {
  double expected = 0.0;
  double error = 0.0;  // what the last halving of the step changed; 0 for a closed form
};

// Expected replacements in (0, t] at a place whose part is `age` old at 0. Exponential, and gamma (Erlang) at
// age 0: closed form. Else the renewal equation in midpoints of Stieltjes sums (Xie 1989), steps halved and
// extrapolated until two results agree to 1e-9. Throws ColumnError for parameters outside what is said above,
// or where nothing lives to that age.
Renewals expected_renewals(const RenewalProcess& process, double t, double age);

// Probability of 0, 1, ..., n events out of n independent ones, p in [0, 1] each (Poisson-binomial), by
// convolution: sums of positive terms, so that far tails keep their digits. It does not depend on their
// order.
std::vector<double> count_distribution(std::span<const double> p);

}  // namespace wheelend
